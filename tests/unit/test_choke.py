"""The truth behind a choke: against the forward model, closed forms, and itself from several sides."""

import random
from dataclasses import fields

import numpy as np
import pytest

from labkit.errors import PassivityError, ShapeError, WiringError
from labkit.theory.choke import Choke
from labkit.theory.network import input_impedance
from labkit.theory.wiring import all_wirings
from tests.chokes import equal_choke, random_choke

F = np.geomspace(1e2, 1e8, 40)
CM, DM = "1a 1b | 1a=2a 1b=2b", "1a 2a | 1b=2b"
PLAIN = Choke(R=[0.1, 0.1], leakage=[1e-5, 1e-5], core=1e-2)


def without(choke: Choke, **changed: object) -> Choke:
    return Choke(**({f.name: getattr(choke, f.name) for f in fields(choke)} | changed))


@pytest.mark.parametrize("windings", [2, 3])
def test_without_loss_and_between_it_is_the_forward_model(windings: int) -> None:
    """With capacitance across windings only and no core loss, every wiring gives the network's impedance."""
    rng = random.Random(windings)
    wirings = list(all_wirings(windings))
    for wiring in rng.sample(wirings, min(len(wirings), 60)):
        choke = without(random_choke(rng, windings), relaxation=None, between=None)
        L = choke.inductance_matrix([1.0])[0].real.tolist()
        expected = input_impedance(L, wiring, F, choke.R.tolist(), choke.C.tolist())
        np.testing.assert_allclose(choke.impedance(wiring, F), np.broadcast_to(expected, F.shape), rtol=1e-8)


def test_common_mode_of_equal_windings() -> None:
    """Side by side: half of R and leakage, the whole core, twice C; nothing of the capacitance between."""
    choke = equal_choke(random.Random(5))
    jw = 2j * np.pi * F
    core = choke.core / (1 + 1j * F / choke.relaxation)
    branch = choke.R[0] / 2 + jw * (choke.leakage[0] / 2 + core)
    expected = 1 / (1 / branch + jw * 2 * choke.C[0])
    np.testing.assert_allclose(choke.impedance(CM, F), expected, rtol=1e-12)


def test_differential_mode_of_equal_windings() -> None:
    """Out and back: twice R and leakage, half of C and half of the capacitance between, no core."""
    choke = equal_choke(random.Random(6))
    jw = 2j * np.pi * F
    branch = 2 * choke.R[0] + jw * 2 * choke.leakage[0]
    expected = 1 / (1 / branch + jw * (choke.C[0] + choke.between[0]) / 2)
    np.testing.assert_allclose(choke.impedance(DM, F), expected, rtol=1e-9)


def test_relaxation_is_a_resistance_beside_the_core() -> None:
    """jωL/(1 + jf/f_r) is L in parallel with 2π f_r L."""
    choke = Choke(R=[0.0], leakage=[0.0], core=3e-3, relaxation=7e5)
    expected = 1 / (1 / (2j * np.pi * F * 3e-3) + 1 / (2 * np.pi * 7e5 * 3e-3))
    np.testing.assert_allclose(choke.impedance("1a 1b", F), expected, rtol=1e-12)


def test_admittance_holds_every_wiring() -> None:
    """Joining and injecting into the nodal admittance gives the impedance between any two terminals."""
    choke = random_choke(random.Random(7), 3)
    Y = choke.admittance(F)
    np.testing.assert_allclose(Y, np.swapaxes(Y, 1, 2), rtol=1e-9)
    grounded = np.delete(np.delete(Y, 3, axis=1), 3, axis=2)  # 2b to ground
    seen = np.linalg.solve(grounded, np.eye(5)[None, :, :1])[:, 0, 0]
    np.testing.assert_allclose(choke.impedance("1a 2b", F), seen, rtol=2e-6)  # the admittance cancels


