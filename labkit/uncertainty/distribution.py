"""How an error may be distributed: a small registry; a new distribution is one function and one line.

Every distribution here is symmetric about zero. Its unit draw is multiplied by the scale of the
source, so that scale has the meaning given beside each entry.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

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
