"""The bench: every way to put something into a record, and what stands in it.

Whatever is entered is checked here, then becomes one event (`labkit.bench.store`). Everything that
labkit computes is a function of what `Bench` reads back.
"""

from functools import cache
from pathlib import Path
from typing import Any, Literal

from labkit import quantity as quantities
from labkit.bench.card import Card, parse_card
from labkit.bench.events import Cautions, Conditions, Correction, Event, Meter, Opened, OwnWords, Part
from labkit.bench.readings import SECOND_KINDS, OwnPrediction, Reading, own_predictions, readings
from labkit.bench.store import Record
from labkit.errors import EntryError
from labkit.quantity import Quantity
from labkit.show import Heading, Shown, Table, Text
from labkit.show import Part as ShownPart
from labkit.theory.network import identify
from labkit.theory.wiring import Terminal, Wiring, parse_dots
from labkit.words import bench as words
from labkit.words import labels
from labkit.words.cautions import VERSION

SETTINGS = ("frequency", "mode", "meter", "leads", "by")
Family = Literal["same core", "separate", "movable"]


class Answer(Shown):
    """What the bench says to an entry: one sentence, sometimes a second one that asks or warns."""

    def __init__(self, *sentences: str, event: Event | None = None) -> None:
        self.sentences = sentences
        self.event = event

    def parts(self) -> tuple[ShownPart, ...]:
        first, *more = self.sentences
        return (Text(first), *(Text(sentence, tone="caution") for sentence in more))


