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
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from labkit import quantity
from labkit.analysis.causes.distance import built_instead, connection_of
from labkit.analysis.observations import Observation
from labkit.bench.card import Card
from labkit.errors import CardError
from labkit.quantity import Quantity
from labkit.theory.wiring import Connection, Terminal

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
