"""Which combinations of causes matter: they grow reading by reading, as branches that are bounded.

A narrow beam first finds combinations that explain all readings; what the best of them reaches is sure. Then
all combinations grow once more, and one is given up as soon as even the kindest outcome of the readings
that follow (every display met exactly, by the narrowest alternative) could not bring it within `MATTERS` of
what is sure.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from labkit.analysis.causes import modes
from labkit.analysis.causes.forms import INDEX, NOTHING, form_table, from_pair
from labkit.analysis.causes.posterior import (
    LN_2_PI,
    TO_PAIR,
    Array,
    Column,
    Posterior,
    Whole,
    approach,
    climb,
    laplace,
)
from labkit.analysis.causes.prior import Prior
from labkit.theory.wiring import Connection

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
    sessions: Array
    admits: tuple[Flags, ...]
    stray: tuple[int, ...]
    lasting: Callable[[Whole, Whole], Array]
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
    t: Array
    G: Array
    log_evidence: Array

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
    keep = modes.distinct(np.column_stack([session, choice])[rows], t, G, log_evidence)
    rows = rows[keep]
    weighed = log_evidence[keep] + problem.sessions[session[rows]]
    return Grown(session[rows], choice[rows], t[:, keep], G[:, :, keep], weighed)


def _summits(posterior: Posterior, t: Array, n: int, least: float) -> tuple[Whole, Array, Array, Array]:
    """Every pair that explains readings 0 to n: combination, pair (3, S), `normal` and ln evidence there."""
    rounds = FEW if least == -np.inf else ENOUGH
    rows, start = modes.starts(posterior, t, n)
    everything = posterior.take(rows)
    start = approach(everything, start) if n < KNOWN_AFTER else start
    t, G = climb(everything, start, rounds=rounds, settled=1e-3, least=least)
    log_evidence = laplace(everything, t, G)
    near = log_evidence > max(least - ROUGHLY, log_evidence.max() - FAR_BEHIND)
    both = np.flatnonzero(near & np.isin(rows, modes.two_fold(posterior, n)))
    if not both.size:
        return rows, t, G, log_evidence
    of, *more = modes.others(everything.take(both), t[:, both], G[:, :, both], rounds, least)
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


def _met(column: Column, others: set[int]) -> Array:
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
        [grown.t, modes.reversed_coupling(grown.t)]
        if _polarity_open(problem, before, grown).any()
        else [grown.t]
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


def _kind(column: Column, met: Array, t: Array, G: Array) -> Array:
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
        polar |= np.isin(problem.columns[i].form, modes.POLAR)[grown.choice[:, n]]
    return ~polar
