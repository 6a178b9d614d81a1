"""Special cases of a pair's derivation: no coupling, full coupling, one winding turned round."""

from typing import Any

import pytest
from sympy import Symbol, cancel, factor, symbols

from labkit.theory.derivation import Derivation, Step, derive
from labkit.theory.network import path_and_loops
from labkit.theory.pair import CLOSED_FORMS
from labkit.theory.wiring import Connection, Wiring, all_wirings
from labkit.words import labels
from labkit.words import theory as words

L1, L2, M = symbols("L1 L2 M")
WIRINGS = list(all_wirings())
CONDUCTING = [wiring for wiring in WIRINGS if path_and_loops(wiring) is not None]
SIDE_BY_SIDE = "1a 1b | 1a=2a 1b=2b"
LINE_REVERSED = "1a 2a | 1b=2b"
SHORTED = "1a 1b | 2a=2b"


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
