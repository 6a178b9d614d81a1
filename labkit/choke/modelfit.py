"""One model at its best for one sweep: parameters with covariance, and what the sweep cannot tell.

Two covariances are kept apart, because a stated accuracy does not say how its error runs along the sweep:

    covariance          errors independent from frequency to frequency
    shared_covariance   one error of gain and one of phase, both of size u, common to all frequencies

Without a stated accuracy u is estimated from what the fit leaves over, called estimated, and gives no chi².

Symbols: F frequencies · P parameters · u relative standard uncertainty, without a unit.
Source: JCGM 102:2011 for complex values; W. H. Press et al., Numerical Recipes, 3rd ed. (2007), section 15.6,
for limits where chi² has risen.
"""

import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.linalg.lapack import dposv

from labkit.arrays import Complexes, Floats
from labkit.quantity import display
from labkit.sweeps.sweep import Impedance, hertz
from labkit.theory.models import Model
from labkit.words import fitting as words

# Least squares of complex residuals in logarithms of parameters, with exact slopes.
#
# Levenberg and Marquardt's method on the scaled normal equations, damping after Nielsen. A few parameters
# and thousands of points: one product of slopes with themselves costs less than a factorisation of them.
#
# Source: K. Madsen, H. B. Nielsen, O. Tingleff, Methods for Non-Linear Least Squares Problems (2004), 3.2.

Evaluate = Callable[[Floats], tuple[Complexes, Complexes]]
"""x (P,) to residuals data - model (n,) and slopes of the model (n, P), both in units of the uncertainty."""

_LARGEST, _NOTHING = 690.0, 1e-100
_GIVEN_UP, _SHORTEST, _GROWTH, _WELL, _NO_EFFECT, _IDLE = 1e12, 0.1, 8.0, 1e8, 1e-3, 8


@dataclass(frozen=True)
class Solution:
    """Where a climb ended: x (P,), sum of squares, residuals (n,), slopes (n, P), whether it converged."""

    x: Floats
    squares: float
    residuals: Complexes
    slopes: Complexes
    converged: bool

    @property
    def degrees_of_freedom(self) -> int:
        """Real numbers minus parameters: 2n - P."""
        return 2 * len(self.residuals) - len(self.x)


def climb(
    evaluate: Evaluate, start: Floats, rounds: int = 60, damping: float = 1e-4, tolerance: float = 1e-4
) -> Solution:
    """The nearest minimum of the sum of |residual|².

    Parameters
    ----------
    evaluate : see `Evaluate`
    start : (P,), logarithms
    rounds : evaluations at most
    damping : to begin with, relative to the squared slopes; small close to the minimum
    tolerance : converged when a full step would lower the sum by less than this part of its mean square; the
        parameters are then within its root of the minimum, in standard uncertainties
    """
    with np.errstate(all="ignore"):
        return _climb(evaluate, np.array(start, dtype=np.float64), rounds, damping, tolerance)


def _climb(evaluate: Evaluate, x: Floats, rounds: int, damping: float, tolerance: float) -> Solution:
    growth, idle = _GROWTH, 0
    here = Solution(x, *_squares(evaluate(x)), converged=False)
    gram, downhill = _normal(here)
    for _ in range(rounds):
        mean = here.squares / max(here.degrees_of_freedom, 1)
        floor = tolerance * mean + 1e-28 * len(here.residuals)
        step, promised = _step(gram, downhill, damping, _at_zero(gram, downhill, mean))
        if (damping < 1 and promised <= floor) or idle >= _IDLE or damping > _GIVEN_UP:
            return replace(here, converged=True)
        x = np.clip(here.x + step, -_LARGEST, _LARGEST)
        there = Solution(x, *_squares(evaluate(x)), converged=False)
        fallen = here.squares - there.squares
        idle = 0 if fallen > floor else idle + 1
        if np.isfinite(there.squares) and 0 < fallen:
            here = there
            gram, downhill = _normal(here)
            damping, growth = damping * max(0.1, 1 - (2 * fallen / promised - 1) ** 3), _GROWTH
        else:
            damping, growth = damping * growth, 2 * growth
    return here


