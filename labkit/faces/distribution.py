"""The draws of a prediction as a histogram, first order over it, and below it what can be read from both.

The intervals come from the analysis; the histogram counts the first of the same draws, made again.
"""

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from labkit import quantity
from labkit.analysis.analysis import Analysis, analyse
from labkit.analysis.observations import Observation
from labkit.analysis.predict import Ruled
from labkit.analysis.results import Budget, budget
from labkit.bench.bench import Bench
from labkit.faces import plot, style
from labkit.faces.plot import CHARACTER, FAINT, GUIDE, MARKS, SMALL, Mark, Size, size_called
from labkit.show import Picture
from labkit.theory.wiring import Connection
from labkit.uncertainty.estimate import Estimate
from labkit.uncertainty.histogram import Histogram, histogram
from labkit.uncertainty.interval import Interval
from labkit.uncertainty.montecarlo import MonteCarlo
from labkit.words import figures as figure_words
from labkit.words import pictures as words

BINS = 60
TALL = 8  # lines of text that the histogram is high
SYMMETRIC = style.Stroke(style.INK, 2.0, (6.0, 4.0))
STEPS = "#C9C9C9"


@dataclass(frozen=True)
class Strip:
    """One line below the histogram: a value or an interval or both, in H, and the same in figures."""

    kind: str
    label: str
    below: str
    value: float | None
    interval: Interval | None
    text: str

    @property
    def ends(self) -> Interval:
        """From where to where it reaches."""
        reach = [*(self.interval or ()), *([] if self.value is None else [self.value])]
        return min(reach), max(reach)


def distribution(bench: Bench, connection: Connection | str, size: str = "page") -> Picture:
    """The Monte Carlo draws of a coupled prediction with first order, both 95 % intervals and the reading.

    Parameters
    ----------
    bench : Bench
    connection : what is predicted, such as `parallel_aiding`
    size : `page`, or `projector` for letters that can be read from the last row

    Returns
    -------
    Picture: the same bytes for the same record; `alt` says the numbers in words. If nothing is drawn for the
    connection it is the sentence that says why.

    Raises
    ------
    EntryError
    """
    measures = size_called(size)
    found = budget(bench, connection)
    assert isinstance(found, Budget)
    analysis = analyse(bench)
    mark = figure_words.INVENTED if bench.invented else ""
    ruled = next((p.coupled for p in analysis.predictions if p.connection == connection), None)
    if ruled is None or ruled.monte_carlo is None:
        why = " ".join(found.notes or (words.IS_INPUT.format(what=found.what),))
        return Picture(plot.blank(why, mark, measures), why)
    drawn, readings = ruled.monte_carlo, _readings(analysis, Connection(connection))
    strips = [*_computed(ruled.estimate, drawn), *map(_reading, readings)]
    ends = _ends(strips, measures)
    counted = _counted(ruled, drawn, ends)
    title = words.DISTRIBUTION_TITLE.format(what=found.what, draws=_grouped(drawn.draws))
    notes = _notes(ruled, drawn, counted)
    svg = _Drawing(ends, measures).svg(title, counted, ruled.estimate, strips, notes, mark)
    return Picture(svg, _alt(found.what, drawn, strips, notes, mark))


def _readings(analysis: Analysis, connection: Connection) -> list[Observation]:
    main = analysis.shared.pool().get(connection)
    return [main] if main else []


def _computed(estimate: Estimate, drawn: MonteCarlo) -> Iterator[Strip]:
    percent = f"{100 * drawn.coverage:g}"
    for kind, label, below, interval in (
        ("shortest", words.SHORTEST, words.SHORTEST_BELOW, drawn.shortest),
        ("symmetric", words.SYMMETRIC, words.SYMMETRIC_BELOW, drawn.symmetric),
    ):
        yield Strip(kind, label.format(percent=percent), below, None, interval, _from_to(interval))
    value, u = estimate.value, estimate.standard_uncertainty
    around = (value - 2 * u, value + 2 * u)
    text = quantity.display(value, u)
    yield Strip("coupled", words.FIRST_ORDER, words.FIRST_ORDER_BELOW, value, around, text)


