"""What one line of a record may hold. All readings here are invented."""

import hashlib
import json
import subprocess
import sys
from pathlib import Path
from typing import Any, get_args

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit.errors import RecordError, RecordTooNew
from labkit.record import events
from labkit.record.events import KINDS, Reading, ReadingFields, asked, parse_line, to_event, to_line
from labkit.words.record import ACCEPTED
from tests.records import LESSON, PART, SINGLE

SCHEMAS = Path(__file__).parents[2] / "data" / "schema"
HEAD = {"schema": 1, "seq": 2, "utc": "2031-05-06T08:14:09Z", "prev": None}
OPENED = HEAD | {
    "event": "opened",
    "id": "opened",
    "part": PART,
    "labkit": "0.1.0",
    "seed": 7,
    "scenario": "x",
}
REFERENCE = HEAD | {
    "event": "reference",
    "id": "reference.1",
    "winding": 1,
    "quantity": "inductance",
    "shown": "10.000 mH",
    "uncertainty": "0.008 mH",
    "coverage_factor": "2",
    "source": None,
}
SWEEP = HEAD | {
    "schema": 2,
    "event": "sweep",
    "id": "sweep.one",
    "part": PART,
    "wiring": "1a 1b",
    "setup": "series-through",
    "file": "one.s2p",
    "sha256": "5c1e" * 16,
    "open": {"file": "open.s2p", "sha256": "0" * 64},
    "short": None,
    "accuracy": "0.5 %",
    "bias": None,
}
CONTENTS = [
    OPENED,
    REFERENCE,
    SWEEP,
    *(HEAD | {"event": event, "id": id} | fields for event, id, fields in LESSON),
]
READING = HEAD | {"event": "reading", "id": "r"} | SINGLE
PART_EVENT = HEAD | {"event": "part", "id": "p", "part": PART, "windings": 2}
CORRECTION = HEAD | {
    "event": "correction",
    "id": "c",
    "corrects": "r",
    "changes": {"repeat": 2},
    "reason": "x",
}


def refused(content: dict[str, Any]) -> str:
    """The sentence with which a content is refused on line 9."""
    with pytest.raises(RecordError) as caught:
        to_event(content, "record.jsonl, line 9")
    return str(caught.value)


def published(format: int) -> Any:
    """The published schema of a record format."""
    return json.loads((SCHEMAS / f"record-{format}.schema.json").read_text("utf-8"))


def accepted_by_schema(content: Any, format: int = 2) -> bool:
    """Whether the published file takes the content."""
    schema = published(format)
    return bool(jsonschema.Draft202012Validator(schema).is_valid(content))


# What is kept


@pytest.mark.parametrize("content", CONTENTS, ids=lambda content: str(content["event"]))
def test_a_line_says_exactly_what_was_given(content: dict[str, Any]) -> None:
    """Every kind of event comes back from its line with the same fields and values, no more and no fewer."""
    line = to_line(to_event(content, "here"))
    assert json.loads(line) == content
    assert to_event(parse_line(line, "here"), "here") == to_event(content, "here")
    assert line.endswith(b"\n")
    assert line.count(b"\n") == 1


def test_every_kind_of_event_is_tried_here() -> None:
    """The contents above cover all kinds there are."""
    assert {content["event"] for content in CONTENTS} == set(KINDS)
    assert len(KINDS) == len(get_args(events.Event))


def test_absent_is_not_null() -> None:
    """A field that was not asked stays out of the line; one that was asked and is not known is null in it."""
    not_asked, not_known = to_event(READING, "here"), to_event(READING | {"mode": None}, "here")
    assert (asked(not_asked, "mode"), asked(not_known, "mode")) == (False, True)
    assert b'"mode"' not in to_line(not_asked)
    assert b'"mode":null' in to_line(not_known)


def test_shown_text_is_not_interpreted() -> None:
    """What a display showed is kept character by character, sense or not."""
    for shown in ("6.20 µH", "6,20 µH", "2,700", " 25 mh ", "OL", "1e3"):
        assert to_event(READING | {"shown": shown}, "here").shown == shown  # type: ignore[union-attr]


@given(st.text(st.characters(exclude_categories=("Cc", "Cs")), min_size=1, max_size=60))
def test_any_unicode_survives(text: str) -> None:
    """Text of any script comes back unchanged, unless it is blank."""
    content = READING | {"shown": text}
    if not text.strip():
        assert "shown was given as" in refused(content)
    else:
        assert json.loads(to_line(to_event(content, "here")))["shown"] == text


def test_an_event_cannot_be_changed() -> None:
    """Events are frozen, the parts inside them too."""
    reading = to_event(READING | {"second": {"quantity": "Q", "shown": "3.1"}}, "here")
    for owner, name in ((reading, "shown"), (reading.second, "shown")):  # type: ignore[union-attr]
        with pytest.raises(ValueError, match="frozen"):
            setattr(owner, name, "9 H")


