"""Sweeps of a choke that does not exist, as files that an instrument would write.

Everything is computed from one `Choke`, so that impedances, hook-ups and ports agree with each other; then
the fixture, one gain error for the whole instrument and noise for each point are put on it, all from the
seed. Each file says in its first line that it is invented, and how.

Symbols: Z impedance (Ω) · S scattering parameters.
"""

import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from labkit.sweeps.sweep import Complexes, Decimal, Floats
from labkit.theory.choke import Choke
from labkit.words import sweeps as words

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
        return words.INVENTED.format(**facts)

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
