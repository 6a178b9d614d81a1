"""Check one bundle: everything recomputed from its raw readings with this labkit, nothing of it run."""

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from labkit.errors import LabkitError
from labkit.handin.bundle import RECORD, BundleError, read_file
from labkit.handin.points import POINTS, Outcome, Point, look
from labkit.handin.submission import Submission
from labkit.show import Heading, Part, Shown, Table, Text
from labkit.words import handin as words

COLUMNS = ("opens", *POINTS)
TIMEOUT_S = 60.0


@dataclass(frozen=True)
class Examination(Shown):
    """What was found in one bundle.

    Attributes
    ----------
    name : of the bundle
    points : one for each of `COLUMNS`, in that order
    part : name of the part under test, empty if not known
    mutual_inductance, coupling_coefficient : the key, recomputed from the group's own readings; empty if the
        readings give none
    unforeseen : whether labkit itself could not go on, which is labkit's fault and nobody else's
    """

    name: str
    points: tuple[Point, ...]
    part: str = ""
    mutual_inductance: str = ""
    coupling_coefficient: str = ""
    unforeseen: bool = False

    def outcome(self, column: str) -> Outcome:
        """What was found in one column."""
        return next(point.outcome for point in self.points if point.column == column)

    @property
    def feedback(self) -> tuple[str, ...]:
        """All draft feedback, one paragraph a column."""
        return tuple(" ".join(point.sentences) for point in self.points if point.sentences)

    def parts(self) -> tuple[Part, ...]:
        rows = tuple((words.COLUMN[point.column], words.OUTCOME[point.outcome]) for point in self.points)
        key = words.KEY.format(M=self.mutual_inductance, k=self.coupling_coefficient)
        return (
            Heading(self.name),
            Table(words.CHECK_HEADER, rows),
            *((Text(key),) if self.mutual_inductance else ()),
            *(Text(paragraph, tone="caution") for paragraph in self.feedback),
            *(() if self.feedback else (Text(words.NO_FEEDBACK),)),
        )


def check(bundle: str | Path) -> Examination:
    """Check one bundle file; raises BundleError only if there is no such file to read."""
    path = Path(bundle)
    return examine(path.name, read_file(path))


def examine(name: str, data: bytes) -> Examination:
    """The examination of a bundle's bytes; whatever is wrong with them becomes a sentence in it."""
    try:
        submission = Submission(data)
        if RECORD not in submission.files:
            raise BundleError(words.NO_RECORD)
    except BundleError as error:
        return closed(name, str(error), words.PACK_AGAIN)
    try:
        return _examined(name, submission)
    except Exception as error:  # one bundle must not stop forty; the sentence blames labkit
        return replace(
            closed(name, words.UNFORESEEN.format(kind=type(error).__name__), words.TELL_US), unforeseen=True
        )


def _examined(name: str, s: Submission) -> Examination:
    points = (Point("opens", "yes"), *(look(column, s) for column in POINTS))
    try:
        by, part = s.analysis.believed, s.bench.part_name
    except LabkitError:
        return Examination(name, _said_once(points))
    if by is None:
        return Examination(name, _said_once(points), part)
    M, k = by.text(by.mutual_inductance), by.text(by.coefficient, "")
    return Examination(name, _said_once(points), part, M, k)


def _said_once(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """The same points, each sentence where it stands first."""
    said: set[str] = set()
    kept = []
    for point in points:
        new = tuple(sentence for sentence in point.sentences if sentence not in said)
        said |= set(new)
        kept.append(replace(point, sentences=new))
    return tuple(kept)


def closed(name: str, *sentences: str) -> Examination:
    """The examination of a bundle that could not be looked into."""
    others = tuple(Point(column, "cannot tell") for column in POINTS)
    return Examination(name, (Point("opens", "no", sentences), *others))


class _TimeIsUp(BaseException):
    """Passes through every handler of errors."""


def within(seconds: float, name: str, work: Callable[[], Examination]) -> Examination:
    """The work's examination, or one that says that it took too long.

    In a main thread of a system with signals the work is stopped; elsewhere it is left behind in a thread
    that ends with the process.
    """
    late = closed(name, words.TOO_LONG.format(seconds=f"{seconds:g}"), words.TOO_LONG_ADVICE)
    if threading.current_thread() is threading.main_thread() and hasattr(signal, "setitimer"):
        try:
            with _alarm(seconds):
                return work()
        except _TimeIsUp:
            return late
    found: list[Examination] = []
    thread = threading.Thread(target=lambda: found.append(work()), daemon=True)
    thread.start()
    thread.join(seconds)
    return found[0] if found else late


@contextmanager
def _alarm(seconds: float) -> Iterator[None]:
    def up(number: int, frame: object) -> None:  # noqa: ARG001 - the signature of a handler
        raise _TimeIsUp

    before = signal.signal(signal.SIGALRM, up)
    # again and again: raised while an object is being finalised, it would be lost
    signal.setitimer(signal.ITIMER_REAL, seconds, 0.1)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)
