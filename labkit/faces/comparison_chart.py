"""What stands in the picture of the comparison: a row for each connection, a lane for each kind of number.

Worked out before anything is drawn, so that the drawing, its alternative in words and the tests speak of
the same numbers.
"""

import math
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from matplotlib.ticker import FixedLocator, FuncFormatter, LogLocator, NullFormatter

from labkit import quantity
from labkit.analysis.analysis import Analysis, analyse
from labkit.analysis.observations import Observation
from labkit.analysis.predict import Prediction, Ruled
from labkit.faces import plot
from labkit.faces.plot import FAINT, GUIDE, MARKS, Axes, Beside, Size, size_called
from labkit.record.bench import Bench
from labkit.record.state import OwnPrediction
from labkit.show import Picture
from labkit.theory.network import identify
from labkit.theory.wiring import Connection, Wiring
from labkit.words import labels
from labkit.words import pictures as words

SHOWN_OWN = 3  # own predictions of one connection that are written out; all are marked
ID_WIDTH = 24  # characters of a reading's id
Key = Connection | Wiring


@dataclass(frozen=True)
class Point:
    """A value and its interval in H; no interval if no uncertainty is stated."""

    value: float
    interval: tuple[float, float] | None = None

    @property
    def has_place(self) -> bool:
        """Whether the value can stand on a logarithmic axis."""
        return 0 < self.value < math.inf


@dataclass(frozen=True)
class Lane:
    """One line of a row.

    Attributes
    ----------
    kind : "reading", "coupled", "uncoupled" or "own"
    points : what is marked
    text : the same in figures
    name : what it is called beside the mark, if not by its kind
    is_input : whether the coupled rule rests on it
    """

    kind: str
    points: tuple[Point, ...]
    text: str
    name: str = ""
    is_input: bool = False

    @property
    def label(self) -> str:
        """What stands beside the mark."""
        label = words.LANE.format(name=self.name or words.KIND[self.kind], text=self.text)
        label = words.INPUT.format(text=label) if self.is_input else label
        return label if all(point.has_place for point in self.points) else words.OFF_AXIS.format(lane=label)


@dataclass(frozen=True)
class Row:
    """A connection and the wiring that was built, or a wiring whose connection is not known; its lanes."""

    label: str
    wiring: str
    lanes: tuple[Lane, ...]

    @property
    def title(self) -> str:
        """What the row is about, in one line."""
        return words.ROW.format(label=self.label, wiring=self.wiring) if self.wiring else self.label


def rows(analysis: Analysis) -> tuple[Row, ...]:
    """Everything read or predicted: in a row the readings first, then the rules, then people's own."""
    predicted: dict[Key, Prediction] = {
        p.wiring.canonical() if p.either else p.connection: p
        for p in analysis.predictions
        if p.coupled or p.uncoupled
    }
    observed = _grouped(analysis, analysis.shared.observations)
    own = _grouped(analysis, analysis.bench.predictions)
    keys: tuple[Key, ...] = (*predicted, *observed, *own)
    known: list[Key] = [connection for connection in Connection if connection in keys]
    others = dict.fromkeys(key for key in keys if isinstance(key, Wiring))
    inputs = analysis.believed.observations if analysis.believed else ()
    return tuple(
        _row(key, predicted.get(key), observed.get(key, []), own.get(key, []), inputs)
        for key in (*known, *others)
    )


def _grouped(analysis: Analysis, items: Iterable[Any]) -> dict[Key, list[Any]]:
    groups: dict[Key, list[Any]] = {}
    for item in items:
        groups.setdefault(_key(analysis, item.wiring), []).append(item)
    return groups


def _key(analysis: Analysis, wiring: Wiring) -> Key:
    """The connection where it is known, else the wiring itself."""
    canonical = wiring.canonical(analysis.bench.windings)
    if analysis.bench.windings != 2:
        return canonical
    if analysis.shared.dots:
        return identify(wiring, analysis.shared.dots)
    same = (o for o in analysis.shared.observations if o.wiring.canonical() == canonical)
    return next((o.connection for o in same if o.connection), canonical)


def _row(
    key: Key,
    predicted: Prediction | None,
    observed: list[Observation],
    own: list[OwnPrediction],
    inputs: tuple[Observation, ...],
) -> Row:
    lanes = [_reading(o, several=len(observed) > 1, is_input=o in inputs) for o in observed]
    if predicted and predicted.coupled and not predicted.is_input:
        lanes.append(_rule("coupled", predicted.coupled))
    if predicted and predicted.uncoupled:
        lanes.append(_rule("uncoupled", predicted.uncoupled))
    if own:
        lanes.append(_own(own))
    wiring = next(item.wiring for item in (*observed, predicted, *own) if item)
    if isinstance(key, Connection):
        return Row(labels.CONNECTION[key], wiring.notation, tuple(lanes))
    return Row(wiring.notation, "", tuple(lanes))


