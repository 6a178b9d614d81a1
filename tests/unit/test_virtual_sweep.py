"""Invented sweeps: consistent with their choke, drawn from their seed, marked as invented."""

import numpy as np
import pytest

from labkit.record.virtual_bench import Columns, Fixture, VirtualSweep
from labkit.sweeps.fixture import from_reflection, from_series_through, from_shunt_through
from labkit.sweeps.table_file import read_table
from labkit.sweeps.touchstone_file import read_touchstone
from labkit.theory.choke import Choke

CHOKE = Choke(R=(0.1, 0.12), leakage=(12e-6, 13e-6), core=10e-3, relaxation=1e6, C=(20e-12, 22e-12))
F = np.geomspace(1e3, 1e7, 401)
SHORTED = "1a 1b | 2a=2b"
IDEAL = VirtualSweep(CHOKE, F, seed=1)
TRUE = CHOKE.impedance(SHORTED, F)


@pytest.mark.parametrize("columns", ["real-imaginary", "magnitude-phase", "series"])
@pytest.mark.parametrize("decimal", [".", ","])
def test_a_table_is_the_choke(columns: Columns, decimal: str) -> None:
    """Without errors every kind of table holds the choke's own impedance."""
    data = IDEAL.table(SHORTED, columns, decimal=decimal)  # type: ignore[arg-type]
    assert read_table(data, "a.csv").Z == pytest.approx(TRUE, rel=1e-7)


def test_every_hook_up_is_the_choke() -> None:
    """Reflection, series-through and shunt-through give one and the same impedance."""
    one = from_reflection(read_touchstone(IDEAL.reflection(SHORTED), "a.s1p"))
    series = from_series_through(read_touchstone(IDEAL.series_through(SHORTED), "a.s2p"))
    shunt = from_shunt_through(read_touchstone(IDEAL.shunt_through(SHORTED), "a.s2p"))
    for found in (one, series, shunt):
        assert found.Z == pytest.approx(TRUE, rel=1e-6)


def test_a_four_port_is_the_choke() -> None:
    """The four-port file holds the choke's scattering parameters, row by row."""
    found = read_touchstone(IDEAL.four_port(("2b", "1a", "2a", "1b")), "a.s4p")
    assert found.S == pytest.approx(CHOKE.scattering(F, ("2b", "1a", "2a", "1b")), abs=1e-8)


def test_the_seed_decides() -> None:
    """One seed writes the same bytes whatever was written before; another seed or repeat writes others."""
    noisy = VirtualSweep(CHOKE, F, seed=7, noise=1e-3, gain=1e-3)
    first = noisy.table(SHORTED)
    noisy.four_port()
    assert noisy.table(SHORTED) == first
    assert VirtualSweep(CHOKE, F, seed=8, noise=1e-3, gain=1e-3).table(SHORTED) != first
    assert noisy.table(SHORTED, repeat=2) != first


def test_noise_has_the_size_that_is_said() -> None:
    """Real and imaginary part scatter by the stated part of |Z| each, in tables and around S."""
    noisy = VirtualSweep(CHOKE, F, seed=7, noise=1e-3)
    off = read_table(noisy.table(SHORTED), "a.csv").Z / TRUE - 1
    assert np.std(off.real) == pytest.approx(1e-3, rel=0.1)
    assert np.std(off.imag) == pytest.approx(1e-3, rel=0.1)
    apart = read_touchstone(noisy.four_port(), "a.s4p").S - CHOKE.scattering(F)
    assert np.std(apart.real) == pytest.approx(1e-3, rel=0.05)
    assert np.std(apart.imag) == pytest.approx(1e-3, rel=0.05)


def test_one_gain_error_for_the_whole_instrument() -> None:
    """All tables of an instrument share one gain error inside its limit; seeds differ."""
    gains = []
    for seed in range(40):
        sweep = VirtualSweep(CHOKE, F, seed=seed, gain=0.01)
        one = read_table(sweep.table(SHORTED), "a.csv").Z / TRUE - 1
        two = read_table(sweep.table("2a 2b"), "a.csv").Z / CHOKE.impedance("2a 2b", F) - 1
        assert one == pytest.approx(np.full(len(F), one[0]), abs=1e-7)
        assert two[0] == pytest.approx(one[0], abs=1e-7)
        gains.append(one[0].real)
    assert max(map(abs, gains)) < 0.01
    assert np.std(gains) == pytest.approx(0.01 / np.sqrt(3), rel=0.3)


def test_the_accuracy_covers_what_was_put_on() -> None:
    """Gain limit and three standard deviations of the noise, as a percentage that the bench takes."""
    assert VirtualSweep(CHOKE, F, seed=1, noise=5e-4, gain=2e-3).accuracy == "0.35 %"


def test_a_fixture_is_a_ladder() -> None:
    """Open and short show the fixture's admittance and series impedance."""
    fixture = Fixture(R=0.05, L=50e-9, G=10e-9, C=2e-12)
    sweep = VirtualSweep(CHOKE, F, seed=1, fixture=fixture)
    short = read_table(sweep.short_table(), "a.csv").Z
    opened = read_table(sweep.open_table(), "a.csv").Z
    assert short == pytest.approx(0.05 + 2j * np.pi * F * 50e-9, rel=1e-8)
    assert 1 / (opened - short) == pytest.approx(10e-9 + 2j * np.pi * F * 2e-12, rel=1e-6)


@pytest.mark.parametrize("data", [IDEAL.table(SHORTED), IDEAL.four_port()], ids=["table", "touchstone"])
def test_what_is_invented_says_so(data: bytes) -> None:
    """The first line of every file is a comment that it is invented, with seed and errors."""
    first = data.decode().splitlines()[0]
    assert first[:2] in ("# ", "! ")
    assert "invented data, seed 1, relative noise 0, gain error within 0" in first
