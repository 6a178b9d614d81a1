"""The record of one part on the disk. All readings here are invented."""

import json
import multiprocessing
import os
import resource
import stat
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from filelock import FileLock

from labkit.errors import RecordBusy, RecordConflict, RecordError, RecordMissing, RecordTooNew
from labkit.record import record_file as chain
from labkit.record import record_file as store
from labkit.record.events import content_hash, to_event, to_line
from labkit.record.record_file import FILE, LOCK, Record
from tests.records import LESSON, PART, SINGLE, checked, hashes, lesson, lines, rewrite, ticking


def refused(call: Callable[[], object], error: type[Exception] = RecordError) -> str:
    """The sentence with which a call is refused."""
    with pytest.raises(error) as caught:
        call()
    sentence = str(caught.value)
    assert "\n" not in sentence
    assert sentence.endswith(".")
    return sentence


def read(record: Record, id: str, **fields: Any) -> object:
    """Append a reading."""
    return record.append("reading", id, **SINGLE | fields)


# Beginning and opening


def test_a_record_begins_with_its_opening_line(tmp_path: Path) -> None:
    """`create` makes the folder and one line that names schema, part and labkit, linked to nothing."""
    record = Record.create(tmp_path / "new" / "bench", PART, clock=ticking(), labkit="0.1.0", seed=7)
    assert lines(record.folder) == [
        b'{"schema":3,"seq":1,"utc":"2031-05-06T08:14:09Z","event":"opened","id":"opened",'
        b'"part":"sample-7","labkit":"0.1.0","seed":7,"prev":null,"check":"8ae5c6b440f77841"}\n'
    ]
    assert [event.id for event in record.events] == ["opened"]


def test_a_record_is_never_overwritten(tmp_path: Path) -> None:
    """Beginning a record where one is refused, and not a byte changes."""
    lesson(tmp_path)
    before = lines(tmp_path)
    assert "never overwritten" in refused(lambda: Record.create(tmp_path, PART), RecordConflict)
    assert lines(tmp_path) == before


def test_a_wrong_opening_makes_nothing(tmp_path: Path) -> None:
    """If a field of the opening line cannot be taken, neither folder nor file is made."""
    assert "seed was given as -1" in refused(lambda: Record.create(tmp_path / "new", PART, seed=-1))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("content", [b"", b"\xef\xbb\xbf", b'{"schema":1,"seq":1,"utc":"20'])
def test_a_beginning_that_was_cut_short_can_be_begun_again(tmp_path: Path, content: bytes) -> None:
    """A file without one whole line is no record; beginning again keeps its bytes and goes on."""
    rewrite(tmp_path, content)
    record = Record.create(tmp_path, PART)
    read(record, "single")
    kept = b"".join(path.read_bytes() for path in tmp_path.glob("torn-*"))
    assert kept + (tmp_path / FILE).read_bytes()[: len(content) - len(kept)] == content
    assert [event.id for event in Record.open(tmp_path).events] == ["opened", "single"]


def test_a_missing_record_is_an_error(tmp_path: Path) -> None:
    """Opening where there is none fails with the folder's name, also as FileNotFoundError, and makes none."""
    for folder in (tmp_path, tmp_path / "nowhere"):
        sentence = refused(partial(Record.open, folder), RecordMissing)
        assert sentence.startswith(f"There is no record.jsonl in '{folder}'")
    assert issubclass(RecordMissing, FileNotFoundError)
    assert list(tmp_path.iterdir()) == []


def test_opening_gives_back_what_was_stored(tmp_path: Path) -> None:
    """All kinds of events come back equal, in their order, and a sound record has no problems."""
    stored = lesson(tmp_path)
    opened = Record.open(tmp_path)
    assert opened.events == stored.events
    assert [event.id for event in opened.events] == ["opened", *(id for _, id, _ in LESSON)]
    assert [event.seq for event in opened.events] == list(range(1, 12))
    assert opened.problems == stored.problems == ()
    assert opened.digest == stored.digest


def test_opening_changes_nothing_on_the_disk(tmp_path: Path) -> None:
    """Opening sound or torn records adds no file and no byte."""
    lesson(tmp_path)
    (tmp_path / LOCK).unlink()
    for cut in (0, 1, 5):
        rewrite(tmp_path, b"".join(lines(tmp_path))[: -cut or None])
        before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
        assert Record.open(tmp_path).events
        assert Record.open(tmp_path, read_only=True).events
        assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_the_clock_is_the_callers(tmp_path: Path) -> None:
    """The same calls with the same clock write the same bytes; any time zone is stored as UTC."""
    lesson(tmp_path / "a")
    lesson(tmp_path / "b")
    assert lines(tmp_path / "a") == lines(tmp_path / "b")
    east = datetime.fromisoformat("2031-05-06T10:14:09.999+02:00")
    assert Record.create(tmp_path / "c", PART, clock=lambda: east).events[0].utc == "2031-05-06T08:14:09Z"


