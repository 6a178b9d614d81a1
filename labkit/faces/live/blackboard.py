"""A derivation to step through in front of a class: any wiring, and at the end the figures of a bench.

The steps go to the browser in one piece, so that stepping waits for nothing.
"""

from functools import lru_cache
from typing import Any

from sympy import Add, Expr, Symbol, fraction

from labkit.analysis.analysis import analyse
from labkit.analysis.worked import figured
from labkit.bench.bench import Bench
from labkit.theory.derivation import Derivation, derive
from labkit.theory.mathml import Expression
from labkit.theory.pair_steps import L_EQ
from labkit.theory.steps import Equation, Rows, Step
from labkit.theory.wiring import Terminal, Wiring
from labkit.words import derivation as derivation_words

Page = dict[str, Any]
LINE = 12  # terms of a fraction that still fit into one line on a board


def pages(
    wiring: Wiring, dots: tuple[Terminal, ...] | None, windings: int, bench: Bench | None = None
) -> dict[str, Any]:
    """The derivation as the browser shows it.

    Returns
    -------
    dict: `formula` (MathML of the result, and the same as text), `steps` (title, sentence, formulas), and
    `figures`, the number of the first step with figures, None if there is none.
    """
    derivation = _derived(wiring, dots, windings)
    steps = _told(wiring, dots, windings)
    figures = figured(derivation, analyse(bench)) if bench else ()
    formula = final(derivation).formula()
    return {
        "formula": {"html": formula.html(), "text": formula.text},
        "steps": [*steps, *map(_page, figures)],
        "figures": len(steps) if figures else None,
    }


def final(derivation: Derivation) -> Equation:
    """The result of a derivation: written out if it fits into a line, else in matrix form."""
    if derivation.result is not None and _terms(derivation.result) <= LINE:
        return Equation((L_EQ, derivation.result))
    step = next(s for s in derivation.steps if s.title == derivation_words.RESULT_TITLE)
    return step.equations[-1]


@lru_cache(maxsize=128)
def _derived(wiring: Wiring, dots: tuple[Terminal, ...] | None, windings: int) -> Derivation:
    return derive(wiring, windings, dots)


@lru_cache(maxsize=128)
def _told(wiring: Wiring, dots: tuple[Terminal, ...] | None, windings: int) -> tuple[Page, ...]:
    return tuple(map(_page, _derived(wiring, dots, windings).all_steps))


def _page(step: Step) -> Page:
    lines = [line for equation in step.equations for line in _in_lines(equation)]
    formulas = [line.formula().html() for line in lines]
    return {"title": step.title, "sentence": step.sentence, "formulas": formulas}


def _in_lines(equation: Equation) -> tuple[Equation, ...]:
    """A fraction too long for a board as N/D, with N and D in rows of their own."""
    left, right = equation.sides[0], equation.sides[-1]
    if left != L_EQ or not isinstance(right, Expr) or _terms(right) <= LINE:
        return (equation,)
    N, D = Symbol("N"), Symbol("D")
    numerator, denominator = fraction(right)
    rows = Equation((N, Rows(numerator, LINE // 2))), Equation((D, Rows(denominator, LINE // 2)))
    return (Equation((L_EQ, N / D), equation.remark), *rows)


def _terms(quotient: Expression) -> int:
    """How many terms a fraction has above and below its line."""
    return sum(len(Add.make_args(part)) for part in fraction(quotient))
