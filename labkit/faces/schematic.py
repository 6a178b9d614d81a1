"""Draw what was built: windings, dots, ties, clips and meter of one wiring, as SVG.

`labkit.faces.placement` decides which way every wire goes, `labkit.faces.measures` how large all is.
"""

import math
import textwrap
from collections.abc import Mapping

from labkit.errors import EntryError
from labkit.faces import hookup, style
from labkit.faces.canvas import Canvas, text_width
from labkit.faces.drawing import Drawing
from labkit.faces.measures import (
    CORE_HALF,
    HEIGHT,
    LEAD,
    TEXT,
    TURN,
    TURNS,
    Measures,
    facing,
    measure,
)
from labkit.faces.placement import place
from labkit.show import Picture
from labkit.theory.wiring import Terminal, Wiring
from labkit.words import schematic as words

SCALES = {"page": 0.85, "projector": 2.0}  # pixels a user unit: text of 15 and of 36 pixels
DOT = 7.0
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
    measured : what the meter reads, written into its symbol; `meter` if not given, `source` for a source
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
    hookup.wires(sheet, measures, drawing)
    hookup.joints(sheet, measures)
    hookup.meter(sheet, measures, drawing.measured)
    hookup.terminals(sheet, measures, drawing)
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


def _caption(sheet: Canvas, drawing: Drawing) -> None:
    left, _, right, bottom = sheet.extent()
    sheet.group(data_caption="")
    notes = [drawing.wiring.notation, *([words.DOTS_UNKNOWN] if drawing.dots is None else [])]
    at = ((left + right) / 2, bottom + 1.6 * TEXT)
    sheet.text(at, " · ".join(notes), size=TEXT, colour=style.MUTED)
