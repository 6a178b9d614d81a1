"""The cases of a bench that the oracle weighs: no slip, one, two, three, and what touches all readings.

The list of causes and their weights are definitions and come from `labkit.analysis.causes`; nothing that
computes evidence does.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from labkit.analysis.causes import hypotheses as lasting
from labkit.analysis.causes.hypotheses import Alternative, Place, Spread, Story, alternatives, stories
from labkit.analysis.causes.likelihood import prior_of
from labkit.analysis.causes.ranking import SEPARATED, Of, reading_of
from labkit.analysis.observations import Observation
from labkit.arrays import Floats
from labkit.record.bench import Bench
from labkit.theory.wiring import Connection, Terminal
from tests.study.oracle import Case, Density, Term, log_evidence

Named = tuple[Of, ...]
"""What each reading is of."""

LEADS = (math.log(0.4e-6), 1.2)  # clips on one node: mean of ln y (H) and standard deviation
SCREEN = math.log(SEPARATED) + 7.0


@dataclass(frozen=True)
class Weighed:
    """Cases with their probabilities, the likeliest first."""

    names: tuple[Named, ...]
    probability: Floats

    @property
    def unseparated(self) -> tuple[Named, ...]:
        """The first and all that come within 1 : 1000 of it."""
        close = self.probability * SEPARATED >= self.probability[0]
        return tuple(name for name, is_close in zip(self.names, close, strict=True) if is_close)

    def of(self, name: Named) -> float:
        """Probability of one case, 0 if it was not weighed."""
        return float(self.probability[self.names.index(name)]) if name in self.names else 0.0


@dataclass(frozen=True)
class Column:
    """What one reading may be of; the first is what was intended, if the meter can show it."""

    observation: Observation
    alternatives: tuple[Alternative, ...]
    terms: tuple[Term, ...]

    @property
    def has_intended(self) -> bool:
        return self.alternatives[0].cause == "as intended"


Choice = tuple[int, ...]


def weigh(
    bench: Bench,
    observations: Sequence[Observation],
    dots: tuple[Terminal, ...],
    density: Density = Density(),  # noqa: B008 - frozen
    widths: tuple[int | None, ...] = (None, 10, 4),
    also: Sequence[Named] = (),
    screen: float = SCREEN,
) -> Weighed:
    """What the oracle makes of a bench.

    Parameters
    ----------
    density : of the quadrature
    widths : how many of the likeliest cases get one slip more, from none to the most slips; None for all.
    also : names of cases to weigh besides, such as those that a ranking found; it then matters only whether
        their evidence is right, not whether they would have been thought of here
    screen : cases that by a rough integral lie further behind the best, in ln units, keep that one
    """
    columns = [_column(bench, o, dots) for o in observations]
    prior = prior_of((bench.part.family if bench.part else None) or "same core")
    covariance = np.linalg.inv(prior.precision)
    found: dict[Choice | Story, float] = {}
    cases: dict[Choice | Story, tuple[Named, Case]] = {}

    def evidence(keys: Sequence[Choice | Story], within: float) -> None:
        values = log_evidence(
            [cases[k][1] for k in keys], prior.mean, covariance, density, within, prior.against_dots
        )
        found.update(zip(keys, values.tolist(), strict=True))

    def add(more: dict[Choice | Story, tuple[Named, Case]]) -> None:
        fresh = [key for key in more if key not in cases]
        cases.update(more)
        if fresh:
            evidence(fresh, -1.0)

    none: Choice = (0,) * len(columns)
    add({none: _case(columns, none)})
    for slips, width in enumerate(widths):
        tried = [c for c in found if not isinstance(c, Story) and len(c) - c.count(0) == slips]
        likely = sorted(tried, key=lambda c: -found[c])[:width]
        add({c: _case(columns, c) for base in likely for c in _one_more(columns, base)})
    asked = {c: _case(columns, c) for name in also for c in _choices(columns, name)}
    add(asked)
    if all(column.has_intended for column in columns):
        add(dict(_told(columns, stories(tuple(observations), dots))))
    least = max(found.values()) - screen
    evidence([key for key, log in found.items() if log > least or key in asked], math.inf)
    return _merged(found, {key: name for key, (name, _) in cases.items()})


def _merged(found: dict[Choice | Story, float], names: dict[Choice | Story, Named]) -> Weighed:
    best = max(found.values())
    total: dict[Named, float] = {}
    for key, log in found.items():
        total[names[key]] = total.get(names[key], 0.0) + math.exp(log - best)
    order = sorted(total, key=lambda name: -total[name])
    p = np.array([total[name] for name in order])
    return Weighed(tuple(order), p / p.sum())


def _column(bench: Bench, o: Observation, dots: tuple[Terminal, ...]) -> Column:
    card = bench.cards[o.readings[0].meter or ""]
    assert card is not None
    here = o.wiring.canonical()
    predicted = tuple(p.shown for p in bench.predictions if p.wiring.canonical() == here)
    found = alternatives(Place(o, card, dots, predicted))
    return Column(o, tuple(a for a, _ in found), tuple(_term(o.value, a, spread) for a, spread in found))


def _term(value: float, a: Alternative, spread: Spread | None) -> Term:
    log_value = math.log(value) - a.exponent * math.log(10) - math.log(a.factor)
    if a.connection is Connection.LEADS:
        return _leads(log_value)
    if a.connection is None or spread is None:
        return Term(log_value, None, log_density=math.log(a.density or 0.0))
    return Term(log_value, a.connection, spread.gain, spread.rest, spread.range)


def _leads(log_value: float) -> Term:
    centre, width = LEADS
    density = -(((log_value - centre) / width) ** 2) / 2 - math.log(width * math.sqrt(2 * math.pi))
    return Term(log_value, None, log_density=density)


def _one_more(columns: Sequence[Column], base: Choice) -> Iterator[Choice]:
    """The choice with one more reading slipped."""
    for i, column in enumerate(columns):
        if base[i] == 0:
            for a in range(1, len(column.terms)):
                yield (*base[:i], a, *base[i + 1 :])


def _choices(columns: Sequence[Column], name: Named) -> Iterator[Choice]:
    """Every choice of alternatives that goes by a name."""
    yield from product(
        *(
            [a for a, each in enumerate(column.alternatives) if reading_of(each) == of]
            for column, of in zip(columns, name, strict=True)
        )
    )


def _case(columns: Sequence[Column], choice: Choice) -> tuple[Named, Case]:
    chosen = [column.alternatives[a] for column, a in zip(columns, choice, strict=True)]
    weight = sum(math.log(a.weight) for a in chosen)
    weight += lasting.log_weight([column.observation for column in columns], chosen)
    terms = tuple(column.terms[a] for column, a in zip(columns, choice, strict=True))
    return tuple(map(reading_of, chosen)), Case(terms, weight)


def _told(
    columns: Sequence[Column], told: Sequence[Story]
) -> Iterator[tuple[Choice | Story, tuple[Named, Case]]]:
    """What touches all readings at once, everything else as intended but for at most one `none of these`."""
    for story in told:
        terms = [
            _leads(column.terms[0].log_value)
            if connection is Connection.LEADS
            else replace(column.terms[0], connection=connection)
            for column, connection in zip(columns, story.connections, strict=True)
        ]
        name: list[Of] = [(connection, 0, "") for connection in story.connections]
        weight = math.log(story.weight)
        yield story, (tuple(name), Case(tuple(terms), weight))
        for i, column in enumerate(columns):
            (a,) = (n for n, each in enumerate(column.alternatives) if each.cause == "none of these")
            stray, strays = column.alternatives[a], [*terms[:i], column.terms[a], *terms[i + 1 :]]
            named = (*name[:i], reading_of(stray), *name[i + 1 :])
            key = replace(story, about=(*story.about, column.observation.id))
            yield key, (named, Case(tuple(strays), weight + math.log(stray.weight)))
