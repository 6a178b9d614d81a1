"""Derivations: equal to the forward model and to every closed form, true at every step, and readable.

Equality of formulas is proven by cancelling symbols for pairs and at exact random rational points beyond.
All figures are computed for these tests.
"""

import os
import random
import re
import subprocess
import sys
import time
from fractions import Fraction
from typing import Any
from xml.etree import ElementTree

import pytest
from sympy import Matrix, Rational, Symbol, cancel, factor, oo, simplify, symbols

from labkit.errors import EntryError, WiringError
from labkit.quantity import parse
from labkit.theory import matrix_steps
from labkit.theory.derivation import Derivation, derive
from labkit.theory.laws import Laws
from labkit.theory.network import input_inductance, path_and_loops
from labkit.theory.pair import CLOSED_FORMS, STABLE_FORMS, Pair
from labkit.theory.steps import Filled, Rows, Step
from labkit.theory.wiring import Connection, Wiring, all_wirings, parse_dots, standard_wiring
from labkit.words import derivation as words
from labkit.words import labels

L1, L2, M, L_eq = symbols("L1 L2 M L_eq")
WIRINGS = list(all_wirings())
CONDUCTING = [wiring for wiring in WIRINGS if path_and_loops(wiring) is not None]
DOTS = ("1a 2a", "1a 2b", "1b 2a", "1b 2b")
SIDE_BY_SIDE = "1a 1b | 1a=2a 1b=2b"
LINE_REVERSED = "1a 2a | 1b=2b"
SHORTED = "1a 1b | 2a=2b"
EXAMPLE = {"L1": "10.00 mH", "L2": "9.96 mH", "M": "9.9675 mH"}  # invented


def rational_matrix(rng: random.Random, windings: int) -> Any:
    """Positive definite, exact."""
    flux = Matrix(windings, windings, lambda *_: Rational(rng.randint(-9, 9), rng.randint(1, 5)))
    return flux * flux.T + Matrix.eye(windings) / 7


def at(derivation: Derivation, L: Any) -> Any:
    """The derived result for a matrix of numbers."""
    entries = zip(derivation.laws.inductances, L, strict=True)
    values = {next(iter(entry.free_symbols)): x if entry.is_Symbol else -x for entry, x in entries}
    return derivation.result.subs(values)


@pytest.mark.parametrize("dots", [None, "1a 2a", "1a 2b"])
@pytest.mark.parametrize("wiring", WIRINGS)
def test_every_wiring_of_a_pair_is_what_the_forward_model_says(wiring: Wiring, dots: str | None) -> None:
    """31 wirings, dots on ends of the same name, of different names, and unknown: the difference cancels."""
    derived = derive(wiring, dots=dots)
    sign = -1 if dots == "1a 2b" else 1
    modelled = input_inductance([[L1, sign * M], [sign * M, L2]], wiring)
    if modelled == float("inf"):
        assert derived.result == oo
    else:
        assert cancel(derived.result - modelled) == 0


@pytest.mark.parametrize("dots", DOTS)
@pytest.mark.parametrize("connection", list(CLOSED_FORMS))
def test_every_closed_form_equals_its_derivation(connection: Connection, dots: str) -> None:
    """Textbook form in M and stable form in B, for every place of the dots, by cancelling symbols."""
    wiring = standard_wiring(connection, parse_dots(dots))
    assert wiring is not None
    derived = derive(wiring, dots=dots)
    assert derived.connection is connection
    assert cancel(derived.result - CLOSED_FORMS[connection](L1, L2, M)) == 0
    assert cancel(derived.result - STABLE_FORMS[connection](L1, L2, L1 + L2 - 2 * M)) == 0


