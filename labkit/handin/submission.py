"""One bundle under examination: each part worked out once and only when asked for."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from html.parser import HTMLParser
from itertools import zip_longest
from pathlib import Path
from typing import Any, NoReturn

from labkit.analysis.analysis import Analysis, analyse
from labkit.analysis.findings import (
    coupled_rule,
    coupling,
    failed_closures,
    missing,
    polarity,
    uncoupled_rule,
)
from labkit.analysis.routes import SINGLES
from labkit.errors import LabkitError, RecordError, SweepError
from labkit.handin.bundle import (
    MANIFEST,
    RECORD,
    REPORT,
    BundleError,
    Manifest,
    read_bundle,
    read_manifest,
    strict_json,
    surplus,
)
from labkit.handin.claims import Claims, claims
from labkit.record.bench import Bench
from labkit.record.events import KeptFile, spoken
from labkit.record.record_file import Chain, Record
from labkit.record.sweep_files import Content, StoredSweep, as_stored, checked, path_of, read_content
from labkit.words import handin as words
from labkit.words.report import GENERATOR, HEAD
from labkit.words.sweeps import CONDITION_NAMES

# Record and sweeps of a bundle: read from memory, checked whole, and never to be added to.

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
        raise RecordError(
            "What was handed in stays as it is; enter what is new at the bench, and pack again."
        )


@dataclass(frozen=True)
class SubmittedSweep(StoredSweep):
    """A sweep with files of a bundle; what the bench's own verb would refuse is refused here too."""

    bench: "SubmittedBench"
    read: dict[str, Content] = field(default_factory=dict)

    def kept(self, kept: KeptFile) -> bytes:
        """The bytes of one of its files; SweepError if the bundle lacks it, or it is not the one stored."""
        name = path_of(kept, Path()).as_posix()
        if name not in self.bench.files:
            raise SweepError(
                f"{kept.file!a}, a file of a sweep, is not in the bundle; it would stand there as {name}."
            )
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


# What a stored notebook or report says, as text: parsed, never run, and nothing of it shown as markup.

_ABSOLUTE = re.compile(
    r"""["'](?:/(?:home|Users|root|tmp|mnt|media|work|var|opt)/|[A-Za-z]:[\\/]|\\\\)[^"'\n]{0,200}"""
)


def cells(data: bytes, name: str) -> list[dict[str, Any]]:
    """The code cells of a notebook; BundleError with one sentence if it is none."""
    found = strict_json(data, name).get("cells")
    if not isinstance(found, list):
        raise BundleError(
            f"{name!a} holds no list of cells, so it is no notebook; save it again and pack again."
        )
    return [cell for cell in found if isinstance(cell, dict) and cell.get("cell_type") == "code"]


def absolute_paths(data: bytes, name: str) -> tuple[str, ...]:
    """Quoted absolute paths in the code of a notebook; another computer does not have them."""
    sources = (_joined(cell.get("source")) for cell in cells(data, name))
    return tuple(dict.fromkeys(match[0][1:] for text in sources for match in _ABSOLUTE.finditer(text)))


def output_text(data: bytes, name: str) -> str:
    """All plain text that the stored outputs hold; HTML, scripts, images and widget state are not read."""
    return "\n".join(text for cell in cells(data, name) for text in _texts(cell.get("outputs")))


def _texts(outputs: object) -> Iterator[str]:
    for output in outputs if isinstance(outputs, list) else ():
        if isinstance(output, Mapping):
            data = output.get("data")
            yield _joined(output.get("text"))
            yield _joined(data.get("text/plain") if isinstance(data, Mapping) else None)


def _joined(text: object) -> str:
    if isinstance(text, list):
        return "".join(line for line in text if isinstance(line, str))
    return text if isinstance(text, str) else ""


def not_in(text: str, sentences: Iterable[str]) -> list[str]:
    """The sentences that do not stand in the text, wherever its lines are broken."""
    packed = "".join(text.split())
    return [sentence for sentence in sentences if "".join(sentence.split()) not in packed]


class _Words(HTMLParser):
    """The words of a page outside its styles, drawings and what is said about versions."""

    UNREAD = ("style", "script", "svg", "title")
    APART = ("picture", "provenance")

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._inside: list[str] = []  # elements that are not read, each within the one before

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        apart = tag == "section" and dict(attrs).get("id") in self.APART
        if apart or tag in self.UNREAD or (self._inside and tag == self._inside[-1]):
            self._inside.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self._inside and tag == self._inside[-1]:
            self._inside.pop()

    def handle_data(self, data: str) -> None:
        if not self._inside:
            self.found += data.split()


def page_words(html: str) -> list[str]:
    """The words and numbers of a report in their order; its picture and its provenance are left out."""
    reader = _Words()
    reader.feed(html)
    reader.close()
    return reader.found


def difference(theirs: list[str], ours: list[str]) -> str:
    """A sentence with the first words that differ, empty if none do; a number's last digit may."""
    for place, (one, other) in enumerate(zip_longest(theirs, ours, fillvalue="")):
        if one != other and not _same_number(one, other):
            both = [" ".join(found[max(place - 3, 0) : place + 4])[:120] for found in (theirs, ours)]
            facts = dict(zip(("theirs", "ours"), map(spoken, both), strict=True))
            return words.REPORT_DIFFERS.format(**facts)
    return ""


_DIGITS = re.compile(r"[0-9]+(?:[.][0-9]+)?")


