"""From the checks of a meter to findings in words."""

import math
import statistics
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal
from functools import cached_property

from labkit import quantity
from labkit.analysis.analysis import analyse
from labkit.analysis.finding import Figure, Finding, own_predictions
from labkit.analysis.observations import Observation, observe
from labkit.errors import CardError, EntryError, MissingReading
from labkit.quantity import Quantity
from labkit.record.bench import Bench
from labkit.record.card import Card, LeadResidual, Range
from labkit.record.card_entry import allowed, card_toml
from labkit.record.references import Reference, references
from labkit.record.state import Reading
from labkit.show import Part, Shown, Table, Text
from labkit.theory.network import path_and_loops
from labkit.theory.wiring import Wiring
from labkit.uncertainty.components import Component, Input
from labkit.uncertainty.decisions import Conformity, Decision, conformity
from labkit.uncertainty.propagate import first_order
from labkit.words import meter_check as words

# The lead residual that a record supports, and the card that carries it.


@dataclass(frozen=True)
class Residual:
    """What zeroed leads still read, and how far off that may be.

    Attributes
    ----------
    leads : the reading of the leads alone, both clips on one node, zeroed
    card : of the meter that read them
    """

    leads: Observation
    card: Card

    @property
    def value(self) -> str:
        """What the leads add, as shown or as the mean of the repeats in the same unit and digits."""
        return self._text(Decimal(repr(self.leads.value)))

    @property
    def limit(self) -> str:
        """How far off it may be: the card's limits, half a count and twice the scatter, rounded up."""
        widths = (abs(weight) * _reach(source) for source, weight in self.leads.input.terms)
        return self._text(Decimal(repr(sum(widths))), up=True)

    @property
    def card_text(self) -> str:
        """TOML of the card with this residual in it."""
        residual = LeadResidual(inductance=self.value, limit=self.limit)
        return card_toml(self.card.model_copy(update={"lead_residual": residual}))

    def _text(self, size: Decimal, *, up: bool = False) -> str:
        """A size in H with the unit and the last digit of what was shown."""
        shown = self.leads.readings[0].shown
        last = Decimal((0, (1,), int(Decimal(shown.digits).as_tuple().exponent)))
        digits = size.scaleb(-shown.power).quantize(last, ROUND_CEILING if up else ROUND_HALF_EVEN)
        return f"{digits:f} {shown.unit}"


def _reach(source: Component) -> float:
    """How far an error may go: its limit, or twice the standard uncertainty where it has none."""
    return source.scale if source.distribution == "rectangular" else 2 * source.standard_uncertainty


# Is the meter within its card? Readings of reference parts against what is stated of them.
#
# The quantity judged is the discrepancy E = indication - stated value. The card allows ±(percent + digits)
# for it. What is not the meter's own error makes the uncertainty of E: the reference's, half a count of the
# display, and the scatter of repeats. The card's own terms do not enter it: they are the limits.
#
# Leads that were not zeroed are part of what was read, so their own reading is taken off. If they were
# zeroed, or if nobody noted it, a verdict must hold with their reading taken off and left in; else it
# depends on the leads. What the leads read is known only as well as the meter's card says, the very meter
# that is judged.
#
# Decision rule and conformance probability: JCGM 106:2012 (`labkit.uncertainty.decisions`).

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


Finder = Callable[[Bench], Iterator[Finding]]

DECISIONS = {"pass": words.WITHIN, "fail": words.OUTSIDE, "cannot tell": words.CANNOT_TELL}
TONES = {"pass": "strong", "fail": "caution", "cannot tell": "plain"}


def meter_findings(bench: Bench) -> tuple[Finding, ...]:
    """All findings about meters and leads, in reading order."""
    return tuple(finding for finder in FINDERS for finding in finder(bench))


