"""Sources of error and the inputs that carry them.

A `Component` is one physical source of error with expectation zero: the gain of a meter's range, the
last digits of one reading, the scatter of repeats. An `Input` is a value plus a linear sum of such
errors. Two inputs that share a component are correlated by that and by nothing else, so a covariance
never has to be typed in beside the sources that make it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from labkit.errors import EntryError
from labkit.uncertainty.distribution import DISTRIBUTIONS, FloatArray
from labkit.words import uncertainty as words


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
        raise EntryError(words.NO_NAME.format(what=what), given=name)


def finite(name: str, value: float) -> float:
    """The value as a float; EntryError if it is not finite."""
    if not math.isfinite(value):
        raise EntryError(words.NOT_FINITE.format(name=name, given=value), given=str(value))
    return float(value)
