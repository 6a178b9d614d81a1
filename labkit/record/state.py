"""What stands in a record after corrections and withdrawals: a pure view of its events, values parsed.

The record keeps everything that was ever entered; a `Reading` is what counts now, and knows which lines
it rests on.
"""

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache
from typing import Any

from labkit import quantity
from labkit.errors import AmbiguousEntry, EntryError, RecordError
from labkit.quantity import Quantity
from labkit.record.card import Card, parse_card
from labkit.record.events import (
    Cautions,
    Conditions,
    Correction,
    Event,
    Meter,
    Opened,
    OwnWords,
    Part,
    Prediction,
    Withdrawal,
    to_content,
)
from labkit.record.events import Reading as ReadingEvent
from labkit.record.record_file import Record
from labkit.show import Heading, Shown, Table, Text
from labkit.show import Part as ShownPart
from labkit.theory.network import identify
from labkit.theory.wiring import Terminal, Wiring, parse_dots
from labkit.words import labels
from labkit.words import record as words

SECOND_KINDS = {"Q": "quality_factor", "D": "dissipation_factor", "R": "resistance"}


@dataclass(frozen=True)
class Reading:
    """One reading as it stands.

    Attributes
    ----------
    id : str
    lines : record lines that it rests on: the reading, then its corrections
    wiring : what was clamped to what
    shown : what the display showed; `second` its second display (Q, D or R) and `frequency`, None if not
        recorded
    mode : "series", "parallel" or None if not recorded
    meter, leads, repeat, by : as recorded, None if not
    predicted_before : whether somebody committed a prediction for this wiring in an earlier line
    """

    id: str
    lines: tuple[int, ...]
    wiring: Wiring
    shown: Quantity
    second: Quantity | None = None
    frequency: Quantity | None = None
    mode: str | None = None
    meter: str | None = None
    leads: str | None = None
    repeat: int | None = None
    by: str | None = None
    predicted_before: bool = False

    @property
    def joint(self) -> bool:
        """Whether it is an inductance of more than one winding, so that there is something to predict."""
        ends = (*self.wiring.clips, *(end for tie in self.wiring.ties for end in tie))
        return self.shown.kind == "inductance" and len({end.winding for end in ends}) > 1

    @property
    def dissipation_factor(self) -> float | None:
        """D from the second display, None if it shows neither D nor Q."""
        if self.second is None or self.second.kind == "resistance":
            return None
        if self.second.kind == "dissipation_factor":
            return self.second.value
        return 1 / self.second.value if self.second.value else None


@dataclass(frozen=True)
class OwnPrediction:
    """What a person expected for a wiring.

    Attributes
    ----------
    said : as it was said, "2 x winding 1", if that was no value
    after_reading : whether the wiring had been read already; then it is no prediction that can come true
    """

    id: str
    line: int
    wiring: Wiring
    shown: Quantity
    utc: str
    by: str | None = None
    said: str | None = None
    after_reading: bool = False

    @property
    def text(self) -> str:
        """As shown, with the mark that it came after the reading."""
        return words.MARKED_AFTER.format(shown=self.shown) if self.after_reading else str(self.shown)


def readings(events: Iterable[Event], windings: int = 2) -> tuple[Reading, ...]:
    """The readings that stand, in the order they were first entered.

    Raises
    ------
    RecordError
        if a line holds what no bench would have stored; the sentence names the line.
    """
    standing: dict[str, tuple[dict[str, Any], tuple[int, ...]]] = {}
    predicted: dict[Wiring, int] = {}
    for event in events:
        match event:
            case Prediction():
                with _line(event.id, event.seq, words.UNREADABLE_PREDICTION):
                    predicted.setdefault(_canonical(event.wiring, windings), event.seq)
            case ReadingEvent():
                standing[event.id] = event.model_dump(exclude_unset=True), (event.seq,)
            case Correction():
                fields, lines = standing[event.corrects]
                changes = event.changes.model_dump(exclude_unset=True)
                standing[event.corrects] = fields | changes, (*lines, event.seq)
            case Withdrawal():
                standing.pop(event.withdraws, None)
    found = [_reading(fields, lines) for fields, lines in standing.values()]
    return tuple(replace(r, predicted_before=_before(r, predicted, windings)) for r in found)


