"""The inductance matrix of N windings with its covariance, from readings of windings in series.

A wiring that closes no loop drives the meter's current through a signed path s of windings and reads

    X = s' L s,

which is linear in the entries: singles give the diagonal, each two windings in series (either way round)
an entry beside it. The entries follow from all such readings by generalised least squares, so more readings
than entries are checked against each other, and each entry keeps the readings' own sources of error: a gain
that a range shares correlates the entries as it does the readings. Nothing is clipped; whether the matrix is
positive semidefinite, as that of a passive part is, is told with its uncertainty.

Symbols: L[i, j] in H, currents counted from end a to end b of each winding · s_i = ±1 by the dots ·
coupling matrix k_ij = L_ij / sqrt(L_ii L_jj).

Source: energy of linear windings, W = i' L i / 2 >= 0; ISO/TS 28037:2010, clause 8 (correlated readings).
"""

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from labkit import quantity
from labkit.analysis.characterise.entries import Entry, all_parallel, entries_of, square
from labkit.analysis.observations import Observation, observe
from labkit.bench.bench import Bench
from labkit.bench.card import Gain
from labkit.errors import EntryError, MissingReading
from labkit.quantity import Quantity
from labkit.theory.network import input_inductance, path_and_loops
from labkit.theory.number import Number, sqrt
from labkit.theory.wiring import Terminal
from labkit.uncertainty.component import Input
from labkit.uncertainty.estimate import BudgetRow, Estimate
from labkit.uncertainty.least_squares import LeastSquares, covariance_of, least_squares
from labkit.uncertainty.propagate import first_order
from labkit.words import matrix as words

Array = NDArray[np.float64]

CONTRADICTORY = 1e-3
"""Probability of a larger chi-squared below which readings count as contradicting each other."""


@dataclass(frozen=True)
class Check:
    """A reading that the matrix was not made from, and what the matrix says it should be, in H.

    Both are None where the matrix gives no finite value.
    """

    observation: Observation
    expected: Estimate | None
    difference: Estimate | None
    stated: bool

    @property
    def E_n(self) -> float | None:
        """Reading minus matrix over its expanded uncertainty; None if there is none."""
        if not self.stated or not self.difference or not self.difference.standard_uncertainty:
            return None
        return self.difference.value / (2 * self.difference.standard_uncertainty)