@pytest.mark.parametrize("connection", [c for c in CLOSED_FORMS if c is not Connection.LEADS])
def test_a_pair_reads_what_is_derived_at_exact_points(connection: Connection) -> None:
    """`Pair(L1, L2, B)` with fractions against the derivation at the same fractions, by ==."""
    wiring = standard_wiring(connection, parse_dots("1a 2a"))
    assert wiring is not None
    derived, rng = derive(wiring, dots="1a 2a").result, random.Random(1)
    for _ in range(30):
        a, b, c, d = (Fraction(rng.randint(-50, 50), rng.randint(1, 20)) for _ in range(4))
        inductances = a * a + b * b + 1, c * c + d * d + 1
        B = sum(inductances) - 2 * (a * c + b * d)
        values = dict(zip((L1, L2, M), map(Rational, (*inductances, a * c + b * d)), strict=True))
        assert Rational(Pair(*inductances, B).inductance(connection)) == derived.subs(values)


def test_quarter_law_and_closures_follow_from_derivations() -> None:
    """P+ B = P- A = Lsc1 L2 = Lsc2 L1 = L1 L2 - M², each factor derived from its own wiring."""
    A, B, aiding, opposing, first, second = (
        derive(wiring, dots="1a 2a").result
        for wiring in (
            "1a 2b | 1b=2a",
            LINE_REVERSED,
            SIDE_BY_SIDE,
            "1a 1b | 1a=2b 1b=2a",
            SHORTED,
            "2a 2b | 1a=1b",
        )
    )
    for product in (aiding * B, opposing * A, first * L2, second * L1):
        assert cancel(product - (L1 * L2 - M**2)) == 0


def solution(derivation: Derivation, L: Any) -> dict[Any, Any]:
    """Every current, rate and voltage of the wiring for numbers, from branch and node equations at once.

    Unknowns are the winding currents' rates and the node potentials; the meter drives di/dt = 1.
    """
    laws, N = derivation.laws, derivation.windings
    nodes = laws.wiring.nodes(N)
    tails = Matrix(
        len(nodes),
        N,
        lambda n, w: sum(((t.end == "a") - (t.end == "b")) * (t.winding == w + 1) for t in nodes[n]),
    )
    first, second = laws.wiring.clip_nodes(N)
    source = Matrix([(node == first) - (node == second) for node in nodes])
    table = Matrix([[tails, Matrix.zeros(len(nodes), len(nodes))], [L, -tails.T]])
    grounded, free = table.gauss_jordan_solve(source.col_join(Matrix.zeros(N, 1)))
    solved = grounded.subs(dict.fromkeys(free, 0))
    rates, potentials = solved[:N], list(solved[N:])
    voltages = tails.T * Matrix(potentials)
    clips = potentials[nodes.index(first)] - potentials[nodes.index(second)]
    values = dict(zip(laws.rates, [*rates, 1], strict=True))
    values |= dict(zip(laws.currents, [*rates, 1], strict=True))  # currents that grow from zero
    values |= dict(zip(laws.voltages, [*voltages, clips], strict=True))
    return values | {L_eq: clips}


@pytest.mark.parametrize("dots", [None, "1a 2a", "1b 2a"])
@pytest.mark.parametrize("wiring", CONDUCTING)
def test_every_equation_of_every_step_is_true(wiring: Wiring, dots: str | None) -> None:
    """Numbers for all currents and voltages, from one big linear system, satisfy each line that is shown."""
    rng, derived = random.Random(2), derive(wiring, dots=dots)
    values = {L1: Rational(13, 3), L2: Rational(7, 2), M: Rational(rng.randint(1, 17), 5)}
    values |= solution(derived, derived.laws.inductances.subs(values))
    shown = [equation for step in derived.steps for equation in step.equations]
    assert len(shown) >= 5
    for equation in shown:
        sides = [side.subs(values) if hasattr(side, "subs") else side for side in equation.sides]
        assert all(simplify(side - sides[0]) == 0 for side in sides), equation.text


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


