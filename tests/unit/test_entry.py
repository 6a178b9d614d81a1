"""The entry form as plain functions. All readings here are invented."""

import ast
import asyncio
import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import labkit
from labkit.errors import EntryError, LabkitError, RecordConflict, RecordMissing, WiringError
from labkit.record.bench import Bench, new_bench, open_bench
from labkit.resources import shipped
from labkit.widgets.form import EntryForm, look
from labkit.widgets.form_messages import plain_call
from labkit.widgets.form_rows import default_plan, plan_of
from labkit.words import record as bench_words
from labkit.words import widgets as words
from tests.records import lines, ticking

State = dict[str, Any]
USE = {"frequency": "10 kHz", "mode": "series", "meter": "meter-a", "leads": "zeroed", "who": "p2"}
PART = {"windings": "2", "family": "same core", "dots": "1a 2a", "undotted": False, "title": ""}


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """A record that knows only the part's name."""
    return new_bench(tmp_path / "bench", "sample-7", clock=ticking(), invented=True)


@pytest.fixture
def ready(bench: Bench) -> EntryForm:
    """A form whose small forms are answered."""
    bench.accept_cautions("p1")
    bench.describe(windings=2, family="same core", dots="1a 2a")
    bench.meter("meter-a", shipped("data", "cards", "bench-fine.toml"))
    bench.use(frequency="10 kHz", mode="series", meter="meter-a", leads="zeroed", by="p2")
    return EntryForm(bench)


def row(form: EntryForm, id: str) -> State:
    """One row as shown."""
    return next(each for each in form.state()["rows"] if each["id"] == id)


def step(form: EntryForm) -> str:
    """The small form that is asked for, empty if none is."""
    sheet = form.state()["step"]
    return sheet["kind"] if sheet else ""


def reading(form: EntryForm, id: str, shown: str, **more: Any) -> State:
    """Enter a reading as the script does: under the id that the row announced."""
    message = {"kind": "store", "what": "reading", "row": id, "shown": shown, **row(form, id)["next"]}
    return form.handle(message | more)


def prediction(form: EntryForm, id: str, shown: str) -> State:
    """Enter an own prediction."""
    return form.handle({"kind": "store", "what": "prediction", "row": id, "shown": shown})


def counted(form: EntryForm) -> int:
    """Lines in the record's file."""
    return len(lines(form.bench.record.folder))


# ---- the way to the first entry


def test_small_forms_come_one_after_the_other(bench: Bench) -> None:
    """Cautions, part, meter, what holds for all: each is asked for until the record, or the bench, has it."""
    form, asked = EntryForm(bench), []
    answers = (
        {"kind": "accept", "fields": {"by": "p1"}},
        {"kind": "describe", "fields": PART},
        {"kind": "meter", "fields": {"name": "meter-a", "card": "none", "path": ""}},
        {"kind": "use", "fields": USE},
    )
    for answer in answers:
        asked.append(step(form))
        assert form.handle(answer)["said"]
    assert [*asked, step(form)] == ["accept", "describe", "meter", "use", ""]
    assert bench.cautions_accepted == ("p1",)
    assert [str(dot) for dot in bench.dots or ()] == ["1a", "2a"]
    assert bench.cards == {"meter-a": None}


def test_cautions_are_shown_where_they_are_accepted(bench: Bench) -> None:
    """The first small form carries every caution."""
    assert EntryForm(bench).state()["step"]["text"] == list(words.CAUTIONS)


@pytest.mark.parametrize("what", ["prediction", "reading"])
@pytest.mark.parametrize("answered", [0, 1, 2, 3])
def test_nothing_is_stored_before_all_is_answered(bench: Bench, what: str, answered: int) -> None:
    """An entry that comes too early, from whatever script, is refused with the step's name."""
    verbs = (
        lambda: bench.accept_cautions("p1"),
        lambda: bench.describe(windings=2, dots="1a 2a"),
        lambda: bench.meter("meter-a"),
    )
    for verb in verbs[:answered]:
        verb()
    form = EntryForm(bench)
    before, title = counted(form), form.state()["step"]["title"]
    message = {"kind": "store", "what": what, "row": "line-forward", "id": "line-forward", "shown": "20 mH"}
    with pytest.raises(EntryError, match="Nothing was stored") as refused:
        form.handle(message)
    assert title in str(refused.value)
    assert counted(form) == before


@pytest.mark.parametrize("given", ["", "Anna", "p", "7", "P1", "p 1", "a.b1", "pé1", "abcdefghi1"])
def test_only_a_pseudonym_accepts_the_cautions(bench: Bench, given: str) -> None:
    """A name is refused with a sentence about pseudonyms."""
    form = EntryForm(bench)
    with pytest.raises(EntryError, match="is not a pseudonym"):
        form.handle({"kind": "accept", "fields": {"by": given}})
    assert step(form) == "accept"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"windings": "two"}, "whole number"),
        ({"windings": "²"}, "whole number"),
        ({"family": ""}, "choose first: the windings are"),
        ({"dots": ""}, "give the dotted ends"),
        ({"undotted": True}, "keep one of the two"),
        ({"dots": "1a 1b"}, "does not mark one end"),
    ],
)
def test_what_is_missing_from_the_part_is_asked(bench: Bench, change: State, said: str) -> None:
    """No winding, family or dot is assumed."""
    bench.accept_cautions("p1")
    form = EntryForm(bench)
    with pytest.raises(LabkitError, match=said):
        form.handle({"kind": "describe", "fields": PART | change})
    assert bench.part is None


