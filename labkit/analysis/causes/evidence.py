"""How well each combination of causes explains all readings, with the pair and the gains integrated out.

A combination h says for every reading which alternative holds. Given h, the logarithms of the readings
are normal,

    ln y_i = ln f_i(t) + g_range + e_i,

with t the pair, g the gain error of a range (shared or each reading's own) and e the rest; so V_h is
diagonal plus a block a range, and the gains are integrated exactly. The pair is integrated by Laplace's
method around its best value, which is exact where ln f is straight (`labkit.analysis.causes.forms`).

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
from labkit.analysis.causes.prior import Prior
from labkit.theory.wiring import Connection

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

MATTERS = 11.0  # natural log units behind the best at which a combination no longer matters
PER_READING = 15.0  # what one further reading can change between two combinations
ROUGHLY = 4.0  # how far a prediction by a narrow pair may be off
KEPT = 1500
LEADS = (math.log(0.4e-6), 1.2)  # clips on one node: mean of ln y (H) and standard deviation


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
        log_evidence, t, H = _best_of(options[:n], choice, (t[parent], mirrored[parent]), prior)
        keep = np.flatnonzero(log_evidence > log_evidence.max() - margin)
        keep = keep[np.argsort(-log_evidence[keep], kind="stable")][:KEPT]
        choice, t, H, log_evidence = choice[keep], t[keep], H[keep], log_evidence[keep]
    return Combinations(choice[:, np.argsort(order)], log_evidence, t, H)


def weigh(options: Sequence[Sequence[Option]], choice: Whole, prior: Prior) -> Combinations:
    """Evidence of given combinations: `choice`, shape (K, n), says which option of each reading holds."""
    aside = [prior.mean + ASIDE, prior.mean - ASIDE]
    starts = [np.repeat(t[None, by], len(choice), 0) for t in aside for by in ([0, 1, 2], SWAP)]
    log_evidence, t, H = _best_of(options, choice, starts, prior)
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
    """Pairs (combination, option) that may come within the margin, judged by what each pair predicts."""
    judged = [_predicted(options, t, H, margin) for t, H in pairs]
    plain, kindly = (log_evidence[:, None] + np.max(each, 0) for each in zip(*judged, strict=True))
    parent, fresh = np.nonzero(kindly > plain.max() - margin)
    return parent.astype(np.int64), fresh.astype(np.int64)


def _predicted(options: Sequence[Option], t: Array, H: Array, margin: float) -> tuple[Array, Array]:
    """About what each option adds to ln evidence, shape (K, options); and that judged kindly.

    Where the pair predicts but widely, the prediction is not normal and may be off by `PER_READING`.
    """
    values, slopes = log_forms(t)
    at = [max(o.form, 0) for o in options]
    spread = np.einsum("kfp,kpq,kfq->kf", slopes, np.linalg.inv(H), slopes)[:, at]
    own = np.array([o.gain**2 + o.rest**2 for o in options])
    variance = np.maximum(spread, 0) + own
    off = np.array([o.log_value for o in options]) - values[:, at]
    active = np.array([o.form >= 0 for o in options])
    normal = -0.5 * np.minimum(off * off / variance, 4 * margin) - 0.5 * np.log(2 * np.pi * variance)
    kindly = np.where(active & (spread > 0.04), PER_READING, 0.0)
    plain = np.where(active, normal, [o.fixed for o in options]) + [o.log_weight for o in options]
    return plain, plain + kindly


def _best_of(
    options: Sequence[Sequence[Option]], choice: Whole, starts: Sequence[Array], prior: Prior
) -> tuple[Array, Array, Array]:
    """Evidence from the start that leads highest; starts that equal the first are not tried again."""
    log_evidence, t, H = _evidence(options, choice, starts[0], prior)
    for start in starts[1:]:
        again = np.flatnonzero((start != starts[0]).any(1))
        if again.size:
            more, t_more, H_more = _evidence(options, choice[again], start[again], prior)
            better = more > log_evidence[again]
            rows = again[better]
            log_evidence[rows], t[rows], H[rows] = more[better], t_more[better], H_more[better]
    return log_evidence, t, H


def _evidence(
    options: Sequence[Sequence[Option]], choice: Whole, start: Array, prior: Prior
) -> tuple[Array, Array, Array]:
    """Log evidence of each combination (K,), its best pair (K, 3) and the curvature there (K, 3, 3)."""
    columns = [[options[i][a] for a in range(len(options[i]))] for i in range(len(options))]

    def pick(name: str) -> Array:
        known = [np.array([getattr(o, name) for o in column], dtype=np.float64) for column in columns]
        return np.stack([values[choice[:, i]] for i, values in enumerate(known)], 1)

    form = pick("form").astype(np.int64)
    active = form >= 0
    form = np.where(active, form, 0)
    y, gain, rest, place = pick("log_value"), pick("gain"), pick("rest"), pick("range")
    same = (place[:, :, None] == place[:, None, :]) & active[:, :, None] & active[:, None, :]
    V = gain[:, :, None] * gain[:, None, :] * same
    diagonal = np.arange(choice.shape[1])
    V[:, diagonal, diagonal] += np.where(active, rest * rest, 1.0)
    W = np.linalg.inv(V)
    t = _climb(start, y, form, active, W, prior)
    off, J = _off(t, y, form, active)
    H, _ = _curvature(J, W, off, t, prior)
    volume = 1.5 * np.log(2 * np.pi) - 0.5 * np.linalg.slogdet(H)[1]
    norm = -0.5 * np.linalg.slogdet(V)[1] - 0.5 * np.log(2 * np.pi) * active.sum(1)
    outside = np.where(active, 0.0, pick("fixed")).sum(1)
    fit = _misfit(off, W, t, prior)
    log_evidence = pick("log_weight").sum(1) - fit / 2 + volume + norm + outside
    log_evidence += prior.log_peak + prior.log_dots(t)
    return log_evidence, t, H


ROUNDS = 30


def _climb(start: Array, y: Array, form: Whole, active: NDArray[np.bool_], W: Array, prior: Prior) -> Array:
    """The best pair of each combination, by damped least squares; those that have settled rest."""
    t = start.copy()
    off, J = _off(t, y, form, active)
    misfit, damping = _misfit(off, W, t, prior), np.full(len(t), 1e-4)
    rows = np.arange(len(t))
    for _ in range(ROUNDS):
        H, slope = _curvature(J, W[rows], off, t[rows], prior)
        H[:, [0, 1, 2], [0, 1, 2]] *= 1 + damping[rows, None]
        step = np.linalg.solve(H, slope[:, :, None])[:, :, 0]
        step *= np.minimum(1.0, 2.0 / np.maximum(np.abs(step).max(1), 1e-12))[:, None]
        tried = t[rows] + step
        new_off, new_J = _off(tried, y[rows], form[rows], active[rows])
        new = _misfit(new_off, W[rows], tried, prior)
        better = new <= misfit[rows]
        gained = misfit[rows] - new
        t[rows[better]], misfit[rows[better]] = tried[better], new[better]
        off[better], J[better] = new_off[better], new_J[better]
        damping[rows] *= np.where(better, 0.1, 10.0)
        going = np.where(better, (gained > 1e-6) | (damping[rows] > 1e-2), damping[rows] < 1e8)
        rows, off, J = rows[going], off[going], J[going]
        if not rows.size:
            break
    return t


def _misfit(off: Array, W: Array, t: Array, prior: Prior) -> Array:
    from_mean = t - prior.mean
    fit = np.einsum("ki,kij,kj->k", off, W, off)
    return np.asarray(fit + np.einsum("ki,ij,kj->k", from_mean, prior.precision, from_mean))


def _off(t: Array, y: Array, form: Whole, active: NDArray[np.bool_]) -> tuple[Array, Array]:
    values, slopes = log_forms(t)
    rows = np.arange(len(t))[:, None]
    off = np.where(active, y - values[rows, form], 0.0)
    return off, slopes[rows, form] * active[:, :, None]


def _curvature(J: Array, W: Array, off: Array, t: Array, prior: Prior) -> tuple[Array, Array]:
    JW = np.einsum("kip,kij->kpj", J, W)
    H = JW @ J + prior.precision
    return H, np.einsum("kpj,kj->kp", JW, off) - (t - prior.mean) @ prior.precision