def test_a_clock_without_a_time_zone_is_refused(tmp_path: Path) -> None:
    """A time that could be meant anywhere is not stored."""
    naive = datetime.fromisoformat("2031-05-06T08:14:09")
    assert "time zone" in refused(lambda: Record.create(tmp_path, PART, clock=lambda: naive))


# Entering


def test_the_same_entry_again_stores_nothing(tmp_path: Path) -> None:
    """Running a lesson a second time, in the same or in a new program, returns the stored events."""
    record = lesson(tmp_path)
    before = lines(tmp_path)
    for again in (record, Record.open(tmp_path)):
        assert tuple(again.append(event, id, **fields) for event, id, fields in LESSON) == record.events[1:]
    assert lines(tmp_path) == before


@pytest.mark.parametrize(
    ("event", "id", "fields", "said"),
    [
        ("reading", "single", SINGLE | {"shown": "11 mH"}, ["'10.00 mH' there, '11 mH' was", "correct('"]),
        ("reading", "single", SINGLE | {"by": "p3"}, ["by is 'p2' there, 'p3' was given"]),
        ("reading", "single", SINGLE | {"by": "p2", "leads": "zeroed"}, ["mode is null there, absent was"]),
        ("prediction", "guess", LESSON[4][2] | {"shown": "40 mH"}, ["'20 mH' there", "is locked"]),
        ("conditions", "conditions", {"temperature": "25 °C"}, ["'23 °C' there", "under a new id"]),
        ("own_words", "single", {"topic": "x", "text": "y"}, ["event is 'reading' there", "correct('"]),
    ],
)  # fmt: skip
def test_an_id_with_other_content_names_the_verb(
    tmp_path: Path, event: str, id: str, fields: dict[str, Any], said: list[str]
) -> None:
    """Other content under a known id is refused; the sentence gives both values and what to do."""
    record = lesson(tmp_path)
    before = lines(tmp_path)
    sentence = refused(lambda: record.append(event, id, **fields), RecordConflict)
    assert all(text in sentence for text in [f"The id '{id}'", *said]), sentence
    assert lines(tmp_path) == before


@pytest.mark.parametrize(
    ("event", "fields", "said"),
    [
        ("correction", {"corrects": "nothing", "changes": {"repeat": 2}}, "no event before it has that id"),
        ("correction", {"corrects": "guess", "changes": {"shown": "1 H"}}, "a prediction is locked"),
        ("correction", {"corrects": "part", "changes": {"repeat": 2}}, "'part', a part event"),
        ("correction", {"corrects": "single", "changes": {"repeat": 2}}, "'away' has withdrawn it"),
        ("withdrawal", {"withdraws": "nothing"}, "no event before it has that id"),
        ("withdrawal", {"withdraws": "guess"}, "a prediction is locked"),
        ("withdrawal", {"withdraws": "fix"}, "'fix', a correction event"),
        ("withdrawal", {"withdraws": "single"}, "'away' has withdrawn it"),
    ],
)
def test_only_a_standing_reading_is_corrected_or_withdrawn(
    tmp_path: Path, event: str, fields: dict[str, Any], said: str
) -> None:
    """Whatever is no reading, or no longer one, is refused as a target, and nothing is stored."""
    record = lesson(tmp_path)
    before = lines(tmp_path)
    sentence = refused(lambda: record.append(event, "new", reason="misread", **fields))
    assert sentence.startswith(f"{event} 'new' names '")
    assert said in sentence
    assert lines(tmp_path) == before


@pytest.mark.parametrize("field", ["schema", "seq", "utc", "prev", "check"])
def test_place_time_and_link_cannot_be_given(tmp_path: Path, field: str) -> None:
    """What the record writes itself is refused among the fields."""
    record = lesson(tmp_path)
    assert f"reading 'r': {field} cannot be given" in refused(lambda: read(record, "r", **{field: 1}))


def test_a_refused_entry_is_named_by_kind_and_id(tmp_path: Path) -> None:
    """A refusal of an entry begins with what was entered, made harmless."""
    record = lesson(tmp_path)
    assert refused(lambda: read(record, "r", leads="maybe")).startswith(
        "reading 'r': leads was given as 'maybe'"
    )
    assert refused(lambda: read(record, "r\x1b")).startswith(r"reading 'r\x1b': id was given as")
    assert refused(lambda: record.append("guess", "g")).startswith(
        "'guess' 'g': 'guess' is not a kind of event"
    )


def test_a_record_is_opened_once(tmp_path: Path) -> None:
    """A second opening line is refused."""
    record = lesson(tmp_path)
    assert "open already" in refused(lambda: record.append("opened", "again", part=PART, labkit="0.1.0"))


