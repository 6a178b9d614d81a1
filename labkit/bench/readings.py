"""What stands in a record after corrections and withdrawals: a pure view of its events, values parsed.

The record keeps everything that was ever entered; a `Reading` is what counts now, and knows which lines
it rests on.
"""

import math
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from labkit import quantity
from labkit.bench.events import Correction, Event, Prediction, Withdrawal
from labkit.bench.events import Reading as ReadingEvent
from labkit.errors import EntryError, RecordError
from labkit.quantity import Quantity
from labkit.theory.wiring import Wiring
from labkit.words import bench as words

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
