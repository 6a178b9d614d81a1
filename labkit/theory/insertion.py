"""Insertion loss: how much less reaches the load with a filter in place than without it.

    IL = 20 log10 |V20 / V2|,   V20, V2 voltage across the load without and with the filter

In common mode both lines are tied at either side and driven against ground; in differential mode source and
load stand between the lines, and ground floats with them. The circuits are solved whole (`theory.elements`);
for one element alone that is 1 + Z/(Zs + ZL) in series and 1 + Zs ZL/((Zs + ZL) Z) in shunt.

Symbols: Zs, ZL impedance of source and load (Ω) · f frequency (Hz).
Source: CISPR 17:2011 (EN 55017:2011) for the definition, the symmetrical and asymmetrical circuits, 50/50 Ω
and the approximate worst case 0.1/100 and 100/0.1 Ω (read in secondary sources); CISPR 16-1-2 for the
network (values of its elements from memory).
"""

from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from labkit.arrays import Complexes, Floats
from labkit.errors import EntryError
from labkit.theory.modes import Mode, Part, far_ends, mode_called, tying
from labkit.theory.nodes import GROUND, Element, between, port_impedances
from labkit.theory.number import Number
from labkit.words import choke as words

Impedance: TypeAlias = float | Callable[[Floats], Complexes]
"""In Ω: one resistance, or a function from frequency (F,) in Hz to impedance (F,)."""


def loss(V20: Number, V2: Number) -> Number:
    """Insertion loss in dB of two voltages across the load, without and with the filter."""
    return 20 * np.log10(np.abs(np.asarray(V20) / np.asarray(V2)))


def series_loss(Z: Number, source: Number, load: Number) -> Number:
    """Insertion loss in dB of an impedance Z (Ω) in series: 20 log10 |1 + Z/(Zs + ZL)|.

    >>> float(series_loss(1j * 2 * np.pi * 150e3 * 10e-3, 50, 50).round(4))
    39.4859
    """
    return loss(1 + Z / (source + load), 1)


def shunt_loss(Z: Number, source: Number, load: Number) -> Number:
    """Insertion loss in dB of an impedance Z (Ω) across the load: 20 log10 |1 + Zs ZL/((Zs + ZL) Z)|."""
    return loss(1 + source * load / ((source + load) * Z), 1)


def artificial_network(
    frequency: npt.ArrayLike, series_resistance: float = 0.0, inductance: float = 50e-6
) -> Complexes:
    """Impedance of one line of the artificial mains network against ground, in Ω: 50 Ω beside 50 µH.

    Parameters
    ----------
    frequency : (F,), in Hz
    series_resistance : in Ω, in series with the inductance: 5 for the network from 9 kHz up, else 0
    inductance : in H

    >>> abs(artificial_network(150e3)).round(2)
    array([34.29])
    """
    f = np.atleast_1d(np.asarray(frequency, dtype=np.float64))
    other = series_resistance + 2j * np.pi * f * inductance
    return np.asarray(50 * other / (50 + other))


@dataclass(frozen=True)
class Termination:
    """What a filter stands between: impedances of source and load, and how the two are called."""

    name: str
    source: Impedance
    load: Impedance

    def at(self, frequency: Floats) -> tuple[Complexes, Complexes]:
        """Source and load at frequencies in Hz, each of shape (F,), in Ω; EntryError for zero or less."""
        source, load = _impedance(self.source, frequency), _impedance(self.load, frequency)
        for given in (source, load):
            if not np.all(np.isfinite(given)) or np.any(given.real < 0) or np.any(given == 0):
                raise EntryError(
                    f"Source and load of '{self.name}' need impedances above zero; an ideal source "
                    "or short has no insertion loss to tell.",
                    self.name,
                )
        return source, load

    @classmethod
    def of(cls, source: float, load: float) -> "Termination":
        """Two resistances in Ω."""
        return cls(words.BETWEEN.format(source=source, load=load), source, load)


def _impedance(given: Impedance, frequency: Floats) -> Complexes:
    values = given(frequency) if callable(given) else given
    return np.broadcast_to(np.asarray(values, dtype=np.complex128), frequency.shape)


CISPR_17: tuple[Termination, ...] = (
    Termination.of(50, 50),
    Termination.of(0.1, 100),
    Termination.of(100, 0.1),
)
"""The reference, and the two that together come near the worst case."""

NETWORK_RESISTANCE = {Mode.COMMON: 25.0, Mode.DIFFERENTIAL: 100.0}
"""What two lines of 50 Ω are in each mode, in Ω: side by side, and one after the other."""


def nominal_network(mode: Mode | str) -> Termination:
    """The artificial network as a resistance on both sides: 25 Ω in common, 100 Ω in differential mode."""
    resistance = NETWORK_RESISTANCE[mode_called(mode)]
    return Termination(words.NETWORK.format(resistance=resistance), resistance, resistance)


def against_network(mode: Mode | str, source: float, series_resistance: float = 0.0) -> Termination:
    """A source resistance (Ω) against the impedance of the artificial network in a mode.

    Half the impedance of a line in common mode, twice that in differential mode; `series_resistance` as for
    `artificial_network`.
    """
    share = {Mode.COMMON: 0.5, Mode.DIFFERENTIAL: 2.0}[mode_called(mode)]
    name = words.REAL_NETWORK_5 if series_resistance else words.REAL_NETWORK
    return Termination(
        name.format(source=source, resistance=series_resistance),
        source,
        lambda f: share * artificial_network(f, series_resistance),
    )


