"""A ranking in words: what is supported, what cannot be told apart, and no more than that."""

import numpy as np

from labkit import quantity
from labkit.analysis.causes.forms import log_forms
from labkit.analysis.causes.lasting import left_in_circuit
from labkit.analysis.causes.local import as_displayed
from labkit.analysis.causes.ranking import SEPARATED, Deed, Explanation, Ranking
from labkit.analysis.causes.whole import Story
from labkit.theory.wiring import Connection
from labkit.words import causes as words
from labkit.words import labels

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
