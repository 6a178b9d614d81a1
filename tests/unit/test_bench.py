"""What can be put into a bench, what it answers, and that a refusal stores nothing. Invented readings."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from labkit.errors import (
    AmbiguousEntry,
    CardError,
    EntryError,
    LabkitError,
    RecordConflict,
    RecordError,
    RecordMissing,
    WiringError,
)
from labkit.record.bench import Bench, new_bench, open_bench
from labkit.resources import shipped
from tests.benches import empty_bench

CARD, COARSE = (shipped("data", "cards", f"{name}.toml") for name in ("bench-fine", "hand-held-coarse"))
SERIES = "1a 2b | 1b=2a"
Verb = Callable[[Bench], Any]


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """A described bench with a meter and one reading, `one`."""
    made = empty_bench(tmp_path)
    made.meter("meter-a", CARD)
    made.read("1a 1b", "10.000 mH", "one", frequency="10 kHz", meter="meter-a", mode="series")
    return made


def stored(bench: Bench) -> bytes:
    """The bytes of the record."""
    return (bench.record.folder / "record.jsonl").read_bytes()


VERBS: dict[str, Verb] = {
    "describe": lambda b: b.describe(windings=2, family="same core", dots="1a 2a"),
    "meter": lambda b: b.meter("meter-b", CARD),
    "meter without card": lambda b: b.meter("meter-c"),
    "conditions": lambda b: b.note_conditions(temperature="22.5 °C", humidity=None),
    "cautions": lambda b: b.accept_cautions("p7"),
    "commit": lambda b: b.commit(SERIES, "20 mH", "guess", by="p1"),
    "read": lambda b: b.read(
        SERIES, "39.90 mH", "line", frequency="10 kHz", second="Q 31", repeat=2, by="p2"
    ),
    "correct": lambda b: b.correct("one", "10.001 mH", "misread", by="p2"),
    "correct fields": lambda b: b.correct(
        "one", reason="moved", wiring="2a 2b", second="D 0.03", frequency="1 kHz"
    ),
    "withdraw": lambda b: b.withdraw("one", "clamp slipped", by="p2"),
    "write": lambda b: b.write("what we saw", "Flux. <b>&amp;</b> {x} 🧲\n", by="p1"),
}


@pytest.mark.parametrize("verb", VERBS.values(), ids=VERBS)
def test_the_same_call_again_stores_nothing(bench: Bench, verb: Verb) -> None:
    """Every verb, said twice, changes the record once, and answers the same both times."""
    first = verb(bench)
    once = stored(bench)
    again = verb(bench)
    assert stored(bench) == once
    assert again.event == first.event
    assert str(again) == str(first)


@pytest.mark.parametrize("verb", VERBS.values(), ids=VERBS)
def test_an_answer_names_its_line(bench: Bench, verb: Verb) -> None:
    """What is stored says on which line of the record it stands."""
    answer = verb(bench)
    assert f"ine {answer.event.seq}" in answer.sentences[0]
    assert bench.events[answer.event.seq - 1] == answer.event


def test_a_whole_notebook_can_be_run_again(tmp_path: Path) -> None:
    """Read, correct, correct again, withdraw: all of it, run twice, is stored once."""
    bench = empty_bench(tmp_path)

    def lesson() -> None:
        bench.read("1a 1b", "10.00 mH", "one")
        bench.correct("one", "10.01 mH", "misread")
        bench.correct("one", "10.02 mH", "misread again")
        bench.withdraw("one", "clamp slipped")
        bench.read("1a 1b", "10.03 mH", "one-again")

    lesson()
    once = stored(bench)
    lesson()
    assert stored(bench) == once
    assert [r.id for r in bench.readings] == ["one-again"]


BLANK: dict[str, Verb] = {
    "read": lambda b: b.read(SERIES, "  ", "line"),
    "commit": lambda b: b.commit(SERIES, "", "guess"),
    "write": lambda b: b.write("what we saw", " \n "),
    "conditions": lambda b: b.note_conditions(),
    "reference": lambda b: b.reference(1, ""),
}


@pytest.mark.parametrize("verb", BLANK.values(), ids=BLANK)
def test_a_blank_entry_stores_nothing_and_says_what_is_awaited(bench: Bench, verb: Verb) -> None:
    """A cell whose entry is still empty is a sentence, neither an error nor an event."""
    before = stored(bench)
    answer = verb(bench)
    assert answer.event is None
    assert "yet" in str(answer)
    assert stored(bench) == before


EMPTY: dict[str, Verb] = {
    "part": lambda b: b.describe(windings=2, family="same core", dots=None),
    "part without arguments": lambda b: b.describe(),
    "meter": lambda b: b.meter("meter-a", None),
    "no meter": lambda b: b.meter(""),
    "cautions": lambda b: b.accept_cautions(by=""),
    "conditions": lambda b: b.note_conditions(),
    "conditions not known": lambda b: b.note_conditions(temperature=None),
    "prediction": lambda b: b.commit(SERIES, "", "guess"),
    "reading": lambda b: b.read("1a 1b", "", "one"),
    "words": lambda b: b.write("clamps", ""),
}
HELD = (
    "dots 1a 2a",
    "dots 1a 2a",
    "fine",
    "fine",
    "p1",
    "temperature",
    "temperature",
    "20 mH",
    "10.0",
    "held.",
)


@pytest.mark.parametrize(("verb", "held"), list(zip(EMPTY.values(), HELD, strict=True)), ids=list(EMPTY))
def test_an_empty_cell_takes_nothing_back_and_says_what_the_record_holds(
    bench: Bench, verb: Verb, held: str
) -> None:
    """A template's cell, run after others have stated more, stores nothing and shows what stands."""
    bench.describe(windings=2, family="same core", dots="1a 2a")
    bench.note_conditions(temperature="22 °C")
    bench.commit(SERIES, "20 mH", "guess")
    bench.write("clamps", "Both held.", by="p1")
    before = stored(bench)
    assert held in str(verb(bench))
    assert stored(bench) == before