def _same_number(one: str, other: str) -> bool:
    """Whether two words are the same but for the last digit of the numbers in them."""
    if _DIGITS.split(one) != _DIGITS.split(other):
        return False
    pairs = zip(_DIGITS.findall(one), _DIGITS.findall(other), strict=True)
    return all(a == b or abs(float(a) - float(b)) <= 1.01 * max(map(_step, (a, b))) for a, b in pairs)


def _step(number: str) -> float:
    """What the last digit of a number is worth; nothing of a whole one, which is a count or a name."""
    decimals = number.partition(".")[2]
    return 10.0 ** -len(decimals) if decimals else 0.0


YEARS = (2000, 2100)  # between which a clock that was ever set stands
CLOCK_S = 60.0  # seconds by which a clock is set back without anybody's doing

FINDERS = (missing, uncoupled_rule, coupling, polarity, coupled_rule, failed_closures)
"""What a bundle is held to: findings that follow from the readings without draws over causes."""


class Submission:
    """The files of a bundle and what follows from them; every attribute may raise LabkitError."""

    def __init__(self, data: bytes) -> None:
        self.files = read_bundle(data)
        self.surplus = surplus(data)

    @property
    def manifest(self) -> Manifest:
        """The manifest; one that cannot be taken is read once all the same."""
        if isinstance(self._manifest, str):
            raise BundleError(self._manifest)
        return self._manifest

    @cached_property
    def _manifest(self) -> Manifest | str:
        try:
            return read_manifest(self.files)
        except BundleError as error:
            return str(error)

    @cached_property
    def bench(self) -> Bench:
        """The bench with the record that was handed in."""
        if RECORD not in self.files:
            raise BundleError(words.NO_RECORD)
        return SubmittedBench(self.files)

    @cached_property
    def analysis(self) -> Analysis:
        """Everything computed anew from the readings, once for all points and the report."""
        return analyse(self.bench)

    @cached_property
    def computed(self) -> Claims:
        """What the record gives, in the form of the manifest's claims."""
        return claims(self.analysis)

    @property
    def notebooks(self) -> dict[str, bytes]:
        """Notebooks by name."""
        return {name: data for name, data in self.files.items() if name.endswith(".ipynb")}

    @property
    def unreadable(self) -> str:
        """Why the record cannot be read, empty if it can."""
        try:
            _ = self.bench.readings, self.bench.predictions, self.bench.cards, self.bench.dots
        except LabkitError as error:
            return str(error)
        return ""


def odd_times(bench: Bench) -> Iterator[str]:
    """One sentence if the times of the entries do not run forward, or are of no year that can be."""
    before = None
    for event in bench.events:
        moment = datetime.fromisoformat(event.utc)
        if not YEARS[0] <= moment.year < YEARS[1]:
            yield words.ODD_YEAR.format(id=event.id, utc=event.utc)
            return
        if before and (datetime.fromisoformat(before.utc) - moment).total_seconds() > CLOCK_S:
            yield words.BACKWARD.format(id=event.id, utc=event.utc, other=before.id, before=before.utc)
            return
        before = event


def not_made(s: Submission) -> list[str]:
    """Names of the files that are no record, notebook or report of labkit's, nor a sweep of the record."""
    sweeps = {
        path_of(kept, Path()).as_posix()
        for sweep in s.bench.sweeps
        for kept in (sweep.event, sweep.event.open, sweep.event.short)
        if kept is not None
    }
    made = {RECORD, MANIFEST, *s.notebooks, *sweeps}
    made |= {REPORT} if GENERATOR in s.files.get(REPORT, b"")[:HEAD] else set()
    return sorted(s.files.keys() - made)


def gaps(bench: Bench, analysis: Analysis) -> Iterator[str]:
    """One sentence for each thing that a second person would need and the record does not say."""
    if bench.part is None:
        yield words.NO_PART
    if not bench.cautions_accepted:
        yield words.NO_CAUTIONS
    for sweep in bench.sweeps:
        if sweep.gaps:
            yield words.SWEEP_GAPS.format(id=sweep.id, gaps=named([CONDITION_NAMES[g] for g in sweep.gaps]))
    if not bench.readings:
        if not bench.sweeps:
            yield words.NO_READINGS
        return
    if without := [r.id for r in bench.readings if r.frequency is None]:
        yield words.NO_FREQUENCY.format(ids=named(without))
    cards = bench.cards
    if uncarded := [r.id for r in bench.readings if cards.get(r.meter or "") is None]:
        yield words.NO_CARD.format(ids=named(uncarded))
    if bench.windings == 2:
        yield from _unread(bench, analysis)


def _unread(bench: Bench, analysis: Analysis) -> Iterator[str]:
    read = {o.connection for o in analysis.shared.observations}
    if lacking := [str(n) for n, single in enumerate(SINGLES, start=1) if single not in read]:
        yield words.NO_SINGLE.format(windings=named(lacking))
    if not any(reading.joint for reading in bench.readings):
        yield words.NO_JOINT


def named(ids: Sequence[str], most: int = 8) -> str:
    """Ids in a sentence; those beyond `most` are counted."""
    more = words.AND_MORE.format(count=len(ids) - most) if len(ids) > most else ""
    return ", ".join(ids[:most]) + more


def sentences(analysis: Analysis) -> Iterator[str]:
    """The findings that a stored notebook of this record shows: of a bench with sweeps, what they say."""
    if analysis.bench.sweeps:
        from labkit.choke.characterisation import characterisation_of  # load scipy
        from labkit.choke.findings import say

        return (finding.sentence for finding in say(characterisation_of(analysis.bench)))
    return (finding.sentence for finder in FINDERS for finding in finder(analysis))
