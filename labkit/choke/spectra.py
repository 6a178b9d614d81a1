"""Quantities against frequency from swept impedances, with bands from the stated accuracy.

A stated accuracy of x % of |Z| is the limit of error of ln|Z| and, as x/100 rad, of the phase: each
rectangular, for each sweep on its own (two sweeps that share their errors would agree better, never worse).
Inductances are Im Z/ω, as a meter shows them. Sweeps are combined at the frequencies that all of them have;
nothing is interpolated.

Source: JCGM 100:2008, 4.3.7 and 5.1.2.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from labkit.arrays import Complexes, Floats
from labkit.sweeps.sweep import Impedance
from labkit.theory.wiring import Wiring

Function = Callable[..., Floats]
"""From angular frequency (F,) and impedances, each (F,), to a real quantity (F,)."""

STEP = 1e-6  # relative step of the slopes; the functions are smooth on the scale of 1
SAME = 1e-9  # frequencies closer than this are the same


@dataclass(frozen=True, eq=False)
class Swept:
    """A sweep as it is used: impedance, and the stated part of |Z| as its limit of error, None if none is."""

    id: str
    wiring: Wiring
    impedance: Impedance
    accuracy: float | None = None
    line: int | None = None


@dataclass(frozen=True, eq=False)
class Curve:
    """A quantity against frequency.

    Attributes
    ----------
    name : stable, without unit: "mutual_inductance_1_2_from_series_opposing"
    unit : SI unit, empty for a ratio
    what : in words, with the route
    frequency, value : shape (F,), in Hz and `unit`; nan where it does not exist
    u : standard uncertainty (F,), None if no accuracy is stated
    ids : sweeps that it rests on
    """

    name: str
    unit: str
    what: str
    frequency: Floats
    value: Floats
    u: Floats | None
    ids: tuple[str, ...]

    @property
    def band(self) -> tuple[Floats, Floats] | None:
        """Value less and plus its expanded uncertainty, coverage factor 2."""
        return None if self.u is None else (self.value - 2 * self.u, self.value + 2 * self.u)


@dataclass(frozen=True, eq=False)
class Together:
    """Sweeps at the frequencies that they share, shape (F,), in Hz."""

    sweeps: tuple[Swept, ...]
    frequency: Floats
    Z: tuple[Complexes, ...]
    left_out: int = 0

    @property
    def omega(self) -> Floats:
        """Angular frequency, shape (F,), in 1/s."""
        return 2 * np.pi * self.frequency

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of the sweeps."""
        return tuple(sweep.id for sweep in self.sweeps)

    def curve(self, name: str, unit: str, what: str, function: Function) -> Curve:
        """A quantity of these sweeps, a function of ω and their impedances in order."""
        value, u = self.with_uncertainty(function)
        return Curve(name, unit, what, self.frequency, value, u, self.ids)

    def with_uncertainty(self, function: Function) -> tuple[Floats, Floats | None]:
        """Value and standard uncertainty, each (F,); None if a sweep has no stated accuracy."""
        with np.errstate(all="ignore"):
            value = np.asarray(function(self.omega, *self.Z), dtype=np.float64)
            limits = [sweep.accuracy for sweep in self.sweeps]
            if None in limits:
                return value, None
            variance = np.zeros(len(value))
            for place, limit in enumerate(limits):
                for direction in (1.0, 1j):
                    slope = self._slope(function, place, direction)
                    variance += (slope * (limit or 0.0)) ** 2 / 3
        return value, np.sqrt(variance)

    def _slope(self, function: Function, place: int, direction: complex) -> Floats:
        """Derivative with the relative error of one sweep, in phase (1) or across it (1j)."""
        above, below = (
            function(self.omega, *self.Z[:place], self.Z[place] * factor, *self.Z[place + 1 :])
            for factor in (1 + STEP * direction, 1 - STEP * direction)
        )
        return np.asarray((above - below) / (2 * STEP), dtype=np.float64)


def together(*sweeps: Swept) -> Together:
    """The sweeps at the frequencies that all of them have; none may be left."""
    first, *others = (sweep.impedance.frequency for sweep in sweeps)
    shared = np.ones(len(first), dtype=bool)
    for f in others:
        shared &= _known(f, first)[1]
    wanted = first[shared]
    places = [_known(sweep.impedance.frequency, wanted)[0] for sweep in sweeps]
    Z = tuple(sweep.impedance.Z[place] for sweep, place in zip(sweeps, places, strict=True))
    most = max(len(sweep.impedance) for sweep in sweeps)
    return Together(sweeps, wanted, Z, most - len(wanted))


def _known(f: Floats, wanted: Floats) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.bool_]]:
    """Where the wanted frequencies stand in f, and which of them are there."""
    after = np.searchsorted(f, wanted).clip(0, len(f) - 1)
    before = (after - 1).clip(0)
    place = np.where(np.abs(f[before] - wanted) < np.abs(f[after] - wanted), before, after)
    return place, np.abs(f[place] - wanted) <= SAME * wanted


