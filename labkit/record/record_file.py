"""The record of one part: `record.jsonl` in its folder, one event a line, only ever added to.

An event that `Record.append` has returned is on the disk. What is damaged is named in `Record.problems` at
every opening, stays as it is, and does not stop the next entry: the lesson goes on, the damage stays in view.
Each line's check shows that it was changed, the chain of hashes that one was added, moved or removed.
Whoever can write the file can also write it anew, so it is no proof of honesty.
"""

import itertools
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, nullcontext, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any, BinaryIO, NamedTuple, Self, TypeVar

from filelock import FileLock, Timeout

from labkit import __version__
from labkit.errors import RecordBusy, RecordConflict, RecordError, RecordMissing, RecordTooNew
from labkit.record.events import (
    KINDS,
    NEWEST_SCHEMA,
    Correction,
    Event,
    Opened,
    Prediction,
    Reading,
    Sweep,
    Withdrawal,
    parse_line,
    read_event,
    spoken,
    take_check,
    to_event,
    to_line,
    told,
)
from labkit.words import record as words

# What the lines of a record amount to: the events that count, the hash they end in, and what is not sound.
#
# Knows no files and no clock. Nothing here stops at damage: a line that cannot be read, or an event that
# cannot count, becomes one sentence in `problems`, and the next line is read.

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


# A record's file as lines of bytes: read what was added, add one line, wait until the disk has it.
#
# Knows no events. Bytes after the last whole line are left alone by reading; the next line that is written
# first moves them to a file of their own, where they are kept.

_BYTE_ORDER_MARK = b"\xef\xbb\xbf"
_ASIDES = "torn-line-*.bytes"


class _Signature(NamedTuple):
    """What tells whether a file is the one that was read."""

    device: int
    inode: int
    size: int
    modified_ns: int


class LineFile:
    """`record.jsonl` in a folder. Whoever writes holds the record's lock."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._path = folder / FILE
        self._signature: _Signature | None = None
        self._forget()

    def _forget(self) -> None:
        self._position = 0  # bytes of the lines that were read
        self._lines = 0
        self._last = b""
        self._tail = b""  # bytes behind them that are not a whole line
        self._marked = False  # whether a byte-order mark stands before them
        self._ended = True  # whether the last line has its line end
        self._confirmed = 0  # bytes that the disk has confirmed

    def read(self) -> tuple[bool, list[bytes]]:
        """Whether the file was read afresh, and its lines; if not, the lines that were added.

        Raises
        ------
        RecordMissing
            if there is no file.
        RecordError
            if it cannot be read.
        """
        found = self._look()
        known, self._signature = self._signature, None
        if found == known:
            self._signature = found
            return False, []
        with plainly(words.CANNOT_READ, self.folder), self._path.open("rb") as file:
            afresh = known is None or not self._only_grew(file, known, found)
            if afresh:
                self._forget()
            file.seek(self._position)
            lines = self._whole_lines(file.read())
        self._signature = found
        return afresh, lines

    def forget_signature(self) -> None:
        """Have the next `read` read everything, because the lines of this one were not taken."""
        self._signature = None

    def _look(self) -> _Signature:
        facts = {"file": FILE, "folder": self.folder}
        with plainly(words.CANNOT_READ, self.folder):
            if self._path.is_symlink():
                raise RecordError(words.SYMLINK.format(**facts, target=os.path.realpath(self._path)))
            if not self._path.exists():
                raise RecordMissing(words.MISSING.format(**facts))
            if not self._path.is_file():
                raise RecordError(words.NOT_A_FILE.format(**facts))
            status = self._path.stat()
        return _Signature(status.st_dev, status.st_ino, status.st_size, status.st_mtime_ns)

    def _only_grew(self, file: BinaryIO, known: _Signature, found: _Signature) -> bool:
        if not self._ended or found[:2] != known[:2] or found.size <= known.size:
            return False
        file.seek(self._position - len(self._last))
        return file.read(len(self._last)) == self._last

    def _whole_lines(self, data: bytes) -> list[bytes]:
        if not self._position and data.startswith(_BYTE_ORDER_MARK):
            self._marked = True
            self._position = len(_BYTE_ORDER_MARK)
            data = data.removeprefix(_BYTE_ORDER_MARK)
        *whole, self._tail = data.split(b"\n")
        lines = [line + b"\n" for line in whole]
        if lines and not self._tail and lines[-1].strip() and not _is_object(lines[-1]):
            self._tail = lines.pop()
        if _is_object(self._tail):  # a JSON object that was cut short is none, so this one is whole
            lines.append(self._tail)
            self._tail, self._ended = b"", False
        self._position += sum(map(len, lines))
        self._lines += len(lines)
        self._last = lines[-1] if lines else self._last
        return lines

    def problems(self) -> list[str]:
        """What is wrong with the file, its lines left aside; nothing is changed."""
        marked = [words.BYTE_ORDER_MARK.format(file=FILE)] if self._marked else []
        kept = sorted(self.folder.glob(_ASIDES))
        asides = [words.ASIDE.format(aside=path.name, size=path.stat().st_size, file=FILE) for path in kept]
        return [*marked, *self._end_problems(), *asides]

    def _end_problems(self) -> list[str]:
        if self._tail:
            facts = {"size": len(self._tail), "aside": self._aside().name}
            return [words.TORN.format(where=place(self._lines + 1), **facts)]
        if not self._lines:
            return [words.EMPTY.format(file=FILE)]
        return [] if self._ended else [words.UNENDED.format(where=place(self._lines))]

    def _aside(self) -> Path:
        """A name that is not taken yet for the bytes that are not a whole line."""
        name = f"torn-line-{self._lines + 1}"
        names = itertools.chain([name], (f"{name}-{n}" for n in itertools.count(2)))
        paths = (self.folder / f"{name}.bytes" for name in names)
        return next(path for path in paths if not path.exists())

    def _remove_empty_asides(self) -> None:
        """Files that keep nothing, left where the disk was full."""
        for path in self.folder.glob(_ASIDES):
            if path.is_file() and not path.is_symlink() and not path.stat().st_size:
                path.unlink()

    def begin(self) -> None:
        """Make the folder's file, empty; a file without a whole line is taken as it is.

        Raises
        ------
        RecordConflict
            if the file holds a line.
        """
        if not os.path.lexists(self._path):
            with plainly(words.CANNOT_CREATE, self.folder):
                self._path.open("xb").close()
                sync_folder(self.folder)
                sync_folder(self.folder.parent)
        self.read()
        self.forget_signature()
        if self._lines:
            raise RecordConflict(
                f"'{self.folder}' holds a {FILE} already, which is never overwritten; open it, "
                "or use another folder."
            )

    def write(self, line: bytes, where: str) -> None:
        """Add a line in one write and wait until the disk has it; `where` begins a refusal."""
        if not self._ended:
            line = b"\n" + line
        with plainly(words.NOT_STORED, self.folder, where):
            self._remove_empty_asides()
            self._move_tail_aside()
            with self._path.open("ab", buffering=0) as file:
                written = file.write(line)
                if written < len(line):
                    raise OSError(f"only {written} of {len(line)} bytes could be written")
                self._wait_for_disk(file, where)

    def confirm(self, where: str) -> None:
        """Wait until the disk has what another program may have written without waiting itself."""
        if self._confirmed < self._position:
            mode = "ab" if os.name == "nt" else "rb"  # elsewhere also what one may only read is confirmed
            with plainly(words.NOT_CONFIRMED, self.folder, where), self._path.open(mode, buffering=0) as file:
                self._wait_for_disk(file, where)

    def _wait_for_disk(self, file: IO[bytes], where: str) -> None:
        with plainly(words.NOT_CONFIRMED, self.folder, where):
            os.fsync(file.fileno())
        self._confirmed = os.fstat(file.fileno()).st_size

    def _move_tail_aside(self) -> None:
        """The copy is on the disk before the file is cut, so that a crash in between loses nothing."""
        if not self._tail:
            return
        aside = self._aside()
        try:
            with aside.open("xb") as copy:
                copy.write(self._tail)
                copy.flush()
                os.fsync(copy.fileno())
        except FileExistsError:
            raise
        except OSError:  # half a copy of what still stands in the file; on a full disk each retry leaves one
            with suppress(OSError):
                aside.unlink()
            raise
        sync_folder(self.folder)
        with self._path.open("r+b") as file:
            file.truncate(self._position)
            os.fsync(file.fileno())


def _is_object(raw: bytes) -> bool:
    try:
        parse_line(raw, "")
    except RecordError:
        return False
    return True


def sync_folder(folder: Path) -> None:
    """Have the disk confirm the names in a folder, where the operating system can."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


