"""Sweeps of a choke that does not exist, as files that an instrument would write.

Everything is computed from one `Choke`, so that impedances, hook-ups and ports agree with each other; then
the fixture, one gain error for the whole instrument and noise for each point are put on it, all from the
seed. Each file says in its first line that it is invented, and how.

Symbols: Z impedance (Ω) · S scattering parameters.
"""

import math
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

from labkit import quantity
from labkit.arrays import Complexes, Floats
from labkit.errors import CardError
from labkit.record.card import Card, Gain, Range
from labkit.sweeps.sweep import Decimal
from labkit.theory.choke import Choke
from labkit.theory.circuit import series_inductance
from labkit.theory.network import Matrix, input_impedance, input_inductance
from labkit.theory.wiring import Wiring
from labkit.words import record as words
from labkit.words import sweeps as sweeps_words

# A bench without a bench: a known pair, a meter with a card, a seed, and mistakes if wanted.
#
# Demo records, tests, practice benches and simulation studies all come from here, so that the truth behind
# the readings is known. Every error is drawn once for each named component of the card (`Card.terms`):
# readings on one range share their gain, repeats share their digits, and the order of the readings changes
# nothing.


@dataclass(frozen=True)
class BuiltInstead:
    """A mistake: wherever `intended` should have been built, `built` was."""

    intended: str
    built: str


@dataclass(frozen=True)
class PrefixSlip:
    """A mistake: the reading at this wiring is written down with its prefix 10^`exponent` off (-3, 3, 6)."""

    wiring: str
    exponent: int = 3


Fault = BuiltInstead | PrefixSlip


@dataclass(frozen=True)
class VirtualBench:
    """What a meter would show of known windings.

    Parameters
    ----------
    L : inductance matrix in H, currents from end a to end b of each winding
    card : the meter's card; its limits bound the errors
    seed : all draws come from it
    frequency : test frequency as shown
    gain : "shared" draws one gain a range, "independent" one a wiring
    scatter : largest random part of one reading, in counts of the display; it is new for each repeat
    lead_inductance : in H, in series with every wiring
    R, C : winding resistances (Ω) and self-capacitances (F), None for ideal windings
    faults : mistakes to make
    """

    L: Matrix
    card: Card
    seed: int
    frequency: str = "10 kHz"
    gain: Gain = "shared"
    scatter: float = 0.0
    lead_inductance: float = 0.0
    R: Sequence[float] | None = None
    C: Sequence[float] | None = None
    faults: Sequence[Fault] = field(default=())

    def true_inductance(self, wiring: str) -> float:
        """Series-equivalent inductance of what was really built, leads included, in H."""
        built = self._built(wiring)
        if self.R is None and self.C is None:
            return float(input_inductance(self.L, built, self.lead_inductance))
        f = quantity.parse(self.frequency, "frequency").value
        Z = input_impedance(self.L, built, f, self.R, self.C, 2j * math.pi * f * self.lead_inductance)
        return float(series_inductance(Z, f))

    def shown(self, wiring: str, repeat: int = 1) -> str:
        """What is written down for a wiring: the display with its errors, rounding and slips.

        Raises
        ------
        CardError
            if the meter has no range for it (an open circuit, say).
        """
        true = self.true_inductance(wiring)
        on = self._range(true)
        indicated = true * (1 + on.percent / 100 * self._error("gain", self._scope(on, wiring)))
        indicated += on.digits * on.count * self._error("digits", self._key(wiring))
        indicated += self.scatter * on.count * self._error("repeat", f"{self._key(wiring)} #{repeat}")
        return self._written(on, indicated, wiring)

    def _built(self, wiring: str) -> Wiring:
        for fault in self.faults:
            if isinstance(fault, BuiltInstead) and self._same(fault.intended, wiring):
                return Wiring.parse(fault.built)
        return Wiring.parse(wiring)

    def _same(self, one: str, other: str) -> bool:
        windings = len(self.L)
        return Wiring.parse(one).canonical(windings) == Wiring.parse(other).canonical(windings)

    def _key(self, wiring: str) -> str:
        return Wiring.parse(wiring).canonical(len(self.L)).notation

    def _scope(self, on: Range, wiring: str) -> str:
        return on.name if self.gain == "shared" else self._key(wiring)

    def _error(self, label: str, scope: str) -> float:
        """One draw from -1 to 1 that belongs to this label and scope, whatever was drawn before."""
        rng = np.random.default_rng([self.seed, zlib.crc32(f"{label} {scope}".encode())])
        return float(rng.uniform(-1, 1))

    def _range(self, value: float) -> Range:
        at = quantity.parse(self.frequency, "frequency")
        fitting = [
            r
            for r in self.card.ranges
            if r.quantity == "inductance" and r.serves(at.value) and self._most(r, value) <= r.full_scale
        ]
        if not fitting:
            shown = quantity.display(value)
            covered = ", ".join(r.name for r in self.card.ranges)
            raise CardError(
                words.NO_RANGE.format(
                    card=self.card.id, shown=shown, frequency=self.frequency, covered=covered
                )
            )
        return min(fitting, key=lambda r: r.full_scale)

    def _most(self, on: Range, value: float) -> float:
        """The largest indication that the errors allow."""
        return abs(value) + on.limit(value) + self.scatter * on.count

    def _written(self, on: Range, indicated: float, wiring: str) -> str:
        shown = on.display(indicated)
        unit = shown.unit
        for fault in self.faults:
            if isinstance(fault, PrefixSlip) and self._same(fault.wiring, wiring):
                unit = _slipped(unit, fault.exponent)
        return f"{shown.digits} {unit}"


