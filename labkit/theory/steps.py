"""A step of a derivation: what is done, in a sentence or two, and the equations that come of it."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from typing import Any, TypeAlias

from labkit.show import Formula, Heading, Part, Shown, Text
from labkit.theory.mathml import MINUS, Expression, Figures, in_rows, to_mathml, to_text


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


Side: TypeAlias = Any  # a sympy expression, `Filled`, `Rows`, or text such as `9.95775 mH`


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
    match side:
        case str():
            return side
        case Filled():
            return to_text(side.expression, side.figures)
        case Rows():
            return "\n        ".join(_rows(side, _spaced, "+ "))
    return to_text(side)


def _side_mathml(side: Side) -> str:
    match side:
        case str():
            return f"<mtext>{escape(side)}</mtext>"
        case Filled():
            return to_mathml(side.expression, side.figures)
        case Rows():
            rows = _rows(side, to_mathml, "<mo>+</mo>")
            cells = (f'<mtr><mtd style="text-align: left">{row}</mtd></mtr>' for row in rows)
            return f'<mtable displaystyle="true">{"".join(cells)}</mtable>'
    return to_mathml(side)


def _spaced(row: Expression) -> str:
    return re.sub(f"^{MINUS}", f"{MINUS} ", to_text(row))


def _rows(side: Rows, printed: Callable[[Expression], str], plus: str) -> list[str]:
    """Each row printed, with the plus sign that joins it to the row above."""
    rows = in_rows(side.total, side.length)
    texts = [(to_text(row).startswith(MINUS), printed(row)) for row in rows]
    return [text if place == 0 or negative else plus + text for place, (negative, text) in enumerate(texts)]
