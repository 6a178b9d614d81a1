"""Which combinations of causes matter: they grow reading by reading, as branches that are bounded.

A narrow beam first finds combinations that explain all readings; what the best of them reaches is sure. Then
all combinations grow once more, and one is given up as soon as even the kindest outcome of the readings
that follow (every display met exactly, by the narrowest alternative) could not bring it within `MATTERS` of
what is sure.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from labkit.analysis.causes.hypotheses import Alternative, Spread
from labkit.analysis.causes.likelihood import (
    CONNECTIONS,
    INDEX,
    LN_2_PI,
    NOTHING,
    TO_PAIR,
    Column,
    Option,
    Posterior,
    Prior,
    Whole,
    approach,
    climb,
    form_table,
    from_pair,
    laplace,
)
from labkit.arrays import Floats
from labkit.theory.wiring import Connection

# Other pairs that explain the same readings: parallel and short-circuit readings allow two at a time.
#
# c enters P+ and P- as c², so that three readings with one of them among them are met by two pairs, for
# example d = B ± 2 √(B (L2 - P+)) for L2, B and P+. Both are followed until further readings decide.

POLAR = [i for i, c in enumerate(CONNECTIONS) if c.name.startswith(("SERIES", "PARALLEL"))]
SIGNED = [i for i, c in enumerate(CONNECTIONS) if c.name.startswith(("SELF", "SHORT"))]
CURVED = [i for i, c in enumerate(CONNECTIONS) if c.name.startswith(("PARALLEL", "SHORT"))]
BIT = np.array([*(1 << i for i in range(NOTHING)), 0])
"""One bit a connection, to count how many different ones were read."""

APART = 1.0  # squared distance, in spreads, from which two pairs count as two


def starts(posterior: Posterior, t: Floats, n: int) -> tuple[Whole, Floats]:
    """Where to climb from: the pair so far; where reading n is the first to know, its mirror images too.

    Exchanging A and B is the coupling the other way, -c exchanges the windings. Returned are the combination
    of each start, and the starts (3, S); the first K are the pairs so far.
    """
    rows, pairs = [np.arange(t.shape[1])], [t]
    for forms, mirror in ((POLAR, reversed_coupling(t)), (SIGNED, t * np.array([[1.0], [1.0], [-1.0]]))):
        knows = np.isin(posterior.form, forms)
        some = np.flatnonzero(knows[n] & ~knows[:n].any(0))
        rows.append(some)
        pairs.append(mirror[:, some])
    return np.concatenate(rows), np.hstack(pairs)


def reversed_coupling(t: Floats) -> Floats:
    """The pair with A and B exchanged."""
    return np.array([t[0] + t[1], -t[1], t[2]])


def two_fold(posterior: Posterior, n: int) -> Whole:
    """Combinations that reading n completes to three or four kinds, which two pairs may meet."""
    kinds = np.bitwise_or.reduce(BIT[posterior.form], 0)
    before = np.bitwise_or.reduce(BIT[posterior.form[:n]], 0, initial=0)
    count = np.bitwise_count(kinds)
    few = (count == 3) | (count == 4)
    return np.flatnonzero(few & (kinds != before) & (kinds & BIT[CURVED].sum() > 0))


def others(
    posterior: Posterior, t: Floats, G: Floats, rounds: int, least: float
) -> tuple[Whole, Floats, Floats, Floats]:
    """Further pairs of combinations with pair t: combination, pair (3, S), `normal` and ln evidence there."""
    images = mirrored(t)
    rows = np.tile(np.arange(t.shape[1]), len(images))
    everything = posterior.take(rows)
    found, N = climb(everything, np.hstack(images), rounds=rounds, settled=1e-3, least=least)
    log_evidence = laplace(everything, found, N)
    away = _squared(found - t[:, rows], G[:3, :3, rows]) > APART
    kept = np.flatnonzero(away & (log_evidence > least))
    return rows[kept], found[:, kept], N[:, :, kept], log_evidence[kept]


def _squared(off: Floats, H: Floats) -> Floats:
    """Squared distance in spreads, shape (K,)."""
    return np.asarray(np.einsum("pk,pqk,qk->k", off, H, off))


def mirrored(t: Floats) -> list[Floats]:
    """Guesses of the other pair: c the other way, and about where L1, L2 or both are the same."""
    s, c = np.exp(t[1] / 2), np.tanh(t[2])
    size = np.clip(np.abs(c), 1e-3, 1 - 1e-9)
    exchanged = np.array([t[0], 2 * np.log(size), _atanh(np.copysign(s, c))])
    return [exchanged, *(np.array([t[0], t[1], _atanh(at)]) for at in (-c, 2 * s - c, -2 * s - c))]


def _atanh(c: Floats) -> Floats:
    return np.arctanh(np.clip(c, -0.97, 0.97))


def distinct(keys: Whole, t: Floats, G: Floats, log_evidence: Floats) -> Whole:
    """Rows to keep so that no pair counts twice: of rows with equal keys (K, m) the highest of a summit."""
    _, group = np.unique(keys, axis=0, return_inverse=True)
    group, order = group.reshape(-1), np.argsort(-log_evidence, kind="stable")
    first = np.empty(group.max(initial=-1) + 1, dtype=np.int64)
    first[group[order[::-1]]] = order[::-1]  # the last one written is the highest of the group
    highest = first[group]
    keep = highest == np.arange(len(group))
    apart = _squared(t - t[:, highest], G[:3, :3, highest]) > APART
    seen: dict[int, list[int]] = {}
    for row in order[apart[order]].tolist():
        before = seen.setdefault(int(group[row]), [])
        if (_squared(t[:, [row]] - t[:, before], G[:3, :3, before]) > APART).all():
            before.append(row)
            keep[row] = True
    return np.flatnonzero(keep)


MATTERS = 11.0  # natural log units behind the best at which a combination no longer matters
ROUGHLY = 5.0  # how far Laplace's evidence may be off, and a prediction, which knows no shared gains
KNOWN = 0.3  # spread of a coordinate up to which the pair predicts further readings
FAR_BEHIND = 40.0  # behind the best, from which no second pair is looked for
BEAM, KEPT, TRIED = 24, 1500, 6000
KNOWN_AFTER = 3  # readings, from which a pair is close to the one with a reading more
FEW, ENOUGH = 6, 12  # rounds of climbing, in the beam and after it

ASIDE = np.array([0.0, 0.0, 0.3])
"""A start off c = 0, where the parallel readings, which know only c², have no slope."""

Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Problem:
    """What may have happened, in numbers.

    Attributes
    ----------
    columns : for each of n readings its options
    sessions : ln weight of each session (nothing of the kind, then the stories), shape (S,)
    admits : for each reading which options a session admits, shape (S, options)
    stray : for each reading which option a story admits for one reading at most
    lasting : ln weight of combinations (session, choice) that depends on several readings at once, shape (K,)
    bonus : the most that it can be
    prior : of the pair
    """

    columns: tuple[Column, ...]
    sessions: Floats
    admits: tuple[Flags, ...]
    stray: tuple[int, ...]
    lasting: Callable[[Whole, Whole], Floats]
    bonus: float
    prior: Prior

    def order(self) -> list[int]:
        """Single windings first: they say most about the pair."""
        return sorted(range(len(self.columns)), key=lambda i: self.columns[i].form[0] % NOTHING)


@dataclass(frozen=True)
class Grown:
    """K combinations so far: session (K,), choice (K, n), best pair t (3, K), `normal` there, ln evidence."""

    session: Whole
    choice: Whole
    t: Floats
    G: Floats
    log_evidence: Floats

    def of(self, rows: Whole) -> "Grown":
        """Some of them."""
        return Grown(
            self.session[rows],
            self.choice[rows],
            self.t[:, rows],
            self.G[:, :, rows],
            self.log_evidence[rows],
        )


def search(problem: Problem) -> Grown:
    """Every combination within `MATTERS` of the best, by Laplace's evidence."""
    sure = _grow(problem, BEAM, -np.inf).log_evidence.max()
    return _grow(problem, KEPT, sure - MATTERS)


