"""Evidence of given cases by dense quadrature over the pair: slow, plain, and written apart from the ranking.

A case says of each reading what it is of. Given the pair, the logarithms of the readings are normal with a
covariance that the shared gains make non-diagonal; the pair has a normal prior in (ln A, ln B, atanh c).
The integral over the pair is a trapezoidal sum: in even steps along the coordinate that is known worst, and
at each step over the other two around their own best values there, so that bent ridges are followed. For
smooth densities that fall off at the edges such sums converge faster than any power of the step.
Forms come from (L1, L2, B) of `labkit.theory.pair`, slopes by differences.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labkit.theory.pair import STABLE_FORMS
from labkit.theory.wiring import Connection

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
DIFFERENCE = 1e-5
STARTS = tuple((ratio, c) for ratio in (4.0, -1.0, -4.5, -8.0) for c in (-0.4, 0.4))  # ln B/A and atanh c
FORMS = [name for name in STABLE_FORMS if name is not Connection.LEADS]
SOFT = 0.05  # in ln B/A, over which the weight of M changes
FAR = 20.0  # ln units below the best at which a ridge ends


@dataclass(frozen=True)
class Density:
    """How dense the quadrature is, in spreads: steps along the ridge, and steps and reach across it."""

    along: float = 0.4
    across: float = 1.0
    reach: float = 6.0
    most: int = 60  # steps to each side


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
    cases: Sequence[Case],
    mean: Array,
    covariance: Array,
    density: Density = Density(),
    within: float = np.inf,
    against_dots: float = 1.0,
) -> Array:
    """ln of weight times probability density of the readings, one a case.

    Parameters
    ----------
    cases : of the same readings
    mean, covariance : of the pair's prior in (ln A, ln B, atanh c), shapes (3,) and (3, 3)
    density : of the quadrature
    within : cases whose rough evidence (peak and spread) is further behind the best than this, in ln units,
        keep the rough value
    against_dots : weight of M < 0, which is B > A, against M > 0
    """
    problem = _Problem.of(cases, mean, covariance, against_dots)
    starts = np.array([[mean[0], mean[0] + ratio, c] for ratio, c in STARTS])
    rows = np.repeat(np.arange(len(cases)), len(starts))
    climbed = _climb(problem.take(rows), np.tile(starts, (len(cases), 1)), np.eye(3, dtype=bool).any(0), 40)
    heights = problem.take(rows).log_density(climbed).reshape(len(cases), -1)
    best = climbed.reshape(len(cases), -1, 3)[np.arange(len(cases)), heights.argmax(1)]
    result, spread = _rough(problem, best)
    close = np.flatnonzero(result > result.max() - within)
    for axis in range(3):
        chosen = close[spread[close].argmax(1) == axis]
        if len(chosen):
            found = _along_ridge(problem.take(chosen), best[chosen], spread[chosen, axis], axis, density)
            result[chosen] = found
    return result


def log_inductances(t: Array) -> Array:
    """ln of what each connection of `FORMS` reads (H), at pairs t of shape (N, 3); shape (N, 8)."""
    t = np.clip(t, -30.0, 30.0)  # a quadrature never gets there; a climb may try to
    A, B, c = np.exp(t[:, 0]), np.exp(t[:, 1]), np.tanh(np.clip(t[:, 2], -15, 15))
    m, d = (A + B) / 4, c * np.sqrt(A * B)
    L1, L2 = m + d / 2, m - d / 2
    values = np.empty((len(t), len(FORMS)))
    for i, name in enumerate(FORMS):
        values[:, i] = STABLE_FORMS[name](L1, L2, B)
    return np.asarray(np.log(np.maximum(values, 1e-300)))


@dataclass(frozen=True)
class _Problem:
    """ln of prior times density of the readings for K cases, by whitened residuals."""

    y: Array  # (K, n)
    form: Whole  # (K, n)
    whiten: Array  # (K, n, n)
    constant: Array  # (K,)
    mean: Array
    whiten_prior: Array
    against_dots: float

    @classmethod
    def of(cls, cases: Sequence[Case], mean: Array, covariance: Array, against_dots: float) -> "_Problem":
        terms = [case.terms for case in cases]
        y = np.array([[t.log_value for t in each] for each in terms])
        form = np.array([[FORMS.index(t.connection) if t.connection else 0 for t in e] for e in terms])
        whiten_prior = np.linalg.inv(np.linalg.cholesky(covariance))
        pairs = [_whitening(each) for each in terms]
        prior = np.log(np.diag(whiten_prior)).sum() - 1.5 * np.log(2 * np.pi)
        constant = np.array([c.log_weight + e for c, (_, e) in zip(cases, pairs, strict=True)]) + prior
        return cls(
            y, form, np.array([whiten for whiten, _ in pairs]), constant, mean, whiten_prior, against_dots
        )

    def take(self, rows: Whole) -> "_Problem":
        """Some of the cases, or some several times."""
        more = (self.mean, self.whiten_prior, self.against_dots)
        return _Problem(self.y[rows], self.form[rows], self.whiten[rows], self.constant[rows], *more)

    def residuals(self, t: Array) -> Array:
        """Distances from the prior mean and the readings, shape (K, N, 3 + n), for t of shape (K, N, 3)."""
        K, N, _ = t.shape
        values = log_inductances(t.reshape(-1, 3)).reshape(K, N, -1)
        off = self.y[:, None] - np.take_along_axis(values, np.repeat(self.form[:, None], N, 1), 2)
        return np.concatenate([(t - self.mean) @ self.whiten_prior.T, off @ self.whiten.swapaxes(1, 2)], 2)

    def log_density(self, t: Array) -> Array:
        """At one pair a case, shape (K, 3)."""
        return self.log_densities(t[:, None])[:, 0]

    def log_densities(self, t: Array) -> Array:
        """At N pairs a case, shape (K, N, 3)."""
        negative = 1 / (1 + np.exp(-np.clip((t[..., 1] - t[..., 0]) / SOFT, -50, 50)))
        dots = np.log(self.against_dots) * negative
        return np.asarray(self.constant[:, None] + dots - (self.residuals(t) ** 2).sum(2) / 2)

    def linear(self, t: Array) -> tuple[Array, Array]:
        """Residuals (K, 3 + n) and their slopes (K, 3 + n, 3) at one pair a case."""
        steps = DIFFERENCE * np.concatenate([np.zeros((1, 3)), np.eye(3), -np.eye(3)])
        r = self.residuals(t[:, None] + steps)
        return r[:, 0], ((r[:, 1:4] - r[:, 4:]) / (2 * DIFFERENCE)).swapaxes(1, 2)


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


def _climb(problem: _Problem, t: Array, free: NDArray[np.bool_], steps: int) -> Array:
    """The nearest maximum of each case over the free coordinates, by damped least squares."""
    t, damping, rows = t.copy(), np.full(len(t), 1e-3), np.arange(len(t))
    square = (problem.residuals(t[:, None])[:, 0] ** 2).sum(1)
    for _ in range(steps):
        going = problem.take(rows)
        r, J = going.linear(t[rows])
        J = J[:, :, free]
        H = J.swapaxes(1, 2) @ J
        H[:, range(free.sum()), range(free.sum())] *= 1 + damping[rows, None]
        step = np.zeros((len(rows), 3))
        step[:, free] = -np.linalg.solve(H, J.swapaxes(1, 2) @ r[:, :, None])[:, :, 0]
        step *= np.minimum(1.0, 2.0 / np.maximum(np.abs(step).max(1), 1e-12))[:, None]
        tried = (going.residuals((t[rows] + step)[:, None])[:, 0] ** 2).sum(1)
        gained = square[rows] - tried
        better = gained > 0
        t[rows[better]] += step[better]
        square[rows[better]] = tried[better]
        damping[rows] *= np.where(better, 0.1, 10.0)
        rows = rows[np.where(better, (gained > 1e-7) | (damping[rows] > 1e-2), damping[rows] < 1e8)]
        if not rows.size:
            break
    return t


def _rough(problem: _Problem, t: Array) -> tuple[Array, Array]:
    """Evidence as if the density were normal, and the spread of each coordinate, shape (K, 3)."""
    _, J = problem.linear(t)
    H = J.swapaxes(1, 2) @ J
    spread = np.sqrt(np.diagonal(np.linalg.inv(H), axis1=1, axis2=2))
    return problem.log_density(t) - np.linalg.slogdet(H)[1] / 2 + 1.5 * np.log(2 * np.pi), spread


def _along_ridge(problem: _Problem, best: Array, spread: Array, axis: int, density: Density) -> Array:
    """ln of the integral over one coordinate of the integral over the other two."""
    free = np.arange(3) != axis
    steps = [_across(problem, best, free, density)]
    for direction in (1.0, -1.0):
        t, before = best, best
        for _ in range(density.most):
            guess = 2 * t - before  # go on straight
            guess[:, axis] = t[:, axis] + direction * density.along * spread
            before, t = t, _climb(problem, guess, free, 12)
            steps.append(_across(problem, t, free, density))
            if (steps[-1] < np.max(steps, 0) - FAR).all():
                break
    heights = np.array(steps)
    top = heights.max(0)
    return np.asarray(top + np.log(np.exp(heights - top).sum(0) * density.along * spread))


def _across(problem: _Problem, t: Array, free: NDArray[np.bool_], density: Density) -> Array:
    """ln of the integral over the free coordinates around t, shape (K,)."""
    _, J = problem.linear(t)
    J = J[:, :, free]
    sizes, axes = np.linalg.eigh(J.swapaxes(1, 2) @ J)
    axes = axes / np.sqrt(np.maximum(sizes, 0.02))[:, None, :]  # the prior alone holds it closer than that
    z = np.arange(-density.reach, density.reach + density.across / 2, density.across)
    grid = np.stack(np.meshgrid(z, z, indexing="ij"), -1).reshape(-1, 2)
    nodes = np.repeat(t[:, None], len(grid), 1)
    nodes[:, :, free] += grid @ axes.swapaxes(1, 2)
    values = problem.log_densities(nodes)
    top = values.max(1)
    cell = density.across**2 * np.abs(np.linalg.det(axes))
    return np.asarray(top + np.log(np.exp(values - top[:, None]).sum(1) * cell))
