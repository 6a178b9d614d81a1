"""What each connection should read: by whom, by which rule, how certain. Invented readings."""

import pytest

from labkit.analysis.analysis import analyse
from labkit.analysis.compare import TOGETHER
from labkit.analysis.predict import Prediction, Ruled, predictions
from labkit.analysis.routes import Situation, preferred
from labkit.record.bench import Bench
from labkit.theory.pair import Pair
from labkit.theory.wiring import Connection
from tests.benches import ALL_WIRINGS, EXAMPLE, PAIR, typed_bench

FINE = EXAMPLE["bench-fine"]
DRAWS = 100_000
SINGLES = (Connection.SELF_1, Connection.SELF_2)


def predicted(bench: Bench, gain: str = "shared", draws: int = DRAWS) -> dict[Connection, Prediction]:
    """Predictions of a bench under one assumption about the gain, by connection."""
    situation: Situation = getattr(analyse(bench), gain)
    rows = predictions(situation, preferred(situation.couplings()), bench.predictions, draws)
    return {row.connection: row for row in rows}


# (card, gain): u by first order, u and bias by Monte Carlo, symmetric 95 % interval; µH, µH, µH, mH
TABLE = {
    ("bench-fine", "independent"): (23.3, 24.5, -6, (9.897, 9.987)),
    ("bench-fine", "shared"): (17.7, 17.7, -0.2, (9.927, 9.988)),
    ("hand-held-coarse", "independent"): (80, 119, -72, (9.562, 10.041)),
    ("hand-held-coarse", "shared"): (62, 62, -6, (9.838, 10.062)),
}


@pytest.mark.parametrize(
    ("row", "figures"), TABLE.items(), ids=lambda x: "-".join(x) if isinstance(x[0], str) else ""
)
def test_uncertainty_of_parallel_aiding(
    row: tuple[str, str], figures: tuple[float, float, float, tuple[float, float]]
) -> None:
    """From record to prediction: u(P+) by first order and by Monte Carlo, its bias and interval.

    Figures computed for the example pair; tolerances are half a printed digit and the scatter of the draws.
    """
    card, gain = row
    first_order, drawn, bias, interval = figures
    ruled = predicted(typed_bench(EXAMPLE[card], card=card), gain, 400_000)[
        Connection.PARALLEL_AIDING
    ].coupled
    assert ruled.estimate.value == pytest.approx(9.95775e-3, rel=1e-9)
    assert ruled.estimate.standard_uncertainty == pytest.approx(
        first_order * 1e-6, abs=0.5e-6 if first_order > 50 else 0.05e-6
    )
    assert ruled.monte_carlo.standard_uncertainty == pytest.approx(drawn * 1e-6, rel=0.01)
    assert ruled.agreement.bias == pytest.approx(bias * 1e-6, abs=0.6e-6)
    assert ruled.monte_carlo.symmetric == pytest.approx([end * 1e-3 for end in interval], abs=1.5e-6)


@pytest.mark.parametrize(
    ("card", "gain", "trusted"),
    [
        ("bench-fine", "shared", True),
        ("bench-fine", "independent", False),
        ("hand-held-coarse", "independent", False),
    ],
)
def test_first_order_is_trusted_up_to_a_tenth_of_u(card: str, gain: str, trusted: bool) -> None:
    """A bias of 0.2 in 17.7 µH passes; 6 in 23 µH and 72 in 80 µH do not."""
    ruled = predicted(typed_bench(EXAMPLE[card], card=card), gain)[Connection.PARALLEL_AIDING].coupled
    assert ruled.trusted is trusted


@pytest.mark.parametrize("connection", TOGETHER)
def test_values_are_those_of_the_pair(connection: Connection) -> None:
    """Coupled and uncoupled predictions are the example pair's and the same windings' without shared flux."""
    row = predicted(typed_bench(FINE))[connection]
    assert row.coupled.estimate.value == pytest.approx(PAIR.inductance(connection), rel=1e-9)
    assert row.uncoupled.estimate.value == pytest.approx(
        Pair.uncoupled(PAIR.L1, PAIR.L2).inductance(connection)
    )


def test_there_is_a_row_for_every_connection_that_reads_something() -> None:
    """The two singles and the six joint connections, in this order."""
    assert list(predicted(typed_bench(FINE))) == [*SINGLES, *TOGETHER]


def test_what_the_route_rests_on_is_no_prediction() -> None:
    """The readings that the coupled rule starts from are marked, and nothing is drawn for them."""
    rows = predicted(typed_bench(FINE))
    inputs = {c for c, row in rows.items() if row.is_input}
    assert inputs == {*SINGLES, Connection.SERIES_OPPOSING}
    assert all(rows[c].coupled.monte_carlo is None for c in inputs)
    assert all(rows[c].coupled.monte_carlo is not None for c in rows.keys() - inputs)


