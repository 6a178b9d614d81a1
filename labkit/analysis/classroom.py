"""What `class_results` returns: robust figures of the class, one's own beside them, and what may be said."""

import math
import statistics
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from labkit import quantity
from labkit.analysis.analysis import Analysis
from labkit.analysis.compare import CLOSURES
from labkit.analysis.observations import Observation
from labkit.errors import EntryError
from labkit.record.bench import Bench
from labkit.record.references import references
from labkit.show import Part, Shown, Table, Text
from labkit.theory.number import Number
from labkit.theory.pair import STABLE_FORMS
from labkit.theory.wiring import Connection
from labkit.uncertainty.decisions import E_n_score, Robust, algorithm_a, made, z_score
from labkit.uncertainty.propagate import Estimate, first_order
from labkit.words import classroom as words

# A class side by side: what each group's record gives, robust figures of all, and scores.
#
# Where each group has a part of its own there is no common value: then only the closures, relations that
# hold whatever the pair, are scored. Where one part went round, the values themselves are. A group is a
# record and a name; the name finds one's own group and is shown nowhere.

C = Connection
READ = (
    C.SELF_1, C.SELF_2, C.SERIES_AIDING, C.SERIES_OPPOSING, C.PARALLEL_AIDING, C.PARALLEL_OPPOSING,
    C.SHORT_CIRCUIT_1, C.SHORT_CIRCUIT_2,
)  # fmt: skip
COUPLING = {"mutual_inductance": "H", "coupling_coefficient": ""}
LEAST = 5
"""Fewer groups are no class: their robust figures would say next to nothing."""

SIZES: dict[str, Callable[..., Number]] = {
    "series_sum": lambda L1, L2, A, B: 2 * (L1 + L2),  # noqa: ARG005 - one signature a closure
    "quarter_law": lambda A, B, P, Q: Q,  # noqa: ARG005
    "short_circuits": lambda L1, L2, S1, S2: S2,  # noqa: ARG005
    "product": lambda L2, B, P, S1: S1,  # noqa: ARG005
}
"""What the difference of each closure is divided by, so that large and small parts can be compared."""


def _parallel(L1: Number, L2: Number, B: Number, P: Number) -> Number:
    return P / STABLE_FORMS[C.PARALLEL_AIDING](L1, L2, B) - 1


Needs = tuple[Connection, ...]
RESIDUALS: dict[str, tuple[Needs, Callable[..., Number]]] = {
    "coupled_parallel": ((C.SELF_1, C.SELF_2, C.SERIES_OPPOSING, C.PARALLEL_AIDING), _parallel),
    **{
        name: (needs, lambda *x, off=off, size=SIZES[name]: off(*x) / size(*x))
        for name, (needs, off) in CLOSURES.items()
    },
}
"""Relations between a group's own readings, each a difference that should be zero, over its size."""


@dataclass(frozen=True)
class Value:
    """A value with its standard uncertainty, None if none is stated."""

    value: float
    standard_uncertainty: float | None = None

    @property
    def U(self) -> float | None:
        """Expanded uncertainty, coverage factor 2."""
        return None if self.standard_uncertainty is None else 2 * self.standard_uncertainty


@dataclass(frozen=True)
class Group:
    """What one record gives.

    Attributes
    ----------
    name : to find one's own group by
    part : as the record names it
    frequency : main test frequency as shown, empty if not recorded
    values : readings and M in H, k, by name
    residuals : relative closure residuals, by name
    digest : hash that the record ends in; two files with one hash are one record
    """

    name: str
    part: str
    frequency: str
    values: dict[str, Value]
    residuals: dict[str, Value]
    invented: bool = False
    digest: str = ""


def group_of(name: str, bench: Bench) -> Group:
    """What a bench gives for a class; a reading that is zero or negative counts like any other."""
    analysis = Analysis(bench)
    frequency = analysis.shared.main_frequency
    return Group(
        name,
        bench.part_name,
        str(frequency or ""),
        dict(_values(analysis)) if bench.windings == 2 else {},
        dict(_residuals(analysis)) if bench.windings == 2 else {},
        bench.invented,
        bench.record.digest or "",
    )


def _values(analysis: Analysis) -> Iterator[tuple[str, Value]]:
    first = {o.connection: o for o in reversed(analysis.shared.observations)}
    read = first | analysis.shared.pool()
    for connection in READ:
        if o := read.get(connection):
            yield str(connection), Value(o.value, o.standard_uncertainty)
    if by := analysis.believed:
        estimates = (by.mutual_inductance, by.coefficient)
        for name, estimate in zip(COUPLING, estimates, strict=True):
            yield name, _value(estimate, by.stated)