def _reading(o: Observation) -> Strip:
    u = o.standard_uncertainty
    around = None if u is None else (o.value - 2 * u, o.value + 2 * u)
    text = o.text if u is None else quantity.display(o.value, u)
    return Strip("reading", figure_words.KIND["reading"], o.id, o.value, around, text)


def _from_to(interval: Interval) -> str:
    """An interval in figures, to the decimal of its width's second digit."""
    low, high = interval
    first, _, unit = quantity.display_parts(low, (high - low) / 4)
    last, _, unit_of_high = quantity.display_parts(high, (high - low) / 4)
    if unit != unit_of_high:
        first = f"{first} {unit}"
    return words.FROM_TO.format(low=first, high=last, unit=unit_of_high)


def _ends(strips: list[Strip], size: Size) -> Interval:
    """Ends of the axis: all that was computed, readings not far from it, and room for the figures."""
    computed = [end for strip in strips if strip.kind != "reading" for end in strip.ends]
    low, high = min(computed), max(computed)
    width = high - low
    near = [end for strip in strips for end in strip.ends if low - width < end < high + width]
    first, last = min(near) - 0.25 * width, max(near)
    figures = max(size.part(f"{strip.text}  ") for strip in strips)
    return first, max(last + 0.25 * width, first + (last - first) / (1 - figures))


def _counted(ruled: Ruled, drawn: MonteCarlo, ends: Interval) -> Histogram:
    statement = ruled.statement
    edges = np.linspace(*ends, BINS + 1).tolist()
    inputs = [o.input for o in statement.inputs]
    return histogram(statement.value, inputs, seed=drawn.seed, edges=edges)


def _notes(ruled: Ruled, drawn: MonteCarlo, counted: Histogram) -> list[str]:
    outside = counted.below + counted.above
    steps = words.STEPS_OUTSIDE if outside else words.STEPS
    facts = {"count": _grouped(counted.draws), "seed": drawn.seed, "outside": _grouped(outside)}
    verdict = [ruled.agreement.sentence] if ruled.agreement else []
    return [steps.format(**facts), *verdict, *drawn.remarks]


def _grouped(count: int) -> str:
    return f"{count:,}".replace(",", "\N{NARROW NO-BREAK SPACE}")


def _alt(what: str, drawn: MonteCarlo, strips: list[Strip], notes: list[str], mark: str) -> str:
    said = [words.ALT_DISTRIBUTION.format(what=what, draws=_grouped(drawn.draws))]
    said += [figure_words.ALT_INVENTED] if mark else []
    said += [words.ALT_STRIP.format(label=strip.label, text=strip.text) for strip in strips]
    return " ".join([*said, *(f"{note[0].upper()}{note[1:].rstrip('.')}." for note in notes)])


