"""One choke for several sweeps: the truth comes back, and what the sweeps do not tell is told."""

import random
from collections.abc import Sequence

import numpy as np
import pytest

from labkit.choke.choke_fit import COMMON_MODE, DIFFERENTIAL_MODE, SINGLE, ChokeFit, fit_choke, fit_sweeps
from labkit.errors import MissingReading
from labkit.sweeps.sweep import Impedance
from labkit.theory.choke import Choke
from tests.chokes import equal_choke, noisy

F = np.geomspace(1e3, 5e7, 301)
U = 0.003
TRUTH = Choke([0.1, 0.1], [8e-5, 8e-5], 1e-2, None, 8e5, [8e-12, 8e-12], [2e-11])
UNEQUAL = Choke([0.5, 0.7], [8e-5, 9e-5], 1e-2, [1, 0.97], 8e5, [8e-12, 9e-12], [2e-11])


def swept(choke: Choke, wirings: Sequence[str], seed: int, u: float = U) -> list[Impedance]:
    rng = np.random.default_rng(seed)
    return [noisy(F, choke.impedance(wiring, F), u, rng) for wiring in wirings]


def truth(choke: Choke, fit: ChokeFit) -> np.ndarray:
    """The true values of the fit's parameters, in their order."""
    found = []
    for symbol in fit.symbols:
        name, place = symbol.rstrip("12"), int(symbol[-1]) - 1 if symbol[-1] in "12" else 0
        found.append(np.atleast_1d(getattr(choke, name))[place])
    return np.array(found)


def test_common_and_differential_mode_give_equal_windings() -> None:
    """All six values come back within their uncertainty; the remark says that equality was assumed."""
    fit = fit_choke(*swept(TRUTH, (COMMON_MODE, DIFFERENTIAL_MODE), 1), uncertainty=U)
    z = np.log(fit.parameters / truth(TRUTH, fit)) / np.sqrt(np.diag(fit.log_covariance))
    assert fit.symbols == ("R", "leakage", "core", "relaxation", "C", "between")
    assert np.abs(z).max() < 3.5
    assert fit.describes
    assert fit.converged
    (remark,) = fit.remarks
    assert remark.startswith("Both windings are taken as equal")
    np.testing.assert_array_equal(fit.choke.leakage, [fit.parameters[1]] * 2)


def test_estimates_scatter_as_the_covariance_says() -> None:
    """Over 60 pairs of sweeps the mean of z² is one for each parameter."""
    z = []
    for seed in range(60):
        fit = fit_choke(*swept(TRUTH, (COMMON_MODE, DIFFERENTIAL_MODE), seed), uncertainty=U)
        z.append(np.log(fit.parameters / truth(TRUTH, fit)) / np.sqrt(np.diag(fit.log_covariance)))
    np.testing.assert_allclose(np.mean(np.square(z), axis=0), 1, atol=0.6)


def test_single_windings_let_the_windings_differ() -> None:
    """With each winding alone all ten values come back, the ratio of turns to 1e-4."""
    cm, dm, *singles = swept(UNEQUAL, (COMMON_MODE, DIFFERENTIAL_MODE, *SINGLE), 2)
    fit = fit_choke(cm, dm, (singles[0], singles[1]), uncertainty=U)
    z = np.log(fit.parameters / truth(UNEQUAL, fit)) / np.sqrt(np.diag(fit.log_covariance))
    assert np.abs(z).max() < 3.5
    assert fit.describes
    assert not fit.remarks
    assert fit.choke.turns[1] == pytest.approx(0.97, abs=1e-3)


def test_windings_that_differ_are_not_described_as_equal() -> None:
    """Turns apart by 3 % show in the differential mode, and the sentence names that wiring."""
    cm, dm = swept(UNEQUAL, (COMMON_MODE, DIFFERENTIAL_MODE), 3)
    fit = fit_choke(cm, dm, uncertainty=U)
    assert fit.describes is False
    assert DIFFERENTIAL_MODE in fit.misfits
    assert f"{DIFFERENTIAL_MODE} from" in fit.remarks[-1]


def test_random_chokes_are_found_from_their_own_data() -> None:
    """Forty equal chokes of the population: every joint fit settles with a reduced chi-squared below 1.3."""
    rng = random.Random(4)
    for seed in range(40):
        choke = equal_choke(rng)
        fit = fit_choke(*swept(choke, (COMMON_MODE, DIFFERENTIAL_MODE), seed), uncertainty=U)
        assert fit.reduced_chi_squared < 1.3, choke
        assert fit.converged, choke


def test_without_accuracy_the_noise_is_estimated() -> None:
    """No chi-squared; the remark gives the noise, and the covariance is that of the noise."""
    sweeps = swept(TRUTH, (COMMON_MODE, DIFFERENTIAL_MODE), 5)
    fit, stated = fit_choke(*sweeps), fit_choke(*sweeps, uncertainty=U)
    assert fit.reduced_chi_squared is None
    assert fit.describes is None
    assert "its noise, 0.29 % of |Z|, is estimated" in fit.remarks[1]
    np.testing.assert_allclose(fit.log_covariance, stated.log_covariance, rtol=0.15)


def test_what_the_sweeps_do_not_tell_is_named() -> None:
    """Sweeps that end far below both resonances tell neither capacitance."""
    f = np.geomspace(3e2, 5e3, 40)
    rng = np.random.default_rng(6)
    cm, dm = (noisy(f, TRUTH.impedance(w, f), U, rng) for w in (COMMON_MODE, DIFFERENTIAL_MODE))
    fit = fit_choke(cm, dm, uncertainty=U)
    assert {"C", "between"} <= set(fit.unidentified)
    assert any(remark.startswith("between is not identified by") for remark in fit.remarks)


def test_a_gain_for_all_sweeps_moves_what_it_must() -> None:
    """`log_shared` holds one gain: +u for R, leakage and core, -u for capacitances, 0 for the relaxation."""
    fit = fit_choke(*swept(TRUTH, (COMMON_MODE, DIFFERENTIAL_MODE), 7, u=1e-6), uncertainty=U)
    gain = U * np.array([1, 1, 1, 0, -1, -1])
    rest = fit.log_shared - np.outer(gain, gain)
    values = np.linalg.eigvalsh(rest / np.sqrt(np.outer(*[np.diag(fit.log_shared)] * 2)))
    assert values[-1] > 1e3 * np.abs(values[:-1]).max()  # what is left is the phase alone


def test_sweeps_of_any_wirings_can_be_fitted() -> None:
    """Short circuits in place of the differential mode, from a start that is off by a half, do as well."""
    wirings = ("1a 1b", "2a 2b", "1a 1b | 2a=2b", "2a 2b | 1a=1b", "1a 2a")
    sweeps = dict(zip(wirings, swept(UNEQUAL, wirings, 8), strict=True))
    start = Choke([0.3, 0.3], [5e-5, 5e-5], 7e-3, [1, 1], 5e5, [5e-12, 5e-12], [1e-11])
    fit = fit_sweeps(sweeps, start, U)
    assert fit.describes
    np.testing.assert_allclose(fit.choke.leakage, UNEQUAL.leakage, rtol=0.02)


def test_too_few_frequencies_are_refused() -> None:
    """Four frequencies together cannot tell six values."""
    few = Impedance(F[:2], TRUTH.impedance(COMMON_MODE, F[:2]))
    with pytest.raises(MissingReading, match="4 frequencies together; at least 6"):
        fit_sweeps({COMMON_MODE: few, DIFFERENTIAL_MODE: few}, TRUTH, U, equal=True)
