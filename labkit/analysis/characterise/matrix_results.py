"""The inductance matrix as a result that shows itself."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from labkit import quantity
from labkit.analysis.characterise.matrix import Check, Matrix, matrix
from labkit.bench.bench import Bench
from labkit.bench.card import Gain
from labkit.show import Part, Shown, Table, Text
from labkit.theory.wiring import Terminal
from labkit.uncertainty.estimate import Estimate
from labkit.words import compare as compare_words
from labkit.words import matrix as words


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
        return Table((words.CORNER, *names.values()), rows, words.TITLE.format(frequency=frequency))

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
    return words.PASSIVE[answer if m.stated else f"unstated {answer}"]


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