class _Drawing:
    """The histogram over its strips on one axis."""

    def __init__(self, ends: Interval, size: Size) -> None:
        self.ends, self.size = ends, size

    def svg(
        self,
        title: str,
        counted: Histogram,
        estimate: Estimate,
        strips: list[Strip],
        notes: list[str],
        mark: str,
    ) -> str:
        """The picture as one `svg` element."""
        size = self.size
        characters = int(size.axis / (CHARACTER * SMALL * size.text))
        lines = [line for note in notes for line in textwrap.wrap(note, characters)]
        top, row = 1.6 * size.line, 2.0 * size.line
        base = top + TALL * size.line
        with plot.drawn():
            self.axes = plot.sheet(size, base + row * len(strips), plot.room_below(len(lines), size))
            self._axis()
            plot.title(self.axes, title, size)
            plot.heading(self.axes, [words.DRAWS], [words.DRAWS_BELOW, words.CURVE_BELOW], top, size)
            self._histogram(counted, estimate, top + 0.4 * size.line, base)
            for i, strip in enumerate(strips):
                self._strip(strip, base + i * row, top)
            plot.notes(self.axes, lines, mark, size)
            return plot.inline(self.axes, size)

    def _axis(self) -> None:
        axes, size = self.axes, self.size
        axes.set_xlim(*self.ends)
        ticks = MaxNLocator(int(size.axis / (8 * size.text)), steps=[1, 2, 5, 10]).tick_values(*self.ends)
        step = float(ticks[1] - ticks[0])
        axes.xaxis.set_major_locator(FixedLocator([t for t in ticks if 0.03 < self._place(t) < 0.97]))
        axes.xaxis.set_major_formatter(FuncFormatter(lambda tick, _: _tick(tick, step)))
        axes.grid(axis="x", which="major", color=FAINT, linewidth=1.0)

    def _place(self, value: float) -> float:
        low, high = self.ends
        return (value - low) / (high - low)

    def _histogram(self, counted: Histogram, estimate: Estimate, top: float, base: float) -> None:
        """Steps of the draws and the normal curve of first order, to one scale."""
        axes, size = self.axes, self.size
        u = estimate.standard_uncertainty
        bell = NormalDist(estimate.value, u) if u > 0 else None
        peak = max(*counted.density, bell.pdf(estimate.value) if bell else 0.0)
        scale = (base - top) / peak
        axes.stairs(
            [base - scale * part for part in counted.density],
            counted.edges,
            baseline=base,
            fill=True,
            facecolor=STEPS,
            edgecolor=GUIDE,
            linewidth=0.05 * size.text,
            gid=plot.named("steps"),
        )
        if bell:
            x = np.linspace(*self.ends, 241).tolist()
            ink = {"color": style.PREDICTION.colour, "linewidth": 0.16 * size.text}
            axes.plot(x, [base - scale * bell.pdf(at) for at in x], gid=plot.named("normal"), **ink)

    def _strip(self, strip: Strip, top: float, guide_top: float) -> None:
        axes, size = self.axes, self.size
        y = plot.heading(axes, [strip.label], [plot.clipped(strip.below, size)], top, size)
        stroke = {"symmetric": SYMMETRIC, "shortest": style.READING}.get(strip.kind)
        first, last = (self._place(end) for end in strip.ends)
        if not 0 < last or not first < 1:
            self._far(strip, y, "left" if last <= 0 else "right")
            return
        mark = MARKS.get(strip.kind)
        if strip.interval:
            ink = stroke or (mark.stroke if mark else style.READING)
            plot.interval(axes, strip.interval, y, ink, height=size.text, name=f"interval {strip.kind}")
        if strip.value is not None and mark:
            plot.point(axes, (strip.value, y), mark, height=size.text, name=f"value {strip.kind}")
            self._guide(strip.value, mark, guide_top, y)
        spot = plot.beside(max(first, 0.0), min(last, 1.0), strip.text, size)
        at = (spot.x, y + (spot.lines - 1) * 0.8 * size.line)
        weight = "bold" if strip.kind == "reading" else "normal"
        plot.write(axes, strip.text, at, size.text, weight=weight, ha=spot.towards)

    def _guide(self, value: float, mark: Mark, top: float, y: float) -> None:
        """A line from a value up through the histogram."""
        ink = {"color": mark.stroke.colour, "linewidth": 0.1 * self.size.text, "zorder": 2}
        self.axes.vlines(value, top, y, linestyles="-" if mark.filled else ":", **ink)

    def _far(self, strip: Strip, y: float, side: str) -> None:
        """An arrow at the end of the axis towards a value that is far beyond it, with the words."""
        size, edge = self.size, self.ends[side == "right"]
        arrow = ">" if side == "right" else "<"
        self.axes.plot([edge], [y], arrow, ms=0.7 * size.text, color=style.INK, clip_on=False)
        x = 0.02 if side == "left" else 0.98
        text = words.FAR[side].format(text=strip.text)
        plot.write(self.axes, text, (x, y), size.text, weight="bold", ha=side)


def _tick(tick: float, step: float) -> str:
    """A round value to the decimal of the step between ticks."""
    text, _, unit = quantity.display_parts(tick, step, coverage_factor=10)
    return f"{text} {unit}"
