"""Touchstone files, versions 1 and 2, as scattering parameters.

The lines are counted and checked here, so that what is wrong is named by its line; the values are then read
by scikit-rf. Comments (`!`) and the noise block carry nothing that is used. Z, Y, H and G become S here,
because version 1 gives them relative to the reference: with relative values the reference of the conversion
is one ohm, in version 2 it is the file's own.

Source: Touchstone File Format Specification, versions 1.1 and 2.1 (IBIS Open Forum).
"""

import io
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from labkit.arrays import Complexes, Floats
from labkit.errors import SweepError
from labkit.sweeps.sweep import Scattering, require_ascending
from labkit.sweeps.table_file import Line, excerpt, lines_of, shown_name
from labkit.words import sweeps as words

# The option line of a Touchstone file: `# <unit> <parameter> <format> R <reference>`, in any order.
#
# What is left out is GHz, S, MA, R 50; version 1.1 takes one reference for each port. (Touchstone File
# Format Specification, versions 1.1 and 2.1, "Option Line".)

_GROUPS = {
    "unit": ("hz", "khz", "mhz", "ghz"),
    "parameter": ("s", "y", "z", "g", "h"),
    "format": ("db", "ma", "ri"),
}


@dataclass(frozen=True)
class Options:
    """What an option line says; references in Ω."""

    unit: str = "ghz"
    parameter: str = "s"
    format: str = "ma"
    reference: tuple[float, ...] = (50.0,)

    def line(self) -> str:
        """The line for a reader that shall take the values as they stand, whatever they are."""
        return f"# {self.unit} s {self.format} r 1"


def read_options(line: Line, name: str) -> Options:
    """The options on a line that begins with `#`; SweepError with the line for what is none.

    >>> read_options(Line(1, "# MHz RI R 75"), "file")
    Options(unit='mhz', parameter='s', format='ri', reference=(75.0,))
    """
    tokens = line.text[1:].lower().split()
    found: dict[str, Any] = {}
    reference: list[str] = []
    behind_r = False
    for token in tokens:
        group = next((g for g, known in _GROUPS.items() if token in known and g not in found), None)
        if group:
            found[group], behind_r = token, False
        elif token == "r" and not reference:
            behind_r = True
        elif behind_r:
            reference.append(token)
        else:
            raise _wrong(line, name)
    if "r" in tokens:
        numbers = Line(line.number, " ".join(reference))
        return Options(reference=tuple(reference_values(numbers, name)), **found)
    return Options(**found)


def reference_values(line: Line, name: str) -> list[float]:
    """Reference impedances in Ω; SweepError with the line unless all are numbers above zero."""
    try:
        values = [float(token) for token in line.text.split()]
    except ValueError:
        values = []
    if not values or not all(math.isfinite(value) and value > 0 for value in values):
        facts = {"name": name, "line": line.number, "given": excerpt(line.text)}
        raise SweepError(words.REFERENCE_VALUE.format(**facts), line=line.number)
    return values


def _wrong(line: Line, name: str) -> SweepError:
    facts = {"name": name, "line": line.number, "given": excerpt(line.text)}
    return SweepError(words.OPTIONS.format(**facts), line=line.number)


MOST_PORTS = 16
_EXTENSION = re.compile(r"\.[syzgh]([0-9]{1,4})p$", re.IGNORECASE)
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
_NUMBERS = re.compile(r"[0-9eE+.\-\s]+")  # quickly, for whole lines
_KEYWORD = re.compile(r"\[([^\]]*)\](.*)")
_FORMATS = {"full": "Full", "lower": "Lower", "upper": "Upper"}
_ORDERS = ("12_21", "21_12")


@dataclass
class _File:
    """What the lines of one file say, before any value is looked at."""

    name: str
    ports: int | None
    version: int = 1
    options: Options | None = None
    reference: list[float] = field(default_factory=list)
    in_reference: bool = False  # the values of [Reference] may go on over several lines
    matrix: str = "full"
    order: str | None = None
    frequencies: int | None = None
    points: list[int] = field(default_factory=list)  # line on which each point begins
    size: int = 0  # numbers of one point, its frequency included
    data: list[str] = field(default_factory=list)  # lines of numbers
    lines: list[int] = field(default_factory=list)  # and where they stand
    held: int = 0  # numbers read of the point that is being read
    last: float = 0.0  # frequency of the last point, in the file's unit
    noise: bool = False

    def refusal(self, sentence: str, line: int, **facts: object) -> SweepError:
        return SweepError(sentence.format(name=self.name, line=line, **facts), line=line)


def read_touchstone(data: bytes, name: str) -> Scattering:
    """Scattering parameters that a Touchstone file holds; impedances and the like are converted.

    Parameters
    ----------
    data : the file's bytes
    name : its name; in version 1 the ending (`.s2p`) alone says how many ports the file has

    Raises
    ------
    SweepError
        with one sentence and the line, for anything that is not a whole file of this format with ascending
        frequencies above zero.

    >>> read_touchstone(b"# MHz S RI R 50\\n1 0.5 0.1\\n2 0.5 0.2", "part.s1p").S[:, 0, 0]
    array([0.5+0.1j, 0.5+0.2j])
    """
    file = _scan(lines_of(data, name), shown_name(name))
    frequency, values = _read(file)
    require_ascending(frequency, file.points, file.name)
    return Scattering(frequency, _scattering(file, values), np.array(file.reference))