def test_what_was_stated_is_taken_back_with_a_reason(bench: Bench) -> None:
    """None with a reason is a statement: dots, card and condition go, once, and stay in the record."""
    bench.describe(windings=2, family="same core", dots="1a 2a")
    bench.note_conditions(temperature="22 °C")
    for _ in range(2):
        bench.describe(dots=None, reason="The marks were on the other part.")
        bench.meter("meter-a", None, reason="The card was another meter's.")
        bench.note_conditions(temperature=None, reason="The thermometer had no battery.")
    assert (bench.dots, bench.part.family, bench.cards["meter-a"]) == (None, "same core", None)
    assert bench.conditions.temperature is None
    assert [event.id for event in bench.events[-3:]] == ["part.2", "meter.meter-a.2", "conditions.2"]


def test_what_is_left_out_of_a_new_statement_stays(bench: Bench) -> None:
    """A title added later leaves dots and family alone; another number of windings leaves no dots behind."""
    bench.describe(windings=2, family="same core", dots="1a 2a")
    bench.describe(dots=None, title="Ring")
    assert (bench.part.title, bench.part.family, bench.part.dots) == ("Ring", "same core", "1a 2a")
    bench.describe(windings=3)
    assert (bench.part.title, bench.part.family, bench.part.dots) == ("Ring", "same core", None)


def test_a_reading_run_again_stands_as_it_was_stored(bench: Bench) -> None:
    """Settings that are gone after a restart, or were never said in the cell, are no other reading."""
    bench.use(frequency="10 kHz", mode="series", meter="meter-a", leads="zeroed", by="p2")
    bench.read("2a 2b", "9.960 mH", "two", second="Q 31")
    before = stored(bench)
    again = open_bench(bench.record.folder)
    assert "9.960 mH" in str(again.read("2a 2b", "9.960 mH", "two"))
    assert stored(bench) == before
    with pytest.raises(RecordConflict, match="frequency"):
        again.read("2a 2b", "9.960 mH", "two", frequency="1 kHz")


