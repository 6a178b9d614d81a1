"""First-order propagation (JCGM 100:2008, clause 5) with correlations, and its second-order terms.

A formula is evaluated once with uncertain numbers, which gives its slope for every input; the chain
rule carries the slopes to the components (see `Estimate`).
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import NormalDist
from typing import Any, TypeAlias, overload

import numpy as np

from labkit.errors import EntryError, LabkitError
from labkit.uncertainty.components import Component, FloatArray, Input, sources_of
from labkit.words import uncertainty as words

# A first-order result: its value, and the signed contribution of every source to its uncertainty.
#
# Whatever is asked of a result, its uncertainty, its budget, its covariance with another one, the
# uncertainty of a difference, follows from those contributions.


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


__all__ = ["BudgetRow", "Estimate", "SecondOrder", "first_order", "linear", "second_order"]

Outputs: TypeAlias = tuple[Any, ...] | list[Any]


@overload
def first_order(function: Callable[..., Outputs], inputs: Sequence[Input]) -> tuple[Estimate, ...]: ...
@overload
def first_order(function: Callable[..., Any], inputs: Sequence[Input]) -> Estimate: ...
def first_order(function: Callable[..., Any], inputs: Sequence[Input]) -> Estimate | tuple[Estimate, ...]:
    """Value and standard uncertainty of a formula, to first order, with every correlation.

    Parameters
    ----------
    function : takes the inputs positionally and returns one number or a tuple of numbers; plain
        arithmetic that works for uncertain numbers
    inputs : the quantities that enter, in order

    Returns
    -------
    Estimate, or a tuple of them if the function returns a tuple

    Raises
    ------
    EntryError : two sources with one name; no finite value or slope at the values of the inputs

    References
    ----------
    JCGM 100:2008, 5.1.2 and 5.2.2

    Examples
    --------
    >>> from labkit.uncertainty.components import Component
    >>> gain = Component("gain", "rectangular", 0.003)
    >>> a, b = Input("a", 10.0, ((gain, 10.0),)), Input("b", 5.0, ((gain, 5.0),))
    >>> first_order(lambda a, b: a / b, [a, b]).standard_uncertainty
    0.0
    """
    sources_of(inputs)
    outputs, several = _slopes(function, [x.value for x in inputs], inputs)
    results = tuple(Estimate(value, tuple(map(BudgetRow, inputs, slopes))) for value, slopes in outputs)
    return results if several else results[0]


def _slopes(
    function: Callable[..., Any], values: Sequence[float], inputs: Sequence[Input]
) -> tuple[list[tuple[float, list[float]]], bool]:
    """Value of each output and its slope with each input, at `values`; and whether there are several."""
    from uncertainties import ufloat

    # The deviation of 1 is a stand-in: only the derivatives are read.
    variables = [ufloat(value, 1.0) for value in values]
    where = ", ".join(f"{x.name} = {value:.6g}" for x, value in zip(inputs, values, strict=True))
    try:
        outcome = function(*variables)
    except LabkitError:
        raise
    except (ArithmeticError, ValueError) as error:
        raise EntryError(words.NO_VALUE.format(values=where, why=error), given=where) from error
    several = isinstance(outcome, tuple | list)
    outputs = []
    for output in outcome if several else (outcome,):
        derivatives = getattr(output, "derivatives", {})
        value = float(getattr(output, "nominal_value", output))
        slopes = [float(derivatives.get(variable, 0.0)) for variable in variables]
        _require_finite(value, slopes, inputs, where)
        outputs.append((value, slopes))
    return outputs, several


def _require_finite(value: float, slopes: list[float], inputs: Sequence[Input], where: str) -> None:
    if not math.isfinite(value):
        raise EntryError(
            words.NO_VALUE.format(values=where, why="the result is infinite or no number"), given=where
        )
    for x, slope in zip(inputs, slopes, strict=True):
        if not math.isfinite(slope):
            raise EntryError(
                f"First order needs a finite slope, and the formula has none for {x.name} at "
                f"{where}; use Monte Carlo there.",
                given=where,
            )


@dataclass(frozen=True)
class SecondOrder:
    """First order with what its next terms add.

    Attributes
    ----------
    first_order : the estimate they are added to
    bias : expectation of the result minus the formula at the values, half the sum of curvature times variance
    standard_uncertainty : with the second-order terms
    """

    first_order: Estimate
    bias: float
    standard_uncertainty: float

    @property
    def mean(self) -> float:
        """Expectation of the result to second order."""
        return self.first_order.value + self.bias


def second_order(function: Callable[..., Any], inputs: Sequence[Input]) -> SecondOrder:
    """Standard uncertainty with the second-order terms, and the bias of the mean.

    Parameters
    ----------
    function, inputs : as for `first_order`; one result only

    Raises
    ------
    EntryError : as for `first_order`; more than one result; terms that give a negative variance

    Notes
    -----
    The terms are those for sources that are independent and close to normal; a result with a strongly
    curved dependence on one broad source needs Monte Carlo. Curvatures are differences of exact slopes
    over a hundredth of each source's standard uncertainty.

    References
    ----------
    JCGM 100:2008, 5.1.2, note
    """
    first = first_order(function, inputs)
    if isinstance(first, tuple):
        raise EntryError(
            "Second-order terms are worked out for one result at a time; this formula "
            f"returned {len(first)}.",
            given=str(len(first)),
        )
    sources = [source for source in sources_of(inputs) if source.standard_uncertainty > 0]
    weights = np.array([[x.coefficients.get(source, 0.0) for source in sources] for x in inputs])
    u = np.array([source.standard_uncertainty for source in sources])
    values = np.array([x.value for x in inputs])
    weights = weights.reshape(values.size, u.size) * u  # from here on every source has unit deviation

    def slopes(at: FloatArray) -> FloatArray:
        ((_, row),), _ = _slopes(function, at.tolist(), inputs)
        projected: FloatArray = np.array(row) @ weights
        return projected

    here, step = slopes(values), 0.01
    variance, bias = float(here @ here), 0.0
    for j, shift in enumerate(step * weights.T):
        above, below = slopes(values + shift), slopes(values - shift)
        curvature = (above - below) / (2 * step)
        third = (above - 2 * here + below) / step**2
        variance += float(curvature @ curvature / 2 + here @ third)
        bias += float(curvature[j]) / 2
    if variance < 0:
        raise EntryError(
            "The second-order terms give a negative variance, so the series is of no use "
            "here; use Monte Carlo."
        )
    return SecondOrder(first, bias, math.sqrt(variance))