def _at_zero(gram: Floats, downhill: Floats, mean: float) -> npt.NDArray[np.bool_]:
    """Parameters without effect that should fall further: as good as zero, they stay where they are."""
    return np.asarray((gram.diagonal() < _NO_EFFECT * mean) & (downhill < 0))


def covariance_of(slopes: Complexes) -> Floats:
    """Covariance (P, P) of the parameters if all errors are independent with unit variance.

    A parameter without any slope, or with one past all numbers, has infinite variance and no covariance with
    others. The normal equations serve while they are well conditioned, orthogonal factors otherwise.
    """
    A = _real(slopes)
    with np.errstate(all="ignore"):
        size = np.sqrt(np.einsum("pn,pn->p", A, A))
    without = ~((size > _NOTHING) & np.isfinite(size))
    seen = np.flatnonzero(~without)
    covariance = np.diag(np.where(without, np.inf, 0.0))
    A = A[seen] / size[seen, None]
    scaled = A @ A.T
    inverse = np.linalg.inv(scaled) if np.linalg.cond(scaled) < _WELL else _inverse_by_factors(A)
    covariance[np.ix_(seen, seen)] = inverse / np.outer(size[seen], size[seen])
    return covariance


def _inverse_by_factors(A: Floats) -> Floats:
    triangle: Floats = np.array(np.linalg.qr(A.T, mode="r"))
    diagonal = np.diag(triangle)
    np.fill_diagonal(triangle, np.where(np.abs(diagonal) < 1e-14, 1e-14, diagonal))
    inverse = np.linalg.inv(triangle)
    return np.asarray(inverse @ inverse.T)


def shifts(slopes: Complexes, covariance: Floats, errors: Complexes) -> Floats:
    """How far each set of weighted errors, (m, n), moves the parameters, (m, P), to first order."""
    known = np.where(np.isfinite(covariance), covariance, 0.0)
    return np.asarray(np.ascontiguousarray(errors).view(np.float64) @ _real(slopes).T @ known)


def _squares(found: tuple[Complexes, Complexes]) -> tuple[float, Complexes, Complexes]:
    residuals, slopes = found
    return float(np.vdot(residuals, residuals).real), residuals, slopes


def _real(slopes: Complexes) -> Floats:
    """Real and imaginary parts side by side, shape (P, 2n); no copy of slopes kept column by column."""
    return np.ascontiguousarray(slopes.T).view(np.float64)


def _normal(here: Solution) -> tuple[Floats, Floats]:
    A = _real(here.slopes)
    return A @ A.T, A @ here.residuals.view(np.float64)


def _step(
    gram: Floats, downhill: Floats, damping: float, held: npt.NDArray[np.bool_]
) -> tuple[Floats, float]:
    """The damped step in x, and by how much it should lower the sum.

    It is taken as a step of the parameters themselves, in which impedances are nearly linear; a fall stops at
    a tenth. So a parameter that ran close to zero can come back in one round, and none runs off in one.
    """
    free = np.flatnonzero(~held)
    if not len(free):
        return np.zeros(len(held)), 0.0
    if len(free) < len(held):
        gram, downhill = gram[free][:, free], downhill[free]
    size = np.sqrt(gram.diagonal())
    size[size == 0] = 1.0
    scaled = gram / (size[:, None] * size)
    scaled.flat[:: len(size) + 1] += damping + 1e-15
    _, step, failed = dposv(scaled, downhill / size)
    if failed:
        step = np.linalg.lstsq(scaled, downhill / size, rcond=None)[0]
    step = step / size
    whole = np.zeros(len(held))
    whole[free] = np.log(np.maximum(1 + step, _SHORTEST))
    return whole, float(2 * downhill @ step - step @ gram @ step)


# What fits of one model and of a whole choke have in common: logarithms of parameters, and a verdict.
#
# Symbols: P parameters.

ACCEPTED = 1.3
"""Reduced chi² up to which a model describes a sweep: a stated accuracy is itself not known to 15 %."""
IDENTIFIED = 0.5
"""Standard uncertainty of ln p above which a parameter counts as not identified: a factor of e either way."""


