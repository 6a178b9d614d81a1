"""Which model to believe, if any: fits in growing order, compared honestly.

A model is believed if it describes the sweep within its stated accuracy, at all frequencies, and no larger
one that does so improves it beyond chance (F test). Fitting best is not enough. A larger model whose own
parameters the sweep does not tell is not taken instead of a smaller one that describes the sweep: what it
adds may be an error that the instrument has well within its accuracy. If none describes the sweep, none is
believed, and the sentence says where in frequency the closest one fails. Without a stated accuracy none can
be judged.

Sources: F test for nested models, G. A. F. Seber and C. J. Wild, Nonlinear Regression (1989), section 5.3;
AICc, C. M. Hurvich and C.-L. Tsai, Biometrika 76 (1989) 297-307; d, J. Durbin and G. S. Watson, Biometrika 37
(1950) 409-428.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
from tqdm import tqdm

from labkit.arrays import Complexes, Floats
from labkit.choke.modelfit import (
    RISE,
    ModelFit,
    Solution,
    bands_in_words,
    climb,
    covariance_of,
    evaluator,
    near,
    shifts,
)
from labkit.errors import EntryError, MissingReading
from labkit.sweeps.sweep import Impedance
from labkit.theory.models import CORE, CORE_DAMPED, MODELS, SELF_CAPACITANCE, Model
from labkit.words import fitting as words

# Where a fit starts, read off the sweep itself: low-frequency slope, resonance, loss, high-frequency end.
#
# The core's models are rational in s = jω, Z = (a0 + a1 s + a2 s²)/(1 + b1 s + b2 s² + b3 s³), and linear
# in the coefficients once the denominator is multiplied out; a few rounds with the last denominator as
# weight make the misfit relative. Coefficients that no such winding can have are replaced by small positive
# ones: a start need not be right, only near.
#
# Source: C. K. Sanathanan and J. Koerner, IEEE Trans. Automatic Control 8 (1963) 56-58.

POINTS = 80
_SMALL = 1e-3
_ROUNDS = 4


def thinned(sweep: Impedance, points: int = POINTS) -> Impedance:
    """About so many points, evenly spread over the logarithm of frequency; all if there are no more."""
    if len(sweep) <= points:
        return sweep
    goal = np.geomspace(sweep.frequency[0], sweep.frequency[-1], points)
    kept = np.unique(np.searchsorted(sweep.frequency, goal).clip(0, len(sweep) - 1))
    return Impedance(sweep.frequency[kept], sweep.Z[kept])


def scatter(sweep: Impedance) -> float:
    """Relative noise from point to point of each part of Z, without any model; 0 for fewer than eight points.

    A smooth curve has small third differences and noise has large ones; their median is deaf to a sharp
    resonance.
    """
    if len(sweep) < 8:
        return 0.0
    rough = np.diff(np.log(sweep.Z), 3)
    return float(np.median(np.abs(rough)) / (1.1774 * math.sqrt(20)))


def starts(model: Model, sweep: Impedance) -> Iterator[Floats]:
    """Parameters to start from, shape (P,), the most promising first."""
    R, L, C = lumped(sweep)
    if model.shunt is None:
        yield np.array([R, L])
    elif model is SELF_CAPACITANCE:
        yield from _self_capacitance(sweep, R, L, C)
    elif model is CORE:
        yield from _core(sweep, R, L, C)
    elif model is CORE_DAMPED:
        yield from _core_damped(sweep, R, L, C)


AIR = 1
"""Place of L_air among the parameters of the core's models."""


def twin_minima(model: Model, p: Floats) -> Iterator[Floats]:
    """Where another minimum may lie: less, or more, of the core's inductance in air instead.

    Seen from the clips the flux in air and what damps the capacitance do nearly the same, so a sweep may
    have two solutions on either side of a fold, or one with hardly any flux in air.
    """
    if model in (CORE, CORE_DAMPED):
        for factor in (0.6, 1.7, 0.05, 20.0):
            air = min(factor * p[AIR], 0.5 * (p[AIR] + p[2]))
            yield np.array([p[0], air, p[AIR] + p[2] - air, *p[3:]])