def _reading(o: Observation, *, several: bool, is_input: bool) -> Lane:
    u = o.standard_uncertainty
    text = o.text if u is None else quantity.display(o.value, u)
    name = words.READING_ID.format(id=_short(o.id)) if several else ""
    return Lane("reading", (Point(o.value, _around(o.value, u)),), text, name, is_input)


def _rule(kind: str, ruled: Ruled) -> Lane:
    """By Monte Carlo's interval where there is one, written out where first order is not to be trusted."""
    value, u = ruled.estimate.value, ruled.estimate.standard_uncertainty
    if not ruled.stated:
        return Lane(kind, (Point(value),), quantity.display(value))
    interval = ruled.monte_carlo.shortest if ruled.monte_carlo else _around(value, u)
    text = quantity.display(value, u)
    if ruled.trusted is False and interval:
        low, high = map(quantity.display, interval)
        text = words.INTERVAL.format(value=quantity.display(value), low=low, high=high)
    return Lane(kind, (Point(value, interval),), text)


def _own(own: list[OwnPrediction]) -> Lane:
    text = ", ".join(p.text for p in own[:SHOWN_OWN])
    if len(own) > SHOWN_OWN:
        text = words.MORE.format(shown=text, count=len(own) - SHOWN_OWN)
    return Lane("own", tuple(Point(p.shown.value) for p in own), text)


def _around(value: float, u: float | None) -> tuple[float, float] | None:
    return None if u is None else (value - 2 * u, value + 2 * u)


def _short(id: str) -> str:
    return id if len(id) <= ID_WIDTH else f"{id[: ID_WIDTH - 1]}…"


# Draw rows of lanes on one logarithmic axis; the look is that of all charts (`labkit.faces.plot`).


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


# Pictures of a bench: readings and predictions side by side.


def comparison(bench: Bench, size: str = "page") -> Picture:
    """Readings and predictions of every connection that was read or predicted, with their intervals.

    One row a connection, one logarithmic axis of inductance. What has no place on it, a negative reading
    say, is stated in its row.

    Parameters
    ----------
    bench : Bench
    size : `page`, or `projector` for letters that can be read from the last row

    Returns
    -------
    Picture: the same bytes for the same record; `alt` says the numbers in words.

    Raises
    ------
    EntryError
    """
    return _drawn(analyse(bench), size_called(size))


@lru_cache(maxsize=8)  # the notebook and the report show the same picture
def _drawn(analysis: Analysis, measures: Size) -> Picture:
    found = rows(analysis)
    frame = frame_of(found, measures)
    mark = words.INVENTED if analysis.bench.invented else ""
    return Picture(draw(found, frame, notes_of(found), mark), alt_of(found, frame, mark))


def frame_of(found: tuple[Row, ...], size: Size) -> Frame:
    """Ends of the axis at least a decade apart, with room beyond the outermost marks."""
    values = [point.value for lane in _lanes(found) for point in lane.points if point.has_place] or [1e-3]
    low, high = math.log10(min(values)) - 0.15, math.log10(max(values)) + 0.15
    short = max(0.0, 1.0 - (high - low)) / 2
    return Frame(10 ** (low - short), 10 ** (high + short), size)


def notes_of(found: tuple[Row, ...]) -> tuple[str, ...]:
    """The lines below the picture: what the axis and the bars are."""
    if not found:
        return (words.FIGURES_NOTHING,)
    stated = any(point.interval for lane in _lanes(found) for point in lane.points)
    inputs = any(lane.is_input for lane in _lanes(found))
    bars = words.BARS if stated else words.NO_BARS
    return (f"{words.AXIS}; {bars}", *[words.INPUTS] * inputs)


def alt_of(found: tuple[Row, ...], frame: Frame, mark: str) -> str:
    """The picture in words."""
    if not found:
        return words.FIGURES_NOTHING
    low, high = (quantity.display(end, significant_digits=2) for end in (frame.low, frame.high))
    sentences = [words.ALT_HEAD.format(low=low, high=high)]
    sentences += [words.ALT_INVENTED] * bool(mark)
    sentences += [words.ALT_INPUT] * any(lane.is_input for lane in _lanes(found))
    for row in found:
        lanes = "; ".join(lane.label for lane in row.lanes)
        sentences.append(words.ALT_ROW.format(row=row.title, lanes=lanes))
    return " ".join(sentences)


def _lanes(found: tuple[Row, ...]) -> list[Lane]:
    return [lane for row in found for lane in row.lanes]
