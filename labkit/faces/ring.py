"""Flux in a ring core, from what was built: its wires, the currents that follow, what the fluxes add up to.

`labkit.theory.flux` works out currents and fluxes, `labkit.faces.ring` draws the ring.
"""

import math
from itertools import pairwise

from labkit.errors import EntryError
from labkit.faces import plot as style
from labkit.faces import schematic as hookup
from labkit.faces.layout import CLEAR, TEXT, TRACK, Measures, Placement, down, facing, place
from labkit.faces.plot import Canvas, Spot, Stroke, arrowhead, text_width
from labkit.faces.schematic import SCALES, Drawing, listed
from labkit.show import Picture
from labkit.theory.flux import Fluxes
from labkit.theory.network import identify
from labkit.theory.wiring import Terminal, Wiring, parse_dots, terminals
from labkit.words import labels
from labkit.words import pictures as words

# The ring itself: core, two windings with their sense, currents in them and fluxes in it.
#
# The ring is seen from the front. A current that crosses the face of the core towards the window goes on
# through the window away from the viewer, and by the right-hand rule its flux runs clockwise. A winding is
# drawn with the sense that lets a current into its dotted end cross towards the window.
#
# Lengths in user units, x to the right and y down; angles in degrees from the right, counted upwards.

OUTER, INNER = 118.0, 64.0  # radii of the core
OVERHANG = 6.0  # of a turn over the rims
ACROSS = 75.0  # from the middle to each terminal
HEIGHT = 284.0  # from ends a to ends b
CENTRE = (0.0, HEIGHT / 2)
TURNS = 6
LANES = {1: 105.0, 2: 77.0}  # radii of the two fluxes in the core
EDGE = OUTER + 20.0  # from the middle to the windings' names
DOT = 7.0
WIRE = 5.5
CORE_FILL = "#E6E6E6"


def draw(sheet: Canvas, fluxes: Fluxes, dots: tuple[Terminal, ...]) -> None:
    """Core, windings with their dots, currents and fluxes."""
    _core(sheet)
    for w, dot in enumerate(dots, 1):
        _back(sheet, w, dot)
    opposed = fluxes.kind in ("cancel", "partly cancel")
    for w, part in enumerate(fluxes.parts, 1):
        if part:
            _lane(sheet, w, part, opposed=opposed)
        if part and opposed:
            _leakage(sheet, w, part)
    for w, dot in enumerate(dots, 1):
        current = fluxes.currents[w - 1] if fluxes.parts[w - 1] else 0.0
        _face(sheet, w, dot, current)
        _ends(sheet, w, dot, current)


def _core(sheet: Canvas) -> None:
    sheet.group(data_core="")
    sheet.circle(CENTRE, OUTER, stroke=style.CORE, fill=CORE_FILL)
    sheet.circle(CENTRE, INNER, stroke=style.CORE, fill=style.PAPER)


def _at(radius: float, angle: float) -> Spot:
    turned = math.radians(angle)
    return CENTRE[0] + radius * math.cos(turned), CENTRE[1] - radius * math.sin(turned)


def _way(w: int) -> list[tuple[Spot, Spot]]:
    """The way of a winding's wire from end a to end b: across the core to the window, back out, and so on."""
    start = math.degrees(math.acos(ACROSS / (OUTER + OVERHANG)))
    first, last = (180 - start, 180 + start) if w == 1 else (start, -start)
    step = (last - first) / (2 * TURNS)
    radii = (OUTER + OVERHANG, INNER - OVERHANG)
    return list(pairwise(_at(radii[i % 2], first + i * step) for i in range(2 * TURNS + 1)))


def _on_face(w: int, dot: Terminal) -> list[tuple[Spot, Spot]]:
    """What of that way lies before the core: the ways in if the dot is on end a, else the ways out."""
    return _way(w)[0 if dot.end == "a" else 1 :: 2]


def _back(sheet: Canvas, w: int, dot: Terminal) -> None:
    sheet.group(data_behind=str(w))
    for crossing in _way(w)[1 if dot.end == "a" else 0 :: 2]:
        sheet.path(crossing, Stroke(style.winding(w).colour, 2.2, (5.0, 4.0)))


def _face(sheet: Canvas, w: int, dot: Terminal, current: float) -> None:
    """The turns on a rim of paper, each with the way its current flows."""
    sheet.group(data_winding=str(w), stroke_linecap="round")
    for crossing in _on_face(w, dot):
        sheet.path(crossing, Stroke(style.PAPER, WIRE + 3.5))
        sheet.path(crossing, Stroke(style.winding(w).colour, WIRE))
    if current:
        sheet.group(data_current=str(w))
        for crossing in _on_face(w, dot):
            _midway(sheet, crossing if current > 0 else crossing[::-1])


def _midway(sheet: Canvas, crossing: tuple[Spot, Spot]) -> None:
    (x1, y1), (x2, y2) = crossing
    length = math.dist(*crossing)
    along = (x2 - x1) / length, (y2 - y1) / length
    tip = (x1 + x2) / 2 + 8.0 * along[0], (y1 + y2) / 2 + 8.0 * along[1]
    sheet.polygon(arrowhead(tip, along, 15.0, 7.0), style.INK)


