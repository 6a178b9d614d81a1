"""From the checks of a meter to findings in words."""

import math
import statistics
from collections.abc import Callable, Iterator

from labkit import quantity
from labkit.analysis.analysis import analyse
from labkit.analysis.finding import Figure, Finding
from labkit.analysis.lead_residual import Residual
from labkit.analysis.meter_check import Check, checks, leads_alone, leads_open
from labkit.analysis.observations import Observation
from labkit.analysis.remarks import own_predictions
from labkit.bench.bench import Bench
from labkit.bench.card import Card, Range
from labkit.bench.readings import Reading
from labkit.uncertainty.conformity import Conformity
from labkit.words import meter_check as words

Finder = Callable[[Bench], Iterator[Finding]]

DECISIONS = {"pass": words.WITHIN, "fail": words.OUTSIDE, "cannot tell": words.CANNOT_TELL}
TONES = {"pass": "strong", "fail": "caution", "cannot tell": "plain"}


def meter_findings(bench: Bench) -> tuple[Finding, ...]:
    """All findings about meters and leads, in reading order."""
    return tuple(finding for finder in FINDERS for finding in finder(bench))


def missing(bench: Bench) -> Iterator[Finding]:
    """What is needed and not there yet."""
    needed = []
    if not leads_alone(bench):
        needed.append(words.MISSING_LEADS)
    if not leads_open(bench) and all(w.topic != words.OPEN_TOPIC for w in bench.own_words):
        needed.append(words.MISSING_OPEN)
    if needed:
        sentence = words.MISSING.format(missing="; ".join(needed))
        yield Finding("missing readings", sentence, {}, (), "caution")
    if not any(bench.cards.values()):
        yield Finding("no card", words.NO_CARDS, {}, (), "caution")
    if not checks(bench):
        yield Finding("no reference read", words.NOTHING_READ, {}, (), "caution")


def verdicts(bench: Bench) -> Iterator[Finding]:
    """Within the card or not, for each reference part that was read."""
    found = checks(bench)
    if any(check.judged for check in found):
        yield Finding("decision rule", words.RULE, {}, ())
    for check in found:
        facts = {"meter": check.meter or words.UNNAMED, "what": name(check), "indication": indication(check)}
        if check.judged is None:
            sentence = words.NO_VERDICT.format(**facts, reason=check.no_verdict)
            yield Finding("no verdict", sentence, {}, check.ids, "caution")
            continue
        judged = check.judged
        facts |= {
            "E": discrepancy(judged),
            "limit": size_text(check.limit),
            "w": size_text(judged.guard_band),
            "probability": probability(judged),
            "leads": check.leads.text if check.leads else "",
        }
        if check.depends_on_leads:
            yield Finding(
                "depends on the leads", words.DEPENDS_ON_LEADS.format(**facts), _figures(check), check.ids
            )
            continue
        kind = f"meter: {words.VERDICT[check.decision]}"
        sentence = DECISIONS[check.decision].format(**facts)
        yield Finding(kind, sentence, _figures(check), check.ids, TONES[check.decision])
        if judged.acceptance is None:
            yield Finding("reference too coarse", words.TOO_COARSE.format(**facts), {}, check.ids, "caution")


def repeats(bench: Bench) -> Iterator[Finding]:
    """How far repeats of a reference scatter, and what that does not show."""
    for check in checks(bench):
        o = check.observation
        n, values = len(o.readings), [reading.shown.value for reading in o.readings]
        if n == 1:
            yield Finding("read once", words.ONCE.format(what=_upper(name(check))), {}, o.ids)
            continue
        s = statistics.stdev(values)
        facts = {"count": n, "what": name(check), "s": size_text(s), "mean": size_text(s / math.sqrt(n))}
        if s == 0:
            step = size_text(o.readings[0].shown.last_digit / math.sqrt(12))
            yield Finding("repeats alike", words.ALIKE.format(**facts, step=step), {}, o.ids)
        else:
            figures = {"scatter": Figure(s), "scatter_of_mean": Figure(s / math.sqrt(n))}
            yield Finding("repeats", words.REPEATED.format(**facts, freedom=n - 1), figures, o.ids)


def leads(bench: Bench) -> Iterator[Finding]:
    """What the leads alone read, and whether that can be carried as a lead residual."""
    alone = leads_alone(bench)
    zeroed_since = {o.readings[0].meter for o in alone if _states(o) == {"zeroed"}}
    for o in alone:
        figures = {"leads": Figure(o.value, "H", o.standard_uncertainty)}
        states, residual = _states(o), residual_of(bench, o)
        if "not zeroed" in states and o.readings[0].meter in zeroed_since:
            yield Finding("leads before zeroing", words.LEADS_BEFORE.format(value=o.text), figures, o.ids)
        elif states == {"zeroed"} and residual:
            facts = {"value": residual.value, "limit": residual.limit}
            yield Finding("lead residual", words.LEADS_ZEROED.format(**facts), figures, o.ids, "strong")
            yield from _carried(o, residual)
        elif states == {"zeroed"}:
            sentence = words.LEADS_UNKNOWN.format(value=o.text, reason=o.no_uncertainty)
            yield Finding("lead residual unknown", sentence, figures, o.ids, "caution")
        else:
            sentence = words.LEADS_NOT_ZEROED if "not zeroed" in states else words.LEADS_UNSAID
            yield Finding("leads not zeroed", sentence.format(value=o.text), figures, o.ids, "caution")


def _states(o: Observation) -> set[str | None]:
    return {reading.leads for reading in o.readings}


