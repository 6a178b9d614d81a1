"""From readings to observations: what each wiring read, with the errors that its meter's card allows.

An observation is the mean of the repeats of one wiring at one frequency with one meter, its leads in one
state. Its input carries named error components (`labkit.record.card`); without a card there is a value and no
uncertainty, and the reason is kept. Nothing is dropped: every reading that is an inductance ends up in
exactly one observation.
"""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from labkit import quantity
from labkit.errors import CardError
from labkit.quantity import Quantity
from labkit.record.bench import Bench
from labkit.record.card import Card, Gain, Term
from labkit.record.state import Reading
from labkit.theory.circuit import series_from_parallel
from labkit.theory.network import identify
from labkit.theory.wiring import Connection, Terminal, Wiring
from labkit.uncertainty.components import Input, from_readings
from labkit.words import analysis as words


@dataclass(frozen=True)
class Observation:
    """What one wiring read.

    Attributes
    ----------
    readings : the repeats, at least one
    connection : what the wiring amounts to with the part's dots; None while it depends on unknown dots
    input : value in H with its error components, named after the first reading's id
    no_uncertainty : why none is stated; None if one is
    remarks : what a careful reader should know about this value
    """

    readings: tuple[Reading, ...]
    connection: Connection | None
    input: Input
    no_uncertainty: str | None = None
    remarks: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """Id of the first reading; it stands for all repeats."""
        return self.readings[0].id

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of all repeats."""
        return tuple(reading.id for reading in self.readings)

    @property
    def lines(self) -> tuple[int, ...]:
        """Record lines that the value rests on."""
        return tuple(line for reading in self.readings for line in reading.lines)

    @property
    def wiring(self) -> Wiring:
        """As entered with the first reading."""
        return self.readings[0].wiring

    @property
    def frequency(self) -> Quantity | None:
        """Test frequency as shown, None if not recorded."""
        return self.readings[0].frequency

    @property
    def value(self) -> float:
        """Series inductance in H, mean of the repeats."""
        return self.input.value

    @property
    def standard_uncertainty(self) -> float | None:
        """In H; None if none is stated."""
        return None if self.no_uncertainty else self.input.standard_uncertainty

    @property
    def text(self) -> str:
        """As shown if it is one reading as entered, else the value rounded to its uncertainty."""
        if len(self.readings) == 1 and self.value == self.readings[0].shown.value:
            return str(self.readings[0].shown)
        return quantity.display(self.value, self.standard_uncertainty)


def observe(
    bench: Bench, gain: Gain = "shared", dots: tuple[Terminal, ...] | None = None
) -> tuple[Observation, ...]:
    """Every inductance reading of a bench as observations, in the order they were first read.

    Parameters
    ----------
    bench : Bench
    gain : whether readings on one range of one meter share their gain error, or each has its own
    dots : to be assumed instead of the part's own
    """
    cards, windings = bench.cards, bench.windings
    dots = dots or bench.dots
    groups: dict[tuple[object, ...], list[Reading]] = {}
    for reading in bench.readings:
        if reading.shown.kind == "inductance":
            frequency = reading.frequency.exact if reading.frequency else None
            key = (reading.wiring.canonical(windings), frequency, reading.meter, reading.mode, reading.leads)
            groups.setdefault(key, []).append(reading)
    return tuple(
        observation(
            tuple(repeats),
            cards.get(repeats[0].meter or ""),
            gain,
            _connection(repeats[0].wiring, dots) if windings == 2 else None,
        )
        for repeats in groups.values()
    )


def _connection(wiring: Wiring, dots: tuple[Terminal, ...] | None) -> Connection | None:
    if dots is not None:
        return identify(wiring, dots)
    either = {identify(wiring, (Terminal(1, "a"), Terminal(2, end))) for end in "ab"}
    return either.pop() if len(either) == 1 else None


def observation(
    repeats: tuple[Reading, ...], card: Card | None, gain: Gain, connection: Connection | None
) -> Observation:
    """What some repeats of one wiring read, in one observation."""
    values, remarks = zip(*map(_series_value, repeats), strict=True)
    first, name, mean = repeats[0], repeats[0].id, statistics.fmean(values)
    scatter = from_readings(name, values).terms if len(values) > 1 else ()
    terms, reason = _card_terms(first, card, gain)
    scale = mean / first.shown.value if first.shown.value else 1.0
    systematic = tuple((component, width * abs(scale)) for component, width in terms)
    noted = [remark for each in remarks for remark in each]
    if mean <= 0:
        noted.append(words.NOT_POSITIVE)
    if any(reading.leads == "not zeroed" for reading in repeats):
        noted.append(words.LEADS_NOT_ZEROED)
    if card and not reason and (left_out := _left_out_digits(first, card)):
        noted.append(left_out)
    spread, limit = max(values) - min(values), sum(width for _, width in systematic)
    if not reason and spread > 2 * limit:
        noted.append(words.REPEATS_DISAGREE.format(spread=_in_henry(spread), limit=_in_henry(limit)))
    value = Input(name, mean, (*systematic, *scatter))
    return Observation(repeats, connection, value, reason, tuple(dict.fromkeys(noted)))


def _in_henry(value: float) -> str:
    return quantity.display(value, significant_digits=2)


def _series_value(reading: Reading) -> tuple[float, tuple[str, ...]]:
    """The series inductance in H, and what was done to get it."""
    if reading.mode is None:
        return reading.shown.value, (words.NO_MODE,)
    if reading.mode == "series":
        return reading.shown.value, ()
    D = reading.dissipation_factor
    if D is None:
        return reading.shown.value, (words.PARALLEL_UNCONVERTED,)
    return float(series_from_parallel(reading.shown.value, 1 / D if D else math.inf)), (
        words.CONVERTED.format(D=D),
    )


def _card_terms(reading: Reading, card: Card | None, gain: Gain) -> tuple[Sequence[Term], str | None]:
    if card is None:
        return (), words.OBSERVATIONS_NO_CARD.format(meter=reading.meter) if reading.meter else words.NO_METER
    try:
        return card.terms(
            reading.shown,
            reading.id,
            meter=reading.meter or "",
            frequency=reading.frequency,
            dissipation_factor=reading.dissipation_factor,
            gain=gain,
        ), None
    except CardError as error:
        return (), str(error).rstrip(".")


def _left_out_digits(reading: Reading, card: Card) -> str | None:
    digit = card.range_for(reading.shown, reading.frequency).count
    if reading.shown.last_digit <= digit * (1 + 1e-6):
        return None
    shown, expected = (quantity.display(x, significant_digits=1) for x in (reading.shown.last_digit, digit))
    return words.COARSER.format(shown=shown, digit=expected)
