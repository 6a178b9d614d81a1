"""What a bundle says otherwise than its record, or beside it, is asked about in one sentence."""

import json
import re
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from labkit.handin.bundle import REPORT, read_bundle
from labkit.handin.check import examine
from labkit.handin.review import review
from labkit.handin.submission import difference, odd_times, page_words
from labkit.record.bench import new_bench
from labkit.words import handin as words
from tests.bundles import Files, bundle, changed, folder_of, packed, with_manifest


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A bundle without fault, its report without the picture."""
    return bundle(tmp_path_factory.mktemp("sound") / "b", quick=True)


@pytest.fixture(scope="module")
def reported(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A bundle without fault and with its report."""
    return packed(folder_of(tmp_path_factory.mktemp("reported") / "b", quick=True), picture=True)


def said(data: bytes, column: str) -> tuple[str, str]:
    """What is found in a column, and what is said about the whole bundle."""
    found = examine("g.zip", data)
    assert not found.unforeseen
    return found.outcome(column), " ".join(found.feedback)


def manifest_in(data: bytes) -> dict[str, Any]:
    """The manifest of a bundle."""
    return dict(json.loads(read_bundle(data)["manifest.json"]))


def renamed(files: Files, old: bytes, new: bytes) -> None:
    """The report with other text, and the manifest as if it had been packed so."""
    import hashlib

    assert old in files[REPORT]
    files[REPORT] = files[REPORT].replace(old, new)
    manifest = json.loads(files["manifest.json"])
    for entry in manifest["files"]:
        if entry["name"] == REPORT:
            entry |= {"sha256": hashlib.sha256(files[REPORT]).hexdigest(), "size": len(files[REPORT])}
    files["manifest.json"] = json.dumps(manifest).encode()


def test_a_report_of_this_record_is_not_remarked_on(reported: bytes) -> None:
    """Made anew it says the same."""
    assert examine("g.zip", reported).feedback == ()


def test_a_bundle_without_a_report_gets_one_neutral_remark(sound: bytes) -> None:
    """Labkit packs one always; nothing else changes."""
    manifest = {"files": [e for e in manifest_in(sound)["files"] if e["name"] != REPORT]}
    without = with_manifest(changed(sound, lambda files: files.pop(REPORT)), lambda m: m.update(manifest))
    assert said(without, "outputs") == ("yes", words.NO_REPORT)


def test_a_report_that_says_otherwise_is_quoted(reported: bytes) -> None:
    """One number in the report, with its hash in the manifest: both versions are in the sentence."""
    report = changed(reported, lambda files: renamed(files, b"sample-7</bdi></h1>", b"sample-8</bdi></h1>"))
    outcome, feedback = said(report, "outputs")
    assert outcome == "no"
    assert "report.html says 'sample-8" in feedback
    assert "where the record gives 'sample-7" in feedback


def test_another_labkits_report_is_left_to_a_person(reported: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    """It may use other words, so it is no contradiction."""
    monkeypatch.setattr("labkit.handin.check.__version__", "99")
    report = changed(reported, lambda files: renamed(files, b"sample-7</bdi></h1>", b"sample-8</bdi></h1>"))
    outcome, feedback = said(report, "outputs")
    assert outcome == "cannot tell"
    assert "which may say things in other words" in feedback


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("M = 2.5312 mH", "M = 2.5313 mH", True),
        ("M = 2.5312 mH", "M = 2.5315 mH", False),
        ("12 readings", "13 readings", False),
        ("M = 2.5312 mH", "M = 2.5312 µH", False),
        ("a b", "a b c", False),
        ("<style>1</style>a<svg><svg>2</svg>3</svg>", "a", True),
        ('<section id="provenance"><section>1</section>2</section>a', "a", True),
    ],
)
def test_reports_are_compared_by_meaning(one: str, other: str, same: bool) -> None:
    """Words exactly, numbers to their last decimal, whole numbers exactly; styles and versions not at all."""
    assert (difference(page_words(one), page_words(other)) == "") is same


@pytest.mark.parametrize("name", ["photo.jpg", "sweeps/x.csv", REPORT])
def test_files_that_labkit_did_not_make_are_named(sound: bytes, name: str) -> None:
    """A photo, a file that no sweep names, a report from elsewhere."""

    def add(files: Files) -> None:
        files[name] = b"<!DOCTYPE html>"

    assert f"files that labkit did not make: '{name}'" in said(changed(sound, add), "as_packed")[1]


