"""Draw what was built: windings, dots, ties, clips and meter of one wiring, as SVG.

`labkit.faces.placement` decides which way every wire goes, `labkit.faces.measures` how large all is.
"""

import math
import textwrap
from collections import Counter
from collections.abc import Mapping
from itertools import pairwise

from labkit.errors import EntryError
from labkit.faces import style
from labkit.faces.canvas import Canvas, Spot, text_width
from labkit.faces.drawing import Drawing
from labkit.faces.measures import (
    CORE_HALF,
    HEIGHT,
    LEAD,
    METER_HALF_HEIGHT,
    TEXT,
    TURN,
    TURNS,
    Measures,
    facing,
    measure,
)
from labkit.faces.placement import place
from labkit.faces.routing import crossings, edges
from labkit.show import Picture
from labkit.theory.wiring import Terminal, Wiring, terminals
from labkit.words import schematic as words

SCALES = {"page": 0.85, "projector": 2.0}  # pixels a user unit: text of 15 and of 36 pixels
OPEN_RING, JOINT = 6.0, 4.0  # an open end is a ring, a taken one a joint; both smaller than a dot
DOT = 7.0
HOP = 7.0
SLEEVE = (9.0, 33.0)  # along a clip's lead, from the terminal
LINE = 1.2 * TEXT
NAME_WIDTH = 16  # characters of a line of a winding's name


def draw(
    wiring: str | Wiring,
    dots: str | tuple[Terminal, ...] | None = None,
    windings: int = 2,
    *,
    labels: Mapping[int, str] | None = None,
    measured: str | None = None,
    size: str = "page",
) -> Picture:
    """The schematic of a wiring as it was built, the wrong way round included, with the same in words.

    Parameters
    ----------
    wiring : str or Wiring
    dots : text such as `1a 2a`, or the dotted terminals; None if they are unknown, which is drawn as `?`
    windings : how many windings the part has
    labels : names for windings by number; the others are called `winding 1`, ...
    measured : what the meter reads, written into its symbol; `meter` if not given
    size : `page`, or `projector` with text 36 pixels high

    Returns
    -------
    Picture: `svg` with one `g` a tie (`data-tie`) and a clip (`data-clip`); `alt` says the same in words.

    Raises
    ------
    WiringError, EntryError

    Examples
    --------
    >>> print(draw("1a 2b | 1b=2a", dots="1a 2a").alt)
    Schematic of two windings on one core. Dots on 1a and 2a. Meter clips on 1a and 2b. Tie 1b to 2a.
    No end is open.
    """
    if size not in SCALES:
        raise EntryError(words.SIZE.format(given=size), size)
    drawing = Drawing.of(wiring, dots, windings, labels or {}, measured or words.METER)
    notation, alt = drawing.wiring.notation, drawing.spoken
    attributes = {"data_wiring": notation, "aria_label": alt}
    svg = _sheet(drawing).svg(words.TITLE.format(wiring=notation), attributes, scale=SCALES[size])
    return Picture(svg, alt)


def _sheet(drawing: Drawing) -> Canvas:
    names = [_lines(drawing, w) for w in range(1, drawing.windings + 1)]
    end = f"{drawing.windings}a {words.OPEN}"
    widths = tuple(max(text_width(line, TEXT) for line in (*name, end)) for name in names)
    measures = measure(place(drawing.wiring, drawing.windings), widths, drawing.measured)
    sheet = Canvas()
    _cores(sheet, measures)
    for w, name in enumerate(names, 1):
        _winding(sheet, measures, w, name, shorted=w in drawing.shorted)
        _polarity(sheet, measures.x[f"w{w}"], w, drawing.dots)
    _wires(sheet, measures, drawing)
    _joints(sheet, measures)
    _meter(sheet, measures, drawing.measured)
    _terminals(sheet, measures, drawing)
    _caption(sheet, drawing)
    return sheet


def _lines(drawing: Drawing, w: int) -> tuple[str, ...]:
    """What stands beside a winding; long names in lines as wide as it takes to stay within its height."""
    room = int(HEIGHT / LINE) - 3
    name = drawing.name(w)
    lines = textwrap.wrap(name, max(NAME_WIDTH, math.ceil(1.4 * len(name) / room)))
    return (*lines, words.SHORTED) if w in drawing.shorted else tuple(lines)


def _cores(sheet: Canvas, measures: Measures) -> None:
    sheet.group(data_core="")
    top, bottom = LEAD - TURN / 2, HEIGHT - LEAD + TURN / 2
    for core in measures.cores:
        for x in (core - CORE_HALF, core + CORE_HALF):
            sheet.path([(x, top), (x, bottom)], style.CORE)


def _winding(sheet: Canvas, measures: Measures, w: int, name: tuple[str, ...], *, shorted: bool) -> None:
    x, side = measures.x[f"w{w}"], facing(w)
    turn = f"a{TURN:g} {TURN:g} 0 0 {int(side > 0)} 0 {2 * TURN:g}"
    data = f"M{x:g} 0 v{LEAD:g} {turn * TURNS} v{LEAD:g}"
    sheet.group(data_winding=str(w))
    sheet.path([(x, 0.0), (x + side * TURN, HEIGHT)], style.winding(w), data)
    first = HEIGHT / 2 - LINE * (len(name) - 1) / 2 + 0.35 * TEXT
    for i, line in enumerate(name):
        weight = "bold" if shorted and i == len(name) - 1 else "normal"
        at = (x - side * 20.0, first + i * LINE)
        sheet.text(at, line, size=TEXT, anchor="end" if side > 0 else "start", weight=weight)


