"""Derivations: equal to the forward model and to every closed form, and true at every step.

Equality of formulas is proven by cancelling symbols for pairs and at exact random rational points beyond.
All figures are computed for these tests; the parts are invented.
"""

import random
from fractions import Fraction
from typing import Any

import pytest
from sympy import Matrix, Rational, Symbol, cancel, oo, simplify, symbols

from labkit.errors import WiringError
from labkit.theory.derivation import Derivation, derive
from labkit.theory.laws import Laws
from labkit.theory.network import input_inductance, path_and_loops
from labkit.theory.pair import CLOSED_FORMS, STABLE_FORMS, Pair
from labkit.theory.wiring import Connection, Wiring, all_wirings, parse_dots, standard_wiring
from labkit.words import theory as words

L1, L2, M, L_eq = symbols("L1 L2 M L_eq")
WIRINGS = list(all_wirings())
CONDUCTING = [wiring for wiring in WIRINGS if path_and_loops(wiring) is not None]
DOTS = ("1a 2a", "1a 2b", "1b 2a", "1b 2b")
SIDE_BY_SIDE = "1a 1b | 1a=2a 1b=2b"
LINE_REVERSED = "1a 2a | 1b=2b"
SHORTED = "1a 1b | 2a=2b"


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
