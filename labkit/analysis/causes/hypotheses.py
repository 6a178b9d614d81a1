"""Causes that touch one reading: each yields what the reading would then be of.

An `Alternative` says: the display showed `connection` of the pair, and what was written down is that times
10^`exponent`. Weights before the data are in `WEIGHTS`; they are ours, rough on purpose, and a ranking
that does not survive tenfold changes of them is not stated.

Add a cause: write a function from a `Place` to alternatives, add it to `LOCAL`, its weight to `WEIGHTS`
and its sentence to `labkit.words.causes`.
"""

import math
import statistics
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from itertools import combinations, pairwise, product

import numpy as np
from numpy.typing import NDArray

from labkit import quantity
from labkit.analysis.observations import Observation
from labkit.errors import CardError
from labkit.quantity import Quantity
from labkit.record.card import Card
from labkit.theory.network import identify
from labkit.theory.wiring import Connection, Node, Terminal, Wiring, all_wirings

# How far a wiring is from the one that was meant, counted in slips of a hand.

Canonical = tuple[tuple[Node, ...], frozenset[Node]]


def slips(intended: Wiring, built: Wiring) -> int:
    """Fewest slips that turn one wiring of two windings into another.

    A slip is a clip put elsewhere, a tie left out or added, or one winding connected the wrong way round.

    >>> slips(Wiring.parse("1a 2b | 1b=2a"), Wiring.parse("1a 2a | 1b=2b"))
    1
    """
    return _slips(intended.canonical(), built.canonical())


@cache
def _slips(intended: Wiring, built: Wiring) -> int:
    turned = product((False, True), repeat=2)
    return min(sum(turn) + _moves(_turn(intended, turn), built) for turn in turned)


def _turn(wiring: Wiring, turn: tuple[bool, ...]) -> Wiring:
    """The wiring with the ends of some windings exchanged."""

    def other(t: Terminal) -> Terminal:
        return Terminal(t.winding, "ab"[t.end == "a"]) if turn[t.winding - 1] else t

    first, second = map(other, wiring.clips)
    return Wiring((first, second), tuple(tuple(map(other, tie)) for tie in wiring.ties))


def _moves(one: Wiring, other: Wiring) -> int:
    nodes, more = set(one.nodes()), set(other.nodes())
    common = {a & b for a in nodes for b in more} - {frozenset()}
    ties = 2 * len(common) - len(nodes) - len(more)
    first, second = other.clip_nodes()
    clips = min(
        sum(clip not in node for clip, node in zip(one.clips, order, strict=True))
        for order in ((first, second), (second, first))
    )
    return ties + clips


connection_of = cache(identify)  # the same few wirings are asked for again and again


@cache
def built_instead(intended: Wiring) -> tuple[tuple[Wiring, int], ...]:
    """Every other wiring of two windings with its distance in slips, the nearest first."""
    here = intended.canonical()
    found = [(wiring, slips(here, wiring)) for wiring in all_wirings() if wiring != here]
    return tuple(sorted(found, key=lambda pair: (pair[1], pair[0].notation)))


WEIGHTS = {
    "other wiring": 0.02,  # for each slip of a hand
    "leads": 0.005,
    "prefix": 0.01,
    "decimal mark": 0.005,
    "resistance typed": 0.005,
    "parallel mode": 0.02,
    "prediction copied": 0.002,
    "none of these": 0.002,
}
"""Probability of each cause in one reading, before any data."""

WIDE = math.log(1e10)
"""Width of `none of these`: evenly spread in ln y from 1 nH to 10 H. By hand: its density in ln y is 1/23."""


@dataclass(frozen=True)
class Place:
    """A reading with all that its causes need to know: its card, the dots, the predictions for its wiring.

    Without a card there are alternatives, but no spread of any.
    """

    observation: Observation
    card: Card | None
    dots: tuple[Terminal, ...]
    predicted: tuple[Quantity, ...] = ()


@dataclass(frozen=True)
class Alternative:
    """What a reading may be of.

    Attributes
    ----------
    cause : key of `labkit.words.causes.CAUSE`
    connection : of the pair; None for `none of these`
    exponent : what was written down is the display times 10^exponent
    weight : before the data, not normalised
    density : in ln y, where it does not follow from a connection; None otherwise
    factor : what was written down is the display times this, beside the exponent
    """

    cause: str
    connection: Connection | None
    exponent: int = 0
    weight: float = 1.0
    density: float | None = None
    factor: float = 1.0

    @property
    def what(self) -> tuple[str, str, int]:
        """What tells alternatives apart for a person."""
        return self.cause, self.connection or "", self.exponent