def _residuals(analysis: Analysis) -> Iterator[tuple[str, Value]]:
    pool = analysis.shared.pool()
    for name, (needs, off) in RESIDUALS.items():
        if all(need in pool for need in needs):
            used: list[Observation] = [pool[need] for need in needs]
            try:
                estimate = first_order(off, [o.input for o in used])
            except EntryError:  # a prediction of zero, say: this record has no such residual
                continue
            yield name, _value(estimate, all(o.no_uncertainty is None for o in used))


def _value(estimate: Estimate, stated: bool) -> Value:
    return Value(estimate.value, estimate.standard_uncertainty if stated else None)


def reference_of(bench: Bench) -> Group:
    """What a reference record gives: its readings, and for a winding with a stated value that value."""
    group = group_of("", bench)
    stated = {
        str((C.SELF_1, C.SELF_2)[r.winding - 1]): Value(
            r.input.value, r.input.standard_uncertainty if r.spread else None
        )
        for r in references(bench.events)
        if r.winding <= 2
    }
    return replace(group, values=group.values | stated)


@dataclass(frozen=True)
class Across:
    """One quantity across the class.

    Attributes
    ----------
    name, unit : of the quantity; residuals are relative and have no unit
    values : of all groups that have it, in rising order, without names
    own : one's own group's, None if there is none
    scored : whether values of different groups may be compared at all
    target : what each value is held against for E_n, None for the class's own robust mean
    """

    name: str
    unit: str
    values: tuple[Value, ...]
    own: Value | None
    scored: bool
    target: Value | None = None

    @cached_property
    def robust(self) -> Robust | None:
        """x* and s* by algorithm A; None for fewer than `LEAST` groups."""
        if len(self.values) < LEAST:
            return None
        return algorithm_a([each.value for each in self.values])

    @property
    def held_against(self) -> Value | None:
        """The value for E_n: the target, or x* with its standard uncertainty 1.25 s*/sqrt(p)."""
        if self.target or not self.robust:
            return self.target
        return Value(self.robust.location, self.robust.standard_uncertainty)

    def z(self, each: Value) -> float | None:
        """z of one value; None if values are not comparable or show no spread."""
        if not (self.scored and self.robust):
            return None
        return z_score(each.value, self.robust.location, self.robust.scale)

    def E_n(self, each: Value) -> float | None:
        """E_n of one value; None if it or what it is held against has no uncertainty.

        A robust mean contains the value itself; that correlation, of order 1/p, is left out.
        """
        against = self.held_against
        if not self.scored or against is None or each.U is None or against.U is None:
            return None
        return E_n_score(each.value, each.U, against.value, against.U)


def across(groups: Sequence[Group], own: Group | None, shared: bool, target: Group | None) -> list[Across]:
    """Every quantity and residual that at least one group gives."""
    found = [
        Across(
            name,
            COUPLING.get(name, "H"),
            _sorted(group.values.get(name) for group in groups),
            own.values.get(name) if own else None,
            scored=shared,
            target=target.values.get(name) if target and shared else None,
        )
        for name in (*map(str, READ), *COUPLING)
    ]
    found += [
        Across(
            name,
            "",
            _sorted(group.residuals.get(name) for group in groups),
            own.residuals.get(name) if own else None,
            scored=True,
            target=Value(0.0, 0.0),
        )
        for name in RESIDUALS
    ]
    return [row for row in found if row.values]


def _sorted(values: Iterator[Value | None]) -> tuple[Value, ...]:
    return tuple(sorted((v for v in values if v is not None), key=lambda v: v.value))


LOOK, ACT = 2.0, 3.0  # |z|, ISO 13528:2022, 9.4
STEPS = (1e3, 1e-3, 1e6, 1e-6)
FAR = 1.5  # of U, from which the class as a whole is remarked on; beyond 1 one row in twenty lies by chance
NEAR = 0.4  # decades between a value and a step of one prefix for it to be called one


@dataclass(frozen=True)
class Expected(Shown):
    """What every closure residual should be, and what the groups' own uncertainties allow."""

    rows: tuple[tuple[str, ...], ...]

    def parts(self) -> tuple[Part, ...]:
        if not self.rows:
            return (Text(words.NO_CLOSURES, "caution"),)
        return Table(words.EXPECTED_HEADER, self.rows, words.EXPECTED_TITLE), Text(
            words.EXPECTED_NOTE, "note"
        )


@dataclass(frozen=True)
class Overview(Shown):
    """How many records there are, and how they are taken."""

    sentence: str

    def parts(self) -> tuple[Part, ...]:
        return (Text(self.sentence),)


