"""How a chart of curves is drawn: axes, curves, bands, names where the curves end.

A curve with many more points than pixels is drawn by the first, lowest, highest and last point of each pixel
column: nothing that could be seen is lost, and the file stays small. (matplotlib took ten times as long for
the same picture, nearly all of it for the marks on its axes.)
"""

import math
import re
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from labkit import quantity
from labkit.arrays import Floats
from labkit.errors import EntryError, ShapeError
from labkit.faces import plot
from labkit.faces.plot import CHARACTER, FAINT, GUIDE, SMALL, Canvas, Size
from labkit.quantity.kinds import KINDS
from labkit.show import Picture
from labkit.words import pictures as words

# What a chart against frequency is made of: curves with bands, the upright axis, marked frequencies.

HUES = ("blue", "vermillion", "black", "bluish green", "reddish purple", "sky blue")
WIDTHS = (3.4, 2.4, 1.8, 2.2, 2.2, 2.2)  # falling at first, so that curves that coincide are all seen
DASHES: tuple[tuple[float, ...], ...] = (
    (),
    (9.0, 5.0),
    (2.0, 4.0),
    (9.0, 3.0, 2.0, 3.0),
    (5.0, 2.0),
    (3.0, 6.0),
)
SCALES = ("log", "linear")


def stroke(number: int) -> plot.Stroke:
    """The stroke of curve `number`, counted from 0; hue and dashes differ up to the sixth.

    >>> stroke(0).dashes, stroke(1).dashes
    ((), (9.0, 5.0))
    """
    at = number % len(HUES)
    return plot.Stroke(plot.OKABE_ITO[HUES[at]], WIDTHS[at], DASHES[at])


@dataclass(frozen=True, eq=False)
class Curve:
    """One quantity at F frequencies.

    Attributes
    ----------
    label : what it is, as short as can be; it stands beside the curve
    frequency, value : (F,), in Hz and in the unit of the axis
    low, high : ends of its band, (F,); None for no band
    look : its stroke; None for the next of `stroke`
    points : marks at the frequencies instead of a line between them, as for readings
    """

    label: str
    frequency: Floats
    value: Floats
    low: Floats | None = None
    high: Floats | None = None
    look: plot.Stroke | None = None
    points: bool = False

    def __post_init__(self) -> None:
        frequencies = np.size(self.frequency)
        for name in ("frequency", "value", "low", "high"):
            given = getattr(self, name)
            if given is not None:
                kept = np.atleast_1d(np.asarray(given, dtype=np.float64))
                if kept.shape != (frequencies,) or not frequencies:
                    raise ShapeError(
                        f"A curve of {frequencies} frequencies needs as many values, and '{self.label}' "
                        f"has {kept.size}."
                    )
                object.__setattr__(self, name, kept)


@dataclass(frozen=True)
class Scale:
    """The upright axis: what it shows, in which unit (without prefix), `log` or `linear`."""

    name: str
    unit: str
    scale: str = "log"

    def __post_init__(self) -> None:
        if self.scale not in SCALES:
            raise EntryError(
                f"'{self.scale}' is not an axis for a curve; write scale='log' or scale='linear'.", self.scale
            )

    @property
    def log(self) -> bool:
        """Whether equal steps are equal ratios."""
        return self.scale == "log"

    def text(self, value: float, digits: int = 3) -> str:
        """A value with its unit and SI prefix."""
        return quantity.display(float(value), unit=self.unit, significant_digits=digits)

    def has_place(self, values: Floats) -> npt.NDArray[np.bool_]:
        """Which values can be drawn."""
        return np.isfinite(values) & ((values > 0) if self.log else True)


@dataclass(frozen=True)
class Line:
    """A frequency that is marked by an upright line, such as a corner, and what it is called."""

    frequency: float
    label: str


