"""Inductance without an LCR meter: balanced bridges, and two voltages with the phase between them.

Symbols: Ls, Rs series equivalent of the coil (H, Ω) · R1, R3, R4, C3 arms of the bridge at balance · Rref
known resistance (Ω) · V1 voltage of the source, V2 across the coil (V) · phase of V2 before V1 (degrees).
"""

import cmath
import math
from typing import NamedTuple

from labkit.theory.number import Number


class Coil(NamedTuple):
    """Series equivalent of a coil, in H and Ω."""

    Ls: Number
    Rs: Number


def maxwell_bridge(R1: Number, R3: Number, R4: Number, C3: Number) -> Coil:
    """Coil opposite an arm of R3 parallel to C3: Ls = C3 R1 R4, Rs = R1 R4/R3, in H and Ω.

    It balances at every frequency. Source: no voltage at the detector, Z = R1 R4 (1/R3 + jωC3).

    >>> maxwell_bridge(R1=1000.0, R3=10e3, R4=1000.0, C3=10e-9)
    Coil(Ls=0.01, Rs=100.0)
    """
    return Coil(C3 * R1 * R4, R1 * R4 / R3)


def comparison_bridge(L1: Number, R1: Number, R3: Number, R4: Number) -> Coil:
    """Coil against a known coil L1 with R1 in series: Ls = L1 R4/R3, Rs = R1 R4/R3, in H and Ω.

    >>> comparison_bridge(L1=0.01, R1=2.0, R3=100.0, R4=300.0)
    Coil(Ls=0.03, Rs=6.0)
    """
    ratio = R4 / R3
    return Coil(L1 * ratio, R1 * ratio)


def divider(Rref: float, V1: float, V2: float, phase: float, frequency: float) -> Coil:
    """Coil in series with a known resistor: Z = Rref V2/(V1 - V2), Ls = Im Z/ω, Rs = Re Z.

    Parameters
    ----------
    Rref : in Ω, between the source and the coil
    V1, V2 : in V, source and coil, both peak or both r.m.s.
    phase : by how many degrees V2 leads V1
    frequency : in Hz
    """
    across = cmath.rect(V2, math.radians(phase))
    Z = Rref * across / (V1 - across)
    return Coil(Z.imag / (2 * math.pi * frequency), Z.real)
