"""The draws of a prediction as a histogram, first order over it, and below it what can be read from both.

The intervals come from the analysis; the histogram counts the first of the same draws, made again.
"""

import math
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from labkit import quantity
from labkit.analysis.analysis import Analysis, analyse
from labkit.analysis.meter_check import (
    Check,
    checks,
    discrepancy,
    indication,
    size_text,
    stated_text,
    verdict_text,
)
from labkit.analysis.observations import Observation
from labkit.analysis.predict import Ruled
from labkit.analysis.results import Budget, budget
from labkit.errors import EntryError
from labkit.faces import plot
from labkit.faces.plot import (
    CHARACTER,
    FAINT,
    GUIDE,
    MARKS,
    SMALL,
    Axes,
    Canvas,
    Mark,
    Size,
    size_called,
    text_width,
)
from labkit.record.bench import Bench
from labkit.show import Picture
from labkit.theory.wiring import Connection
from labkit.uncertainty.components import Component
from labkit.uncertainty.decisions import Conformity
from labkit.uncertainty.montecarlo import Histogram, Interval, MonteCarlo, histogram
from labkit.uncertainty.propagate import Estimate
from labkit.words import meter_check as words
from labkit.words import pictures as figure_words

# An uncertainty budget as bars: where the uncertainty of a prediction comes from.
#
# By readings, each bar is |c·u| of one reading, and the errors that readings share add a bar of their own;
# by sources, each bar is one independent source of error through all readings, so that their squares add
# up.

WORTH_SHOWING = 0.01  # of u², for a source to have a bar of its own
SHARED_FROM = 1e-3  # of u, as in the table
Kind = Literal["part", "shared", "others", "total"]


@dataclass(frozen=True)
class Unit:
    """One unit for all sizes of a budget, and as many decimals as its combined uncertainty u deserves."""

    name: str
    size: float
    decimals: int

    @classmethod
    def for_size(cls, u: float) -> "Unit":
        """The unit that suits u (in H), which gets three digits in it."""
        name = quantity.display_parts(u)[2]
        size = quantity.parse(f"1 {name}").value
        return cls(name, size, max(0, 2 - math.floor(math.log10(u / size))))

    def text(self, value: float) -> str:
        """A size without its sign."""
        return f"{abs(value) / self.size:.{self.decimals}f} {self.name}"

    def signed(self, value: float) -> str:
        """A size with its sign, also where it is rounded to zero."""
        return f"{'−' if value < 0 else '+'}{self.text(value)}"

    def tick(self, value: float) -> str:
        """A round value, as short as it can be."""
        return f"{value / self.size:.6g} {self.name}"


@dataclass(frozen=True)
class Bar:
    """One bar: its length with its sign, in the unit of the result, and what stands beside it."""

    kind: Kind
    label: str
    below: str
    size: float
    text: str


def budget_bars(
    bench: Bench, connection: Connection | str, by: str = "readings", size: str = "page"
) -> Picture:
    """The uncertainty budget of a coupled prediction as bars, largest first.

    Parameters
    ----------
    bench : Bench
    connection : what is predicted, such as `parallel_aiding`
    by : `readings`, or `sources` of error, whose squares add up to the whole
    size : `page`, or `projector` for letters that can be read from the last row

    Returns
    -------
    Picture: the same bytes for the same record; `alt` says the numbers in words. Without a budget it is the
    sentence that says why.

    Raises
    ------
    EntryError
    """
    measures = size_called(size)
    if by not in SPLIT:
        raise EntryError(f"'{by}' is not a way to split a budget; write by='readings' or by='sources'.", by)
    found = budget(bench, connection)
    assert isinstance(found, Budget)
    mark = figure_words.INVENTED if bench.invented else ""
    estimate = found.estimate
    if estimate is None or estimate.standard_uncertainty == 0:
        why = " ".join(found.notes or (figure_words.NO_SPREAD.format(what=found.what),))
        return Picture(plot.blank(why, mark, measures), why)
    value = quantity.display(estimate.value, estimate.standard_uncertainty)
    title = figure_words.BUDGET_TITLE.format(what=found.what, value=value)
    unit = Unit.for_size(estimate.standard_uncertainty)
    bars = [*SPLIT[by](estimate, unit), _total(estimate, unit)]
    return Picture(_draw(title, bars, unit, measures, mark), _alt(title, bars, mark))


