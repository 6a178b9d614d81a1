"""What `meter_check` returns: limits before, verdicts after, findings, and the card with its leads."""

from dataclasses import dataclass
from functools import cached_property

from labkit import quantity
from labkit.analysis.finding import Finding
from labkit.analysis.lead_residual import Residual
from labkit.analysis.meter_check import Check, checks, leads_alone
from labkit.analysis.meter_findings import (
    discrepancy,
    indication,
    meter_findings,
    probability,
    residual_of,
    size_text,
)
from labkit.bench.allowance import allowed
from labkit.bench.bench import Bench
from labkit.bench.card import Card
from labkit.bench.references import Reference, references
from labkit.errors import CardError, EntryError, MissingReading
from labkit.quantity import Quantity
from labkit.show import Part, Shown, Table, Text
from labkit.uncertainty.component import Component, Input
from labkit.uncertainty.conformity import conformity
from labkit.uncertainty.propagate import first_order
from labkit.words import meter_check as words


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
            raise MissingReading(words.NO_RESIDUAL.format(meter=meter, why=words.WHY_NO_READING))
        found = next((r for o in zeroed if (r := residual_of(self._bench, o))), None)
        if found is None:
            raise MissingReading(words.NO_RESIDUAL.format(meter=meter, why=words.WHY_NO_CARD))
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