@dataclass(frozen=True)
class Spread:
    """Relative standard uncertainties of a display: the gain shared on a range, and the rest."""

    range: str
    gain: float
    rest: float


LocalCause = Callable[[Place], Iterator[Alternative]]


def as_intended(place: Place) -> Iterator[Alternative]:
    """The wiring was built as entered and the display written down as shown."""
    yield Alternative("as intended", place.observation.connection)


def other_wirings(place: Place) -> Iterator[Alternative]:
    """Every wiring that a few slips make of the intended one, grouped by what it reads."""
    weights: dict[Connection, float] = defaultdict(float)
    for wiring, distance in built_instead(place.observation.wiring.canonical()):
        weights[connection_of(wiring, place.dots)] += WEIGHTS["other wiring"] ** distance
    weights[Connection.LEADS] = WEIGHTS["leads"]
    for connection, weight in weights.items():
        if connection not in (Connection.OPEN, place.observation.connection):
            yield Alternative("other wiring", connection, weight=weight)


def prefix_slips(place: Place) -> Iterator[Alternative]:
    """A prefix off by one or two steps; a comma taken as standing between thousands is the same."""
    for exponent, share in ((3, 1.0), (-3, 1.0), (6, 0.1), (-6, 0.1)):
        yield Alternative("prefix", place.observation.connection, exponent, WEIGHTS["prefix"] * share)


def decimal_slips(place: Place) -> Iterator[Alternative]:
    """The decimal mark one place too far to the left or right."""
    for exponent in (1, -1):
        yield Alternative("decimal mark", place.observation.connection, exponent, WEIGHTS["decimal mark"])


def resistance_typed(place: Place) -> Iterator[Alternative]:
    """The digits are those of the second display, which shows a resistance."""
    for reading in place.observation.readings:
        if (
            reading.second
            and reading.second.kind == "resistance"
            and _same_digits(reading.second, reading.shown)
        ):
            weight = WEIGHTS["resistance typed"]
            yield Alternative("resistance typed", None, weight=weight, density=_spike(reading.shown))


def parallel_mode(place: Place) -> Iterator[Alternative]:
    """The meter showed the parallel equivalent, larger by 1 + 1/Q² = 1 + D²."""
    D = place.observation.readings[0].dissipation_factor
    if D and place.observation.readings[0].mode is None:
        weight = WEIGHTS["parallel mode"]
        yield Alternative("parallel mode", place.observation.connection, weight=weight, factor=1 + D * D)


def prediction_copied(place: Place) -> Iterator[Alternative]:
    """All digits are those of a prediction that was committed for this wiring."""
    for predicted in place.predicted:
        if any(
            _same_digits(predicted, r.shown) and predicted.unit == r.shown.unit
            for r in place.observation.readings
        ):
            shown = place.observation.readings[0].shown
            yield Alternative(
                "prediction copied", None, weight=WEIGHTS["prediction copied"], density=_spike(shown)
            )


def none_of_these(place: Place) -> Iterator[Alternative]:  # noqa: ARG001 - it knows nothing
    """Whatever else: any inductance is as likely as any other."""
    yield Alternative("none of these", None, weight=WEIGHTS["none of these"], density=1 / WIDE)


LOCAL: tuple[LocalCause, ...] = (
    as_intended,
    other_wirings,
    prefix_slips,
    decimal_slips,
    resistance_typed,
    parallel_mode,
    prediction_copied,
    none_of_these,
)


def alternatives(place: Place) -> tuple[tuple[Alternative, Spread | None], ...]:
    """Everything a reading may be of, with the display's uncertainty, but what the meter cannot show."""
    found: list[tuple[Alternative, Spread | None]] = []
    for cause in LOCAL:
        for alternative in cause(place):
            spread = None if alternative.density is not None else _spread(place, alternative.exponent)
            if spread or alternative.density is not None:
                found.append((alternative, spread))
    return tuple(found)


def as_displayed(shown: Quantity, exponent: int) -> Quantity | None:
    """What a display showed if it was written down times 10^exponent; None if no unit has that prefix.

    A slip of three places or six is one of the prefix, any other one of the decimal mark.

    >>> from labkit import quantity
    >>> print(as_displayed(quantity.parse("31.2 mH"), 3), as_displayed(quantity.parse("68.03 mH"), 1))
    31.2 µH 6.803 mH
    """
    exact = shown.exact.scaleb(-exponent)
    if exponent % 3:
        in_unit = Decimal(shown.digits).scaleb(-exponent)
        return replace(shown, exact=exact, digits=f"{in_unit:f}")
    units = quantity.accepted_units(shown.kind)
    place = units.index(shown.unit) - exponent // 3
    return replace(shown, exact=exact, unit=units[place]) if 0 <= place < len(units) else None