def _by_readings(estimate: Estimate, unit: Unit) -> list[Bar]:
    rows = sorted(estimate.budget, key=lambda row: -abs(row.contribution))
    bars = [
        Bar(
            "part",
            row.name,
            quantity.display(row.value, row.standard_uncertainty),
            row.contribution,
            unit.signed(row.contribution),
        )
        for row in rows
    ]
    root = math.copysign(math.sqrt(abs(estimate.covariance_part)), estimate.covariance_part)
    if abs(root) > SHARED_FROM * estimate.standard_uncertainty:
        label = figure_words.SHARED_ADD if root > 0 else figure_words.SHARED_TAKE
        bars.append(Bar("shared", label, figure_words.SHARED_BELOW, root, unit.signed(root)))
    return bars


def _by_sources(estimate: Estimate, unit: Unit) -> list[Bar]:
    u = estimate.standard_uncertainty
    parts = sorted(estimate.contributions.items(), key=lambda item: -abs(item[1]))
    worth = [(source, part) for source, part in parts if part**2 >= WORTH_SHOWING * u**2]
    bars = [
        Bar("part", *_named(source), part, _in_several(source, estimate, _share(part, u, unit.signed(part))))
        for source, part in worth
    ]
    rest = [part for _, part in parts[len(worth) :] if part]
    if rest:
        size = math.hypot(*rest)
        label = figure_words.OTHERS.format(count=len(rest))
        bars.append(Bar("others", label, "", size, _share(size, u, unit.text(size))))
    return bars


SPLIT = {"readings": _by_readings, "sources": _by_sources}


def _total(estimate: Estimate, unit: Unit) -> Bar:
    u = estimate.standard_uncertainty
    return Bar(
        "total",
        figure_words.TOTAL,
        figure_words.TOTAL_BELOW,
        u,
        figure_words.TOTAL_TEXT.format(u=unit.text(u)),
    )


def _named(source: Component) -> tuple[str, str]:
    """What a source is called, and what it belongs to."""
    label = source.label or source.name
    return label, source.name.removeprefix(label).strip(" ()")


def _in_several(source: Component, estimate: Estimate, text: str) -> str:
    count = sum(source in row.input.coefficients for row in estimate.budget)
    return figure_words.SHARED_BY.format(text=text, count=count) if count > 1 else text


def _share(part: float, u: float, size: str) -> str:
    percent = 100 * (part / u) ** 2
    shown = f"{percent:.0f}" if percent >= 1 else figure_words.LESS_THAN_ONE
    return figure_words.SHARE.format(size=size, percent=shown)


def _draw(title: str, bars: Sequence[Bar], unit: Unit, size: Size, mark: str) -> str:
    labels = [textwrap.wrap(bar.label, size.label) for bar in bars]
    belows = [textwrap.wrap(bar.below, int(size.label / SMALL)) for bar in bars]
    heights = [
        size.line * (max(0.8 * (len(label) + len(below)), 1.0) + 0.5)
        for label, below in zip(labels, belows, strict=True)
    ]
    notes = [figure_words.BUDGET_AXIS, figure_words.BUDGET_SIGNS]
    notes += [figure_words.BUDGET_HATCHED] * any(bar.kind == "shared" for bar in bars)
    with plot.drawn():
        axes = plot.sheet(size, 1.6 * size.line + sum(heights), plot.room_below(len(notes), size))
        _axis(axes, bars, unit, size)
        top = plot.title(axes, title, size)
        for bar, label, below, height in zip(bars, labels, belows, heights, strict=True):
            y = plot.heading(axes, label, below, top, size)
            _bar(axes, bar, y, size)
            top += height
        plot.notes(axes, notes, mark, size)
        return plot.inline(axes, size)