def test_a_reading_run_again_says_what_has_become_of_it(bench: Bench) -> None:
    """Its cell shows the correction that counts now, and later the withdrawal."""
    bench.correct("one", "10.001 mH", "misread")
    said = str(bench.read("1a 1b", "10.000 mH", "one"))
    assert "Corrected since then in line 6, which counts: 10.001 mH. Reason: misread" in " ".join(
        said.split()
    )
    bench.withdraw("one", "clamp slipped")
    assert "Withdrawn since then in line 7" in str(bench.read("1a 1b", "", "one"))


RELATIVE = {
    "2 x winding 1": "20.00 mH",
    "w1 + w2": "19.96 mH",
    "W1 - winding-2": "0.0400 mH",
    "0,5 × one": "5.00 mH",
    "winding 1 / 4": "2.50 mH",
    "1/3 * w1": "3.33 mH",
    "w1 + 2 x small": "10.01 mH",
    "w1 - w1": "0.00 mH",
}


@pytest.mark.parametrize("said", RELATIVE)
def test_a_prediction_may_be_said_by_readings(tmp_path: Path, said: str) -> None:
    """It is stored as said and as a number, to the digits of the coarsest reading, and run again it stays."""
    bench = empty_bench(tmp_path)
    bench.read("1a 1b", "10.00 mH", "winding-1")
    bench.read("2a 2b", "9.96 mH", "winding-2")
    bench.read("1a 1b", "10.00 mH", "one")
    bench.read("1a 1b", "6.20 µH", "small")
    event = bench.commit(SERIES, said, "guess").event
    assert (event.said, event.shown) == (said, RELATIVE[said])
    bench.correct("winding-1", "11.00 mH", "misread")
    before = stored(bench)
    assert RELATIVE[said] in str(bench.commit(SERIES, said, "guess"))
    assert stored(bench) == before


@pytest.mark.parametrize(
    "said", ["12", "2 x", "3 x w7", "27.2 Ohm", "2 x 3 x one", "", None, 5, "x" * 200, "one +", "1/0 x one"]
)
def test_an_error_about_a_prediction_does_not_speak_of_a_display(bench: Bench, said: str) -> None:
    """What cannot be taken is refused in words of predictions; an empty one is awaited in them."""
    before = stored(bench)
    if said == "":
        sentence = str(bench.commit(SERIES, said, "guess"))
    else:
        with pytest.raises(EntryError) as refused:
            bench.commit(SERIES, said, "guess")
        sentence = str(refused.value)
    assert "predict" in sentence
    assert "display" not in sentence
    assert stored(bench) == before


def test_a_prediction_after_the_reading_is_taken_and_marked(bench: Bench) -> None:
    """It is stored and says so; the wiring counts as corrected, and a withdrawn reading was seen too."""
    bench.commit(SERIES, "20 mH", "before")
    bench.read(SERIES, "39.90 mH", "line")
    assert "after the reading" in str(bench.commit(SERIES, "39.9 mH", "afterwards"))
    assert "after the reading" not in str(bench.commit(SERIES, "20 mH", "before"))
    bench.correct("line", reason="wired otherwise", wiring="1a 2a | 1b=2b")
    bench.withdraw("line", "clamp slipped")
    bench.commit("1a 2a | 1b=2b", "40 mH", "other")
    assert [(p.id, p.after_reading) for p in bench.predictions] == [
        ("before", False),
        ("afterwards", False),
        ("other", True),
    ]


