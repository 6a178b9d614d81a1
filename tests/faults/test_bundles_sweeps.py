"""Hostile sweeps in bundles: one clear sentence each, within limits; nothing is written, started or run."""

import gc
import json
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import pytest

from labkit.handin import submission as submitted
from labkit.handin.bundle import Place
from labkit.handin.check import Examiner, examine
from labkit.handin.review import render
from tests.bundles import Files, changed, event_changed, sweep_file, swept_bundle
from tests.faults.watching import watched
from tests.pages import parse

HEAD = b"f/Hz;R/Ohm;X/Ohm\n"
SCRIPT = '"><script>document.title="run"</script>'
FIRST, FOUR = "sweep.winding-1", "sweep.four-port"
TWO_PORT = b"# Hz S RI R 50\n1000 0 0 1 0 1 0 0 0\n2000 0 0 1 0 1 0 0 0\n"


@pytest.fixture(scope="module")
def swept(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The bundle of the invented bench with sweeps."""
    return swept_bundle(tmp_path_factory.mktemp("swept") / "b", notebook=False)


def table(rows: int, first: int = 1) -> bytes:
    """A table of so many points."""
    return HEAD + b"".join(b"%d;1;%d\n" % (f, f) for f in range(first, first + rows))


def given(data: bytes, file: str = "winding-1.csv") -> Callable[[Files], None]:
    """Winding 1 with this file."""
    return sweep_file(data, FIRST, file)


def event(id: str, **fields: object) -> Callable[[Files], None]:
    """One event with other fields."""
    return lambda files: event_changed(files, id, **fields)


def many(files: Files) -> None:
    """Winding 1 swept again and again in two points."""
    given(table(2))(files)
    lines = files["record.jsonl"].rstrip(b"\n").split(b"\n")
    one = json.loads(next(line for line in lines if f'"id":"{FIRST}"'.encode() in line))
    lines += [json.dumps(one | {"id": f"s{n}", "seq": 19 + n}).encode() for n in range(300)]
    files["record.jsonl"] = b"\n".join(lines) + b"\n"


HOSTILE: dict[str, tuple[Callable[[Files], object], str]] = {
    "many lines": (given(table(400_000)), "300000 lines"),
    "many sweeps": (many, "more than 200 sweeps"),
    "large": (given(HEAD + b"#" * 25 * 1024**2), "more than 24 MB"),
    "long line": (given(HEAD + b"1" * 20_000), "line 2"),
    "binary": (given(bytes(range(256)) * 200), "is a binary file"),
    "archive": (given(b"PK\x03\x04" + bytes(500)), "winding-1.csv is"),
    "page": (given(b"<html><script>alert(1)</script>"), "winding-1.csv is"),
    "empty": (given(b""), "winding-1.csv"),
    "invalid UTF-16": (given(b"\xff\xfe\x00\xd8\x00"), "winding-1.csv is"),
    "NaN": (given(HEAD + b"1000;nan;1\n2000;1;2\n"), "'nan' under 'R/Ohm' is not a number"),
    "infinite": (given(HEAD + b"1000;1e400;1\n2000;1;2\n"), "line 2"),
    "huge number": (given(HEAD + b"1000;" + b"9" * 5000 + b";1\n2000;1;2\n"), "line 2"),
    "backwards": (given(HEAD + b"2000;1;1\n1000;1;1\n"), "line 3"),
    "zero hertz": (given(HEAD + b"0;1;1\n1;1;1\n"), "line 2"),
    "active": (given(HEAD + b"1000;-5;1\n2000;-5;2\n"), "no passive part"),
    "no file at all": (event(FIRST, sha256="0" * 64), "is not in the bundle"),
    "deep path": (event(FIRST, file="../../../../etc/passwd"), "is not in the bundle"),
    "absolute path": (event(FIRST, file="/etc/passwd"), "is not in the bundle"),
    "path in the hash": (event(FIRST, sha256="../" * 20 + "etc"), "line 11"),
    "endless path": (event(FIRST, file="a/" * 90 + "b.csv"), "line"),
    "script": (event(FIRST, file=SCRIPT), "is not in the bundle"),
    "wiring beyond the part": (event(FIRST, wiring="7a 7b"), "names winding 7"),
    "no wiring": (event(FIRST, wiring=None), "is left out"),
    "wiring of a four-port": (event(FOUR, wiring="1a 1b"), "is left out"),
    "ports of others": (event(FOUR, ports="1a 1b 2a 2b"), "check the order of the ports"),
    "ports that are none": (event(FOUR, ports="9a x 1b ;"), "is left out"),
    "ports twice": (event(FOUR, ports="1a 1a 1a 1a"), "is left out"),
    "two ports for four": (sweep_file(TWO_PORT, FOUR, "x.s2p"), "is left out"),
    "sixty-four ports": (sweep_file(b"# Hz S RI R 50\n1 0 0\n", FOUR, "x.s64p"), "is left out"),
    "four-port as a table": (event(FOUR, setup="impedance", ports=None, wiring="1a 1b"), "is left out"),
    "table as reflection": (event(FIRST, setup="reflection"), "needs a Touchstone file"),
    "half a correction": (event(FIRST, short=None), "is left out"),
    "accuracy in words": (event(FIRST, accuracy="much"), "is left out"),
    "accuracy beyond all": (event(FIRST, accuracy="9" * 400 + " %"), "is left out"),
}


@pytest.mark.parametrize(("change", "said"), HOSTILE.values(), ids=HOSTILE)
def test_a_hostile_sweep_becomes_a_sentence(
    swept: bytes,
    change: Callable[[Files], object],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The bundle opens, the record is not complete, a sentence says why, and nothing is done to the world."""
    monkeypatch.chdir(tmp_path)
    data = changed(swept, change)
    with watched() as deeds:
        found = examine("g.zip", data)
    assert not deeds
    assert not found.unforeseen
    assert found.outcome("opens") == "yes"
    assert found.outcome("complete") in ("no", "cannot tell")
    feedback = [sentence for point in found.points for sentence in point.sentences]
    assert any(said in sentence for sentence in feedback), feedback
    assert all(len(sentence) < 700 and sentence.isprintable() for sentence in feedback)
    assert list(tmp_path.iterdir()) == []
    tags = {str(element.tag).split("}")[-1] for element in parse(render([found], ["./g.zip"])).iter()}
    assert "script" not in tags


ODD = {
    "one point": HEAD + b"1000;1;1\n",
    "nothing but zero": HEAD + b"1000;0;0\n2000;0;0\n3000;0;0\n",
    "extremes": HEAD + b"1e-300;1e-300;1e-300\n1e300;1e300;-1e300\n",
    "a capacitor": HEAD + b"".join(b"%d;1;-%d\n" % (f, 10**9 // f) for f in range(1000, 1100)),
}


@pytest.mark.parametrize("data", ODD.values(), ids=ODD)
def test_an_odd_but_readable_sweep_stops_nothing(swept: bytes, data: bytes) -> None:
    """What a file may say and no choke does is worked through without an error that nobody foresaw."""
    found = examine("g.zip", changed(swept, given(data)))
    assert not found.unforeseen, found.feedback
    assert found.outcome("recomputed") == "no"


def test_time_is_limited_with_sweeps_too(swept: bytes, tmp_path: Path) -> None:
    """A bundle whose sweeps take longer than there is time is left with the sentence about that."""
    (tmp_path / "g.zip").write_bytes(changed(swept, given(table(200_000))))
    with Examiner(0.3) as examiner:
        found = examiner.look(Place(tmp_path / "g.zip"))
    assert "Not finished within 0.3 s" in found.feedback[0]


def test_memory_is_bounded(swept: bytes) -> None:
    """The most lines taken need less than a third of an examiner's 2 GB (from 30 000); nothing stays."""
    rows = 30_000
    data = changed(swept, given(table(rows)))
    examine("g.zip", swept)
    tracemalloc.start()
    try:
        begin = tracemalloc.get_traced_memory()[0]
        assert examine("g.zip", data).outcome("opens") == "yes"
        del data
        gc.collect()
        end, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    most = peak / rows * submitted.MOST_SWEEP_LINES
    print(f"\npeak {peak / 1e6:.0f} MB, at most {most / 1e6:.0f} MB, kept {(end - begin) / 1e6:.2f} MB")
    assert most < 667e6
    assert end - begin < 0.5e6