def _axis(axes: Axes, bars: Sequence[Bar], unit: Unit, size: Size) -> None:
    """From zero to where the longest bar and the text beside it have room."""
    axes.set_xlim(0.0, max(abs(bar.size) / (1 - size.part(f"{bar.text}  ")) for bar in bars))
    right = axes.get_xlim()[1]
    ticks = MaxNLocator(int(size.axis / (6 * size.text)), steps=[1, 2, 5, 10]).tick_values(0.0, right)
    shown = [tick for tick in ticks if tick / right <= 1.0 - size.part(unit.tick(tick)) / 4]
    axes.xaxis.set_major_locator(FixedLocator(shown))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda tick, _: unit.tick(tick)))
    axes.grid(axis="x", which="major", color=FAINT, linewidth=1.0)


def _bar(axes: Axes, bar: Bar, y: float, size: Size) -> None:
    """Filled if the result rises with it, hollow if it falls, hatched for what is shared, black for all."""
    ink = {"part": plot.PREDICTION.colour, "shared": plot.MUTED}.get(bar.kind, plot.INK)
    ink = plot.MUTED if bar.kind == "others" else ink
    hollow = bar.size < 0 or bar.kind == "shared"
    axes.barh(
        y,
        abs(bar.size),
        height=0.8 * size.text,
        facecolor=plot.PAPER if hollow else ink,
        edgecolor=ink,
        linewidth=0.13 * size.text,
        hatch="////" if bar.kind == "shared" else None,
        gid=plot.named(f"bar {bar.label}"),
        zorder=3,
    )
    weight = "bold" if bar.kind == "total" else "normal"
    at = ((abs(bar.size) / axes.get_xlim()[1]) + size.part(" "), y)
    plot.write(axes, bar.text, at, size.text, weight=weight)


def _alt(title: str, bars: Sequence[Bar], mark: str) -> str:
    said = [figure_words.ALT_BUDGET.format(title=title)]
    said += [figure_words.ALT_INVENTED] if mark else []
    for bar in bars:
        sentence = figure_words.ALT_BAR if bar.below else figure_words.ALT_BAR_ALONE
        said.append(sentence.format(label=bar.label, below=bar.below, text=bar.text))
    return " ".join(said)


BINS = 60
TALL = 8  # lines of text that the histogram is high
SYMMETRIC = plot.Stroke(plot.INK, 2.0, (6.0, 4.0))
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
        why = " ".join(found.notes or (figure_words.IS_INPUT.format(what=found.what),))
        return Picture(plot.blank(why, mark, measures), why)
    drawn, readings = ruled.monte_carlo, _readings(analysis, Connection(connection))
    strips = [*_computed(ruled.estimate, drawn), *map(_reading, readings)]
    ends = _ends(strips, measures)
    counted = _counted(ruled, drawn, ends)
    title = figure_words.DISTRIBUTION_TITLE.format(what=found.what, draws=_grouped(drawn.draws))
    notes = _notes(ruled, drawn, counted)
    svg = _Drawing(ends, measures).svg(title, counted, ruled.estimate, strips, notes, mark)
    return Picture(svg, _distribution_alt(found.what, drawn, strips, notes, mark))


def _readings(analysis: Analysis, connection: Connection) -> list[Observation]:
    main = analysis.shared.pool().get(connection)
    return [main] if main else []


def _computed(estimate: Estimate, drawn: MonteCarlo) -> Iterator[Strip]:
    percent = f"{100 * drawn.coverage:g}"
    for kind, label, below, interval in (
        ("shortest", figure_words.SHORTEST, figure_words.SHORTEST_BELOW, drawn.shortest),
        ("symmetric", figure_words.SYMMETRIC, figure_words.SYMMETRIC_BELOW, drawn.symmetric),
    ):
        yield Strip(kind, label.format(percent=percent), below, None, interval, _from_to(interval))
    value, u = estimate.value, estimate.standard_uncertainty
    around = (value - 2 * u, value + 2 * u)
    text = quantity.display(value, u)
    yield Strip("coupled", figure_words.FIRST_ORDER, figure_words.FIRST_ORDER_BELOW, value, around, text)


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
    return figure_words.FROM_TO.format(low=first, high=last, unit=unit_of_high)


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
    steps = figure_words.STEPS_OUTSIDE if outside else figure_words.STEPS
    facts = {"count": _grouped(counted.draws), "seed": drawn.seed, "outside": _grouped(outside)}
    verdict = [ruled.agreement.sentence] if ruled.agreement else []
    return [steps.format(**facts), *verdict, *drawn.remarks]