def test_four_windings_side_by_side_are_derived_in_no_time() -> None:
    """Ten symbols: 17 terms over 56, equal to 1/(1' L^-1 1) at exact points, far below two seconds."""
    start = time.perf_counter()
    derived = derive("1a 1b | 1a=2a=3a=4a 1b=2b=3b=4b", 4, "1a 2a 3a 4a")
    assert time.perf_counter() - start < 2
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


def test_mutual_inductances_are_told_apart_beyond_nine_windings() -> None:
    """Every two windings have a name of their own that can be read one way only."""
    laws = Laws(Wiring.parse("1a 1b"), 12, None)
    assert len(laws.inductances.free_symbols) == 12 + 66
    assert (laws.inductances[0, 11], laws.inductances[11, 0]) == (Symbol("M1_12"), Symbol("M1_12"))


@pytest.mark.parametrize("windings", [1, 2, 3])
def test_open_circuit_and_leads_end_early(windings: int) -> None:
    """Nothing to solve: infinite, or zero with the sentence that only the leads are read."""
    leads = derive("1a 1a", windings)
    assert leads.result == 0
    assert leads.steps[-1].sentence == words.LEADS
    if windings > 1:
        opened = derive("1a 2a", windings)
        assert (opened.result, opened.steps[-1].sentence, opened.limits) == (oo, words.OPEN, ())
        assert opened.substitute().equations[0].text == "L_eq = ∞ H"


def test_one_winding_alone_is_derived_too() -> None:
    """A part with one winding reads its self-inductance."""
    assert derive("1a 1b", 1).result == L1


def limit_values(derived: Derivation, title: str) -> list[Any]:
    """The last sides of a limit's equations."""
    return [
        equation.sides[-1] for step in derived.limits if step.title == title for equation in step.equations
    ]


def test_full_coupling_side_by_side_depends_on_the_way() -> None:
    """Equal windings: L1. Unequal: 0. On d = s sqrt(B m): m (1 - s²/4)."""
    derived = derive(SIDE_BY_SIDE, dots="1a 2a")
    k, n, m, s = symbols("k n m s")
    general, equal_any, equal, unequal, way = limit_values(derived, words.PATH_TITLE)
    assert cancel(general - derived.result.subs({M: k * n * L1, L2: n**2 * L1})) == 0
    assert cancel(equal_any - L1 * (1 + k) / 2) == 0
    assert (equal, unequal) == (L1, 0)
    assert cancel(way - m * (1 - s**2 / 4)) == 0
    assert not limit_values(derived, words.FULL_TITLE)


@pytest.mark.parametrize(
    ("wiring", "value"),
    [
        ("1a 2b | 1b=2a", L1 * (1 + Symbol("n")) ** 2),
        (LINE_REVERSED, L1 * (1 - Symbol("n")) ** 2),
        ("1a 1b | 1a=2b 1b=2a", 0),
        (SHORTED, 0),
        ("2a 2b | 1a=1b", 0),
    ],
)
def test_full_coupling_elsewhere_has_one_value(wiring: str, value: Any) -> None:
    """k = 1: turns add or subtract in line; opposing side by side and shorted windings leave nothing."""
    derived = derive(wiring, dots="1a 2a")
    assert factor(limit_values(derived, words.FULL_TITLE)[-1] - value) == 0
    assert not limit_values(derived, words.PATH_TITLE)


@pytest.mark.parametrize(
    ("wiring", "value"),
    [
        ("1a 2b | 1b=2a", L1 + L2),
        (LINE_REVERSED, L1 + L2),
        (SIDE_BY_SIDE, L1 * L2 / (L1 + L2)),
        ("1a 1b | 1a=2b 1b=2a", L1 * L2 / (L1 + L2)),
        (SHORTED, L1),
    ],
)
def test_without_coupling_the_rule_for_separate_inductors_comes_back(wiring: str, value: Any) -> None:
    """k = 0 in every connection."""
    assert limit_values(derive(wiring, dots="1a 2a"), words.UNCOUPLED_TITLE) == [value]


