"""The card form without a browser: what it shows of what was typed, when it stores. Meters are invented."""

import ast
import json
from pathlib import Path
from typing import Any

import pytest

import labkit
from labkit.errors import CardError, EntryError, RecordMissing
from labkit.record.bench import Bench
from labkit.record.card import parse_card, read_card
from labkit.widgets.card_form import CardForm, card_form
from labkit.words import record as words
from tests.benches import empty_bench

LINE = "200 µH  199.99 µH  0.3 %  5 digits  1 kHz"
TYPED = {
    "id": "bench-meter-3",
    "title": "Bench LCR meter 3 (invented)",
    "source": "manual of an invented meter, page 12",
    "invented": "yes",
    "ranges": LINE,
    "typical": "100 µH",
    "typical_frequency": "1 kHz",
}


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """A bench without a meter."""
    return empty_bench(tmp_path)


@pytest.fixture
def form(bench: Bench) -> CardForm:
    """The form of a bench, with a card typed in and read back."""
    form = CardForm(bench.record.folder, bench)
    form.handle({"kind": "type", "fields": TYPED})
    return form


def typed(form: CardForm, **fields: str) -> dict[str, Any]:
    """What the form shows once this was typed as well."""
    form.handle({"kind": "type", "fields": fields})
    return form.state()


def confirm(form: CardForm) -> dict[str, Any]:
    """Confirm what stands on the screen."""
    form.handle({"kind": "store", "revision": form.state()["revision"]})
    return form.state()


# What is shown


def test_an_empty_form_says_what_is_missing_and_marks_nothing_wrong(tmp_path: Path) -> None:
    """No field is refused before something was typed, and nothing can be stored."""
    state = CardForm(tmp_path).state()
    assert {note["state"] for note in state["notes"].values()} == {"empty"}
    assert (state["back"]["state"], state["ready"], state["lines"]) == ("empty", False, [])
    assert "the name of the card (its id) is missing" in state["back"]["said"][0]


def test_the_state_is_plain_json_with_every_word_of_the_script(form: CardForm) -> None:
    """It survives JSON, and every field has a label and a hint, so that no sentence stands in the script."""
    state = form.state()
    assert json.loads(json.dumps(state)) == state
    assert set(state["words"]["labels"]) == set(state["fields"])
    assert set(state["words"]["hints"]) == set(state["fields"]) - {"invented"}


def test_a_typed_card_is_read_back(form: CardForm) -> None:
    """Range, formula with numbers, standard uncertainty, and the question; only then can it be stored."""
    state = form.state()
    assert state["lines"][0]["cells"] == ["200 µH", "199.99 µH", "0.01 µH", "±(0.3 % + 5 digits)", "1 kHz"]
    assert state["back"]["said"][1] == "±(0.3 % of 100 µH + 5 × 0.01 µH) = ±0.35 µH"
    assert state["ready"]
    assert state["file"].endswith("bench-meter-3.toml")


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("id", "Meter 3", "'Meter 3' cannot be the name"),
        ("title", "t" * 121, "more than 120 characters"),
        ("calibrated", "soon", "year-month-day"),
        ("low_q", "often", "given as 'often'"),
        ("lead", "60 nH", words.BOTH_LEADS),
        ("lead_limit", "40 nH", words.BOTH_LEADS),
    ],
)
def test_a_field_that_cannot_be_taken_says_so_beside_itself(
    form: CardForm, field: str, text: str, said: str
) -> None:
    """The field is refused, nothing can be stored, and what was typed stays as it is."""
    state = typed(form, **{field: text})
    note = state["notes"]["lead" if field == "lead_limit" else field]
    assert note["state"] == "refused"
    assert said in note["said"]
    assert not state["ready"]
    assert state["fields"][field] == text


def test_fields_say_how_they_are_understood(form: CardForm) -> None:
    """A date in words, the rule for low Q, the lead residual with its limit."""
    notes = typed(form, calibrated="2031-01-15", low_q="0,1", lead="60nH", lead_limit="40 nH")["notes"]
    assert notes["calibrated"]["said"] == "15 January 2031"
    assert notes["low_q"]["said"].endswith("above 0.1")
    assert notes["lead"]["said"] == "60 nH ± 40 nH"


def test_a_line_that_is_not_understood_is_counted_and_named(form: CardForm) -> None:
    """Good lines stay understood; the bad one carries its refusal; the card waits for it."""
    state = typed(form, ranges=f"{LINE}\n2 mH  1.9999 mH  5 digits")
    assert [line["state"] for line in state["lines"]] == ["ok", "refused"]
    assert state["count"] == "1 understood, 1 not"
    assert "Line 2: no percentage" in state["back"]["said"][0]
    assert not state["ready"]


def test_a_value_outside_the_card_is_refused(form: CardForm) -> None:
    """No limits, no key."""
    state = typed(form, typical="300 µH")
    assert state["back"]["state"] == "refused"
    assert not state["ready"]


def test_next_adds_the_last_line_ten_times_larger(form: CardForm) -> None:
    """Above it nothing changes; the answer carries the text for the field."""
    answer = form.handle({"kind": "next"})
    assert answer["ranges"].splitlines() == [LINE, "2 mH  1.9999 mH  0.3 %  5 digits  1 kHz"]
    assert form.state()["fields"]["ranges"] == answer["ranges"]


