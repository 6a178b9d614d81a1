"""Every place at which a record's file can end. All readings here are invented."""

from itertools import accumulate
from pathlib import Path

import pytest

from labkit.record.record_file import FILE, Record
from tests.records import LESSON, PART, lesson, lines, rewrite


@pytest.mark.parametrize("line_end", [b"\n", b"\r\n"], ids=["LF", "CRLF"])
def test_every_prefix_can_be_opened(tmp_path: Path, line_end: bytes) -> None:
    """Cut after any byte, a record opens with its whole events; anything else is reported and not changed."""
    stored = lesson(tmp_path).events
    whole = [line[:-1] + line_end for line in lines(tmp_path)]
    text, ends = b"".join(whole), list(accumulate(map(len, whole)))
    for length in range(len(text) + 1):
        rewrite(tmp_path, text[:length])
        record = Record.open(tmp_path)
        count = sum(length >= end - len(line_end) for end in ends)
        assert record.events == stored[:count]
        assert len(record.problems) == (0 if length in ends else 1), record.problems
        assert (tmp_path / FILE).read_bytes() == text[:length]


def test_a_lesson_goes_on_after_every_kind_of_cut(tmp_path: Path) -> None:
    """After a cut the lesson can be run again: all events are there once, and no byte was lost."""
    lesson(tmp_path / "whole")
    text = b"".join(lines(tmp_path / "whole"))
    for length in range(0, len(text), 41):
        folder = tmp_path / f"{length}"
        folder.mkdir()
        rewrite(folder, text[:length])
        record = Record.open(folder) if Record.open(folder).events else Record.create(folder, PART)
        for event, id, fields in LESSON:
            record.append(event, id, **fields)
        kept = b"".join(path.read_bytes() for path in folder.glob("torn-*"))
        assert (folder / FILE).read_bytes().startswith(text[: length - len(kept)])
        assert text[:length].endswith(kept)
        ids = [event.id for event in Record.open(folder).events]
        assert ids == ["opened", *(id for _, id, _ in LESSON)]
        assert not [problem for problem in Record.open(folder).problems if "torn" not in problem]
