"""A reading that was doubted and taken again: one set-up or two, and what that settles."""

from labkit.analysis.analysis import Analysis, analyse, set_ups
from labkit.record.bench import Bench
from labkit.theory.wiring import Connection
from tests.benches import ALL_WIRINGS, typed_bench

SOUND = {"one": "10.000 mH", "two": "9.960 mH", "line-reversed": "25.00 µH", "side": "9.958 mH"}
SLIPPED = SOUND | {"line-reversed": "25.00 mH"}
LINE = ALL_WIRINGS["line-reversed"]


def apart(bench: Bench, connection: Connection = Connection.SERIES_OPPOSING) -> list[tuple[str, ...]]:
    """Ids of the readings of a connection, one tuple a set-up."""
    return [o.ids for o in set_ups(bench, analyse(bench).shared.pool()[connection])]


def test_repeats_in_a_row_are_one_set_up() -> None:
    """Two readings of one wiring with nothing read in between stay one observation."""
    bench = typed_bench({id: SOUND[id] for id in ("one", "two", "line-reversed")})
    bench.read(LINE, "25.01 µH", "again")
    bench.read(ALL_WIRINGS["side"], "9.958 mH", "side")
    assert apart(bench) == [("line-reversed", "again")]


def test_wiring_read_again_after_another_was_set_up_anew() -> None:
    """With another wiring in between, the second reading is an observation of its own."""
    bench = typed_bench(SOUND)
    bench.read(LINE, "25.01 µH", "again")
    assert apart(bench) == [("line-reversed",), ("again",)]


def test_repeats_a_thousandfold_apart_are_not_averaged() -> None:
    """25.00 mH and 25.00 µH in a row are no scatter, whatever their mean."""
    bench = typed_bench({id: SLIPPED[id] for id in ("one", "two", "line-reversed")})
    bench.read(LINE, "25.00 µH", "again")
    assert apart(bench) == [("line-reversed",), ("again",)]


def test_set_ups_share_the_digit_error_of_the_range() -> None:
    """What the card says of the digits is one error in both, so that setting up anew does not shrink it."""
    bench = typed_bench(SOUND)
    bench.read(LINE, "25.01 µH", "again")
    first, second = set_ups(bench, analyse(bench).shared.pool()[Connection.SERIES_OPPOSING])
    shared = {source.label for source in first.input.coefficients} & {
        source.label for source in second.input.coefficients if source in first.input.coefficients
    }
    assert shared == {"gain", "digits"}


def test_reread_settles_which_of_the_two_was_slipped() -> None:
    """25.00 mH is doubted, then read again as 25.00 µH: the prefix of the first is what is named."""
    bench = typed_bench(SLIPPED)
    bench.read(LINE, "25.00 µH", "again")
    ranking = Analysis(bench).ranking
    assert ranking is not None
    (deed,) = ranking.first.deeds
    assert (deed.observation.id, deed.alternative.cause) == ("line-reversed", "prefix")


def test_reading_the_same_again_weighs_against_a_slip() -> None:
    """25.00 mH set up anew and read as 25.00 mH once more: a slip of the prefix becomes less likely."""
    once, twice = typed_bench(SLIPPED), typed_bench(SLIPPED)
    twice.read(LINE, "25.00 mH", "again")
    slips = []
    for bench in (once, twice):
        ranking = Analysis(bench).ranking
        assert ranking is not None
        slips.append(sum(e.probability for e in ranking.explanations if e.causes["prefix"]))
    assert slips[0] > 0.9
    assert slips[1] < slips[0]