class Bench(Shown):
    """A part under test with its record; open one with `open_bench`, `new_bench` or `demo_bench`.

    Every verb stores one event under an `id`. The same call again changes nothing, so a notebook can be run
    again; the same id with other content is refused with a sentence that names the verb for it.
    """

    def __init__(self, record: Record) -> None:
        self.record = record
        self._settings: dict[str, Any] = {}

    # ---- what stands in the record

    @property
    def events(self) -> tuple[Event, ...]:
        """All events, oldest first."""
        return self.record.events

    def _last(self, kind: type[Any]) -> Any:
        return next((event for event in reversed(self.events) if isinstance(event, kind)), None)

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
        meters = [event for event in self.events if isinstance(event, Meter)]
        return {m.meter: _card(m.card, m.meter) if m.card else None for m in meters}

    @property
    def conditions(self) -> Conditions | None:
        """The latest conditions, None if nobody noted any."""
        return self._last(Conditions)  # type: ignore[no-any-return]

    @property
    def cautions_accepted(self) -> tuple[str, ...]:
        """Pseudonyms that accepted the cautions, in order."""
        return tuple(dict.fromkeys(event.by for event in self.events if isinstance(event, Cautions)))

    @property
    def own_words(self) -> tuple[OwnWords, ...]:
        """What people wrote in their own words."""
        return tuple(event for event in self.events if isinstance(event, OwnWords))

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The readings that stand after corrections and withdrawals."""
        return readings(self.events, self.windings)

    @property
    def predictions(self) -> tuple[OwnPrediction, ...]:
        """The predictions that people committed."""
        return own_predictions(self.events)

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

    # ---- what can be put into it

    def describe(
        self,
        *,
        windings: int = 2,
        family: Family = "same core",
        dots: str | None = None,
        id: str = "part",
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
        if dots is not None:
            parse_dots(dots, windings)
        event = self.record.append(
            "part", id, part=self.part_name, windings=windings, family=family, dots=dots, **more
        )
        shown_dots = dots or words.DOTS_UNKNOWN
        facts = {"part": self.part_name, "windings": windings, "family": family, "dots": shown_dots}
        return Answer(words.DESCRIBED.format(**facts, line=event.seq), event=event)

    def meter(self, name: str, card: str | Path | None = None, *, id: str | None = None) -> Answer:
        """Store a meter and its card (TOML text, or the path of a card file); None if there is no card."""
        text = card.read_text(encoding="utf-8") if isinstance(card, Path) else card
        known = parse_card(text, name) if text is not None else None
        event = self.record.append("meter", id or f"meter.{name}", meter=name, card=text)
        title = known.title if known else words.NO_CARD
        return Answer(words.METER.format(meter=name, card=title, line=event.seq), event=event)

    def note_conditions(self, *, id: str = "conditions", **conditions: str | None) -> Answer:
        """Store the conditions as shown or told.

        They are temperature, humidity, test_level, frequency, correction, bias, place, note.
        Leave out what was not asked; give None for what was asked and is not known.
        """
        if not conditions:
            return Answer(words.WAITING_CONDITIONS)
        event = self.record.append("conditions", id, **conditions)
        return Answer(words.NOTED.format(line=event.seq), event=event)

    def accept_cautions(self, by: str) -> Answer:
        """Store that the person with this pseudonym, such as `p1`, has read the cautions."""
        if not by.strip():
            return Answer(words.WAITING_CAUTIONS)
        event = self.record.append("cautions", f"cautions.{by}", by=by, accepted=VERSION)
        return Answer(words.ACCEPTED.format(by=by, line=event.seq), event=event)

    def use(self, **settings: Any) -> Answer:
        """Give every reading from here on these fields, unless its own call says otherwise.

        They are frequency, mode, meter, leads, by. They are stored with each reading, as if typed there; they
        are not stored on their own.
        """
        unknown = sorted(set(settings) - set(SETTINGS))
        if unknown:
            raise EntryError(words.SETTING.format(given=unknown[0], accepted=", ".join(SETTINGS)), unknown[0])
        self._settings = settings
        shown = ", ".join(f"{name} {value}" for name, value in settings.items())
        return Answer(words.SETTINGS.format(settings=shown or words.NO_SETTINGS))

    def commit(self, wiring: str, shown: str, id: str, *, by: str | None = None) -> Answer:
        """Store a person's own prediction for a wiring. It is locked: it cannot be corrected afterwards."""
        built = self._wiring(wiring)
        if not shown.strip():
            return Answer(words.WAITING.format(id=id, spoken=built.spoken))
        value = quantities.parse(shown)
        fields = {"wiring": built.notation, "quantity": "inductance", "shown": shown, **_given(by=by)}
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
        if not shown.strip():
            return Answer(words.WAITING.format(id=id, spoken=built.spoken))
        given = self._settings | _given(frequency=frequency, mode=mode, meter=meter, leads=leads, by=by)
        self._ready_for_readings(given.get("meter"))
        value = quantities.parse(shown, quantity)
        if "frequency" in given:
            quantities.parse(given["frequency"], "frequency")
        if given.get("mode") not in (None, "series", "parallel"):
            raise EntryError(words.MODE.format(given=given["mode"]), str(given["mode"]))
        event = self.record.append(
            "reading",
            id,
            part=self.part_name,
            wiring=built.notation,
            quantity=quantity,
            shown=shown,
            **given,
            **_given(repeat=repeat),
            **({"second": _second(second)} if second is not None else {}),
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
        before = self._reading(id)
        changes = _given(shown=shown) | changes
        if shown is not None:
            quantities.parse(shown, before.shown.kind)
        if changes.get("frequency") is not None:
            quantities.parse(changes["frequency"], "frequency")
        if "wiring" in changes:
            changes["wiring"] = self._wiring(changes["wiring"]).notation
        if isinstance(changes.get("second"), str):
            changes["second"] = _second(changes["second"])
        event = self.record.append(
            "correction",
            self._correction_id(id, changes, reason),
            corrects=id,
            changes=changes,
            reason=reason,
            **_given(by=by),
        )
        now = self._reading(id)
        facts = {"id": id, "shown": now.shown, "line": event.seq, "old": before.lines[0], "reason": reason}
        return Answer(words.CORRECTED.format(**facts), event=event)

    def withdraw(self, id: str, reason: str) -> Answer:
        """Store that a reading no longer counts, with the reason; its line stays in the record."""
        stored = next((e for e in self.events if e.id == f"withdraw.{id}"), None)
        old = next((e.seq for e in self.events if e.id == id), 0) if stored else self._reading(id).lines[0]
        event = self.record.append("withdrawal", f"withdraw.{id}", withdraws=id, reason=reason)
        return Answer(words.WITHDRAWN.format(id=id, line=event.seq, old=old, reason=reason), event=event)

    def write(self, topic: str, text: str, *, id: str | None = None, by: str | None = None) -> Answer:
        """Store a person's own words on a topic; empty text stores nothing."""
        if not text.strip():
            return Answer(words.WAITING_WORDS.format(topic=topic))
        event = self.record.append(
            "own_words", id or f"words.{topic}", topic=topic, text=text, **_given(by=by)
        )
        return Answer(words.NOTED.format(line=event.seq), event=event)

    # ---- helpers

    def _wiring(self, wiring: str) -> Wiring:
        built = Wiring.parse(wiring)
        built.nodes(self.windings)
        return built

    def _ready_for_readings(self, meter: str | None) -> None:
        if not self.cautions_accepted:
            raise EntryError(words.CAUTIONS_FIRST)
        if self.part is None:
            raise EntryError(words.NO_PART)
        meters = [event.meter for event in self.events if isinstance(event, Meter)]
        if meter is not None and meter not in meters:
            known = ", ".join(meters) or words.NO_METERS
            raise EntryError(words.UNKNOWN_METER.format(meter=meter, known=known), meter)

    def _reading(self, id: str) -> Reading:
        standing = {reading.id: reading for reading in self.readings}
        if id not in standing:
            known = ", ".join(standing) or words.NO_READINGS
            raise EntryError(words.NOT_A_READING.format(id=id, known=known), id)
        return standing[id]

    def _correction_id(self, id: str, changes: dict[str, Any], reason: str) -> str:
        """The id of this very correction if it is stored already, else the next free one."""
        earlier = [e for e in self.events if isinstance(e, Correction) and e.corrects == id]
        for event in earlier:
            if event.changes.model_dump(exclude_unset=True) == changes and event.reason == reason:
                return event.id
        return f"correct.{id}.{len(earlier) + 1}"

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
        return sentences


def _lines(lines: tuple[int, ...]) -> str:
    return ", ".join(map(str, lines))


_card = cache(parse_card)  # a record's card text never changes, and every analysis asks for it


def _given(**fields: Any) -> dict[str, Any]:
    """Fields that were given; a field left out is absent from the event (not asked)."""
    return {name: value for name, value in fields.items() if value is not None}


def _second(text: str) -> dict[str, str]:
    letter, _, shown = text.strip().partition(" ")
    if letter not in SECOND_KINDS or not shown:
        raise EntryError(words.SECOND.format(given=text), text)
    quantities.parse(shown, SECOND_KINDS[letter])
    return {"quantity": letter, "shown": shown.strip()}


def open_bench(folder: str | Path = ".") -> Bench:
    """Open the bench in a folder; raises RecordMissing if there is none (it never falls back to the demo)."""
    return Bench(Record.open(Path(folder)))


def new_bench(folder: str | Path, part: str, **opened: Any) -> Bench:
    """Start a bench for a part in a folder; raises RecordConflict if the folder has one already."""
    return Bench(Record.create(Path(folder), part, **opened))
