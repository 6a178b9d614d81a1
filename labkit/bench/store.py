"""The record of one part: `record.jsonl` in its folder, one event a line, only ever added to.

An event that `Record.append` has returned is on the disk. What is damaged is named in `Record.problems` at
every opening, stays as it is, and does not stop the next entry: the lesson goes on, the damage stays in view.
Each line's check shows that it was changed, the chain of hashes that one was added, moved or removed.
Whoever can write the file can also write it anew, so it is no proof of honesty.
"""

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, nullcontext
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

from filelock import FileLock, Timeout

from labkit import __version__
from labkit.bench.chain import Chain, Kind, place
from labkit.bench.events import KINDS, NEWEST_SCHEMA, Event, Opened, spoken, to_event, to_line, told
from labkit.bench.linefile import LineFile, plainly
from labkit.errors import RecordBusy, RecordConflict, RecordError
from labkit.words import record as words

LOCK = "record.lock"
LOCK_TIMEOUT_S = 5.0

Clock = Callable[[], datetime]

_OWN_FIELDS = ("schema", "seq", "utc", "prev", "check")


def utc_now() -> datetime:
    """The computer's time, in UTC."""
    return datetime.now(UTC)


class Record:
    """The record of the part under test in one folder; begun by `create`, read by `open`.

    Attributes
    ----------
    folder : Path
        where `record.jsonl` stands, symbolic links followed.
    read_only : bool
        whether `append` refuses to write.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     record = Record.create(folder, "sample-7", invented=True)
    ...     event = record.append("own_words", "why", topic="clamps", text="One clamp slipped.", by="p2")
    ...     [event.id for event in Record.open(folder).events]
    ['opened', 'why']
    """

    def __init__(self, folder: Path, read_only: bool, clock: Clock) -> None:
        self.folder = folder
        self.read_only = read_only
        self._clock = clock
        self._file = LineFile(folder)
        self._chain = Chain()

    @classmethod
    def create(
        cls, folder: str | Path, part: str, *, clock: Clock | None = None, **opened_fields: Any
    ) -> Self:
        """Begin a record for the part, with its opening line on the disk.

        Parameters
        ----------
        folder : made if it is not there
        part : the name of the part under test
        clock : gives the time of each event, with its time zone; the computer's own by default
        opened_fields : further fields of the opening line: `by`, `invented`, `scenario`, `seed`, `labkit`

        Raises
        ------
        RecordConflict
            if the folder holds a record. A file that holds nothing but one line that was cut short is none:
            its bytes are moved aside and kept.
        RecordError
            if a field cannot be taken or the folder cannot be written.
        """
        record = cls(_real(folder), False, clock or utc_now)
        fields = {"part": part, "labkit": __version__} | opened_fields
        opening = record._new("opened", "opened", fields)  # refuses a wrong field before anything is made
        with plainly(words.CANNOT_CREATE, record.folder):
            record.folder.mkdir(parents=True, exist_ok=True)
        with record.locked(_entry("opened", "opened")):
            record._file.begin()
            record.refresh()
            record._add(opening)
        return record

    @classmethod
    def open(cls, folder: str | Path, *, read_only: bool = False, clock: Clock | None = None) -> Self:
        """Read the record in the folder and check it whole; nothing on the disk is changed.

        Raises
        ------
        RecordMissing
            if there is none.
        RecordTooNew
            if a line is in a newer format than this labkit reads.
        RecordError
            if the file cannot be read at all. A damaged line is no error but one of `problems`.
        """
        record = cls(_real(folder), read_only, clock or utc_now)
        record.refresh()
        return record

    @property
    def events(self) -> tuple[Event, ...]:
        """The events that count, in the order of the file; see `Chain`."""
        return tuple(self._chain.events)

    @property
    def digest(self) -> str | None:
        """Hash of the last event that could be read, 64 hexadecimal digits; None if there is none."""
        return self._chain.digest

    @property
    def problems(self) -> tuple[str, ...]:
        """One sentence for each thing that is not as `append` left it; empty for a sound record."""
        last = place(self._chain.lines)
        unchecked = [words.UNCHECKED.format(where=last)] if self._chain.unchecked else []
        return (*self._chain.problems, *unchecked, *self._file.problems())

    def event(self, id: str) -> Event | None:
        """The event under an id, None if no event that counts has it."""
        return self._chain.by_id.get(id) if isinstance(id, str) else None

    def of(self, kind: type[Kind]) -> Sequence[Kind]:
        """The events of one kind, oldest first."""
        return self._chain.of(kind)

    def about(self, id: str) -> tuple[Event, ...]:
        """The event under an id, then what corrects it and what withdraws it."""
        return self._chain.about(id) if isinstance(id, str) else ()

    def append(self, event: str, id: str, **fields: Any) -> Event:
        """Store an event and return it once it is on the disk.

        The same id with the same fields again stores nothing and returns the event that is there, also in a
        record that is open read-only, so that a notebook can be run again.

        Parameters
        ----------
        event : kind of event, one of `labkit.bench.events.KINDS`
        id : the name under which it is stored
        fields : the fields of that kind; None for what was asked and is not known

        Raises
        ------
        RecordConflict
            if the id is there with other content; the sentence names the verb for it.
        RecordBusy
            if another program held the lock for longer than `LOCK_TIMEOUT_S`.
        RecordError
            if the event cannot be taken or was not stored; the sentence says which.
        """
        self.refresh()
        known = self.event(id) is not None  # nothing is to be written, so it need not be possible to write
        with nullcontext() if known or self.read_only else self.locked(_entry(event, id)):
            self.refresh()
            return self._add(self._new(event, id, fields))

    def refresh(self) -> None:
        """Read what was added since; read everything again if the file was changed in another way."""
        afresh, lines = self._file.read()
        if afresh:
            self._chain = Chain()
        try:
            for line in lines:
                self._chain.take(line)
        except RecordError:
            self._file.forget_signature()
            raise

    def _new(self, event: str, id: str, fields: dict[str, Any]) -> Event:
        where = _entry(event, id)
        if own := [name for name in _OWN_FIELDS if name in fields]:
            raise RecordError(words.RESERVED.format(where=where, field=own[0]))
        head = {"schema": NEWEST_SCHEMA, "seq": self._chain.seq + 1, "utc": self._utc()}
        link = {"prev": self._chain.digest}
        return to_event(head | {"event": event, "id": id} | fields | link, where)

    def _utc(self) -> str:
        moment = self._clock()
        if moment.utcoffset() is None:
            raise RecordError(words.CLOCK.format(given=spoken(moment)))
        return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")

    def _add(self, new: Event) -> Event:
        where = _entry(new.event, new.id)
        if stored := self._chain.by_id.get(new.id):
            _refuse_other_content(stored, new)
            if not self.read_only:
                self._file.confirm(where)
            return stored
        if not self._chain.seq and not isinstance(new, Opened):
            raise RecordError(words.NOT_OPENED.format(where=where))
        if refusal := self._chain.refusal(new, where):
            raise RecordError(refusal)
        if self.read_only:
            raise RecordError(words.READ_ONLY.format(where=where, folder=self.folder))
        self._file.write(to_line(new), where)
        return self._read_back(new.id, where)

    def _read_back(self, id: str, where: str) -> Event:
        """The event as the file now holds it: an editor that knows no lock may have replaced the file."""
        self.refresh()
        if id not in self._chain.by_id:
            facts = {"where": where, "folder": self.folder, "reason": words.NOT_READ_BACK}
            raise RecordError(words.NOT_CONFIRMED.format(**facts))
        return self._chain.by_id[id]

    @contextmanager
    def locked(self, where: str) -> Iterator[None]:
        """Hold the record's lock; `where` begins the refusal if another program does, or nobody may."""
        lock = FileLock(self.folder / LOCK, timeout=LOCK_TIMEOUT_S, poll_interval=0.005)
        with plainly(words.NOT_STORED, self.folder, where):
            try:
                lock.acquire()
            except Timeout:
                facts = {"where": where, "folder": self.folder, "seconds": LOCK_TIMEOUT_S}
                raise RecordBusy(words.BUSY.format(**facts)) from None
        try:
            yield
        finally:
            lock.release()


def _entry(event: str, id: str) -> str:
    return words.ENTRY.format(kind=event if event in KINDS else spoken(event), id=spoken(id))


def _real(folder: str | Path) -> Path:
    try:
        return Path(os.path.realpath(folder))
    except ValueError:
        raise RecordError(words.NO_FOLDER.format(given=spoken(str(folder)))) from None


def _refuse_other_content(stored: Event, new: Event) -> None:
    there, given = told(stored), told(new)
    other = [field for field in there | given if there.get(field, ...) != given.get(field, ...)]
    if other:
        field = min(other, key=lambda field: field not in there or field not in given)
        values = [spoken(content[field]) if field in content else words.ABSENT for content in (there, given)]
        facts = {"id": stored.id, "field": field, "stored": values[0], "given": values[1]}
        remedy = words.REMEDIES.get(stored.event, words.REMEDY).format(id=stored.id)
        raise RecordConflict(words.CONFLICT.format(**facts, remedy=remedy))
