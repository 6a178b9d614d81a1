"""Which explanations the readings support, which they cannot separate, and how firmly.

Explanations are combinations of causes, weighed by `labkit.analysis.causes.evidence`. One is *named* only if
no other comes within `SEPARATED` of it, and it stays the first when the weight of any cause is ten times
larger or smaller. Otherwise the set of those that remain is the answer: cannot tell.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from labkit.analysis.causes import lasting
from labkit.analysis.causes.distance import connection_of
from labkit.analysis.causes.evidence import Combinations, option, weigh
from labkit.analysis.causes.local import Alternative, Place, Spread, alternatives
from labkit.analysis.causes.posterior import Array, Column, Whole
from labkit.analysis.causes.prior import Prior, prior_of
from labkit.analysis.causes.search import Problem
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
    dots : where they are then, if the readings have to say so; None if they are marked
    """

    deeds: tuple[Deed, ...]
    story: Story | None
    probability: float
    pair: Array
    covariance: Array
    of: tuple[Of, ...]
    dots: tuple[Terminal, ...] | None = None

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


Listed = Sequence[tuple[Alternative, Spread | None]]


def rank(
    bench: Bench,
    observations: Sequence[Observation],
    dots: tuple[Terminal, ...],
    shared: bool = True,
    or_dots: tuple[Terminal, ...] | None = None,
) -> Ranking:
    """Rank what may have happened.

    Parameters
    ----------
    bench : for cards, family and predictions
    observations : readings of both singles and joints at one frequency; without a card they are left out
    dots : as marked, or where the readings put them
    shared : whether readings on one range share their gain error
    or_dots : where else they may be, if they are not marked; both places are then as likely before the data
    """
    usable = tuple(o for o in observations if may_be_ranked(bench, o))
    placements = [(dots, usable)]
    if or_dots:
        moved = tuple(replace(o, connection=connection_of(o.wiring, or_dots)) for o in usable)
        placements.append((or_dots, moved))
    weighed = [_weighed(bench, each, at, shared, marked=or_dots is None) for at, each in placements]
    most = max(float(found.log_evidence.max()) for _, _, found in weighed)
    merged: dict[tuple[object, ...], Explanation] = {}
    for (at, each), (told, may_be, found) in zip(placements, weighed, strict=True):
        _merge(merged, each, told, may_be, found, most, at if or_dots else None)
    total = sum(e.probability for e in merged.values())
    parts = [replace(e, probability=e.probability / total) for e in merged.values()]
    explanations = sorted(parts, key=lambda e: -e.probability)
    kept = tuple(e for e in explanations if e.probability > 1e-4 * explanations[0].probability)
    return Ranking(kept, usable)


def _weighed(
    bench: Bench, usable: tuple[Observation, ...], dots: tuple[Terminal, ...], shared: bool, *, marked: bool
) -> tuple[tuple[Story, ...], list[Listed], Combinations]:
    """Stories, alternatives of each reading and their combinations, with the dots in one place."""
    listed = [alternatives(_place(bench, o, dots)) for o in usable]
    told = stories(usable, dots) if all(_as_intended(each) for each in listed) else ()
    told = tuple(story for story in told if marked or story.cause != "dots")
    may_be: list[Listed] = [[*each, *_under(told, i, each)] for i, each in enumerate(listed)]
    prior = prior_of((bench.part.family if bench.part else None) or "same core")
    return told, may_be, weigh(_problem(usable, told, may_be, prior, shared))


def may_be_ranked(bench: Bench, o: Observation) -> bool:
    """Whether a reading can take part: positive, of a known connection, by a meter with a card.

    What is typed may lie outside all ranges of the card: the display cannot have shown it, which is evidence.
    """
    has_card = bench.cards.get(o.readings[0].meter or "") is not None
    return has_card and o.value > 0 and o.connection is not None


def _problem(
    observations: tuple[Observation, ...],
    told: Sequence[Story],
    may_be: Sequence[Listed],
    prior: Prior,
    shared: bool,
) -> Problem:
    """All in numbers. Under a story each reading is what it says, but for at most one: none of these."""
    ranges: dict[str, int] = {}
    columns = [
        Column.of([option(o.value, a, spread, ranges, shared) for a, spread in each])
        for o, each in zip(observations, may_be, strict=True)
    ]
    stray = tuple(_none_of_these(each) for each in may_be)
    admits = tuple(_admitted(len(told), len(each), at) for each, at in zip(may_be, stray, strict=True))
    sessions = np.log([1.0, *(story.weight for story in told)])

    def lasts(session: Whole, choice: Whole) -> Array:
        return np.where(session == 0, lasting.log_weights(observations, may_be, choice), 0.0)

    return Problem(tuple(columns), sessions, admits, stray, lasts, lasting.most(observations), prior)


def _admitted(stories: int, options: int, stray: int) -> NDArray[np.bool_]:
    """Which options each session admits, shape (1 + stories, options); the last are the stories'."""
    own = options - stories
    admits = np.zeros((1 + stories, options), dtype=bool)
    admits[0, :own] = admits[1:, stray] = True
    admits[np.arange(1, 1 + stories), np.arange(own, options)] = True
    return admits


def _none_of_these(listed: Listed) -> int:
    return next(i for i, (a, _) in enumerate(listed) if a.cause == "none of these")


def _place(bench: Bench, o: Observation, dots: tuple[Terminal, ...]) -> Place:
    card = bench.cards[o.readings[0].meter or ""]
    here = o.wiring.canonical()
    predicted = tuple(p.shown for p in bench.predictions if p.wiring.canonical() == here)
    return Place(o, card, dots, predicted)


def _as_intended(listed: Listed) -> Listed:
    """The alternative that all is as entered, if the meter can show what was entered."""
    return [pair for pair in listed if pair[0].cause == "as intended"]


def _under(told: Sequence[Story], reading: int, listed: Listed) -> Listed:
    """One alternative a story for a reading."""
    return [
        (replace(alternative, connection=story.connections[reading]), spread)
        for story in told
        for alternative, spread in _as_intended(listed)
    ]


def reading_of(a: Alternative) -> Of:
    """What a reading is of under an alternative."""
    wired = a.connection is not None and a.factor == 1.0
    return a.connection or "", a.exponent, "" if wired else a.cause


def _merge(
    merged: dict[tuple[object, ...], Explanation],
    observations: tuple[Observation, ...],
    told: Sequence[Story],
    may_be: Sequence[Listed],
    found: Combinations,
    most: float,
    dots: tuple[Terminal, ...] | None,
) -> None:
    """Add combinations to the explanations; that all was done as entered is one, wherever the dots are."""
    p = np.exp(found.log_evidence - most)
    for k in np.argsort(-p, kind="stable").tolist():
        chosen = [each[a][0] for each, a in zip(may_be, found.choice[k].tolist(), strict=True)]
        of = tuple(map(reading_of, chosen))
        story = told[found.session[k] - 1] if found.session[k] else None
        deeds = tuple(
            Deed(o, a) for o, a in zip(observations, chosen, strict=True) if a.cause != "as intended"
        )
        key: tuple[object, ...] = (dots, *of) if deeds or story else ()
        if key in merged:
            p_all = merged[key].probability + float(p[k])
            merged[key] = replace(merged[key], probability=p_all)
        else:
            pair, covariance = found.pair[k], found.covariance[k]
            merged[key] = Explanation(deeds, story, float(p[k]), pair, covariance, of, dots)
