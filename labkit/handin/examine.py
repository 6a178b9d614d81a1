"""Check one bundle: everything recomputed from its raw readings with this labkit, nothing of it run.

An `Examiner` does so in a process of its own. Whatever a bundle does to it, in memory, time or death, becomes
a sentence about that bundle, and the next one finds a new process.
"""

import math
import os
import pickle
import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Self

from labkit.errors import EntryError, LabkitError
from labkit.handin.bundle import RECORD, BundleError, Place, read_file
from labkit.handin.points import POINTS, Outcome, Point, look
from labkit.handin.submission import Submission
from labkit.show import Heading, Part, Shown, Table, Text
from labkit.words import handin as words

COLUMNS = ("opens", *POINTS)
TIMEOUT_S = 60.0
LONGEST_S = 86_400.0
MOST_MEMORY = 2 * 1024**3  # bytes that one process may ask for; bundles as they are take a quarter of it
_SERVE = "from labkit.handin.examine import serve; serve()"
_ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")


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
    record : hash of the record, empty if there is none
    unforeseen : whether labkit itself could not go on, which is labkit's fault and nobody else's
    """

    name: str
    points: tuple[Point, ...]
    part: str = ""
    mutual_inductance: str = ""
    coupling_coefficient: str = ""
    unforeseen: bool = False
    record: str = ""

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


def check(bundle: str | Path, timeout: float = TIMEOUT_S) -> Examination:
    """Check one bundle file within the limits of a review; BundleError only if there is no file to read."""
    path = Path(bundle)
    read_file(path)
    with Examiner(timeout) as examiner:
        return examiner.look(Place(path.absolute()))


def examine(name: str, data: bytes) -> Examination:
    """The examination of a bundle's bytes; whatever is wrong with them becomes a sentence in it.

    Raises
    ------
    MemoryError
        if there is not enough; an `Examiner` makes a sentence of that too.
    """
    return _guarded(name, lambda: data)


def _guarded(name: str, read: Callable[[], bytes]) -> Examination:
    try:
        submission = Submission(read())
        if RECORD not in submission.files:
            raise BundleError(words.NO_RECORD)
        return _examined(name, submission)
    except BundleError as error:
        return closed(name, str(error), words.PACK_AGAIN)
    except MemoryError:
        raise
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
    M, k = (by.text(by.mutual_inductance), by.text(by.coefficient, "")) if by else ("", "")
    return Examination(name, _said_once(points), part, M, k, record=s.bench.record.digest or "")


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


class Examiner:
    """A process that looks at one bundle after the other, and is replaced if it ends or takes too long.

    Parameters
    ----------
    timeout : seconds for one bundle

    Raises
    ------
    EntryError
        if that is no time.
    """

    def __init__(self, timeout: float = TIMEOUT_S) -> None:
        if not 0 < timeout <= LONGEST_S:
            raise EntryError(words.NO_TIME.format(given=timeout, most=LONGEST_S), str(timeout))
        self.timeout = timeout
        self._process: subprocess.Popen[bytes] | None = None
        self._starting = threading.Lock()
        self.stopped = False

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def look(self, place: Place) -> Examination:
        """What is found in a bundle; one that a process ended at gets a second one before that is said."""
        found = self._asked(place) or self._asked(place)
        return found or closed(place.name, words.DIED, words.LOOK_ALONE)

    def stop(self) -> None:
        """End the process now and for good, also while another thread waits for it."""
        with self._starting:
            self.stopped = True
            self._end()

    def _asked(self, place: Place) -> Examination | None:
        """What the process answers, None if it ended instead."""
        process = self._running()
        if process is None or process.stdin is None or process.stdout is None:
            return None
        late = threading.Event()

        def up() -> None:
            late.set()
            process.kill()

        alarm = threading.Timer(self.timeout, up)
        try:
            if not process.stdout.read(1):  # comes when it has loaded what it needs, which is nobody's time
                raise EOFError
            alarm.start()
            pickle.dump((place, self.timeout), process.stdin)
            process.stdin.flush()
            answer = pickle.load(process.stdout)
        except (OSError, EOFError, ValueError, pickle.UnpicklingError):
            with self._starting:
                self._end()
            said = words.TOO_LONG.format(seconds=f"{self.timeout:g}")
            return closed(place.name, said, words.TOO_LONG_ADVICE) if late.is_set() else None
        finally:
            alarm.cancel()
        return answer if isinstance(answer, Examination) else None

    def _running(self) -> subprocess.Popen[bytes] | None:
        """The process, a new one if it has ended; None if there is to be none any more."""
        with self._starting:
            if self.stopped:
                return None
            if self._process is None or self._process.poll() is not None:
                self._end()
                self._process = subprocess.Popen(
                    [sys.executable, "-P", "-c", _SERVE],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL,
                    env=os.environ | _ONE_THREAD,
                    start_new_session=True,  # Ctrl+C is for the one that asks
                )
            return self._process

    def _end(self) -> None:
        if self._process is not None:
            self._process.kill()
            with self._process:  # closes its pipes and waits
                pass
            self._process = None


def serve() -> None:
    """Look at the bundles that standard input names until it ends; standard output takes answers alone."""
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    _limit_memory()
    while True:
        answers.write(b"!")
        answers.flush()
        try:
            place, seconds = pickle.load(sys.stdin.buffer)
        except EOFError:
            return
        if hasattr(signal, "alarm"):
            signal.alarm(math.ceil(seconds) + 5)  # ends this process also if nobody is left to do it
        try:
            found, last = _guarded(place.name, place.read), False
        except MemoryError:
            gigabytes = MOST_MEMORY // 1024**3
            found, last = closed(place.name, words.TOO_MUCH.format(limit=gigabytes), words.LOOK_ALONE), True
        if hasattr(signal, "alarm"):
            signal.alarm(0)
        pickle.dump(found, answers)
        answers.flush()
        if last:
            return


def _limit_memory() -> None:
    with suppress(ImportError, OSError, ValueError):  # not every system has such a limit
        import resource

        most = resource.getrlimit(resource.RLIMIT_AS)[1]
        limit = MOST_MEMORY if most == resource.RLIM_INFINITY else min(most, MOST_MEMORY)
        resource.setrlimit(resource.RLIMIT_AS, (limit, most))
