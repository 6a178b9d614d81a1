"""Calibration: benches drawn from the stated priors, and how often what has probability p is true."""

import math
from decimal import Decimal

import numpy as np

from labkit import quantity
from labkit.analysis.analysis import Analysis
from labkit.analysis.causes.hypotheses import Alternative, Place, alternatives, stories
from labkit.analysis.causes.likelihood import prior_of
from labkit.analysis.causes.ranking import Of, reading_of
from labkit.analysis.observations import Observation, observe
from labkit.record.card import Card
from labkit.theory.pair import Pair
from labkit.theory.wiring import Connection, parse_dots
from tests.benches import typed_bench
from tests.study.cases import LEADS
from tests.study.planting import SETS, card

Rng = np.random.Generator
DOTS = parse_dots("1a 2a")
LEAST = 20  # counts that a display should show; fewer carry no digits to speak of


def block(card_: str, set_: str, first: int, count: int) -> list[tuple[float, bool]]:
    """Probability and truth of every explanation of some benches."""
    found = []
    for seed in range(first, first + count):
        found += one(card_, set_, np.random.default_rng([seed, *map(ord, card_ + set_)]))
    return found


def one(card_: str, set_: str, rng: Rng) -> list[tuple[float, bool]]:
    """One bench: (probability, whether true) of each explanation within a ten-thousandth of the first."""
    while True:
        drawn = _draw(card_, SETS[set_], rng)
        if drawn is not None:
            texts, truth = drawn
            ranking = Analysis(typed_bench(texts, card=card_)).ranking
            if ranking is not None and len(ranking.observations) == len(texts):
                named = {o.id: of for o, of in zip(ranking.observations, ranking.first.of, strict=True)}
                order = list(named)
                really = tuple(truth[id] for id in order)
                return [(round(e.probability, 6), e.of == really) for e in ranking.explanations]


def _draw(card_: str, ids: tuple[str, ...], rng: Rng) -> tuple[dict[str, str], dict[str, Of]] | None:
    """Readings as typed, and what each is of; None if the meter cannot show one of them."""
    prior, meter = prior_of("same core"), card(card_)
    t = rng.multivariate_normal(prior.mean, np.linalg.inv(prior.precision))
    if abs(t[2]) > 3 or rng.uniform() > np.exp(prior.log_dots(t)):
        return None
    pair = Pair.from_coordinates(*t)
    observations = _as_intended(card_, ids)
    listed = [[a for a, _ in alternatives(Place(o, meter, DOTS))] for o in observations]
    chosen = [_pick(each, rng) for each in listed]
    told = stories(observations, DOTS)
    weights = np.array([1.0, *(s.weight for s in told)])
    which = int(rng.choice(len(weights), p=weights / weights.sum()))
    if which:
        if any(a.cause not in ("as intended", "none of these") for a in chosen):
            return None
        if sum(a.cause == "none of these" for a in chosen) > 1:
            return None
        chosen = [
            a if a.cause == "none of these" else Alternative("as intended", c)
            for a, c in zip(chosen, told[which - 1].connections, strict=True)
        ]
    gains = {r.name: rng.uniform(-1, 1) for r in meter.ranges}
    texts = [_text(a, pair, meter, gains, rng) for a in chosen]
    if any(text is None for text in texts):
        return None
    return dict(zip(ids, map(str, texts), strict=True)), dict(zip(ids, map(reading_of, chosen), strict=True))


def _as_intended(card_: str, ids: tuple[str, ...]) -> tuple[Observation, ...]:
    """Observations that ask for the causes of each wiring; their values, amid a range, play no part."""
    return observe(typed_bench(dict.fromkeys(ids, "100.0 µH"), card=card_))


def _pick(listed: list[Alternative], rng: Rng) -> Alternative:
    weights = np.array([a.weight for a in listed])
    return listed[int(rng.choice(len(listed), p=weights / weights.sum()))]


def _text(a: Alternative, pair: Pair, meter: Card, gains: dict[str, float], rng: Rng) -> str | None:
    if a.connection is None:
        true = math.exp(rng.uniform(math.log(1e-9), math.log(10.0)))
    elif a.connection is Connection.LEADS:
        true = math.exp(rng.normal(*LEADS))
    else:
        true = float(pair.inductance(a.connection))
    fitting = [r for r in meter.ranges if true * 1.05 < r.full_scale]
    if not fitting or true < LEAST * meter.ranges[0].count:
        return None
    on = min(fitting, key=lambda r: r.full_scale)
    error = on.percent / 100 * true * gains[on.name] + on.digits * on.count * rng.uniform(-1, 1)
    shown = on.display(true + error)
    if a.exponent % 3:
        return f"{Decimal(shown.digits).scaleb(a.exponent):f} {shown.unit}"
    units = quantity.accepted_units("inductance")
    place = units.index(shown.unit) + a.exponent // 3
    return f"{shown.digits} {units[place]}" if 0 <= place < len(units) else None
