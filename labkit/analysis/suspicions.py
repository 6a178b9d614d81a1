"""Findings about what may have happened at the bench, and the reading that would settle it."""

from collections.abc import Iterator

from labkit import quantity
from labkit.analysis.advise import Narrowing, NextReading, next_for_cause, next_for_quantity
from labkit.analysis.amounts import AMOUNTS, Amount
from labkit.analysis.analysis import Analysis
from labkit.analysis.causes.telling import verdict
from labkit.analysis.finding import Figure, Finding
from labkit.analysis.fit import fit
from labkit.bench.card import Card
from labkit.errors import MissingReading
from labkit.words import advise as advise_words
from labkit.words import amounts as words


def what_happened(analysis: Analysis) -> Iterator[Finding]:
    """What the readings support, and what they cannot tell apart."""
    ranking = analysis.ranking
    if ranking is None:
        return
    first = ranking.first
    sound = first.as_intended and ranking.robust
    figures = {"probability": Figure(first.probability, "")}
    ids = tuple(id for o in ranking.observations for id in o.ids)
    yield Finding("what happened", verdict(ranking), figures, ids, "plain" if sound else "strong")


def next_step(analysis: Analysis) -> Iterator[Finding]:
    """The further reading that tells most of what is open."""
    advice = next_reading_of(analysis)
    if isinstance(advice, NextReading):
        figures = {"told_apart": Figure(advice.told_apart, "")}
        ids = tuple(id for o in analysis.ranking.observations for id in o.ids) if analysis.ranking else ()
        yield Finding("next reading", advice.sentence, figures, ids, "caution")


def next_reading_of(analysis: Analysis, question: str = "cause") -> NextReading | Narrowing | str:
    """Advice for "cause" or a quantity such as "coupling_coefficient"; a sentence if there is none."""
    ranking, card, situation = analysis.ranking, _card(analysis), analysis.shared
    if situation.dots is None:
        return advise_words.NEEDS_DOTS
    if ranking is None or card is None:
        return advise_words.NEEDS_READINGS
    if question == "cause":
        return next_for_cause(ranking, card, situation.dots, situation.main_frequency)
    if not (ranking.first.as_intended and ranking.robust):
        return advise_words.SETTLE_FIRST
    return next_for_quantity(ranking.observations, question, card, situation.dots, situation.main_frequency)


def _card(analysis: Analysis) -> Card | None:
    """The card of the meter that was used last and has one."""
    cards = analysis.bench.cards
    used = [o.readings[0].meter for o in analysis.shared.observations]
    return next((card for name in reversed(used) if (card := cards.get(name or ""))), None)


def amounts(analysis: Analysis) -> Iterator[Finding]:
    """Influences that the readings ask for: each with its size, and whether that is plausible."""
    ranking = analysis.ranking
    if ranking is None or not (ranking.first.as_intended and ranking.robust):
        return
    for amount in AMOUNTS:
        yield from _amount(analysis, amount)


def _amount(analysis: Analysis, amount: Amount) -> Iterator[Finding]:
    assert analysis.ranking is not None
    try:
        fitted = fit(analysis.ranking.observations, amount)
    except MissingReading:
        return
    size = fitted.size
    if size is None or abs(size.value) <= 2 * size.standard_uncertainty:
        return
    usual = words.USUAL[amount.name]
    judged = words.PLAUSIBLE if amount.is_plausible(size.value) else words.IMPLAUSIBLE
    facts = {
        "title": words.TITLE[amount.name],
        "size": quantity.display(size.value, size.standard_uncertainty, amount.unit),
        "verdict": words.OUTSIDE.format(plausible=judged.format(usual=usual)),
    }
    figures = {amount.name: Figure(size.value, amount.unit, size.standard_uncertainty)}
    ids = tuple(id for o in fitted.observations for id in o.ids)
    yield Finding("amount", words.NEEDED.format(**facts), figures, ids, "caution")
