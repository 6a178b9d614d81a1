"""A table of impedances against frequency, as instruments export it: headings with units, one point a line.

Separators are semicolon, tab or comma, whichever the line of headings has, in this order. Lines before the
headings are a preamble and not read; blank lines and those that begin with `#`, `!`, `%` or `//` are
comments. The decimal mark is a point or, where the numbers leave no doubt, a comma; where a comma may also
separate thousands or columns, the person is asked, and answers with `decimal` or with another export.

If several pairs of columns give the impedance (|Z| and phase beside R and X, say), the first pair in the
order of `labkit.sweeps.columns.PAIRS` is taken, and every other one must agree within one per cent of |Z|.
Q and D, which are often displayed with two digits, are not held against the rest.
"""

import csv
import re
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from labkit.errors import SweepError
from labkit.sweeps.columns import PAIRS, Column, column, with_unit
from labkit.sweeps.sweep import Complexes, Decimal, Floats, Impedance, hertz, require_ascending
from labkit.sweeps.text import Line, excerpt, lines_of, shown_name
from labkit.words import sweeps as words

AGREEMENT = 0.01
"""How far two routes to one impedance may differ, relative to |Z|: what rounded columns can explain."""

_COMMENT = re.compile(r"^\s*(#|!|%|//)")
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
_GROUPED = re.compile(r"[+-]?[1-9][0-9]{0,2}(,[0-9]{3})+")
_COMMA = re.compile(r"[+-]?[0-9]*,[0-9]+([eE][+-]?[0-9]{1,3})?")
_SPACES = str.maketrans("", "", " \t\u00a0\u2007\u2009\u202f")


class _Row(NamedTuple):
    line: int
    cells: list[str]


class _Head(NamedTuple):
    place: int  # among the lines
    separator: str
    columns: dict[str, Column]
    width: int


def read_table(data: bytes, name: str, *, decimal: Decimal | None = None) -> Impedance:
    """Impedance that a table holds.

    Parameters
    ----------
    data : the file's bytes
    name : its name, for sentences
    decimal : the decimal mark, if the table leaves that open

    Raises
    ------
    SweepError
        with one sentence and the line, where there is one. Nothing is guessed, sorted, thinned or repaired.

    >>> read_table("f/kHz;Ls/mH;Rs/Ω\\n1;10,5;6,0\\n10;10,4;6,2".encode(), "part.csv").Z
    array([6. +65.97344573j, 6.2+653.45127195j])
    """
    table = _Table(lines_of(data, name), shown_name(name), decimal)
    frequency = table.values(table.head.columns["frequency"])
    require_ascending(frequency, [row.line for row in table.rows], table.name)
    return Impedance(frequency, _impedance(table, frequency))


