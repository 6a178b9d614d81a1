"""k by every route on one scale that can be read near 1: logarithmic in 1 - |k|, with an end mark for 1.

A route that does not resolve 1 - |k| has an interval that is open towards 1; a k beyond 1 stands behind the
end mark, where nothing is to scale. Both say so in words.
"""

import math
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from matplotlib.ticker import FixedLocator

from labkit.analysis.analysis import Analysis, analyse
from labkit.analysis.break_even import error_text
from labkit.analysis.findings import missing
from labkit.analysis.routes import AMBIGUOUS, SINGLES, Coupling, Route
from labkit.faces import plot
from labkit.faces.plot import FAINT, GUIDE, Beside, Mark, Size, size_called
from labkit.record.bench import Bench
from labkit.show import Picture
from labkit.words import pictures as words

# What stands on the scale of k: a lane for each route, and where a value of 1 - |k| has its place.
#
# Worked out before anything is drawn, so that the drawing, its alternative in words and the tests speak of
# the same numbers.


@dataclass(frozen=True)
class Scale:
    """Parts of the axis: a logarithmic one from 1 - |k| = `start` to `end`, the mark for 1, what lies beyond.

    Each later one stands right of the one before; room for what lies beyond 1 is there only if needed.
    """

    start: float
    end: float
    beyond: bool

    @classmethod
    def of(cls, found: Iterable[Coupling]) -> "Scale":
        """Whole decades, two or more, that hold every resolved interval.

        An interval that is open towards 1 reaches a decade further than its other end, at the least.
        """
        widest, finest, beyond = [0.1], [0.1], False
        for c in found:
            low, high = ends(c)
            widest.append(min(max(high, c.gap.value), 1.0))
            finest += [low if low > 0 else max(high / 10, 1e-12)] if high > 0 else []
            beyond |= c.gap.value < 0
        start = 10.0 ** math.ceil(math.log10(max(widest)) - 1e-9)
        end = 10.0 ** math.floor(math.log10(min(finest)) + 1e-9)
        return cls(start, min(end, start / 100), beyond)

    @property
    def last(self) -> float:
        """Where the logarithmic part ends."""
        return 0.81 if self.beyond else 0.92

    @property
    def one(self) -> float:
        """Where |k| = 1 stands."""
        return self.last + 0.06

    @property
    def behind(self) -> float:
        """The middle of what lies beyond."""
        return (1 + self.one) / 2

    def place(self, gap: float) -> float:
        """Where a value of 1 - |k| stands."""
        if gap < 0:
            return self.behind
        if gap < self.end * (1 - 1e-9):
            return (self.last + self.one) / 2
        return max(0.0, self.last * math.log(self.start / gap) / math.log(self.start / self.end))

    def gaps(self, steps: Iterable[int], every: int = 1) -> list[float]:
        """The values of 1 - |k| at these multiples in every decade, or in every second or further one."""
        first, last = (round(math.log10(gap)) for gap in (self.start, self.end))
        found = [n * 10.0**power for power in range(first, last - 1, -every) for n in steps]
        return [gap for gap in found if self.end * 0.999 <= gap <= self.start * 1.001]

    def bar(self, c: Coupling) -> tuple[float, float] | None:
        """From where to where the interval of a route reaches; None if no uncertainty is stated."""
        low, high = ends(c)
        if low == high:
            return None
        left = self.place(high) if high > 0 else self.one
        right = self.place(low) if low > 0 else self.one if c.gap.value >= 0 else 1.0
        return left, right


def ends(c: Coupling) -> tuple[float, float]:
    """1 - |k| less and plus its expanded uncertainty; without a card as far as a meter within the bound goes.

    The value twice if neither is known.
    """
    if c.within_bound:
        return 1 - c.within_bound.high, 1 - c.within_bound.low
    U = 2 * c.gap.standard_uncertainty if c.stated else 0.0
    return c.gap.value - U, c.gap.value + U


