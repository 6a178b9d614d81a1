"""From numbers to findings: small functions, each of which looks at an analysis and says what it may.

Add a finding: write a function from `Analysis` to findings, put its sentence into
`labkit.words.analysis`, and add the function to `FINDERS`, in the order in which people should read them.
"""

import math
from collections.abc import Callable, Iterator

from labkit import quantity
from labkit.analysis.analysis import Analysis, in_doubt
from labkit.analysis.break_even import error_text
from labkit.analysis.causes.ranking import dots_open
from labkit.analysis.compare import TOGETHER, Comparison, coupled, statements, two_digits
from labkit.analysis.finding import Figure, Finding, own_predictions, remarks
from labkit.analysis.observations import Observation
from labkit.analysis.routes import AMBIGUOUS, SINGLES, Coupling, Situation, preferred
from labkit.analysis.routes import polarity as polarity_of
from labkit.analysis.suspicions import amounts, contradiction, fits_together, next_step, what_happened
from labkit.analysis.without_card import (
    coupling_figures,
    coupling_without_card,
    coupling_without_dots,
    no_coupling,
)
from labkit.theory.wiring import Connection
from labkit.words import analysis as words
from labkit.words import labels

# Whether both clamps of a parallel connection held: computed from this record, never recited.
#
# One open clamp leaves one winding in circuit. With nearly equal windings that reads almost what the
# correct parallel-aiding connection does: L1 - P+ = (B + d)²/(4B), L2 - P+ = (B - d)²/(4B). With one
# winding reversed the two cases differ by the whole ratio of a winding to B/4.


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


Finder = Callable[[Analysis], Iterator[Finding]]


def find(analysis: Analysis) -> tuple[Finding, ...]:
    """All findings, in reading order.

    Notebook, report and form ask for them again, so they are kept, with the analysis: they go when it goes.
    """
    kept = vars(analysis)
    if "findings" not in kept:
        kept["findings"] = tuple(finding for finder in FINDERS for finding in finder(analysis))
    found: tuple[Finding, ...] = kept["findings"]
    return found


def missing(analysis: Analysis) -> Iterator[Finding]:
    """Which readings the comparison still needs."""
    if analysis.bench.windings != 2:
        sentence = words.MORE_WINDINGS.format(windings=analysis.bench.windings)
        yield Finding("more than two windings", sentence, {}, ())
        return
    read = {o.connection for o in analysis.shared.observations}
    needed = [
        words.MISSING_SINGLE.format(what=labels.CONNECTION[single], wiring=f"{n}a {n}b")
        for n, single in enumerate(SINGLES, start=1)
        if single not in read
    ]
    # With unknown dots the connection of a joint reading is unknown too; it is a joint reading all the same.
    if not any(o.connection in TOGETHER or o.connection is None for o in analysis.shared.observations):
        needed.append(words.MISSING_TOGETHER)
    if needed:
        yield Finding("missing readings", words.MISSING.format(missing="; ".join(needed)), {}, (), "caution")
        return
    compared = {c.observation.id for c in analysis.comparisons}
    alone = [o for o in analysis.shared.observations if o.connection in TOGETHER and o.id not in compared]
    if alone:
        ids = tuple(id for o in alone for id in o.ids)
        yield Finding("nothing to compare with", words.ALONE.format(ids=", ".join(ids)), {}, ids, "caution")


def no_value(analysis: Analysis) -> Iterator[Finding]:
    """Statements that divide by zero with these very readings; they are left out everywhere."""
    by, compared = analysis.believed, {c.observation.id for c in _against(analysis, "coupled")}
    stated = [coupled(c, by) for c in TOGETHER if by and analysis.predictions and c not in by.route.needs]
    for o in analysis.shared.observations:
        stated += statements(o, analysis.shared) if o.id not in compared else ()
    for sentence, statement in {s.no_value: s for s in stated if s.estimate is None}.items():
        ids = tuple(id for o in statement.inputs for id in o.ids)
        yield Finding("no finite value", sentence, {}, ids, "caution")


