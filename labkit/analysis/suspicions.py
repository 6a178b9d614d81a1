"""Findings about what may have happened at the bench, and the reading that would settle it."""

import math
from collections.abc import Iterator

from labkit import quantity
from labkit.analysis.advise import Narrowing, NextReading, next_for_cause, next_for_quantity
from labkit.analysis.amounts import AMOUNTS, Amount
from labkit.analysis.analysis import Analysis
from labkit.analysis.causes.ranking import Ranking
from labkit.analysis.causes.telling import verdict
from labkit.analysis.compare import two_digits
from labkit.analysis.finding import Figure, Finding
from labkit.analysis.fit import Fit, fit, would_identify
from labkit.analysis.identified import unidentified
from labkit.analysis.observations import Observation
from labkit.analysis.quantities import QUANTITIES, pair_at
from labkit.bench.card import Card
from labkit.errors import MissingReading
from labkit.theory.wiring import Connection
from labkit.uncertainty.estimate import Estimate
from labkit.uncertainty.propagate import first_order
from labkit.words import advise as advise_words
from labkit.words import amounts as words
from labkit.words import fit as fit_words
from labkit.words import labels


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
        read = [o.connection for o in situation.pool().values() if o.connection]
        left = unidentified([c for c in read if c is not Connection.LEADS])
        return left.sentence or advise_words.NEEDS_CARD
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
        if isinstance(size, Estimate) and abs(size.value) > 2 * size.standard_uncertainty:
            unit = f"{amount.unit}²" if amount.is_square else amount.unit
            figures = {amount.name: Figure(size.value, unit, size.standard_uncertainty)}
            yield Finding("amount", amount_told(amount, size), figures, _read_by(analysis), "caution")


Size = Estimate | tuple[Connection, ...]
"""Of an amount; where the readings say nothing about it, what any one further reading would tell it by."""


def sizes(analysis: Analysis) -> Iterator[tuple[Amount, Size]]:
    """Every amount with its size.

    Nothing at all is yielded while something does not fit: the size of an influence in contradictory readings
    means nothing.
    """
    ranking = analysis.ranking
    if ranking is None or not (ranking.first.as_intended and ranking.robust):
        return
    for amount in AMOUNTS:
        try:
            size = _fitted(analysis, ranking, amount).size
            assert size is not None  # one was fitted
            yield amount, size
        except MissingReading:
            yield amount, would_identify(ranking.observations, amount)


CONTRADICTED = 1e-3
"""p-value below which readings at other frequencies are left out: they do not fit, whatever the amount."""


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
    title = words.TITLE[amount.name][0].upper() + words.TITLE[amount.name][1:]
    if isinstance(size, tuple):
        names = fit_words.OR.join(labels.CONNECTION[c] for c in size)
        none = words.OTHER_FREQUENCY if amount.by_frequency else ""
        cure = words.WOULD_SHOW.format(names=names) if size else none
        return words.NOT_IDENTIFIED.format(title=title, cure=cure)
    if amount.is_square:
        return _square_told(amount, size, title)
    asked = abs(size.value) > 2 * size.standard_uncertainty
    return _needed(amount, title, size.value, size.standard_uncertainty, asked)


def _square_told(amount: Amount, square: Estimate, title: str) -> str:
    """The same from the square of the size."""
    u = square.standard_uncertainty
    if square.value < -2 * u:
        return words.SQUARE_NEGATIVE.format(title=title)
    if square.value <= 2 * u:
        most = quantity.display(math.sqrt(square.value + 2 * u), unit=amount.unit, significant_digits=2)
        return words.AT_MOST.format(title=title, size=most)
    size = math.sqrt(square.value)
    return _needed(amount, title, size, u / (2 * size), asked=True)


def _needed(amount: Amount, title: str, size: float, u: float, asked: bool) -> str:
    verdict = words.INSIDE
    if asked:
        judged = words.PLAUSIBLE if amount.is_plausible(size) else words.IMPLAUSIBLE
        facts = {"usual": words.USUAL[amount.name], "cure": words.CURE[amount.name]}
        verdict = words.OUTSIDE.format(plausible=judged.format(**facts))
    shown = quantity.display(size, u, amount.unit)
    return words.NEEDED.format(title=title, size=shown, verdict=verdict)


def coupling_told(analysis: Analysis) -> str | None:
    """How far the coupling is from none, and how wrong the meter would have to be for none."""
    ranking = analysis.ranking
    uncoupled = [c for c in analysis.comparisons if c.statement.rule == "uncoupled"]
    if ranking is None or not (ranking.first.as_intended and ranking.robust and uncoupled):
        return None
    try:
        fitted = fit(ranking.observations)
    except MissingReading:
        return None
    form = QUANTITIES["coupling_coefficient"][1]
    k = first_order(lambda *t: form(*pair_at(*t)), fitted.parameters)
    shown = quantity.display(k.value, k.standard_uncertainty, "")
    if abs(k.value) <= 2 * k.standard_uncertainty:
        return words.COUPLING_INSIDE.format(k=shown)
    times = abs(k.value) / k.standard_uncertainty
    furthest = max(uncoupled, key=lambda c: abs(math.log(abs(c.observation.value / c.predicted.value))))
    return words.COUPLING.format(
        k=shown,
        times=words.MANY_TIMES if times > 1000 else two_digits(times),
        break_even=furthest.break_even,
        id=furthest.observation.id,
    )


def _read_by(analysis: Analysis) -> tuple[str, ...]:
    return tuple(id for o in analysis.ranking.observations for id in o.ids) if analysis.ranking else ()
