"""How a chart of curves is drawn: axes with room around them, curves, bands, names where the curves end."""

import math
import re
import textwrap
from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, LogLocator, MaxNLocator, NullFormatter

from labkit import quantity
from labkit.faces import plot, style
from labkit.faces.canvas import clean
from labkit.faces.curve import Chart, Curve, Line, Scale, stroke
from labkit.faces.plot import CHARACTER, FAINT, GUIDE, SMALL, Axes, Size
from labkit.words import curves as words

LABEL = 19  # characters of a line of a name beside its curve
TICK = 8  # characters of the longest number on the upright axis
PALE = 0.22  # of a band


def draw(drawn: Chart) -> str:
    """A chart with at least one value that has a place, as one `svg` element."""
    size = drawn.size
    room = int(size.width / (CHARACTER * SMALL * size.text)) - 2
    below = [line for note in (*drawn.notes, *drawn.missing) for line in textwrap.wrap(note, room)]
    with plot.drawn():
        axes = _sheet(drawn, len(below))
        looks = [curve.look or stroke(i) for i, curve in enumerate(drawn.curves)]
        for curve, look in zip(drawn.curves, looks, strict=True):
            _curve(axes, curve, look, drawn)
        _limits(axes, drawn)
        _frequency_ticks(axes, size)
        _upright_ticks(axes, drawn.scale, size)
        for line in drawn.lines:
            _line(axes, line, size)
        _names(axes, drawn, looks)
        _written(axes, drawn, below)
        return plot.inline(axes, size)


def _sheet(drawn: Chart, notes: int) -> Axes:
    """Axes with room: the title above, numbers left, names right, frequency and notes below."""
    size = drawn.size
    left, right = CHARACTER * size.text * TICK, CHARACTER * size.text * (LABEL + 4)
    above = (2.7 + 0.8 * bool(drawn.lines)) * size.line
    tall, below = 0.42 * size.width, (2.6 + 0.85 * notes) * size.line
    whole = above + tall + below
    figure = Figure(figsize=(size.width / 72, whole / 72), dpi=72)
    FigureCanvasSVG(figure)
    part = (left / size.width, below / whole, 1 - (left + right) / size.width, tall / whole)
    axes = figure.add_axes(part)
    axes.set_xscale("log")
    axes.set_yscale(drawn.scale.scale)
    for side in ("right", "top"):
        axes.spines[side].set_visible(False)
    for which, length in (("major", 0.4), ("minor", 0.2)):
        axes.tick_params(which=which, labelsize=size.text, length=length * size.text)
    axes.set_axisbelow(True)
    axes.grid(which="major", color=FAINT, linewidth=1.0)
    return axes


def _curve(axes: Axes, curve: Curve, look: style.Stroke, drawn: Chart) -> None:
    width = look.width * drawn.size.text / 14
    ink: dict[str, Any] = {"color": look.colour, "gid": plot.named(curve.label), "zorder": 3}
    value = np.where(drawn.scale.has_place(curve.value), curve.value, np.nan)
    if curve.low is not None and curve.high is not None:
        low = np.where(drawn.scale.has_place(curve.low), curve.low, value)
        pale = {"color": look.colour, "alpha": PALE, "linewidth": 0, "zorder": 2}
        axes.fill_between(curve.frequency, low, curve.high, gid=plot.named(f"band {curve.label}"), **pale)
    if curve.points or len(value) == 1:
        axes.plot(curve.frequency, value, "o", ms=0.5 * drawn.size.text, **ink)
        return
    dashes = (0, tuple(dash / look.width for dash in look.dashes)) if look.dashes else "-"
    axes.plot(curve.frequency, value, linestyle=dashes, linewidth=width, solid_capstyle="round", **ink)


