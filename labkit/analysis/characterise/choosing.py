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
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from labkit.analysis.characterise.fitting import fit_model
from labkit.analysis.characterise.modelfit import ModelFit, bands_in_words, near
from labkit.analysis.characterise.starts import scatter
from labkit.errors import MissingReading
from labkit.sweeps.sweep import Impedance
from labkit.theory.models import MODELS, Model
from labkit.words import choosing as words

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