def uncoupled_rule(analysis: Analysis) -> Iterator[Finding]:
    """Whether the rule known from resistors survives, the clearest first if no card is known."""
    for c in sorted(_against(analysis, "uncoupled"), key=lambda c: -(c.least_error or 0.0)):
        facts = _facts(c)
        if c.least_error is not None:
            yield _without_card(analysis, c, facts, c.least_error)
        elif c.verdict.kind == "inconsistent":
            yield _refuted(analysis, c, facts)
        elif c.verdict.kind == "depends on gain":
            yield _finding("uncoupled rule depends on gain", c, words.REFUTED_OR_NOT.format(**facts))
        else:
            yield _finding("uncoupled rule not refuted", c, words.NOT_REFUTED.format(**facts))


def _without_card(analysis: Analysis, c: Comparison, facts: dict[str, str], least: float) -> Finding:
    """What the uncoupled rule comes to where the meter has no card: drawn, or left open with the number."""
    facts |= {"error": error_text(least), "size": c.size, "All": capital(c.all_readings)}
    if least == 0:
        return _finding("uncoupled rule holds to the last digit", c, words.HOLDS_TO_THE_DIGIT.format(**facts))
    if c.may_pass:
        sentence = words.OPEN_WITHOUT_CARD.format(**facts, reason=_reason(c))
        return _finding("uncoupled rule without uncertainty", c, sentence)
    if alone := _alone(analysis, c):
        sentence = words.REFUTED_IF_BUILT_WITHOUT_CARD.format(**facts, alone=" or ".join(alone))
        return _finding("uncoupled rule refuted if built as noted", c, sentence)
    sentence = words.REFUTED_WITHOUT_CARD.format(**facts)
    return _finding("uncoupled rule refuted", c, sentence, "plain" if in_doubt(analysis) else "strong")


def _alone(analysis: Analysis, c: Comparison) -> list[str]:
    """The windings that, alone in circuit by a slip in the wiring, would read the same."""
    return [
        other.statement.title
        for other in analysis.comparisons
        if other.observation is c.observation and other.statement.rule.startswith("only") and other.may_pass
    ]


def _refuted(analysis: Analysis, c: Comparison, facts: dict[str, str]) -> Finding:
    """The rule is refuted unless one winding alone, by a slip in the wiring, reads the same."""
    facts |= {"times": _times(min(abs(c.shared.E_n), abs(c.independent.E_n)))}
    if alone := _alone(analysis, c):
        sentence = words.REFUTED_IF_BUILT.format(**facts, alone=" or ".join(alone))
        return _finding("uncoupled rule refuted if built as noted", c, sentence)
    return _finding("uncoupled rule refuted", c, words.REFUTED.format(**facts), "strong")


def coupling(analysis: Analysis) -> Iterator[Finding]:
    """M and k by the preferred route, and the routes that resolve nothing."""
    by = analysis.believed
    if by is None:
        yield from coupling_without_dots(analysis)
        return
    facts = {
        "M": by.text(by.mutual_inductance),
        "k": by.text(by.coefficient, ""),
        "gap": by.text(by.gap, ""),
        "route": by.route.title,
    }
    doubt = in_doubt(analysis)
    if not by.stated:
        yield from coupling_without_card(analysis, by)
        return
    sentence = words.COUPLING.format(**facts)
    if doubt:
        sentence = f"{sentence} {words.COUPLING_IN_DOUBT}"
    tone = "caution" if by.impossible or doubt else "strong"
    yield Finding("coupling", sentence, coupling_figures(by), by.ids, tone)
    yield from _preferred(analysis, by)
    for other in analysis.couplings.values():
        if isinstance(other, Coupling) and (other.gap.value < 0 or other.resolved is False):
            k = other.text(other.coefficient, "")
            text = words.UNRESOLVED_ROUTE.format(route=other.route.title, k=k, status=other.status)
            yield Finding("coupling not resolved", text, coupling_figures(other), other.ids)


