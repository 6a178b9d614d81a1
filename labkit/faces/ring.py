"""Flux in a ring core, from what was built: its wires, the currents that follow, what the fluxes add up to.

`labkit.theory.flux` works out currents and fluxes, `labkit.faces.toroid` draws the ring.
"""

import math

from labkit.errors import EntryError
from labkit.faces import hookup, style, toroid
from labkit.faces.canvas import Canvas, arrowhead, text_width
from labkit.faces.drawing import Drawing, listed
from labkit.faces.measures import CLEAR, TEXT, TRACK, Measures, down, facing
from labkit.faces.placement import Placement, place
from labkit.faces.schematic import SCALES
from labkit.faces.style import Stroke
from labkit.faces.toroid import ACROSS, CENTRE, EDGE, HEIGHT
from labkit.show import Picture
from labkit.theory.flux import Fluxes
from labkit.theory.network import identify
from labkit.theory.wiring import Terminal, Wiring, parse_dots, terminals
from labkit.words import figures as figure_words
from labkit.words import labels
from labkit.words import pictures as words
from labkit.words import schematic as schematic_words

STUB = 62.0  # of a wire that comes from elsewhere
METER_HALF = 40.0
UNIT, ROW = 80.0, 44.0  # of the sum: length of the largest flux, height of a row
MODES = {words.COMMON_MODE: (1.0, 1.0), words.DIFFERENTIAL_MODE: (1.0, -1.0)}
Drive = str | Wiring | tuple[float, float]


def flux(drive: Drive, dots: str | tuple[Terminal, ...] | None, size: str = "page") -> Picture:
    """The two windings on their ring, with currents and fluxes: whether these add or cancel, and why.

    Parameters
    ----------
    drive : a wiring, the wrong way round included, whose currents follow from the laws;
        `common mode` or `differential mode`; or one current a winding in any unit, from end a to end b
    dots : text such as `1a 2a`, or the dotted terminals of the two windings
    size : `page`, or `projector` with text 36 pixels high

    Returns
    -------
    Picture: drawn for equal windings that couple tightly; `alt` says in words what is seen.

    Raises
    ------
    WiringError, EntryError : also if the dots are not known (None), because nobody can tell then

    Examples
    --------
    >>> print(flux("differential mode", dots="1a 2a").alt.partition("Together")[2])
    : fluxes cancel, only leakage flux is left. Drawn for equal windings that couple tightly.
    """
    if size not in SCALES:
        raise EntryError(figure_words.SIZE.format(given=size), size)
    if dots is None:
        raise EntryError(words.DOTS_UNKNOWN)
    known = parse_dots(dots if isinstance(dots, str) else " ".join(map(str, dots)))
    wiring = _wiring(drive)
    fluxes = Fluxes.in_wiring(wiring, known) if wiring else Fluxes.of(_currents(drive), known)
    what, said = _described(drive, wiring, known)
    alt = " ".join((words.ALT_RING.format(dots=listed(known)), said, *_spoken(fluxes)))
    sheet = _sheet(what, wiring, fluxes, known)
    title = words.FLUX_TITLE.format(what=what)
    return Picture(sheet.svg(title, {"aria_label": alt}, scale=SCALES[size]), alt)


def _wiring(drive: Drive) -> Wiring | None:
    if isinstance(drive, Wiring):
        return drive
    return Wiring.parse(drive) if isinstance(drive, str) and drive not in MODES else None


def _currents(drive: Drive) -> tuple[float, ...]:
    currents = MODES.get(drive, drive) if isinstance(drive, str) else drive
    if isinstance(currents, tuple) and len(currents) == 2 and all(map(math.isfinite, currents)):
        return currents
    raise EntryError(words.CURRENTS.format(given=drive), str(drive))


def _described(drive: Drive, wiring: Wiring | None, dots: tuple[Terminal, ...]) -> tuple[str, str]:
    """What drives the current, as a short line and as a sentence."""
    if wiring:
        connection = labels.CONNECTION[identify(wiring, dots)]
        spoken = f"{wiring.spoken[0].upper()}{wiring.spoken[1:]}: {connection}."
        return f"{wiring.notation} · {connection}", spoken
    if isinstance(drive, str):
        return words.MODE_TITLE[drive], words.ALT_MODE[drive]
    first, second = (f"{i:g}".replace("-", "−") for i in _currents(drive))
    said = words.CURRENTS_TITLE.format(first=first, second=second)
    return said, f"{said[0].upper()}{said[1:]}."


def _spoken(fluxes: Fluxes) -> list[str]:
    said = []
    for w, (current, part) in enumerate(zip(fluxes.currents, fluxes.parts, strict=True), 1):
        start, end = ("a", "b") if current > 0 else ("b", "a")
        way = words.CLOCKWISE if part > 0 else words.COUNTERCLOCKWISE
        flows = words.ALT_CURRENT.format(number=w, start=f"{w}{start}", end=f"{w}{end}", way=way)
        said.append(flows if part else words.ALT_NO_CURRENT.format(number=w))
    verdict, left = words.VERDICT[fluxes.kind], words.LEFT.get(fluxes.kind)
    together = words.ALT_LEFT if left else words.ALT_VERDICT
    return [*said, together.format(verdict=verdict, left=left), words.ALT_EQUAL]