REFUSED: list[tuple[str, Verb, type[LabkitError], str]] = [
    ("comma", lambda b: b.read(SERIES, "2,700 mH", "x"), AmbiguousEntry, "2,700"),
    ("no unit", lambda b: b.read(SERIES, "2.7", "x"), EntryError, "unit"),
    ("not a text", lambda b: b.read(SERIES, 2.7e-3, "x"), EntryError, r"2\.7|0\.0027"),
    ("nothing at all", lambda b: b.read(SERIES, None, "x"), EntryError, "None"),
    ("capitals", lambda b: b.read(SERIES, "2.7 MH", "x"), AmbiguousEntry, "mH or MH"),
    (
        "wrong quantity",
        lambda b: b.read(SERIES, "2.7 mH", "x", quantity="resistance"),
        EntryError,
        "resistance",
    ),
    ("unknown quantity", lambda b: b.read(SERIES, "2.7 mH", "x", quantity="length"), EntryError, "length"),
    ("wiring", lambda b: b.read("1a 3b", "2.7 mH", "x"), WiringError, "winding 3"),
    ("no wiring", lambda b: b.read("", "2.7 mH", "x"), WiringError, "wiring"),
    ("tie", lambda b: b.read("1a 2b | 1b", "2.7 mH", "x"), WiringError, "1b"),
    (
        "frequency",
        lambda b: b.read(SERIES, "2.7 mH", "x", frequency="10"),
        EntryError,
        "“10” has no unit.*kHz",
    ),
    (
        "frequency of a coil",
        lambda b: b.read(SERIES, "2.7 mH", "x", frequency="10 mH"),
        EntryError,
        "10 mH|frequency",
    ),
    (
        "mode",
        lambda b: b.read(SERIES, "2.7 mH", "x", mode="serial"),
        EntryError,
        "'serial' is neither 'series'",
    ),
    (
        "meter",
        lambda b: b.read(SERIES, "2.7 mH", "x", meter="z"),
        EntryError,
        r"no meter 'z' on this bench \(meter-a\)",
    ),
    (
        "second",
        lambda b: b.read(SERIES, "2.7 mH", "x", second="3.1"),
        EntryError,
        "'3.1' is not a second display",
    ),
    (
        "second letter",
        lambda b: b.read(SERIES, "2.7 mH", "x", second="X 3.1"),
        EntryError,
        "'X 3.1' is not a second",
    ),
    ("second unit", lambda b: b.read(SERIES, "2.7 mH", "x", second="R 3.1"), EntryError, "unit"),
    (
        "leads",
        lambda b: b.read(SERIES, "2.7 mH", "x", leads="short"),
        RecordError,
        "leads was given as 'short'",
    ),
    ("repeat", lambda b: b.read(SERIES, "2.7 mH", "x", repeat=0), RecordError, "repeat was given as 0"),
    ("person", lambda b: b.read(SERIES, "2.7 mH", "x", by="Ada"), RecordError, "by was given as 'Ada'"),
    ("id", lambda b: b.read(SERIES, "2.7 mH", "my reading"), RecordError, "id was given as 'my reading'"),
    (
        "id in another script",
        lambda b: b.read(SERIES, "2.7 mH", "mésure"),
        RecordError,
        "id was given as 'mésure'",
    ),
    (
        "correct unknown",
        lambda b: b.correct("x", "2 mH", "why"),
        EntryError,
        "no reading 'x' in the record; its readings are one",
    ),
    ("correct value", lambda b: b.correct("one", "2", "why"), EntryError, "unit"),
    ("correct wiring", lambda b: b.correct("one", reason="why", wiring="1a"), WiringError, "1a"),
    ("correct frequency", lambda b: b.correct("one", reason="why", frequency="soon"), EntryError, "soon"),
    ("correct meter", lambda b: b.correct("one", reason="why", meter="z"), EntryError, "no meter 'z'"),
    ("correct mode", lambda b: b.correct("one", reason="why", mode="z"), EntryError, "'z' is neither"),
    (
        "correct second",
        lambda b: b.correct("one", reason="why", second={"quantity": "Q", "shown": "x"}),
        EntryError,
        "second display",
    ),
    (
        "correct quantity",
        lambda b: b.correct("one", reason="why", quantity="resistance"),
        EntryError,
        "resistance",
    ),
    ("correct field", lambda b: b.correct("one", reason="why", weather="wet"), RecordError, "weather"),
    ("correct nothing", lambda b: b.correct("one", reason="why"), RecordError, "at least one field"),
    ("no reason", lambda b: b.correct("one", "10.001 mH"), RecordError, "reason"),
    ("withdraw unknown", lambda b: b.withdraw("x", "why"), EntryError, "no reading 'x'"),
    ("withdraw without reason", lambda b: b.withdraw("one", " "), RecordError, "reason"),
    ("dots", lambda b: b.describe(windings=2, dots="1a 1b"), WiringError, "1a 1b"),
    ("windings", lambda b: b.describe(windings=0), EntryError, "0 windings were given"),
    ("windings as text", lambda b: b.describe(windings="2"), RecordError, "windings was given as '2'"),
    (
        "family",
        lambda b: b.describe(windings=2, family="friends"),
        RecordError,
        "family was given as 'friends'",
    ),
    ("part field", lambda b: b.describe(windings=2, colour="red"), RecordError, "colour"),
    ("condition", lambda b: b.note_conditions(weather="wet"), RecordError, "weather"),
    ("card", lambda b: b.meter("meter-b", "schema = "), CardError, "The meter card meter-b is not readable"),
    ("no name", lambda b: b.meter(7), RecordError, "meter"),
    ("setting", lambda b: b.use(frequenzy="10 kHz"), EntryError, "'frequenzy' is not a setting of readings"),
    ("pseudonym", lambda b: b.accept_cautions("Ada L."), RecordError, "by was given as 'Ada L.'"),
]


