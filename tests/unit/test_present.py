"""The presenting view as plain functions. All readings here are invented."""

import json
from pathlib import Path
from typing import Any

import pytest

import labkit
from labkit.analysis.analysis import analyse
from labkit.errors import EntryError
from labkit.record.bench import Bench, open_bench
from labkit.widgets.presentation import Presentation, Presenting, present
from labkit.words import widgets as words
from tests.benches import coupled_bench, empty_bench

State = dict[str, Any]


@pytest.fixture
def demo() -> Presentation:
    """The shipped demo, prepared."""
    view = Presentation(labkit.demo_bench())
    view.handle({"do": "prepare"})
    return view


@pytest.fixture
def singles(tmp_path: Path) -> Bench:
    """A bench on which each winding alone was read."""
    return coupled_bench(tmp_path / "bench", ["one", "two"], own=False)


def record(view: Presentation, number: int = 0) -> State:
    """The bench as shown; 1 is the stored record."""
    shown: State = view.state()["records"][number]
    return shown


def page(view: Presentation, key: str) -> State:
    """One page as shown."""
    found: State = next(each for each in record(view)["pages"] if each["key"] == key)
    return found


def hidden(view: Presentation, key: str) -> dict[str, State]:
    """What is covered on a page, by name, in the order of revealing."""
    return {each["name"]: each for each in page(view, key)["hidden"]}


def test_a_page_reveals_prediction_rules_reading_verdict_in_this_order(demo: Presentation) -> None:
    """What people predicted comes before what the rules say, that before the reading, the verdict last."""
    found = hidden(demo, "read-line-forward")
    assert list(found) == ["own", "rules", "reading", "verdict"]
    assert found["own"]["text"] == "13.6 mH (p1)"
    assert found["rules"]["sides"]["uncoupled"]["text"] == "13.641 ± 0.048 mH"
    assert found["reading"]["text"] == "27.24 mH"
    assert found["verdict"]["text"] == words.VERDICTS["inconsistent", "consistent"]


def test_nothing_covered_stands_elsewhere_on_the_page(demo: Presentation) -> None:
    """A reading is nowhere on its page but among the covered things."""
    shown = json.dumps(page(demo, "read-line-forward") | {"hidden": []})
    assert "series-aiding" in shown
    assert "27.24" not in shown
    assert "13.6" not in shown


def test_the_coupled_prediction_owes_nothing_to_its_own_reading(demo: Presentation) -> None:
    """A connection that the preferred route rests on is predicted by another route, or not at all."""
    shown = hidden(demo, "read-line-reversed")["rules"]["sides"]["coupled"]["text"]
    believed = analyse(labkit.demo_bench()).believed
    assert believed is not None
    assert shown == "31.24 ± 0.26 µH"
    assert shown != believed.text(believed.leakage_differential_mode)


def test_without_another_reading_of_both_there_is_no_coupled_prediction(tmp_path: Path) -> None:
    """With the only joint reading being its own, the coupled side says what it needs."""
    view = Presentation(coupled_bench(tmp_path / "bench", ["one", "two", "line-reversed"]))
    sides = hidden(view, "read-line-reversed")["rules"]["sides"]
    assert sides["coupled"] == {"label": words.COUPLED, "text": "", "gap": words.NO_ROUTE}
    assert sides["uncoupled"]["text"]


def test_a_missing_reading_is_named_with_its_clamps(singles: Bench) -> None:
    """The page of a wiring not read yet says which reading is missing and how to clamp it."""
    view = Presentation(singles)
    missing = page(view, "read-line-reversed")["missing"]
    assert missing[0] == "No reading yet for line-reversed."
    assert missing[1].startswith("Clips on 1a and 2a, tie 1b to 2b.")
    assert "reading" not in hidden(view, "read-line-reversed")


def test_a_prediction_that_nobody_made_is_said_openly(singles: Bench) -> None:
    """No cover promises a prediction that was never committed."""
    assert hidden(Presentation(singles), "read-line-forward")["own"] == {
        "name": "own",
        "label": words.OWN,
        "text": words.NO_OWN,
        "open": True,
    }