def _limits(axes: Axes, drawn: Chart) -> None:
    """Frequencies as they are; values with some room, at least a decade or, on a linear axis, from zero."""
    f = np.concatenate([curve.frequency for curve in drawn.curves])
    span = (f.min(), f.max()) if f.max() > f.min() else (f.min() / 2, f.max() * 2)
    axes.set_xlim(*span)
    low, high = _reach(drawn)
    if drawn.scale.log:
        middle, half = math.sqrt(low * high), max(math.log10(high / low) / 2 + 0.08, 0.5)
        axes.set_ylim(middle / 10**half, middle * 10**half)
    else:
        axes.axhline(0.0, color=GUIDE, linewidth=0.09 * drawn.size.text, zorder=1.5)
        low, high = min(low, 0.0), max(high, 0.0)
        room = 0.06 * ((high - low) or 1.0)
        axes.set_ylim(low - room * (low < 0), high + room)


def _reach(drawn: Chart) -> tuple[float, float]:
    ends = [
        values[drawn.scale.has_place(values)]
        for curve in drawn.curves
        for values in (curve.value, curve.low, curve.high)
        if values is not None
    ]
    every = np.concatenate(ends)
    return float(every.min()), float(every.max())


def _frequency_ticks(axes: Axes, size: Size) -> None:
    low, high = axes.get_xlim()
    width = axes.get_position().width * size.width
    ticks = _decades(low, high, most=width / (CHARACTER * size.text * 9))
    axes.xaxis.set_major_locator(FixedLocator(ticks))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda tick, _: _round(tick, "Hz")))
    axes.xaxis.set_minor_locator(LogLocator(subs=tuple(range(2, 10)), numticks=99))
    axes.xaxis.set_minor_formatter(NullFormatter())


def _upright_ticks(axes: Axes, scale: Scale, size: Size) -> None:
    low, high = axes.get_ylim()
    if scale.log:
        most = axes.get_position().height * axes.figure.get_figheight() * 72 / (2.2 * size.text)
        axes.yaxis.set_major_locator(FixedLocator(_decades(low, high, most)))
        axes.yaxis.set_minor_locator(LogLocator(subs=tuple(range(2, 10)), numticks=99))
        axes.yaxis.set_minor_formatter(NullFormatter())
    else:
        axes.yaxis.set_major_locator(MaxNLocator(9, steps=[1, 2, 5, 10]))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda tick, _: _tick(tick, scale)))


def _tick(tick: float, scale: Scale) -> str:
    return _round(tick, scale.unit) if scale.log else f"{tick:g} {scale.unit}".replace("-", "−")


def _round(value: float, unit: str) -> str:
    """A round value with all its digits before the decimal mark: 1, 10 or 100 of a unit."""
    digits = 1 + math.floor(math.log10(value) + 1e-9) % 3
    return quantity.display(float(value), unit=unit, significant_digits=digits)


def _decades(low: float, high: float, most: float) -> list[float]:
    """Round values of a logarithmic axis: 1, 2 and 5 of each decade if they fit, else whole decades."""
    powers = range(math.floor(math.log10(low) + 1e-9), math.ceil(math.log10(high) - 1e-9) + 1)
    for steps in ((1, 2, 5), (1, 3), (1,)):
        ticks = [n * 10.0**p for p in powers for n in steps if low * 0.999 <= n * 10.0**p <= high * 1.001]
        if len(ticks) <= most and len(powers) * len(steps) > 1:
            return ticks
    every = math.ceil(len(ticks) / max(most, 1))
    return ticks[::every]


def _line(axes: Axes, line: Line, size: Size) -> None:
    """An upright line with its name above the axes."""
    low, high = axes.get_xlim()
    if low <= line.frequency <= high:
        gid = plot.named(f"line {line.label}")
        axes.axvline(line.frequency, color=GUIDE, linewidth=0.09 * size.text, zorder=1.5, gid=gid)
        side = "left" if line.frequency < math.sqrt(low * high) else "right"
        above = {"transform": axes.get_xaxis_transform(), "ha": side, "va": "bottom", "color": style.MUTED}
        axes.text(line.frequency, 1.01, clean(line.label), fontsize=SMALL * size.text, **above)


