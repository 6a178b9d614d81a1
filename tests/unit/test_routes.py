"""Every way from readings to M and k: there and back again, resolved or not. Invented readings."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit import quantity
from labkit.analysis.analysis import Analysis, analyse
from labkit.analysis.observations import Observation
from labkit.analysis.routes import AMBIGUOUS, ROUTES, Coupling, Route, coupling_by, couplings, preferred
from labkit.record.bench import Bench
from labkit.record.card import Gain, read_card
from labkit.record.state import Reading
from labkit.record.virtual_bench import VirtualBench
from labkit.resources import shipped
from labkit.theory.pair import Pair
from labkit.theory.wiring import Connection, Wiring
from labkit.uncertainty.components import Input, uncertain
from labkit.uncertainty.propagate import first_order
from labkit.words import analysis as words
from tests.benches import EXAMPLE, PAIR, typed_bench, virtual_bench

BY_NAME = {route.name: route for route in ROUTES}
UNSIGNED = ("short_circuit_1", "short_circuit_2")

sizes = st.floats(-6, 0).map(lambda x: 10**x)
couplings_up_to_one = st.floats(0, 6).map(lambda x: 1 - 10**-x)  # as many loose as tight ones
signed = st.tuples(couplings_up_to_one, st.sampled_from([-1, 1])).map(lambda x: x[0] * x[1])


def known(pair: Pair, connection: Connection) -> Observation:
    """A reading without error of a known pair."""
    value = pair.inductance(connection)
    reading = Reading(str(connection), (1,), Wiring.parse("1a 1b"), quantity.parse("1 mH"))
    return Observation((reading,), connection, Input(str(connection), value))


def found_by(route: Route, pair: Pair) -> Coupling | str:
    """The coupling that a route finds from readings without error."""
    return coupling_by(route, {c: known(pair, c) for c in route.needs})


@given(L1=sizes, L2=sizes, k=signed)
@pytest.mark.parametrize("name", ["series_opposing", "series_aiding", "both_series"])
def test_series_routes_give_back_any_pair(name: str, L1: float, L2: float, k: float) -> None:
    """From the readings of any passive pair, whatever its polarity, the series routes find its M and k."""
    pair = Pair.from_coupling(L1, L2, k)
    found = found_by(BY_NAME[name], pair)
    assert isinstance(found, Coupling)
    size = math.sqrt(L1 * L2)
    assert found.mutual_inductance.value == pytest.approx(pair.mutual_inductance, abs=1e-12 * (L1 + L2))
    assert found.coefficient.value == pytest.approx(k, abs=1e-12 * (L1 + L2) / size)


@given(L1=sizes, L2=sizes, k=signed.filter(lambda k: abs(k) > 1e-3))
@pytest.mark.parametrize("name", UNSIGNED)
def test_short_circuit_routes_give_back_the_size_of_the_coupling(
    name: str, L1: float, L2: float, k: float
) -> None:
    """A short-circuit test finds |M|; its sign is not in the reading, and the route says so."""
    found = found_by(BY_NAME[name], Pair.from_coupling(L1, L2, k))
    assert isinstance(found, Coupling)
    assert found.coefficient.value == pytest.approx(abs(k), rel=1e-7)
    assert not BY_NAME[name].signed


@given(L=sizes, ratio=st.floats(0.5, 2), k=st.floats(-0.45, 0.6))
def test_the_parallel_opposing_route_gives_back_the_pair(L: float, ratio: float, k: float) -> None:
    """While |M| is below either self-inductance, the reading with one winding reversed has one M."""
    pair = Pair.from_coupling(L, L * ratio, k)
    found = found_by(BY_NAME["parallel_opposing"], pair)
    assert isinstance(found, Coupling)
    assert found.coefficient.value == pytest.approx(k, abs=1e-7)


@given(L1=sizes, ratio=st.floats(1.001, 2).flatmap(lambda r: st.sampled_from([r, 1 / r])), k=signed)
def test_one_of_the_two_roots_of_parallel_aiding_is_the_pair(L1: float, ratio: float, k: float) -> None:
    """The larger root is right where M exceeds one self-inductance, the smaller root elsewhere."""
    pair = Pair.from_coupling(L1, L1 * ratio, k)
    M, size = pair.mutual_inductance, math.sqrt(L1 * L1 * ratio)
    name = "parallel_aiding_high" if M > min(pair.L1, pair.L2) else "parallel_aiding_low"
    pair_by = BY_NAME[name].pair(pair.L1, pair.L2, pair.parallel_aiding)
    assert Pair.from_mutual(*pair_by[:2], 0).L1 == L1
    assert (pair_by[0] + pair_by[1] - pair_by[2]) / 2 == pytest.approx(M, abs=1e-6 * size)


def test_both_roots_give_the_reading() -> None:
    """From 4, 6 and 3.75 mH both M = 3 mH and M = 4.5 mH follow, and either pair reads 3.75 mH."""
    pair = Pair.from_mutual(4e-3, 6e-3, 3e-3)
    roots = [found_by(BY_NAME[name], pair).mutual_inductance.value for name in AMBIGUOUS]  # type: ignore[union-attr]
    assert roots == pytest.approx([4.5e-3, 3e-3])
    assert [Pair.from_mutual(4e-3, 6e-3, M).parallel_aiding for M in roots] == pytest.approx([3.75e-3] * 2)


@pytest.mark.parametrize("route", ROUTES, ids=lambda r: r.name)
def test_a_route_names_itself_and_needs_both_windings(route: Route) -> None:
    """Each route has a title in words and starts from both windings alone."""
    assert route.title == words.NAME[route.name]
    assert {Connection.SELF_1, Connection.SELF_2} < set(route.needs)


def test_the_example_pair() -> None:
    """10.00 mH, 9.96 mH and B 25.0 µH: M 9.9675 mH, k 0.9987495, three leakages (computed for this test)."""
    c = found_by(BY_NAME["series_opposing"], PAIR)
    assert c.mutual_inductance.value == pytest.approx(9.9675e-3, rel=1e-9)
    assert c.coefficient.value == pytest.approx(0.9987495, abs=5e-8)
    assert c.leakage_per_winding.value == pytest.approx(12.48e-6, abs=5e-9)
    assert c.leakage_differential_mode.value == pytest.approx(25.0e-6)
    assert c.leakage_short_circuit.value == pytest.approx(24.99435e-6, abs=5e-12)


def by_route(bench: Bench) -> dict[str, Coupling | str]:
    """Every coupling of a bench by the route's name."""
    return {route.name: found for route, found in analyse(bench).couplings.items()}


