"""Class results from a folder: every bundle and record in it read as bytes, nothing of it run."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from labkit.analysis.classroom import Group, group_of, reference_of
from labkit.analysis.classroom_results import ClassResults
from labkit.bench.bench import Bench
from labkit.errors import EntryError, LabkitError
from labkit.handin.bundle import RECORD
from labkit.handin.review import Place, find
from labkit.handin.submission import Submission
from labkit.handin.submitted import SubmittedRecord
from labkit.words import classroom as words

RECORDS = ".jsonl"


@dataclass(frozen=True)
class Entrant:
    """One record of a class: where it lies and the names that it may be called by."""

    place: Place

    @property
    def names(self) -> tuple[str, ...]:
        """The file's name with and without its ending, or the bench folder's."""
        file = Path(self.place.inside or self.place.path)
        if file.name == RECORD:
            return (self.place.path.resolve().parent.name,)
        return file.name, file.name.removesuffix(file.suffix), file.name.removesuffix(".bundle.zip")

    def bench(self) -> Bench:
        """Its bench, read from memory; LabkitError if there is none."""
        data = self.place.read()
        if self.place.path.suffix == RECORDS:
            return Bench(SubmittedRecord(data))
        return Submission(data).bench


def class_results(
    folder: str | Path,
    own: str | None = None,
    *,
    shared: bool | None = None,
    reference: str | Path | None = None,
) -> ClassResults:
    """A class side by side: robust mean and spread of every quantity, scores where values are comparable.

    Parameters
    ----------
    folder : bundles (`.zip`), records (`.jsonl`) and bench folders at any depth, or one archive of bundles
    own : name of one's own bundle, record or bench folder, which is highlighted; all others stay anonymous
    shared : True if one part went round, so that z and E_n are formed of the values themselves; False if each
        group had its own part, so that only closure residuals are scored; None: as the parts' names say
    reference : bundle, record or bench folder that the values of a shared part are held against; without one
        they are held against the class's robust mean

    Returns
    -------
    ClassResults: shows itself; `labkit.class_dots` and `labkit.class_scores` draw it

    Raises
    ------
    EntryError
        if there is no such folder, own record or reference.

    References
    ----------
    ISO 13528:2022, 7.7 and 9; see `labkit.uncertainty.robust`
    """
    source = Path(folder)
    if not source.exists():
        raise EntryError(words.NO_FOLDER.format(given=folder), str(folder))
    read = [(entrant, _group(entrant)) for entrant in _entrants(source)]
    groups = list({group.digest: group for _, group in read if group}.values())
    mine = _own(read, own)
    target = _reference(Path(reference)) if reference is not None else None
    shared, assumed = _shared(groups, shared)
    if target and not shared:
        raise EntryError(words.NOT_SHARED, str(reference))
    unread = sum(group is None for _, group in read)
    return ClassResults(groups, mine, shared=shared, assumed=assumed, reference=target, unread=unread)


def _entrants(source: Path) -> Iterator[Entrant]:
    yield from map(Entrant, find(source))
    if source.is_dir():
        for path in sorted(source.rglob(f"*{RECORDS}")):
            if path.is_file() and not path.is_symlink():
                yield Entrant(Place(path))


def _own(read: list[tuple[Entrant, Group | None]], own: str | None) -> Group | None:
    if own is None:
        return None
    found = {group.digest if group else "": group for entrant, group in read if own in entrant.names}
    if len(found) != 1:
        raise EntryError((words.TWO_OWN if found else words.NO_OWN).format(given=own), own)
    (group,) = found.values()
    if group is None:
        raise EntryError(words.OWN_UNREAD.format(given=own), own)
    return group


def _group(entrant: Entrant) -> Group | None:
    """What a record gives, None if it cannot be read; one record must not stop a class."""
    try:
        return group_of(entrant.names[-1], entrant.bench())
    except Exception:  # whatever is in it: `labkit check` says what
        return None


def _reference(path: Path) -> Group:
    file = path / RECORD if path.is_dir() else path
    try:
        return reference_of(Entrant(Place(file)).bench())
    except LabkitError as error:
        raise EntryError(words.NO_REFERENCE.format(given=path, reason=error), str(path)) from None


def _shared(groups: list[Group], told: bool | None) -> tuple[bool, str]:
    """Whether one part went round, and the sentence that says how that is known."""
    if told is not None:
        return told, words.TOLD_SHARED if told else words.TOLD_OWN
    parts = {group.part for group in groups}
    if len(parts) == 1 and len(groups) > 1:
        return True, words.SHARED_BY_NAME
    return False, words.OWN_PARTS if groups else ""