def missing(bench: Bench) -> Iterator[Finding]:
    """What is needed and not there yet."""
    needed = []
    if not leads_alone(bench):
        needed.append(words.MISSING_LEADS)
    if not leads_open(bench) and all(w.topic != words.OPEN_TOPIC for w in bench.own_words):
        needed.append(words.MISSING_OPEN)
    if needed:
        sentence = words.MISSING.format(missing="; ".join(needed))
        yield Finding("missing readings", sentence, {}, (), "caution")
    if not any(bench.cards.values()):
        yield Finding("no card", words.NO_CARDS, {}, (), "caution")
    if not checks(bench):
        yield Finding("no reference read", words.NOTHING_READ, {}, (), "caution")


def verdicts(bench: Bench) -> Iterator[Finding]:
    """Within the card or not, for each reference part that was read."""
    found = checks(bench)
    if any(check.judged for check in found):
        yield Finding("decision rule", words.RULE, {}, ())
    for check in found:
        facts = {"meter": check.meter or words.UNNAMED, "what": name(check), "indication": indication(check)}
        if check.judged is None:
            sentence = words.NO_VERDICT.format(**facts, reason=check.no_verdict)
            yield Finding("no verdict", sentence, {}, check.ids, "caution")
            continue
        judged = check.judged
        facts |= {
            "E": discrepancy(judged),
            "limit": size_text(check.limit),
            "w": size_text(judged.guard_band),
            "probability": probability(judged),
            "leads": check.leads.text if check.leads else "",
        }
        if check.depends_on_leads:
            yield Finding(
                "depends on the leads", words.DEPENDS_ON_LEADS.format(**facts), _figures(check), check.ids
            )
            continue
        kind = f"meter: {words.VERDICT[check.decision]}"
        sentence = DECISIONS[check.decision].format(**facts)
        yield Finding(kind, sentence, _figures(check), check.ids, TONES[check.decision])
        if judged.acceptance is None:
            yield Finding("reference too coarse", words.TOO_COARSE.format(**facts), {}, check.ids, "caution")


def repeats(bench: Bench) -> Iterator[Finding]:
    """How far repeats of a reference scatter, and what that does not show."""
    for check in checks(bench):
        o = check.observation
        n, values = len(o.readings), [reading.shown.value for reading in o.readings]
        if n == 1:
            yield Finding("read once", words.ONCE.format(what=_upper(name(check))), {}, o.ids)
            continue
        s = statistics.stdev(values)
        facts = {"count": n, "what": name(check), "s": size_text(s), "mean": size_text(s / math.sqrt(n))}
        if s == 0:
            step = size_text(o.readings[0].shown.last_digit / math.sqrt(12))
            yield Finding("repeats alike", words.ALIKE.format(**facts, step=step), {}, o.ids)
        else:
            figures = {"scatter": Figure(s), "scatter_of_mean": Figure(s / math.sqrt(n))}
            yield Finding("repeats", words.REPEATED.format(**facts, freedom=n - 1), figures, o.ids)


def leads(bench: Bench) -> Iterator[Finding]:
    """What the leads alone read, and whether that can be carried as a lead residual."""
    alone = leads_alone(bench)
    zeroed_since = {o.readings[0].meter for o in alone if _states(o) == {"zeroed"}}
    for o in alone:
        figures = {"leads": Figure(o.value, "H", o.standard_uncertainty)}
        states, residual = _states(o), residual_of(bench, o)
        if "not zeroed" in states and o.readings[0].meter in zeroed_since:
            yield Finding("leads before zeroing", words.LEADS_BEFORE.format(value=o.text), figures, o.ids)
        elif states == {"zeroed"} and residual:
            facts = {"value": residual.value, "limit": residual.limit}
            yield Finding("lead residual", words.LEADS_ZEROED.format(**facts), figures, o.ids, "strong")
            yield from _carried(o, residual)
        elif states == {"zeroed"}:
            sentence = words.LEADS_UNKNOWN.format(value=o.text, reason=o.no_uncertainty)
            yield Finding("lead residual unknown", sentence, figures, o.ids, "caution")
        else:
            sentence = words.LEADS_NOT_ZEROED if "not zeroed" in states else words.LEADS_UNSAID
            yield Finding("leads not zeroed", sentence.format(value=o.text), figures, o.ids, "caution")