@pytest.mark.parametrize(
    ("card", "u"), [("bench-fine", (0.0027, 0.0033)), ("hand-held-coarse", (0.010, 0.016))]
)
def test_what_the_opposing_route_resolves(card: str, u: tuple[float, float]) -> None:
    """u(1 - k)/(1 - k) is about 0.3 % with the fine card, 1 to 1.6 % with the coarse one, any gain."""
    analysis = analyse(typed_bench(EXAMPLE[card], card=card))
    for situation in (analysis.shared, analysis.independent):
        gap = preferred(situation.couplings()).gap
        assert u[0] < gap.standard_uncertainty / gap.value < u[1]


@pytest.mark.parametrize("card", EXAMPLE)
def test_the_aiding_route_resolves_nothing_of_a_tight_coupling(card: str) -> None:
    """From the aiding reading u(1 - k) is several times 1 - k, and the status says so with both figures."""
    aiding = {"bench-fine": "39.90 mH", "hand-held-coarse": "39.9 mH"}[card]
    c = by_route(typed_bench(EXAMPLE[card] | {"line": aiding}, card=card))["series_aiding"]
    assert c.gap.standard_uncertainty > 3 * abs(c.gap.value)
    assert c.resolved is False
    assert "not resolved by this route" in c.status


def test_k_above_one_is_shown_unclipped() -> None:
    """An aiding reading a digit too high gives k just above 1: kept as computed, called unresolved."""
    c = by_route(typed_bench(EXAMPLE["bench-fine"] | {"line": "40.00 mH"}))["series_aiding"]
    assert c.coefficient.value > 1.003
    assert c.text(c.coefficient, "").startswith("1.00")
    assert c.status == words.UNPHYSICAL
    assert not c.impossible


