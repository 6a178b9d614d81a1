"""An uncertainty budget as bars: where the uncertainty of a prediction comes from.

By readings, each bar is |c·u| of one reading, and the errors that readings share add a bar of their own; by
sources, each bar is one independent source of error through all readings, so that their squares add up.
"""

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from labkit import quantity
from labkit.analysis.results import Budget, budget
from labkit.bench.bench import Bench
from labkit.errors import EntryError
from labkit.faces import plot, style
from labkit.faces.plot import FAINT, SMALL, Axes, Size, size_called
from labkit.show import Picture
from labkit.theory.wiring import Connection
from labkit.uncertainty.component import Component
from labkit.uncertainty.estimate import Estimate
from labkit.words import figures as figure_words
from labkit.words import pictures as words

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
        raise EntryError(words.BUDGET_BY.format(given=by), by)
    found = budget(bench, connection)
    assert isinstance(found, Budget)
    mark = figure_words.INVENTED if bench.invented else ""
    estimate = found.estimate
    if estimate is None or estimate.standard_uncertainty == 0:
        why = " ".join(found.notes or (words.NO_SPREAD.format(what=found.what),))
        return Picture(plot.blank(why, mark, measures), why)
    value = quantity.display(estimate.value, estimate.standard_uncertainty)
    title = words.BUDGET_TITLE.format(what=found.what, value=value)
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
        label = words.SHARED_ADD if root > 0 else words.SHARED_TAKE
        bars.append(Bar("shared", label, words.SHARED_BELOW, root, unit.signed(root)))
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
        label = words.OTHERS.format(count=len(rest))
        bars.append(Bar("others", label, "", size, _share(size, u, unit.text(size))))
    return bars


SPLIT = {"readings": _by_readings, "sources": _by_sources}


def _total(estimate: Estimate, unit: Unit) -> Bar:
    u = estimate.standard_uncertainty
    return Bar("total", words.TOTAL, words.TOTAL_BELOW, u, words.TOTAL_TEXT.format(u=unit.text(u)))


def _named(source: Component) -> tuple[str, str]:
    """What a source is called, and what it belongs to."""
    label = source.label or source.name
    return label, source.name.removeprefix(label).strip(" ()")


def _in_several(source: Component, estimate: Estimate, text: str) -> str:
    count = sum(source in row.input.coefficients for row in estimate.budget)
    return words.SHARED_BY.format(text=text, count=count) if count > 1 else text


def _share(part: float, u: float, size: str) -> str:
    percent = 100 * (part / u) ** 2
    shown = f"{percent:.0f}" if percent >= 1 else words.LESS_THAN_ONE
    return words.SHARE.format(size=size, percent=shown)


def _draw(title: str, bars: Sequence[Bar], unit: Unit, size: Size, mark: str) -> str:
    labels = [textwrap.wrap(bar.label, size.label) for bar in bars]
    belows = [textwrap.wrap(bar.below, int(size.label / SMALL)) for bar in bars]
    heights = [
        size.line * (max(0.8 * (len(label) + len(below)), 1.0) + 0.5)
        for label, below in zip(labels, belows, strict=True)
    ]
    notes = [words.BUDGET_AXIS, words.BUDGET_SIGNS]
    notes += [words.BUDGET_HATCHED] * any(bar.kind == "shared" for bar in bars)
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
    ink = {"part": style.PREDICTION.colour, "shared": style.MUTED}.get(bar.kind, style.INK)
    ink = style.MUTED if bar.kind == "others" else ink
    hollow = bar.size < 0 or bar.kind == "shared"
    axes.barh(
        y,
        abs(bar.size),
        height=0.8 * size.text,
        facecolor=style.PAPER if hollow else ink,
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
    said = [words.ALT_BUDGET.format(title=title)]
    said += [figure_words.ALT_INVENTED] if mark else []
    for bar in bars:
        sentence = words.ALT_BAR if bar.below else words.ALT_BAR_ALONE
        said.append(sentence.format(label=bar.label, below=bar.below, text=bar.text))
    return " ".join(said)