@dataclass(frozen=True, eq=False)
class Chart:
    """All of a chart: its words, its curves, its measures."""

    title: str
    scale: Scale
    curves: tuple[Curve, ...]
    lines: tuple[Line, ...] = ()
    notes: tuple[str, ...] = ()
    mark: str = ""
    size: Size = field(default_factory=lambda: plot.SIZES["page"])

    @property
    def is_empty(self) -> bool:
        """Whether no value has a place."""
        return not any(self.scale.has_place(curve.value).any() for curve in self.curves)

    @property
    def missing(self) -> tuple[str, ...]:
        """A sentence for each curve of which some values have no place on the axis."""
        sentence = words.NO_PLACE_LOG if self.scale.log else words.NO_PLACE
        return tuple(
            sentence.format(label=curve.label, count=int((~fits).sum()), points=len(fits))
            for curve in self.curves
            if not (fits := self.scale.has_place(curve.value)).all()
        )


# Where everything in a chart of curves has its place, and which round values its axes show.
#
# Lengths are pixels, x to the right and y down.

LABEL = 19  # characters of a line of a name beside its curve
TICK = 8  # characters of the longest number on the upright axis
RIGHT_ANGLES = (0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 45, 90)  # steps of an axis of angles, in °
TALL = 0.42  # height of the axes in widths of the chart


@dataclass(frozen=True, eq=False)
class Frame:
    """Where everything in a chart has its place."""

    chart: Chart

    @property
    def size(self) -> Size:
        """Measures of the picture."""
        return self.chart.size

    @property
    def scale(self) -> Scale:
        """The upright axis."""
        return self.chart.scale

    @property
    def left(self) -> float:
        """Where the axes begin."""
        return CHARACTER * self.size.text * TICK

    @property
    def right(self) -> float:
        """Where they end; right of it is room for names."""
        return self.size.width - CHARACTER * self.size.text * (LABEL + 4)

    @property
    def top(self) -> float:
        """Where they begin below title, name of the axis, and names of lines."""
        return (2.7 + 0.8 * bool(self.chart.lines)) * self.size.line

    @property
    def bottom(self) -> float:
        """Where they end above their numbers."""
        return self.top + TALL * self.size.width

    @cached_property
    def notes(self) -> list[str]:
        """The lines below the axes."""
        room = int(self.size.width / (CHARACTER * SMALL * self.size.text)) - 2
        every = (*self.chart.notes, *self.chart.missing)
        return [line for note in every for line in textwrap.wrap(note, room)]

    @property
    def whole(self) -> float:
        """Height of the picture."""
        return self.bottom + (2.6 + 0.85 * len(self.notes)) * self.size.line

    @cached_property
    def span(self) -> tuple[float, float]:
        """Lowest and highest frequency, an octave apart at least."""
        f = np.concatenate([curve.frequency for curve in self.chart.curves])
        low, high = float(f.min()), float(f.max())
        return (low, high) if high > low else (low / 2, high * 2)

    @cached_property
    def reach(self) -> tuple[float, float]:
        """Lowest and highest value with some room: a decade at least, or with zero on a linear axis."""
        ends = [
            values[self.scale.has_place(values)]
            for curve in self.chart.curves
            for values in (curve.value, curve.low, curve.high)
            if values is not None
        ]
        every = np.concatenate(ends)
        low, high = float(every.min()), float(every.max())
        if self.scale.log:
            middle, half = math.sqrt(low * high), max(math.log10(high / low) / 2 + 0.08, 0.5)
            return middle / 10**half, middle * 10**half
        low, high = min(low, 0.0), max(high, 0.0)
        room = 0.06 * ((high - low) or 1.0)
        return low - room * (low < 0), high + room

    def x(self, frequency: Floats) -> Floats:
        """Where frequencies stand."""
        low, high = self.span
        part = np.log(frequency / low) / math.log(high / low)
        return np.asarray(self.left + part * (self.right - self.left))

    def y(self, value: Floats) -> Floats:
        """Where values stand; nan where one has no place."""
        low, high = self.reach
        fits = self.scale.has_place(value)
        held = np.where(fits, value, 1.0)
        log = self.scale.log
        part = np.log(held / low) / math.log(high / low) if log else (held - low) / (high - low)
        return np.where(fits, self.bottom - part * (self.bottom - self.top), np.nan)


