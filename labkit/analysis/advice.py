"""What to measure next: for each further wiring, what it would show under each explanation still open.

For a question about causes a reading is worth what it tells apart: under every explanation it should show a
value with a spread (of the pair and of the meter), and two explanations are told apart as far as their
distributions of it do not overlap. For a question about a quantity it is worth how far it narrows it, to
first order.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from labkit import quantity
from labkit.analysis.causes import hypotheses as lasting
from labkit.analysis.causes.hypotheses import connection_of
from labkit.analysis.causes.likelihood import CONNECTIONS, INDEX, log_forms
from labkit.analysis.causes.ranking import Explanation, Ranking, told
from labkit.analysis.joint_fit import QUANTITIES, Fit, fit, pair_at, require_known
from labkit.analysis.observations import Observation
from labkit.arrays import Floats
from labkit.errors import EntryError
from labkit.quantity import Quantity
from labkit.record.card import Card
from labkit.record.state import Reading
from labkit.show import Part, Shown, Table, Text
from labkit.theory.pair import STABLE_FORMS, Pair
from labkit.theory.wiring import Connection, Terminal, Wiring, parse_dots, standard_wiring
from labkit.uncertainty.components import Input
from labkit.uncertainty.propagate import Estimate, first_order
from labkit.words import analysis as words
from labkit.words import labels

APART = 0.1
"""Overlap up to which a reading tells two explanations apart: equal spreads are then 4.3 of them apart."""

WIDE = 0.1
"""Spread in ln L from which on no value is foretold."""

WORTHWHILE = 0.05
"""Part of what is still open that a reading must tell apart to be advised."""


@dataclass(frozen=True)
class NextReading(Shown):
    """A wiring to read, and what it would say.

    Attributes
    ----------
    wiring, connection : what to build, and what it is if built and marked as entered
    expected : inductance in H under each explanation, in the ranking's order
    told_apart : part of the probability now unseparated from the first that it would separate, 0 to 1
    sentence : for a person
    """

    wiring: Wiring
    connection: Connection
    expected: tuple[float, ...]
    told_apart: float
    sentence: str

    def parts(self) -> tuple[Part, ...]:
        return (Text(self.sentence),)


def next_for_cause(
    ranking: Ranking, card: Card, dots: tuple[Terminal, ...], frequency: Quantity | None
) -> NextReading | str:
    """The wiring whose reading tells most of the open explanations apart, or the sentence that none does."""
    still_open = ranking.unseparated
    if len(still_open) == 1:
        return words.ALL_TOLD
    read = {o.connection for o in ranking.observations}
    options = [_try(c, still_open, card, dots, frequency) for c in CONNECTIONS if c not in read]
    worth = [option for option in options if option.told_apart > WORTHWHILE]
    return max(worth, key=lambda each: (each.told_apart, -INDEX[each.connection]), default=_again(ranking))


def _again(ranking: Ranking) -> str:
    """What to do where no further wiring helps: the doubtful readings once more, if there are any."""
    doubted = [deed.observation for deed in ranking.first.deeds]
    if not doubted:
        return words.NO_WAY
    sound = {o.connection: o.lines for o in ranking.observations if o not in doubted}
    since = all(sound.get(o.connection, ()) > o.lines for o in doubted)
    return (words.READ_SINCE if since else words.AGAIN).format(ids=", ".join(o.id for o in doubted))


def _try(
    connection: Connection,
    still_open: Sequence[Explanation],
    card: Card,
    dots: tuple[Terminal, ...],
    frequency: Quantity | None,
) -> NextReading:
    wiring = standard_wiring(connection, dots)
    assert wiring is not None  # none of the eight is an open circuit
    really = [_really(wiring, e, dots) for e in still_open]
    forms = [INDEX[c] for c in really]
    values, slopes = log_forms(np.array([e.pair for e in still_open]))
    rows = np.arange(len(still_open))
    mean, J = values[rows, forms], slopes[rows, forms]
    covariance = np.array([e.covariance for e in still_open])
    meter = np.array(
        [_meter_spread(c, x, card, dots, frequency) for c, x in zip(really, np.exp(mean), strict=True)]
    )
    spread = np.sqrt(np.einsum("kp,kpq,kq->k", J, covariance, J) + meter**2)
    overlap = overlap_with_first(mean, spread)
    probability = np.array([e.probability for e in still_open])
    apart = overlap < APART
    share = float((probability * (1 - overlap))[apart].sum() / probability[1:].sum())
    expected = tuple(np.exp(mean).tolist())
    foretold = [None if s > WIDE else x for s, x in zip(spread, expected, strict=True)]
    sentence = _sentence(wiring, connection, still_open, foretold, apart)
    return NextReading(wiring, connection, expected, share, sentence)


def overlap_with_first(mean: Floats, spread: Floats) -> Floats:
    """Bhattacharyya coefficient of each normal distribution with the first one, shape (n,), 1 if the same.

    Where a spread is infinite nothing is known to be told apart. Source: A. Bhattacharyya, Bull. Calcutta
    Math. Soc. 35 (1943), 99; for two normal distributions in closed form.

    >>> overlap_with_first(np.array([0.0, 0.0, 9.0]), np.array([1.0, 1.0, 1.0])).round(3).tolist()
    [1.0, 1.0, 0.0]
    """
    sum_ = np.where(np.isfinite(spread + spread[0]), spread**2 + spread[0] ** 2, np.inf)
    known = np.isfinite(sum_)
    width = np.where(known, sum_, 1.0)
    product = np.where(known, spread * spread[0], 0.5)
    return np.where(known, np.sqrt(2 * product / width) * np.exp(-((mean - mean[0]) ** 2) / (4 * width)), 1.0)


def _meter_spread(
    connection: Connection, value: float, card: Card, dots: tuple[Terminal, ...], frequency: Quantity | None
) -> float:
    """Relative standard uncertainty of the meter at a value; infinite where it cannot show it."""
    seen = ideal_observation(connection, value, card, dots, frequency)
    return seen.input.standard_uncertainty / value if seen else math.inf


def _really(wiring: Wiring, explanation: Explanation, dots: tuple[Terminal, ...]) -> Connection:
    """What the wiring is under an explanation.

    The marked dots may be wrong, and a clamp that was open side by side is still open if the clamps are left
    as they are and one winding is turned round; all other slips are past.
    """
    dots = explanation.dots or dots
    meant = connection_of(wiring, dots)
    for deed in explanation.deeds:
        left = lasting.left_in_circuit(deed.observation, deed.alternative)
        if left and meant in lasting.PARALLEL:
            return left
    if explanation.story and explanation.story.cause == "dots":
        first, second = dots
        dots = (first, Terminal(second.winding, "ab"[second.end == "a"]))
    return connection_of(wiring, dots)


def _sentence(
    wiring: Wiring,
    connection: Connection,
    still_open: Sequence[Explanation],
    foretold: Sequence[float | None],
    apart: NDArray[np.bool_],
) -> str:
    likeliest = next((i for i in range(len(still_open)) if apart[i]), 0)
    chosen = tuple(dict.fromkeys((0, likeliest)))
    values = _told_apart([foretold[i] for i in chosen])
    clauses = _where_they_differ([still_open[i] for i in chosen])
    cases = [words.CASE.format(value=v, what=what) for v, what in zip(values, clauses, strict=True)]
    return words.READ_CAUSE.format(
        spoken=wiring.spoken, name=labels.CONNECTION[connection], cases=words.CASES.join(cases)
    )


def _told_apart(values: Sequence[float | None]) -> list[str]:
    """Inductances in H with as many digits as it takes to see them differ; None is what nobody foretells."""
    known = [value for value in values if value is not None]
    digits = 4 if len(known) > 1 and max(known) < 1.5 * min(known) else 2
    shown = [words.UNFORETOLD if v is None else _about(v, digits) for v in values]
    return [words.SOMETHING_ELSE if v is None and i and known else shown[i] for i, v in enumerate(values)]


def _about(value: float, digits: int) -> str:
    return words.ABOUT.format(value=quantity.display(value, significant_digits=digits))


def _where_they_differ(explanations: Sequence[Explanation]) -> list[str]:
    """Each as a clause, without what all of them have in common."""
    common = [d for d in explanations[0].deeds if all(d in e.deeds for e in explanations)]
    if not common:
        return [told(e) for e in explanations]
    rest = [replace(e, deeds=tuple(d for d in e.deeds if d not in common)) for e in explanations]
    return [words.NOTHING_ELSE if e.as_intended else told(e) for e in rest]


@dataclass(frozen=True)
class Narrowing(Shown):
    """What one more reading would do for a quantity: its standard uncertainty now and then, in SI units."""

    wiring: Wiring
    connection: Connection
    now: float
    then: float
    sentence: str

    def parts(self) -> tuple[Part, ...]:
        return (Text(self.sentence),)


def next_for_quantity(
    observations: Sequence[Observation],
    name: str,
    card: Card,
    dots: tuple[Terminal, ...],
    frequency: Quantity | None,
) -> Narrowing | str:
    """The wiring whose reading would narrow a quantity most, or the sentence that none narrows it by a tenth.

    Parameters
    ----------
    observations : the readings so far
    name : key of `labkit.analysis.joint_fit.QUANTITIES`

    Raises
    ------
    MissingReading
        if the readings so far do not identify the pair.
    """
    so_far = fit(observations)
    now = uncertainty_of(so_far, name)
    pair = pair_at(*(p.value for p in so_far.parameters))
    found = []
    for connection in CONNECTIONS:
        further = ideal_observation(connection, float(STABLE_FORMS[connection](*pair)), card, dots, frequency)
        if further:
            then = uncertainty_of(fit([*so_far.observations, further]), name)
            found.append((then, connection, further))
    if not found:
        return words.NO_WAY
    then, connection, further = min(found, key=lambda each: each[0])
    unit, what = QUANTITIES[name][0], labels.QUANTITY[name]
    if then > 0.9 * now:
        return words.NO_GAIN.format(quantity=what)
    facts = {
        "spoken": further.wiring.spoken,
        "name": labels.CONNECTION[connection],
        "value": quantity.display(further.value, significant_digits=3),
        "quantity": what,
        "now": quantity.display(now, unit=unit, significant_digits=2),
        "then": quantity.display(then, unit=unit, significant_digits=2),
    }
    return Narrowing(further.wiring, connection, now, then, words.READ_QUANTITY.format(**facts))


def uncertainty_of(fitted: Fit, name: str) -> float:
    """Standard uncertainty of a quantity of a fit, first order."""
    form = QUANTITIES[name][1]
    estimate: Estimate = first_order(lambda *t: form(*pair_at(*t[:3])), fitted.parameters)
    return estimate.standard_uncertainty


def ideal_observation(
    connection: Connection, value: float, card: Card, dots: tuple[Terminal, ...], frequency: Quantity | None
) -> Observation | None:
    """What the meter would show of an inductance (H), rounded to its display; None if it has no range."""
    at = frequency.value if frequency else None
    fitting = [
        r for r in card.ranges if r.quantity == "inductance" and r.serves(at) and value <= 0.99 * r.full_scale
    ]
    wiring = standard_wiring(connection, dots)
    if not fitting or wiring is None:
        return None
    on = min(fitting, key=lambda r: r.full_scale)
    shown = on.display(value)
    key = f"a further {connection.value}"
    reading = Reading(key, (), wiring, shown, frequency=frequency, meter=card.id)
    return Observation(
        (reading,),
        connection,
        Input(key, shown.value, card.terms(shown, key, meter=card.id, frequency=frequency)),
    )


# Which readings with which card would reach a wanted uncertainty, before anything is measured.


@dataclass(frozen=True)
class Plan(Shown):
    """Which readings with which card reach a wanted uncertainty; rows of (card, readings, expected u)."""

    name: str
    wanted: float
    rows: tuple[tuple[str, str, float], ...]

    def parts(self) -> tuple[Part, ...]:
        unit, what = QUANTITIES[self.name][0], labels.QUANTITY[self.name]
        rows = tuple(
            (
                card,
                read,
                quantity.display(u, unit=unit, significant_digits=2),
                words.YES if u <= self.wanted else words.NO,
            )
            for card, read, u in self.rows
        )
        wanted = quantity.display(self.wanted, unit=unit, significant_digits=2)
        table = Table(words.PLAN_HEADER, rows, words.PLAN_TITLE.format(quantity=what, wanted=wanted))
        return (Text(self.sentence), table)

    @property
    def sentence(self) -> str:
        """The fewest readings that reach what is wanted, or that none do."""
        if not self.rows:
            return words.NO_PLAN
        unit = QUANTITIES[self.name][0]
        reaching = [row for row in self.rows if row[2] <= self.wanted]
        card, read, u = min(
            reaching or self.rows, key=lambda row: (row[1].count(",") * bool(reaching), row[2])
        )
        expected = quantity.display(u, unit=unit, significant_digits=2)
        sentence = words.PLAN_BEST if reaching else words.PLAN_NONE
        return sentence.format(read=read, card=card, expected=expected)


SETS = (
    (Connection.SERIES_OPPOSING,),
    (Connection.SERIES_AIDING,),
    (Connection.SHORT_CIRCUIT_1,),
    (Connection.PARALLEL_OPPOSING,),
    (Connection.SERIES_OPPOSING, Connection.PARALLEL_OPPOSING),
    (
        Connection.SERIES_AIDING,
        Connection.SERIES_OPPOSING,
        Connection.PARALLEL_AIDING,
        Connection.PARALLEL_OPPOSING,
    ),
)
"""What may be read beside the two singles, from one further reading to four."""


def plan(pair: Pair, name: str, wanted: float, cards: Sequence[Card], frequency: str = "10 kHz") -> Plan:
    """Which readings with which meter card bring a quantity to a wanted standard uncertainty.

    Parameters
    ----------
    pair : about what is expected
    name : key of `labkit.analysis.joint_fit.QUANTITIES`, such as "coupling_coefficient"
    wanted : standard uncertainty, SI unit
    cards : of the meters at hand
    frequency : at which all are read

    Raises
    ------
    EntryError
        if the quantity is not one of those, or the wanted uncertainty is not above zero.
    """
    require_known(name)
    if not wanted > 0:
        raise EntryError(
            f"The wanted standard uncertainty {wanted} is no size; give a number above zero, in SI units.",
            str(wanted),
        )
    dots, at = parse_dots("1a 2a"), quantity.parse(frequency, "frequency")
    rows = []
    for card in cards:
        for further in SETS:
            wanted_readings = (Connection.SELF_1, Connection.SELF_2, *further)
            seen = [ideal_observation(c, float(pair.inductance(c)), card, dots, at) for c in wanted_readings]
            readable = [o for o in seen if o]
            if len(readable) == len(seen):
                read = ", ".join(labels.CONNECTION[c] for c in wanted_readings)
                rows.append((card.title, read, uncertainty_of(fit(readable), name)))
    return Plan(name, wanted, tuple(sorted(rows, key=lambda row: row[2])))