def _grow(problem: Problem, kept: int, floor: float) -> Grown:
    order = problem.order()
    kindest = [_kindest(problem, i) for i in order]
    grown = _nothing_read(problem)
    for n in range(len(order)):
        still = sum(kindest[n + 1 :]) + problem.bonus
        parent, fresh = _worth_trying(problem, order[: n + 1], grown, kept, floor - still)
        least = floor - still - ROUGHLY
        grown = _climbed(problem, order[: n + 1], grown, parent, fresh, least)
        if n == len(order) - 1:
            lasts = problem.lasting(grown.session, grown.choice[:, np.argsort(order)])
            grown = replace(grown, log_evidence=grown.log_evidence + lasts)
        keep = np.argsort(-grown.log_evidence, kind="stable")[:kept]
        grown = grown.of(keep[grown.log_evidence[keep] > least])
    return replace(grown, choice=grown.choice[:, np.argsort(order)])


def _climbed(
    problem: Problem, read: list[int], grown: Grown, parent: Whole, fresh: Whole, least: float
) -> Grown:
    """The combinations with one reading more, at every pair that explains them."""
    choice = np.hstack([grown.choice[parent], fresh[:, None]])
    session = grown.session[parent]
    posterior = Posterior.of([problem.columns[i] for i in read], choice, problem.prior)
    rows, t, G, log_evidence = _summits(posterior, grown.t[:, parent], len(read) - 1, least)
    keep = distinct(np.column_stack([session, choice])[rows], t, G, log_evidence)
    rows = rows[keep]
    weighed = log_evidence[keep] + problem.sessions[session[rows]]
    return Grown(session[rows], choice[rows], t[:, keep], G[:, :, keep], weighed)


