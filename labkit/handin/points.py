"""What a bundle is looked at for: one function a column, from a submission to an outcome with its sentences.

Add a point: a function here, an entry in `POINTS`, its heading in `labkit.words.handin`. An outcome is "yes",
"no" or "cannot tell"; each thing found gets two or three sentences of draft feedback, and nobody is accused.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

from labkit import __version__
from labkit.analysis.compare import Comparison
from labkit.analysis.routes import SINGLES
from labkit.analysis.suspicions import what_happened
from labkit.bench.readings import Reading
from labkit.errors import LabkitError
from labkit.handin.bundle import REPORT, BundleError
from labkit.handin.claims import PARTS, differences
from labkit.handin.manifest import not_as_packed
from labkit.handin.notebooks import difference, not_in, output_text, page_words
from labkit.handin.submission import Submission, gaps, named, not_made, odd_times, sentences
from labkit.theory.wiring import Connection
from labkit.words import handin as words
from labkit.words.report import GENERATOR, HEAD

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
    from labkit.analysis.characterise.characterisation import characterisation_of  # loads scipy

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
