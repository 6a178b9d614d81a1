"""When first order is trusted: an invented coupled pair, and the edges of the verdict.

The pair and its two cards: L1 = 10.00 mH, L2 = 9.96 mH, series-opposing B = 25.0 µH. Their
figures were computed for this test.
"""

import math
from typing import Any

import pytest

from labkit.errors import EntryError
from labkit.uncertainty.components import Component, Input, certain, from_readings, uncertain
from labkit.uncertainty.montecarlo import agreement, monte_carlo, numerical_tolerance
from labkit.uncertainty.propagate import first_order, second_order
from tests.elementary import sqrt

READINGS = {"L1": 10.00e-3, "L2": 9.96e-3, "B": 25.0e-6}
CARDS = {  # ±(gain + digits), weight of a digit in the mH and in the µH range
    "fine": (0.003, 5, 1e-6, 10e-9),
    "coarse": (0.01, 3, 10e-6, 100e-9),
}


def parallel_aiding(L1: Any, L2: Any, B: Any) -> Any:
    """P+ = m - B/4 - d²/(4B)."""
    return (L1 + L2) / 2 - B / 4 - (L1 - L2) ** 2 / (4 * B)


def is_passive(L1: Any, L2: Any, B: Any) -> Any:
    """(√L1 - √L2)² <= B <= (√L1 + √L2)²."""
    return ((sqrt(L1) - sqrt(L2)) ** 2 <= B) & (B <= (sqrt(L1) + sqrt(L2)) ** 2)


def readings(card: str, shared: bool) -> list[Input]:
    """L1, L2 and B on one card, with one gain for L1 and L2 or one for each."""
    gain, digits, large, small = CARDS[card]

    def one(name: str) -> Input:
        digit = small if name == "B" else large
        owner = "mH range" if shared and name != "B" else name
        sources = (
            (Component(f"gain of {owner}", "rectangular", gain), READINGS[name]),
            (Component(f"digits of {name}", "rectangular", digits * digit), 1.0),
            (Component(f"step of {name}", "rectangular", digit / 2), 1.0),
        )
        return Input(name, READINGS[name], sources)

    return [one(name) for name in READINGS]


@pytest.mark.parametrize(
    ("card", "shared", "first", "drawn", "bias", "interval"),
    [
        ("fine", False, 23.3, 24.5, -6, (9.897, 9.987)),
        ("fine", True, 17.7, 17.7, -0.2, (9.927, 9.988)),
        ("coarse", False, 80, 119, -72, (9.562, 10.041)),
        ("coarse", True, 62, 62, -6, (9.838, 10.062)),
    ],
)
def test_uncertainty_of_the_parallel_reading(
    card: str, shared: bool, first: float, drawn: float, bias: float, interval: tuple[float, float]
) -> None:
    """u(P+) in µH by both ways, the bias and the symmetric 95 % interval in mH, for four sets of sources."""
    inputs = readings(card, shared)
    estimate = first_order(parallel_aiding, inputs)
    draws = monte_carlo(parallel_aiding, inputs, seed=1, valid=is_passive)
    verdict = agreement(estimate, draws)
    assert estimate.value == pytest.approx(9.95775e-3, rel=1e-12)
    assert estimate.standard_uncertainty == pytest.approx(first * 1e-6, abs=0.05e-6 if first < 60 else 0.5e-6)
    assert draws.standard_uncertainty == pytest.approx(drawn * 1e-6, abs=0.05e-6 if drawn < 60 else 1e-6)
    assert verdict.bias == pytest.approx(bias * 1e-6, abs=0.2e-6 if abs(bias) < 60 else 1e-6)
    assert draws.symmetric == pytest.approx([end * 1e-3 for end in interval], abs=0.8e-6)
    assert draws.invalid == 0


@pytest.mark.parametrize(
    ("card", "shared", "trusted"),
    [("fine", True, True), ("fine", False, False), ("coarse", False, False), ("coarse", True, False)],
)
def test_trust_depends_on_card_and_gain(card: str, shared: bool, trusted: bool) -> None:
    """First order is trusted for the fine card with one gain, and for no other of the four; digits decide.

    The coarse card with one gain has a bias of a tenth of u, above half a unit of the second digit of u.
    """
    inputs = readings(card, shared)
    draws = monte_carlo(parallel_aiding, inputs, seed=2)
    verdict = agreement(first_order(parallel_aiding, inputs), draws)
    assert verdict.first_order_trusted is trusted
    assert ("not to be trusted" in verdict.sentence) is not trusted


def test_trusted_value_with_an_interval_of_the_wrong_shape() -> None:
    """Fine card, one gain: linear, but the gain is rectangular and dominant, so ±1.96 u is 4 µH too wide."""
    inputs = readings("fine", True)
    verdict = agreement(first_order(parallel_aiding, inputs), monte_carlo(parallel_aiding, inputs, seed=2))
    assert verdict.first_order_trusted is True
    assert verdict.interval_trusted is False
    assert verdict.ends == pytest.approx((4.2e-6, -4.6e-6), abs=0.3e-6)
    assert "so quote the Monte Carlo interval" in verdict.sentence


def test_the_sentence_carries_the_sizes() -> None:
    """Fine card, separate gains: bias 0.26 u below and u 1.05 times as large stand in the sentence."""
    inputs = readings("fine", False)
    verdict = agreement(first_order(parallel_aiding, inputs), monte_carlo(parallel_aiding, inputs, seed=2))
    assert "0.26 of a standard uncertainty below" in verdict.sentence
    assert "1.05 times" in verdict.sentence


