"""Whether swept values can belong to a passive part, and whether a four-port's ports are those that are said.

Passive. The power that a part takes in cannot be negative: Re Z ≥ 0, and no singular value of S is above 1.
A stated accuracy a (relative to |Z|) allows Re Z ≥ -a |Z| and singular values up to 1 + a; without one only
the rounding of the file's digits is allowed. (Power waves at real references; Pozar, Microwave Engineering,
section 4.3: MEMORY.)

Ports. A winding that floats carries the same current in at one end and out at the other, so a voltage that
is common to its two ends drives none, and the waves come back as they went in: S v = v for v = 1 at the two
ports of one winding. Capacitance spoils that as frequency rises, so the lowest frequency decides. Of all ways
to pair the ports, the one that is said must not be clearly worse than the best. Which end is a then follows
from the dots, if they are known: V = Z I between the windings has Im Z12 of the sign of M. Which of two
windings is which, nothing tells.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from labkit.errors import SweepError
from labkit.sweeps.sweep import Complexes, Impedance, Scattering
from labkit.words import sweeps as words

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
