"""Textbook circuits with coupled coils in the steady state, worked through the forward model.

Each circuit is a hook-up of windings, the first two of them coupled: a primary chain from terminal P to a
common terminal N, a secondary chain from S to N. Resistors, coils and loads are windings that share no flux.
Four placements of the clips then say everything that a book asks:

    Z11 = Z(P, N) and Z22 = Z(S, N) with the other chain open, Z12 = (Z11 + Z22 - Z(P, S))/2,
    I1 = V / Z(P, N with S tied to N), I2 = I1 Z12/Z22, which flows out of S.

Magnitude and angle of a printed phasor count to half a unit of their last digit each. MEMORY marks a value
that was recalled, not read in the book; its circuit was recomputed for this test.
"""

import cmath
import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import pytest

from labkit.theory.network import input_impedance
from labkit.theory.pair import Pair
from tests.printed import printed

BIRD = "Bird, Electrical Circuit Theory and Technology, 2nd ed. 2003, ch. 43"
SADIKU = "Alexander & Sadiku, Fundamentals of Electric Circuits"


@dataclass(frozen=True)
class Winding:
    """Inductance in H, resistance in Ω, self-capacitance in F."""

    L: float = 0.0
    R: float = 0.0
    C: float | None = None


def impedance(Z: complex, omega: float) -> Winding:
    """Any impedance (Ω) at one frequency: a capacitive one takes a negative inductance."""
    return Winding(Z.imag / omega, Z.real)


def capacitor(C: float, omega: float) -> Winding:
    """A capacitor (F): 1 H whose self-capacitance first cancels it and then adds C."""
    return Winding(1.0, 0.0, C + 1 / omega**2)


class HookUp(NamedTuple):
    """Ties of the two chains, and the terminals P, S and N."""

    ties: str
    P: str
    S: str
    N: str


OPEN = HookUp("1b=2b", "1a", "2a", "1b")
LOADED = HookUp("1b=2b 2a=3b", "1a", "3a", "1b")
SOURCE_AND_LOAD = HookUp("3b=1a 1b=2b 2a=4b", "3a", "4a", "1b")
COMMON_BRANCH = HookUp("1b=2b=4a 2a=3b", "1a", "3a", "4b")


@dataclass(frozen=True)
class Circuit:
    """Windings, of which the first two share M (H, dots on 1a and 2a), and their hook-up; ω in rad/s."""

    omega: float
    windings: tuple[Winding, ...]
    M: float
    hook_up: HookUp

    def seen(self, first: str, second: str, extra_tie: str = "") -> complex:
        """Impedance in Ω between two terminals."""
        L = [[w.L if i == j else 0.0 for j in range(len(self.windings))] for i, w in enumerate(self.windings)]
        L[0][1] = L[1][0] = self.M
        R, C = [w.R for w in self.windings], [w.C for w in self.windings]
        wiring = f"{first} {second} | {self.hook_up.ties} {extra_tie}"
        return complex(input_impedance(L, wiring, self.omega / (2 * math.pi), R, C))

    @property
    def Z11(self) -> complex:
        """Self impedance of the primary chain."""
        return self.seen(self.hook_up.P, self.hook_up.N)

    @property
    def Z22(self) -> complex:
        """Self impedance of the secondary chain."""
        return self.seen(self.hook_up.S, self.hook_up.N)

    @property
    def Z12(self) -> complex:
        """Open-circuit voltage of the secondary chain for a unit primary current."""
        return (self.Z11 + self.Z22 - self.seen(self.hook_up.P, self.hook_up.S)) / 2

    @property
    def Zin(self) -> complex:
        """Impedance at the source with the secondary chain closed."""
        return self.seen(self.hook_up.P, self.hook_up.N, f"{self.hook_up.S}={self.hook_up.N}")

    def currents(self, V: complex) -> tuple[complex, complex]:
        """Primary current and current out of the secondary chain, in A."""
        I1 = V / self.Zin
        return I1, I1 * self.Z12 / self.Z22


def assert_phasor(value: complex, magnitude: Any, degrees: Any, unit: float = 1.0) -> None:
    """Magnitude and angle are the printed ones."""
    assert abs(value) == printed(magnitude, unit)
    assert math.degrees(cmath.phase(value)) == printed(degrees)


