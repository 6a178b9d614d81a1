"""Within limits or not: what a measured value with its uncertainty allows to be said (JCGM 106:2012).

Tolerance limits say what is allowed. The decision is made at acceptance limits, which lie inside them by a
guard band w, and at rejection limits, which lie outside by the same w:

    pass          lower + w <= value <= upper - w     (guarded acceptance, 8.3.2)
    fail          value < lower - w or value > upper + w     (guarded rejection, 8.3.3)
    cannot tell   anything between

Beside the decision stands the conformance probability, the part of what the value may truly be that lies
within the limits (clause 7). It is a statement about this one item, not about a population of items.
"""

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

from labkit.errors import EntryError
from labkit.uncertainty.estimate import Estimate
from labkit.words import uncertainty as words

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
    >>> from labkit.uncertainty.component import uncertain
    >>> from labkit.uncertainty.propagate import first_order
    >>> error = first_order(lambda e: e, [uncertain("error", 12e-6, "normal", 5e-6)])
    >>> found = conformity(error, -35e-6, 35e-6)
    >>> found.decision, round(found.guard_band * 1e6, 3), round(found.probability, 6)
    ('pass', 10.0, 0.999998)
    """
    if not lower < upper:
        raise EntryError(words.BAD_LIMITS.format(lower=lower, upper=upper), f"{lower}, {upper}")
    if not 0 <= guard_factor < math.inf:
        raise EntryError(words.BAD_GUARD.format(given=guard_factor), str(guard_factor))
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
