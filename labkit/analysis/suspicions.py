"""Findings about what may have happened at the bench, and the reading that would settle it."""

import math
from collections.abc import Iterable, Iterator
from typing import TypeGuard

from labkit import quantity
from labkit.analysis.advice import Narrowing, NextReading, next_for_cause, next_for_quantity
from labkit.analysis.amounts import AMOUNTS, Amount
from labkit.analysis.analysis import Analysis, without_card
from labkit.analysis.break_even import DOUBT, error_text
from labkit.analysis.causes.coarse import RARER, Mistake, mirrored
from labkit.analysis.causes.ranking import LISTED, Ranking, verdict
from labkit.analysis.compare import SERIES, all_of, two_digits
from labkit.analysis.finding import Figure, Finding
from labkit.analysis.joint_fit import (
    QUANTITIES,
    Fit,
    fit,
    pair_at,
    require_known,
    unidentified,
    would_identify,
)
from labkit.analysis.observations import Observation
from labkit.analysis.routes import SINGLES
from labkit.analysis.without_card import no_coupling
from labkit.errors import MissingReading
from labkit.record.card import Card
from labkit.theory.wiring import Connection
from labkit.uncertainty.propagate import Estimate, first_order
from labkit.words import analysis as advise_words
from labkit.words import analysis as fit_words
from labkit.words import analysis as words
from labkit.words import causes as cause_words
from labkit.words import labels


def what_happened(analysis: Analysis) -> Iterator[Finding]:
    """What the readings support, and what they cannot tell apart."""
    ranking = analysis.ranking
    if ranking is None:
        return
    first = ranking.first
    sound = _fits_as_entered(ranking)
    figures = {"probability": Figure(first.probability, "")}
    ids = tuple(id for o in ranking.observations for id in o.ids)
    told = verdict(ranking, strained=_strained(analysis))
    yield Finding("what happened", told, figures, ids, "plain" if sound else "strong")


def fits_together(analysis: Analysis, ids: Iterable[str]) -> bool:
    """Whether these readings were ranked and, with all others ranked, fit what was entered."""
    ranking = analysis.ranking
    return ranking is not None and _fits_as_entered(ranking) and {*ids} <= {*_read_by(analysis)}


def _strained(analysis: Analysis) -> bool:
    """Whether a single difference is beyond its expanded uncertainty though all together fit."""
    coupled = [(c.verdict, c.ids) for c in analysis.comparisons if c.statement.rule == "coupled"]
    closed = [(c.verdict, [id for o in c.observations for id in o.ids]) for c in analysis.closures]
    return any(v.kind == "inconsistent" and fits_together(analysis, ids) for v, ids in (*coupled, *closed))


def contradiction(analysis: Analysis) -> Iterator[Finding]:
    """Without a card: readings that fit no pair as entered, and single mistakes that would explain them."""
    bound = analysis.shared.bound
    if not without_card(analysis) or (error := analysis.contradiction) <= DOUBT * bound:
        return
    found, clear = analysis.mistakes, error > bound
    observations = analysis.placements[0][1]
    facts = {"error": error_text(error), "all": all_of(len(observations)), "bound": error_text(bound)}
    if clear:
        sentences = [cause_words.CONTRADICTORY.format(**facts), *_mistakes_told(found, facts)]
    elif found and found[0].error < error / 10:
        facts |= {"first": found[0].clause, "least": error_text(found[0].error)}
        sentences = [cause_words.DOUBTFUL.format(**facts)]
    else:
        return
    ids = tuple(id for o in observations for id in o.ids)
    yield Finding("what happened", " ".join(sentences), {}, ids, "strong" if clear else "caution")


def _mistakes_told(found: tuple[Mistake, ...], facts: dict[str, str]) -> Iterator[str]:
    """The likeliest single mistakes; those that take more slips are counted only."""
    if not found:
        yield cause_words.NO_SINGLE_MISTAKE
        return
    listed = [m for m in found if m.weight >= RARER * found[0].weight][:LISTED]
    rarer = len(found) - len(listed)
    more = cause_words.RARER.format(count=rarer) if rarer else ""
    sentence = cause_words.ONE_MISTAKE if len(listed) == 1 else cause_words.SINGLE_MISTAKES
    yield sentence.format(**facts, what="; ".join(m.clause for m in listed), more=more)
    if len(listed) > 1 and mirrored(*listed[:2]):
        yield cause_words.MIRRORED


def next_step(analysis: Analysis) -> Iterator[Finding]:
    """The further reading that tells most of what is open."""
    advice = next_reading_of(analysis)
    if isinstance(advice, NextReading):
        figures = {"told_apart": Figure(advice.told_apart, "")}
        yield Finding("next reading", advice.sentence, figures, _read_by(analysis), "caution")


