"""Readings of one wiring, told apart by whether it was set up anew in between.

Repeats in a row are one set-up: they average the scatter, and a mistake in the wiring is in all of them. A
wiring read again after another one was set up anew: what happened to the first reading need not have
happened to the second, so for the question what happened each counts on its own. So do repeats in a row of
which one is twice another or more: that is no scatter.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from labkit.analysis.observations import Observation, observation
from labkit.bench.bench import Bench
from labkit.bench.readings import Reading
from labkit.uncertainty.component import Component, Input

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
