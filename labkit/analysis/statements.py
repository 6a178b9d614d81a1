"""What can be stated about a reading: rules that predict it from other readings.

`coupled` rests on the preferred route that does not use the reading itself; `uncoupled` on the two single
readings; `only winding n` is the rival that one winding alone is in circuit (a clamp open, clips across
one winding).
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from labkit.analysis.break_even import ANY, NONE, displayed, least_error
from labkit.analysis.observations import Observation
from labkit.analysis.routes import SINGLES, Coupling, Route, preferred
from labkit.analysis.situation import ALIKE, Situation
from labkit.errors import EntryError
from labkit.theory.network import identify
from labkit.theory.number import Number
from labkit.theory.pair import STABLE_FORMS
from labkit.theory.wiring import Connection
from labkit.uncertainty.estimate import Estimate
from labkit.uncertainty.propagate import first_order
from labkit.words import compare as words
from labkit.words import labels

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
