"""A first-order result: its value, and the signed contribution of every source to its uncertainty.

Whatever is asked of a result, its uncertainty, its budget, its covariance with another one, the
uncertainty of a difference, follows from those contributions.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from statistics import NormalDist

from labkit.errors import EntryError
from labkit.uncertainty.component import Component, Input, sources_of
from labkit.words import uncertainty as words


@dataclass(frozen=True)
class BudgetRow:
    """One line of an uncertainty budget: an input and the slope of the result with it."""

    input: Input
    sensitivity: float

    @property
    def name(self) -> str:
        """Name of the input."""
        return self.input.name

    @property
    def value(self) -> float:
        """Value of the input."""
        return self.input.value

    @property
    def standard_uncertainty(self) -> float:
        """Standard uncertainty of the input, in its unit."""
        return self.input.standard_uncertainty

    @property
    def contribution(self) -> float:
        """Sensitivity times standard uncertainty, with its sign, in the unit of the result."""
        return self.sensitivity * self.standard_uncertainty


@dataclass(frozen=True)
class Estimate:
    """A result of first-order propagation: its value and where its uncertainty comes from.

    Attributes
    ----------
    value : the formula at the values of the inputs
    budget : one row an input

    References
    ----------
    JCGM 100:2008, 5.1, 5.2, G.4
    """

    value: float
    budget: tuple[BudgetRow, ...]

    @cached_property
    def contributions(self) -> dict[Component, float]:
        """Signed contribution c·u of every component, in the unit of the result."""
        slopes: dict[Component, float] = {}
        for row in self.budget:
            for source, weight in row.input.coefficients.items():
                slopes[source] = slopes.get(source, 0.0) + row.sensitivity * weight
        return {source: slope * source.standard_uncertainty for source, slope in slopes.items()}

    @property
    def standard_uncertainty(self) -> float:
        """Combined standard uncertainty, covariances included."""
        return math.hypot(*self.contributions.values())

    @property
    def covariance_part(self) -> float:
        """What shared sources add to the variance (negative: take away), unit of the result squared."""
        return self.standard_uncertainty**2 - sum(row.contribution**2 for row in self.budget)

    @property
    def degrees_of_freedom(self) -> float:
        """Effective degrees of freedom by Welch and Satterthwaite; infinite if every source is exactly known.

        Sources estimated from one set of simultaneous readings enter as one estimate.
        """
        groups: dict[tuple[str, str], list[float]] = {}
        freedom: dict[tuple[str, str], float] = {}
        for source, part in self.contributions.items():
            key = ("ensemble", source.ensemble) if source.ensemble else ("source", source.name)
            groups.setdefault(key, []).append(part)
            freedom[key] = source.degrees_of_freedom
        u = self.standard_uncertainty
        if u == 0:
            return math.inf
        spread = sum((math.hypot(*parts) / u) ** 4 / freedom[key] for key, parts in groups.items())
        return 1.0 / spread if spread > 0 else math.inf

    def coverage_factor(self, coverage: float = 0.95) -> float:
        """Student's factor for the effective degrees of freedom, cut to a whole number as in G.4.1."""
        freedom = self.degrees_of_freedom
        upper_tail = (1.0 + _probability(coverage)) / 2.0
        if math.isinf(freedom):
            return NormalDist().inv_cdf(upper_tail)
        from scipy.special import stdtrit

        # A whole number that rounding has left a few ulp short must not lose one.
        return float(stdtrit(math.floor(freedom * (1 + 1e-9)), upper_tail))

    def expanded(self, coverage: float = 0.95) -> float:
        """Expanded uncertainty U for a coverage probability, taking the result as normal or Student."""
        return self.coverage_factor(coverage) * self.standard_uncertainty

    def covariance(self, other: "Estimate") -> float:
        """Covariance with another result, from the sources that both share."""
        sources_of([row.input for row in (*self.budget, *other.budget)])
        theirs = other.contributions
        return math.fsum(part * theirs.get(source, 0.0) for source, part in self.contributions.items())

    def correlation(self, other: "Estimate") -> float | None:
        """Correlation coefficient with another result; None if one of them has no uncertainty."""
        scale = self.standard_uncertainty * other.standard_uncertainty
        return self.covariance(other) / scale if scale > 0 else None

    def difference(self, other: "Estimate") -> "Estimate":
        """This result minus another, with what they share cancelled."""
        return linear(((1.0, self), (-1.0, other)))

    def as_input(self, name: str) -> Input:
        """The result as an input of a later formula, still tied to its sources (linear)."""
        terms = tuple(
            (source, part / source.standard_uncertainty)
            for source, part in self.contributions.items()
            if part != 0
        )
        return Input(name, self.value, terms)


def linear(parts: Iterable[tuple[float, Estimate]], offset: float = 0.0) -> Estimate:
    """Linear combination of results, offset + sum of factor times result, with all they share.

    >>> shared = Component("shared", "normal", 3.0)
    >>> a, b = (Input(name, value, ((shared, 1.0),)) for name, value in (("a", 5.0), ("b", 4.0)))
    >>> a, b = (Estimate(x.value, (BudgetRow(x, 1.0),)) for x in (a, b))
    >>> apart = linear([(1, a), (-1, b)])
    >>> apart.value, apart.standard_uncertainty
    (1.0, 0.0)
    """
    value = offset
    slopes: dict[Input, float] = {}
    for factor, part in parts:
        value += factor * part.value
        for row in part.budget:
            slopes[row.input] = slopes.get(row.input, 0.0) + factor * row.sensitivity
    sources_of(list(slopes))
    return Estimate(value, tuple(BudgetRow(each, slope) for each, slope in slopes.items()))


def _probability(coverage: float) -> float:
    if not 0 < coverage < 1:
        raise EntryError(words.BAD_COVERAGE.format(given=coverage, least=0), given=str(coverage))
    return coverage
