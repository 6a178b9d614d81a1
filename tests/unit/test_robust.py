"""Robust location and scale: independent implementation, wild values, limits."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.robust.scale import Huber, mad

from labkit.errors import EntryError
from labkit.uncertainty import decisions as robust
from labkit.uncertainty.decisions import E_n_score, algorithm_a, made, z_score

VALUES = st.lists(st.floats(-100, 100).map(lambda x: round(x, 3)), min_size=3, max_size=40)


def a_class(seed: int, count: int = 20) -> list[float]:
    """Twenty values scattered by 0.1 around 10, two of them shifted."""
    rng = np.random.default_rng(seed)
    values = rng.normal(10, 0.1, count)
    values[:2] += rng.normal(0, 3, 2)
    return [float(x) for x in values]


@pytest.mark.parametrize("seed", range(20))
def test_an_independent_implementation_agrees(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the factor unrounded, statsmodels' joint estimate after Huber gives the same x* and s*.

    Its convergence criterion is looser, hence 1e-6. The factor as printed in the standard, 1.134, makes s*
    larger by less than half a per cent.
    """
    values = a_class(seed)
    printed = algorithm_a(values)
    location, scale = Huber(c=1.5, tol=1e-10, maxiter=1000)(np.array(values))
    assert printed.scale == pytest.approx(float(scale), rel=5e-3)
    tail = 1 - 2 * 0.06680720126885807  # of a normal distribution between -1.5 and 1.5
    density = 0.12951759566589174  # of it at 1.5
    beta = tail + 1.5**2 * (1 - tail) - 2 * 1.5 * density
    monkeypatch.setattr(robust, "PULLED_FACTOR", beta**-0.5)
    found = algorithm_a(values)
    assert found.location == pytest.approx(float(location), rel=1e-6)
    assert found.scale == pytest.approx(float(scale), rel=1e-6)


@pytest.mark.parametrize("seed", range(5))
def test_made_is_the_scaled_median_deviation(seed: int) -> None:
    """MADe equals statsmodels' `mad` but for the rounding of 1.4826 to 1.483."""
    values = a_class(seed)
    assert made(values) == pytest.approx(float(mad(np.array(values))), rel=5e-4)


@pytest.mark.parametrize("factor", [1e3, 1e6, 1e-3, 1e12])
def test_a_thousandfold_slip_moves_the_robust_mean_by_a_fraction_of_s(factor: float) -> None:
    """However far a value is thrown, x* moves by less than a fifth of s*, and always by the same."""
    values = a_class(1)
    clean, slipped = algorithm_a(values), algorithm_a([*values[:-1], values[-1] * factor])
    near = algorithm_a([*values[:-1], 20.0 if factor > 1 else 5.0])
    assert abs(slipped.location - clean.location) < 0.2 * clean.scale
    assert slipped.location == pytest.approx(near.location, rel=1e-9)
    assert slipped.scale == pytest.approx(near.scale, rel=1e-6)
    assert np.mean([*values[:-1], values[-1] * factor]) > clean.location + clean.scale or factor < 1


@given(VALUES, st.floats(0.01, 100), st.floats(-50, 50))
def test_unit_and_origin_do_not_matter(values: list[float], size: float, origin: float) -> None:
    """x* follows a change of unit and origin, s* the unit alone."""
    one, other = algorithm_a(values), algorithm_a([size * x + origin for x in values])
    room = 1e-6 * size * (max(values) - min(values)) + 1e-9
    assert other.location == pytest.approx(size * one.location + origin, abs=room)
    assert other.scale == pytest.approx(size * one.scale, abs=room)


@given(VALUES)
def test_it_settles_where_pulling_in_changes_nothing(values: list[float]) -> None:
    """x* is the mean of the values pulled in, and s* 1.134 times their deviation, or zero."""
    found = algorithm_a(values)
    low, high = found.location - 1.5 * found.scale, found.location + 1.5 * found.scale
    pulled = np.clip(values, low, high)
    room = 1e-6 * (max(values) - min(values)) + 1e-12
    assert found.scale == 0 or found.location == pytest.approx(float(pulled.mean()), abs=room)
    assert found.scale == 0 or found.scale == pytest.approx(1.134 * float(pulled.std(ddof=1)), abs=room)
    assert min(values) <= found.location <= max(values) or found.scale == 0


def test_mostly_the_same_value() -> None:
    """Where all or nearly all displays show the same, s* is zero, nothing divides by it, and z is unknown."""
    for values in ([5.0] * 4, [5.0] * 8 + [6.0, 5000.0]):
        found = algorithm_a(values)
        assert (found.location, found.scale) == (pytest.approx(5.0), 0.0)
        assert z_score(6.0, found.location, found.scale) is None
    assert algorithm_a([5.0] * 8 + [6.0, 5000.0]).pulled == 2


def test_more_than_half_the_same_starts_from_the_standard_deviation() -> None:
    """MADe is zero here; the estimate still settles with a spread (C.3.1, note 2)."""
    values = [5.0, 5.0, 5.0, 5.0, 6.0, 7.0, 9.0]
    assert made(values) == 0
    assert algorithm_a(values).scale > 0


def test_without_uncertainty_there_is_no_E_n() -> None:
    """Two exact numbers have no E_n; one uncertainty is enough."""
    assert E_n_score(1.0, 0.0, 2.0, 0.0) is None
    assert E_n_score(1.0, 0.0, 2.0, 0.5) == -2.0


@pytest.mark.parametrize("values", [[], [1.0], [1.0, float("nan")], [1.0, float("inf"), 2.0]])
def test_what_has_no_spread_is_refused(values: list[float]) -> None:
    """Too few values and values that are no numbers get one sentence."""
    with pytest.raises(EntryError, match=r"at least 2|not a finite number"):
        algorithm_a(values)
