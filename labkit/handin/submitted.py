"""The record of a bundle: read from memory, checked whole, and never to be added to."""

from pathlib import Path
from typing import Any, NoReturn

from labkit.bench.chain import Chain
from labkit.bench.store import Record
from labkit.errors import RecordError
from labkit.handin.bundle import RECORD, BundleError
from labkit.words import handin as words

MOST_EVENTS = 2000
MOST_RECORD_BYTES = 8 * 1024 * 1024


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
