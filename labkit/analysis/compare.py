"""Reading against statement: discrepancy, its uncertainty with covariance, and a verdict that claims no more.

E_n = (reading - statement) / U, U = 2u of the difference (ISO/IEC 17043:2010, B.3.1.3 e, with the
covariance kept). A verdict "inconsistent" must hold with the gain error shared within a range and with
one of its own in each reading; otherwise it says what it depends on. If two rival statements both pass,
the verdict is "cannot tell".

First order is trusted while the neglected bias of the mean stays below a tenth of u, and while the
uncertainty itself is known well enough for a coverage factor of 2; beyond, the verdict asks whether the
95 % Monte Carlo interval of the difference holds zero, and U is half the width of that interval.
"""

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from labkit import quantity
from labkit.analysis.break_even import (
    ANY,
    BOUND,
    NONE,
    carried_text,
    displayed,
    error_text,
    least_error,
)
from labkit.analysis.observations import Observation
from labkit.analysis.routes import ALIKE, SINGLES, Coupling, Route, Situation, preferred
from labkit.errors import EntryError
from labkit.theory.network import identify
from labkit.theory.number import Number
from labkit.theory.pair import STABLE_FORMS
from labkit.theory.wiring import Connection
from labkit.uncertainty.components import Input
from labkit.uncertainty.montecarlo import MonteCarlo, monte_carlo
from labkit.uncertainty.propagate import Estimate, first_order, second_order
from labkit.words import analysis as words
from labkit.words import labels

# What can be stated about a reading: rules that predict it from other readings.
#
# `coupled` rests on the preferred route that does not use the reading itself; `uncoupled` on the two single
# readings; `only winding n` is the rival that one winding alone is in circuit (a clamp open, clips across
# one winding).

SERIES = (Connection.SERIES_AIDING, Connection.SERIES_OPPOSING)
PARALLEL = (Connection.PARALLEL_AIDING, Connection.PARALLEL_OPPOSING)
SHORTED = (Connection.SHORT_CIRCUIT_1, Connection.SHORT_CIRCUIT_2)
TOGETHER = (*SERIES, *PARALLEL, *SHORTED)


@dataclass(frozen=True)
class Statement:
    """A rule that says what a connection reads, given other readings.

    Attributes
    ----------
    rule : "coupled", "uncoupled", "only winding 1" or "only winding 2"
    connection : what it speaks of
    inputs : the observations that it rests on
    value : the inductance in H from the inputs' values, for every kind of number
    route : the route to the pair, for the coupled rule
    """

    rule: str
    connection: Connection
    inputs: tuple[Observation, ...]
    value: Callable[..., Number]
    route: Route | None = None

    @cached_property
    def estimate(self) -> Estimate | None:
        """What it says, to first order; None where the inputs give no finite value."""
        try:
            found: Estimate = first_order(self.value, [o.input for o in self.inputs])
        except EntryError:
            return None
        return found

    @property
    def no_value(self) -> str:
        """The sentence that says so."""
        facts = {"what": labels.CONNECTION[self.connection], "rule": self.title}
        used = ", ".join(f"{o.id} {o.text}" for o in self.inputs)
        return words.NO_VALUE.format(**facts, readings=used)

    @property
    def title(self) -> str:
        """In words."""
        return words.STATEMENT[self.rule]

    def least_error(self, observation: Observation) -> float:
        """How wrong the meter would have to be for the reading to be as stated, all readings off at once."""
        number = self.rule.removeprefix("only winding ")
        taken = self.connection if number == self.rule else SINGLES[int(number) - 1]
        displays = [*map(displayed, self.inputs), displayed(observation, taken)]
        return least_error(displays, NONE if self.rule == "uncoupled" else ANY)


def coupled(connection: Connection, by: Coupling) -> Statement:
    """What the pair reads by a route to (L1, L2, B)."""
    form, pair = STABLE_FORMS[connection], by.route.pair
    return Statement("coupled", connection, by.observations, lambda *x: form(*pair(*x)), by.route)