@pytest.mark.parametrize(
    ("wiring", "this", "other"),
    [
        (LINE_REVERSED, "series_opposing", "series_aiding"),
        ("1a 1b | 1a=2b 1b=2a", "parallel_opposing", "parallel_aiding"),
    ],
)
@pytest.mark.parametrize("dots", ["1a 2a", "1b 2b"])
def test_turning_a_winding_gives_the_other_connection(wiring: str, this: str, other: str, dots: str) -> None:
    """M -> -M is named and equals the closed form of the other connection."""
    derived = derive(wiring, dots=dots)
    step = next(step for step in derived.limits if step.title == words.TURNED_TITLE)
    names = {"this": labels.CONNECTION[this], "other": labels.CONNECTION[other]}
    assert step.sentence == words.TURNED.format(**names)
    assert cancel(step.equations[0].sides[-1] - CLOSED_FORMS[Connection(other)](L1, L2, M)) == 0


def test_a_short_circuit_test_cannot_find_the_dots() -> None:
    """Only M² occurs: said in words, without a formula."""
    step = next(step for step in derive(SHORTED, dots="1a 2a").limits if step.title == words.TURNED_TITLE)
    assert (step.sentence, step.equations) == (words.TURNED_SAME, ())


@pytest.mark.parametrize("wiring", CONDUCTING)
def test_wirings_without_mutual_inductance_say_so(wiring: Wiring) -> None:
    """Ten of the 22 that conduct return one winding and say nothing about M; the others say more."""
    derived = derive(wiring, dots="1a 2a")
    alone = derived.connection in (Connection.SELF_1, Connection.SELF_2)
    assert (derived.limits == (Step(words.SILENT_TITLE, words.SILENT),)) == alone
    assert derived.result.has(M) != alone


@pytest.mark.parametrize(("wiring", "S"), [(SIDE_BY_SIDE, "A"), ("1a 1b | 1a=2b 1b=2a", "B")])
def test_side_by_side_is_a_quarter_of_in_line(wiring: str, S: str) -> None:
    """P+ = (A/4)(1 - c²) and P- = (B/4)(1 - c²), derived."""
    c = Symbol("c")
    quarter = limit_values(derive(wiring, dots="1a 2a"), words.QUARTER_TITLE)[0]
    assert cancel(quarter - Symbol(S) * (1 - c**2) / 4) == 0


def test_stable_form_is_shown_where_it_is_stable() -> None:
    """P+ = m - B/4 - d²/(4B); the opposing wiring, whose denominator is large, does not claim one."""
    m, d, B = symbols("m d B")
    assert limit_values(derive(SIDE_BY_SIDE, dots="1a 2a"), words.STABLE_TITLE)[0] == m - B / 4 - d**2 / (
        4 * B
    )
    assert not limit_values(derive("1a 1b | 1a=2b 1b=2a", dots="1a 2a"), words.STABLE_TITLE)


def test_unknown_dots_keep_the_sign_of_m_open_and_show_both_cases() -> None:
    """No connection is claimed; both results stand side by side with what would make each true."""
    derived = derive(LINE_REVERSED)
    assert derived.connection is None
    assert derived.connections == (Connection.SERIES_OPPOSING, Connection.SERIES_AIDING)
    step = next(step for step in derived.limits if step.title == words.CASES_TITLE)
    assert [equation.sides[-1] for equation in step.equations] == [L1 + L2 - 2 * M, L1 + L2 + 2 * M]
    assert [equation.remark for equation in step.equations] == [words.IF_ALIKE, words.IF_UNLIKE]
    assert words.DOTS_UNKNOWN.strip() in str(derived).replace("\n", " ")


def test_unknown_dots_matter_only_where_the_sign_of_m_does() -> None:
    """A short-circuit test and a single winding are what they are wherever the dots sit."""
    assert derive(SHORTED).connection is Connection.SHORT_CIRCUIT_1
    assert derive("1a 1b").connection is Connection.SELF_1
    assert derive("1a 2a").connection is Connection.OPEN


