"""The bench: every way to put something into a record.

Whatever is entered is checked here, then becomes one event (`labkit.bench.store`). Everything that
labkit computes is a function of what a bench reads back (`labkit.bench.standing`).
"""

import itertools
from pathlib import Path
from typing import Any, Literal

from labkit import quantity as quantities
from labkit.bench.answer import Answer
from labkit.bench.card import card_text, parse_card
from labkit.bench.events import Event, Meter
from labkit.bench.fields import blank, changed, given, second_display, slug, told
from labkit.bench.readings import Reading
from labkit.bench.references import reference_fields
from labkit.bench.store import Record
from labkit.bench.sweeping import Sweeping
from labkit.errors import EntryError, RecordConflict
from labkit.quantity import Quantity
from labkit.theory.network import identify
from labkit.theory.wiring import Wiring, parse_dots
from labkit.words import bench as words
from labkit.words import labels
from labkit.words.cautions import VERSION

SETTINGS = ("frequency", "mode", "meter", "leads", "by")
Family = Literal["same core", "separate", "movable"]


class Bench(Sweeping):
    """A part under test with its record; open one with `open_bench`, `new_bench` or `demo_bench`.

    Every verb stores one event. The same call again changes nothing, so a notebook can be run again. A
    reading or prediction under an id that holds another one is refused with a sentence that names the verb
    for it. What is stated about the bench (part, meter, conditions, own words) may be stated anew without an
    id: both stay in the record, and the latest counts.
    """

    def __init__(self, record: Record) -> None:
        super().__init__(record)
        self.settings: dict[str, Any] = {}  # what `use` gave, for readings to come

    def describe(
        self,
        *,
        windings: int,
        family: Family | None = None,
        dots: str | None = None,
        id: str | None = None,
        **more: Any,
    ) -> Answer:
        """Store what the part is.

        Parameters
        ----------
        windings : how many
        family : "same core", "separate" (parts that share no flux) or "movable" (coils on no fixed core)
        dots : the dotted ends such as "1a 2a", None if nobody knows them
        more : title, description, turns (list of int), core, by
        """
        if isinstance(windings, int):  # anything else is refused by the record, with a sentence
            self._check_windings(windings, dots)
        fields = {"part": self.part_name, "windings": windings, **given(family=family), "dots": dots} | more
        event = self._state("part", "part", id, fields)
        facts = {"part": self.part_name, "windings": windings, "family": family or words.FAMILY_UNKNOWN}
        sentence = words.DESCRIBED.format(**facts, dots=dots or words.DOTS_UNKNOWN, line=event.seq)
        return Answer(sentence, *self._since(event, "part"), event=event)

    def meter(self, name: str, card: str | Path | None = None, *, id: str | None = None) -> Answer:
        """Store a meter and its card (TOML text, or the path of a card file).

        None adds no card: a card that this meter has already stays.
        """
        text = card_text(card) if card is not None else self.card_of(name)
        known = parse_card(text, name) if text is not None else None
        event = self._state("meter", f"meter.{slug(name)}", id, {"meter": name, "card": text})
        title = known.title if known else words.NO_CARD
        sentence = words.METER.format(meter=name, card=title, line=event.seq)
        return Answer(sentence, *self._since(event, "meter"), event=event)

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
            return Answer(words.WAITING_REFERENCE.format(winding=winding))
        fields = reference_fields(winding, shown, self.windings, **stated)
        event = self._state("reference", f"reference.{winding}", id, fields)
        sentence = words.REFERENCE.format(winding=winding, shown=shown, line=event.seq)
        return Answer(sentence, *self._since(event, "subject"), event=event)

    def note_conditions(self, *, id: str | None = None, **conditions: str | None) -> Answer:
        """Store the conditions as shown or told.

        They are temperature, humidity, test_level, correction, bias, place and note. Leave out what was not
        asked; give None for what was asked and is not known.
        """
        if not conditions:
            return Answer(words.WAITING_CONDITIONS)
        event = self._state("conditions", "conditions", id, conditions)
        return Answer(words.NOTED.format(line=event.seq), *self._since(event, "event"), event=event)

    def accept_cautions(self, by: str) -> Answer:
        """Store that the person with this pseudonym, such as `p1`, has read the cautions."""
        if blank(by):
            return Answer(words.WAITING_CAUTIONS)
        fields = {"by": by, "accepted": VERSION}
        event = self._state("cautions", f"cautions.{slug(str(by))}", None, fields)
        return Answer(words.ACCEPTED.format(by=by, line=event.seq), event=event)

    def use(self, **settings: Any) -> Answer:
        """Give every reading from here on these fields, unless its own call says otherwise.

        They are frequency, mode, meter, leads, by. They are stored with each reading, as if typed there; they
        are not stored on their own.
        """
        unknown = sorted(set(settings) - set(SETTINGS))
        if unknown:
            raise EntryError(words.SETTING.format(given=unknown[0], accepted=", ".join(SETTINGS)), unknown[0])
        self.settings = settings
        shown = ", ".join(f"{name} {value}" for name, value in settings.items())
        return Answer(words.SETTINGS.format(settings=shown or words.NO_SETTINGS))

    def commit(self, wiring: str, shown: str, id: str, *, by: str | None = None) -> Answer:
        """Store a person's own prediction for a wiring. It is locked: it cannot be corrected afterwards."""
        built = self._wiring(wiring)
        if blank(shown):
            return Answer(words.WAITING.format(id=id, spoken=built.spoken))
        value = quantities.parse(shown)
        fields = {"wiring": built.notation, "quantity": "inductance", "shown": shown, **given(by=by)}
        event = self.record.append("prediction", id, **fields)
        facts = {"id": id, "shown": value, "spoken": built.spoken, "utc": event.utc, "line": event.seq}
        return Answer(words.STORED_PREDICTION.format(**facts), event=event)

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
        built = self._wiring(wiring)
        if blank(shown):
            return Answer(words.WAITING.format(id=id, spoken=built.spoken))
        self._ready_for_readings()
        value = quantities.parse(shown, quantity)
        said = given(frequency=frequency, second=second, mode=mode, meter=meter, leads=leads, by=by)
        fields = self._checked({"wiring": wiring} | self.settings | said | given(repeat=repeat))
        event = self.record.append(
            "reading", id, part=self.part_name, quantity=quantity, shown=shown, **fields
        )
        return Answer(*self._echo(event, built, value), event=event)

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
        return Answer(sentence, *self._since(event, "corrects"), event=event)

    def withdraw(self, id: str, reason: str, *, by: str | None = None) -> Answer:
        """Store that a reading or sweep no longer counts, with the reason; its line stays in the record."""
        name = f"withdraw.{id}"
        if all(event.id != name for event in self.events) and all(sweep.id != id for sweep in self.sweeps):
            self.reading(id)
        event = self.record.append("withdrawal", name, withdraws=id, reason=reason, **given(by=by))
        facts = {"id": id, "line": event.seq, "old": self.line_of(id), "reason": reason}
        return Answer(words.WITHDRAWN.format(**facts), event=event)

    def write(self, topic: str, text: str, *, id: str | None = None, by: str | None = None) -> Answer:
        """Store a person's own words on a topic; empty text stores nothing."""
        if blank(text):
            return Answer(words.WAITING_WORDS.format(topic=topic))
        fields = {"topic": topic, "text": text, **given(by=by)}
        event = self._state("own_words", f"words.{slug(topic)}", id, fields)
        return Answer(words.NOTED.format(line=event.seq), *self._since(event, "topic"), event=event)

    # ---- helpers

    def _check_windings(self, windings: int, dots: str | None) -> None:
        if dots is not None:
            parse_dots(dots, windings)
        wired = [r.wiring for r in self.readings] + [p.wiring for p in self.predictions]
        wired += [s.wiring for s in self.sweeps if s.wiring]
        highest = max((wiring.highest_winding for wiring in wired), default=0)
        if windings < highest:
            raise EntryError(words.FEWER_WINDINGS.format(given=windings, highest=highest), str(windings))

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
        meters = [event.meter for event in self.events if isinstance(event, Meter)]
        if meter not in meters:
            known = ", ".join(meters) or words.NO_METERS
            raise EntryError(words.UNKNOWN_METER.format(meter=meter, known=known), str(meter))

    def _check_value(self, before: Reading, changes: dict[str, Any]) -> None:
        """The value must be one of the quantity, whichever of the two changes."""
        quantities.parse(changes.get("shown", before.shown.text), changes.get("quantity", before.shown.kind))

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

    def _since(self, event: Event, subject: str) -> list[str]:
        """A sentence if a later event of this kind says otherwise about the same subject."""
        for later in self.events[::-1]:
            if later.event == event.event and getattr(later, subject) == getattr(event, subject):
                overruled = later.seq > event.seq and changed(event) & changed(later)
                return [words.SINCE.format(line=event.seq, later=later.seq)] if overruled else []
        return []

    def _echo(self, event: Event, built: Wiring, value: Quantity) -> list[str]:
        what = (
            labels.CONNECTION[identify(built, self.dots)]
            if self.dots and self.windings == 2
            else labels.INPUT
        )
        step = quantities.display(
            value.last_digit, unit=quantities.KINDS[value.kind].symbol, significant_digits=1
        )
        facts = {"id": event.id, "shown": value, "what": what, "spoken": built.spoken, "line": event.seq}
        sentences = [words.STORED.format(**facts, step=step)]
        if value.negative and value.kind == "inductance":
            sentences.append(words.NEGATIVE)
        reading = next((r for r in self.readings if r.id == event.id), None)
        if reading and reading.joint and not reading.predicted_before:
            sentences.append(words.BEFORE_PREDICTION)
        return sentences


def open_bench(folder: str | Path = ".") -> Bench:
    """Open the bench in a folder; raises RecordMissing if there is none (it never falls back to the demo)."""
    return Bench(Record.open(Path(folder)))


def new_bench(folder: str | Path, part: str, **opened: Any) -> Bench:
    """Start a bench for a part in a folder; raises RecordConflict if the folder has one already."""
    return Bench(Record.create(Path(folder), part, **opened))
