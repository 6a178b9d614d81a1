"""Causes that touch several readings at once: each says what every wiring was then really built as.

Add a cause: write a function from the readings' wirings and the dots to stories, and add it to `WHOLE`.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from labkit.analysis.causes.distance import connection_of
from labkit.analysis.observations import Observation
from labkit.theory.wiring import Connection, Terminal, Wiring


@dataclass(frozen=True)
class Story:
    """What happened to the whole session.

    Attributes
    ----------
    cause : key of `labkit.words.causes.CAUSE`
    connections : what each reading is then of
    weight : before the data, against 1 for "nothing of the kind"
    about : what the sentence needs: ids, ends
    """

    cause: str
    connections: tuple[Connection, ...]
    weight: float
    about: tuple[str, ...] = ()


_OTHER_NAME = (("SELF_1", "SELF_2"), ("SHORT_CIRCUIT_1", "SHORT_CIRCUIT_2"))
RENAMED = {Connection[one]: Connection[other] for pair in _OTHER_NAME for one, other in (pair, pair[::-1])}
"""What a connection is called after winding 1 and winding 2 exchange their names, if that changes it."""

WholeCause = Callable[[Sequence[Observation], tuple[Terminal, ...]], Iterator[Story]]


def dots_elsewhere(observations: Sequence[Observation], dots: tuple[Terminal, ...]) -> Iterator[Story]:
    """One dot is marked at the wrong end."""
    first, second = dots
    moved = (first, Terminal(second.winding, "ab"[second.end == "a"]))
    yield Story("dots", tuple(connection_of(o.wiring, moved) for o in observations), 0.02)


def rows_swapped(observations: Sequence[Observation], dots: tuple[Terminal, ...]) -> Iterator[Story]:
    """Two readings stand in each other's row.

    Not where that only exchanges the names of the windings, which no reading of any pair could show.
    """
    built = [connection_of(o.wiring, dots) for o in observations]
    renamed = [RENAMED.get(connection, connection) for connection in built]
    for i, j in combinations(range(len(observations)), 2):
        swapped = [*built]
        swapped[i], swapped[j] = built[j], built[i]
        about = (observations[i].id, observations[j].id)
        if swapped != renamed:
            yield Story("rows swapped", tuple(swapped), 0.003, about)


def leftover_link(observations: Sequence[Observation], dots: tuple[Terminal, ...]) -> Iterator[Story]:
    """A link from an earlier test was still on, in all readings from some reading on."""
    built = [connection_of(o.wiring, dots) for o in observations]
    for winding in (1, 2):
        tie = (Terminal(winding, "a"), Terminal(winding, "b"))
        for start in range(len(observations)):
            linked = [
                connection_of(Wiring(o.wiring.clips, (*o.wiring.ties, tie)), dots)
                for o in observations[start:]
            ]
            about = (f"{tie[0]}={tie[1]}", ", ".join(o.id for o in observations[start:]))
            yield Story("leftover link", (*built[:start], *linked), 0.003, about)


WHOLE: tuple[WholeCause, ...] = (dots_elsewhere, rows_swapped, leftover_link)


def stories(observations: Sequence[Observation], dots: tuple[Terminal, ...]) -> tuple[Story, ...]:
    """Every story that changes something and leaves every reading readable."""
    built = tuple(connection_of(o.wiring, dots) for o in observations)
    found: dict[tuple[Connection, ...], Story] = {}
    for cause in WHOLE:
        for story in cause(observations, dots):
            if story.connections != built and Connection.OPEN not in story.connections:
                found.setdefault(story.connections, story)
    return tuple(found.values())
