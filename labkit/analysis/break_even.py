"""How wrong the meter would have to be for a conclusion to be wrong, where no card says how wrong it may be.

A meter is wrong by at most e if display and truth are no further apart than a factor 1 / (1 - e): that takes
in e of the display, e of the truth, and either sign. A reading x with a last digit of s then leaves the true
value between x (1 - e) - s and x / (1 - e) + s. The *least error* of a claim ("M is not positive", "these
readings are of one pair") is the smallest e for which some true values in these ranges make it hold, all
readings off at once. What then follows for the pair is worked out on ranges: every relation between the eight
connections narrows the ranges of the others until nothing moves (interval constraint propagation). A range
left empty refutes the claim. Wider ranges never become narrower that way, so the least error is found by
bisection. It may come out too small where several relations must hold together, never too large: nothing is
refuted that true values within e could give.

A conclusion is drawn without a card only if its denial has a least error above `BOUND`.

Symbols as in `labkit.theory.pair`, D = L1 L2 - M², d = L1 - L2. Source: `labkit.theory.derivation`.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from labkit import quantity
from labkit.analysis.observations import Observation
from labkit.record.bench import Bench
from labkit.theory.wiring import Connection
from labkit.uncertainty.propagate import Estimate
from labkit.words import analysis as words

BOUND = 0.2
"""Error of every reading at once that no LCR meter shows: handheld ones promise a few tenths of a per cent to
a few per cent, so a fifth leaves room for a poor range, a tired battery and another test level. The record
can state another one: `bench.note_conditions(largest_meter_error="30 %")`."""

DOUBT = 0.25
"""Part of the bound from which on readings that need it are doubted: more than handheld meters promise."""

LEAST, MOST = 1e-6, 1e9  # what a factor may exceed 1 by: between these the least one is looked for
STEPS = 15  # of bisection in its logarithm: to a part in a thousand
PASSES = 12  # of narrowing at most; it may be stopped at any time
SLACK = 1e-12  # relative: what rounding may take from a range


class Range(NamedTuple):
    """A closed interval of numbers; empty if its ends have passed each other."""

    low: float
    high: float

    def __neg__(self) -> "Range":
        return Range(-self.high, -self.low)

    def __add__(self, other: "Range") -> "Range":  # type: ignore[override]
        return Range(self.low + other.low, self.high + other.high)

    def __sub__(self, other: "Range") -> "Range":
        return Range(self.low - other.high, self.high - other.low)

    def __mul__(self, other: "Range | float") -> "Range":  # type: ignore[override]
        (a, b), (c, d) = self, (other, other) if isinstance(other, int | float) else other
        if a >= 0 and c >= 0:
            return Range(a * c if a and c else 0.0, b * d if b and d else 0.0)
        products = [x * y if x and y else 0.0 for x in (a, b) for y in (c, d)]
        return Range(min(products), max(products))

    def __truediv__(self, other: "Range") -> "Range":
        """By a range without negative numbers."""
        low, high = (1 / end if end > 0 else math.inf for end in (other.high, other.low))
        return self * Range(low, high)

    @property
    def square(self) -> "Range":
        """Of every number in it."""
        low = 0.0 if self.low <= 0 <= self.high else min(abs(self.low), abs(self.high))
        return Range(low * low, max(abs(self.low), abs(self.high)) ** 2)

    @property
    def root(self) -> "Range":
        """Of every number in it that has one."""
        return Range(math.sqrt(max(self.low, 0.0)), math.sqrt(max(self.high, 0.0)))

    def within(self, other: "Range") -> "Range":
        """What both hold."""
        return Range(max(self.low, other.low), min(self.high, other.high))

    @property
    def empty(self) -> bool:
        """Whether it holds nothing, rounding allowed for."""
        slack = SLACK * max(abs(self.low), abs(self.high)) if math.isfinite(self.low + self.high) else 0.0
        return self.low > self.high + slack


ANY, NONE, POSITIVE = Range(-math.inf, math.inf), Range(0.0, 0.0), Range(0.0, math.inf)
NOT_POSITIVE = Range(-math.inf, 0.0)

NAMES = {
    Connection.SELF_1: "L1",
    Connection.SELF_2: "L2",
    Connection.SERIES_AIDING: "A",
    Connection.SERIES_OPPOSING: "B",
    Connection.PARALLEL_AIDING: "P",
    Connection.PARALLEL_OPPOSING: "Q",
    Connection.SHORT_CIRCUIT_1: "S1",
    Connection.SHORT_CIRCUIT_2: "S2",
}
LEADS = Range(0.0, 5e-6)
"""What two clips on one node can read, in H: a metre of leads has about 1 µH."""

Pair = dict[str, Range]


def _between(low: Range, high: Range) -> Range:
    return Range(low.low, high.high)


def _side(one: Range, other: Range) -> Range:
    """Square of the third side of a triangle, from the squares of the other two."""
    return _between((one.root - other.root).square, (one.root + other.root).square)


def _either(now: Range, centre: Range, root: Range) -> Range:
    """centre ± root, as far as it agrees with what is known."""
    left, right = (centre - root).within(now), (centre + root).within(now)
    if left.empty or right.empty:
        return right if left.empty else left
    return Range(min(left.low, right.low), max(left.high, right.high))


RULES: tuple[tuple[str, Callable[[Pair], Range]], ...] = (
    ("A", lambda p: (p["L1"] + p["L2"]) * 2 - p["B"]),
    ("B", lambda p: (p["L1"] + p["L2"]) * 2 - p["A"]),
    ("M", lambda p: (p["A"] - p["B"]) * 0.25),
    ("M", lambda p: (p["A"] - p["L1"] - p["L2"]) * 0.5),
    ("M", lambda p: (p["L1"] + p["L2"] - p["B"]) * 0.5),
    ("A", lambda p: p["L1"] + p["L2"] + p["M"] * 2),
    ("B", lambda p: p["L1"] + p["L2"] - p["M"] * 2),
    ("A", lambda p: p["B"] + p["M"] * 4),
    ("B", lambda p: p["A"] - p["M"] * 4),
    ("L1", lambda p: (p["A"] + p["B"]) * 0.5 - p["L2"]),
    ("L2", lambda p: (p["A"] + p["B"]) * 0.5 - p["L1"]),
    ("L1", lambda p: p["A"] - p["L2"] - p["M"] * 2),
    ("L2", lambda p: p["A"] - p["L1"] - p["M"] * 2),
    ("L1", lambda p: p["B"] - p["L2"] + p["M"] * 2),
    ("L2", lambda p: p["B"] - p["L1"] + p["M"] * 2),
    ("A", lambda p: _side(p["L1"], p["L2"])),
    ("B", lambda p: _side(p["L1"], p["L2"])),
    ("L1", lambda p: _side(p["A"], p["L2"])),
    ("L1", lambda p: _side(p["B"], p["L2"])),
    ("L2", lambda p: _side(p["A"], p["L1"])),
    ("L2", lambda p: _side(p["B"], p["L1"])),
    ("L1", lambda p: _side(p["A"], p["B"]) * 0.25),
    ("L2", lambda p: _side(p["A"], p["B"]) * 0.25),
    ("d", lambda p: p["L1"] - p["L2"]),
    ("d", lambda p: _either(p["d"], NONE, (p["A"] * p["B"] - p["D"] * 4).root)),
    ("D", lambda p: (p["A"] * p["B"] - p["d"].square) * 0.25),
    ("D", lambda p: p["L1"] * p["L2"] - p["M"].square),
    ("D", lambda p: p["P"] * p["B"]),
    ("D", lambda p: p["Q"] * p["A"]),
    ("D", lambda p: p["S1"] * p["L2"]),
    ("D", lambda p: p["S2"] * p["L1"]),
    ("M", lambda p: _either(p["M"], NONE, (p["L1"] * p["L2"] - p["D"]).root)),
    ("M", lambda p: _either(p["M"], NONE, (p["L2"] * (p["L1"] - p["S1"])).root)),
    ("M", lambda p: _either(p["M"], NONE, (p["L1"] * (p["L2"] - p["S2"])).root)),
    ("M", lambda p: _either(p["M"], p["P"], _brackets(p, "P"))),
    ("M", lambda p: _either(p["M"], -p["Q"], _brackets(p, "Q"))),
    ("P", lambda p: p["D"] / p["B"]),
    ("P", lambda p: (p["A"] - p["d"].square / p["B"]) * 0.25),
    ("Q", lambda p: p["D"] / p["A"]),
    ("Q", lambda p: (p["B"] - p["d"].square / p["A"]) * 0.25),
    ("S1", lambda p: p["D"] / p["L2"]),
    ("S1", lambda p: p["L1"] - p["M"].square / p["L2"]),
    ("S2", lambda p: p["D"] / p["L1"]),
    ("S2", lambda p: p["L2"] - p["M"].square / p["L1"]),
    ("A", lambda p: p["D"] / p["Q"]),
    ("B", lambda p: p["D"] / p["P"]),
    ("A", lambda p: (p["D"] * 4 + p["d"].square) / p["B"]),
    ("B", lambda p: (p["D"] * 4 + p["d"].square) / p["A"]),
    *[
        (small, lambda p, large=large: Range(0.0, p[large].high))
        for small, large in (
            *(("P", "L1"), ("P", "L2"), ("Q", "L1"), ("Q", "L2")),
            *(("S1", "L1"), ("S2", "L2"), ("S1", "A"), ("S1", "B"), ("S2", "A"), ("S2", "B")),
        )
    ],
    *[
        (large, lambda p, small=small: Range(p[small].low, math.inf))
        for small, large in (
            *(("P", "L1"), ("P", "L2"), ("Q", "L1"), ("Q", "L2")),
            *(("S1", "L1"), ("S2", "L2"), ("S1", "A"), ("S1", "B"), ("S2", "A"), ("S2", "B")),
        )
    ],
)
"""What each range must lie in, given the others: every relation of a passive pair, solved for its members."""


def _brackets(p: Pair, name: str) -> Range:
    """sqrt((L1 - P)(L2 - P)), which is |M -+ P|; no passive pair has a negative bracket."""
    one, other = ((p[L] - p[name]).within(POSITIVE) for L in ("L1", "L2"))
    if one.empty or other.empty:
        return POSITIVE  # the rule that P is not above L empties the ranges by itself
    return (one * other).root


@dataclass(frozen=True)
class Display:
    """What a display showed: the connection it is taken to be of, its value and its last digit, both in H."""

    connection: Connection
    value: float
    step: float

    def at(self, error: float) -> Range:
        """Where the true value may lie."""
        part = 1 - error
        return Range(max(self.value * part - self.step, 0.0), self.value / part + self.step)


def displayed(o: Observation, connection: Connection | None = None, exponent: int = 0) -> Display:
    """An observation as a display, of another connection or with its prefix another one if that is asked."""
    taken = connection or o.connection
    assert taken is not None  # what depends on unknown dots is asked for with a connection
    step = max(reading.shown.last_digit for reading in o.readings)
    return Display(taken, o.value * 10.0**-exponent, step * 10.0**-exponent)


def carried_text(estimate: Estimate, observations: Iterable[Observation], unit: str = "H") -> str:
    """A result without a stated uncertainty, rounded to the digits that the displays behind it carry.

    Its last digit is the place of what it moves by if every display is one off in its last digit.
    """
    steps = (max(reading.shown.last_digit for reading in o.readings) for o in observations)
    spread = sum(abs(row.sensitivity) * step for row, step in zip(estimate.budget, steps, strict=True))
    if not (estimate.value and spread and math.isfinite(spread)):
        return quantity.display(estimate.value, unit=unit)
    places = math.floor(math.log10(abs(estimate.value))) - math.floor(math.log10(spread))
    return quantity.display(estimate.value, unit=unit, significant_digits=min(max(1 + places, 1), 9))


def pair_within(displays: Iterable[Display], error: float, M: Range = ANY) -> Pair | None:
    """The ranges of all quantities if no reading is wrong by more than `error`; None if that cannot be."""
    pair = dict.fromkeys((*NAMES.values(), "D"), POSITIVE) | {"M": M, "d": ANY}
    for display in displays:
        if display.connection is Connection.LEADS:
            if display.at(error).within(LEADS).empty:
                return None
        elif name := NAMES.get(display.connection):
            pair[name] = pair[name].within(display.at(error))
            if pair[name].empty:
                return None
    return _narrowed(pair)


class _Noted(dict[str, Range]):
    """A pair that notes which quantities a rule asks for."""

    def __init__(self) -> None:
        super().__init__(dict.fromkeys((*NAMES.values(), "D", "M", "d"), ANY))
        self.asked: set[str] = set()

    def __getitem__(self, name: str) -> Range:
        self.asked.add(name)
        return super().__getitem__(name)


def _asked_by(rule: Callable[[Pair], Range]) -> frozenset[str]:
    noted = _Noted()
    rule(noted)
    return frozenset(noted.asked)


_ASKED = tuple((name, rule, _asked_by(rule)) for name, rule in RULES)


def _narrowed(pair: Pair) -> Pair | None:
    """Each rule in turn, and again while one of the quantities that it asks for has moved since."""
    moved = frozenset(pair)
    for _ in range(PASSES):
        before, moved = moved, frozenset()
        for name, rule, asked in _ASKED:
            if asked.isdisjoint(before) and asked.isdisjoint(moved):
                continue
            now, new = pair[name], pair[name].within(rule(pair))
            if new.empty:
                return None
            if new.low > now.low + 1e-3 * abs(now.low) or new.high < now.high - 1e-3 * abs(now.high):
                moved |= {name}
            pair[name] = Range(min(new), max(new))
        if not moved:
            break
    return pair


def least_error(displays: Iterable[Display], M: Range = ANY) -> float:
    """How wrong the meter would have to be for all these readings to be of one pair with M in a range.

    0 if the displays as they stand allow it, 1 if nothing does.
    """
    return _least_error(tuple(displays), M)


@lru_cache(maxsize=512)  # polarity, comparison and findings ask for the same ones
def _least_error(displays: tuple[Display, ...], M: Range) -> float:
    if pair_within(displays, 0.0, M):
        return 0.0
    if not pair_within(displays, _error(MOST), M):
        return 1.0
    low, high = LEAST, MOST
    for _ in range(STEPS):
        middle = math.sqrt(low * high)
        low, high = (low, middle) if pair_within(displays, _error(middle), M) else (middle, high)
    return _error(low)


def _error(excess: float) -> float:
    """The error that a factor of 1 + `excess` between display and truth is."""
    return excess / (1 + excess)


def coupling_within(pair: Pair) -> Range:
    """|k| of a pair known in ranges, from every two quantities that tell it."""
    M, product = pair["M"], (pair["L1"] * pair["L2"]).root
    size = M if M.low >= 0 else -M if M.high <= 0 else Range(0.0, max(-M.low, M.high))
    k = Range(0.0, 1.0).within(size / product)
    for part, of in (("S1", "L1"), ("S2", "L2")):
        k = k.within((Range(1.0, 1.0) - pair[part] / pair[of]).root)
    if M.low < 0 < M.high:
        return k
    large, small = ("A", "B") if M.low >= 0 else ("B", "A")
    ratio = Range(1.0, 1.0) + (pair[small] / pair[large])  # (A - B) / (A + B) is k of the nearest equal pair
    least = max(2 / ratio.high - 1, 1 - pair[small].high / (2 * product.low) if product.low else 0.0)
    return k.within(Range(max(least, 0.0), 1.0))


def bound_of(bench: Bench) -> float:
    """The largest error of the meter that is reckoned with: as the record states it last, else `BOUND`."""
    stated = bench.largest_meter_error
    return BOUND if stated is None else stated


def error_text(error: float) -> str:
    """An error as people say it: "0.7 %", or "a factor of 32" where that is clearer."""
    if error >= 1:
        return words.BEYOND
    if error >= 2 / 3:
        factor = float(f"{1 / (1 - error):.2g}")
        return words.FACTOR.format(factor=quantity.display(factor, unit="", significant_digits=2))
    return words.PERCENT.format(percent=quantity.display(error * 100, unit="", significant_digits=2))
