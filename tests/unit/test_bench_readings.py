"""What stands after corrections and withdrawals. All readings are invented."""

from pathlib import Path

import pytest

from labkit.errors import RecordError
from labkit.record import state as readings
from labkit.record.bench import Bench, open_bench
from tests.benches import empty_bench, typed_bench

SERIES, TURNED = "1a 2b | 1b=2a", "1a 2a | 1b=2b"


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """A described bench without readings."""
    return empty_bench(tmp_path)


def test_readings_keep_their_first_order(bench: Bench) -> None:
    """A corrected reading stays in its place; its lines are its own and those of its corrections."""
    bench.read("1a 1b", "10.00 mH", "one")
    bench.read("2a 2b", "99.6 mH", "two")
    bench.read(SERIES, "39.9 mH", "line")
    bench.correct("two", "9.96 mH", "decimal point")
    assert [(r.id, r.lines) for r in bench.readings] == [("one", (4,)), ("two", (5, 7)), ("line", (6,))]


@pytest.mark.parametrize(
    ("second", "D"),
    [("D 0.32", 0.32), ("Q 4", 0.25), ("Q 0", None), ("R 0.52 Ω", None), (None, None)],
)
def test_dissipation_factor_from_the_second_display(
    bench: Bench, second: str | None, D: float | None
) -> None:
    """D is read or is 1/Q; a resistance or a Q of zero gives none, and none is made up."""
    bench.read("1a 1b", "10.00 mH", "one", second=second)
    assert bench.readings[0].dissipation_factor == D


@pytest.mark.parametrize(
    ("wiring", "joint"), [("1a 1b", False), ("2b 2a", False), (SERIES, True), ("1a 1b | 2a=2b", True)]
)
def test_a_joint_reading_involves_two_windings(bench: Bench, wiring: str, joint: bool) -> None:
    """One winding left open beside the other is not joint; a short or a tie makes it so."""
    bench.read(wiring, "10.00 mH", "x")
    assert bench.readings[0].joint is joint


def test_a_prediction_counts_if_it_stands_on_an_earlier_line(bench: Bench) -> None:
    """Before the reading it counts, also in other words for the same wiring; after it, it does not."""
    bench.commit("2b 1a | 2a=1b", "20 mH", "guess")
    bench.read(SERIES, "39.9 mH", "line")
    bench.read(TURNED, "25.0 µH", "turned")
    bench.commit(TURNED, "20 mH", "late")
    assert [(r.id, r.predicted_before) for r in bench.readings] == [("line", True), ("turned", False)]


def test_a_prediction_counts_for_the_wiring_as_corrected(bench: Bench) -> None:
    """A reading moved to another wiring is as predicted as that wiring was when it was read."""
    bench.commit(SERIES, "20 mH", "guess")
    bench.read(SERIES, "25.0 µH", "first")
    bench.read(TURNED, "39.9 mH", "second")
    bench.correct("first", reason="swapped", wiring=TURNED)
    bench.correct("second", reason="swapped", wiring=SERIES)
    assert {r.id: r.predicted_before for r in bench.readings} == {"first": False, "second": True}


def test_predictions_keep_line_time_and_person(bench: Bench) -> None:
    """A prediction knows who made it, when, and on which line."""
    bench.commit(SERIES, "20 mH", "guess", by="p1")
    (own,) = bench.predictions
    assert (own.line, own.by, own.wiring.notation, str(own.shown)) == (4, "p1", SERIES, "20 mH")
    assert own.utc == bench.events[3].utc


@pytest.mark.parametrize(
    "fields",
    [
        {"shown": "much"},
        {"wiring": "1a"},
        {"quantity": "length"},
        {"frequency": "soon"},
        {"second": {"quantity": "X", "shown": "3"}},
        {"second": {"quantity": "Q", "shown": "x"}},
    ],
    ids=str,
)
def test_a_line_that_no_bench_would_have_stored_is_named(bench: Bench, fields: dict[str, object]) -> None:
    """A reading put into the file by other means is refused with its line and id, in one sentence."""
    whole = {"part": "sample-7", "wiring": "1a 1b", "quantity": "inductance", "shown": "10.00 mH"}
    bench.record.append("reading", "odd", **(whole | fields))
    with pytest.raises(
        RecordError, match="Line 4 of the record does not make reading 'odd' readable"
    ) as refusal:
        _ = open_bench(bench.record.folder).readings
    assert "\n" not in str(refusal.value)


def test_more_windings_than_two(bench: Bench) -> None:
    """A part with three windings takes readings of the third one."""
    bench.describe(windings=3)
    bench.read("3a 3b | 1a=1b", "1.00 mH", "three")
    assert bench.readings[0].wiring.highest_winding == 3


def test_a_bench_in_memory_is_a_bench() -> None:
    """The benches that tests keep in memory hold what the same calls put into a file."""
    assert [str(r.shown) for r in typed_bench({"one": "10.00 mH", "two": "9.96 mH"}).readings] == [
        "10.00 mH",
        "9.96 mH",
    ]


def test_an_entry_looks_at_no_other_reading(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """However long the record, to enter or correct one reading only that one is worked out."""
    for n in range(12):
        bench.read(SERIES, f"{n + 10}.0 mH", f"r{n}")
    seen: list[str] = []
    real = readings._reading
    monkeypatch.setattr(
        readings, "_reading", lambda fields, at: (seen.append(fields["id"]), real(fields, at))[1]
    )
    bench.read(SERIES, "25.0 mH", "more")
    bench.correct("r3", "13.1 mH", "misread")
    assert set(seen) <= {"more", "r3"}