# The winding that is not in the book (its secondary is open) is given 5 mH; no answer depends on it.
EXAMPLE_8 = Circuit(2500, (Winding(5e-3, 15), Winding(5e-3)), 0.1e-3, OPEN)
EXAMPLE_9 = Circuit(
    1000, (Winding(20e-3), Winding(80e-3)), Pair.from_coupling(20e-3, 80e-3, 0.75).mutual_inductance, OPEN
)
EXAMPLE_10 = Circuit(2000, (Winding(10e-3, 4 + 16), Winding(10e-3, 16), Winding(R=50)), 2e-3, LOADED)
EXAMPLE_11 = Circuit(
    500, (Winding(0.5, 300), Winding(0.3, 500), Winding(0.2), capacitor(5e-6, 500)), 0.2, SOURCE_AND_LOAD
)
LOAD = cmath.rect(200, math.radians(-60))
EXAMPLE_14 = Circuit(
    2 * math.pi * 20e3,
    (Winding(1e-3, 5), Winding(6e-3, 40), impedance(LOAD, 2 * math.pi * 20e3)),
    Pair.from_coupling(1e-3, 6e-3, 0.70).mutual_inductance,
    LOADED,
)
EXAMPLE_15 = Circuit(150, (Winding(0.2, 5 + 20), Winding(0.4, 25), Winding(R=20)), 0.1, LOADED)
EXAMPLE_16 = Circuit(150, (*EXAMPLE_15.windings, Winding(0.1, 8)), 0.1, COMMON_BRANCH)
EXAMPLE_16_REVERSED = replace(EXAMPLE_16, hook_up=HookUp("1b=2a=4a 2b=3b", "1a", "3a", "4b"))

SADIKU_1 = Circuit(1, (Winding(5), Winding(6), impedance(-4j, 1), Winding(R=12)), 3, SOURCE_AND_LOAD)
SADIKU_2 = Circuit(
    1,
    (Winding(6), Winding(8), impedance(4 - 3j, 1), Winding(R=5)),
    2,
    HookUp("3b=1a=2b 2a=4b", "3a", "4a", "1b"),
)
SADIKU_3 = Circuit(4, (Winding(5), Winding(4), Winding(R=10), capacitor(1 / 16, 4)), 2.5, SOURCE_AND_LOAD)
SADIKU_4 = Circuit(
    1,
    (Winding(20), Winding(40), impedance(60 - 100j, 1), impedance(30 + 40j + 80 + 60j, 1)),
    5,
    SOURCE_AND_LOAD,
)
CIRCUITS = [EXAMPLE_8, EXAMPLE_9, EXAMPLE_10, EXAMPLE_11, EXAMPLE_14, EXAMPLE_15, EXAMPLE_16]
CIRCUITS += [EXAMPLE_16_REVERSED, SADIKU_1, SADIKU_2, SADIKU_3, SADIKU_4]

OPEN_CIRCUIT_VOLTAGES = [
    pytest.param(EXAMPLE_8, 8, "0.102", "50.19", id=f"{BIRD}, example 8, p. 850"),
    pytest.param(EXAMPLE_9, 5, 7.5, "0.00", id=f"{BIRD}, example 9, p. 850; angle computed"),
]


@pytest.mark.parametrize(("circuit", "V", "magnitude", "degrees"), OPEN_CIRCUIT_VOLTAGES)
def test_open_circuit_voltage_is_the_books(circuit: Circuit, V: float, magnitude: Any, degrees: Any) -> None:
    """The open secondary shows the source's voltage, Z12/Z11 times the applied one."""
    assert_phasor(V * circuit.Z12 / circuit.Z11, magnitude, degrees)