# What is refused, and how it is said


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (READING | {"shown": 25.0}, f"shown was given as 25.0, but accepted is {ACCEPTED['shown']}."),
        (READING | {"shown": None}, f"shown was given as null, but accepted is {ACCEPTED['shown']}."),
        (READING | {"mode": "auto"}, f"mode was given as 'auto', but accepted is {ACCEPTED['mode']}."),
        (READING | {"repeat": True}, f"repeat was given as True, but accepted is {ACCEPTED['repeat']}."),
        (READING | {"repeat": 0}, f"repeat was given as 0, but accepted is {ACCEPTED['repeat']}."),
        (READING | {"schema": True}, f"schema was given as True, but accepted is {ACCEPTED['schema']}."),
        (READING | {"seq": 2.0}, f"seq was given as 2.0, but accepted is {ACCEPTED['seq']}."),
        (READING | {"prev": "5c1e"}, f"prev was given as '5c1e', but accepted is {ACCEPTED['prev']}."),
        (READING | {"id": "a b"}, f"id was given as 'a b', but accepted is {ACCEPTED['id']}."),
        (
            READING | {"utc": "2031-13-45T08:14:09Z"},
            f"utc was given as '2031-13-45T08:14:09Z', but accepted is {ACCEPTED['utc']}.",
        ),
        (
            READING | {"second": {"quantity": "Q"}},
            f"second.shown is missing; accepted is {ACCEPTED['shown']}.",
        ),
        (
            PART_EVENT | {"turns": [40, "39"]},
            f"turns.1 was given as '39', but accepted is {ACCEPTED['turns']}.",
        ),
        (
            PART_EVENT | {"family": "Same Core"},
            f"family was given as 'Same Core', but accepted is {ACCEPTED['family']}.",
        ),
        (CORRECTION | {"reason": " "}, f"reason was given as ' ', but accepted is {ACCEPTED['reason']}."),
        (CORRECTION | {"changes": {}}, f"changes was given as {{}}, but accepted is {ACCEPTED['changes']}."),
        (
            CORRECTION | {"changes": {"shown": None}},
            f"changes.shown was given as null, but accepted is {ACCEPTED['shown']}.",
        ),
        (
            READING | {"second": {"quantity": "Q", "shown": "3", "unit": "x"}},
            "'second.unit' = 'x' is not a field known here; the fields are quantity, shown.",
        ),
    ],
)
def test_a_refusal_names_field_given_and_accepted(content: dict[str, Any], sentence: str) -> None:
    """A refusal is one sentence: where, which field, what was given, what is accepted."""
    assert refused(content) == f"record.jsonl, line 9: {sentence}"


@pytest.mark.parametrize("name", ["Anna", "anna", "p", "2", "P2", "p2 ", "p 2", "anna.b2", "p12345", ""])
def test_nobody_is_named(name: str) -> None:
    """Whatever looks like a name is refused, and the sentence says that people are pseudonyms."""
    sentence = refused(READING | {"by": name})
    assert f"by was given as {name!r}" in sentence
    assert "pseudonym" in sentence


def test_cautions_need_somebody_who_accepted_them() -> None:
    """Cautions without a pseudonym, or with null for one, are not accepted cautions."""
    cautions = HEAD | {"event": "cautions", "id": "c", "accepted": "1"}
    assert "by is missing" in refused(cautions)
    assert "by was given as null" in refused(cautions | {"by": None})


@pytest.mark.parametrize(
    "field", ["event", "utc", "seq", "id", "prev", "part", "wiring", "quantity", "shown"]
)
def test_what_is_always_asked_must_be_there(field: str) -> None:
    """A reading without one of its necessary fields is refused with that field's name."""
    content = {name: value for name, value in READING.items() if name != field}
    assert ("null is not a kind of event" if field == "event" else f"{field} is missing") in refused(content)


@pytest.mark.parametrize("kind", ["readings", "Reading", "", None, 3, ["reading"], {"reading": 1}])
def test_unknown_kinds_are_answered_with_the_known_ones(kind: object) -> None:
    """A kind of event that does not exist is refused, and the sentence lists those that do."""
    sentence = refused(READING | {"event": kind})
    assert "is not a kind of event" in sentence
    assert all(known in sentence for known in KINDS)


@pytest.mark.parametrize(("length", "fits"), [(500, True), (501, False)])
def test_what_is_shown_has_a_longest_length(length: int, fits: bool) -> None:
    """500 characters are taken and 501 refused, with a sentence that does not repeat all of them."""
    content = READING | {"shown": "9" * length}
    if fits:
        assert to_event(content, "here")
    else:
        assert len(refused(content)) < 300


