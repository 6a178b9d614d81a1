"""What the lines of a record amount to: the events that count, the hash they end in, and what is not sound.

Knows no files and no clock. Nothing here stops at damage: a line that cannot be read, or an event that cannot
count, becomes one sentence in `problems`, and the next line is read.
"""

from labkit.bench.events import (
    Correction,
    Event,
    Opened,
    Prediction,
    Reading,
    Withdrawal,
    content_hash,
    parse_line,
    to_event,
)
from labkit.bench.sweep_event import Sweep
from labkit.errors import RecordError, RecordTooNew
from labkit.words import record as words

FILE = "record.jsonl"


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
    """

    def __init__(self) -> None:
        self.events: list[Event] = []
        self.by_id: dict[str, Event] = {}
        self.problems: list[str] = []
        self.digest: str | None = None
        self.seq = 0
        self.lines = 0
        self._after_a_gap = False

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
        try:
            content = parse_line(raw, where)
            event = to_event(content, where)
        except RecordTooNew:
            raise
        except RecordError as error:
            self._pass_over(str(error))
            return
        self._check_link(event, where)
        self._count(event, where)
        self.seq, self.digest, self._after_a_gap = event.seq, content_hash(content), False

    def _pass_over(self, problem: str) -> None:
        self.problems.append(problem)
        self.seq += 1
        self._after_a_gap = True

    def _check_link(self, event: Event, where: str) -> None:
        if self._after_a_gap:  # neither the number nor the hash of the line before is known
            return
        if event.seq != self.seq + 1:
            self.problems.append(words.NUMBERED.format(where=where, given=event.seq, expected=self.seq + 1))
        if event.prev != self.digest:
            self.problems.append(words.CHAIN.format(where=where))
        if not self.seq and not isinstance(event, Opened):
            self.problems.append(words.NOT_OPENED.format(where=where))

    def _count(self, event: Event, where: str) -> None:
        if event.id in self.by_id:
            self.problems.append(words.DUPLICATE.format(where=where, id=event.id))
        elif refusal := self.refusal(event, where):
            self.problems.append(words.NOT_COUNTED.format(sentence=refusal.partition(";")[0]))
        else:
            self.events.append(event)
            self.by_id[event.id] = event

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
        for event in self.events:
            if isinstance(event, Withdrawal) and event.withdraws == target:
                return words.WITHDRAWN.format(where=where, target=target, withdrawal=event.id)
        return None
