"""From the laws to the formula, in steps: what a wiring's inductance is and why.

The steps are computed, not recited: the node law and the loop law of the wiring, the windings' equations
v1 = L1 di1/dt + M di2/dt, solved by sympy. `labkit.theory.network` plays no part in the result, which is what
makes their agreement a proof. One or two windings are done symbol by symbol, more in matrix form.

sympy takes 35 MB and half a second. So what it gave for the usual wirings of a pair is kept, as shown, in
`derivations.json`, which a test holds equal to sympy; sympy loads for everything else. After a change of the
steps or their words `python -m tests.make_data.derivations` writes the file anew.
"""

import json
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property, lru_cache
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from labkit.errors import EntryError
from labkit.quantity import Quantity, display, parse
from labkit.show import Formula, Heading, Part, Shown, Text
from labkit.theory.network import identify
from labkit.theory.number import Expression, Figures, nominal
from labkit.theory.wiring import Connection, Terminal, Wiring, dotted_ends
from labkit.words import theory as words

if TYPE_CHECKING:
    from labkit.theory.derivation_steps import Solved
    from labkit.theory.laws import Laws

__all__ = ["Derivation", "Equation", "Step", "derive"]

_DIGITS = 6  # of an outcome, which no uncertainty rounds


# A step of a derivation: what is done, in a sentence or two, and the equations that come of it.


@dataclass(frozen=True)
class Filled:
    """An expression shown with figures in the place of its symbols, in the order of the symbols."""

    expression: Expression
    figures: Figures


@dataclass(frozen=True)
class Rows:
    """A sum too long for one line, shown with `length` terms to a row."""

    total: Expression
    length: int = 6


Side: TypeAlias = Any  # a sympy expression, `Filled`, `Rows`, a `Formula`, or text such as `9.95775 mH`


@dataclass(frozen=True)
class Equation:
    """Two or more `sides` that are equal, with a remark in front such as `at 1b=2b`."""

    sides: tuple[Side, ...]
    remark: str = ""

    @property
    def text(self) -> str:
        """The equation in one line of plain text."""
        return (f"{self.remark}:  " if self.remark else "") + " = ".join(map(_side_text, self.sides))

    @property
    def mathml(self) -> str:
        """Presentation MathML without the outer `math` element."""
        remark = f'<mtext>{escape(self.remark)}:</mtext><mspace width="1em"/>' if self.remark else ""
        return f"<mrow>{remark}{'<mo>=</mo>'.join(map(_side_mathml, self.sides))}</mrow>"

    def printed(self) -> "Equation":
        """The same with each side as it is shown, which needs sympy no more."""
        sides = tuple(Formula(_side_mathml(side), _side_text(side)) for side in self.sides)
        return Equation(sides, self.remark)

    def formula(self) -> Formula:
        """The equation as a part that a face can lay out."""
        return Formula(self.mathml, self.text)


@dataclass(frozen=True)
class Step(Shown):
    """One step: a short title, what is done and why, and the equations."""

    title: str
    sentence: str
    equations: tuple[Equation, ...] = ()

    def parts(self) -> tuple[Part, ...]:
        """Title, sentence, equations."""
        return (
            Heading(self.title),
            Text(self.sentence),
            *(equation.formula() for equation in self.equations),
        )


def _side_text(side: Side) -> str:
    if isinstance(side, str | Formula):
        return side if isinstance(side, str) else side.text
    from labkit.theory.formula_text import to_text

    match side:
        case Filled():
            return to_text(side.expression, side.figures)
        case Rows():
            return "\n        ".join(_rows(side, _spaced, "+ "))
    return to_text(side)


def _side_mathml(side: Side) -> str:
    if isinstance(side, str | Formula):
        return f"<mtext>{escape(side)}</mtext>" if isinstance(side, str) else side.mathml
    from labkit.theory.formula_text import to_mathml

    match side:
        case Filled():
            return to_mathml(side.expression, side.figures)
        case Rows():
            rows = _rows(side, to_mathml, "<mo>+</mo>")
            cells = (f'<mtr><mtd style="text-align: left">{row}</mtd></mtr>' for row in rows)
            return f'<mtable displaystyle="true">{"".join(cells)}</mtable>'
    return to_mathml(side)


def _spaced(row: Expression) -> str:
    from labkit.theory.formula_text import MINUS, to_text

    return re.sub(f"^{MINUS}", f"{MINUS} ", to_text(row))


def _rows(side: Rows, printed: Callable[[Expression], str], plus: str) -> list[str]:
    """Each row printed, with the plus sign that joins it to the row above."""
    from labkit.theory.formula_text import MINUS, in_rows, to_text

    rows = in_rows(side.total, side.length)
    texts = [(to_text(row).startswith(MINUS), printed(row)) for row in rows]
    return [text if place == 0 or negative else plus + text for place, (negative, text) in enumerate(texts)]