def test_a_read_only_record_stores_nothing(tmp_path: Path) -> None:
    """A read-only record gives back what is there for the same entry and refuses a new one, lockless."""
    lesson(tmp_path)
    (tmp_path / LOCK).unlink()
    before = lines(tmp_path)
    record = Record.open(tmp_path, read_only=True)
    event, id, fields = LESSON[6]
    assert record.append(event, id, **fields) == record.events[7]
    assert "reading 'new' was NOT stored" in refused(lambda: read(record, "new"))
    assert [path.name for path in tmp_path.iterdir()] == [FILE]
    assert lines(tmp_path) == before


# The chain


def test_each_event_holds_the_hash_of_the_one_before(tmp_path: Path) -> None:
    """The links are those of the published rule, worked out here without labkit, and so is the digest."""
    record = lesson(tmp_path)
    expected = hashes(tmp_path)
    assert [event.prev for event in record.events] == [None, *expected[:-1]]
    assert record.digest == expected[-1]


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace(b"\n", b"\r\n"),
        lambda text: text.replace(b'":', b'" :\t '),
        lambda text: b"".join(
            json.dumps(dict(reversed(json.loads(line).items()))).encode() + b"\n"
            for line in text.split(b"\n")[:-1]
        ),
    ],
    ids=["line ends", "spaces", "order and escapes"],
)
def test_the_chain_is_over_content_not_bytes(tmp_path: Path, change: Callable[[bytes], bytes]) -> None:
    """Changed line ends, spaces, escapes and order of names break nothing, and entries go on after them."""
    record = lesson(tmp_path)
    rewrite(tmp_path, change((tmp_path / FILE).read_bytes()))
    changed = Record.open(tmp_path)
    assert (changed.problems, changed.digest, changed.events) == ((), record.digest, record.events)
    read(changed, "more")
    assert Record.open(tmp_path).problems == ()


def test_a_byte_order_mark_is_named_and_skipped(tmp_path: Path) -> None:
    """A mark that an editor put before the first line costs no event and is reported."""
    stored = lesson(tmp_path)
    rewrite(tmp_path, b"\xef\xbb\xbf", *lines(tmp_path))
    record = Record.open(tmp_path)
    read(record, "more")
    for opened in (record, Record.open(tmp_path)):
        assert opened.problems == (
            "record.jsonl begins with a byte-order mark, which some editors add; it is skipped.",
        )
        assert opened.events[:-1] == stored.events


CHECK = "record.jsonl, line {} does not fit its own check, so it was changed"
NOT_KNOWN = "record.jsonl, line {} has 'plaice', which this labkit does not know"
CHAIN = "record.jsonl, line {} does not follow from the event before it"
GONE = "record.jsonl, line {} names 'single', but no event before it has that id; the line is kept and not"
NUMBERED = "record.jsonl, line {} is numbered {} where {} was expected"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda a: [*a[:6], a[6].replace(b"10.00", b"10.10"), *a[7:]], [CHECK.format(7)]),
        (lambda a: [*a[:6], a[6].replace(b"10.00", b"10.1"), *a[7:]], [CHECK.format(7)]),
        (lambda a: [*a[:5], a[5].replace(b"08:14:14", b"08:14:13"), *a[6:]], [CHECK.format(6)]),
        (lambda a: [*a[:4], *a[5:]], [NUMBERED.format(5, 6, 5), CHAIN.format(5)]),
        (
            lambda a: [*a[:4], a[5], a[4], *a[6:]],
            [
                *(NUMBERED.format(5, 6, 5), CHAIN.format(5), NUMBERED.format(6, 5, 7), CHAIN.format(6)),
                *(NUMBERED.format(7, 7, 6), CHAIN.format(7)),
            ],
        ),
        (
            lambda a: a[1:],
            [NUMBERED.format(1, 2, 1), CHAIN.format(1), "record.jsonl, line 1 stands where the opening line"],
        ),
        (lambda a: [*a[:5], b"\n", *a[5:]], ["record.jsonl, line 6 is blank"]),
        (lambda a: [*a, b"\r\n"], ["record.jsonl, line 12 is blank"]),
        (
            lambda a: [*a[:3], a[2], *a[3:]],
            [
                *(NUMBERED.format(4, 3, 4), CHAIN.format(4), "record.jsonl, line 4 repeats the id 'meter.a'"),
            ],
        ),
        (lambda a: [*a[:3], b"{?}\n", *a[4:]], ["record.jsonl, line 4 is not one JSON object"]),
        (lambda a: [*a[:3], b"\xff\xfe\n", *a[4:]], ["record.jsonl, line 4 is not one JSON object"]),
        (
            lambda a: [*a[:3], a[3].replace(b"place", b"plaice"), *a[4:]],
            [CHECK.format(4), NOT_KNOWN.format(4)],
        ),
        (lambda a: [*a[:10], a[10].replace(b"clamps", b"clamp")], [CHECK.format(11)]),
        (
            lambda a: [a[0].replace(b"invented", b"invited"), *a[1:8], *a[9:]],
            [
                *(CHECK.format(1), "record.jsonl, line 1 has 'invited'"),
                *(NUMBERED.format(9, 10, 9), CHAIN.format(9)),
            ],
        ),
        (
            lambda a: [*a[:3], b"{?}\n", *a[4:7], a[7].replace(b"25.0", b"26.0"), *a[8:]],
            ["record.jsonl, line 4 is not one JSON object", CHECK.format(8)],
        ),
        (
            lambda a: [*a[:6], b"{?}\n", *a[7:]],
            [
                "record.jsonl, line 7 is not one JSON object",
                GONE.format(9),
                GONE.format(10),
            ],
        ),
    ],
    ids=[
        *("value", "last digit", "time", "removed", "swapped", "no first", "blank", "blank last", "doubled"),
        *("not JSON", "not UTF-8", "a field's name", "last line", "first changed, one removed"),
        *("not JSON and later a value", "corrected reading gone"),
    ],
)  # fmt: skip
def test_damage_is_named_and_stops_nothing(
    tmp_path: Path, change: Callable[[list[bytes]], list[bytes]], said: list[str]
) -> None:
    """A changed, removed, moved or unreadable line is named and stays, and the lesson goes on after it."""
    lesson(tmp_path)
    damaged = change(lines(tmp_path))
    rewrite(tmp_path, *damaged)
    record = Record.open(tmp_path)
    assert len(record.problems) == len(said), record.problems
    assert [problem[: len(text)] for problem, text in zip(record.problems, said, strict=True)] == said
    read(record, "more")
    again = Record.open(tmp_path)
    assert lines(tmp_path)[:-1] == damaged
    assert again.problems == record.problems
    assert [event.id for event in again.events].count("more") == 1


