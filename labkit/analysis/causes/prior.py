"""What is assumed about a pair before any reading: broad, proper, and by the declared family.

Normal in (ln A, ln B/A, atanh c): ln A around 10 mH within a factor of 20 (one standard deviation), so
that any inductance from nanohenry to henry is possible; ln B/A by family; atanh c from equal to very
unequal windings. Dots are marked so that M > 0: a pair on one core with M < 0 contradicts its marks, and
counts `AGAINST_DOTS` times as much. That the marks are wrong is a cause of its own.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FAMILIES = {
    "same core": (-4.5, 2.5),  # k mostly from 0.6 to 0.9999
    "movable": (-1.0, 1.0),
    "separate": (0.0, 0.05),  # k of a few hundredths at most
}
"""Mean and standard deviation of ln B/A."""

AGAINST_DOTS = 1e-4
SOFT = 0.05
"""Width in ln B/A over which M changes sign for the weight; k is then a few hundredths."""


@dataclass(frozen=True)
class Prior:
    """A normal distribution of t = (ln A, ln B, atanh c), mean (3,) and precision (3, 3), less at M < 0."""

    mean: Array
    precision: Array
    against_dots: float = 1.0

    @property
    def log_peak(self) -> float:
        """Logarithm of the density at the mean."""
        return float(0.5 * np.linalg.slogdet(self.precision)[1] - 1.5 * np.log(2 * np.pi))

    def log_dots(self, t: Array) -> Array:
        """ln of the weight for the sign of M, at pairs t of shape (..., 3)."""
        return self.log_sign(t[..., 1] - t[..., 0])

    def log_sign(self, ratio: Array) -> Array:
        """The same from ln B/A, of any shape."""
        negative = 1 / (1 + np.exp(-np.clip(ratio / SOFT, -50, 50)))
        return np.asarray(np.log(self.against_dots) * negative)


def prior_of(family: str) -> Prior:
    """The prior of a family: "same core", "movable" or "separate"."""
    centre, width = FAMILIES[family]
    ln_A = np.log(10e-3)
    to_t = np.array([[1.0, 0, 0], [1.0, 1.0, 0], [0, 0, 1.0]])  # (ln A, ln B/A, atanh c) to t
    covariance = to_t @ np.diag(np.square([3.0, width, 0.7])) @ to_t.T
    against = 1.0 if family == "separate" else AGAINST_DOTS
    return Prior(np.array([ln_A, ln_A + centre, 0.0]), np.linalg.inv(covariance), against)
