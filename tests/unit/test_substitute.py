"""Figures put into the last step of a derivation.

All figures are computed for these tests; the parts are invented.
"""

from typing import Any

import pytest
from sympy import symbols

from labkit.errors import EntryError
from labkit.quantity import parse
from labkit.theory.derivation import Filled, derive
from labkit.words import theory as words

L1, L2, M = symbols("L1 L2 M")
SIDE_BY_SIDE = "1a 1b | 1a=2a 1b=2b"
LINE_REVERSED = "1a 2a | 1b=2b"
EXAMPLE = {"L1": "10.00 mH", "L2": "9.96 mH", "M": "9.9675 mH"}  # invented


def test_figures_go_into_the_last_step() -> None:
    """The formula, the formula with figures as shown, and the number."""
    step = derive(SIDE_BY_SIDE, dots="1a 2a").substitute(**EXAMPLE)
    assert step.sentence == words.FIGURES
    assert step.equations[0].text == (
        "L_eq = (L1·L2 − M²)/(L1 + L2 − 2M) = ((10.00 mH)·(9.96 mH) − (9.9675 mH)²)"
        "/(10.00 mH + 9.96 mH − 2(9.9675 mH)) = 9.95775 mH"
    )


@pytest.mark.parametrize("figures", [EXAMPLE, {k: parse(v) for k, v in EXAMPLE.items()}])
def test_figures_may_be_text_or_quantities(figures: dict[str, Any]) -> None:
    """Both keep their digits as shown."""
    assert "10.00 mH" in derive(LINE_REVERSED, dots="1a 2a").substitute(**figures).equations[0].text


def test_figures_may_be_plain_numbers() -> None:
    """Floats in H, shown with the digits they have and computed exactly."""
    text = derive(LINE_REVERSED, dots="1a 2a").substitute(L1=10e-3, L2=9.96e-3, M=9.9675e-3).equations[0].text
    assert text.endswith("= 10.00 mH + 9.960 mH − 2(9.9675 mH) = 25.0000 µH")


def test_figures_at_full_coupling_give_no_number() -> None:
    """0/0 is said in words; nothing is printed that is not a number."""
    step = derive(SIDE_BY_SIDE, dots="1a 2a").substitute(L1="10 mH", L2="10 mH", M="10 mH")
    assert (step.sentence, step.equations) == (words.FIGURES_NOWHERE, ())
    shorted = derive(SIDE_BY_SIDE, dots="1a 2a").substitute(L1="10 mH", L2="8 mH", M="9 mH")
    assert (shorted.sentence, shorted.equations) == (words.FIGURES_INFINITE, ())


def test_figures_that_no_pair_has_are_computed_and_marked() -> None:
    """M rounded to the display means k = 1.0020; the number is not hidden and not clipped."""
    step = derive(SIDE_BY_SIDE, dots="1a 2a").substitute(L1="10.00 mH", L2="9.96 mH", M="10.0 mH")
    assert step.sentence == words.FIGURES_NOT_PASSIVE.format(k="1.00201")
    assert step.equations[0].sides[-1] == "10.0000 mH"


@pytest.mark.parametrize(
    ("figures", "given"), [({}, "none"), ({"L1": 1.0}, "L1"), (EXAMPLE | {"k": 1.0}, "L1, L2, M, k")]
)
def test_missing_and_foreign_figures_are_refused(figures: dict[str, Any], given: str) -> None:
    """One sentence: what was given and what the formula needs."""
    with pytest.raises(EntryError) as caught:
        derive(LINE_REVERSED).substitute(**figures)
    assert str(caught.value) == words.FIGURES_NAMES.format(given=given, needed="L1, L2, M")


def test_figures_that_the_formula_does_not_need_do_no_harm() -> None:
    """All three figures of a pair can be handed to any of its wirings."""
    assert derive("2a 2b").substitute(**EXAMPLE).equations[0].text == "L_eq = L2 = 9.96 mH = 9.96000 mH"
    assert derive("1a 1a").substitute(**EXAMPLE).sentence == words.FIGURES_NONE


@pytest.mark.parametrize("figure", [float("nan"), float("inf"), "10 Ω", "ten"])
def test_a_figure_that_is_no_inductance_is_refused(figure: Any) -> None:
    """nan, infinite, another unit, words."""
    with pytest.raises(EntryError):
        derive("1a 1b").substitute(L1=figure)


def test_filled_formulas_keep_the_order_of_the_symbols() -> None:
    """Figures are put in where they stand, not sorted anew."""
    from labkit.theory.formula_text import to_text

    figures = {"L1": "9 mH", "L2": "10 mH", "M": "1 mH"}
    filled = Filled(L1 + L2 - 2 * M, figures)
    assert to_text(filled.expression, filled.figures) == "9 mH + 10 mH − 2(1 mH)"
