"""Models fitted to sweeps: recovered truth, scipy as second opinion, and what a sweep does not tell."""

import numpy as np
import pytest
from scipy.optimize import least_squares

from labkit.choke.choose_model import fit_model, scatter, thinned
from labkit.choke.modelfit import ModelFit, climb, covariance_of, evaluator
from labkit.errors import EntryError, MissingReading
from labkit.sweeps.sweep import Impedance
from labkit.theory.models import (
    CORE,
    CORE_DAMPED,
    MODELS,
    SELF_CAPACITANCE,
    SERIES,
    Model,
)
from tests.chokes import noisy

F = np.geomspace(1e3, 1e8, 301)
TRUTH = {
    "series": [0.1, 1e-3],
    "self_capacitance": [5.0, 1e-4, 7e-12],
    "core": [2.0, 1e-4, 1e-2, 6e5, 1e-11],
    "core_damped": [0.2, 5e-5, 2e-2, 3e5, 2e-11, 1000.0],
}
U = 0.003
SECOND_RESONANCE = CORE.impedance([0.0, 0.0, 2e-6, 1.6e7, 5e-11], F)  # 200 Ω at 16 MHz
each_model = pytest.mark.parametrize("model", MODELS, ids=lambda model: model.name)


def measured(model: Model, seed: int, u: float = U, f: np.ndarray = F) -> Impedance:
    return noisy(f, model.impedance(TRUTH[model.name], f), u, np.random.default_rng(seed))


@each_model
def test_an_exact_sweep_gives_the_truth(model: Model) -> None:
    """Without noise every parameter comes back, from starts read off the sweep."""
    fit = fit_model(model, Impedance(F, model.impedance(TRUTH[model.name], F)), 1e-4)
    np.testing.assert_allclose(fit.parameters, TRUTH[model.name], rtol=1e-5)
    assert fit.converged
    assert fit.describes


@each_model
def test_scipy_finds_no_better_minimum(model: Model) -> None:
    """Least squares with finite differences, started at the truth, ends at the same sum and covariance."""
    sweep = measured(model, 1)
    weight = 1 / (U * np.abs(sweep.Z))

    def off(x: np.ndarray) -> np.ndarray:
        return ((sweep.Z - model.impedance(np.exp(x), F)) * weight).view(float)

    other = least_squares(off, np.log(TRUTH[model.name]), method="lm", xtol=1e-12, ftol=1e-12)
    fit = fit_model(model, sweep, U)
    assert fit.chi_squared == pytest.approx(2 * other.cost, abs=2e-3)
    exact = np.linalg.inv(other.jac.T @ other.jac)
    np.testing.assert_allclose(
        fit.log_covariance, exact, rtol=2e-2, atol=1e-2 * np.sqrt(np.outer(*[np.diag(exact)] * 2)).min()
    )


def test_scatter_of_estimates_is_what_the_covariance_says() -> None:
    """Over 150 sweeps the estimates' standard deviations are those of the covariance, self-resonance too."""
    fits = [fit_model(CORE, measured(CORE, seed), U) for seed in range(150)]
    spread = np.std([np.log(fit.parameters) for fit in fits], axis=0)
    claimed = np.sqrt(np.mean([np.diag(fit.log_covariance) for fit in fits], axis=0))
    np.testing.assert_allclose(spread, claimed, rtol=0.25)
    resonances = [fit.derived(CORE.self_resonance, shared=False) for fit in fits]
    assert np.std([f0 for f0, _ in resonances]) == pytest.approx(resonances[0][1], rel=0.25)


def test_the_shared_covariance_is_a_gain_and_a_phase() -> None:
    """A gain u moves R, L by +u and C by -u; with a turn by u rad this makes up all of `log_shared`."""
    f = np.geomspace(1e4, 1e7, 200)
    Z = SELF_CAPACITANCE.impedance([500.0, 1e-4, 1e-11], f)
    fits = [fit_model(SELF_CAPACITANCE, Impedance(f, Z * g), 1e-4) for g in (1, 1 + 1e-4, np.exp(1e-4j))]
    gain, phase = (np.log(fit.parameters / fits[0].parameters) for fit in fits[1:])
    np.testing.assert_allclose(gain, [1e-4, 1e-4, -1e-4], rtol=1e-3)
    expected = np.outer(gain, gain) + np.outer(phase, phase)
    np.testing.assert_allclose(fits[0].log_shared, expected, rtol=1e-2)


def test_without_a_stated_accuracy_the_noise_is_called_estimated() -> None:
    """No chi-squared, no verdict, a remark, and the same parameters as with the accuracy."""
    sweep = measured(CORE, 2)
    stated, estimated = fit_model(CORE, sweep, U), fit_model(CORE, sweep)
    assert (estimated.chi_squared, estimated.reduced_chi_squared, estimated.describes) == (None, None, None)
    assert "0.3 % of |Z|, is estimated from what the fit leaves" in estimated.remarks[0]
    assert not stated.remarks
    np.testing.assert_allclose(estimated.parameters, stated.parameters, rtol=1e-3)
    np.testing.assert_allclose(estimated.log_covariance, stated.log_covariance, rtol=0.2)


def below_resonance() -> ModelFit:
    return fit_model(SELF_CAPACITANCE, measured(SELF_CAPACITANCE, 3, f=np.geomspace(1e3, 2e5, 60)), U)