@lru_cache(maxsize=1024)  # a record names few wirings, and each of them many times
def _canonical(wiring: str, windings: int) -> Wiring:
    return Wiring.parse(wiring).canonical(windings)


def _before(reading: Reading, predicted: dict[Wiring, int], windings: int) -> bool:
    """Whether the wiring, as it stands after corrections, was predicted before the reading was entered."""
    with _line(reading.id, reading.lines[-1], words.UNREADABLE):
        built = reading.wiring.canonical(windings)
    return predicted.get(built, math.inf) < reading.lines[0]


def _reading(fields: dict[str, Any], lines: tuple[int, ...]) -> Reading:
    frequency, second = fields.get("frequency"), fields.get("second")
    with _line(fields["id"], lines[-1], words.UNREADABLE):
        return Reading(
            id=fields["id"],
            lines=lines,
            wiring=Wiring.parse(fields["wiring"]),
            shown=quantity.parse(fields["shown"], fields["quantity"]),
            second=quantity.parse(second["shown"], SECOND_KINDS.get(second["quantity"], ""))
            if second
            else None,
            frequency=quantity.parse(frequency, "frequency") if frequency else None,
            mode=fields.get("mode"),
            meter=fields.get("meter"),
            leads=fields.get("leads"),
            repeat=fields.get("repeat"),
            by=fields.get("by"),
        )


@contextmanager
def _line(id: str, line: int, sentence: str) -> Iterator[None]:
    """Name the line in a refusal; only a line that was edited by hand can be refused here."""
    try:
        yield
    except EntryError as error:
        raise RecordError(sentence.format(id=id, line=line, reason=error)) from None


def own_predictions(events: Iterable[Event], windings: int = 2) -> tuple[OwnPrediction, ...]:
    """The predictions that people committed, in order."""
    events = tuple(events)
    first_read = _first_read(events, windings)
    return tuple(
        _prediction(event, first_read, windings) for event in events if isinstance(event, Prediction)
    )


def _first_read(events: Iterable[Event], windings: int) -> dict[Wiring, int]:
    """Line of the first inductance read at each wiring, as corrected; withdrawn ones were seen too."""
    wired: dict[str, tuple[str, int]] = {}
    for event in events:
        if isinstance(event, ReadingEvent) and event.quantity == "inductance":
            wired[event.id] = event.wiring, event.seq
        if isinstance(event, Correction) and event.corrects in wired and event.changes.wiring:
            wired[event.corrects] = event.changes.wiring, wired[event.corrects][1]
    first: dict[Wiring, int] = {}
    for id, (wiring, line) in wired.items():
        with _line(id, line, words.UNREADABLE):
            first.setdefault(_canonical(wiring, windings), line)
    return first


def _prediction(event: Prediction, first_read: dict[Wiring, int], windings: int) -> OwnPrediction:
    with _line(event.id, event.seq, words.UNREADABLE_PREDICTION):
        wiring, shown = Wiring.parse(event.wiring), quantity.parse(event.shown)
        late = first_read.get(wiring.canonical(windings), math.inf) < event.seq
    return OwnPrediction(event.id, event.seq, wiring, shown, event.utc, event.by, event.said, late)


# Fields of an event from what a person gave.

SETTINGS = ("frequency", "mode", "meter", "leads", "by")
_FACTOR = r"(?P<factor>[0-9]{1,5}(?:[.,][0-9]{1,4}|/[1-9][0-9]{0,4})?)\s*[x×*·]\s*"
_TERM = re.compile(
    rf"(?P<sign>-?)\s*(?:{_FACTOR})?(?P<name>[A-Za-z][\w. -]*?)(?:\s*/\s*(?P<part>[1-9][0-9]{{0,4}}))?",
    re.ASCII,
)
_LONGEST = 100  # characters of a prediction by readings
_RELATIVE = re.compile(rf"\s*-?\s*(?:{_FACTOR}|[A-Za-z])")


