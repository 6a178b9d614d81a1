"""Influences that have a size: how large each would have to be to bring the readings together best.

An amount is one more parameter of the joint fit (`labkit.analysis.joint_fit`). It is no rival of the discrete
causes and gets no share of probability; its size, sign, uncertainty and plausibility are reported. Add one: a
function of the ideal values, an entry in `AMOUNTS`, its sentences in `labkit.words.analysis`.

Symbols: x = ω²C in 1/H · Δ = L1 L2 - M² = P+ B in H² · own and other: the winding read and the one shorted.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from labkit.analysis.observations import Observation
from labkit.arrays import Floats
from labkit.theory.pair import STABLE_FORMS
from labkit.theory.wiring import Connection

Ideal = dict[Connection, complex]
C = Connection
JOINT = (C.SERIES_AIDING, C.PARALLEL_AIDING)
WITH_CORE = (C.SELF_1, C.SELF_2, *JOINT)
SHORTED = {C.SHORT_CIRCUIT_1: (C.SELF_1, C.SELF_2), C.SHORT_CIRCUIT_2: (C.SELF_2, C.SELF_1)}


@dataclass(frozen=True)
class Amount:
    """An influence with a size.

    Attributes
    ----------
    name : key of `labkit.words.analysis.TITLE`
    unit : of the size
    scale : a usual size, which the fit starts from and counts in
    plausible : ranges of sizes, in `unit`, that are seen in practice (orders of magnitude, no source)
    read : what a reading shows, in H: from the ideal values of all connections, the reading, its place in
        the session and the size; analytic in the size
    by_frequency : whether readings at another frequency tell it apart from the pair
    is_square : whether the fit counts the square of the size, as small sizes show no other way;
        `scale` and `read` then mean that square
    """

    name: str
    unit: str
    scale: float
    plausible: tuple[tuple[float, float], ...]
    read: Callable[[Ideal, Observation, int, complex], complex]
    by_frequency: bool = False
    is_square: bool = False

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


def _across_windings(ideal: Ideal, x_1: complex, x_2: complex) -> Ideal:
    """What the pair becomes with a capacitance across each winding: (L^-1 - diag(x))^-1 in place of L."""
    L1, L2, B = ideal[C.SELF_1], ideal[C.SELF_2], ideal[C.SERIES_OPPOSING]
    area = STABLE_FORMS[C.PARALLEL_AIDING](L1, L2, B) * B
    D: complex = 1 - x_1 * L1 - x_2 * L2 + x_1 * x_2 * area
    pair = (L1 - x_2 * area) / D, (L2 - x_1 * area) / D, (B - (x_1 + x_2) * area) / D
    return {connection: form(*pair) for connection, form in STABLE_FORMS.items()}


def _changed(ideal: Ideal, o: Observation, with_it: Ideal) -> complex:
    """The reading times what an influence makes of the lossless pair: small effects multiply."""
    assert o.connection is not None
    pair = ideal[C.SELF_1], ideal[C.SELF_2], ideal[C.SERIES_OPPOSING]
    lossless: complex = STABLE_FORMS[o.connection](*pair)
    return ideal[o.connection] * with_it[o.connection] / lossless


def _capacitance(ideal: Ideal, o: Observation, place: int, size: complex) -> complex:  # noqa: ARG001
    L = _ideal(ideal, o)
    return L / (1 - _w(o) ** 2 * L * size)


def _self_capacitance(ideal: Ideal, o: Observation, place: int, size: complex) -> complex:  # noqa: ARG001
    """At one frequency that is just another pair; only readings at two frequencies tell."""
    x = _w(o) ** 2 * size
    return _changed(ideal, o, _across_windings(ideal, x, x))


def _board_capacitor(ideal: Ideal, o: Observation, place: int, size: complex) -> complex:  # noqa: ARG001
    """Across the line, from 1a to 2a; dots alike, so that in series-aiding it lies across winding 1 alone."""
    x, L = _w(o) ** 2 * size, _ideal(ideal, o)
    if o.connection is C.SERIES_AIDING:
        return _changed(ideal, o, _across_windings(ideal, x, 0))
    return L / (1 - x * L) if o.connection in (C.SERIES_OPPOSING, C.PARALLEL_OPPOSING) else L


def _shorting_resistance(ideal: Ideal, o: Observation, place: int, size: complex) -> complex:  # noqa: ARG001
    """The size is the square of the resistance."""
    L = _ideal(ideal, o)
    if o.connection not in SHORTED or not o.frequency:
        return L
    own, other = (ideal[c] for c in SHORTED[o.connection])
    M2 = (own - L) * other  # L_sc = own - M²/other
    return L + M2 / other * size / (size + (_w(o) * other) ** 2)


def _level(ideal: Ideal, o: Observation, place: int, size: complex) -> complex:  # noqa: ARG001
    """A meter that holds its voltage leaves each winding in series-aiding half of it, so half of the flux."""
    return _ideal(ideal, o) * (1 + size / 100 if o.connection is C.SERIES_AIDING else 1)


def _core_change(ideal: Ideal, o: Observation, place: int, size: complex) -> complex:  # noqa: ARG001
    return _ideal(ideal, o) * (1 + size / 100 if o.connection in JOINT else 1)


def _drift(ideal: Ideal, o: Observation, place: int, size: complex) -> complex:
    return _ideal(ideal, o) * (1 + size / 100 * place if o.connection in WITH_CORE else 1)


LEADS = Amount("lead inductance", "H", 1e-7, ((0.0, 2e-6),), _leads)
AMOUNTS: tuple[Amount, ...] = (
    LEADS,
    Amount("capacitance", "F", 1e-11, ((1e-12, 200e-12),), _capacitance, by_frequency=True),
    Amount("self-capacitance", "F", 1e-11, ((1e-12, 200e-12),), _self_capacitance, by_frequency=True),
    Amount("board capacitor", "F", 1e-10, ((10e-9, 2e-6),), _board_capacitor, by_frequency=True),
    Amount("shorting resistance", "Ω", 1.0, ((0.01, 5.0),), _shorting_resistance, True, True),
    Amount("level", "%", 0.1, ((-5.0, 5.0),), _level),
    Amount("core change", "%", 0.1, ((-5.0, 5.0),), _core_change),
    Amount("drift", "%", 0.1, ((-1.0, 1.0),), _drift),
)


def reads(amount: Amount | None, ideal: Ideal, observations: Sequence[Observation], size: complex) -> Floats:
    """What each reading shows with the amount at a size, shape (n,), in H."""
    if amount is None:
        return np.array([_ideal(ideal, o) for o in observations])
    return np.array([amount.read(ideal, o, place, size) for place, o in enumerate(observations)])
