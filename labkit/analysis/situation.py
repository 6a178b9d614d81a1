"""The readings sorted for comparison: which belong together, and what the dots are taken to be."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from labkit.analysis.break_even import (
    BOUND,
    NOT_POSITIVE,
    POSITIVE,
    Display,
    bound_of,
    displayed,
    least_error,
)
from labkit.analysis.observations import Observation, observe
from labkit.analysis.routes import Coupling, Route, couplings, preferred, wider
from labkit.bench.bench import Bench
from labkit.bench.card import Gain
from labkit.quantity import Quantity
from labkit.theory.wiring import Connection, Terminal

Pool = Mapping[Connection, Observation]
ALIKE = (Terminal(1, "a"), Terminal(2, "a"))
_UNLIKE = (Terminal(1, "a"), Terminal(2, "b"))
PLACEMENTS = (ALIKE, _UNLIKE)


def _value(frequency: Quantity | None) -> float | None:
    return frequency.value if frequency else None


@dataclass(frozen=True)
class Situation:
    """All observations of a bench under one assumption about the gain.

    Attributes
    ----------
    observations : every one, in order
    dots : as marked on the part, or as the readings decide; None if neither says
    dots_decided : whether the readings decided
    own_gain : the same with a gain error of its own in each reading, where both are to be believed
    bound : error of a meter without a card beyond which a conclusion is drawn
    polarity_error : without a card, how wrong every reading would have to be for M to have the other sign;
        None if uncertainties decide, 1 if neither sign fits
    windings : of the part
    """

    observations: tuple[Observation, ...]
    dots: tuple[Terminal, ...] | None
    dots_decided: bool = False
    own_gain: "Situation | None" = None
    bound: float = BOUND
    polarity_error: float | None = None
    windings: int = 2

    @property
    def main_frequency(self) -> Quantity | None:
        """The frequency at which most connections were read; None if none was recorded."""
        shown = [o.frequency for o in self.observations if o.frequency and o.connection]
        most = Counter(frequency.value for frequency in shown).most_common(1)
        return next(f for f in shown if f.value == most[0][0]) if most else None

    def pool(self, observation: Observation | None = None) -> dict[Connection, Observation]:
        """What can be used together with an observation: one of each connection at its frequency.

        It is the first that has an uncertainty, failing that the first. A reading without a recorded
        frequency is taken to belong to the main frequency, and nothing is worked out from one that is zero or
        negative; both are said in its remarks.
        """
        main = self.main_frequency
        at = (observation.frequency if observation else None) or main
        pool: dict[Connection, Observation] = {}
        for o in sorted(self.observations, key=lambda o: o.no_uncertainty is not None):
            if o.connection and o.value > 0 and _value(o.frequency or main) == _value(at):
                pool.setdefault(o.connection, o)
        return pool

    @property
    def displays(self) -> tuple[Display, ...]:
        """What the displays of the main pool showed, for conclusions without a card."""
        return tuple(displayed(o) for o in self.pool().values())

    def couplings(self, observation: Observation | None = None) -> dict[Route, Coupling | str]:
        """Every route at an observation's frequency, or at the main one.

        Uncertainties are the wider ones of both assumptions about the gain, if `own_gain` is given.
        """
        found = couplings(self.pool(observation))
        if self.own_gain is None:
            return found
        own = self.own_gain.couplings(observation)
        return {route: wider(each, own[route]) for route, each in found.items()}


def situation(bench: Bench) -> Situation:
    """Observations of a bench with shared gain; where the dots are not known, the readings are asked."""
    bound = bound_of(bench)
    if bench.windings != 2 or bench.dots:
        return Situation(observe(bench), bench.dots, bound=bound, windings=bench.windings)
    alike = Situation(observe(bench, dots=ALIKE), ALIKE, dots_decided=True, bound=bound)
    believed = preferred(alike.couplings(), signed=True)
    if believed and believed.stated:
        M = believed.mutual_inductance
        sign = (M.value > 2 * M.standard_uncertainty) - (M.value < -2 * M.standard_uncertainty)
    else:
        sign, error = polarity(alike.displays, bound)
        alike = replace(alike, polarity_error=error)
    if sign > 0:
        return alike
    dots = _UNLIKE if sign else None
    return replace(alike, observations=observe(bench, dots=dots), dots=dots, dots_decided=bool(sign))


def polarity(displays: Iterable[Display], bound: float) -> tuple[int, float]:
    """Sign of M as any meter within the bound tells it, and how wrong it would have to be for the other.

    The sign is 0 where the readings do not tell it, or where neither sign fits them within the bound.
    """
    displays = tuple(displays)
    positive, negative = (least_error(displays, M) for M in (POSITIVE, NOT_POSITIVE))
    if min(positive, negative) > bound:
        return 0, 1.0
    sign = (negative > bound) - (positive > bound)
    return sign, max(positive, negative)


def with_gain(bench: Bench, gain: Gain, like: Situation) -> Situation:
    """The same situation under another assumption about the gain."""
    return replace(like, observations=observe(bench, gain, like.dots))
