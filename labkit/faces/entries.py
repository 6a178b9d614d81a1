"""What was entered, as a report lists it: every reading ever typed, its corrections, and the gaps.

`labkit.record.state` says what counts now. Here nothing is left out: a withdrawn reading stays in view,
both values of a correction do, and "nobody asked" is told from "asked, not known".
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from labkit import quantity
from labkit.record.bench import Bench
from labkit.record.card import Card
from labkit.record.events import Conditions, Correction, Reading, Withdrawal
from labkit.record.state import SECOND_KINDS
from labkit.theory.wiring import Wiring
from labkit.words import report as words


@dataclass(frozen=True)
class Answer:
    """One answer to what was asked, with what it holds for; `gap` if there is none."""

    text: str
    gap: bool = False
    holds_for: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class Fact:
    """Something to be known and every answer to it."""

    name: str
    answers: tuple[Answer, ...]


@dataclass(frozen=True)
class Change:
    """One correction: its event, and each field before and after."""

    event: Correction
    fields: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class Entry:
    """A reading as entered.

    Attributes
    ----------
    event : its line
    fields : as they stand after corrections; a field that nobody asked for is absent
    changes : its corrections, in order
    withdrawal : the event that took it out, None if it counts
    """

    event: Reading
    fields: Mapping[str, Any]
    changes: tuple[Change, ...] = ()
    withdrawal: Withdrawal | None = None

    @property
    def id(self) -> str:
        """Its id."""
        return self.event.id

    @property
    def lines(self) -> tuple[int, ...]:
        """Lines of the record that it rests on."""
        return (self.event.seq, *(change.event.seq for change in self.changes))

    @property
    def wiring(self) -> Wiring:
        """What was clamped to what."""
        return Wiring.parse(self.fields["wiring"])

    @property
    def read_as(self) -> str:
        """How the display was understood, empty if that is what was typed."""
        understood = str(quantity.parse(self.fields["shown"], self.fields["quantity"]))
        return "" if understood == self.fields["shown"] else understood

    @property
    def conditions(self) -> tuple[Fact, ...]:
        """Second display, frequency, mode, meter and leads, each with its gap if there is one."""
        return tuple(
            Fact(words.FIELDS[name], (answer(self.fields, name),))
            for name in ("second", "frequency", "mode", "meter", "leads", "by")
        )


def answer(fields: Mapping[str, Any], name: str) -> Answer:
    """What a field holds, or which kind of gap it is."""
    if name not in fields:
        return Answer(words.NOT_RECORDED, gap=True)
    value = fields[name]
    return Answer(words.NOT_KNOWN, gap=True) if value is None else Answer(spoken(value))


def spoken(value: Any) -> str:
    """A field's value as text."""
    match value:
        case {"quantity": letter, "shown": shown}:
            return f"{letter} {shown}" if letter in SECOND_KINDS else f"{letter}: {shown}"
        case tuple() | list():
            return ", ".join(map(str, value))
    return str(value)


def entries(bench: Bench) -> tuple[Entry, ...]:
    """Every reading ever entered, in the order of the record."""
    found: dict[str, Entry] = {}
    for event in bench.events:
        match event:
            case Reading():
                found[event.id] = Entry(event, _fields(event))
            case Correction():
                found[event.corrects] = _corrected(found[event.corrects], event)
            case Withdrawal():
                before = found[event.withdraws]
                found[event.withdraws] = Entry(before.event, before.fields, before.changes, event)
    return tuple(found.values())


def _fields(event: Any) -> dict[str, Any]:
    return dict(event.model_dump(exclude_unset=True))


def _corrected(entry: Entry, event: Correction) -> Entry:
    changes = _fields(event.changes)
    fields = tuple(
        (words.FIELDS.get(name, name), answer(entry.fields, name).text, answer(changes, name).text)
        for name in changes
    )
    return Entry(
        entry.event, {**entry.fields, **changes}, (*entry.changes, Change(event, fields)), entry.withdrawal
    )


def conditions(bench: Bench, found: Iterable[Entry]) -> tuple[Fact, ...]:
    """Under what conditions the readings that count were taken, gaps included."""
    counting = [entry for entry in found if entry.withdrawal is None]
    per_reading = [
        Fact(words.FIELDS[name], _spread(counting, name)) for name in ("frequency", "mode", "meter", "leads")
    ]
    noted = [event for event in bench.events if isinstance(event, Conditions)]
    names = ("test_level", "temperature", "humidity", "correction", "bias", "place", "note")
    per_bench = [Fact(words.FIELDS[name], _noted(noted, name)) for name in names]
    if bench.largest_meter_error is not None:
        per_bench.append(Fact(words.FIELDS["largest_meter_error"], _noted(noted, "largest_meter_error")))
    people = ", ".join(bench.cautions_accepted)
    accepted = Answer(people) if people else Answer(words.NOBODY, gap=True)
    return (*per_reading, *_meters(bench), *per_bench, Fact(words.CAUTIONS_BY, (accepted,)))


def _spread(counting: list[Entry], name: str) -> tuple[Answer, ...]:
    """Each answer with the readings that it holds for."""
    groups: dict[Answer, list[str]] = {}
    for entry in counting:
        groups.setdefault(answer(entry.fields, name), []).append(entry.id)
    if len(groups) < 2:
        return tuple(Answer(a.text, a.gap, note=words.EVERY) for a in groups) or (
            Answer(words.NOT_RECORDED, gap=True),
        )
    return tuple(Answer(a.text, a.gap, tuple(ids)) for a, ids in groups.items())


def _noted(noted: list[Conditions], name: str) -> tuple[Answer, ...]:
    """Each answer with its line, oldest first."""
    answers = [(answer(_fields(event), name), event.seq) for event in noted if name in event.model_fields_set]
    told = tuple(Answer(a.text, a.gap, note=words.LINE.format(line=line)) for a, line in answers)
    return told or (Answer(words.NOT_RECORDED, gap=True),)


def _meters(bench: Bench) -> list[Fact]:
    facts = []
    for meter, card in bench.cards.items():
        facts.append(Fact(words.CARD.format(meter=meter), (_card_answer(card),)))
        if card:
            facts.append(Fact(words.CALIBRATED.format(meter=meter), _calibration(card)))
            facts.append(Fact(words.LEADS_RESIDUAL.format(meter=meter), (_residual(card),)))
    return facts


def _card_answer(card: Card | None) -> Answer:
    if card is None:
        return Answer(words.NO_CARD, gap=True)
    return Answer(words.CARD_TITLE.format(title=card.title, source=card.source))


def _calibration(card: Card) -> tuple[Answer, ...]:
    dates = ((words.CALIBRATED_ON, card.calibrated), (words.CALIBRATION_DUE, card.calibration_due))
    known = tuple(Answer(sentence.format(date=date)) for sentence, date in dates if date)
    return known if card.calibrated else (Answer(words.NOT_RECORDED, gap=True), *known)


def _residual(card: Card) -> Answer:
    if card.lead_residual is None:
        return Answer(words.NOT_RECORDED, gap=True)
    return Answer(words.RESIDUAL.format(**card.lead_residual.model_dump()))
