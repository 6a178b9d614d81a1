"""Records for tests. All readings here are invented."""

import hashlib
import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from labkit.record.record_file import Record

PART = "sample-7"
SINGLE = {"part": PART, "wiring": "1a 1b", "quantity": "inductance", "shown": "10.00 mH"}

# One event of every kind, as a lesson makes them; among them text that tries to break a line.
LESSON: tuple[tuple[str, str, dict[str, Any]], ...] = (
    ("part", "part", {"part": PART, "windings": 2, "family": "same core", "dots": None, "turns": [40, 39]}),
    ("meter", "meter.a", {"meter": "meter-a", "card": 'schema = 1\n# 0,3 % + 5 "digits"\n'}),
    ("conditions", "conditions", {"temperature": "23 °C", "humidity": None, "place": "bench 4"}),
    ("cautions", "cautions.p2", {"by": "p2", "accepted": "1"}),
    (
        "prediction",
        "guess",
        {"wiring": "1a 2b | 1b=2a", "quantity": "inductance", "shown": "20 mH", "by": "p2"},
    ),
    ("reading", "single", SINGLE | {"by": "p2", "mode": None, "leads": "zeroed"}),
    (
        "reading",
        "line-reversed",
        SINGLE
        | {
            "wiring": "1a 2a | 1b=2b",
            "shown": "25.0 µH",
            "mode": "series",
            "second": {"quantity": "Q", "shown": "3.1"},
            "frequency": "10 kHz",
            "meter": "meter-a",
            "repeat": 1,
        },
    ),
    ("correction", "fix", {"corrects": "single", "changes": {"shown": "10.01 mH"}, "reason": "misread"}),
    ("withdrawal", "away", {"withdraws": "single", "reason": "clamp slipped"}),
    ("own_words", "why", {"topic": "clamps", "text": 'é 🧲 \u2028 <b>"{x}"</b>\nnext \\ line', "by": None}),
)


def ticking(start: str = "2031-05-06T08:14:09+00:00") -> Callable[[], datetime]:
    """A clock that is one second further at each look."""
    moment = datetime.fromisoformat(start).astimezone(UTC) - timedelta(seconds=1)

    def clock() -> datetime:
        nonlocal moment
        moment += timedelta(seconds=1)
        return moment

    return clock


def lesson(folder: Path) -> Record:
    """A record with one event of every kind."""
    record = Record.create(folder, PART, clock=ticking(), invented=True, labkit="0.1.0")
    for event, id, fields in LESSON:
        record.append(event, id, **fields)
    return record


def lines(folder: Path) -> list[bytes]:
    """The lines of a record's file, line ends kept."""
    return (folder / "record.jsonl").read_bytes().splitlines(keepends=True)


def rewrite(folder: Path, *parts: bytes) -> None:
    """Put other bytes in place of a record's file."""
    (folder / "record.jsonl").write_bytes(b"".join(parts))


def checked(content: dict[str, Any]) -> bytes:
    """A line with a check that fits, by the rule in data/schema/README.md, worked out without labkit."""
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return json.dumps(content | {"check": hashlib.sha256(text.encode("utf-8")).hexdigest()[:16]}).encode()


def hashes(folder: Path) -> list[str]:
    """The hash of each line by the rule in data/schema/README.md, worked out without labkit."""
    contents = [json.loads(line) for line in (folder / "record.jsonl").read_text("utf-8").split("\n") if line]
    for content in contents:
        content.pop("check", None)
    texts = [json.dumps(c, sort_keys=True, separators=(",", ":"), ensure_ascii=False) for c in contents]
    return [hashlib.sha256(text.encode("utf-8")).hexdigest() for text in texts]
