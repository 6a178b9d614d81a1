"""Whether both clamps of a parallel connection held: computed from this record, never recited.

One open clamp leaves one winding in circuit. With nearly equal windings that reads almost what the correct
parallel-aiding connection does: L1 - P+ = (B + d)²/(4B), L2 - P+ = (B - d)²/(4B). With one winding
reversed the two cases differ by the whole ratio of a winding to B/4.
"""

from collections.abc import Iterator

from labkit import quantity
from labkit.analysis.analysis import Analysis, in_doubt
from labkit.analysis.compare import Comparison
from labkit.analysis.finding import Figure, Finding
from labkit.analysis.observations import Observation
from labkit.theory.wiring import Connection
from labkit.words import findings as words


def second_clamp(analysis: Analysis) -> Iterator[Finding]:
    """Whether the parallel-aiding reading proves that both clamps hold."""
    for o in _read(analysis, Connection.PARALLEL_AIDING):
        single = _single(analysis, o)
        if len(single) < 2 or not all(c.stated for c in single):
            continue
        passing = [c for c in single if c.may_pass]
        if passing:
            yield from _clamp_unproven(analysis, o, single, passing)
        elif _as_coupled(analysis, o):
            first, second = single
            sentence = words.CLAMP_SEEN.format(reading=o.text, E_1=first.E_n_text, E_2=second.E_n_text)
            yield Finding("second clamp seen", sentence, _differences(single), first.ids)


def _single(analysis: Analysis, o: Observation) -> list[Comparison]:
    """The comparisons of a reading with one winding alone."""
    return [c for c in analysis.comparisons if c.observation is o and "only" in c.statement.rule]


def _as_coupled(analysis: Analysis, o: Observation) -> bool:
    """Whether the reading may be what the coupled rule says: a slip proves nothing about clamps."""
    return any(
        c.observation is o and c.statement.rule == "coupled" and c.may_pass for c in analysis.comparisons
    )


def _clamp_unproven(
    analysis: Analysis, o: Observation, single: list[Comparison], passing: list[Comparison]
) -> Iterator[Finding]:
    by_reversed = next(_with_one_reversed(analysis), None)
    predicted = {p.connection: p.coupled.estimate.value for p in analysis.predictions if p.coupled}
    ids = tuple(dict.fromkeys(id for c in single for id in c.ids))
    sentences = [
        words.CLAMP_UNPROVEN.format(reading=o.text, rivals=" and ".join(c.statement.title for c in passing))
    ]
    if Connection.PARALLEL_AIDING in predicted:
        gaps = [abs(c.predicted.value - predicted[Connection.PARALLEL_AIDING]) for c in single]
        from_1, from_2 = (quantity.display(gap, significant_digits=2) for gap in gaps)
        sentences.append(words.CLAMP_GAPS.format(from_1=from_1, from_2=from_2))
    proven = by_reversed and by_reversed.tone == "plain"
    tone = "plain" if proven else "caution"
    yield Finding("second clamp not proven", " ".join(sentences), _differences(single), ids, tone)
    if by_reversed:
        yield by_reversed
        return
    one = quantity.display(o.value, significant_digits=2)
    both = predicted.get(Connection.PARALLEL_OPPOSING)
    cure = words.CLAMP_CURE_UNKNOWN if both is None else words.CLAMP_CURE
    text = cure.format(one=one, both=both and quantity.display(both, significant_digits=2))
    yield Finding("reading that proves the clamps", text, _differences(single), ids, "caution")


def _with_one_reversed(analysis: Analysis) -> Iterator[Finding]:
    """What readings with one winding reversed say about the clamps, where they tell the two cases apart."""
    for o in _read(analysis, Connection.PARALLEL_OPPOSING):
        single = [c for c in _single(analysis, o) if c.stated]
        passing, coupled = [c for c in single if c.may_pass], _as_coupled(analysis, o)
        if not single or (passing and coupled):
            continue
        facts = {"reversed": o.text, "rivals": " or ".join(c.statement.title for c in passing)}
        ids = tuple(dict.fromkeys(id for c in single for id in c.ids))
        if coupled:
            kind, text, tone = "clamps proven with one winding reversed", words.CLAMP_PROVEN_BY, "plain"
        elif passing:
            kind, text, tone = "clamp open with one winding reversed", words.CLAMP_OPEN, "caution"
        elif in_doubt(analysis) and not _doubted(analysis, o):
            continue  # what both windings would give rests on the readings that are doubted
        else:
            kind, text, tone = (
                "reading with one winding reversed fits nothing",
                words.CLAMP_UNSETTLED,
                "caution",
            )
        yield Finding(kind, text.format(**facts), _differences(single), ids, tone)


def _doubted(analysis: Analysis, o: Observation) -> bool:
    """Whether the likeliest explanation is that something went wrong in this very reading."""
    deeds = analysis.ranking.first.deeds if analysis.ranking else ()
    return any(o.id in deed.observation.ids for deed in deeds)


def _read(analysis: Analysis, connection: Connection) -> Iterator[Observation]:
    return (o for o in analysis.shared.observations if o.connection is connection)


def _differences(row: list[Comparison]) -> dict[str, Figure]:
    return {
        f"reading − {c.statement.rule}": Figure(c.discrepancy, "H", c.shared.estimate.standard_uncertainty)
        for c in row
    }
