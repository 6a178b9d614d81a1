"""How results show themselves: a result lists its parts once, and every face lays out the same parts.

In a notebook a result is HTML, in a terminal plain text. All text is escaped here and nowhere else.
"""

import re
import textwrap
from abc import ABC, abstractmethod
from dataclasses import dataclass
from html import escape
from typing import Any, TypeAlias

WIDTH = 112  # characters of a line of plain text


@dataclass(frozen=True)
class Heading:
    """A short line above what follows."""

    text: str

    def html(self, level: int = 4) -> str:
        return f"<h{level}>{escape(self.text)}</h{level}>"

    def plain(self) -> str:
        return f"{self.text}\n{'=' * len(self.text)}"


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
        lines = [self.header, *(tuple(cell or "–" for cell in row) for row in self.rows)]
        widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
        room = WIDTH - sum(widths[:-1]) - 2 * (len(widths) - 1)
        if room < min(widths[-1], _LEAST):
            return self._as_blocks()
        widths[-1] = min(widths[-1], room)
        text = [_line(line, widths) for line in lines]
        text.insert(1, "  ".join("-" * width for width in widths))
        return "\n".join([self.caption, *text] if self.caption else text)

    def _as_blocks(self) -> str:
        """One paragraph a row, for tables wider than the page."""
        blocks = [self.caption] if self.caption else []
        for row in self.rows:
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

    def plain(self) -> str:
        return "    " + self.text


@dataclass(frozen=True)
class Picture:
    """An inline SVG drawing with its alternative in words."""

    svg: str
    alt: str

    def html(self) -> str:
        return f'<figure class="lk-picture" role="img" aria-label="{escape(self.alt)}">{self.svg}</figure>'

    def plain(self) -> str:
        return textwrap.fill(f"[{self.alt}]", WIDTH)

    def _repr_html_(self) -> str:
        return f'<div class="lk">{self.html()}</div>'

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:  # noqa: ARG002 - IPython's signature
        printer.text(self.plain())


Part: TypeAlias = Heading | Text | Table | Formula | Picture


# How parts look in a notebook, light or dark; faces with a page of their own have their own style.
_NOTEBOOK = (
    ".lk p{max-width:46em;margin:.5em 0;line-height:1.45}"
    ".lk-strong,.lk-caution{border-left:4px solid #0072B2;padding-left:.7em}"
    ".lk-caution{border-left-color:#E69F00}"
    ".lk-note{opacity:.8}"
    ".lk caption{caption-side:top;text-align:left;font-weight:bold;padding:.4em 0}"
    ".lk .lk-table th,.lk .lk-table td{text-align:left;vertical-align:top;max-width:24em}"
    ".lk .lk-short{white-space:nowrap}"
)


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
        parts = (part.html(3) if isinstance(part, Heading) else part.html() for part in self.parts())
        return f'<div class="lk"><style>{_NOTEBOOK}</style>{"".join(parts)}</div>'

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:  # noqa: ARG002 - IPython's signature
        printer.text(str(self))

    def __str__(self) -> str:
        return "\n\n".join(part.plain() for part in self.parts())
