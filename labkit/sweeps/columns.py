"""The columns of a table of impedances: what a heading names, in which unit, what two of them amount to.

A heading is a name with its unit, in one of the usual forms: `f/kHz`, `Frequency (Hz)`, `|Z| [kΩ]`,
`phase in °`, `Ls_mH`. Q and D have no unit; everything else must state one. A bare `L` or `C` is asked: it
may mean the series or the parallel equivalent.

Symbols: f frequency (Hz) · ω = 2πf · R + jX impedance (Ω) · G + jB admittance (S) ·
Q quality factor · D = 1/Q.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from labkit.errors import SweepError
from labkit.quantity.kinds import KINDS, PREFIXES, accepted_units, spelled
from labkit.sweeps.sweep import Complexes, Floats
from labkit.sweeps.text import excerpt
from labkit.words import sweeps as words

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