def next_reading_of(analysis: Analysis, question: str = "cause") -> NextReading | Narrowing | str:
    """Advice for "cause" or a quantity such as "coupling_coefficient"; a sentence if there is none."""
    if question != "cause":
        require_known(question)
    ranking, card, situation = analysis.ranking, _card(analysis), analysis.shared
    if situation.dots is None or (without_card(analysis) and analysis.contradiction > situation.bound):
        return _settle_first(analysis)
    if ranking is None or card is None:
        read = [o.connection for o in situation.pool().values() if o.connection]
        left = unidentified([c for c in read if c not in (Connection.LEADS, Connection.OPEN)])
        return left.sentence or advise_words.NEEDS_CARD
    if question == "cause":
        return next_for_cause(ranking, card, situation.dots, situation.main_frequency)
    if not _fits_as_entered(ranking):
        return advise_words.SETTLE_FIRST
    return next_for_quantity(ranking.observations, question, card, situation.dots, situation.main_frequency)


def _settle_first(analysis: Analysis) -> str:
    """What comes before any advice: the odd reading without a card, or the dots."""
    if without_card(analysis) and analysis.contradiction > analysis.shared.bound:
        odd = dict.fromkeys(m.observation.id for m in analysis.mistakes[:LISTED] if m.observation)
        joint = (o.id for o in analysis.shared.observations if o.connection not in SINGLES)
        return advise_words.FIND_THE_ODD_ONE.format(ids=advise_words.OR.join(odd or joint))
    if any(no_coupling(analysis)):
        return advise_words.NO_DOTS_NEEDED
    both = {*SERIES} <= {o.connection for _, each in analysis.placements for o in each}
    return advise_words.NEEDS_CARD if both and without_card(analysis) else advise_words.NEEDS_DOTS


def _card(analysis: Analysis) -> Card | None:
    """The card of the meter that was used last and has one."""
    cards = analysis.bench.cards
    used = [o.readings[0].meter for o in analysis.shared.observations]
    return next((card for name in reversed(used) if (card := cards.get(name or ""))), None)


def amounts(analysis: Analysis) -> Iterator[Finding]:
    """The influence that the readings ask for most, with those that would do instead of it.

    One discrepancy makes several of them look needed, so they are told as one finding. Of eight that are
    looked at one is now and then beyond twice its uncertainty by chance, so a finding asks for `CLEARLY`.
    """
    found = [(amount, size) for amount, size in sizes(analysis) if asked_for(size, CLEARLY)]
    found.sort(key=lambda each: (not _plausible(*each), -abs(each[1].value) / each[1].standard_uncertainty))
    if found:
        sentences = [amount_told(*found[0]), *_in_its_place([amount for amount, _ in found[1:]])]
        yield Finding("amount", " ".join(sentences), dict(map(_figure, found)), _read_by(analysis), "caution")
    instead = list(explaining(analysis))
    if instead:
        text = words.INSTEAD.format(amounts=words.AMOUNTS_OR.join(_sized(*each) for each in instead))
        figures = dict(map(_figure, instead))
        yield Finding("amount instead", text, figures, _read_by(analysis), "caution")


CLEARLY = 3.0
"""Times its uncertainty, from which on an amount is a finding of its own."""


def asked_for(size: "Size", times: float = 2.0) -> TypeGuard[Estimate]:
    """Whether an amount is more than twice its uncertainty."""
    return isinstance(size, Estimate) and abs(size.value) > times * size.standard_uncertainty


def _figure(sized: tuple[Amount, Estimate]) -> tuple[str, Figure]:
    amount, size = sized
    unit = f"{amount.unit}²" if amount.is_square else amount.unit
    return amount.name, Figure(size.value, unit, size.standard_uncertainty)


def _plausible(amount: Amount, size: Estimate) -> bool:
    return amount.is_plausible(math.sqrt(max(size.value, 0.0)) if amount.is_square else size.value)


def _in_its_place(others: list[Amount]) -> Iterator[str]:
    if others:
        yield words.IN_ITS_PLACE.format(
            others=", ".join(words.AMOUNTS_TITLE[amount.name] for amount in others)
        )


def explaining(analysis: Analysis) -> Iterator[tuple[Amount, Estimate]]:
    """Influences of a plausible size with which all readings fit as entered, and without which not."""
    ranking = analysis.ranking
    if ranking is None or _fits_as_entered(ranking):
        return
    for amount in AMOUNTS:
        try:
            found = fit(ranking.observations, amount)
        except MissingReading:
            continue
        fits = found.chi_squared < 1 if found.p_value is None else found.p_value > CONTRADICTED
        if fits and found.size and asked_for(found.size) and _plausible(amount, found.size):
            yield amount, found.size


def _fits_as_entered(ranking: Ranking) -> bool:
    return ranking.first.as_intended and ranking.robust


Size = Estimate | tuple[Connection, ...]
"""Of an amount; where the readings say nothing about it, what any one further reading would tell it by."""


def sizes(analysis: Analysis) -> Iterator[tuple[Amount, Size]]:
    """Every amount with its size.

    Nothing at all is yielded while something does not fit: the size of an influence in contradictory readings
    means nothing.
    """
    ranking = analysis.ranking
    if ranking is None or not _fits_as_entered(ranking):
        return
    for amount in AMOUNTS:
        try:
            size = _fitted(analysis, ranking, amount).size
            assert size is not None  # one was fitted
            yield amount, size
        except MissingReading:
            yield amount, would_identify(ranking.observations, amount)


