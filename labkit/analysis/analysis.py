"""One analysis of one record: everything computed from it, each part once and only when asked for."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property

from labkit.analysis.break_even import DOUBT, Pair, Range, displayed, least_error, pair_within
from labkit.analysis.causes.coarse import Mistake, mistakes, sign_of
from labkit.analysis.causes.ranking import Ranking, may_be_ranked, rank
from labkit.analysis.compare import Closure, Comparison, closures, compare_all
from labkit.analysis.observations import Observation, observation, observe
from labkit.analysis.predict import Prediction, predictions
from labkit.analysis.routes import PLACEMENTS, Coupling, Route, Situation, preferred, situation, with_gain
from labkit.errors import EntryError
from labkit.record.bench import Bench
from labkit.record.state import Reading
from labkit.theory.wiring import Terminal
from labkit.uncertainty.components import Component, Input

# Readings of one wiring, told apart by whether it was set up anew in between.
#
# Repeats in a row are one set-up: they average the scatter, and a mistake in the wiring is in all of them.
# A wiring read again after another one was set up anew: what happened to the first reading need not have
# happened to the second, so for the question what happened each counts on its own. So do repeats in a row
# of which one is twice another or more: that is no scatter.

NO_SCATTER = 2.0
"""Ratio between repeats from which on they are not of one thing."""


def set_ups(bench: Bench, o: Observation) -> tuple[Observation, ...]:
    """An observation as one for each time its wiring was set up, in the order of the record.

    The digit part of the meter's card is the same error in all of them.
    """
    runs = [list(some) for run in _runs(bench.readings, o) for some in _alike(run)]
    if len(runs) == 1:
        return (o,)
    card = bench.cards.get(o.readings[0].meter or "")
    found = [observation(tuple(run), card, "shared", o.connection) for run in runs]
    digits = [source for source, _ in found[0].input.terms if source.label == "digits"]
    return tuple(replace(each, input=_with(each.input, digits)) for each in found)


def _runs(readings: Sequence[Reading], o: Observation) -> Iterator[list[Reading]]:
    """Readings of the observation with no other reading in between."""
    run: list[Reading] = []
    for reading in readings:
        if reading.id in o.ids:
            run.append(reading)
        elif run:
            yield run
            run = []
    if run:
        yield run


def _alike(run: list[Reading]) -> Iterator[list[Reading]]:
    values = [reading.shown.value for reading in run]
    if min(values) > 0 and max(values) < NO_SCATTER * min(values):
        yield run
    else:
        yield from ([reading] for reading in run)


def _with(value: Input, digits: Sequence[Component]) -> Input:
    """The same input with the digit errors of another."""
    terms = (
        (digits[0] if source.label == "digits" and digits else source, weight)
        for source, weight in value.terms
    )
    return replace(value, terms=tuple(terms))


class Analysis:
    """Everything that follows from a bench's record; get it from `analyse`, which keeps the latest."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.events = bench.events

    @cached_property
    def shared(self) -> Situation:
        """The observations with one gain error for all readings on a range."""
        return replace(self._shared, own_gain=self.independent)

    @cached_property
    def _shared(self) -> Situation:
        return situation(self.bench)

    @cached_property
    def independent(self) -> Situation:
        """The observations with a gain error of its own in each reading."""
        return with_gain(self.bench, "independent", self._shared)

    @cached_property
    def couplings(self) -> dict[Route, Coupling | str]:
        """M, k and leakages by every route at the main frequency, with the wider uncertainty of both."""
        return self.shared.couplings()

    @cached_property
    def believed(self) -> Coupling | None:
        """The preferred route, None if the readings allow none."""
        return preferred(self.couplings)

    @cached_property
    def within_bound(self) -> Pair | None:
        """Every quantity as far as the readings fix it without a card; None if they contradict each other."""
        return pair_within(self.shared.displays, self.shared.bound)

    @cached_property
    def contradiction(self) -> float:
        """Without a card: how wrong the meter must be for all readings to be of one pair as entered.

        While the dots are not marked that is under the kinder of their two placements.
        """
        return min(least_error(map(displayed, each), self._sign) for _, each in self.placements)

    @cached_property
    def mistakes(self) -> tuple[Mistake, ...]:
        """Without a card: the single mistakes that would explain readings which ask for one."""
        bound = self.shared.bound
        if self.contradiction <= DOUBT * bound:
            return ()
        return mistakes(self.placements, bound, self._sign, marked=bool(self.bench.dots))

    @property
    def _sign(self) -> Range:
        return sign_of(self.bench.part.family if self.bench.part else None)

    @cached_property
    def placements(self) -> tuple[tuple[tuple[Terminal, ...], tuple[Observation, ...]], ...]:
        """Where the dots may be, and the observations at the main frequency as they are named then."""
        if self.bench.windings != 2:
            return ()
        placements = (self.bench.dots,) if self.bench.dots else PLACEMENTS
        each = (replace(self.shared, observations=observe(self.bench, dots=dots)) for dots in placements)
        return tuple((dots, tuple(here.pool().values())) for dots, here in zip(placements, each, strict=True))

    @cached_property
    def predictions(self) -> tuple[Prediction, ...]:
        """What each connection should read."""
        if self.bench.windings != 2:
            return ()
        return predictions(self.shared, self.believed, self.bench.predictions)

    @cached_property
    def comparisons(self) -> tuple[Comparison, ...]:
        """Every reading against every statement."""
        return compare_all(self.shared, self.independent)

    @cached_property
    def closures(self) -> tuple[Closure, ...]:
        """The closures that the readings allow."""
        return closures(self.shared, self.independent)

    @cached_property
    def ranking(self) -> Ranking | None:
        """What may have happened, ranked; None while there are too few readings with an uncertainty."""
        if self.bench.windings != 2:
            return None
        dots, or_dots = (self.bench.dots, None) if self.bench.dots else PLACEMENTS
        if self.shared.dots and or_dots and self.shared.dots != dots:
            dots, or_dots = or_dots, dots
        named = replace(self.shared, observations=observe(self.bench, dots=dots))
        usable = [o for o in named.pool().values() if may_be_ranked(self.bench, o)]
        if len(usable) < 3:
            return None
        apart = [each for o in usable for each in set_ups(self.bench, o)]
        ranked = [o for o in apart if may_be_ranked(self.bench, o)]
        found = rank(self.bench, ranked, dots)
        if self.shared.dots and (self.bench.dots or found.first.as_intended):
            return found
        found = rank(self.bench, ranked, dots, or_dots=or_dots)
        return found if self.shared.dots or not found.first.as_intended else None


def analyse(bench: Bench) -> Analysis:
    """The analysis of a bench as it stands now; computed anew only if the record has changed."""
    if not isinstance(bench, Bench):
        raise EntryError(
            f"A {type(bench).__name__} was given where a bench is expected; open one with "
            "labkit.open_bench(folder) and give that.",
            str(bench),
        )
    kept = getattr(bench, "_analysis", None)
    if not isinstance(kept, Analysis) or kept.events != bench.events:
        kept = Analysis(bench)
        bench._analysis = kept  # type: ignore[attr-defined]
    return kept


def in_doubt(analysis: Analysis) -> bool:
    """Whether something in the record does not fit what was entered."""
    if without_card(analysis):
        return analysis.contradiction > analysis.shared.bound
    return analysis.ranking is not None and not analysis.ranking.first.as_intended


def without_card(analysis: Analysis) -> bool:
    """Whether only break-even can say if the readings fit together: too few of them have an uncertainty."""
    if analysis.ranking is not None or analysis.bench.windings != 2:
        return False
    return any(o.no_uncertainty for o in analysis.shared.observations)