def _summits(posterior: Posterior, t: Floats, n: int, least: float) -> tuple[Whole, Floats, Floats, Floats]:
    """Every pair that explains readings 0 to n: combination, pair (3, S), `normal` and ln evidence there."""
    rounds = FEW if least == -np.inf else ENOUGH
    rows, start = starts(posterior, t, n)
    everything = posterior.take(rows)
    start = approach(everything, start) if n < KNOWN_AFTER else start
    t, G = climb(everything, start, rounds=rounds, settled=1e-3, least=least)
    log_evidence = laplace(everything, t, G)
    near = log_evidence > max(least - ROUGHLY, log_evidence.max() - FAR_BEHIND)
    both = np.flatnonzero(near & np.isin(rows, two_fold(posterior, n)))
    if not both.size:
        return rows, t, G, log_evidence
    of, *more = others(everything.take(both), t[:, both], G[:, :, both], rounds, least)
    rows = np.concatenate([rows, rows[both][of]])
    t, G, log_evidence = (np.concatenate(each, -1) for each in zip((t, G, log_evidence), more, strict=True))
    return rows, t, G, log_evidence


def _nothing_read(problem: Problem) -> Grown:
    S = len(problem.sessions)
    G = np.zeros((4, 4, S))
    G[:3, :3] = (TO_PAIR.T @ problem.prior.precision @ TO_PAIR)[:, :, None]
    t = np.repeat(from_pair(problem.prior.mean[None] + ASIDE), S, 1)
    return Grown(np.arange(S), np.zeros((S, 0), dtype=np.int64), t, G, problem.sessions)


def _kindest(problem: Problem, reading: int) -> float:
    """The most that a reading can add to ln evidence: met exactly, with the gain known from another one."""
    column = problem.columns[reading]
    others = {r for i, c in enumerate(problem.columns) if i != reading for r in c.range[c.active].tolist()}
    return float((column.log_weight + _met(column, others)).max())


def _met(column: Column, others: set[int]) -> Floats:
    """ln density of each option at its very top, shape (options,)."""
    shared = np.isin(column.range, list(others))
    variance = column.variance + np.where(shared, 0.0, column.gain**2)
    return np.where(column.active, -(np.log(variance) + LN_2_PI) / 2, column.fixed)


def _worth_trying(
    problem: Problem, read: list[int], grown: Grown, kept: int, floor: float
) -> tuple[Whole, Whole]:
    """Pairs (combination, option of the last reading) that may come above the floor, at most `TRIED`."""
    *before, reading = read
    column = problem.columns[reading]
    pairs = (
        [grown.t, reversed_coupling(grown.t)] if _polarity_open(problem, before, grown).any() else [grown.t]
    )
    others = {r for i in before for r in problem.columns[i].range.tolist()}
    kind = np.max([_kind(column, _met(column, others), t, grown.G) for t in pairs], 0)
    admitted = problem.admits[reading][grown.session].T
    strays = sum(grown.choice[:, n] == problem.stray[i] for n, i in enumerate(before))
    admitted[problem.stray[reading]] &= (grown.session == 0) | (strays == 0)
    score = np.where(admitted, grown.log_evidence + column.log_weight[:, None] + kind, -np.inf)
    fresh, parent = np.nonzero(score + ROUGHLY > max(floor, -1e300))
    likeliest = np.argsort(-score[fresh, parent], kind="stable")[: min(4 * kept, TRIED)]
    return parent[likeliest], fresh[likeliest]