def test_dots_that_nobody_knows_are_stored_as_asked_and_not_known(bench: Bench) -> None:
    """Ticked, the record holds null for them, and no row is called aiding or opposing."""
    bench.accept_cautions("p1")
    form = EntryForm(bench)
    form.handle({"kind": "describe", "fields": PART | {"dots": "", "undotted": True, "family": "?"}})
    assert bench.part is not None
    assert bench.part.dots is None
    assert "dots" in bench.part.model_fields_set
    assert {each["name"] for each in form.state()["rows"]} == {""}
    assert form.state()["dots"] == words.DOTS_UNKNOWN


def test_dots_that_are_found_later_give_the_rows_their_names(bench: Bench) -> None:
    """The part described anew, names and dots appear in every row and drawing."""
    bench.accept_cautions("p1")
    bench.describe(windings=2, dots=None)
    form = EntryForm(bench)
    asked = form.handle({"kind": "sheet", "name": "describe"})["sheet"]["fields"]
    assert {field["name"]: field["value"] for field in asked}["undotted"]
    assert "data-dot" not in "".join(form.pictures().values())
    form.handle({"kind": "describe", "fields": PART})
    assert row(form, "line-forward")["name"] == "series-aiding"
    assert all("data-dot" in picture for picture in form.pictures().values())


def test_derived_name_needs_dots(ready: EntryForm) -> None:
    """With dots at 1a and 2a the reversed wiring is named series-opposing, and its drawing carries dots."""
    shown = row(ready, "line-reversed")
    assert shown["name"] == "series-opposing"
    assert shown["spoken"] == "clips on 1a and 2a, tie 1b to 2b"
    picture = ready.pictures()[shown["notation"]]
    assert "Dots on 1a and 2a." in picture
    assert 'data-dot="2a"' in picture


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"name": " "}, "give the meter a name"),
        ({"card": ""}, "say that there is no card"),
        ({"path": "x.toml"}, "keep one of the two"),
        ({"card": "", "path": "nowhere.toml"}, "no readable card file"),
        ({"card": "", "path": "broken.toml"}, "not readable as TOML"),
    ],
)
def test_what_is_missing_from_the_meter_is_asked(bench: Bench, change: State, said: str) -> None:
    """Neither a name nor a card is assumed, and a card that cannot be read is not taken."""
    (bench.record.folder / "broken.toml").write_text("schema = [", encoding="utf-8")
    form = EntryForm(bench)
    with pytest.raises(LabkitError, match=said):
        form.handle({"kind": "meter", "fields": {"name": "meter-a", "card": "none", "path": ""} | change})
    assert not bench.cards


@pytest.mark.parametrize("by", ["choice", "path"])
def test_a_card_can_be_chosen_or_pointed_at(bench: Bench, by: str) -> None:
    """Shipped cards and cards in the bench's folder can be chosen; any other is given by its path."""
    shutil.copy(shipped("data", "cards", "hand-held-coarse.toml"), bench.record.folder / "mine.toml")
    form = EntryForm(bench)
    (options,) = (
        f["options"] for f in form.handle({"kind": "sheet", "name": "meter"})["sheet"]["fields"][1:2]
    )
    assert options[0] == ("none", words.NO_CARD)
    paths = [Path(value) for value, _ in options[1:]]
    assert bench.record.folder / "mine.toml" in paths
    assert shipped("data", "cards", "bench-fine.toml") in paths
    card = {"card": str(paths[0]), "path": ""} if by == "choice" else {"card": "", "path": "mine.toml"}
    form.handle({"kind": "meter", "fields": {"name": "meter-a"} | card})
    known = bench.cards["meter-a"]
    assert known is not None
    assert known.id == ("bench-fine" if by == "choice" else "hand-held-coarse")


@pytest.mark.parametrize("name", ["mode", "meter", "leads"])
def test_what_holds_for_all_is_chosen_never_assumed(ready: EntryForm, name: str) -> None:
    """A choice that was not made is asked for by its name."""
    with pytest.raises(EntryError, match=f"choose first: {words.LABELS[name]}"):
        ready.handle({"kind": "use", "fields": USE | {name: ""}})


def test_what_is_not_known_is_stored_as_that(ready: EntryForm) -> None:
    """An empty frequency and a chosen "not known" become null in each reading, not absence."""
    ready.handle({"kind": "use", "fields": USE | {"frequency": "", "mode": "?"}})
    reading(ready, "winding-1", "10.00 mH")
    stored = json.loads(lines(ready.bench.record.folder)[-1])
    assert (stored["frequency"], stored["mode"]) == (None, None)
    assert "mode" not in words.FACTS["mode"]
    assert "equivalent circuit not known" in row(ready, "winding-1")["entries"][0]["facts"]


def test_a_frequency_that_is_not_understood_sets_nothing(ready: EntryForm) -> None:
    """The refusal names the field, and what held before still holds."""
    refused = ready.handle({"kind": "use", "fields": USE | {"frequency": "10"}})
    assert refused["field"] == "frequency"
    assert "no unit" in refused["refused"]
    assert "10 kHz" in ready.state()["settings"]


