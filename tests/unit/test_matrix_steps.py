"""Derivations in matrix form, for three windings and more.

Equality is proven at exact random rational points.
All figures are computed for these tests; the parts are invented.
"""

import random
import re
from fractions import Fraction
from typing import Any
from xml.etree import ElementTree

import pytest
from sympy import Matrix, Rational, oo

from labkit.show import Formula
from labkit.theory import derivation_steps as matrix_steps
from labkit.theory.derivation import Derivation, Rows, derive
from labkit.theory.laws import Laws
from labkit.theory.network import input_inductance
from labkit.theory.wiring import Wiring, all_wirings
from labkit.words import theory as words
from tests.pages import MATH


def rational_matrix(rng: random.Random, windings: int) -> Any:
    """Positive definite, exact."""
    flux = Matrix(windings, windings, lambda *_: Rational(rng.randint(-9, 9), rng.randint(1, 5)))
    return flux * flux.T + Matrix.eye(windings) / 7


def at(derivation: Derivation, L: Any) -> Any:
    """The derived result for a matrix of numbers."""
    entries = zip(derivation.laws.inductances, L, strict=True)
    values = {next(iter(entry.free_symbols)): x if entry.is_Symbol else -x for entry, x in entries}
    return derivation.result.subs(values)


@pytest.mark.parametrize("wiring", random.Random(3).sample(list(all_wirings(3)), 60))
def test_three_windings_agree_with_the_forward_model(wiring: Wiring) -> None:
    """A sample of the 856 wirings, dots mixed, at exact random points."""
    derived, L = derive(wiring, 3, "1a 2b 3a"), rational_matrix(random.Random(4), 3)
    modelled = input_inductance([[Fraction(str(entry)) for entry in row] for row in L.tolist()], wiring)
    if modelled == float("inf"):
        assert derived.result == oo
    else:
        assert at(derived, L) == Rational(modelled)


@pytest.mark.parametrize(
    ("wiring", "windings"),
    [
        ("1a 3b | 1b=2a 2b=3a", 3),
        ("1a 1b | 1a=2b=3a 1b=2a=3b", 3),
        ("1a 1b | 1a=2a 1b=2b 3a=3b", 3),
        ("1a 2b | 1b=2a 3a=3b", 3),
        ("1a 2b | 1b=2a=3a 2b=3b 4a=4b", 4),
        ("1a 1b", 3),
    ],
)
def test_the_matrix_formula_that_is_shown_gives_the_result(wiring: str, windings: int) -> None:
    """Matrices of numbers put into the formula of the page give the solved numerator over denominator."""
    derived, L = derive(wiring, windings), rational_matrix(random.Random(5), windings)
    form = matrix_steps.MatrixForm.of(derived.laws)
    formula = derived.steps[-2].equations[-1].sides[-1]
    assert formula == form.formula()
    inserted = formula.subs({name: value.as_immutable() for name, value in form.values(L).items()})
    assert inserted.doit()[0] == at(derived, L)


def test_windings_in_line_and_side_by_side_have_their_short_forms() -> None:
    """Series is s' L s and parallel 1/(s' L^-1 s), whatever is reversed; neither needs the general form."""
    L, s, _, _ = matrix_steps.MatrixForm.of(Laws(Wiring.parse("1a 1b"), 3, None)).symbols
    in_line, side_by_side = derive("1a 3a | 1b=2b 2a=3b", 3), derive("1a 1b | 1a=2b=3a 1b=2a=3b", 3)
    assert in_line.steps[-2].equations[-1].sides[-1] == s.T * L * s
    assert side_by_side.steps[-2].equations[-1].sides[-1] == (s.T * L.I * s).I


def test_four_windings_side_by_side_stay_short() -> None:
    """Ten symbols: 17 terms over 56, equal to 1/(1' L^-1 1) at exact points."""
    derived = derive("1a 1b | 1a=2a=3a=4a 1b=2b=3b=4b", 4, "1a 2a 3a 4a")
    numerator, denominator = derived.result.as_numer_denom()
    assert len(derived.result.free_symbols) == 10
    assert (len(numerator.args), len(denominator.args)) == (17, 56)
    ones = Matrix.ones(4, 1)
    for seed in range(3):
        L = rational_matrix(random.Random(seed), 4)
        assert at(derived, L) == 1 / (ones.T * L.inv() * ones)[0]


def test_too_many_unknowns_stay_a_matrix_formula_that_takes_figures() -> None:
    """Six windings side by side are not written out, but numbers can be put in."""
    ties = "=".join(f"{w}a" for w in range(1, 7)), "=".join(f"{w}b" for w in range(1, 7))
    derived = derive(f"1a 1b | {' '.join(ties)}", 6)
    assert derived.result is None
    assert derived.steps[-1].sentence == words.NOT_WRITTEN.format(unknowns=6)
    figures = {
        str(name): 7e-3 if str(name)[0] == "L" else 1e-3 for name in derived.laws.inductances.free_symbols
    }
    assert derived.substitute(**figures).equations[0].text == "L_eq = 2.00000 mH"  # (L + 5M)/6


def test_matrices_and_long_sums_show_themselves() -> None:
    """Four windings: matrices as tables, numerator and denominator in rows of six terms."""
    derived = derive("1a 1b | 1a=2a=3a=4a 1b=2b=3b=4b", 4)
    formulas = "".join(part.html() for part in derived.parts() if isinstance(part, Formula))
    tables = list(ElementTree.fromstring(f"<p>{formulas}</p>").iter(f"{MATH}mtable"))
    assert [len(table) for table in tables] == [4, 4, 4, 4, 3, 10]
    last = next(step for step in derived.steps if step.title == words.WRITTEN_TITLE)
    assert isinstance(last.equations[2].sides[1], Rows)
    assert len(last.equations[2].text.splitlines()) == 10
    assert len(re.split(" [+−] ", last.equations[1].text.replace("\n       ", ""))) == 17
