"""Is the meter within its card? Readings of reference parts against what is stated of them.

The quantity judged is the discrepancy E = indication - stated value. The card allows ±(percent + digits) for
it. What is not the meter's own error makes the uncertainty of E: the reference's, half a count of the
display, and the scatter of repeats. The card's own terms do not enter it: they are the limits.

Leads that were not zeroed are part of what was read, so their own reading is taken off. If they were zeroed,
or if nobody noted it, a verdict must hold with their reading taken off and left in; else it depends on the
leads. What the leads read is known only as well as the meter's card says, the very meter that is judged.

Decision rule and conformance probability: JCGM 106:2012 (`labkit.uncertainty.conformity`).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from labkit.analysis.observations import Observation, observe
from labkit.bench.bench import Bench
from labkit.bench.card import Card
from labkit.bench.readings import Reading
from labkit.bench.references import Reference, references
from labkit.theory.network import path_and_loops
from labkit.theory.wiring import Wiring
from labkit.uncertainty.component import Input
from labkit.uncertainty.conformity import Conformity, Decision, conformity
from labkit.uncertainty.propagate import first_order
from labkit.words import meter_check as words

METERS_OWN = ("gain", "digits")
"""Labels of the components that the card's limits consist of."""


@dataclass(frozen=True)
class Check:
    """One reference part as one meter read it at one frequency.

    Attributes
    ----------
    reference, observation : the two sides
    card : of the meter, None if it has none
    leads : what the leads alone read with this meter, None if that was not read
    """

    reference: Reference
    observation: Observation
    card: Card | None
    leads: Observation | None

    @property
    def meter(self) -> str:
        """The meter's name, empty if not recorded."""
        return self.observation.readings[0].meter or ""

    @property
    def zeroed(self) -> str | None:
        """State of the leads as recorded; None if not recorded or not the same in all repeats."""
        return _same(reading.leads for reading in self.observation.readings)

    @property
    def ids(self) -> tuple[str, ...]:
        """Everything that it rests on, as ids in the record."""
        used = self.leads.ids if self.leads and self.without_leads else ()
        return (self.reference.id, *self.observation.ids, *used)

    @cached_property
    def limit(self) -> float:
        """What the card allows at the indication, ± in H; only where `no_verdict` does not forbid it."""
        assert self.card is not None
        first = self.observation.readings[0]
        on = self.card.range_for(first.shown, first.frequency)
        return on.limit(self.observation.value) * self.card.derating(first.dissipation_factor)

    @property
    def no_verdict(self) -> str | None:
        """Why there can be no verdict, in words; None if there can."""
        read_at, stated_at = self.observation.frequency, self.reference.frequency
        if self.observation.no_uncertainty:
            return self.observation.no_uncertainty
        if self.reference.spread is None:
            return words.NO_SPREAD
        if stated_at and (read_at is None or read_at.value != stated_at.value):
            return words.OTHER_FREQUENCY.format(stated=stated_at, read=read_at or words.UNRECORDED)
        if self.zeroed == "not zeroed" and self.leads is None:
            return words.LEADS_NOT_READ
        return None

    @cached_property
    def as_read(self) -> Conformity | None:
        """The discrepancy with the leads in it; None where there is no verdict or it would mislead."""
        if self.no_verdict or self.zeroed == "not zeroed":
            return None
        return self._judged(Input("leads", 0.0))

    @cached_property
    def without_leads(self) -> Conformity | None:
        """The discrepancy with the reading of the leads taken off; None if they were not read."""
        return None if self.no_verdict or self.leads is None else self._judged(self.leads.input)

    @property
    def judged(self) -> Conformity | None:
        """The one that is shown: as read, or without the leads if they were not zeroed."""
        return self.as_read or self.without_leads

    @property
    def decision(self) -> Decision:
        """Whether the meter is within its card here."""
        found = {each.decision for each in (self.as_read, self.without_leads) if each}
        return found.pop() if len(found) == 1 else "cannot tell"

    @property
    def depends_on_leads(self) -> bool:
        """Whether taking the leads off changes the decision."""
        both = (self.as_read, self.without_leads)
        return all(both) and len({each.decision for each in both if each}) > 1

    def _judged(self, leads: Input) -> Conformity:
        shown = self.observation.input
        terms = tuple(term for term in shown.terms if term[0].label not in METERS_OWN)
        indication = Input(shown.name, shown.value, terms)
        inputs = [indication, leads, self.reference.input]
        error = first_order(lambda x, leads, stated: x - leads - stated, inputs)
        return conformity(error, -self.limit, self.limit)


def checks(bench: Bench) -> tuple[Check, ...]:
    """Every reading of a reference part against what is stated of it, in the order they were read."""
    stated, observed, cards = references(bench.events), observe(bench), bench.cards
    return tuple(
        Check(reference, o, cards.get(o.readings[0].meter or ""), _leads_for(o, observed, bench.windings))
        for o in observed
        for reference in _references_of(o, stated, bench.windings)
    )


def leads_alone(bench: Bench) -> tuple[Observation, ...]:
    """What the leads read, both clips on one node."""
    return tuple(o for o in observe(bench) if _on_one_node(o.wiring, bench.windings))


def leads_open(bench: Bench) -> tuple[Reading, ...]:
    """Readings of the leads with nothing between the clips, of whatever quantity the meter showed."""
    return tuple(r for r in bench.readings if path_and_loops(r.wiring, bench.windings) is None)


def _references_of(o: Observation, stated: tuple[Reference, ...], windings: int) -> Iterator[Reference]:
    """The reference that the clips are on: at the reading's frequency if stated there, else whichever is."""
    built = o.wiring.canonical(windings)
    here = [r for r in stated if Wiring.parse(f"{r.winding}a {r.winding}b").canonical(windings) == built]
    at = o.frequency.value if o.frequency else None
    matching = [r for r in here if r.frequency and r.frequency.value == at]
    yield from matching or [r for r in here if r.frequency is None] or here


def _leads_for(o: Observation, observed: tuple[Observation, ...], windings: int) -> Observation | None:
    """What the leads read with the same meter in the same state, best at the same frequency."""
    meter, state = o.readings[0].meter, _same(r.leads for r in o.readings)
    alone = [
        each
        for each in observed
        if _on_one_node(each.wiring, windings)
        and each.readings[0].meter == meter
        and _same(r.leads for r in each.readings) == state
    ]
    at = o.frequency.value if o.frequency else None
    same = [each for each in alone if each.frequency and each.frequency.value == at]
    return next(iter(same or alone), None)


def _on_one_node(wiring: Wiring, windings: int) -> bool:
    first, second = wiring.clip_nodes(windings)
    return first == second


def _same(states: Iterator[str | None]) -> str | None:
    found = set(states)
    return found.pop() if len(found) == 1 else None