def test_a_new_session_offers_what_held_for_the_last_reading(ready: EntryForm) -> None:
    """Nothing holds by itself after a restart: the small form comes filled in, to be said again."""
    reading(ready, "winding-1", "10.00 mH")
    again = EntryForm(open_bench(ready.bench.record.folder))
    sheet = again.state()["step"]
    assert sheet["text"] == [words.USE_AGAIN]
    assert {field["name"]: field["value"] for field in sheet["fields"]} == USE


# ---- looking


REFUSED = {
    "25.0": "no unit",
    "25.0 Ω": "not a unit of inductance",
    "1.2.3 mH": "more than one decimal mark",
    "1,5,2 mH": "more than one decimal mark",
    "abc": "no digits",
    "nan mH": "not a number",
    "inf": "over range",
    "0L": "over range",
    "1e-3 H": "power of ten",
    "2 700 mH": "gap or a mark",
    "6.20 µ": "stops after the prefix",
    "1" * 50 + " mH": "longer than any display",
}
ASKED = {
    "27.2mh": ["27.2 mH", "27.2 MH = 27.2 megahenry"],
    "6.20 MH": ["6.20 mH", "6.20 MH = 6.20 megahenry"],
    "6.20 Mh": ["6.20 mH", "6.20 MH = 6.20 megahenry"],
    "2,700 mH": ["2.700 mH", "2700 mH"],
}


@pytest.mark.parametrize("text", REFUSED)
def test_what_cannot_be_taken_gets_one_sentence(ready: EntryForm, text: str) -> None:
    """While it is typed and when it is stored the sentence is the same, and nothing reaches the record."""
    before = counted(ready)
    echo = ready.handle({"kind": "look", "text": text, "as": "inductance"})
    assert echo["state"] == "refused"
    assert REFUSED[text] in echo["said"]
    answer, expected = reading(ready, "winding-1", text), prediction(ready, "line-forward", text)
    assert (answer["refused"], answer["choices"]) == (echo["said"], [])
    assert "predict" in expected["refused"]
    assert "display" not in expected["refused"]
    assert counted(ready) == before


@pytest.mark.parametrize("text", ASKED)
def test_what_has_two_meanings_is_asked_and_never_decided(ready: EntryForm, text: str) -> None:
    """The choices are entries that are taken as they stand; none is taken by itself."""
    before = counted(ready)
    answer = reading(ready, "winding-1", text)
    assert (answer["field"], answer["choices"]) == ("shown", ASKED[text])
    assert counted(ready) == before
    assert prediction(ready, "line-forward", text)["choices"] == ASKED[text]
    assert counted(ready) == before
    entries = [choice.split(" = ")[-1] for choice in answer["choices"]]
    assert {look(entry, "inductance")["state"] for entry in entries} == {"ok"}


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        ("6.20 uH", "inductance", "6.20 µH, last digit 10 nH"),
        ("6,2µH", "inductance", "6.2 µH, last digit 100 nH"),
        ("10 kHz", "frequency", "10 kHz"),
        ("Q 3.1", "second", "Q 3.1, last digit 0.1"),
        ("R 0.52 Ω", "second", "R 0.52 Ω, last digit 10 mΩ"),
    ],
)
def test_what_is_understood_is_said_back(text: str, kind: str, said: str) -> None:
    """Value, unit and the weight of the last digit."""
    assert look(text, kind) == {"state": "ok", "said": said, "choices": [], "flag": ""}


def test_an_empty_field_says_nothing() -> None:
    """Blank text is neither understood nor refused."""
    assert look("  ", "inductance") == {"state": "empty", "said": "", "choices": [], "flag": ""}


def test_a_second_display_is_asked_about_with_its_letter() -> None:
    """The choice for "R 5 mohm" written in capitals keeps the R."""
    echo = look("R 5 KOHM", "second")
    assert echo["choices"] == ["R 5 kΩ"]
    assert look("3.1", "second")["state"] == "refused"


def test_a_negative_inductance_is_taken_and_flagged(ready: EntryForm) -> None:
    """It is legal on a real meter, so it is stored as shown, with a warning before and after."""
    assert look("-3.1 µH", "inductance")["flag"] == bench_words.NEGATIVE
    assert reading(ready, "winding-1", "-3.1 µH")["said"][1:] == [bench_words.NEGATIVE]
    (entry,) = row(ready, "winding-1")["entries"]
    assert (entry["shown"], entry["marks"]) == ("−3.1 µH", [bench_words.NEGATIVE])


# ---- predictions and readings


def test_a_prediction_is_locked(ready: EntryForm) -> None:
    """Once committed the row takes no other, and a second one under its id is refused."""
    assert row(ready, "line-forward")["predict"]
    prediction(ready, "line-forward", "20 mH")
    shown = row(ready, "line-forward")
    assert not shown["predict"]
    assert [each["shown"] for each in shown["predicted"]] == ["20 mH"]
    with pytest.raises(RecordConflict, match="locked"):
        prediction(ready, "line-forward", "40 mH")


def test_a_prediction_carries_the_person(ready: EntryForm) -> None:
    """Who reads is who predicts."""
    prediction(ready, "line-forward", "20 mH")
    assert ready.bench.predictions[0].by == "p2"


def test_singles_are_not_predicted(ready: EntryForm) -> None:
    """Only wirings of several windings ask for a prediction."""
    asked = [each["id"] for each in ready.state()["rows"] if each["predict"]]
    assert asked == ["line-forward", "line-reversed", "side-by-side", "side-by-side-reversed"]


