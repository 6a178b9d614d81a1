"""A model fitted to a sweep, from starts read off the sweep itself, and looked for in more than one minimum.

Complex relative residuals (Z - Z_model)/|Z| are weighted by the sweep's relative standard uncertainty u, the
same for real and imaginary part. Parameters are fitted as logarithms, so they stay positive without bounds.
A search on few frequencies, spread evenly over the logarithm, finds where to start the whole sweep from.

Symbols: F frequencies · P parameters · u relative standard uncertainty, without a unit.
"""

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from labkit.analysis.characterise import starts
from labkit.analysis.characterise.climbing import Solution, climb, covariance_of, shifts
from labkit.analysis.characterise.modelfit import RISE, ModelFit, evaluator
from labkit.errors import EntryError, MissingReading
from labkit.sweeps.sweep import Complexes, Floats, Impedance
from labkit.theory.models import CORE, CORE_DAMPED, Model
from labkit.words import fitting as words

_ENOUGH = 1.2
_SHARP = 0.05  # of ln L_air on few frequencies: told as well as this, it is far from any fold
_APART = 0.1


def fit_model(model: Model, sweep: Impedance, uncertainty: npt.ArrayLike | None = None) -> ModelFit:
    """The model's parameters that fit a sweep best, from starts read off the sweep itself.

    Parameters
    ----------
    model : one of `labkit.theory.models.MODELS`
    sweep : impedance at F frequencies
    uncertainty : relative standard uncertainty of the real and of the imaginary part of Z, each over |Z|; one
        number or (F,). None if no accuracy is stated: then it is estimated, and called so.

    Raises
    ------
    MissingReading
        if there are fewer frequencies than the parameters need.
    EntryError
        if the uncertainty is not above zero or of another length.
    """
    needed = len(model.parameters)
    if len(sweep) < needed:
        facts = {"points": len(sweep), "parameters": len(model.parameters), "needed": needed}
        raise MissingReading(words.TOO_FEW.format(model=model.title, **facts))
    u = relative_uncertainty(uncertainty, len(sweep))
    stated = uncertainty is not None
    evaluate = evaluator(model, sweep, u)
    climbs = [climb(evaluate, x, tolerance=1e-3) for x in _starts(model, sweep, u, stated)]
    found, *others = sorted(climbs, key=lambda each: each.squares)
    return _as_fit(model, sweep, u, found, stated, _within(RISE, found, others, stated))


def relative_uncertainty(given: npt.ArrayLike | None, points: int) -> Floats:
    """(F,) relative standard uncertainties; ones where none is stated.

    Raises
    ------
    EntryError
    """
    u = np.asarray(1.0 if given is None else given, dtype=np.float64)
    if u.shape not in {(), (points,)} or not np.all(np.isfinite(u) & (u > 0)):
        raise EntryError(words.UNCERTAINTY.format(given=given, points=points), str(given))
    return np.broadcast_to(u, (points,)).copy()


def refit(fit: ModelFit, Z: Complexes) -> Floats:
    """Parameters (P,) of the same model for other values at the same frequencies, from where this fit is."""
    sweep = Impedance(fit.sweep.frequency, Z)
    evaluate = evaluator(fit.model, sweep, fit.uncertainty)
    return np.exp(climb(evaluate, np.log(fit.parameters), rounds=25).x)


def _starts(model: Model, sweep: Impedance, u: Floats, stated: bool) -> list[Floats]:
    """Logarithms to start the whole sweep from: the first good climb on few frequencies, and a twin."""
    few = starts.thinned(sweep)
    places = np.searchsorted(sweep.frequency, few.frequency)
    evaluate = evaluator(model, few, u[places])
    noise = 1.0 if stated else starts.scatter(sweep) ** 2
    best: Solution | None = None
    for start in starts.starts(model, few):
        found = climb(evaluate, np.log(start), tolerance=0.1)
        if best is None or found.squares < best.squares:
            best = found
        if best.squares < _ENOUGH * noise * best.degrees_of_freedom:
            break
    assert best is not None
    if model not in (CORE, CORE_DAMPED) or covariance_of(best.slopes)[starts.AIR, starts.AIR] < _SHARP**2:
        return [best.x]
    twins = (np.log(p) for p in starts.twins(model, np.exp(best.x)))
    near = _within(10.0, best, [climb(evaluate, x, rounds=12, tolerance=0.1) for x in twins], stated)
    return [best.x, *(each.x for each in near)]


def _within(rise: float, best: Solution, others: list[Solution], stated: bool) -> list[Solution]:
    """Other minima, apart in L_air from this and each other, whose chi² is higher by no more than `rise`."""
    mean, found = _mean(best, stated), [best]
    for other in sorted(others, key=lambda each: each.squares):
        apart = all(abs(other.x[starts.AIR] - each.x[starts.AIR]) > _APART for each in found)
        if apart and other.squares < best.squares + rise * mean:
            found.append(other)
    return found[1:]


def _mean(found: Solution, stated: bool) -> float:
    """What |residual|² is by chance."""
    return 1.0 if stated else max(found.squares / max(found.degrees_of_freedom, 1), 1e-300)


def _as_fit(
    model: Model, sweep: Impedance, u: Floats, found: Solution, stated: bool, rivals: list[Solution]
) -> ModelFit:
    covariance = covariance_of(found.slopes)
    off = [each.x - found.x for each in rivals]
    if off:
        far = max(off, key=lambda each: abs(each[starts.AIR]))
        covariance = covariance + np.outer(far, far) / _mean(found, stated)
    along = sweep.Z / np.abs(sweep.Z)
    common = shifts(found.slopes, covariance, np.stack([along, 1j * along]))
    fit = ModelFit(
        model,
        sweep,
        np.exp(found.x),
        u,
        stated,
        covariance,
        common.T @ common,
        found.residuals,
        found.degrees_of_freedom,
        found.converged,
        tuple(np.exp(each.x) for each in rivals),
    )
    return fit if stated else _estimated(fit)


def _estimated(fit: ModelFit) -> ModelFit:
    """The same with the noise that the residuals show."""
    noise = math.sqrt(fit.squares / fit.degrees_of_freedom) if fit.degrees_of_freedom else math.inf
    return replace(
        fit,
        uncertainty=fit.uncertainty * noise,
        log_covariance=fit.log_covariance * noise**2,
        log_shared=fit.log_shared * noise**2,
        residuals=fit.residuals / noise,
    )
