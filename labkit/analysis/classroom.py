"""A class side by side: what each group's record gives, robust figures of all, and scores.

Where each group has a part of its own there is no common value: then only the closures, relations that hold
whatever the pair, are scored. Where one part went round, the values themselves are. A group is a record and a
name; the name finds one's own group and is shown nowhere.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from labkit.analysis.analysis import Analysis
from labkit.analysis.compare import CLOSURES
from labkit.analysis.observations import Observation
from labkit.bench.bench import Bench
from labkit.bench.references import references
from labkit.errors import EntryError
from labkit.theory.number import Number
from labkit.theory.pair import STABLE_FORMS
from labkit.theory.wiring import Connection
from labkit.uncertainty.estimate import Estimate
from labkit.uncertainty.propagate import first_order
from labkit.uncertainty.robust import E_n_score, Robust, algorithm_a, z_score

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