def test_a_reading_before_the_prediction_is_taken_and_marked(ready: EntryForm) -> None:
    """It closes the prediction of its row; the reading of a row predicted in time is not marked."""
    reading(ready, "line-forward", "39.90 mH")
    prediction(ready, "line-reversed", "20 mH")
    reading(ready, "line-reversed", "25.0 µH")
    early, late = row(ready, "line-forward"), row(ready, "line-reversed")
    assert (early["predict"], early["missed"]) == (False, True)
    assert early["entries"][0]["marks"] == [words.BEFORE_PREDICTION]
    ready.bench.commit("1a 2b | 1b=2a", "40 mH", "afterthought")
    assert row(ready, "line-forward")["entries"][0]["marks"] == [words.BEFORE_PREDICTION]
    assert (late["missed"], late["entries"][0]["marks"]) == (False, [])


def test_a_reading_carries_all_that_holds(ready: EntryForm) -> None:
    """Settings, second display and what differs for this reading are stored with it."""
    reading(ready, "winding-1", "10.00 mH", second="Q 31", frequency="1 kHz", mode="", meter="", leads="")
    (stored,) = ready.bench.readings
    assert (str(stored.frequency), stored.mode, stored.leads, stored.by) == (
        "1 kHz",
        "series",
        "zeroed",
        "p2",
    )
    assert (str(stored.second), stored.repeat) == ("31", None)
    assert row(ready, "winding-1")["entries"][0]["facts"] == (
        "Q 31 · 1 kHz · series · meter-a · leads zeroed · p2 · line 5"
    )


@pytest.mark.parametrize(
    ("more", "field"), [({"second": "3.1"}, "second"), ({"frequency": "10"}, "frequency")]
)
def test_a_side_field_that_is_not_understood_stops_the_reading(
    ready: EntryForm, more: State, field: str
) -> None:
    """The refusal names the field; nothing is stored without it."""
    answer = reading(ready, "winding-1", "10.00 mH", **more)
    assert answer["field"] == field
    assert ready.bench.readings == ()


def test_nothing_typed_stores_nothing(ready: EntryForm) -> None:
    """An empty field gets a sentence."""
    assert reading(ready, "winding-1", "  ")["refused"] == words.NOTHING_ENTERED
    assert prediction(ready, "line-forward", "")["refused"] == words.NOTHING_EXPECTED


def test_the_same_message_again_stores_nothing_more(ready: EntryForm) -> None:
    """A message that the script sends twice, unsure whether it was heard, is one line of the record."""
    message = {
        "kind": "store",
        "what": "reading",
        "row": "winding-1",
        "shown": "10.00 mH",
        "id": "winding-1",
        "repeat": None,
    }
    first = ready.handle(message)
    before = counted(ready)
    assert ready.handle(message) == first
    assert counted(ready) == before


def test_repeats_get_numbers(ready: EntryForm) -> None:
    """A second reading of a wiring is the next repeat, under an id of its own."""
    reading(ready, "winding-1", "10.00 mH")
    reading(ready, "winding-1", "10.01 mH")
    assert [(r.id, r.repeat) for r in ready.bench.readings] == [("winding-1", None), ("winding-1.2", 2)]
    assert row(ready, "winding-1")["next"] == {"id": "winding-1.3", "repeat": 3}


def test_two_forms_on_one_record_never_disagree(ready: EntryForm) -> None:
    """What one kernel stored another sees when it looks again, and a late entry of its own is refused."""
    other = EntryForm(open_bench(ready.bench.record.folder))
    other.handle({"kind": "use", "fields": USE})
    stale = row(other, "winding-1")["next"]
    reading(ready, "winding-1", "10.00 mH")
    message = {"kind": "store", "what": "reading", "row": "winding-1", "shown": "11.00 mH", **stale}
    with pytest.raises(RecordConflict, match=r"10\.00 mH' there, '11\.00 mH' was given"):
        other.handle(message)
    assert [entry["shown"] for entry in row(other, "winding-1")["entries"]] == ["10.00 mH"]
    reading(other, "winding-2", "9.96 mH")
    ready.handle({"kind": "again"})
    assert ready.state()["rows"] == other.state()["rows"]


def test_two_forms_in_one_kernel_share_what_holds(ready: EntryForm) -> None:
    """Settings are the bench's, so a second form of it needs none, and a call of `use` shows in both."""
    second = EntryForm(ready.bench)
    assert step(second) == ""
    ready.bench.use(frequency="1 kHz")
    assert ready.state()["settings"] == second.state()["settings"]
    assert "1 kHz · series" in second.state()["settings"]


def test_state_is_made_again_only_after_a_change(ready: EntryForm) -> None:
    """Looking and asking again cost nothing while the record stays as it is."""
    before = ready.state()
    ready.handle({"kind": "look", "text": "1 mH", "as": "inductance"})
    ready.handle({"kind": "again"})
    assert ready.state() is before
    reading(ready, "winding-1", "10.00 mH")
    assert ready.state() is not before


def test_a_form_built_again_shows_the_same(ready: EntryForm) -> None:
    """Everything comes back from the file."""
    prediction(ready, "line-forward", "20 mH")
    reading(ready, "winding-1", "10.00 mH")
    again = EntryForm(open_bench(ready.bench.record.folder))
    kept = ("record", "title", "rows", "call", "dots")
    assert [again.state()[name] for name in kept] == [ready.state()[name] for name in kept]