def _grouped(count: int) -> str:
    return f"{count:,}".replace(",", "\N{NARROW NO-BREAK SPACE}")


def _distribution_alt(what: str, drawn: MonteCarlo, strips: list[Strip], notes: list[str], mark: str) -> str:
    said = [figure_words.ALT_DISTRIBUTION.format(what=what, draws=_grouped(drawn.draws))]
    said += [figure_words.ALT_INVENTED] if mark else []
    said += [figure_words.ALT_STRIP.format(label=strip.label, text=strip.text) for strip in strips]
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
            plot.heading(
                self.axes,
                [figure_words.DRAWS],
                [figure_words.DRAWS_BELOW, figure_words.CURVE_BELOW],
                top,
                size,
            )
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
            ink = {"color": plot.PREDICTION.colour, "linewidth": 0.16 * size.text}
            axes.plot(x, [base - scale * bell.pdf(at) for at in x], gid=plot.named("normal"), **ink)

    def _strip(self, strip: Strip, top: float, guide_top: float) -> None:
        axes, size = self.axes, self.size
        y = plot.heading(axes, [strip.label], [plot.clipped(strip.below, size)], top, size)
        stroke = {"symmetric": SYMMETRIC, "shortest": plot.READING}.get(strip.kind)
        first, last = (self._place(end) for end in strip.ends)
        if not 0 < last or not first < 1:
            self._far(strip, y, "left" if last <= 0 else "right")
            return
        mark = MARKS.get(strip.kind)
        if strip.interval:
            ink = stroke or (mark.stroke if mark else plot.READING)
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
        self.axes.plot([edge], [y], arrow, ms=0.7 * size.text, color=plot.INK, clip_on=False)
        x = 0.02 if side == "left" else 0.98
        text = figure_words.FAR[side].format(text=strip.text)
        plot.write(self.axes, text, (x, y), size.text, weight="bold", ha=side)


def _tick(tick: float, step: float) -> str:
    """A round value to the decimal of the step between ticks."""
    text, _, unit = quantity.display_parts(tick, step, coverage_factor=10)
    return f"{text} {unit}"


# A meter's discrepancies inside their limits, less the guard band: one row a reference part.
#
# All rows share one axis, the discrepancy in parts of the card's limit, so that what passes looks alike on
# each range. Three grounds say what may be said: within, cannot tell, outside.

SCALES = {"page": 0.85, "projector": 1.6}  # pixels a user unit
UNIT = 260.0  # from zero to a limit
REACH = 1.8  # limits that the axis shows on either side
HIGH = 36.0  # of the ground
ROW = 176.0
TEXT, SMALL_TEXT = 18.0, 15.0
WITHIN, OPEN, OUTSIDE = "#DDEFF8", "#F7E3BF", plot.PAPER
"""Grounds: pale enough for ink on them; each also has its word."""
EDGE = plot.Stroke(plot.MUTED, 1.0)
LIMIT = plot.Stroke(plot.INK, 2.6)
ZERO = plot.Stroke(plot.MUTED, 1.4, (5.0, 4.0))


