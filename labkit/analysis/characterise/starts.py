"""Where a fit starts, read off the sweep itself: low-frequency slope, resonance, loss, high-frequency end.

The core's models are rational in s = jω, Z = (a0 + a1 s + a2 s²)/(1 + b1 s + b2 s² + b3 s³), and linear in
the coefficients once the denominator is multiplied out; a few rounds with the last denominator as weight
make the misfit relative. Coefficients that no such winding can have are replaced by small positive ones: a
start need not be right, only near.

Source: C. K. Sanathanan and J. Koerner, IEEE Trans. Automatic Control 8 (1963) 56-58.
"""

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import numpy.typing as npt

from labkit.sweeps.sweep import Complexes, Floats, Impedance
from labkit.theory.models import CORE, CORE_DAMPED, SELF_CAPACITANCE, Model

POINTS = 80
_SMALL = 1e-3
_ROUNDS = 4


def thinned(sweep: Impedance, points: int = POINTS) -> Impedance:
    """About so many points, evenly spread over the logarithm of frequency; all if there are no more."""
    if len(sweep) <= points:
        return sweep
    goal = np.geomspace(sweep.frequency[0], sweep.frequency[-1], points)
    kept = np.unique(np.searchsorted(sweep.frequency, goal).clip(0, len(sweep) - 1))
    return Impedance(sweep.frequency[kept], sweep.Z[kept])


def scatter(sweep: Impedance) -> float:
    """Relative noise from point to point of each part of Z, without any model; 0 for fewer than eight points.

    A smooth curve has small third differences and noise has large ones; their median is deaf to a sharp
    resonance.
    """
    if len(sweep) < 8:
        return 0.0
    rough = np.diff(np.log(sweep.Z), 3)
    return float(np.median(np.abs(rough)) / (1.1774 * math.sqrt(20)))


def starts(model: Model, sweep: Impedance) -> Iterator[Floats]:
    """Parameters to start from, shape (P,), the most promising first."""
    R, L, C = lumped(sweep)
    if model.shunt is None:
        yield np.array([R, L])
    elif model is SELF_CAPACITANCE:
        yield from _self_capacitance(sweep, R, L, C)
    elif model is CORE:
        yield from _core(sweep, R, L, C)
    elif model is CORE_DAMPED:
        yield from _core_damped(sweep, R, L, C)


AIR = 1
"""Place of L_air among the parameters of the core's models."""


def twins(model: Model, p: Floats) -> Iterator[Floats]:
    """Where another minimum may lie: less, or more, of the core's inductance in air instead.

    Seen from the clips the flux in air and what damps the capacitance do nearly the same, so a sweep may
    have two solutions on either side of a fold, or one with hardly any flux in air.
    """
    if model in (CORE, CORE_DAMPED):
        for factor in (0.6, 1.7, 0.05, 20.0):
            air = min(factor * p[AIR], 0.5 * (p[AIR] + p[2]))
            yield np.array([p[0], air, p[AIR] + p[2] - air, *p[3:]])