def _states(o: Observation) -> set[str | None]:
    return {reading.leads for reading in o.readings}


def _carried(o: Observation, residual: Residual) -> Iterator[Finding]:
    meter = o.readings[0].meter or ""
    kept = residual.card.lead_residual
    if kept and (kept.inductance, kept.limit) == (residual.value, residual.limit):
        facts = kept.model_dump()
        yield Finding("residual in the card", words.IN_CARD.format(meter=meter, **facts), {}, o.ids)
    else:
        yield Finding("residual offered", words.OFFERED.format(meter=meter), {}, o.ids)


def open_leads(bench: Bench) -> Iterator[Finding]:
    """What the capacitance of the open leads does to the largest reference that was read."""
    read = [check for check in checks(bench) if check.observation.frequency]
    largest = max(read, key=lambda check: check.observation.value, default=None)
    for reading in leads_open(bench):
        if reading.shown.kind != "capacitance":
            sentence = words.OPEN_SHOWN.format(shown=reading.shown)
            yield Finding("leads open", sentence, {}, (reading.id,))
        elif largest:
            yield _loaded(largest, reading)


def _loaded(check: Check, leads: Reading) -> Finding:
    """L_app = L/(1 − ω²LC) of a coil with the capacitance of the leads across it, far below resonance."""
    o, f, C = check.observation, check.observation.frequency, leads.shown.value
    assert f is not None
    x = (2 * math.pi * f.value) ** 2 * o.value * C
    step = o.value * x / (1 - x)
    compared = words.LESS if step < o.readings[0].shown.last_digit else words.MORE
    facts = {"C": leads.shown, "what": name(check), "frequency": f, "step": size_text(step)}
    figures = {"capacitance": Figure(C, "F"), "excess": Figure(step)}
    sentence = words.OPEN_CAPACITANCE.format(**facts, compared=compared)
    return Finding("leads open", sentence, figures, (leads.id, *o.ids))


def calibration(bench: Bench) -> Iterator[Finding]:
    """Whether the meter's calibration was due before it was used."""
    used = {check.meter: check for check in checks(bench)}
    for meter, check in used.items():
        card = check.card
        if card is None:
            continue
        line = max(check.observation.lines)
        day = next(event.utc[:10] for event in bench.events if event.seq == line)
        if card.calibration_due and card.calibration_due.isoformat() < day:
            sentence = words.DUE.format(meter=meter, due=card.calibration_due)
            yield Finding("calibration due", sentence, {}, check.observation.ids, "caution")
        elif card.calibrated is None:
            yield Finding("no calibration", words.NO_CALIBRATION.format(meter=meter), {}, ())


def untested(bench: Bench) -> Iterator[Finding]:
    """Ranges of the card that no reference part was read on."""
    done: dict[str, set[str]] = {}
    cards: dict[str, Card] = {}
    for check in checks(bench):
        if check.card and check.judged:
            cards[check.meter] = check.card
            done.setdefault(check.meter, set()).add(_range_of(check).name)
    for meter, card in cards.items():
        left = list(dict.fromkeys(on.name for on in card.ranges if on.name not in done[meter]))
        if left:
            sentence = words.UNTESTED.format(meter=meter, ranges=", ".join(left))
            yield Finding("ranges not looked at", sentence, {}, ())


def predicted(bench: Bench) -> Iterator[Finding]:
    """What people predicted, beside what was read."""
    return (finding for finding in own_predictions(analyse(bench)) if finding.kind == "own prediction")


FINDERS: tuple[Finder, ...] = (
    missing,
    verdicts,
    repeats,
    leads,
    open_leads,
    calibration,
    untested,
    predicted,
)


def residual_of(bench: Bench, o: Observation) -> Residual | None:
    """The lead residual that a reading of zeroed leads supports; None if no card covers it."""
    card = bench.cards.get(o.readings[0].meter or "")
    if card is None or o.no_uncertainty:
        return None
    return Residual(o, card)


def name(check: Check) -> str:
    """The reference part, for a sentence or a table."""
    return words.REFERENCE.format(winding=check.reference.winding, stated=check.reference.stated)


