"""Monte Carlo: reproducible, in blocks, nothing dropped silently. All figures here are invented."""

import math
import tracemalloc
from typing import Any

import numpy as np
import pytest

from labkit.errors import EntryError
from labkit.uncertainty.components import Component, Input, certain, from_readings, uncertain
from labkit.uncertainty.montecarlo import BLOCK, monte_carlo
from tests.elementary import sqrt

X = uncertain("x", 2.0, "normal", 0.1)


def same(x: Any) -> Any:
    """The input itself."""
    return x


def collect(seed: int, draws: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Every draw of X, in order."""
    parts: list[Any] = []

    def keep(x: Any) -> Any:
        parts.append(x.copy())
        return x

    monte_carlo(keep, [X], seed=seed, draws=draws)
    return np.concatenate(parts[1:])  # the first call is at the value itself


def test_the_same_seed_gives_the_same_digits() -> None:
    """A seed fixes the result; another seed gives another one."""
    one, two, other = (monte_carlo(same, [X], seed=s, draws=50_000) for s in (3, 3, 4))
    assert one == two
    assert one.mean != other.mean


def test_blocks_do_not_depend_on_how_many_follow() -> None:
    """The first draws of a long run are those of a short one, so a block can be drawn on its own."""
    short, long = collect(3, BLOCK + 100), collect(3, 3 * BLOCK)
    assert short.size == BLOCK + 100
    assert np.array_equal(short, long[: short.size])


def test_blocks_differ_from_each_other() -> None:
    """Two blocks have streams of their own: no draw of the first comes back in the second."""
    draws = collect(3, 2 * BLOCK)
    assert np.unique(draws).size == draws.size


def test_every_draw_is_used() -> None:
    """Draws that do not fill a block count as well: mean and deviation are those of all of them."""
    draws = collect(3, 2 * BLOCK + 77)
    result = monte_carlo(same, [X], seed=3, draws=draws.size)
    assert result.mean == pytest.approx(draws.mean(), rel=1e-12)
    assert result.standard_uncertainty == pytest.approx(draws.std(ddof=1), rel=1e-12)


def test_a_shared_source_is_drawn_once() -> None:
    """Two inputs with one source move together, so their difference is certain."""
    source = Component("common", "rectangular", 1.0)
    a, b = Input("a", 5.0, ((source, 1.0),)), Input("b", 3.0, ((source, 1.0),))
    apart, total = monte_carlo(lambda a, b: (a - b, a + b), [a, b], seed=1, draws=50_000)
    assert apart.standard_uncertainty == pytest.approx(0, abs=1e-12)
    assert total.standard_uncertainty == pytest.approx(2 / math.sqrt(3), rel=0.01)


def test_separate_sources_are_independent() -> None:
    """Sources with different names do not move together."""
    a, b = (uncertain(name, 0.0, "rectangular", 1.0) for name in "ab")
    apart = monte_carlo(lambda a, b: a - b, [a, b], seed=1, draws=400_000)
    assert apart.standard_uncertainty == pytest.approx(math.sqrt(2 / 3), rel=0.01)


def test_invalid_draws_are_counted_and_kept() -> None:
    """Half of the draws break x >= 2; they are counted, and the mean is still that of all draws."""
    result = monte_carlo(same, [X], seed=1, draws=100_000, valid=lambda x: x >= 2.0)
    assert result.invalid == pytest.approx(50_000, abs=800)
    assert result.mean == pytest.approx(2.0, abs=0.002)
    assert result.symmetric[0] < 1.9
    assert any("counted and kept" in remark for remark in result.remarks)


def test_no_condition_is_not_the_same_as_no_violation() -> None:
    """Without a condition the count is None; with one that always holds it is 0 and nothing is remarked."""
    assert monte_carlo(same, [X], seed=1, draws=1000).invalid is None
    always = monte_carlo(same, [X], seed=1, draws=1000, valid=lambda _: True)
    assert (always.invalid, always.remarks) == (0, ())


def test_draws_without_an_answer_are_counted() -> None:
    """A square root of a negative draw gives no number: counted, remarked, and left out of the figures."""
    near_zero = uncertain("x", 0.0, "rectangular", 1.0)
    result = monte_carlo(sqrt, [near_zero], seed=1, draws=100_000)
    assert result.nonfinite == pytest.approx(50_000, abs=800)
    assert result.mean == pytest.approx(2 / 3, abs=0.01)
    assert any("gave no finite number" in remark for remark in result.remarks)


def test_no_answer_at_all_is_an_error() -> None:
    """If no draw has an answer there is nothing to report, and that is said."""
    with pytest.raises(EntryError, match="None of the 1000 draws"):
        monte_carlo(lambda x: x * math.nan, [X], seed=1, draws=1000)


def test_a_value_that_does_not_exist_is_none() -> None:
    """If the formula has no value at the estimates, value and bias are None, not nan."""
    result = monte_carlo(lambda x: sqrt(x - 2.01), [X], seed=1, draws=10_000)
    assert result.value is None
    assert result.bias is None
    assert result.mean is not None


def test_bias_is_mean_minus_value() -> None:
    """For X² the mean of the draws lies u² above the square of the mean."""
    result = monte_carlo(lambda x: x**2, [X], seed=1)
    assert result.value == 4.0
    assert result.bias == pytest.approx(0.01, abs=0.001)


@pytest.mark.parametrize(("repeats", "mean_exists", "deviation_exists"), [(2, 0, 0), (3, 1, 0), (4, 1, 1)])
def test_few_repeats_have_no_deviation(repeats: int, mean_exists: int, deviation_exists: int) -> None:
    """JCGM 101:2008, 6.4.9.4: t has a mean from three repeats on and a variance from four on."""
    x = from_readings("x", [1.0, 1.2, 0.9, 1.1][:repeats])
    result = monte_carlo(same, [x], seed=1, draws=20_000)
    assert (result.mean is not None) == mean_exists
    assert math.isfinite(result.standard_uncertainty) == deviation_exists
    assert any("three or fewer repeats" in remark for remark in result.remarks) != deviation_exists


def test_interval_of_two_repeats_is_that_of_student() -> None:
    """Where no deviation exists the interval still does: ±12.7 s/√2 for two repeats (Table G.2)."""
    x = from_readings("x", [-1.0, 1.0])
    result = monte_carlo(same, [x], seed=1)
    assert result.symmetric == pytest.approx((-12.71, 12.71), rel=0.02)


def test_coverage_is_the_share_of_the_draws() -> None:
    """A 50 % interval of a rectangular error is half as wide as the error."""
    result = monte_carlo(same, [uncertain("x", 0.0, "rectangular", 1.0)], seed=1, draws=200_000, coverage=0.5)
    assert result.symmetric == pytest.approx((-0.5, 0.5), abs=0.01)


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ({"seed": -1}, "The seed -1 cannot be used"),
        ({"seed": 1.5}, "The seed 1.5 cannot be used"),
        ({"draws": 100}, "a 95 % interval needs a whole number of at least 200"),
        ({"draws": 1e6}, "1000000.0 draws were asked for"),
        ({"coverage": 95}, "A coverage of 95 was asked for"),
        ({"coverage": 0.3}, "at least 0.5"),
        ({"coverage": math.nan}, "A coverage of nan"),
    ],
)
def test_settings_out_of_range_are_refused(settings: dict[str, Any], said: str) -> None:
    """A seed, a number of draws or a coverage that cannot be used is refused with what is accepted."""
    with pytest.raises(EntryError, match=said):
        monte_carlo(same, [X], **{"seed": 1, **settings})


def test_clashing_source_names_are_refused() -> None:
    """One name for two sources is refused before anything is drawn."""
    with pytest.raises(EntryError, match="both called x"):
        monte_carlo(lambda a, b: a - b, [X, uncertain("x", 1.0, "normal", 0.2)], seed=1)


def test_memory_holds_the_results_and_one_block() -> None:
    """Twenty inputs take no more memory than their one block beside the results: nothing of size draws."""
    inputs = [uncertain(f"x{i}", 0.0, "rectangular", 1.0) for i in range(20)]
    draws = 40 * BLOCK
    tracemalloc.start()
    monte_carlo(lambda *x: sum(x), inputs, seed=1, draws=draws)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 8 * (3 * draws + 30 * BLOCK)  # one result, a working copy, tails; 20 inputs would be 20


def test_certain_inputs_reach_the_formula_as_arrays() -> None:
    """A certain input has the shape of the others, so a formula need not tell them apart."""
    shapes = set()

    def see(a: Any, b: Any) -> Any:
        shapes.add((a.shape, b.shape))
        return a * b

    result = monte_carlo(see, [certain("a", 3.0), X], seed=1, draws=1000)
    assert shapes == {((1,), (1,)), ((1000,), (1000,))}
    assert result.mean == pytest.approx(6.0, abs=0.05)


def test_a_tuple_of_one_stays_a_tuple() -> None:
    """A formula that returns a tuple gives a tuple, a plain result gives one MonteCarlo."""
    (inside,) = monte_carlo(lambda x: (x,), [X], seed=1, draws=1000)
    assert inside == monte_carlo(same, [X], seed=1, draws=1000)
