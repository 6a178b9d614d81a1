"""Check one bundle: everything recomputed from its raw readings with this labkit, nothing of it run.

An `Examiner` does so in a process of its own, and lists an archive of bundles there. Whatever one of them
does to it, in memory, time or death, becomes a sentence, and the next one finds a new process.
"""

import math
import os
import pickle
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal, Self

from labkit import __version__
from labkit.analysis.compare import Comparison
from labkit.analysis.routes import SINGLES
from labkit.analysis.suspicions import what_happened
from labkit.errors import EntryError, LabkitError
from labkit.handin.bundle import (
    RECORD,
    REPORT,
    BundleError,
    Place,
    bundles_in,
    not_as_packed,
    read_file,
)
from labkit.handin.claims import PARTS, differences
from labkit.handin.submission import (
    Submission,
    difference,
    gaps,
    named,
    not_in,
    not_made,
    odd_times,
    output_text,
    page_words,
    sentences,
)
from labkit.record.state import Reading
from labkit.show import Heading, Part, Shown, Table, Text
from labkit.theory.wiring import Connection
from labkit.words import handin as words
from labkit.words.report import GENERATOR, HEAD

# What a bundle is looked at for: one function a column, from a submission to an outcome with its sentences.
#
# Add a point: a function here, an entry in `POINTS`, its heading in `labkit.words.handin`. An outcome is
# "yes", "no" or "cannot tell"; each thing found gets two or three sentences of draft feedback, and nobody
# is accused.

Outcome = Literal["yes", "no", "cannot tell"]
NAMED = 3  # so many things of one kind are named, the rest is counted
PREFIXES = (1e-6, 1e-3, 1e3, 1e6)
FAR = 1.5  # |E_n| from which a misfit is remarked on: of the hundreds in a class, a few exceed 1 by chance
NEAR = 0.2  # a reading this near to a thousandfold of what it should be is asked about


@dataclass(frozen=True)
class Point:
    """One column of the table for one bundle, with its draft feedback."""

    column: str
    outcome: Outcome
    sentences: tuple[str, ...] = ()


Finder = Callable[[Submission], tuple[Outcome, tuple[str, ...]]]


def as_packed(s: Submission) -> tuple[Outcome, tuple[str, ...]]:
    """Whether every file is the one that the manifest lists."""
    found = list(not_as_packed(s.manifest, s.files))
    if s.manifest.record_digest != s.bench.record.digest:
        found.append(words.OTHER_RECORD)
    found += _contradictions(s)
    if s.surplus:
        found.append(words.SURPLUS.format(count=s.surplus))
    outcome, feedback = _unless(found, words.AS_PACKED_ADVICE)
    others = [ascii(name) for name in not_made(s)]
    return outcome, (*feedback, words.NOT_MADE.format(names=named(others))) if others else feedback


def _contradictions(s: Submission) -> Iterator[str]:
    """One sentence for each thing that the manifest says of the record and the record says otherwise."""
    bench, manifest = s.bench, s.manifest
    schema = max((event.schema_version for event in bench.events), default=1)
    seed = bench.opened.seed if bench.opened else None
    said = {"part": (manifest.part, bench.part_name), "seed": (manifest.record_seed, seed)}
    said["format"] = (manifest.record_schema, schema)
    for name, (theirs, ours) in said.items():
        if theirs != ours:
            yield words.CONTRADICTS.format(name=name, theirs=ascii(theirs), ours=ascii(ours))


def complete(s: Submission) -> tuple[Outcome, tuple[str, ...]]:
    """Whether the record is sound and says what a second person needs to repeat it."""
    damaged = list(s.bench.record.problems)
    unusable = list(_unusable_sweeps(s))
    lacking = list(gaps(s.bench, s.analysis))
    feedback = _named(damaged, words.DAMAGED_ADVICE) if damaged else ()
    feedback += _named(unusable, words.SWEEPS_ADVICE) if unusable else ()
    feedback += _named(lacking, words.GAPS_ADVICE) if lacking else ()
    return ("no" if feedback else "yes"), (*feedback, *odd_times(s.bench))


def _unusable_sweeps(s: Submission) -> tuple[str, ...]:
    """One sentence for each file of a sweep that is not as stored, else for each unusable sweep."""
    if not s.bench.sweeps:
        return ()
    from labkit.choke.characterisation import characterisation_of  # loads scipy

    changed = tuple(dict.fromkeys(s.bench.sweep_problems))
    return changed or characterisation_of(s.bench).problems


def units(s: Submission) -> tuple[Outcome, tuple[str, ...]]:
    """Whether no reading looks like a slip of the prefix."""
    if s.unreadable:
        return "no", (s.unreadable, words.UNREADABLE_ADVICE)
    if not s.bench.readings:
        return "cannot tell", ()
    odd = dict.fromkeys((*_odd_singles(s), *_odd_joint(s)))
    return _unless(list(odd), words.UNITS_ADVICE)