def test_a_withdrawn_reading_says_why(singles: Bench) -> None:
    """After a clamp slipped and its reading was withdrawn, the page gives the reason."""
    singles.read("1a 2a | 1b=2b", "25.0 µH", "line-reversed", frequency="10 kHz")
    singles.withdraw("line-reversed", "one clamp slipped")
    missing = page(Presentation(singles), "read-line-reversed")["missing"]
    assert missing[0] == "line-reversed was withdrawn: one clamp slipped"


def test_what_another_program_entered_is_seen_when_asked_again(singles: Bench) -> None:
    """A reading stored through another opening of the record appears with the next look, and not before."""
    view = Presentation(singles)
    other = open_bench(singles.record.folder)
    other.read("1a 2a | 1b=2b", "25.0 µH", "line-reversed", frequency="10 kHz")
    assert page(view, "read-line-reversed")["missing"]
    assert view.handle({"do": "again"}) == {"said": words.GREW}
    assert hidden(view, "read-line-reversed")["reading"]["text"] == "25.0 µH"
    assert [s["done"] for s in record(view)["stations"] if "done" in s] == [
        True,
        True,
        False,
        True,
        False,
        False,
    ]
    assert view.handle({"do": "again"}) is None


def test_nothing_is_made_anew_while_the_record_stays(singles: Bench) -> None:
    """A look at an unchanged record gives the very pages of before, so that nothing is sent."""
    view = Presentation(singles)
    before = record(view)
    view.handle({"do": "again"})
    assert record(view) is before


def test_the_latest_of_several_readings_is_shown_with_the_others(singles: Bench) -> None:
    """Repeats are told beside the last one."""
    for number, shown in enumerate(("25.0 µH", "25.1 µH"), start=1):
        id = "line-reversed" + (f".{number}" if number > 1 else "")
        singles.read("1a 2a | 1b=2b", shown, id, frequency="10 kHz", repeat=number)
    reading = hidden(Presentation(singles), "read-line-reversed")["reading"]
    assert reading["text"] == "25.1 µH"
    assert "reading 2 of 2; before: 25.0 µH" in reading["facts"]


def test_a_stored_record_is_always_marked(singles: Bench) -> None:
    """The fallback, and a bench that is itself a stored record, carry the banner; one at work does not."""
    view = Presentation(singles, fallback=labkit.demo_bench())
    assert len(view.state()["records"]) == 1
    view.handle({"do": "prepare"})
    assert [each["banner"] for each in view.state()["records"]] == ["", words.PRESENT_STORED]
    assert record(Presentation(labkit.demo_bench()))["banner"] == words.PRESENT_STORED
    assert "not measured now" in words.PRESENT_STORED


def test_a_bench_without_fallback_never_gets_one(singles: Bench) -> None:
    """No stored record stands in unless one was given."""
    view = Presentation(singles)
    view.handle({"do": "prepare"})
    assert len(view.state()["records"]) == 1
    assert view.state()["has_fallback"] is False


def test_a_fallback_that_is_no_bench_is_refused(singles: Bench) -> None:
    """The sentence says what was given and what is taken."""
    with pytest.raises(EntryError, match="The fallback is str, which is no bench"):
        Presentation(singles, fallback="demo")  # type: ignore[arg-type]


@pytest.mark.parametrize("dots", ["1a 2a", None])
def test_without_a_card_the_verdict_has_its_factor_and_its_break_even(
    tmp_path: Path, dots: str | None
) -> None:
    """Dots marked or not: how many times less, what is refuted, how wrong the meter would have to be."""
    view = Presentation(coupled_bench(tmp_path / "bench", card=None, dots=dots))
    found = hidden(view, "read-line-reversed")
    text = found["verdict"]["text"]
    assert text == "800 times less than without shared flux: the resistor rule does not hold."
    assert "All 3 readings would have to be wrong by a factor of" in " ".join(found["verdict"]["facts"])
    assert "±" not in found["rules"]["text"]


