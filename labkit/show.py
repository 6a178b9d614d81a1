"""How results show themselves: a result lists its parts once, and every face lays out the same parts.

A page of our own is HTML with drawings and MathML inside, a terminal gets plain text. A notebook is shown
before anybody trusts it, and then JupyterLab takes out `svg`, `math`, `style` and most attributes. So there
drawings are images, formulas TeX, looks `style` attributes. All text is escaped here and nowhere else.
"""

import base64
import re
import textwrap
import unicodedata
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from typing import Any, TypeAlias
from xml.etree import ElementTree

from labkit.errors import printable

WIDTH = 112  # characters of a line of plain text


@dataclass(frozen=True)
class Heading:
    """A short line above what follows."""

    text: str

    def html(self, level: int = 4) -> str:
        return f"<h{level}>{escape(self.text)}</h{level}>"

    def plain(self) -> str:
        text = one_line(self.text)
        return f"{text}\n{'=' * len(text)}"


@dataclass(frozen=True)
class Text:
    """A paragraph in plain words; `tone` is one of plain, strong, caution, note."""

    text: str
    tone: str = "plain"

    def html(self) -> str:
        return f'<p class="lk-{self.tone}">{symbols(escape(self.text))}</p>'

    def plain(self) -> str:
        return textwrap.fill(self.text, WIDTH)


@dataclass(frozen=True)
class Table:
    """A small table of text cells; an empty cell is a visible gap (an en dash)."""

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    caption: str = ""

    def html(self) -> str:
        caption = f"<caption>{escape(self.caption)}</caption>" if self.caption else ""
        head = "".join(f'<th scope="col">{symbols(escape(cell))}</th>' for cell in self.header)
        body = "".join("<tr>" + "".join(map(_cell, row)) + "</tr>" for row in self.rows)
        return f'<table class="lk-table">{caption}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'

    def plain(self) -> str:
        lines = [self.header, *(tuple(one_line(cell) or "–" for cell in row) for row in self.rows)]
        widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
        room = WIDTH - sum(widths[:-1]) - 2 * (len(widths) - 1)
        if room < min(widths[-1], _LEAST):
            return self._as_blocks()
        widths[-1] = min(widths[-1], room)
        text = [_line(line, widths) for line in lines]
        text.insert(1, "  ".join("-" * width for width in widths))
        return "\n".join([one_line(self.caption), *text] if self.caption else text)

    def _as_blocks(self) -> str:
        """One paragraph a row, for tables wider than the page."""
        blocks = [one_line(self.caption)] if self.caption else []
        for row in (tuple(map(one_line, row)) for row in self.rows):
            cells = [f"{name}: {cell or '–'}" for name, cell in zip(self.header[1:], row[1:], strict=True)]
            blocks += [
                row[0],
                textwrap.fill(" · ".join(cells), WIDTH, initial_indent="    ", subsequent_indent="    "),
            ]
        return "\n".join(blocks)


_SYMBOL = re.compile(r"\b(E_n|[fLR]_(?:c|r|air|core|d))(?![A-Za-z0-9_])")


def symbols(html: str) -> str:
    """E_n, f_c, L_air and their like set as the symbols that they are, in text that is escaped already."""
    return _SYMBOL.sub(lambda m: "<i>{}</i><sub>{}</sub>".format(*m[0].split("_")), html)


def one_line(text: str) -> str:
    """Text that can be printed on one line; what ends a line is a space, as a tab is."""
    return printable(" ".join(text.expandtabs(1).splitlines()))


def spreadsheet_cell(text: str) -> str:
    """Text as a cell of a CSV file in which no spreadsheet finds a formula, be commas or semicolons between.

    An apostrophe stands before each sign that would begin one, also one of full width.

    >>> spreadsheet_cell("=1+1"), spreadsheet_cell("x;=1+1"), spreadsheet_cell("M = 5 mH; 2 - 1")
    ("'=1+1", "x;'=1+1", 'M = 5 mH; 2 - 1')
    """
    return _FORMULA_START.sub(r"\1'", one_line(text))


