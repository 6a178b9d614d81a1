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
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np

from labkit import quantity
from labkit.analysis.observations import Observation, observe
from labkit.arrays import Floats
from labkit.choke.spectra import Swept, together
from labkit.errors import EntryError, MissingReading
from labkit.quantity import Quantity
from labkit.record.bench import Bench
from labkit.record.card import Gain
from labkit.show import Part, Shown, Table, Text
from labkit.sweeps.sweep import hertz
from labkit.theory.network import input_inductance, path_and_loops
from labkit.theory.number import Number, sqrt
from labkit.theory.wiring import Terminal, Wiring
from labkit.uncertainty.components import Component, Input
from labkit.uncertainty.least_squares import LeastSquares, covariance_of, least_squares
from labkit.uncertainty.propagate import BudgetRow, Estimate, first_order
from labkit.words import analysis as compare_words
from labkit.words import choke as words

# Entries of a symmetric matrix of N windings, and the wiring that has all of them side by side.

Entry = tuple[int, int]
"""Numbers of two windings, counted from 1."""


def entries_of(windings: int) -> tuple[Entry, ...]:
    """Winding numbers of the entries of a symmetric matrix, row by row from the diagonal on.

    >>> entries_of(2)
    ((1, 1), (1, 2), (2, 2))
    """
    return tuple(itertools.combinations_with_replacement(range(1, windings + 1), 2))


def all_parallel(polarity: Sequence[int]) -> Wiring:
    """All windings side by side, those of polarity -1 turned round.

    >>> print(all_parallel((1, 1, -1)))
    1a 1b | 1a=2a=3b 1b=2b=3a
    """
    near = tuple(Terminal(n, "a" if s > 0 else "b") for n, s in enumerate(polarity, start=1))
    far = tuple(Terminal(n, "b" if s > 0 else "a") for n, s in enumerate(polarity, start=1))
    return Wiring((near[0], far[0]), (near, far))


def square(entries: Sequence[Number], windings: int) -> list[list[Number]]:
    """The symmetric matrix of these entries, in rows."""
    by_key = dict(zip(entries_of(windings), entries, strict=True))
    numbers = range(1, windings + 1)
    return [[by_key[min(i, j), max(i, j)] for j in numbers] for i in numbers]


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
    def L(self) -> Floats:
        """The matrix, shape (N, N), in H."""
        return np.array(square([x.value for x in self.inputs], self.windings))

    @cached_property
    def covariance(self) -> Floats:
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
            raise EntryError(
                f"'{frequency}' is no frequency at which an inductance was read; there are "
                f"readings at {known}.",
                frequency,
            )
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


def _design(used: Sequence[Observation], windings: int) -> Floats:
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


# The inductance matrix as a result that shows itself.