def given(**fields: Any) -> dict[str, Any]:
    """Fields that were given; a field left out is absent from the event (not asked)."""
    return {name: value for name, value in fields.items() if value is not None}


def blank(text: object) -> bool:
    """Whether nothing was typed; anything that is no text goes on to the check that refuses it."""
    return isinstance(text, str) and not text.strip()


def slug(text: str) -> str:
    """Letters, digits and `.-_` of a name, for the id that is made from it."""
    return re.sub(r"[^A-Za-z0-9._-]+", "-", str(text))[:80]


def changes_told(changes: dict[str, Any]) -> str:
    """Corrected fields in words."""
    second = changes.get("second")
    named = changes | ({"second": f"{second['quantity']} {second['shown']}"} if second else {})
    values = {name: words.UNKNOWN if value is None else value for name, value in named.items()}
    return ", ".join(str(value) if name == "shown" else f"{name} {value}" for name, value in values.items())


def changed(event: Event) -> set[str]:
    """Fields that the event sets; those of the reading if it is a correction."""
    return (event.changes if isinstance(event, Correction) else event).model_fields_set


def told_fields(event: Event) -> dict[str, Any]:
    """What an event states about its subject, without what belongs to its own line: id, person, reason."""
    own = {"schema", "seq", "utc", "prev", "event", "id", "by", "reason"}
    return {name: value for name, value in to_content(event).items() if name not in own}


def standing_over(before: Mapping[str, Any], said: Mapping[str, Any], reason: str | None) -> dict[str, Any]:
    """Fields as they stand once more was said; only with a reason does None take back what was known.

    >>> standing_over({"dots": "1a 2a"}, {"dots": None, "title": "ring"}, None)
    {'dots': '1a 2a', 'title': 'ring'}
    """
    new = {name: v for name, v in said.items() if reason or v is not None or before.get(name) is None}
    return {**before, **new}


def agrees(event: Event, said: Mapping[str, Any]) -> bool:
    """Whether an event holds all that was said; without a reason, None agrees with any value."""
    content, given = to_content(event), {n: list(v) if isinstance(v, tuple) else v for n, v in said.items()}
    open_ = [] if "reason" in said else [name for name, value in given.items() if value is None]
    return all(name in content and (name in open_ or content[name] == value) for name, value in given.items())


def left_open(stored: Any) -> dict[str, Any]:
    """The fields of a stored reading that a call of `read` may leave open."""
    fields = told_fields(stored) | given(by=stored.by)
    if "second" in fields:
        fields["second"] = second_text(fields) or None
    return {name: fields[name] for name in (*SETTINGS, "repeat", "second") if name in fields}


def second_text(fields: Mapping[str, Any]) -> str:
    """The second display as typed, "Q 3.1"; empty if there is none."""
    second = fields.get("second")
    return f"{second['quantity']} {second['shown']}" if second else ""


def second_display(text: str) -> dict[str, str]:
    """The second display from text such as "Q 3.1"; EntryError if it is none."""
    if not isinstance(text, str):
        raise EntryError(words.SECOND.format(given=text), str(text))
    letter, _, shown = text.strip().partition(" ")
    if letter not in SECOND_KINDS or not shown:
        raise EntryError(words.SECOND.format(given=text), text)
    quantity.parse(shown, SECOND_KINDS[letter])
    return {"quantity": letter, "shown": shown.strip()}


def expected(text: str, readings: Iterable[Reading]) -> Quantity:
    """What a person predicts: a value, or numbers times readings by their names, "2 x winding 1 + w2".

    Parameters
    ----------
    text : as typed; `w1` and `winding 1` are the reading `winding-1`, any other reading goes by its id
    readings : those that stand

    Returns
    -------
    Quantity in H; its `text` is what was typed only if that was a value. One made from readings is rounded to
    the last digit of the coarsest of them, or to three digits if that leaves fewer.

    Raises
    ------
    AmbiguousEntry, EntryError
        with a sentence about predictions.
    """
    if not isinstance(text, str):
        raise EntryError(words.NO_PREDICTION.format(given=str(text)[:40]), str(text))
    if _RELATIVE.match(text):
        return _from_readings(text, {r.id.lower(): r.shown for r in readings if r.shown.kind == "inductance"})
    try:
        return quantity.parse(text)
    except AmbiguousEntry as error:
        meant = " or ".join(error.candidates)
        sentence = words.PREDICTION_ASKED.format(given=text.strip(), meant=meant)
        raise AmbiguousEntry(sentence, error.given, error.candidates) from None
    except EntryError:
        raise EntryError(words.NO_PREDICTION.format(given=text.strip()[:40]), text) from None