@dataclass(frozen=True)
class Derivation(Shown):
    """A wiring's equivalent inductance, derived. Whatever is asked of it is worked out once, when asked.

    Attributes
    ----------
    wiring : as it was given
    windings : how many windings the part has
    dots : the dotted end of each winding; None if they are not known
    """

    wiring: Wiring
    windings: int
    dots: tuple[Terminal, ...] | None

    @cached_property
    def connections(self) -> tuple[Connection, ...]:
        """What the wiring of a pair amounts to; two if unknown dots decide; empty for no pair."""
        return possible_connections(self.wiring, self.dots) if self.windings == 2 else ()

    @property
    def connection(self) -> Connection | None:
        """What the wiring of a pair amounts to; None if unknown dots decide, or for no pair."""
        return self.connections[0] if len(self.connections) == 1 else None

    @cached_property
    def _solved(self) -> "Solved":
        from labkit.theory.derivation_steps import solve

        return solve(self.wiring, self.windings, self.dots)

    @property
    def laws(self) -> "Laws":
        """The equations that everything is derived from."""
        return self._solved.laws

    @property
    def result(self) -> Expression:
        """sympy expression in L1, L2, M (L1, M12, ... for more windings), in H.

        Infinity for an open circuit; None where writing it out would take too many terms.
        """
        return self._solved.result

    @property
    def steps(self) -> tuple[Step, ...]:
        """From what is connected to the equivalent inductance, as sympy gives it."""
        return self._solved.steps

    @property
    def limits(self) -> tuple[Step, ...]:
        """What becomes of it in special cases, as sympy gives it."""
        return self._solved.limits

    @property
    def key(self) -> str:
        """What its kept steps are found by."""
        dots = "-" if self.dots is None else " ".join(map(str, self.dots))
        return f"{self.wiring}; {dots}"

    @cached_property
    def all_steps(self) -> tuple[Step, ...]:
        """Steps and limits, in reading order, to be shown: kept ones for a usual wiring."""
        kept = _kept().get(self.key) if self.windings == 2 else None
        return (*self.steps, *self.limits) if kept is None else tuple(map(_read, kept))

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
        from sympy import Symbol

        from labkit.theory.derivation_steps import L_EQ

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

    def _fraction(self, values: dict[Expression, Expression]) -> tuple[Expression, Expression]:
        from sympy import fraction

        from labkit.theory.derivation_steps import MatrixForm

        if self.result is None:
            return MatrixForm.of(self.laws).solve(self.laws.inductances.subs(values))
        numerator, denominator = fraction(self.result)
        return numerator.subs(values), denominator.subs(values)

    def _remark(self, values: dict[Expression, Expression]) -> str:
        from sympy import sqrt

        from labkit.theory.derivation_steps import PAIR

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
    return _derived(wiring, windings, dotted_ends(dots, windings))


@lru_cache(maxsize=64)  # a lesson asks for the same few again and again, and a report for all of them
def _derived(wiring: Wiring, windings: int, dots: tuple[Terminal, ...] | None) -> Derivation:
    return Derivation(wiring, windings, dots)


def possible_connections(wiring: Wiring, dots: tuple[Terminal, ...] | None) -> tuple[Connection, ...]:
    """What the wiring of a pair amounts to: one connection, or two if the unknown dots decide."""
    like, unlike = (Terminal(1, "a"), Terminal(2, "a")), (Terminal(1, "a"), Terminal(2, "b"))
    known = (like, unlike) if dots is None else (dots,)
    return tuple(dict.fromkeys(identify(wiring, each) for each in known))


def _figure(name: str, given: Any) -> tuple[str, Expression]:
    """The text to show for a figure and its exact value in H."""
    from sympy import Rational

    if isinstance(given, str):
        given = parse(given)
    if isinstance(given, Quantity):
        return str(given), Rational(str(given.exact))
    value = float(nominal(given))
    if not math.isfinite(value):
        raise EntryError(
            f"{given} was given for {name}, but a figure is a finite number in H or a text such as 25.0 µH.",
            str(given),
        )
    exact = Decimal(repr(value))
    digits = max(4, len(exact.normalize().as_tuple().digits))  # four is what `display` shows by itself
    return display(value, significant_digits=digits), Rational(str(exact))


# The shown steps of the usual wirings, as they are kept: title, sentence, equations; of an equation its
# remark and its sides; of a side MathML and text.

Kept = list[Any]


@lru_cache(maxsize=1)
def _kept() -> dict[str, list[Kept]]:
    kept: dict[str, list[Kept]] = json.loads(KEPT.read_text("utf-8"))
    return kept


KEPT = Path(__file__).with_name("derivations.json")


def _read(kept: Kept) -> Step:
    title, sentence, equations = kept
    return Step(
        title,
        sentence,
        tuple(
            Equation(tuple(Formula(mathml, text) for mathml, text in sides), remark)
            for remark, sides in equations
        ),
    )