def test_events_that_count_rest_on_each_other(tmp_path: Path) -> None:
    """Among the events of a damaged record no id comes twice, and no correction is without its reading."""
    lesson(tmp_path)
    a = lines(tmp_path)
    rewrite(tmp_path, *a[:6], *a[7:], *a[7:], a[0])
    ids = [event.id for event in Record.open(tmp_path).events]
    assert ids == ["opened", "part", "meter.a", "conditions", "cautions.p2", "guess", "line-reversed", "why"]


def test_a_lost_reading_can_be_entered_again(tmp_path: Path) -> None:
    """Running the lesson again after a line was spoilt stores what was lost; the spoilt line stays."""
    lesson(tmp_path)
    a = lines(tmp_path)
    rewrite(tmp_path, *a[:6], b"{?}\n", *a[7:])
    record = Record.open(tmp_path)
    for event, id, fields in LESSON:
        record.append(event, id, **fields)
    assert {event.id for event in Record.open(tmp_path).events} == {"opened", *(id for _, id, _ in LESSON)}
    assert lines(tmp_path)[6] == b"{?}\n"
    assert len(lines(tmp_path)) == 11 + 3


def as_older(folder: Path) -> list[bytes]:
    """The lines of a record as an older labkit wrote them, without checks; they are put in its place."""
    prev, older = None, []
    for line in lines(folder):
        content = json.loads(line)
        del content["check"]
        older.append(to_line(to_event(content | {"schema": 1, "prev": prev}, "here")))
        prev = content_hash(json.loads(older[-1]))
    rewrite(folder, *older)
    return older


def test_an_older_record_stays_readable_and_says_what_its_last_line_lacks(tmp_path: Path) -> None:
    """Lines without a check are read; while one of them is the last, a change of it would not be seen."""
    stored = lesson(tmp_path)
    older = as_older(tmp_path)
    record = Record.open(tmp_path)
    assert [event.id for event in record.events] == [event.id for event in stored.events]
    assert len(record.problems) == 1
    assert record.problems[0].startswith("record.jsonl, line 11, the last one, was stored by an older labkit")
    read(record, "more")
    assert Record.open(tmp_path).problems == record.problems == ()
    assert lines(tmp_path)[:-1] == older


def test_a_change_in_an_older_record_still_breaks_its_chain(tmp_path: Path) -> None:
    """What the line after it says of a changed line is held against it, as before."""
    lesson(tmp_path)
    a = as_older(tmp_path)
    rewrite(tmp_path, *a[:6], a[6].replace(b"10.00", b"10.10"), *a[7:])
    assert Record.open(tmp_path).problems[0].startswith(CHAIN.format(8))


def newer(line: bytes, **more: Any) -> bytes:
    """A line as a later labkit would write it: a format or fields of its own, and a check that fits."""
    content = json.loads(line) | more
    del content["check"]
    return checked(content) + b"\n"


