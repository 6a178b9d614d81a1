"""What a sweep is: complex values at ascending frequencies.

Symbols: f frequency (Hz) · Z impedance (Ω) · S scattering parameters · Z0 reference impedance of a port (Ω).
Whether the values can belong to a passive part is told, not decided here: see `labkit.sweeps.checks`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from labkit.errors import SweepError
from labkit.words import sweeps as words

Floats = npt.NDArray[np.float64]
Complexes = npt.NDArray[np.complex128]
Decimal = Literal[".", ","]


@dataclass(frozen=True, eq=False)
class Impedance:
    """Impedance of one port against frequency.

    Parameters
    ----------
    frequency : array of shape (F,), in Hz
        above zero and strictly ascending, at least one.
    Z : array of shape (F,), complex, in Ω

    Raises
    ------
    SweepError
        with the first frequency that does not fit; neither array is sorted, thinned or filled up.

    >>> Impedance([1e3, 1e4], [6 + 63j, 6.1 + 628j]).reactance
    array([ 63., 628.])
    """

    frequency: Floats
    Z: Complexes

    def __post_init__(self) -> None:
        f, Z = _kept(self.frequency, np.float64), _kept(self.Z, np.complex128)
        require_ascending(f)
        _require_shape("Z", Z, f.shape)
        _require_finite("Z", Z, f)
        object.__setattr__(self, "frequency", f)
        object.__setattr__(self, "Z", Z)

    def __len__(self) -> int:
        return len(self.frequency)

    @property
    def omega(self) -> Floats:
        """Angular frequency, shape (F,), in 1/s."""
        return 2 * np.pi * self.frequency

    @property
    def resistance(self) -> Floats:
        """Real part, the series-equivalent resistance, shape (F,), in Ω."""
        return self.Z.real

    @property
    def reactance(self) -> Floats:
        """Imaginary part, shape (F,), in Ω."""
        return self.Z.imag


@dataclass(frozen=True, eq=False)
class Scattering:
    """Scattering parameters of an N-port against frequency, for travelling waves at real references.

    Parameters
    ----------
    frequency : array of shape (F,), in Hz
        above zero and strictly ascending, at least one.
    S : array of shape (F, N, N), complex
        S[:, i, j] from port j+1 to port i+1.
    reference : array of shape (N,), in Ω
        above zero, one for each port.

    Raises
    ------
    SweepError
        with the first frequency that does not fit.

    >>> Scattering([1e6], [[[0.5, 0.5], [0.5, 0.5]]], [50, 50]).ports
    2
    """

    frequency: Floats
    S: Complexes
    reference: Floats

    def __post_init__(self) -> None:
        f, S = _kept(self.frequency, np.float64), _kept(self.S, np.complex128)
        reference = _kept(self.reference, np.float64)
        require_ascending(f)
        if reference.ndim != 1 or not len(reference) or not np.all((reference > 0) & np.isfinite(reference)):
            raise SweepError(words.REFERENCE.format(given=reference.tolist()))
        _require_shape("S", S, (len(f), len(reference), len(reference)))
        _require_finite("S", S, f)
        for name, values in (("frequency", f), ("S", S), ("reference", reference)):
            object.__setattr__(self, name, values)

    def __len__(self) -> int:
        return len(self.frequency)

    @property
    def ports(self) -> int:
        """How many ports."""
        return len(self.reference)


def require_ascending(frequency: Floats, lines: Sequence[int] | None = None, file: str = "") -> None:
    """Refuse frequencies that are not above zero and strictly ascending.

    Parameters
    ----------
    frequency : in Hz
    lines, file : where each point stands, for the sentence; without them points are counted from 1

    Raises
    ------
    SweepError
        naming the first one that does not fit.
    """
    if frequency.ndim != 1 or not len(frequency):
        raise SweepError(words.NO_FREQUENCIES.format(shape=frequency.shape))
    wrong = ~(np.isfinite(frequency) & (frequency > 0))
    wrong[1:] |= np.diff(frequency) <= 0
    if not wrong.any():
        return
    index = int(np.argmax(wrong))
    f, before = float(frequency[index]), float(frequency[max(index - 1, 0)])
    if not (np.isfinite(f) and f > 0):
        sentence = words.NOT_ABOVE_ZERO
    else:
        sentence = words.TWICE if f == before else words.FALLS
    line = lines[index] if lines is not None else None
    where = words.AT_LINE if lines is not None else words.AT_POINT
    facts = {"where": where.format(name=file, line=line, point=index + 1), "before": hertz(before)}
    raise SweepError(sentence.format(given=hertz(f), **facts), line=line, frequency=f)


def hertz(frequency: float) -> str:
    """A frequency inside a sentence, with all digits that tell it from its neighbours.

    >>> hertz(10_500.0)
    '10.5 kHz'
    """
    for unit, size in (("GHz", 1e9), ("MHz", 1e6), ("kHz", 1e3)):
        if abs(frequency) >= size:
            return f"{frequency / size:.12g} {unit}"
    return f"{frequency:.12g} Hz"


def _kept(values: Any, kind: type[np.generic]) -> Any:
    """A copy of its own that nobody can change afterwards."""
    array = np.array(values, dtype=kind)
    array.setflags(write=False)
    return array


def _require_shape(name: str, values: Complexes, shape: tuple[int, ...]) -> None:
    if values.shape != shape:
        raise SweepError(words.SHAPE.format(name=name, given=values.shape, needed=shape))


def _require_finite(name: str, values: Complexes, frequency: Floats) -> None:
    whole = np.isfinite(values).reshape(len(frequency), -1).all(axis=1)
    for index in np.flatnonzero(~whole)[:1]:
        f = float(frequency[index])
        raise SweepError(words.NOT_FINITE.format(name=name, frequency=hertz(f)), frequency=f)
