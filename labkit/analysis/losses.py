"""Resistances of a pair from the second displays of its readings, where they say enough."""

import math
from collections.abc import Sequence

from labkit.analysis.observations import Observation
from labkit.theory.lossy_pair import Losses
from labkit.theory.wiring import Connection

C = Connection


def recorded_losses(observations: Sequence[Observation]) -> Losses | None:
    """What the second displays say about the pair's resistance; None where that is not all of it.

    Both windings alone and both in line are needed, each with R, Q or D at a known frequency: the reading in
    line tells the resistance that both share, the loss of a common core, from the copper of each. The
    resistances are taken as exact; what they change is small, and their own error of it smaller still.
    """
    rho = {o.connection: each for o in observations if (each := _resistance_over_w(o)) is not None}
    if not {C.SELF_1, C.SELF_2} <= rho.keys():
        return None
    one, two = rho[C.SELF_1], rho[C.SELF_2]
    if C.SERIES_OPPOSING in rho:
        return Losses(one, two, (one + two - rho[C.SERIES_OPPOSING]) / 2)
    if C.SERIES_AIDING in rho:
        return Losses(one, two, (rho[C.SERIES_AIDING] - one - two) / 2)
    return None


def _resistance_over_w(o: Observation) -> float | None:
    """Series resistance over ω, in H; None if the second display does not say it."""
    first = o.readings[0]
    if o.frequency is None:
        return None
    if first.second and first.second.kind == "resistance":
        w = 2 * math.pi * o.frequency.value
        return first.second.value / w if first.mode == "series" else None
    D = first.dissipation_factor
    return None if D is None else o.value * D
