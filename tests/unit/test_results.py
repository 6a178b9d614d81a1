"""What the public calls return, and how they show themselves. Invented readings."""

import re
from typing import Any

import pytest

import labkit
from labkit.analysis import compare, predict
from labkit.analysis.analysis import analyse
from labkit.analysis.results import Budget, Compared, Explanation, Predictions
from labkit.errors import EntryError, MissingReading, WiringError
from labkit.record.bench import Bench
from labkit.show import Table, Text
from labkit.theory.wiring import Connection
from labkit.uncertainty.montecarlo import monte_carlo
from tests.benches import ALL_WIRINGS, EXAMPLE, typed_bench

FINE = EXAMPLE["bench-fine"]
SINGLES = {"one": "10.000 mH", "two": "9.960 mH"}


@pytest.fixture(autouse=True)
def fewer_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tables do not need a million draws here."""

    def few(*args: Any, **more: Any) -> Any:
        return monte_carlo(*args, **(more | {"draws": 20_000}))

    for module in (compare, predict):
        monkeypatch.setattr(module, "monte_carlo", few)


def plain(result: object) -> str:
    """A result's text with its line ends taken out."""
    return " ".join(str(result).split())


# ---- predict


def test_every_connection_has_a_row() -> None:
    """Without a wiring all eight are predicted; the table names route and readings below."""
    found = labkit.predict(typed_bench(FINE))
    assert isinstance(found, Predictions)
    assert len(found.rows) == 8
    assert "The coupled rule rests on singles and series-opposing (one, two, line-reversed)." in plain(found)


@pytest.mark.parametrize("wiring", ["1a 1b | 1a=2a 1b=2b", "2a 2b | 1a=2a 1b=2b", "2B 1A | 2b = 1b 1a=2a"])
def test_one_wiring_has_one_row(wiring: str) -> None:
    """Any notation of a wiring finds its connection."""
    (row,) = labkit.predict(typed_bench(FINE), wiring).rows
    assert row.connection is Connection.PARALLEL_AIDING


def test_a_row_by_name() -> None:
    """Rows are found by connection or its name; a name that is none is refused with those that are."""
    found = labkit.predict(typed_bench(FINE))
    assert found["parallel_aiding"] is found[Connection.PARALLEL_AIDING]
    with pytest.raises(
        EntryError, match="'sideways' is not a connection; the connections are self_inductance_1"
    ):
        found["sideways"]
    with pytest.raises(MissingReading, match="Nothing is predicted for the leads alone"):
        found["leads"]


@pytest.mark.parametrize(
    ("readings", "wiring", "said"),
    [
        ({}, "1a 2b | 1b=2a", "No rule says anything about 1a 2b | 1b=2a yet. Still missing"),
        (FINE, "1a 1a", "Nothing is predicted for the leads alone"),
        (FINE, "1a 2a", "Nothing is predicted for an open circuit"),
    ],
)
def test_what_cannot_be_predicted_is_said(readings: dict[str, str], wiring: str, said: str) -> None:
    """Too few readings, the leads, an open circuit: one sentence says why."""
    with pytest.raises(MissingReading, match=said.replace("|", r"\|")):
        labkit.predict(typed_bench(readings, card=None), wiring)


def test_a_winding_that_is_not_there_is_refused() -> None:
    """A wiring of winding 3 is no wiring of a pair."""
    with pytest.raises(WiringError, match="winding 3"):
        labkit.predict(typed_bench(FINE), "1a 3b")


def test_unknown_dots_are_a_note() -> None:
    """Nothing is predicted while the dots are open; once the readings decide, the note says for what."""
    assert "dots are not known and the readings do not decide" in plain(
        labkit.predict(typed_bench(SINGLES, dots=None))
    )
    decided = typed_bench(FINE | {"line": "39.90 mH"}, dots=None)
    assert "the readings decide for 1a 2a" in plain(labkit.predict(decided))


def test_three_windings_are_a_note() -> None:
    """For three windings predict and compare say why they are silent."""
    bench = typed_bench({})
    bench.describe(windings=3)
    assert "Predictions by rule are for two windings; this part has 3" in plain(labkit.predict(bench))
    assert "The part has 3 windings" in plain(labkit.compare(bench))


