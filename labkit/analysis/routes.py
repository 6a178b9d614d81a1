"""Every way from the readings to M and k, each with its uncertainty, and which of them to believe.

A route takes the readings of a few connections to the pair (L1, L2, B). The series-opposing reading is B
itself; all others reach it through a difference, which is why they differ so much in what they resolve.
With P = P+ or P-: L1 L2 - M² = P (L1 + L2 -+ 2M), so (L1 - P)(L2 - P) = (M -+ P)². No passive pair reads
a P above either winding, so both brackets are positive, and with a, b = L1 - P, L2 - P

    B = (sqrt a - sqrt b)² + 4P       from P-
    B = (sqrt a -+ sqrt b)²           from P+, larger and smaller root M

Symbols as in `labkit.theory.pair`. Source: `labkit.theory.derivation`; the inverses are proven in tests.
"""

import math
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np

from labkit import quantity
from labkit.analysis.break_even import (
    BOUND,
    NOT_POSITIVE,
    POSITIVE,
    Display,
    Range,
    bound_of,
    carried_text,
    coupling_within,
    displayed,
    error_text,
    least_error,
    pair_within,
)
from labkit.analysis.observations import Observation, observe
from labkit.errors import EntryError
from labkit.quantity import Quantity
from labkit.record.bench import Bench
from labkit.record.card import Gain
from labkit.theory.number import Number, nominal, sqrt
from labkit.theory.pair import ROUNDING, STABLE_FORMS, coupling_coefficient
from labkit.theory.wiring import Connection, Terminal
from labkit.uncertainty.propagate import Estimate, first_order
from labkit.words import analysis as words

SINGLES = (Connection.SELF_1, Connection.SELF_2)
Triple = tuple[Number, Number, Number]


@dataclass(frozen=True)
class Route:
    """A way from readings to a pair: the connections it needs, and (L1, L2, B) from them, all in H.

    `signed` says whether the readings tell the sign of M: a short-circuit test does not, M is taken positive.
    """

    name: str
    needs: tuple[Connection, ...]
    pair: Callable[..., Triple]
    signed: bool = True

    @property
    def title(self) -> str:
        """In words."""
        return words.NAME[self.name]


def _from_mutual(L1: Number, L2: Number, M: Number) -> Triple:
    B = L1 + L2 - 2 * M
    # Rounding leaves 1e-18 H where the readings cancel to the digit; P+ would divide by it.
    cancelled = np.ndim(B) == 0 and abs(nominal(B)) <= ROUNDING * nominal(L1 + L2)
    return L1, L2, 0 * M if cancelled else B


def _square(x: Number) -> Number:
    return x * x


ROUTES: tuple[Route, ...] = (
    Route("series_opposing", (*SINGLES, Connection.SERIES_OPPOSING), lambda L1, L2, B: (L1, L2, B)),
    Route(
        "short_circuit_1",
        (*SINGLES, Connection.SHORT_CIRCUIT_1),
        lambda L1, L2, S: _from_mutual(L1, L2, sqrt(L2 * (L1 - S))),
        signed=False,
    ),
    Route(
        "short_circuit_2",
        (*SINGLES, Connection.SHORT_CIRCUIT_2),
        lambda L1, L2, S: _from_mutual(L1, L2, sqrt(L1 * (L2 - S))),
        signed=False,
    ),
    Route(
        "parallel_opposing",
        (*SINGLES, Connection.PARALLEL_OPPOSING),
        lambda L1, L2, P: (L1, L2, _square(sqrt(L1 - P) - sqrt(L2 - P)) + 4 * P),
    ),
    Route(
        "both_series",
        (*SINGLES, Connection.SERIES_AIDING, Connection.SERIES_OPPOSING),
        lambda L1, L2, A, B: _from_mutual(L1, L2, (A - B) / 4),
    ),
    Route(
        "series_aiding",
        (*SINGLES, Connection.SERIES_AIDING),
        lambda L1, L2, A: _from_mutual(L1, L2, (A - L1 - L2) / 2),
    ),
    Route(
        "parallel_aiding_high",
        (*SINGLES, Connection.PARALLEL_AIDING),
        lambda L1, L2, P: (L1, L2, _square(sqrt(L1 - P) - sqrt(L2 - P))),
    ),
    Route(
        "parallel_aiding_low",
        (*SINGLES, Connection.PARALLEL_AIDING),
        lambda L1, L2, P: (L1, L2, _square(sqrt(L1 - P) + sqrt(L2 - P))),
    ),
)