@pytest.mark.parametrize(("dots", "sign"), [("1a 2a", 1), ("1b 2b", 1), ("1a 2b", -1), ("1b 2a", -1)])
def test_dots_set_the_sign_in_the_windings_equations(dots: str, sign: int) -> None:
    """Dots on ends of the same name add the mutual terms, on others subtract them."""
    derived = derive("1a 1b", dots=dots)
    step = next(step for step in derived.steps if step.title == words.WINDINGS_TITLE)
    di2 = derived.laws.rates[1]
    assert step.equations[0].sides[1].coeff(di2) == sign * M
    said = words.DOTS_ALIKE if sign > 0 else words.DOTS_UNLIKE
    assert step.sentence.endswith(said.format(dots=dots.replace(" ", " and ")))


def test_bad_wirings_and_dots_are_refused() -> None:
    """The notation's own errors come through, for windings that are not there too."""
    for arguments in (("1a 1c",), ("1a 3b",), ("1a 1b", 2, "1a"), ("1a 1b", 3, "1a 2a")):
        with pytest.raises(WiringError):
            derive(*arguments)


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


@pytest.mark.parametrize("dots", [None, "1a 2b"])
@pytest.mark.parametrize("wiring", WIRINGS)
def test_every_derivation_shows_itself_in_well_formed_markup(wiring: Wiring, dots: str | None) -> None:
    """Parses as XML (so no named entities), true minus signs only, nothing left of sympy's own notation."""
    derived = derive(wiring, dots=dots)
    page = ElementTree.fromstring(derived._repr_html_())
    signs = {element.text for element in page.iter() if element.tag.endswith("mo")}
    assert signs <= {"=", "+", "−", "\u2062", "(", ")"}
    formulas = [equation.text for step in derived.all_steps for equation in step.equations]
    assert len(page.findall("{http://www.w3.org/1998/Math/MathML}math")) == len(formulas)
    assert not set("".join(formulas)) & set("*-")
    assert "nan" not in str(derived)
    assert "zoo" not in str(derived)


def test_matrices_and_long_sums_show_themselves() -> None:
    """Four windings: matrices as tables, numerator and denominator in rows of six terms."""
    derived = derive("1a 1b | 1a=2a=3a=4a 1b=2b=3b=4b", 4)
    page = ElementTree.fromstring(derived._repr_html_())
    tables = [element for element in page.iter() if element.tag.endswith("mtable")]
    assert [len(table) for table in tables] == [4, 4, 4, 4, 3, 10]
    last = next(step for step in derived.steps if step.title == words.WRITTEN_TITLE)
    assert isinstance(last.equations[2].sides[1], Rows)
    assert len(last.equations[2].text.splitlines()) == 10
    assert len(re.split(" [+−] ", last.equations[1].text.replace("\n       ", ""))) == 17


def test_steps_stand_alone() -> None:
    """A face can reveal them one at a time; together they are the whole."""
    derived = derive(SIDE_BY_SIDE, dots="1a 2a")
    assert [step.title for step in derived.steps] == [
        words.CONNECTED_TITLE,
        words.CURRENTS_TITLE,
        words.WINDINGS_TITLE,
        words.VOLTAGES_TITLE,
        words.LOOP_TITLE,
        words.SHARES_TITLE,
        words.CLIPS_TITLE,
        words.RESULT_TITLE,
    ]
    for number, step in enumerate(derived.all_steps, start=1):
        assert step.sentence.split()[0] in str(step)
        assert f"{number} {step.title}" in derived._repr_html_()