class _Table:
    """Headings and rows of one file."""

    def __init__(self, lines: list[Line], name: str, decimal: Decimal | None) -> None:
        self.name = name
        self.lines = lines
        self.head = self._head()
        self.rows = self._rows()
        self.decimal = decimal or self._decimal()

    def refusal(self, sentence: str, line: int, **facts: object) -> SweepError:
        return SweepError(sentence.format(name=self.name, line=line, **facts), line=line)

    def where(self, line: int) -> str:
        return words.AT_LINE.format(name=self.name, line=line)

    # ---- headings

    def _head(self) -> _Head:
        """The first line that names a frequency and something else, a comment mark before it taken off."""
        for place, line in enumerate(self.lines):
            separator = next((mark for mark in ";\t," if mark in line.text), None)
            if separator is None:
                continue
            bare = Line(line.number, _COMMENT.sub("", line.text, count=1))
            cells = self._cells(bare, separator)
            found = [column(i, cell, self.where(line.number)) for i, cell in enumerate(cells)]
            named = [c for c in found if c is not None]
            if len(named) > 1 and any(c.quantity == "frequency" for c in named):
                columns = self._single(named, line.number)
                return self._with_units(_Head(place, separator, columns, len(cells)))
        raise SweepError(words.NO_HEADINGS.format(name=self.name, given=excerpt(self.lines[0].text)), line=1)

    def _single(self, named: list[Column], line: int) -> dict[str, Column]:
        columns: dict[str, Column] = {}
        for found in named:
            if found.quantity in columns:
                facts = {"first": excerpt(columns[found.quantity].heading), "second": excerpt(found.heading)}
                raise self.refusal(words.TWO_COLUMNS, line, **facts)
            columns[found.quantity] = found
        return columns

    def _with_units(self, head: _Head) -> _Head:
        """Units from a line of their own, if the headings state none and the next line holds no digit."""
        open_ = {q: c for q, c in head.columns.items() if c.scale is None}
        line = self.lines[head.place]
        below = self.lines[head.place + 1] if head.place + 1 < len(self.lines) else None
        if open_ and below and not re.search("[0-9]", below.text):
            cells = self._cells(below, head.separator)
            if len(cells) == head.width:
                given = {q: with_unit(c, cells[c.place], self.where(below.number)) for q, c in open_.items()}
                head = head._replace(place=head.place + 1, columns=head.columns | given)
        self._require_unit(head.columns["frequency"], line.number)
        return head

    def _require_unit(self, of: Column, line: int) -> None:
        if of.scale is None:
            raise self.refusal(words.UNIT_MISSING, line, heading=excerpt(of.heading))

    # ---- rows

    def _cells(self, line: Line, separator: str) -> list[str]:
        try:
            cells = next(csv.reader([line.text], delimiter=separator, strict=True))
        except csv.Error:
            raise self.refusal(words.QUOTES, line.number) from None
        cells = [cell.strip() for cell in cells]
        return cells[:-1] if len(cells) > 1 and not cells[-1] else cells

    def _rows(self) -> list[_Row]:
        rows = [
            self._row(line)
            for line in self.lines[self.head.place + 1 :]
            if not _COMMENT.match(line.text) and line.text.strip(self.head.separator + " ")
        ]
        if not rows:
            raise self.refusal(words.NO_ROWS, self.lines[-1].number)
        return rows

    def _row(self, line: Line) -> _Row:
        cells = self._cells(line, self.head.separator)
        if len(cells) != self.head.width and len(cells) != self.head.width - 1:
            facts = {"count": len(cells), "columns": self.head.width, "given": excerpt(line.text)}
            comma = self.head.separator == "," and len(cells) > self.head.width
            raise self.refusal(words.COMMA_OR_COLUMN if comma else words.CELLS, line.number, **facts)
        return _Row(line.number, cells)

    # ---- numbers

    def _decimal(self) -> Decimal:
        """The decimal mark of all columns that are read, if only one is possible."""
        point = comma = grouped = None
        for row, text in self._all_cells():
            if "," not in text:
                point = point or ((row, text) if "." in text else None)
            elif _GROUPED.fullmatch(text):
                grouped = grouped or (row, text)
            elif _COMMA.fullmatch(text):
                comma = comma or (row, text)
        if point and (found := comma or grouped):
            later = max(found, point, key=lambda pair: pair[0].line)[0].line
            raise self.refusal(words.TWO_MARKS, later, comma=excerpt(found[1]), point=excerpt(point[1]))
        if grouped and not comma:
            raise self.refusal(words.ASK_COMMA, grouped[0].line, given=excerpt(grouped[1]))
        return "," if comma else "."

    def _all_cells(self) -> Iterator[tuple[_Row, str]]:
        places = [c.place for c in self.head.columns.values()]
        for row in self.rows:
            for place in places:
                if place < len(row.cells):
                    yield row, row.cells[place].translate(_SPACES)

    def values(self, of: Column) -> Floats:
        """A column in its SI unit."""
        self._require_unit(of, self.lines[self.head.place].number)
        return np.array([self._value(row, of) for row in self.rows]) * of.scale

    def _value(self, row: _Row, of: Column) -> float:
        given = row.cells[of.place] if of.place < len(row.cells) else ""
        text = given.replace("\u2212", "-")
        if self.decimal == ",":
            text = text.replace(".", "?").replace(",", ".")
        if not _NUMBER.fullmatch(text):
            facts = {"heading": excerpt(of.heading), "given": excerpt(given)}
            raise self.refusal(_why_no_number(given), row.line, **facts)
        return float(text)


def _why_no_number(given: str) -> str:
    if not given:
        return words.CELL_EMPTY
    if re.search(r"[0-9]\s*[pnuµmkMG]?(Hz|H|Ω|ohm|Ohm|F|°|deg)$", given):
        return words.CELL_UNIT
    return words.CELL


def _impedance(table: _Table, frequency: Floats) -> Complexes:
    """Z by the first pair of columns that gives it, held against every other."""
    there = table.head.columns
    pairs = [pair for pair in PAIRS if there.keys() >= set(pair)]
    if not pairs:
        raise _no_pair(table)
    omega = 2 * np.pi * frequency
    with np.errstate(all="ignore"):  # what is not finite is refused by its frequency
        first = PAIRS[pairs[0]](omega, *(table.values(there[q]) for q in pairs[0]))
        for pair in (p for p in pairs[1:] if not {"Q", "D"} & {*p, *pairs[0]}):
            other = PAIRS[pair](omega, *(table.values(there[q]) for q in pair))
            apart = ~(np.abs(other - first) <= AGREEMENT * np.abs(first))
            if apart.any():
                index = int(np.argmax(apart))
                facts = {"first": " + ".join(pairs[0]), "second": " + ".join(pair)}
                at = hertz(float(frequency[index]))
                raise table.refusal(words.ROUTES_DIFFER, table.rows[index].line, at=at, **facts)
        wild = ~np.isfinite(first)
    if wild.any():
        index = int(np.argmax(wild))
        at = hertz(float(frequency[index]))
        raise table.refusal(words.NOT_FINITE_LINE, table.rows[index].line, at=at)
    return first


def _no_pair(table: _Table) -> SweepError:
    line = table.lines[table.head.place].number
    there = table.head.columns
    for bare, partners in (("L", "Ls, Lp"), ("C", "Cs, Cp")):
        if bare in there:
            return table.refusal(
                words.ASK_EQUIVALENT, line, heading=excerpt(there[bare].heading), names=partners
            )
    found = ", ".join(excerpt(c.heading) for c in there.values())
    return table.refusal(words.NO_PAIR, line, found=found)