def _scan(lines: list[Line], name: str) -> _File:
    ending = _EXTENSION.search(name)
    file = _File(name, int(ending[1]) if ending else None)
    information = False
    for number, text in lines:
        if not information and _goes_on(file, number, text):
            continue
        body = text.partition("!")[0].strip()
        keyword = _KEYWORD.fullmatch(body) if body.startswith("[") else None
        word = " ".join(keyword[1].lower().split()) if keyword else ""
        if information or word == "begin information":
            information = word != "end information"
        elif word == "end":
            break
        elif keyword:
            _take_keyword(file, word, keyword[2].strip(), number)
        elif body.startswith("#"):
            file.options = file.options or read_options(Line(number, body), name)
        elif body:
            _take_numbers(file, number, body)
    _require_whole(file, lines[-1].number)
    return file


def _goes_on(file: _File, line: int, text: str) -> bool:
    """Take a line of bare numbers in the midst of a point, where most lines of a large file are.

    What does not fit there is left to the slower way, which has a sentence for it.
    """
    if file.size <= 9 or not 0 < file.held < file.size or not _NUMBERS.fullmatch(text):
        return False
    count = len(text.split())
    if count % 2 or file.held + count > file.size:
        return False
    file.held += count
    file.data.append(text)
    file.lines.append(line)
    return True


def _take_keyword(file: _File, word: str, value: str, line: int) -> None:
    """One `[Keyword] value` of version 2."""
    lower = value.lower()
    if file.points and word != "noise data":
        raise file.refusal(words.KEYWORD, line, given=excerpt(f"[{word}] {value}"))
    match word:
        case "version" if lower in ("1.0", "1.1", "2.0", "2.1"):
            file.version = int(lower[0])
        case "number of ports" if re.fullmatch("[1-9][0-9]{0,3}", value):
            if file.ports not in (None, int(value)):
                raise file.refusal(
                    "{name}, line {line}: the file says {given} ports, but its name says {ports}; "
                    "check which file this is.",
                    line,
                    given=value,
                    ports=file.ports,
                )
            file.ports = int(value)
        case "number of frequencies" if re.fullmatch("[1-9][0-9]{0,8}", value):
            file.frequencies = int(value)
        case "matrix format" if lower in _FORMATS:
            file.matrix = lower
        case "two-port data order" if lower in _ORDERS:
            file.order = lower
        case "reference":
            file.reference = reference_values(Line(line, value), file.name) if value else []
            file.in_reference = True
        case "network data" | "number of noise frequencies":
            pass
        case "noise data":
            file.noise = True
        case "mixed-mode order":
            raise file.refusal(
                "{name}, line {line}: the file holds mixed-mode parameters; export the "
                "single-ended ones, from which labkit works out the modes itself.",
                line,
            )
        case _:
            raise file.refusal(words.KEYWORD, line, given=excerpt(f"[{word}] {value}"))


def _take_numbers(file: _File, line: int, text: str) -> None:
    if file.in_reference and len(file.reference) < (file.ports or 0):
        file.reference += reference_values(Line(line, text), file.name)
        return
    if file.noise:
        return
    if not file.points:
        _require_head(file, line, text)
    tokens = text.split()
    if not _NUMBERS.fullmatch(text):
        _require_numbers(file, tokens, line)
    begins = file.held in (0, file.size)
    if begins:
        _require_numbers(file, tokens[:1], line)
        if _begins_noise(file, tokens):
            file.noise = True
            return
        file.held, file.last = 0, float(tokens[0])
        file.points.append(line)
    file.held += len(tokens)
    if not _fits(file, len(tokens), begins):
        facts = {"count": len(tokens), "size": file.size, "ports": file.ports}
        raise file.refusal(
            "{name}, line {line}: {count} numbers do not fit here, as a point of {ports} "
            "ports has {size} with its frequency; check the number of ports in the file's "
            "name, and whether the file is whole.",
            line,
            **facts,
        )
    file.data.append(text)
    file.lines.append(line)


def _begins_noise(file: _File, tokens: list[str]) -> bool:
    """Noise of a version-1 two-port: five numbers a line, beginning where the frequency falls back."""
    fits = file.version == 1 and file.ports == 2 and len(tokens) == 5
    return fits and bool(file.points) and float(tokens[0]) <= file.last


def _require_head(file: _File, line: int, text: str) -> None:
    """What has to be known before the first number."""
    if file.options is None:
        raise file.refusal(
            "{name}, line {line}: '{given}' comes before any option line, such as # MHz S "
            "MA R 50; check whether this is a Touchstone file.",
            line,
            given=excerpt(text),
        )
    if file.ports is None:
        raise file.refusal(
            "{name}, line {line}: nothing says how many ports the file has; name it as it "
            "was exported, such as part.s2p, or give [Number of Ports] in version 2.",
            line,
        )
    if not 1 <= file.ports <= MOST_PORTS:
        raise file.refusal(
            "{name}, line {line}: {ports} ports are said, but 1 to {most} are taken; check the file's name.",
            line,
            ports=file.ports,
            most=MOST_PORTS,
        )
    if file.matrix != "full" and file.version == 1:
        raise file.refusal(words.KEYWORD, line, given=f"[matrix format] {file.matrix}")
    whole = file.ports**2 if file.matrix == "full" else file.ports * (file.ports + 1) // 2
    file.size = 1 + 2 * whole


