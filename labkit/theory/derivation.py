"""From the laws to the formula, in steps: what a wiring's inductance is and why.

The steps are computed, not recited: the node law and the loop law of the wiring, the windings' equations
v1 = L1 di1/dt + M di2/dt, solved by sympy. `labkit.theory.network` plays no part in the result, which is what
makes their agreement a proof. One or two windings are done symbol by symbol, more in matrix form.
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any

from sympy import Integer, Rational, Symbol, cancel, expand, factor, factor_terms, fraction, sqrt, symbols

from labkit.errors import EntryError
from labkit.quantity import Quantity, display, parse
from labkit.show import Heading, Part, Shown, Text
from labkit.theory import derivation_steps as matrix_steps
from labkit.theory.derivation_steps import L_EQ, Equation, Filled, MatrixForm, Step, over, tidy
from labkit.theory.formula_text import Expression
from labkit.theory.laws import Laws, dotted_ends
from labkit.theory.network import identify
from labkit.theory.number import nominal
from labkit.theory.wiring import Connection, Terminal, Wiring
from labkit.words import labels
from labkit.words import theory as words

# What a pair's result becomes in special cases: no coupling, full coupling, one winding turned round.
#
# Symbols: n = sqrt(L2/L1) · k coupling coefficient · m = (L1+L2)/2 · d = L1-L2 · A = L1+L2+2M · B =
# L1+L2-2M · c = d/sqrt(A B) · s with d = s sqrt(B m), the way on which the windings become equal while k
# goes to 1.

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


__all__ = ["Derivation", "Equation", "Step", "derive"]

_DIGITS = 6  # of an outcome, which no uncertainty rounds


@dataclass(frozen=True)
class Derivation(Shown):
    """A wiring's equivalent inductance, derived.

    Attributes
    ----------
    laws : the equations that everything is derived from
    connections : what the wiring of a pair amounts to; two if unknown dots decide; empty for no pair
    result : sympy expression in L1, L2, M (L1, M12, ... for more windings), in H; infinity for an open
        circuit; None where writing it out would take too many terms
    steps : from what is connected to the equivalent inductance
    limits : what becomes of it in special cases
    """

    laws: Laws
    connections: tuple[Connection, ...]
    result: Expression
    steps: tuple[Step, ...]
    limits: tuple[Step, ...]

    @property
    def wiring(self) -> Wiring:
        """The wiring as it was given."""
        return self.laws.wiring

    @property
    def windings(self) -> int:
        """How many windings the part has."""
        return self.laws.windings

    @property
    def dots(self) -> tuple[Terminal, ...] | None:
        """The dotted end of each winding; None if they are not known."""
        return self.laws.dots

    @property
    def connection(self) -> Connection | None:
        """What the wiring of a pair amounts to; None if unknown dots decide, or for no pair."""
        return self.connections[0] if len(self.connections) == 1 else None

    @property
    def all_steps(self) -> tuple[Step, ...]:
        """Steps and limits, in reading order."""
        return (*self.steps, *self.limits)

    def parts(self) -> tuple[Part, ...]:
        """Every step with its number."""
        shown: list[Part] = [Heading(words.TITLE), Text(str(self.wiring), "strong")]
        for number, step in enumerate(self.all_steps, start=1):
            shown += [Heading(f"{number} {step.title}"), *step.parts()[1:]]
        return tuple(shown)

    def substitute(self, **figures: Any) -> Step:
        """The last step with figures in the place of symbols.

        Parameters
        ----------
        figures : one for each symbol of the formula, `L1=...`: a number in H, a text such as `25.0 µH`, or
            a Quantity. Figures are put in as they are shown, without rounding in between.

        Returns
        -------
        Step
            If the figures make it 0/0 the sentence says so and no number is given.

        Raises
        ------
        EntryError
            for missing, unknown or unreadable figures.

        Examples
        --------
        >>> in_line = derive("1a 2a | 1b=2b", dots="1a 2a")
        >>> print(in_line.substitute(L1="10.00 mH", L2="9.96 mH", M="9.9675 mH"))
        With figures
        ============
        <BLANKLINE>
        The figures in the place of the symbols.
        <BLANKLINE>
            L_eq = L1 + L2 − 2M = 10.00 mH + 9.96 mH − 2(9.9675 mH) = 25.0000 µH
        """
        needed = self._needed(figures)
        shown = {name: _figure(name, figures[name]) for name in needed}
        values = {Symbol(name): exact for name, (_, exact) in shown.items()}
        numerator, denominator = self._fraction(values)
        if denominator == 0:
            return Step(
                words.FIGURES_TITLE, words.FIGURES_NOWHERE if numerator == 0 else words.FIGURES_INFINITE
            )
        outcome = display(float(numerator / denominator), significant_digits=_DIGITS)
        texts = {name: text for name, (text, _) in shown.items()}
        middle = (self.result, Filled(self.result, texts)) if self.windings <= 2 and needed else ()
        return Step(words.FIGURES_TITLE, self._remark(values), (Equation((L_EQ, *middle, outcome)),))

    def _needed(self, figures: dict[str, Any]) -> list[str]:
        """Names that the formula needs, if figures for all of them and for nothing foreign were given."""
        possible = {str(symbol) for symbol in self.laws.inductances.free_symbols}
        needed = possible if self.result is None else {str(symbol) for symbol in self.result.free_symbols}
        if not needed <= set(figures) <= possible:
            given, needs = (", ".join(sorted(names)) or words.NO_FIGURES for names in (figures, needed))
            raise EntryError(words.FIGURES_NAMES.format(given=given, needed=needs), given)
        return sorted(needed)

    def _fraction(self, values: dict[Symbol, Expression]) -> tuple[Expression, Expression]:
        if self.result is None:
            return MatrixForm.of(self.laws).solve(self.laws.inductances.subs(values))
        numerator, denominator = fraction(self.result)
        return numerator.subs(values), denominator.subs(values)

    def _remark(self, values: dict[Symbol, Expression]) -> str:
        if not values:
            return words.FIGURES_NONE
        if self.windings != 2 or not values.keys() >= set(PAIR):
            return words.FIGURES
        L1, L2, M = (values[symbol] for symbol in PAIR)
        if M**2 <= L1 * L2:
            return words.FIGURES
        k = M / sqrt(L1 * L2)
        return words.FIGURES_NOT_PASSIVE.format(k=f"{float(k):.6g}".replace("-", "\N{MINUS SIGN}"))


def derive(
    wiring: str | Wiring, windings: int = 2, dots: str | tuple[Terminal, ...] | None = None
) -> Derivation:
    """Derivation of a wiring's equivalent inductance from the windings' equations, step by step.

    Parameters
    ----------
    wiring : str or Wiring, such as `1a 2a | 1b=2b`
    windings : int, how many windings the part has
    dots : dotted end of each winding, such as `1a 2a`; None if not known, then M keeps its own sign.

    Returns
    -------
    Derivation
        Shows itself in a notebook and in a terminal.

    Raises
    ------
    WiringError
        if wiring or dots cannot be read or name a winding that the part does not have.

    Notes
    -----
    Lossless windings without capacitance. Up to five unknowns are solved in symbols; beyond that the matrix
    form is the result.

    Examples
    --------
    >>> derive("1a 1b | 1a=2a 1b=2b", dots="1a 2a").result
    (L1*L2 - M**2)/(L1 + L2 - 2*M)
    """
    wiring = Wiring.parse(wiring)
    wiring.nodes(windings)  # refuses a winding that the part does not have
    return _derived(wiring, windings, dots)


@lru_cache(maxsize=64)  # a lesson asks for the same few again and again, and a report for all of them
def _derived(wiring: Wiring, windings: int, dots: str | tuple[Terminal, ...] | None) -> Derivation:
    laws = Laws(wiring, windings, dotted_ends(dots, windings))
    connections = possible_connections(laws) if windings == 2 else ()
    connected = matrix_steps.connected(laws)
    if laws.path is None or laws.on_one_node:
        result, last = matrix_steps.conclusion(laws)
        return Derivation(laws, connections, result, (*connected, last), ())
    if windings > 2:
        return _in_matrices(laws, connected)
    result, steps = matrix_steps.solved(laws)
    middle = (matrix_steps.what_windings_do(laws), matrix_steps.round_the_loops(laws))
    special = limits(laws, result) if windings == 2 else ()
    return Derivation(laws, connections, result, (*connected, *middle, *steps), special)


def _in_matrices(laws: Laws, connected: tuple[Step, ...]) -> Derivation:
    found, steps = matrix_steps.solved_matrix(laws)
    middle = (matrix_steps.what_the_matrix_says(laws), matrix_steps.round_the_loops(laws))
    result = None if found is None else found[0] / found[1]
    return Derivation(laws, (), result, (*connected, *middle, *steps), matrix_steps.limits(laws))


def _figure(name: str, given: Any) -> tuple[str, Expression]:
    """The text to show for a figure and its exact value in H."""
    if isinstance(given, str):
        given = parse(given)
    if isinstance(given, Quantity):
        return str(given), Rational(str(given.exact))
    value = float(nominal(given))
    if not math.isfinite(value):
        raise EntryError(words.FIGURES_KIND.format(given=given, name=name), str(given))
    exact = Decimal(repr(value))
    digits = max(4, len(exact.normalize().as_tuple().digits))  # four is what `display` shows by itself
    return display(value, significant_digits=digits), Rational(str(exact))
