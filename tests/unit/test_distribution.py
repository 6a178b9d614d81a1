"""The draws of every registered distribution against its own moments and limits."""

import math

import numpy as np
import pytest

from labkit.uncertainty.components import DISTRIBUTIONS, Component

N = 400_000
SOURCES = {
    "normal": Component("x", "normal"),
    "rectangular": Component("x", "rectangular"),
    "triangular": Component("x", "triangular"),
    "arcsine": Component("x", "arcsine"),
    "student": Component("x", "student", degrees_of_freedom=9),
    "curvilinear_trapezoid": Component("x", "curvilinear_trapezoid", shape=0.5),
}
# P(|x| < half of a half-width, or of a deviation), from the distribution function; the last by
# integration of min(1, 0.5/w)/1 over w from 0.5 to 1.5: 0.5 ln 3.
INNER = {
    "normal": math.erf(0.5 / math.sqrt(2)),
    "rectangular": 0.5,
    "triangular": 0.75,
    "arcsine": 2 / math.pi * math.asin(0.5),
    "student": 0.370919,  # t with 9 degrees of freedom, computed for this test
    "curvilinear_trapezoid": 0.5 * math.log(3),
}


def drawn(name: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Unit draws of a distribution."""
    out = np.empty(N)
    SOURCES[name].fill_unit(np.random.default_rng(7), out)
    return out


def test_every_distribution_is_tested_here() -> None:
    """A distribution that is registered but not in this file would go untested."""
    assert set(SOURCES) == set(INNER) == set(DISTRIBUTIONS)


@pytest.mark.parametrize("name", SOURCES)
def test_draws_have_the_stated_deviation(name: str) -> None:
    """Expectation zero and the stated standard deviation (Student: wider by √(ν/(ν-2)), 101 6.4.9)."""
    x, source = drawn(name), SOURCES[name]
    freedom = source.degrees_of_freedom
    widening = math.sqrt(freedom / (freedom - 2)) if name == "student" else 1.0
    assert x.mean() == pytest.approx(0, abs=5 / math.sqrt(N))
    assert x.std() == pytest.approx(source.standard_uncertainty * widening, rel=0.006)


@pytest.mark.parametrize("name", SOURCES)
def test_draws_have_the_stated_shape(name: str) -> None:
    """The part of the draws within half a unit is the one of the distribution function."""
    assert np.mean(np.abs(drawn(name)) < 0.5) == pytest.approx(INNER[name], abs=0.004)


@pytest.mark.parametrize(
    ("name", "limit"), [("rectangular", 1), ("triangular", 1), ("arcsine", 1), ("curvilinear_trapezoid", 1.5)]
)
def test_draws_keep_and_reach_their_limits(name: str, limit: float) -> None:
    """A bounded error never passes its half-width and comes close to it."""
    largest = np.abs(drawn(name)).max()
    assert 0.98 * limit < largest <= limit