def test_scattering_agrees_with_admittance() -> None:
    """S = (1 + Z0 Y)^-1 (1 - Z0 Y) with ports in any order."""
    choke = random_choke(random.Random(8))
    order = [2, 0, 3, 1]
    Y = choke.admittance(F)[:, order][:, :, order]
    expected = np.linalg.solve(np.eye(4) + 75 * Y, np.eye(4) - 75 * Y)
    S = choke.scattering(F, ("2a", "1a", "2b", "1b"), 75.0)
    np.testing.assert_allclose(S, expected, atol=1e-9)


def test_scattering_with_unlike_references_and_open_terminals() -> None:
    """Two ports of one winding are a series impedance, with the closed form for unlike references."""
    choke = without(random_choke(random.Random(9)), between=None)
    Z = choke.impedance("1a 1b", F)
    S = choke.scattering(F, ("1a", "1b"), (25.0, 100.0))
    np.testing.assert_allclose(S[:, 1, 0], 2 * np.sqrt(2500) / (Z + 125), rtol=1e-9)
    np.testing.assert_allclose(S[:, 0, 0], (Z + 75) / (Z + 125), rtol=1e-9)


def test_scattering_is_passive_and_reciprocal() -> None:
    """No choke of the population gives out power, and ports may be exchanged."""
    rng = random.Random(10)
    for _ in range(20):
        S = random_choke(rng).scattering(F)
        assert np.linalg.norm(S, 2, axis=(1, 2)).max() < 1 + 1e-9
        np.testing.assert_allclose(S, np.swapaxes(S, 1, 2), atol=1e-9)


def test_a_lossless_choke_keeps_its_power() -> None:
    """Without R and relaxation the scattering matrix is unitary."""
    choke = without(random_choke(random.Random(11)), R=[0, 0], relaxation=None)
    S = choke.scattering(F)
    np.testing.assert_allclose(
        np.conj(np.swapaxes(S, 1, 2)) @ S, np.broadcast_to(np.eye(4), S.shape), atol=1e-9
    )


@pytest.mark.parametrize("wiring", [CM, DM, "1a 1b", "1a 2a", "1a 2b | 1b=2a", "2a 2b | 1a=1b"])
def test_slopes_are_the_impedance_s_derivatives(wiring: str) -> None:
    """Every slope equals the central difference of the impedance."""
    choke = random_choke(random.Random(12))
    slopes = choke.slopes(wiring, F)
    assert sorted(slopes) == sorted(f.name for f in fields(choke))
    for name, slope in slopes.items():
        values = np.atleast_1d(getattr(choke, name)).astype(float)
        for i in range(name == "turns", len(values)):
            step = 1e-6 * values[i]
            moved = [values.copy() for _ in range(2)]
            moved[0][i] += step
            moved[1][i] -= step
            single = name in {"core", "relaxation"}
            up, down = (without(choke, **{name: float(v[0]) if single else v}) for v in moved)
            numeric = (up.impedance(wiring, F) - down.impedance(wiring, F)) / (2 * step)
            size = np.abs(choke.impedance(wiring, F) / values[i])
            assert np.max(np.abs(numeric - slope[:, i]) / size) < 1e-5, name


def test_pair_holds_the_low_frequency_inductances() -> None:
    """L1, L2 and M of the pair are those of the inductance matrix, and B keeps its digits."""
    choke = Choke(R=[1, 1], leakage=[1e-9, 2e-9], core=1.0, turns=[1, -1.0])
    L = choke.inductance_matrix([1e-3])[0].real
    assert choke.pair().L1 == L[0, 0]
    assert choke.pair().mutual_inductance == pytest.approx(-L[0, 1])
    assert choke.pair().B == pytest.approx(3e-9, rel=1e-12)