def between(span: tuple[float, float]) -> Floats:
    """The multiples of each power of ten."""
    low, high = span
    powers = 10.0 ** np.arange(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    every = np.outer(powers, np.arange(1, 10)).ravel()
    return np.asarray(every[(every >= low) & (every <= high)])


def upright(frame: Frame) -> list[float]:
    low, high = frame.reach
    most = (frame.bottom - frame.top) / (2.2 * frame.size.text)
    if frame.scale.log:
        return decades(low, high, most)
    most = min(most, 9)
    powers = range(math.floor(math.log10((high - low) / most)), 99)
    tens = (n * 10.0**p for p in powers for n in (1, 2, 5))
    steps = (*RIGHT_ANGLES, *tens) if frame.scale.unit == "°" else tens
    step = next(each for each in steps if (high - low) / each <= most)
    return [float(n * step) for n in range(math.ceil(low / step), math.floor(high / step) + 1)]


def decades(low: float, high: float, most: float) -> list[float]:
    """Round values of a logarithmic axis, at most so many: 1, 2 and 5 of each decade, or 1 and 3, or 1.

    A short axis that none of them falls on gets values of two or three digits.

    >>> [round(x, 3) for x in decades(1.21, 1.48, 9)]
    [1.3, 1.4]
    """
    powers = range(math.floor(math.log10(low) + 1e-9), math.ceil(math.log10(high) - 1e-9) + 1)
    for steps in ((1, 2, 5), (1, 3), (1,)):
        ticks = [n * 10.0**p for p in powers for n in steps if low * 0.999 <= n * 10.0**p <= high * 1.001]
        if len(ticks) <= most and ticks:
            return ticks
    if not ticks:
        ticks = _fine(low, high)
    return ticks[:: math.ceil(len(ticks) / max(most, 1))]


def _fine(low: float, high: float) -> list[float]:
    """Values of as few digits as it takes to have one between two ends; the lower end if they are alike."""
    for digits in range(1, 7):
        step = 10.0 ** (math.floor(math.log10(high)) - digits)
        ticks = [n * step for n in range(math.ceil(low / step), math.floor(high / step) + 1)]
        if ticks:
            return ticks
    return [low]


def number_text(value: float, scale: Scale) -> str:
    """A number on the upright axis, with as few digits as it needs and the prefix that its unit takes.

    >>> number_text(2.5e-5, Scale("L", "H", "linear")), number_text(-50.0, Scale("phase", "°", "linear"))
    ('25 µH', '−50 °')
    """
    if scale.log:
        return round_text(value, scale.unit)
    if value == 0 or scale.unit not in {kind.symbol for kind in KINDS.values()} - {"", "%"}:
        return f"{value:g} {scale.unit}".replace("-", "−").rstrip()
    number, unit = quantity.display(float(value), unit=scale.unit, significant_digits=3).split(" ", 1)
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {unit}"


def round_text(value: float, unit: str) -> str:
    """A round value with all its digits before the decimal mark: 1, 10 or 100 of a unit."""
    told = len(f"{value:.5e}".split("e")[0].rstrip("0").replace(".", ""))
    digits = max(1 + math.floor(math.log10(value) + 1e-9) % 3, told)
    return quantity.display(float(value), unit=unit, significant_digits=digits)


PALE = "0.22"  # of a band
NEAR = 4  # points a pixel column above which a curve is thinned


def draw(drawn: Chart, alt: str) -> str:
    """A chart with at least one value that has a place, as one `svg` element."""
    sheet, frame = Canvas(), Frame(drawn)
    sheet.box((0, 0), (frame.size.width, frame.whole), stroke=plot.Stroke(plot.PAPER, 0), fill=plot.PAPER)
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


def _scaled(look: plot.Stroke, size: Size) -> plot.Stroke:
    by = size.text / 14
    return plot.Stroke(look.colour, look.width * by, tuple(dash * by for dash in look.dashes))


def _axes(sheet: Canvas, frame: Frame) -> None:
    """Faint lines at round values with their numbers, small marks between, and the two axes themselves."""
    size = frame.size
    faint, axis = plot.Stroke(FAINT, 1.0), plot.Stroke(plot.INK, 1.0)
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
        sheet.path([(frame.left, zero), (frame.right, zero)], plot.Stroke(GUIDE, 0.09 * size.text))
    sheet.path([(frame.left, frame.top), (frame.left, frame.bottom), (frame.right, frame.bottom)], axis)


def _placed(place: object, ticks: Sequence[float]) -> Iterator[tuple[float, float]]:
    assert callable(place)
    return zip(ticks, map(float, place(np.array(ticks, dtype=np.float64))), strict=True)


def _small_marks(sheet: Canvas, xs: Floats, y: float, length: float, ink: plot.Stroke) -> None:
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
        sheet.path([(x, frame.top), (x, frame.bottom)], plot.Stroke(GUIDE, 0.09 * size.text))
        side = "start" if x < (frame.left + frame.right) / 2 else "end"
        at = (x, frame.top - 0.3 * size.text)
        sheet.text(at, line.label, size=SMALL * size.text, anchor=side, colour=plot.MUTED)


def _band(sheet: Canvas, frame: Frame, curve: Curve, look: plot.Stroke) -> None:
    if curve.low is None or curve.high is None:
        return
    x, y = frame.x(curve.frequency), frame.y(curve.value)
    low, high = (np.where(np.isnan(end), y, end) for end in map(frame.y, (curve.low, curve.high)))
    sheet.group(data_mark=f"band {curve.label}")
    for part in _runs(low + high):
        upper, lower = thinned(x[part], high[part]), thinned(x[part], low[part])
        sheet.polygon([*_spots(*upper), *reversed(_spots(*lower))], look.colour, fill_opacity=PALE)


def _curve(sheet: Canvas, frame: Frame, curve: Curve, look: plot.Stroke) -> None:
    x, y = frame.x(curve.frequency), frame.y(curve.value)
    sheet.group(data_mark=curve.label)
    for part in _runs(y):
        xs, ys = thinned(x[part], y[part])
        if curve.points or len(xs) == 1:
            rim, radius = plot.Stroke(look.colour, 0), 0.28 * frame.size.text
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


def _names(sheet: Canvas, frame: Frame, looks: Sequence[plot.Stroke]) -> None:
    """The name of each curve right of it, at the height where it ends or as near as the others let it."""
    text, curves = frame.size.text, frame.chart.curves
    lines = [textwrap.wrap(_kept_together(curve.label), LABEL) or [""] for curve in curves]
    heights = [(len(each) * 1.2 + 0.35) * text for each in lines]
    wanted = [_end(frame, curve) for curve in curves]
    places = spread(wanted, heights, frame.top, frame.bottom)
    for curve, name, y, end, look in zip(curves, lines, places, wanted, looks, strict=True):
        sheet.group(data_name=curve.label)
        lead = [(frame.right + 0.15 * text, end), (frame.right + 0.75 * text, y)]
        sheet.path(lead, plot.Stroke(GUIDE, 1.0))
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
    sheet.text((0, 2.0 * size.line), chart.scale.name, size=small, anchor="start", colour=plot.MUTED)
    below = frame.bottom + 1.85 * size.line
    sheet.text((frame.right, below), words.FREQUENCY, size=small, anchor="end", colour=plot.MUTED)
    if chart.mark:
        sheet.text((0, below), chart.mark, size=size.text, anchor="start", weight="bold")
    for i, note in enumerate(frame.notes):
        at = (0.0, below + (1.0 + 0.85 * i) * size.line)
        sheet.text(at, note, size=small, anchor="start", colour=plot.MUTED)


# Quantities against frequency: curves with bands on a logarithmic frequency axis, named where they end.
#
# A curve is told apart by its colour, its dashes and the name at its right end; a band is the same colour,
# pale. What has no place on an axis is counted in a note below the chart, never dropped in silence.


def chart(
    title: str,
    scale: Scale,
    curves: Sequence[Curve],
    *,
    lines: Sequence[Line] = (),
    notes: Sequence[str] = (),
    band: str = words.BAND,
    invented: bool = False,
    size: str = "page",
) -> Picture:
    """Curves against frequency, on one logarithmic frequency axis.

    Parameters
    ----------
    title : what the chart shows
    scale : the upright axis
    curves : at least one; the first is drawn first, each later one over it
    lines : frequencies to mark
    notes : sentences below the chart
    band : what the bands are, said below the chart if there is one
    invented : whether the data are, which the chart then says
    size : `page`, or `projector` for letters that can be read from the last row

    Returns
    -------
    Picture: the same bytes for the same values; `alt` says the ends and the largest value of each curve.
    Without any value that has a place it is the reason.

    Raises
    ------
    EntryError, ShapeError
    """
    mark = words.INVENTED if invented else ""
    below = (*notes, *[band] * any(curve.low is not None for curve in curves))
    drawn = Chart(title, scale, tuple(curves), tuple(lines), below, mark, plot.size_called(size))
    if drawn.is_empty:
        return Picture(plot.blank(words.CURVES_NOTHING, mark, drawn.size), words.CURVES_NOTHING)
    alt = _alt(drawn)
    return Picture(draw(drawn, alt), alt)


def hertz(frequency: float) -> str:
    """A frequency with its prefix, to three digits without zeros at their end.

    >>> hertz(150e3), hertz(1e6), hertz(1.384e6)
    ('150 kHz', '1 MHz', '1.38 MHz')
    """
    shown = quantity.display(float(frequency), unit="Hz", significant_digits=3)
    number, unit = shown.split(" ", 1)
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {unit}"


def _alt(drawn: Chart) -> str:
    f = np.concatenate([curve.frequency for curve in drawn.curves])
    facts = {"title": drawn.title, "name": drawn.scale.name[:1].upper() + drawn.scale.name[1:]}
    kind = words.ALT_LOG if drawn.scale.log else words.ALT_LINEAR
    said = [words.CURVES_ALT_HEAD.format(**facts, low=hertz(f.min()), high=hertz(f.max()), scale=kind)]
    said += [words.ALT_INVENTED] * bool(drawn.mark)
    said += [_spoken(curve, drawn.scale) for curve in drawn.curves]
    said += [words.ALT_MARK.format(label=x.label, frequency=hertz(x.frequency)) for x in drawn.lines]
    said += [f"{note.rstrip('.')}." for note in (*drawn.notes, *drawn.missing)]
    return " ".join(sentence for sentence in said if sentence)


def _spoken(curve: Curve, scale: Scale) -> str:
    fits = scale.has_place(curve.value)
    if not fits.any():
        return ""
    f, value = curve.frequency[fits], curve.value[fits]
    at = int(value.argmax())
    facts = {"label": curve.label, "first": scale.text(value[0]), "low": hertz(f[0])}
    if len(value) == 1:
        return words.ALT_SINGLE.format(**facts)
    facts |= {"last": scale.text(value[-1]), "high": hertz(f[-1])}
    return words.ALT_CURVE.format(**facts, peak=scale.text(value[at]), where=hertz(f[at]))


__all__ = ["Chart", "Curve", "Line", "Scale", "chart", "hertz", "stroke"]
