"""Other pairs that explain the same readings: parallel and short-circuit readings allow two at a time.

c enters P+ and P- as c², so that three readings with one of them among them are met by two pairs, for example
d = B ± 2 √(B (L2 - P+)) for L2, B and P+. Both are followed until further readings decide.
"""

import numpy as np

from labkit.analysis.causes.forms import CONNECTIONS, NOTHING
from labkit.analysis.causes.posterior import Array, Posterior, Whole, climb, laplace

POLAR = [i for i, c in enumerate(CONNECTIONS) if c.name.startswith(("SERIES", "PARALLEL"))]
SIGNED = [i for i, c in enumerate(CONNECTIONS) if c.name.startswith(("SELF", "SHORT"))]
CURVED = [i for i, c in enumerate(CONNECTIONS) if c.name.startswith(("PARALLEL", "SHORT"))]
BIT = np.array([*(1 << i for i in range(NOTHING)), 0])
"""One bit a connection, to count how many different ones were read."""

APART = 1.0  # squared distance, in spreads, from which two pairs count as two


def starts(posterior: Posterior, t: Array, n: int) -> tuple[Whole, Array]:
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


def reversed_coupling(t: Array) -> Array:
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
    posterior: Posterior, t: Array, G: Array, rounds: int, least: float
) -> tuple[Whole, Array, Array, Array]:
    """Further pairs of combinations with pair t: combination, pair (3, S), `normal` and ln evidence there."""
    images = mirrored(t)
    rows = np.tile(np.arange(t.shape[1]), len(images))
    everything = posterior.take(rows)
    found, N = climb(everything, np.hstack(images), rounds=rounds, settled=1e-3, least=least)
    log_evidence = laplace(everything, found, N)
    away = _squared(found - t[:, rows], G[:3, :3, rows]) > APART
    kept = np.flatnonzero(away & (log_evidence > least))
    return rows[kept], found[:, kept], N[:, :, kept], log_evidence[kept]


def _squared(off: Array, H: Array) -> Array:
    """Squared distance in spreads, shape (K,)."""
    return np.asarray(np.einsum("pk,pqk,qk->k", off, H, off))


def mirrored(t: Array) -> list[Array]:
    """Guesses of the other pair: c the other way, and about where L1, L2 or both are the same."""
    s, c = np.exp(t[1] / 2), np.tanh(t[2])
    size = np.clip(np.abs(c), 1e-3, 1 - 1e-9)
    exchanged = np.array([t[0], 2 * np.log(size), _atanh(np.copysign(s, c))])
    return [exchanged, *(np.array([t[0], t[1], _atanh(at)]) for at in (-c, 2 * s - c, -2 * s - c))]


def _atanh(c: Array) -> Array:
    return np.arctanh(np.clip(c, -0.97, 0.97))


def distinct(keys: Whole, t: Array, G: Array, log_evidence: Array) -> Whole:
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