def guard_band(bench: Bench, size: str = "page") -> Picture:
    """Every reading of a reference part on one axis: discrepancy and U, limits, guard bands, verdict.

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
    if size not in SCALES:
        raise EntryError(f"'{size}' is not a size of a picture; choose page or projector.", size)
    found = checks(bench)
    sheet = Canvas()
    for place, check in enumerate(found):
        sheet.group(data_check=check.observation.id)
        _row(sheet, check, place * ROW)
    _legend(sheet, len(found) * ROW, found)
    alt = " ".join([words.ALT, *map(_spoken, found)]) if found else words.NOTHING_READ
    return Picture(sheet.svg(words.PICTURE, {"aria_label": alt}, scale=SCALES[size]), alt)


def _row(sheet: Canvas, check: Check, top: float) -> None:
    left = -REACH * UNIT
    heading = words.ROW.format(meter=check.meter or words.UNNAMED, what=stated_text(check.reference))
    sheet.text((left, top), heading, size=TEXT, anchor="start", weight="bold")
    reads = words.READS.format(indication=indication(check))
    sheet.text((REACH * UNIT, top), reads, size=SMALL_TEXT, anchor="end", colour=plot.MUTED)
    if check.judged is None:
        for n, line in enumerate(textwrap.wrap(verdict_text(check), 88)):
            sheet.text((left, top + 30.0 + n * 22.0), line, size=SMALL_TEXT, anchor="start")
        return
    middle = top + 66.0
    _grounds(sheet, check.judged, middle)
    _limits(sheet, check, middle)
    _mark(sheet, check, middle)


def _grounds(sheet: Canvas, judged: Conformity, y: float) -> None:
    w = judged.guard_band / judged.upper
    inner, outer = max(0.0, 1 - w), min(1 + w, REACH)
    for low, high, fill, word in (
        (-REACH, -outer, OUTSIDE, words.ZONES[2]),
        (-outer, -inner, OPEN, words.ZONES[1]),
        (-inner, inner, WITHIN, words.ZONES[0]),
        (inner, outer, OPEN, words.ZONES[1]),
        (outer, REACH, OUTSIDE, words.ZONES[2]),
    ):
        if high <= low:
            continue
        sheet.box((low * UNIT, y - HIGH / 2), (high * UNIT, y + HIGH / 2), stroke=EDGE, fill=fill)
        if text_width(word, SMALL_TEXT) < (high - low) * UNIT - 8.0:
            sheet.text(
                ((low + high) / 2 * UNIT, y - HIGH / 2 - 7.0), word, size=SMALL_TEXT, colour=plot.MUTED
            )


def _limits(sheet: Canvas, check: Check, y: float) -> None:
    sheet.path([(0.0, y - HIGH / 2), (0.0, y + HIGH / 2 + 6.0)], ZERO)
    sheet.text((0.0, y + HIGH / 2 + 22.0), words.ZERO, size=SMALL_TEXT)
    for sign, text in ((-1, "−"), (1, "+")):
        x = sign * UNIT
        sheet.path([(x, y - HIGH / 2), (x, y + HIGH / 2 + 6.0)], LIMIT)
        limit = words.LIMIT_AT.format(sign=text, size=size_text(check.limit))
        sheet.text((x, y + HIGH / 2 + 22.0), limit, size=SMALL_TEXT)


def _mark(sheet: Canvas, check: Check, y: float) -> None:
    judged = check.judged
    assert judged is not None
    place, U = judged.value / judged.upper, judged.guard_band / judged.upper
    bar = [(max(-REACH, min(REACH, end)) * UNIT, y) for end in (place - U, place + U)]
    sheet.path(bar, plot.Stroke(plot.READING.colour, 5.0))
    if abs(place) > REACH:
        tip, back = (math.copysign(reach, place) * UNIT for reach in (REACH + 0.03, REACH - 0.05))
        sheet.polygon([(tip, y), (back, y - 9.0), (back, y + 9.0)], plot.READING.colour, data_beyond="")
    else:
        spot = (place * UNIT, y)
        sheet.circle(spot, 7.0, stroke=plot.READING, fill=plot.READING.colour)
    text = words.MARK.format(E=discrepancy(judged), verdict=verdict_text(check))
    sheet.text((0.0, y + HIGH / 2 + 48.0), text, size=TEXT, weight="bold")


def _legend(sheet: Canvas, y: float, found: tuple[Check, ...]) -> None:
    sheet.group(data_legend="")
    if not found:
        sheet.text((0.0, 0.0), words.NOTHING_READ, size=TEXT)
        return
    for n, line in enumerate(textwrap.wrap(words.LEGEND, 108)):
        sheet.text((-REACH * UNIT, y + n * 20.0), line, size=SMALL_TEXT, anchor="start", colour=plot.MUTED)


def _spoken(check: Check) -> str:
    meter = check.meter or words.UNNAMED
    facts = {"meter": meter, "what": stated_text(check.reference), "indication": indication(check)}
    if check.judged is None:
        return words.ALT_NONE.format(**facts, verdict=verdict_text(check))
    numbers = {"E": discrepancy(check.judged), "limit": size_text(check.limit)}
    return words.ALT_ROW.format(**facts, **numbers, verdict=verdict_text(check))
