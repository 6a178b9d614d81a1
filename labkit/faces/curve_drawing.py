"""How a chart of curves is drawn: axes, curves, bands, names where the curves end.

A curve with many more points than pixels is drawn by the first, lowest, highest and last point of each pixel
column: nothing that could be seen is lost, and the file stays small. (matplotlib took ten times as long for
the same picture, nearly all of it for the marks on its axes.)
"""

import re
import textwrap
from collections.abc import Iterator, Sequence

import numpy as np

from labkit.faces import style
from labkit.faces.canvas import Canvas
from labkit.faces.curve import Chart, Curve, Floats, Line, stroke
from labkit.faces.curve_frame import LABEL, Frame, between, decades, number_text, round_text, upright
from labkit.faces.plot import CHARACTER, FAINT, GUIDE, SMALL, Size
from labkit.words import curves as words

PALE = "0.22"  # of a band
NEAR = 4  # points a pixel column above which a curve is thinned


def draw(drawn: Chart, alt: str) -> str:
    """A chart with at least one value that has a place, as one `svg` element."""
    sheet, frame = Canvas(), Frame(drawn)
    sheet.box((0, 0), (frame.size.width, frame.whole), stroke=style.Stroke(style.PAPER, 0), fill=style.PAPER)
    _axes(sheet, frame)
    looks = [_scaled(curve.look or stroke(i), frame.size) for i, curve in enumerate(drawn.curves)]
    for line in drawn.lines:
        _line(sheet, frame, line)
    for curve, look in zip(drawn.curves, looks, strict=True):
        _band(sheet, frame, curve, look)
    for curve, look in zip(drawn.curves, looks, strict=True):
        _curve(sheet, frame, curve, look)
    _names(sheet, frame, looks)
    _written(sheet, frame)
    return sheet.svg(drawn.title, {"aria_label": alt}, scale=1.0)


def _scaled(look: style.Stroke, size: Size) -> style.Stroke:
    by = size.text / 14
    return style.Stroke(look.colour, look.width * by, tuple(dash * by for dash in look.dashes))


def _axes(sheet: Canvas, frame: Frame) -> None:
    """Faint lines at round values with their numbers, small marks between, and the two axes themselves."""
    size = frame.size
    faint, axis = style.Stroke(FAINT, 1.0), style.Stroke(style.INK, 1.0)
    sheet.group(data_axis="frequency")
    most = (frame.right - frame.left) / (CHARACTER * size.text * 9)
    for f, x in _placed(frame.x, decades(*frame.span, most)):
        sheet.path([(x, frame.top), (x, frame.bottom)], faint)
        sheet.path([(x, frame.bottom), (x, frame.bottom + 0.4 * size.text)], axis)
        sheet.text((x, frame.bottom + 1.45 * size.text), round_text(f, "Hz"), size=size.text)
    _small_marks(sheet, frame.x(between(frame.span)), frame.bottom, 0.2 * size.text, axis)
    sheet.group(data_axis="value")
    for value, y in _placed(frame.y, upright(frame)):
        sheet.path([(frame.left, y), (frame.right, y)], faint)
        sheet.path([(frame.left - 0.4 * size.text, y), (frame.left, y)], axis)
        at = (frame.left - 0.65 * size.text, y + 0.36 * size.text)
        sheet.text(at, number_text(value, frame.scale), size=size.text, anchor="end")
    if not frame.scale.log:
        zero = float(frame.y(np.zeros(1))[0])
        sheet.path([(frame.left, zero), (frame.right, zero)], style.Stroke(GUIDE, 0.09 * size.text))
    sheet.path([(frame.left, frame.top), (frame.left, frame.bottom), (frame.right, frame.bottom)], axis)


def _placed(place: object, ticks: Sequence[float]) -> Iterator[tuple[float, float]]:
    assert callable(place)
    return zip(ticks, map(float, place(np.array(ticks, dtype=np.float64))), strict=True)


def _small_marks(sheet: Canvas, xs: Floats, y: float, length: float, ink: style.Stroke) -> None:
    data = " ".join(f"M{x:.2f} {y:.2f} v{length:.2f}" for x in xs)
    if data:
        sheet.path([(float(xs[0]), y), (float(xs[-1]), y + length)], ink, data)


def _line(sheet: Canvas, frame: Frame, line: Line) -> None:
    """An upright line with its name above the axes, on the side that has room."""
    low, high = frame.span
    if low <= line.frequency <= high:
        size = frame.size
        (x,) = map(float, frame.x(np.array([line.frequency])))
        sheet.group(data_mark=f"line {line.label}")
        sheet.path([(x, frame.top), (x, frame.bottom)], style.Stroke(GUIDE, 0.09 * size.text))
        side = "start" if x < (frame.left + frame.right) / 2 else "end"
        at = (x, frame.top - 0.3 * size.text)
        sheet.text(at, line.label, size=SMALL * size.text, anchor=side, colour=style.MUTED)


def _band(sheet: Canvas, frame: Frame, curve: Curve, look: style.Stroke) -> None:
    if curve.low is None or curve.high is None:
        return
    x, y = frame.x(curve.frequency), frame.y(curve.value)
    low, high = (np.where(np.isnan(end), y, end) for end in map(frame.y, (curve.low, curve.high)))
    sheet.group(data_mark=f"band {curve.label}")
    for part in _runs(low + high):
        upper, lower = thinned(x[part], high[part]), thinned(x[part], low[part])
        sheet.polygon([*_spots(*upper), *reversed(_spots(*lower))], look.colour, fill_opacity=PALE)


