"""First-order propagation (JCGM 100:2008, clause 5) with correlations, and its second-order terms.

A formula is evaluated once with uncertain numbers, which gives its slope for every input; the chain
rule carries the slopes to the components (see `Estimate`).
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias, overload

import numpy as np

from labkit.errors import EntryError, LabkitError
from labkit.uncertainty.component import Input, sources_of
from labkit.uncertainty.distribution import FloatArray
from labkit.uncertainty.estimate import BudgetRow, Estimate, linear
from labkit.words import uncertainty as words

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
    >>> from labkit.uncertainty.component import Component
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
        raise EntryError(words.NO_VALUE.format(values=where, why=words.NOT_A_NUMBER), given=where)
    for x, slope in zip(inputs, slopes, strict=True):
        if not math.isfinite(slope):
            raise EntryError(words.NO_SLOPE.format(name=x.name, values=where), given=where)


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
        raise EntryError(words.ONE_OUTPUT.format(count=len(first)), given=str(len(first)))
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
        raise EntryError(words.NO_SECOND_ORDER)
    return SecondOrder(first, bias, math.sqrt(variance))
