"""What a meter makes of an impedance: series and parallel equivalents, quality factor, self-capacitance.

Symbols: Z impedance (Ω) · f frequency (Hz) · Ls, Rs series equivalent · Lp, Rp parallel equivalent ·
Q = ωLs/Rs quality factor · D = 1/Q dissipation factor. Source: equality of the two equivalents' impedances.
Every function takes floats, arrays, uncertain numbers or sympy symbols unless it says otherwise.
"""

import math

from labkit.theory.number import Number, ratio, sqrt


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


def resonant_frequency(L: Number, C: Number) -> Number:
    """f0 = 1/(2π sqrt(LC)), in Hz: where a lossless winding with self-capacitance C (F) resonates.

    >>> round(resonant_frequency(10e-3, 10e-12) / 1e3, 3)
    503.292
    """
    return 1 / (2 * math.pi * sqrt(L * C))


def inductance_from_resonance(frequency: Number, C: Number) -> Number:
    """L = 1/((2πf)² C), in H, from the capacitance (F) in all that resonates with it at f."""
    w = 2 * math.pi * frequency
    return 1 / (w * w * C)


def distributed_capacitance(C1: Number, C2: Number, frequency_ratio: Number) -> Number:
    """Cd = (C1 - n² C2)/(n² - 1), in F, from two resonances with external capacitances at f and n f.

    Both resonances share L(C + Cd) ω² = 1. C2 = 0 is the self-resonance of the winding alone. Valid while one
    lumped Cd stands for the winding at both frequencies.

    Parameters
    ----------
    C1, C2 : external capacitance at the lower and at the higher resonance, in F
    frequency_ratio : n, higher over lower

    >>> round(distributed_capacitance(460e-12, 100e-12, 2) * 1e12, 3)
    20.0
    """
    n2 = frequency_ratio * frequency_ratio
    return (C1 - n2 * C2) / (n2 - 1)


def true_quality_factor(indicated: Number, C: Number, distributed: Number) -> Number:
    """Q = Q_indicated (C + Cd)/C: of the winding itself, from the rise of voltage over an external C (F)."""
    return indicated * (C + distributed) / C


def resistance_from_quality_factor(L: Number, Q: Number, frequency: Number) -> Number:
    """R = ωL/Q, in Ω, in series with L (H)."""
    return 2 * math.pi * frequency * L / Q


def apparent_quality_factor(Q: Number, frequency: Number, resonant_frequency: Number) -> Number:
    """Q (1 - (f/f0)²): what self-capacitance leaves of Q = ωL/R at f below self-resonance f0, for Q >> 1."""
    x = frequency / resonant_frequency
    return Q * (1 - x * x)
