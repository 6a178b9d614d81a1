"""Hostile and broken bundles: one clear sentence each; nothing is written, run or shown as markup."""

import json
import random
import stat
import warnings
import zipfile
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from labkit.handin.bundle import MOST_BYTES, MOST_FILES, BundleError, read_bundle
from labkit.handin.check import Examination, examine
from labkit.handin.review import render
from tests.bundles import Files, bundle, changed, with_manifest, zipped
from tests.pages import parse
from tests.records import checked

SCRIPT = '"><script>document.title="run"</script><img src=x onerror=alert(1)>{{ 7 * 7 }}'


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A bundle without fault."""
    return bundle(tmp_path_factory.mktemp("sound") / "b")


@pytest.fixture(autouse=True)
def nothing_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Every look at a bundle is made where a file that appears would be seen."""
    (tmp_path / "inner").mkdir()
    monkeypatch.chdir(tmp_path / "inner")
    before = sorted(tmp_path.rglob("*"))
    yield
    assert sorted(tmp_path.rglob("*")) == before


def member(name: str, data: bytes = b"x", **fields: Any) -> bytes:
    """A zip with one member that says this of itself."""
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        info = zipfile.ZipInfo(name)
        info.compress_type = zipfile.ZIP_DEFLATED
        for field, value in fields.items():
            setattr(info, field, value)
        archive.writestr(info, data)
    return stream.getvalue()


def twice() -> bytes:
    """A zip with one name twice."""
    stream = BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(stream, "w") as archive:
        warnings.simplefilter("ignore")
        archive.writestr("record.jsonl", "1")
        archive.writestr("record.jsonl", "2")
    return stream.getvalue()


def lying(sound: bytes) -> bytes:
    """A zip whose directory says a member is smaller than it is."""
    data = bytearray(member("record.jsonl", b"0" * 100_000))
    place = data.rindex(b"PK\x01\x02") + 24
    data[place : place + 4] = (10).to_bytes(4, "little")
    return bytes(data)