def test_k_far_above_one_is_called_impossible() -> None:
    """|k| above 1 by more than its expanded uncertainty is no matter of resolution, and is called so."""
    c = by_route(typed_bench(EXAMPLE["bench-fine"] | {"line": "60.00 mH"}))["series_aiding"]
    assert c.coefficient.value == pytest.approx(2.006, abs=1e-3)
    assert c.impossible
    assert c.status == words.IMPOSSIBLE


def test_a_reading_without_a_real_solution_is_a_sentence() -> None:
    """A short-circuit reading above the winding's own inductance has no M: said, not raised."""
    found = by_route(typed_bench(EXAMPLE["bench-fine"] | {"one-shorted": "10.100 mH"}))["short_circuit_1"]
    assert isinstance(found, str)
    assert "one-shorted 10.100 mH" in found
    assert "do not settle M" in found


def test_a_parallel_reading_equal_to_a_winding_is_a_sentence() -> None:
    """P equal to L2 in all digits has a root, but none with a finite slope: said, not raised."""
    found = by_route(typed_bench(EXAMPLE["bench-fine"] | {"side": "9.960 mH"}))
    assert all("do not settle M" in found[name] for name in AMBIGUOUS)


@pytest.mark.parametrize("shown", ["9.980 mH", "10.020 mH"])
def test_equal_windings_leave_one_root_of_parallel_aiding(shown: str) -> None:
    """With L1 = L2 the larger root is k = 1 whatever P is: it settles nothing, and is not k = 1 ± 0."""
    found = by_route(typed_bench({"one": "10.000 mH", "two": "10.000 mH", "side": shown}))
    assert isinstance(found["parallel_aiding_high"], str)
    assert isinstance(found["parallel_aiding_low"], str) is (shown == "10.020 mH")


@pytest.mark.parametrize("name", ["parallel_opposing", *AMBIGUOUS])
def test_a_parallel_reading_above_both_windings_settles_nothing(name: str) -> None:
    """No passive pair reads a parallel connection above either winding: no branch of the root is taken."""
    readings = {"one": "10.000 mH", "two": "9.960 mH", "side": "10.050 mH", "side-reversed": "10.050 mH"}
    assert isinstance(by_route(typed_bench(readings))[name], str)


def test_no_card_no_uncertainty() -> None:
    """Without a card every text is without ±; where k lies is said for a meter within the bound."""
    c = by_route(typed_bench(EXAMPLE["bench-fine"], card=None))["series_opposing"]
    assert (c.stated, c.resolved) == (False, None)
    assert c.status == "|k| from 0.9980 to 1 if the meter is wrong by up to 20 %"
    assert "±" not in c.text(c.mutual_inductance) + c.text(c.coefficient, "") + c.text(c.gap, "")


def test_one_reading_without_a_card_takes_the_uncertainty_of_the_route() -> None:
    """A route is stated only if each of its readings is."""
    bench = typed_bench({"one": "10.000 mH", "two": "9.960 mH"})
    bench.meter("meter-b")
    bench.read("1a 2a | 1b=2b", "25.00 µH", "turned", meter="meter-b")
    assert not by_route(bench)["series_opposing"].stated


def everything() -> Bench:
    """A bench with a reading for every route."""
    more = {"line": "39.90 mH", "side": "9.958 mH", "side-reversed": "6.24 µH", "one-shorted": "24.99 µH"}
    return typed_bench(EXAMPLE["bench-fine"] | more | {"two-shorted": "24.89 µH"})


def test_every_route_is_tried() -> None:
    """With the eight readings all eight routes are there, in their order."""
    assert list(by_route(everything())) == [route.name for route in ROUTES]


def test_the_preferred_route_has_the_smallest_uncertainty() -> None:
    """Of the unambiguous routes the one with the smallest u(1 - |k|) is believed."""
    found = analyse(everything()).couplings
    best = preferred(found)
    rivals = [c for r, c in found.items() if r.name not in AMBIGUOUS]
    assert best.gap.standard_uncertainty == min(c.gap.standard_uncertainty for c in rivals)