@dataclass(frozen=True)
class Matrix:
    """The inductance matrix of N windings at one frequency.

    Attributes
    ----------
    windings : N
    frequency : as shown, None if not recorded
    observations : the readings that it was made from
    inputs : the entries L11, L12, ... LNN in H, row by row above the diagonal, tied to the readings' errors
    stated : whether every reading behind it has an uncertainty
    fit : the least squares behind it
    marked : dotted ends as marked on the part, None if unknown
    others : readings at the same frequency that it was not made from
    basis : "readings" or "sweeps"
    own_gain : the same with a gain error of its own in each reading, where both are to be believed
    """

    windings: int
    frequency: Quantity | None
    observations: tuple[Observation, ...]
    inputs: tuple[Input, ...]
    stated: bool
    fit: LeastSquares
    marked: tuple[Terminal, ...] | None
    others: tuple[Observation, ...] = ()
    basis: str = "readings"
    own_gain: "Matrix | None" = None

    def u(self, pick: Callable[["Matrix"], Estimate | None]) -> float | None:
        """Standard uncertainty of an estimate, the wider of both gain laws; None if not stated."""
        both = [pick(m) for m in (self, self.own_gain) if m]
        return max(e.standard_uncertainty for e in both if e) if self.stated else None

    @property
    def keys(self) -> tuple[Entry, ...]:
        """Winding numbers of each entry, (1, 1), (1, 2), ... (N, N)."""
        return entries_of(self.windings)

    @property
    def L(self) -> Array:
        """The matrix, shape (N, N), in H."""
        return np.array(square([x.value for x in self.inputs], self.windings))

    @cached_property
    def covariance(self) -> Array:
        """Covariance of the entries in the order of `keys`, shape (P, P), in H²."""
        every = [self.entry(i, j) for i, j in self.keys]
        return np.array([[a.covariance(b) for b in every] for a in every])

    def estimate(self, function: Callable[[list[list[Number]]], Number]) -> Estimate | None:
        """Any quantity of the matrix, to first order; the function takes rows of entries in H.

        None where the matrix gives no finite value: one that no passive part has can divide by zero.
        """
        return _first_order(lambda *x: function(square(x, self.windings)), self.inputs)

    def entry(self, i: int, j: int) -> Estimate:
        """The entry of windings i and j, counted from 1, in H."""
        input = self.inputs[self.keys.index((min(i, j), max(i, j)))]
        return Estimate(input.value, (BudgetRow(input, 1.0),))

    @property
    def pairs(self) -> tuple[Entry, ...]:
        """Each two windings, (1, 2), (1, 3), ..."""
        return tuple(itertools.combinations(range(1, self.windings + 1), 2))

    def coupling(self, i: int, j: int) -> Estimate | None:
        """k of two windings, positive if their dots are on equally named ends; never clipped."""
        return self.estimate(lambda L: _coupling(L, i, j))

    def gap(self, i: int, j: int) -> Estimate | None:
        """1 - |k|, below zero where the readings do not resolve it."""
        sign = 1 if self.L[i - 1, j - 1] >= 0 else -1
        return self.estimate(lambda L: 1 - sign * _coupling(L, i, j))

    def line_to_line(self, i: int, j: int) -> Estimate | None:
        """Series-opposing inductance of two windings, 2(L - M) if they are equal, in H."""
        s = self.polarity
        sign = s[i - 1] * s[j - 1]
        return self.estimate(lambda L: L[i - 1][i - 1] + L[j - 1][j - 1] - 2 * sign * L[i - 1][j - 1])

    def difference(self, i: int, j: int) -> Estimate | None:
        """L_ii - L_jj, in H."""
        return self.estimate(lambda L: L[i - 1][i - 1] - L[j - 1][j - 1])

    def imbalance(self, i: int, j: int) -> Estimate | None:
        """The same relative to their mean."""
        return self.estimate(
            lambda L: 2 * (L[i - 1][i - 1] - L[j - 1][j - 1]) / (L[i - 1][i - 1] + L[j - 1][j - 1])
        )

    @property
    def polarity(self) -> tuple[int, ...]:
        """s_i: +1 for a winding whose dot is on the end named like that of winding 1, by the readings."""
        return tuple(1 if x >= 0 else -1 for x in (1.0, *self.L[0, 1:]))

    @property
    def marks_agree(self) -> bool:
        """Whether the dots as marked, if they are, go with the signs of all mutual inductances."""
        if self.marked is None:
            return True
        s = [1 if dot.end == self.marked[0].end else -1 for dot in self.marked]
        return all(s[i - 1] * s[j - 1] * self.L[i - 1, j - 1] >= 0 for i, j in self.pairs)

    @cached_property
    def common_mode(self) -> Estimate | None:
        """1/(1' L^-1 1) with the dots on one node: all windings in parallel, in H."""
        wiring = all_parallel(self.polarity)
        return self.estimate(lambda L: input_inductance(L, wiring))

    @cached_property
    def smallest_eigenvalue(self) -> Estimate | None:
        """Of the coupling matrix; 1 - |k| for a pair. Its slopes are those of v' k v with the vector held.

        None if a winding alone read zero or less: then there is no coupling matrix.
        """
        if (np.diag(self.L) <= 0).any():
            return None
        scale = np.sqrt(np.diag(self.L))
        _, vectors = np.linalg.eigh(self.L / np.outer(scale, scale))
        v = vectors[:, 0]
        return self.estimate(
            lambda L: sum(
                v[i] * v[j] * (1.0 if i == j else _coupling(L, i + 1, j + 1))
                for i, j in itertools.product(range(self.windings), repeat=2)
            )
        )

    @property
    def positive_semidefinite(self) -> bool | None:
        """Whether it is, by more than the expanded uncertainty; None where that cannot be told."""
        least = self.smallest_eigenvalue
        if least is None:
            return False
        u = self.u(lambda m: m.smallest_eigenvalue)
        if u is None:
            return least.value >= 0
        U = 2 * u
        return None if abs(least.value) <= U else least.value > 0

    @property
    def contradictory(self) -> bool:
        """Whether more readings than entries cannot be those of one matrix."""
        p = self.fit.p_value if self.stated else None
        return p is not None and p < CONTRADICTORY

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """Every other reading at this frequency against the matrix."""
        return tuple(self._check(o) for o in self.others)

    def _check(self, o: Observation) -> Check:
        def expected(L: list[list[Number]]) -> Number:
            return input_inductance(L, o.wiring)

        off = _first_order(lambda y, *x: y - expected(square(x, self.windings)), [o.input, *self.inputs])
        return Check(o, self.estimate(expected), off, self.stated and o.no_uncertainty is None)


def _first_order(function: Callable[..., Number], inputs: Sequence[Input]) -> Estimate | None:
    try:
        found: Estimate = first_order(function, inputs)
    except EntryError:
        return None
    return found


