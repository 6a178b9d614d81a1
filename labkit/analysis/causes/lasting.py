"""What lasts from one reading to the next: an open clamp stays open until somebody moves it.

Slips are weighed reading by reading, as if each wiring were built anew. Side by side that is not so: for the
second of the two readings one winding is turned round and the clamps are left as they are.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from labkit.analysis.causes.local import WEIGHTS, Alternative
from labkit.analysis.observations import Observation
from labkit.theory.wiring import Connection

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