@pytest.mark.parametrize(("verb", "error", "said"), [r[1:] for r in REFUSED], ids=[r[0] for r in REFUSED])
def test_a_refusal_is_one_sentence_and_stores_nothing(
    bench: Bench, verb: Verb, error: type[LabkitError], said: str
) -> None:
    """What cannot be taken is named in one line; the record's bytes and readings are as before."""
    before, readings = stored(bench), bench.readings
    with pytest.raises(error, match=said) as refusal:
        verb(bench)
    assert "\n" not in str(refusal.value)
    assert (stored(bench), bench.readings) == (before, readings)


def test_a_part_has_no_fewer_windings_than_were_read(bench: Bench) -> None:
    """A description with fewer windings than the readings use would make the record unreadable: refused."""
    bench.read("2a 2b", "9.960 mH", "two")
    with pytest.raises(EntryError, match="1 windings were given, but the record has a wiring of winding 2"):
        bench.describe(windings=1)


def test_a_prediction_cannot_be_corrected(bench: Bench) -> None:
    """`correct` is for readings; a prediction is none."""
    bench.commit(SERIES, "1 mH", "guess")
    with pytest.raises(EntryError, match="no reading 'guess'"):
        bench.correct("guess", "2 mH", "why")


def test_no_reading_before_the_cautions(tmp_path: Path) -> None:
    """A reading is refused until somebody accepted the cautions, then until the part is described."""
    bench = new_bench(tmp_path, "sample-7")
    with pytest.raises(EntryError, match="cautions have not been accepted"):
        bench.read("1a 1b", "10.00 mH", "one")
    bench.accept_cautions("p1")
    with pytest.raises(EntryError, match="does not say yet what the part is"):
        bench.read("1a 1b", "10.00 mH", "one")
    bench.describe(windings=2)
    assert bench.read("1a 1b", "10.00 mH", "one").event
    assert bench.cautions_accepted == ("p1",)


def test_a_second_reading_under_an_id_is_sent_to_correct(bench: Bench) -> None:
    """Other content under a reading's id is refused, and the sentence names the verb that corrects it."""
    with pytest.raises(RecordConflict, match=r"put a mistyped reading right with correct\('one', …\)"):
        bench.read("1a 1b", "10.002 mH", "one", frequency="10 kHz", meter="meter-a", mode="series")