def _ends(sheet: Canvas, w: int, dot: Terminal, current: float) -> None:
    """Leads from the terminals to the first and last turn, the dot, the name, and which way current flows."""
    side, way = facing(w), _way(w)
    x = -side * ACROSS
    for end, y, rim, inwards in (("a", 0.0, way[0][0], 1.0), ("b", HEIGHT, way[-1][1], -1.0)):
        sheet.group(data_lead=f"{w}{end}", stroke_linecap="round")
        sheet.path([(x, y), rim], Stroke(style.winding(w).colour, WIRE))
        if current:
            flow = math.copysign(1.0, current)
            middle = y + inwards * 23.0
            sheet.group(data_current=f"{w}{end}")
            sheet.polygon(arrowhead((x, middle + 9.0 * flow), (0.0, flow), 20.0, 10.0), style.INK)
            sheet.text((x + side * 18.0, middle + 0.35 * TEXT), words.CURRENT, size=TEXT, weight="bold")
        if dot.end == end:
            sheet.group(data_polarity=str(w))
            at = (x - side * 22.0, y + inwards * 30.0)
            sheet.circle(at, DOT, stroke=Stroke(style.INK, 0.0), fill=style.INK, data_dot=str(dot))
    at = (-side * EDGE, CENTRE[1] + 0.35 * TEXT)
    name = words.WINDING.format(number=w)
    sheet.text(at, name, size=TEXT, anchor="end" if side > 0 else "start")


def _lane(sheet: Canvas, w: int, part: float, *, opposed: bool) -> None:
    """The flux of one winding all round the core: thick, or thin and dashed where another opposes it."""
    ink, radius = style.winding(w).colour, LANES[w]
    stroke = Stroke(ink, 2.4, (9.0, 6.0)) if opposed else Stroke(ink, 3.0 + 4.0 * abs(part))
    length, half = (19.0, 9.0) if opposed else (25.0, 13.0)
    sheet.group(data_flux=str(w))
    sheet.circle(CENTRE, radius, stroke=stroke, fill="none")
    clockwise = math.copysign(1.0, part)
    for middle in (90.0, 270.0):
        angle = middle - clockwise * (9.0 if w == 1 else 3.0)
        turned = math.radians(angle)
        along = (clockwise * math.sin(turned), clockwise * math.cos(turned))
        sheet.polygon(arrowhead(_at(radius, angle), along, length, half), ink)
    y = CENTRE[1] - OUTER - 8.0 if w == 1 else CENTRE[1] - INNER + 22.0
    sheet.text((0.0, y), words.FLUX[w], size=TEXT, weight="bold")


def _leakage(sheet: Canvas, w: int, part: float) -> None:
    """A line of leakage flux: out of the core beside its own winding, and back through the window."""
    side, ink = facing(w), style.winding(w).colour
    (x, top), (_, bottom) = (_at(LANES[2], 90.0 + side * turned) for turned in (20.0, 160.0))
    bulge = x + side * 14.0
    data = (
        f"M{x:.2f} {top:.2f} C{bulge:.2f} {top + 50:.2f} {bulge:.2f} {bottom - 50:.2f} {x:.2f} {bottom:.2f}"
    )
    sheet.group(data_leakage=str(w))
    sheet.path([(x, top), (bulge, bottom)], Stroke(ink, 2.4, (2.5, 4.5)), data)
    down = side * math.copysign(1.0, part)  # where the flux runs up through the winding
    middle = (x + 3 * bulge) / 4
    sheet.polygon(arrowhead((middle, CENTRE[1] + 9.0 * down), (0.0, down), 18.0, 8.0), ink)


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
        raise EntryError(words.SIZE.format(given=size), size)
    if dots is None:
        raise EntryError(
            "Nobody can tell which way the fluxes go while the dots are unknown; give them, "
            "such as dots='1a 2a', or let the readings decide."
        )
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
    raise EntryError(
        f"'{drive}' does not say what drives the current; give a wiring such as '1a 2a | "
        "1b=2b', 'common mode', 'differential mode', or one current a winding such as "
        "(1, -1).",
        str(drive),
    )


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
    draw(sheet, fluxes, dots)
    if wiring:
        _hooked_up(sheet, Drawing.of(wiring, dots, 2, {}, words.METER))
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
    hookup.draw_terminals(sheet, measures, drawing)


def _measures(placement: Placement) -> Measures:
    """Places of all tracks round the ring and the names beside it."""
    used = placement.used()[0]
    x = {"w1": -ACROSS, "w2": ACROSS, "pin-0": -METER_HALF, "pin-1": METER_HALF}
    edge = EDGE + text_width(words.WINDING.format(number=1), TEXT) + 20.0
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
        stroke = Stroke(style.INK, 9.0) if is_sum else Stroke(style.winding(i + 1).colour, WIRE)
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
