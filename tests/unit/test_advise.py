"""What to measure next, for a cause and for a quantity, and the plan before anything is measured.

Parts and meters are invented.
"""

import math
from functools import cache
from typing import Any

import numpy as np
import pytest

from labkit.analysis import advice as advise
from labkit.analysis.advice import Narrowing, NextReading, Plan, plan
from labkit.analysis.analysis import Analysis
from labkit.analysis.observations import observe
from labkit.analysis.results import next_reading
from labkit.errors import EntryError
from labkit.record.bench import Bench
from labkit.record.card import Card, read_card
from labkit.record.demo import practice_bench
from labkit.resources import shipped
from labkit.theory.wiring import Connection, Wiring
from labkit.words import analysis as words
from tests.benches import PAIR, typed_bench

FOUR = {"one": "10.000 mH", "two": "9.960 mH", "line-reversed": "25.00 µH", "side": "9.958 mH"}
COARSE = {"one": "10.00 mH", "two": "9.96 mH", "line-reversed": "25.0 µH", "side": "9.96 mH"}


def card(name: str) -> Card:
    return read_card(shipped("data", "cards", f"{name}.toml"))


FINE, HAND_HELD = card("bench-fine"), card("hand-held-coarse")


def plain(shown: Any) -> str:
    """A result as one line of text."""
    return " ".join(str(shown).split())


@cache
def advice(question: str = "cause", hand_held: bool = True, **more: str) -> Any:
    """What is advised after the four readings and what was read besides."""
    texts, name = (COARSE, "hand-held-coarse") if hand_held else (FOUR, "bench-fine")
    return next_reading(
        typed_bench(texts | {id.replace("_", "-"): t for id, t in more.items()}, card=name), question
    )


def test_open_clamp_asks_for_the_reading_with_one_winding_reversed() -> None:
    """Side by side the second clamp is open to doubt: P- is advised, with its value for both cases."""
    sentence = plain(advice())
    assert isinstance(advice(), NextReading)
    assert advice().connection is Connection.PARALLEL_OPPOSING
    assert "about 6.2 µH if everything was done as entered" in sentence
    assert (
        "about 10 mH if side shows winding 1 alone (as with an open clamp on the other winding)" in sentence
    )


def test_expected_values_differ_clearly_where_told_apart() -> None:
    """What the reading would show differs a thousandfold, and a good part of what is open is told apart."""
    found = advice()
    assert max(found.expected) > 1000 * min(found.expected)
    assert advise.WORTHWHILE < found.told_apart <= 1.0


