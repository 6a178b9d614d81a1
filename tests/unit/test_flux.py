"""Currents in the windings of a wiring, and what their fluxes do to each other."""

import itertools

import numpy as np
import pytest

from labkit.theory.flux import Fluxes, winding_currents
from labkit.theory.network import identify, input_inductance
from labkit.theory.wiring import Connection, Wiring, all_wirings, parse_dots

PAIR = [[10.0, 6.0], [6.0, 9.0]]
TRIPLE = [[10.0, 6.0, -2.0], [6.0, 9.0, 1.0], [-2.0, 1.0, 7.0]]
WIRINGS = [(w, PAIR) for w in all_wirings(2)] + [
    (Wiring.parse(text), TRIPLE)
    for text in ("1a 3b | 1b=2a 2b=3a", "1a 1b | 1a=2b 1b=2a 3a=3b", "1a 1b | 1a=2a=3a 1b=2b=3b")
]
DOTS = ["1a 2a", "1a 2b", "1b 2a", "1b 2b"]
KINDS = {
    "series_aiding": "add",
    "parallel_aiding": "add",
    "series_opposing": "cancel",
    "parallel_opposing": "cancel",
    "short_circuit_1": "cancel",
    "short_circuit_2": "cancel",
    "self_inductance_1": "alone",
    "self_inductance_2": "alone",
    "open": "none",
    "leads": "none",
}


@pytest.mark.parametrize(("wiring", "L"), WIRINGS, ids=str)
def test_the_currents_store_the_energy_that_the_meter_sees(wiring: Wiring, L: list[list[float]]) -> None:
    """For a unit meter current, i'Li is the input inductance of the forward model; an open one has none."""
    currents = winding_currents(L, wiring)
    seen = input_inductance(L, wiring)
    if currents is None:
        assert seen == float("inf")
    else:
        assert np.array(currents) @ np.array(L) @ np.array(currents) == pytest.approx(float(seen), rel=1e-12)


@pytest.mark.parametrize(("wiring", "L"), WIRINGS, ids=str)
def test_the_currents_balance_at_every_node(wiring: Wiring, L: list[list[float]]) -> None:
    """At each node the winding currents sum to what the meter sends in or takes out there."""
    windings, currents = len(L), winding_currents(L, wiring)
    if currents is None:
        return
    first, second = wiring.clip_nodes(windings)
    for node in wiring.nodes(windings):
        leaving = sum(i * ((t.end == "a") - (t.end == "b")) for t in node for i in [currents[t.winding - 1]])
        assert leaving == pytest.approx((node == first) - (node == second), abs=1e-12)


@pytest.mark.parametrize("dots", DOTS)
@pytest.mark.parametrize("wiring", [*all_wirings(2), Wiring.parse("1a 2a | 1a=2a 1b=2b")], ids=str)
def test_what_fluxes_do_follows_from_the_connection(wiring: Wiring, dots: str) -> None:
    """Aiding fluxes add, opposing and shorted ones cancel, one winding is alone; whatever the dots are."""
    known = parse_dots(dots)
    assert Fluxes.in_wiring(wiring, known).kind == KINDS[identify(wiring, known)]


def test_every_kind_of_connection_occurs() -> None:
    """The wirings of the test above hold every connection of two windings."""
    found = {identify(w, parse_dots(d)) for w, d in itertools.product(all_wirings(2), DOTS)}
    assert {*found, Connection.LEADS} == set(Connection)


@pytest.mark.parametrize("dots", DOTS)
def test_currents_into_dotted_ends_drive_flux_one_way(dots: str) -> None:
    """The dot convention itself: equal currents into the dots give equal fluxes forward."""
    into_dots = [1.0 if dot.end == "a" else -1.0 for dot in parse_dots(dots)]
    assert Fluxes.of(into_dots, parse_dots(dots)).parts == (1.0, 1.0)


@pytest.mark.parametrize(
    ("currents", "kind", "total"),
    [
        ((2.0, 1.0), "add", 1.5),
        ((2.0, -1.0), "partly cancel", 0.5),
        ((10.0, -9.0), "cancel", 0.1),
        ((10.0, -8.9), "partly cancel", 0.11),
        ((0.0, -3.0), "alone", -1.0),
        ((0.0, 0.0), "none", 0.0),
    ],
)
def test_sizes_decide_what_is_left(currents: tuple[float, float], kind: str, total: float) -> None:
    """Fluxes scale with the larger one; up to a tenth of it left over counts as cancelled."""
    fluxes = Fluxes.of(currents, parse_dots("1a 2a"))
    assert fluxes.kind == kind
    assert fluxes.total == pytest.approx(total)
