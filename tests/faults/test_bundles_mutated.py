"""Mutated bundles, by hypothesis: no exception, nothing written or started, no hang, whatever is changed.

`LABKIT_MUTATIONS=5000` is the long mode: so many examples, drawn anew each time. A failure is shrunk and can
be run again as hypothesis says.
"""

import faulthandler
import hashlib
import json
import os
import random
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from labkit.handin.check import COLUMNS, examine
from tests.bundles import Files, bundle, changed, swept_bundle
from tests.faults.watching import watched

SCRIPT = '"><script>document.title="run"</script><img src=x onerror=alert(1)>{{ 7 * 7 }}'
FEW = 150
CASES = int(os.environ.get("LABKIT_MUTATIONS", FEW))
SWEPT_CASES = CASES // 5  # of bundles with sweeps, each of which takes longer
LONGEST_S = 600.0


@pytest.fixture(scope="module")
def valid(tmp_path_factory: pytest.TempPathFactory) -> list[bytes]:
    """Three bundles as packed: with card and dots, without a card, without dots."""
    folder = tmp_path_factory.mktemp("valid")
    return [bundle(folder / "a", 1), bundle(folder / "b", 2, card=None), bundle(folder / "c", 4, dots=None)]


def _bytes(rng: random.Random, data: bytes) -> bytes:
    """A bundle with some bytes of the zip itself changed, cut or doubled."""
    spoiled = bytearray(data)
    for _ in range(rng.randint(1, 4)):
        place = rng.randrange(len(spoiled))
        match rng.randrange(3):
            case 0:
                spoiled[place] = rng.randrange(256)
            case 1:
                del spoiled[place : place + rng.randint(1, 50)]
            case _:
                spoiled[place:place] = spoiled[place : place + rng.randint(1, 50)]
    return bytes(spoiled)


ODD: tuple[Any, ...] = (
    None, True, -1, 0, 2**70, 1e308, "", " ", "0 mH", "-3.1 mH", "NaN mH", "9.9 H", "0.001 µH", "9" * 60,
    SCRIPT, "1a 1b", "1a 2a | 1b=2b", "1a 1a", "64a 64b", "\x00", "\ud800",
    [], {}, [[]], {"shown": "D 0"}, "0 Hz",
    "same core",
)  # fmt: skip


def _value(rng: random.Random, node: Any) -> Any:
    """JSON with one value somewhere replaced, removed or added."""
    if isinstance(node, dict) and node and rng.random() < 0.85:
        name = rng.choice(list(node))
        if rng.random() < 0.1:
            return {key: value for key, value in node.items() if key != name}
        return node | {name: _value(rng, node[name])}
    if isinstance(node, list) and node and rng.random() < 0.85:
        place = rng.randrange(len(node))
        return [*node[:place], _value(rng, node[place]), *node[place + 1 :]]
    if isinstance(node, int | float) and not isinstance(node, bool) and rng.random() < 0.3:
        return node * rng.choice((-1, 1.0001, 1000))
    if isinstance(node, str) and node and rng.random() < 0.4:
        place = rng.randrange(len(node))
        return node[:place] + rng.choice("0123456789 .,-|=abµmHk\u202e<") + node[place + 1 :]
    return rng.choice(ODD)


def _record(rng: random.Random, files: Files) -> None:
    """Lines of the record changed, moved, doubled or dropped."""
    lines = files["record.jsonl"].split(b"\n")
    for _ in range(rng.randint(1, 3)):
        place = rng.randrange(len(lines) - 1)
        match rng.randrange(5):
            case 0:
                del lines[place]
            case 1:
                lines.insert(rng.randrange(len(lines)), lines[place])
            case _:
                try:
                    lines[place] = json.dumps(_value(rng, json.loads(lines[place]))).encode()
                except ValueError:
                    lines[place] = lines[place][:-3]
    files["record.jsonl"] = b"\n".join(lines)


def _json(name: str) -> Callable[[random.Random, Files], None]:
    def mutate(rng: random.Random, files: Files) -> None:
        files[name] = json.dumps(_value(rng, json.loads(files[name]))).encode()

    return mutate


def _nothing(rng: random.Random, files: Files) -> None:
    """The bundle as it was."""


