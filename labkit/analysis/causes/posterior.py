"""The pair given many combinations at once: best value, curvature, and the integral over it.

For combination k the logarithm of prior times density of the readings at the pair t is

    constant_k - (off' W off + (t - mean)' P (t - mean)) / 2 + ln(weight of the sign of M),

off = y - ln f(t). Laplace's method integrates it around its best; where a coordinate is known badly the
density is a bent ridge, and the integral is a sum of Laplace's along the ridge.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labkit.analysis.causes.forms import log_forms
from labkit.analysis.causes.prior import Prior

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

ROUNDS = 30
WIDE = 0.02  # spread of a coordinate beyond which ln f is no longer straight
STEP, FAR, MOST = 0.7, 12.0, 25  # along a ridge: in spreads, ln units below the top, steps to each side
AXES = np.arange(3)


@dataclass(frozen=True)
class Option:
    """One alternative of one reading in numbers: ln of the display, weight, what it follows from."""

    log_value: float
    log_weight: float
    form: int  # index in CONNECTIONS, -1 if it does not depend on the pair
    gain: float
    rest: float
    range: int
    fixed: float  # log density where form is -1


@dataclass(frozen=True)
class Posterior:
    """K combinations of n readings: `y`, `form`, `active` (K, n), `W` (K, n, n), `constant` (K,)."""

    y: Array
    form: Whole
    active: NDArray[np.bool_]
    W: Array
    constant: Array
    prior: Prior

    @classmethod
    def of(cls, options: Sequence[Sequence[Option]], choice: Whole, prior: Prior) -> "Posterior":
        """From the options of each reading and which of them each combination takes, shape (K, n)."""

        def pick(name: str) -> Array:
            known = [np.array([getattr(o, name) for o in column], dtype=np.float64) for column in options]
            return np.stack([values[choice[:, i]] for i, values in enumerate(known)], 1)

        form = pick("form").astype(np.int64)
        active = form >= 0
        gain, rest, place = pick("gain"), pick("rest"), pick("range")
        same = (place[:, :, None] == place[:, None, :]) & active[:, :, None] & active[:, None, :]
        V = gain[:, :, None] * gain[:, None, :] * same
        diagonal = np.arange(choice.shape[1])
        V[:, diagonal, diagonal] += np.where(active, rest * rest, 1.0)
        constant = pick("log_weight").sum(1) + np.where(active, 0.0, pick("fixed")).sum(1) + prior.log_peak
        constant -= 0.5 * np.linalg.slogdet(V)[1] + 0.5 * np.log(2 * np.pi) * active.sum(1)
        return cls(pick("log_value"), np.where(active, form, 0), active, np.linalg.inv(V), constant, prior)

    def take(self, rows: Whole) -> "Posterior":
        """Some of the combinations."""
        parts = (self.y, self.form, self.active, self.W, self.constant)
        return Posterior(*(part[rows] for part in parts), self.prior)  # type: ignore[call-arg,arg-type]

    def off(self, t: Array) -> tuple[Array, Array]:
        """Readings minus what t makes of them (K, n), and the slopes of the latter (K, n, 3)."""
        values, slopes = log_forms(t)
        rows = np.arange(len(t))[:, None]
        off = np.where(self.active, self.y - values[rows, self.form], 0.0)
        return off, slopes[rows, self.form] * self.active[:, :, None]

    def misfit(self, off: Array, t: Array) -> Array:
        """The squares that the best pair makes least, shape (K,)."""
        from_mean = t - self.prior.mean
        readings = np.einsum("ki,kij,kj->k", off, self.W, off)
        return np.asarray(readings + np.einsum("ki,ij,kj->k", from_mean, self.prior.precision, from_mean))

    def log_density(self, off: Array, t: Array) -> Array:
        """ln of prior times density of the readings, shape (K,)."""
        return np.asarray(self.constant - self.misfit(off, t) / 2 + self.prior.log_dots(t))

    def curvature(self, off: Array, J: Array, t: Array) -> tuple[Array, Array]:
        """Of half the misfit (K, 3, 3), and the way downhill (K, 3)."""
        JW = np.einsum("kip,kij->kpj", J, self.W)
        H = JW @ J + self.prior.precision
        return H, np.einsum("kpj,kj->kp", JW, off) - (t - self.prior.mean) @ self.prior.precision


def climb(posterior: Posterior, start: Array, free: Whole = AXES, rounds: int = ROUNDS) -> Array:
    """The best pair of each combination over the free coordinates, by damped least squares.

    Combinations that have settled rest.
    """
    t, damping, rows = start.copy(), np.full(len(start), 1e-4), np.arange(len(start))
    off, J = posterior.off(t)
    misfit, inner = posterior.misfit(off, t), np.arange(len(free))
    for _ in range(rounds):
        going = posterior if rows.size == len(t) else posterior.take(rows)
        H, downhill = going.curvature(off, J, t[rows])
        H = H[:, free][:, :, free]
        H[:, inner, inner] *= 1 + damping[rows, None]
        step = np.zeros((rows.size, 3))
        step[:, free] = np.linalg.solve(H, downhill[:, free, None])[:, :, 0]
        step *= np.minimum(1.0, 2.0 / np.maximum(np.abs(step).max(1), 1e-12))[:, None]
        new_off, new_J = going.off(t[rows] + step)
        new = going.misfit(new_off, t[rows] + step)
        gained = misfit[rows] - new
        better = gained >= 0
        t[rows[better]] += step[better]
        misfit[rows[better]] = new[better]
        off[better], J[better] = new_off[better], new_J[better]
        damping[rows] *= np.where(better, 0.1, 10.0)
        on = np.where(better, (gained > 1e-6) | (damping[rows] > 1e-2), damping[rows] < 1e8)
        rows, off, J = rows[on], off[on], J[on]
        if not rows.size:
            break
    return t


def laplace(posterior: Posterior, t: Array, free: Whole = AXES) -> tuple[Array, Array]:
    """ln of the integral over the free coordinates around t (K,), and the whole curvature there (K, 3, 3)."""
    off, J = posterior.off(t)
    H, _ = posterior.curvature(off, J, t)
    volume = len(free) / 2 * np.log(2 * np.pi) - 0.5 * np.linalg.slogdet(H[:, free][:, :, free])[1]
    return posterior.log_density(off, t) + volume, H


def refine(posterior: Posterior, log_evidence: Array, t: Array, H: Array, within: float) -> Array:
    """The evidence once more, along the ridge wherever a coordinate is known badly and it could matter."""
    spread = np.sqrt(np.diagonal(np.linalg.inv(H), axis1=1, axis2=2))
    worst, refined = spread.argmax(1), log_evidence.copy()
    bent = (spread.max(1) > WIDE) & (log_evidence > log_evidence.max() - within)
    for axis in AXES:
        rows = np.flatnonzero(bent & (worst == axis))
        if rows.size:
            refined[rows] = _along_ridge(posterior.take(rows), t[rows], spread[rows, axis], int(axis))
    return refined


def _along_ridge(posterior: Posterior, best: Array, spread: Array, axis: int) -> Array:
    """Sum along one coordinate of Laplace's integrals over the other two at their own best."""
    free = AXES[axis != AXES]
    heights = [laplace(posterior, best, free)[0]]
    for direction in (STEP, -STEP):
        before = t = best
        for _ in range(MOST):
            guess = 2 * t - before
            guess[:, axis] = t[:, axis] + direction * spread
            before, t = t, climb(posterior, guess, free, 8)
            heights.append(laplace(posterior, t, free)[0])
            if (heights[-1] < np.max(heights, 0) - FAR).all():
                break
    top = np.max(heights, 0)
    return np.asarray(top + np.log(np.exp(heights - top).sum(0) * STEP * spread))
