"""What is hooked up to a part: ties, clips with their leads, the meter, the terminals they all meet at.

Every wire comes routed (`labkit.faces.placement`); where the part itself stands between its terminals is the
business of whoever draws it.
"""

import math
from collections import Counter
from itertools import pairwise

from labkit.faces import style
from labkit.faces.canvas import Canvas, Spot, text_width
from labkit.faces.drawing import Drawing
from labkit.faces.measures import METER_HALF_HEIGHT, TEXT, Measures, facing
from labkit.faces.routing import crossings, edges
from labkit.theory.wiring import Terminal
from labkit.theory.wiring import terminals as terminals_of
from labkit.words import schematic as words

OPEN_RING, JOINT = 6.0, 4.0  # an open end is a ring, a taken one a joint; both smaller than a dot
HOP = 7.0
SLEEVE = (9.0, 33.0)  # along a clip's lead, from the terminal


def wires(sheet: Canvas, measures: Measures, drawing: Drawing) -> None:
    """Every tie and both leads, each in a group of its own."""
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


def joints(sheet: Canvas, measures: Measures) -> None:
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


def meter(sheet: Canvas, measures: Measures, measured: str) -> None:
    """The meter's symbol with what it reads."""
    (x, y), half = measures.meter, measures.meter_half
    sheet.group(data_meter="")
    low, high = (x - half, y - METER_HALF_HEIGHT), (x + half, y + METER_HALF_HEIGHT)
    sheet.box(low, high, stroke=style.CLIP, fill=style.PAPER, radius=8.0)
    sheet.text((x, y + 0.35 * TEXT), measured, size=TEXT, weight="bold")


def terminals(sheet: Canvas, measures: Measures, drawing: Drawing) -> None:
    """Every terminal with its name, open ones as rings."""
    sheet.group(data_terminals="")
    for each in terminals_of(drawing.windings):
        at = measures.x[f"w{each.winding}"], measures.y[each.end]
        terminal(sheet, each, at, is_open=each in drawing.open_ends)


def terminal(sheet: Canvas, which: Terminal, place: Spot, *, is_open: bool) -> None:
    """One terminal with its name beside it."""
    (x, y), side = place, facing(which.winding)
    radius, fill = (OPEN_RING, style.PAPER) if is_open else (JOINT, style.INK)
    rim = style.Stroke(style.INK, 2.2)
    sheet.circle((x, y), radius, stroke=rim, fill=fill, data_terminal=str(which))
    at = (x - side * 10.0, y - 11.0 if which.end == "a" else y + 11.0 + 0.72 * TEXT)
    anchor = "end" if side > 0 else "start"
    sheet.text(at, str(which), size=TEXT, anchor=anchor, weight="bold")
    if is_open:
        further = (at[0] - side * text_width(f"{which} ", TEXT), at[1])
        sheet.text(further, words.OPEN, size=TEXT, anchor=anchor, colour=style.MUTED)


def _unit(start: Spot, end: Spot) -> Spot:
    length = math.dist(start, end)
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length


def _from(spot: Spot, along: Spot, way: float) -> Spot:
    return spot[0] + along[0] * way, spot[1] + along[1] * way


def _between(start: Spot, spot: Spot, end: Spot) -> bool:
    return math.isclose(math.dist(start, spot) + math.dist(spot, end), math.dist(start, end))
