"""The integral over the pair where Laplace's method is not enough: bent ridges, flat and twin summits.

ln A is integrated exactly (`Posterior.profile`). What remains is a plane, (ln B/A, atanh c): in nodes along
the coordinate that is known worst, and at each of them in nodes across, around the best value there. Nodes
are spaced like sinh: close at the summit, and far out in the tails; such sums converge very fast for smooth
densities that fall off at both ends. Steps are made smaller where the summit turns out sharper than its
curvature says, and larger where the ends are still high.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labkit.analysis.causes.posterior import LN_2_PI, Array, Posterior, Whole, climb

STRAIGHT = 0.08  # ln units by which a density may differ from a normal one at a spread and a half
FAR = 12.0  # ln units below the top at which a node no longer counts
ENDS = 7.0  # ln units below the top at which a sum may end
SHARP = 1.6  # second difference at the top; a normal density has the square of the step
TWIN_REACH = 12.0  # spreads between two summits up to which they share their nodes
TRIES = 5


@dataclass(frozen=True)
class Nodes:
    """Where to sum: nodes to each side, first step in spreads, growth of the steps."""

    each_side: int
    first: float
    growth: float

    @property
    def at(self) -> Array:
        """Of the nodes, in spreads."""
        j = np.arange(-self.each_side, self.each_side + 1)
        return np.asarray(self.first / self.growth * np.sinh(self.growth * j))

    @property
    def log_step(self) -> Array:
        """ln of the step at each node, in spreads."""
        j = np.arange(-self.each_side, self.each_side + 1)
        return np.asarray(np.log(self.first * np.cosh(self.growth * j)))


ALONG, TWINS, ACROSS = Nodes(12, 0.9, 0.25), Nodes(30, 0.5, 0.08), Nodes(9, 0.7, 0.2)


@dataclass(frozen=True)
class _Ridges:
    """Where to sum along coordinate `axis`: middle (3, K), slope of the other, spread, and limits (2, K)."""

    axis: int
    middle: Array
    slope: Array
    spread: Array
    limits: Array

    @property
    def other(self) -> int:
        return 3 - self.axis

    def take(self, rows: Whole) -> "_Ridges":
        """Some of them."""
        return _Ridges(
            self.axis, self.middle[:, rows], self.slope[rows], self.spread[rows], self.limits[:, rows]
        )


def refined(
    posterior: Posterior, log_evidence: Array, t: Array, G: Array, keys: Whole, within: float
) -> tuple[Whole, Array]:
    """Rows within reach of the best and their evidence, integrated anew where Laplace's is not enough.

    Two pairs of one combination (equal rows of `keys`) may be summits of one ridge: the higher one's integral
    then holds both, and the other one is left out.
    """
    rows = np.flatnonzero(log_evidence > log_evidence.max() - within)
    some, t, G, result = posterior.take(rows), t[:, rows], G[:, :, rows], log_evidence[rows]
    plane: Array = np.linalg.inv(G[:3, :3].transpose(2, 0, 1))[:, 1:, 1:].astype(np.float64)
    spread, axis = np.sqrt(np.diagonal(plane, axis1=1, axis2=2)).T, plane.diagonal(0, 1, 2).argmax(1) + 1
    slope, limits = plane[:, 0, 1] / spread**2, np.repeat([[-np.inf], [np.inf]], len(rows), 1)
    middle, bent = t.copy(), ~_is_straight(some, t, plane)
    left_out, shared = np.zeros(len(rows), dtype=bool), np.zeros(len(rows), dtype=bool)
    for one, other in _siblings(keys[rows], result):
        distance = np.abs(t[1:, one] - t[1:, other]) / np.maximum(spread[:, one], spread[:, other])
        at = int(distance.argmax()) + 1
        half = (t[:, one] + t[:, other]) / 2
        if distance.max() < TWIN_REACH and not shared[one]:
            axis[one], middle[:, one], shared[one], left_out[other] = at, half, True, True
            slope[at - 1, one] = (t[3 - at, other] - t[3 - at, one]) / (t[at, other] - t[at, one])
        else:
            for row in (one, other):
                axis[row] = at
                limits[int(t[at, row] < half[at]), row] = half[at]
        bent[[one, other]] = True
    plain = some.profile(t) + LN_2_PI + np.log(np.linalg.det(plane)) / 2
    for at in (1, 2):
        for nodes, kind in ((ALONG, ~shared), (TWINS, shared)):
            chosen = np.flatnonzero(bent & ~left_out & kind & (axis == at))
            if chosen.size:
                ridges = _Ridges(at, middle, slope[at - 1], spread[at - 1], limits).take(chosen)
                result[chosen] += _integral(some.take(chosen), ridges, nodes) - plain[chosen]
    return rows[~left_out], result[~left_out]


def _is_straight(posterior: Posterior, t: Array, plane: Array) -> NDArray[np.bool_]:
    """Whether ln density falls like a square from the summit, along both main axes of the plane."""
    sizes, axes = np.linalg.eigh(plane)
    moves = 1.5 * (axes * np.sqrt(np.maximum(sizes, 0))[:, None, :]).transpose(1, 2, 0)  # (2, axis, K)
    top, straight = posterior.profile(t), np.ones(t.shape[1], dtype=bool)
    for axis in range(2):
        off = []
        for sign in (1, -1):
            beside = t.copy()
            beside[1:] += sign * moves[:, axis]
            off.append(posterior.profile(beside) - top + 1.5**2 / 2)
        straight &= np.abs(np.mean(off, 0)) < STRAIGHT
        straight &= np.max(np.abs(off), 0) < 4 * STRAIGHT
    return straight


def _siblings(keys: Whole, log_evidence: Array) -> list[tuple[int, int]]:
    """Rows of one combination: the likeliest with each other one."""
    _, group, count = np.unique(keys, axis=0, return_inverse=True, return_counts=True)
    group = group.reshape(-1)
    found = []
    for several in np.flatnonzero(count > 1):
        members = np.flatnonzero(group == several)
        first, *more = members[np.argsort(-log_evidence[members])].tolist()
        found += [(first, other) for other in more]
    return found


def _integral(posterior: Posterior, ridges: _Ridges, nodes: Nodes) -> Array:
    """ln of the integral over the plane, shape (K,)."""
    K, N = ridges.spread.size, nodes.at.size
    result, pending = np.full(K, -np.inf), np.arange(K)
    middle, spread = ridges.middle.copy(), ridges.spread.copy()
    for attempt in range(TRIES):
        rows = np.tile(pending, N)
        going = posterior.take(rows)
        here = _Ridges(ridges.axis, middle, ridges.slope, spread, ridges.limits)
        t, width, height = _best_along(going, here.take(rows), np.repeat(nodes.at, pending.size))
        summand = (height + np.log(width)).reshape(N, -1) + nodes.log_step[:, None]
        top = np.clip(summand.argmax(0), 1, N - 2)
        here_, each = summand.max(0), np.arange(pending.size)
        with np.errstate(invalid="ignore"):  # beyond a limit there is nothing to compare
            curved = 2 * summand[top, each] - summand[top - 1, each] - summand[top + 1, each]
        curved = np.where(np.isfinite(curved), np.clip(curved, 0, 50), 0)
        sharp, open_ = curved > SHARP, np.maximum(summand[0], summand[-1]) > here_ - ENDS
        done = ~(sharp | open_) if attempt < TRIES - 1 else np.ones(pending.size, dtype=bool)
        if done.any():
            counts = np.flatnonzero((summand > here_ - FAR).ravel() & np.tile(done, N))
            across = _across(going.take(counts), t[:, counts], width[counts], ridges.other)
            total = np.full(N * pending.size, -np.inf)
            total[counts] = across + np.repeat(nodes.log_step, pending.size)[counts]
            finished = pending[done]
            result[finished] = np.logaddexp.reduce(total.reshape(N, -1)[:, done], 0) + np.log(
                spread[finished]
            )
        again = pending[~done]
        if not again.size:
            break
        middle[:, again] = t.reshape(3, N, -1)[:, top, each][:, ~done]
        spread[again] *= np.where(sharp, 1 / np.sqrt(np.maximum(curved, 1) * 2), 3.0)[~done]
        pending = again
    return result


def _best_along(posterior: Posterior, ridges: _Ridges, at: Array) -> tuple[Array, Array, Array]:
    """At each node of a ridge: the best pair (3, K), the spread across and the height there, shape (K,)."""
    axis, other = ridges.axis, ridges.other
    t = ridges.middle.copy()
    move = at * ridges.spread
    t[axis] += move
    t[other] += ridges.slope * move
    t, G = climb(posterior, t, (0, other), 8, 1e-3)
    width = 1 / np.sqrt(G[other, other] - G[0, other] ** 2 / G[0, 0])
    outside = (t[axis] < ridges.limits[0]) | (t[axis] > ridges.limits[1])
    return t, width, np.where(outside, -np.inf, posterior.profile(t))


def _across(posterior: Posterior, t: Array, width: Array, other: int) -> Array:
    """ln of the integral over the other coordinate around t, shape (K,)."""
    N = ACROSS.at.size
    rows = np.tile(np.arange(width.size), N)
    nodes = t[:, rows]
    nodes[other] += np.repeat(ACROSS.at, width.size) * width[rows]
    density = posterior.take(rows).profile(nodes).reshape(N, -1) + ACROSS.log_step[:, None]
    return np.asarray(np.logaddexp.reduce(density, 0) + np.log(width))
