"""Evidence of given cases by dense quadrature over the pair: slow, plain, and written apart from the ranking.

A case says of each reading what it is of. Given the pair, the logarithms of the readings are normal with a
covariance that the shared gains make non-diagonal; the pair has a normal prior in (ln A, ln B, atanh c).
The integral over the pair is a trapezoidal sum on a grid of `points`³ nodes that reaches `REACH` spreads around
the best pair. For smooth densities that fall off at the edges such a sum converges faster than any power of the
step, so it has no share in the approximation (Laplace's) that it is there to judge. Forms come from (L1, L2, B)
of `labkit.theory.pair`, slopes by differences.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labkit.theory.pair import STABLE_FORMS
from labkit.theory.wiring import Connection

Array = NDArray[np.float64]
REACH = 7.0
STEP = 1e-5
STARTS = (-0.5, -2.5, -6.0, -9.0)  # ln B/A from loose to tight
FORMS = [name for name in STABLE_FORMS if name is not Connection.LEADS]


@dataclass(frozen=True)
class Term:
    """What one reading is taken to be: ln of the display (H), what of, and its relative uncertainties."""

    log_value: float
    connection: Connection | None  # None: does not depend on the pair, and `log_density` holds instead
    gain: float = 0.0
    rest: float = 1.0
    range: str = ""
    log_density: float = 0.0


@dataclass(frozen=True)
class Case:
    """One combination: a term for each reading, and ln of its weight before the data."""

    terms: tuple[Term, ...]
    log_weight: float


def log_evidence(
    cases: Sequence[Case], mean: Array, covariance: Array, points: int = 25, within: float = np.inf
) -> Array:
    """ln of weight times probability density of the readings, one a case.

    Parameters
    ----------
    cases : of the same readings
    mean, covariance : of the pair's prior in (ln A, ln B, atanh c), shapes (3,) and (3, 3)
    points : of the grid along each axis
    within : cases whose peak is further behind the highest than this (ln units, spread of the peak included)
        get their peak instead of an integral
    """
    posterior = _Posterior(cases, mean, covariance)
    best = _highest(posterior, [_climb(posterior, mean, start) for start in STARTS])
    H = _squares(posterior.slopes(best))
    sizes, axes = np.linalg.eigh(H)
    axes = axes / np.sqrt(sizes)[:, None, :]
    rough = posterior(best) - 0.5 * np.log(sizes).sum(1) + 1.5 * np.log(2 * np.pi)
    result = rough.copy()
    z = np.linspace(-REACH, REACH, points)
    grid = np.stack(np.meshgrid(z, z, z, indexing="ij"), -1).reshape(-1, 3)
    for k in np.flatnonzero(rough > rough.max() - within):
        values = posterior.one(k, best[k] + grid @ axes[k].T)
        top = values.max()
        cell = float(z[1] - z[0]) ** 3 * abs(np.linalg.det(axes[k]))
        result[k] = top + np.log(np.exp(values - top).sum() * cell)
    return result


def log_inductances(t: Array) -> Array:
    """ln of what each connection of `FORMS` reads (H), at pairs t of shape (N, 3); shape (N, 8)."""
    A, B, c = np.exp(t[:, 0]), np.exp(t[:, 1]), np.tanh(t[:, 2])
    m, d = (A + B) / 4, c * np.sqrt(A * B)
    L1, L2 = m + d / 2, m - d / 2
    values = np.stack([np.broadcast_to(STABLE_FORMS[name](L1, L2, B), len(t)) for name in FORMS], 1)
    return np.asarray(np.log(np.maximum(values, 1e-300)))


class _Posterior:
    """ln of prior times density of the readings for K cases, and the residuals it is made of."""

    def __init__(self, cases: Sequence[Case], mean: Array, covariance: Array) -> None:
        terms = [case.terms for case in cases]
        self.rows = np.arange(len(cases))
        self.y = np.array([[t.log_value for t in each] for each in terms])
        self.form = np.array([[FORMS.index(t.connection) if t.connection else 0 for t in e] for e in terms])
        self.mean, self.whiten_prior = mean, np.linalg.inv(np.linalg.cholesky(covariance))
        pairs = [_whitening(each) for each in terms]
        self.whiten = np.array([whiten for whiten, _ in pairs])
        prior = np.log(np.diag(self.whiten_prior)).sum() - 1.5 * np.log(2 * np.pi)
        self.constant = np.array([c.log_weight + e for c, (_, e) in zip(cases, pairs, strict=True)]) + prior

    def residuals(self, t: Array) -> Array:
        """Whitened distances from the prior mean and the readings, shape (K, 3 + n), for t of shape (K, 3)."""
        off = self.y - log_inductances(t)[self.rows[:, None], self.form]
        return np.hstack([(t - self.mean) @ self.whiten_prior.T, np.einsum("kij,kj->ki", self.whiten, off)])

    def slopes(self, t: Array) -> Array:
        """Slopes of the residuals with t by differences, shape (K, 3 + n, 3)."""
        steps = STEP * np.eye(3)
        return np.stack([(self.residuals(t + s) - self.residuals(t - s)) / (2 * STEP) for s in steps], -1)

    def __call__(self, t: Array) -> Array:
        return np.asarray(self.constant - (self.residuals(t) ** 2).sum(1) / 2)

    def one(self, k: int, t: Array) -> Array:
        """Values of case k at many pairs t of shape (N, 3)."""
        off = (self.y[k] - log_inductances(t)[:, self.form[k]]) @ self.whiten[k].T
        prior = (t - self.mean) @ self.whiten_prior.T
        return np.asarray(self.constant[k] - ((off**2).sum(1) + (prior**2).sum(1)) / 2)


def _whitening(terms: Sequence[Term]) -> tuple[Array, float]:
    """Matrix that makes a case's residuals independent with spread 1, and what it adds to ln density."""
    active = np.array([t.connection is not None for t in terms])
    gain, rest = (np.array([getattr(t, name) for t in terms]) for name in ("gain", "rest"))
    same = np.array([[a.range == b.range for b in terms] for a in terms])
    V = (np.outer(gain, gain) * same + np.diag(rest**2))[np.ix_(active, active)]
    whiten = np.zeros((len(terms), len(terms)))
    inverse = np.linalg.inv(np.linalg.cholesky(V)) if active.any() else V
    whiten[np.ix_(active, active)] = inverse
    constant = np.log(np.diag(inverse)).sum() - active.sum() / 2 * np.log(2 * np.pi)
    return whiten, float(constant + sum(t.log_density for t in terms if t.connection is None))