@contextmanager
def plainly(sentence: str, folder: Path, where: str = "") -> Iterator[None]:
    """Turn an error of the operating system into the sentence."""
    try:
        yield
    except RecordError:
        raise
    except OSError as error:
        facts = {"where": where, "file": FILE, "folder": folder}
        raise RecordError(sentence.format(**facts, reason=error.strerror or error)) from error


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
        event : kind of event, one of `labkit.record.events.KINDS`
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
            raise RecordError(
                f"{where}: {own[0]} cannot be given, because the record writes it itself; leave it out."
            )
        head = {"schema": NEWEST_SCHEMA, "seq": self._chain.seq + 1, "utc": self._utc()}
        link = {"prev": self._chain.digest}
        return to_event(head | {"event": event, "id": id} | fields | link, where)

    def _utc(self) -> str:
        moment = self._clock()
        if moment.utcoffset() is None:
            raise RecordError(
                f"The clock gave {spoken(moment)}, but a record needs a time with its time zone; "
                "pass a clock that returns one."
            )
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
            raise RecordError(
                f"The record in '{self.folder}' is open read-only, so {where} was NOT stored; "
                "open one of your own."
            )
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
        raise RecordError(
            f"{spoken(str(folder))} cannot be the name of a folder; check the folder's name."
        ) from None


def _refuse_other_content(stored: Event, new: Event) -> None:
    there, given = told(stored), told(new)
    other = [field for field in there | given if there.get(field, ...) != given.get(field, ...)]
    if other:
        field = min(other, key=lambda field: field not in there or field not in given)
        values = [spoken(content[field]) if field in content else words.ABSENT for content in (there, given)]
        facts = {"id": stored.id, "field": field, "stored": values[0], "given": values[1]}
        remedy = words.REMEDIES.get(stored.event, words.REMEDY).format(id=stored.id)
        raise RecordConflict(words.CONFLICT.format(**facts, remedy=remedy))
