"""What a wiring should read by the readings of a bench, beside the same with one winding turned round."""

from functools import cache

import pytest

from labkit.analysis.results import predict
from labkit.errors import EntryError
from labkit.faces.wiring_name import what_is
from labkit.record.bench import Bench
from labkit.theory.wiring import Connection, parse_dots, standard_wiring
from labkit.words import labels
from labkit.words import widgets as words
from tests.benches import EXAMPLE, typed_bench

FINE = EXAMPLE["bench-fine"]
LINE_REVERSED = "1a 2a | 1b=2b"
SIDE_BY_SIDE = "1a 1b | 1a=2a 1b=2b"


@cache
def read_bench() -> Bench:
    """A bench with readings, analysed once for all tests that only look at it."""
    return typed_bench(FINE)


@pytest.mark.parametrize(
    "connection", [c for c in Connection if c not in (Connection.OPEN, Connection.LEADS)]
)
def test_figures_are_those_of_the_prediction(connection: Connection) -> None:
    """As built: the very texts of `predict`, where that gives any."""
    bench = read_bench()
    wiring = standard_wiring(connection, parse_dots("1a 2a"))
    assert wiring is not None
    _, without, coupled = what_is(wiring, bench).figures.rows[0]
    table = {row[0]: row[3:5] for row in predict(bench).parts()[0].rows}  # type: ignore[union-attr]
    expected = table[labels.CONNECTION[connection]]
    assert without == expected[0] or not expected[0]
    assert coupled == expected[1] or expected[1] == "rests on it"
    assert coupled


def test_the_wrong_way_round_stands_below() -> None:
    """The second row is the same wiring with one winding turned, by the same readings."""
    bench = read_bench()
    built, turned = what_is(SIDE_BY_SIDE, bench).figures.rows
    other = what_is("1a 1b | 1a=2b 1b=2a", bench).figures.rows
    assert built[0] == "as built: parallel-aiding"
    assert turned[0] == "one winding turned round: parallel-opposing"
    assert (built[1:], turned[1:]) == (other[1][1:], other[0][1:])


def test_a_figure_that_is_its_own_reading_is_called_that() -> None:
    """The coupled rule rests on the series-opposing reading; its figure there predicts nothing."""
    bench = read_bench()
    note = words.RESTS_ON_ITSELF.format(what="series-opposing")
    assert note in what_is(LINE_REVERSED, bench).figures.notes
    assert note not in what_is(SIDE_BY_SIDE, bench).figures.notes
    assert words.ITS_READING.format(what="winding 1 alone") in what_is("1a 1b", bench).figures.notes


def test_other_dots_change_the_name_and_not_the_figures() -> None:
    """A meter does not see dots: moved, they rename the wiring; the figures stay, and a note says so."""
    bench = read_bench()
    as_marked, moved = (what_is(LINE_REVERSED, bench, dots=dots) for dots in (None, "1a 2b"))
    assert (as_marked.name, moved.name) == ("series-opposing", "series-aiding")
    assert [row[1:] for row in as_marked.figures.rows] == [row[1:] for row in moved.figures.rows]
    assert [row[0] for row in moved.figures.rows] == [words.ROW_BUILT, words.ROW_TURNED]
    note = words.BY_RECORD.format(board="1a 2b", record="1a 2a")
    assert note in moved.figures.notes
    assert note not in what_is(LINE_REVERSED, bench, dots="1b 2b").figures.notes


def test_undecided_dots_show_both_possibilities_by_the_rule_without_coupling() -> None:
    """Without marked dots the windings alone decide nothing: one row a possibility, no coupled figure."""
    bench = typed_bench({id: FINE[id] for id in ("one", "two")}, dots=None, card=None)
    rows = what_is(LINE_REVERSED, bench).figures.rows
    assert rows == (
        ("if it is: series-opposing", "19.96 mH", ""),
        ("if it is: series-aiding", "19.96 mH", ""),
    )


def test_undecided_dots_use_a_reading_that_does_not_depend_on_them() -> None:
    """A short-circuit reading gives |M| without the dots: both possibilities have a coupled figure."""
    readings = {"one": "4.000 mH", "two": "6.000 mH", "one-shorted": "2.500 mH"}  # M = 3 mH
    rows = what_is(LINE_REVERSED, typed_bench(readings, dots=None, card=None)).figures.rows
    assert rows == (
        ("if it is: series-opposing", "10.00 mH", "4.000 mH"),
        ("if it is: series-aiding", "10.00 mH", "16.00 mH"),
    )


def test_figures_grow_with_the_readings() -> None:
    """Nothing read: no row. One winding: its own row only. Both: the rule without coupling. Then all."""
    assert what_is(LINE_REVERSED, typed_bench({})).figures.rows == ()
    one = typed_bench({"one": FINE["one"]})
    assert what_is(LINE_REVERSED, one).figures.rows == ()
    assert what_is("1a 1b", one).figures.rows == (("as built: winding 1 alone", *["10.000 ± 0.035 mH"] * 2),)
    both = what_is(LINE_REVERSED, typed_bench({"one": FINE["one"], "two": FINE["two"]})).figures
    assert [row[1:] for row in both.rows] == [("19.960 ± 0.070 mH", "")] * 2
    assert any("Still missing" in note for note in both.notes)


@pytest.mark.parametrize("notation", ["1a 2a", "1a 1b | 1a=1b"])
def test_open_circuit_and_leads_have_no_figure(notation: str) -> None:
    """There is no inductance of the part to be read, and nothing is claimed."""
    assert what_is(notation, read_bench()).figures.rows == ()


def test_an_interval_is_given_where_first_order_is_not_to_be_trusted() -> None:
    """The aiding route leaves B unresolved: the parallel-aiding figure comes with its interval."""
    bench = typed_bench({"one": "10.000 mH", "two": "9.960 mH", "line": "39.90 mH"})
    assert any("95 % interval" in note for note in what_is(SIDE_BY_SIDE, bench).figures.notes)
    assert not any("95 % interval" in note for note in what_is(SIDE_BY_SIDE, read_bench()).figures.notes)


def test_without_a_bench_it_still_draws_and_names() -> None:
    """Picture and name are there, and one note says why there are no figures."""
    built = what_is("1a 2b | 1b=2a", dots="1a 2a")
    assert built.name == "series-aiding"
    assert "<svg" in built.picture.svg
    assert built.figures.notes == (words.NO_BENCH,)
    assert "Series-aiding\n=============" in str(built)


def test_windings_must_be_those_of_the_bench() -> None:
    """One sentence names both numbers."""
    with pytest.raises(EntryError, match=r"2 windings, but windings=3"):
        what_is("1a 1b", read_bench(), windings=3)