def test_a_route_without_the_reading_that_it_predicts() -> None:
    """A prediction never rests on the reading that it is held against; a sign never on a short circuit."""
    found = analyse(everything()).couplings
    for connection in Connection:
        by = preferred(found, without=connection)
        assert by is None or connection not in by.route.needs
    assert preferred(found, signed=True).route.name not in UNSIGNED


def test_an_ambiguous_root_is_never_believed() -> None:
    """From the parallel-aiding reading alone no coupling is believed, though both roots are shown."""
    analysis = analyse(typed_bench({"one": "10.000 mH", "two": "9.960 mH", "side": "9.958 mH"}))
    assert [route.name for route in analysis.couplings] == list(AMBIGUOUS)
    assert analysis.believed is None


def test_a_stated_route_wins_over_an_unstated_one() -> None:
    """A route without uncertainty is believed only if no other is left."""
    bench = typed_bench({"one": "10.000 mH", "two": "9.960 mH", "line": "39.90 mH"})
    bench.meter("meter-b")
    bench.read("1a 2a | 1b=2b", "25.00 µH", "turned", meter="meter-b")
    assert analyse(bench).believed.route.name == "series_aiding"


def test_a_route_needs_its_readings() -> None:
    """Asked for without its readings a route names the missing connection."""
    with pytest.raises(KeyError, match=r"SELF_1|self_inductance_1"):
        coupling_by(BY_NAME["series_opposing"], {})
    assert couplings({}) == {}


@pytest.mark.parametrize("k", [0.9, -0.9, 0.0])
def test_the_gap_is_what_the_size_of_k_leaves_to_one(k: float) -> None:
    """1 - |k| is the same whichever way the windings oppose: a negative M does not make it 1.9."""
    found = found_by(BY_NAME["series_opposing"], Pair.from_coupling(4e-3, 6e-3, k))
    assert isinstance(found, Coupling)
    assert found.gap.value == pytest.approx(1 - abs(k), rel=1e-9)


@pytest.mark.parametrize(
    ("gap", "resolved", "impossible"),
    [
        (2.01, True, False),
        (1.99, False, False),
        (-1.99, False, False),
        (-2.01, False, True),
    ],
)
def test_a_gap_is_resolved_from_two_standard_uncertainties_on(
    gap: float, resolved: bool, impossible: bool
) -> None:
    """U is twice the standard uncertainty, here 1e-3, on either side of k = 1."""
    found = found_by(BY_NAME["series_opposing"], PAIR)
    assert isinstance(found, Coupling)
    at = first_order(lambda x: x, [uncertain("gap", gap * 1e-3, "normal", 1e-3)])
    there = replace(found, gap=at, stated=True)
    assert (there.resolved, there.impossible) == (resolved, impossible)


@pytest.mark.parametrize("law", ["shared", "independent"])
def test_the_stated_uncertainty_of_k_holds_under_either_gain_law(law: Gain) -> None:
    """40 virtual meters, k = 0.3 from singles and series-opposing: what is stated covers nine in ten.

    The ± for a shared gain alone covers 1 - k only if the gain is shared: of these one in five otherwise.
    """
    card, pair = (
        read_card(shipped("data", "cards", "bench-fine.toml")),
        Pair.from_coupling(10e-3, 9.96e-3, 0.3),
    )
    covered = {"stated": 0, "shared alone": 0}
    for seed in range(40):
        meter = VirtualBench(pair.matrix(), card, seed, gain=law)
        analysis = Analysis(virtual_bench(meter, ("one", "two", "line-reversed"), "bench-fine"))
        alone = preferred(couplings(analysis.shared.pool()))
        assert analysis.believed is not None
        assert alone is not None
        for name, gap in (("stated", analysis.believed.gap), ("shared alone", alone.gap)):
            covered[name] += abs(gap.value - 0.7) <= 2 * gap.standard_uncertainty
    assert covered["stated"] >= 36
    assert (covered["shared alone"] < 20) is (law == "independent")