CONTRADICTED = 1e-3
"""p-value below which readings do not fit together, whatever the amount."""


def _fitted(analysis: Analysis, ranking: Ranking, amount: Amount) -> Fit:
    """The fit with an amount; readings at other frequencies take part where they help to tell it."""
    elsewhere = _elsewhere(analysis) if amount.by_frequency else ()
    if elsewhere:
        found = fit((*ranking.observations, *elsewhere), amount)
        if (found.p_value or 0.0) > CONTRADICTED:
            return found
    return fit(ranking.observations, amount)


def _elsewhere(analysis: Analysis) -> tuple[Observation, ...]:
    """Sound readings at other frequencies than the main one."""
    main = analysis.shared.main_frequency
    return tuple(
        o
        for o in analysis.shared.observations
        if main and o.frequency and o.frequency.value != main.value and o.value > 0 and not o.no_uncertainty
    )


def amount_told(amount: Amount, size: Size) -> str:
    """What the readings say about an amount, in a sentence or two."""
    title = words.AMOUNTS_TITLE[amount.name][0].upper() + words.AMOUNTS_TITLE[amount.name][1:]
    if isinstance(size, tuple):
        names = fit_words.OR.join(labels.CONNECTION[c] for c in size)
        none = words.OTHER_FREQUENCY if amount.by_frequency else ""
        cure = words.WOULD_SHOW.format(names=names) if size else none
        return words.AMOUNTS_NOT_IDENTIFIED.format(title=title, cure=cure)
    if amount.is_square and size.value < -2 * size.standard_uncertainty:
        return words.SQUARE_NEGATIVE.format(title=title)
    if amount.is_square and not asked_for(size):
        return _square_told(title, amount, size)
    if not asked_for(size):
        shown = quantity.display(size.value, size.standard_uncertainty, amount.unit)
        widest = max(abs(end) for ends in amount.plausible for end in ends)
        wide = 2 * size.standard_uncertainty > widest
        verdict = words.TOO_WIDE.format(usual=words.USUAL[amount.name]) if wide else words.INSIDE
        return words.NEEDED.format(title=title, size=shown, verdict=verdict)
    judged = words.PLAUSIBLE if _plausible(amount, size) else words.IMPLAUSIBLE
    facts = {"usual": words.USUAL[amount.name], "cure": words.CURE[amount.name]}
    verdict = words.OUTSIDE.format(plausible=judged.format(**facts))
    told = words.NEEDED.format(title=title, size=_shown(amount, size), verdict=verdict)
    return told if asked_for(size, CLEARLY) else f"{told} {words.BY_CHANCE}"


def _square_told(title: str, amount: Amount, square: Estimate) -> str:
    """Of a square that is not asked for: what it may be at most."""
    most = math.sqrt(square.value + 2 * square.standard_uncertainty)
    return words.AT_MOST.format(
        title=title, size=quantity.display(most, unit=amount.unit, significant_digits=2)
    )


def _shown(amount: Amount, size: Estimate) -> str:
    """The size with its uncertainty; of a square that is not negative its root."""
    value, u = size.value, size.standard_uncertainty
    if amount.is_square:
        value, u = math.sqrt(value), u / (2 * math.sqrt(value))
    return quantity.display(value, u, amount.unit)


def _sized(amount: Amount, size: Estimate) -> str:
    facts = {"title": words.AMOUNTS_TITLE[amount.name], "size": _shown(amount, size)}
    return words.SIZED.format(**facts, usual=words.USUAL[amount.name], cure=words.CURE[amount.name])


def coupling_told(analysis: Analysis) -> str | None:
    """How far the coupling is from none, and how wrong the meter would have to be for none."""
    ranking = analysis.ranking
    uncoupled = [c for c in analysis.comparisons if c.statement.rule == "uncoupled"]
    if ranking is None or not uncoupled or not any(e.as_intended for e in ranking.unseparated):
        return None
    twins = {o.id: o for o in analysis.independent.observations}
    own_gain = [twins.get(o.id, o) for o in ranking.observations]
    try:
        fits = fit(ranking.observations), fit(own_gain)
    except MissingReading:
        return None
    form = QUANTITIES["coupling_coefficient"][1]
    k = max(
        (first_order(lambda *t: form(*pair_at(*t)), each.parameters) for each in fits),
        key=lambda estimate: estimate.standard_uncertainty,
    )
    shown = quantity.display(k.value, k.standard_uncertainty, "")
    if abs(k.value) <= 2 * k.standard_uncertainty:
        return words.COUPLING_INSIDE.format(k=shown)
    times = abs(k.value) / k.standard_uncertainty
    furthest = max(uncoupled, key=lambda c: abs(math.log(abs(c.observation.value / c.predicted.value))))
    return words.AMOUNTS_COUPLING.format(
        k=shown,
        times=words.MANY_TIMES if times > 1000 else two_digits(times),
        break_even=furthest.break_even,
        id=furthest.observation.id,
    )


def _read_by(analysis: Analysis) -> tuple[str, ...]:
    return tuple(id for o in analysis.ranking.observations for id in o.ids) if analysis.ranking else ()
