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

from labkit import quantity
from labkit.analysis.causes import hypotheses as lasting
from labkit.analysis.causes.evidence import Combinations, Problem, option, weigh
from labkit.analysis.causes.hypotheses import (
    Alternative,
    Place,
    Spread,
    Story,
    alternatives,
    as_displayed,
    connection_of,
    left_in_circuit,
    stories,
)
from labkit.analysis.causes.likelihood import Column, Prior, Whole, log_forms, prior_of
from labkit.analysis.observations import Observation
from labkit.arrays import Floats
from labkit.record.bench import Bench
from labkit.theory.wiring import Connection, Terminal
from labkit.words import causes as words
from labkit.words import labels

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
    pair: Floats
    covariance: Floats
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

    def lasts(session: Whole, choice: Whole) -> Floats:
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


# A ranking in words: what is supported, what cannot be told apart, and no more than that.

LISTED = 3  # what is spelled out; the rest is counted

Clause = tuple[str, float]


def told(explanation: Explanation) -> str:
    """One explanation as a clause."""
    return words.AND.join(_clauses(explanation)) or words.AS_INTENDED


def verdict(ranking: Ranking, *, strained: bool = False) -> str:
    """What the ranking allows to be said, in a sentence or two.

    `strained` says that single differences are beyond their expanded uncertainty all the same.
    """
    said = [_verdict(ranking, strained)]
    if not ranking.first.causes["none of these"] and len(ranking.unseparated) > 1 and same_pair(ranking):
        said.append(words.SAME_PAIR)
    if dots_open(ranking):
        said.append(words.DOTS_OPEN)
    return " ".join(said)


def dots_open(ranking: Ranking) -> bool:
    """Whether explanations with the dots one way and the other are still open."""
    return not ranking.first.as_intended and len({e.dots for e in ranking.unseparated}) > 1


def _verdict(ranking: Ranking, strained: bool) -> str:
    first, open_points = ranking.first, still_open(ranking)
    if not ranking.robust:
        possible = sorted({told(e) for e in ranking.unseparated[:LISTED]})
        return words.NOT_ROBUST.format(all=_joined(possible, len(ranking.unseparated), words.OTHERS))
    if first.as_intended:
        but = words.BUT.format(others=_listed(ranking, open_points)) if open_points else ""
        return (words.SOUND_YET if strained else words.SOUND).format(count=len(ranking.observations), but=but)
    if first.causes["none of these"] and first.story is None:
        return words.CONTRADICTION.format(what=told(first))
    if not open_points:
        return words.NAMED.format(what=told(first))
    if firm := _in_all(ranking):
        return words.FIRM.format(what=words.AND.join(firm), others=_listed(ranking, open_points))
    return words.CANNOT_TELL.format(first=told(first), others=_listed(ranking, open_points))


def same_pair(ranking: Ranking) -> bool:
    """Whether every explanation still open gives the same eight inductances within two spreads.

    The spread of a difference is taken as that of one estimate: all rest on the same readings.
    """
    values, slopes = log_forms(np.array([e.pair for e in ranking.unseparated]))
    covariance = np.array([e.covariance for e in ranking.unseparated])
    spread = np.sqrt(np.einsum("kfp,kpq,kfq->kf", slopes, covariance, slopes))
    return bool((np.abs(values - values[0]) <= 2 * np.minimum(spread, spread[0])).all())


def _in_all(ranking: Ranking) -> list[str]:
    """What every explanation that is still open agrees on."""
    return [c for c in _clauses(ranking.first) if all(c in _clauses(e) for e in ranking.unseparated)]


def still_open(ranking: Ranking) -> list[Clause]:
    """What else may have happened, each point once, with its probability.

    A point that only ever comes on top of another open one is not listed again.
    """
    certain = set(_clauses(ranking.first))
    points: dict[str, float] = {}
    for e in ranking.unseparated[1:]:
        more = [clause for clause in _clauses(e) if clause not in certain]
        if len(more) == 1 or not set(more) & points.keys():
            key = words.AND.join(more) or told(e)
            points[key] = points.get(key, 0.0) + e.probability
    return sorted(points.items(), key=lambda point: -point[1])


def _clauses(explanation: Explanation) -> list[str]:
    story = [story_told(explanation.story)] if explanation.story else []
    return [*story, *map(deed_told, explanation.deeds)]


def _listed(ranking: Ranking, points: list[Clause]) -> str:
    """The likeliest points with their odds; those ten times less likely than the first are only counted."""
    least = points[0][1] / 10
    clear = [words.ODDS.format(what=what, odds=_odds(ranking, p)) for what, p in points if p >= least]
    return _joined(clear[:LISTED], len(points), words.MORE)


def _joined(texts: list[str], of: int, rest: str) -> str:
    more = of - len(texts)
    return "; ".join([*texts, *([rest.format(count=more)] if more > 0 else [])])


def _odds(ranking: Ranking, probability: float) -> str:
    """1 : x to one digit, as much as rough weights bear; what is likelier than the first counts as even."""
    odds = max(1.0, min(ranking.first.probability / probability, SEPARATED))
    return f"1 : {float(f'{odds:.1g}'):.0f}"


def story_told(story: Story) -> str:
    """What happened to the whole session, as a clause."""
    return words.STORY[story.cause].format(*story.about)


def deed_told(deed: Deed) -> str:
    """What happened to one reading, as a clause."""
    alternative, first = deed.alternative, deed.observation.readings[0]
    cause = "leads" if alternative.connection is Connection.LEADS else alternative.cause
    cause = "open clamp" if left_in_circuit(deed.observation, alternative) else cause
    facts = {
        "id": deed.observation.id,
        "intended": labels.CONNECTION[deed.observation.connection or Connection.OPEN],
        "built": labels.CONNECTION[alternative.connection or Connection.OPEN],
        "factor": f"{10 ** abs(alternative.exponent):,}".replace(",", "\u202f"),
        "display": as_displayed(first.shown, alternative.exponent)
        or quantity.display(deed.observation.value),
    }
    return words.DEED[cause].format(**facts)


def question(ranking: Ranking, id: str) -> str | None:
    """A discreet question about one reading, if a slip in it is far more likely than all being as typed.

    Far more likely means 1 : 100, with at least a fifth of the whole probability on the slip.
    """
    slips = ("prefix", "decimal mark", "resistance typed", "prediction copied")
    with_slip = [e for e in ranking.explanations if any(_slipped(d, id, slips) for d in e.deeds)]
    as_typed = sum(e.probability for e in ranking.explanations if e.as_intended)
    likely = sum(e.probability for e in with_slip)
    if likely < 0.2 or likely < 100 * as_typed:
        return None
    deed = next(d for d in with_slip[0].deeds if _slipped(d, id, slips))
    shown = deed.observation.readings[0].shown
    display = as_displayed(shown, deed.alternative.exponent) or shown
    return words.QUESTION.format(id=id, display=display, shown=shown)


def _slipped(deed: Deed, id: str, slips: tuple[str, ...]) -> bool:
    return deed.observation.id == id and deed.alternative.cause in slips
