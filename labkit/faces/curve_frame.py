"""Where everything in a chart of curves has its place, and which round values its axes show.

Lengths are pixels, x to the right and y down.
"""

import math
import textwrap
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from labkit import quantity
from labkit.faces.curve import Chart, Floats, Scale
from labkit.faces.plot import CHARACTER, SMALL, Size
from labkit.quantity.kinds import KINDS

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
