"""What a long record costs: one more reading at 100 000 events, and opening it, each against a baseline.

A third of the events are corrections. All readings here are invented.
"""

import hashlib
import json
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from labkit.record.bench import Bench, open_bench
from labkit.record.events import content_hash, to_content, to_event, to_line
from labkit.record.record_file import FILE
from tests.records import PART

LONG, SHORT = 100_000, 1_000
ROUNDS = 15
READ_BASELINE, READ_LIMIT = "the same at 1 000 events", 2.0
OPENINGS = 3
OPEN_BASELINE, OPEN_LIMIT = "json.loads, sorted json.dumps and SHA-256 of its lines", 4.0

LINE = "1a 2a | 1b=2b"


@contextmanager
def _folder(events: int) -> Iterator[Path]:
    """A folder with a record of so many events, written without the disk's word for each."""
    lines, prev = [], None
    for n in range(events):
        head = {"schema": 3, "seq": n + 1, "utc": "2031-05-06T08:14:09Z"}
        event = to_event(head | _fields(n) | {"prev": prev}, "")
        lines.append(to_line(event))
        prev = content_hash(to_content(event))
    with tempfile.TemporaryDirectory() as name:
        (Path(name) / FILE).write_bytes(b"".join(lines))
        yield Path(name)


def _fields(n: int) -> dict[str, object]:
    first: list[dict[str, object]] = [
        {"event": "opened", "id": "opened", "part": PART, "labkit": "0.1.0", "invented": True},
        {"event": "part", "id": "part", "part": PART, "windings": 2, "dots": "1a 2a"},
        {"event": "cautions", "id": "cautions.p1", "by": "p1", "accepted": "1"},
        {"event": "prediction", "id": "own", "wiring": LINE, "quantity": "inductance", "shown": "20 mH"},
    ]
    if n < len(first):
        return first[n]
    if n % 3 == 0:
        changes = {"shown": f"{n % 90 + 10}.0 µH"}
        return {
            "event": "correction",
            "id": f"c{n}",
            "corrects": f"r{n - 1}",
            "changes": changes,
            "reason": "misread",
        }
    value = {"part": PART, "wiring": LINE, "quantity": "inductance", "shown": f"{n % 90 + 10}.{n % 10} µH"}
    return {"event": "reading", "id": f"r{n}"} | value | {"frequency": "10 kHz", "mode": "series", "by": "p2"}


def read_ratio(rounds: int = ROUNDS) -> tuple[float, ...]:
    """Time of one more reading in a long record over that in a short one, after a warm-up of each."""
    with _folder(LONG) as long, _folder(SHORT) as short:
        benches = open_bench(long), open_bench(short)
        found = [[_seconds(lambda: _read(bench, n)) for bench in benches] for n in range(rounds + 1)]  # noqa: B023 - called at once
        return tuple(ours / base for ours, base in found[1:])


def _read(bench: Bench, n: int) -> None:
    bench.read(LINE, "25.0 µH", f"more-{n}", frequency="10 kHz", by="p2")


def open_ratio(rounds: int = OPENINGS) -> tuple[float, ...]:
    """Time to open a long record over that to parse and hash the same lines, one ratio a round."""
    with _folder(LONG) as folder:
        return tuple(
            _seconds(lambda: open_bench(folder)) / _seconds(lambda: _parsed_and_hashed(folder))
            for _ in range(rounds)
        )


def _parsed_and_hashed(folder: Path) -> list[tuple[object, str]]:
    contents = [json.loads(line) for line in (folder / FILE).read_bytes().splitlines()]
    return [(content, hashlib.sha256(_canonical(content)).hexdigest()) for content in contents]


def _canonical(content: object) -> bytes:
    return json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":")).encode()


def _seconds(call: Callable[[], object]) -> float:
    begin = time.perf_counter()
    call()
    return time.perf_counter() - begin
