"""Leakage against frequency by two routes, which must agree.

With complex impedances z = Z_o (series-opposing), d = Z1 - Z2, S = Z1 + Z2, and Z_s of winding 1 with
winding 2 shorted, for any reciprocal two-port

    Z12 = (S - z)/2,    Z_s = (2 S z - z² - d²)/(4 Z2),    z = (d² + 4 Z2 Z_s)/(S + root),
    root = sqrt(S² - d² - 4 Z2 Z_s),

forms without a difference of large numbers. Winding resistance, core loss and capacitance across each
winding are in all of them, so the routes must agree; capacitance between the windings is not.

"Leakage" has three meanings, L(1 - k), B and L(1 - k²); the names always say which.

Source: two-port theory; the inductances are those of `labkit.theory.pair`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from labkit.analysis.characterise.spectra import (
    Complexes,
    Curve,
    Floats,
    Function,
    Swept,
    Together,
    inductance,
    resonance,
    together,
)


def opposing_from_short(Z1: Complexes, Z2: Complexes, Zs: Complexes) -> Complexes:
    """Series-opposing impedance of a two-port whose winding 1 shows Zs with winding 2 shorted, in Ω.

    The root is that of positive mutual inductance, which a short-circuit test does not tell; beyond the
    resonance of the leakage with its capacitance it may be the other one.
    """
    small = (Z1 - Z2) ** 2 + 4 * Z2 * Zs
    S = Z1 + Z2
    return np.asarray(small / (S + S * np.sqrt(1 - small / S**2)))


def short_from_opposing(Z1: Complexes, Z2: Complexes, z: Complexes) -> Complexes:
    """Impedance of winding 1 with winding 2 shorted, in Ω, from the series-opposing one."""
    return np.asarray((2 * (Z1 + Z2) * z - z**2 - (Z1 - Z2) ** 2) / (4 * Z2))


@dataclass(frozen=True)
class Route:
    """A way to the series-opposing impedance z: the connections it needs, and z from their impedances."""

    name: str
    needs: tuple[str, ...]
    z: Callable[[Complexes, Complexes, Complexes], Complexes]


ROUTES = (
    Route("series_opposing", ("series_opposing",), lambda _1, _2, z: z),
    Route("short_circuit_1", ("short_circuit_1",), opposing_from_short),
    Route("short_circuit_2", ("short_circuit_2",), lambda Z1, Z2, Zs: opposing_from_short(Z2, Z1, Zs)),
    Route("series_aiding", ("series_aiding",), lambda Z1, Z2, Za: 2 * (Z1 + Z2) - Za),
)
"""Every way to the leakage, the one that resolves it best first; each needs both singles as well."""


def _pair_inductances(w: Floats, Z1: Complexes, Z2: Complexes, z: Complexes) -> tuple[Floats, ...]:
    return inductance(w, Z1), inductance(w, Z2), inductance(w, z)


def mutual(w: Floats, Z1: Complexes, Z2: Complexes, z: Complexes) -> Floats:
    """M = (L1 + L2 - B)/2 in H."""
    L1, L2, B = _pair_inductances(w, Z1, Z2, z)
    return (L1 + L2 - B) / 2


def coupling(w: Floats, Z1: Complexes, Z2: Complexes, z: Complexes) -> Floats:
    """k = M/√(L1 L2), nan above the first self-resonance; never clipped."""
    L1, L2, _ = _pair_inductances(w, Z1, Z2, z)
    return mutual(w, Z1, Z2, z) / _root(L1, L2)


def per_winding(w: Floats, Z1: Complexes, Z2: Complexes, z: Complexes) -> Floats:
    """√(L1 L2)(1 - k) = B/2 - (√L1 - √L2)²/2 in H, by the form without a difference of large numbers."""
    L1, L2, B = _pair_inductances(w, Z1, Z2, z)
    return B / 2 - (L1 - L2) ** 2 / (2 * (L1 + L2 + 2 * _root(L1, L2)))


def differential(w: Floats, Z1: Complexes, Z2: Complexes, z: Complexes) -> Floats:  # noqa: ARG001 - one signature
    """B in H."""
    return inductance(w, z)


def short_circuit(w: Floats, Z1: Complexes, Z2: Complexes, z: Complexes) -> Floats:
    """L1(1 - k²), what winding 1 shows with winding 2 shorted, in H."""
    return inductance(w, short_from_opposing(Z1, Z2, z))


def _root(L1: Floats, L2: Floats) -> Floats:
    above = (L1 > 0) & (L2 > 0)
    return np.where(above, np.sqrt(np.where(above, L1 * L2, 1.0)), np.nan)


def loop_resistance(w: Floats, Z1: Complexes, Z2: Complexes, z: Complexes) -> Floats:  # noqa: ARG001
    """Re z, the resistance of the differential-mode loop, in Ω."""
    return np.asarray(z.real)


PAIR: dict[str, tuple[str, Function]] = {
    "mutual_inductance": ("H", mutual),
    "coupling_coefficient": ("", coupling),
    "leakage_per_winding": ("H", per_winding),
    "leakage_differential_mode": ("H", differential),
    "leakage_short_circuit": ("H", short_circuit),
    "loop_resistance": ("Ω", loop_resistance),
}
"""What a route to z gives, with its unit."""

LEAKAGES = ("leakage_per_winding", "leakage_differential_mode", "leakage_short_circuit", "loop_resistance")
"""What two routes must agree about. A short with resistance shows in the last one first."""


@dataclass(frozen=True, eq=False)
class TwoRoutes:
    """One leakage of two windings, or the resistance of its loop, by two routes.

    Attributes
    ----------
    name : of the leakage, out of `LEAKAGES`
    windings : their numbers
    first, second : the curves, on the same frequencies
    E_n : first minus second over its expanded uncertainty, (F,); None if no accuracy is stated
    limit : a tenth of the lowest self-resonance of the sweeps behind it, in Hz; infinite without one
    common : the sweeps of winding 1, winding 2, series-opposing and short-circuit
    shorted : which of the two windings is shorted, 0 or 1
    """

    name: str
    windings: tuple[int, int]
    first: Curve
    second: Curve
    E_n: Floats | None
    limit: float
    common: Together
    shorted: int

    @cached_property
    def counts(self) -> npt.NDArray[np.bool_]:
        """Which frequencies the verdict is about: those up to the limit where both values exist."""
        return (self.first.frequency <= self.limit) & np.isfinite(self.first.value + self.second.value)

    @property
    def agree(self) -> bool | None:
        """Whether |E_n| is 1 or less at 95 % of these frequencies; None if it cannot be said."""
        if self.E_n is None or not self.counts.any():
            return None
        return bool(np.mean(np.abs(self.E_n[self.counts]) <= 1) >= 0.95)

    @property
    def agreed_up_to(self) -> float | None:
        """Frequency in Hz up to which |E_n| is nowhere above 1; None if it is at the lowest or unknown."""
        if self.E_n is None:
            return None
        off = np.flatnonzero(~(np.abs(self.E_n) <= 1))
        good = int(off[0]) if len(off) else len(self.E_n)
        return float(self.first.frequency[good - 1]) if good else None

    @property
    def shorting_resistance(self) -> float | None:
        """Resistance of the short, in Ω, that would make the routes agree; None if none would.

        With r in the short, Z_s = Z1 - Z12²/(Z2 + r): r has to come out positive, alike and almost real.
        """
        Z1, Z2, z, Zs = (Z[self.counts] for Z in self.common.Z)
        if self.shorted == 0:
            Z1, Z2 = Z2, Z1
        r = ((Z1 + Z2 - z) / 2) ** 2 / (Z1 - Zs) - Z2
        middle = complex(np.median(r.real), np.median(np.abs(r.imag))) if len(r) else 0j
        return middle.real if middle.real > 2 * middle.imag else None


def two_routes(
    name: str, windings: tuple[int, int], whats: tuple[str, str], sweeps: Sequence[Swept], short: Route
) -> TwoRoutes:
    """A leakage from series-opposing and from a short-circuit sweep.

    Parameters
    ----------
    name : out of `LEAKAGES`
    windings : their numbers
    whats : what the two curves are, in words
    sweeps : winding 1, winding 2, series-opposing, short-circuit
    short : the route of the last one
    """
    unit, function = PAIR[name]
    common = together(*sweeps)
    i, j = windings

    def first(w: Floats, Z1: Complexes, Z2: Complexes, z: Complexes, Zs: Complexes) -> Floats:  # noqa: ARG001
        return function(w, Z1, Z2, z)

    def second(w: Floats, Z1: Complexes, Z2: Complexes, z: Complexes, Zs: Complexes) -> Floats:  # noqa: ARG001
        return function(w, Z1, Z2, short.z(Z1, Z2, Zs))

    curves = [
        common.curve(f"{name}_{i}_{j}_from_{route}", unit, what, each)
        for route, what, each in zip(("series_opposing", short.name), whats, (first, second), strict=True)
    ]
    off, u = common.with_uncertainty(lambda *x: first(*x) - second(*x))
    with np.errstate(all="ignore"):
        E_n = None if u is None else off / (2 * u)
    found = [resonance(sweep).frequency for sweep in sweeps]
    limit = min((f / 10 for f in found if f), default=np.inf)
    shorted = 1 if short.name == "short_circuit_1" else 0
    return TwoRoutes(name, windings, curves[0], curves[1], E_n, float(limit), common, shorted)