def _from_readings(text: str, known: Mapping[str, Quantity]) -> Quantity:
    total, named = Fraction(0), []
    for term in text.replace(" - ", " + -").split("+"):
        match = _TERM.fullmatch(term.strip())
        if match is None or len(text) > _LONGEST:
            raise EntryError(words.NO_PREDICTION.format(given=text.strip()[:40]), text)
        name = re.sub(r"^w(inding)?[ -]?(?=[0-9])", "winding-", match["name"].lower())
        if name not in known:
            names = ", ".join(known) or words.NO_READINGS
            raise EntryError(words.NO_SUCH_READING.format(given=match["name"], known=names), text)
        factor = Fraction((match["factor"] or "1").replace(",", ".")) / int(match["part"] or 1)
        total += (-factor if match["sign"] else factor) * Fraction(known[name].exact)
        named.append(known[name])
    return _rounded(total, named)


def _rounded(total: Fraction, named: list[Quantity]) -> Quantity:
    """A sum of readings in the unit of the first, to the last digit of the coarsest or to three digits."""
    exact = Decimal(total.numerator) / Decimal(total.denominator)
    last = max(int(each.exact.as_tuple().exponent) for each in named)
    last = min(last, exact.adjusted() - 2) if exact else last
    value = exact.quantize(Decimal(1).scaleb(last)).scaleb(-named[0].power)
    return quantity.parse(f"{value:f} {named[0].unit}")


# What stands in a record: the part, its meters, conditions and readings, as a pure view of the events.


