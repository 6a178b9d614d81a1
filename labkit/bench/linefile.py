"""A record's file as lines of bytes: read what was added, add one line, wait until the disk has it.

Knows no events. Bytes after the last whole line are left alone by reading; the next line that is written
first moves them to a file of their own, where they are kept.
"""

import itertools
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, BinaryIO, NamedTuple

from labkit.bench.chain import FILE, place
from labkit.bench.events import parse_line
from labkit.errors import RecordConflict, RecordError, RecordMissing
from labkit.words import record as words

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
            raise RecordConflict(words.EXISTS.format(file=FILE, folder=self.folder))

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
                    raise OSError(words.SHORT.format(written=written, size=len(line)))
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