AMBIGUOUS = ("parallel_aiding_high", "parallel_aiding_low")


@dataclass(frozen=True)
class Coupling:
    """M, k and the leakages by one route.

    Attributes
    ----------
    route, observations : the way taken and what it started from
    mutual_inductance : in H, negative if the polarity is not as assumed
    coefficient : k as computed, never clipped
    gap : 1 - |k|, which is what a tight coupling is judged by
    leakage_per_winding, leakage_differential_mode, leakage_short_circuit : sqrt(L1 L2)(1 - k), B and L1(1
        - k²), in H
    stated : whether every reading behind it has an uncertainty
    bound : error of a meter without a card that is reckoned with
    """

    route: Route
    observations: tuple[Observation, ...]
    mutual_inductance: Estimate
    coefficient: Estimate
    gap: Estimate
    leakage_per_winding: Estimate
    leakage_differential_mode: Estimate
    leakage_short_circuit: Estimate
    stated: bool
    bound: float = BOUND

    @cached_property
    def within_bound(self) -> Range | None:
        """Without a card: where |k| lies with a meter within the bound; None if no pair reads so."""
        pair = None if self.stated else pair_within(map(displayed, self.observations), self.bound)
        return coupling_within(pair) if pair else None

    @property
    def between(self) -> str:
        """The same in words, "0.9984 to 1"; empty if it is not known."""
        if self.within_bound is None:
            return ""
        low, high = (_outwards(k, up=up) for k, up in zip(self.within_bound, (False, True), strict=True))
        return words.BETWEEN.format(low=low, high=high)

    @property
    def _bounded(self) -> str:
        return self.between and words.BOUNDED.format(between=self.between, bound=error_text(self.bound))

    @property
    def resolved(self) -> bool | None:
        """Whether 1 - |k| is larger than its expanded uncertainty; None if no uncertainty is stated."""
        return self.gap.value > 2 * self.gap.standard_uncertainty if self.stated else None

    @property
    def impossible(self) -> bool:
        """Whether |k| exceeds 1 by more than its expanded uncertainty: no one pair gives these readings."""
        return self.stated and self.gap.value < -2 * self.gap.standard_uncertainty

    @property
    def status(self) -> str:
        """The same in words, with the figures."""
        if self.impossible:
            return words.IMPOSSIBLE
        if self.gap.value < 0:
            return words.UNPHYSICAL
        if self.resolved is None:
            return self._bounded or words.ROUTES_UNSTATED
        if self.resolved:
            return words.TWO_ROOTS if self.route.name in AMBIGUOUS else words.RESOLVED
        sizes = (self.gap.value, 2 * self.gap.standard_uncertainty)
        gap, U = (quantity.display(size, unit="", significant_digits=2) for size in sizes)
        return words.NOT_RESOLVED.format(gap=gap, U=U)

    @property
    def brief(self) -> str:
        """The same in two or three words, for a table."""
        if self.gap.value < 0:
            return words.BRIEF["beyond"]
        if self.resolved is None:
            return self._bounded or words.BRIEF["unstated"]
        if not self.resolved:
            return words.BRIEF["not resolved"]
        return words.BRIEF["two roots" if self.route.name in AMBIGUOUS else "resolved"]

    def text(self, estimate: Estimate, unit: str = "H") -> str:
        """One of the estimates, rounded to its uncertainty, without one to what the displays carry."""
        if not self.stated:
            return carried_text(estimate, self.observations, unit)
        return quantity.display(estimate.value, estimate.standard_uncertainty, unit)

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of the readings that it rests on."""
        return tuple(id for observation in self.observations for id in observation.ids)


def _all_of(L1: Number, L2: Number, B: Number) -> tuple[Number, ...]:
    M = (L1 + L2 - B) / 2
    k = coupling_coefficient(L1, L2, M)
    gap = 1 - k if _positive(M) else 1 + k
    return M, k, gap, sqrt(L1 * L2) - M, B, STABLE_FORMS[Connection.SHORT_CIRCUIT_1](L1, L2, B)


def _outwards(k: float, *, up: bool) -> str:
    """|k| rounded away from its interval, with as many digits as tell it from 1.

    >>> _outwards(0.99841, up=False), _outwards(0.99841, up=True), _outwards(1.0, up=True)
    ('0.9984', '0.9985', '1')
    """
    if k in (0.0, 1.0):
        return f"{k:.0f}"
    digits = 1 - math.floor(math.log10(min(k, 1 - k)))
    scaled = k * 10.0**digits
    return f"{(math.ceil if up else math.floor)(scaled) / 10.0**digits:.{digits}f}"


def _positive(M: Number) -> bool:
    return bool(nominal(M) >= 0)


def coupling_by(route: Route, pool: Mapping[Connection, Observation], bound: float = BOUND) -> Coupling | str:
    """M, k and leakages by one route, or the sentence that says why these readings have no solution.

    Raises KeyError if the pool lacks a reading that the route needs.
    """
    used = tuple(pool[connection] for connection in route.needs)
    try:
        estimates = first_order(lambda *x: _all_of(*route.pair(*x)), [o.input for o in used])
        M, k, gap, per_winding, B, shorted = estimates
        settled = any(row.sensitivity for row in B.budget)
    except EntryError:
        settled = False
    if not settled:
        detail = ", ".join(f"{o.id} {o.text}" for o in used)
        return words.NO_SOLUTION.format(detail=detail)
    stated = all(o.no_uncertainty is None for o in used)
    return Coupling(route, used, M, k, gap, per_winding, B, shorted, stated, bound)


def wider(one: Coupling | str, other: Coupling | str) -> Coupling | str:
    """The first with each uncertainty the larger one of the two, which are of the same readings.

    Under one assumption about the gain the other's interval covers too seldom, so the wider is stated.
    """
    if isinstance(one, str) or isinstance(other, str):
        return one
    estimates = {
        field.name: max(getattr(one, field.name), getattr(other, field.name), key=_uncertainty)
        for field in fields(Coupling)
        if isinstance(getattr(one, field.name), Estimate)
    }
    return replace(one, **estimates)


def _uncertainty(estimate: Estimate) -> float:
    return estimate.standard_uncertainty


def couplings(pool: Mapping[Connection, Observation], bound: float = BOUND) -> dict[Route, Coupling | str]:
    """Every route that the readings allow, in the order of `ROUTES`."""
    allowed = (route for route in ROUTES if all(need in pool for need in route.needs))
    return {route: coupling_by(route, pool, bound) for route in allowed}


def preferred(
    found: Mapping[Route, Coupling | str], without: Connection | None = None, signed: bool = False
) -> Coupling | None:
    """The route to believe: the one whose 1 - |k| has the smallest uncertainty.

    Routes without a stated uncertainty count only if no other is left; then the order of `ROUTES` decides. A
    root of the parallel-aiding reading is ambiguous and never preferred. `without` leaves out routes that
    use that connection's reading, for a prediction that does not rest on it; `signed` those that do not tell
    the sign of M.
    """
    usable = [
        c
        for route, c in found.items()
        if isinstance(c, Coupling)
        and without not in route.needs
        and route.name not in AMBIGUOUS
        and (route.signed or not signed)
    ]
    stated = [c for c in usable if c.stated]
    if stated:
        return min(stated, key=lambda c: c.gap.standard_uncertainty)
    return usable[0] if usable else None


# The readings sorted for comparison: which belong together, and what the dots are taken to be.

Pool = Mapping[Connection, Observation]
ALIKE = (Terminal(1, "a"), Terminal(2, "a"))
_UNLIKE = (Terminal(1, "a"), Terminal(2, "b"))
PLACEMENTS = (ALIKE, _UNLIKE)


def _value(frequency: Quantity | None) -> float | None:
    return frequency.value if frequency else None


@dataclass(frozen=True)
class Situation:
    """All observations of a bench under one assumption about the gain.

    Attributes
    ----------
    observations : every one, in order
    dots : as marked on the part, or as the readings decide; None if neither says
    dots_decided : whether the readings decided
    own_gain : the same with a gain error of its own in each reading, where both are to be believed
    bound : error of a meter without a card beyond which a conclusion is drawn
    polarity_error : without a card, how wrong every reading would have to be for M to have the other sign;
        None if uncertainties decide, 1 if neither sign fits
    windings : of the part
    """

    observations: tuple[Observation, ...]
    dots: tuple[Terminal, ...] | None
    dots_decided: bool = False
    own_gain: "Situation | None" = None
    bound: float = BOUND
    polarity_error: float | None = None
    windings: int = 2

    @property
    def main_frequency(self) -> Quantity | None:
        """The frequency at which most connections were read; None if none was recorded."""
        shown = [o.frequency for o in self.observations if o.frequency and o.connection]
        most = Counter(frequency.value for frequency in shown).most_common(1)
        return next(f for f in shown if f.value == most[0][0]) if most else None

    def pool(self, observation: Observation | None = None) -> dict[Connection, Observation]:
        """What can be used together with an observation: one of each connection at its frequency.

        It is the first that has an uncertainty, failing that the first. A reading without a recorded
        frequency is taken to belong to the main frequency, and nothing is worked out from one that is zero or
        negative; both are said in its remarks.
        """
        main = self.main_frequency
        at = (observation.frequency if observation else None) or main
        pool: dict[Connection, Observation] = {}
        for o in sorted(self.observations, key=lambda o: o.no_uncertainty is not None):
            if o.connection and o.value > 0 and _value(o.frequency or main) == _value(at):
                pool.setdefault(o.connection, o)
        return pool

    @property
    def displays(self) -> tuple[Display, ...]:
        """What the displays of the main pool showed, for conclusions without a card."""
        return tuple(displayed(o) for o in self.pool().values())

    def couplings(self, observation: Observation | None = None) -> dict[Route, Coupling | str]:
        """Every route at an observation's frequency, or at the main one.

        Uncertainties are the wider ones of both assumptions about the gain, if `own_gain` is given.
        """
        found = couplings(self.pool(observation), self.bound)
        if self.own_gain is None:
            return found
        own = self.own_gain.couplings(observation)
        return {route: wider(each, own[route]) for route, each in found.items()}


def situation(bench: Bench) -> Situation:
    """Observations of a bench with shared gain; where the dots are not known, the readings are asked."""
    bound = bound_of(bench)
    if bench.windings != 2 or bench.dots:
        return Situation(observe(bench), bench.dots, bound=bound, windings=bench.windings)
    alike = Situation(observe(bench, dots=ALIKE), ALIKE, dots_decided=True, bound=bound)
    believed = preferred(alike.couplings(), signed=True)
    if believed and believed.stated:
        M = believed.mutual_inductance
        sign = (M.value > 2 * M.standard_uncertainty) - (M.value < -2 * M.standard_uncertainty)
    else:
        sign, error = polarity(alike.displays, bound)
        alike = replace(alike, polarity_error=error)
    if sign > 0:
        return alike
    dots = _UNLIKE if sign else None
    return replace(alike, observations=observe(bench, dots=dots), dots=dots, dots_decided=bool(sign))


def polarity(displays: Iterable[Display], bound: float) -> tuple[int, float]:
    """Sign of M as any meter within the bound tells it, and how wrong it would have to be for the other.

    The sign is 0 where the readings do not tell it, or where neither sign fits them within the bound.
    """
    displays = tuple(displays)
    positive, negative = (least_error(displays, M) for M in (POSITIVE, NOT_POSITIVE))
    if min(positive, negative) > bound:
        return 0, 1.0
    sign = (negative > bound) - (positive > bound)
    return sign, max(positive, negative)


def with_gain(bench: Bench, gain: Gain, like: Situation) -> Situation:
    """The same situation under another assumption about the gain."""
    return replace(like, observations=observe(bench, gain, like.dots))