def test_a_newer_format_is_refused_wherever_it_stands(tmp_path: Path) -> None:
    """A record with a line in a newer format is not opened, nor one added to that became newer while open."""
    record = lesson(tmp_path)
    a = lines(tmp_path)
    for n in (0, 5, 10):
        rewrite(tmp_path, *a[:n], newer(a[n], schema=4), *a[n + 1 :])
        assert f"line {n + 1} was written in record format 4" in refused(
            lambda: Record.open(tmp_path), RecordTooNew
        )
        for _ in range(2):
            refused(lambda: read(record, "more"), RecordTooNew)
    rewrite(tmp_path, *a)
    read(record, "more")
    assert len(record.events) == 12


@pytest.mark.parametrize("older", [False, True])
def test_a_bit_in_the_number_of_the_format_stops_nothing(tmp_path: Path, older: bool) -> None:
    """Without a check that fits, a newer format is damage: named, and the rest is read."""
    lesson(tmp_path)
    a = as_older(tmp_path) if older else lines(tmp_path)
    given = b'"schema":1' if older else b'"schema":3'
    rewrite(tmp_path, *a[:9], a[9].replace(given, given[:-1] + b"7"), a[10])
    record = Record.open(tmp_path)
    assert record.problems[0].startswith("record.jsonl, line 10 says record format 7, but does not fit")
    assert [event.id for event in record.events][8:] == ["fix", "why"]
    read(record, "more")


def test_fields_of_a_later_labkit_are_kept_and_said(tmp_path: Path) -> None:
    """An optional field that is not known here costs a sentence, and the chain goes on over it."""
    lesson(tmp_path)
    *a, last = lines(tmp_path)
    rewrite(tmp_path, *a, newer(last, mood="calm"))
    record = Record.open(tmp_path)
    said = "record.jsonl, line 11 has 'mood', which this labkit does not know, as from a newer one"
    assert [problem[: len(said)] for problem in record.problems] == [said]
    event, id, fields = LESSON[-1]
    assert record.append(event, id, **fields) == record.events[-1]
    read(record, "more")
    assert Record.open(tmp_path).problems == record.problems
    assert lines(tmp_path)[10] == newer(last, mood="calm")


def test_the_chain_goes_on_over_a_sound_line_that_cannot_be_read(tmp_path: Path) -> None:
    """A correction of nothing but a field that is not known here is no damage; its hash is the next link."""
    lesson(tmp_path)
    *a, last = lines(tmp_path)
    spoilt = newer(last, topic=3)
    rewrite(tmp_path, *a, spoilt)
    record = Record.open(tmp_path)
    assert record.problems[0].startswith("record.jsonl, line 11: topic was given as 3")
    content = json.loads(spoilt)
    del content["check"]
    assert read(record, "more").prev == content_hash(content)  # type: ignore[attr-defined]
    assert len(Record.open(tmp_path).problems) == 1


# The end of the file


@pytest.mark.parametrize(
    "tail", [b'{"schema":1,"seq":12,"ut', b"\x00" * 512, b"{?}\n", b'"text"\n', b"\xe2\x82", b"{}{}"]
)
def test_a_torn_end_is_kept_aside_by_the_next_entry(tmp_path: Path, tail: bytes) -> None:
    """A line that was cut short is reported, then moved to a file of its own, and reported ever after."""
    lesson(tmp_path)
    whole = lines(tmp_path)
    rewrite(tmp_path, *whole, tail)
    record = Record.open(tmp_path)
    assert record.problems == (
        f"record.jsonl, line 12: the last {len(tail)} bytes are not a whole event, as after a write that was "
        "cut short; they are left as they are, and the next entry first moves them to 'torn-line-12.bytes'.",
    )
    assert len(record.events) == 11
    read(record, "more")
    assert (tmp_path / "torn-line-12.bytes").read_bytes() == tail
    assert lines(tmp_path)[:-1] == whole
    for opened in (record, Record.open(tmp_path)):
        assert opened.problems == (
            f"'torn-line-12.bytes' keeps {len(tail)} bytes that were moved out of record.jsonl, "
            "because they were not a whole event.",
        )
        assert opened.events[-1].id == "more"


def test_a_torn_end_is_cut_at_its_own_place(tmp_path: Path) -> None:
    """A byte-order mark before the first line does not shift the place at which a torn end is cut off."""
    lesson(tmp_path)
    whole = [b"\xef\xbb\xbf", *lines(tmp_path)]
    rewrite(tmp_path, *whole, b"{torn")
    read(Record.open(tmp_path), "more")
    assert (tmp_path / FILE).read_bytes().startswith(b"".join(whole))
    assert (tmp_path / "torn-line-12.bytes").read_bytes() == b"{torn"