def lumped(sweep: Impedance) -> tuple[float, float, float]:
    """R (Ω), L (H) and C (F) of a lumped winding, from the sweep's low end and its resonance.

    L is the slope of the reactance over the lowest points; R the resistance there, at least a thousandth of
    |Z|; C from the first passage of the phase through zero, else from the susceptance at the high end.
    """
    w, Z = sweep.omega, sweep.Z
    low = slice(0, max(3, len(sweep) // 20))
    R = max(float(np.median(Z.real[low])), _SMALL * float(abs(Z[0])))
    slope = float(np.median(Z.imag[low] / w[low]))
    L = slope if slope > 0 else float(abs(Z[0]) / w[0])
    falling = np.flatnonzero((Z.imag[:-1] > 0) & (Z.imag[1:] <= 0))
    if falling.size:
        C = 1 / (L * float(w[falling[0] + 1]) ** 2)
    else:
        susceptance = float((1 / Z[-1]).imag / w[-1]) + 1 / (L * float(w[-1]) ** 2)
        C = max(susceptance, _SMALL / (L * float(w[-1]) ** 2))
    return R, L, C


def _self_capacitance(sweep: Impedance, R: float, L: float, C: float) -> Iterator[Floats]:
    """Z = (a0 + a1 s)/(1 + b1 s + b2 s²), then what the low end and the resonance say."""
    (a0, a1), (_, b2) = _rational(sweep, 1, 2)
    if a1 > 0 and b2 > 0:
        yield np.array([max(a0, 1e-6 * a1 * sweep.omega[0]), a1, b2 / a1])
    yield from (np.array([R, L, C * factor]) for factor in (1.0, 0.1, 10.0))


def _core(sweep: Impedance, R: float, L: float, C: float) -> Iterator[Floats]:
    """The rational function's, the same with less flux in air, then a coarse grid."""
    rational = _rational_core(sweep)
    if rational is not None:
        yield rational
        few = 0.03 * rational[1]
        yield rational + np.array([0, few - rational[1], rational[1] - few, 0, 0])
    resonance = 1 / (2 * math.pi * math.sqrt(L * C))
    for factor in (1.0, 0.1, 10.0):
        for air in (0.02, 0.3):
            yield np.array([R, air * L, (1 - air) * L, resonance * factor, C])


def _core_damped(sweep: Impedance, R: float, L: float, C: float) -> Iterator[Floats]:
    """CORE's, with the plateau of the high end for R_d, then with parts of the characteristic impedance."""
    level = math.sqrt(L / C)
    plateau = max(float(sweep.Z[-1].real), _SMALL * level)
    for p in _core(sweep, R, L, C):
        yield np.array([*p, plateau])
        yield np.array([*p[:4], C, plateau])
        yield from (np.array([*p, factor * level]) for factor in (0.5, 0.1, 0.02))


def _rational_core(sweep: Impedance) -> Floats | None:
    """CORE's parameters from its rational function; None if far from physical."""
    (a0, a1, a2), (b1, b2, b3) = _rational(sweep, 2, 3)
    if a1 <= 0:
        return None
    R = max(a0, 1e-6 * a1 * sweep.omega[0])
    candidates = [c for c in (b3 / a2 if a2 else 0.0, b2 / a1) if c > 0]
    C = candidates[0] if candidates else _SMALL / (a1 * sweep.omega[-1] ** 2)
    tau = b1 - C * R
    tau = tau if tau > 0 else 0.1 / sweep.omega[-1]
    L = max(a1 - R * tau, _SMALL * a1)
    air = min(max(a2 / tau, _SMALL * L), 0.99 * L)
    return np.array([R, air, L - air, 1 / (2 * math.pi * tau), C])


def _rational(sweep: Impedance, above: int, below: int) -> tuple[Floats, Floats]:
    """Coefficients a0, a1, ... and b1, b2, ... of a rational function with these degrees, in SI units."""
    scale = math.sqrt(sweep.omega[0] * sweep.omega[-1])
    s = np.asarray(1j * sweep.omega / scale, dtype=np.complex128)
    P = np.asarray(s[:, None] ** np.arange(max(above, below) + 1), dtype=np.complex128)
    columns = np.concatenate([P[:, : above + 1], -sweep.Z[:, None] * P[:, 1 : below + 1]], axis=1)
    weight: Floats = 1 / np.abs(sweep.Z)
    for _ in range(_ROUNDS):
        found = _least_squares(columns * weight[:, None], sweep.Z * weight)
        denominator = 1 + P[:, 1 : below + 1] @ found[above + 1 :]
        weight = 1 / (np.abs(sweep.Z) * np.maximum(np.abs(denominator), 1e-6))
    unscaled = found / scale ** np.r_[0 : above + 1, 1 : below + 1]
    return unscaled[: above + 1], unscaled[above + 1 :]


def _least_squares(A: npt.NDArray[Any], y: Complexes) -> Floats:
    """Real coefficients for complex equations."""
    left, right = (np.concatenate([values.real, values.imag]) for values in (A, y))
    return np.asarray(np.linalg.lstsq(left, right, rcond=None)[0], dtype=np.float64)