def test_prediction_table_cells() -> None:
    """Own, uncoupled, coupled and interval stand in one row, rounded to their uncertainty; gaps show."""
    bench = typed_bench(FINE)
    bench.commit(ALL_WIRINGS["side"], "5 mH", "guess")
    table = labkit.predict(bench).parts()[0]
    assert isinstance(table, Table)
    row = next(r for r in table.rows if r[0] == "parallel-aiding")
    assert row[:5] == (
        "parallel-aiding",
        "1a 1b | 1a=2a 1b=2b",
        "5 mH",
        "4.990 ± 0.017 mH",
        "9.958 ± 0.035 mH",
    )
    low, high = row[5].removesuffix(" mH").split(" to ")
    assert (float(low), float(high)) == pytest.approx((9.927, 9.988), abs=3e-3)
    assert next(r for r in table.rows if r[0] == "series-opposing")[4] == "rests on it"
    assert "–" in str(table.plain())


def test_without_a_card_the_prediction_says_why() -> None:
    """Values without ±, no interval, and the reason below."""
    text = plain(labkit.predict(typed_bench(FINE, card=None)))
    assert "±" not in text
    assert "Without a stated uncertainty: no meter is recorded." in text


# ---- compare


def test_comparison_shows_every_statement() -> None:
    """Four statements on a joint reading, closures and routes have their tables."""
    found = labkit.compare(typed_bench(FINE | {"line": "39.90 mH"}))
    assert isinstance(found, Compared)
    tables = [part for part in found.parts() if isinstance(part, Table)]
    assert [len(table.rows) for table in tables[:2]] == [8, 1]
    assert len(tables[2].rows) == len(found.couplings) == 3
    assert "E_n" in tables[0].header


def test_an_empty_bench_says_what_is_missing() -> None:
    """Nothing read: compare, predict and explain say what to read, and raise nothing."""
    for call in (labkit.compare, labkit.predict, labkit.explain):
        assert "Still missing for the comparison: winding 1 alone (1a 1b)" in plain(call(typed_bench({})))


def test_a_verdict_by_monte_carlo_is_marked() -> None:
    """Where first order is not to be trusted the verdict says that the draws decided."""
    bench = typed_bench(EXAMPLE["hand-held-coarse"] | {"side": "9.96 mH"}, card="hand-held-coarse")
    rows = [
        r for r in labkit.compare(bench).parts()[0].rows if r[1] == "coupled" and r[0].startswith("parallel")
    ]
    assert rows[0][-1].endswith("(MC)")


# ---- budget


def test_budget_adds_up() -> None:
    """Contributions and what readings share add up, as squares, to the combined standard uncertainty."""
    found = labkit.budget(typed_bench(FINE), "parallel_aiding")
    assert isinstance(found, Budget)
    parts = sum(row.contribution**2 for row in found.estimate.budget) + found.estimate.covariance_part
    assert parts == pytest.approx(found.estimate.standard_uncertainty**2)
    *rows, shared, total = found.parts()[0].rows
    assert [row[0] for row in rows] == ["one", "two", "line-reversed"]
    assert shared[0].startswith("shared between inputs")
    assert shared[-1].startswith("−")
    assert total[1] == "9.958 ± 0.035 mH"
    assert total[-1] == "18 µH"


@pytest.mark.parametrize("bench", [typed_bench({}), typed_bench(FINE, card=None)], ids=["empty", "no card"])
def test_no_budget_is_a_sentence(bench: Bench) -> None:
    """While there is none, or no uncertainty is stated, a budget is a sentence without any ±."""
    text = plain(labkit.budget(bench, "parallel_aiding"))
    assert text.startswith("There is no uncertainty budget of parallel-aiding by the coupled rule yet.")
    assert "±" not in text


def test_a_budget_of_nothing_is_refused() -> None:
    """A name that is no connection is refused with those that are."""
    with pytest.raises(EntryError, match="is not a connection"):
        labkit.budget(typed_bench(FINE), "paralel")


# ---- all of them


CALLS = {
    "predict": labkit.predict,
    "compare": labkit.compare,
    "explain": labkit.explain,
    "budget": lambda b: labkit.budget(b, "parallel_aiding"),
}


@pytest.mark.parametrize("call", CALLS.values(), ids=CALLS)
def test_a_result_shows_itself(call: Any) -> None:
    """In a notebook a result is HTML whose tags are closed, in a terminal text no wider than the page."""
    result = call(typed_bench(FINE | {"line": "39.90 mH", "side": "9.958 mH"}))
    html = result._repr_html_()
    for tag in ("p", "table", "td", "th", "tr", "div"):
        assert html.count(f"<{tag}>") + html.count(f"<{tag} ") == html.count(f"</{tag}>")
    assert max(map(len, str(result).splitlines())) <= 112