def _odd_singles(s: Submission) -> Iterator[str]:
    pool = s.analysis.shared.pool()
    if all(single in pool for single in SINGLES):
        one, two = (pool[single] for single in SINGLES)
        ratio = max(one.value, two.value) / min(one.value, two.value)
        if ratio > 300:
            yield words.SINGLES_APART.format(one=one.id, two=two.id, shown=one.text, other=two.text)


def _odd_joint(s: Submission) -> Iterator[str]:
    for c in s.analysis.comparisons:
        if c.statement.rule == "coupled" and (factor := _slip(c.observation.value, c.predicted.value)):
            facts = {"id": c.observation.id, "shown": c.observation.text, "expected": c.predicted_text}
            yield words.PREFIX.format(**facts, factor=words.FACTOR[factor])
        if c.statement.rule == "uncoupled" and _beyond_any_pair(c):
            yield words.BEYOND.format(
                id=c.observation.id, shown=c.observation.text, expected=c.predicted_text
            )


def _slip(value: float, expected: float) -> float | None:
    return next((p for p in PREFIXES if expected and abs(value / (p * expected) - 1) < NEAR), None)


def _beyond_any_pair(c: Comparison) -> bool:
    """Whether no pair with these windings could read this: in line twice, side by side half their rule."""
    series = c.statement.connection in (Connection.SERIES_AIDING, Connection.SERIES_OPPOSING)
    return series and c.observation.value > 10 * c.predicted.value


def predicted(s: Submission) -> tuple[Outcome, tuple[str, ...]]:
    """Whether a prediction for its wiring was committed before each reading of both windings."""
    joint: list[Reading] = [reading for reading in s.bench.readings if reading.joint]
    if not joint:
        return "cannot tell", ()
    late = [reading.id for reading in joint if not reading.predicted_before]
    if not late:
        return "yes", ()
    return "no", (
        words.LATE.format(ids=named(late), count=len(late), all=len(joint)),
        words.LATE_ADVICE,
    )


def recomputed(s: Submission) -> tuple[Outcome, tuple[str, ...]]:
    """Whether M, k and all predictions in the manifest are what the readings give here."""
    swept = "choke" in s.computed
    unclaimed = swept and "choke" not in s.manifest.claims
    parts = ("coupling", "predictions") if unclaimed else ("coupling", "predictions", "choke")
    found = [d for part in parts for d in _differences(s, part)]
    if not found and (unknown := sorted(s.manifest.claims.keys() - {"schema", *PARTS})):
        return "cannot tell", (words.UNKNOWN_CLAIMS.format(names=named(list(map(ascii, unknown)))),)
    if not found and unclaimed:
        return "cannot tell", (words.SWEEPS_UNCLAIMED, words.RECOMPUTED_ADVICE.format(theirs=_packed_with(s)))
    if not found and s.computed["coupling"] is None and not swept:
        return "cannot tell", (words.NOTHING_TO_RECOMPUTE, words.NOTHING_ADVICE)
    return _unless(found, words.RECOMPUTED_ADVICE.format(theirs=_packed_with(s)))


def _packed_with(s: Submission) -> str:
    return ascii(s.manifest.labkit)[1:-1]


def supported(s: Submission) -> tuple[Outcome, tuple[str, ...]]:
    """Whether each claimed verdict is the one that the numbers give, and there is one at all."""
    found = list(_differences(s, "verdicts"))
    if found:
        return "no", _named(found, words.SUPPORTED_ADVICE)
    misfits = [c for c in s.analysis.comparisons if c.statement.rule == "coupled"]
    if s.bench.sweeps and not s.bench.readings:
        return "cannot tell", ()
    if not any(c.stated for c in s.analysis.comparisons):
        return "cannot tell", (words.NO_VERDICT, words.NO_VERDICT_ADVICE)
    unfit = [c.observation.id for c in misfits if c.verdict.kind == "inconsistent" and _far(c)]
    if unfit:
        happened = tuple(finding.sentence for finding in what_happened(s.analysis))
        return "yes", (words.MISFIT.format(ids=named(unfit)), *happened, words.MISFIT_ADVICE)
    return "yes", ()


def _far(c: Comparison) -> bool:
    return min(abs(c.shared.E_n), abs(c.independent.E_n)) > FAR


def _differences(s: Submission, part: str) -> tuple[str, ...]:
    return differences(s.manifest.claims, s.computed, part)


def outputs(s: Submission) -> tuple[Outcome, tuple[str, ...]]:
    """Whether the stored notebook shows the findings of this very record, and the report agrees with it."""
    outcome, feedback = _notebook_outputs(s)
    if REPORT not in s.files:
        return outcome, (*feedback, words.NO_REPORT)
    if not (differs := _report_differs(s)):
        return outcome, feedback
    if s.manifest.labkit == __version__:
        return "no", (*feedback, differs, words.REPORT_ADVICE)
    return ("no" if outcome == "no" else "cannot tell"), (
        *feedback,
        differs,
        words.REPORT_OTHER.format(theirs=_packed_with(s)),
    )


