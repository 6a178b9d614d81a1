"""A table of impedances against frequency, as instruments export it: headings with units, one point a line.

Separators are semicolon, tab or comma, whichever the line of headings has, in this order. Lines before the
headings are a preamble and not read; blank lines and those that begin with `#`, `!`, `%` or `//` are
comments. The decimal mark is a point or, where the numbers leave no doubt, a comma; where a comma may also
separate thousands or columns, the person is asked, and answers with `decimal` or with another export.

If several pairs of columns give the impedance (|Z| and phase beside R and X, say), the first pair in the
order of `labkit.sweeps.table_file.PAIRS` is taken, and every other one must agree within one per cent of |Z|.
Q and D, which are often displayed with two digits, are not held against the rest.
"""

import csv
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import PurePath
from typing import NamedTuple

import numpy as np

from labkit.arrays import Complexes, Floats
from labkit.errors import SweepError
from labkit.quantity.kinds import KINDS, PREFIXES, accepted_units, spelled
from labkit.show import one_line
from labkit.sweeps.sweep import Decimal, Impedance, hertz, require_ascending
from labkit.words import sweeps as words

# A file's bytes as numbered lines of text, or one sentence about what the file is instead.
#
# Taken are UTF-8 with or without a byte-order mark, UTF-16 with one, and what is neither as Windows-1252,
# whose °, µ and ² are those of ISO 8859-1. Digits, marks and separators are the same in all of them.

MOST_BYTES = 32 * 1024 * 1024  # a four-port file of 100 000 points has about 30 MB
MOST_CHARACTERS = 10_000  # of one line

_MAGIC = {
    b"PK\x03\x04": words.ARCHIVE,
    b"\x1f\x8b": words.ARCHIVE,
    b"%PDF": words.PDF,
    b"\x89PNG": words.PICTURE,
    b"\xff\xd8\xff": words.PICTURE,
    b"\xd0\xcf\x11\xe0": words.OFFICE,
}
_MARKUP = re.compile(r"\s*<(!doctype|html|\?xml|svg|head|body)\b", re.IGNORECASE)
_CONTROLS = bytes([*range(0x09), *range(0x0E, 0x20), 0x7F])  # a text has none; one byte each in all codings
_MARKS = {b"\xef\xbb\xbf": "utf-8-sig", b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}


class Line(NamedTuple):
    """One line of a file, without its line end."""

    number: int
    text: str


def lines_of(data: bytes, name: str) -> list[Line]:
    """The lines of a text file that hold something, numbered from 1 as an editor numbers them.

    Parameters
    ----------
    data : the file's bytes
    name : the file's name, for sentences

    Raises
    ------
    SweepError
        if the file is empty, too large, or no text.
    """
    shown = shown_name(name)
    if len(data) > MOST_BYTES:
        raise SweepError(
            f"{shown} is larger than {MOST_BYTES // 1024**2} MB, which no sweep needs; "
            "export fewer points or one sweep a file."
        )
    text = _text(data, shown)
    if _MARKUP.match(text):
        raise SweepError(words.NOT_DATA.format(name=shown, what="a web page or another file with markup"))
    rows = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    longest = max(rows, key=len)
    if len(longest) > MOST_CHARACTERS:
        line = rows.index(longest) + 1
        raise SweepError(
            f"{shown}, line {line} is longer than any line of a sweep; check whether this is "
            "the exported file.",
            line=line,
        )
    while rows and not rows[-1].strip():
        rows.pop()
    found = list(map(Line._make, enumerate(rows, 1)))
    if not all(map(str.strip, rows)):
        found = [line for line in found if line.text.strip()]
    if not found:
        raise SweepError(f"{shown} is empty; export the sweep again.")
    return found


def _text(data: bytes, name: str) -> str:
    for magic, what in _MAGIC.items():
        if data.startswith(magic):
            raise SweepError(words.NOT_DATA.format(name=name, what=what))
    encoding = next((encoding for mark, encoding in _MARKS.items() if data.startswith(mark)), None)
    for codec in (encoding,) if encoding else ("utf-8", "cp1252"):
        try:
            text = data.decode(codec)
        except UnicodeDecodeError:
            continue
        bare = data if codec != "utf-16" else text.encode()
        if len(bare.translate(None, _CONTROLS)) == len(bare):
            return text
    raise SweepError(words.NOT_DATA.format(name=name, what="a binary file"))


def shown_name(name: str) -> str:
    """A file's name inside a sentence: the last part, short, nothing in it that a terminal would obey."""
    last = PurePath(name.replace("\\", "/")).name or name
    plain = re.sub(r"\s", " ", one_line(last))
    return plain if len(plain) <= 60 else plain[:59] + "…"


def excerpt(text: str) -> str:
    """A piece of a file inside a sentence, likewise."""
    plain = re.sub(r"\s", " ", one_line(text)).strip()
    return plain if len(plain) <= 40 else plain[:39] + "…"