def _preferred(analysis: Analysis, by: Coupling) -> Iterator[Finding]:
    """Which of several routes to believe, and why."""
    others = [c for c in analysis.couplings.values() if isinstance(c, Coupling) and c is not by]
    if any(other.route.name not in AMBIGUOUS for other in others):
        sentence = words.PREFER if by.stated else words.PREFER_UNSTATED
        text = sentence.format(route=by.route.title, gap=by.text(by.gap, ""))
        yield Finding("preferred route", text, coupling_figures(by), by.ids)


def polarity(analysis: Analysis) -> Iterator[Finding]:
    """Which ends belong together, as marked or as the readings say."""
    by, situation = preferred(analysis.couplings, signed=True), analysis.shared
    if situation.dots is None:
        open_ones = [o for o in situation.observations if o.connection is None]
        if open_ones and analysis.bench.windings == 2 and not any(no_coupling(analysis)):
            ids = tuple(id for o in open_ones for id in o.ids)
            yield Finding("polarity open", _polarity_open(situation), {}, ids, "caution")
        return
    if by is None or not by.stated:
        yield from _polarity_without_card(analysis)
        return
    M, dots = by.mutual_inductance, " ".join(map(str, situation.dots))
    figures = {"M": Figure(M.value, "H", M.standard_uncertainty)}
    if situation.dots_decided and analysis.ranking and dots_open(analysis.ranking):
        yield Finding("polarity open", words.POLARITY_MIRRORED, figures, by.ids, "caution")
    elif situation.dots_decided:
        sentence = words.POLARITY_DECIDED.format(dots=dots, M=by.text(M))
        yield Finding("polarity decided by the readings", sentence, figures, by.ids)
    elif M.value > 2 * M.standard_uncertainty:
        yield Finding("polarity as marked", words.POLARITY_HOLDS.format(dots=dots), figures, by.ids)
    elif M.value < -2 * M.standard_uncertainty:
        sentence = words.POLARITY_FAILS.format(dots=dots, M=by.text(M))
        yield Finding("polarity against the marks", sentence, figures, by.ids, "caution")


def _polarity_open(situation: Situation) -> str:
    error = situation.polarity_error
    if error is None or not any(o.no_uncertainty for o in situation.observations):
        return words.POLARITY_OPEN
    if error >= 1:
        return words.POLARITY_CONTRADICTORY.format(bound=error_text(situation.bound))
    return words.POLARITY_UNSTATED.format(error=error_text(error)) if error else words.POLARITY_OPEN


def _polarity_without_card(analysis: Analysis) -> Iterator[Finding]:
    """The same where the meter has no card, with the error that would turn it round."""
    situation, displays = analysis.shared, analysis.shared.displays
    sign, error = polarity_of(displays, situation.bound)
    if not sign or situation.dots is None:
        return
    facts = {"dots": " ".join(map(str, situation.dots)), "error": error_text(error)}
    ids = tuple(id for o in situation.pool().values() if o.connection in TOGETHER for id in o.ids)
    figures = {"least_error": Figure(error, "")}
    if situation.dots_decided:
        sentence = words.POLARITY_DECIDED_WITHOUT_CARD.format(**facts)
        yield Finding("polarity decided by the readings", sentence, figures, ids, "strong")
    elif sign > 0:
        sentence = words.POLARITY_HOLDS_WITHOUT_CARD.format(**facts)
        yield Finding("polarity as marked", sentence, figures, ids)
    else:
        sentence = words.POLARITY_FAILS_WITHOUT_CARD.format(**facts)
        yield Finding("polarity against the marks", sentence, figures, ids, "caution")