@dataclass(frozen=True)
class Lane:
    """One route: what it gives, and whether it is preferred; `found` is a sentence if it gives nothing."""

    route: Route
    found: Coupling | str
    preferred: bool

    @property
    def state(self) -> str:
        """What can be said of this k, as a key of `words.STATE`."""
        c = self.found
        if isinstance(c, str):
            return "no solution"
        if c.gap.value < 0:
            return "impossible" if c.impossible else "beyond"
        if c.resolved is None:
            return "unstated"
        if not c.resolved:
            return "not resolved"
        return "two roots" if c.route.name in AMBIGUOUS else "resolved"

    @property
    def is_open(self) -> bool:
        """Whether its interval reaches 1 or lies beyond."""
        return self.state in ("not resolved", "beyond", "impossible")

    @property
    def lines(self) -> tuple[str, ...]:
        """What stands beside the mark."""
        if isinstance(self.found, str):
            return (words.STATE[self.state],)
        k, gap = _texts(self.found)
        first = words.K.format(k=k)
        second = self.found.between or words.STATE[self.state].format(gap=gap)
        return words.PREFERRED.format(text=first) if self.preferred else first, second

    @property
    def below(self) -> str:
        """Ids of the readings that make the difference, besides those of the windings alone."""
        if isinstance(self.found, str):
            return ""
        return ", ".join(o.id for o in self.found.observations if o.connection not in SINGLES)

    @property
    def spoken(self) -> str:
        """The lane in a sentence."""
        title = self.route.title if self.preferred else f"{self.route.title[0].upper()}{self.route.title[1:]}"
        if isinstance(self.found, str):
            return words.ALT_NO_ROUTE.format(title=title, status=self.found)
        k, gap = _texts(self.found)
        facts = {"ids": ", ".join(self.found.ids), "k": k, "gap": gap, "status": self.found.status}
        sentence = words.ALT_PREFERRED if self.preferred else words.ALT_ROUTE
        return sentence.format(title=title, **facts)


def lanes(analysis: Analysis) -> list[Lane]:
    """A lane for each route that the readings allow, the preferred one first."""
    found = [Lane(route, c, c is analysis.believed) for route, c in analysis.couplings.items()]
    return sorted(found, key=lambda lane: not lane.preferred)


def _texts(c: Coupling) -> tuple[str, str]:
    """|k| and 1 - |k|, rounded to their uncertainty, or without one to digits that tell |k| from 1."""
    k, gap = c.text(c.coefficient, ""), c.text(c.gap, "")
    return k.removeprefix("\N{MINUS SIGN}"), gap


OPEN = plot.Stroke(plot.MUTED, 2.0, (6.0, 4.0))
BEYOND = "#F2F2F2"