BOMB = {f"{n}.bin": random.Random(n).randbytes(20_000) * 400 for n in range(9)}
LINK = (stat.S_IFLNK | 0o777) << 16
CLOSED: dict[str, tuple[Callable[[bytes], bytes], str]] = {
    "traversal": (lambda _: member("../../evil.txt"), "outside the bundle"),
    "traversal inside": (lambda _: member("a/../../evil.txt"), "outside the bundle"),
    "absolute": (lambda _: member("/etc/evil.txt"), "outside the bundle"),
    "drive": (lambda _: member("C:/evil.txt"), "outside the bundle"),
    "backslash": (lambda _: member("..\\evil.txt"), "outside the bundle"),
    "control": (lambda _: member("a\x1b[2Jb"), "outside the bundle"),
    "turned text": (lambda _: member("gpj.\u202etxt"), "outside the bundle"),
    "empty part": (lambda _: member("a//b"), "outside the bundle"),
    "link": (lambda _: member("record.jsonl", b"/etc/passwd", external_attr=LINK), "is a link"),
    "device": (lambda _: member("x", external_attr=(stat.S_IFCHR | 0o666) << 16), "is a link"),
    "bomb by ratio": (lambda _: member("record.jsonl", b"0" * 8_000_000), "would grow far more"),
    "bomb in total": (
        lambda _: zipped(BOMB, zipfile.ZIP_DEFLATED),
        "unpacked, is larger than 64 MB",
    ),
    "larger than any": (lambda _: b"PK" + bytes(MOST_BYTES), "the bundle is larger than 64 MB"),
    "too many": (lambda _: zipped({str(n): b"" for n in range(MOST_FILES + 1)}), "lists 301 files"),
    "twice": (lambda _: twice(), "stands in it twice"),
    "twice but for case": (lambda _: zipped({"A": b"", "a": b""}), "stands in it twice"),
    "lying": (lying, "not a whole zip file"),
    "half": (lambda sound: sound[: len(sound) // 2], "not a whole zip file"),
    "tail": (lambda sound: sound[len(sound) // 2 :], ""),
    "empty": (lambda _: b"", "not a whole zip file"),
    "text": (lambda _: b"Dear reader,", "not a whole zip file"),
    "empty zip": (lambda _: zipped({}), "There is no record.jsonl"),
    "no record": (lambda s: changed(s, lambda f: f.pop("record.jsonl")), "There is no record.jsonl"),
}


@pytest.mark.parametrize(("make", "said"), CLOSED.values(), ids=CLOSED)
def test_what_is_no_bundle_is_not_opened(sound: bytes, make: Callable[[bytes], bytes], said: str) -> None:
    """The bundle is refused with one sentence that says why, and one that says what to do."""
    found = examine("g.zip", make(sound))
    assert found.outcome("opens") == "no"
    assert not found.unforeseen
    (feedback,) = found.feedback
    assert said in feedback
    assert feedback.isprintable()
    assert len(feedback) < 400


def record_of(*lines: bytes) -> Callable[[Files], object]:
    """Puts other lines into the record."""
    return lambda files: files.update({"record.jsonl": b"\n".join(lines)})


def notebook_of(data: bytes) -> Callable[[Files], object]:
    """Puts another notebook in."""
    return lambda files: files.update({"pair.ipynb": data})


DEEP = b"[" * 200_000 + b"]" * 200_000
WIDGETS = json.dumps(
    {
        "cells": [
            {
                "cell_type": "code",
                "source": 5,
                "outputs": [{"data": {"text/html": SCRIPT, "text/plain": 7}}, 3],
            },
            {"cell_type": "code", "outputs": {"x": 1}},
            "cell",
        ],
        "metadata": {"widgets": {"application/vnd.jupyter.widget-state+json": {"state": {"a": SCRIPT}}}},
    }
).encode()

OPENED: dict[str, tuple[Callable[[Files], object], str, str, str]] = {
    "a million events": (
        record_of(*[b'{"event":"reading"}'] * 1_000_000),
        "units",
        "no",
        "longer than 2000 lines",
    ),
    "huge string": (record_of(b'{"a":"' + b"x" * 9_000_000 + b'"}'), "units", "no", "longer than"),
    "long string": (
        record_of(b'{"schema":1,"a":"' + b"x" * 900_000 + b'"}'),
        "complete",
        "no",
        "record.jsonl, line 1",
    ),
    "deep record": (record_of(DEEP), "complete", "no", "is not one JSON object"),
    "deep manifest": (
        lambda f: f.update({"manifest.json": DEEP}),
        "as_packed",
        "no",
        "cannot be read as one JSON",
    ),
    "deep notebook": (notebook_of(DEEP), "outputs", "no", "cannot be read as one JSON"),
    "bytes": (record_of(b"\xff\xfe\x00"), "complete", "no", "is not one JSON object in UTF-8"),
    "bytes in manifest": (lambda f: f.update({"manifest.json": b"\xff"}), "recomputed", "no", "in UTF-8"),
    "NaN": (record_of(b'{"schema":NaN}'), "complete", "no", "NaN is not a number that JSON knows"),
    "NaN in manifest": (lambda f: f.update({"manifest.json": b'{"schema":NaN}'}), "as_packed", "no", "NaN"),
    "no manifest": (lambda f: f.pop("manifest.json"), "as_packed", "no", "There is no manifest.json"),
    "empty manifest": (
        lambda f: f.update({"manifest.json": b"{}"}),
        "as_packed",
        "no",
        "manifest cannot be taken",
    ),
    "huge number": (
        lambda f: f.update({"manifest.json": b'{"schema":' + b"9" * 9999 + b"}"}),
        "as_packed",
        "no",
        "JSON",
    ),
    "empty record": (record_of(b""), "complete", "no", "The record is empty"),
    "newer record": (
        record_of(checked({"schema": 99, "event": "hologram"})),
        "complete",
        "cannot tell",
        "open it with a newer",
    ),
    "file added": (lambda f: f.update({"run.py": b"import os"}), "as_packed", "no", "does not list it"),
    "file gone": (lambda f: f.pop("pair.ipynb"), "as_packed", "no", "which is not there"),
    "file edited": (lambda f: f.update({"pair.ipynb": b"x"}), "as_packed", "no", "is not the file"),
    "widgets": (notebook_of(WIDGETS), "outputs", "cannot tell", "No notebook with stored outputs"),
    "no cells": (notebook_of(b'{"cells":{}}'), "outputs", "no", "is no notebook"),
}


@pytest.mark.parametrize(("change", "column", "outcome", "said"), OPENED.values(), ids=OPENED)
def test_what_is_broken_inside_is_said_in_its_column(
    sound: bytes, change: Callable[[Files], object], column: str, outcome: str, said: str
) -> None:
    """The bundle opens, the column that suffers says so, and one sentence names what is wrong."""
    found = examine("g.zip", changed(sound, change))
    assert not found.unforeseen
    assert found.outcome("opens") == "yes"
    assert found.outcome(column) == outcome
    assert said in " ".join(found.feedback)
    assert all(len(sentence) < 600 for point in found.points for sentence in point.sentences)


def test_a_newer_manifest_is_not_guessed_at(sound: bytes) -> None:
    """A manifest in a newer format is named as such, and no number of it is judged."""
    found = examine("g", with_manifest(sound, lambda m: m.update(schema=2, more=1)))
    assert found.outcome("as_packed") == "no"
    assert "check it with a newer labkit" in found.feedback[0]


def test_code_in_a_notebook_is_not_run(sound: bytes, tmp_path: Path) -> None:
    """Cells that would write a file, and scripted outputs, do nothing (the fixture looks for files)."""
    code = f"open({str(tmp_path / 'run')!r}, 'w')"
    cell = {"cell_type": "code", "source": code, "outputs": [{"data": {"application/javascript": "x"}}]}
    found = examine("g", changed(sound, notebook_of(json.dumps({"cells": [cell]}).encode())))
    assert found.outcome("outputs") == "cannot tell"


def shown(found: Examination) -> list[tuple[Any, ...]]:
    """Every element of the page with the names of its attributes."""
    html = render([found], ["./g.zip"])
    return [(element.tag, *element.attrib) for element in parse(html).iter()]


def test_no_text_of_a_bundle_becomes_markup(tmp_path: Path) -> None:
    """With script in every text and name the page has no element that it has not without."""
    pages = []
    for text in ("innocent", SCRIPT):
        data = bundle(tmp_path.parent / f"{tmp_path.name}-b", 3, dots=None)

        def spoil(files: Files, text: str = text) -> None:
            event = {"schema": 1, "seq": 1, "utc": "x", "event": "opened", "part": text, text: 1}
            files["record.jsonl"] = json.dumps(event).encode()
            files[f"{text.replace('/', '_').replace(':', '_')}.ipynb"] = json.dumps({text: text}).encode()
            manifest = json.loads(files["manifest.json"])
            manifest["claims"]["coupling"] = {text: text}
            manifest["labkit"] = text
            files["manifest.json"] = json.dumps(manifest).encode()

        pages.append(shown(examine(f"{text}.zip", changed(data, spoil))))
    assert pages[0] == pages[1]
    assert not {"script", "img", "iframe", "svg"} & {str(element[0]).split("}")[-1] for element in pages[1]}


def test_a_harmless_name_is_taken(sound: bytes) -> None:
    """Names in folders, with spaces and accents, are taken as they are."""
    files = {"a b/é.txt": b"1", "x": b""}
    assert read_bundle(zipped(files)) == files
    with pytest.raises(BundleError):
        read_bundle(zipped(files | {"x/../y": b""}))
