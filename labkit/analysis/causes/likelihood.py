"""The pair given many combinations at once: best value, curvature, and Laplace's integral over it.

For combination k the logarithm of prior times density of the readings at the pair t is

    constant_k - (off' W off + (t - mean)' P (t - mean)) / 2 + ln(weight of the sign of M),

off = y - ln f(t), t = (ln A, ln B/A, atanh c). Laplace's method integrates it around its best as if it were
normal; `labkit.analysis.causes.evidence` does better where it is not.

Arrays have the combinations last, so that numpy runs along them: t (3, K), readings (n, K). All that a step
needs comes from one array, `Posterior.normal`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from labkit.arrays import Floats
from labkit.theory.wiring import Connection

# What is assumed about a pair before any reading: broad, proper, and by the declared family.
#
# Normal in (ln A, ln B/A, atanh c): ln A around 10 mH within a factor of 20 (one standard deviation), so
# that any inductance from nanohenry to henry is possible; ln B/A by family; atanh c from equal to very
# unequal windings. Dots are marked so that M > 0: a pair on one core with M < 0 contradicts its marks, and
# counts `AGAINST_DOTS` times as much. That the marks are wrong is a cause of its own.

FAMILIES = {
    "same core": (-4.5, 2.5),  # k mostly from 0.6 to 0.9999
    "movable": (-1.0, 1.0),
    "separate": (0.0, 0.05),  # k of a few hundredths at most
}
"""Mean and standard deviation of ln B/A."""

AGAINST_DOTS = 1e-4
SOFT = 0.05
"""Width in ln B/A over which M changes sign for the weight; k is then a few hundredths."""


@dataclass(frozen=True)
class Prior:
    """A normal distribution of t = (ln A, ln B, atanh c), mean (3,) and precision (3, 3), less at M < 0."""

    mean: Floats
    precision: Floats
    against_dots: float = 1.0

    @property
    def log_peak(self) -> float:
        """Logarithm of the density at the mean."""
        return float(0.5 * np.linalg.slogdet(self.precision)[1] - 1.5 * np.log(2 * np.pi))

    def log_dots(self, t: Floats) -> Floats:
        """ln of the weight for the sign of M, at pairs t of shape (..., 3)."""
        return self.log_sign(t[..., 1] - t[..., 0])

    def log_sign(self, ratio: Floats) -> Floats:
        """The same from ln B/A, of any shape."""
        negative = 1 / (1 + np.exp(-np.clip(ratio / SOFT, -50, 50)))
        return np.asarray(np.log(self.against_dots) * negative)


def prior_of(family: str) -> Prior:
    """The prior of a family: "same core", "movable" or "separate"."""
    centre, width = FAMILIES[family]
    ln_A = np.log(10e-3)
    to_t = np.array([[1.0, 0, 0], [1.0, 1.0, 0], [0, 0, 1.0]])  # (ln A, ln B/A, atanh c) to t
    covariance = to_t @ np.diag(np.square([3.0, width, 0.7])) @ to_t.T
    against = 1.0 if family == "separate" else AGAINST_DOTS
    return Prior(np.array([ln_A, ln_A + centre, 0.0]), np.linalg.inv(covariance), against)


# Logarithms of what each connection reads, with their slopes, for many pairs at once.
#
# In (ln A, ln B, atanh c) the logarithms are nearly straight lines, which is what makes a Gaussian
# approximation good: ln A and ln B are coordinates themselves, ln P± = ln A or B - ln 4 + ln(1 - c²) by the
# quarter law, and Lsc1 L2 = Lsc2 L1 = P+ B. With ln B/A in place of ln B, ln A enters all of them alike.

CONNECTIONS = (
    Connection.SELF_1,
    Connection.SELF_2,
    Connection.SERIES_AIDING,
    Connection.SERIES_OPPOSING,
    Connection.PARALLEL_AIDING,
    Connection.PARALLEL_OPPOSING,
    Connection.SHORT_CIRCUIT_1,
    Connection.SHORT_CIRCUIT_2,
)
INDEX = {connection: i for i, connection in enumerate(CONNECTIONS)}
NOTHING = len(CONNECTIONS)
"""Row of `form_table` for what does not depend on the pair."""

LN_4 = np.log(4.0)


def log_forms(t: Floats) -> tuple[Floats, Floats]:
    """ln of each connection's inductance in H, shape (K, 8), and its slopes with t, shape (K, 8, 3).

    Parameters
    ----------
    t : (ln A, ln B, atanh c), shape (K, 3)
    """
    table = form_table(from_pair(t))[:NOTHING]
    table[:, 0] -= table[:, 1]  # ln A alone, while ln B stays
    return table[:, 3].T, table[:, :3].transpose(2, 0, 1)


def from_pair(pair: Floats) -> Floats:
    """(ln A, ln B/A, atanh c), shape (3, K), from (ln A, ln B, atanh c), shape (K, 3)."""
    return np.array([pair[:, 0], pair[:, 1] - pair[:, 0], pair[:, 2]])


def form_table(t: Floats) -> Floats:
    """Slopes with t = (ln A, ln B/A, atanh c) and ln of each connection: (9, 4, K), t of shape (3, K).

    Every slope with ln A is 1: all inductances grow alike. The last row, for `NOTHING`, is zero.
    """
    a, x = t[0], t[1]
    c = np.tanh(t[2])
    s = np.exp(np.clip(x, -60, 60) / 2)
    bend, cs, both = np.maximum(1 - c * c, 1e-15), c * s, 1 + s * s
    table = np.zeros((NOTHING + 1, 4, t.shape[1]))
    table[:NOTHING, 0] = 1
    for row, turned in ((0, cs), (1, -cs)):
        L = np.maximum(both + 2 * turned, 1e-15 * both)  # 4 L1 or 4 L2, over A
        table[row, 1], table[row, 2] = (s * s + turned) / L, (2 - 4 * row) * s * bend / L
        table[row, 3] = a + np.log(L) - LN_4
    table[2, 3], table[3, 1], table[3, 3] = a, 1, a + x
    table[4:6] = table[2:4]
    table[4:6, 2] = -2 * c
    table[4:6, 3] += np.log(bend) - LN_4
    table[6] = table[4] + table[3] - table[1]
    table[7] = table[4] + table[3] - table[0]
    return table


Whole = NDArray[np.int64]

ROUNDS = 40
PATIENCE, SHORTEST = 3, 1e-3  # steps that may fail in a row; length at which a combination rests
SOFTENED = (0.3, 0.03)  # relative spreads by which readings are first taken to be less certain
ALL = (0, 1, 2)
LN_2_PI = float(np.log(2 * np.pi))
TO_PAIR = np.array([[1.0, 0, 0], [1.0, 1.0, 0], [0, 0, 1.0]])
"""(ln A, ln B, atanh c) from (ln A, ln B/A, atanh c)."""


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
class Column:
    """The options of one reading as arrays, shape (options,)."""

    log_value: Floats
    log_weight: Floats
    form: Whole
    gain: Floats
    variance: Floats
    range: Whole
    fixed: Floats

    @classmethod
    def of(cls, options: Sequence[Option]) -> "Column":
        """From the options one by one."""
        y, weight, form, gain, rest, place, fixed = zip(
            *((o.log_value, o.log_weight, o.form, o.gain, o.rest, o.range, o.fixed) for o in options),
            strict=True,
        )
        whole = [np.array(each, dtype=np.int64) for each in (form, place)]
        active = whole[0] >= 0
        variance = np.where(active, np.square(rest), 1.0)
        form_or_nothing = np.where(active, whole[0], NOTHING)
        y_or_nothing = np.where(active, y, 0.0)
        parts = (form_or_nothing, np.where(active, gain, 0.0), variance, whole[1], np.array(fixed))
        return cls(y_or_nothing, np.array(weight), *parts)

    @property
    def active(self) -> NDArray[np.bool_]:
        """Options that depend on the pair."""
        return np.asarray(self.form != NOTHING)


@dataclass(frozen=True)
class Posterior:
    """K combinations of n readings: `y`, `form` (n, K), `W` (n, n, K), `constant` (K,); the pair's prior."""

    y: Floats
    form: Whole
    W: Floats
    constant: Floats
    prior: Prior

    @property
    def mean(self) -> Floats:
        """Of the prior, shape (3, 1)."""
        return from_pair(self.prior.mean[None])

    @property
    def precision(self) -> Floats:
        """Of the prior, shape (3, 3)."""
        return np.asarray(TO_PAIR.T @ self.prior.precision @ TO_PAIR)

    @classmethod
    def of(cls, columns: Sequence[Column], choice: Whole, prior: Prior) -> "Posterior":
        """From the options of each reading and which of them each combination takes, shape (K, n)."""

        def pick(name: str) -> NDArray[np.generic]:
            return np.array([getattr(column, name)[choice[:, i]] for i, column in enumerate(columns)])

        form = pick("form").astype(np.int64)
        active = form != NOTHING
        log_weight, fixed = pick("log_weight").astype(float), pick("fixed").astype(float)
        W, log_det = _precision(
            pick("gain").astype(float), pick("variance").astype(float), pick("range"), active
        )
        constant = log_weight.sum(0) + np.where(active, -LN_2_PI / 2, fixed).sum(0) - log_det / 2
        return cls(pick("log_value").astype(float), form, W, constant + prior.log_peak, prior)

    def take(self, rows: Whole) -> "Posterior":
        """Some of the combinations."""
        return Posterior(
            self.y[:, rows], self.form[:, rows], self.W[:, :, rows], self.constant[rows], self.prior
        )

    def softened(self, spread: float) -> "Posterior":
        """The same with each reading less certain by this relative spread, and no gains shared."""
        diagonal = np.arange(len(self.y))
        W = np.zeros_like(self.W)
        W[diagonal, diagonal] = 1 / (1 / self.W[diagonal, diagonal] + spread**2)
        return replace(self, W=W)

    def normal(self, t: Floats) -> Floats:
        """Curvature of half the misfit, the way downhill and the misfit at t, shape (4, 4, K).

        With X = [slopes | off] it is X' W X and the same of the prior: [:3, :3] is the curvature, [:3, 3] the
        way downhill, [3, 3] the squares that the best pair makes least.
        """
        table = form_table(t)
        K = t.shape[1]
        at = self.form[:, None] * (4 * K) + np.arange(4 * K).reshape(1, 4, K)
        X = table.reshape(-1).take(at)
        X[:, 3] = self.y - X[:, 3]
        G = np.asarray(np.einsum("ipk,iqk->pqk", X, np.einsum("ijk,jqk->iqk", self.W, X)))
        from_mean = t - self.mean
        pull = self.precision @ from_mean
        G[:3, :3] += self.precision[:, :, None]
        G[:3, 3] -= pull
        G[3, 3] += (from_mean * pull).sum(0)
        return G

    def profile(self, t: Floats) -> Floats:
        """ln of the integral over ln A alone, exact, at ln B/A and atanh c of t (3, K); shape (K,).

        The misfit is a square in ln A, whatever ln B/A and c are, as ln A enters all ln f alike.
        """
        values = form_table(t)[:, 3].reshape(-1)
        off = self.y - values.take(self.form * t.shape[1] + np.arange(t.shape[1]))
        active = self.form != NOTHING
        weighed = np.einsum("ijk,jk->ik", self.W, off)
        curvature = np.einsum("ik,ijk,jk->k", active, self.W, active) + self.precision[0, 0]
        from_mean = t - self.mean
        pull = self.precision @ from_mean
        uphill = (active * weighed).sum(0) - pull[0]
        misfit = (off * weighed).sum(0) + (from_mean * pull).sum(0) - uphill**2 / curvature
        dots = self.prior.log_sign(t[1])
        return np.asarray(self.constant + dots - (misfit + np.log(curvature) - LN_2_PI) / 2)