def test_a_line_that_cannot_be_read_keeps_its_number(tmp_path: Path) -> None:
    """The event after an unreadable last line leaves that line its number, for it may be mended."""
    lesson(tmp_path)
    *a, last = lines(tmp_path)
    rewrite(tmp_path, *a, last.replace(b"topic", b"tropic"))
    assert read(Record.open(tmp_path), "more").seq == 12  # type: ignore[attr-defined]


def test_bytes_kept_aside_are_never_overwritten(tmp_path: Path) -> None:
    """A second torn end at the same line goes to a second file."""
    lesson(tmp_path)
    whole = lines(tmp_path)
    for tail in (b"{1", b"{2", b"{3"):
        rewrite(tmp_path, *whole, tail)
        read(Record.open(tmp_path), "more")
    kept = {path.name: path.read_bytes() for path in tmp_path.glob("torn-*")}
    names = ["torn-line-12.bytes", "torn-line-12-2.bytes", "torn-line-12-3.bytes"]
    assert kept == dict(zip(names, (b"{1", b"{2", b"{3"), strict=True))


def test_a_whole_last_line_counts_without_its_line_end(tmp_path: Path) -> None:
    """An editor that drops the last line end costs no event; the next entry adds the line end."""
    stored = lesson(tmp_path)
    whole = b"".join(lines(tmp_path))
    rewrite(tmp_path, whole[:-1])
    record = Record.open(tmp_path)
    assert record.events == stored.events
    assert record.problems[0].startswith("record.jsonl, line 11 has no line end")
    read(record, "more")
    read(record, "still-more")
    assert (tmp_path / FILE).read_bytes().startswith(whole)
    assert Record.open(tmp_path).problems == record.problems == ()
    assert len(Record.open(tmp_path).events) == 13


def test_an_empty_record_takes_only_an_opening(tmp_path: Path) -> None:
    """An empty file is opened and reported; an entry needs an opening line before it."""
    rewrite(tmp_path)
    record = Record.open(tmp_path)
    assert record.events == ()
    assert record.digest is None
    assert record.problems[0].startswith("record.jsonl is empty")
    assert "begin a record with Record.create" in refused(lambda: read(record, "single"))
    assert lines(tmp_path) == []


# Folders, locks and disks


def test_a_linked_folder_is_followed_and_a_linked_file_refused(tmp_path: Path) -> None:
    """A link to the folder leads to the same lock; a link to the file alone would not and is refused."""
    lesson(tmp_path / "bench")
    (tmp_path / "link").symlink_to(tmp_path / "bench", target_is_directory=True)
    assert Record.open(tmp_path / "link").folder == (tmp_path / "bench").resolve()
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / FILE).symlink_to(tmp_path / "bench" / FILE)
    for call in (Record.open, partial(Record.create, part=PART)):
        assert "is a symbolic link to" in refused(partial(call, tmp_path / "other"))
    (tmp_path / "round").symlink_to(tmp_path / "round")
    assert "There is no record" in refused(lambda: Record.open(tmp_path / "round"), RecordMissing)


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    """A folder or pipe of the record's name, a file in the folder's place, an impossible name are told."""
    (tmp_path / "a" / FILE).mkdir(parents=True)
    (tmp_path / "b").mkdir()
    os.mkfifo(tmp_path / "b" / FILE)
    for name in ("a", "b"):
        assert "is not a file that can be read" in refused(partial(Record.open, tmp_path / name))
    (tmp_path / "c").write_text("x")
    assert "There is no record" in refused(lambda: Record.open(tmp_path / "c"), RecordMissing)
    assert "No record can be begun" in refused(lambda: Record.create(tmp_path / "c", PART))
    assert "cannot be the name of a folder" in refused(lambda: Record.open("a\0b"))