def inductance(w: Floats, Z: Complexes) -> Floats:
    """Series inductance in H."""
    return np.asarray(Z.imag / w)


def parallel_inductance(w: Floats, Z: Complexes) -> Floats:
    """Inductance of the parallel equivalent, |Z|²/(ω Im Z) = Ls(1 + 1/Q²), in H; nan where Im Z is zero."""
    X = np.where(Z.imag == 0, np.nan, Z.imag)
    return np.asarray(np.abs(Z) ** 2 / (w * X))


def parallel_resistance(_: Floats, Z: Complexes) -> Floats:
    """Resistance of the parallel equivalent, |Z|²/Re Z = Rs(1 + Q²), in Ω; nan unless Re Z is above zero."""
    return np.asarray(np.abs(Z) ** 2 / np.where(Z.real > 0, Z.real, np.nan))


def quality_factor(_: Floats, Z: Complexes) -> Floats:
    """Im Z/Re Z; nan where Re Z is zero or less, which no passive part shows."""
    return np.where(Z.real > 0, Z.imag / np.where(Z.real > 0, Z.real, 1), np.nan)


def phase(_: Floats, Z: Complexes) -> Floats:
    """In degrees, from -180 to 180."""
    return np.degrees(np.angle(Z))


@dataclass(frozen=True, eq=False)
class Resonance:
    """Where a sweep passes from inductive to capacitive.

    Attributes
    ----------
    sweep : Swept
    frequency : in Hz, interpolated; None if it does not pass within the sweep
    bracket : the two swept frequencies around it, in Hz
    u : standard uncertainty in Hz, from the stated accuracy; None if none is stated
    inductance : series inductance at the lowest frequency, in H
    """

    sweep: Swept
    frequency: float | None
    bracket: tuple[float, float] | None
    u: float | None
    inductance: float
    u_inductance: float | None

    @property
    def capacitance(self) -> float | None:
        """Effective self-capacitance 1/((2πf)²L), in F."""
        if self.frequency is None or self.inductance <= 0:
            return None
        return float(1 / ((2 * np.pi * self.frequency) ** 2 * self.inductance))

    @property
    def u_capacitance(self) -> float | None:
        """Its standard uncertainty in F; the two errors are of one sweep at two frequencies, so they add."""
        if self.capacitance is None or self.u is None or self.u_inductance is None or not self.frequency:
            return None
        return self.capacitance * (2 * self.u / self.frequency + self.u_inductance / self.inductance)

    @property
    def starts_capacitive(self) -> bool:
        """Whether the lowest frequency swept lies above self-resonance already."""
        return bool(self.sweep.impedance.reactance[0] <= 0)


def resonance(sweep: Swept) -> Resonance:
    """First self-resonance of a sweep: susceptance through zero, linear in ln f between two frequencies.

    A susceptance ωC - 1/(ωL) is an odd function of ln(f/f0), so the chord meets zero where the curve does,
    whatever the loss. Uncertain are the phase of both points, which counts as far as there is loss, and the
    size of each on its own, which moves the crossing between them.
    """
    one = together(sweep)
    L, u_L = one.with_uncertainty(inductance)
    low = float(L[0]), None if u_L is None else float(u_L[0])
    Y = 1 / sweep.impedance.Z
    falls = np.flatnonzero((Y.imag[:-1] < 0) & (Y.imag[1:] >= 0))
    if not len(falls) or low[0] <= 0:
        return Resonance(sweep, None, None, None, *low)
    at = slice(falls[0], falls[0] + 2)
    f, (b0, b1) = sweep.impedance.frequency[at], Y.imag[at]
    part = b0 / (b0 - b1)
    found = float(f[0] * (f[1] / f[0]) ** part)
    slope = (b1 - b0) / np.log(f[1] / f[0])
    G = Y.real[at] @ [1 - part, part]
    u = None
    if sweep.accuracy is not None:
        size = np.sqrt(2) * part * (1 - part) * np.log(f[1] / f[0])
        u = float(found * sweep.accuracy / np.sqrt(3) * np.hypot(G / slope, size))
    return Resonance(sweep, found, (float(f[0]), float(f[1])), u, *low)


# Leakage against frequency by two routes, which must agree.
#
# With complex impedances z = Z_o (series-opposing), d = Z1 - Z2, S = Z1 + Z2, and Z_s of winding 1 with
# winding 2 shorted, for any reciprocal two-port
#
#     Z12 = (S - z)/2,    Z_s = (2 S z - z² - d²)/(4 Z2),    z = (d² + 4 Z2 Z_s)/(S + root),
#     root = sqrt(S² - d² - 4 Z2 Z_s),
#
# forms without a difference of large numbers. Winding resistance, core loss and capacitance across each
# winding are in all of them, so the routes must agree; capacitance between the windings is not.
#
# "Leakage" has three meanings, L(1 - k), B and L(1 - k²); the names always say which.
#
# Source: two-port theory; the inductances are those of `labkit.theory.pair`.


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
