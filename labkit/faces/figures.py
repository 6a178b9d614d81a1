"""Pictures of a bench: readings and predictions side by side."""

import math
from functools import lru_cache

from labkit import quantity
from labkit.analysis.analysis import Analysis, analyse
from labkit.bench.bench import Bench
from labkit.faces.chart import Frame, draw
from labkit.faces.lanes import Lane, Row, rows
from labkit.faces.plot import Size, size_called
from labkit.show import Picture
from labkit.words import figures as words


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
        return (words.NOTHING,)
    stated = any(point.interval for lane in _lanes(found) for point in lane.points)
    inputs = any(lane.is_input for lane in _lanes(found))
    bars = words.BARS if stated else words.NO_BARS
    return (f"{words.AXIS}; {bars}", *[words.INPUTS] * inputs)


def alt_of(found: tuple[Row, ...], frame: Frame, mark: str) -> str:
    """The picture in words."""
    if not found:
        return words.NOTHING
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
