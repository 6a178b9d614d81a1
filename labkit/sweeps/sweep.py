"""What a sweep is: complex values at ascending frequencies.

Symbols: f frequency (Hz) · Z impedance (Ω) · S scattering parameters · Z0 reference impedance of a port (Ω).
Whether the values can belong to a passive part is told, not decided here: see `labkit.sweeps.sweep`.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from labkit.arrays import Complexes, Floats
from labkit.errors import SweepError
from labkit.words import sweeps as words

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
            raise SweepError(
                f"Reference impedances {reference.tolist()} were given, but each port needs one "
                "above zero in Ω."
            )
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
        raise SweepError(
            f"Frequencies of shape {frequency.shape} were given, but a sweep is a row of at "
            "least one frequency; check the data."
        )
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
        raise SweepError(
            f"{name} has the shape {values.shape}, but {shape} is needed for these "
            "frequencies and ports; check the data."
        )


def _require_finite(name: str, values: Complexes, frequency: Floats) -> None:
    whole = np.isfinite(values).reshape(len(frequency), -1).all(axis=1)
    for index in np.flatnonzero(~whole)[:1]:
        f = float(frequency[index])
        raise SweepError(
            f"{name} is not a finite number at {hertz(f)}; check what was exported there.", frequency=f
        )


# Whether swept values can belong to a passive part, and whether a four-port's ports are those that are
# said.
#
# Passive. The power that a part takes in cannot be negative: Re Z ≥ 0, and no singular value of S is above
# 1. A stated accuracy a (relative to |Z|) allows Re Z ≥ -a |Z| and singular values up to 1 + a; without one
# only the rounding of the file's digits is allowed. (Power waves at real references; Pozar, Microwave
# Engineering, section 4.3: MEMORY.)
#
# Ports. A winding that floats carries the same current in at one end and out at the other, so a voltage
# that is common to its two ends drives none, and the waves come back as they went in: S v = v for v = 1 at
# the two ports of one winding. Capacitance spoils that as frequency rises, so the lowest frequency decides.
# Of all ways to pair the ports, the one that is said must not be clearly worse than the best. Which end is
# a then follows from the dots, if they are known: V = Z I between the windings has Im Z12 of the sign of M.
# Which of two windings is which, nothing tells.

ROUNDING = 1e-6
"""Excess that the rounding of a file's digits can explain."""

CLEARLY = 2.0
"""How many times smaller the best pairing's misfit must be before the one said is called wrong."""

COUPLED = 0.1
"""Coupling from which the sign of the mutual inductance is taken for told."""

OHM, HERTZ = (1e-12, 1e15), (1e-6, 1e15)
"""Between these lies what any instrument shows."""

Pairing = tuple[tuple[int, int], ...]


def require_shown(sweep: Impedance, file: str) -> None:
    """Refuse |Z| or a frequency that no instrument shows, such as a column of zeros."""
    size, f = np.abs(sweep.Z), sweep.frequency
    odd = ~((size > OHM[0]) & (size < OHM[1]) & (f > HERTZ[0]) & (f < HERTZ[1]))
    if odd.any():
        facts = {"file": file, "size": f"{size[odd][0]:.3g}", "frequency": f"{f[odd][0]:.3g}"}
        raise SweepError(words.NO_INSTRUMENT.format(**facts), frequency=float(f[odd][0]))


def first_gain(sweep: Impedance | Scattering, accuracy: float = 0.0) -> tuple[int, float] | None:
    """The first point at which a passive part cannot do this, with Re Z (Ω) or the largest singular value.

    Parameters
    ----------
    sweep : as measured
    accuracy : stated, relative

    Returns
    -------
    Index of the point and its value, None if every point can be passive.

    >>> first_gain(Impedance([1e3, 1e4], [1 + 5j, -1 + 50j]))
    (1, -1.0)
    """
    allowed = accuracy + ROUNDING
    if isinstance(sweep, Impedance):
        value, wrong = sweep.resistance, sweep.resistance < -allowed * np.abs(sweep.Z)
    else:
        value = np.linalg.norm(sweep.S, ord=2, axis=(1, 2))
        wrong = value > 1 + allowed
    for index in np.flatnonzero(wrong)[:1]:
        return int(index), float(value[index])
    return None


def misfit(sweep: Scattering, pairing: Pairing) -> float:
    """Largest |S v - v| over the windings of a pairing, at the lowest frequency; 0 if they float."""
    S = sweep.S[0]
    worst = 0.0
    for pair in pairing:
        v = np.zeros(len(S))
        v[list(pair)] = 1
        worst = max(worst, float(np.linalg.norm(S @ v - v)))
    return worst


def better_pairing(sweep: Scattering, said: Pairing) -> Pairing | None:
    """The pairing of ports that fits clearly better than the one that is said; None if none does."""
    best = min(pairings(range(sweep.ports)), key=lambda pairing: misfit(sweep, pairing))
    return best if CLEARLY * misfit(sweep, best) < misfit(sweep, said) else None


def winding_impedances(sweep: Scattering, ends: Pairing) -> Complexes:
    """Impedance matrix of two windings at the lowest frequency, shape (2, 2), in Ω.

    Parameters
    ----------
    sweep : four ports
    ends : of each winding, the ports at its ends a and b; currents count from a to b
    """
    root = np.sqrt(sweep.reference)
    across = np.zeros((sweep.ports, 2))
    for winding, (a, b) in enumerate(ends):
        across[a, winding], across[b, winding] = 1, -1
    waves_in = across / root[:, None]
    waves_out = sweep.S[0] @ waves_in
    voltages = across.T @ (root[:, None] * (waves_in + waves_out))
    currents = across.T @ ((waves_in - waves_out) / root[:, None]) / 2
    return np.asarray(voltages @ np.linalg.pinv(currents))


def mutual_sign(sweep: Scattering, ends: Pairing) -> int:
    """Sign of the mutual inductance between the windings, ends a taken alike; 0 if they hardly couple."""
    X = winding_impedances(sweep, ends).imag
    weak = abs(X[0, 1]) < COUPLED * np.sqrt(abs(X[0, 0] * X[1, 1]))
    return 0 if weak else int(np.sign(X[0, 1]))


def pairings(ports: Sequence[int]) -> Iterator[Pairing]:
    """Every way to pair an even number of ports.

    >>> list(pairings(range(4)))
    [((0, 1), (2, 3)), ((0, 2), (1, 3)), ((0, 3), (1, 2))]
    """
    if not ports:
        yield ()
        return
    first, *rest = ports
    for other in rest:
        left = [port for port in rest if port != other]
        for more in pairings(left):
            yield (first, other), *more