def test_a_prediction_is_locked(bench: Bench) -> None:
    """A prediction under an id that holds another one is refused, and stays as it was given."""
    bench.commit(SERIES, "20 mH", "guess", by="p1")
    with pytest.raises(RecordConflict, match="a prediction is locked and stays as given"):
        bench.commit(SERIES, "39.9 mH", "guess", by="p1")
    assert [str(p.shown) for p in bench.predictions] == ["20 mH"]


def test_a_statement_made_anew_is_the_next_line_and_counts(bench: Bench) -> None:
    """Part, meter, conditions and own words may be stated anew: both lines stay, the latest counts."""
    bench.describe(windings=2, family="separate", dots="1a 2b")
    bench.meter("meter-a", COARSE)
    bench.note_conditions(temperature="22 °C")
    bench.note_conditions(temperature="23 °C")
    bench.write("clamps", "One slipped.", by="p1")
    bench.write("clamps", "Both held.", by="p1")
    assert (bench.part.family, bench.part.dots) == ("separate", "1a 2b")
    assert bench.cards["meter-a"].id == "hand-held-coarse"
    assert bench.conditions.temperature == "23 °C"
    assert [w.text for w in bench.own_words] == ["Both held."]
    ids = [event.id for event in bench.events]
    assert {"part", "part.2", "meter.meter-a", "meter.meter-a.2", "words.clamps", "words.clamps.2"} <= set(
        ids
    )


def test_going_back_to_an_older_statement_is_not_passed_over(bench: Bench) -> None:
    """Saying again what a later line has overruled stores nothing, and says so and what to do."""
    newer = bench.meter("meter-a", COARSE)
    before = stored(bench)
    old = bench.meter("meter-a", CARD)
    assert stored(bench) == before
    assert f"A later entry (line {newer.event.seq}) replaced this one (line {old.event.seq})" in str(old)
    assert bench.meter("meter-a", CARD, id="back").event.seq == newer.event.seq + 1
    assert bench.cards["meter-a"].id == "bench-fine"


def test_a_meter_keeps_its_card(bench: Bench) -> None:
    """Naming a meter without a card takes no card away; a new meter without one has none."""
    before = stored(bench)
    assert "Bench LCR meter, fine" in str(bench.meter("meter-a"))
    assert stored(bench) == before
    assert "no uncertainty is stated for its readings" in str(bench.meter("meter-b"))
    bench.meter("meter-b", CARD)
    assert bench.cards["meter-b"].id == "bench-fine"


def test_a_statement_under_an_id_of_its_own_is_kept_apart(bench: Bench) -> None:
    """With an id given, other content is refused as everywhere."""
    bench.note_conditions(id="start", temperature="22 °C")
    with pytest.raises(RecordConflict, match="enter the new content under a new id"):
        bench.note_conditions(id="start", temperature="23 °C")


def test_two_people_write_on_one_topic(bench: Bench) -> None:
    """Own words on one topic are kept for each person."""
    bench.write("clamps", "One slipped.", by="p1")
    bench.write("clamps", "Both held.", by="p2")
    assert [(w.by, w.text) for w in bench.own_words] == [("p1", "One slipped."), ("p2", "Both held.")]


@pytest.mark.parametrize("name", ["LCR-Gerät Nr. 3", "meter a", "测", "x" * 150, "../../etc"])
def test_any_name_will_do_for_a_meter_or_topic(bench: Bench, name: str) -> None:
    """Spaces and any script are fine in names; the id is made from what an id may hold."""
    bench.meter(name)
    bench.write(name, "words")
    assert name in bench.cards
    assert bench.own_words[-1].topic == name


def test_names_that_make_one_id_are_told_apart(bench: Bench) -> None:
    """Two meters whose names differ only in what an id cannot hold are two meters."""
    bench.meter("meter ä")
    bench.meter("meter ö", CARD)
    assert bench.cards["meter ä"] is None
    assert bench.cards["meter ö"].id == "bench-fine"


