"""The specification's own example files, read as the specification says.

Touchstone File Format Specification, version 2.1 (IBIS Open Forum), examples by number; where the files come
from stands in `touchstone/README.md`. Values in Ω were computed for this test from the printed magnitudes and
angles.
"""

import cmath
import math
from pathlib import Path

import numpy as np
import pytest

from labkit.arrays import Complexes
from labkit.sweeps.sweep import Scattering
from labkit.sweeps.touchstone_file import read_touchstone

FOLDER = Path(__file__).parent / "touchstone"


def example(name: str) -> Scattering:
    """An example file as read."""
    return read_touchstone((FOLDER / name).read_bytes(), name)


def impedances(sweep: Scattering) -> Complexes:
    """Impedance matrices, Z = √R (1 - S)^-1 (1 + S) √R, shape (F, N, N), in Ω."""
    one, root = np.eye(sweep.ports), np.diag(np.sqrt(sweep.reference))
    return np.asarray(root @ np.linalg.inv(one - sweep.S) @ (one + sweep.S) @ root)


def polar(size: float, degrees: float) -> complex:
    """Magnitude and angle as printed."""
    return cmath.rect(size, math.radians(degrees))


def test_magnitude_and_angle_at_one_frequency() -> None:
    """Example 9: a reflection of 0.894 at -12.136° at 2 MHz."""
    sweep = example("example_9.s1p")
    assert sweep.frequency.tolist() == [2e6]
    assert sweep.S[0, 0, 0] == pytest.approx(0.87402 - 0.18795j, abs=5e-6)
    assert impedances(sweep)[0, 0, 0] == pytest.approx(196.07617 - 367.11923j, abs=1e-4)


MAGNITUDES = [74.25, 60.0, 53.025, 30.0, 0.75]


@pytest.mark.parametrize("name", ["example_10.s1p", "example_11.ts"])
def test_impedances_relative_to_the_reference_or_not(name: str) -> None:
    """Examples 10 and 11 are one part: version 1 divides impedances by R, version 2 does not."""
    Z = impedances(example(name))[:, 0, 0]
    assert np.abs(Z) == pytest.approx(MAGNITUDES, abs=1e-4)
    assert np.degrees(np.angle(Z)) == pytest.approx([-4, -22, -45, -62, -89], abs=1e-4)
    assert Z[0] == pytest.approx(74.06913 - 5.17942j, abs=1e-4)


def test_a_reference_of_its_own() -> None:
    """Example 11: [Reference] 20 holds, whatever the option line would say; S follows from it."""
    sweep = example("example_11.ts")
    assert sweep.reference.tolist() == [20.0]
    assert sweep.frequency.tolist() == [1e8, 2e8, 3e8, 4e8, 5e8]
    assert sweep.S[0, 0, 0] == pytest.approx(0.57607 - 0.02334j, abs=5e-6)


def test_a_two_port_in_real_and_imaginary_parts() -> None:
    """Example 14: a symmetric two-port at 1, 2 and 10 GHz."""
    sweep = example("example_14.s2p")
    assert sweep.frequency.tolist() == [1e9, 2e9, 1e10]
    assert sweep.S[2].tolist() == [
        [0.3419 + 0.3336j, -0.0134 + 0.0379j],
        [-0.0134 + 0.0379j, 0.3419 + 0.3336j],
    ]
    Z = impedances(sweep)[0]
    assert Z[0, 0] == pytest.approx(108.34082 - 31.56789j, abs=1e-4)
    assert Z[0, 1] == pytest.approx(-0.28217 - 0.47559j, abs=1e-4)


def test_a_four_port_in_rows() -> None:
    """Example 15: sixteen pairs a point, a row of the matrix a line, blank lines and comments between."""
    sweep = example("example_15.s4p")
    assert sweep.S.shape == (3, 4, 4)
    assert sweep.S[0, 0, 1] == pytest.approx(0.296322 - 0.268688j, abs=1e-6)
    assert sweep.S[0, 1, 1] == pytest.approx(polar(0.60, 161.20), abs=1e-12)
    assert sweep.S[2, 3, 0] == pytest.approx(polar(0.62, -114.19), abs=1e-12)


