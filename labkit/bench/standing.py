"""What stands in a record: the part, its meters, conditions and readings, as a pure view of the events."""

from functools import cache
from typing import Any

from labkit import quantity
from labkit.bench.card import Card, parse_card
from labkit.bench.events import (
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
)
from labkit.bench.events import Reading as ReadingEvent
from labkit.bench.readings import OwnPrediction, Reading, own_predictions, readings
from labkit.bench.store import Record
from labkit.errors import EntryError
from labkit.show import Heading, Shown, Table, Text
from labkit.show import Part as ShownPart
from labkit.theory.wiring import Terminal, parse_dots
from labkit.words import bench as words


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
            raise EntryError(words.GONE.format(id=id, line=about[-1].seq), id)
        known = ", ".join(reading.id for reading in self.readings) or words.NO_READINGS
        raise EntryError(words.NOT_A_READING.format(id=id, known=known), id)

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
