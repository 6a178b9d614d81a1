"""Intervals without a stated accuracy, and without the hope that neighbours err independently: the bootstrap.

What a fit leaves over is cut into blocks of neighbouring frequencies, drawn again with replacement, put onto
the model's curve, and the model is fitted anew. Blocks are as long as residuals stay alike, so an error
that neighbours share keeps its effect. It cannot show an error that is common to the whole sweep, nor make up
for a model that does not describe it.

Source: H. R. Künsch, Annals of Statistics 17 (1989) 1217-1241; B. Efron and R. J. Tibshirani, An Introduction
to the Bootstrap (1993), section 9.4 (residuals) and 8.6 (blocks).
"""

from dataclasses import dataclass

import numpy as np
from tqdm import tqdm

from labkit.analysis.characterise.fitting import refit
from labkit.analysis.characterise.modelfit import ModelFit
from labkit.errors import EntryError
from labkit.sweeps.sweep import Complexes, Floats
from labkit.words import bootstrap as words


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
        raise EntryError(words.RESAMPLES.format(given=resamples), str(resamples))
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