_SIGNS = "".join(sign + chr(ord(sign) + 0xFEE0) for sign in "=+-@") + "\ufe62\ufe63\ufe66\ufe6b"
_FORMULA_START = re.compile(rf"""((?:^|[,;])[\s"]*)(?=[{re.escape(_SIGNS)}])""")


def _cell(text: str) -> str:
    """A cell; a short one, which is a number with its unit or a name, is never broken."""
    keep = ' class="lk-short"' if len(text) <= _SHORT else ""
    return f"<td{keep}>{symbols(escape(text)) or '–'}</td>"


_SHORT = 26  # characters
_LEAST = 12  # characters that the last column of a table needs before it is set as blocks instead


def _line(cells: tuple[str, ...], widths: list[int]) -> str:
    """One row of a table; the last cell goes on below itself."""
    *first, last = cells
    start = "".join(c.ljust(w) + "  " for c, w in zip(first, widths, strict=False))
    rest = textwrap.wrap(last, widths[-1]) or [""]
    return "\n".join([(start + rest[0]).rstrip(), *(" " * len(start) + more for more in rest[1:])])


# Without a font that knows where exponents belong they float above the line; none of these is fetched.
_FORMULA_STYLE = (
    "margin: 0.7em 0; font-size: 1.1em; "
    "font-family: 'Cambria Math', 'STIX Two Math', 'Latin Modern Math', 'DejaVu Math TeX Gyre', math"
)


@dataclass(frozen=True)
class Formula:
    """One formula: `mathml` without the outer `math` element, `text` for terminals and screen readers."""

    mathml: str
    text: str

    def html(self) -> str:
        return (
            '<math xmlns="http://www.w3.org/1998/Math/MathML" display="block" '
            f'style="{_FORMULA_STYLE}" alttext="{escape(self.text)}">{self.mathml}</math>'
        )

    def notebook(self) -> str:
        """The formula as TeX, the only thing in a result that is typeset."""
        tex = escape(rf"$\displaystyle {to_tex(self.mathml)}$")
        return f'<div class="{_TYPESET}" title="{escape(self.text)}" style="{_FORMULA_LOOK}">{tex}</div>'

    def plain(self) -> str:
        return "    " + self.text


def to_tex(mathml: str) -> str:
    r"""TeX of presentation MathML as labkit writes it; KeyError for an element that it never writes.

    >>> to_tex("<mfrac><mi>M</mi><msub><mi>L</mi><mn>1</mn></msub></mfrac>")
    '\\frac{M}{{L}_{1}}'
    """
    return _tex(ElementTree.fromstring(f"<mrow>{mathml}</mrow>"))


def _tex(element: ElementTree.Element) -> str:
    text, inside = element.text or "", [_tex(child) for child in element]
    if element.tag in _LEAVES:
        return _LEAVES[element.tag](text, element)
    if element.tag in _SHAPES:
        return _SHAPES[element.tag].format(*(f"{{{part}}}" for part in inside))
    before, between, after = _ROWS[element.tag]
    to_the_left = r"\hfill" if "left" in element.get("style", "") else ""
    return before + between.join(inside) + after + to_the_left


def _letters(text: str, element: ElementTree.Element) -> str:
    """Letters in italics if there is one, upright if they are more or marked so, bold if they are bold."""
    if unicodedata.name(text[:1], "").startswith("MATHEMATICAL BOLD"):
        return rf"\mathbf{{{unicodedata.normalize('NFKC', text)}}}"
    return rf"\mathrm{{{text}}}" if len(text) > 1 or "mathvariant" in element.attrib else text


_OPERATORS = {"\N{MINUS SIGN}": "-", "\N{INVISIBLE TIMES}": r"\,"}
_OPERATORS |= {"(": r"\left(", ")": r"\right)", "[": r"\left[", "]": r"\right]"}
_IN_TEXT = {c: rf"\{c}" for c in "{}$&#%_"} | {
    "\\": r"$\backslash$",
    "~": r"$\sim$",
    "^": r"$\hat{\ }$",
}
_LEAVES: dict[str, Callable[[str, ElementTree.Element], str]] = {
    "mi": _letters,
    "mn": lambda text, _: text,
    "mo": lambda text, _: _OPERATORS.get(text, text),
    "mtext": lambda text, _: rf"\text{{{text.translate({ord(c): name for c, name in _IN_TEXT.items()})}}}",
    "mspace": lambda _, __: r"\quad ",
}
_SHAPES = {"mfrac": r"\frac{}{}", "msqrt": r"\sqrt{}", "msub": "{}_{}", "msup": "{}^{}"}
_ROWS = {
    "mrow": ("", "", ""),
    "mtable": (r"\begin{matrix}", r" \\ ", r"\end{matrix}"),
    "mtr": ("", " & ", ""),
    "mtd": (r"\displaystyle ", "", ""),
}