def test_best_for_the_cause_tells_most_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of wirings that all tell something, the one that tells most of what is open apart is advised."""
    ranking = Analysis(typed_bench(COARSE, card="hand-held-coarse")).ranking
    assert ranking is not None
    shares = dict.fromkeys(advise.CONNECTIONS, 0.1) | {
        Connection.SERIES_AIDING: 0.7,
        Connection.SHORT_CIRCUIT_1: 0.3,
        Connection.PARALLEL_AIDING: 0.9,  # read already
    }
    any_wiring = Wiring.parse("1a 1b")
    monkeypatch.setattr(advise, "_try", lambda c, *_: NextReading(any_wiring, c, (), shares[c], ""))
    found = advise.next_for_cause(ranking, HAND_HELD, first_dots(), ranking.observations[0].frequency)
    assert isinstance(found, NextReading)
    assert found.connection is Connection.SERIES_AIDING


def test_wirings_that_tell_nothing_have_no_share() -> None:
    """Whether a clamp was open: P- tells, series-aiding and the short-circuit tests do not."""
    ranking = Analysis(typed_bench(COARSE, card="hand-held-coarse")).ranking
    assert ranking is not None
    f = ranking.observations[0].frequency
    shares = {
        c: advise._try(c, ranking.unseparated, HAND_HELD, first_dots(), f).told_apart
        for c in (Connection.PARALLEL_OPPOSING, Connection.SERIES_AIDING, Connection.SHORT_CIRCUIT_1)
    }
    assert shares[Connection.PARALLEL_OPPOSING] > advise.WORTHWHILE
    assert shares[Connection.SERIES_AIDING] < 0.01
    assert shares[Connection.SHORT_CIRCUIT_1] < 0.01


def first_dots() -> tuple[Any, ...]:
    dots = typed_bench({}).dots
    assert dots is not None
    return dots


def test_cases_name_only_what_differs() -> None:
    """What every explanation still open has in common is not said again in each case."""
    found = practice_bench(1)
    first = plain(next_reading(found.bench))
    assert "if nothing else went wrong" in first
    assert "as with an open clamp" not in first


def test_close_values_get_the_digits_to_tell_them_apart() -> None:
    """124.9 and 130.6 µH are not both called 0.12 mH."""
    assert advise._told_apart([124.9e-6, 130.6e-6]) == ["about 124.9 µH", "about 130.6 µH"]
    assert advise._told_apart([6.2e-6, 10e-3]) == ["about 6.2 µH", "about 10 mH"]


def test_what_nobody_can_foretell_gets_no_value() -> None:
    """Under an explanation that leaves the pair open no value is named, only that it would be another."""
    assert advise._told_apart([8.1e-6, None]) == ["about 8.1 µH", words.SOMETHING_ELSE]
    assert advise._told_apart([None, 8.1e-6]) == [words.UNFORETOLD, "about 8.1 µH"]


def test_overlap_of_a_narrow_and_a_wide_forecast_is_small() -> None:
    """A reading that one explanation pins down and another leaves open tells them apart all the same."""
    mean, spread = np.zeros(4), np.array([0.003, 0.003, 2.0, math.inf])
    same, wide, unknown = advise.overlap_with_first(mean, spread)[1:]
    assert same == pytest.approx(1.0)
    assert wide < 0.06
    assert unknown == 1.0


def test_reading_taken_is_not_advised_again() -> None:
    """Once P- is there, something else is advised, or that nothing is left."""
    found = advice(side_reversed="6.2 µH")
    assert getattr(found, "connection", None) is not Connection.PARALLEL_OPPOSING


@pytest.mark.parametrize(
    ("question", "connection", "name"),
    [
        ("coupling_coefficient", Connection.SHORT_CIRCUIT_2, "k"),
        ("parallel_aiding", Connection.PARALLEL_AIDING, "the parallel-aiding inductance"),
    ],
)
def test_narrowing_is_promised_in_numbers(question: str, connection: Connection, name: str) -> None:
    """How good k, how good P+: the wiring, and the standard uncertainty now and then."""
    found = advice(question, hand_held=False)
    assert found.connection is connection
    assert found.then < 0.9 * found.now
    assert f"the standard uncertainty of {name} from" in plain(found)


def test_k_from_aiding_alone_asks_for_a_reading_of_the_small_difference() -> None:
    """After L1, L2, A, P+ a reading that sees the leakage narrows k a hundredfold."""
    texts = {"one": "10.000 mH", "two": "9.960 mH", "line": "39.90 mH", "side": "9.958 mH"}
    found = next_reading(typed_bench(texts), "coupling_coefficient")
    assert isinstance(found, Narrowing)
    assert found.connection in (Connection.SERIES_OPPOSING, Connection.SHORT_CIRCUIT_2)
    assert found.then < found.now / 100


def test_advised_is_what_narrows_most() -> None:
    """Of all eight further readings after L1, L2, A the one advised leaves the least u(k)."""
    ids = {"one": "10.000 mH", "two": "9.960 mH", "line": "39.89 mH"}
    observations = observe(typed_bench(ids))
    dots = first_dots()
    f = observations[0].frequency
    found = advise.next_for_quantity(observations, "coupling_coefficient", FINE, dots, f)
    assert isinstance(found, Narrowing)
    assert found.now == pytest.approx(advise.uncertainty_of(advise.fit(observations), "coupling_coefficient"))
    for c in advise.CONNECTIONS:
        pair = advise.pair_at(*(p.value for p in advise.fit(observations).parameters))
        value = float(advise.STABLE_FORMS[c](*pair))
        further = advise.ideal_observation(c, value, FINE, dots, f)
        if further:
            then = advise.uncertainty_of(advise.fit([*observations, further]), "coupling_coefficient")
            assert then >= found.then * (1 - 1e-9), c
    assert found.then < found.now / 50


def test_no_gain_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """If no further wiring narrows a quantity by a tenth, that is the answer."""
    monkeypatch.setattr(advise, "uncertainty_of", lambda *_: 1e-6)
    assert plain(advice.__wrapped__("coupling_coefficient")) == plain(words.NO_GAIN.format(quantity="k"))


def test_too_few_readings_are_told_what_is_open_and_what_settles_it() -> None:
    """With two windings alone: M, k and what follows are open, and series-opposing is named first."""
    found = plain(next_reading(typed_bench({"one": "10.000 mH", "two": "9.960 mH"}), "coupling_coefficient"))
    assert found.startswith("Open: M, k and what follows from them.")
    assert "would settle it: series-opposing" in found


def test_without_dots_they_are_asked_for_first() -> None:
    """Nobody knows what a wiring is before the dots are known."""
    ids = {"one": "10.000 mH", "two": "9.960 mH"}
    assert plain(next_reading(typed_bench(ids, dots=None))) == plain(words.NEEDS_DOTS)


def test_contradiction_is_settled_before_anything_is_narrowed() -> None:
    """A prefix slip in the record: no quantity is narrowed before it is settled."""
    bench = typed_bench(FOUR | {"line-reversed": "25.00 mH"})
    assert plain(next_reading(bench, "coupling_coefficient")) == plain(words.SETTLE_FIRST)


def test_doubted_and_read_again_asks_to_correct_the_first() -> None:
    """After a reading that settles a slip nothing new is to be wired: correct or withdraw the first one."""
    bench = typed_bench(FOUR | {"line-reversed": "25.00 mH"})
    bench.read("1a 2a | 1b=2b", "25.00 µH", "again")
    assert "line-reversed was read again since" in plain(next_reading(bench))


# --- planning ------------------------------------------------------------------------------------------


def planned(wanted: float = 1e-5) -> Plan:
    return plan(PAIR, "coupling_coefficient", wanted, [HAND_HELD, FINE])


def test_plan_says_which_readings_and_which_card_reach_k_to_1e_5() -> None:
    """k to 1e-5 at 0.99875: the fine card reaches it with series-opposing; the coarse one does not."""
    rows = {(card_, read): u for card_, read, u in planned().rows}
    opposing = "winding 1 alone, winding 2 alone, series-opposing"
    aiding = "winding 1 alone, winding 2 alone, series-aiding"
    assert rows[FINE.title, opposing] <= 1e-5
    assert rows[HAND_HELD.title, opposing] > 1e-5
    assert rows[FINE.title, aiding] > 1e-3


def test_plan_is_ordered_by_what_is_to_be_expected() -> None:
    """The best way stands first, and each row says whether it reaches what is wanted."""
    found = planned()
    expected = [u for _, _, u in found.rows]
    assert expected == sorted(expected)
    text = plain(found)
    assert "Standard uncertainty of k to expect, wanted 0.000010" in text
    assert words.YES in text.split()
    assert words.NO in text.split()


def test_plan_names_the_least_work_that_reaches_it() -> None:
    """Three readings with the fine card are enough; if nothing is, that is said with the best to expect."""
    assert planned().sentence.startswith("Least work that reaches it: winding 1 alone, winding 2 alone, ")
    assert FINE.title in planned().sentence
    assert planned().sentence.count("series-aiding") == 0
    assert planned(1e-9).sentence.startswith("None of these cards reaches it with these readings")


@pytest.mark.parametrize("ask", [lambda n: plan(PAIR, n, 1e-5, [FINE]), lambda n: next_reading(_four(), n)])
def test_unknown_quantity_is_refused_with_the_known_ones(ask: Any) -> None:
    """A name that no fit knows is refused, and those that it knows are listed."""
    with pytest.raises(EntryError, match="quality is nothing that a joint fit tells"):
        ask("quality")


def test_wanted_uncertainty_must_be_a_size() -> None:
    """Zero or less can never be reached, and is refused."""
    with pytest.raises(EntryError, match="above zero"):
        planned(0.0)


def _four() -> Bench:
    return typed_bench(FOUR)


def test_plan_with_a_readable_set_only() -> None:
    """A card whose ranges end below what a set would read gives no row for that set."""
    short = FINE.model_copy(update={"ranges": tuple(r for r in FINE.ranges if r.full_scale < 30e-3)})
    reads = {read for _, read, _ in plan(PAIR, "coupling_coefficient", 1e-5, [short]).rows}
    assert not any("series-aiding" in read for read in reads)
    assert any("series-opposing" in read for read in reads)
