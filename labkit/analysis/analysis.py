"""One analysis of one record: everything computed from it, each part once and only when asked for."""

from dataclasses import replace
from functools import cached_property

from labkit.analysis.causes.ranking import Ranking, may_be_ranked, rank
from labkit.analysis.compare import Closure, Comparison, closures, compare_all
from labkit.analysis.predict import Prediction, predictions
from labkit.analysis.routes import Coupling, Route, preferred
from labkit.analysis.set_ups import set_ups
from labkit.analysis.situation import Situation, situation, with_gain
from labkit.bench.bench import Bench
from labkit.errors import EntryError
from labkit.words import bench as words


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
        if self.shared.dots is None or self.bench.windings != 2:
            return None
        usable = [o for o in self.shared.pool().values() if may_be_ranked(self.bench, o)]
        if len(usable) < 3:
            return None
        apart = [each for o in usable for each in set_ups(self.bench, o)]
        return rank(self.bench, [o for o in apart if may_be_ranked(self.bench, o)], self.shared.dots)


def analyse(bench: Bench) -> Analysis:
    """The analysis of a bench as it stands now; computed anew only if the record has changed."""
    if not isinstance(bench, Bench):
        raise EntryError(words.NO_BENCH.format(given=type(bench).__name__), str(bench))
    kept = getattr(bench, "_analysis", None)
    if not isinstance(kept, Analysis) or kept.events != bench.events:
        kept = Analysis(bench)
        bench._analysis = kept  # type: ignore[attr-defined]
    return kept


def in_doubt(analysis: Analysis) -> bool:
    """Whether something in the record does not fit what was entered."""
    return analysis.ranking is not None and not analysis.ranking.first.as_intended
