"""What a pair's result becomes in special cases: no coupling, full coupling, one winding turned round.

Symbols: n = sqrt(L2/L1) · k coupling coefficient · m = (L1+L2)/2 · d = L1-L2 · A = L1+L2+2M · B = L1+L2-2M ·
c = d/sqrt(A B) · s with d = s sqrt(B m), the way on which the windings become equal while k goes to 1.
"""

from sympy import Integer, cancel, expand, factor, factor_terms, fraction, sqrt, symbols

from labkit.theory.laws import Laws
from labkit.theory.mathml import Expression
from labkit.theory.network import identify
from labkit.theory.pair_steps import L_EQ, over, tidy
from labkit.theory.steps import Equation, Step
from labkit.theory.wiring import Connection, Terminal
from labkit.words import derivation as words
from labkit.words import labels

PAIR = L1, L2, M = symbols("L1 L2 M")
A, B, m, d = symbols("A B m d")
c, k, n, s = symbols("c k n s")


def possible_connections(laws: Laws) -> tuple[Connection, ...]:
    """What the wiring of a pair amounts to: one connection, or two if the unknown dots decide."""
    like, unlike = (Terminal(1, "a"), Terminal(2, "a")), (Terminal(1, "a"), Terminal(2, "b"))
    known = (laws.dots,) if laws.dots is not None else (like, unlike)
    return tuple(dict.fromkeys(identify(laws.wiring, dots) for dots in known))


def limits(laws: Laws, result: Expression) -> tuple[Step, ...]:
    """The special cases of a pair's result, each computed from it."""
    if not result.has(M):
        return (Step(words.SILENT_TITLE, words.SILENT),)
    cases = {"": result}
    if len(possible_connections(laws)) > 1:
        cases = {words.IF_ALIKE: result, words.IF_UNLIKE: result.subs(M, -M)}
    steps = [_uncoupled(result), _turned(laws, result) if len(cases) == 1 else _both(laws, cases)]
    for remark, case in cases.items():
        steps += [*_without_large_differences(case, remark), _full_coupling(case, remark)]
    return tuple(steps)


def _in_case(remark: str, sentence: str) -> str:
    return words.IN_CASE.format(remark=remark, sentence=sentence) if remark else sentence


def _uncoupled(result: Expression) -> Step:
    return Step(words.UNCOUPLED_TITLE, words.UNCOUPLED, (Equation((L_EQ, tidy(result.subs(M, 0)))),))


def _turned(laws: Laws, result: Expression) -> Step:
    other = tidy(result.subs(M, -M))
    if other == result:
        return Step(words.TURNED_TITLE, words.TURNED_SAME)
    this = possible_connections(laws)[0]
    assert laws.dots is not None  # unknown dots leave two cases, which `_both` shows
    dot1, dot2 = laws.dots
    turned = dot1, dot2._replace(end="b" if dot2.end == "a" else "a")
    names = {"this": labels.CONNECTION[this], "other": labels.CONNECTION[identify(laws.wiring, turned)]}
    return Step(words.TURNED_TITLE, words.TURNED.format(**names), (Equation((L_EQ, other)),))


def _both(laws: Laws, cases: dict[str, Expression]) -> Step:
    alike, unlike = (labels.CONNECTION[connection] for connection in possible_connections(laws))
    equations = tuple(Equation((L_EQ, case), remark) for remark, case in cases.items())
    return Step(words.CASES_TITLE, words.CASES.format(alike=alike, unlike=unlike), equations)


def _without_large_differences(case: Expression, remark: str) -> tuple[Step, ...]:
    """A result with a denominator: in m, d and B if that is B, and as a quarter of a series inductance."""
    denominator = fraction(case)[1]
    if not denominator.has(M):
        return ()
    steps = [_quarter(case, remark)]
    if denominator == L1 + L2 - 2 * M:
        halves = expand(cancel(case.subs({L1: m + d / 2, L2: m - d / 2, M: m - B / 2})))
        equations = ((L_EQ, halves), (m, over(L1 + L2, Integer(2))), (d, L1 - L2), (B, denominator))
        steps.insert(
            0,
            Step(
                words.STABLE_TITLE,
                _in_case(remark, words.STABLE),
                tuple(Equation(sides) for sides in equations),
            ),
        )
    return tuple(steps)


def _quarter(case: Expression, remark: str) -> Step:
    half_sum, half_difference = (A + B) / 4, c * sqrt(A * B) / 2
    in_series = {L1: half_sum + half_difference, L2: half_sum - half_difference, M: (A - B) / 4}
    quarter = factor_terms(cancel(case.subs(in_series)))
    equations = (L_EQ, quarter), (A, L1 + L2 + 2 * M), (B, L1 + L2 - 2 * M), (c, (L1 - L2) / sqrt(A * B))
    return Step(
        words.QUARTER_TITLE, _in_case(remark, words.QUARTER), tuple(Equation(sides) for sides in equations)
    )


def _full_coupling(case: Expression, remark: str) -> Step:
    if cancel(case - case.subs(M, -M)) == 0:
        return _at_one(words.FULL_SQUARE, remark, _factored(case.subs(M, k * sqrt(L1 * L2))))
    general = _factored(case.subs({L2: n**2 * L1, M: k * n * L1}))
    if fraction(general)[1].subs({k: 1, n: 1}) == 0:
        return _on_the_way(case, general, remark)
    return _at_one(words.FULL_TURNS, remark, general)


def _factored(quotient: Expression) -> Expression:
    numerator, denominator = fraction(cancel(quotient))
    if denominator.could_extract_minus_sign():
        numerator, denominator = expand(-numerator), expand(-denominator)
    return factor_terms(numerator) / denominator


def _at_one(sentence: str, remark: str, general: Expression) -> Step:
    full = factor(general.subs(k, 1))
    equations = (Equation((L_EQ, general), words.IN_GENERAL), Equation((L_EQ, full), words.AT_ONE))
    sentence += words.FULL_NOTHING if full == 0 else ""
    return Step(words.FULL_TITLE, _in_case(remark, sentence), equations)


def _on_the_way(case: Expression, general: Expression, remark: str) -> Step:
    """0/0: the limit along three ways."""
    equal = factor(cancel(general.subs(n, 1)))
    unequal = cancel(general.subs(k, 1))
    halves = case.subs({L1: m + d / 2, L2: m - d / 2, M: m - B / 2}).subs(d, s * sqrt(B * m))
    way = factor_terms(cancel(halves).subs(B, Integer(0)))
    equations = (
        Equation((L_EQ, general), words.IN_GENERAL),
        Equation((L_EQ, equal), words.EQUAL_ANY),
        Equation((L_EQ, equal.subs(k, 1)), words.EQUAL),
        Equation((L_EQ, unequal), words.UNEQUAL),
        Equation((L_EQ, way), words.ON_PATH),
    )
    return Step(words.PATH_TITLE, _in_case(remark, words.FULL_TURNS + words.PATH), equations)
