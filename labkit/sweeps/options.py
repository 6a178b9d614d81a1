"""The option line of a Touchstone file: `# <unit> <parameter> <format> R <reference>`, in any order.

What is left out is GHz, S, MA, R 50; version 1.1 takes one reference for each port. (Touchstone File Format
Specification, versions 1.1 and 2.1, "Option Line".)
"""

import math
from dataclasses import dataclass
from typing import Any

from labkit.errors import SweepError
from labkit.sweeps.text import Line, excerpt
from labkit.words import sweeps as words

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
