"""The ring itself: core, two windings with their sense, currents in them and fluxes in it.

The ring is seen from the front. A current that crosses the face of the core towards the window goes on
through the window away from the viewer, and by the right-hand rule its flux runs clockwise. A winding is
drawn with the sense that lets a current into its dotted end cross towards the window.

Lengths in user units, x to the right and y down; angles in degrees from the right, counted upwards.
"""

import math
from itertools import pairwise

from labkit.faces import style
from labkit.faces.canvas import Canvas, Spot, arrowhead
from labkit.faces.measures import TEXT, facing
from labkit.faces.style import Stroke
from labkit.theory.flux import Fluxes
from labkit.theory.wiring import Terminal
from labkit.words import pictures as words
from labkit.words import schematic as schematic_words

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
    name = schematic_words.WINDING.format(number=w)
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
