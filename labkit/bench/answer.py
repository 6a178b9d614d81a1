"""What the bench says to an entry: what its line holds, and what has become of it since.

An empty entry is answered with what the record holds, so that a cell that is run again never says less.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from labkit import quantity
from labkit.bench.card import parse_card
from labkit.bench.events import Cautions, Correction, Event, Withdrawal
from labkit.bench.fields import changed, told, told_fields
from labkit.bench.standing import Standing
from labkit.show import Part as ShownPart
from labkit.show import Shown, Text
from labkit.theory.network import identify
from labkit.theory.wiring import Wiring
from labkit.words import bench as words
from labkit.words import labels


class Answer(Shown):
    """What the bench says to an entry: one sentence, sometimes a second one that asks or warns."""

    def __init__(self, *sentences: str, event: Event | None = None) -> None:
        self.sentences = sentences
        self.event = event

    def parts(self) -> tuple[ShownPart, ...]:
        first, *more = self.sentences
        return (Text(first), *(Text(sentence, tone="caution") for sentence in more))


def since(bench: Standing, event: Event, subject: str) -> list[str]:
    """A sentence if a later event of this kind says otherwise about the same subject."""
    for later in reversed(bench.record.of(type(event))):
        if getattr(later, subject) == getattr(event, subject):
            overruled = later.seq > event.seq and changed(event) & changed(later)
            return [words.SINCE.format(line=event.seq, later=later.seq)] if overruled else []
    return []


def described(bench: Standing, event: Event) -> Answer:
    """What the part is."""
    part = told_fields(event)
    family, dots = part.get("family") or words.FAMILY_UNKNOWN, part.get("dots") or words.DOTS_UNKNOWN
    facts = {"part": part["part"], "windings": part["windings"], "family": family, "dots": dots}
    sentence = words.DESCRIBED.format(**facts, line=event.seq)
    return Answer(sentence, *since(bench, event, "part"), event=event)


def metered(bench: Standing, event: Any) -> Answer:
    """A meter with its card."""
    title = parse_card(event.card, event.meter).title if event.card else words.NO_CARD
    sentence = words.METER.format(meter=event.meter, card=title, line=event.seq)
    return Answer(sentence, *since(bench, event, "meter"), event=event)


def meters(bench: Standing) -> Answer:
    """All meters of the bench."""
    named = [f"{name} ({card.title if card else words.CARDLESS})" for name, card in bench.cards.items()]
    return Answer(words.METERS.format(meters="; ".join(named)) if named else words.WAITING_METER)


def referenced(bench: Standing, event: Any) -> Answer:
    """The stated value of a reference part."""
    sentence = words.REFERENCE.format(winding=event.winding, shown=event.shown, line=event.seq)
    return Answer(sentence, *since(bench, event, "subject"), event=event)


def noted(known: Mapping[str, int]) -> Answer:
    """Which conditions are noted, with their lines."""
    named = ", ".join(words.CONDITION.format(name=name, line=line) for name, line in known.items())
    return Answer(words.CONDITIONS_STAND.format(named=named) if known else words.WAITING_CONDITIONS)


def accepted(bench: Standing) -> Answer:
    """Who has accepted the cautions."""
    people = {event.by: event.seq for event in bench.record.of(Cautions)}
    said = [words.ACCEPTED.format(by=by, line=line) for by, line in people.items()]
    return Answer(" ".join(said) or words.WAITING_CAUTIONS)


def written(bench: Standing, topic: str, by: str | None) -> Answer:
    """What a person wrote on a topic, or everybody if `by` is None."""
    found = [w for w in bench.own_words if w.topic == topic and by in (None, w.by)]
    said = [words.WRITTEN.format(topic=topic, text=w.text, line=w.seq) for w in found]
    return Answer(*said) if said else Answer(words.WAITING_WORDS.format(topic=topic))


def predicted(bench: Standing, event: Any) -> Answer:
    """A prediction; one that was committed after the reading says so."""
    value, spoken = str(quantity.parse(event.shown)), Wiring.parse(event.wiring).spoken
    shown = words.RELATIVE.format(said=event.said, shown=value) if event.said else value
    facts = {"id": event.id, "shown": shown, "spoken": spoken, "utc": event.utc, "line": event.seq}
    late = [words.AFTER_READING for p in bench.predictions if p.id == event.id and p.after_reading]
    return Answer(words.STORED_PREDICTION.format(**facts), *late, event=event)


def read(bench: Standing, event: Any) -> Answer:
    """What was entered as a reading, and what to mind about it."""
    return Answer(_entered(bench, event), *_since_then(bench, event), *_to_mind(bench, event), event=event)


def _entered(bench: Standing, event: Any) -> str:
    built, value = Wiring.parse(event.wiring), quantity.parse(event.shown, event.quantity)
    two = bench.dots if bench.windings == 2 else None
    what = labels.CONNECTION[identify(built, two)] if two else labels.INPUT
    step = quantity.display(value.last_digit, unit=quantity.KINDS[value.kind].symbol, significant_digits=1)
    facts = {"id": event.id, "shown": value, "what": what, "spoken": built.spoken, "line": event.seq}
    return words.STORED.format(**facts, step=step)


def _since_then(bench: Standing, event: Any) -> Iterator[str]:
    for later in bench.record.about(event.id):
        if isinstance(later, Correction):
            changes = told(later.changes.model_dump(exclude_unset=True))
            yield words.CORRECTED_SINCE.format(line=later.seq, changes=changes, reason=later.reason)
        if isinstance(later, Withdrawal):
            yield words.WITHDRAWN_SINCE.format(line=later.seq, reason=later.reason)


def _to_mind(bench: Standing, event: Any) -> Iterator[str]:
    if event.quantity == "inductance" and quantity.parse(event.shown).negative:
        yield words.NEGATIVE
    reading = bench.standing(event.id)
    if reading and reading.joint and not reading.predicted_before:
        yield words.BEFORE_PREDICTION