def test_two_inductors_apart_get_their_verdict_without_dots_or_card(tmp_path: Path) -> None:
    """The uncoupled prediction stands beside the reading, and the rule holds as far as the digits show."""
    apart = empty_bench(tmp_path / "bench", dots=None)
    for id, wiring, shown in (
        ("winding-1", "1a 1b", "4.52 mH"),
        ("winding-2", "2a 2b", "4.49 mH"),
        ("line-forward", "1a 2b | 1b=2a", "9.01 mH"),
    ):
        apart.read(wiring, shown, id)
    found = hidden(Presentation(apart), "read-line-forward")
    assert found["rules"]["sides"]["uncoupled"]["text"] == "9.01 mH"
    assert found["rules"]["sides"]["coupled"]["gap"] == words.NEEDS_DOTS
    assert "the resistor rule holds to these digits" in found["verdict"]["text"]


def test_a_rival_that_reads_the_same_is_named(demo: Presentation) -> None:
    """Where one winding alone would read the same, the verdict says so."""
    verdict = hidden(demo, "read-side-by-side")["verdict"]["text"]
    assert verdict == "The coupled rule holds; but winding 2 alone would read the same."


def test_the_sequence_goes_from_connections_to_findings(demo: Presentation) -> None:
    """After the connections come comparison, flux, derivation with figures, and every finding on its page."""
    pages = record(demo)["pages"]
    kinds = [key.split("-")[0] for key in dict.fromkeys(each["key"] for each in pages)]
    assert list(dict.fromkeys(kinds)) == ["read", "compare", "flux", "derive", "finding"]
    findings = labkit.explain(labkit.demo_bench()).findings
    assert [p["sentence"] for p in pages if p["key"].startswith("finding")] == [f.sentence for f in findings]
    steps = labkit.work_out("1a 2a | 1b=2b", labkit.demo_bench()).all_steps
    assert [p["title"] for p in pages if p["key"].startswith("derive")] == [step.title for step in steps]
    assert [each["station"] for each in pages] == sorted(each["station"] for each in pages)


def test_a_section_that_cannot_be_made_says_why_and_the_others_stay(singles: Bench) -> None:
    """A derivation of a wiring that the part does not have costs one page, not the lecture."""
    view = Presentation(singles, derive="1a 3a | 1b=3b")
    view.handle({"do": "prepare"})
    closed = page(view, "derive-closed")
    assert "3" in closed["sentence"]
    assert page(view, "read-winding-1")["picture"].startswith("<svg")


def test_a_bench_that_knows_nothing_can_be_presented(tmp_path: Path) -> None:
    """Unknown dots and three windings make shorter pages, no error."""
    for windings, dots in ((2, None), (3, None)):
        view = Presentation(empty_bench(tmp_path / f"{windings}", windings=windings, dots=dots))
        view.handle({"do": "prepare"})
        assert not [p for p in record(view)["pages"] if p["key"].endswith("-closed")]
        assert page(view, "read-winding-1")["missing"]


def test_everything_shown_is_plain_json(demo: Presentation) -> None:
    """The state survives the way into the browser."""
    assert json.loads(json.dumps(demo.state())) == demo.state()


def test_outside_a_notebook_one_sentence_points_to_plain_calls(singles: Bench) -> None:
    """Printed, the view is the sentence, and every call in it exists."""
    view = present(singles)
    assert isinstance(view, Presenting)
    assert str(view) == words.PRESENT_WITHOUT
    assert all(hasattr(labkit, name) for name in ("compare", "explain", "work_out"))


def test_the_cell_run_again_closes_the_view_before(singles: Bench) -> None:
    """Two views from one cell on one record: the first is closed."""
    first = present(singles)
    assert first.comm is not None
    second = present(singles)
    assert first.comm is None
    assert second is not first
