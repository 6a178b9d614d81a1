"""How well each combination of causes explains all readings, with the pair and the gains integrated out.

A combination h says for every reading which alternative holds. Given h, the logarithms of the readings
are normal,

    ln y_i = ln f_i(t) + g_range + e_i,

with t the pair, g the gain error of a range (shared or each reading's own) and e the rest; so V_h is
diagonal plus a block a range, and the gains are integrated exactly. The pair is integrated by
`labkit.analysis.causes.posterior`.

Combinations grow reading by reading. Kept are all that could still matter: a further reading can set a
combination back by no more than `none of these` does, and bring another forward by no more than its
narrowest density.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labkit.analysis.causes.forms import CONNECTIONS, INDEX, log_forms
from labkit.analysis.causes.local import Alternative, Spread
from labkit.analysis.causes.posterior import Array, Option, Posterior, Whole, climb, laplace, refine
from labkit.analysis.causes.prior import Prior
from labkit.theory.wiring import Connection

MATTERS = 11.0  # natural log units behind the best at which a combination no longer matters
PER_READING = 15.0  # what one further reading can change between two combinations
ROUGHLY = 12.0  # how far a prediction may be off: it knows nothing of gains that readings share
KNOWN = 0.3  # spread of a coordinate up to which the pair predicts further readings
KEPT = 1500
LEADS = (math.log(0.4e-6), 1.2)  # clips on one node: mean of ln y (H) and standard deviation


@dataclass(frozen=True)
class Combinations:
    """Combinations of alternatives with their evidence.

    Attributes
    ----------
    choice : alternative of each reading, shape (K, n)
    log_evidence : up to a constant that all share, shape (K,)
    pair : best (ln A, ln B, atanh c) of each, shape (K, 3)
    curvature : of the logarithm there, shape (K, 3, 3); its inverse is the covariance of the pair
    """

    choice: Whole
    log_evidence: Array
    pair: Array
    curvature: Array

    def of(self, rows: Whole) -> "Combinations":
        """Some of the combinations."""
        return Combinations(self.choice[rows], self.log_evidence[rows], self.pair[rows], self.curvature[rows])


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


def combine(options: Sequence[Sequence[Option]], prior: Prior) -> Combinations:
    """Every combination that matters, with its evidence.

    Parameters
    ----------
    options : for each of n readings its options
    prior : of the pair
    """
    order = np.argsort([max(column[0].form, 0) for column in options], kind="stable")  # single windings first
    options = [options[i] for i in order]
    choice = np.zeros((1, 0), dtype=np.int64)
    t = prior.mean[None, :] + ASIDE
    log_evidence, H = np.zeros(1), prior.precision[None, :, :]
    for n in range(1, len(options) + 1):
        margin = MATTERS + PER_READING * (len(options) - n)
        either = _polarity_open(options[: n - 1], choice)
        mirrored, H_mirrored = np.where(either[:, None], t[:, SWAP], t), H.copy()
        H_mirrored[either] = H[either][:, SWAP][:, :, SWAP]
        parent, fresh = _worth_trying(
            options[n - 1], log_evidence, ((t, H), (mirrored, H_mirrored)), margin + ROUGHLY
        )
        choice = np.hstack([choice[parent], fresh[:, None]])
        log_evidence, t, H = _best_of(Posterior.of(options[:n], choice, prior), (t[parent], mirrored[parent]))
        keep = np.flatnonzero(log_evidence > log_evidence.max() - margin)
        keep = keep[np.argsort(-log_evidence[keep], kind="stable")][:KEPT]
        choice, t, H, log_evidence = choice[keep], t[keep], H[keep], log_evidence[keep]
    log_evidence = refine(Posterior.of(options, choice, prior), log_evidence, t, H, MATTERS)
    return Combinations(choice[:, np.argsort(order)], log_evidence, t, H)


def weigh(options: Sequence[Sequence[Option]], choice: Whole, prior: Prior) -> Combinations:
    """Evidence of given combinations: `choice`, shape (K, n), says which option of each reading holds."""
    aside = [prior.mean + ASIDE, prior.mean - ASIDE]
    starts = [np.repeat(t[None, by], len(choice), 0) for t in aside for by in ([0, 1, 2], SWAP)]
    posterior = Posterior.of(options, choice, prior)
    log_evidence, t, H = _best_of(posterior, starts)
    log_evidence = refine(posterior, log_evidence, t, H, MATTERS)
    return Combinations(choice, log_evidence, t, H)


SWAP = [1, 0, 2]
"""Exchanges A and B, which is the pair with the coupling the other way."""

ASIDE = np.array([0.0, 0.0, 0.3])
"""A start off c = 0, where the parallel readings, which know only c², have no slope."""

POLAR = [INDEX[c] for c in CONNECTIONS if c.name.startswith(("SERIES", "PARALLEL"))]


def _polarity_open(options: Sequence[Sequence[Option]], choice: Whole) -> NDArray[np.bool_]:
    """Combinations whose readings are as well those of a pair with the coupling the other way, shape (K,)."""
    polar = np.zeros(len(choice), dtype=bool)
    for i, column in enumerate(options):
        polar |= np.array([o.form in POLAR for o in column])[choice[:, i]]
    return ~polar


def _worth_trying(
    options: Sequence[Option], log_evidence: Array, pairs: Sequence[tuple[Array, Array]], margin: float
) -> tuple[Whole, Whole]:
    """Pairs (combination, option) that may come within the margin of what is sure to be reached."""
    judged = [_predicted(options, t, H, margin) for t, H in pairs]
    sure, best = (log_evidence[:, None] + np.max(each, 0) for each in zip(*judged, strict=True))
    parent, fresh = np.nonzero(best > sure.max() - margin)
    return parent.astype(np.int64), fresh.astype(np.int64)


def _predicted(options: Sequence[Option], t: Array, H: Array, margin: float) -> tuple[Array, Array]:
    """What each option is sure to add to ln evidence, and what it may add at best, shape (K, options).

    Where the pair is known well, it predicts. Where it is not, it may move to meet any reading, so that all
    but options that do not depend on it are unsure, and any may be met exactly.
    """
    values, slopes = log_forms(t)
    at = [max(o.form, 0) for o in options]
    covariance = np.linalg.inv(H)
    spread = np.einsum("kfp,kpq,kfq->kf", slopes, covariance, slopes)[:, at]
    own = np.array([o.gain**2 + o.rest**2 for o in options])
    off = np.array([o.log_value for o in options]) - values[:, at]
    misfit = np.minimum(off * off / (np.maximum(spread, 0) + own), 4 * margin)
    known = np.diagonal(covariance, axis1=1, axis2=2).max(1)[:, None] < KNOWN**2
    predicted = -0.5 * misfit - 0.5 * np.log(2 * np.pi * (np.maximum(spread, 0) + own))
    met = np.broadcast_to(-0.5 * np.log(2 * np.pi * own), predicted.shape)
    active = np.array([o.form >= 0 for o in options])
    weight, fixed = (np.array([getattr(o, name) for o in options]) for name in ("log_weight", "fixed"))
    sure = weight + np.where(active, np.where(known, predicted, -np.inf), fixed)
    return sure, weight + np.where(active, np.where(known, predicted, met), fixed)


def _best_of(posterior: Posterior, starts: Sequence[Array]) -> tuple[Array, Array, Array]:
    """Evidence (K,), best pair and curvature from the start that leads highest.

    Starts that equal the first are not tried again.
    """
    t = climb(posterior, starts[0])
    log_evidence, H = laplace(posterior, t)
    for start in starts[1:]:
        again = np.flatnonzero((start != starts[0]).any(1))
        if again.size:
            some = posterior.take(again)
            other = climb(some, start[again])
            more, H_other = laplace(some, other)
            better = more > log_evidence[again]
            rows = again[better]
            log_evidence[rows], t[rows], H[rows] = more[better], other[better], H_other[better]
    return log_evidence, t, H