class LogFit(ABC):
    """What every fit in ln p says of itself.

    Attributes
    ----------
    parameters : (P,), SI units
    stated : whether an accuracy was stated; if not the noise is estimated from the residuals
    log_covariance : (P, P) of the parameters' logarithms, errors independent
    log_shared : (P, P) of the same for one gain and one phase error common to all frequencies
    degrees_of_freedom : real numbers minus parameters
    """

    parameters: Floats
    stated: bool
    log_covariance: Floats
    log_shared: Floats
    degrees_of_freedom: int

    @abstractmethod
    def names(self) -> tuple[str, ...]:
        """Symbols of the P parameters, in order."""

    @property
    @abstractmethod
    def squares(self) -> float:
        """Sum of |residual|², without a unit."""

    @property
    @abstractmethod
    def misfits(self) -> Collection[object]:
        """Where in frequency the fit fails; empty without a stated accuracy."""

    @property
    def reduced_chi_squared(self) -> float | None:
        """Chi-squared by degree of freedom; None without a stated accuracy."""
        return self.squares / self.degrees_of_freedom if self.stated else None

    @property
    def describes(self) -> bool | None:
        """Whether all that was swept is described within its stated accuracy everywhere; None without one."""
        reduced = self.reduced_chi_squared
        return None if reduced is None else reduced < ACCEPTED and not self.misfits

    @property
    def covariance(self) -> Floats:
        """Of the parameters in SI units, (P, P), errors independent from frequency to frequency."""
        return np.asarray(self.log_covariance * np.outer(self.parameters, self.parameters))

    @property
    def shared_covariance(self) -> Floats:
        """The same, (P, P), if the accuracy is one gain and one phase error for all frequencies."""
        return np.asarray(self.log_shared * np.outer(self.parameters, self.parameters))

    @property
    def unidentified(self) -> tuple[str, ...]:
        """Symbols of the parameters that what was swept does not tell."""
        told = np.sqrt(np.diag(self.log_covariance)) < IDENTIFIED
        return tuple(s for s, known in zip(self.names(), told, strict=True) if not known)


RISE = 3.841
"""Rise of chi² at a 95 % limit of one parameter."""
_WINDOWS = 24
_NO_LIMIT = 16.0