def _kind(column: Column, met: Floats, t: Floats, G: Floats) -> Floats:
    """About the most that each option may add to ln evidence, shape (options, K), `met` being its very top.

    Where the pair is known well, it predicts; the curvature of ln f widens what it predicts, above all at
    c = 0, where parallel readings have no slope. Where it is not, it may move to meet any reading, but it has
    to share its probability among all that it could meet.
    """
    table = form_table(t)[column.form]
    covariance = np.linalg.inv(G[:3, :3].transpose(2, 0, 1)).transpose(1, 2, 0)
    widest = np.max([covariance[p, p] for p in range(3)], 0)
    slopes = table[:, :3]
    spread = np.maximum((slopes * np.einsum("pqk,mqk->mpk", covariance, slopes)).sum(1), 0)
    top = -np.log(spread + np.exp(-2 * met)[:, None] / (2 * np.pi)) / 2 - LN_2_PI / 2
    straight = np.isin(column.form, STRAIGHT)[:, None]
    spread += np.where(straight, 0.0, 2 * widest**2) + (column.gain**2 + column.variance)[:, None]
    off = column.log_value[:, None] - table[:, 3]
    predicted = -(off * off / spread + np.log(spread) + LN_2_PI) / 2
    kind = np.where(widest < KNOWN**2, predicted, top)
    return np.where(column.active[:, None], kind, column.fixed[:, None])


STRAIGHT = [INDEX[Connection.SERIES_AIDING], INDEX[Connection.SERIES_OPPOSING], NOTHING]


def _polarity_open(problem: Problem, before: list[int], grown: Grown) -> Flags:
    """Combinations whose readings are as well those of a pair with the coupling the other way, shape (K,)."""
    polar = np.zeros(len(grown.session), dtype=bool)
    for n, i in enumerate(before):
        polar |= np.isin(problem.columns[i].form, POLAR)[grown.choice[:, n]]
    return ~polar


# The integral over the pair where Laplace's method is not enough: bent ridges, flat and twin summits.
#
# ln A is integrated exactly (`Posterior.profile`). What remains is a plane, (ln B/A, atanh c): in nodes
# along the coordinate that is known worst, and at each of them in nodes across, around the best value
# there. Nodes are spaced like sinh: close at the summit, and far out in the tails; such sums converge very
# fast for smooth densities that fall off at both ends. Steps are made smaller where the summit turns out
# sharper than its curvature says, and larger where the ends are still high.

NORMAL_ENOUGH = 0.08  # ln units by which a density may differ from a normal one at a spread and a half
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
    def at(self) -> Floats:
        """Of the nodes, in spreads."""
        j = np.arange(-self.each_side, self.each_side + 1)
        return np.asarray(self.first / self.growth * np.sinh(self.growth * j))

    @property
    def log_step(self) -> Floats:
        """ln of the step at each node, in spreads."""
        j = np.arange(-self.each_side, self.each_side + 1)
        return np.asarray(np.log(self.first * np.cosh(self.growth * j)))


ALONG, TWINS, ACROSS = Nodes(12, 0.9, 0.25), Nodes(30, 0.5, 0.08), Nodes(9, 0.7, 0.2)


@dataclass(frozen=True)
class _Ridges:
    """Where to sum along coordinate `axis`: middle (3, K), slope of the other, spread, and limits (2, K)."""

    axis: int
    middle: Floats
    slope: Floats
    spread: Floats
    limits: Floats

    @property
    def other(self) -> int:
        return 3 - self.axis

    def take(self, rows: Whole) -> "_Ridges":
        """Some of them."""
        return _Ridges(
            self.axis, self.middle[:, rows], self.slope[rows], self.spread[rows], self.limits[:, rows]
        )


def refined(
    posterior: Posterior, log_evidence: Floats, t: Floats, G: Floats, keys: Whole, within: float
) -> tuple[Whole, Floats]:
    """Rows within reach of the best and their evidence, integrated anew where Laplace's is not enough.

    Two pairs of one combination (equal rows of `keys`) may be summits of one ridge: the higher one's integral
    then holds both, and the other one is left out.
    """
    rows = np.flatnonzero(log_evidence > log_evidence.max() - within)
    some, t, G, result = posterior.take(rows), t[:, rows], G[:, :, rows], log_evidence[rows]
    plane: Floats = np.linalg.inv(G[:3, :3].transpose(2, 0, 1))[:, 1:, 1:].astype(np.float64)
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


def _is_straight(posterior: Posterior, t: Floats, plane: Floats) -> NDArray[np.bool_]:
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
        straight &= np.abs(np.mean(off, 0)) < NORMAL_ENOUGH
        straight &= np.max(np.abs(off), 0) < 4 * NORMAL_ENOUGH
    return straight