def indication(check: Check) -> str:
    """What the meter read: as shown, or the mean of the repeats with one digit more than the display."""
    o = check.observation
    if len(o.readings) == 1:
        return o.text
    mean = quantity.display_parts(o.value, o.readings[0].shown.last_digit, coverage_factor=1)
    return words.REPEATS.format(mean=f"{mean[0]} {mean[2]}", count=len(o.readings))


def discrepancy(judged: Conformity) -> str:
    """E with its expanded uncertainty, which is the guard band."""
    return quantity.display(judged.value, judged.guard_band, coverage_factor=1)


def size_text(value: float) -> str:
    """A limit, guard band or scatter to two digits."""
    return quantity.display(value, significant_digits=2)


def probability(judged: Conformity) -> str:
    """The conformance probability in words: no more nines than the normal assumption can bear."""
    p = judged.probability
    if p >= 0.9995:
        return words.NEARLY_ONE
    return words.NEARLY_ZERO if p < 0.0005 else f"{100 * p:.1f} %"


def _range_of(check: Check) -> Range:
    assert check.card is not None
    first = check.observation.readings[0]
    return check.card.range_for(first.shown, first.frequency)


def _figures(check: Check) -> dict[str, Figure]:
    judged = check.judged
    assert judged is not None
    return {
        "discrepancy": Figure(judged.value, "H", judged.standard_uncertainty),
        "limit": Figure(check.limit),
        "guard_band": Figure(judged.guard_band),
        "probability": Figure(judged.probability, ""),
    }


def _upper(text: str) -> str:
    return text[0].upper() + text[1:]


# What `meter_check` returns: limits before, verdicts after, findings, and the card with its leads.


@dataclass(frozen=True)
class Limits(Shown):
    """What each meter may show of each reference part, before anything is read; or what is missing."""

    rows: tuple[tuple[str, ...], ...]
    missing: tuple[str, ...] = ()

    def parts(self) -> tuple[Part, ...]:
        table = [Table(words.LIMITS_HEADER, self.rows, words.LIMITS_TITLE)] if self.rows else []
        return (*table, *(Text(sentence, "caution") for sentence in self.missing))


@dataclass(frozen=True)
class Verdicts(Shown):
    """Every reading of a reference part against its card; `checks` holds the numbers."""

    checks: tuple[Check, ...]

    def parts(self) -> tuple[Part, ...]:
        if not self.checks:
            return (Text(words.NOTHING_READ, "caution"),)
        rows = tuple(map(_verdict_row, self.checks))
        return Table(words.VERDICTS_HEADER, rows, words.VERDICTS_TITLE), Text(words.RULE, "note")


class MeterCheck(Shown):
    """A meter, its leads and its card, held against reference parts; made by `meter_check`."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench

    @cached_property
    def limits(self) -> Limits:
        """What the card allows for each reference part, before anything is read."""
        stated = references(self._bench.events)
        cards = {meter: card for meter, card in self._bench.cards.items() if card}
        rows, refusals = [], []
        for reference in stated:
            for meter, card in cards.items():
                try:
                    rows.append(_limits_row(reference, meter, card, self._frequency(reference)))
                except (CardError, EntryError) as error:
                    refusals.append(str(error))
        missing = [words.NO_REFERENCES] * (not stated) + [words.NO_CARDS] * (not cards)
        return Limits(tuple(rows), (*missing, *refusals))

    @cached_property
    def verdicts(self) -> Verdicts:
        """Every reading of a reference part, with its verdict."""
        return Verdicts(checks(self._bench))

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What the readings say, each with the events that it rests on."""
        return meter_findings(self._bench)

    def card_with_leads(self, meter: str | None = None) -> str:
        """The meter's card as TOML text, with the lead residual that this record supports.

        Parameters
        ----------
        meter : its name; may be left out if the bench has one meter with a card

        Raises
        ------
        MissingReading
            if the zeroed leads were not read with this meter, or no card covers that reading.
        EntryError
            if there are several meters and none is named.
        """
        return self._residual(meter).card_text

    def parts(self) -> tuple[Part, ...]:
        return tuple(Text(finding.sentence, finding.tone) for finding in self.findings)

    def _residual(self, meter: str | None) -> Residual:
        with_card = [name for name, card in self._bench.cards.items() if card]
        if meter is None and len(with_card) > 1:
            facts = {"count": len(with_card), "meters": ", ".join(with_card)}
            raise EntryError(words.WHICH_METER.format(**facts))
        meter = meter or next(iter(with_card), words.UNNAMED)
        alone = [o for o in leads_alone(self._bench) if o.readings[0].meter == meter]
        zeroed = [o for o in alone if {reading.leads for reading in o.readings} == {"zeroed"}]
        if not zeroed:
            raise MissingReading(
                words.NO_RESIDUAL.format(meter=meter, why="the leads alone were not read while zeroed")
            )
        found = next((r for o in zeroed if (r := residual_of(self._bench, o))), None)
        if found is None:
            raise MissingReading(
                words.NO_RESIDUAL.format(meter=meter, why="it has no card that covers that reading")
            )
        return found

    def _frequency(self, reference: Reference) -> Quantity | None:
        """Where the reference is stated, else where it was read, if it was."""
        read = (c.observation.frequency for c in self.verdicts.checks if c.reference == reference)
        return reference.frequency or next(read, None)