@dataclass(frozen=True, eq=False)
class ModelFit(LogFit):
    """One model at its best for one sweep.

    Attributes
    ----------
    model, sweep : what was fitted to what
    parameters : (P,), SI units, in the model's order
    uncertainty : (F,) relative standard uncertainty u of each part of Z
    stated : whether u was stated; if not it is estimated from the residuals
    log_covariance : (P, P) of the parameters' logarithms, errors independent
    log_shared : (P, P) of the same for one gain and one phase error of size u in all frequencies
    residuals : (F,) complex, (Z - Z_model)/|Z| over u
    degrees_of_freedom : 2F - P
    converged : whether the climb ended in a minimum
    rivals : parameters (P,) of other minima, if some were found that the sweep cannot tell from this at 95 %;
        `log_covariance` reaches to the farthest
    """

    model: Model
    sweep: Impedance
    parameters: Floats
    uncertainty: Floats
    stated: bool
    log_covariance: Floats
    log_shared: Floats
    residuals: Complexes
    degrees_of_freedom: int
    converged: bool
    rivals: tuple[Floats, ...] = ()

    def names(self) -> tuple[str, ...]:
        """The model's symbols."""
        return self.model.symbols

    @property
    def squares(self) -> float:
        """Sum of |residual|², without a unit."""
        return float(np.vdot(self.residuals, self.residuals).real)

    @property
    def chi_squared(self) -> float | None:
        """The sum of squares if an accuracy is stated, else None: an estimated noise cannot judge a model."""
        return self.squares if self.stated else None

    @property
    def correlation(self) -> Floats:
        """Correlation of the logarithms, (P, P), errors independent; nan for one without any effect."""
        spread = np.sqrt(np.diag(self.log_covariance))
        with np.errstate(invalid="ignore"):
            return np.asarray(self.log_covariance / np.outer(spread, spread))

    @property
    def predicted(self) -> Complexes:
        """The model's impedance at the sweep's frequencies, (F,), in Ω."""
        return np.asarray(self.model.impedance(self.parameters, self.sweep.frequency))

    def value(self, symbol: str) -> float:
        """A parameter in its SI unit."""
        return float(self.parameters[self.model.symbols.index(symbol)])

    def interval(self, symbol: str, *, shared: bool = True) -> tuple[float, float]:
        """95 % interval of a parameter; `shared` adds the accuracy as one error common to all frequencies."""
        place = self.model.symbols.index(symbol)
        spread = 1.96 * math.sqrt(self._log_total(shared)[place, place])
        return float(self.parameters[place] * math.exp(-spread)), float(
            self.parameters[place] * math.exp(spread)
        )

    def derived(self, function: Callable[[Floats], float], *, shared: bool = True) -> tuple[float, float]:
        """A quantity of the parameters and its standard uncertainty, to first order in their logarithms.

        >>> from labkit.choke.choose_model import fit_model
        >>> from labkit.theory.models import SERIES
        >>> fit = fit_model(SERIES, Impedance([1e3, 2e3, 4e3], [1 + 6j, 1 + 12j, 1 + 24j]), uncertainty=0.01)
        >>> value, u = fit.derived(lambda p: p[1] / p[0])
        >>> round(value * 1e3, 3)
        0.955
        """
        x, step = np.log(self.parameters), 1e-5
        slope = np.array(
            [
                (function(np.exp(x + step * axis)) - function(np.exp(x - step * axis))) / (2 * step)
                for axis in np.eye(len(x))
            ]
        )
        active = slope != 0
        total = self._log_total(shared)[np.ix_(active, active)]
        return float(function(self.parameters)), float(np.sqrt(slope[active] @ total @ slope[active]))

    @property
    def hidden(self) -> tuple[str, ...]:
        """Symbols that an error of phase common to all frequencies, as large as the accuracy, would hide."""
        if not self.stated:
            return ()
        spread = np.sqrt(np.diag(self.log_shared))
        found = (s for s, u in zip(self.model.symbols, spread, strict=True) if not u < IDENTIFIED)
        return tuple(symbol for symbol in found if symbol not in self.unidentified)

    @cached_property
    def misfits(self) -> tuple[tuple[float, float], ...]:
        """Bands of frequency (Hz, Hz) in which the residuals are larger than the stated accuracy allows."""
        if not self.stated:
            return ()
        return bands_above(self.sweep.frequency, np.abs(self.residuals) ** 2)

    def bounds(self, symbol: str) -> tuple[float | None, float | None]:
        """95 % limits, where chi² has risen by 3.84 with the others fitted anew; None on a side without."""
        place = self.model.symbols.index(symbol)
        low, high = self._bound(place, -1), self._bound(place, 1)
        others = [float(p[place]) for p in self.rivals]
        return low and min([low, *others]), high and max([high, *others])

    @property
    def worst(self) -> float:
        """About where the model is farthest from the sweep for its uncertainty, in Hz."""
        return worst_frequency(self.sweep.frequency, np.abs(self.residuals) ** 2)

    @cached_property
    def remarks(self) -> tuple[str, ...]:
        """What must be said beside the parameters, in sentences."""
        said = []
        if not self.stated:
            said.append(words.ESTIMATED.format(percent=100 * float(np.max(self.uncertainty))))
        if not self.converged:
            said.append(words.NOT_CONVERGED)
        if self.describes is False:
            facts = {"reduced": self.reduced_chi_squared, "bands": bands_in_words(self.misfits)}
            facts |= {"worst": near(self.worst)}
            sentence = words.NOT_DESCRIBED if self.misfits else words.NOT_DESCRIBED_ANYWHERE
            return (*said, sentence.format(**facts))
        said += [words.HIDDEN.format(symbol=symbol) for symbol in self.hidden]
        return (*said, *(self._not_told(symbol) for symbol in self.unidentified))

    def _log_total(self, shared: bool) -> Floats:
        return self.log_covariance + self.log_shared if shared and self.stated else self.log_covariance

    def _not_told(self, symbol: str) -> str:
        unit = self.model.parameters[self.model.symbols.index(symbol)].unit
        low, high = (None if x is None else display(x, unit=unit) for x in self.bounds(symbol))
        return not_told(symbol, low, high)

    def _bound(self, place: int, direction: int) -> float | None:
        """Out by doubling steps until chi² has risen, then back by halves to a few parts in a thousand."""
        evaluate = evaluator(self.model, self.sweep, self.uncertainty)
        best, x0 = self.squares, np.log(self.parameters)

        def rise(distance: float) -> float:
            held = x0[place] + direction * distance
            return climb(_holding(evaluate, place, held), np.delete(x0, place), rounds=25).squares - best

        near, far = 0.0, min(2 * math.sqrt(self.log_covariance[place, place]), 0.5)
        while rise(far) < RISE:
            near, far = far, 2 * far
            if far > _NO_LIMIT:
                return None
        for _ in range(8):
            middle = (near + far) / 2
            near, far = (middle, far) if rise(middle) < RISE else (near, middle)
        return float(math.exp(x0[place] + direction * far))


