"""Corner frequencies of chokes and filters, where lossless formulas hold, and capacitors on a line.

Every function is plain arithmetic for every kind of number. Symbols: L1, L2, B as in `labkit.theory.pair`
(H) · R resistance (Ω) · C capacitance (F) · f frequency (Hz) · V voltage (V).

Whether a capacitor or bleeder on a line is safe is decided by the local code and by people licensed for it:
the formulas only say what follows from ideal elements.
"""

import math

from labkit.theory.number import Number, log, sqrt

TWO_PI = 2 * math.pi


def choke_corner(L: Number, source: Number, load: Number) -> Number:
    """f at which an inductance in series makes 3.01 dB of insertion loss: (Rs + RL)/(2πL), in Hz.

    Parameters
    ----------
    L : of the mode, in H: parallel-aiding in common mode, series-opposing in differential mode
    source, load : resistances in Ω

    >>> round(choke_corner(1e-3, 50.0, 50.0), 1)
    15915.5
    """
    return (source + load) / (TWO_PI * L)


def resonance(L: Number, C: Number) -> Number:
    """1/(2π√(L C)), in Hz."""
    return 1 / (TWO_PI * sqrt(L * C))


def common_mode_resonance(L_common: Number, C_y: Number, lines: int = 2) -> Number:
    """Corner of choke and Y-capacitors in common mode, in Hz: the capacitors of all lines stand side by side.

    Parameters
    ----------
    L_common : common-mode inductance, in H
    C_y : one capacitor from a line to ground, in F
    lines : how many lines have one
    """
    return resonance(L_common, lines * C_y)


def differential_mode_resonance(B: Number, C_x: Number, C_y: Number = 0) -> Number:
    """Corner of the loop inductance B (H) and the X-capacitor (F) in differential mode, in Hz.

    Two Y-capacitors C_y on the same side stand in series with each other across it: C_x + C_y/2.
    """
    return resonance(B, C_x + C_y / 2)


def resistance_corner(R1: Number, R2: Number, B: Number) -> Number:
    """f_c = (R1 + R2)/(2πB), in Hz: below it winding resistance, not B, limits the current that goes around.

    Lossless formulas for windings side by side may be used well above it.
    """
    return (R1 + R2) / (TWO_PI * B)


def mismatch_weight(frequency: Number, corner: Number) -> Number:
    """How much of the lossless mismatch term d²/(4B) shows in P+: x²/(1 + x²), x = f/f_c, for R1 = R2.

    One per cent at f_c/10, half at f_c, 99 % at 10 f_c. From the real part of z_d²/(4 z_B).

    >>> round(mismatch_weight(1.0, 10.0), 4), mismatch_weight(1.0, 1.0)
    (0.0099, 0.5)
    """
    x = frequency / corner
    return x * x / (1 + x * x)


def bleeder_resistance(C: Number, V0: Number, V: Number, time: Number) -> Number:
    """Largest resistance that takes a capacitor from V0 to V within a time (s): t/(C ln(V0/V)), in Ω.

    >>> round(bleeder_resistance(1e-6, 340.0, 34.0, 1.0))
    434294
    """
    return time / (C * log(V0 / V))


def discharge_time(C: Number, R: Number, V0: Number, V: Number) -> Number:
    """Time in s from V0 to V through R, if R is intact: R C ln(V0/V)."""
    return R * C * log(V0 / V)


def line_capacitor_current(C: Number, V: Number, frequency: Number) -> Number:
    """Current through a capacitor from line to ground, effective value in A: 2πf C V."""
    return TWO_PI * frequency * C * V


def line_capacitance_for(current: Number, V: Number, frequency: Number) -> Number:
    """Capacitance in F that draws a current (A) at a voltage (V) and frequency (Hz): I/(2πf V)."""
    return current / (TWO_PI * frequency * V)