def test_only_half_of_a_matrix() -> None:
    """Example 6: the lower triangle stands for the whole matrix, and references go on over two lines."""
    sweep, whole = example("example_6.ts"), example("example_15.s4p")
    assert sweep.reference.tolist() == [50.0, 75.0, 0.01, 0.01]
    assert sweep.S[0] == pytest.approx(whole.S[0], abs=1e-12)


def test_the_order_of_a_two_port_is_said() -> None:
    """Example 21: in the order 12_21 the second pair is S12, with references of 50 and 25 Ω."""
    sweep = example("example_21.ts")
    assert sweep.frequency.tolist() == [2e9, 22e9]
    assert sweep.reference.tolist() == [50.0, 25.0]
    assert sweep.S[0, 0, 1] == pytest.approx(polar(3.57, 157), rel=1e-15)
    assert sweep.S[0, 1, 0] == pytest.approx(polar(0.04, 76), rel=1e-15)


def test_noise_is_no_data() -> None:
    """Example 19: a bare # means GHz, S, MA, 50 Ω; the second pair is S21; noise lines are not points."""
    sweep = example("example_19.s2p")
    assert sweep.frequency.tolist() == [2e9, 22e9]
    assert sweep.reference.tolist() == [50.0, 50.0]
    assert sweep.S[0, 1, 0] == pytest.approx(polar(3.57, 157), rel=1e-15)
    assert sweep.S[1, 0, 1] == pytest.approx(polar(0.14, 40), rel=1e-15)


@pytest.mark.parametrize(
    ("kind", "values"),
    [
        ("Z", [[2 + 1j, 0.5j], [0.4, 1 - 1j]]),
        ("Y", [[0.5 - 0.2j, -0.1j], [-0.2, 0.7 + 0.3j]]),
        ("H", [[1.5 + 0.5j, 0.2], [-0.3j, 0.6 + 0.1j]]),
        ("G", [[0.6 + 0.1j, -0.2], [0.3j, 1.5 + 0.5j]]),
    ],
)
def test_version_1_gives_values_relative_to_the_reference(kind: str, values: list[list[complex]]) -> None:
    """Z/R, Y R, H11/R, H22 R, G11 R, G22/R stand in a version-1 file, so that it means the same S at any R.

    Specification 1.1, "Rules for Version 1.0 files"; the same values in ohms and siemens in a version-2 file.
    """
    R = 75.0
    by = {"Z": [[R, R], [R, R]], "Y": [[1 / R, 1 / R], [1 / R, 1 / R]], "H": [[R, 1], [1, 1 / R]]}
    by["G"] = [[1 / R, 1], [1, R]]
    absolute = np.array(values) * np.array(by[kind])

    def row(m: Complexes) -> str:
        return " ".join(f"{v.real!r} {v.imag!r}" for v in m.T.ravel().tolist())

    old = f"# MHz {kind} RI R {R}\n1 {row(np.array(values))}\n"
    new = (
        f"[Version] 2.0\n# MHz {kind} RI R {R}\n[Number of Ports] 2\n[Two-Port Data Order] 21_12\n"
        f"[Number of Frequencies] 1\n[Network Data]\n1 {row(absolute)}\n[End]\n"
    )
    first, second = read_touchstone(old.encode(), "a.s2p"), read_touchstone(new.encode(), "a.ts")
    assert first.S == pytest.approx(second.S, abs=1e-12)
    assert first.reference.tolist() == second.reference.tolist() == [R, R]
    V, J = _voltages_and_currents(first, R)
    assert _relation(kind, absolute, V, J) == pytest.approx(0, abs=1e-9)


def _voltages_and_currents(sweep: Scattering, R: float) -> tuple[Complexes, Complexes]:
    """Port voltages and currents for two excitations, from the definition of travelling waves."""
    a = np.array([[1.0, 0.3], [0.2, 1.0]])
    b = sweep.S[0] @ a
    return (a + b) * math.sqrt(R), (a - b) / math.sqrt(R)


def _relation(kind: str, m: Complexes, V: Complexes, J: Complexes) -> float:
    """Largest violation of what defines the parameters, V = Z J, J = Y V, (V1, J2) = H (J1, V2) and so on."""
    left, right = {
        "Z": (V, J),
        "Y": (J, V),
        "H": (np.array([V[0], J[1]]), np.array([J[0], V[1]])),
        "G": (np.array([J[0], V[1]]), np.array([V[0], J[1]])),
    }[kind]
    return float(np.abs(left - m @ right).max())