def _polarity(sheet: Canvas, x: float, w: int, dots: tuple[Terminal, ...] | None) -> None:
    sheet.group(data_polarity=str(w))
    for terminal in (Terminal(w, "a"), Terminal(w, "b")):
        at = (x + facing(w) * 22.0, LEAD - 4.0 if terminal.end == "a" else HEIGHT - LEAD + 4.0)
        if dots is None:
            sheet.text((at[0], at[1] + 0.35 * TEXT), words.UNKNOWN_DOT, size=TEXT, weight="bold")
        elif terminal in dots:
            sheet.circle(at, DOT, stroke=style.Stroke(style.INK, 0.0), fill=style.INK, data_dot=str(terminal))


def _wires(sheet: Canvas, measures: Measures, drawing: Drawing) -> None:
    paths = measures.placement.paths
    drawn: list[str] = []
    for i, tie in enumerate(drawing.wiring.ties):
        sheet.group(data_tie="=".join(map(str, tie)))
        for name in [name for name in sorted(paths) if name.startswith(f"tie-{i}-")]:
            _wire(sheet, measures, name, drawn)
            drawn.append(name)
    for i, clip in enumerate(drawing.wiring.clips):
        sheet.group(data_clip=str(clip))
        _wire(sheet, measures, f"clip-{i}", drawn)
        _sleeve(sheet, *measures.spots(paths[f"clip-{i}"])[:2])
        drawn.append(f"clip-{i}")


def _wire(sheet: Canvas, measures: Measures, name: str, drawn: list[str]) -> None:
    """One wire, with a hop wherever it passes over a wire of another net that is drawn already."""
    paths, nets = measures.placement.paths, measures.placement.nets
    foreign = [paths[other] for other in drawn if nets[other] != nets[name]]
    over = {measures.spot(point) for point in crossings(paths[name], foreign)}
    spots = measures.spots(paths[name])
    data = "M{:g} {:g}".format(*spots[0])
    for start, end in pairwise(spots):
        along = _unit(start, end)
        for way in sorted(math.dist(start, spot) for spot in over if _between(start, spot, end)):
            data += " L{:g} {:g}".format(*_from(start, along, way - HOP))
            data += " A{r:g} {r:g} 0 0 1 {:g} {:g}".format(*_from(start, along, way + HOP), r=HOP)
        data += " L{:g} {:g}".format(*end)
    sheet.path(spots, style.TIE if name.startswith("tie") else style.CLIP, data)


def _joints(sheet: Canvas, measures: Measures) -> None:
    """A dot wherever wires of one net meet away from a terminal."""
    paths, nets = measures.placement.paths, measures.placement.nets
    steps = {(edge, nets[name]) for name, path in paths.items() for edge in edges(path)}
    meeting = Counter((point, net) for edge, net in steps for point in edge)
    ends = {path[k] for path in paths.values() for k in (0, -1)}
    sheet.group(data_joints="")
    for point in sorted({point for (point, _), count in meeting.items() if count > 2} - ends):
        sheet.circle(measures.spot(point), JOINT, stroke=style.TIE, fill=style.TIE.colour)


def _sleeve(sheet: Canvas, terminal: Spot, towards: Spot) -> None:
    """The insulated sleeve of a clip, beside the terminal that it grips."""
    along = _unit(terminal, towards)
    near, far = (_from(terminal, along, way) for way in SLEEVE)
    sheet.path([near, far], style.Stroke(style.CLIP.colour, 11.0))
    sheet.path([terminal, near], style.Stroke(style.CLIP.colour, 6.0))


def _meter(sheet: Canvas, measures: Measures, measured: str) -> None:
    (x, y), half = measures.meter, measures.meter_half
    sheet.group(data_meter="")
    low, high = (x - half, y - METER_HALF_HEIGHT), (x + half, y + METER_HALF_HEIGHT)
    sheet.box(low, high, stroke=style.CLIP, fill=style.PAPER, radius=8.0)
    sheet.text((x, y + 0.35 * TEXT), measured, size=TEXT, weight="bold")


def _terminals(sheet: Canvas, measures: Measures, drawing: Drawing) -> None:
    sheet.group(data_terminals="")
    for terminal in terminals(drawing.windings):
        x, y, side = measures.x[f"w{terminal.winding}"], measures.y[terminal.end], facing(terminal.winding)
        is_open = terminal in drawing.open_ends
        radius, fill = (OPEN_RING, style.PAPER) if is_open else (JOINT, style.INK)
        rim = style.Stroke(style.INK, 2.2)
        sheet.circle((x, y), radius, stroke=rim, fill=fill, data_terminal=str(terminal))
        at = (x - side * 10.0, y - 11.0 if terminal.end == "a" else y + 11.0 + 0.72 * TEXT)
        anchor = "end" if side > 0 else "start"
        sheet.text(at, str(terminal), size=TEXT, anchor=anchor, weight="bold")
        if is_open:
            further = (at[0] - side * text_width(f"{terminal} ", TEXT), at[1])
            sheet.text(further, words.OPEN, size=TEXT, anchor=anchor, colour=style.MUTED)


def _caption(sheet: Canvas, drawing: Drawing) -> None:
    left, _, right, bottom = sheet.extent()
    sheet.group(data_caption="")
    notes = [drawing.wiring.notation, *([words.DOTS_UNKNOWN] if drawing.dots is None else [])]
    at = ((left + right) / 2, bottom + 1.6 * TEXT)
    sheet.text(at, " · ".join(notes), size=TEXT, colour=style.MUTED)


def _unit(start: Spot, end: Spot) -> Spot:
    length = math.dist(start, end)
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length


def _from(spot: Spot, along: Spot, way: float) -> Spot:
    return spot[0] + along[0] * way, spot[1] + along[1] * way


def _between(start: Spot, spot: Spot, end: Spot) -> bool:
    return math.isclose(math.dist(start, spot) + math.dist(spot, end), math.dist(start, end))