def test_state_is_plain_json(ready: EntryForm) -> None:
    """What goes to the browser survives JSON, and holds nothing of the computer's folders."""
    reading(ready, "winding-1", "10.00 mH")
    text = json.dumps(ready.state())
    assert json.loads(text)["title"] == "sample-7"
    assert str(ready.bench.record.folder) not in text


# ---- correcting


def sheet(form: EntryForm, name: str, id: str) -> dict[str, str]:
    """The fields of a small form as it comes filled in."""
    asked = form.handle({"kind": "sheet", "name": name, "id": id})["sheet"]
    return {field["name"]: field["value"] for field in asked["fields"]}


def correct(form: EntryForm, id: str, **change: str) -> State:
    """Correct a reading through its small form."""
    return form.handle({"kind": "correct", "id": id, "fields": sheet(form, "correct", id) | change})


def test_a_correction_keeps_both_values(ready: EntryForm) -> None:
    """The new value stands; the old one, with the reason, stays in view."""
    reading(ready, "winding-1", "100.0 mH")
    correct(ready, "winding-1", shown="10.00 mH", reason="point misplaced")
    (entry,) = row(ready, "winding-1")["entries"]
    assert entry["shown"] == "10.00 mH"
    assert entry["changes"] == [{"was": "100.0 mH", "reason": "point misplaced"}]
    assert str(ready.bench.readings[0].shown) == "10.00 mH"


def test_only_what_changed_is_corrected(ready: EntryForm) -> None:
    """A mode set wrong for all is put right in one reading, its value untouched."""
    reading(ready, "winding-1", "10.00 mH", second="Q 31")
    correct(ready, "winding-1", mode="parallel", frequency="", reason="the display said Lp")
    assert ast.literal_eval(str(ready.bench.events[-1].changes.model_dump(exclude_unset=True))) == {  # type: ignore[union-attr]
        "mode": "parallel",
        "frequency": None,
    }


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"reason": "why"}, words.NOTHING_CHANGED),
        ({"shown": "10.01 mH"}, words.REASON),
        ({"shown": "10.01 mH", "reason": "  "}, words.REASON),
    ],
)
def test_a_correction_needs_a_change_and_a_reason(
    ready: EntryForm, change: dict[str, str], said: str
) -> None:
    """Either missing, nothing is stored."""
    reading(ready, "winding-1", "10.00 mH")
    before = counted(ready)
    with pytest.raises(EntryError) as refused:
        correct(ready, "winding-1", **change)
    assert str(refused.value) == said
    assert counted(ready) == before


@pytest.mark.parametrize(("shown", "said"), [("10.01", "no unit"), ("", words.NOTHING_ENTERED)])
def test_a_correction_is_read_as_strictly_as_an_entry(ready: EntryForm, shown: str, said: str) -> None:
    """A value without unit, or none, is refused with the field's name."""
    reading(ready, "winding-1", "10.00 mH")
    answer = correct(ready, "winding-1", shown=shown, reason="why")
    assert answer["field"] == "shown"
    assert said in answer["refused"]


def test_a_withdrawn_reading_stays_in_view(ready: EntryForm) -> None:
    """With its reason; the row then takes a new reading under a new id, which is no repeat."""
    reading(ready, "winding-1", "10.00 mH")
    with pytest.raises(EntryError, match="give the reason"):
        ready.handle({"kind": "withdraw", "id": "winding-1", "fields": {"reason": ""}})
    ready.handle({"kind": "withdraw", "id": "winding-1", "fields": {"reason": "clamp slipped"}})
    shown = row(ready, "winding-1")
    assert (shown["entries"][0]["shown"], shown["entries"][0]["withdrawn"]) == (
        "10.00 mH",
        "withdrawn: clamp slipped",
    )
    assert shown["next"] == {"id": "winding-1.2", "repeat": None}
    reading(ready, "winding-1", "10.01 mH")
    assert [r.id for r in ready.bench.readings] == ["winding-1.2"]


def test_a_reading_that_is_not_there_cannot_be_corrected(ready: EntryForm) -> None:
    """A stale script gets a sentence."""
    for name in ("correct", "withdraw"):
        with pytest.raises(EntryError, match="no reading “ghost”"):
            ready.handle({"kind": "sheet", "name": name, "id": "ghost"})


# ---- what else stands in a record


def test_readings_by_plain_calls_are_shown(ready: EntryForm) -> None:
    """Under their wiring if it is planned, else in a row of their own that takes no entry."""
    ready.bench.read("2a 1a | 2b=1b", "25.0 µH", id="mine")
    ready.bench.read("1a 1b | 2a=2b", "24.99 µH", id="shorted")
    assert [entry["id"] for entry in row(ready, "line-reversed")["entries"]] == ["mine"]
    assert words.WIRED_AS.format(wiring="2a 1a | 2b=1b") in row(ready, "line-reversed")["entries"][0]["marks"]
    stray = row(ready, "shorted")
    assert (stray["next"], stray["predict"], stray["name"]) == (None, False, "winding 1 (2 shorted)")


