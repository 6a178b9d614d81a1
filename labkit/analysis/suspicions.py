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
from labkit.uncertainty.estimate import Estimate
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
        yield Finding("next reading", advice.sentence, figures, _read_by(analysis), "caution")


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
    """Influences that the readings ask for: more than twice its uncertainty each."""
    for amount, size in sizes(analysis):
        if size and abs(size.value) > 2 * size.standard_uncertainty:
            figures = {amount.name: Figure(size.value, amount.unit, size.standard_uncertainty)}
            yield Finding("amount", amount_told(amount, size), figures, _read_by(analysis), "caution")


def sizes(analysis: Analysis) -> Iterator[tuple[Amount, Estimate | None]]:
    """Every amount with its size, None where the readings say nothing about it.

    Nothing at all is yielded while something does not fit: the size of an influence in contradictory readings
    means nothing.
    """
    ranking = analysis.ranking
    if ranking is None or not (ranking.first.as_intended and ranking.robust):
        return
    for amount in AMOUNTS:
        try:
            yield amount, fit(ranking.observations, amount).size
        except MissingReading:
            yield amount, None


def amount_told(amount: Amount, size: Estimate | None) -> str:
    """What the readings say about an amount, in one sentence."""
    title = words.TITLE[amount.name].capitalize()
    if size is None:
        return words.NOT_IDENTIFIED.format(title=title)
    verdict = words.INSIDE
    if abs(size.value) > 2 * size.standard_uncertainty:
        judged = words.PLAUSIBLE if amount.is_plausible(size.value) else words.IMPLAUSIBLE
        verdict = words.OUTSIDE.format(plausible=judged.format(usual=words.USUAL[amount.name]))
    shown = quantity.display(size.value, size.standard_uncertainty, amount.unit)
    return words.NEEDED.format(title=title, size=shown, verdict=verdict)


def _read_by(analysis: Analysis) -> tuple[str, ...]:
    return tuple(id for o in analysis.ranking.observations for id in o.ids) if analysis.ranking else ()