def coupled_rule(analysis: Analysis) -> Iterator[Finding]:
    """Whether the coupled rule, from other readings, predicts each reading."""
    for c in _against(analysis, "coupled"):
        if c.least_error is not None:
            yield from _coupled_without_card(c, c.least_error)
            continue
        route = c.statement.route.title if c.statement.route else ""
        facts = {**_facts(c), "coupled": c.predicted_text, "route": route}
        match c.verdict.kind:
            case "inconsistent" if fits_together(analysis, c.ids):
                yield _finding("coupled rule strained", c, words.COUPLED_STRAINED.format(**facts), "caution")
            case "inconsistent":
                yield _finding("coupled rule fails", c, words.COUPLED_FAILS.format(**facts), "caution")
            case "depends on gain":
                yield _finding("coupled rule depends on gain", c, words.COUPLED_DEPENDS.format(**facts))
            case "cannot tell":
                rivals = " and ".join(words.STATEMENT[rule] for rule in c.verdict.rivals)
                sentence = words.COUPLED_AMONG_OTHERS.format(**facts, rivals=rivals)
                yield _finding("coupled rule among others", c, sentence)
            case _:
                yield _finding("coupled rule holds", c, words.COUPLED_HOLDS.format(**facts))


def _coupled_without_card(c: Comparison, least: float) -> Iterator[Finding]:
    facts = _facts(c) | {"coupled": c.predicted_text, "error": error_text(least)}
    facts |= {"All": capital(c.all_readings)}
    if not c.may_pass:
        yield _finding("coupled rule fails", c, words.COUPLED_FAILS_WITHOUT_CARD.format(**facts), "caution")
    elif least == 0:
        yield _finding("coupled rule holds to the last digit", c, words.COUPLED_TO_THE_DIGIT.format(**facts))
    else:
        yield _finding("coupled rule without uncertainty", c, words.COUPLED_OPEN.format(**facts))


def modes(analysis: Analysis) -> Iterator[Finding]:
    """What the coupling means for common-mode and differential-mode current, and the three leakages."""
    by = analysis.believed
    predicted = {p.connection: p.coupled for p in analysis.predictions if p.coupled}
    if by is None or by.resolved is False or by.mutual_inductance.value <= 0:
        return
    if Connection.PARALLEL_AIDING not in predicted:
        return
    common, B = predicted[Connection.PARALLEL_AIDING].estimate, by.leakage_differential_mode
    if not 0 < B.value < common.value:
        return
    ratio = two_digits(common.value / B.value)
    facts = {"common": by.text(common), "differential": by.text(B), "ratio": ratio}
    figures = {
        "common_mode_inductance": Figure(
            common.value, "H", common.standard_uncertainty if by.stated else None
        ),
        "differential_mode_inductance": Figure(B.value, "H", B.standard_uncertainty if by.stated else None),
    }
    at = _impedances(analysis, common.value, B.value)
    sentence, tone = words.MODES.format(**facts, at_frequency=at), "strong"
    if in_doubt(analysis):
        sentence, tone = f"{sentence} {words.COUPLING_IN_DOUBT}", "caution"
    yield Finding("modes", sentence, figures, by.ids, tone)
    meanings = {
        "per_winding": by.text(by.leakage_per_winding),
        "loop": by.text(B),
        "shorted": by.text(by.leakage_short_circuit),
        "mismatch": quantity.display(_mismatch(by), significant_digits=2),
    }
    yield Finding("leakages", words.LEAKAGE.format(**meanings), coupling_figures(by), by.ids)


def _mismatch(by: Coupling) -> float:
    """(sqrt L1 - sqrt L2)², in H: what B keeps at k = 1."""
    one, two, *_ = (o.value for o in by.observations)
    return (math.sqrt(one) - math.sqrt(two)) ** 2


def _impedances(analysis: Analysis, common: float, differential: float) -> str:
    frequency = analysis.shared.main_frequency
    if frequency is None:
        return ""
    w = 2 * math.pi * frequency.value
    return words.MODES_AT.format(
        frequency=frequency,
        Z_common=quantity.display(w * common, unit="Ω", significant_digits=3),
        Z_differential=quantity.display(w * differential, unit="Ω", significant_digits=3),
    )