def _carried(o: Observation, residual: Residual) -> Iterator[Finding]:
    meter = o.readings[0].meter or ""
    kept = residual.card.lead_residual
    if kept and (kept.inductance, kept.limit) == (residual.value, residual.limit):
        facts = kept.model_dump()
        yield Finding("residual in the card", words.IN_CARD.format(meter=meter, **facts), {}, o.ids)
    else:
        yield Finding("residual offered", words.OFFERED.format(meter=meter), {}, o.ids)


def open_leads(bench: Bench) -> Iterator[Finding]:
    """What the capacitance of the open leads does to the largest reference that was read."""
    read = [check for check in checks(bench) if check.observation.frequency]
    largest = max(read, key=lambda check: check.observation.value, default=None)
    for reading in leads_open(bench):
        if reading.shown.kind != "capacitance":
            sentence = words.OPEN_SHOWN.format(shown=reading.shown)
            yield Finding("leads open", sentence, {}, (reading.id,))
        elif largest:
            yield _loaded(largest, reading)


def _loaded(check: Check, leads: Reading) -> Finding:
    """L_app = L/(1 − ω²LC) of a coil with the capacitance of the leads across it, far below resonance."""
    o, f, C = check.observation, check.observation.frequency, leads.shown.value
    assert f is not None
    x = (2 * math.pi * f.value) ** 2 * o.value * C
    step = o.value * x / (1 - x)
    compared = words.LESS if step < o.readings[0].shown.last_digit else words.MORE
    facts = {"C": leads.shown, "what": name(check), "frequency": f, "step": size_text(step)}
    figures = {"capacitance": Figure(C, "F"), "excess": Figure(step)}
    sentence = words.OPEN_CAPACITANCE.format(**facts, compared=compared)
    return Finding("leads open", sentence, figures, (leads.id, *o.ids))


def calibration(bench: Bench) -> Iterator[Finding]:
    """Whether the meter's calibration was due before it was used."""
    used = {check.meter: check for check in checks(bench)}
    for meter, check in used.items():
        card = check.card
        if card is None:
            continue
        line = max(check.observation.lines)
        day = next(event.utc[:10] for event in bench.events if event.seq == line)
        if card.calibration_due and card.calibration_due.isoformat() < day:
            sentence = words.DUE.format(meter=meter, due=card.calibration_due)
            yield Finding("calibration due", sentence, {}, check.observation.ids, "caution")
        elif card.calibrated is None:
            yield Finding("no calibration", words.NO_CALIBRATION.format(meter=meter), {}, ())


def untested(bench: Bench) -> Iterator[Finding]:
    """Ranges of the card that no reference part was read on."""
    done: dict[str, set[str]] = {}
    cards: dict[str, Card] = {}
    for check in checks(bench):
        if check.card and check.judged:
            cards[check.meter] = check.card
            done.setdefault(check.meter, set()).add(_range_of(check).name)
    for meter, card in cards.items():
        left = list(dict.fromkeys(on.name for on in card.ranges if on.name not in done[meter]))
        if left:
            sentence = words.UNTESTED.format(meter=meter, ranges=", ".join(left))
            yield Finding("ranges not looked at", sentence, {}, ())


def predicted(bench: Bench) -> Iterator[Finding]:
    """What people predicted, beside what was read."""
    return (finding for finding in own_predictions(analyse(bench)) if finding.kind == "own prediction")


FINDERS: tuple[Finder, ...] = (
    missing,
    verdicts,
    repeats,
    leads,
    open_leads,
    calibration,
    untested,
    predicted,
)


def residual_of(bench: Bench, o: Observation) -> Residual | None:
    """The lead residual that a reading of zeroed leads supports; None if no card covers it."""
    card = bench.cards.get(o.readings[0].meter or "")
    if card is None or o.no_uncertainty:
        return None
    return Residual(o, card)


def name(check: Check) -> str:
    """The reference part, for a sentence or a table."""
    return words.REFERENCE.format(winding=check.reference.winding, stated=check.reference.stated)


def indication(check: Check) -> str:
    """What the meter read: as shown, or the mean of the repeats with one digit more than the display."""
    o = check.observation
    if len(o.readings) == 1:
        return o.text
    mean = quantity.display_parts(o.value, o.readings[0].shown.last_digit, coverage_factor=1)
    return words.REPEATS.format(mean=f"{mean[0]} {mean[2]}", count=len(o.readings))


def discrepancy(judged: Conformity) -> str:
    """E with its expanded uncertainty, which is the guard band."""
    return quantity.display(judged.value, judged.guard_band, coverage_factor=1)


def size_text(value: float) -> str:
    """A limit, guard band or scatter to two digits."""
    return quantity.display(value, significant_digits=2)


def probability(judged: Conformity) -> str:
    """The conformance probability in words: no more nines than the normal assumption can bear."""
    p = judged.probability
    if p >= 0.9995:
        return words.NEARLY_ONE
    return words.NEARLY_ZERO if p < 0.0005 else f"{100 * p:.1f} %"


def _range_of(check: Check) -> Range:
    assert check.card is not None
    first = check.observation.readings[0]
    return check.card.range_for(first.shown, first.frequency)


def _figures(check: Check) -> dict[str, Figure]:
    judged = check.judged
    assert judged is not None
    return {
        "discrepancy": Figure(judged.value, "H", judged.standard_uncertainty),
        "limit": Figure(check.limit),
        "guard_band": Figure(judged.guard_band),
        "probability": Figure(judged.probability, ""),
    }


def _upper(text: str) -> str:
    return text[0].upper() + text[1:]