@dataclass(frozen=True)
class InductanceMatrix(Shown):
    """The matrix, what follows from it, and how far it can be believed; `matrix` holds the numbers."""

    matrix: Matrix

    @property
    def entries_table(self) -> Table:
        """The matrix itself; the lower half repeats the upper one."""
        m, numbers = self.matrix, range(1, self.matrix.windings + 1)
        names = {n: words.WINDING.format(n=n) for n in numbers}
        rows = tuple(
            (names[i], *(self._text(partial(Matrix.entry, i=i, j=j)) for j in numbers)) for i in numbers
        )
        frequency = str(m.frequency) if m.frequency else words.NO_FREQUENCY
        return Table((words.CORNER, *names.values()), rows, words.MATRIX_TITLE.format(frequency=frequency))

    @property
    def correlations_table(self) -> Table | None:
        """Correlation coefficients of the entries; None without uncertainties."""
        m = self.matrix
        u = np.sqrt(np.diag(m.covariance))
        if not m.stated or not u.all():
            return None
        names = [x.name for x in m.inputs]
        shown = [[f"{r:z.5f}".replace("-", "−") for r in row] for row in m.covariance / np.outer(u, u)]
        rows = tuple((name, *row) for name, row in zip(names, shown, strict=True))
        return Table((words.CORRELATIONS_HEADER, *names), rows, words.CORRELATIONS_TITLE)

    @property
    def pairs_table(self) -> Table:
        """M, k, line-to-line inductance and imbalance of each two windings."""
        return Table(words.PAIRS_HEADER, tuple(map(self._pair, self.matrix.pairs)), words.PAIRS_TITLE)

    def _pair(self, pair: tuple[int, int]) -> tuple[str, ...]:
        henry = (Matrix.entry, Matrix.line_to_line, Matrix.difference)
        bare = (Matrix.coupling, Matrix.gap, Matrix.imbalance)
        M, B, difference = (self._text(partial(of, i=pair[0], j=pair[1])) for of in henry)
        k, gap, share = (self._text(partial(of, i=pair[0], j=pair[1]), "") for of in bare)
        return f"{pair[0]}, {pair[1]}", M, k, gap, B, difference, share

    @property
    def together_table(self) -> Table:
        """What all windings do together."""
        rows = (
            (words.COMMON_MODE, self._text(lambda m: m.common_mode)),
            (words.SMALLEST, self._text(lambda m: m.smallest_eigenvalue, "")),
        )
        return Table(words.TOGETHER_HEADER, rows, words.TOGETHER_TITLE)

    @property
    def checks_table(self) -> Table | None:
        """Readings that the matrix was not made from; None if there are none."""
        rows = tuple(map(self._checked, self.matrix.checks))
        return Table(words.CHECKS_HEADER, rows, words.CHECKS_TITLE) if rows else None

    def _checked(self, check: Check) -> tuple[str, ...]:
        o = check.observation
        name = words.CHECK.format(id=o.id, wiring=o.wiring.notation)
        if check.expected is None:
            return name, o.text, words.NO_VALUE, "", ""
        E_n = "" if check.E_n is None else f"{check.E_n:.2f}".replace("-", "−")
        verdict = words.SHOULD[None if check.E_n is None else abs(check.E_n) <= 1]
        u = check.expected.standard_uncertainty if self.matrix.stated else None
        return name, o.text, quantity.display(check.expected.value, u), E_n, verdict

    @property
    def sentences(self) -> tuple[Text, ...]:
        """What it was made from, whether a passive part can have it, and what does not fit."""
        m = self.matrix
        ids = ", ".join(id for o in m.observations for id in o.ids)
        texts = [Text(words.USED.format(ids=ids), "note")]
        if m.own_gain:
            texts.append(Text(compare_words.ROUTES_NOTE, "note"))
        if m.stated and m.fit.degrees_of_freedom:
            facts = {"readings": len(m.observations), "entries": len(m.inputs)}
            chi, p = f"{m.fit.chi_squared:.2f}", f"{m.fit.p_value:.2g}"
            spare = words.SPARE.format(**facts, chi=chi, freedom=m.fit.degrees_of_freedom, p=p)
            texts.append(Text(spare, "note"))
        if m.contradictory:
            texts.insert(0, Text(contradiction(m), "caution"))
        if reasons := sorted({o.no_uncertainty for o in m.observations if o.no_uncertainty}):
            ids = ", ".join(o.id for o in m.observations if o.no_uncertainty)
            texts.append(Text(words.UNSTATED.format(ids=ids, reason="; ".join(reasons)), "caution"))
        texts += self._polarity()
        return (self._passive(), *texts)

    def _passive(self) -> Text:
        return Text(passivity(self.matrix), "plain" if self.matrix.positive_semidefinite else "caution")

    def _polarity(self) -> list[Text]:
        m = self.matrix
        ends = (m.marked[0].end if m.marked else "a", "")
        read = " ".join(str(Terminal(n, _end(ends[0], s))) for n, s in enumerate(m.polarity, start=1))
        if not m.marks_agree and m.marked:
            marked = " ".join(map(str, m.marked))
            return [Text(words.POLARITY.format(read=read, marked=marked), "caution")]
        return [] if m.marked else [Text(words.POLARITY_READ.format(dots=read), "note")]

    def parts(self) -> tuple[Part, ...]:
        tables = (self.pairs_table, self.together_table, self.checks_table, self.correlations_table)
        return (self.entries_table, *self.sentences, *(table for table in tables if table))

    def _text(self, pick: Callable[[Matrix], Estimate | None], unit: str = "H") -> str:
        estimate = pick(self.matrix)
        if estimate is None:
            return words.NO_VALUE
        return quantity.display(estimate.value, self.matrix.u(pick), unit)


