"""Corner frequencies of chokes and filters, where lossless formulas hold, and capacitors on a line.

Every function is plain arithmetic for every kind of number. Symbols: L1, L2, B as in `labkit.theory.pair`
(H) · R resistance (Ω) · C capacitance (F) · f frequency (Hz) · V voltage (V).

Whether a capacitor or bleeder on a line is safe is decided by the local code and by people licensed for it:
the formulas only say what follows from ideal elements.
"""

import math
from dataclasses import dataclass

from labkit.theory.number import Number, log, sqrt
from labkit.theory.pair import STABLE_FORMS
from labkit.theory.wiring import Connection

# What a meter in series mode reads of a pair with resistance: where losses move the inductance itself.
#
# A single winding and the two in line show their inductance whatever their resistance. Side by side, and
# with one winding shorted, the current divides by impedance and resistances move the reading:
#
#     P+ = A/4 - q(d, δ; B, β)/4      P- = B/4 - q(d, δ; A, α)/4      Lsc1 = L1 - q(M, μ; L2, ρ2)
#
#     q(x, ξ; y, η) = Re (x - jξ)² / (y - jη) = ((x² - ξ²) y + 2 x ξ η) / (y² + η²).
#
# Symbols: ρ1 = R1/ω, ρ2 = R2/ω, μ = R12/ω in H, R1 and R2 the series resistances of the windings, R12 the
# resistance that they share (loss of the common core; 0 for copper alone), δ = ρ1 - ρ2, β = ρ1 + ρ2 - 2μ in
# line with one reversed, α = ρ1 + ρ2 + 2μ in line. Plain real arithmetic, so slopes by complex step stay
# exact.
#
# Source: the network's impedance with those resistances, `labkit.theory.network.input_impedance`; proven
# equal to it in tests.


@dataclass(frozen=True)
class Losses:
    """Resistances of a pair at one frequency over ω, in H: of each winding, and what both share."""

    rho_1: float
    rho_2: float
    mu: float = 0.0

    @property
    def opposing(self) -> float:
        """Of both in line, one reversed."""
        return self.rho_1 + self.rho_2 - 2 * self.mu

    @property
    def aiding(self) -> float:
        """Of both in line."""
        return self.rho_1 + self.rho_2 + 2 * self.mu


def series_inductances(
    L1: Number, L2: Number, B: Number, losses: Losses | None = None
) -> dict[Connection, Number]:
    """Series-equivalent inductance of every connection, in H; the lossless closed forms without losses.

    Parameters
    ----------
    L1, L2, B : self-inductances and series-opposing inductance, in H

    Examples
    --------
    One per cent of mismatch shows less of itself side by side while resistance rules the loop:

    >>> from labkit.theory.wiring import Connection
    >>> P = Connection.PARALLEL_AIDING
    >>> for losses in (None, Losses(40e-6, 40e-6)):
    ...     print(f"{series_inductances(10.1e-3, 9.9e-3, 20e-6, losses)[P] * 1e3:.3f} mH")
    9.495 mH
    9.966 mH
    """
    ideal = {connection: form(L1, L2, B) for connection, form in STABLE_FORMS.items()}
    if losses is None:
        return ideal
    A, d, M = 2 * (L1 + L2) - B, L1 - L2, (L1 + L2 - B) / 2
    delta, mu = losses.rho_1 - losses.rho_2, losses.mu
    return ideal | {
        Connection.PARALLEL_AIDING: A / 4 - _quotient(d, delta, B, losses.opposing) / 4,
        Connection.PARALLEL_OPPOSING: B / 4 - _quotient(d, delta, A, losses.aiding) / 4,
        Connection.SHORT_CIRCUIT_1: L1 - _quotient(M, mu, L2, losses.rho_2),
        Connection.SHORT_CIRCUIT_2: L2 - _quotient(M, mu, L1, losses.rho_1),
    }


def _quotient(x: Number, xi: float, y: Number, eta: float) -> Number:
    """Re (x - j xi)² / (y - j eta)."""
    return ((x * x - xi * xi) * y + 2 * x * xi * eta) / (y * y + eta * eta)


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
