"""What was predicted, corrected, withdrawn, left out: remarks on the record itself."""

from collections.abc import Iterator
from dataclasses import dataclass

from labkit import quantity
from labkit.analysis.analysis import Analysis
from labkit.analysis.observations import Observation
from labkit.record.events import Withdrawal
from labkit.record.state import OwnPrediction
from labkit.theory.wiring import Wiring
from labkit.words import analysis as words
from labkit.words import labels

# A finding: one sentence, the numbers in it, and the record lines that it rests on.


@dataclass(frozen=True)
class Figure:
    """A number of a finding: value and standard uncertainty in `unit` (SI, no prefix), None if not stated."""

    value: float
    unit: str = "H"
    standard_uncertainty: float | None = None

    def __str__(self) -> str:
        return quantity.display(self.value, self.standard_uncertainty, self.unit)


@dataclass(frozen=True)
class Finding:
    """What may be said, made from the numbers.

    Attributes
    ----------
    kind : short name of what is found, stable across wordings
    sentence : for a person
    figures : the numbers behind it, by name
    ids : readings that it rests on; each is a line of the record
    tone : "plain", "caution" (asks for a step) or "strong" (carries the result)
    """

    kind: str
    sentence: str
    figures: dict[str, Figure]
    ids: tuple[str, ...]
    tone: str = "plain"


def own_predictions(analysis: Analysis) -> Iterator[Finding]:
    """What people predicted, beside what was read."""
    main = analysis.shared.main_frequency
    at_main_first = sorted(analysis.shared.observations, key=lambda o: o.frequency != main)
    by_wiring: dict[Wiring, Observation] = {}
    for o in at_main_first:
        by_wiring.setdefault(o.wiring.canonical(analysis.bench.windings), o)
    for p in analysis.bench.predictions:
        if read := by_wiring.get(p.wiring.canonical(analysis.bench.windings)):
            yield _own(p, read)
    late = [r.id for r in analysis.bench.readings if r.joint and not r.predicted_before]
    if late:
        text = words.BEFORE_PREDICTION.format(ids=", ".join(late))
        yield Finding("read before prediction", text, {}, tuple(late))


def _own(p: OwnPrediction, o: Observation) -> Finding:
    facts = {
        "what": labels.CONNECTION[o.connection] if o.connection else p.wiring.notation,
        "own": p.shown,
        "reading": o.text,
        "discrepancy": quantity.display(o.value - p.shown.value, significant_digits=3),
    }
    figures = {"own": Figure(p.shown.value), "reading": Figure(o.value, "H", o.standard_uncertainty)}
    sentence = (words.OWN_AFTER if p.after_reading else words.OWN).format(**facts)
    return Finding("own prediction", sentence, figures, (p.id, *o.ids))


def remarks(analysis: Analysis) -> Iterator[Finding]:
    """Corrections, withdrawals, and what a careful reader should know about single readings."""
    for r in analysis.bench.readings:
        if len(r.lines) > 1:
            yield Finding("corrected", words.CORRECTED.format(id=r.id, line=r.lines[0]), {}, (r.id,))
    for event in analysis.bench.events:
        if isinstance(event, Withdrawal):
            text = words.WITHDRAWN.format(id=event.withdraws, line=event.seq, reason=event.reason)
            yield Finding("withdrawn", text, {}, (event.withdraws,))
    noted: dict[str, list[str]] = {}
    for o in analysis.shared.observations:
        for remark in (*o.remarks, *_frequency_remark(analysis, o)):
            noted.setdefault(remark, []).extend(o.ids)
    for r in analysis.bench.readings:
        if r.shown.kind != "inductance":
            noted.setdefault(words.NOT_USED, []).append(r.id)
    for remark, ids in noted.items():
        text = words.REMARK.format(ids=", ".join(ids), remark=remark)
        yield Finding("remark", text, {}, tuple(ids), "caution")


def _frequency_remark(analysis: Analysis, o: Observation) -> Iterator[str]:
    main = analysis.shared.main_frequency
    if o.frequency is None and main:
        yield words.NO_FREQUENCY.format(frequency=main)
    elif o.frequency is None:
        yield words.NO_FREQUENCY_AT_ALL