def test_a_step_that_the_part_cannot_have_is_closed_with_a_sentence(bench: Bench) -> None:
    """A plan for two windings on a part with one neither fails nor takes the reading."""
    bench.accept_cautions("p1")
    bench.describe(windings=1, dots="1a")
    bench.meter("meter-a")
    bench.use(frequency=None, mode=None, meter=None, leads=None)
    form = EntryForm(bench, [("both", "1a 2a | 1b=2b")])
    assert "names winding 2" in row(form, "both")["closed"]
    assert row(form, "both")["next"] is None
    with pytest.raises(WiringError, match="names winding 2"):
        form.handle({"kind": "store", "what": "reading", "row": "both", "id": "both", "shown": "1 mH"})


def test_the_plan_follows_the_part(bench: Bench) -> None:
    """Without a plan of one's own, a part with three windings is read winding by winding."""
    form = EntryForm(bench)
    assert [each["id"] for each in form.state()["rows"]] == [step.id for step in default_plan(2)]
    bench.describe(windings=3, dots="1a 2a 3a")
    assert [each["id"] for each in form.state()["rows"]] == ["winding-1", "winding-2", "winding-3"]


@pytest.mark.parametrize(
    ("plan", "said"),
    [
        ([("a", "1a 1b"), ("a", "2a 2b")], "holds the id 'a' twice"),
        ([("a b", "1a 1b")], "cannot be used"),
        ([("ä", "1a 1b")], "cannot be used"),
        ([("", "1a 1b")], "cannot be used"),
        ([("x" * 61, "1a 1b")], "cannot be used"),
        (["1a 1b"], "a step is an id, a wiring and a label"),
        ([("a", "1a 1b", "x", "y")], "a step is an id, a wiring and a label"),
        ([("a", "1a")], "1 clips were given"),
    ],
)
def test_a_plan_that_cannot_be_one_is_refused(plan: list[Any], said: str) -> None:
    """With a sentence that says what a step is."""
    with pytest.raises(EntryError, match=said):
        plan_of(plan)


def test_a_row_without_a_label_reads_its_wiring_aloud() -> None:
    """The label is optional."""
    assert [step.label for step in plan_of([("a", "1a 1b")])] == ["clips on 1a and 1b"]


def test_the_demo_record_shows_closed_and_says_why() -> None:
    """Read-only: all is in view, nothing is asked, and an entry is refused."""
    form = EntryForm(labkit.demo_bench())
    state = form.state()
    assert (state["closed"], state["step"], state["invented"]) == (words.READ_ONLY, None, words.INVENTED)
    assert [len(each["entries"]) for each in state["rows"]] == [1] * 6
    with pytest.raises(LabkitError):
        form.handle({"kind": "store", "what": "reading", "row": "winding-1", "id": "new", "shown": "1 mH"})


def test_a_line_that_only_an_editor_can_have_written_closes_the_form(ready: EntryForm) -> None:
    """The form still shows, says which line it is, and takes nothing."""
    reading(ready, "winding-1", "10.00 mH")
    file = ready.bench.record.folder / "record.jsonl"
    text = file.read_text(encoding="utf-8").replace('"wiring":"1a 1b"', '"wiring":"1a"')
    file.write_text(text, encoding="utf-8")
    state = EntryForm(open_bench(ready.bench.record.folder)).state()
    assert words.UNREADABLE in state["closed"]
    assert (state["rows"], state["step"]) == ([], None)


def test_what_is_wrong_with_the_record_is_shown(ready: EntryForm) -> None:
    """A torn tail appears among the problems once the form looks again."""
    with (ready.bench.record.folder / "record.jsonl").open("ab") as file:
        file.write(b'{"schema":1,"seq"')
    ready.handle({"kind": "again"})
    assert "not a whole event" in ready.state()["problems"][0]


def test_a_record_that_went_away_is_said(ready: EntryForm) -> None:
    """Looking again at a file that is gone is refused with a sentence."""
    (ready.bench.record.folder / "record.jsonl").unlink()
    with pytest.raises(RecordMissing):
        ready.handle({"kind": "again"})


# ---- plain calls and other front ends


def everything(form: EntryForm) -> Iterator[str]:
    """Enter one of everything; after each, the plain call that the form shows."""
    steps = (
        lambda: form.handle({"kind": "accept", "fields": {"by": "p2"}}),
        lambda: form.handle({"kind": "describe", "fields": PART | {"title": 'ring "A" \\ µ'}}),
        lambda: form.handle({"kind": "meter", "fields": {"name": "it's b", "card": "none", "path": ""}}),
        lambda: prediction(form, "line-forward", "20 mH"),
        lambda: reading(form, "winding-1", "10.00 mH", second="Q 31"),
        lambda: reading(form, "winding-1", "10.01 mH"),
        lambda: correct(form, "winding-1", shown="10.02 mH", second="R 5 Ω", leads="?", reason='a "why"'),
        lambda: correct(form, "winding-1.2", mode="parallel", reason="Lp"),
        lambda: form.handle({"kind": "withdraw", "id": "winding-1.2", "fields": {"reason": "slipped"}}),
        lambda: form.handle({"kind": "use", "fields": USE | {"mode": "?"}}),
        lambda: reading(form, "winding-2", "9.96 mH", second="D 0.3"),
    )
    for enter in steps:
        enter()
        yield form.state()["call"]


def test_each_entry_shows_the_call_that_enters_the_same(ready: EntryForm) -> None:
    """Run as Python, every call is taken and adds nothing to the record."""
    calls = list(everything(ready))
    assert len(set(calls)) == len(calls) - 1  # `use` stores nothing by itself
    before = counted(ready)
    for call in calls:
        exec(call, {"bench": ready.bench, "labkit": labkit})
    assert counted(ready) == before


