"""Record and sweeps of a bundle: read from memory, checked whole, and never to be added to."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NoReturn

from labkit.bench.bench import Bench
from labkit.bench.chain import Chain
from labkit.bench.kept import as_stored, path_of, read_content
from labkit.bench.store import Record
from labkit.bench.stored_sweep import StoredSweep
from labkit.bench.sweep_event import KeptFile
from labkit.bench.sweeping import Content, checked
from labkit.errors import RecordError, SweepError
from labkit.handin.bundle import RECORD, BundleError
from labkit.words import handin as words

MOST_EVENTS = 2000
MOST_RECORD_BYTES = 8 * 1024 * 1024
MOST_SWEEPS = 200
MOST_SWEEP_BYTES = 24 * 1024 * 1024  # of the files of all sweeps, each counted as often as it is named
MOST_SWEEP_LINES = 300_000  # of these; seven sweeps of 10 001 points with open and short, and a four-port's


class SubmittedRecord(Record):
    """A record that exists as bytes only; `events`, `digest` and `problems` are those of a record on disk."""

    def __init__(self, data: bytes) -> None:
        if len(data) > MOST_RECORD_BYTES or data.count(b"\n") > MOST_EVENTS:
            facts = {"events": MOST_EVENTS, "megabytes": MOST_RECORD_BYTES // 1024 // 1024}
            raise BundleError(words.RECORD_TOO_LONG.format(**facts))
        self.folder, self.read_only = Path(RECORD), True
        self._chain = Chain()
        *whole, tail = data.split(b"\n")
        for line in [*whole, tail] if tail else whole:
            self._chain.take(line + b"\n")

    @property
    def problems(self) -> tuple[str, ...]:
        """One sentence for each line that is not as it was written."""
        return tuple(self._chain.problems) or (() if self.events else (words.RECORD_EMPTY,))

    def refresh(self) -> None:
        """Nothing can have been added."""

    def append(self, event: str, id: str, **fields: Any) -> NoReturn:  # noqa: ARG002 - nothing is taken
        """Refused: what was handed in stays as it is."""
        raise RecordError(words.STAYS)


@dataclass(frozen=True)
class SubmittedSweep(StoredSweep):
    """A sweep with files of a bundle; what the bench's own verb would refuse is refused here too."""

    bench: "SubmittedBench"
    read: dict[str, Content] = field(default_factory=dict)

    def kept(self, kept: KeptFile) -> bytes:
        """The bytes of one of its files; SweepError if the bundle lacks it, or it is not the one stored."""
        name = path_of(kept, Path()).as_posix()
        if name not in self.bench.files:
            raise SweepError(words.SWEEP_FILE_MISSING.format(name=ascii(kept.file), where=name))
        return as_stored(self.bench.files[name], kept)

    def measured(self) -> Content:
        """What the file says, after everything that the sweep's event says was held against its files."""
        event = self.event
        self.bench.require_hook_up(event.wiring, event.setup, event.ports)
        roles = {"": event, "open": event.open, "short": event.short}
        contents = {role: self._content(kept) for role, kept in roles.items() if kept is not None}
        checked(event, contents, self.bench.dots)
        return contents[""]

    def _content(self, kept: KeptFile) -> Content:
        """Read once; nothing is held longer than this bundle is looked at."""
        if kept.sha256 not in self.read:
            self.read[kept.sha256] = read_content(self.kept(kept), kept.file, self.event.decimal)
        return self.read[kept.sha256]

    def _port(self, kept: KeptFile) -> Any:
        if kept is self.event:
            self.measured()
        return super()._port(kept)


class SubmittedBench(Bench):
    """The bench of a bundle's record; its sweeps are read from the bundle's files and from nowhere else."""

    def __init__(self, files: Mapping[str, bytes]) -> None:
        super().__init__(SubmittedRecord(files[RECORD]))
        self.files = files

    @property
    def sweeps(self) -> tuple[SubmittedSweep, ...]:
        """The sweeps that stand, in order; BundleError if their files are larger than any session gives."""
        found = tuple(SubmittedSweep(each.event, each.folder, self) for each in super().sweeps)
        named = [
            self.files.get(path_of(kept, Path()).as_posix(), b"")
            for each in found
            for kept in (each.event, each.event.open, each.event.short)
            if kept is not None
        ]
        size = sum(map(len, named))
        if len(found) > MOST_SWEEPS or size > MOST_SWEEP_BYTES or sum(map(_lines, named)) > MOST_SWEEP_LINES:
            facts = {"megabytes": MOST_SWEEP_BYTES // 1024 // 1024, "lines": MOST_SWEEP_LINES}
            raise BundleError(words.SWEEPS_TOO_LARGE.format(count=MOST_SWEEPS, **facts))
        return found

    def require_hook_up(self, wiring: str | None, setup: Any, ports: str | None) -> None:
        """Refuse a wiring or ports that the part does not have; EntryError or WiringError."""
        self._hook_up(wiring, setup, ports)


def _lines(data: bytes) -> int:
    return data.count(b"\n") + data.count(b"\r")