@contextmanager
def shut_folder() -> Iterator[Path]:
    """A record in a folder in which this process may read and not write."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        lesson(folder)
        (folder / LOCK).unlink()
        folder.chmod(0o555)
        user = os.geteuid()
        try:
            if user == 0:
                os.seteuid(65534)
            yield folder
        finally:
            os.seteuid(user)
            folder.chmod(0o755)


def test_a_folder_without_write_permission_is_told() -> None:
    """Such a record opens; an entry and a new record say that nothing was stored, and why."""
    with shut_folder() as folder:
        record = Record.open(folder)
        assert len(record.events) == 11
        sentence = refused(lambda: read(record, "more"))
        assert "reading 'more' was NOT stored" in sentence
        assert "Permission denied" in sentence
        assert "Permission denied" in refused(lambda: Record.create(folder / "new", PART))


def test_what_a_shut_folder_holds_can_be_said_again() -> None:
    """Where nobody may write, the same entries again return what is stored; other content names the verb."""
    with shut_folder() as folder:
        record = Record.open(folder)
        for event, id, fields in LESSON:
            assert record.append(event, id, **fields) == next(e for e in record.events if e.id == id)
        refused(lambda: read(record, "single", shown="11.00 mH"), RecordConflict)


def test_what_is_stored_can_be_said_again_while_another_program_writes(tmp_path: Path) -> None:
    """Nothing is to be written, so nobody waits for the lock."""
    record = lesson(tmp_path)
    event, id, fields = LESSON[0]
    with FileLock(tmp_path / LOCK):
        assert record.append(event, id, **fields) == record.events[1]


def test_a_file_without_read_permission_is_told() -> None:
    """A record that this person may not read is no missing record."""
    with shut_folder() as folder:
        euid = os.geteuid()
        os.seteuid(os.getuid())
        (folder / FILE).chmod(0o000)
        os.seteuid(euid)
        assert "cannot be read (Permission denied)" in refused(lambda: Record.open(folder))


def test_a_lock_held_too_long_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While another program holds the lock an entry waits, then says that nothing was stored."""
    record = lesson(tmp_path)
    before = lines(tmp_path)
    monkeypatch.setattr(store, "LOCK_TIMEOUT_S", 0.05)
    holder = multiprocessing.get_context("spawn")
    held, done = holder.Event(), holder.Event()
    process = holder.Process(target=hold, args=(tmp_path / LOCK, held, done))
    process.start()
    try:
        assert held.wait(20)
        assert "for 0.05 s, so reading 'more' was NOT stored" in refused(
            lambda: read(record, "more"), RecordBusy
        )
    finally:
        done.set()
        process.join(20)
    assert lines(tmp_path) == before
    monkeypatch.undo()
    assert read(record, "more")


def hold(lock: Path, held: Any, done: Any) -> None:
    """Hold a lock until told otherwise."""
    with FileLock(lock):
        held.set()
        done.wait(20)


@contextmanager
def file_size_limit(size: int) -> Iterator[None]:
    """Let no file grow beyond a size, so that the operating system cuts a write short as on a full disk."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.mark.parametrize("room", [0, 1, 100])
def test_a_full_disk_is_told_and_loses_nothing(tmp_path: Path, room: int) -> None:
    """An entry that did not fit is said to be NOT stored; with room again the same entry is stored once."""
    record = lesson(tmp_path)
    whole = b"".join(lines(tmp_path))
    with file_size_limit(len(whole) + room):
        assert "reading 'more' was NOT stored" in refused(lambda: read(record, "more"))
        assert "more" not in [event.id for event in record.events]
    assert (tmp_path / FILE).read_bytes()[: len(whole)] == whole
    assert len((tmp_path / FILE).read_bytes()) == len(whole) + room
    read(record, "more")
    assert [event.id for event in Record.open(tmp_path).events].count("more") == 1
    assert [path.stat().st_size for path in tmp_path.glob("torn-*")] == ([room] if room else [])


def test_retries_on_a_full_disk_leave_nothing_behind(tmp_path: Path) -> None:
    """Bytes that cannot be moved aside stay where they are, and no empty or half file is made for them."""
    record = lesson(tmp_path)
    whole = b"".join(lines(tmp_path))
    torn = b'{"schema":1,"seq":12,"ut' * 20
    rewrite(tmp_path, whole, torn)
    for room in (0, 100):
        with file_size_limit(room):
            for _ in range(3):
                assert "reading 'more' was NOT stored" in refused(lambda: read(record, "more"))
        assert sorted(path.name for path in tmp_path.iterdir()) == [FILE, LOCK]
    assert (tmp_path / FILE).read_bytes() == whole + torn
    read(record, "more")
    assert [path.read_bytes() for path in tmp_path.glob("torn-*")] == [torn]


def test_empty_files_of_earlier_retries_are_removed(tmp_path: Path) -> None:
    """What keeps nothing goes with the next entry; what keeps bytes, or is a person's, stays."""
    record = lesson(tmp_path)
    for name in ("torn-line-12.bytes", "torn-line-12-2.bytes", "torn-line-mine.txt"):
        (tmp_path / name).touch()
    (tmp_path / "torn-line-9.bytes").write_bytes(b"{")
    read(record, "more")
    left = {path.name for path in tmp_path.iterdir()} - {FILE, LOCK}
    assert left == {"torn-line-9.bytes", "torn-line-mine.txt"}


def test_an_entry_is_returned_only_after_the_disk_has_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Before `append` returns, the file with the whole line is synchronised, a new file's folder too."""
    synchronised: list[tuple[str, bytes]] = []
    real = os.fsync

    def spy(descriptor: int) -> None:
        kind = "folder" if stat.S_ISDIR(os.fstat(descriptor).st_mode) else "file"
        synchronised.append((kind, (tmp_path / "new" / FILE).read_bytes()))
        real(descriptor)

    monkeypatch.setattr(os, "fsync", spy)
    record = Record.create(tmp_path / "new", PART)
    assert [kind for kind, _ in synchronised] == ["folder", "folder", "file"]
    assert synchronised[-1][1] == b"".join(lines(record.folder))
    read(record, "single")
    assert [kind for kind, _ in synchronised[3:]] == ["file"]
    assert synchronised[-1][1] == b"".join(lines(record.folder))


