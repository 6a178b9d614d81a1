"""The cases of a bench that the oracle weighs: nothing wrong, one slip, two slips, and what touches all readings.

The list of causes and their weights are definitions and come from `labkit.analysis.causes`; nothing that
computes evidence does.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from labkit.analysis.causes import lasting
from labkit.analysis.causes.local import Alternative, Place, Spread, alternatives
from labkit.analysis.causes.prior import prior_of
from labkit.analysis.causes.ranking import SEPARATED, Explanation
from labkit.analysis.causes.whole import stories
from labkit.analysis.observations import Observation
from labkit.bench.bench import Bench
from labkit.theory.wiring import Connection, Terminal
from tests.study.oracle import Array, Case, Density, Term, log_evidence

Named = tuple[str, tuple[tuple[str, str, int], ...]]
"""What was done: "" or what touched all readings, then (cause, connection, exponent) of each reading."""

LEADS = (math.log(0.4e-6), 1.2)  # clips on one node: mean of ln y (H) and standard deviation
SCREEN = math.log(SEPARATED) + 6.0


@dataclass(frozen=True)
class Weighed:
    """Cases with their probabilities, the likeliest first."""

    names: tuple[Named, ...]
    probability: Array

    @property
    def unseparated(self) -> tuple[Named, ...]:
        """The first and all that come within 1 : 1000 of it."""
        return tuple(
            name
            for name, p in zip(self.names, self.probability, strict=True)
            if p * SEPARATED >= self.probability[0]
        )


def weigh(
    bench: Bench,
    observations: Sequence[Observation],
    dots: tuple[Terminal, ...],
    density: Density = Density(),  # noqa: B008 - frozen
    thorough: bool = False,
) -> Weighed:
    """What the oracle makes of a bench.

    Parameters
    ----------
    density : of the quadrature
    thorough : every case gets its integral; otherwise those far behind only a rough one, and two slips are only
        tried together if one of them is among the ten likeliest
    """
    columns = [_column(bench, o, dots) for o in observations]
    prior = prior_of((bench.part.family if bench.part else None) or "same core")
    covariance = np.linalg.inv(prior.precision)

    def evidence(cases: dict[Named, Case]) -> dict[Named, float]:
        within = math.inf if thorough else SCREEN
        values = log_evidence(list(cases.values()), prior.mean, covariance, density, within)
        return dict(zip(cases, values.tolist(), strict=True))

    choices = _choices(columns, 1)
    cases = {_name(columns, c): _case(observations, columns, c) for c in choices} | _told(
        observations, columns, dots
    )
    found = evidence(cases)
    likely = set(sorted(found, key=lambda name: -found[name])[: None if thorough else 10])
    pairs = [c for c in _choices(columns, 2) if thorough or any(n in likely for n in _halves(columns, c))]
    found |= evidence({_name(columns, c): _case(observations, columns, c) for c in pairs})
    order = sorted(found, key=lambda name: -found[name])
    log = np.array([found[name] for name in order])
    p = np.exp(log - log[0])
    return Weighed(tuple(order), p / p.sum())


def named(explanation: Explanation, observations: Sequence[Observation]) -> Named:
    """The name of an explanation of the ranking."""
    deeds = {d.observation.id: d.alternative.what for d in explanation.deeds}
    story = explanation.story
    return _story_name(story.cause, story.about) if story else "", tuple(
        deeds.get(o.id, ("as intended", o.connection or "", 0)) for o in observations
    )


def _story_name(cause: str, about: tuple[str, ...]) -> str:
    return " ".join((cause, *about))


Column = list[tuple[Alternative, Term]]
Choice = tuple[int, ...]


def _column(bench: Bench, o: Observation, dots: tuple[Terminal, ...]) -> Column:
    card = bench.cards[o.readings[0].meter or ""]
    assert card is not None
    here = o.wiring.canonical()
    predicted = tuple(p.shown for p in bench.predictions if p.wiring.canonical() == here)
    return [(a, _term(o.value, a, spread)) for a, spread in alternatives(Place(o, card, dots, predicted))]


def _term(value: float, a: Alternative, spread: Spread | None) -> Term:
    log_value = math.log(value) - a.exponent * math.log(10) - math.log(a.factor)
    if a.connection is Connection.LEADS:
        centre, width = LEADS
        density = -(((log_value - centre) / width) ** 2) / 2 - math.log(width * math.sqrt(2 * math.pi))
        return Term(log_value, None, log_density=density)
    if a.connection is None or spread is None:
        return Term(log_value, None, log_density=math.log(a.density or 0.0))
    return Term(log_value, a.connection, spread.gain, spread.rest, spread.range)


def _choices(columns: Sequence[Column], slips: int) -> list[Choice]:
    """All combinations with this many slips; with one also that of none. The intended stands first in a column."""
    found = [(0,) * len(columns)] if slips == 1 else []
    for readings in itertools.combinations(range(len(columns)), slips):
        for slipped in itertools.product(*(range(1, len(columns[i])) for i in readings)):
            at = dict(zip(readings, slipped, strict=True))
            found.append(tuple(at.get(i, 0) for i in range(len(columns))))
    return found


def _halves(columns: Sequence[Column], choice: Choice) -> list[Named]:
    """The two single slips of a pair."""
    slipped = [i for i, a in enumerate(choice) if a]
    return [_name(columns, tuple(a if i == s else 0 for i, a in enumerate(choice))) for s in slipped]


def _name(columns: Sequence[Column], choice: Choice) -> Named:
    return "", tuple(column[a][0].what for column, a in zip(columns, choice, strict=True))


def _case(observations: Sequence[Observation], columns: Sequence[Column], choice: Choice) -> Case:
    chosen = [column[a] for column, a in zip(columns, choice, strict=True)]
    weight = sum(math.log(a.weight) for a, _ in chosen)
    weight += lasting.log_weight(observations, [a for a, _ in chosen])
    return Case(tuple(term for _, term in chosen), weight)


def _told(
    observations: Sequence[Observation], columns: Sequence[Column], dots: tuple[Terminal, ...]
) -> dict[Named, Case]:
    """What touches all readings at once, everything else as intended."""
    intended = tuple(("as intended", o.connection or "", 0) for o in observations)
    found = {}
    for story in stories(tuple(observations), dots):
        terms = tuple(
            Term(t.log_value, connection, t.gain, t.rest, t.range)
            for ((_, t), *_), connection in zip(columns, story.connections, strict=True)
        )
        if Connection.LEADS not in story.connections:
            found[_story_name(story.cause, story.about), intended] = Case(terms, math.log(story.weight))
    return found