class ClassResults(Shown):
    """A class side by side; what it shows names nobody.

    Attributes
    ----------
    groups : what each record gave, with its name; for whoever leads the class, and shown nowhere
    own : one's own group, None if none was named
    shared : whether one part went round, so that the values themselves are compared
    unread : how many records could not be read
    told : further sentences of the summary: how the records are taken, what could not be looked into
    """

    def __init__(
        self,
        groups: Sequence[Group],
        own: Group | None = None,
        *,
        shared: bool = False,
        told: Sequence[str] = (),
        reference: Group | None = None,
        unread: int = 0,
    ) -> None:
        self.groups, self.own, self.shared, self.unread = tuple(groups), own, shared, unread
        self._told, self._reference = told, reference

    @property
    def invented(self) -> str:
        """How many of the records say that their data are invented: `all`, `some`, or empty for none."""
        said = {group.invented for group in self.groups}
        return "" if True not in said else "some" if False in said else "all"

    @cached_property
    def rows(self) -> tuple[Across, ...]:
        """Every quantity, then every closure residual, that the records give."""
        return tuple(across(self.groups, self.own, self.shared, self._reference))

    def __getitem__(self, name: str) -> Across:
        for row in self.rows:
            if row.name == name:
                return row
        known = ", ".join(row.name for row in self.rows) or words.NONE
        raise EntryError(f"No record gives '{name}'; there are {known}.", name)

    @property
    def overview(self) -> Overview:
        """How many records there are, and how they are taken, to look at before any figure."""
        return Overview(self.summary)

    @property
    def expected(self) -> Expected:
        """What should come out, before it is looked at."""
        return Expected(tuple(map(_expected_row, (row for row in self.rows if row.name in RESIDUALS))))

    @property
    def findings(self) -> tuple[str, ...]:
        """What may be said about the class, one sentence each; no group is named."""
        return tuple(_findings(self))

    def parts(self) -> tuple[Part, ...]:
        tables = list(_tables(self))
        notes = [Text(words.NOTE, "note")] if tables else []
        return (Text(self.summary), *tables, *notes, *map(Text, self.findings))

    @property
    def summary(self) -> str:
        """How many records there are, and what became of them."""
        with_values = sum(bool(group.values) for group in self.groups)
        said = [words.COUNT.format(count=len(self.groups) + self.unread, usable=with_values)]
        if self.unread:
            said.append(words.UNREAD.format(count=self.unread))
        if empty := len(self.groups) - with_values:
            said.append(words.EMPTY.format(count=empty))
        if with_values < LEAST:
            said.append(words.TOO_FEW.format(least=LEAST))
        said += self._told
        said += [words.INVENTED[self.invented]] if self.invented else []
        return " ".join(said)


def text(value: Value, row: Across) -> str:
    """A value of a row as shown, rounded to its uncertainty; residuals in per cent."""
    if row.name in RESIDUALS:
        u = None if value.standard_uncertainty is None else 100 * value.standard_uncertainty
        return quantity.display(100 * value.value, u, "%", significant_digits=3)
    return quantity.display(value.value, value.standard_uncertainty, row.unit)


def size_text(size: float, row: Across) -> str:
    """A spread, to two digits."""
    if row.name in RESIDUALS:
        return quantity.display(100 * size, unit="%", significant_digits=2)
    return quantity.display(size, unit=row.unit, significant_digits=2)


def to_digits(value: float, spread: float, row: Across) -> str:
    """A value down to the second digit of a spread."""
    factor, unit = (100, "%") if row.name in RESIDUALS else (1, row.unit)
    shown, _, in_unit = quantity.display_parts(factor * value, factor * spread or None, unit, 1)
    return f"{shown} {in_unit}".rstrip()


def centre(robust: Robust) -> Value:
    """The robust mean with its standard uncertainty."""
    return Value(robust.location, robust.standard_uncertainty)


def _tables(results: ClassResults) -> Iterator[Table]:
    values = [row for row in results.rows if row.name not in RESIDUALS]
    residuals = [row for row in results.rows if row.name in RESIDUALS]
    if values:
        title = words.VALUES_SHARED if results.shared else words.VALUES_OWN
        yield Table(words.CLASS_HEADER, tuple(map(_row, values)), title)
    if residuals:
        yield Table(words.CLASS_HEADER, tuple(map(_row, residuals)), words.RESIDUALS_TITLE)
    if own := [_own_row(row, row.own) for row in results.rows if row.own and row.scored]:
        yield Table(words.OWN_HEADER, tuple(own), words.OWN_TITLE)


def _row(row: Across) -> tuple[str, ...]:
    label, count, raw = words.QUANTITY[row.name], str(len(row.values)), [each.value for each in row.values]
    if row.robust is None:
        return (label, count, "", "", "", "")
    middle = to_digits(statistics.median(raw), row.robust.scale, row)
    spreads = (size_text(row.robust.scale, row), middle, size_text(made(raw), row))
    return (label, count, text(centre(row.robust), row), *spreads)


