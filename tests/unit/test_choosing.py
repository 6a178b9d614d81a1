"""The comparison of models: the true one is taken, none is believed that does not describe the sweep."""

import numpy as np
import pytest
from scipy import stats

from labkit.choke.choose_model import Compared, choose, f_test, fit_model
from labkit.errors import MissingReading
from labkit.sweeps.sweep import Impedance
from labkit.theory.models import CORE, MODELS, SELF_CAPACITANCE, SERIES, Model
from tests.chokes import noisy
from tests.unit.test_fitting import SECOND_RESONANCE, TRUTH, F, U, measured


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.name)
@pytest.mark.parametrize("u", [U, None], ids=["stated", "unstated"])
def test_the_true_model_is_taken(model: Model, u: float | None) -> None:
    """For data of each model that model is taken, in every one of five sweeps; believed only if stated."""
    f = F[F < 1e5] if model is SERIES else F
    for seed in range(5):
        choice = choose(measured(model, seed, f=f), u)
        assert choice.preferred.model is model
        assert choice.believed is (True if u else None)
        assert [each.fit.model for each in choice.compared] == list(MODELS)


def test_none_is_believed_if_none_describes() -> None:
    """The sentence names the closest, its chi-squared, and where it fails."""
    Z = CORE.impedance(TRUTH["core"], F) + SECOND_RESONANCE
    choice = choose(noisy(F, Z, U, np.random.default_rng(1)), U)
    assert choice.believed is False
    assert "None of the 4 models describes this sweep" in choice.sentences[0]
    assert "MHz; do not quote its parameters" in choice.sentences[0]
    assert choice.preferred is min(choice.compared, key=lambda each: each.AICc).fit


def test_a_loose_accuracy_does_not_hide_a_better_model() -> None:
    """With 30 % stated and 0.1 % of noise R-L passes, but the improvement is beyond chance."""
    f = F[F < 3e6]
    sweep = noisy(f, SELF_CAPACITANCE.impedance(TRUTH["self_capacitance"], f), 1e-3, np.random.default_rng(2))
    choice = choose(sweep, 0.3)
    assert choice.preferred.model is SELF_CAPACITANCE
    assert "describes the sweep too, but" in choice.sentences[1]


def test_a_larger_model_that_the_sweep_does_not_tell_is_not_taken() -> None:
    """Of a core that relaxes far beyond the sweep only L_core/f_r shows; R-L-C, within accuracy, is kept."""
    Z = CORE.impedance([2.0, 1e-4, 1e-2, 3e11, 1e-11], F)
    choice = choose(noisy(F, Z, 1e-5, np.random.default_rng(4)), 0.003)
    core = choice.compared[2].fit
    assert f_test(choice.compared[1].fit, core)[1] < 1e-3
    assert core.unidentified
    assert choice.preferred.model is SELF_CAPACITANCE
    assert any("but this sweep does not tell its" in sentence for sentence in choice.sentences)


def test_errors_that_neighbours_share_are_told() -> None:
    """A ripple within the stated accuracy leaves the model believed and is called a pattern."""
    Z = CORE.impedance(TRUTH["core"], F) * (1 + 1e-3 * np.sin(12 * np.log(F)))
    choice = choose(noisy(F, Z, 1e-4, np.random.default_rng(3)), 0.003)
    assert choice.believed
    assert "is not random (Durbin-Watson" in choice.sentences[-1]


def test_durbin_watson_of_independent_and_of_alike_residuals() -> None:
    """White residuals give 2 within chance and no pattern; the statistic's formula is the textbook's."""
    each = Compared(fit_model(CORE, measured(CORE, 4), U))
    r = np.concatenate([each.fit.residuals.real, each.fit.residuals.imag])
    steps = np.sum(np.diff(each.fit.residuals.real) ** 2) + np.sum(np.diff(each.fit.residuals.imag) ** 2)
    assert each.durbin_watson == pytest.approx(steps / np.sum(r**2))
    assert each.durbin_watson == pytest.approx(2, abs=0.25)
    assert not each.pattern
    assert Compared(fit_model(SERIES, measured(CORE, 4), U)).pattern


def test_f_is_large_by_chance_as_often_as_it_says() -> None:
    """For data of the smaller model, with a parameter that may take either sign of effect, p is uniform."""
    p = []
    for seed in range(120):
        sweep = measured(SELF_CAPACITANCE, seed, f=F[::3])
        held = fit_model(SELF_CAPACITANCE, sweep, U)
        larger = fit_model(CORE, sweep, U)
        p.append(f_test(held, larger)[1])
    assert np.mean(np.array(p) < 0.05) < 0.1  # loss and flux in air cannot be negative: rather less than 5 %
    assert max(p) > 0.5


def test_f_by_hand() -> None:
    """F and its tail probability from the two sums of squares."""
    Z = CORE.impedance([2.0, 1e-4, 1e-2, 3e9, 1e-11], F)
    sweep = noisy(F, Z, U, np.random.default_rng(5))
    smaller, larger = fit_model(SELF_CAPACITANCE, sweep, U), fit_model(CORE, sweep, U)
    n, k = 2 * len(F), 5
    F_hand = (smaller.squares - larger.squares) / 2 / (larger.squares / (n - k))
    assert f_test(smaller, larger) == (pytest.approx(F_hand), pytest.approx(stats.f.sf(F_hand, 2, n - k)))
    unstated = f_test(fit_model(SELF_CAPACITANCE, sweep), fit_model(CORE, sweep))
    assert unstated[0] == pytest.approx(F_hand, rel=1e-4)


def test_aicc_by_hand() -> None:
    """Chi-squared + 2k + 2k(k+1)/(n-k-1), or n ln(mean square) with one parameter more."""
    sweep = measured(CORE, 6, f=F[::20])
    n = 2 * len(sweep)
    stated, unstated = Compared(fit_model(CORE, sweep, U)), Compared(fit_model(CORE, sweep))
    assert stated.AICc == pytest.approx(stated.fit.squares + 10 + 60 / (n - 6))
    relative = (sweep.Z - unstated.fit.predicted) / np.abs(sweep.Z)
    mean = np.sum(np.abs(relative) ** 2) / n
    assert unstated.AICc == pytest.approx(n * np.log(mean) + 12 + 84 / (n - 7))


def test_short_sweeps_leave_models_out() -> None:
    """Four frequencies do for three parameters; larger models are named as left out, no model is refused."""
    sweep = measured(SELF_CAPACITANCE, 7, f=F[::80])
    choice = choose(sweep, U)
    assert [each.fit.model.name for each in choice.compared] == ["series", "self_capacitance"]
    assert sum("was left out" in sentence for sentence in choice.sentences) == 2
    with pytest.raises(MissingReading):
        choose(Impedance(F[:1], sweep.Z[:1]), U)
