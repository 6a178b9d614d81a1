"""Evidence of given cases by dense quadrature over the pair: slow, plain, and written apart from the ranking.

A case says of each reading what it is of. Given the pair, the logarithms of the readings are normal with a
covariance that the shared gains make non-diagonal; the pair has a normal prior in (ln A, ln B, atanh c). All
inductances grow alike with A, so that ln A is integrated by hand. Over the plane of the other two,
u = (ln B/A, atanh c), the integral is a trapezoidal sum: along the coordinate that is known worst, and at
each of its nodes across. Nodes lie in geometric progression to both sides of every summit, and those of all
summits are merged; so a summit that is sharper or flatter than its curvature says, a long tail and a second
summit are all met by the same nodes. Forms come from (L1, L2, B) of `labkit.theory.pair`, slopes by
differences.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from labkit.arrays import Floats
from labkit.theory.pair import STABLE_FORMS
from labkit.theory.wiring import Connection

Whole = NDArray[np.int64]
DIFFERENCE = 1e-5
SOFT_STARTS = np.array([(ratio, c) for ratio in (4.0, -1.5, -5.0, -9.0) for c in (-0.3, 0.3)])
NONE = np.zeros((0, 2))
STARTS = np.array(
    [(r, c) for r in (4.0, -1.0, -3.5, -6.0, -9.0, -13.0) for c in (-1.2, -0.4, -0.1, 0.1, 0.4, 1.2)]
)
FORMS = [name for name in STABLE_FORMS if name is not Connection.LEADS]
SOFT = 0.05  # in ln B/A, over which the weight of M changes
LOW = 20.0  # ln units below the highest at which a summit is left out


@dataclass(frozen=True)
class Density:
    """How dense the quadrature is: nodes to each side of a summit, nearest and farthest in spreads."""

    along: int = 40
    across: int = 30
    nearest: float = 0.02
    farthest: float = 30.0

    def nodes(self, each_side: int) -> Floats:
        """From a summit, in spreads."""
        beside = np.geomspace(self.nearest, self.farthest, each_side)
        return np.concatenate([-beside[::-1], [0.0], beside])


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
    mean: Floats,
    covariance: Floats,
    density: Density = Density(),
    within: float = np.inf,
    against_dots: float = 1.0,
) -> Floats:
    """ln of weight times probability density of the readings, one a case.

    Parameters
    ----------
    cases : of the same readings
    mean, covariance : of the pair's prior in (ln A, ln B, atanh c), shapes (3,) and (3, 3)
    density : of the quadrature
    within : cases whose rough evidence (as if normal around each summit) is further behind the best than
        this, in ln units, keep the rough value
    against_dots : weight of M < 0, which is B > A, against M > 0
    """
    problem = _Problem.of(cases, mean, covariance, against_dots)
    result = np.logaddexp.reduce(_summits(problem, NONE)[2], 1)
    close = np.flatnonzero(result > result.max() - within)
    if not close.size:
        return result
    summits, covariances, rough = _summits(problem.take(close), STARTS)
    for n, k in enumerate(close.tolist()):
        kept = np.isfinite(rough[n])
        result[k] = _quadrature(problem.take(np.array([k])), summits[n, kept], covariances[n, kept], density)
    return result


def log_inductances(t: Floats) -> Floats:
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
    """ln of prior times density of the readings for K cases, by whitened residuals, ln A integrated."""

    y: Floats  # (K, n)
    form: Whole  # (K, n)
    whiten: Floats  # (K, n, n)
    scale: Floats  # (K, 3 + n): how much the residuals fall with ln A
    constant: Floats  # (K,)
    mean: Floats
    whiten_prior: Floats
    against_dots: float

    @classmethod
    def of(cls, cases: Sequence[Case], mean: Floats, covariance: Floats, against_dots: float) -> "_Problem":
        terms = [case.terms for case in cases]
        y = np.array([[t.log_value for t in each] for each in terms])
        form = np.array([[FORMS.index(t.connection) if t.connection else 0 for t in e] for e in terms])
        whiten_prior = np.linalg.inv(np.linalg.cholesky(covariance))
        pairs = [_whitening(each) for each in terms]
        whiten = np.array([each for each, _ in pairs])
        alike = np.repeat(-(whiten_prior @ [1.0, 1.0, 0.0])[None], len(cases), 0)
        scale = np.concatenate([alike, whiten.sum(2)], 1)
        prior = np.log(np.diag(whiten_prior)).sum() - 1.5 * np.log(2 * np.pi)
        constant = np.array([c.log_weight + e for c, (_, e) in zip(cases, pairs, strict=True)]) + prior
        constant += (np.log(2 * np.pi) - np.log((scale**2).sum(1))) / 2
        return cls(y, form, whiten, scale, constant, mean, whiten_prior, against_dots)

    def take(self, rows: Whole) -> "_Problem":
        """Some of the cases, or some several times."""
        more = (self.mean, self.whiten_prior, self.against_dots)
        some = (part[rows] for part in (self.y, self.form, self.whiten, self.scale, self.constant))
        return _Problem(*some, *more)

    def softened(self, spread: float) -> "_Problem":
        """The same with whitened residuals made smaller, as if each reading were less certain by this."""
        size = np.maximum(np.abs(self.whiten).max(2, keepdims=True), 1e-12)
        whiten = self.whiten / np.hypot(1.0, size * spread)
        scale = np.concatenate([self.scale[:, :3], whiten.sum(2)], 1)
        return replace(self, whiten=whiten, scale=scale)

    def residuals(self, u: Floats) -> Floats:
        """At the best ln A: distances from prior and readings (K, N, 3 + n), for u of shape (K, N, 2)."""
        K, N, _ = u.shape
        t = np.concatenate([np.zeros((K, N, 1)), u], 2)
        values = log_inductances(t.reshape(-1, 3)).reshape(K, N, -1)
        off = self.y[:, None] - np.take_along_axis(values, np.repeat(self.form[:, None], N, 1), 2)
        r = np.concatenate([(t - self.mean) @ self.whiten_prior.T, off @ self.whiten.swapaxes(1, 2)], 2)
        best = (r @ self.scale[:, :, None]) / (self.scale**2).sum(1)[:, None, None]
        return np.asarray(r - best * self.scale[:, None])

    def log_density(self, u: Floats) -> Floats:
        """At N places a case, shape (K, N)."""
        negative = 1 / (1 + np.exp(-np.clip(u[..., 0] / SOFT, -50, 50)))
        dots = np.log(self.against_dots) * negative
        return np.asarray(self.constant[:, None] + dots - (self.residuals(u) ** 2).sum(2) / 2)

    def linear(self, u: Floats) -> tuple[Floats, Floats]:
        """Residuals (K, 3 + n) and their slopes (K, 3 + n, 2) at one place a case."""
        steps = DIFFERENCE * np.concatenate([np.zeros((1, 2)), np.eye(2), -np.eye(2)])
        r = self.residuals(u[:, None] + steps)
        return r[:, 0], ((r[:, 1:3] - r[:, 3:]) / (2 * DIFFERENCE)).swapaxes(1, 2)


def _whitening(terms: Sequence[Term]) -> tuple[Floats, float]:
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


def _climb(problem: _Problem, u: Floats, free: Sequence[int] = (0, 1), steps: int = 24) -> Floats:
    """The nearest maximum of each case over the free coordinates, by least squares.

    Two steps in a row may lead off a bent valley before the third has to be better than the best so far; else
    shorter ones are tried from there.
    """
    best, here, free = u.copy(), u.copy(), list(free)
    lowest = (problem.residuals(u[:, None])[:, 0] ** 2).sum(1)
    length, failed, rows = np.ones(len(u)), np.zeros(len(u), dtype=int), np.arange(len(u))
    for _ in range(steps):
        going = problem.take(rows)
        r, J = going.linear(here[rows])
        J = J[:, :, free]
        H = J.swapaxes(1, 2) @ J + 1e-9 * np.eye(len(free))
        step = np.zeros((len(rows), 2))
        step[:, free] = -np.linalg.solve(H, J.swapaxes(1, 2) @ r[:, :, None])[:, :, 0]
        step *= (length[rows] * np.minimum(1.0, 1.5 / np.maximum(np.abs(step).max(1), 1e-12)))[:, None]
        here[rows] += step
        gained = lowest[rows] - (going.residuals(here[rows, None])[:, 0] ** 2).sum(1)
        better, worse = gained > 0, gained <= 0
        best[rows[better]] = here[rows[better]]
        lowest[rows[better]] -= gained[better]
        failed[rows] = np.where(worse, failed[rows] + 1, 0)
        length[rows[better]] = 1.0
        back = rows[failed[rows] > 2]
        here[back], failed[back] = best[back], 0
        length[back] /= 4
        rows = rows[(worse & (length[rows] > 1e-2)) | (gained > 1e-6)]
        if not rows.size:
            break
    return best


def _summits(problem: _Problem, more: Floats) -> tuple[Floats, Floats, Floats]:
    """Summits (K, S, 2), their covariances (K, S, 2, 2), and ln evidence as if normal there, (K, S).

    A summit that several starts reach counts once: the others have ln evidence -inf.
    """
    K, few = len(problem.y), len(SOFT_STARTS)
    every = problem.take(np.repeat(np.arange(K), few))
    u = np.tile(SOFT_STARTS, (K, 1))
    for spread in (0.3, 0.03):
        u = _climb(every.softened(spread), u, steps=4)
    u = np.concatenate([u.reshape(K, few, 2), np.repeat(more[None], K, 0)], 1)
    S = u.shape[1]
    every = problem.take(np.repeat(np.arange(K), S))
    u = _climb(every, u.reshape(-1, 2))
    height = every.log_density(u[:, None])[:, 0].reshape(K, S)
    order = np.argsort(-height, 1)
    _, J = every.linear(u)
    covariance = np.linalg.inv(J.swapaxes(1, 2) @ J + 1e-12 * np.eye(2)).reshape(K, S, 2, 2)
    u, height = (
        np.take_along_axis(u.reshape(K, S, 2), order[:, :, None], 1),
        np.take_along_axis(height, order, 1),
    )
    covariance = np.take_along_axis(covariance, order[:, :, None, None], 1)
    rough = height + np.log(2 * np.pi) + np.log(np.linalg.det(covariance)) / 2
    rough[height < height[:, :1] - LOW] = -np.inf
    for i in range(S):
        for j in range(i):
            off = (u[:, i] - u[:, j])[:, :, None]
            near = (off.swapaxes(1, 2) @ np.linalg.solve(covariance[:, j], off))[:, 0, 0] < 0.3
            rough[near & np.isfinite(rough[:, j]), i] = -np.inf
    return u, covariance, rough


def _quadrature(problem: _Problem, summits: Floats, covariances: Floats, density: Density) -> float:
    """ln of the integral over the plane for one case, given its summits (S, 2)."""
    spread = np.sqrt(np.diagonal(covariances, axis1=1, axis2=2))
    axis = int(spread.max(0).argmax())
    other = 1 - axis
    along = (summits[:, axis, None] + spread[:, axis, None] * density.nodes(density.along)).ravel()
    along = np.unique(along[np.abs(along) < 40])
    lines = np.repeat(along[:, None], len(summits), 1)  # (N, S): each node looked at from each summit
    u = np.empty((*lines.shape, 2))
    u[..., axis] = lines
    u[..., other] = summits[:, other] + (lines - summits[:, axis]) * (
        covariances[:, 0, 1] / covariances[:, axis, axis]
    )
    u = _climb(problem.take(np.zeros(u[..., 0].size, dtype=int)), u.reshape(-1, 2), (other,), 10)
    _, J = problem.take(np.zeros(len(u), dtype=int)).linear(u)
    width = 1 / np.sqrt((J[:, :, other] ** 2).sum(1) + 1e-12)
    across = u[:, other, None] + width[:, None] * density.nodes(density.across)
    across = np.sort(across.reshape(len(along), -1), 1)
    places = np.empty((*across.shape, 2))
    places[..., other], places[..., axis] = across, along[:, None]
    heights = problem.log_density(places.reshape(1, -1, 2)).reshape(across.shape)
    return _log_trapezoid(_log_trapezoid(heights, across), along)


def _log_trapezoid(heights: Floats, at: Floats) -> Floats:
    """ln of the trapezoidal sum of exp(heights) over the last axis."""
    weight = np.zeros_like(at)
    steps = np.diff(at, axis=-1) / 2
    weight[..., :-1] += steps
    weight[..., 1:] += steps
    top = heights.max(-1, keepdims=True)
    total = (np.exp(heights - top) * weight).sum(-1)
    return np.asarray(top[..., 0] + np.log(np.maximum(total, 1e-300)))
