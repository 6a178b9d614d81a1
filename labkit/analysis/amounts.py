"""Influences that have a size: how large each would have to be to bring the readings together best.

An amount is one more parameter of the joint fit (`labkit.analysis.fit`). It is no rival of the discrete
causes and gets no share of probability; its size, sign, uncertainty and plausibility are reported. Add one: a
function of the ideal values, an entry in `AMOUNTS`, two sentences in `labkit.words.amounts`.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labkit.analysis.observations import Observation
from labkit.theory.wiring import Connection

Array = NDArray[np.float64]
Ideal = dict[Connection, complex]
CORE = (Connection.SERIES_AIDING, Connection.PARALLEL_AIDING)
SHORTED = {
    Connection.SHORT_CIRCUIT_1: (Connection.SELF_1, Connection.SELF_2),
    Connection.SHORT_CIRCUIT_2: (Connection.SELF_2, Connection.SELF_1),
}
WITH_CORE = (Connection.SELF_1, Connection.SELF_2, *CORE)


@dataclass(frozen=True)
class Amount:
    """An influence with a size.

    Attributes
    ----------
    name : key of `labkit.words.amounts.TITLE`
    unit : of the size, empty for a ratio
    scale : a usual size, which the fit starts from and counts in
    plausible : ranges of sizes, in `unit`, that are seen in practice (orders of magnitude, no source)
    read : what a reading shows, in H: from the ideal values of all connections, the reading, its place in
        the session and the size; analytic in the size
    """

    name: str
    unit: str
    scale: float
    plausible: tuple[tuple[float, float], ...]
    read: Callable[[Ideal, Observation, int, complex], complex]

    def is_plausible(self, size: float) -> bool:
        """Whether sizes like this one are seen in practice."""
        return any(low <= size <= high for low, high in self.plausible)


def _w(o: Observation) -> float:
    return 2 * math.pi * o.frequency.value if o.frequency else 0.0


def _ideal(ideal: Ideal, o: Observation) -> complex:
    assert o.connection is not None
    return ideal[o.connection]


def _leads(ideal: Ideal, o: Observation, place: int, size: complex) -> complex:  # noqa: ARG001
    return _ideal(ideal, o) + size


def _capacitance(ideal: Ideal, o: Observation, place: int, size: complex) -> complex:  # noqa: ARG001
    L = _ideal(ideal, o)
    return L / (1 - _w(o) ** 2 * L * size)


def _shorting_resistance(ideal: Ideal, o: Observation, place: int, size: complex) -> complex:  # noqa: ARG001
    L = _ideal(ideal, o)
    if o.connection not in SHORTED or not o.frequency:
        return L
    own, other = (ideal[c] for c in SHORTED[o.connection])
    M2 = (own - L) * other  # L_sc = own - M²/other
    return L + M2 / other * size**2 / (size**2 + (_w(o) * other) ** 2)


def _core_change(ideal: Ideal, o: Observation, place: int, size: complex) -> complex:  # noqa: ARG001
    return _ideal(ideal, o) * (1 + size if o.connection in CORE else 1)


def _drift(ideal: Ideal, o: Observation, place: int, size: complex) -> complex:
    return _ideal(ideal, o) * (1 + size * place if o.connection in WITH_CORE else 1)


LEADS = Amount("lead inductance", "H", 1e-7, ((0.0, 2e-6),), _leads)
AMOUNTS: tuple[Amount, ...] = (
    LEADS,
    Amount("capacitance", "F", 1e-11, ((1e-12, 200e-12), (10e-9, 2e-6)), _capacitance),
    Amount("shorting resistance", "Ω", 1.0, ((0.01, 5.0),), _shorting_resistance),
    Amount("core change", "", 1e-3, ((-0.05, 0.05),), _core_change),
    Amount("drift", "", 1e-3, ((-0.01, 0.01),), _drift),
)


def reads(amount: Amount | None, ideal: Ideal, observations: Sequence[Observation], size: complex) -> Array:
    """What each reading shows with the amount at a size, shape (n,), in H."""
    if amount is None:
        return np.array([_ideal(ideal, o) for o in observations])
    return np.array([amount.read(ideal, o, place, size) for place, o in enumerate(observations)])