def _spread(place: Place, exponent: int) -> Spread | None:
    """Relative uncertainties of what the display showed; None if the meter has no range for it."""
    first = place.observation.readings[0]
    display = as_displayed(first.shown, exponent)
    if display is None or place.card is None:
        return None
    try:
        terms = place.card.terms(
            display,
            first.id,
            meter=first.meter or "",
            frequency=first.frequency,
            dissipation_factor=first.dissipation_factor,
        )
        on = place.card.range_for(display, first.frequency)
    except CardError:
        return None
    if display.value == 0 or (exponent and on.count > display.last_digit * (1 + 1e-6)):
        return None  # a slip away from what was typed would need digits that the range does not have
    u = {c.label: c.standard_uncertainty * width / abs(display.value) for c, width in terms}
    gain = u.pop("gain", 0.0)
    return Spread(f"{first.meter} {on.name}", gain, math.hypot(*u.values(), _scatter(place.observation)))


def _scatter(observation: Observation) -> float:
    """Relative standard uncertainty of the mean of the repeats."""
    values = [reading.shown.value for reading in observation.readings]
    if len(values) < 2:
        return 0.0
    return statistics.stdev(values) / math.sqrt(len(values)) / abs(observation.value)


def _same_digits(one: Quantity, other: Quantity) -> bool:
    return _bare(one.exact) == _bare(other.exact) and len(_bare(one.exact)) > 1


def _bare(value: Decimal) -> tuple[int, ...]:
    """Significant digits without the sign, leading zeros and the place of the mark."""
    digits = value.as_tuple().digits
    first = next((i for i, digit in enumerate(digits) if digit), len(digits))
    return digits[first:]


def _spike(shown: Quantity) -> float:
    """Density in ln y of a value that is known to all its digits."""
    return abs(shown.value) / shown.last_digit


# Causes that touch several readings at once: each says what every wiring was then really built as.
#
# Add a cause: write a function from the readings' wirings and the dots to stories, and add it to `WHOLE`.


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


# What lasts from one reading to the next: an open clamp stays open until somebody moves it.
#
# Slips are weighed reading by reading, as if each wiring were built anew. Side by side that is not so: for
# the second of the two readings one winding is turned round and the clamps are left as they are.

PARALLEL = (Connection.PARALLEL_AIDING, Connection.PARALLEL_OPPOSING)
SINGLE = (Connection.SELF_1, Connection.SELF_2)

MENDED = 0.002
"""Probability that an open clamp was closed again between two readings and nobody noticed."""


def left_in_circuit(observation: Observation, alternative: Alternative) -> Connection | None:
    """The one winding that an open clamp left in circuit; None if it is no such case."""
    one_only = alternative.cause == "other wiring" and alternative.connection in SINGLE
    return alternative.connection if one_only and observation.connection in PARALLEL else None


def log_weights(
    observations: Sequence[Observation],
    may_be: Sequence[Sequence[tuple[Alternative, object]]],
    choice: NDArray[np.int64],
) -> NDArray[np.float64]:
    """`log_weight` of many combinations, of which `choice` (K, n) says the alternative of each reading."""
    concerned = [i for i, o in enumerate(observations) if o.connection in PARALLEL]
    if len(concerned) < 2:
        return np.zeros(len(choice))
    side_by_side = [observations[i] for i in concerned]
    kinds, of = np.unique(choice[:, concerned], axis=0, return_inverse=True)
    chosen = [[may_be[i][a][0] for i, a in zip(concerned, kind, strict=True)] for kind in kinds.tolist()]
    return np.array([log_weight(side_by_side, each) for each in chosen])[of.reshape(-1)]


def most(observations: Sequence[Observation]) -> float:
    """The most that `log_weight` can be."""
    count = sum(o.connection in PARALLEL for o in observations)
    return -math.log(WEIGHTS["other wiring"]) * max(count - 1, 0)


def log_weight(observations: Sequence[Observation], chosen: Sequence[Alternative]) -> float:
    """What lasting clamps add to ln of a combination's weight, in the order of the record."""
    side_by_side = [
        (o, a)
        for o, a in sorted(zip(observations, chosen, strict=True), key=lambda each: each[0].lines)
        if o.connection in PARALLEL and a.connection is not None
    ]
    return sum(
        _step(left_in_circuit(*before), left_in_circuit(*after), after[1])
        for before, after in pairwise(side_by_side)
    )


def _step(before: Connection | None, after: Connection | None, now: Alternative) -> float:
    if before is None:
        return 0.0
    return -math.log(now.weight) if after is before else math.log(MENDED)
