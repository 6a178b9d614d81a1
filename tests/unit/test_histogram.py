"""Counted draws are the draws that Monte Carlo makes."""

from typing import Any

import numpy as np
import pytest

from labkit.uncertainty.components import Component, Input, uncertain
from labkit.uncertainty.montecarlo import BLOCK, histogram, monte_carlo

SHARED = Component("gain", "rectangular", 0.01)
INPUTS = [
    Input("a", 10.0, ((SHARED, 10.0), (Component("digits of a", "normal", 0.02), 1.0))),
    Input("b", 4.0, ((SHARED, 4.0),)),
]
EDGES = np.linspace(2.3, 2.7, 21).tolist()


def ratio(a: Any, b: Any) -> Any:
    return a / b


def drawn(draws: int) -> np.ndarray[Any, Any]:
    """The results that Monte Carlo works with, overheard."""
    heard: list[Any] = []

    def overheard(a: Any, b: Any) -> Any:
        heard.append(a / b)
        return heard[-1]

    monte_carlo(overheard, INPUTS, seed=7, draws=draws)
    return np.concatenate(heard[1:])  # the first call is at the values themselves


@pytest.mark.parametrize("draws", [1000, BLOCK, 2 * BLOCK + 5])
def test_counts_are_those_of_the_draws_of_monte_carlo(draws: int) -> None:
    """Counting the overheard draws by another route gives the same counts."""
    counted = histogram(ratio, INPUTS, seed=7, edges=EDGES, draws=draws)
    y = drawn(draws)
    assert list(counted.counts) == np.histogram(y, EDGES)[0].tolist()
    assert (counted.below, counted.above) == (int((y < EDGES[0]).sum()), int((y >= EDGES[-1]).sum()))
    assert sum(counted.counts) + counted.below + counted.above == draws


def test_fewer_draws_are_the_first_of_more() -> None:
    """The first blocks of a long run are the whole of a short one with its seed."""
    first = drawn(3 * BLOCK)[:BLOCK]
    counted = histogram(ratio, INPUTS, seed=7, edges=EDGES, draws=BLOCK)
    assert list(counted.counts) == np.histogram(first, EDGES)[0].tolist()


def test_density_holds_all_finite_draws() -> None:
    """Density times width, summed, is the part of the draws between the edges."""
    counted = histogram(ratio, INPUTS, seed=7, edges=[2.4, 2.45, 2.5, 2.6], draws=10_000)
    area = sum(d * w for d, w in zip(counted.density, (0.05, 0.05, 0.1), strict=True))
    assert area == pytest.approx(sum(counted.counts) / 10_000)


def test_draws_without_an_answer_are_counted_apart() -> None:
    """A root of a negative draw is no number: it is counted and in no bin."""
    x = uncertain("x", 0.0, "rectangular", 1.0)
    counted = histogram(np.sqrt, [x], seed=1, edges=[0.0, 0.5, 1.0], draws=10_000)
    assert 4_800 < counted.nonfinite < 5_200
    assert sum(counted.counts) + counted.nonfinite == 10_000
    assert counted.density[0] == pytest.approx(0.5, abs=0.05)


def test_a_constant_result_is_counted_too() -> None:
    """A formula that ignores its input counts as many draws as any other."""
    x = uncertain("x", 0.0, "normal", 1.0)
    assert histogram(lambda _: 0.25, [x], seed=1, edges=[0.0, 0.5], draws=100).counts == (100,)


def test_a_draw_on_an_edge_belongs_to_the_bin_above_it() -> None:
    """Bins hold their lower edge and not their upper one."""
    x = uncertain("x", 0.0, "normal", 1.0)
    assert histogram(lambda _: 0.25, [x], seed=1, edges=[0.0, 0.25, 0.5], draws=100).counts == (0, 100)
