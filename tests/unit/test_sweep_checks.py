"""Whether swept values can be passive, and whether ports are those that are said. All values are invented."""

import itertools

import numpy as np
import pytest

from labkit.errors import SweepError
from labkit.sweeps.sweep import (
    Impedance,
    Scattering,
    better_pairing,
    first_gain,
    misfit,
    mutual_sign,
    pairings,
    require_shown,
    winding_impedances,
)
from labkit.theory.choke import Choke

F = np.array([1e4, 1e5, 1e6])
CHOKE = Choke(
    R=(0.1, 0.12), leakage=(12e-6, 13e-6), core=10e-3, relaxation=1e6, C=(20e-12, 22e-12), between=(30e-12,)
)
TERMINALS = ("1a", "2a", "1b", "2b")


def measured(ports: tuple[str, ...], noise: float = 0.0, first: float = 1e4) -> Scattering:
    """A four-port with the choke's terminals at these ports."""
    f = F * first / F[0]
    S = CHOKE.scattering(f, ports)
    draws = np.random.default_rng(5).normal(size=(2, *S.shape))
    return Scattering(f, S + noise * (draws[0] + 1j * draws[1]), np.full(4, 50.0))


@pytest.mark.parametrize(("resistance", "place"), [([1, 0, 2], None), ([1, -2, -3], 1), ([-1, 1, 1], 0)])
def test_a_resistance_below_zero(resistance: list[float], place: int | None) -> None:
    """The first negative resistance is found, with its value; zero is passive."""
    found = first_gain(Impedance(F, np.array(resistance) + 10j))
    assert found == (None if place is None else (place, resistance[place]))


def test_a_stated_accuracy_allows_what_it_can_explain() -> None:
    """-0.4 Ω at 100 Ω is inside 0.5 % of |Z| and outside 0.3 %."""
    sweep = Impedance(F[:1], np.array([-0.4 + 100j]))
    assert first_gain(sweep, 0.005) is None
    assert first_gain(sweep, 0.003) == (0, -0.4)


def test_a_gain_of_any_excitation() -> None:
    """Waves that come back larger for one excitation are found, though no single entry is above 1."""
    S = np.array([[[0.8, 0.5], [0.5, 0.8]]])
    found = first_gain(Scattering(F[:1], S, np.full(2, 50.0)))
    assert found is not None
    assert found[1] == pytest.approx(1.3)
    assert first_gain(Scattering(F[:1], S / 1.3, np.full(2, 50.0))) is None


def test_a_true_choke_is_passive() -> None:
    """The computed four-port of a choke has no gain at any frequency."""
    assert first_gain(measured(TERMINALS)) is None


@pytest.mark.parametrize("order", list(itertools.permutations(range(4))))
def test_every_order_of_the_ports_is_told_from_the_others(order: tuple[int, ...]) -> None:
    """With noise of 0.001 the true pairing of ports into windings is the best, and any other is refused."""
    ports = tuple(TERMINALS[place] for place in order)
    sweep = measured(ports, noise=1e-3)
    where = {terminal: place for place, terminal in enumerate(ports)}
    true = {frozenset({where["1a"], where["1b"]}), frozenset({where["2a"], where["2b"]})}
    for said in pairings(range(4)):
        better = better_pairing(sweep, said)
        if {frozenset(pair) for pair in said} == true:
            assert better is None
        else:
            assert better is not None
            assert {frozenset(pair) for pair in better} == true


def test_where_capacitance_rules_nothing_is_claimed() -> None:
    """A sweep that begins at 10 MHz does not call the true order of the ports wrong."""
    sweep = measured(TERMINALS, first=1e7)
    assert better_pairing(sweep, ((0, 2), (1, 3))) is None


def test_a_floating_winding_fits_exactly() -> None:
    """Without capacitance to the other winding a common voltage at both ends drives no current at all."""
    alone = Choke(R=(0.1, 0.1), leakage=(1e-6, 1e-6), core=1e-3)
    sweep = Scattering(F, alone.scattering(F, TERMINALS), np.full(4, 50.0))
    assert misfit(sweep, ((0, 2), (1, 3))) == pytest.approx(0, abs=1e-12)
    assert misfit(sweep, ((0, 1), (2, 3))) > 0.1


def test_winding_impedances_are_the_chokes() -> None:
    """Between any references the windings' own impedances come back from the waves."""
    choke = Choke(R=(0.1, 0.2), leakage=(1e-6, 2e-6), core=1e-3, turns=(1, -0.5))
    reference = np.array([50.0, 75.0, 20.0, 100.0])
    sweep = Scattering(F, choke.scattering(F, TERMINALS, list(reference)), reference)
    expected = np.diag(choke.R) + 2j * np.pi * F[0] * choke.inductance_matrix(F)[0]
    assert winding_impedances(sweep, ((0, 2), (1, 3))) == pytest.approx(expected, rel=1e-9)


def test_the_sign_of_the_mutual_inductance() -> None:
    """Exchanging the ends of one winding turns the sign; windings that hardly couple have none."""
    assert mutual_sign(measured(TERMINALS, noise=1e-3), ((0, 2), (1, 3))) == 1
    assert mutual_sign(measured(TERMINALS, noise=1e-3), ((0, 2), (3, 1))) == -1
    loose = Choke(R=(0.1, 0.1), leakage=(1e-3, 1e-3), core=1e-5)
    sweep = Scattering(F, loose.scattering(F, TERMINALS), np.full(4, 50.0))
    assert mutual_sign(sweep, ((0, 2), (1, 3))) == 0


def test_a_column_of_zeros_is_refused_with_its_frequency() -> None:
    """What no instrument shows is no impedance, and nothing is worked out from it."""
    with pytest.raises(SweepError, match=r"zeros\.csv gives \|Z\| = 0 Ω at 1e\+04 Hz, which no instrument"):
        require_shown(Impedance([1e3, 1e4], [1 + 5j, 0j]), "zeros.csv")