def test_singles_have_no_uncoupled_rule() -> None:
    """One winding alone is what the uncoupled rule starts from."""
    rows = predicted(typed_bench(FINE))
    assert rows[Connection.SELF_1].uncoupled is None
    assert rows[Connection.SELF_2].uncoupled is None


def test_a_prediction_names_its_readings() -> None:
    """Every rule knows the readings that it rests on."""
    row = predicted(typed_bench(FINE))[Connection.PARALLEL_AIDING]
    assert row.coupled.ids == ("one", "two", "line-reversed")
    assert row.uncoupled.ids == ("one", "two")


@pytest.mark.parametrize(
    ("readings", "uncoupled", "coupled"),
    [
        ({}, False, False),
        ({"one": "10.000 mH"}, False, False),
        ({"one": "10.000 mH", "two": "9.960 mH"}, True, False),
    ],
)
def test_a_rule_without_its_readings_predicts_nothing(
    readings: dict[str, str], uncoupled: bool, coupled: bool
) -> None:
    """Nothing read, nothing predicted; both windings alone give the uncoupled rule."""
    row = predicted(typed_bench(readings))[Connection.PARALLEL_AIDING]
    assert (row.uncoupled is not None, row.coupled is not None) == (uncoupled, coupled)


def test_no_card_no_draws() -> None:
    """Without a card there are values and no uncertainty, and nothing is drawn."""
    ruled: Ruled = predicted(typed_bench(FINE, card=None))[Connection.PARALLEL_AIDING].coupled
    assert (ruled.stated, ruled.monte_carlo, ruled.trusted) == (False, None, None)


def test_unknown_dots_leave_the_uncoupled_rule_alone() -> None:
    """It needs no dots; the coupled one does, and predicts nothing."""
    rows = predicted(typed_bench({"one": "10.000 mH", "two": "9.960 mH"}, dots=None)).values()
    assert [row.uncoupled is not None for row in rows].count(True) == 6
    assert all(row.coupled is None for row in rows)


def test_own_predictions_stand_at_their_connection() -> None:
    """Every own prediction is in the row of what its wiring amounts to, in any notation, several in order."""
    bench = typed_bench(FINE)
    bench.commit(ALL_WIRINGS["side"], "5 mH", "guess-1", by="p1")
    bench.commit("2a 2b | 1a=2a 1b=2b", "10 mH", "guess-2", by="p2")
    bench.commit("1a 2b | 1a=2a", "1 mH", "guess-3")
    rows = predicted(bench)
    assert [p.id for p in rows[Connection.PARALLEL_AIDING].own] == ["guess-1", "guess-2"]
    assert sum(len(row.own) for row in rows.values()) == 3


def test_the_wiring_is_the_one_that_was_read() -> None:
    """A row shows the wiring as entered where it was read, else the usual one for these dots."""
    bench = typed_bench({"one": "10.000 mH"}, dots="1a 2b")
    bench.read("2b 1a | 2a=1b", "25.00 µH", "turned")
    rows = predicted(bench)
    by_notation = {row.wiring.notation for row in rows.values()}
    assert "2b 1a | 2a=1b" in by_notation
    assert rows[Connection.SERIES_AIDING].wiring.notation == "1a 2a | 1b=2b"


def test_the_aiding_route_draws_beyond_physics() -> None:
    """With k near 1 from the aiding reading, about half of the draws have |k| > 1: counted and kept."""
    ruled = predicted(typed_bench({"one": "10.000 mH", "two": "9.960 mH", "line": "39.90 mH"}))
    drawn = ruled[Connection.PARALLEL_AIDING].coupled.monte_carlo
    assert 0.35 * DRAWS < drawn.invalid < 0.6 * DRAWS
    sound = predicted(typed_bench(FINE))[Connection.PARALLEL_AIDING].coupled.monte_carlo
    assert sound.invalid == 0


def test_the_same_record_gives_the_same_draws() -> None:
    """Predictions are reproducible digit for digit, and the seed is kept with them."""
    first, again = (
        predicted(typed_bench(FINE))[Connection.PARALLEL_AIDING].coupled.monte_carlo for _ in range(2)
    )
    assert first == again
    assert (first.seed, first.draws) == (20310506, DRAWS)


def test_fewer_draws_agree_with_many() -> None:
    """All connections come from one set of draws: parallel over series keeps the quarter law in its mean."""
    rows = predicted(typed_bench(FINE))
    P, Q = (rows[c].coupled.monte_carlo for c in (Connection.PARALLEL_AIDING, Connection.PARALLEL_OPPOSING))
    A = rows[Connection.SERIES_AIDING].coupled.monte_carlo
    assert P.mean / A.mean == pytest.approx(Q.mean / 25.0e-6, rel=1e-3)