def _sweep(rng: random.Random, files: Files) -> None:
    """A file of a sweep changed and put under its new hash, in the record too, so that it is read."""
    name = rng.choice([name for name in files if name.startswith("sweeps/")])
    data = files.pop(name)
    old = Path(name).stem.encode()
    lines = data.split(b"\n")
    for _ in range(rng.randint(1, 3)):
        place = rng.randrange(len(lines))
        cells = lines[place].split(b";")
        match rng.randrange(6):
            case 0:
                lines.insert(place, lines[place])
            case 1:
                del lines[place:]
            case 2:
                lines.reverse()
            case 3:
                lines[place] = bytes(rng.choice(b"0123456789.,;-eEnHk#! \xff") for _ in range(20))
            case _:
                cells[rng.randrange(len(cells))] = rng.choice(SWEPT).encode()
                lines[place] = b";".join(cells)
        lines = lines or [b""]
    data = b"\n".join(lines)
    new = hashlib.sha256(data).hexdigest().encode()
    files[f"sweeps/{new.decode()}{Path(name).suffix}"] = data
    files["record.jsonl"] = files["record.jsonl"].replace(old, new)


SWEPT = ("0", "-1", "1e30", "1e-30", "1e400", "nan", "", "9" * 400, "kHz", "1,5", SCRIPT)
INSIDE = (_nothing, _record, _record, _record, _json("manifest.json"), _json("pair.ipynb"))
INSIDE_SWEPT = (_sweep, _sweep, _sweep, _record, _json("manifest.json"))


Change = Callable[[random.Random, Files], None]


def mutated(
    rng: random.Random, valid: list[bytes], inside: tuple[Change, ...] = INSIDE
) -> tuple[bytes, bool]:
    """A bundle after some mutation, and whether it was valid before it."""
    if rng.random() < 0.3:
        start = _bytes(rng, rng.choice(valid))
        return _bytes(rng, start), False
    data = rng.choice(valid)
    if rng.random() < 0.2:
        return _bytes(rng, data), True
    return changed(data, lambda files: rng.choice(inside)(rng, files)), True


def test_no_mutation_stops_the_check(
    valid: list[bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every column gets an outcome, in time, and nothing is written, deleted, started or connected to.

    At least three in ten examples were valid before the mutation, and three in ten still open after it; both
    shares are printed.
    """
    monkeypatch.chdir(tmp_path)
    _hold(valid, CASES, INSIDE)
    assert list(tmp_path.iterdir()) == []


def test_no_mutation_of_sweeps_stops_the_check(
    tmp_path_factory: pytest.TempPathFactory, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same for a bundle with sweeps, most of whose mutations are in a sweep's file or in the record."""
    valid = [swept_bundle(tmp_path_factory.mktemp("swept") / "b", notebook=False)]
    monkeypatch.chdir(tmp_path)
    _hold(valid, SWEPT_CASES, INSIDE_SWEPT)
    assert list(tmp_path.iterdir()) == []


def _hold(valid: list[bytes], cases: int, inside: tuple[Change, ...]) -> None:
    """So many mutations, each looked at under watch; prints and holds what share of them was worth it."""
    seen: Counter[str] = Counter()
    slowest = 0.0

    @settings(
        max_examples=cases,
        derandomize=CASES <= FEW,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(st.randoms(use_true_random=False))
    def mutate(rng: random.Random) -> None:
        nonlocal slowest
        data, was_valid = mutated(rng, valid, inside)
        begin = time.perf_counter()
        faulthandler.dump_traceback_later(LONGEST_S, exit=True)  # what hangs says where
        with watched() as deeds:
            found = examine("g.zip", data)
        faulthandler.cancel_dump_traceback_later()
        slowest = max(slowest, time.perf_counter() - begin)
        assert not deeds
        assert not found.unforeseen, found.feedback
        assert [point.column for point in found.points] == list(COLUMNS)
        assert all(point.outcome in ("yes", "no", "cannot tell") for point in found.points)
        seen.update(examples=1, valid=was_valid, opened=found.outcome("opens") == "yes")

    mutate()
    valid_before, open_after = (seen[kind] / seen["examples"] for kind in ("valid", "opened"))
    shares = f"{valid_before:.0%} valid before, {open_after:.0%} still open after"
    print(f"\n{seen['examples']} mutations: {shares}, slowest {slowest:.2f} s")
    assert seen["examples"] >= cases
    assert valid_before >= 0.3
    assert open_after >= 0.3


def test_the_watch_can_fail(tmp_path: Path) -> None:
    """A file written, a folder made and a program started are seen; a file read is not."""
    import subprocess
    import sys

    file = tmp_path / "x"
    with watched() as deeds:
        file.write_text("1")
        file.read_text()
        (tmp_path / "y").mkdir()
        subprocess.run([sys.executable, "-c", ""], check=True)
    assert [deed.split()[0] for deed in deeds][:2] == ["open", "os.mkdir"]
    assert any(deed.startswith("subprocess.Popen") for deed in deeds)