I1_OF, I2_OF = 0, 1  # places in the answer of Circuit.currents
CURRENTS = [
    pytest.param(EXAMPLE_10, 2, I2_OF, "0.004085", "28.55", id=f"{BIRD}, example 10, p. 852: I2"),
    pytest.param(EXAMPLE_11, 50, I1_OF, "0.10", "-48.57", id=f"{BIRD}, example 11, p. 853: I1"),
    pytest.param(EXAMPLE_11, 50, I2_OF, "0.02", "68.0", id=f"{BIRD}, example 11, p. 853: I2"),
    pytest.param(EXAMPLE_14, 40, I1_OF, "0.724", "-65.15", id=f"{BIRD}, example 14, p. 859: I1"),
    pytest.param(EXAMPLE_15, 50, I1_OF, "1.30", "-45.84", id=f"{BIRD}, example 15, p. 860: I1"),
    pytest.param(EXAMPLE_15, 50, I2_OF, "0.26", "-8.97", id=f"{BIRD}, example 15, p. 860: I2"),
    pytest.param(EXAMPLE_16, 50, I1_OF, "1.03", "-45.47", id=f"{BIRD}, example 16, p. 862: I1"),
    pytest.param(EXAMPLE_16, 50, I2_OF, "0.35", "-25.16", id=f"{BIRD}, example 16, p. 862: I2"),
    pytest.param(EXAMPLE_16_REVERSED, 50, I1_OF, "0.89", "-54.42", id=f"{BIRD}, example 16: I1, reversed"),
    pytest.param(EXAMPLE_16_REVERSED, 50, I2_OF, "0.08", "-109.17", id=f"{BIRD}, example 16: I2, reversed"),
    pytest.param(SADIKU_1, 12, I1_OF, "13.01…", "-49.39…", id=f"MEMORY: {SADIKU}, example 13.1: I1"),
    pytest.param(SADIKU_1, 12, I2_OF, "2.91", "14.04", id=f"MEMORY: {SADIKU}, example 13.1: I2"),
    pytest.param(SADIKU_2, 100, I1_OF, "20.3", "3.5", id=f"MEMORY: {SADIKU}, example 13.2: I1"),
    pytest.param(SADIKU_2, 100, I2_OF, "8.693", "19.03", id=f"MEMORY: {SADIKU}, example 13.2: I2"),
    pytest.param(
        SADIKU_4,
        cmath.rect(50, math.radians(60)),
        I1_OF,
        "0.5",
        "113.1",
        id=f"MEMORY: {SADIKU}, example 13.4: I1",
    ),
]


@pytest.mark.parametrize(("circuit", "V", "which", "magnitude", "degrees"), CURRENTS)
def test_current_is_the_books(circuit: Circuit, V: complex, which: int, magnitude: str, degrees: str) -> None:
    """Primary and secondary currents are the source's in magnitude and angle, with either polarity."""
    assert_phasor(circuit.currents(V)[which], magnitude, degrees)


IMPEDANCES: list[tuple[str, Callable[[Circuit], complex], complex]] = [
    ("self impedance of the primary", lambda c: c.Z11, 300 + 350j),
    ("self impedance of the secondary", lambda c: c.Z22, 500 - 250j),
    ("impedance reflected into the primary", lambda c: c.Zin - c.Z11, 16 + 8j),
    ("effective primary impedance", lambda c: c.Zin, 316 + 358j),
]


@pytest.mark.parametrize(("name", "quantity", "answer"), IMPEDANCES)
def test_impedance_is_the_books(name: str, quantity: Callable[[Circuit], complex], answer: complex) -> None:
    """Bird, ch. 43, example 11, p. 853: self, reflected and effective impedances of a tuned secondary."""
    assert quantity(EXAMPLE_11) == pytest.approx(answer, rel=1e-12)


def test_loaded_secondary_is_the_books() -> None:
    """Bird, ch. 43, example 14, p. 859: M is 1.715 mH, and 52.2 V stand across a load of 200 Ω at -60°."""
    assert EXAMPLE_14.M == printed("1.715", 1e-3)
    _, I2 = EXAMPLE_14.currents(40)
    assert abs(I2 * LOAD) == printed("52.2")


def test_input_impedance_of_a_loaded_pair_is_the_books() -> None:
    """MEMORY: Alexander & Sadiku, example 13.4: 100.14 Ω at -53.1°."""
    assert_phasor(SADIKU_4.Zin, "100.14", "-53.1")


def test_stored_energy_is_the_books() -> None:
    """MEMORY: Alexander & Sadiku, example 13.3: 20.73 J at 1 s, k = 0.56."""
    I1, I2 = SADIKU_3.currents(cmath.rect(60, math.radians(30)))
    i1, i2 = ((current * cmath.exp(4j)).real for current in (I1, -I2))  # both into the dotted ends
    assert 5 / 2 * i1**2 + 4 / 2 * i2**2 + 2.5 * i1 * i2 == printed("20.73…")
    assert Pair.from_mutual(5, 4, 2.5).coupling_coefficient == printed("0.56")


@pytest.mark.parametrize("circuit", CIRCUITS)
def test_closed_secondary_reflects_its_impedance(circuit: Circuit) -> None:
    """Z with the secondary closed, read directly, is Z11 - Z12²/Z22 from the other three readings."""
    assert circuit.Zin == pytest.approx(circuit.Z11 - circuit.Z12**2 / circuit.Z22, rel=1e-12)