def _sheet(what: str, wiring: Wiring | None, fluxes: Fluxes, dots: tuple[Terminal, ...]) -> Canvas:
    sheet = Canvas()
    toroid.draw(sheet, fluxes, dots)
    if wiring:
        _hooked_up(sheet, Drawing.of(wiring, dots, 2, {}, schematic_words.METER))
    else:
        _from_elsewhere(sheet, fluxes)
    left, _, right, bottom = sheet.extent()
    _sum(sheet, fluxes, right + 2 * CLEAR)
    sheet.group(data_caption="")
    sheet.text(((left + right) / 2, bottom + 1.6 * TEXT), what, size=TEXT, colour=style.MUTED)
    return sheet


def _hooked_up(sheet: Canvas, drawing: Drawing) -> None:
    measures = _measures(place(drawing.wiring, 2, inside=False))
    hookup.wires(sheet, measures, drawing)
    hookup.joints(sheet, measures)
    hookup.meter(sheet, measures, drawing.measured)
    hookup.terminals(sheet, measures, drawing)


def _measures(placement: Placement) -> Measures:
    """Places of all tracks round the ring and the names beside it."""
    used = placement.used()[0]
    x = {"w1": -ACROSS, "w2": ACROSS, "pin-0": -METER_HALF, "pin-1": METER_HALF}
    edge = EDGE + text_width(schematic_words.WINDING.format(number=1), TEXT) + 20.0
    for side, out in (("left", -1.0), ("right", 1.0)):
        tracks = [name for name in placement.columns if name.startswith(f"{side}-") and name in used]
        x |= {name: out * (edge + TRACK * i) for i, name in enumerate(sorted(tracks))}
        x[f"meter-{side}"] = out * (edge + TRACK * max(len(tracks) - 1, 0) + METER_HALF + CLEAR)
    y = down(placement, HEIGHT)
    beside = placement.side in ("left", "right")
    where = f"meter-{placement.side}"
    meter = (x[where], HEIGHT / 2) if beside else (0.0, y[where])
    return Measures(placement, x, y, (), meter, METER_HALF)


def _from_elsewhere(sheet: Canvas, fluxes: Fluxes) -> None:
    """Terminals whose wires come from outside the picture, with the way each current flows."""
    for each in terminals(2):
        y, out = (0.0, -1.0) if each.end == "a" else (HEIGHT, 1.0)
        x, current = -facing(each.winding) * ACROSS, fluxes.currents[each.winding - 1]
        sheet.group(data_stub=str(each))
        sheet.path([(x, y), (x, y + out * STUB)], style.CLIP)
        if current:
            flow = math.copysign(1.0, current)
            tip = (x, y + out * (STUB - 18.0) + 9.0 * flow)
            sheet.polygon(arrowhead(tip, (0.0, flow), 20.0, 10.0), style.INK)
        hookup.terminal(sheet, each, (x, y), is_open=False)


def _sum(sheet: Canvas, fluxes: Fluxes, left: float) -> None:
    """The fluxes one below the other as arrows from a common line, what they add up to, and the verdict."""
    rows = [*zip(words.FLUX.values(), fluxes.parts, strict=True), (words.SUM, fluxes.total)]
    zero = left + text_width(words.SUM, TEXT) + 24.0 + UNIT * max(0.0, -min(part for _, part in rows))
    top = CENTRE[1] - 2.2 * ROW
    sheet.group(data_sum="")
    sheet.path([(zero, top), (zero, top + len(rows) * ROW)], Stroke(style.MUTED, 1.5))
    for i, (name, part) in enumerate(rows):
        y = top + (i + 0.5) * ROW
        sheet.text((left, y + 0.35 * TEXT), name, size=TEXT, anchor="start", weight="bold")
        is_sum = name == words.SUM
        stroke = Stroke(style.INK, 9.0) if is_sum else Stroke(style.winding(i + 1).colour, toroid.WIRE)
        if abs(part) > 0.05:
            end, way = zero + UNIT * part, math.copysign(1.0, part)
            sheet.path([(zero, y), (end - way * 14.0, y)], stroke)
            sheet.polygon(arrowhead((end, y), (way, 0.0), 22.0, stroke.width + 5.0), stroke.colour)
        else:
            nothing = words.ALMOST_NOTHING if is_sum else words.NOTHING
            sheet.text((zero + 8.0, y + 0.35 * TEXT), nothing, size=TEXT, anchor="start")
    y = top + len(rows) * ROW + 1.6 * TEXT
    sheet.group(data_verdict="")
    sheet.text((left, y), words.VERDICT[fluxes.kind], size=1.4 * TEXT, anchor="start", weight="bold")
    if left_over := words.LEFT.get(fluxes.kind):
        sheet.text((left, y + 1.5 * TEXT), left_over, size=TEXT, anchor="start", colour=style.MUTED)
