"""Formulas as presentation MathML and as one line of plain text, from one sympy expression.

sympy's own printers do the work. What is added here is what a blackboard shows: positive terms first,
di₁/dt beside its factor instead of inside a fraction, upright numbers as subscripts, bold matrices, a true
minus sign, and figures in the place of symbols. The output depends on nothing but the expression.

Symbol names: one letter, then the subscript (`L1`, `M12`, `M1_12`, `L_eq`). `Rate("i1")` is di₁/dt.
"""

import re
import unicodedata
from html import escape
from typing import ClassVar
from xml.dom.minidom import Element

from sympy import Add, Mul, Symbol
from sympy.matrices.expressions import Inverse, MatMul, MatrixSymbol, Transpose
from sympy.printing.mathml import MathMLPresentationPrinter
from sympy.printing.precedence import PRECEDENCE
from sympy.printing.str import StrPrinter

from labkit.theory.number import Expression, Figures

TIMES = "\N{INVISIBLE TIMES}"
MINUS = "\N{MINUS SIGN}"
_SUPERSCRIPT = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")


class Rate(Symbol):  # type: ignore[misc]
    """How fast a current changes: `Rate("i1")` is di₁/dt, in A/s."""

    precedence: ClassVar[int] = PRECEDENCE["Mul"]


class MatrixRate(MatrixSymbol):  # type: ignore[misc]
    """How fast a vector of currents changes: `MatrixRate("i", 3, 1)` is d𝐢/dt, in A/s."""


def to_mathml(expression: Expression, figures: Figures | None = None) -> str:
    """Presentation MathML of an expression, without the outer `math` element.

    >>> from sympy.abc import M
    >>> to_mathml(-M)
    '<mrow><mo>−</mo><mi>M</mi></mrow>'
    """
    printed: str = _MathML(figures or {})._print(expression).toxml()
    return printed.replace("&InvisibleTimes;", TIMES).replace("<mo>-</mo>", f"<mo>{MINUS}</mo>")


def to_text(expression: Expression, figures: Figures | None = None) -> str:
    """The expression in one line for terminals and screen readers.

    >>> from sympy.abc import B, d, m
    >>> to_text(m - B / 4 - d**2 / (4 * B))
    'm − B/4 − d²/(4B)'
    """
    text: str = _Text(figures or {}).doprint(expression)
    text = re.sub(r"\*\*(\d+)", lambda power: power[1].translate(_SUPERSCRIPT), text)
    text = re.sub(r"(?<![\w.])(\d+)\*(?=[A-Za-z(√])", r"\1", text)
    return text.replace("*", "·").replace("-", MINUS)


def in_rows(total: Expression, length: int) -> list[Expression]:
    """The terms of a long sum in the order in which they are shown, `length` to a row."""
    terms = _Text({})._as_ordered_terms(total)
    return [Add(*terms[start : start + length]) for start in range(0, len(terms), length)]


class _Blackboard:
    """What both printers share: the order of terms, and rates kept out of fractions."""

    figures: Figures

    def _as_ordered_terms(self, expression: Add, order: str | None = None) -> list[Expression]:
        terms = super()._as_ordered_terms(expression, order=order)  # type: ignore[misc]
        return sorted(terms, key=lambda term: bool(term.could_extract_minus_sign()))


def _bold(letter: str) -> str:
    return unicodedata.lookup(f"MATHEMATICAL BOLD {'SMALL' if letter.islower() else 'CAPITAL'} {letter}")


def _signed_factors(product: MatMul) -> tuple[str, list[Expression]]:
    """The sign in front, then the factors with the scalar ones last."""
    matrices = [factor for factor in product.args if getattr(factor, "is_Matrix", False)]
    scalar = Mul(*(factor for factor in product.args if factor not in matrices))
    sign = "-" if scalar.could_extract_minus_sign() else ""
    scalar = -scalar if sign else scalar
    return sign, matrices if scalar == 1 else [*matrices, scalar]


def _without_rates(product: Mul) -> tuple[Expression, list[Expression]]:
    rates = [factor for factor in product.args if isinstance(factor, Rate)]
    return product / Mul(*rates), rates


