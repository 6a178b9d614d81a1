"""What the lines of a record amount to: the events that count, the hash they end in, and what is not sound.

Knows no files and no clock. Nothing here stops at damage: a line that cannot be read, or an event that cannot
count, becomes one sentence in `problems`, and the next line is read.
"""

from collections.abc import Sequence
from typing import Any, TypeVar

from labkit.bench.events import (
    Correction,
    Event,
    Opened,
    Prediction,
    Reading,
    Withdrawal,
    parse_line,
    read_event,
    spoken,
    take_check,
)
from labkit.bench.sweep_event import Sweep
from labkit.errors import RecordError, RecordTooNew
from labkit.words import record as words

FILE = "record.jsonl"
Kind = TypeVar("Kind")


def place(line: int) -> str:
    """How a sentence names a line of the record, counted from 1."""
    return words.LINE.format(file=FILE, line=line)


class Chain:
    """The events read so far.

    Attributes
    ----------
    events : list of Event
        those that count: no id twice, and each correction or withdrawal after the reading that it names.
    by_id : dict of str to Event
        the same by their ids.
    problems : list of str
        one sentence for each thing that is not sound.
    digest : str or None
        hash of the last event read, 64 hexadecimal digits; the next event holds to it as its `prev`.
    seq : int
        number of the last event read, lines that could not be read counted along.
    lines : int
        lines taken so far, blank ones included.
    unchecked : bool
        whether the last line is of a format whose lines carry no check of their own.
    """

    def __init__(self) -> None:
        self.events: list[Event] = []
        self.by_id: dict[str, Event] = {}
        self.problems: list[str] = []
        self.digest: str | None = None
        self.seq = 0
        self.lines = 0
        self.unchecked = False
        self._after_a_gap = False  # neither number nor hash of the line before is known
        self._after_a_change = False  # the hash is not
        self._of_kind: dict[type, list[Any]] = {}
        self._corrections: dict[str, list[Event]] = {}
        self._withdrawals: dict[str, Event] = {}

    def take(self, raw: bytes) -> None:
        """Read the next line.

        Raises
        ------
        RecordTooNew
            if it is in a newer format; that is no damage, and reading on would misread the record.
        """
        self.lines += 1
        where = place(self.lines)
        if not raw.strip():
            self.problems.append(words.BLANK.format(where=where))
            return
        self.unchecked = False
        content: dict[str, Any] = {}
        digest, fits = None, None
        try:
            content = parse_line(raw, where)
            digest, fits = take_check(content)
            event, unknown = read_event(content, where)
        except RecordTooNew:
            if fits:
                raise
            self._pass_over(words.NO_FORMAT.format(where=where, given=content["schema"]))
        except RecordError as error:
            self._pass_over(str(error))
            if fits and isinstance(content.get("seq"), int):  # no damage: the chain goes on over it
                self._go_on(content["seq"], digest)
        else:
            self._look_at(event, unknown, where, fits)
            self._count(event, where)
            if fits is False:
                self.seq, self.digest, self._after_a_change = self.seq + 1, digest, True
            else:
                self._go_on(event.seq, digest)
                self.unchecked = fits is None

    def _look_at(self, event: Event, unknown: tuple[str, ...], where: str, fits: bool | None) -> None:
        """Say what is not sound about the line, which counts all the same."""
        if fits is False:
            self.problems.append(words.CHECK.format(where=where))
        else:
            self._check_link(event, where)
        if unknown:
            fields = ", ".join(map(spoken, unknown[:5])) + ("…" if unknown[5:] else "")
            self.problems.append(words.NOT_KNOWN.format(where=where, fields=fields))

    def _go_on(self, seq: int, digest: str | None) -> None:
        self.seq, self.digest, self._after_a_gap, self._after_a_change = seq, digest, False, False

    def _pass_over(self, problem: str) -> None:
        self.problems.append(problem)
        self.seq += 1
        self._after_a_gap = True

    def _check_link(self, event: Event, where: str) -> None:
        if self._after_a_gap:  # neither the number nor the hash of the line before is known
            return
        if event.seq != self.seq + 1:
            self.problems.append(words.NUMBERED.format(where=where, given=event.seq, expected=self.seq + 1))
        if event.prev != self.digest and not self._after_a_change:
            self.problems.append(words.CHAIN.format(where=where))
        if not self.seq and not isinstance(event, Opened):
            self.problems.append(words.NOT_OPENED.format(where=where))

    def _count(self, event: Event, where: str) -> None:
        if event.id in self.by_id:
            self.problems.append(words.DUPLICATE.format(where=where, id=event.id))
        elif refusal := self.refusal(event, where):
            self.problems.append(words.NOT_COUNTED.format(sentence=refusal.partition(";")[0]))
        else:
            self._take_in(event)

    def _take_in(self, event: Event) -> None:
        self.events.append(event)
        self.by_id[event.id] = event
        self._of_kind.setdefault(type(event), []).append(event)
        match event:
            case Correction(corrects=target):
                self._corrections.setdefault(target, []).append(event)
            case Withdrawal(withdraws=target):
                self._withdrawals[target] = event

    def of(self, kind: type[Kind]) -> Sequence[Kind]:
        """The events of one kind, oldest first."""
        return self._of_kind.get(kind, [])

    def about(self, id: str) -> tuple[Event, ...]:
        """The event under an id, then what corrects it and what withdraws it; empty if there is none."""
        own, gone = self.by_id.get(id), self._withdrawals.get(id)
        return tuple(e for e in (own, *self._corrections.get(id, ()), gone) if e is not None)

    def refusal(self, event: Event, where: str) -> str | None:
        """Why the event cannot follow the events so far; None if it can."""
        match event:
            case Opened() if self.events:
                return words.ALREADY_OPENED.format(where=where)
            case Withdrawal(withdraws=target) if isinstance(self.by_id.get(target), Sweep):
                return self._withdrawn_refusal(target, where)
            case Correction(corrects=target) | Withdrawal(withdraws=target):
                return self._target_refusal(target, where)
        return None

    def _target_refusal(self, target: str, where: str) -> str | None:
        match self.by_id.get(target):
            case None:
                return words.NO_SUCH_ID.format(where=where, target=target)
            case Prediction():
                return words.LOCKED.format(where=where, target=target)
            case Reading():
                return self._withdrawn_refusal(target, where)
            case other:
                return words.NOT_A_READING.format(where=where, target=target, kind=other.event)

    def _withdrawn_refusal(self, target: str, where: str) -> str | None:
        if gone := self._withdrawals.get(target):
            return words.WITHDRAWN.format(where=where, target=target, withdrawal=gone.id)
        return None
