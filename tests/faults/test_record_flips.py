"""Every single bit of a record's file turned over. All readings here are invented."""

import os
from pathlib import Path

import pytest

from labkit.record.record_file import FILE, Record
from tests.records import LESSON, lesson, lines, rewrite

LONG = bool(os.environ.get("LABKIT_FLIPS"))  # all bits of all lines, some minutes


@pytest.mark.parametrize("line", range(11) if LONG else [6, 10])
def test_every_flipped_bit_is_noticed_and_costs_nothing_else(tmp_path: Path, line: int) -> None:
    """It is told, changes nothing on the disk, refuses no record, and costs no event of another line."""
    stored = lesson(tmp_path)
    whole = lines(tmp_path)
    start = sum(map(len, whole[:line]))
    text = b"".join(whole)
    rests_on = {"single", "fix", "away"}  # the reading, its correction and its withdrawal
    step = 1 if LONG or line == 10 else 5  # the last line, which no other vouches for, is always done whole
    for place in range(start, start + len(whole[line])):
        for bit in range(place % step, 8, step):
            flipped = bytearray(text)
            flipped[place] ^= 1 << bit
            rewrite(tmp_path, bytes(flipped))
            record = Record.open(tmp_path)
            assert record.problems, (place, bit)
            assert (tmp_path / FILE).read_bytes() == flipped
            spoilt = {line, line + 1} if place == start + len(whole[line]) - 1 else {line}
            others = {e.id for n, e in enumerate(stored.events) if n not in spoilt} - rests_on
            assert others <= {event.id for event in record.events}, (place, bit)


@pytest.mark.parametrize("line", range(11) if LONG else [0, 6, 10])
def test_a_flipped_bit_stays_in_view_after_the_next_entry(tmp_path: Path, line: int) -> None:
    """The next entry seals nothing in: it is still told, and each byte is still in the folder."""
    lesson(tmp_path / "whole")
    whole = lines(tmp_path / "whole")
    start = sum(map(len, whole[:line]))
    text = b"".join(whole)
    step = 1 if LONG else 37
    for n in range(0, 8 * len(whole[line]), step):
        flipped = bytearray(text)
        flipped[start + n // 8] ^= 1 << n % 8
        folder = tmp_path / f"{n}"
        folder.mkdir()
        rewrite(folder, bytes(flipped))
        record = Record.open(folder)
        if not record.events:
            continue
        before = record.problems
        record.append("own_words", "after", topic="clamps", text="goes on")
        record = Record.open(folder)
        assert record.problems
        assert "after" in [event.id for event in record.events]
        aside = b"".join(path.read_bytes() for path in folder.glob("torn-line-*.bytes"))
        kept = (folder / FILE).read_bytes()
        assert kept[: len(flipped) - len(aside)] + aside == flipped, (n, before)


def test_a_lesson_goes_on_after_a_flipped_bit(tmp_path: Path) -> None:
    """The lesson can be run again: whatever became unreadable is stored anew, under its own id."""
    lesson(tmp_path)
    whole = lines(tmp_path)
    rewrite(tmp_path, *whole[:6], whole[6].replace(b'"shown"', b'"shewn"'), *whole[7:])
    record = Record.open(tmp_path)
    for event, id, fields in LESSON:
        record.append(event, id, **fields)
    assert {id for _, id, _ in LESSON} <= {event.id for event in Record.open(tmp_path).events}