# The columns of a table of impedances: what a heading names, in which unit, what two of them amount to.
#
# A heading is a name with its unit, in one of the usual forms: `f/kHz`, `Frequency (Hz)`, `|Z| [kΩ]`,
# `phase in °`, `Ls_mH`. Q and D have no unit; everything else must state one. A bare `L` or `C` is asked:
# it may mean the series or the parallel equivalent.
#
# Symbols: f frequency (Hz) · ω = 2πf · R + jX impedance (Ω) · G + jB admittance (S) ·
# Q quality factor · D = 1/Q.

_SPELLED = {
    "frequency": "f freq freq. frequency",
    "magnitude": "|z| z abs(z) mag(z) |z|s impedance magnitude zmag",
    "phase": "phase theta θ θz φ phi arg(z) phase(z) angle phase_angle phaseangle",
    "R": "r rs re(z) real(z) rez re real zreal z' resistance",
    "X": "x xs im(z) imag(z) imz im imag zimag z'' reactance",
    "Ls": "ls",
    "Lp": "lp",
    "Rp": "rp",
    "Cs": "cs",
    "Cp": "cp",
    "G": "g gp conductance",
    "B": "b bp susceptance",
    "Q": "q qualityfactor",
    "D": "d dissipationfactor tanδ",
    "L": "l inductance",
    "C": "c capacitance",
}
_NAMES = {name: quantity for quantity, names in _SPELLED.items() for name in names.split()}

_KIND = {"frequency": "frequency", "Q": "", "D": "", "phase": "angle", "G": "conductance", "B": "conductance"}
_KIND |= dict.fromkeys(("magnitude", "R", "X", "Rp"), "resistance")
_KIND |= dict.fromkeys(("Ls", "Lp", "L"), "inductance") | dict.fromkeys(("Cs", "Cp", "C"), "capacitance")

_ANGLE = dict.fromkeys(("°", "deg", "degree", "degrees", "Deg", "DEG"), np.pi / 180) | {"rad": 1.0}
_CONDUCTANCE = {"S": 1.0, "mS": 1e-3, "µS": 1e-6, "uS": 1e-6, "nS": 1e-9}
_TWINS = str.maketrans({"\u03bc": "µ", "\u2126": "Ω", "\u00ba": "°", "\u2032": "'", "\u2033": "''"})

_FORMS = (
    re.compile(r"(?P<name>.+?)\s*\((?P<unit>[^()]*)\)"),
    re.compile(r"(?P<name>.+?)\s*\[(?P<unit>[^\[\]]*)\]"),
    re.compile(r"(?P<name>.+?)\s*/\s*(?P<unit>[^/]*)"),
    re.compile(r"(?P<name>.+?)(?:\s+in\s+|\s*,\s*|_)(?P<unit>[^\s,_]+)"),
)


@dataclass(frozen=True)
class Column:
    """What one heading says.

    Parameters
    ----------
    place : of the column, from 0
    quantity : a key of the table of spellings above
    scale : value of the stated unit in the SI unit (phase: rad); None if no unit is stated
    heading : as it stands in the file
    """

    place: int
    quantity: str
    scale: float | None
    heading: str


def column(place: int, heading: str, where: str) -> Column | None:
    """The column that a heading begins, None if it names nothing that is known here.

    Raises
    ------
    SweepError
        if the unit is not one of the quantity's; `where` begins the sentence.

    >>> column(0, "f / kHz", "file, line 1")
    Column(place=0, quantity='frequency', scale=1000.0, heading='f / kHz')
    """
    text = heading.translate(_TWINS).strip()
    if quantity := _quantity(text):
        return Column(place, quantity, None if _KIND[quantity] else 1.0, heading)
    for form in _FORMS:
        match = form.fullmatch(text)
        if match and (quantity := _quantity(match["name"])):
            return Column(place, quantity, _scale(quantity, match["unit"].strip(), heading, where), heading)
    return None


def _quantity(name: str) -> str | None:
    return _NAMES.get(re.sub(r"\s+", "", name).casefold())


def _units(kind: str) -> dict[str, float]:
    """Each unit taken for a kind, with its value in the SI unit."""
    if kind == "angle":
        return _ANGLE
    if kind == "conductance":
        return _CONDUCTANCE
    if not kind:
        return {"": 1.0, "1": 1.0, "-": 1.0}
    sizes = {unit: 10.0 ** PREFIXES[prefix] for unit, prefix in spelled(kind).items()}
    return sizes | {f"{unit}s": size for unit, size in sizes.items() if unit.endswith("hm")}


def _scale(quantity: str, unit: str, heading: str, where: str) -> float | None:
    units = _units(_KIND[quantity])
    if unit in units:
        return units[unit]
    if not unit:
        return None
    kind = _KIND[quantity]
    accepted = accepted_units(kind) if kind in KINDS else tuple(units) if kind else (words.NO_UNIT,)
    facts = {"where": where, "heading": excerpt(heading), "unit": excerpt(unit)}
    raise SweepError(words.WRONG_UNIT.format(**facts, accepted=", ".join(accepted)))


def with_unit(of: Column, unit: str, where: str) -> Column:
    """The column with the unit that stands in a line of units below the headings."""
    scale = _scale(of.quantity, unit.translate(_TWINS).strip(" ()[]"), of.heading, where)
    return Column(of.place, of.quantity, scale, of.heading)


