"""Sources of error and the inputs that carry them.

A `Component` is one physical source of error with expectation zero: the gain of a meter's range, the
last digits of one reading, the scatter of repeats. An `Input` is a value plus a linear sum of such
errors. Two inputs that share a component are correlated by that and by nothing else, so a covariance
never has to be typed in beside the sources that make it.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from labkit.errors import EntryError, ShapeError
from labkit.words import uncertainty as words

# How an error may be distributed: a small registry; a new distribution is one function and one line.
#
# Every distribution here is symmetric about zero. Its unit draw is multiplied by the scale of the
# source, so that scale has the meaning given beside each entry.

FloatArray: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True)
class Distribution:
    """A symmetric distribution of unit scale.

    Attributes
    ----------
    scale : what the scale of a source with this distribution means
    deviation : shape -> standard uncertainty at unit scale
    fill : (generator, out, parameter) -> None; fills `out`, shape (n,), with draws of unit scale.
        The parameter is the degrees of freedom for "student" and the shape for the others.
    source : where the rule stands
    """

    scale: str
    deviation: Callable[[float], float]
    fill: Callable[[np.random.Generator, FloatArray, float], None]
    source: str


def _normal(rng: np.random.Generator, out: FloatArray, _: float) -> None:
    rng.standard_normal(out=out)


def _rectangular(rng: np.random.Generator, out: FloatArray, _: float) -> None:
    rng.random(out=out)
    out *= 2.0
    out -= 1.0


def _triangular(rng: np.random.Generator, out: FloatArray, _: float) -> None:
    rng.random(out=out)
    out += rng.random(out.size)
    out -= 1.0


def _arcsine(rng: np.random.Generator, out: FloatArray, _: float) -> None:
    rng.random(out=out)
    out *= 2.0 * math.pi
    np.sin(out, out=out)


def _student(rng: np.random.Generator, out: FloatArray, degrees_of_freedom: float) -> None:
    out[:] = rng.standard_t(degrees_of_freedom, out.size)


def _curvilinear_trapezoid(rng: np.random.Generator, out: FloatArray, shape: float) -> None:
    _rectangular(rng, out, shape)
    half_width = rng.random(out.size)
    half_width *= 2.0 * shape
    half_width += 1.0 - shape
    out *= half_width


DISTRIBUTIONS: dict[str, Distribution] = {
    "normal": Distribution(
        "standard deviation", lambda _: 1.0, _normal, "JCGM 100:2008, 4.3.4; JCGM 101:2008, 6.4.7"
    ),
    "rectangular": Distribution(
        "half-width",
        lambda _: 1.0 / math.sqrt(3.0),
        _rectangular,
        "JCGM 100:2008, 4.3.7; JCGM 101:2008, 6.4.2",
    ),
    "triangular": Distribution(
        "half-width",
        lambda _: 1.0 / math.sqrt(6.0),
        _triangular,
        "JCGM 100:2008, 4.3.9; JCGM 101:2008, 6.4.5",
    ),
    "arcsine": Distribution("half-width", lambda _: 1.0 / math.sqrt(2.0), _arcsine, "JCGM 101:2008, 6.4.6"),
    # First order uses s/sqrt(n) with its degrees of freedom (JCGM 100:2008, 4.2.3 and G.3); the draws of a
    # t-distribution are wider by sqrt(nu/(nu - 2)), which is how JCGM 101:2008 carries the same ignorance.
    "student": Distribution(
        "standard deviation of the mean", lambda _: 1.0, _student, "JCGM 100:2008, G.3; JCGM 101:2008, 6.4.9"
    ),
    "curvilinear_trapezoid": Distribution(
        "half-width, itself known to within the fraction `shape`",
        lambda shape: math.sqrt(1.0 / 3.0 + shape**2 / 9.0),
        _curvilinear_trapezoid,
        "JCGM 101:2008, 6.4.3",
    ),
}


@dataclass(frozen=True)
class Component:
    """One physical source of error, of expectation zero; the same name means the same source.

    Parameters
    ----------
    name : unique among all sources that meet in one calculation
    distribution : normal, rectangular, triangular, arcsine, student or curvilinear_trapezoid
    scale : standard deviation (normal), s/sqrt(n) (student) or half-width (the others); its unit
        times the unit of the coefficient in `Input.terms` is the unit of the input
    degrees_of_freedom : how well the standard uncertainty itself is known; infinite means exactly
    label : what a person reads; not part of the identity
    shape : curvilinear trapezoid only: the fraction of its half-width to which that half-width is known
    ensemble : name of the set of simultaneous readings it was estimated from. Sources of one set
        share their degrees of freedom: they are one estimate of a spread, not several.

    Raises
    ------
    EntryError : unknown distribution, or a number out of its range

    References
    ----------
    JCGM 100:2008, 4.2 and 4.3; JCGM 101:2008, 6.4

    Examples
    --------
    >>> round(Component("display step", "rectangular", 0.5).standard_uncertainty, 4)
    0.2887
    """

    name: str
    distribution: str
    scale: float = 1.0
    degrees_of_freedom: float = math.inf
    label: str = field(default="", compare=False)
    shape: float = 0.0
    ensemble: str = ""

    def __post_init__(self) -> None:
        _require_name(self.name, "source")
        if self.distribution not in DISTRIBUTIONS:
            self._refuse(words.UNKNOWN_DISTRIBUTION, self.distribution, accepted=", ".join(DISTRIBUTIONS))
        if not (math.isfinite(self.scale) and self.scale >= 0):
            self._refuse(words.BAD_SCALE, self.scale)
        student = self.distribution == "student"
        if not self.degrees_of_freedom >= 1 or (student and math.isinf(self.degrees_of_freedom)):
            self._refuse(words.BAD_DEGREES_OF_FREEDOM, self.degrees_of_freedom)
        if not 0 <= self.shape <= (1 if self.distribution == "curvilinear_trapezoid" else 0):
            self._refuse(words.BAD_SHAPE, self.shape, distribution=self.distribution)
        if self.ensemble and not student:
            self._refuse(words.ENSEMBLE_NEEDS_STUDENT, self.distribution, ensemble=self.ensemble)

    def _refuse(self, sentence: str, given: object, **facts: str) -> None:
        raise EntryError(sentence.format(name=self.name, given=given, **facts), given=str(given))

    @property
    def standard_uncertainty(self) -> float:
        """Standard uncertainty of the error, in the unit of `scale`."""
        return self.scale * DISTRIBUTIONS[self.distribution].deviation(self.shape)

    def fill_unit(self, rng: np.random.Generator, out: FloatArray) -> None:
        """Fill `out`, shape (n,), with independent draws of the error divided by `scale`."""
        parameter = self.degrees_of_freedom if self.distribution == "student" else self.shape
        DISTRIBUTIONS[self.distribution].fill(rng, out, parameter)


@dataclass(frozen=True)
class Input:
    """A quantity that enters a formula: value + sum of coefficient times error.

    Parameters
    ----------
    name : the symbol that the budget shows
    value : best estimate, SI base unit
    terms : (component, coefficient) pairs; a component named twice adds up

    Raises
    ------
    EntryError : a number that is not finite, an empty name, or two components with one name

    Examples
    --------
    >>> gain = Component("gain", "rectangular", 0.003)
    >>> digits = Component("digits of L1", "rectangular", 5e-6)
    >>> L1 = Input("L1", 10e-3, ((gain, 10e-3), (digits, 1.0)))
    >>> f"{L1.standard_uncertainty * 1e6:.2f} µH"
    '17.56 µH'
    """

    name: str
    value: float
    terms: tuple[tuple[Component, float], ...] = ()

    def __post_init__(self) -> None:
        _require_name(self.name, "input")
        object.__setattr__(self, "value", finite(self.name, self.value))
        terms = tuple((source, finite(self.name, weight)) for source, weight in self.terms)
        object.__setattr__(self, "terms", terms)
        sources_of((self,))

    @cached_property
    def coefficients(self) -> dict[Component, float]:
        """Coefficient of every component, those named twice added up."""
        total: dict[Component, float] = {}
        for source, weight in self.terms:
            total[source] = total.get(source, 0.0) + weight
        return total

    @property
    def standard_uncertainty(self) -> float:
        """Standard uncertainty of the value, in its unit."""
        return math.hypot(*(c * source.standard_uncertainty for source, c in self.coefficients.items()))


def sources_of(inputs: Sequence[Input]) -> tuple[Component, ...]:
    """Every component that takes part, once each, in order of first appearance.

    Raises
    ------
    EntryError : one name stands for two different components
    """
    by_name: dict[str, Component] = {}
    for each in inputs:
        for source, _ in each.terms:
            known = by_name.setdefault(source.name, source)
            if known != source:
                sentence = words.SAME_NAME.format(name=source.name, first=known, second=source)
                raise EntryError(sentence, given=source.name)
    return tuple(by_name.values())


def certain(name: str, value: float) -> Input:
    """An input without uncertainty: a count, a definition, a nominal value."""
    return Input(name, value)


def uncertain(
    name: str,
    value: float,
    distribution: str,
    scale: float,
    *,
    degrees_of_freedom: float = math.inf,
    shape: float = 0.0,
) -> Input:
    """An input with one source of error of its own, called like the input; see `Component`.

    >>> uncertain("theta", 0.0, "arcsine", 0.5).standard_uncertainty.__round__(6)
    0.353553
    """
    source = Component(name, distribution, scale, degrees_of_freedom, shape=shape)
    return Input(name, value, ((source, 1.0),))


def _require_name(name: str, what: str) -> None:
    if not name.strip():
        raise EntryError(
            f"The name of this {what} is empty, so nothing can be traced to it; give it a name of its own.",
            given=name,
        )


def finite(name: str, value: float) -> float:
    """The value as a float; EntryError if it is not finite."""
    if not math.isfinite(value):
        raise EntryError(
            f"{name}: {value} is not a finite number; give the number that was found, or "
            "leave the input out.",
            given=str(value),
        )
    return float(value)


# Inputs from repeated readings and from a stated covariance (type A evaluation).


def from_readings(name: str, readings: ArrayLike) -> Input:
    """Mean of independent repeated readings with s/sqrt(n) and n - 1 degrees of freedom (type A).

    Parameters
    ----------
    name : of the quantity; the source is called "<name>, scatter of repeats"
    readings : shape (n,), n >= 2, SI base unit

    Raises
    ------
    EntryError : fewer than two readings, or one that is not finite

    Notes
    -----
    An error that is the same in every repeat (gain, offset) does not show in the scatter: add it as a
    source of its own.

    References
    ----------
    JCGM 100:2008, 4.2.2 and 4.2.3; JCGM 101:2008, 6.4.9
    """
    values = np.asarray(readings, dtype=float).ravel()
    _require_repeats(name, values.size)
    _require_finite(name, values)
    spread = float(values.std(ddof=1)) / math.sqrt(values.size)
    source = Component(f"{name}, scatter of repeats", "student", spread, values.size - 1.0)
    return Input(name, float(values.mean()), ((source, 1.0),))


def from_simultaneous_readings(names: Sequence[str], readings: ArrayLike, source: str) -> tuple[Input, ...]:
    """Means of quantities read together n times, with the correlation that the sets show (type A).

    Parameters
    ----------
    names : N names
    readings : shape (n, N), n >= 2 sets of simultaneous readings, one column a name, SI base units
    source : name of this set of readings; another set is another source and needs another name

    Returns
    -------
    tuple of N inputs with n - 1 degrees of freedom in common

    Raises
    ------
    ShapeError : the columns do not match the names
    EntryError : fewer than two sets, or a reading that is not finite

    Notes
    -----
    Monte Carlo draws a multivariate t-distribution with n - 1 degrees of freedom, so that each quantity
    alone is distributed as `from_readings` would have it. JCGM 102:2011, 5.3.2, starts from another prior,
    is wider for few sets, and needs more sets than quantities.

    References
    ----------
    JCGM 100:2008, 5.2.3 and H.2
    """
    values = np.asarray(readings, dtype=float)
    if values.ndim != 2 or values.shape[1] != len(names):
        raise ShapeError(
            f"Simultaneous readings need one column for each name; {len(names)} name(s) and "
            f"an array of shape {values.shape} were given."
        )
    _require_repeats(source, values.shape[0])
    for name, column in zip(names, values.T, strict=True):
        _require_finite(name, column)
    covariance = np.atleast_2d(np.cov(values, rowvar=False)) / values.shape[0]
    return from_covariance(names, values.mean(axis=0), covariance, source, values.shape[0] - 1.0)


def from_covariance(
    names: Sequence[str],
    values: ArrayLike,
    covariance: ArrayLike,
    source: str,
    degrees_of_freedom: float = math.inf,
) -> tuple[Input, ...]:
    """Inputs with a stated covariance, written as a sum of independent shared sources.

    Parameters
    ----------
    names, values : N names and N values, SI base units
    covariance : shape (N, N), symmetric, no negative eigenvalue (a correlation of exactly 1 is fine)
    source : name of what the covariance comes from; the components are called "<source>, part <i>"
    degrees_of_freedom : of the covariance as a whole; infinite means exactly known

    Raises
    ------
    ShapeError : sizes that do not belong together
    EntryError : not a covariance

    References
    ----------
    JCGM 100:2008, 5.2.2; JCGM 101:2008, 6.4.8
    """
    best, matrix = np.asarray(values, dtype=float), np.asarray(covariance, dtype=float)
    if best.shape != (len(names),) or matrix.shape != (len(names), len(names)):
        shape_facts = {"names": len(names), "values": best.size, "shape": matrix.shape}
        raise ShapeError(words.COVARIANCE_SHAPE.format(**shape_facts))
    weights = _square_root(names, matrix)
    known = math.isinf(degrees_of_freedom)
    law, ensemble = ("normal", "") if known else ("student", source)
    parts = [
        Component(f"{source}, part {i + 1}", law, 1.0, degrees_of_freedom, ensemble=ensemble)
        for i in range(len(names))
    ]
    return tuple(
        Input(name, float(value), tuple(zip(parts, row.tolist(), strict=True)))
        for name, value, row in zip(names, best, weights, strict=True)
    )


def _square_root(names: Sequence[str], covariance: FloatArray) -> FloatArray:
    """Matrix W with W Wᵀ = covariance, taken from the correlation so that units of any size may mix."""
    given = ", ".join(names)
    _require_finite(f"covariance of {given}", covariance.ravel())
    if not np.allclose(covariance, covariance.T, rtol=1e-9, atol=0):
        raise EntryError(words.NOT_A_COVARIANCE.format(names=given, why="it is not symmetric"))
    variance = np.diag(covariance)
    deviation = np.sqrt(np.clip(variance, 0, None))
    unit = np.where(deviation > 0, deviation, 1.0)
    size, direction = np.linalg.eigh(covariance / np.outer(unit, unit))
    # Rounding alone may leave an eigenvalue of a singular correlation below zero by a few ulp.
    if (variance < 0).any() or size.min() < -1e-12 * len(names):
        raise EntryError(
            words.NOT_A_COVARIANCE.format(names=given, why="it gives some combination a negative variance")
        )
    # The symmetric root: eigenvectors may turn round with the processor, and would take the draws with them.
    root: FloatArray = unit[:, None] * (direction * np.sqrt(np.clip(size, 0, None)) @ direction.T)
    return root


def _require_repeats(name: str, count: int) -> None:
    if count < 2:
        raise EntryError(
            f"{name}: {count} repeated reading(s) given; a spread needs at least 2, so read "
            "again or state the uncertainty another way.",
            given=str(count),
        )


def _require_finite(name: str, values: FloatArray) -> None:
    for value in values:
        finite(name, float(value))