def test_raw_text_is_kept(bench: Bench) -> None:
    """The record holds what was typed, letter by letter; the reading holds what it amounts to."""
    bench.read("1A 2a |1b = 2b", " 25,0 uH ", "raw")
    reading = bench.readings[-1]
    assert bench.events[-1].shown == reading.shown.text == " 25,0 uH "
    assert (str(reading.shown), reading.wiring.notation) == ("25.0 µH", "1a 2a | 1b=2b")


def test_a_negative_reading_is_kept_and_remarked(bench: Bench) -> None:
    """A display may show a negative inductance: it is stored as shown, with a second sentence."""
    answer = bench.read(SERIES, "-1.20 mH", "odd")
    assert answer.event.shown == "-1.20 mH"
    assert "negative inductance: kept as shown" in answer.sentences[1]


def test_a_reading_says_what_was_built(bench: Bench) -> None:
    """The echo names the connection that the dots make of the wiring, and the weight of the last digit."""
    bench.commit("2a 1a | 2b=1b", "20 mH", "guess")
    answer = bench.read("1a 2a | 1b=2b", "25.0 µH", "line-reversed")
    assert answer.sentences == (
        f"line-reversed: 25.0 µH for series-opposing, clips on 1a and 2a, tie 1b to 2b. Last digit 0.1 µH. "
        f"Line {answer.event.seq} of the record.",
    )


def test_a_reading_before_a_prediction_is_remarked(bench: Bench) -> None:
    """A joint reading that nobody predicted says so; one winding alone needs no prediction."""
    assert "before a prediction" in str(bench.read(SERIES, "39.90 mH", "line"))
    assert "before a prediction" not in str(bench.read("2a 2b", "9.960 mH", "two"))


def test_settings_are_stored_with_each_reading(bench: Bench) -> None:
    """`use` fills in fields from there on; the call's own field wins, and a bench opened anew has none."""
    bench.use(frequency="1 kHz", mode="series", meter="meter-a", leads="zeroed", by="p2")
    bench.read("2a 2b", "9.960 mH", "two")
    bench.read("2a 2b", "9.961 mH", "two-again", frequency="10 kHz", leads="not zeroed")
    anew = open_bench(bench.record.folder)
    assert str(anew.use()) == "Each reading from here on is stored with: nothing but what its own call says."
    anew.read("2a 2b", "9.962 mH", "two-bare")
    bench.record.refresh()
    two, again, bare = bench.readings[1:]
    assert (str(two.frequency), two.mode, two.meter, two.leads, two.by) == (
        "1 kHz",
        "series",
        "meter-a",
        "zeroed",
        "p2",
    )
    assert (str(again.frequency), again.leads) == ("10 kHz", "not zeroed")
    assert (bare.frequency, bare.mode, bare.meter, bare.leads, bare.by) == (None,) * 5
    assert "frequency" not in bench.events[-1].model_fields_set


def test_what_was_asked_and_is_not_known_is_null(bench: Bench) -> None:
    """A setting of None is stored as null: asked, and not known."""
    bench.use(frequency=None)
    bench.read("2a 2b", "9.960 mH", "two")
    assert "frequency" in bench.events[-1].model_fields_set
    assert bench.readings[-1].frequency is None


def test_a_correction_may_change_any_field(bench: Bench) -> None:
    """Value, wiring, frequency, second display, mode: what was wrong is put right, both are kept."""
    answer = bench.correct(
        "one",
        "9.960 mH",
        "wrong winding",
        wiring="2a  2b",
        frequency="1 kHz",
        second="Q 31",
        mode="parallel",
        by="p2",
    )
    (reading,) = bench.readings
    assert (str(reading.shown), reading.wiring.notation, str(reading.frequency)) == (
        "9.960 mH",
        "2a 2b",
        "1 kHz",
    )
    assert (reading.second.value, reading.mode, reading.lines) == (31, "parallel", (5, 6))
    changes = "9.960 mH, wiring 2a 2b, frequency 1 kHz, second Q 31, mode parallel"
    assert answer.sentences[0].startswith(f"one: corrected to {changes}, line 6; line 5 keeps what was")
    assert answer.event.by == "p2"
    assert bench.events[4].shown == "10.000 mH"


