"""Which way each winding drives flux round the core that it shares with others.

A current into a dotted end drives flux one way round the core, whichever winding it is in: that is what dots
mean. That way is called forward here and counts positive.

Symbols: L inductance matrix (H), currents from end a to end b of each winding.
Source: `labkit.theory.network` for the currents; the right-hand rule is in the drawing of the windings.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from labkit.theory.network import path_and_loops
from labkit.theory.wiring import Terminal, Wiring

Kind = Literal["add", "cancel", "partly cancel", "alone", "none"]

LEFT_OVER = 0.1
"""Opposite fluxes are said to cancel if this part of the larger one, or less, is left."""

TIGHT = 0.99
"""Coupling coefficient of the equal windings that stand for a pair whose inductances are not given."""

_NOTHING = 1e-9


def winding_currents(L: Sequence[Sequence[float]], wiring: str | Wiring) -> tuple[float, ...] | None:
    """Current in every winding for a unit current into the first clip; None if no winding joins the clips.

    Parameters
    ----------
    L : sequence of N rows of N floats, in H, positive definite; signs as for `network.input_inductance`
    wiring : str or Wiring

    Notes
    -----
    Round every closed loop of lossless windings the voltages, and so the flux linkages, add up to zero.

    Examples
    --------
    >>> winding_currents([[1.0, 0.5], [0.5, 1.0]], "1a 1b | 2a=2b")
    (1.0, -0.5)
    """
    found = path_and_loops(wiring, len(L))
    if found is None:
        return None
    path, loops = (np.array(part, dtype=float) for part in found)
    if loops.size == 0:
        return tuple(path.tolist())
    linked = loops @ np.array(L, dtype=float)
    round_the_loops = np.linalg.solve(linked @ loops.T, -linked @ path)
    return tuple((path + round_the_loops @ loops).tolist())


@dataclass(frozen=True)
class Fluxes:
    """What each of some equal windings on one core does to the flux in it.

    Attributes
    ----------
    currents : from end a to end b of each winding, in any common unit
    parts : flux of each winding, forward counted positive, the largest of size 1
    """

    currents: tuple[float, ...]
    parts: tuple[float, ...]

    @classmethod
    def of(cls, currents: Sequence[float], dots: Sequence[Terminal]) -> "Fluxes":
        """The fluxes of these currents with these dotted ends, one each a winding.

        >>> from labkit.theory.wiring import parse_dots
        >>> Fluxes.of((2.0, -2.0), parse_dots("1a 2b")).parts
        (1.0, 1.0)
        """
        largest = max(map(abs, currents)) or 1.0
        sizes = [0.0 if abs(i) <= _NOTHING * largest else i / largest for i in currents]
        parts = [size if dot.end == "a" else 0.0 - size for size, dot in zip(sizes, dots, strict=True)]
        return cls(tuple(currents), tuple(parts))

    @classmethod
    def in_wiring(cls, wiring: str | Wiring, dots: Sequence[Terminal]) -> "Fluxes":
        """The fluxes when a meter drives its current into the first clip of two equal windings."""
        M = TIGHT if dots[0].end == dots[1].end else -TIGHT
        return cls.of(winding_currents([[1.0, M], [M, 1.0]], wiring) or (0.0, 0.0), dots)

    @property
    def total(self) -> float:
        """The flux that all windings together leave in the core, in the unit of `parts`."""
        return sum(self.parts)

    @property
    def kind(self) -> Kind:
        """What the fluxes do to each other."""
        driving = [part for part in self.parts if part]
        if len(driving) < 2:
            return "alone" if driving else "none"
        if min(driving) > 0 or max(driving) < 0:
            return "add"
        return "cancel" if abs(self.total) <= LEFT_OVER else "partly cancel"
