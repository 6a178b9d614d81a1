"""Which explanations the readings support, which they cannot separate, and how firmly.

Explanations are combinations of causes, weighed by `labkit.analysis.causes.evidence`. One is *named* only if
no other comes within `SEPARATED` of it, and it stays the first when the weight of any cause is ten times
larger or smaller. Otherwise the set of those that remain is the answer: cannot tell.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from labkit.analysis.causes import lasting
from labkit.analysis.causes.evidence import Combinations, combine, option, weigh
from labkit.analysis.causes.local import Alternative, Place, Spread, alternatives
from labkit.analysis.causes.posterior import Array, Option
from labkit.analysis.causes.prior import Prior, prior_of
from labkit.analysis.causes.whole import Story, stories
from labkit.analysis.observations import Observation
from labkit.bench.bench import Bench
from labkit.theory.wiring import Terminal

SEPARATED = 1000.0
"""Odds beyond which two explanations count as told apart; no odds beyond are ever printed."""


Of = tuple[str, int, str]
"""Connection, power of ten, and the cause where these two do not say it all."""


@dataclass(frozen=True)
class Deed:
    """One cause in one reading."""

    observation: Observation
    alternative: Alternative


@dataclass(frozen=True)
class Explanation:
    """A combination of causes that explains all readings.

    Attributes
    ----------
    deeds : what happened to single readings, as intended left out
    story : what happened to the whole session, None if nothing did
    probability : of all explanations considered
    pair : best (ln A, ln B, atanh c)
    covariance : of the pair, shape (3, 3)
    of : what each reading then is of; explanations that agree in this are one, however it came about
    """

    deeds: tuple[Deed, ...]
    story: Story | None
    probability: float
    pair: Array
    covariance: Array
    of: tuple[Of, ...]

    @property
    def as_intended(self) -> bool:
        """Whether nothing went wrong."""
        return not self.deeds and self.story is None

    @property
    def causes(self) -> Counter[str]:
        """How often each cause takes part."""
        return Counter([d.alternative.cause for d in self.deeds] + ([self.story.cause] if self.story else []))


@dataclass(frozen=True)
class Ranking:
    """Explanations, the most probable first.

    Attributes
    ----------
    explanations : those within a ten-thousandth of the first
    observations : the readings behind it
    """

    explanations: tuple[Explanation, ...]
    observations: tuple[Observation, ...]

    @property
    def first(self) -> Explanation:
        """The most probable."""
        return self.explanations[0]

    @property
    def unseparated(self) -> tuple[Explanation, ...]:
        """The first and all that these readings cannot tell from it."""
        least = self.first.probability / SEPARATED
        return tuple(e for e in self.explanations if e.probability >= least)

    @cached_property
    def robust(self) -> bool:
        """Whether the first stays first when the weight of any one cause changes tenfold."""
        kinds = {cause for e in self.explanations for cause in e.causes}
        return all(self._stays_first(kind, factor) for kind in kinds for factor in (10.0, 0.1))

    def _stays_first(self, kind: str, factor: float) -> bool:
        changed = [e.probability * (factor if e.causes[kind] else 1.0) for e in self.explanations]
        return max(changed) == changed[0]

    @property
    def named(self) -> Explanation | None:
        """The one explanation that may be stated, None if the readings cannot tell."""
        return self.first if self.robust and len(self.unseparated) == 1 else None

    def odds(self, other: Explanation) -> float:
        """Odds of the first against another, at most `SEPARATED`."""
        return min(self.first.probability / other.probability, SEPARATED)


def rank(
    bench: Bench, observations: Sequence[Observation], dots: tuple[Terminal, ...], shared: bool = True
) -> Ranking:
    """Rank what may have happened.

    Parameters
    ----------
    bench : for cards, family and predictions
    observations : readings of both singles and joints at one frequency; without a card they are left out
    dots : as marked
    shared : whether readings on one range share their gain error
    """
    usable = tuple(o for o in observations if may_be_ranked(bench, o))
    listed = [alternatives(_place(bench, o, dots)) for o in usable]
    prior = prior_of((bench.part.family if bench.part else None) or "same core")
    numbered = _Numbered(usable, shared)
    found = combine([numbered.options(i, each) for i, each in enumerate(listed)], prior)
    explained = _explained(usable, listed, found, None)
    told = stories(usable, dots)
    if told and all(_as_intended(each) for each in listed):
        explained += _weigh_stories(usable, listed, told, numbered, prior)
    return _ranked(explained, usable)


def may_be_ranked(bench: Bench, o: Observation) -> bool:
    """Whether a reading can take part: positive, of a known connection, by a meter with a card.

    What is typed may lie outside all ranges of the card: the display cannot have shown it, which is evidence.
    """
    has_card = bench.cards.get(o.readings[0].meter or "") is not None
    return has_card and o.value > 0 and o.connection is not None


Listed = Sequence[tuple[Alternative, Spread | None]]
Explained = list[tuple[float, Explanation]]


@dataclass
class _Numbered:
    """Turns alternatives into numbers, with the ranges numbered as they turn up."""

    observations: tuple[Observation, ...]
    shared: bool
    ranges: dict[str, int] = field(default_factory=dict)

    def options(self, reading: int, listed: Listed) -> list[Option]:
        value = self.observations[reading].value
        return [option(value, a, spread, self.ranges, self.shared) for a, spread in listed]


def _place(bench: Bench, o: Observation, dots: tuple[Terminal, ...]) -> Place:
    card = bench.cards[o.readings[0].meter or ""]
    assert card is not None  # an observation without a card has no uncertainty and is not here
    here = o.wiring.canonical()
    predicted = tuple(p.shown for p in bench.predictions if p.wiring.canonical() == here)
    return Place(o, card, dots, predicted)


def _weigh_stories(
    observations: tuple[Observation, ...],
    listed: Sequence[Listed],
    told: Sequence[Story],
    numbered: _Numbered,
    prior: Prior,
) -> Explained:
    """Under a story each reading is what the story says, but for at most one that is none of the causes."""
    per_reading = [_under(told, i, each) for i, each in enumerate(listed)]
    rows = np.repeat(np.arange(len(told))[:, None], len(observations), 1)
    stray = [np.where(np.arange(len(observations)) == i, len(told), rows) for i in range(len(observations))]
    choice = np.concatenate([rows, *stray])
    found = weigh([numbered.options(i, each) for i, each in enumerate(per_reading)], choice, prior)
    owner = np.tile(np.arange(len(told)), len(observations) + 1)
    return [
        pair
        for s, story in enumerate(told)
        for pair in _explained(observations, per_reading, found.of(np.flatnonzero(owner == s)), story)
    ]


def _as_intended(listed: Listed) -> Listed:
    """The alternative that all is as entered, if the meter can show what was entered."""
    return [pair for pair in listed if pair[0].cause == "as intended"]


def _under(told: Sequence[Story], reading: int, listed: Listed) -> Listed:
    """One alternative a story for a reading, then `none of these`."""
    ((alternative, spread),) = _as_intended(listed)
    (none,) = [pair for pair in listed if pair[0].cause == "none of these"]
    return [*((replace(alternative, connection=s.connections[reading]), spread) for s in told), none]


def _explained(
    observations: tuple[Observation, ...], listed: Sequence[Listed], found: Combinations, story: Story | None
) -> Explained:
    explained = []
    for k, log in enumerate(found.log_evidence.tolist()):
        chosen = [each[a][0] for each, a in zip(listed, found.choice[k], strict=True)]
        weight = math.log(story.weight) if story else lasting.log_weight(observations, chosen)
        explained.append((log + weight, _explanation(observations, chosen, found, k, story)))
    return explained


def _explanation(
    observations: Sequence[Observation],
    chosen: Sequence[Alternative],
    found: Combinations,
    k: int,
    story: Story | None,
) -> Explanation:
    deeds = tuple(Deed(o, a) for o, a in zip(observations, chosen, strict=True) if a.cause != "as intended")
    covariance = np.linalg.inv(found.curvature[k])
    return Explanation(deeds, story, 0.0, found.pair[k], covariance, tuple(map(reading_of, chosen)))


def reading_of(a: Alternative) -> Of:
    """What a reading is of under an alternative."""
    wired = a.connection is not None and a.factor == 1.0
    return a.connection or "", a.exponent, "" if wired else a.cause


def _ranked(explained: Explained, observations: tuple[Observation, ...]) -> Ranking:
    best = max(log for log, _ in explained)
    total = sum(math.exp(log - best) for log, _ in explained)
    merged: dict[tuple[Of, ...], Explanation] = {}
    for log, e in sorted(explained, key=lambda each: -each[0]):
        likelier = merged.setdefault(e.of, e)
        merged[e.of] = replace(likelier, probability=likelier.probability + math.exp(log - best) / total)
    weighed = sorted(merged.values(), key=lambda e: -e.probability)
    return Ranking(tuple(e for e in weighed if e.probability > 1e-4 * weighed[0].probability), observations)