Formula = Callable[[Floats, Floats, Floats], Complexes]


def _series(R: Floats, X: Floats) -> Complexes:
    return R + 1j * X


def _parallel(G: Floats, B: Floats) -> Complexes:
    return np.divide(1, G + 1j * B)


PAIRS: dict[tuple[str, str], Formula] = {
    ("R", "X"): lambda _, R, X: _series(R, X),
    ("magnitude", "phase"): lambda _, size, angle: size * np.exp(1j * angle),
    ("Ls", "R"): lambda w, L, R: _series(R, w * L),
    ("Ls", "Q"): lambda w, L, Q: _series(w * L / Q, w * L),
    ("Ls", "D"): lambda w, L, D: _series(w * L * D, w * L),
    ("Lp", "Rp"): lambda w, L, R: _parallel(1 / R, -1 / (w * L)),
    ("Lp", "Q"): lambda w, L, Q: _parallel(1 / (w * L * Q), -1 / (w * L)),
    ("Lp", "D"): lambda w, L, D: _parallel(D / (w * L), -1 / (w * L)),
    ("Cs", "R"): lambda w, C, R: _series(R, -1 / (w * C)),
    ("Cs", "D"): lambda w, C, D: _series(D / (w * C), -1 / (w * C)),
    ("Cp", "Rp"): lambda w, C, R: _parallel(1 / R, w * C),
    ("Cp", "D"): lambda w, C, D: _parallel(w * C * D, w * C),
    ("G", "B"): lambda _, G, B: _parallel(G, B),
    ("Cp", "G"): lambda w, C, G: _parallel(G, w * C),
    ("Lp", "G"): lambda w, L, G: _parallel(G, -1 / (w * L)),
}
"""Pairs of columns that give an impedance, in the order in which they are looked for."""

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
        raise SweepError(
            f"{self.name}: no line of headings names a frequency; "
            f"line 1 reads '{excerpt(self.lines[0].text)}'. "
            "Write headings with units above the numbers, such as f/kHz;|Z|/Ω;phase/°.",
            line=1,
        )

    def _single(self, named: list[Column], line: int) -> dict[str, Column]:
        columns: dict[str, Column] = {}
        for found in named:
            if found.quantity in columns:
                facts = {"first": excerpt(columns[found.quantity].heading), "second": excerpt(found.heading)}
                raise self.refusal(
                    "{name}, line {line}: '{first}' and '{second}' both name the same quantity; "
                    "keep the one that counts.",
                    line,
                    **facts,
                )
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
            raise self.refusal(
                "{name}, line {line}: '{heading}' states no unit; add it to the heading, such "
                "as f/kHz, R/Ω, Ls/mH, phase/°.",
                line,
                heading=excerpt(of.heading),
            )

    # ---- rows

    def _cells(self, line: Line, separator: str) -> list[str]:
        try:
            cells = next(csv.reader([line.text], delimiter=separator, strict=True))
        except csv.Error:
            raise self.refusal(
                "{name}, line {line}: a quotation mark has no partner; check what was exported.", line.number
            ) from None
        cells = [cell.strip() for cell in cells]
        return cells[:-1] if len(cells) > 1 and not cells[-1] else cells

    def _rows(self) -> list[_Row]:
        rows = [
            self._row(line)
            for line in self.lines[self.head.place + 1 :]
            if not _COMMENT.match(line.text) and line.text.strip(self.head.separator + " ")
        ]
        if not rows:
            raise self.refusal(
                "{name}, line {line}: no numbers follow the headings; export the sweep again.",
                self.lines[-1].number,
            )
        return rows

    def _row(self, line: Line) -> _Row:
        cells = self._cells(line, self.head.separator)
        if len(cells) != self.head.width and len(cells) != self.head.width - 1:
            facts = {"count": len(cells), "columns": self.head.width, "given": excerpt(line.text)}
            comma = self.head.separator == "," and len(cells) > self.head.width
            raise self.refusal(
                "{name}, line {line}: {count} values stand under {columns} headings ('{given}'), "
                "so a comma may be the decimal mark or may separate columns; export with "
                "semicolons or tabs between columns, or with decimal points."
                if comma
                else "{name}, line {line}: {count} values stand under {columns} headings ('{given}'); "
                "check that line, or export again.",
                line.number,
                **facts,
            )
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
            raise self.refusal(
                "{name}, line {line}: '{comma}' holds a comma and '{point}' a point; export "
                "with one decimal mark throughout and without thousands separators.",
                later,
                comma=excerpt(found[1]),
                point=excerpt(point[1]),
            )
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
                raise table.refusal(
                    "{name}, line {line}: at {at} the columns {first} and {second} give impedances "
                    "that differ by more than one per cent; check the units in the headings, or "
                    "export one pair only.",
                    table.rows[index].line,
                    at=at,
                    **facts,
                )
        wild = ~np.isfinite(first)
    if wild.any():
        index = int(np.argmax(wild))
        at = hertz(float(frequency[index]))
        raise table.refusal(
            "{name}, line {line}: the values at {at} give no finite impedance; check what "
            "was exported there.",
            table.rows[index].line,
            at=at,
        )
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
