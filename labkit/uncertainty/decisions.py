"""Decisions from values: conformity with a guard band (JCGM 106), robust location and scale (ISO 13528)."""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

from labkit.errors import EntryError
from labkit.uncertainty.propagate import Estimate

# Within limits or not: what a measured value with its uncertainty allows to be said (JCGM 106:2012).
#
# Tolerance limits say what is allowed. The decision is made at acceptance limits, which lie inside them by
# a guard band w, and at rejection limits, which lie outside by the same w:
#
#     pass          lower + w <= value <= upper - w     (guarded acceptance, 8.3.2)
#     fail          value < lower - w or value > upper + w     (guarded rejection, 8.3.3)
#     cannot tell   anything between
#
# Beside the decision stands the conformance probability, the part of what the value may truly be that lies
# within the limits (clause 7). It is a statement about this one item, not about a population of items.

Decision = Literal["pass", "fail", "cannot tell"]

TWO_SIGMA = math.erf(math.sqrt(2.0))
"""Coverage probability for which a normal distribution has the coverage factor 2, 95.45 %."""


@dataclass(frozen=True)
class Conformity:
    """One measured value against its limits, all in one unit; made by `conformity`.

    Attributes
    ----------
    value, standard_uncertainty, degrees_of_freedom : what was measured
    lower, upper : tolerance limits
    guard_band : w, zero or larger
    """

    value: float
    standard_uncertainty: float
    lower: float
    upper: float
    guard_band: float
    degrees_of_freedom: float = math.inf

    @property
    def acceptance(self) -> tuple[float, float] | None:
        """Lower and upper acceptance limit; None if the guard bands leave no room between them."""
        low, high = self.lower + self.guard_band, self.upper - self.guard_band
        return (low, high) if low <= high else None

    @property
    def decision(self) -> Decision:
        """What may be said."""
        if self.value < self.lower - self.guard_band or self.value > self.upper + self.guard_band:
            return "fail"
        room = self.acceptance
        return "pass" if room and room[0] <= self.value <= room[1] else "cannot tell"

    @property
    def probability(self) -> float:
        """Conformance probability, from 0 to 1."""
        return conformance_probability(
            self.value, self.standard_uncertainty, self.lower, self.upper, self.degrees_of_freedom
        )


def conformity(estimate: Estimate, lower: float, upper: float, guard_factor: float = 1.0) -> Conformity:
    """Hold an estimate against tolerance limits with a guard band of `guard_factor` times U.

    Parameters
    ----------
    estimate : value with its uncertainty
    lower, upper : tolerance limits in its unit; infinite where there is none
    guard_factor : r in w = r·U, zero or larger; U has the coverage probability 95.45 %, a factor of 2 for
        a normal distribution and Student's factor for few degrees of freedom

    Raises
    ------
    EntryError : limits in the wrong order, or a factor below zero

    References
    ----------
    JCGM 106:2012, 8.3.2; JCGM 100:2008, G.4.1

    Examples
    --------
    >>> from labkit.uncertainty.components import uncertain
    >>> from labkit.uncertainty.propagate import first_order
    >>> error = first_order(lambda e: e, [uncertain("error", 12e-6, "normal", 5e-6)])
    >>> found = conformity(error, -35e-6, 35e-6)
    >>> found.decision, round(found.guard_band * 1e6, 3), round(found.probability, 6)
    ('pass', 10.0, 0.999998)
    """
    if not lower < upper:
        raise EntryError(
            f"The limits {lower} and {upper} leave nothing between them; give the lower one "
            "first, infinity for none.",
            f"{lower}, {upper}",
        )
    if not 0 <= guard_factor < math.inf:
        raise EntryError(
            f"A guard band of {guard_factor} times U was asked for; give a factor of zero or "
            "larger, 1 unless a rule says otherwise.",
            str(guard_factor),
        )
    u = estimate.standard_uncertainty
    w = guard_factor * estimate.expanded(TWO_SIGMA) if u else 0.0
    return Conformity(estimate.value, u, lower, upper, w, estimate.degrees_of_freedom)


def conformance_probability(
    value: float,
    standard_uncertainty: float,
    lower: float = -math.inf,
    upper: float = math.inf,
    degrees_of_freedom: float = math.inf,
) -> float:
    """Probability that what was measured lies within the limits, given the value and its uncertainty.

    Parameters
    ----------
    value, standard_uncertainty, lower, upper : in one unit; a limit may be infinite
    degrees_of_freedom : infinite for a normal distribution, else Student's distribution

    References
    ----------
    JCGM 106:2012, 7.2 and 7.4 (normal distribution, one and two limits)

    Examples
    --------
    >>> round(conformance_probability(0.0, 1.0, -2.0, 2.0), 4)
    0.9545
    """
    if standard_uncertainty == 0:
        return 1.0 if lower <= value <= upper else 0.0
    above, below = ((end - value) / standard_uncertainty for end in (upper, lower))
    return 1.0 - _tail(above, degrees_of_freedom) - _tail(-below, degrees_of_freedom)


def _tail(z: float, degrees_of_freedom: float) -> float:
    """Probability beyond z of the standard normal or Student's distribution."""
    if math.isinf(degrees_of_freedom):
        return NormalDist().cdf(-z)
    from scipy.special import stdtr

    return float(stdtr(degrees_of_freedom, -z))


# Location and scale that a few wild values do not move, and scores against them.
#
# A result that is a thousand times too large counts here like any other that lies just outside: it is
# pulled in to the margin, not thrown away. From about a quarter of wild values on, no such estimate holds.
#
# Source: ISO 13528:2022, clauses 7.7, 9.4 and 9.7 and annex C; held in tests against the worked examples of
# its annex E.