def uncoupled(connection: Connection, singles: tuple[Observation, Observation]) -> Statement:
    """What two inductors that share no flux read: B = L1 + L2."""
    form = STABLE_FORMS[connection]
    return Statement("uncoupled", connection, singles, lambda L1, L2: form(L1, L2, L1 + L2))


def only_winding(connection: Connection, number: int, single: Observation) -> Statement:
    """What the meter reads if just one winding is in circuit."""
    return Statement(f"only winding {number}", connection, (single,), lambda L: L)


def statements(observation: Observation, situation: Situation) -> tuple[Statement, ...]:
    """Everything that can be stated about an observation from the others at its frequency."""
    connection = observation.connection
    if (
        connection is None and situation.dots is None and situation.windings == 2
    ):  # what is stated below is the same for either polarity
        connection = identify(observation.wiring, ALIKE)
    if connection not in TOGETHER:
        return ()
    pool, found = situation.pool(observation), []
    by = preferred(situation.couplings(observation), without=connection)
    if by and observation.connection:
        found.append(coupled(connection, by))
    if all(single in pool for single in SINGLES):
        found.append(uncoupled(connection, (pool[SINGLES[0]], pool[SINGLES[1]])))
    if connection not in SHORTED:  # a missing short is what the uncoupled rule says already
        found += [only_winding(connection, n, pool[s]) for n, s in enumerate(SINGLES, start=1) if s in pool]
    return tuple(found)


Kind = Literal["consistent", "inconsistent", "depends on gain", "cannot tell", "no uncertainty stated"]

SEED = 20310506
"""Seed of every Monte Carlo run in a comparison; it stands in the report."""

TRUSTED_BIAS = 0.1
"""First order is trusted while what it neglects stays below this part of u."""

LEAST_FREEDOM = 14
"""From here on Student's factor is within a tenth of 2 (JCGM 100:2008, table G.2, 95.45 %)."""


@dataclass(frozen=True)
class Difference:
    """A difference that should be zero, under one assumption about the gain.

    Attributes
    ----------
    estimate : to first order, in H
    bias : second-order bias of the mean, in H; None if the second-order terms are of no use
    monte_carlo : run only where first order is not to be trusted
    """

    estimate: Estimate
    bias: float | None
    monte_carlo: MonteCarlo | None = None

    @property
    def E_n(self) -> float:
        """Discrepancy over expanded uncertainty; infinite for a discrepancy without any uncertainty."""
        low, high = self.interval
        if U := (high - low) / 2:
            return self.estimate.value / U
        return math.copysign(math.inf, self.estimate.value) if self.estimate.value else 0.0

    @property
    def passes(self) -> bool:
        """Whether zero is within the expanded uncertainty."""
        low, high = self.interval
        return low <= 0 <= high

    @property
    def interval(self) -> tuple[float, float]:
        """Interval of the difference, in H: y ± 2u, or the shortest 95 % interval of the draws."""
        if self.monte_carlo:
            return self.monte_carlo.shortest
        y, U = self.estimate.value, 2 * self.estimate.standard_uncertainty
        return y - U, y + U


def difference(function: Callable[..., Number], inputs: Iterable[Input]) -> Difference:
    """A difference with its uncertainty, by Monte Carlo if first order is not to be trusted."""
    inputs = list(inputs)
    estimate = first_order(function, inputs)
    bias = _bias(function, inputs)
    straight = bias is not None and abs(bias) <= TRUSTED_BIAS * estimate.standard_uncertainty
    if straight and estimate.degrees_of_freedom >= LEAST_FREEDOM:
        return Difference(estimate, bias)
    return Difference(estimate, bias, monte_carlo(function, inputs, seed=SEED))


