"""Generalised least squares: what a covariance does to a fit, and what is refused."""

import numpy as np
import pytest

from labkit.errors import EntryError, ShapeError
from labkit.uncertainty.components import Component, Input
from labkit.uncertainty.least_squares import covariance_of, least_squares

ONE = np.ones((2, 1))
GAIN = Component("gain", "normal", 0.01)


def mean_of(readings: list[float], V: object) -> object:
    return least_squares(readings, V, ONE.dot, lambda _: ONE, [0.0])


def test_a_shared_error_does_not_average_out() -> None:
    """Two readings with one error in common: their mean has all of it, and half of the others' variance."""
    readings = [
        Input(f"y{i}", 10.0, ((GAIN, 10.0), (Component(f"own {i}", "normal", 0.1), 1.0))) for i in (1, 2)
    ]
    found = least_squares([10.0, 10.2], covariance_of(readings), ONE.dot, lambda _: ONE, [0.0])
    assert found.parameters == pytest.approx([10.1])
    assert found.covariance[0, 0] == pytest.approx(0.1**2 + 0.1**2 / 2)
    assert found.chi_squared == pytest.approx(0.2**2 / (2 * 0.1**2))


def test_covariance_is_that_of_the_inputs() -> None:
    """The parameters as inputs carry the readings' own components and give the same covariance."""
    readings = [Input("a", 5.0, ((GAIN, 5.0),)), Input("b", 6.0, ((Component("own", "normal", 0.2), 1.0),))]
    found = least_squares([5.0, 6.0], covariance_of(readings), ONE.dot, lambda _: ONE, [0.0])
    (mean,) = found.inputs(("mean",), readings)
    assert mean.standard_uncertainty**2 == pytest.approx(float(found.covariance[0, 0]))
    assert {source.name for source in mean.coefficients} == {"gain", "own"}


def test_curved_model_is_solved() -> None:
    """Exact readings of a exp(-b x) give a and b back from a start far off, with no residual."""
    x = np.array([0.0, 1.0, 2.0, 4.0])

    def model(t: np.ndarray) -> np.ndarray:
        return np.asarray(t[0] * np.exp(-t[1] * x))

    def slopes(t: np.ndarray) -> np.ndarray:
        return np.column_stack((np.exp(-t[1] * x), -t[0] * x * np.exp(-t[1] * x)))

    found = least_squares(model(np.array([3.0, 0.7])), np.eye(4) * 1e-4, model, slopes, [1.0, 0.1])
    assert found.parameters == pytest.approx([3.0, 0.7], rel=1e-9)
    assert found.chi_squared < 1e-12


def test_leverage_adds_up_to_the_parameters() -> None:
    """The leverages are between 0 and 1, add up to p, and favour the more certain reading."""
    found = mean_of([1.0, 2.0], np.diag([1.0, 9.0]))
    assert found.leverage == pytest.approx([0.9, 0.1])
    assert found.degrees_of_freedom == 1


def test_no_readings_to_spare_gives_no_p_value() -> None:
    """As many readings as parameters fit exactly, and nothing is said about how well."""
    found = least_squares([2.0], [[1.0]], ONE[:1].dot, lambda _: ONE[:1], [0.0])
    assert found.p_value is None
    assert found.scatter is None


@pytest.mark.parametrize("V", [np.eye(3), np.ones(2)])
def test_shapes_that_do_not_belong_together_are_refused(V: np.ndarray) -> None:
    """A covariance of another size is refused with the shapes."""
    with pytest.raises(ShapeError, match=r"shape \(2,\)"):
        mean_of([1.0, 2.0], V)


def test_readings_without_uncertainty_of_their_own_are_refused() -> None:
    """A covariance that is not definite cannot weigh, and the sentence says so."""
    with pytest.raises(EntryError, match="cannot be weighed"):
        mean_of([1.0, 2.0], np.ones((2, 2)))


def test_search_that_finds_no_least_says_so() -> None:
    """A model that overflows on the way ends as not converged instead of in a warning or a false result."""
    x = np.array([1.0, 2.0, 3.0])

    def model(t: np.ndarray) -> np.ndarray:
        return np.asarray(np.exp(t[0] * 400 * x))

    def slopes(t: np.ndarray) -> np.ndarray:
        return (400 * x * model(t))[:, None]

    found = least_squares([-1.0, -1.0, -1.0], np.eye(3), model, slopes, [2.0])
    assert not found.converged
