"""Whether both clamps of a parallel connection held: computed from this record, never recited.

One open clamp leaves one winding in circuit. With nearly equal windings that reads almost what the correct
parallel-aiding connection does: L1 - P+ = (B + d)²/(4B), L2 - P+ = (B - d)²/(4B). With one winding
reversed the two cases differ by the whole ratio of a winding to B/4.
"""

from collections.abc import Iterator

from labkit import quantity
from labkit.analysis.analysis import Analysis
from labkit.analysis.compare import Comparison
from labkit.analysis.finding import Figure, Finding
from labkit.analysis.observations import Observation
from labkit.theory.wiring import Connection
from labkit.words import findings as words


def second_clamp(analysis: Analysis) -> Iterator[Finding]:
    """Whether the parallel-aiding reading proves that both clamps hold."""
    for o in _read(analysis, Connection.PARALLEL_AIDING):
        row = {c.statement.rule: c for c in analysis.comparisons if c.observation is o}
        single = [row[rule] for rule in ("only winding 1", "only winding 2") if rule in row]
        if len(single) < 2 or not all(c.stated for c in single):
            continue
        passing = [c for c in single if c.shared.passes or c.independent.passes]
        if passing:
            yield from _clamp_unproven(analysis, o, single, passing)
        else:
            first, second = single
            sentence = words.CLAMP_SEEN.format(reading=o.text, E_1=first.E_n_text, E_2=second.E_n_text)
            yield Finding("second clamp seen", sentence, _differences(single), first.ids)


def _clamp_unproven(
    analysis: Analysis, o: Observation, single: list[Comparison], passing: list[Comparison]
) -> Iterator[Finding]:
    by, figures = analysis.believed, _differences(single)
    if by is None:
        return
    predicted = {p.connection: p.coupled for p in analysis.predictions if p.coupled}
    P, reverse = predicted[Connection.PARALLEL_AIDING], predicted[Connection.PARALLEL_OPPOSING]
    gaps = [abs(c.predicted.value - P.estimate.value) for c in single]
    facts = {
        "reading": o.text,
        "rivals": " and ".join(c.statement.title for c in passing),
        "from_1": quantity.display(gaps[0], significant_digits=2),
        "from_2": quantity.display(gaps[1], significant_digits=2),
    }
    ids = tuple(dict.fromkeys((*o.ids, *by.ids)))
    proof = next(_proofs_with_one_reversed(analysis), None)
    sentence = words.CLAMP_OPEN_POSSIBLE.format(**facts)
    yield Finding("second clamp not proven", sentence, figures, ids, "plain" if proof else "caution")
    if proof:
        yield proof
        return
    facts = {
        "both": quantity.display(reverse.estimate.value, significant_digits=2),
        "one": quantity.display(P.estimate.value, significant_digits=2),
    }
    yield Finding("reading that proves the clamps", words.CLAMP_CURE.format(**facts), figures, ids, "caution")


def _proofs_with_one_reversed(analysis: Analysis) -> Iterator[Finding]:
    """Parallel-opposing readings that no single winding could have given."""
    for o in _read(analysis, Connection.PARALLEL_OPPOSING):
        rivals = [c for c in analysis.comparisons if c.observation is o and "only" in c.statement.rule]
        if rivals and all(c.verdict.kind == "inconsistent" for c in rivals):
            text = words.CLAMP_PROVEN_BY.format(reversed=o.text)
            yield Finding("clamps proven with one winding reversed", text, _differences(rivals), o.ids)


def _read(analysis: Analysis, connection: Connection) -> Iterator[Observation]:
    return (o for o in analysis.shared.observations if o.connection is connection)


def _differences(row: list[Comparison]) -> dict[str, Figure]:
    return {
        f"reading − {c.statement.rule}": Figure(c.discrepancy, "H", c.shared.estimate.standard_uncertainty)
        for c in row
    }
