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
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from labkit.analysis.characterise.climbing import Evaluate, climb
from labkit.analysis.characterise.log_fit import ACCEPTED, IDENTIFIED, LogFit
from labkit.quantity import display
from labkit.sweeps.sweep import Complexes, Floats, Impedance, hertz
from labkit.theory.models import Model
from labkit.words import fitting as words

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

        >>> from labkit.analysis.characterise.fitting import fit_model
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
