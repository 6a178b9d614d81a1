"""Single mistakes that would explain readings without a card, each with the error that the meter needs then.

No odds are formed: without an accuracy there is no likelihood. A mistake counts as an explanation if it lets
one pair give all readings with a meter that is wrong by no more than the bound (`analysis.break_even`); those
with the fewest slips of a hand come first. While the dots are not marked, both placements are tried.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from labkit.analysis.break_even import (
    ANY,
    DOUBT,
    POSITIVE,
    Display,
    Range,
    displayed,
    least_error,
    pair_within,
)
from labkit.analysis.causes.hypotheses import (
    Alternative,
    Place,
    as_displayed,
    decimal_slips,
    other_wirings,
    prefix_slips,
    stories,
)
from labkit.analysis.causes.ranking import Deed, deed_told, story_told
from labkit.analysis.observations import Observation
from labkit.theory.wiring import Connection, Terminal

COARSE = (other_wirings, prefix_slips, decimal_slips)
RARER = 0.1
"""Weight against the first, up to which a mistake is only counted."""


@dataclass(frozen=True)
class Mistake:
    """One mistake, the error that the readings need under it, its weight, and where the dots are then."""

    clause: str
    error: float
    weight: float
    dots: tuple[Terminal, ...]
    observation: Observation | None = None
    connection: Connection | None = None


def sign_of(family: str | None) -> Range:
    """What M may be with the dots where they are: positive on one core, either in separate parts."""
    return ANY if family == "separate" else POSITIVE


def mistakes(
    placements: Sequence[tuple[tuple[Terminal, ...], tuple[Observation, ...]]],
    bound: float,
    M: Range,
    *,
    marked: bool,
) -> tuple[Mistake, ...]:
    """Every single mistake that explains the readings within the bound, the likeliest first.

    Parameters
    ----------
    placements : where the dots may be, with the observations as they are named then
    bound : largest error of the meter
    M : what the mutual inductance may be
    marked : whether the dots are marked on the part, so that a wrong mark is a mistake of its own
    """
    found: dict[str, Mistake] = {}
    for dots, observations in placements:
        for mistake, displays in (*_local(dots, observations), *_whole(dots, observations, marked)):
            if mistake.clause not in found and pair_within(displays, bound, M):
                error = least_error(displays, M)
                found[mistake.clause] = replace_error(mistake, error)
    return tuple(sorted(found.values(), key=lambda m: (m.error > DOUBT * bound, -m.weight, m.error)))


def replace_error(mistake: Mistake, error: float) -> Mistake:
    """The same mistake with its error."""
    return Mistake(
        mistake.clause, error, mistake.weight, mistake.dots, mistake.observation, mistake.connection
    )


def mirrored(one: Mistake, other: Mistake) -> bool:
    """Whether two mistakes are the same one, seen with the dots one way and the other."""
    return one.dots != other.dots and None is not one.connection is other.connection


def _local(
    dots: tuple[Terminal, ...], observations: tuple[Observation, ...]
) -> Iterator[tuple[Mistake, list[Display]]]:
    for i, o in enumerate(observations):
        others = [displayed(each) for each in (*observations[:i], *observations[i + 1 :])]
        for cause in COARSE:
            for a in cause(Place(o, None, dots)):
                if a.connection and _shown(o, a):
                    mistake = Mistake(deed_told(Deed(o, a)), 0.0, a.weight, dots, o, a.connection)
                    yield mistake, [*others, displayed(o, a.connection, a.exponent)]


def _shown(o: Observation, a: Alternative) -> bool:
    return as_displayed(o.readings[0].shown, a.exponent) is not None


def _whole(
    dots: tuple[Terminal, ...], observations: tuple[Observation, ...], marked: bool
) -> Iterator[tuple[Mistake, list[Display]]]:
    for story in stories(observations, dots):
        if marked or story.cause != "dots":
            pairs = zip(observations, story.connections, strict=True)
            yield Mistake(story_told(story), 0.0, story.weight, dots), [displayed(o, c) for o, c in pairs]