@pytest.mark.parametrize(
    ("wiring", "lines"),
    [
        (
            SIDE_BY_SIDE,
            [
                "at 1a=2a:  i = i1 + i2",
                "i1 = i − i2",
                "v1 = L1 di1/dt + M di2/dt",
                "v2 = M di1/dt + L2 di2/dt",
                "v = v1",
                "v1 = v2",
                "L1 di1/dt + M di2/dt = M di1/dt + L2 di2/dt",
                "(M − L1) di/dt + (L1 + L2 − 2M) di2/dt = 0",
                "di1/dt = (L2 − M)/(L1 + L2 − 2M) di/dt",
                "di2/dt = (L1 − M)/(L1 + L2 − 2M) di/dt",
                "v = L1 di1/dt + M di2/dt = (L1·(L2 − M)/(L1 + L2 − 2M) + M·(L1 − M)/(L1 + L2 − 2M)) di/dt",
                "v = L_eq di/dt",
                "L_eq = (L1·L2 − M²)/(L1 + L2 − 2M)",
            ],
        ),
        (
            "2b 1b | 1a=2a",
            [
                "at 1a=2a:  i1 + i2 = 0",
                "at 2b:  i + i2 = 0",
                "i1 = i",
                "i2 = −i",
                "v1 = L1 di1/dt + M di2/dt",
                "v2 = M di1/dt + L2 di2/dt",
                "v = v1 − v2",
                "v = L1 di1/dt + M di2/dt − M di1/dt − L2 di2/dt = (L1 + L2 − 2M) di/dt",
                "v = L_eq di/dt",
                "L_eq = L1 + L2 − 2M",
            ],
        ),
        (
            SHORTED,
            [
                "at 1a:  i = i1",
                "v1 = L1 di1/dt + M di2/dt",
                "v2 = M di1/dt + L2 di2/dt",
                "v = v1",
                "v2 = 0",
                "M di1/dt + L2 di2/dt = 0",
                "M di/dt + L2 di2/dt = 0",
                "di1/dt = di/dt",
                "di2/dt = −M/L2 di/dt",
                "v = L1 di1/dt + M di2/dt = (L1 − M²/L2) di/dt",
                "v = L_eq di/dt",
                "L_eq = (L1·L2 − M²)/L2",
            ],
        ),
    ],
)
def test_a_class_reads_these_lines(wiring: str, lines: list[str]) -> None:
    """Each law once, no line twice, the unknown with a positive coefficient, in the order of a blackboard."""
    derived = derive(wiring, dots="1a 2a")
    assert [equation.text for step in derived.steps for equation in step.equations] == lines


def test_filled_formulas_keep_the_order_of_the_symbols() -> None:
    """Figures are put in where they stand, not sorted anew."""
    from labkit.theory.mathml import to_text

    figures = {"L1": "9 mH", "L2": "10 mH", "M": "1 mH"}
    filled = Filled(L1 + L2 - 2 * M, figures)
    assert to_text(filled.expression, filled.figures) == "9 mH + 10 mH − 2(1 mH)"


def test_the_same_text_in_every_run() -> None:
    """Two processes with different hash seeds print the same derivations, byte for byte."""
    program = (
        "from labkit.theory.derivation import derive\n"
        f"for dots in (None, '1a 2b'): print(derive('{SIDE_BY_SIDE}', dots=dots)._repr_html_())\n"
        "print(derive('1a 1b | 1a=2a=3a 1b=2b=3b', 3), derive('1a 2b | 1b=2a 3a=3b', 3))\n"
    )
    texts = {
        subprocess.run(
            [sys.executable, "-c", program],
            env=os.environ | {"PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(texts) == 1
    assert len(texts.pop()) > 10_000


def test_a_pair_is_derived_fast_enough_for_a_lesson() -> None:
    """Below 0.2 s a wiring, the slowest of all 31 included (best of three, on a shared machine)."""
    for wiring in WIRINGS:
        times = []
        for _ in range(3):
            start = time.perf_counter()
            derive(wiring, dots="1a 2a")
            times.append(time.perf_counter() - start)
        assert min(times) < 0.2
