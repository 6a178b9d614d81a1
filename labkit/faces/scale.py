"""What stands on the scale of k: a lane for each route, and where a value of 1 - |k| has its place.

Worked out before anything is drawn, so that the drawing, its alternative in words and the tests speak of the
same numbers.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from labkit import quantity
from labkit.analysis.analysis import Analysis
from labkit.analysis.routes import AMBIGUOUS, SINGLES, Coupling, Route
from labkit.words import pictures as words


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
    """1 - |k| less and plus its expanded uncertainty; the value twice if none is stated."""
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
        second = words.STATE[self.state].format(gap=gap)
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
    u = c.coefficient.standard_uncertainty if c.stated else None
    digits = max(4, 2 + math.ceil(-math.log10(abs(c.gap.value) or 1.0)))
    return quantity.display(abs(c.coefficient.value), u, "", significant_digits=digits), c.text(c.gap, "")