class _MathML(_Blackboard, MathMLPresentationPrinter):  # type: ignore[misc]
    def __init__(self, figures: Figures) -> None:
        super().__init__()
        self.figures = figures

    def _element(self, tag: str, *children: Element | str, **attributes: str) -> Element:
        element: Element = self.dom.createElement(tag)
        for name, value in attributes.items():
            element.setAttribute(name, value)
        for child in children:
            element.appendChild(self.dom.createTextNode(escape(child)) if isinstance(child, str) else child)
        return element

    def _print_Symbol(self, sym: Symbol, style: str = "plain") -> Element:  # noqa: ARG002 - sympy's signature
        if sym.name in self.figures:
            return self._element("mtext", self.figures[sym.name])
        letter, subscript = sym.name[0], sym.name[1:].lstrip("_").replace("_", ",")
        if not subscript:
            return self._element("mi", letter)
        kind = "mi" if subscript.isalpha() else "mn"
        return self._element("msub", self._element("mi", letter), self._element(kind, subscript))

    def _print_Rate(self, rate: Rate) -> Element:
        return self._by_time(self._print_Symbol(rate))

    def _by_time(self, changing: Element) -> Element:
        above, below = ([self._element("mi", "d", mathvariant="normal")] for _ in range(2))
        above.append(changing)
        below.append(self._element("mi", "t"))
        return self._element("mfrac", self._element("mrow", *above), self._element("mrow", *below))

    def _print_Mul(self, expr: Mul) -> Element:
        if expr.could_extract_minus_sign():
            return self._element("mrow", self._element("mo", MINUS), self._print(-expr))
        rest, rates = _without_rates(expr)
        if not rates:
            printed: Element = super()._print_Mul(expr)
            return printed
        factors = [] if rest == 1 else [self.parenthesize(rest, PRECEDENCE["Mul"], strict=True)]
        factors += [self._print(rate) for rate in rates]
        return self._element("mrow", *self._between(factors, TIMES))

    def _between(self, factors: list[Element], sign: str) -> list[Element]:
        joined = factors[:1]
        for factor in factors[1:]:
            joined += [self._element("mo", sign), factor]
        return joined

    def parenthesize(self, item: Expression, level: int, strict: bool = False) -> Element:
        if getattr(item, "name", None) in self.figures:
            return self._element(
                "mrow", self._element("mo", "("), self._print(item), self._element("mo", ")")
            )
        printed: Element = super().parenthesize(item, level, strict)
        return printed

    def _print_MatrixSymbol(self, sym: MatrixSymbol) -> Element:
        return self._element("mi", _bold(sym.name))

    def _print_MatrixRate(self, rate: MatrixRate) -> Element:
        return self._by_time(self._print_MatrixSymbol(rate))

    def _print_MatMul(self, expr: MatMul) -> Element:
        sign, factors = _signed_factors(expr)
        printed = [self.parenthesize(factor, PRECEDENCE["Mul"], strict=True) for factor in factors]
        minus = [self._element("mo", sign)] if sign else []
        return self._element("mrow", *minus, *self._between(printed, TIMES))

    def _print_MatrixBase(self, m: Expression) -> Element:
        printed: Element = super()._print_MatrixBase(m)
        printed.getElementsByTagName("mtable")[0].setAttribute("displaystyle", "true")
        return printed

    def _print_Transpose(self, expr: Transpose) -> Element:
        return self._element("msup", self._print(expr.arg), self._element("mi", "T", mathvariant="normal"))

    def _print_Inverse(self, expr: Inverse) -> Element:
        if expr.shape == (1, 1):
            return self._element("mfrac", self._element("mn", "1"), self._print(expr.arg))
        minus_one = self._element("mrow", self._element("mo", MINUS), self._element("mn", "1"))
        base = self._print(expr.arg)
        if not isinstance(expr.arg, MatrixSymbol):
            base = self._element("mrow", self._element("mo", "("), base, self._element("mo", ")"))
        return self._element("msup", base, minus_one)


class _Text(_Blackboard, StrPrinter):  # type: ignore[misc]
    def __init__(self, figures: Figures) -> None:
        super().__init__()
        self.figures = figures

    def _print_Symbol(self, expr: Symbol) -> str:
        name: str = expr.name
        return self.figures.get(name, name)

    def _print_Infinity(self, expr: Expression) -> str:  # noqa: ARG002 - sympy's signature
        return "∞"

    def _print_Rate(self, expr: Rate) -> str:
        return f"d{expr.name}/dt"

    def _print_Mul(self, expr: Mul) -> str:
        if expr.could_extract_minus_sign():
            return f"-{self.parenthesize(-expr, PRECEDENCE['Mul'], strict=True)}"
        rest, rates = _without_rates(expr)
        if not rates:
            return str(super()._print_Mul(expr))
        factors = [] if rest == 1 else [self.parenthesize(rest, PRECEDENCE["Mul"], strict=True)]
        return " ".join([*factors, *map(self._print, rates)])

    def _print_Pow(self, expr: Expression, rational: bool = False) -> str:
        return re.sub(r"^sqrt(?=\()", "√", str(super()._print_Pow(expr, rational)))

    def parenthesize(self, item: Expression, level: int, strict: bool = False) -> str:
        if getattr(item, "name", None) in self.figures:
            return f"({self._print(item)})"
        return str(super().parenthesize(item, level, strict))

    def _print_MatrixBase(self, expr: Expression) -> str:
        rows = (", ".join(map(self._print, expr.row(i))) for i in range(expr.rows))
        return f"[{'; '.join(rows)}]"

    def _print_MatMul(self, expr: MatMul) -> str:
        sign, factors = _signed_factors(expr)
        printed = [self.parenthesize(factor, PRECEDENCE["Mul"], strict=True) for factor in factors]
        return sign + " ".join(printed)

    def _print_MatrixSymbol(self, expr: MatrixSymbol) -> str:
        return _bold(expr.name)

    def _print_MatrixRate(self, rate: MatrixRate) -> str:
        return f"d{_bold(rate.name)}/dt"

    def _print_Transpose(self, expr: Transpose) -> str:
        return f"{self._print(expr.arg)}ᵀ"

    def _print_Inverse(self, expr: Inverse) -> str:
        if expr.shape == (1, 1):
            return f"1/({self._print(expr.arg)})"
        base = self._print(expr.arg)
        return f"{base}⁻¹" if isinstance(expr.arg, MatrixSymbol) else f"({base})⁻¹"