@pytest.mark.parametrize("call", CALLS.values(), ids=CALLS)
def test_the_same_record_gives_the_same_text(call: Any) -> None:
    """Two benches with the same readings say the same, letter by letter."""
    first, second = (str(call(typed_bench(FINE | {"side": "9.958 mH"}))) for _ in range(2))
    assert first == second


def test_a_result_follows_the_record() -> None:
    """After a further entry the next call sees it; without one the analysis is kept."""
    bench = typed_bench(FINE)
    before = analyse(bench)
    assert analyse(bench) is before
    bench.read(ALL_WIRINGS["line"], "39.90 mH", "line")
    assert analyse(bench) is not before
    assert any(c.observation.id == "line" for c in labkit.compare(bench).comparisons)


def test_findings_come_with_the_explanation() -> None:
    """`explain` returns the findings themselves, and shows one paragraph for each, in whatever order."""
    found = labkit.explain(typed_bench(FINE))
    assert isinstance(found, Explanation)
    shown = [(part.text, part.tone) for part in found.parts() if isinstance(part, Text)]
    assert sorted(shown) == sorted((finding.sentence, finding.tone) for finding in found.findings)
    assert len(shown) > 3


# ---- readings with which a formula divides by zero

CANCELLED = {"one": "2.771 mH", "two": "2.745 mH", "line-reversed": "11.032 mH"}
"""Reversed in line reads 2(L1 + L2) to the digit, as a wrong polarity now and then does."""


@pytest.mark.parametrize("call", [labkit.predict, labkit.compare, labkit.explain])
@pytest.mark.parametrize("card", ["bench-fine", None])
def test_a_statement_without_a_value_is_left_out_and_said(call: Any, card: str | None) -> None:
    """A = 2(L1 + L2) - B is zero, so parallel-opposing has no value; everything else is stated."""
    text = plain(call(typed_bench(CANCELLED, card=card)))
    assert "The coupled rule gives no finite value for parallel-opposing from one 2.771 mH" in text
    assert re.search(r"\b(nan|inf|None)\b", text) is None
    assert labkit.predict(typed_bench(CANCELLED, card=card))["series_aiding"].coupled is not None
    assert labkit.predict(typed_bench(CANCELLED, card=card))["parallel_opposing"].coupled is None


def test_rounding_is_no_value() -> None:
    """In line reads 2(L1 + L2): the floats leave B = 1e-18 H, and P+ is not given by dividing by that."""
    bench = typed_bench({"one": "1.003 mH", "two": "1.100 mH", "line": "4.206 mH"})
    assert labkit.predict(bench)["parallel_aiding"].coupled is None


def test_the_last_steps_say_what_has_no_value() -> None:
    """A derivation with the figures of such a bench ends in the same sentence."""
    text = plain(labkit.work_out("1a 1b | 1a=2b 1b=2a", typed_bench(CANCELLED)))
    assert "The coupled rule gives no finite value for parallel-opposing" in text


def test_an_impossible_prediction_says_what_is_said_of_its_route() -> None:
    """5 mH, 5 mH and 25 mH in line would need k = 1.5: predict repeats the word of compare on the route."""
    bench = typed_bench({"one": "5.000 mH", "two": "5.000 mH", "line": "25.00 mH"})
    sentence = "Singles and series-aiding: |k| exceeds 1 by more than its expanded uncertainty"
    assert sentence in plain(labkit.predict(bench))
    assert sentence in plain(labkit.compare(bench))


@pytest.mark.parametrize(
    "call",
    [
        lambda bench: labkit.work_out(bench, "1a 1b"),
        lambda _: labkit.work_out("1a 1b", "bench"),
        lambda _: labkit.predict("bench"),
        lambda bench: labkit.predict(bench, bench),
    ],
    ids=["work_out swapped", "no bench", "predict no bench", "no wiring"],
)
def test_arguments_in_each_others_place_are_refused_with_a_sentence(call: Any) -> None:
    """What was given, by its kind, and what is expected."""
    with pytest.raises(EntryError, match=r"was given where a (wiring|bench) is expected"):
        call(typed_bench(EXAMPLE["bench-fine"]))