class Standing(Shown):
    """What a record says as it stands now."""

    def __init__(self, record: Record) -> None:
        self.record = record

    @property
    def events(self) -> tuple[Event, ...]:
        """All events, oldest first."""
        return self.record.events

    def _last(self, kind: type[Any]) -> Any:
        events = self.record.of(kind)
        return events[-1] if events else None

    @property
    def opened(self) -> Opened | None:
        """The first line; None only if a torn record lost it."""
        return self._last(Opened)  # type: ignore[no-any-return]

    @property
    def part(self) -> Part | None:
        """The latest description of the part, None if there is none yet."""
        return self._last(Part)  # type: ignore[no-any-return]

    @property
    def part_name(self) -> str:
        """The part's name, empty if the record has no first line."""
        return self.opened.part if self.opened else ""

    @property
    def windings(self) -> int:
        """How many windings the part has; 2 until it is described."""
        return self.part.windings if self.part else 2

    @property
    def invented(self) -> bool:
        """Whether the record says that its data are invented."""
        return bool(self.opened and self.opened.invented)

    @property
    def dots(self) -> tuple[Terminal, ...] | None:
        """Dotted ends as marked on the part, None if they are not known."""
        marked = self.part.dots if self.part else None
        return parse_dots(marked, self.windings) if marked else None

    @property
    def cards(self) -> dict[str, Card | None]:
        """The meters of this bench by name, with their cards; None for a meter without one."""
        return {m.meter: _card(m.card, m.meter) if m.card else None for m in self.record.of(Meter)}

    @property
    def conditions(self) -> Conditions | None:
        """The latest conditions, None if nobody noted any."""
        return self._last(Conditions)  # type: ignore[no-any-return]

    @property
    def noted(self) -> dict[str, int]:
        """Each condition that is known, with the line that noted it last."""
        found = self.record.of(Conditions)
        return {name: e.seq for e in found for name in words.CONDITIONS if getattr(e, name) is not None}

    @property
    def largest_meter_error(self) -> float | None:
        """The largest error of a meter that is reckoned with, as a share (0.3 for 30 %); None if unsaid."""
        for event in reversed(self.events):
            if isinstance(event, Conditions) and event.largest_meter_error:
                return quantity.parse(event.largest_meter_error, "percentage").value / 100
        return None

    @property
    def cautions_accepted(self) -> tuple[str, ...]:
        """Pseudonyms that accepted the cautions, in order."""
        return tuple(dict.fromkeys(event.by for event in self.record.of(Cautions)))

    @property
    def own_words(self) -> tuple[OwnWords, ...]:
        """What people wrote in their own words, the latest of each person on each topic."""
        return tuple({(event.topic, event.by): event for event in self.record.of(OwnWords)}.values())

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The readings that stand after corrections and withdrawals."""
        return readings(self.events, self.windings)

    @property
    def predictions(self) -> tuple[OwnPrediction, ...]:
        """The predictions that people committed."""
        return own_predictions(self.events, self.windings)

    def reading(self, id: str) -> Reading:
        """The reading under an id; EntryError if it is not there or was withdrawn."""
        if standing := self.standing(id):
            return standing
        about = self.record.about(id)
        if about and isinstance(about[-1], Withdrawal):
            raise EntryError(
                f"Reading '{id}' was withdrawn in line {about[-1].seq}; enter what is new as a "
                "new reading under a new id.",
                id,
            )
        known = ", ".join(reading.id for reading in self.readings) or words.NO_READINGS
        raise EntryError(f"There is no reading '{id}' in the record; its readings are {known}.", id)

    def standing(self, id: str) -> Reading | None:
        """The reading under an id, None if none stands; only what the record says about it is looked at."""
        if not isinstance(self.record.event(id), ReadingEvent):
            return None
        about = (*self.record.of(Prediction), *self.record.about(id))
        return next(iter(readings(about, self.windings)), None)

    def line_of(self, id: str) -> int:
        """The line on which an id was first stored."""
        return self.record.about(id)[0].seq

    def corrections_of(self, id: str) -> list[Correction]:
        """The corrections of a reading, oldest first."""
        return [event for event in self.record.about(id) if isinstance(event, Correction)]

    def card_of(self, meter: str) -> str | None:
        """The text of a meter's card, None if it has none or is not known here."""
        return next((each.card for each in reversed(self.record.of(Meter)) if each.meter == meter), None)

    def parts(self) -> tuple[ShownPart, ...]:
        """The part and the readings that stand, with what is wrong with the record on top."""
        problems = [Text(problem, tone="caution") for problem in self.record.problems]
        title = (self.part.title if self.part else None) or self.part_name
        heading = words.BENCH_INVENTED.format(title=title) if self.invented else title
        rows = tuple(
            (r.id, r.wiring.notation, str(r.shown), str(r.frequency or ""), r.meter or "", _lines(r.lines))
            for r in self.readings
        )
        return (*problems, Heading(heading), Table(words.BENCH_HEADER, rows))


def _lines(lines: tuple[int, ...]) -> str:
    return ", ".join(map(str, lines))


_card = cache(parse_card)  # a record's card text never changes, and every analysis asks for it


# What the bench says to an entry: what its line holds, and what has become of it since.
#
# An empty entry is answered with what the record holds, so that a cell that is run again never says less.


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
    said = [words.BENCH_ACCEPTED.format(by=by, line=line) for by, line in people.items()]
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
            changes = changes_told(later.changes.model_dump(exclude_unset=True))
            yield words.CORRECTED_SINCE.format(line=later.seq, changes=changes, reason=later.reason)
        if isinstance(later, Withdrawal):
            yield words.WITHDRAWN_SINCE.format(line=later.seq, reason=later.reason)


def _to_mind(bench: Standing, event: Any) -> Iterator[str]:
    if event.quantity == "inductance" and quantity.parse(event.shown).negative:
        yield words.NEGATIVE
    reading = bench.standing(event.id)
    if reading and reading.joint and not reading.predicted_before:
        yield words.BEFORE_PREDICTION