def _highest(posterior: _Posterior, found: Sequence[Array]) -> Array:
    best = np.argmax([posterior(t) for t in found], axis=0)
    return np.stack(found)[best, posterior.rows]


def _squares(J: Array) -> Array:
    return np.asarray(np.einsum("kri,krj->kij", J, J))


def _climb(posterior: _Posterior, mean: Array, ratio: float) -> Array:
    """The nearest maximum of each case from ln B/A = ratio, by damped least squares."""
    t = np.tile([mean[0], mean[0] + ratio, 0.0], (len(posterior.rows), 1))
    damping = np.full(len(t), 1e-3)
    square = (posterior.residuals(t) ** 2).sum(1)
    for _ in range(40):
        J, r = posterior.slopes(t), posterior.residuals(t)
        H = _squares(J)
        H[:, range(3), range(3)] *= 1 + damping[:, None]
        step = -np.linalg.solve(H, np.einsum("kri,kr->ki", J, r)[:, :, None])[:, :, 0]
        step *= np.minimum(1.0, 2.0 / np.maximum(np.abs(step).max(1), 1e-12))[:, None]
        tried = (posterior.residuals(t + step) ** 2).sum(1)
        better = tried < square
        t = np.where(better[:, None], t + step, t)
        settled = np.where(better, square - tried, 0) < 1e-10
        square, damping = np.where(better, tried, square), np.where(better, damping / 10, damping * 10)
        if settled.all() and (better | (damping > 1e4)).all():
            break
    return t