def lumped(sweep: Impedance) -> tuple[float, float, float]:
    """R (Ω), L (H) and C (F) of a lumped winding, from the sweep's low end and its resonance.

    L is the slope of the reactance over the lowest points; R the resistance there, at least a thousandth of
    |Z|; C from the first passage of the phase through zero, else from the susceptance at the high end.
    """
    w, Z = sweep.omega, sweep.Z
    low = slice(0, max(3, len(sweep) // 20))
    R = max(float(np.median(Z.real[low])), _SMALL * float(abs(Z[0])))
    slope = float(np.median(Z.imag[low] / w[low]))
    L = slope if slope > 0 else float(abs(Z[0]) / w[0])
    falling = np.flatnonzero((Z.imag[:-1] > 0) & (Z.imag[1:] <= 0))
    if falling.size:
        C = 1 / (L * float(w[falling[0] + 1]) ** 2)
    else:
        susceptance = float((1 / Z[-1]).imag / w[-1]) + 1 / (L * float(w[-1]) ** 2)
        C = max(susceptance, _SMALL / (L * float(w[-1]) ** 2))
    return R, L, C


def _self_capacitance(sweep: Impedance, R: float, L: float, C: float) -> Iterator[Floats]:
    """Z = (a0 + a1 s)/(1 + b1 s + b2 s²), then what the low end and the resonance say."""
    (a0, a1), (_, b2) = _rational(sweep, 1, 2)
    if a1 > 0 and b2 > 0:
        yield np.array([max(a0, 1e-6 * a1 * sweep.omega[0]), a1, b2 / a1])
    yield from (np.array([R, L, C * factor]) for factor in (1.0, 0.1, 10.0))


def _core(sweep: Impedance, R: float, L: float, C: float) -> Iterator[Floats]:
    """The rational function's, the same with less flux in air, then a coarse grid."""
    rational = _rational_core(sweep)
    if rational is not None:
        yield rational
        few = 0.03 * rational[1]
        yield rational + np.array([0, few - rational[1], rational[1] - few, 0, 0])
    resonance = 1 / (2 * math.pi * math.sqrt(L * C))
    for factor in (1.0, 0.1, 10.0):
        for air in (0.02, 0.3):
            yield np.array([R, air * L, (1 - air) * L, resonance * factor, C])


def _core_damped(sweep: Impedance, R: float, L: float, C: float) -> Iterator[Floats]:
    """CORE's, with the plateau of the high end for R_d, then with parts of the characteristic impedance."""
    level = math.sqrt(L / C)
    plateau = max(float(sweep.Z[-1].real), _SMALL * level)
    for p in _core(sweep, R, L, C):
        yield np.array([*p, plateau])
        yield np.array([*p[:4], C, plateau])
        yield from (np.array([*p, factor * level]) for factor in (0.5, 0.1, 0.02))


def _rational_core(sweep: Impedance) -> Floats | None:
    """CORE's parameters from its rational function; None if far from physical."""
    (a0, a1, a2), (b1, b2, b3) = _rational(sweep, 2, 3)
    if a1 <= 0:
        return None
    R = max(a0, 1e-6 * a1 * sweep.omega[0])
    candidates = [c for c in (b3 / a2 if a2 else 0.0, b2 / a1) if c > 0]
    C = candidates[0] if candidates else _SMALL / (a1 * sweep.omega[-1] ** 2)
    tau = b1 - C * R
    tau = tau if tau > 0 else 0.1 / sweep.omega[-1]
    L = max(a1 - R * tau, _SMALL * a1)
    air = min(max(a2 / tau, _SMALL * L), 0.99 * L)
    return np.array([R, air, L - air, 1 / (2 * math.pi * tau), C])


def _rational(sweep: Impedance, above: int, below: int) -> tuple[Floats, Floats]:
    """Coefficients a0, a1, ... and b1, b2, ... of a rational function with these degrees, in SI units."""
    scale = math.sqrt(sweep.omega[0] * sweep.omega[-1])
    s = np.asarray(1j * sweep.omega / scale, dtype=np.complex128)
    P = np.asarray(s[:, None] ** np.arange(max(above, below) + 1), dtype=np.complex128)
    columns = np.concatenate([P[:, : above + 1], -sweep.Z[:, None] * P[:, 1 : below + 1]], axis=1)
    weight: Floats = 1 / np.abs(sweep.Z)
    for _ in range(_ROUNDS):
        found = _least_squares(columns * weight[:, None], sweep.Z * weight)
        denominator = 1 + P[:, 1 : below + 1] @ found[above + 1 :]
        weight = 1 / (np.abs(sweep.Z) * np.maximum(np.abs(denominator), 1e-6))
    unscaled = found / scale ** np.r_[0 : above + 1, 1 : below + 1]
    return unscaled[: above + 1], unscaled[above + 1 :]


def _least_squares(A: npt.NDArray[Any], y: Complexes) -> Floats:
    """Real coefficients for complex equations."""
    left, right = (np.concatenate([values.real, values.imag]) for values in (A, y))
    return np.asarray(np.linalg.lstsq(left, right, rcond=None)[0], dtype=np.float64)


# A model fitted to a sweep, from starts read off the sweep itself, and looked for in more than one minimum.
#
# Complex relative residuals (Z - Z_model)/|Z| are weighted by the sweep's relative standard uncertainty u,
# the same for real and imaginary part. Parameters are fitted as logarithms, so they stay positive without
# bounds. A search on few frequencies, spread evenly over the logarithm, finds where to start the whole
# sweep from.
#
# Symbols: F frequencies · P parameters · u relative standard uncertainty, without a unit.

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
    few = thinned(sweep)
    places = np.searchsorted(sweep.frequency, few.frequency)
    evaluate = evaluator(model, few, u[places])
    noise = 1.0 if stated else scatter(sweep) ** 2
    best: Solution | None = None
    for start in starts(model, few):
        found = climb(evaluate, np.log(start), tolerance=0.1)
        if best is None or found.squares < best.squares:
            best = found
        if best.squares < _ENOUGH * noise * best.degrees_of_freedom:
            break
    assert best is not None
    if model not in (CORE, CORE_DAMPED) or covariance_of(best.slopes)[AIR, AIR] < _SHARP**2:
        return [best.x]
    twins = (np.log(p) for p in twin_minima(model, np.exp(best.x)))
    near = _within(10.0, best, [climb(evaluate, x, rounds=12, tolerance=0.1) for x in twins], stated)
    return [best.x, *(each.x for each in near)]


def _within(rise: float, best: Solution, others: list[Solution], stated: bool) -> list[Solution]:
    """Other minima, apart in L_air from this and each other, whose chi² is higher by no more than `rise`."""
    mean, found = _mean(best, stated), [best]
    for other in sorted(others, key=lambda each: each.squares):
        apart = all(abs(other.x[AIR] - each.x[AIR]) > _APART for each in found)
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
        far = max(off, key=lambda each: abs(each[AIR]))
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


CHANCE = 1e-3
"""Probability below which an improvement, or a pattern, is not put down to chance."""
_PATTERN_Z = 3.29


@dataclass(frozen=True, eq=False)
class Compared:
    """One model's fit among others."""

    fit: ModelFit

    @property
    def AICc(self) -> float:
        """Akaike's criterion, corrected for few data: the smaller the better; only differences count.

        From chi² where an accuracy is stated, else from the mean square, whose size is one more parameter.
        """
        n, k = 2 * len(self.fit.sweep), len(self.fit.parameters)
        if self.fit.stated:
            return self.fit.squares + _penalty(n, k)
        return n * math.log(self.fit.squares * float(self.fit.uncertainty[0]) ** 2 / n) + _penalty(n, k + 1)

    @property
    def durbin_watson(self) -> float:
        """Mean squared step between neighbouring residuals over their mean square; 2 if independent."""
        r = self.fit.residuals
        return float(np.sum(np.abs(np.diff(r)) ** 2) / np.sum(np.abs(r) ** 2))

    @property
    def pattern(self) -> bool:
        """Whether neighbouring residuals are alike beyond chance; d has variance 2/F for F complex values."""
        return (2 - self.durbin_watson) * math.sqrt(len(self.fit.sweep) / 2) > _PATTERN_Z


@dataclass(frozen=True, eq=False)
class Choice:
    """What came of comparing models on one sweep.

    Attributes
    ----------
    compared : the fits, smallest model first
    preferred : the fit to look at: the believed one, else the closest
    believed : whether it describes the sweep within the stated accuracy; None if no accuracy is stated
    sentences : what to say about it
    """

    compared: tuple[Compared, ...]
    preferred: ModelFit
    believed: bool | None
    sentences: tuple[str, ...]


def choose(
    sweep: Impedance, uncertainty: npt.ArrayLike | None = None, models: Sequence[Model] = MODELS
) -> Choice:
    """Fit the models in growing order and say which one describes the sweep, if any does.

    Parameters
    ----------
    sweep : impedance at F frequencies
    uncertainty : as for `fit_model`; None if no accuracy is stated
    models : smallest first, each one holding the one before as a limit

    Raises
    ------
    MissingReading
        if the sweep is too short even for the smallest model.
    """
    compared, left_out = [], []
    for model in models:
        try:
            compared.append(Compared(fit_model(model, sweep, uncertainty)))
        except MissingReading:
            if not compared:
                raise
            left_out.append(words.TOO_SHORT.format(model=model.title))
    able = [each for each in compared if each.fit.describes is not False]
    if not able:
        closest = min(compared, key=lambda each: each.AICc)
        return Choice(tuple(compared), closest.fit, False, (_none(closest, len(compared)), *left_out))
    taken, because = _simplest(able)
    said = [_unstated(taken) if taken.fit.describes is None else _taken(taken), *because]
    if taken.pattern:
        said.append(words.PATTERN.format(model=taken.fit.model.title, d=taken.durbin_watson))
    return Choice(tuple(compared), taken.fit, taken.fit.describes, (*said, *left_out))


def f_test(smaller: ModelFit, larger: ModelFit) -> tuple[float, float]:
    """F of the larger model's improvement, and the probability of one as large by chance.

    Both fitted to one sweep with the same relative weights, the smaller a limiting case of the larger.
    """
    from scipy.stats import f

    before, after = (_unweighted(fit) for fit in (smaller, larger))
    more = smaller.degrees_of_freedom - larger.degrees_of_freedom
    if after <= 0 or larger.degrees_of_freedom <= 0:
        return math.inf, 0.0
    F = max(0.0, (before - after) / more / (after / larger.degrees_of_freedom))
    return F, float(f.sf(F, more, larger.degrees_of_freedom))


def _unweighted(fit: ModelFit) -> float:
    """The sum of squares with weights that do not depend on the model."""
    return fit.squares if fit.stated else fit.squares * float(fit.uncertainty[0]) ** 2


def _simplest(able: Sequence[Compared]) -> tuple[Compared, list[str]]:
    """The first one that no larger one improves beyond chance and tellingly, and what speaks for others."""
    taken, because = able[0], []
    for larger in able[1:]:
        F, p = f_test(taken.fit, larger.fit)
        if p >= CHANCE:
            continue
        facts = {"smaller": taken.fit.model.title, "larger": larger.fit.model.title, "F": F, "p": p}
        untold = set(larger.fit.unidentified) - set(taken.fit.unidentified)
        if taken.fit.stated and untold:
            symbols = ", ".join(s for s in larger.fit.unidentified if s in untold)
            because.append(words.UNTOLD.format(**facts, symbols=symbols))
        else:
            because.append(words.IMPROVED.format(**facts))
            taken = larger
    return taken, because if taken.fit.stated else []


def _taken(taken: Compared) -> str:
    return words.TAKEN.format(model=taken.fit.model.title, reduced=taken.fit.reduced_chi_squared)


def _unstated(taken: Compared) -> str:
    left, rough = 100 * float(taken.fit.uncertainty[0]), 100 * scatter(taken.fit.sweep)
    return words.UNSTATED.format(model=taken.fit.model.title, percent=left, scatter=rough)


def _none(closest: Compared, count: int) -> str:
    fit = closest.fit
    facts = {"count": count, "model": fit.model.title, "reduced": fit.reduced_chi_squared}
    if not fit.misfits:
        return words.NONE_ANYWHERE.format(**facts)
    return words.NONE.format(bands=bands_in_words(fit.misfits), worst=near(fit.worst), **facts)


def _penalty(n: int, k: int) -> float:
    return 2 * k + (2 * k * (k + 1) / (n - k - 1) if n > k + 1 else math.inf)


# Intervals without a stated accuracy, and without the hope that neighbours err independently: the
# bootstrap.
#
# What a fit leaves over is cut into blocks of neighbouring frequencies, drawn again with replacement, put
# onto the model's curve, and the model is fitted anew. Blocks are as long as residuals stay alike, so an
# error that neighbours share keeps its effect. It cannot show an error that is common to the whole sweep,
# nor make up for a model that does not describe it.
#
# Source: H. R. Künsch, Annals of Statistics 17 (1989) 1217-1241; B. Efron and R. J. Tibshirani, An
# Introduction to the Bootstrap (1993), section 9.4 (residuals) and 8.6 (blocks).


@dataclass(frozen=True, eq=False)
class Bootstrap:
    """Parameters fitted to resampled sweeps.

    Attributes
    ----------
    fit : the fit whose residuals were resampled
    parameters : (n, P), SI units, one row a resample that was finished
    asked : how many resamples were asked for
    block : how many neighbouring frequencies were drawn together
    """

    fit: ModelFit
    parameters: Floats
    asked: int
    block: int

    @property
    def done(self) -> int:
        """How many resamples were finished."""
        return len(self.parameters)

    @property
    def log_covariance(self) -> Floats:
        """Of the parameters' logarithms, (P, P); needs two resamples."""
        return np.atleast_2d(np.cov(np.log(self.parameters), rowvar=False))

    def interval(self, symbol: str, coverage: float = 0.95) -> tuple[float, float]:
        """Interval of a parameter with equal tails, in its SI unit."""
        column = self.parameters[:, self.fit.model.symbols.index(symbol)]
        low, high = np.quantile(column, [(1 - coverage) / 2, (1 + coverage) / 2])
        return float(low), float(high)

    @property
    def remarks(self) -> tuple[str, ...]:
        """What must be said beside the figures."""
        if self.done == self.asked:
            return ()
        return (words.STOPPED.format(done=self.done, asked=self.asked),)


def bootstrap(fit: ModelFit, resamples: int = 1000, *, seed: int, progress: bool = True) -> Bootstrap:
    """Fit the model again to resampled sweeps; an interrupt keeps what is finished.

    Parameters
    ----------
    fit : from `fit_model`
    resamples : how many
    seed : the same seed gives the same resamples
    progress : show a bar

    Raises
    ------
    EntryError
        for less than one resample.
    KeyboardInterrupt
        if it comes before the first resample is finished: then there is nothing to keep.
    """
    if resamples < 1:
        raise EntryError(f"{resamples} resamples were asked for; ask for at least one.", str(resamples))
    rng, length = np.random.default_rng(seed), block_length(fit.residuals)
    found: list[Floats] = []
    try:
        for _ in tqdm(range(resamples), desc=words.NAME, disable=not progress, leave=False):
            found.append(refit(fit, _resampled(fit, length, rng)))
    except KeyboardInterrupt:
        if not found:
            raise
    return Bootstrap(fit, np.array(found), resamples, length)


def block_length(residuals: Complexes) -> int:
    """Twice as many neighbours as stay alike beyond chance (autocorrelation above 2/√F), at least 1."""
    F = len(residuals)
    power = np.abs(np.fft.fft(residuals, 2 * F)) ** 2
    alike = np.fft.ifft(power).real[:F]
    chance = 2 / np.sqrt(F) * alike[0]
    below = np.flatnonzero(alike < chance)
    reach = int(below[0]) if below.size else F
    return 1 if reach <= 1 else min(2 * reach, max(1, F // 4))


def _resampled(fit: ModelFit, length: int, rng: np.random.Generator) -> Complexes:
    """The model's curve with blocks of residuals drawn again, the sweep taken as a ring."""
    F = len(fit.residuals)
    first = rng.integers(F, size=-(-F // length))
    drawn = (first[:, None] + np.arange(length)).ravel()[:F] % F
    spread = np.sqrt(2 * F / max(fit.degrees_of_freedom, 1))
    turned = fit.sweep.Z / np.abs(fit.sweep.Z)
    relative = (fit.residuals / turned)[drawn] * spread * fit.uncertainty
    return np.asarray(fit.predicted + relative * fit.sweep.Z)