def _require_numbers(file: _File, tokens: list[str], line: int) -> None:
    for token in tokens:
        if not _NUMBER.fullmatch(token):
            raise file.refusal(
                "{name}, line {line}: '{given}' is not a number with a decimal point; check "
                "what was exported.",
                line,
                given=excerpt(token),
            )


def _fits(file: _File, count: int, begins: bool) -> bool:
    """Whether a line can belong to its point: its only line up to two ports in version 1, else pairs."""
    if file.version == 1 and file.size <= 9:
        return count == file.size
    return file.held <= file.size and count % 2 == int(begins)


def _require_whole(file: _File, last: int) -> None:
    if not file.points:
        raise file.refusal(
            "{name}, line {line}: the file ends without a single point; export the sweep again.", last
        )
    if file.held != file.size:
        raise file.refusal(
            "{name}, line {line}: this point has {count} of {size} numbers, so the file was "
            "cut short; export it again.",
            file.points[-1],
            count=file.held,
            size=file.size,
        )
    if file.frequencies not in (None, len(file.points)):
        raise file.refusal(
            "{name}, line {line}: the file ends after {count} points, but says that it has "
            "{given}; export it again.",
            last,
            given=file.frequencies,
            count=len(file.points),
        )
    assert file.options
    assert file.ports
    if file.version == 2 and file.ports == 2 and file.order is None:
        raise file.refusal(
            "{name}, line {line}: a two-port file of version 2 has to say its [Two-Port "
            "Data Order]; export it again.",
            last,
        )
    values = file.reference or list(file.options.reference)
    file.reference = values * file.ports if len(values) == 1 else values
    if len(file.reference) != file.ports:
        raise file.refusal(
            "{name}, line {line}: {given} references were given for {ports} ports; one for "
            "all or one for each is taken.",
            last,
            given=len(values),
            ports=file.ports,
        )


def _read(file: _File) -> tuple[Floats, Complexes]:
    """Frequencies in Hz and matrices, by scikit-rf, from lines that are known to be whole.

    They are handed on as version 2, in which a falling frequency is not taken for the beginning of noise.
    """
    from skrf.io.touchstone import Touchstone

    assert file.options
    order = [f"[Two-Port Data Order] {file.order or '21_12'}"] if file.ports == 2 else []
    counts = [f"[Number of Ports] {file.ports}", *order, f"[Matrix Format] {_FORMATS[file.matrix]}"]
    head = ["[Version] 2.0", file.options.line(), *counts, "[Network Data]"]
    stream = io.StringIO("\n".join([*head, *_points(file)]))
    stream.name = "file.ts"
    with np.errstate(all="ignore"):  # what overflows is not finite, and refused by its frequency
        try:
            read = Touchstone(stream)
        except ValueError:
            _name_the_number(file)
            raise
    return read.f, read.s


def _name_the_number(file: _File) -> None:
    """Refuse the first number that cannot be read; whole lines were only looked through quickly."""
    for text, line in zip(file.data, file.lines, strict=True):
        _require_numbers(file, text.split(), line)


def _points(file: _File) -> Iterator[str]:
    """One line a point: what is wrapped after the frequency alone, scikit-rf would take for two points."""
    begins, rows = set(file.points), list[str]()
    for text, line in zip(file.data, file.lines, strict=True):
        if line in begins and rows:
            yield " ".join(rows)
            rows = []
        rows.append(text)
    yield " ".join(rows)


def _scattering(file: _File, values: Complexes) -> Complexes:
    from skrf import network

    assert file.options
    kind = file.options.parameter
    if kind == "s":
        return values
    if kind in "hg" and file.ports != 2:
        raise file.refusal(
            "{name}, line {line}: {kind} parameters belong to two ports, but the file has "
            "{ports}; export S parameters.",
            file.points[0],
            kind=kind.upper(),
            ports=file.ports,
        )
    if file.version == 1 and len(set(file.reference)) > 1:
        raise file.refusal(
            "{name}, line {line}: {kind} parameters relative to a reference that differs "
            "between ports have no plain meaning; export S parameters.",
            file.points[0],
            kind=kind.upper(),
        )
    ports = len(file.reference)
    reference = np.ones(ports) if file.version == 1 else np.array(file.reference)
    try:
        with np.errstate(all="ignore"):
            converted: Complexes = getattr(network, f"{kind}2s")(values, reference.astype(complex))
    except np.linalg.LinAlgError:
        raise file.refusal(
            "{name}, line {line}: the {kind} parameters cannot be turned into S parameters; "
            "export S parameters.",
            file.points[0],
            kind=kind.upper(),
        ) from None
    return converted