def _precision(
    gain: Floats, variance: Floats, place: NDArray[np.generic], active: NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """Inverse (n, n, K) and ln determinant (K,) of the readings' covariance.

    Diagonal but for gains shared on a range, V = D + gg' a range, so that the inverse and the determinant are
    those of Sherman and Morrison.
    """
    same = (place[:, None] == place[None, :]) & active[:, None] & active[None, :]
    pull = gain / variance
    loading = 1 + np.einsum("ijk,jk->ik", same, gain * pull)
    W = -pull[:, None] * pull[None, :] * same / loading[:, None]
    diagonal = np.arange(len(gain))
    W[diagonal, diagonal] += np.where(active, 1 / variance, 1.0)
    members = np.maximum(same.sum(1), 1)
    return W, np.where(active, np.log(variance) + np.log(loading) / members, 0.0).sum(0)


def climb(
    posterior: Posterior,
    start: Floats,
    free: Sequence[int] = ALL,
    rounds: int = ROUNDS,
    settled: float = 1e-6,
    least: float = -np.inf,
) -> tuple[Floats, Floats]:
    """The best pair (3, K) of each combination over the free coordinates and `normal` there.

    By Gauss and Newton's steps. In a bent valley each of them first leads up its side and the next one back
    into it; so a few may fail before one goes back to the best pair so far and tries shorter ones.
    Combinations rest that have settled, or that gain far too little to reach ln evidence of `least`.
    """
    t, G, rows = start.copy(), posterior.normal(start), np.arange(start.shape[1])
    going, best, top = posterior, t.copy(), G.copy()
    here, N, length, failed = best, top, np.ones(rows.size), np.zeros(rows.size, dtype=np.int64)
    on = np.ones(rows.size, dtype=bool)
    for done in range(rounds):
        step, log_det = _step(N, free)
        here = here + step * length
        N = going.normal(here)
        gained = top[3, 3] - N[3, 3]
        better = (gained >= 0) & on
        best, top = np.where(better, here, best), np.where(better, N, top)
        on &= ~better | (gained > settled * (1 + top[3, 3])) | (length < 1)
        failed = np.where(better, 0, failed + 1)
        back = failed >= PATIENCE
        here, N, failed = np.where(back, best, here), np.where(back, top, N), np.where(back, 0, failed)
        length = np.where(back, length / 4, np.where(better, np.minimum(4 * length, 1.0), length))
        on &= length > SHORTEST
        if done > 4:
            lacking = least - going.constant + (top[3, 3] + log_det - len(free) * LN_2_PI) / 2
            on &= ~better | (lacking < 20 * gained + 5)
        if on.sum() < 0.8 * on.size or done == rounds - 1:
            t[:, rows], G[:, :, rows] = best, top
            if not on.any() or done == rounds - 1:
                break
            rows, length, failed = rows[on], length[on], failed[on]
            best, top, here, N = best[:, on], top[:, :, on], here[:, on], N[:, :, on]
            going, on = going.take(np.flatnonzero(on)), np.ones(rows.size, dtype=bool)
    return t, G


def approach(posterior: Posterior, start: Floats) -> Floats:
    """Pairs near the best ones, from far away: readings are sharpened by and by.

    Sharp readings make narrow bent valleys, along which a climb from far away would creep.
    """
    for spread in SOFTENED:
        start, _ = climb(posterior.softened(spread), start, rounds=3, settled=1e-2)
    return start


def _step(G: Floats, free: Sequence[int]) -> tuple[Floats, Floats]:
    """Gauss and Newton's step (3, K), no coordinate by more than 2; and ln det of the curvature (K,)."""
    H = [[G[p, q] for q in free] for p in free]
    solution, log_det = _solve(H, [G[p, 3] for p in free])
    step = np.zeros((3, G.shape[2]))
    step[list(free)] = solution
    return step * np.minimum(1.0, 2.0 / np.maximum(np.abs(step).max(0), 1e-12)), log_det


def _solve(H: list[list[Floats]], right: list[Floats]) -> tuple[Floats, Floats]:
    """Solutions of H x = right and ln det H, by LDL' written out over small H, whole arrays at a time."""
    m, x = len(right), list(right)
    rows = [list(row) for row in H]
    for j in range(m):
        for i in range(j + 1, m):
            ratio = rows[j][i] / rows[j][j]
            for k in range(i, m):
                rows[i][k] = rows[i][k] - ratio * rows[j][k]
            x[i] = x[i] - ratio * x[j]
    log_det = np.log(np.maximum([rows[j][j] for j in range(m)], 1e-300)).sum(0)
    for i in reversed(range(m)):
        for k in range(i + 1, m):
            x[i] = x[i] - rows[i][k] * x[k]
        x[i] = x[i] / rows[i][i]
    return np.array(x), log_det


def laplace(posterior: Posterior, t: Floats, G: Floats, free: Sequence[int] = ALL) -> Floats:
    """ln of the integral over the free coordinates around t, shape (K,), from `normal` there."""
    _, log_det = _step(G, free)
    dots = posterior.prior.log_sign(t[1])
    return np.asarray(posterior.constant + dots - (G[3, 3] + log_det - len(free) * LN_2_PI) / 2)