def meter_check(bench: Bench) -> MeterCheck:
    """Hold a meter against reference parts and its own card, and find out what its leads add.

    Parameters
    ----------
    bench : its record holds meters with cards, `reference` statements, and readings of the references, of the
        leads alone (clips on one node) and of the open leads

    Returns
    -------
    MeterCheck: shows the findings; `limits` and `verdicts` show the tables, `card_with_leads` offers the card
    """
    return MeterCheck(bench)


def _limits_row(reference: Reference, meter: str, card: Card, at: Quantity | None) -> tuple[str, ...]:
    stated = reference.stated
    may = allowed(card, str(stated), str(at) if at else None)
    step = Component("display step", "rectangular")
    shown = Input("indication", stated.value, ((step, may.on.count / 2),))
    error = first_order(lambda x, stated: x - stated, [shown, reference.input])
    judged = conformity(error, -float(may.limit), float(may.limit))
    low, high = (_size(stated.value + end, judged.upper) for end in (judged.lower, judged.upper))
    room = judged.acceptance
    accepted = words.NO_ROOM
    if room:
        ends = (_size(stated.value + end, judged.upper) for end in room)
        accepted = words.FROM_TO.format(**dict(zip(("low", "high"), ends, strict=True)))
    return (
        stated_text(reference),
        f"{meter}, {may.on.name}",
        words.FROM_TO.format(low=low, high=high),
        size_text(judged.guard_band) if reference.spread else "",
        accepted if reference.spread else "",
    )


def _size(value: float, like: float) -> str:
    """A value with digits down to two of a smaller one."""
    shown, _, unit = quantity.display_parts(value, like, coverage_factor=1)
    return f"{shown} {unit}"


def _verdict_row(check: Check) -> tuple[str, ...]:
    judged = check.judged
    first = (stated_text(check.reference), indication(check))
    if judged is None:
        return (*first, "", "", "", verdict_text(check))
    limit = words.PLUS_MINUS.format(size=size_text(check.limit))
    return (*first, discrepancy(judged), limit, probability(judged), verdict_text(check))


def verdict_text(check: Check) -> str:
    """The verdict in words: with its reason if there is none, and told if the leads were taken off."""
    verdict = words.VERDICT[check.decision]
    if check.judged is None:
        return words.FOR_REASON.format(verdict=verdict, reason=check.no_verdict)
    return words.LEADS_OFF.format(verdict=verdict) if check.as_read is None else verdict


def stated_text(reference: Reference) -> str:
    """The stated value of a reference part with its uncertainty or tolerance, if one is stated."""
    if reference.spread is None:
        return str(reference.stated)
    return words.STATED_AS.format(stated=reference.stated, spread=reference.spread)
