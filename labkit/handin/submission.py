"""One bundle under examination: each part worked out once and only when asked for."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from functools import cached_property
from pathlib import Path

from labkit.analysis.analysis import Analysis
from labkit.analysis.findings import (
    coupled_rule,
    coupling,
    failed_closures,
    missing,
    polarity,
    uncoupled_rule,
)
from labkit.analysis.routes import SINGLES
from labkit.bench.bench import Bench
from labkit.bench.kept import path_of
from labkit.errors import LabkitError
from labkit.handin.bundle import MANIFEST, RECORD, REPORT, BundleError, read_bundle, surplus
from labkit.handin.claims import Claims, claims
from labkit.handin.manifest import Manifest, read_manifest
from labkit.handin.submitted import SubmittedBench
from labkit.words import handin as words
from labkit.words.report import GENERATOR, HEAD
from labkit.words.sweeps import CONDITION_NAMES

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
        """Everything computed anew from the readings."""
        return Analysis(self.bench)

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
        from labkit.analysis.characterise.characterisation import characterisation_of  # load scipy
        from labkit.analysis.characterise.sayings import say

        return (finding.sentence for finding in say(characterisation_of(analysis.bench)))
    return (finding.sentence for finder in FINDERS for finding in finder(analysis))