def test_a_correction_may_turn_a_quantity_into_another_together_with_its_value(bench: Bench) -> None:
    """Resistance typed as inductance is put right by quantity and value in one correction."""
    bench.correct("one", "3.00 Ω", "second display copied", quantity="resistance")
    assert bench.readings[0].shown.kind == "resistance"


def test_a_correction_may_take_a_field_back(bench: Bench) -> None:
    """None in a correction says that the field is not known after all."""
    answer = bench.correct("one", reason="nobody looked", frequency=None)
    assert bench.readings[0].frequency is None
    assert "frequency not known" in str(answer)


def test_corrections_follow_each_other(bench: Bench) -> None:
    """Several corrections of one reading are numbered, and the last of each field counts."""
    bench.correct("one", "10.001 mH", "misread")
    bench.correct("one", "10.002 mH", "misread again", frequency="1 kHz")
    assert [e.id for e in bench.events[-2:]] == ["correct.one.1", "correct.one.2"]
    again = bench.correct("one", "10.001 mH", "misread")
    assert str(bench.readings[0].shown) == "10.002 mH"
    assert "A later entry (line 7) replaced this one (line 6)" in str(again)


def test_a_withdrawn_reading_is_gone_from_view_and_kept_in_the_record(bench: Bench) -> None:
    """A withdrawn reading no longer counts, and it can be neither corrected nor withdrawn again."""
    answer = bench.withdraw("one", "clamp slipped")
    assert bench.readings == ()
    assert bench.events[4].shown == "10.000 mH"
    assert "line 5 keeps what was entered" in str(answer)
    with pytest.raises(EntryError, match="Reading 'one' was withdrawn in line 6; enter what is new"):
        bench.correct("one", "9 mH", "why")
    with pytest.raises(RecordConflict):
        bench.withdraw("one", "another reason")


HOSTILE = ['<script>alert("x")</script>', "{shown} {0} %s", "a\u2028b", "Ω µ ± 🧲", "'; DROP TABLE"]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_text(bench: Bench, text: str) -> None:
    """Markup, format fields and rare characters are stored as typed and shown escaped."""
    bench.describe(windings=2, title=text)
    bench.write("words", text)
    bench.withdraw("one", text)
    assert bench.own_words[-1].text == text
    assert open_bench(bench.record.folder).events == bench.events
    assert "<script>" not in bench._repr_html_()


def test_a_missing_record_is_never_the_demo(tmp_path: Path) -> None:
    """Where there is no record, opening is refused by the folder's name, and nothing is made."""
    with pytest.raises(RecordMissing, match=r"no record\.jsonl in"):
        open_bench(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_bench_is_begun_once(tmp_path: Path) -> None:
    """A folder with a record is opened, never begun again."""
    new_bench(tmp_path, "sample-7")
    with pytest.raises(RecordConflict, match="never overwritten"):
        new_bench(tmp_path, "sample-8")


def test_the_bench_shows_its_readings_and_its_problems(bench: Bench) -> None:
    """Damage to the record stands on top; invented data are called so; each reading names its lines."""
    assert "sample-7: invented data" in str(bench)
    assert "one      1a 1b   10.000 mH  10 kHz     meter-a  5" in str(bench)
    file = bench.record.folder / "record.jsonl"
    file.write_bytes(file.read_bytes() + b'{"torn')
    torn = str(open_bench(bench.record.folder))
    assert torn.startswith("record.jsonl, line 6: the last 6 bytes are not a whole event")