@dataclass(frozen=True)
class Picture:
    """An inline SVG drawing with its alternative in words."""

    svg: str
    alt: str

    def html(self) -> str:
        return f'<figure class="lk-picture" role="img" aria-label="{escape(self.alt)}">{self.svg}</figure>'

    def notebook(self) -> str:
        """The drawing as an image: it has its own ground, as it cannot see whether the page is dark."""
        data = base64.b64encode(self.svg.encode()).decode()
        source = f"data:image/svg+xml;base64,{data}"
        return f'<img src="{source}" alt="{escape(self.alt)}" style="max-width:100%;height:auto"/>'

    def plain(self) -> str:
        return textwrap.fill(f"[{self.alt}]", WIDTH)

    def _repr_html_(self) -> str:
        return in_notebook(self)

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:  # noqa: ARG002 - IPython's signature
        printer.text(printable(self.plain()))


Part: TypeAlias = Heading | Text | Table | Formula | Picture


# What people typed stands in results, and "$5 to $6" is no formula; MathJax 3 and 2 know these names.
_NOT_TYPESET = "mathjax_ignore tex2jax_ignore"
_TYPESET = "mathjax_process tex2jax_process"
_FORMULA_LOOK = "margin:.7em 0;padding-left:2em;overflow-x:auto;overflow-y:hidden"
_CELL = "text-align:left;vertical-align:top"
_EDGE = "max-width:46em;margin:.5em 0;padding-left:.7em;border-left:4px solid"
# How parts look in a notebook, light or dark, by how they begin on a page.
_LOOKS = {
    '<p class="lk-plain"': "max-width:46em;margin:.5em 0",
    '<p class="lk-note"': "max-width:46em;margin:.5em 0;opacity:.8",
    '<p class="lk-strong"': f"{_EDGE} #0072B2",
    '<p class="lk-caution"': f"{_EDGE} #E69F00",
    "<caption": "caption-side:top;text-align:left;font-weight:bold;padding:.4em 0",
    '<th scope="col"': _CELL,
    '<td class="lk-short"': f"{_CELL};white-space:nowrap",
    "<td": f"{_CELL};max-width:24em",
}
_LOOKING = re.compile("|".join(f"{re.escape(start)}(?=>)" for start in _LOOKS))


def in_notebook(*parts: Part) -> str:
    """Parts as one block of HTML that an untrusted notebook shows as a trusted one does."""
    return f'<div class="lk {_NOT_TYPESET}">{"".join(map(_in_notebook, parts))}</div>'


def _in_notebook(part: Part) -> str:
    if isinstance(part, Formula | Picture):
        return part.notebook()
    html = part.html(3) if isinstance(part, Heading) else part.html()
    html = _LOOKING.sub(lambda start: f'{start[0]} style="{_LOOKS[start[0]]}"', html)
    return f'<div style="overflow-x:auto">{html}</div>' if isinstance(part, Table) else html


class Shown(ABC):
    """A result that knows its parts; notebook and terminal render them."""

    def __init_subclass__(cls, **more: Any) -> None:
        """Give each kind its own way into IPython, which would prefer a dataclass's `__repr__`."""
        super().__init_subclass__(**more)
        cls._repr_pretty_ = Shown._repr_pretty_  # type: ignore[method-assign]

    @abstractmethod
    def parts(self) -> tuple[Part, ...]:
        """What there is to show, in reading order."""

    def _repr_html_(self) -> str:
        return in_notebook(*self.parts())

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:  # noqa: ARG002 - IPython's signature
        printer.text(str(self))

    def __str__(self) -> str:
        return printable("\n\n".join(part.plain() for part in self.parts()))