def coupling_scale(bench: Bench, size: str = "page") -> Picture:
    """k by every route that the readings allow, on a scale that is logarithmic in 1 - |k|.

    One row a route, the preferred one first and marked. An interval that reaches |k| = 1 is an arrow with the
    words "not resolved"; |k| > 1 is drawn beyond the end mark and never clipped.

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
    measures = size_called(size)
    analysis = analyse(bench)
    found = lanes(analysis)
    mark = words.INVENTED if bench.invented else ""
    if not found:
        why = " ".join((words.SCALE_NOTHING, *(f.sentence for f in missing(analysis))))
        return Picture(plot.blank(why, mark, measures), why)
    scale = Scale.of(lane.found for lane in found if isinstance(lane.found, Coupling))
    return Picture(_Drawing(scale, measures).svg(found, mark), _alt(found, scale, mark))


def _alt(found: list[Lane], scale: Scale, mark: str) -> str:
    head = words.ALT_SCALE.format(low=_tick(scale.start), high=_tick(scale.end))
    invented = [words.ALT_INVENTED] if mark else []
    return " ".join([head, *invented, *(lane.spoken for lane in found)])


def _tick(gap: float) -> str:
    """|k| with as many nines as it takes."""
    return f"{1 - gap:.{max(0, -int(f'{gap:e}'.partition('e')[2]))}f}"


class _Drawing:
    """The scale with its rows."""

    def __init__(self, scale: Scale, size: Size) -> None:
        self.scale, self.size = scale, size

    def svg(self, found: list[Lane], mark: str) -> str:
        """The picture as one `svg` element."""
        heights = [self._height(lane) for lane in found]
        notes = self._notes(found)
        with plot.drawn():
            self.axes = plot.sheet(self.size, sum(heights), plot.room_below(len(notes), self.size))
            self._axis()
            self._guide(found)
            for i, lane in enumerate(found):
                self._lane(lane, sum(heights[:i]))
            plot.notes(self.axes, notes, mark, self.size)
            return plot.inline(self.axes, self.size)

    def _notes(self, found: list[Lane]) -> list[str]:
        stated = any(isinstance(lane.found, Coupling) and lane.found.stated for lane in found)
        limited = [c for lane in found if isinstance(c := lane.found, Coupling) and c.within_bound]
        bars = words.SCALE_BARS if stated else words.SCALE_NO_BARS
        if limited and not stated:
            bars = words.SCALE_BOUND.format(bound=error_text(limited[0].bound))
        return [words.SCALE_AXIS, bars, *[words.SCALE_BEYOND] * self.scale.beyond]

    def _label(self, lane: Lane) -> list[str]:
        return textwrap.wrap(lane.route.title, self.size.label)

    def _height(self, lane: Lane) -> float:
        """As much as the text needs, or the label, and half a line between rows."""
        label = 0.8 * len(self._label(lane)) + 0.7 * bool(lane.below)
        beside = 0.8 * (len(lane.lines) + self._spot(lane).lines - 1) + 0.2
        return self.size.line * (max(label, beside) + 0.5)

    def _spot(self, lane: Lane) -> Beside:
        c, scale = lane.found, self.scale
        if isinstance(c, str):
            return Beside(0.01, "left")
        place = scale.place(c.gap.value)
        reach = (*(scale.bar(c) or ()), place, min(place, scale.one))
        text = max(lane.lines, key=len)
        spot = plot.beside(min(reach), max(reach), text, self.size)
        clear = scale.one - self.size.part(f"{text} ")  # of the mark for 1
        return spot if spot.lines == 1 else replace(spot, x=max(0.01, min(spot.x, clear)))

    def _axis(self) -> None:
        """The logarithmic part with its values of |k|, the mark for 1, and what lies beyond."""
        axes, scale = self.axes, self.scale
        axes.set_xlim(0.0, 1.0)
        gaps = self._ticks()
        places, behind = [scale.place(gap) for gap in gaps], [scale.behind] * scale.beyond
        axes.xaxis.set_major_locator(FixedLocator([*places, scale.one, *behind]))
        axes.set_xticklabels([*map(_tick, gaps), words.ONE, *[words.MORE_THAN_ONE] * scale.beyond])
        axes.xaxis.set_minor_locator(FixedLocator([scale.place(gap) for gap in scale.gaps(range(9, 0, -1))]))
        bottom, top = axes.get_ylim()
        axes.vlines(places, bottom, top, color=FAINT, linewidth=1.0, zorder=0)
        axes.spines["bottom"].set_bounds(0.0, scale.last)
        axes.hlines(bottom, scale.last, scale.one, color=plot.INK, linestyles=":", lw=1.2, clip_on=False)
        width = 0.14 * self.size.text
        axes.axvline(scale.one, color=plot.INK, linewidth=width, gid=plot.named("one"), zorder=1)
        if scale.beyond:
            axes.axvspan(scale.one, 1.0, color=BEYOND, zorder=0)

    def _ticks(self) -> list[float]:
        """The values of 1 - |k| that are written out: as many as there is room for, and clear of the 1."""
        part, place = self.size.part, self.scale.place
        clear = part(" ")
        for steps, every in (((5, 2, 1), 1), ((3, 1), 1), ((1,), 1), ((1,), 2), ((1,), 4)):
            half = {gap: part(_tick(gap)) / 2 for gap in self.scale.gaps(steps, every)}
            room = self.scale.one - part(words.ONE) / 2 - clear
            gaps = [gap for gap in half if place(gap) + half[gap] <= room]
            if all(place(b) - place(a) >= half[a] + half[b] + clear for a, b in pairwise(gaps)):
                break
        return gaps

    def _guide(self, found: list[Lane]) -> None:
        """A line from the preferred route down through all others."""
        first = found[0]
        if first.preferred and isinstance(first.found, Coupling) and len(found) > 1:
            x = self.scale.place(first.found.gap.value)
            self.axes.axvline(x, color=GUIDE, linewidth=0.12 * self.size.text, zorder=1)

    def _lane(self, lane: Lane, top: float) -> None:
        below = [plot.clipped(lane.below, self.size)]
        first = plot.heading(self.axes, self._label(lane), below, top, self.size)
        if isinstance(lane.found, Coupling):
            self._marks(lane, lane.found, first)
        spot, weight = self._spot(lane), "bold" if lane.preferred else "normal"
        for i, line in enumerate(lane.lines, spot.lines - 1):
            at = (spot.x, first + i * 0.8 * self.size.line)
            plot.write(self.axes, line, at, self.size.text, weight=weight, ha=spot.towards)

    def _marks(self, lane: Lane, c: Coupling, y: float) -> None:
        """The estimate and its interval, with the head of an arrow where that is open."""
        stroke = OPEN if lane.is_open else plot.PREDICTION
        height, name = self.size.text, lane.route.name
        if bar := self.scale.bar(c):
            plot.interval(self.axes, bar, y, stroke, height=height, name=f"interval {name}")
            if lane.is_open:
                self.axes.plot(bar[1:], [y], ">", ms=0.6 * height, color=stroke.colour, clip_on=False)
        mark = Mark("o" if lane.is_open else "D", stroke, filled=lane.preferred)
        place = self.scale.place(c.gap.value)
        plot.point(self.axes, (place, y), mark, height=height, name=f"estimate {name}")