def _names(axes: Axes, drawn: Chart, looks: Sequence[style.Stroke]) -> None:
    """The name of each curve right of it, at the height where it ends or as near as the others let it."""
    size = drawn.size
    height = axes.get_position().height * axes.figure.get_figheight() * 72
    width = axes.get_position().width * size.width
    lines = [textwrap.wrap(_kept_together(curve.label), LABEL) or [""] for curve in drawn.curves]
    heights = [(len(each) * 1.2 + 0.35) * size.text / height for each in lines]
    wanted = [_end(axes, curve, drawn.scale) for curve in drawn.curves]
    for curve_lines, y, end, look in zip(lines, _spread(wanted, heights), wanted, looks, strict=True):
        at, unit = {"transform": axes.transAxes, "clip_on": False}, size.text / width
        ink = {"color": look.colour, "linewidth": look.width * size.text / 14}
        dashes = (0, tuple(dash / look.width for dash in look.dashes)) if look.dashes else "-"
        axes.plot([1 + 0.15 * unit, 1 + 0.75 * unit], [end, y], color=GUIDE, linewidth=1.0, **at)
        axes.plot([1 + 0.85 * unit, 1 + 2.2 * unit], [y, y], linestyle=dashes, **ink, **at)
        for i, text in enumerate(curve_lines):
            down = 1.2 * (i - (len(curve_lines) - 1) / 2) * size.text / height
            axes.text(1 + 2.5 * unit, y - down, clean(text), fontsize=size.text, va="center", ha="left", **at)


def _kept_together(label: str) -> str:
    """No line ends between a number and its unit, or between a pair of impedances."""
    return re.sub(r"(?<=\d) (?=[a-zA-ZµΩ%])| (?=/)|(?<=/) ", "\N{NO-BREAK SPACE}", label)


def _end(axes: Axes, curve: Curve, scale: Scale) -> float:
    """How high the last value of a curve stands, as a part of the axis."""
    found = curve.value[scale.has_place(curve.value)]
    if not len(found):
        return 0.0
    low, high = (math.log10(x) if scale.log else x for x in axes.get_ylim())
    last = math.log10(found[-1]) if scale.log else float(found[-1])
    return min(max((last - low) / (high - low), 0.0), 1.0)


def _spread(wanted: Sequence[float], heights: Sequence[float]) -> list[float]:
    """Places as near to the wanted ones as there is room for, in the same order, none over another."""
    order = sorted(range(len(wanted)), key=lambda i: (wanted[i], -i))
    placed = list(wanted)
    floor = 0.0
    for i in order:
        placed[i] = max(placed[i], floor + heights[i] / 2)
        floor = placed[i] + heights[i] / 2
    ceiling = max(1.0, sum(heights))
    for i in reversed(order):
        placed[i] = min(placed[i], ceiling - heights[i] / 2)
        ceiling = placed[i] - heights[i] / 2
    return placed


def _written(axes: Axes, drawn: Chart, notes: Sequence[str]) -> None:
    """Title and name of the upright axis above, name of the other one and notes below."""
    size, figure = drawn.size, axes.figure
    whole = figure.get_figheight() * 72

    def write(text: str, x: float, down: float, height: float, **how: Any) -> None:
        how = {"color": style.INK, "ha": "left", "va": "center"} | how
        figure.text(x / size.width, 1 - down / whole, clean(text), fontsize=height, **how)

    write(drawn.title, 0.0, 0.75 * size.line, size.text, weight="bold")
    write(drawn.scale.name, 0.0, 1.8 * size.line, SMALL * size.text, color=style.MUTED)
    bottom = whole * (1 - axes.get_position().y0)
    right = axes.get_position().x1 * size.width
    write(words.FREQUENCY, right, bottom + 1.6 * size.line, SMALL * size.text, color=style.MUTED, ha="right")
    if drawn.mark:
        write(drawn.mark, 0.0, bottom + 1.6 * size.line, size.text, weight="bold")
    for i, note in enumerate(notes):
        write(note, 0.0, bottom + (2.6 + 0.85 * i) * size.line, SMALL * size.text, color=style.MUTED)