def passivity(m: Matrix) -> str:
    """The sentence about whether a passive part can have this matrix."""
    if m.smallest_eigenvalue is None:
        return words.NO_COUPLING
    answer = {True: "yes", False: "no", None: "cannot tell"}[m.positive_semidefinite]
    return words.MATRIX_PASSIVE[answer if m.stated else f"unstated {answer}"]


def contradiction(m: Matrix) -> str:
    """The sentence about readings that are not those of one matrix."""
    ids = ", ".join(id for o in m.observations for id in o.ids)
    return words.CONTRADICT.format(p=f"{m.fit.p_value:.1g}", ids=ids)


def _end(first: str, sign: int) -> str:
    """The end of a dot that lies with or against that of winding 1."""
    return first if sign > 0 else {"a": "b", "b": "a"}[first]


def inductance_matrix(bench: Bench, frequency: str | None = None, gain: Gain = "shared") -> InductanceMatrix:
    """The inductance matrix of any number of windings with its covariance, from singles and series readings.

    Parameters
    ----------
    bench : Bench
    frequency : as shown; None for the one at which most such readings were taken
    gain : whether readings on one range of one meter share their gain error ("shared", "independent")

    Raises
    ------
    MissingReading
        if the readings do not determine every entry; the sentence names those that are missing.
    EntryError
        if nothing was read at this frequency.
    """
    return InductanceMatrix(matrix(bench, frequency, gain))


# The inductance matrix from sweeps of windings in series, at the lowest frequency that they share.
#
# As from readings, but for the errors: a stated accuracy is a limit of error of |Z| and, as the same part
# of a radian, of its phase, for each sweep on its own, so that each has two sources, and no two share one.
#
# Symbols: Z impedance (Ω) · ω = 2πf · L = Im Z/ω (H).


@dataclass(frozen=True, kw_only=True)
class SweptObservation(Observation):
    """What one sweep says at one frequency, in the place of a reading."""

    sweep: Swept
    at: Quantity

    @property
    def id(self) -> str:
        """Id of the sweep."""
        return self.sweep.id

    @property
    def ids(self) -> tuple[str, ...]:
        """The same, as there are no repeats."""
        return (self.sweep.id,)

    @property
    def lines(self) -> tuple[int, ...]:
        """Record line of the sweep."""
        return () if self.sweep.line is None else (self.sweep.line,)

    @property
    def wiring(self) -> Wiring:
        """As the sweep was stored."""
        return self.sweep.wiring

    @property
    def frequency(self) -> Quantity:
        """Of the point."""
        return self.at

    @property
    def text(self) -> str:
        """The value rounded to its uncertainty."""
        return quantity.display(self.value, self.standard_uncertainty)


def swept_matrix(sweeps: Iterable[Swept], windings: int, marked: tuple[Terminal, ...] | None) -> Matrix:
    """The inductance matrix of a part from its sweeps.

    Parameters
    ----------
    sweeps : of impedance; those of windings in series count
    windings : N
    marked : dotted ends as marked on the part, None if unknown

    Raises
    ------
    MissingReading
        if they do not determine every entry, or share no frequency.
    """
    series = [sweep for sweep in sweeps if _in_series(sweep.wiring, windings)]
    found: list[Observation] = []
    at = None
    if series:
        common = together(*series)
        if not len(common.frequency):
            raise MissingReading(words.NO_SHARED.format(ids=", ".join(common.ids)))
        f = float(common.frequency[0])
        at = quantity.parse(hertz(f), "frequency")
        found = [_observed(s, complex(Z[0]), f, at) for s, Z in zip(series, common.Z, strict=True)]
    return matrix_of(found, windings, at, marked, "sweeps")


def _in_series(wiring: Wiring, windings: int) -> bool:
    found = path_and_loops(wiring, windings)
    return found is not None and not found[1] and any(found[0])


def _observed(sweep: Swept, Z: complex, f: float, at: Quantity) -> SweptObservation:
    w, limit = 2 * np.pi * f, sweep.accuracy or 0.0
    sources = (
        (Component(f"size of {sweep.id}", "rectangular", limit), Z.imag / w),
        (Component(f"phase of {sweep.id}", "rectangular", limit), Z.real / w),
    )
    input = Input(sweep.id, Z.imag / w, sources if limit else ())
    why = None if limit else words.NO_ACCURACY
    return SweptObservation((), None, input, why, sweep=sweep, at=at)