def trust(analysis: Analysis) -> Iterator[Finding]:
    """Where first order is not to be trusted, and draws that leave physics."""
    by = analysis.believed
    for p in analysis.predictions:
        if not (p.coupled and p.coupled.monte_carlo and p.coupled.agreement):
            continue
        ruled, drawn, what = p.coupled, p.coupled.monte_carlo, labels.CONNECTION[p.connection]
        if not p.coupled.trusted:
            mean = ruled.estimate.value if drawn.mean is None else drawn.mean
            low, high = (quantity.display(end) for end in drawn.shortest)
            facts = {
                "what": what,
                "first_order": quantity.display(ruled.estimate.value, ruled.estimate.standard_uncertainty),
                "monte_carlo": quantity.display(mean, drawn.standard_uncertainty),
                "low": low,
                "high": high,
            }
            figures = {"monte_carlo": Figure(mean, "H", drawn.standard_uncertainty)}
            text = words.FIRST_ORDER_FAILS.format(**facts)
            yield Finding("first order not trusted", text, figures, ruled.ids, "caution")
    drawn_any = next(
        (p.coupled.monte_carlo for p in analysis.predictions if p.coupled and p.coupled.monte_carlo), None
    )
    if by and drawn_any and drawn_any.invalid:
        text = words.INVALID_DRAWS.format(
            count=drawn_any.invalid, draws=drawn_any.draws, route=by.route.title
        )
        figures = {"invalid_draws": Figure(drawn_any.invalid, "")}
        yield Finding("draws outside physics", text, figures, by.ids, "caution")


def failed_closures(analysis: Analysis) -> Iterator[Finding]:
    """Relations between readings that ought to hold and do not."""
    for c in analysis.closures:
        ids = tuple(id for o in c.observations for id in o.ids)
        estimate = c.shared.estimate
        figures = {"difference": Figure(estimate.value, "H", estimate.standard_uncertainty)}
        facts = {"title": c.title, "E_n": c.E_n_text, "ids": ", ".join(ids)}
        if c.verdict.kind == "inconsistent" and fits_together(analysis, ids):
            yield Finding("closure strained", words.CLOSURE_STRAINED.format(**facts), figures, ids)
        elif c.verdict.kind == "inconsistent":
            yield Finding("closure fails", words.CLOSURE_FAILS.format(**facts), figures, ids, "caution")
        elif c.verdict.kind == "depends on gain":
            yield Finding("closure depends on gain", words.CLOSURE_DEPENDS.format(**facts), figures, ids)


FINDERS: tuple[Finder, ...] = (
    missing,
    no_value,
    contradiction,
    uncoupled_rule,
    no_coupling,
    coupling,
    polarity,
    coupled_rule,
    second_clamp,
    what_happened,
    next_step,
    amounts,
    modes,
    trust,
    failed_closures,
    own_predictions,
    remarks,
)


def _against(analysis: Analysis, rule: str) -> Iterator[Comparison]:
    return (c for c in analysis.comparisons if c.statement.rule == rule)


def _facts(c: Comparison) -> dict[str, str]:
    what = c.connection_title
    return {
        "what": capital(what),
        "reading": c.observation.text,
        "uncoupled": c.predicted_text,
        "discrepancy": c.discrepancy_text,
        "E_n": c.E_n_text,
    }


def _finding(kind: str, c: Comparison, sentence: str, tone: str = "plain") -> Finding:
    o, p, d = c.observation, c.predicted, c.shared.estimate
    figures = {
        "reading": Figure(o.value, "H", o.standard_uncertainty),
        "statement": Figure(p.value, "H", p.standard_uncertainty if c.stated else None),
        "discrepancy": Figure(d.value, "H", d.standard_uncertainty if c.stated else None),
    }
    return Finding(kind, sentence, figures, c.ids, tone)


def _reason(c: Comparison) -> str:
    sides = (c.observation, *c.statement.inputs)
    return next(side.no_uncertainty for side in sides if side.no_uncertainty)


def capital(text: str) -> str:
    """The text with its first letter made large."""
    return text[:1].upper() + text[1:]


def _times(E_n: float) -> str:
    return "infinitely many" if math.isinf(E_n) else two_digits(E_n)
