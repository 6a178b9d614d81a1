"""Inductance without an LCR meter, against printed worked examples.

Bridges: Bell, Electronic Instrumentation and Measurements, examples 8-6 (p. 207) and 8-7 (p. 209). Divider:
the worked example of an application note on measuring an inductor with an oscilloscope, 10 kHz and 1 kΩ.
"""

from labkit.theory.bridges import comparison_bridge, divider, maxwell_bridge
from labkit.theory.circuit import quality_factor
from tests.printed import printed


def test_maxwell_bridge() -> None:
    """0.1 µF, 1.26 kΩ, 470 Ω and 500 Ω balance 63 mH and 1.34 kΩ, Q 0.03 at 100 Hz."""
    coil = maxwell_bridge(R1=1260.0, R3=470.0, R4=500.0, C3=0.1e-6)
    assert coil.Ls == printed("63", 1e-3)
    assert coil.Rs == printed("1.34", 1e3)
    assert quality_factor(coil.Ls, coil.Rs, 100.0) == printed("0.029531")


def test_comparison_bridge() -> None:
    """100 mH with 54 Ω against 1 kΩ and 5 kΩ balance 500 mH and 270 Ω."""
    coil = comparison_bridge(L1=100e-3, R1=54.0, R3=1e3, R4=5e3)
    assert coil.Ls == printed(500e-3)
    assert coil.Rs == printed(270.0)


def test_divider() -> None:
    """1.832 V behind 1 kΩ, 0.952 V across the coil and 56.03° ahead: 9.95 mH with 29.48 Ω.

    The further digits were computed for this test from Z = Rref V2/(V1 - V2).
    """
    coil = divider(1e3, 1.832, 0.952, 56.03, 10e3)
    assert coil.Rs == printed("29.48")
    assert coil.Ls == printed("9.95", 1e-3)
    assert coil.Rs == printed("29.4821")
    assert coil.Ls == printed("9.950375", 1e-3)