def test_a_disk_that_does_not_confirm_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the disk's word an entry is not acknowledged; entered again it is confirmed, not doubled."""
    record = lesson(tmp_path)
    real, calls = os.fsync, []

    def broken(descriptor: int) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "fsync", broken)
    sentence = refused(lambda: read(record, "more"))
    assert "not confirmed (Input/output error), so do not count on it" in sentence
    assert "not confirmed" in refused(lambda: read(record, "more"))
    monkeypatch.setattr(os, "fsync", lambda descriptor: (calls.append(descriptor), real(descriptor)))
    read(record, "more")
    read(record, "more")
    assert len(calls) == 1
    assert len(lines(tmp_path)) == 12


def test_a_file_replaced_during_a_write_is_noticed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An entry that went to a file which an editor replaced at that moment is not acknowledged."""
    record = lesson(tmp_path)
    before = (tmp_path / FILE).read_bytes()
    real = os.fsync

    def replaced(descriptor: int) -> None:
        real(descriptor)
        (tmp_path / "editor").write_bytes(before)
        (tmp_path / "editor").replace(tmp_path / FILE)

    monkeypatch.setattr(os, "fsync", replaced)
    assert "not in the file when that is read again" in refused(lambda: read(record, "more"))


# Several programs, and speed


def test_what_another_program_stored_is_read_before_an_entry(tmp_path: Path) -> None:
    """Two records on one folder see each other's events, and each links to what the other wrote."""
    one = lesson(tmp_path)
    other = Record.open(tmp_path)
    for n in range(4):
        read((one, other)[n % 2], f"r{n}")
    assert len(one.events) == 14
    one.refresh()
    assert one.events == Record.open(tmp_path).events == other.events
    assert Record.open(tmp_path).problems == ()


def test_a_file_changed_in_place_is_read_again(tmp_path: Path) -> None:
    """A change of the same length, a shorter file and a replaced one are noticed by the next look."""
    record = lesson(tmp_path)
    a = lines(tmp_path)
    rewrite(tmp_path, *a[:6], a[6].replace(b"10.00", b"10.10"), *a[7:])
    record.refresh()
    assert record.events[6].shown == "10.10 mH"  # type: ignore[union-attr]
    rewrite(tmp_path, *a[:5])
    record.refresh()
    assert len(record.events) == 5
    rewrite(tmp_path, *a[:4], a[4].replace(b"p2", b"p3"), *a[5:])
    record.refresh()
    assert record.events[4].by == "p3"
    (tmp_path / "editor").write_bytes(b"".join(a) + b"\n")
    (tmp_path / "editor").replace(tmp_path / FILE)
    record.refresh()
    assert record.events[4].by == "p2"
    (tmp_path / FILE).unlink()
    assert "There is no record" in refused(lambda: read(record, "more"), RecordMissing)
    assert not (tmp_path / FILE).exists()


def test_an_entry_reads_only_what_was_added(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However long the record, an entry parses as many lines as were added since the last look."""
    record = lesson(tmp_path)
    other = Record.open(tmp_path)
    parsed: list[bytes] = []
    real = chain.Chain.take
    monkeypatch.setattr(chain.Chain, "take", lambda self, raw: (parsed.append(raw), real(self, raw))[1])
    for n in range(30):
        read(record, f"r{n}")
    assert len(parsed) == 30
    read(other, "one")
    assert len(parsed) == 30 + 31


def enter_many(folder: Path, name: str, barrier: Any) -> None:
    """Append forty events in a program of its own, each at the same moment as the other program."""
    record = Record.open(folder)
    for n in range(40):
        barrier.wait(20)
        record.append("own_words", f"{name}-{n}", topic=name, text=f"{n}")


def test_two_programs_lose_nothing(tmp_path: Path) -> None:
    """Two programs that each enter an event at the same moment, forty times, store all in one chain."""
    Record.create(tmp_path, PART)
    context = multiprocessing.get_context("spawn")
    barrier = context.Barrier(2)
    both = [context.Process(target=enter_many, args=(tmp_path, name, barrier)) for name in "ab"]
    for process in both:
        process.start()
    for process in both:
        process.join(60)
    assert [process.exitcode for process in both] == [0, 0]
    record = Record.open(tmp_path)
    assert record.problems == ()
    ids = [event.id for event in record.events[1:]]
    assert [set(pair) for pair in zip(ids[::2], ids[1::2], strict=True)] == [
        {f"a-{n}", f"b-{n}"} for n in range(40)
    ]
