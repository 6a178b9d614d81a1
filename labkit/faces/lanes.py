"""What stands in the picture of the comparison: a row for each connection, a lane for each kind of number.

Worked out before anything is drawn, so that the drawing, its alternative in words and the tests speak of
the same numbers.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from labkit import quantity
from labkit.analysis.analysis import Analysis
from labkit.analysis.observations import Observation
from labkit.analysis.predict import Prediction, Ruled
from labkit.bench.readings import OwnPrediction
from labkit.theory.network import identify
from labkit.theory.wiring import Connection, Wiring
from labkit.words import figures as words
from labkit.words import labels

SHOWN_OWN = 3  # own predictions of one connection that are written out; all are marked
ID_WIDTH = 24  # characters of a reading's id
Key = Connection | Wiring


@dataclass(frozen=True)
class Point:
    """A value and its interval in H; no interval if no uncertainty is stated."""

    value: float
    interval: tuple[float, float] | None = None

    @property
    def has_place(self) -> bool:
        """Whether the value can stand on a logarithmic axis."""
        return 0 < self.value < math.inf


@dataclass(frozen=True)
class Lane:
    """One line of a row.

    Attributes
    ----------
    kind : "reading", "coupled", "uncoupled" or "own"
    points : what is marked
    text : the same in figures
    name : what it is called beside the mark, if not by its kind
    is_input : whether the coupled rule rests on it
    """

    kind: str
    points: tuple[Point, ...]
    text: str
    name: str = ""
    is_input: bool = False

    @property
    def label(self) -> str:
        """What stands beside the mark."""
        label = words.LANE.format(name=self.name or words.KIND[self.kind], text=self.text)
        label = words.INPUT.format(text=label) if self.is_input else label
        return label if all(point.has_place for point in self.points) else words.OFF_AXIS.format(lane=label)


@dataclass(frozen=True)
class Row:
    """A connection and the wiring that was built, or a wiring whose connection is not known; its lanes."""

    label: str
    wiring: str
    lanes: tuple[Lane, ...]

    @property
    def title(self) -> str:
        """What the row is about, in one line."""
        return words.ROW.format(label=self.label, wiring=self.wiring) if self.wiring else self.label


def rows(analysis: Analysis) -> tuple[Row, ...]:
    """Everything read or predicted: in a row the readings first, then the rules, then people's own."""
    predicted: dict[Key, Prediction] = {
        p.wiring.canonical() if p.either else p.connection: p
        for p in analysis.predictions
        if p.coupled or p.uncoupled
    }
    observed = _grouped(analysis, analysis.shared.observations)
    own = _grouped(analysis, analysis.bench.predictions)
    keys: tuple[Key, ...] = (*predicted, *observed, *own)
    known: list[Key] = [connection for connection in Connection if connection in keys]
    others = dict.fromkeys(key for key in keys if isinstance(key, Wiring))
    inputs = analysis.believed.observations if analysis.believed else ()
    return tuple(
        _row(key, predicted.get(key), observed.get(key, []), own.get(key, []), inputs)
        for key in (*known, *others)
    )


def _grouped(analysis: Analysis, items: Iterable[Any]) -> dict[Key, list[Any]]:
    groups: dict[Key, list[Any]] = {}
    for item in items:
        groups.setdefault(_key(analysis, item.wiring), []).append(item)
    return groups


def _key(analysis: Analysis, wiring: Wiring) -> Key:
    """The connection where it is known, else the wiring itself."""
    canonical = wiring.canonical(analysis.bench.windings)
    if analysis.bench.windings != 2:
        return canonical
    if analysis.shared.dots:
        return identify(wiring, analysis.shared.dots)
    same = (o for o in analysis.shared.observations if o.wiring.canonical() == canonical)
    return next((o.connection for o in same if o.connection), canonical)


def _row(
    key: Key,
    predicted: Prediction | None,
    observed: list[Observation],
    own: list[OwnPrediction],
    inputs: tuple[Observation, ...],
) -> Row:
    lanes = [_reading(o, several=len(observed) > 1, is_input=o in inputs) for o in observed]
    if predicted and predicted.coupled and not predicted.is_input:
        lanes.append(_rule("coupled", predicted.coupled))
    if predicted and predicted.uncoupled:
        lanes.append(_rule("uncoupled", predicted.uncoupled))
    if own:
        lanes.append(_own(own))
    wiring = next(item.wiring for item in (*observed, predicted, *own) if item)
    if isinstance(key, Connection):
        return Row(labels.CONNECTION[key], wiring.notation, tuple(lanes))
    return Row(wiring.notation, "", tuple(lanes))


def _reading(o: Observation, *, several: bool, is_input: bool) -> Lane:
    u = o.standard_uncertainty
    text = o.text if u is None else quantity.display(o.value, u)
    name = words.READING_ID.format(id=_short(o.id)) if several else ""
    return Lane("reading", (Point(o.value, _around(o.value, u)),), text, name, is_input)


def _rule(kind: str, ruled: Ruled) -> Lane:
    """By Monte Carlo's interval where there is one, written out where first order is not to be trusted."""
    value, u = ruled.estimate.value, ruled.estimate.standard_uncertainty
    if not ruled.stated:
        return Lane(kind, (Point(value),), quantity.display(value))
    interval = ruled.monte_carlo.shortest if ruled.monte_carlo else _around(value, u)
    text = quantity.display(value, u)
    if ruled.trusted is False and interval:
        low, high = map(quantity.display, interval)
        text = words.INTERVAL.format(value=quantity.display(value), low=low, high=high)
    return Lane(kind, (Point(value, interval),), text)


def _own(own: list[OwnPrediction]) -> Lane:
    text = ", ".join(p.text for p in own[:SHOWN_OWN])
    if len(own) > SHOWN_OWN:
        text = words.MORE.format(shown=text, count=len(own) - SHOWN_OWN)
    return Lane("own", tuple(Point(p.shown.value) for p in own), text)


def _around(value: float, u: float | None) -> tuple[float, float] | None:
    return None if u is None else (value - 2 * u, value + 2 * u)


def _short(id: str) -> str:
    return id if len(id) <= ID_WIDTH else f"{id[: ID_WIDTH - 1]}…"