def _own_row(row: Across, own: Value) -> tuple[str, ...]:
    against = text(row.held_against, row) if row.held_against else ""
    scores = ("" if score is None else _score(score) for score in (row.z(own), row.E_n(own)))
    return (words.QUANTITY[row.name], text(own, row), *scores, "0 %" if row.name in RESIDUALS else against)


def _score(score: float) -> str:
    if abs(score) > 1000:
        return words.FAR_UP if score > 0 else words.FAR_DOWN
    return f"{score:.{2 if abs(score) < 10 else 0}f}".replace("-", "−")


def _expected_row(row: Across) -> tuple[str, ...]:
    stated = [each.U for each in row.values if each.U is not None]
    allowed = size_text(statistics.median(stated), row) if stated else ""
    return words.QUANTITY[row.name], "0 %", allowed, str(len(stated))


def _findings(results: ClassResults) -> Iterator[str]:
    yield from _frequencies(results.groups)
    for row in results.rows:
        if row.robust:
            yield from _thousandfold(row, row.robust)
    scored = [row for row in results.rows if row.scored and row.robust]
    yield from _far(scored)
    for row in scored:
        yield from _against_target(row)
    if scored and results.own:
        yield from _own(scored)


def _frequencies(groups: Sequence[Group]) -> Iterator[str]:
    counts = Counter(group.frequency or words.UNRECORDED for group in groups if group.values)
    if len(counts) > 1:
        listed = ", ".join(f"{frequency} ({count})" for frequency, count in counts.most_common())
        yield words.FREQUENCIES.format(listed=listed)


def _thousandfold(row: Across, robust: Robust) -> Iterator[str]:
    """A reading a thousand times what the class reads is said, with what it would do to an ordinary mean."""
    if row.name not in READ or robust.location <= 0:
        return
    for each in row.values:
        if step := _step(each.value / robust.location):
            yield words.THOUSANDFOLD.format(
                what=words.QUANTITY[row.name].capitalize(),
                value=text(each, row),
                step=words.STEP[step],
                x=text(centre(robust), row),
                mean=quantity.display(statistics.fmean(v.value for v in row.values)),
            )


def _step(ratio: float) -> float | None:
    if ratio <= 0:
        return None
    return next((step for step in STEPS if abs(math.log10(ratio / step)) < NEAR), None)


def _far(scored: Sequence[Across]) -> Iterator[str]:
    """How many values stand apart, by z and by E_n, and where z cannot be formed."""
    z = {row.name: [abs(s) for v in row.values if (s := row.z(v)) is not None] for row in scored}
    E_n = {row.name: [abs(s) for v in row.values if (s := row.E_n(v)) is not None] for row in scored}
    if still := [words.QUANTITY[name] for name, scores in z.items() if not scores]:
        yield words.NO_SPREAD.format(what="; ".join(still))
    if any(z.values()):
        yield _counted(z, ACT, words.OUTSIDE, words.ALL_INSIDE)
    if any(E_n.values()):
        yield _counted(E_n, 1.0, words.NOT_COVERED, words.ALL_COVERED)


def _counted(scores: dict[str, list[float]], limit: float, some: str, none: str) -> str:
    found = {name: sum(score > limit for score in each) for name, each in scores.items()}
    told = [
        words.OF.format(what=words.QUANTITY[name], far=far, count=len(scores[name]))
        for name, far in found.items()
        if far
    ]
    return some.format(limit=f"{limit:g}", what="; ".join(told)) if told else none.format(limit=f"{limit:g}")


def _against_target(row: Across) -> Iterator[str]:
    """The class as a whole against what is known independently of it (ISO 13528:2022, 7.8)."""
    if row.target is None or row.robust is None or row.target.standard_uncertainty is None:
        return
    off = row.robust.location - row.target.value
    U = 2 * math.hypot(row.robust.standard_uncertainty, row.target.standard_uncertainty)
    if abs(off) <= FAR * U:
        return
    what = words.ZERO if row.name in RESIDUALS else text(row.target, row)
    difference = text(Value(off, U / 2), row)
    yield words.CLASS_OFF.format(what=words.QUANTITY[row.name], difference=difference, target=what)


def _own(scored: Sequence[Across]) -> Iterator[str]:
    look = [
        words.QUANTITY[row.name]
        for row in scored
        if row.own and (z := row.z(row.own)) is not None and abs(z) >= LOOK
    ]
    yield words.OWN_LOOK.format(what="; ".join(look), look=f"{LOOK:g}") if look else words.OWN_INSIDE