CONTROLS = [chr(n) for n in (*range(0x20), *range(0x7F, 0xA0))]


@pytest.mark.parametrize("character", [*CONTROLS, "\ud800"], ids=ascii)
def test_control_characters_are_refused(character: str) -> None:
    """No control character enters a line; text of several lines may hold line ends and tabs, nothing else."""
    sentence = refused(READING | {"shown": f"25.0{character}µH"})
    assert "shown was given as" in sentence
    assert character not in sentence
    words = HEAD | {"event": "own_words", "id": "w", "topic": "t", "text": f"a{character}b"}
    if character in "\n\r\t":
        assert json.loads(to_line(to_event(words, "here"))) == words
    else:
        assert "text was given as" in refused(words)


def test_a_newer_format_is_told_from_damage() -> None:
    """A line in a newer format is refused as such, whatever else it holds."""
    with pytest.raises(RecordTooNew, match=r"line 9 was written in record format 4, .* newer labkit"):
        to_event({"schema": 4, "event": "something new"}, "record.jsonl, line 9")


@pytest.mark.parametrize(
    ("raw", "reason"),
    [
        (b'{"a": NaN}', "NaN is not a number"),
        (b'{"a": [Infinity]}', "Infinity is not a number"),
        (b'{"a": -Infinity}', "-Infinity is not a number"),
        (b'{"a": 1, "a": 2}', "the name 'a' stands twice"),
        (b'{"a": {"b": 1, "c": 2, "b": 1}}', "the name 'b' stands twice"),
        (b"[1]", "it holds a list"),
        (b"12", "it holds a int"),
        (b'{"a": "\xff"}', "can't decode byte 0xff"),
        (b'{"a": ' + b"[" * 100_000, "recursion"),
        (b'{"a": ' + b"1" * 5000 + b"}", "digits"),
        (b'{"a": 1', "delimiter"),
        (b'{"a": 1} {"b": 2}', "Extra data"),
        (b"\x00" * 40, "Expecting value"),
    ],
    ids=range(13),
)
def test_a_line_that_is_not_one_json_object_is_refused(raw: bytes, reason: str) -> None:
    """What JSON does not know, or names twice, is refused with the line and the reason."""
    with pytest.raises(RecordError) as caught:
        parse_line(raw, "record.jsonl, line 9")
    assert str(caught.value).startswith("record.jsonl, line 9 is not one JSON object in UTF-8 (")
    assert reason in str(caught.value)


def test_a_number_too_large_to_hold_is_refused() -> None:
    """1e999 is valid JSON, becomes infinite when it is read, and is accepted by no field."""
    content = parse_line(
        json.dumps(READING | {"repeat": 0}).replace('"repeat": 0', '"repeat": 1e999').encode(), ""
    )
    assert "repeat was given as inf" in refused(content)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


@given(
    st.sampled_from(CONTENTS),
    st.dictionaries(st.sampled_from([*ACCEPTED]) | st.text(max_size=5), JSON, max_size=3),
)
def test_any_content_is_taken_or_refused_plainly(content: dict[str, Any], odd: dict[str, Any]) -> None:
    """Hostile fields end in an event that says the same, or in one printable sentence of our own."""
    try:
        event = to_event(content | odd, "here")
    except RecordError as error:
        sentence = str(error)
        assert sentence.isprintable()
        assert sentence.startswith("here")
        assert sentence.endswith(".")
        assert len(sentence) < 600
        assert "pydantic" not in sentence
    else:
        assert json.loads(to_line(event)) == content | odd


# Corrections


def test_a_correction_can_change_all_of_a_reading_and_nothing_else() -> None:
    """The fields of a correction's changes are the reading's own; the common ones are not among them."""
    common = {"schema_version", "seq", "utc", "event", "id", "by", "prev"}
    assert set(ReadingFields.model_fields) == set(Reading.model_fields) - common
    for field in ("utc", "seq", "by", "id", "event"):
        assert f"'changes.{field}' = 'x' is not a field known here" in refused(
            CORRECTION | {"changes": {field: "x"}}
        )


def test_a_correction_may_say_that_something_is_not_known() -> None:
    """Null among the changes means not known, and only the fields that were changed stand in the line."""
    event = to_event(CORRECTION | {"changes": {"frequency": None}}, "here")
    assert b'"changes":{"frequency":null}' in to_line(event)


# The hash


def test_the_hash_is_the_one_that_is_published() -> None:
    """The hash of a content is SHA-256 over sorted names, no spaces, unescaped UTF-8."""
    text = '{"by":null,"id":"µ","seq":1}'
    assert events.content_hash({"seq": 1, "id": "µ", "by": None}) == hashlib.sha256(text.encode()).hexdigest()


@pytest.mark.parametrize("field", [name for name in READING if name != "event"])
def test_the_hash_takes_every_field(field: str) -> None:
    """A change of any value changes the hash."""
    assert events.content_hash(READING) != events.content_hash(READING | {field: "other"})