def matrix(bench: Bench, frequency: str | None = None, gain: Gain = "shared") -> Matrix:
    """The inductance matrix of a bench from its singles and series readings.

    Parameters
    ----------
    bench : Bench
    frequency : as shown; None for the one at which most such readings were taken
    gain : "shared" gives the wider uncertainty of a gain shared on a range and one of each reading's own

    Raises
    ------
    MissingReading
        if they do not determine every entry; the sentence names the readings that are missing.
    EntryError
        if nothing was read at this frequency.
    """
    at, here = _at(observe(bench, gain), frequency, bench.windings)
    found = matrix_of(here, bench.windings, at, bench.dots)
    if gain == "independent" or not found.stated:
        return found
    return replace(found, own_gain=matrix(bench, frequency, "independent"))


def matrix_of(
    here: Sequence[Observation],
    windings: int,
    at: Quantity | None,
    marked: tuple[Terminal, ...] | None,
    basis: str = "readings",
) -> Matrix:
    """The matrix from observations at one frequency; MissingReading if they do not determine it."""
    series = [o for o in here if _path(o, windings) is not None]
    stated = [o for o in series if o.no_uncertainty is None]
    used = stated if _determine(stated, windings) else series
    if not _determine(used, windings):
        raise MissingReading(_missing(used, windings))
    bands = used is stated
    fit = _fitted(used, windings, bands)
    names = [words.ENTRY.format(i=i, j=j) for i, j in entries_of(windings)]
    inputs = fit.inputs(names, [o.input for o in used])
    others = tuple(o for o in here if o not in used and _reads(o, windings))
    return Matrix(windings, at, tuple(used), inputs, bands, fit, marked, others, basis)


def _at(
    found: Sequence[Observation], frequency: str | None, windings: int
) -> tuple[Quantity | None, list[Observation]]:
    """The observations at one frequency; those without a recorded one belong to all."""
    shown = {o.frequency.value: o.frequency for o in found if o.frequency}
    if frequency is not None:
        wanted = quantity.parse(frequency, "frequency").value
        if wanted not in shown:
            known = ", ".join(map(str, shown.values())) or words.NOTHING
            raise EntryError(words.NO_SUCH_FREQUENCY.format(given=frequency, known=known), frequency)
    else:
        usable = [o.frequency.value for o in found if o.frequency and _path(o, windings) is not None]
        wanted = max(dict.fromkeys(usable), key=usable.count, default=0.0)
    here = [o for o in found if o.frequency is None or o.frequency.value == wanted]
    return shown.get(wanted), here


def _path(o: Observation, windings: int) -> tuple[int, ...] | None:
    """Signs of the windings in the meter's path; None if a loop is closed or nothing is in it."""
    found = path_and_loops(o.wiring, windings)
    if found is None or found[1] or not any(found[0]):
        return None
    return tuple(found[0])


def _reads(o: Observation, windings: int) -> bool:
    """Whether windings, and not the leads alone, are at the clips."""
    found = path_and_loops(o.wiring, windings)
    return found is not None and any(found[0])


def _design(used: Sequence[Observation], windings: int) -> Array:
    """Weight of each entry in each reading, shape (n, P)."""
    keys = entries_of(windings)
    paths = [_path(o, windings) or () for o in used]
    rows = [[s[i - 1] * s[j - 1] * (1 if i == j else 2) for i, j in keys] for s in paths]
    return np.array(rows, dtype=np.float64).reshape(len(used), len(keys))


def _determine(used: Sequence[Observation], windings: int) -> bool:
    design = _design(used, windings)
    return bool(used) and int(np.linalg.matrix_rank(design)) == design.shape[1]


def _missing(used: Sequence[Observation], windings: int) -> str:
    keys = entries_of(windings)
    have = {tuple(sorted(i + 1 for i, s in enumerate(_path(o, windings) or ()) if s)) for o in used}
    needed = [
        words.MISSING_SINGLE.format(n=i) if i == j else words.MISSING_PAIR.format(i=i, j=j)
        for i, j in sorted(keys, key=lambda key: key[0] != key[1])
        if ((i,) if i == j else (i, j)) not in have
    ]
    given = ", ".join(o.id for o in used) or words.NOTHING
    return words.MISSING.format(windings=windings, given=given, missing="; ".join(needed))


def _fitted(used: Sequence[Observation], windings: int, stated: bool) -> LeastSquares:
    """Entries by generalised least squares; readings without uncertainty weigh by their own size."""
    y, J = np.array([o.value for o in used]), _design(used, windings)
    largest = float(np.abs(y).max()) or 1.0
    V = covariance_of([o.input for o in used]) if stated else np.diag(np.where(y == 0, largest, y) ** 2)
    start, *_ = np.linalg.lstsq(J, y)
    sizes = np.maximum(np.abs(start), 1e-6 * largest)  # an entry may be zero: windings that share no flux
    return least_squares(y, V, lambda t: J @ t, lambda _: J, start, sizes=sizes)


def _coupling(L: list[list[Number]], i: int, j: int) -> Number:
    return L[i - 1][j - 1] / sqrt(L[i - 1][i - 1] * L[j - 1][j - 1])