def test_a_capacitance_far_below_resonance_is_not_told() -> None:
    """C is named as not identified, with a limit that holds the truth; L keeps its small uncertainty."""
    fit = below_resonance()
    assert fit.unidentified == ("C",)
    low, high = fit.bounds("C")
    assert low is None
    assert 7e-12 < high < 1e-9
    (sentence,) = (remark for remark in fit.remarks if remark.startswith("C is"))
    assert "any value up to" in sentence
    assert "go up to the self-resonance" in sentence
    assert abs(np.log(fit.value("L") / 1e-4)) < 4 * np.sqrt(fit.log_covariance[1, 1]) < 0.01


def test_bounds_of_an_identified_parameter_are_its_interval() -> None:
    """Where chi-squared is a parabola, the rise by 3.84 is at 1.96 standard uncertainties."""
    fit = fit_model(SELF_CAPACITANCE, measured(SELF_CAPACITANCE, 4), U)
    np.testing.assert_allclose(fit.bounds("L"), fit.interval("L", shared=False), rtol=1e-5)


def test_two_minima_that_the_sweep_cannot_tell_are_both_told() -> None:
    """Flux in air beside a damped capacitance: where two values fit alike, L_air is not told."""
    p = [0.1, 1e-5, 1e-2, 6e5, 1e-11, 300.0]
    f = np.geomspace(1e3, 1e8, 1601)
    fit = fit_model(CORE_DAMPED, noisy(f, CORE_DAMPED.impedance(p, f), U, np.random.default_rng(1)), U)
    assert len(fit.rivals) == 1
    assert "L_air" in fit.unidentified
    low, high = fit.bounds("L_air")
    assert low < p[1]
    assert 1e-4 < fit.rivals[0][1] <= high


def test_a_resistance_below_the_phase_error_is_hidden() -> None:
    """R = 0.1 Ω beside ωL = 63 Ω is told by independent errors, but not past a common 3 mrad."""
    p = [0.1, *TRUTH["core"][1:]]
    f = np.geomspace(1e3, 1e8, 4001)
    fit = fit_model(CORE, noisy(f, CORE.impedance(p, f), U, np.random.default_rng(5)), U)
    assert "R" not in fit.unidentified
    assert fit.hidden == ("R",)
    assert any(remark.startswith("R is told by this sweep only if") for remark in fit.remarks)


def test_a_model_that_does_not_describe_says_where() -> None:
    """A second resonance at 16 MHz is where the fit is worst, and the remark says so in hertz."""
    Z = CORE.impedance(TRUTH["core"], F) + SECOND_RESONANCE
    fit = fit_model(CORE, noisy(F, Z, U, np.random.default_rng(6)), U)
    assert fit.describes is False
    assert fit.misfits
    assert any(low < 1.6e7 < high for low, high in fit.misfits)
    assert 1e7 < fit.worst < 2.5e7
    assert "does not describe this sweep within its stated accuracy" in fit.remarks[-1]
    assert "MHz); its parameters" in fit.remarks[-1]
    assert not any(remark.startswith("R ") for remark in fit.remarks)


def test_a_series_model_beyond_resonance_is_not_believed() -> None:
    """R-L fitted to a sweep with resonance: described is False, and no identified or other remark follows."""
    fit = fit_model(SERIES, measured(CORE, 7), U)
    assert fit.describes is False
    assert len(fit.remarks) == 1


def test_parameters_that_ran_to_zero_come_back() -> None:
    """Started with R and L_air a million times too small, the climb ends in the same minimum."""
    sweep = measured(CORE, 8)
    evaluate = evaluator(CORE, sweep, np.full(len(F), U))
    good = climb(evaluate, np.log(TRUTH["core"]))
    bad = climb(evaluate, np.log(TRUTH["core"]) - np.array([14.0, 14.0, 0, 0, 0]))
    assert bad.squares == pytest.approx(good.squares, rel=1e-6)
    assert bad.converged


def test_a_parameter_without_effect_has_infinite_variance() -> None:
    """A column of zeros gives infinity, and leaves the covariance of the others alone."""
    slopes = np.asfortranarray([[1, 0, 2j], [1j, 0, 1], [2, 0, 0]], dtype=complex)
    covariance = covariance_of(slopes)
    assert covariance[1, 1] == np.inf
    kept = covariance[np.ix_([0, 2], [0, 2])]
    np.testing.assert_allclose(kept, covariance_of(np.asfortranarray(slopes[:, [0, 2]])), rtol=1e-12)


def test_noise_from_point_to_point_needs_no_model() -> None:
    """Third differences find 0.3 % on a curve through a resonance, and nothing without noise."""
    assert scatter(measured(CORE, 9)) == pytest.approx(U, rel=0.15)
    assert scatter(measured(CORE, 9, u=1e-12)) < 2e-4


def test_thinning_keeps_points_as_they_are() -> None:
    """Kept points are points of the sweep, from its first to its last decade; a short sweep stays whole."""
    few = thinned(measured(CORE, 1), 40)
    assert len(few) <= 40
    assert set(few.frequency) <= set(F)
    assert (few.frequency[0], few.frequency[-1]) == (F[0], F[-1])
    short = measured(CORE, 1, f=F[:10])
    assert thinned(short) is short


def test_refusals() -> None:
    """Too few frequencies, and an uncertainty that is none, are refused with what is accepted."""
    sweep = measured(CORE, 1)
    with pytest.raises(MissingReading, match=r"has 4 frequencies .* at least 5"):
        fit_model(CORE, Impedance(F[:4], sweep.Z[:4]), U)
    for given in (0.0, -1.0, np.nan, [0.01, 0.02]):
        with pytest.raises(EntryError, match="finite and above zero, relative to"):
            fit_model(CORE, sweep, given)
