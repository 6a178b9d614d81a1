"""Draw rows of lanes on one logarithmic axis; the look is that of all charts (`labkit.faces.plot`)."""

import math
import textwrap
from dataclasses import dataclass

from matplotlib.ticker import FixedLocator, FuncFormatter, LogLocator, NullFormatter

from labkit import quantity
from labkit.faces import plot
from labkit.faces.lanes import Lane, Row
from labkit.faces.plot import FAINT, GUIDE, MARKS, Axes, Beside, Size


@dataclass(frozen=True)
class Frame:
    """The ends of the axis in H, and the measures of the picture."""

    low: float
    high: float
    size: Size

    def place(self, value: float) -> float:
        """Where a value stands: 0 at the low end of the axis, 1 at the high end; never outside."""
        if value <= self.low:
            return 0.0
        return min(math.log(value / self.low) / math.log(self.high / self.low), 1.0)


def beside(lane: Lane, frame: Frame) -> Beside:
    """Where a lane's label stands: at the start of the axis if nothing is marked."""
    placed = [point for point in lane.points if point.has_place]
    if not placed:
        return Beside(0.01, "left")
    places = [frame.place(end) for point in placed for end in (point.value, *(point.interval or ()))]
    return plot.beside(min(places), max(places), lane.label, frame.size)


def draw(rows: tuple[Row, ...], frame: Frame, notes: tuple[str, ...], mark: str = "") -> str:
    """The picture as one `svg` element.

    Parameters
    ----------
    rows : from top to bottom
    frame : axis and measures
    notes : lines under the axis
    mark : what the whole picture is marked with, under its labels
    """
    heights = [_height(row, frame) for row in rows]
    with plot.drawn():
        height = sum(heights) or frame.size.line
        axes = _axes(frame, height, lines=len(notes))
        for i, row in enumerate(rows):
            _draw_row(axes, row, (sum(heights[:i]), sum(heights[: i + 1])), frame)
        plot.notes(axes, notes, mark, frame.size)
        return plot.inline(axes, frame.size)


def _label(row: Row, size: Size) -> list[str]:
    return textwrap.wrap(row.label, size.label)


def _height(row: Row, frame: Frame) -> float:
    """As much as the lanes need, or the label with its notation, and half a line between rows."""
    lanes = sum(beside(lane, frame).lines for lane in row.lanes)
    return frame.size.line * (max(lanes, 0.8 * len(_label(row, frame.size)) + 0.7) + 0.5)


def _axes(frame: Frame, height: float, lines: int) -> Axes:
    axes = plot.sheet(frame.size, height, plot.room_below(lines, frame.size))
    axes.set_xscale("log")
    axes.set_xlim(frame.low, frame.high)
    _ticks(axes, frame)
    return axes


def _ticks(axes: Axes, frame: Frame) -> None:
    """Labels at decades, or at 1, 2 and 5 where there are few; a faint line at each."""
    decades = range(math.floor(math.log10(frame.low)), math.floor(math.log10(frame.high)) + 1)
    steps = (1, 2, 5) if len(decades) <= 3 else (1,)
    every = math.ceil(len(decades) * 5 * frame.size.text / frame.size.axis)
    ticks = [n * 10.0**power for power in decades[::every] for n in steps]
    axes.xaxis.set_major_locator(FixedLocator([tick for tick in ticks if frame.low <= tick <= frame.high]))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda tick, _: _tick(tick)))
    axes.xaxis.set_minor_locator(LogLocator(subs=tuple(range(2, 10))))
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.grid(axis="x", which="major", color=FAINT, linewidth=1.0)


def _tick(value: float) -> str:
    """A round value with all its digits before the decimal mark: 1, 10 or 100 of a unit."""
    return quantity.display(value, significant_digits=1 + math.floor(math.log10(value) + 1e-9) % 3)


def _draw_row(axes: Axes, row: Row, span: tuple[float, float], frame: Frame) -> None:
    size, line = frame.size, 0.8 * frame.size.line
    first = plot.heading(axes, _label(row, size), [row.wiring], span[0], size)
    _guide(axes, row, span, size)
    for lane in row.lanes:
        spot = beside(lane, frame)
        _draw_marks(axes, lane, first, frame)
        weight = "bold" if lane.kind == "reading" else "normal"
        y = first + (spot.lines - 1) * line
        plot.write(axes, lane.label, (spot.x, y), size.text, weight=weight, ha=spot.towards)
        first += spot.lines * size.line


def _guide(axes: Axes, row: Row, span: tuple[float, float], size: Size) -> None:
    """A line from the first reading down through the row: what lies on it was predicted well."""
    readings = [lane.points[0] for lane in row.lanes if lane.kind == "reading" and lane.points[0].has_place]
    if readings and len(row.lanes) > 1:
        top, bottom = span[0] + 0.3 * size.line, span[1] - 0.3 * size.line
        axes.vlines(readings[0].value, top, bottom, color=GUIDE, linewidth=0.12 * size.text, zorder=1)


def _draw_marks(axes: Axes, lane: Lane, y: float, frame: Frame) -> None:
    mark, height = MARKS[lane.kind], frame.size.text
    for point in lane.points:
        if point.has_place:
            if point.interval:
                plot.interval(axes, point.interval, y, mark.stroke, height=height)
            plot.point(axes, (point.value, y), mark, height=height)