MAD_FACTOR = 1.483
"""Makes the median of the deviations a standard deviation for a normal distribution (C.2.2)."""
PULLED_FROM = 1.5
"""Values further than so many s* from x* are pulled in (C.3.1)."""
PULLED_FACTOR = 1.134
"""Makes up for what pulling in takes from the spread of a normal distribution (C.3.1), as printed."""
MEAN_FACTOR = 1.25
"""A robust mean scatters by so much more than an arithmetic one, at most (7.7.7)."""
SETTLED = 1e-10  # of s*; the clause asks for no more than the third significant figure
COLLAPSED = 1e-9  # of the first s*; from here on most values are the same
MOST_ROUNDS = 10_000


@dataclass(frozen=True)
class Robust:
    """Robust mean x* and robust standard deviation s* of `count` values, in their unit.

    Attributes
    ----------
    location, scale : x* and s*; s* is zero if most values are the same
    count : how many values there were
    pulled : how many of them lie further than 1.5 s* from x*
    """

    location: float
    scale: float
    count: int
    pulled: int

    @property
    def standard_uncertainty(self) -> float:
        """Standard uncertainty of x*, 1.25 s*/sqrt(p); ISO 13528:2022, 7.7.7."""
        return MEAN_FACTOR * self.scale / math.sqrt(self.count)


def made(values: Sequence[float]) -> float:
    """Scaled median absolute deviation MADe = 1.483 · median |x - median|, in the unit of the values.

    Zero if more than half of the values are the same. Source: ISO 13528:2022, C.2.2.

    >>> made([9.96, 9.97, 9.98, 9.99, 9980.0]).__round__(5)
    0.01483
    """
    middle = statistics.median(_finite(values, 1))
    return MAD_FACTOR * statistics.median(abs(x - middle) for x in values)


def algorithm_a(values: Sequence[float]) -> Robust:
    """Robust mean and standard deviation by winsorising until nothing changes any more.

    From the median and MADe on: values beyond x* ± 1.5 s* are pulled in to that limit, x* becomes the mean of
    the values so changed and s* 1.134 times their standard deviation, and again.

    Parameters
    ----------
    values : finite, two or more, in one unit

    Raises
    ------
    EntryError : fewer than two values, or one that is not finite

    Notes
    -----
    Where MADe is zero the standard deviation is the first s* (note 2 of the clause). The iteration runs until
    x* and s* are settled to 1e-10 s*, beyond the three figures that the clause asks for. Breaks down from
    about a quarter of wild values on one side.

    References
    ----------
    ISO 13528:2022, C.3.1; the same estimate as proposal 2 of P. J. Huber, Robust Statistics, 1981 (MEMORY)

    Examples
    --------
    >>> x = algorithm_a([9.94, 9.95, 9.96, 9.97, 9.98, 9.99, 10.00, 9980.0])
    >>> round(x.location, 3), round(x.scale, 3), x.pulled
    (9.977, 0.031, 1)
    """
    values = _finite(values, 2)
    location = middle = statistics.median(values)
    first = scale = made(values) or statistics.stdev(values)
    for _ in range(MOST_ROUNDS):
        pulled = _pulled(values, location, scale)
        before = location, scale
        location, scale = statistics.fmean(pulled), PULLED_FACTOR * _deviation(pulled)
        if scale <= COLLAPSED * first:
            return Robust(middle, 0.0, len(values), _beyond(values, middle, 0.0))
        if max(abs(location - before[0]), abs(scale - before[1])) <= SETTLED * scale:
            break
    return Robust(location, scale, len(values), _beyond(values, location, scale))


def _pulled(values: Sequence[float], location: float, scale: float) -> list[float]:
    low, high = location - PULLED_FROM * scale, location + PULLED_FROM * scale
    return [min(max(x, low), high) for x in values]


def _deviation(values: Sequence[float]) -> float:
    mean = statistics.fmean(values)
    return math.sqrt(math.fsum((x - mean) ** 2 for x in values) / (len(values) - 1))


def _beyond(values: Sequence[float], location: float, scale: float) -> int:
    return sum(abs(x - location) > PULLED_FROM * scale for x in values)


def z_score(value: float, location: float, scale: float) -> float | None:
    """z = (x - x*)/s*; None if s* is zero. From |z| = 2 on look, from 3 on act (ISO 13528:2022, 9.4).

    >>> z_score(10.5, 10.0, 0.25)
    2.0
    """
    return (value - location) / scale if scale > 0 else None


def E_n_score(value: float, U: float, reference: float, U_reference: float) -> float | None:
    """E_n = (x - X)/sqrt(U² + U_X²); None without any uncertainty. |E_n| below 1 is agreement.

    Parameters
    ----------
    value, U : result and its expanded uncertainty (coverage factor 2)
    reference, U_reference : what it is held against, likewise; taken to share no error with the result

    References
    ----------
    ISO 13528:2022, 9.7

    Examples
    --------
    >>> E_n_score(10.5, 0.3, 10.0, 0.4)
    1.0
    """
    return (value - reference) / U_both if (U_both := math.hypot(U, U_reference)) > 0 else None


def _finite(values: Sequence[float], least: int) -> Sequence[float]:
    if len(values) < least:
        raise EntryError(
            f"{len(values)} value(s) given; a robust estimate needs at least {least}, so wait for more.",
            str(len(values)),
        )
    if wrong := [x for x in values if not math.isfinite(x)]:
        raise EntryError(
            f"{wrong[0]} is not a finite number; give the number that was found, or leave the value out.",
            str(wrong[0]),
        )
    return values
