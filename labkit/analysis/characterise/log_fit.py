"""What fits of one model and of a whole choke have in common: logarithms of parameters, and a verdict.

Symbols: P parameters.
"""

from abc import ABC, abstractmethod
from collections.abc import Collection

import numpy as np

from labkit.sweeps.sweep import Floats

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
