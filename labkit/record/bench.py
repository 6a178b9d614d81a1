"""The bench: every way to put something into a record.

Whatever is entered is checked here, then becomes one event (`labkit.record.record_file`). Everything that
labkit computes is a function of what a bench reads back (`labkit.record.state`).
"""

import itertools
from pathlib import Path
from types import EllipsisType
from typing import Any, Literal

from labkit import quantity as quantities
from labkit.errors import EntryError, RecordConflict
from labkit.record import state as answers
from labkit.record.card import card_text, parse_card
from labkit.record.events import KINDS, Event, Meter, Prediction, Reference
from labkit.record.events import Reading as ReadingEvent
from labkit.record.record_file import Record
from labkit.record.references import reference_fields
from labkit.record.state import (
    SETTINGS,
    Answer,
    Reading,
    agrees,
    blank,
    expected,
    given,
    left_open,
    second_display,
    slug,
    standing_over,
    told_fields,
)
from labkit.record.state import changes_told as told
from labkit.record.sweep_files import Sweeping
from labkit.theory.wiring import parse_dots
from labkit.words import record as words
from labkit.words.record import VERSION

Fields = dict[str, Any]
Family = Literal["same core", "separate", "movable"]


class Bench(Sweeping):
    """A part under test with its record; open one with `open_bench`, `new_bench` or `demo_bench`.

    Every verb stores one event. The same call again changes nothing, so a notebook can be run again. A
    reading or prediction under an id that holds another one is refused with a sentence that names the verb
    for it. What is stated about the bench (part, meter, conditions, own words) may be stated anew without an
    id: both stay in the record, and the latest counts. An empty call and None take nothing back that was
    stated before; None does so only together with a `reason`, which is stored.
    """

    def __init__(self, record: Record) -> None:
        super().__init__(record)
        self.settings: dict[str, Any] = {}  # what `use` gave, for readings to come

    def describe(
        self,
        *,
        windings: int | None = None,
        family: Family | None = None,
        dots: str | EllipsisType | None = ...,
        id: str | None = None,
        reason: str | None = None,
        **more: Any,
    ) -> Answer:
        """Store what the part is; what is left out stays as it was stated before.

        Parameters
        ----------
        windings : how many; without any argument nothing is stored, and what is known is said
        family : "same core", "separate" (parts that share no flux) or "movable" (coils on no fixed core)
        dots : the dotted ends such as "1a 2a", None if nobody knows them
        reason : why it is stated anew; only then does None take back what was stated
        more : title, description, turns (list of int), core, by
        """
        said = given(windings=windings, family=family) | ({} if dots is ... else {"dots": dots}) | more
        if not said:
            return answers.described(self, self.part) if self.part else Answer(words.WAITING_PART)
        before = told_fields(self.part) if self.part else {}
        if windings not in (None, before.get("windings")):  # what was said of each winding says nothing now
            before = {name: value for name, value in before.items() if name not in ("dots", "turns")}
        said |= given(reason=reason)
        fields = {"part": self.part_name, "dots": None} | standing_over(before, said, reason)
        if isinstance(fields.get("windings"), int):  # anything else is refused by the record, with a sentence
            self._check_windings(fields["windings"], fields["dots"])
        return answers.described(self, self._restate("part", "part", id, said, fields))

    def meter(
        self, name: str, card: str | Path | None = None, *, id: str | None = None, reason: str | None = None
    ) -> Answer:
        """Store a meter and its card (TOML text, or the path of a card file).

        None adds no card: a card that this meter has already stays, unless a `reason` says why it is taken
        back. An empty name stores nothing and says which meters there are.
        """
        if blank(name):
            return answers.meters(self)
        text = card_text(card) if card is not None else None if reason else self.card_of(name)
        if text is not None:
            parse_card(text, name)
        fields = {"meter": name, "card": text} | given(reason=reason)
        return answers.metered(self, self._restate("meter", f"meter.{slug(name)}", id, fields, fields))

    def reference(self, winding: int, shown: str, *, id: str | None = None, **stated: Any) -> Answer:
        """Store the stated value of a reference part, which is one winding of this bench's part.

        Parameters
        ----------
        winding : its number
        shown : the value as stated: "10.000 mH"
        stated : a certificate's uncertainty ("0.008 mH", "0.08 %") and coverage_factor, or a marking's
            tolerance ("1 %"); frequency; source. Leave out what is not stated.
        """
        if blank(shown):
            known = [e for e in self.record.of(Reference) if e.winding == winding]
            waiting = Answer(words.WAITING_REFERENCE.format(winding=winding))
            return answers.referenced(self, known[-1]) if known else waiting
        fields = reference_fields(winding, shown, self.windings, **stated)
        return answers.referenced(self, self._state("reference", f"reference.{winding}", id, fields))

    def note_conditions(
        self, *, id: str | None = None, reason: str | None = None, **conditions: str | None
    ) -> Answer:
        """Store the conditions as shown or told.

        They are temperature, humidity, test_level, correction, bias, place and note. Leave out what was not
        asked; give None for what was asked and is not known. None takes back what was noted before only with
        a `reason`. `largest_meter_error`, "30 %" say, is how wrong a meter without a card may be at most:
        conclusions that would need more are drawn.
        """
        largest = conditions.get("largest_meter_error")
        if largest is not None and not 0 < quantities.parse(largest, "percentage").value < 100:
            raise EntryError(
                f"'{largest}' cannot be the largest error of a meter, which is above zero and "
                "below 100 %, such as 30 %.",
                largest,
            )
        known = self.noted
        fields = {name: v for name, v in conditions.items() if reason or v is not None or name not in known}
        if not fields:
            return answers.noted(known)
        fields |= given(reason=reason)
        event = self._restate("conditions", "conditions", id, fields, fields)
        return Answer(words.NOTED.format(line=event.seq), *answers.since(self, event, "event"), event=event)

    def accept_cautions(self, by: str) -> Answer:
        """Store that the person with this pseudonym, such as `p1`, has read the cautions."""
        if blank(by):
            return answers.accepted(self)
        fields = {"by": by, "accepted": VERSION}
        event = self._state("cautions", f"cautions.{slug(str(by))}", None, fields)
        return Answer(words.BENCH_ACCEPTED.format(by=by, line=event.seq), event=event)

    def use(self, **settings: Any) -> Answer:
        """Give every reading from here on these fields, unless its own call says otherwise.

        They are frequency, mode, meter, leads, by. They are stored with each reading, as if typed there; they
        are not stored on their own. What is left out stays as it was said before, and so does what is None;
        "not known" says that it is not known from here on.
        """
        unknown = sorted(set(settings) - set(SETTINGS))
        if unknown:
            raise EntryError(words.SETTING.format(given=unknown[0], accepted=", ".join(SETTINGS)), unknown[0])
        said = {name: None if value == words.UNKNOWN else value for name, value in settings.items()}
        kept = {name for name, value in settings.items() if value is None and name in self.settings}
        self.settings = self.settings | {name: value for name, value in said.items() if name not in kept}
        shown = ", ".join(f"{name} {words.UNKNOWN if v is None else v}" for name, v in self.settings.items())
        return Answer(words.SETTINGS.format(settings=shown or words.NO_SETTINGS))

    def commit(self, wiring: str, shown: str, id: str, *, by: str | None = None) -> Answer:
        """Store a person's own prediction for a wiring. It is locked: it cannot be corrected afterwards.

        It is a value with its unit, "20 mH", or said by readings, "2 x winding 1" or "w1 + w2"; then both
        what was said and the number are stored. An empty text stores nothing.
        """
        built, stored = self._wiring(wiring), self._stored(Prediction, id)
        if blank(shown):
            if stored is not None:
                return answers.predicted(self, stored)
            return Answer(words.WAITING_PREDICTION.format(id=id, spoken=built.spoken))
        if stored is not None and stored.said == shown:  # the readings it names may have changed since
            fields = {"shown": stored.shown, "said": shown}
        else:
            value = expected(shown, self.readings)
            fields = {"shown": shown} if value.text == shown else {"shown": str(value), "said": shown}
        by = by or (stored.by if stored is not None else None)
        fields = {"wiring": built.notation, "quantity": "inductance"} | fields | given(by=by)
        return answers.predicted(self, self.record.append("prediction", id, **fields))

    def read(
        self,
        wiring: str,
        shown: str,
        id: str,
        *,
        quantity: str = "inductance",
        frequency: str | None = None,
        second: str | None = None,
        mode: Literal["series", "parallel"] | None = None,
        meter: str | None = None,
        leads: Literal["zeroed", "not zeroed"] | None = None,
        repeat: int | None = None,
        by: str | None = None,
    ) -> Answer:
        """Store what the display showed at a wiring.

        Parameters
        ----------
        wiring : notation such as "1a 2a | 1b=2b"
        shown : as displayed, with its unit: "25.0 µH"; an empty text stores nothing and says what is awaited
        id : your name for this reading; a second reading under the same id is refused, use `correct`
        frequency, second : as displayed, "10 kHz", "Q 3.1"; leave out what was not recorded
        mode, meter, leads, repeat, by : see the record's schema

        Raises
        ------
        EntryError, WiringError
            with one sentence; nothing is stored.
        """
        built, stored = self._wiring(wiring), self._stored(ReadingEvent, id)
        if blank(shown):
            if stored is not None:
                return answers.read(self, stored)
            return Answer(words.WAITING.format(id=id, spoken=built.spoken))
        self._ready_for_readings()
        quantities.parse(shown, quantity)
        said = given(frequency=frequency, second=second, mode=mode, meter=meter, leads=leads, by=by)
        said = {name: None if value == words.UNKNOWN else value for name, value in said.items()}
        settings = self.settings
        if stored is not None:  # what this call leaves open stands as it was stored
            settings = left_open(stored) | given(**settings)
        fields = self._checked({"wiring": wiring} | settings | said | given(repeat=repeat))
        event = self.record.append(
            "reading", id, part=self.part_name, quantity=quantity, shown=shown, **fields
        )
        return answers.read(self, event)

    def correct(
        self, id: str, shown: str | None = None, reason: str = "", *, by: str | None = None, **changes: Any
    ) -> Answer:
        """Store a correction of a reading, with the reason; the first entry stays in the record.

        Parameters
        ----------
        id : of the reading
        shown : what should have been entered, None if only other fields change
        reason : why, in a few words
        changes : other fields, such as frequency="10 kHz"
        """
        changes = self._checked(given(shown=shown) | changes)
        stored = self.corrections_of(id)
        same = next(
            (c for c in stored if c.changes.model_dump(exclude_unset=True) == changes and c.reason == reason),
            None,
        )
        if same is None:
            self._check_value(self.reading(id), changes)
        event = self.record.append(
            "correction",
            same.id if same else f"correct.{id}.{len(stored) + 1}",
            corrects=id,
            changes=changes,
            reason=reason,
            **given(by=by),
        )
        facts = {"id": id, "changes": told(changes), "line": event.seq, "old": self.line_of(id)}
        sentence = words.CORRECTED.format(**facts, reason=reason)
        return Answer(sentence, *answers.since(self, event, "corrects"), event=event)

    def withdraw(self, id: str, reason: str, *, by: str | None = None) -> Answer:
        """Store that a reading or sweep no longer counts, with the reason; its line stays in the record."""
        name = f"withdraw.{id}"
        if self.record.event(name) is None and all(sweep.id != id for sweep in self.sweeps):
            self.reading(id)
        event = self.record.append("withdrawal", name, withdraws=id, reason=reason, **given(by=by))
        facts = {"id": id, "line": event.seq, "old": self.line_of(id), "reason": reason}
        return Answer(words.BENCH_WITHDRAWN.format(**facts), event=event)

    def write(self, topic: str, text: str, *, id: str | None = None, by: str | None = None) -> Answer:
        """Store a person's own words on a topic; empty text stores nothing."""
        if blank(text):
            return answers.written(self, topic, by)
        fields = {"topic": topic, "text": text, **given(by=by)}
        event = self._state("own_words", f"words.{slug(topic)}", id, fields)
        return Answer(words.NOTED.format(line=event.seq), *answers.since(self, event, "topic"), event=event)

    # ---- helpers

    def _check_windings(self, windings: int, dots: str | None) -> None:
        if dots is not None:
            parse_dots(dots, windings)
        wired = [r.wiring for r in self.readings] + [p.wiring for p in self.predictions]
        wired += [s.wiring for s in self.sweeps if s.wiring]
        highest = max((wiring.highest_winding for wiring in wired), default=0)
        if windings < highest:
            raise EntryError(
                f"Nothing was stored: {windings} windings were given, but the record has a "
                f"wiring of winding {highest}; give all windings of the part.",
                str(windings),
            )

    def _checked(self, fields: dict[str, Any]) -> dict[str, Any]:
        """Fields of a reading as they are stored; EntryError for one that cannot be taken."""
        if fields.get("frequency") is not None:
            quantities.parse(fields["frequency"], "frequency")
        if fields.get("mode") not in (None, "series", "parallel"):
            raise EntryError(words.MODE.format(given=fields["mode"]), str(fields["mode"]))
        if fields.get("meter") is not None:
            self._check_meter(fields["meter"])
        if "wiring" in fields:
            fields = fields | {"wiring": self._wiring(fields["wiring"]).notation}
        if fields.get("second") is not None:
            fields = fields | {"second": second_display(fields["second"])}
        return fields

    def _check_meter(self, meter: str) -> None:
        meters = [event.meter for event in self.record.of(Meter)]
        if meter not in meters:
            known = ", ".join(meters) or words.NO_METERS
            raise EntryError(words.UNKNOWN_METER.format(meter=meter, known=known), str(meter))

    def _check_value(self, before: Reading, changes: dict[str, Any]) -> None:
        """The value must be one of the quantity, whichever of the two changes."""
        quantities.parse(changes.get("shown", before.shown.text), changes.get("quantity", before.shown.kind))

    def _restate(self, kind: str, name: str, id: str | None, said: Fields, fields: Fields) -> Event:
        """The latest event that holds what was said already; if none does, the fields as a new statement."""
        of_kind: Any = KINDS[kind]
        found = [e for e in self.record.of(of_kind) if id in (None, e.id) and agrees(e, said)]
        return found[-1] if found else self._state(kind, name, id, fields)

    def _state(self, kind: str, name: str, id: str | None, fields: dict[str, Any]) -> Event:
        """Store a statement; without an id of its own, new content goes under the next number."""
        if id is not None:
            return self.record.append(kind, id, **fields)
        for number in itertools.count(1):
            try:
                return self.record.append(kind, f"{name}.{number}" if number > 1 else name, **fields)
            except RecordConflict:
                continue
        raise AssertionError

    def _stored(self, kind: type[Any], id: str) -> Any:
        """The event of this kind under an id, None if there is none."""
        event = self.record.event(id)
        return event if isinstance(event, kind) else None


def open_bench(folder: str | Path = ".") -> Bench:
    """Open the bench in a folder; raises RecordMissing if there is none (it never falls back to the demo)."""
    return Bench(Record.open(Path(folder)))


def new_bench(folder: str | Path, part: str, **opened: Any) -> Bench:
    """Start a bench for a part in a folder; raises RecordConflict if the folder has one already."""
    return Bench(Record.create(Path(folder), part, **opened))
