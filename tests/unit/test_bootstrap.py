"""Resampled sweeps: the right spread, blocks where neighbours are alike, and nothing lost by an interrupt."""

import numpy as np
import pytest

from labkit.arrays import Complexes, Floats
from labkit.choke import choose_model as module
from labkit.choke.choose_model import block_length, bootstrap, fit_model, refit
from labkit.choke.modelfit import ModelFit
from labkit.errors import EntryError
from labkit.sweeps.sweep import Impedance
from labkit.theory.models import CORE, SELF_CAPACITANCE
from tests.unit.test_fitting import F, measured


def test_independent_errors_give_the_covariance() -> None:
    """For white noise the resamples spread as the fit's covariance says, one frequency a block."""
    fit = fit_model(CORE, measured(CORE, 1))
    found = bootstrap(fit, 300, seed=1, progress=False)
    assert found.block == 1
    assert found.done == found.asked == 300
    assert not found.remarks
    np.testing.assert_allclose(
        np.sqrt(np.diag(found.log_covariance)), np.sqrt(np.diag(fit.log_covariance)), rtol=0.2
    )
    low, high = found.interval("L_core")
    np.testing.assert_allclose([low, high], fit.interval("L_core"), rtol=5e-4)


def correlated(seed: int) -> Impedance:
    """Errors that run along the sweep: a moving mean of white noise over 15 frequencies."""
    rng = np.random.default_rng(seed)
    white = rng.standard_normal(len(F) + 14) + 1j * rng.standard_normal(len(F) + 14)
    Z = SELF_CAPACITANCE.impedance([500.0, 1e-4, 1e-11], F)
    return Impedance(F, Z * (1 + 3e-3 * np.convolve(white, np.ones(15) / np.sqrt(15), "valid")))


def test_errors_that_neighbours_share_widen_the_intervals() -> None:
    """Blocks bring the spread near to that of repeated sweeps, which the covariance misses threefold."""
    fits = [fit_model(SELF_CAPACITANCE, correlated(seed)) for seed in range(80)]
    true = np.std([np.log(fit.parameters) for fit in fits], axis=0)
    claimed = np.sqrt(np.diag(fits[0].log_covariance))
    resampled = [np.diag(bootstrap(fit, 120, seed=2, progress=False).log_covariance) for fit in fits[:8]]
    blocks = np.sqrt(np.mean(resampled, axis=0))
    assert np.all(true > 2 * claimed)
    assert np.all((0.55 * true < blocks) & (blocks < 1.5 * true))


def test_blocks_are_as_long_as_residuals_stay_alike() -> None:
    """One for white noise; tens for a moving mean of 15; never more than a quarter of the sweep."""
    assert block_length(fit_model(CORE, measured(CORE, 3)).residuals) == 1
    assert 15 <= block_length(fit_model(SELF_CAPACITANCE, correlated(1)).residuals) <= 60
    assert block_length(np.ones(40, complex)) == 10


def test_the_seed_decides() -> None:
    """The same seed gives the same resamples, another one others."""
    fit = fit_model(CORE, measured(CORE, 4))
    first, again, other = (bootstrap(fit, 5, seed=s, progress=False).parameters for s in (1, 1, 2))
    np.testing.assert_array_equal(first, again)
    assert not np.array_equal(first, other)


def interrupted_after(count: int, monkeypatch: pytest.MonkeyPatch) -> None:
    calls = iter(range(count + 1))

    def one(fit: ModelFit, Z: Complexes) -> Floats:
        if next(calls) == count:
            raise KeyboardInterrupt
        return refit(fit, Z)

    monkeypatch.setattr(module, "refit", one)


def test_an_interrupt_keeps_what_is_finished(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped in the 8th of 50, seven count, equal to the first seven of a whole run, and it says so."""
    fit = fit_model(CORE, measured(CORE, 5))
    whole = bootstrap(fit, 7, seed=3, progress=False)
    interrupted_after(7, monkeypatch)
    part = bootstrap(fit, 50, seed=3, progress=False)
    np.testing.assert_array_equal(part.parameters, whole.parameters)
    assert part.remarks == ("Stopped after 7 of 50 resamples; the figures rest on these 7.",)


def test_an_interrupt_before_the_first_is_passed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """With nothing finished there is nothing to keep."""
    fit = fit_model(CORE, measured(CORE, 5))
    interrupted_after(0, monkeypatch)
    with pytest.raises(KeyboardInterrupt):
        bootstrap(fit, 50, seed=3, progress=False)


def test_progress_is_shown(capsys: pytest.CaptureFixture[str]) -> None:
    """The bar counts resamples, and is silent if not wanted."""
    fit = fit_model(CORE, measured(CORE, 6))
    bootstrap(fit, 3, seed=1)
    assert "resamples" in capsys.readouterr().err
    bootstrap(fit, 3, seed=1, progress=False)
    assert not capsys.readouterr().err


def test_none_is_refused() -> None:
    """Less than one resample is no bootstrap."""
    with pytest.raises(EntryError, match="0 resamples were asked for"):
        bootstrap(fit_model(CORE, measured(CORE, 7)), 0, seed=1)
