"""Mixed modes, other references, admittances, passivity and reciprocity."""

import itertools

import numpy as np
import pytest
import skrf

from labkit.errors import ShapeError, WiringError
from labkit.theory.choke import Choke
from labkit.theory.modes import admittance_of, mixed_mode, passivity, reciprocity, renormalised, scattering_of

F = np.geomspace(1e4, 30e6, 7)
CHOKE = Choke(
    R=(0.12, 0.13), leakage=(120e-6, 130e-6), core=10e-3, turns=(1, 1.02), relaxation=1e6, between=[2e-11]
)


def random_scattering(seed: int, ports: int = 4) -> np.ndarray:
    """Scattering parameters in no special relation, neither passive nor reciprocal."""
    rng = np.random.default_rng(seed)
    return rng.normal(size=(len(F), ports, ports)) + 1j * rng.normal(size=(len(F), ports, ports))


def network(S: np.ndarray, reference: object) -> skrf.Network:
    """The same as scikit-rf holds it."""
    return skrf.Network(f=F, s=S, z0=reference, f_unit="Hz")


@pytest.mark.parametrize("order", list(itertools.permutations(range(4))))
def test_mixed_mode_is_that_of_scikit_rf(order: tuple[int, ...]) -> None:
    """Any four-port in any stated order: the sixteen parameters and the references agree to rounding."""
    S = random_scattering(sum(order[i] * 4**i for i in range(4)))
    ours = mixed_mode(S, 50.0, order)
    theirs = network(S[:, list(order)][:, :, list(order)], 50)
    theirs.se2gmm(p=2)
    np.testing.assert_allclose(ours.S, theirs.s, atol=1e-13)
    np.testing.assert_allclose(ours.reference, theirs.z0[0])


def test_the_four_blocks() -> None:
    """Differential and common blocks stand on the diagonal; off it is what one mode makes of the other."""
    S = random_scattering(1)
    modes = mixed_mode(S, 50.0, (0, 1, 2, 3))
    a = np.array([1, -1, 0, 0]) / np.sqrt(2)  # a pure differential wave into side 1
    b = S @ a
    np.testing.assert_allclose(modes.differential[:, 1, 0], (b[:, 2] - b[:, 3]) / np.sqrt(2))
    np.testing.assert_allclose(modes.to_common[:, 1, 0], (b[:, 2] + b[:, 3]) / np.sqrt(2))
    c = S @ np.array([1, 1, 0, 0]) / np.sqrt(2)
    np.testing.assert_allclose(modes.common[:, 1, 0], (c[:, 2] + c[:, 3]) / np.sqrt(2))
    np.testing.assert_allclose(modes.to_differential[:, 1, 0], (c[:, 2] - c[:, 3]) / np.sqrt(2))


def test_renormalising_is_that_of_scikit_rf() -> None:
    """Unequal references to other unequal ones agree, and the way back returns."""
    S, old, new = random_scattering(2), [50, 75, 50, 25], [10, 50, 100, 50]
    theirs = network(S, old)
    theirs.renormalize(new)
    np.testing.assert_allclose(renormalised(S, old, new), theirs.s, rtol=1e-9)
    np.testing.assert_allclose(renormalised(renormalised(S, old, new), new, old), S, rtol=1e-9)


def test_admittances_are_those_of_scikit_rf_and_of_the_choke() -> None:
    """S to Y with unequal references agrees with scikit-rf; a choke's S leads back to its own Y."""
    S, reference = random_scattering(3), [50, 75, 50, 25]
    np.testing.assert_allclose(admittance_of(S, reference), network(S, reference).y, rtol=1e-9)
    np.testing.assert_allclose(scattering_of(admittance_of(S, reference), reference), S, rtol=1e-9)
    ports = ("1a", "1b", "2a", "2b")
    Y = CHOKE.admittance(F)
    np.testing.assert_allclose(scattering_of(Y, 50.0), CHOKE.scattering(F, ports), atol=1e-9)


def test_a_choke_is_passive_and_reciprocal() -> None:
    """For R, L, C, coupling and core loss both checks hold within rounding."""
    S = CHOKE.scattering(F)
    assert passivity(F, S).amount < 1e-12
    assert reciprocity(F, S).amount < 1e-12


def test_the_worst_frequency_and_the_amount_are_told() -> None:
    """Power out above power in by 3 % at one frequency, and S12 off by 0.01 at another, are found there."""
    S = CHOKE.scattering(F)
    top = np.linalg.svd(S[4], compute_uv=False)[0]
    S[4] *= np.sqrt(1.03) / top
    S[2, 3, 1] += 0.01
    gain, apart = passivity(F, S), reciprocity(F, S)
    assert (gain.amount, gain.frequency) == (pytest.approx(0.03), F[4])
    assert (apart.amount, apart.frequency, apart.ports) == (pytest.approx(0.01), F[2], (1, 3))


@pytest.mark.parametrize("order", [(0, 1, 2, 2), (0, 1, 2), (1, 2, 3, 4)])
def test_an_order_that_is_none_is_refused(order: tuple[int, ...]) -> None:
    """Every port has to be named once."""
    with pytest.raises(WiringError, match="places of all four ports"):
        mixed_mode(CHOKE.scattering(F), 50.0, order)


def test_unequal_references_are_refused() -> None:
    """Modes of ports with unequal references are not guessed at; a wrong number or sign is no reference."""
    with pytest.raises(ShapeError, match="renormalise first"):
        mixed_mode(CHOKE.scattering(F), [50, 50, 75, 50], (0, 1, 2, 3))
    for bad in ([50, 50], 0.0, -50.0):
        with pytest.raises(ShapeError, match="one for all or one each"):
            admittance_of(CHOKE.scattering(F), bad)