def test_the_call_of_a_reading_reads_like_one_typed(ready: EntryForm) -> None:
    """Everything that was stored stands in it."""
    reading(ready, "line-reversed", "25.0 µH")
    assert ready.state()["call"] == (
        'bench.read("1a 2a | 1b=2b", "25.0 µH", id="line-reversed", frequency="10 kHz", mode="series", '
        'meter="meter-a", leads="zeroed", by="p2")'
    )


def test_a_shipped_card_is_called_by_its_place(ready: EntryForm) -> None:
    """Instead of a hundred lines of TOML; a card of one's own is given as text."""
    (event,) = (event for event in ready.bench.events if event.event == "meter")
    call = 'bench.meter("meter-a", labkit.shipped("data", "cards", "bench-fine.toml"))'
    assert plain_call(event) == call
    assert (
        plain_call(event.model_copy(update={"card": "schema = 1"})) == 'bench.meter("meter-a", "schema = 1")'
    )


def test_without_a_front_end_the_form_is_one_sentence(ready: EntryForm) -> None:
    """Its repr points to the plain call, and a second form of the cell closes the first."""
    first = labkit.form(ready.bench)
    assert repr(first) == str(first) == words.WITHOUT
    assert "bench.read" in words.WITHOUT
    assert len(words.WITHOUT) < 110  # longer ones are cut in a notebook's plain text
    second = labkit.form(ready.bench)
    assert (first.comm, second.comm is None) == (None, False)


def test_the_widget_answers_with_the_sentence_of_a_refusal(ready: EntryForm) -> None:
    """Number, refusal and the new state come from one message."""
    form, sent = labkit.form(ready.bench), []
    form.send = sent.append  # type: ignore[method-assign]
    message = {"kind": "store", "what": "reading", "row": "winding-1", "id": "winding-1", "shown": "10.00 mH"}
    form.answer(message | {"number": 1})
    form.answer(message | {"number": 2, "shown": "11.00 mH"})
    assert [(reply["answer"], "refused" in reply) for reply in sent] == [(1, False), (2, True)]
    assert form.state["rows"][0]["entries"][0]["shown"] == "10.00 mH"


def test_a_doubt_is_worked_out_beside_other_messages(ready: EntryForm) -> None:
    """It is acknowledged at once and told later, so that an entry meanwhile is answered without waiting."""
    form, sent = labkit.form(ready.bench), []
    form.send = sent.append  # type: ignore[method-assign]

    async def talk() -> list[State]:
        form.answer({"kind": "doubt", "id": "winding-1", "number": 1})
        form.answer({"kind": "again", "number": 2})
        at_once = list(sent)
        while len(sent) < 3:
            await asyncio.sleep(0.01)
        return at_once

    assert asyncio.run(talk()) == [{"answer": 1}, {"answer": 2}]
    assert sent[2:] == [{"about": "winding-1", "doubt": ""}]
    form.answer({"kind": "doubt", "id": "winding-1", "number": 3})
    assert sent[3:] == [{"answer": 3}, {"about": "winding-1", "doubt": ""}]


def test_the_new_state_goes_along_with_the_answer(ready: EntryForm) -> None:
    """One message says that it is stored and shows it; an answer that changed nothing carries no state."""
    form, sent = labkit.form(ready.bench), []
    form.send = sent.append  # type: ignore[method-assign]
    entry = {"kind": "store", "what": "reading", "row": "winding-1", "id": "winding-1", "shown": "10.00 mH"}
    form.answer(entry | {"number": 1})
    form.answer({"kind": "look", "text": "1 mH", "as": "inductance", "number": 2})
    assert sent[0]["now"]["rows"][0]["entries"][0]["shown"] == "10.00 mH"
    assert "now" not in sent[1]


# ---- the way to the last step


def all_read(form: EntryForm) -> None:
    """Every planned wiring predicted and read."""
    for id in ("winding-1", "winding-2"):
        reading(form, id, "10.00 mH")
    for id in ("line-forward", "line-reversed", "side-by-side", "side-by-side-reversed"):
        prediction(form, id, "20 mH")
        reading(form, id, {"line-forward": "39.80 mH", "line-reversed": "25.0 µH"}.get(id, "10.00 mH"))


def test_each_small_form_says_where_it_stands(bench: Bench) -> None:
    """The part is the second of four steps."""
    bench.accept_cautions("p1")
    assert EntryForm(bench).state()["step"]["count"] == "step 2 of 4"


def test_the_only_meter_is_chosen_and_of_two_none(ready: EntryForm) -> None:
    """One meter is preselected for all readings; with a second one it is asked again."""

    def chosen_meter() -> str:
        fields = EntryForm(open_bench(ready.bench.record.folder)).state()["step"]["fields"]
        return str(next(field["value"] for field in fields if field["name"] == "meter"))

    assert chosen_meter() == "meter-a"
    ready.bench.meter("meter-b")
    assert chosen_meter() == ""


def test_settings_said_in_part_are_asked_whole(bench: Bench) -> None:
    """A cell that names only the meter opens no entry; what it said is filled in."""
    bench.accept_cautions("p1")
    bench.describe(windings=2, dots=None)
    bench.meter("meter-a")
    bench.use(meter="meter-a")
    assert step(EntryForm(bench)) == "use"