def _slipped(unit: str, exponent: int) -> str:
    units = quantity.accepted_units("inductance")
    return units[units.index(unit) + exponent // 3]


Columns = Literal["real-imaginary", "magnitude-phase", "series"]
PORTS = ("1a", "2a", "1b", "2b")
REFERENCE = 50.0

_HEADINGS = {
    "real-imaginary": "f/Hz;R/Ω;X/Ω",
    "magnitude-phase": "f/Hz;|Z|/Ω;phase/°",
    "series": "f/Hz;Ls/H;Rs/Ω",
}


@dataclass(frozen=True)
class Fixture:
    """A fixture that is a ladder: R (Ω) and L (H) in series, then G (S) and C (F) across the part."""

    R: float = 0.0
    L: float = 0.0
    G: float = 0.0
    C: float = 0.0

    def series(self, frequency: Floats) -> Complexes:
        """What a short in the fixture shows, shape (F,), in Ω."""
        return np.asarray(self.R + 2j * np.pi * frequency * self.L)

    def across(self, frequency: Floats) -> Complexes:
        """Admittance across the part, shape (F,), in S."""
        return np.asarray(self.G + 2j * np.pi * frequency * self.C)

    def seen(self, Z: Complexes, frequency: Floats) -> Complexes:
        """What the fixture makes of an impedance, shape (F,), in Ω."""
        return self.series(frequency) + 1 / (self.across(frequency) + 1 / Z)


@dataclass(frozen=True, eq=False)
class VirtualSweep:
    """An instrument that sweeps a known choke.

    Parameters
    ----------
    choke : the truth
    frequency : (F,), in Hz
    seed : all draws come from it
    noise : standard deviation of the real and of the imaginary part of each point, relative to |Z| in tables;
        absolute in scattering parameters
    gain : limit of one relative gain error, which all sweeps of this instrument share
    fixture : which tables are measured in; None for an ideal one
    """

    choke: Choke
    frequency: Floats
    seed: int
    noise: float = 0.0
    gain: float = 0.0
    fixture: Fixture | None = None

    @property
    def accuracy(self) -> str:
        """A limit that holds for the gain error and three standard deviations of the noise: "0.35 %"."""
        return f"{100 * (self.gain + 3 * self.noise):.6g} %"

    def impedance(self, wiring: str) -> Complexes:
        """What is really between the clips, shape (F,), in Ω."""
        return self.choke.impedance(wiring, self.frequency)

    def table(
        self, wiring: str, columns: Columns = "real-imaginary", *, decimal: Decimal = ".", repeat: int = 1
    ) -> bytes:
        """A table of the impedance of a wiring as measured in the fixture."""
        Z = self.impedance(wiring)
        seen = self.fixture.seen(Z, self.frequency) if self.fixture else Z
        return self._table(seen, wiring, columns, decimal, repeat)

    def open_table(self, columns: Columns = "real-imaginary", *, decimal: Decimal = ".") -> bytes:
        """A table of the open fixture, which must have an admittance."""
        fixture = self.fixture or Fixture()
        return self._table(fixture.seen(np.array(np.inf), self.frequency), "open", columns, decimal, 1)

    def short_table(self, columns: Columns = "real-imaginary", *, decimal: Decimal = ".") -> bytes:
        """A table of the shorted fixture."""
        fixture = self.fixture or Fixture()
        return self._table(fixture.series(self.frequency), "short", columns, decimal, 1)

    def reflection(self, wiring: str) -> bytes:
        """A one-port Touchstone file (`.s1p`) of a wiring between the port and ground."""
        Z = self.impedance(wiring)
        return self._touchstone(((Z - REFERENCE) / (Z + REFERENCE))[:, None, None], wiring)

    def series_through(self, wiring: str) -> bytes:
        """A two-port Touchstone file (`.s2p`) of a wiring between the two ports."""
        Z = self.impedance(wiring)
        passes, back = 2 * REFERENCE / (2 * REFERENCE + Z), Z / (2 * REFERENCE + Z)
        return self._touchstone(_symmetric(back, passes), f"series {wiring}")

    def shunt_through(self, wiring: str) -> bytes:
        """A two-port Touchstone file (`.s2p`) of a wiring from the through line to ground."""
        Z = self.impedance(wiring)
        passes, back = 2 * Z / (2 * Z + REFERENCE), -REFERENCE / (2 * Z + REFERENCE)
        return self._touchstone(_symmetric(back, passes), f"shunt {wiring}")

    def four_port(self, ports: Sequence[str] = PORTS) -> bytes:
        """A four-port Touchstone file (`.s4p`): each port between a terminal and ground."""
        return self._touchstone(self.choke.scattering(self.frequency, ports, REFERENCE), " ".join(ports))

    def _table(self, Z: Complexes, what: str, columns: Columns, decimal: Decimal, repeat: int) -> bytes:
        shape = self.frequency.shape
        measured = Z * (1 + self._gain()) * (1 + self.noise * self._noise(f"{what} #{repeat}", shape))
        first, second = {
            "real-imaginary": (measured.real, measured.imag),
            "magnitude-phase": (np.abs(measured), np.degrees(np.angle(measured))),
            "series": (measured.imag / (2 * np.pi * self.frequency), measured.real),
        }[columns]
        rows = [f"{f:.12g};{a:.9g};{b:.9g}" for f, a, b in zip(self.frequency, first, second, strict=True)]
        text = "\n".join(rows).replace(".", decimal)
        return f"# {self._origin()}\n{_HEADINGS[columns]}\n{text}\n".encode()

    def _touchstone(self, S: Complexes, what: str) -> bytes:
        measured = S * (1 + self._gain()) + self.noise * self._noise(what, S.shape)
        ports = S.shape[1]
        ordered = measured.transpose(0, 2, 1) if ports == 2 else measured
        rows = [f"{f:.12g} {_matrix(m, ports)}" for f, m in zip(self.frequency, ordered, strict=True)]
        return "\n".join([f"! {self._origin()}", f"# Hz S RI R {REFERENCE:g}", *rows, ""]).encode()

    def _origin(self) -> str:
        facts = {"seed": self.seed, "noise": f"{self.noise:.6g}", "gain": f"{self.gain:.6g}"}
        return sweeps_words.INVENTED.format(**facts)

    def _gain(self) -> float:
        return self.gain * float(self._rng("gain").uniform(-1, 1))

    def _noise(self, what: str, shape: tuple[int, ...]) -> npt.NDArray[np.complex128]:
        """One draw for each point, which belongs to this label, whatever was drawn before."""
        real, imaginary = self._rng(what).normal(size=(2, *shape))
        return np.asarray(real + 1j * imaginary)

    def _rng(self, label: str) -> np.random.Generator:
        return np.random.default_rng([self.seed, zlib.crc32(label.encode())])


def _symmetric(back: Complexes, passes: Complexes) -> Complexes:
    """Matrices of a two-port that looks the same from both sides, shape (F, 2, 2)."""
    return np.moveaxis(np.array([[back, passes], [passes, back]]), -1, 0)


def _matrix(S: Complexes, ports: int) -> str:
    """One point's matrix: on one line up to two ports, else a line for each row."""
    rows = [" ".join(f"{s.real:.9g} {s.imag:.9g}" for s in row) for row in S]
    return (" " if ports <= 2 else "\n").join(rows)
