"""Class results from a folder: every bundle and record in it read as bytes, nothing of it run."""

from dataclasses import dataclass
from pathlib import Path, PurePath

from labkit.analysis.classroom import ClassResults, Group, group_of, reference_of
from labkit.errors import EntryError, LabkitError
from labkit.handin.bundle import RECORD, Place
from labkit.handin.review import files_below, find, unread_folders
from labkit.handin.submission import Submission, SubmittedRecord
from labkit.record.bench import Bench
from labkit.words import classroom as words

RECORDS, BUNDLE = ".jsonl", ".bundle.zip"


@dataclass(frozen=True)
class Entrant:
    """One record of a class: where it lies and the names that it may be called by."""

    place: Place

    @property
    def name(self) -> str:
        """Its path below the class's folder: without the endings, of a record that of its folder."""
        path = PurePath(self.place.inside or self.place.below)
        if path.name == RECORD:
            above = path.parent.as_posix()
            return self.place.path.resolve().parent.name if above == "." else above
        return path.as_posix().removesuffix(BUNDLE).removesuffix(path.suffix)

    @property
    def names(self) -> tuple[str, ...]:
        """Its path, each folder that this begins with, the file's name with and without its ending."""
        path = PurePath(self.place.inside or self.place.below)
        folders = [above.as_posix() for above in path.parents if above.name]
        files = [] if path.name == RECORD else [path.name, path.stem]
        return self.name, *folders, *files, PurePath(self.name).name

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
    own : name of one's own bundle, record or bench folder, which is highlighted; all others stay anonymous.
        If several are called so, its path below `folder` or the folder that this begins with, as a login
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
    ISO 13528:2022, 7.7 and 9; see `labkit.uncertainty.decisions`
    """
    source = Path(folder)
    if not source.exists():
        raise EntryError(
            f"There is no folder or archive {folder}; give the folder that holds the bundles "
            "or bench folders of the class.",
            str(folder),
        )
    entrants, closed = _entrants(source)
    read = [(entrant, _group(entrant)) for entrant in entrants]
    groups = list({group.digest: group for _, group in read if group}.values())
    mine = _own(read, own)
    target = _reference(Path(reference)) if reference is not None else None
    shared, assumed = _shared(groups, shared)
    if target and not shared:
        raise EntryError(
            "A reference belongs to one part that went round: say shared=True with it, or leave it out.",
            str(reference),
        )
    unread = sum(group is None for _, group in read)
    told = [sentence for sentence in (assumed, *unread_folders(closed)) if sentence]
    return ClassResults(groups, mine, shared=shared, told=told, reference=target, unread=unread)


def _entrants(source: Path) -> tuple[list[Entrant], int]:
    """Every bundle and record, and how many folders could not be read."""
    places, unread = find(source)
    if source.is_dir():
        places += files_below(source, RECORDS)[0]
    return list(map(Entrant, places)), unread


def _own(read: list[tuple[Entrant, Group | None]], own: str | None) -> Group | None:
    if own is None:
        return None
    found = {group.digest if group else "": group for entrant, group in read if own in entrant.names}
    if len(found) != 1:
        raise EntryError(
            (
                "More than one record is called '{given}'; give its path below that folder, or "
                "the file's name with its ending."
                if found
                else words.NO_OWN
            ).format(given=own),
            own,
        )
    (group,) = found.values()
    if group is None:
        raise EntryError(f"Your own record '{own}' cannot be read; labkit check says why.", own)
    return group


def _group(entrant: Entrant) -> Group | None:
    """What a record gives, None if it cannot be read; one record must not stop a class."""
    try:
        return group_of(entrant.name, entrant.bench())
    except Exception:  # whatever is in it: `labkit check` says what
        return None


def _reference(path: Path) -> Group:
    file = path / RECORD if path.is_dir() else path
    try:
        return reference_of(Entrant(Place(file)).bench())
    except LabkitError as error:
        raise EntryError(f"The reference {path} cannot be taken: {error}", str(path)) from None


def _shared(groups: list[Group], told: bool | None) -> tuple[bool, str]:
    """Whether one part went round, and the sentence that says how that is known."""
    if told is not None:
        return told, words.TOLD_SHARED if told else words.TOLD_OWN
    parts = {group.part for group in groups}
    if len(parts) == 1 and len(groups) > 1:
        return True, words.SHARED_BY_NAME
    return False, words.OWN_PARTS if groups else ""
