"""Least squares of complex residuals in logarithms of parameters, with exact slopes.

Levenberg and Marquardt's method on the scaled normal equations, damping after Nielsen. A few parameters and
thousands of points: one product of slopes with themselves costs less than a factorisation of them.

Source: K. Madsen, H. B. Nielsen, O. Tingleff, Methods for Non-Linear Least Squares Problems (2004), 3.2.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.linalg.lapack import dposv

Floats = npt.NDArray[np.float64]
Complexes = npt.NDArray[np.complex128]
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