def bands_above(frequency: Floats, squares: Floats) -> tuple[tuple[float, float], ...]:
    """Bands (Hz, Hz) in which the mean of |residual|² is more than chance and a coarse accuracy allow."""
    from scipy.stats import chi2

    bands: list[tuple[float, float]] = []
    for window in _windows(len(frequency)):
        if squares[window].sum() > ACCEPTED * float(chi2.ppf(0.9999, 2 * len(window))):
            low, high = float(frequency[window[0]]), float(frequency[window[-1]])
            before = float(frequency[window[0] - 1]) if window[0] else None
            joined = bands and bands[-1][1] == before
            bands = [*bands[:-1], (bands[-1][0], high)] if joined else [*bands, (low, high)]
    return tuple(bands)


def worst_frequency(frequency: Floats, squares: Floats) -> float:
    """Middle of the window in which |residual|² is largest, in Hz."""
    window = max(_windows(len(frequency)), key=lambda window: float(squares[window].mean()))
    return float(math.sqrt(frequency[window[0]] * frequency[window[-1]]))


def _windows(points: int) -> list[npt.NDArray[np.intp]]:
    return np.array_split(np.arange(points), min(_WINDOWS, max(1, points // 4)))


def bands_in_words(bands: tuple[tuple[float, float], ...]) -> str:
    """Bands of frequency inside a sentence."""
    return ", ".join(words.BAND.format(low=near(low), high=near(high)) for low, high in bands)


def not_told(symbol: str, low: str | None, high: str | None) -> str:
    """The sentence about a parameter that a sweep does not identify."""
    sentence = {
        (True, True): words.ANYTHING,
        (True, False): words.AT_MOST,
        (False, True): words.AT_LEAST,
        (False, False): words.BETWEEN,
    }[low is None, high is None]
    return sentence.format(
        symbol=symbol, low=low, high=high, advice=words.ADVICE[symbol.rstrip("0123456789")]
    )


def near(frequency: float) -> str:
    """A frequency with three digits inside a sentence."""
    return hertz(float(f"{frequency:.3g}"))


def evaluator(model: Model, sweep: Impedance, u: Floats) -> Evaluate:
    """What `climb` needs for a model and a sweep with relative uncertainties u, shape (F,)."""
    weight = 1 / (np.abs(sweep.Z) * u)

    def evaluate(x: Floats) -> tuple[Complexes, Complexes]:
        Z, slopes = model.with_derivatives(np.exp(x), sweep.frequency, weight)
        return (sweep.Z - Z) * weight, slopes

    return evaluate


def _holding(evaluate: Evaluate, place: int, value: float) -> Evaluate:
    def held(x: Floats) -> tuple[Complexes, Complexes]:
        residuals, slopes = evaluate(np.insert(x, place, value))
        return residuals, np.delete(slopes, place, axis=1)

    return held