def test_what_was_said_in_the_form_is_offered_to_the_next_one(ready: EntryForm) -> None:
    """A bench opened anew before the first reading comes with what was said, to be said again."""
    ready.handle({"kind": "use", "fields": USE | {"frequency": "1 kHz"}})
    fields = EntryForm(open_bench(ready.bench.record.folder)).state()["step"]["fields"]
    assert {field["name"]: field["value"] for field in fields} == USE | {"frequency": "1 kHz"}


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("describe", PART | {"dots": "", "undotted": True}),
        ("describe", PART | {"family": "?"}),
        ("meter", {"name": "meter-a", "card": "none", "path": ""}),
    ],
)
def test_what_was_stated_goes_only_with_a_reason(ready: EntryForm, kind: str, fields: State) -> None:
    """Without one the form refuses and nothing is stored; with one it is taken back."""
    before = counted(ready)
    with pytest.raises(EntryError, match="give the reason"):
        ready.handle({"kind": kind, "fields": fields})
    assert counted(ready) == before
    ready.handle({"kind": kind, "fields": fields | {"reason": "Read off another part."}})
    assert counted(ready) == before + 1


def test_a_factor_stands_beside_what_was_expected(ready: EntryForm) -> None:
    """Read over expected in three digits, in words where it is large; none without a prediction in time."""
    all_read(ready)
    factors = {each["id"]: each["factor"] for each in ready.state()["rows"]}
    assert (factors["line-forward"], factors["line-reversed"]) == (["1.99"], ["800 times less"])
    assert factors["winding-1"] == []


def test_a_prediction_after_the_reading_is_marked_and_has_no_factor(ready: EntryForm) -> None:
    """It is taken, stands beside the reading as what it is, and never counts as met."""
    reading(ready, "line-forward", "39.80 mH")
    said = prediction(ready, "line-forward", "39.80 mH")["said"]
    assert said[1:] == [bench_words.AFTER_READING]
    shown = row(ready, "line-forward")
    assert shown["predicted"][0]["notes"] == ["p2", "after the reading"]
    assert shown["factor"] == []


def test_a_prediction_by_readings_shows_both(ready: EntryForm) -> None:
    """What was said stands beside the number, while it is typed and once it is locked."""
    reading(ready, "winding-1", "10.00 mH")
    look_at = {"kind": "look", "as": "prediction", "text": "2 x winding 1"}
    assert ready.handle(look_at)["said"] == "2 x winding 1 = 20.00 mH"
    prediction(ready, "line-forward", "2 x winding 1")
    (shown,) = row(ready, "line-forward")["predicted"]
    assert (shown["shown"], shown["notes"]) == ("20.00 mH", ["2 x winding 1", "p2"])
    assert 'bench.commit("1a 2b | 1b=2a", "2 x winding 1"' in ready.state()["call"]


def test_when_all_is_read_the_form_says_what_comes_next(ready: EntryForm) -> None:
    """First own words are asked, which the record takes; then the cells further down are named."""
    assert ready.state()["done"] is None
    all_read(ready)
    assert ready.state()["done"] == {"next": words.NEXT_WRITE, "own": []}
    with pytest.raises(EntryError, match="write what you saw"):
        ready.handle({"kind": "write", "fields": {"text": " "}})
    ready.handle({"kind": "write", "fields": {"text": "They share one flux."}})
    done = ready.state()["done"]
    assert (done["next"], done["own"][0][-20:]) == (words.NEXT, "They share one flux.")
    assert 'bench.write("explanation", "They share one flux.", by="p2")' in ready.state()["call"]
    ready.handle({"kind": "withdraw", "id": "winding-1", "fields": {"reason": "clamp slipped"}})
    assert ready.state()["done"] is None


def test_the_card_form_is_part_of_the_meter_step(bench: Bench) -> None:
    """Asked for, its state goes along; what is stored there is this bench's meter, and the step is done."""
    bench.accept_cautions("p1")
    bench.describe(windings=2, dots=None)
    form = EntryForm(bench)
    assert form.state()["card"] is None
    form.handle({"kind": "card"})
    fields = {
        "id": "mine",
        "title": "Meter of the bench (invented)",
        "source": "invented",
        "invented": "yes",
        "ranges": "20 mH  19.999 mH  0.3 %  5 digits  10 kHz",
        "typical": "10.000 mH",
        "typical_frequency": "10 kHz",
        "meter": "meter-a",
    }
    form.handle({"kind": "card", "message": {"kind": "type", "fields": fields}})
    revision = form.state()["card"]["revision"]
    assert form.handle({"kind": "card", "message": {"kind": "store", "revision": revision}})["stored"]
    assert (step(form), bench.cards["meter-a"].id) == ("use", "mine")  # type: ignore[union-attr]


def test_a_form_without_a_kernel_leaves_a_sentence(ready: EntryForm, monkeypatch: pytest.MonkeyPatch) -> None:
    """Shown, it puts a sentence with the next step before itself, which the page hides while it lives."""
    shown: list[State] = []
    monkeypatch.setattr("IPython.display.display", lambda data, **_: shown.append(data))
    labkit.form(ready.bench)._ipython_display_()
    assert words.ASLEEP.format(face="The entry form").replace(">", "&gt;") in shown[0]["text/html"]
    assert "application/vnd.jupyter.widget-view+json" in shown[1]