def _curve(sheet: Canvas, frame: Frame, curve: Curve, look: style.Stroke) -> None:
    x, y = frame.x(curve.frequency), frame.y(curve.value)
    sheet.group(data_mark=curve.label)
    for part in _runs(y):
        xs, ys = thinned(x[part], y[part])
        if curve.points or len(xs) == 1:
            rim, radius = style.Stroke(look.colour, 0), 0.28 * frame.size.text
            for spot in _spots(xs, ys):
                sheet.circle(spot, radius, stroke=rim, fill=look.colour)
        else:
            corners = [(float(xs[0]), float(ys.min())), (float(xs[-1]), float(ys.max()))]
            data = "M" + " L".join(map("{:.2f} {:.2f}".format, xs.tolist(), ys.tolist()))
            sheet.path(corners, look, data)


def _runs(values: Floats) -> Iterator[slice]:
    """The stretches of neighbouring values that have a place."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], ~np.isnan(values), [False]]).astype(np.int8)))
    return (slice(int(a), int(b)) for a, b in edges.reshape(-1, 2))


def thinned(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """As few points as look the same: first, lowest, highest and last of each pixel column."""
    column = np.floor(x)
    starts = np.flatnonzero(np.diff(column, prepend=column[0] - 1))
    if len(x) <= NEAR * len(starts):
        return x, y
    counts = np.diff(starts, append=len(x))
    lowest, highest = (np.repeat(each.reduceat(y, starts), counts) for each in (np.minimum, np.maximum))
    kept = (y == lowest) | (y == highest)
    kept[starts] = kept[starts + counts - 1] = True
    return x[kept], y[kept]


def _spots(x: Floats, y: Floats) -> list[tuple[float, float]]:
    return list(zip(x.tolist(), y.tolist(), strict=True))


def _names(sheet: Canvas, frame: Frame, looks: Sequence[style.Stroke]) -> None:
    """The name of each curve right of it, at the height where it ends or as near as the others let it."""
    text, curves = frame.size.text, frame.chart.curves
    lines = [textwrap.wrap(_kept_together(curve.label), LABEL) or [""] for curve in curves]
    heights = [(len(each) * 1.2 + 0.35) * text for each in lines]
    wanted = [_end(frame, curve) for curve in curves]
    places = spread(wanted, heights, frame.top, frame.bottom)
    for curve, name, y, end, look in zip(curves, lines, places, wanted, looks, strict=True):
        sheet.group(data_name=curve.label)
        lead = [(frame.right + 0.15 * text, end), (frame.right + 0.75 * text, y)]
        sheet.path(lead, style.Stroke(GUIDE, 1.0))
        sheet.path([(frame.right + 0.85 * text, y), (frame.right + 2.4 * text, y)], look)
        for i, line in enumerate(name):
            down = 1.2 * (i - (len(name) - 1) / 2) * text + 0.36 * text
            sheet.text((frame.right + 2.7 * text, y + down), line, size=text, anchor="start")


def _kept_together(label: str) -> str:
    """No line ends between a number and its unit, or between a pair of impedances."""
    return re.sub(r"(?<=\d) (?=[a-zA-ZµΩ%])| (?=/)|(?<=/) ", "\N{NO-BREAK SPACE}", label)


def _end(frame: Frame, curve: Curve) -> float:
    """How high the last value of a curve stands; the foot of the axis if none has a place."""
    found = frame.y(curve.value)
    found = found[~np.isnan(found)]
    return float(found[-1]) if len(found) else frame.bottom


def spread(wanted: Sequence[float], heights: Sequence[float], top: float, bottom: float) -> list[float]:
    """Places as near to the wanted ones as there is room for, in the same order, none over another."""
    order = sorted(range(len(wanted)), key=lambda i: (wanted[i], i))
    placed, free = list(wanted), top
    for i in order:
        placed[i] = max(placed[i], free + heights[i] / 2)
        free = placed[i] + heights[i] / 2
    limit = max(bottom, top + sum(heights))
    for i in reversed(order):
        placed[i] = min(placed[i], limit - heights[i] / 2)
        limit = placed[i] - heights[i] / 2
    return placed


def _written(sheet: Canvas, frame: Frame) -> None:
    """Title and name of the upright axis above, name of the other one and notes below."""
    size, chart = frame.size, frame.chart
    small = SMALL * size.text
    sheet.group(data_words="")
    sheet.text((0, 1.05 * size.line), chart.title, size=size.text, anchor="start", weight="bold")
    sheet.text((0, 2.0 * size.line), chart.scale.name, size=small, anchor="start", colour=style.MUTED)
    below = frame.bottom + 1.85 * size.line
    sheet.text((frame.right, below), words.FREQUENCY, size=small, anchor="end", colour=style.MUTED)
    if chart.mark:
        sheet.text((0, below), chart.mark, size=size.text, anchor="start", weight="bold")
    for i, note in enumerate(frame.notes):
        at = (0.0, below + (1.0 + 0.85 * i) * size.line)
        sheet.text(at, note, size=small, anchor="start", colour=style.MUTED)