@dataclass(frozen=True)
class Capacitor:
    """A capacitor: C in F above zero, and in series with it R in Ω and L in H (its leads)."""

    C: float
    R: float = 0.0
    L: float = 0.0

    def __post_init__(self) -> None:
        sizes = (self.C, self.R, self.L)
        if not all(np.isfinite(size) and size >= 0 for size in sizes) or self.C == 0:
            raise EntryError(
                f"C = {self.C} F, R = {self.R} Ω, L = {self.L} H is no capacitor; C must be "
                "above zero, R and L zero or more.",
                str(self.C),
            )

    def admittance(self, frequency: Floats) -> Complexes:
        """jωC/(1 - ω²LC + jωRC), shape (F,), in S."""
        jw = 2j * np.pi * frequency
        return np.asarray(jw * self.C / (1 + jw * self.C * (self.R + jw * self.L)))


@dataclass(frozen=True, eq=False)
class Filter:
    """A choke with capacitors; where each one sits is chosen, and those left out are not there.

    Attributes
    ----------
    part : the choke; the lines come in at its dotted ends, on the side of the source
    x_source, x_load : between any two lines, on the side of the source or of the load
    y_source, y_load : from each line to ground, one of these for every line
    """

    part: Part
    x_source: Capacitor | None = None
    x_load: Capacitor | None = None
    y_source: Capacitor | None = None
    y_load: Capacitor | None = None

    @property
    def has_capacitors(self) -> bool:
        """Whether there is more than the choke."""
        return any(getattr(self, field.name) for field in fields(self) if field.name != "part")

    def elements(self, frequency: Floats) -> list[Element]:
        """The filter's equations between its terminals and ground."""
        found = list(self.part.elements(frequency))
        sides = (
            (self.part.dots, self.x_source, self.y_source),
            (far_ends(self.part.dots), self.x_load, self.y_load),
        )
        for ends, x, y in sides:
            lines = [str(end) for end in ends]
            pairs = [(a, b) for i, a in enumerate(lines) for b in lines[i + 1 :]]
            found += [between(*pair, x.admittance(frequency), frequency) for pair in pairs if x]
            found += [between(line, GROUND, y.admittance(frequency), frequency) for line in lines if y]
        return found


@dataclass(frozen=True, eq=False)
class Reduced:
    """All that source and load see of a filter in one mode, from one solution of its circuit.

    Attributes
    ----------
    frequency : (F,), in Hz
    T : (F, 2, 2), in Ω: voltages at source and load for unit currents there, with `REFERENCE` across each
    """

    frequency: Floats
    T: Complexes

    def loss(self, termination: Termination) -> Floats:
        """Insertion loss between a source and a load, shape (F,), in dB.

        With D what the load's and the source's admittance are above that of the reference,
        V2/I = T21/((1 + T11 D1)(1 + T22 D2) - T12 T21 D1 D2).
        """
        source, load = termination.at(self.frequency)
        D1, D2 = 1 / source - 1 / REFERENCE, 1 / load - 1 / REFERENCE
        (T11, T12), (T21, T22) = self.T.transpose(1, 2, 0)
        V2 = T21 / ((1 + T11 * D1) * (1 + T22 * D2) - T12 * T21 * D1 * D2) / source  # 1 V behind the source
        return np.asarray(loss(load / (source + load), V2))


REFERENCE = 50.0  # Ω, across both ends while the circuit is solved: then there is always a solution


def reduced(
    filter: Filter, mode: Mode | str, frequency: npt.ArrayLike, lines: tuple[int, int] = (1, 2)
) -> Reduced:
    """A filter in a mode, ready for any source and load; arguments as for `insertion_loss`."""
    f = np.atleast_1d(np.asarray(frequency, dtype=np.float64))
    ends = _ends(filter.part, mode, lines)
    elements = [element.renamed(ends.names) for element in filter.elements(f)]
    elements += [between(*end, 1 / REFERENCE, f) for end in (ends.source, ends.load)]
    return Reduced(f, port_impedances(elements, [ends.source, ends.load]))


def insertion_loss(
    filter: Filter,
    mode: Mode | str,
    termination: Termination,
    frequency: npt.ArrayLike,
    lines: tuple[int, int] = (1, 2),
) -> Floats:
    """Insertion loss of a filter in a mode between a source and a load, shape (F,), in dB.

    Parameters
    ----------
    filter : Filter
    mode : Mode or its name
    termination : Termination
    frequency : (F,), in Hz, above zero
    lines : the two lines of the differential mode; others are left open

    Raises
    ------
    EntryError
    """
    return reduced(filter, mode, frequency, lines).loss(termination)


@dataclass(frozen=True)
class _Ends:
    """The nodes that source and load stand between, and the names of the terminals that are tied."""

    source: tuple[str, str]
    load: tuple[str, str]
    names: dict[str, str]


def _ends(part: Part, mode: Mode | str, lines: tuple[int, int]) -> _Ends:
    wiring = tying(mode, part.dots, lines)
    if mode_called(mode) is Mode.DIFFERENTIAL:
        (out, back), (far,) = wiring.clips, wiring.ties
        return _Ends((str(out), str(back)), (str(far[0]), str(far[1])), {})
    near, far = wiring.ties
    names = {str(t): side for side, ends in (("near", near), ("far", far)) for t in ends}
    return _Ends(("near", GROUND), ("far", GROUND), names)
