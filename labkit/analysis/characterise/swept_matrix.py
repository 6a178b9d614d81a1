"""The inductance matrix from sweeps of windings in series, at the lowest frequency that they share.

As from readings, but for the errors: a stated accuracy is a limit of error of |Z| and, as the same part of a
radian, of its phase, for each sweep on its own, so that each has two sources, and no two share one.

Symbols: Z impedance (Ω) · ω = 2πf · L = Im Z/ω (H).
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from labkit import quantity
from labkit.analysis.characterise.matrix import Matrix, matrix_of
from labkit.analysis.characterise.spectra import Swept, together
from labkit.analysis.observations import Observation
from labkit.errors import MissingReading
from labkit.quantity import Quantity
from labkit.sweeps.sweep import hertz
from labkit.theory.network import path_and_loops
from labkit.theory.wiring import Terminal, Wiring
from labkit.uncertainty.component import Component, Input
from labkit.words import matrix as words


@dataclass(frozen=True, kw_only=True)
class SweptObservation(Observation):
    """What one sweep says at one frequency, in the place of a reading."""

    sweep: Swept
    at: Quantity

    @property
    def id(self) -> str:
        """Id of the sweep."""
        return self.sweep.id

    @property
    def ids(self) -> tuple[str, ...]:
        """The same, as there are no repeats."""
        return (self.sweep.id,)

    @property
    def lines(self) -> tuple[int, ...]:
        """Record line of the sweep."""
        return () if self.sweep.line is None else (self.sweep.line,)

    @property
    def wiring(self) -> Wiring:
        """As the sweep was stored."""
        return self.sweep.wiring

    @property
    def frequency(self) -> Quantity:
        """Of the point."""
        return self.at

    @property
    def text(self) -> str:
        """The value rounded to its uncertainty."""
        return quantity.display(self.value, self.standard_uncertainty)


def swept_matrix(sweeps: Iterable[Swept], windings: int, marked: tuple[Terminal, ...] | None) -> Matrix:
    """The inductance matrix of a part from its sweeps.

    Parameters
    ----------
    sweeps : of impedance; those of windings in series count
    windings : N
    marked : dotted ends as marked on the part, None if unknown

    Raises
    ------
    MissingReading
        if they do not determine every entry, or share no frequency.
    """
    series = [sweep for sweep in sweeps if _in_series(sweep.wiring, windings)]
    found: list[Observation] = []
    at = None
    if series:
        common = together(*series)
        if not len(common.frequency):
            raise MissingReading(words.NO_SHARED.format(ids=", ".join(common.ids)))
        f = float(common.frequency[0])
        at = quantity.parse(hertz(f), "frequency")
        found = [_observed(s, complex(Z[0]), f, at) for s, Z in zip(series, common.Z, strict=True)]
    return matrix_of(found, windings, at, marked, "sweeps")


def _in_series(wiring: Wiring, windings: int) -> bool:
    found = path_and_loops(wiring, windings)
    return found is not None and not found[1] and any(found[0])


def _observed(sweep: Swept, Z: complex, f: float, at: Quantity) -> SweptObservation:
    w, limit = 2 * np.pi * f, sweep.accuracy or 0.0
    sources = (
        (Component(f"size of {sweep.id}", "rectangular", limit), Z.imag / w),
        (Component(f"phase of {sweep.id}", "rectangular", limit), Z.real / w),
    )
    input = Input(sweep.id, Z.imag / w, sources if limit else ())
    why = None if limit else words.NO_ACCURACY
    return SweptObservation((), None, input, why, sweep=sweep, at=at)
