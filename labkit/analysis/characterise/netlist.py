"""A choke as a subcircuit in plain SPICE syntax: R, L, C and linear controlled sources, nothing else.

Each winding is its resistance, its leakage inductance and a voltage source n·v_core; an ammeter (a source of
0 V) lets a current source feed n times the winding's current into the core, which is an inductance and, for
one relaxation at f_r, the resistance 2π f_r L beside it. No coupled inductors: k close to 1 costs no digits,
and every simulator knows these elements.

Source: `labkit.theory.choke`; ngspice and the model give the same impedances in tests.
"""

import math
import re
from collections.abc import Iterator

from labkit import __version__
from labkit.errors import EntryError
from labkit.theory.choke import Choke
from labkit.theory.modes import capacitances
from labkit.theory.wiring import terminals
from labkit.words import netlist as words


def netlist(choke: Choke, name: str = "choke", made: str = "") -> str:
    """The subcircuit as text, to be kept in a file and included by a simulator.

    Parameters
    ----------
    choke : Choke
        Such as a fitted one.
    name : of the subcircuit: a letter, then letters, digits, underscores.
    made : how the values were found, in words; every line of it becomes a comment.

    Returns
    -------
    str
        Terminals in the order 1a 1b 2a 2b …; values with all their digits.

    Raises
    ------
    EntryError

    Examples
    --------
    >>> text = netlist(Choke(R=(0.1, 0.1), leakage=(12e-6, 12e-6), core=10e-3), made="invented")
    >>> print(text.splitlines()[4])
    .subckt choke 1a 1b 2a 2b
    """
    if not re.fullmatch(r"[A-Za-z][A-Za-z0-9_]*", name):
        raise EntryError(words.NAME.format(given=name), name)
    head = (
        words.HEAD.format(name=name, windings=choke.windings),
        words.UNITS.format(version=__version__),
        words.HOLDS,
        *made.splitlines(),
    )
    ends = " ".join(map(str, terminals(choke.windings)))
    body = (*_windings(choke), *_core(choke), *_capacitances(choke))
    comments = (f"* {line}" for line in head)
    return "\n".join([*comments, f".subckt {name} {ends}", *body, f".ends {name}", ""])


def _windings(choke: Choke) -> Iterator[str]:
    assert choke.turns is not None
    for w, (R, L, n) in enumerate(zip(choke.R, choke.leakage, choke.turns, strict=True), 1):
        yield f"* {words.WINDING.format(number=w)}"
        here = f"{w}a"
        for letter, value in (("R", R), ("L", L)):
            if value:  # an element of nothing is a wire, which simulators dislike as an element
                yield f"{letter}{w} {here} {w}{letter.lower()} {float(value)!r}"
                here = f"{w}{letter.lower()}"
        yield f"E{w} {here} {w}v core 0 {float(n)!r}"
        yield f"V{w} {w}v {w}b 0"
        yield f"F{w} 0 core V{w} {float(n)!r}"


def _core(choke: Choke) -> Iterator[str]:
    yield f"* {words.CORE}"
    yield f"Lcore core 0 {float(choke.core)!r}"
    if choke.relaxation is not None:
        yield f"* {words.CORE_LOSS.format(relaxation=choke.relaxation)}"
        yield f"Rcore core 0 {2 * math.pi * choke.relaxation * choke.core!r}"


def _capacitances(choke: Choke) -> Iterator[str]:
    found = capacitances(choke)
    if found:
        yield f"* {words.CAPACITANCE}"
    for first, second, C in found:
        yield f"C{first}{second} {first} {second} {C!r}"