def _siblings(keys: Whole, log_evidence: Floats) -> list[tuple[int, int]]:
    """Rows of one combination: the likeliest with each other one."""
    _, group, count = np.unique(keys, axis=0, return_inverse=True, return_counts=True)
    group = group.reshape(-1)
    found = []
    for several in np.flatnonzero(count > 1):
        members = np.flatnonzero(group == several)
        first, *more = members[np.argsort(-log_evidence[members])].tolist()
        found += [(first, other) for other in more]
    return found


def _integral(posterior: Posterior, ridges: _Ridges, nodes: Nodes) -> Floats:
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


def _best_along(posterior: Posterior, ridges: _Ridges, at: Floats) -> tuple[Floats, Floats, Floats]:
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


def _across(posterior: Posterior, t: Floats, width: Floats, other: int) -> Floats:
    """ln of the integral over the other coordinate around t, shape (K,)."""
    N = ACROSS.at.size
    rows = np.tile(np.arange(width.size), N)
    nodes = t[:, rows]
    nodes[other] += np.repeat(ACROSS.at, width.size) * width[rows]
    density = posterior.take(rows).profile(nodes).reshape(N, -1) + ACROSS.log_step[:, None]
    return np.asarray(np.logaddexp.reduce(density, 0) + np.log(width))


# How well each combination of causes explains all readings, with the pair and the gains integrated out.
#
# A combination h says for every reading which alternative holds. Given h, the logarithms of the readings
# are normal,
#
#     ln y_i = ln f_i(t) + g_range + e_i,
#
# with t the pair, g the gain error of a range (shared or each reading's own) and e the rest; so V_h is
# diagonal plus a block a range, and the gains are integrated exactly. The pair is integrated by
# `labkit.analysis.causes.likelihood`, and `labkit.analysis.causes.evidence` finds the combinations that
# matter.

LEADS = (math.log(0.4e-6), 1.2)  # clips on one node: mean of ln y (H) and standard deviation


@dataclass(frozen=True)
class Combinations:
    """Combinations of alternatives with their evidence.

    Attributes
    ----------
    session : 0, or 1 + the number of the story that holds, shape (K,)
    choice : alternative of each reading, shape (K, n)
    log_evidence : up to a constant that all share, shape (K,)
    pair : best (ln A, ln B, atanh c) of each, shape (K, 3)
    covariance : of the pair there, shape (K, 3, 3)
    """

    session: Whole
    choice: Whole
    log_evidence: Floats
    pair: Floats
    covariance: Floats


def option(
    value: float, alternative: Alternative, spread: Spread | None, ranges: dict[str, int], shared: bool
) -> Option:
    """An alternative in numbers; `ranges` numbers the ranges as they turn up."""
    log_value = math.log(value) - alternative.exponent * math.log(10) - math.log(alternative.factor)
    log_weight = math.log(alternative.weight)
    if alternative.connection is Connection.LEADS:
        centre, width = LEADS
        z = (log_value - centre) / width
        return Option(
            log_value, log_weight, -1, 0, 1, 0, -z * z / 2 - math.log(width * math.sqrt(2 * math.pi))
        )
    if alternative.connection is None or spread is None:
        density = alternative.density or 0.0
        return Option(log_value, log_weight, -1, 0, 1, 0, math.log(density))
    place = ranges.setdefault(spread.range, len(ranges))
    gain, rest = (spread.gain, spread.rest) if shared else (0.0, math.hypot(spread.gain, spread.rest))
    return Option(log_value, log_weight, INDEX[alternative.connection], gain, max(rest, 1e-9), place, 0.0)


def weigh(problem: Problem) -> Combinations:
    """Every combination that matters, with its evidence; one that two pairs explain comes twice."""
    found = search(problem)
    posterior = Posterior.of(problem.columns, found.choice, problem.prior)
    t, G = climb(posterior, found.t)
    beside = found.log_evidence - laplace(posterior, found.t, found.G)  # sessions, and what lasts
    plain = laplace(posterior, t, G) + beside
    keys = np.column_stack([found.session, found.choice])
    keep, log_evidence = refined(posterior, plain, t, G, keys, MATTERS)
    covariance = TO_PAIR @ np.linalg.inv(G[:3, :3, keep].transpose(2, 0, 1)) @ TO_PAIR.T
    pair = (TO_PAIR @ t[:, keep]).T
    return Combinations(found.session[keep], found.choice[keep], log_evidence, pair, covariance)
