"""Coverage intervals against order statistics and exact quantiles."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit.uncertainty.montecarlo import coverage_intervals

SHAPES = ("normal", "exponential", "uniform")


def sample(shape: str, n: int, seed: int = 1) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Draws of a standard shape."""
    return np.asarray(getattr(np.random.default_rng(seed), shape)(size=n))


@given(st.integers(200, 3000), st.sampled_from(SHAPES), st.floats(0.5, 0.99))
def test_symmetric_interval_by_full_sorting(n: int, shape: str, coverage: float) -> None:
    """Sorting only the tails gives the order statistics of 7.7.1, the same as sorting everything."""
    y = sample(shape, n)
    ordered = np.sort(y)
    held = min(int(coverage * n + 0.5), n - 1)
    start = (n - held + 1) // 2
    symmetric, _ = coverage_intervals(y.copy(), coverage)
    assert symmetric == (ordered[start - 1], ordered[start - 1 + held])


@given(st.integers(200, 3000), st.sampled_from(SHAPES), st.floats(0.5, 0.99))
def test_shortest_interval_holds_its_share_and_is_nearly_the_shortest(
    n: int, shape: str, coverage: float
) -> None:
    """It spans exactly q of the draws, and no interval of q draws is shorter by more than a hundredth."""
    y = sample(shape, n)
    ordered = np.sort(y)
    held = min(int(coverage * n + 0.5), n - 1)
    _, (low, high) = coverage_intervals(y.copy(), coverage)
    assert np.searchsorted(ordered, high) - np.searchsorted(ordered, low) == held
    best = (ordered[held:] - ordered[: n - held]).min()
    assert best <= high - low <= best * 1.01


def test_shortest_interval_of_a_skew_distribution_starts_at_its_mode() -> None:
    """An exponential is densest at zero: [0, -ln 0.05], where the symmetric one is [0.0253, 3.689]."""
    symmetric, shortest = coverage_intervals(sample("exponential", 1_000_000), 0.95)
    assert shortest == pytest.approx((0.0, 2.9957), abs=0.015)
    assert symmetric == pytest.approx((0.02532, 3.6889), abs=0.02)


def test_ends_scatter_less_than_those_of_the_smallest_width() -> None:
    """Over forty seeds the ends scatter about -1.96 by well under what the smallest of all widths gives."""
    ours, smallest = [], []
    for seed in range(40):
        y = np.sort(sample("normal", 200_000, seed))
        smallest.append(y[np.argmin(y[190_000:] - y[:10_000])])
        ours.append(coverage_intervals(y, 0.95)[1][0])
    assert np.mean(ours) == pytest.approx(-1.95996, abs=0.006)
    assert np.std(ours) < 0.75 * np.std(smallest)


def test_two_separate_minima_give_one_of_them() -> None:
    """An arcsine distribution leaves out one end or the other, never the middle between both."""
    y = np.sin(2 * np.pi * sample("uniform", 200_000))
    _, (low, high) = coverage_intervals(y, 0.95)
    assert high - low == pytest.approx(1 + np.sin(0.45 * np.pi), abs=2e-3)


def test_equal_draws_have_no_width() -> None:
    """A constant gives the constant twice."""
    assert coverage_intervals(np.full(1000, 3.0), 0.95) == ((3.0, 3.0), (3.0, 3.0))
