"""What a meter makes of an impedance: series and parallel equivalents, quality factor, self-capacitance.

Symbols: Z impedance (Ω) · f frequency (Hz) · Ls, Rs series equivalent · Lp, Rp parallel equivalent ·
Q = ωLs/Rs quality factor · D = 1/Q dissipation factor. Source: equality of the two equivalents' impedances.
Every function takes floats, arrays, uncertain numbers or sympy symbols unless it says otherwise.
"""

import math

from labkit.theory.number import Number, ratio


def quality_factor(Ls: Number, Rs: Number, frequency: Number) -> Number:
    """Q = ωLs/Rs, without a unit."""
    return 2 * math.pi * frequency * Ls / Rs


def parallel_from_series(Ls: Number, Q: Number) -> Number:
    """Lp = Ls (1 + 1/Q²), in H; infinite for Q = 0.

    >>> round(parallel_from_series(10e-3, 10.0) * 1e3, 6)
    10.1
    """
    return Ls * (1 + ratio(1, Q * Q))


def series_from_parallel(Lp: Number, Q: Number) -> Number:
    """Ls = Lp / (1 + 1/Q²), in H; 0 for Q = 0."""
    return Lp * (Q * Q) / (1 + Q * Q)


def parallel_resistance_from_series(Rs: Number, Q: Number) -> Number:
    """Rp = Rs (1 + Q²), in Ω."""
    return Rs * (1 + Q * Q)


def series_resistance_from_parallel(Rp: Number, Q: Number) -> Number:
    """Rs = Rp / (1 + Q²), in Ω."""
    return Rp / (1 + Q * Q)


def series_inductance(Z: Number, frequency: Number) -> Number:
    """Ls = Im Z / ω, in H; negative above self-resonance. Complex floats or arrays; f above 0."""
    return Z.imag / (2 * math.pi * frequency)


def parallel_inductance(Z: Number, frequency: Number) -> Number:
    """Lp = -1 / (ω Im(1/Z)) = |Z|² / (ω Im Z), in H; infinite without reactance. Complex floats or arrays."""
    return ratio(Z.real * Z.real + Z.imag * Z.imag, 2 * math.pi * frequency * Z.imag)


def apparent_inductance(L: Number, self_capacitance: Number, frequency: Number) -> Number:
    """L/(1 - ω²LC), in H: what a meter reads of a lossless winding with self-capacitance C (F).

    One per cent too much at a tenth of the self-resonant frequency; negative above it; infinite
    exactly there.
    """
    w = 2 * math.pi * frequency
    return ratio(L, 1 - w * w * L * self_capacitance)
