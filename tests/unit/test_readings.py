"""Inputs from repeats and covariances. All readings here are invented."""

import math

import numpy as np
import pytest

from labkit.errors import EntryError, ShapeError
from labkit.uncertainty.components import Input, from_covariance, from_readings, from_simultaneous_readings
from labkit.uncertainty.montecarlo import monte_carlo
from labkit.uncertainty.propagate import first_order


def test_repeats_give_mean_and_deviation_of_the_mean() -> None:
    """Readings 1, 2, 3 give 2 with u = 1/√3 and 2 degrees of freedom."""
    x = from_readings("x", [1.0, 2.0, 3.0])
    ((source, weight),) = x.terms
    assert (x.value, weight, source.degrees_of_freedom) == (2.0, 1.0, 2.0)
    assert x.standard_uncertainty == pytest.approx(1 / math.sqrt(3))


@pytest.mark.parametrize("readings", [[], [1.0]])
def test_one_reading_has_no_spread(readings: list[float]) -> None:
    """Fewer than two repeats say nothing about scatter, and that is said instead of u = 0."""
    with pytest.raises(EntryError, match=r"a spread needs at least 2"):
        from_readings("x", readings)
    with pytest.raises(EntryError, match=r"a spread needs at least 2"):
        from_simultaneous_readings(("x",), np.reshape(readings, (-1, 1)), source="sets")


def test_a_reading_that_is_no_number_is_refused() -> None:
    """nan among repeats is refused by the name of the quantity."""
    with pytest.raises(EntryError, match="x: nan is not a finite number"):
        from_readings("x", [1.0, math.nan])
    with pytest.raises(EntryError, match="x: inf is not a finite number"):
        from_simultaneous_readings(("x", "y"), [[1.0, 2.0], [math.inf, 3.0]], source="sets")


def covariance_of(inputs: tuple[Input, ...]) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Covariance matrix that the inputs carry."""
    results = first_order(lambda *x: x, inputs)
    return np.array([[a.covariance(b) for b in results] for a in results])


def test_a_covariance_comes_back() -> None:
    """Decomposed into shared sources and put together again, a covariance of mixed units is unchanged."""
    u, r = np.array([3e-3, 9e-9, 1.0]), np.array([[1, -0.36, 0.86], [-0.36, 1, -0.65], [0.86, -0.65, 1]])
    stated = r * np.outer(u, u)
    found = covariance_of(from_covariance("abc", [1, 2, 3], stated, source="card"))
    assert found == pytest.approx(stated, rel=1e-12)


def test_a_correlation_of_one_is_accepted() -> None:
    """A singular covariance is legal: with r = 1 and equal u the difference is certain."""
    inputs = from_covariance("ab", [5.0, 3.0], np.full((2, 2), 4.0), source="common")
    difference = first_order(lambda a, b: a - b, inputs)
    assert difference.standard_uncertainty == pytest.approx(0, abs=1e-7)
    assert covariance_of(inputs) == pytest.approx(np.full((2, 2), 4.0))


def test_a_certain_quantity_among_correlated_ones() -> None:
    """A variance of zero is legal and leaves that quantity certain."""
    inputs = from_covariance("ab", [5.0, 3.0], [[0.0, 0.0], [0.0, 4.0]], source="one of two")
    assert [x.standard_uncertainty for x in inputs] == pytest.approx([0.0, 2.0])


@pytest.mark.parametrize(
    ("matrix", "why"),
    [
        ([[1.0, 0.5], [0.4, 1.0]], "not symmetric"),
        ([[1.0, 1.1], [1.1, 1.0]], "negative variance"),
        ([[-1.0, 0.0], [0.0, 1.0]], "negative variance"),
        ([[math.nan, 0.0], [0.0, 1.0]], "finite"),
    ],
)
def test_what_is_no_covariance_is_refused(matrix: list[list[float]], why: str) -> None:
    """A matrix that no pair of quantities can have is refused with the reason."""
    with pytest.raises(EntryError, match=why):
        from_covariance("ab", [1.0, 2.0], matrix, source="typed")


def test_shapes_that_do_not_belong_together_are_refused() -> None:
    """Names, values and matrix of different sizes are refused with all the sizes."""
    with pytest.raises(ShapeError, match=r"2 name\(s\), 3 value\(s\)"):
        from_covariance("ab", [1.0, 2.0, 3.0], np.eye(2), source="typed")
    with pytest.raises(ShapeError, match=r"2 name\(s\) and an array of shape \(4, 3\)"):
        from_simultaneous_readings("ab", np.ones((4, 3)), source="sets")


def test_draws_of_simultaneous_readings_keep_their_correlation() -> None:
    """Drawn as one multivariate t, sum and difference scatter as the covariance says, √(ν/(ν-2)) wider."""
    sets = [[1.0, 2.1], [2.0, 2.9], [3.0, 4.2], [4.0, 4.8], [5.0, 6.3], [2.5, 3.9], [3.5, 5.1]]
    inputs = from_simultaneous_readings("ab", sets, source="seven sets")
    widening = math.sqrt(6 / 4)
    for function in (lambda a, b: a + b, lambda a, b: a - b, lambda a, b: a + 0 * b):
        u = first_order(function, inputs).standard_uncertainty
        drawn = monte_carlo(function, inputs, seed=5, draws=400_000)
        assert drawn.standard_uncertainty == pytest.approx(widening * u, rel=0.01)


def test_parts_of_one_set_share_their_chi_square() -> None:
    """Independent t-variates would leave the squares of uncorrelated parts independent; one set does not."""
    inputs = from_covariance("ab", [0.0, 0.0], np.eye(2), source="ten sets", degrees_of_freedom=9)
    product = monte_carlo(lambda a, b: a**2 * b**2, inputs, seed=5, draws=1_000_000).mean
    # E[a²b²] = ν²/((ν-2)(ν-4)) = 81/35 for the multivariate t, (ν/(ν-2))² = 81/49 for two separate ones.
    assert product == pytest.approx(81 / 35, rel=0.1)