def _bias(function: Callable[..., Number], inputs: list[Input]) -> float | None:
    try:
        return second_order(function, inputs).bias
    except EntryError:
        return None


@dataclass(frozen=True)
class Verdict:
    """What may be said, and which rival statements pass as well."""

    kind: Kind
    rivals: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """In words."""
        if self.rivals:
            return words.RIVALS.format(rivals=", ".join(words.STATEMENT[r] for r in self.rivals))
        return words.VERDICT[self.kind]


@dataclass(frozen=True)
class Comparison:
    """One reading against one statement.

    Attributes
    ----------
    observation, statement : the two sides
    predicted : what the statement gives, with its uncertainty (gain shared)
    shared, independent : the difference under either assumption about the gain
    verdict : a structured value
    least_error : without a card, how wrong the meter would have to be for the statement to hold, all readings
        behind it off at once; None if uncertainties are stated
    bound : the least error beyond which the statement is refuted
    """

    observation: Observation
    statement: Statement
    predicted: Estimate
    shared: Difference
    independent: Difference
    verdict: Verdict
    least_error: float | None = None
    bound: float = BOUND

    @property
    def stated(self) -> bool:
        """Whether every reading behind it has an uncertainty."""
        return self.verdict.kind != "no uncertainty stated"

    @property
    def may_pass(self) -> bool:
        """Whether the statement holds under at least one assumption about the gain, or within the bound."""
        if self.least_error is not None:
            return self.least_error <= self.bound
        return self.shared.passes or self.independent.passes

    @property
    def refuted(self) -> bool:
        """Whether the statement holds under no assumption, or without a card not within the bound."""
        return self.verdict.kind == "inconsistent" or (self.least_error is not None and not self.may_pass)

    @property
    def verdict_text(self) -> str:
        """The verdict in words; without a card with the error that the meter would need."""
        if self.least_error is None:
            return self.verdict.text
        if self.least_error == 0:
            return words.FITS_DIGITS
        sentence = words.OPEN if self.may_pass else words.COMPARE_REFUTED
        return sentence.format(error=error_text(self.least_error), all=self.all_readings)

    @property
    def all_readings(self) -> str:
        """How many readings are behind it, in words."""
        return all_of(1 + len(self.statement.inputs))

    @property
    def connection_title(self) -> str:
        """What the reading is of: the connection, or the wiring while the dots leave it open."""
        known = self.observation.connection
        return labels.CONNECTION[known] if known else self.observation.wiring.notation

    @property
    def size(self) -> str:
        """The reading against what the statement says, such as "1000 times less"."""
        ratio = self.observation.value / self.predicted.value
        less = 0 < ratio < 1 / 2
        times = float(f"{1 / ratio if less else ratio:.2g}")
        return (words.TIMES_LESS if less else words.TIMES).format(ratio=two_digits(times))

    @property
    def discrepancy(self) -> float:
        """Reading minus statement, in H."""
        return self.shared.estimate.value

    @property
    def predicted_text(self) -> str:
        """What the statement gives, rounded to its uncertainty or to what the displays carry."""
        if not self.stated:
            return carried_text(self.predicted, self.statement.inputs)
        return quantity.display(self.predicted.value, self.predicted.standard_uncertainty)

    @property
    def discrepancy_text(self) -> str:
        """Reading minus statement, rounded to its uncertainty or to what the displays carry."""
        if not self.stated:
            return carried_text(self.shared.estimate, (self.observation, *self.statement.inputs))
        return quantity.display(self.discrepancy, self.shared.estimate.standard_uncertainty)

    @property
    def E_n_text(self) -> str:
        """E_n with the gain shared and, if it looks different, independent; empty without uncertainty."""
        return _E_n_text(self.shared, self.independent) if self.stated else ""

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of all readings behind it."""
        sides = (self.observation, *self.statement.inputs)
        return tuple(dict.fromkeys(id for side in sides for id in side.ids))

    @property
    def break_even(self) -> str:
        """How wrong the meter would have to be, on this reading alone, for the statement to hold."""
        reading, statement = self.observation.value, self.predicted.value
        if reading * statement <= 0:
            amount = quantity.display(abs(self.discrepancy), significant_digits=2)
            return words.BREAK_EVEN_AMOUNT.format(amount=amount)
        factor = max(reading / statement, statement / reading)
        if factor >= 3:
            return words.BREAK_EVEN_FACTOR.format(factor=two_digits(factor))
        return words.BREAK_EVEN.format(percent=two_digits(abs(self.discrepancy / reading) * 100))


@dataclass(frozen=True)
class Closure:
    """A relation between readings that holds for every pair."""

    name: str
    observations: tuple[Observation, ...]
    shared: Difference
    independent: Difference
    verdict: Verdict
    least_error: float | None = None
    bound: float = BOUND

    @property
    def title(self) -> str:
        """In words."""
        return words.CLOSURE[self.name]

    @property
    def verdict_text(self) -> str:
        """The verdict in words; without a card with the error that the meter would need."""
        if self.least_error is None:
            return self.verdict.text
        if self.least_error == 0:
            return words.FITS_DIGITS
        sentence = words.OPEN if self.least_error <= self.bound else words.COMPARE_REFUTED
        return sentence.format(error=error_text(self.least_error), all=all_of(len(self.observations)))

    @property
    def text(self) -> str:
        """The difference, rounded to its uncertainty or to what the displays carry."""
        estimate = self.shared.estimate
        if self.verdict.kind == "no uncertainty stated":
            return carried_text(estimate, self.observations)
        return quantity.display(estimate.value, estimate.standard_uncertainty)

    @property
    def E_n_text(self) -> str:
        """E_n under both assumptions; empty without uncertainty."""
        return (
            "" if self.verdict.kind == "no uncertainty stated" else _E_n_text(self.shared, self.independent)
        )


C = Connection
CLOSURES: dict[str, tuple[tuple[Connection, ...], Callable[..., Number]]] = {
    "series_sum": (
        (C.SELF_1, C.SELF_2, C.SERIES_AIDING, C.SERIES_OPPOSING),
        lambda L1, L2, A, B: A + B - 2 * (L1 + L2),
    ),
    "quarter_law": (
        (C.SERIES_AIDING, C.SERIES_OPPOSING, C.PARALLEL_AIDING, C.PARALLEL_OPPOSING),
        lambda A, B, P, Q: P * B / A - Q,
    ),
    "short_circuits": (
        (C.SELF_1, C.SELF_2, C.SHORT_CIRCUIT_1, C.SHORT_CIRCUIT_2),
        lambda L1, L2, S1, S2: S1 * L2 / L1 - S2,
    ),
    "product": (
        (C.SELF_2, C.SERIES_OPPOSING, C.PARALLEL_AIDING, C.SHORT_CIRCUIT_1),
        lambda L2, B, P, S1: P * B / L2 - S1,
    ),
}


def compare_all(shared: Situation, independent: Situation) -> tuple[Comparison, ...]:
    """Every reading of both windings together against everything that can be stated about it."""
    twins = {o.id: o for o in independent.observations}
    found: list[Comparison] = []
    for observation in shared.observations:
        row = [
            _compared(observation, statement, statement.estimate, twins, shared.bound)
            for statement in statements(observation, shared)
            if statement.estimate
        ]
        found += _with_rivals(row)
    return tuple(found)


def _compared(
    o: Observation,
    statement: Statement,
    predicted: Estimate,
    twins: Mapping[str, Observation],
    bound: float,
) -> Comparison:
    def off(reading: Number, *x: Number) -> Number:
        return reading - statement.value(*x)

    sides = (o, *statement.inputs)
    shared, independent = (
        difference(off, [side.input for side in each]) for each in (sides, [twins[side.id] for side in sides])
    )
    kind = _kind((shared, independent), stated=all(side.no_uncertainty is None for side in sides))
    least = statement.least_error(o) if kind == "no uncertainty stated" else None
    return Comparison(o, statement, predicted, shared, independent, Verdict(kind), least, bound)


def _kind(differences: tuple[Difference, ...], stated: bool) -> Kind:
    if not stated:
        return "no uncertainty stated"
    passing = {d.passes for d in differences}
    if len(passing) > 1:
        return "depends on gain"
    return "consistent" if passing.pop() else "inconsistent"


def _with_rivals(row: list[Comparison]) -> list[Comparison]:
    """The same comparisons, where those that pass name the rivals that pass as well."""
    passing = [c.statement.rule for c in row if c.verdict.kind == "consistent"]
    if len(passing) < 2:
        return row
    return [
        replace(
            c, verdict=Verdict("cannot tell", tuple(rule for rule in passing if rule != c.statement.rule))
        )
        if c.statement.rule in passing
        else c
        for c in row
    ]


def closures(shared: Situation, independent: Situation) -> tuple[Closure, ...]:
    """The closures that the readings allow."""
    found = []
    pool, twins = shared.pool(), {o.id: o for o in independent.observations}
    for name, (needs, function) in CLOSURES.items():
        if all(need in pool for need in needs):
            used = tuple(pool[need] for need in needs)
            off, off_independent = (
                difference(function, [o.input for o in side]) for side in (used, [twins[o.id] for o in used])
            )
            kind = _kind((off, off_independent), stated=all(o.no_uncertainty is None for o in used))
            least = least_error(map(displayed, used)) if kind == "no uncertainty stated" else None
            found.append(Closure(name, used, off, off_independent, Verdict(kind), least, shared.bound))
    return tuple(found)


def reading_verdict(row: Mapping[str, Comparison]) -> tuple[str, ...]:
    """What a reading without a card says of the rules: its verdict with the factor, then why.

    Parameters
    ----------
    row : its comparisons by rule; empty, or without the uncoupled rule, gives nothing
    """
    uncoupled, coupled = row.get("uncoupled"), row.get("coupled")
    if uncoupled is None or uncoupled.least_error is None:
        return ()
    rivals = [c.statement.title for rule, c in row.items() if rule.startswith("only") and c.may_pass]
    facts = {"size": uncoupled.size, "rivals": words.OR.join(rivals), "all": uncoupled.all_readings}
    facts |= {"error": error_text(uncoupled.least_error), "All": uncoupled.all_readings.capitalize()}
    if uncoupled.least_error == 0:
        told: tuple[str, ...] = (words.READS_UNCOUPLED,)
    elif uncoupled.may_pass:
        told = (words.READS_OPEN, words.READS_OPEN_ERROR)
    elif rivals:
        told = (words.READS_UNLESS, words.READS_RIVALS, words.READS_BREAK_EVEN)
    elif coupled and coupled.refuted:
        told = (words.READS_NEITHER, words.READS_CHECK, words.READS_BREAK_EVEN)
    else:
        told = (words.READS_COUPLED, words.READS_BREAK_EVEN)
    return tuple(sentence.format(**facts) for sentence in told)


def all_of(count: int) -> str:
    """That many readings at once, in words."""
    return words.ALL[min(count, 3)].format(count=count)


def two_digits(number: float) -> str:
    """A number without unit to two significant digits, digits before the decimal mark all shown."""
    return quantity.display(number, unit="", significant_digits=2)


def _E_n_text(shared: Difference, independent: Difference) -> str:
    texts = dict.fromkeys(_rounded(d.E_n) for d in (shared, independent))
    return " / ".join(texts)


def _rounded(E_n: float) -> str:
    digits = 2 if abs(E_n) < 10 else 0
    return f"{E_n:.{digits}f}".replace("-", "−").replace("inf", "∞")