def test_next_needs_a_line(tmp_path: Path) -> None:
    """Without a range that is understood there is nothing to repeat."""
    with pytest.raises(EntryError, match="type the first range"):
        CardForm(tmp_path).handle({"kind": "next"})


# Storing


def test_a_confirmed_card_is_stored_and_entered(form: CardForm, bench: Bench) -> None:
    """The file holds the card, the record the meter with the same text, and the form says both."""
    typed(form, meter="meter-a")
    state = confirm(form)
    stored = bench.record.folder / "bench-meter-3.toml"
    assert bench.cards == {"meter-a": read_card(stored)}
    assert len(state["stored"]) == 2
    assert str(stored) in state["stored"][0]


def test_without_a_meter_name_only_the_file_is_written(form: CardForm, bench: Bench) -> None:
    """Nobody named the meter, so the record stays as it is."""
    before = len(bench.events)
    confirm(form)
    assert len(bench.events) == before
    assert (bench.record.folder / "bench-meter-3.toml").exists()


def test_limits_of_another_card_confirm_nothing(form: CardForm, bench: Bench) -> None:
    """If anything was typed since the limits were shown, confirming is refused and nothing is written."""
    shown = form.state()["revision"]
    typed(form, ranges=LINE.replace("0.3", "0.4"))
    with pytest.raises(CardError, match="changed since"):
        form.handle({"kind": "store", "revision": shown})
    assert list(bench.record.folder.glob("*.toml")) == []


def test_the_same_text_again_is_no_change(form: CardForm) -> None:
    """A field sent twice leaves the confirmation valid."""
    shown = form.state()["revision"]
    assert typed(form, ranges=LINE)["revision"] == shown


def test_a_file_that_is_there_stops_the_meter_too(form: CardForm, bench: Bench) -> None:
    """If the file cannot be written the meter is not entered either."""
    (bench.record.folder / "bench-meter-3.toml").write_text("mine", encoding="utf-8")
    typed(form, meter="meter-a")
    with pytest.raises(CardError, match="NOT overwritten"):
        confirm(form)
    assert bench.cards == {}


def test_a_record_that_takes_no_meter_keeps_the_file(form: CardForm, bench: Bench) -> None:
    """The sentence says that the file is there and the meter is not in the record, and why."""
    typed(form, meter="m" * 201)
    with pytest.raises(CardError, match=r"Card stored in .*NOT entered in the record: .*meter"):
        confirm(form)
    assert (bench.record.folder / "bench-meter-3.toml").exists()


def test_a_read_only_record_stores_nothing() -> None:
    """The demo can be tried out; its key stays shut, and a message that comes all the same is refused."""
    demo = labkit.demo_bench()
    form = CardForm(demo.record.folder, demo)
    state = typed(form, **TYPED)
    assert state["back"]["state"] == "ok"
    assert not state["ready"]
    assert "read-only" in state["closed"]
    with pytest.raises(CardError, match="read-only"):
        confirm(form)


# The plain call


def test_the_plain_call_makes_the_same_card(form: CardForm, tmp_path: Path) -> None:
    """The calls that the form shows, run in Python, give the card that it stores, quotation marks and all."""
    typed(
        form, title='The "blue" one', calibrated="2031-01-15", low_q="0.1", lead="60 nH", lead_limit="40 nH"
    )
    call = form.state()["call"]
    written = ast.parse(call).body[0]
    assert isinstance(written, ast.Assign)
    card = eval(ast.unparse(written.value), {"labkit": labkit})
    assert card.card == parse_card(form._whole().text)
    assert 'card.allows("100 µH", "1 kHz")' in call
    assert "confirmed=True" in call


def test_lines_that_would_end_the_text_are_quoted_otherwise(form: CardForm) -> None:
    """A range name with quotation marks or backslashes does not break the plain call."""
    typed(form, ranges='"low" \\ 200 µH  199.99 µH  0.3 %  5 digits  1 kHz')
    call = form.state()["call"]
    written = ast.parse(call).body[0]
    assert isinstance(written, ast.Assign)
    assert eval(ast.unparse(written.value), {"labkit": labkit}).card == form._whole().card


# The widget


def test_outside_a_notebook_the_form_is_one_sentence(tmp_path: Path) -> None:
    """It points to the plain call."""
    assert repr(card_form(tmp_path)) == words.WITHOUT
    assert "labkit.write_card" in words.WITHOUT


def test_a_second_form_closes_the_first(bench: Bench) -> None:
    """For one folder there is one form."""
    first = card_form(bench)
    second = card_form(bench)
    assert first.comm is None
    assert second.comm is not None


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    """Nothing is made."""
    with pytest.raises(RecordMissing, match="make it first"):
        card_form(tmp_path / "none")


def test_a_refused_message_answers_with_its_sentence(bench: Bench) -> None:
    """The page gets the number of its message and the refusal, never an exception."""
    widget, sent = card_form(bench), []
    widget.send = sent.append  # type: ignore[method-assign]
    widget.answer({"kind": "next", "number": 7})
    assert sent == [{"answer": 7, "refused": words.NOTHING_TO_REPEAT}]