def test_bias_is_foreseen_by_second_order() -> None:
    """The bias of P+ is -u(d)²/(4B) - d²u(B)²/(4B³): second order and the draws agree with that."""
    L1, L2, B = inputs = readings("fine", False)
    d = READINGS["L1"] - READINGS["L2"]
    u_d = math.hypot(L1.standard_uncertainty, L2.standard_uncertainty)
    foreseen = -(u_d**2) / (4 * B.value) - d**2 * B.standard_uncertainty**2 / (4 * B.value**3)
    assert second_order(parallel_aiding, inputs).bias == pytest.approx(foreseen, rel=1e-3)
    assert monte_carlo(parallel_aiding, inputs, seed=2).bias == pytest.approx(foreseen, rel=0.02)


def test_a_bell_shaped_linear_result_passes_the_whole_test() -> None:
    """A sum of normals is trusted in value, standard uncertainty and interval."""
    inputs = [uncertain(name, 1.0, "normal", u) for name, u in (("a", 1.0), ("b", 1.1))]
    verdict = agreement(
        first_order(lambda a, b: a + b, inputs), monte_carlo(lambda a, b: a + b, inputs, seed=1)
    )
    assert verdict.interval_trusted is True
    assert verdict.sentence.startswith("First order can be trusted here: ")


def test_too_few_draws_cannot_tell() -> None:
    """A thousand draws do not settle two digits: None, and the sentence says how many would."""
    x = [uncertain("x", 1.0, "normal", 0.99)]
    verdict = agreement(first_order(lambda x: x, x), monte_carlo(lambda x: x, x, seed=1, draws=1000))
    assert verdict.first_order_trusted is None
    assert verdict.interval_trusted is None
    assert "Cannot tell" in verdict.sentence
    assert "take at least 1" in verdict.sentence


def test_too_few_draws_can_still_refute() -> None:
    """A large discrepancy is told by a thousand draws: the square of a quantity near zero."""
    x = [uncertain("x", 0.1, "normal", 1.0)]
    verdict = agreement(first_order(lambda x: x**2, x), monte_carlo(lambda x: x**2, x, seed=1, draws=1000))
    assert verdict.first_order_trusted is False


def test_an_unsettled_interval_is_said_apart() -> None:
    """At 300 000 draws u = 0.99 is settled but its interval is not: the sentence separates them."""
    x = [uncertain("x", 0.0, "normal", 0.99)]
    verdict = agreement(first_order(lambda x: x, x), monte_carlo(lambda x: x, x, seed=1, draws=300_000))
    assert verdict.first_order_trusted is True
    assert verdict.interval_trusted is None
    assert "do not settle" in verdict.sentence


def test_draws_without_an_answer_refute_first_order() -> None:
    """If a few draws have no answer, first order is not trusted even where all figures agree."""
    x = [uncertain("x", 1.0, "normal", 0.25)]

    def formula(x: Any) -> Any:
        return x + 0 * sqrt(x)

    draws = monte_carlo(formula, x, seed=1)
    verdict = agreement(first_order(formula, x), draws)
    assert 0 < draws.nonfinite < 100
    assert max(abs(verdict.bias or 0.0), abs(verdict.excess)) < verdict.tolerance
    assert verdict.first_order_trusted is False
    assert "has no answer at all" in verdict.sentence


def test_two_repeats_cannot_be_compared() -> None:
    """Draws without a finite deviation leave nothing to compare: cannot tell, quote the interval."""
    x = [from_readings("x", [1.0, 2.0])]
    verdict = agreement(first_order(lambda x: x, x), monte_carlo(lambda x: x, x, seed=1))
    assert verdict.first_order_trusted is None
    assert "no finite standard deviation" in verdict.sentence


def test_a_ratio_that_cancels_is_trusted() -> None:
    """Where a shared gain cancels, both ways leave only the rounding of the arithmetic, and agree."""
    gain = Component("gain", "rectangular", 0.003)
    inputs = [Input("a", 10.0, ((gain, 10.0),)), Input("b", 3.0, ((gain, 3.0),))]
    verdict = agreement(
        first_order(lambda a, b: a / b, inputs), monte_carlo(lambda a, b: a / b, inputs, seed=1)
    )
    assert verdict.first_order_trusted is True
    assert verdict.interval_trusted is True


@pytest.mark.parametrize(
    ("u", "digits", "tolerance"),
    [
        (0.00035, 2, 0.000005),
        (0.00035, 1, 0.00005),
        (9.94, 2, 0.05),
        (9.96, 2, 0.5),
        (99.4, 2, 0.5),
        (0.0, 2, 0.0),
    ],
)
def test_numerical_tolerance(u: float, digits: int, tolerance: float) -> None:
    """7.9.2: half of ten to the place of the last significant digit, after rounding u to its digits."""
    assert numerical_tolerance(u, digits) == pytest.approx(tolerance, rel=1e-12)


@pytest.mark.parametrize("digits", [0, 4, 1.5])
def test_digits_out_of_range_are_refused(digits: Any) -> None:
    """Only one, two or three digits of an uncertainty make sense."""
    x = [certain("x", 1.0)]
    estimate, draws = first_order(lambda x: x, x), monte_carlo(lambda x: x, x, seed=1, draws=1000)
    with pytest.raises(EntryError, match="give 1, 2 or 3"):
        agreement(estimate, draws, digits)
