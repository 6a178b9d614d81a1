"""A pair of coupled windings: textbook forms, stable forms, limits of passivity, the leakages by name.

Symbols: L1, L2 self-inductances (other winding open) · M mutual inductance, positive by the dot convention ·
k = M/sqrt(L1 L2) coupling coefficient · A = L1+L2+2M series-aiding · B = L1+L2-2M series-opposing ·
m = (L1+L2)/2 · d = L1-L2 · c = d/sqrt(A B) mismatch coefficient. All inductances in H.

The functions are plain arithmetic for every kind of number and check nothing; `Pair` checks.
Source: derived from the flux equations in `labkit.theory.derivation`, equality proven in tests.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from labkit.errors import PassivityError
from labkit.theory.number import Number, nominal, ratio, sqrt
from labkit.theory.wiring import Connection

# Sentences about a pair of windings.

SELF_INDUCTANCES = (
    "L1 = {L1:.6g} H and L2 = {L2:.6g} H were given, but self-inductances are above zero; "
    "read each winding alone, with the other one open."
)
NOT_REAL = "{name} = {given} was given, but a pair is made of finite real numbers; give {name} as one number."
FULL_COUPLING = (
    "This pair has k = {k:.6g}; the coordinates (ln A, ln B, atanh c) exist for |k| below 1 only. "
    "Use L1, L2 and B themselves."
)
NOT_PASSIVE = (
    "L1 = {L1:.6g} H, L2 = {L2:.6g} H and a series-opposing {B:.6g} H would need k = {k:.6g}, but a passive pair "
    "has a series-opposing inductance from {low:.6g} H to {high:.6g} H; check the units and which reading is which."
)


def series_aiding(L1: Number, L2: Number, M: Number) -> Number:
    """L1 + L2 + 2M, in H."""
    return L1 + L2 + 2 * M


def series_opposing(L1: Number, L2: Number, M: Number) -> Number:
    """L1 + L2 - 2M, in H; for a choke also its differential-mode loop inductance."""
    return L1 + L2 - 2 * M


def parallel_aiding(L1: Number, L2: Number, M: Number) -> Number:
    """(L1 L2 - M²)/(L1 + L2 - 2M), in H, with k = 1 and equal windings giving L1.

    Written as L1 - (L1-M)²/B, which is the same and has no 0/0.

    >>> parallel_aiding(4.0, 6.0, 3.0)
    3.75
    """
    return L1 - ratio((L1 - M) * (L1 - M), L1 + L2 - 2 * M)


def parallel_opposing(L1: Number, L2: Number, M: Number) -> Number:
    """(L1 L2 - M²)/(L1 + L2 + 2M), in H."""
    return L1 - ratio((L1 + M) * (L1 + M), L1 + L2 + 2 * M)


def short_circuit_1(L1: Number, L2: Number, M: Number) -> Number:
    """L1 - M²/L2 = L1 (1 - k²), in H: winding 1 read with winding 2 shorted."""
    return L1 - ratio(M * M, L2)


def short_circuit_2(L1: Number, L2: Number, M: Number) -> Number:
    """L2 - M²/L1 = L2 (1 - k²), in H: winding 2 read with winding 1 shorted."""
    return L2 - ratio(M * M, L1)


def coupling_coefficient(L1: Number, L2: Number, M: Number) -> Number:
    """k = M/sqrt(L1 L2), without a unit."""
    return M / sqrt(L1 * L2)


def mutual_from_series(series_aiding: Number, series_opposing: Number) -> Number:
    """M = (A - B)/4, in H, from the two series readings; negative if they were swapped.

    >>> mutual_from_series(550.0, 450.0)
    25.0
    """
    return (series_aiding - series_opposing) / 4


CLOSED_FORMS: dict[Connection, Callable[[Number, Number, Number], Number]] = {
    Connection.SELF_1: lambda L1, L2, M: L1,  # noqa: ARG005 - one signature for all
    Connection.SELF_2: lambda L1, L2, M: L2,  # noqa: ARG005
    Connection.SERIES_AIDING: series_aiding,
    Connection.SERIES_OPPOSING: series_opposing,
    Connection.PARALLEL_AIDING: parallel_aiding,
    Connection.PARALLEL_OPPOSING: parallel_opposing,
    Connection.SHORT_CIRCUIT_1: short_circuit_1,
    Connection.SHORT_CIRCUIT_2: short_circuit_2,
    Connection.LEADS: lambda L1, L2, M: 0 * L1,  # noqa: ARG005
}


ROUNDING = float(8 * np.finfo(float).eps)
"""Part of L1 + L2 that rounding may leave of A = 2(L1 + L2) - B where it is zero."""


def stable_parallel_aiding(L1: Number, L2: Number, B: Number) -> Number:
    """P+ = m - B/4 - d²/(4B), in H, from the series-opposing B instead of M.

    Equal to (A/4)(1 - c²). Parallel over series is (1 - c²)/4 for either polarity: the quarter law.
    """
    d = L1 - L2
    return (L1 + L2) / 2 - B / 4 - ratio(d * d, 4 * B)


def stable_parallel_opposing(L1: Number, L2: Number, B: Number) -> Number:
    """P- = (B/4)(1 - c²), in H, with c² = d²/(A B)."""
    d = L1 - L2
    return B / 4 - ratio(d * d, 4 * (2 * (L1 + L2) - B), 4 * ROUNDING * (L1 + L2))


STABLE_FORMS: dict[Connection, Callable[[Number, Number, Number], Number]] = {
    Connection.SELF_1: lambda L1, L2, B: L1,  # noqa: ARG005 - one signature for all
    Connection.SELF_2: lambda L1, L2, B: L2,  # noqa: ARG005
    Connection.SERIES_AIDING: lambda L1, L2, B: 2 * (L1 + L2) - B,
    Connection.SERIES_OPPOSING: lambda L1, L2, B: B,  # noqa: ARG005
    Connection.PARALLEL_AIDING: stable_parallel_aiding,
    Connection.PARALLEL_OPPOSING: stable_parallel_opposing,
    Connection.SHORT_CIRCUIT_1: lambda L1, L2, B: stable_parallel_aiding(L1, L2, B) * B / L2,
    Connection.SHORT_CIRCUIT_2: lambda L1, L2, B: stable_parallel_aiding(L1, L2, B) * B / L1,
    Connection.LEADS: lambda L1, L2, B: 0 * L1,  # noqa: ARG005
}
"""What each connection reads, from (L1, L2, B): no small result is a difference of large numbers here."""


def is_passive(L1: Number, L2: Number, B: Number) -> Number:
    """Whether a passive pair can have these inductances, element by element for arrays.

    The bounds themselves count as passive, with the few units of rounding that `Pair` allows too.
    """
    low, high = np.sqrt(L1), np.sqrt(L2)
    rounding = 8 * np.spacing(L1 + L2)
    return (L1 > 0) & (L2 > 0) & ((low - high) ** 2 - rounding <= B) & (B <= (low + high) ** 2 + rounding)


def passive_range(L1: Number, L2: Number) -> tuple[float, float]:
    """Smallest and largest series-opposing inductance B that a passive pair can have, in H.

    (sqrt(L1) - sqrt(L2))² <= B <= (sqrt(L1) + sqrt(L2))², which is |k| <= 1.

    >>> passive_range(4.0, 9.0)
    (1.0, 25.0)
    """
    low, high = math.sqrt(nominal(L1)), math.sqrt(nominal(L2))
    return (low - high) ** 2, (low + high) ** 2


def _real(name: str, x: Number) -> float:
    """The value of an argument; PassivityError if it is no finite real number."""
    try:
        value = float(nominal(x))
    except (TypeError, ValueError):
        value = math.nan
    if not math.isfinite(value):
        raise PassivityError(NOT_REAL.format(name=name, given=x))
    return value


def _self_inductances(L1: Number, L2: Number) -> tuple[float, float]:
    one, two = _real("L1", L1), _real("L2", L2)
    if one <= 0 or two <= 0:
        raise PassivityError(SELF_INDUCTANCES.format(L1=one, L2=two))
    return one, two


@dataclass(frozen=True)
class Pair:
    """A passive pair, held as (L1, L2, B) so that the small B is never a difference of large numbers.

    Parameters
    ----------
    L1, L2 : float or ufloat, in H, self-inductances with the other winding open, above 0
    B : float or ufloat, in H, series-opposing inductance

    Raises
    ------
    PassivityError
        if no passive pair has these inductances (|k| would exceed 1), and the message gives the bound; if one
        of them is no finite real number.

    Examples
    --------
    >>> pair = Pair(10.00e-3, 9.96e-3, 25.0e-6)
    >>> print(f"{pair.coupling_coefficient:.7f} {pair.parallel_aiding * 1e3:.5f} mH")
    0.9987495 9.95775 mH
    """

    L1: Number
    L2: Number
    B: Number

    def __post_init__(self) -> None:
        L1, L2 = _self_inductances(self.L1, self.L2)
        B = _real("B", self.B)
        low, high = passive_range(L1, L2)
        rounding = 8 * math.ulp(L1 + L2)
        if not low - rounding <= B <= high + rounding:
            k = (L1 + L2 - B) / (2 * math.sqrt(L1 * L2))
            facts = {"L1": L1, "L2": L2, "B": B, "k": k, "low": low, "high": high}
            raise PassivityError(NOT_PASSIVE.format(**facts), (low, high))

    @classmethod
    def from_mutual(cls, L1: Number, L2: Number, M: Number) -> "Pair":
        """The pair with mutual inductance M, in H."""
        return cls(L1, L2, L1 + L2 - 2 * M)

    @classmethod
    def from_coupling(cls, L1: Number, L2: Number, k: Number) -> "Pair":
        """The pair with coupling coefficient k, -1 to 1.

        B = (sqrt(L1) - sqrt(L2))² + 2(1 - k) sqrt(L1 L2), the first root as d/(sqrt(L1) + sqrt(L2)), so that
        nearly equal windings keep their digits at k = 1.
        """
        _self_inductances(L1, L2)
        _real("k", k)
        root1, root2 = sqrt(L1), sqrt(L2)
        difference = (L1 - L2) / (root1 + root2)
        return cls(L1, L2, difference * difference + 2 * (1 - k) * root1 * root2)

    @classmethod
    def uncoupled(cls, L1: Number, L2: Number) -> "Pair":
        """Two inductors that share no flux: the rules known from resistors hold."""
        return cls(L1, L2, L1 + L2)

    @property
    def mutual_inductance(self) -> Number:
        """M = (L1 + L2 - B)/2, in H."""
        return (self.L1 + self.L2 - self.B) / 2

    @property
    def coupling_coefficient(self) -> Number:
        """k, without a unit."""
        return coupling_coefficient(self.L1, self.L2, self.mutual_inductance)

    @property
    def series_aiding(self) -> Number:
        """A = 2(L1 + L2) - B, in H."""
        return 2 * (self.L1 + self.L2) - self.B

    @property
    def series_opposing(self) -> Number:
        """B, in H."""
        return self.B

    @property
    def mismatch_squared(self) -> Number:
        """c² = d²/(A B), without a unit; 0 for equal windings, 1 at k = ±1 with unequal ones."""
        d = self.L1 - self.L2
        return ratio(d * d, self.series_aiding * self.B)

    @property
    def mismatch_coefficient(self) -> Number:
        """c = d/sqrt(A B), without a unit, with the sign of L1 - L2."""
        return ratio(self.L1 - self.L2, sqrt(self.series_aiding * self.B))

    @property
    def parallel_aiding(self) -> Number:
        """P+ = (A/4)(1 - c²) in H; the choke's common-mode inductance."""
        return stable_parallel_aiding(self.L1, self.L2, self.B)

    @property
    def parallel_opposing(self) -> Number:
        """P- = (B/4)(1 - c²), in H."""
        return stable_parallel_opposing(self.L1, self.L2, self.B)

    @property
    def short_circuit_1(self) -> Number:
        """Winding 1 with winding 2 shorted: P+ B / L2, in H."""
        return self.inductance(Connection.SHORT_CIRCUIT_1)

    @property
    def short_circuit_2(self) -> Number:
        """Winding 2 with winding 1 shorted: P+ B / L1, in H."""
        return self.inductance(Connection.SHORT_CIRCUIT_2)

    @property
    def leakage_per_winding(self) -> Number:
        """First meaning of leakage: L(1 - k) with L = sqrt(L1 L2), in H."""
        return sqrt(self.L1 * self.L2) - self.mutual_inductance

    @property
    def leakage_differential_mode(self) -> Number:
        """Second meaning of leakage: the differential-mode loop, B = 2L(1 - k) for equal windings, in H."""
        return self.B

    @property
    def leakage_short_circuit(self) -> Number:
        """Third meaning of leakage: L1(1 - k²), winding 1 with the other shorted, in H."""
        return self.short_circuit_1

    @property
    def coordinates(self) -> tuple[float, float, float]:
        """(ln A, ln B, atanh c) of a pair with |k| < 1: every real triple is a passive pair.

        Raises PassivityError for |k| = 1, which no finite triple stands for.
        """
        A, B = float(nominal(self.series_aiding)), float(nominal(self.B))
        apart = A > ROUNDING * float(nominal(self.L1 + self.L2)) and B > 0
        c = float(nominal(self.mismatch_coefficient)) if apart else 1.0
        if abs(c) >= 1 - ROUNDING:
            raise PassivityError(FULL_COUPLING.format(k=float(nominal(self.coupling_coefficient))))
        return math.log(A), math.log(B), math.atanh(c)

    @classmethod
    def from_coordinates(cls, ln_A: float, ln_B: float, atanh_c: float) -> "Pair":
        """The pair at (ln A, ln B, atanh c), the inverse of `coordinates`."""
        A, B = math.exp(ln_A), math.exp(ln_B)
        m, d = (A + B) / 4, math.tanh(atanh_c) * math.sqrt(A * B)
        return cls(m + d / 2, m - d / 2, B)

    def matrix(self, dots_alike: bool = True) -> list[list[Number]]:
        """Inductance matrix in H, currents from end a to end b; M is negative for dots on unlike ends."""
        M = self.mutual_inductance if dots_alike else -self.mutual_inductance
        return [[self.L1, M], [M, self.L2]]

    def inductance(self, connection: Connection) -> Number:
        """What a connection of this pair reads, in H, by its stable form; `inf` for an open circuit."""
        if connection is Connection.OPEN:
            return math.inf
        return STABLE_FORMS[connection](self.L1, self.L2, self.B)