def _report_differs(s: Submission) -> str:
    """What the report says otherwise than one made anew, empty if nothing; its picture is not looked at."""
    page = s.files.get(REPORT, b"")
    if GENERATOR not in page[:HEAD]:
        return ""  # not labkit's; it is named among the files that labkit did not make
    from labkit.faces.report import render  # loads what it draws and derives with

    try:
        ours = page_words(render(s.bench, picture=False))
    except Exception as error:  # a page is the last thing that should stop the other columns
        return words.CANNOT_TELL.format(reason=type(error).__name__)
    return difference(page_words(page.decode(errors="replace")), ours)


def _notebook_outputs(s: Submission) -> tuple[Outcome, tuple[str, ...]]:
    wanted = list(sentences(s.analysis))
    texts = {name: output_text(data, name) for name, data in s.notebooks.items()}
    if not any(text.strip() for text in texts.values()):
        return "cannot tell", (words.NO_OUTPUTS, words.NO_OUTPUTS_ADVICE)
    lacking = not_in("\n".join(texts.values()), wanted)
    if not lacking:
        return "yes", ()
    facts = {"count": len(lacking), "all": len(wanted), "first": lacking[0]}
    return "no", (words.OUTPUTS_DIFFER.format(**facts), words.OUTPUTS_ADVICE)


def own_words(s: Submission) -> tuple[Outcome, tuple[str, ...]]:
    """Whether somebody wrote in own words; what they wrote is for a person to read."""
    return ("yes", ()) if s.bench.own_words else ("no", (words.NO_WORDS, words.NO_WORDS_ADVICE))


POINTS: dict[str, Finder] = {
    "as_packed": as_packed,
    "complete": complete,
    "units": units,
    "predicted": predicted,
    "recomputed": recomputed,
    "supported": supported,
    "outputs": outputs,
    "own_words": own_words,
}
"""Every column after the first, which says whether the bundle opens at all."""


def look(column: str, s: Submission) -> Point:
    """One point; what cannot be worked out is said in a sentence and is no judgement."""
    try:
        outcome, feedback = POINTS[column](s)
    except BundleError as error:
        return Point(column, "no", (str(error), words.PACK_AGAIN))
    except LabkitError as error:
        return Point(column, "cannot tell", (words.CANNOT_TELL.format(reason=error),))
    return Point(column, outcome, feedback)


def _unless(found: list[str], advice: str) -> tuple[Outcome, tuple[str, ...]]:
    return ("no", _named(found, advice)) if found else ("yes", ())


def _named(found: list[str], advice: str) -> tuple[str, ...]:
    more = (words.MORE.format(count=len(found) - NAMED),) if len(found) > NAMED else ()
    return (*found[:NAMED], *more, advice)


COLUMNS = ("opens", *POINTS)
TIMEOUT_S = 60.0
LONGEST_S = 86_400.0
MOST_MEMORY = 2 * 1024**3  # bytes that one process may ask for; bundles as they are take a quarter of it
_SERVE = "from labkit.handin.check import serve; serve()"
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


def _listed(archive: Path) -> list[str]:
    try:
        return bundles_in(archive)
    except MemoryError:
        raise
    except Exception:  # whatever is wrong with it, looking at it as a bundle will say
        return []


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
            raise EntryError(
                f"{timeout} is no time for a bundle; give seconds, more than 0 and at most {LONGEST_S:g}.",
                str(timeout),
            )
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
        for _ in range(2):
            if isinstance(found := self._asked(place), Examination):
                return found
        return closed(place.name, words.DIED, words.LOOK_ALONE)

    def names(self, archive: Path) -> list[str]:
        """Names of the bundles in an archive; none if it cannot be listed within the limits of a bundle."""
        found = self._asked(archive)
        return found if isinstance(found, list) else []

    def stop(self) -> None:
        """End the process now and for good, also while another thread waits for it."""
        with self._starting:
            self.stopped = True
            self._end()

    def _asked(self, place: Place | Path) -> Examination | list[str] | None:
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
            answer: Examination | list[str] | None = pickle.load(process.stdout)
        except (OSError, EOFError, ValueError, pickle.UnpicklingError):
            with self._starting:
                self._end()
            said = words.TOO_LONG.format(seconds=f"{self.timeout:g}")
            return closed(place.name, said, words.TOO_LONG_ADVICE) if late.is_set() else None
        finally:
            alarm.cancel()
        return answer

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
            found, last = (
                _listed(place) if isinstance(place, Path) else _guarded(place.name, place.read),
                False,
            )
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