def two_archives(data: bytes) -> bytes:
    """An archive behind another one; programs differ in which they open."""
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("record.jsonl", "another")
    return stream.getvalue() + data


SURPLUS: dict[str, tuple[Callable[[bytes], bytes], int]] = {
    "behind": (lambda data: data + b"x" * 33, 33),
    "in front": (lambda data: b"#!/bin/sh\n" + data, 10),
    "two in one": (two_archives, len(two_archives(b""))),
}


@pytest.mark.parametrize(("change", "count"), SURPLUS.values(), ids=SURPLUS)
def test_bytes_of_no_file_are_counted(sound: bytes, change: Callable[[bytes], bytes], count: int) -> None:
    """Zip files open all the same; what nobody sees is said."""
    outcome, feedback = said(change(sound), "as_packed")
    assert outcome == "no"
    assert f"{count} bytes of the bundle belong to none of its files" in feedback


def test_a_bundle_packed_by_another_program_has_no_surplus(sound: bytes) -> None:
    """Written to a pipe, sizes stand behind the files; folders are listed too."""

    class Pipe(BytesIO):
        def seekable(self) -> bool:
            return False

    stream = Pipe()
    with zipfile.ZipFile(BytesIO(sound)) as old, zipfile.ZipFile(stream, "w") as new:
        new.writestr("a/", b"")
        for member in old.namelist():
            new.writestr(member, old.read(member))
    assert examine("g.zip", stream.getvalue()).feedback == ()


def test_a_name_twice_in_the_manifest_is_said(sound: bytes) -> None:
    """Programs differ in which one counts."""

    def twice(files: Files) -> None:
        files["manifest.json"] = files["manifest.json"].replace(b"{", b'{"part":"x",', 1)

    outcome, feedback = said(changed(sound, twice), "as_packed")
    assert outcome == "no"
    assert "the name 'part' stands in it twice" in feedback


def test_claims_that_nobody_knows_are_named(sound: bytes) -> None:
    """They cannot be computed anew."""
    data = with_manifest(sound, lambda m: m["claims"].update({"hologram": 7}))
    outcome, feedback = said(data, "recomputed")
    assert outcome == "cannot tell"
    assert "also claims 'hologram'" in feedback


@pytest.mark.parametrize(
    ("field", "value", "name"),
    [("part", "x", "part"), ("record_seed", 5, "seed"), ("record_schema", 9, "format")],
)
def test_a_manifest_that_contradicts_the_record_is_said(
    sound: bytes, field: str, value: Any, name: str
) -> None:
    """Both are given."""
    outcome, feedback = said(with_manifest(sound, lambda m: m.update({field: value})), "as_packed")
    assert outcome == "no"
    assert f"says that the {name} of the record is {value!r}, the record says" in feedback


START = datetime(2031, 5, 6, 8, tzinfo=UTC)


@pytest.mark.parametrize(
    ("minutes", "sentence"),
    [
        ((0, 1, 2), ""),
        ((0, 1, 0.9), ""),
        ((0, 60, 30), "The times do not run forward: b is stamped 2031-05-06T08:30:00Z, and a before it"),
        ((0, 1, 3.6e9), "a year in which no bench stands"),
    ],
)
def test_odd_times_are_one_neutral_sentence(
    tmp_path: Path, minutes: tuple[float, ...], sentence: str
) -> None:
    """A clock that goes back by more than a minute, or to a year far away; nobody is accused."""
    times = iter(START + timedelta(minutes=m) for m in minutes)
    bench = new_bench(tmp_path, "sample-7", clock=lambda: next(times))
    bench.write("a", "first", by="p1", id="a")
    bench.write("b", "second", by="p1", id="b")
    found = list(odd_times(bench))
    assert len(found) == bool(sentence)
    assert sentence in "".join(found)


def test_the_same_record_twice_in_a_class_is_asked_about(sound: bytes, tmp_path: Path) -> None:
    """Both are named in both rows, as a question, and a third group's is left alone."""
    for name in ("a.zip", "b.zip"):
        (tmp_path / name).write_bytes(sound)
    (tmp_path / "c.zip").write_bytes(bundle(tmp_path / "bench", 5, quick=True))
    one, two, three = review(tmp_path, tmp_path / "out", jobs=1, progress=False).rows
    assert re.search(r"is in 'a\.zip', 'b\.zip'\. Was it handed in twice", one.feedback[0])
    assert one.feedback == two.feedback
    assert three.feedback == ()