def test_nothing_joined_is_infinite_and_one_node_is_zero() -> None:
    """Windings without capacitance between them are an open circuit; both clips on one node are none."""
    assert np.all(np.isinf(PLAIN.impedance("1a 2a", F)))
    assert np.all(PLAIN.impedance("1a 1b | 1a=1b", F) == 0)
    joined = without(PLAIN, between=[4e-12])
    np.testing.assert_allclose(joined.impedance("1a 2a | 1a=1b 2a=2b", F), 1 / (2j * np.pi * F * 4e-12))


def test_ideal_transformers_are_solved() -> None:
    """Without resistance and leakage, loops without energy change nothing and shorts are shorts."""
    ideal = Choke(R=[0, 0], leakage=[0, 0], core=1e-2)
    np.testing.assert_allclose(ideal.impedance(CM, [1e3]), [2j * np.pi * 10], rtol=1e-9)
    np.testing.assert_allclose(ideal.impedance("1a 1b | 2a=2b", [1e3]), [0], atol=1e-9)
    np.testing.assert_allclose(ideal.scattering([1e3], ("1a", "1b"))[0].sum(axis=1), [1, 1], atol=1e-9)


def test_a_lossless_resonance_is_infinite_there_only() -> None:
    """Where L and C resonate exactly the impedance is inf, not nan, and its neighbours stay finite."""
    Z = Choke(R=[0], leakage=[0], core=1.0, C=[1.0]).impedance("1a 1b", [0.5 / np.pi, 1.0])
    assert Z[0] == complex(np.inf)
    assert np.isfinite(Z[1])


def test_large_and_small_impedances_keep_their_digits() -> None:
    """A picofarad at 1 Hz beside a milliohm is a capacitance still, and not an open circuit."""
    choke = Choke(R=[1e-3, 1e-3], leakage=[1e-8, 1e-8], core=1e-6, between=[1e-12])
    Z = choke.impedance("1a 2a", [1.0])
    np.testing.assert_allclose(Z.imag, [-1 / (2 * np.pi * 1e-12)], rtol=1e-8)


@pytest.mark.parametrize(
    ("given", "error", "part"),
    [
        ({"leakage": [1e-5]}, ShapeError, "1 values of leakage were given for 2 windings"),
        ({"between": [1e-12, 1e-12]}, ShapeError, "2 values of between"),
        ({"R": [-0.1, 0.1]}, PassivityError, "R = -0.1 was given"),
        ({"core": 0.0}, PassivityError, "core must be finite and above zero"),
        ({"C": [np.nan, 0]}, PassivityError, "C = nan was given"),
        ({"relaxation": -1.0}, PassivityError, "relaxation = -1"),
        ({"turns": [1.0, 0.0]}, PassivityError, "other than zero"),
        ({"turns": [2.0, 2.0]}, PassivityError, "turns count relative to winding 1"),
    ],
)
def test_what_no_choke_can_have_is_refused(given: dict[str, object], error: type, part: str) -> None:
    """One sentence names the value and what is accepted."""
    with pytest.raises(error, match=part):
        without(PLAIN, **given)


def test_ports_and_references_are_refused() -> None:
    """A terminal that is not there, one twice, none, or a reference that is not above zero."""
    for ports in (("1a", "3a"), ("1a", "1a"), ()):
        with pytest.raises(WiringError, match="name each terminal once, from 1a to 2b"):
            PLAIN.scattering(F, ports)
    with pytest.raises(ShapeError, match="3 reference impedances were given for 4 ports"):
        PLAIN.scattering(F, reference=(50, 50, 50))
    with pytest.raises(ShapeError, match="above zero"):
        PLAIN.scattering(F, reference=0.0)


def test_no_admittance_without_anything_that_limits_currents() -> None:
    """An ideal transformer has no nodal admittance; the sentence says so with the frequency."""
    with pytest.raises(PassivityError, match="At 100 Hz the windings have neither"):
        Choke(R=[0, 0], leakage=[0, 0], core=1.0).admittance(F)
    with pytest.raises(ShapeError, match="3 windings and a pair has two"):
        random_choke(random.Random(1), 3).pair()