def test_the_check_is_the_one_that_is_published() -> None:
    """A line of format 3 ends in the first 16 digits of the hash of the rest; older ones have none."""
    content = json.loads(to_line(to_event(READING | {"schema": 3}, "here")))
    check = content.pop("check")
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert check == hashlib.sha256(text.encode()).hexdigest()[:16]
    assert "check" not in json.loads(to_line(to_event(READING, "here")))


# What a later labkit may add


def test_unknown_fields_are_told_and_the_rest_is_read() -> None:
    """Optional fields of a later labkit, inside others too, are named; what is known comes back as it is."""
    content = READING | {"second": {"quantity": "Q", "shown": "3.1", "unit": "x"}, "humidity": "40 %"}
    event, unknown = events.read_event(content, "here")
    assert sorted(unknown) == ["humidity", "second.unit"]
    assert event == to_event(READING | {"second": {"quantity": "Q", "shown": "3.1"}}, "here")
    assert content["second"]["unit"] == "x"
    with pytest.raises(RecordError, match="leads was given as 'maybe'"):
        events.read_event(content | {"leads": "maybe"}, "here")
    assert "'humidity' = '40 %' is not a field known here" in refused(READING | {"humidity": "40 %"})


# The published schema


@pytest.mark.parametrize("format", [1, 2, 3])
def test_the_published_schema_is_the_models(format: int) -> None:
    """The published files say what the code checks; `python -m labkit.record.events 1` prints the first."""
    assert published(format) == json.loads(json.dumps(events.json_schema(format)))


def test_the_published_schema_takes_what_the_code_takes() -> None:
    """A validator that knows only the published file accepts every kind of event."""
    assert all(accepted_by_schema(content) for content in CONTENTS)
    now = [json.loads(to_line(to_event(content | {"schema": 3}, "here"))) for content in CONTENTS]
    assert all(accepted_by_schema(content, 3) for content in now)
    assert not any(accepted_by_schema(content | {"check": None}, 3) for content in now)


def test_only_a_sweep_needs_the_second_format() -> None:
    """All kinds but a sweep are lines of format 1, which an older labkit reads; a sweep is none for it."""
    assert [c["event"] for c in CONTENTS if not accepted_by_schema(c, 1)] == ["sweep"]
    assert f"schema was given as 1, but accepted is {ACCEPTED['schema']}" in refused(SWEEP | {"schema": 1})
    assert not accepted_by_schema(SWEEP | {"schema": 1})


@pytest.mark.parametrize(
    "wrong",
    [
        READING | {"shown": 25.0},
        READING | {"shown": None},
        READING | {"shown": "a\tb"},
        READING | {"shown": "  "},
        READING | {"mode": "auto"},
        READING | {"schema": 2},
        READING | {"colour": "red"},
        READING | {"by": "anna"},
        READING | {"seq": 0},
        READING | {"prev": "5c1e"},
        READING | {"id": "ä"},
        READING | {"event": "readings"},
        READING | {"repeat": None, "second": {"quantity": "Q"}},
        PART_EVENT | {"turns": []},
        CORRECTION | {"changes": {}},
        CORRECTION | {"changes": {"utc": "x"}},
        CORRECTION | {"changes": {"wiring": None}},
        SWEEP | {"setup": "through"},
        SWEEP | {"sha256": "5c1e"},
        SWEEP | {"open": {"file": "open.s2p"}},
    ],
)
def test_the_published_schema_refuses_what_the_code_refuses(wrong: dict[str, Any]) -> None:
    """A validator that knows only the published file refuses the same mistakes as the code."""
    assert refused(wrong) if wrong["schema"] == 1 else True
    assert not accepted_by_schema(wrong)


def test_every_field_says_what_it_accepts() -> None:
    """Each field has words for what it accepts, and no words are there for a field that is not."""
    models = [*KINDS.values(), ReadingFields, events.Second]
    names = {field.alias or name for model in models for name, field in model.model_fields.items()}
    assert names | {"check"} == set(ACCEPTED)


# Weight


def test_the_events_load_no_heavy_library() -> None:
    """Reading a record needs no numpy, sympy, scipy, matplotlib; `import labkit` no pydantic either."""
    program = "import sys, {name}; print([m for m in {heavy} if m in sys.modules])"
    heavy = ["numpy", "sympy", "scipy", "matplotlib", "IPython", "ipywidgets"]
    for name, modules in (("labkit", [*heavy, "pydantic", "filelock"]), ("labkit.record.record_file", heavy)):
        ran = [sys.executable, "-c", program.format(name=name, heavy=modules)]
        assert subprocess.run(ran, capture_output=True, text=True, check=True).stdout == "[]\n"
