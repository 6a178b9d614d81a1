"""One file from a bench folder: the same bytes each time, everything in it, and what is asked before."""

import json
import os
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import nbformat
import psutil
import pytest

from labkit.errors import RecordMissing
from labkit.handin import pack as precheck
from labkit.handin.bundle import BundleError, not_everywhere, read_bundle
from labkit.handin.check import check
from labkit.handin.pack import bundle_bytes, collect, pack, rebuild, rebuilt_otherwise, run_notebook
from labkit.record.bench import open_bench
from labkit.record.demo import write_demo
from labkit.record.virtual_bench import PrefixSlip
from labkit.resources import shipped
from labkit.words import handin as words
from tests.benches import WIRINGS, coupled_bench
from tests.bundles import folder_of


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A bench folder with an attachment."""
    place = folder_of(tmp_path_factory.mktemp("pack") / "group")
    (place / "photos").mkdir()
    (place / "photos" / "clamps.txt").write_text("invented", encoding="utf-8")
    return place


@pytest.fixture
def unproven(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the clean process, for tests of something else."""
    monkeypatch.setattr(precheck, "rebuild", lambda *_: "")


def test_the_way_from_bench_to_bundle(folder: Path, tmp_path: Path) -> None:
    """A sound folder is rebuilt and run in clean processes and packed whole, twice into the same bytes."""
    done = pack(folder, tmp_path / "one.zip")
    assert done.remarks == ()
    assert done.notes == (words.REBUILT, words.NOTEBOOK_RAN.format(name="pair.ipynb"))
    files = read_bundle(done.file.read_bytes())
    assert sorted(files) == [
        "manifest.json",
        "pair.ipynb",
        "photos/clamps.txt",
        "record.jsonl",
        "report.html",
    ]
    assert files["record.jsonl"] == (folder / "record.jsonl").read_bytes()
    assert words.SOUND in str(done)
    os.utime(folder / "pair.ipynb", (0, 0))
    again = pack(folder, tmp_path / "two.zip", run=False)
    assert again.file.read_bytes() == done.file.read_bytes()
    assert words.NOT_RUN in again.notes


def test_nothing_of_time_or_owner_is_in_it(folder: Path) -> None:
    """Every entry has the same date and the same rights; the manifest comes first, then names in order."""
    data = bundle_bytes(open_bench(folder), {"b": b"2", "a": b"1"})
    path = folder.parent / "plain.zip"
    path.write_bytes(data)
    with zipfile.ZipFile(path) as archive:
        members = archive.infolist()
    assert [member.filename for member in members] == ["manifest.json", "a", "b"]
    assert {(member.date_time, member.external_attr) for member in members} == {
        ((1980, 1, 1, 0, 0, 0), 0o100644 << 16)
    }


def test_the_manifest_says_what_and_with_what(folder: Path) -> None:
    """Hashes, formats, versions, seeds and the part stand in the manifest."""
    bench = open_bench(folder)
    files = read_bundle(bundle_bytes(bench, {"a": b"1"}))
    manifest = json.loads(files["manifest.json"])
    one = "6b86b273ff34fce19d6b804eff5a3f5747ada4eaa22f1d49c01e52ddb7875b4b"  # SHA-256 of "1", by sha256sum
    assert manifest["files"] == [{"name": "a", "sha256": one, "size": 1}]
    assert manifest["record_digest"] == bench.record.digest
    assert (manifest["schema"], manifest["record_schema"], manifest["part"]) == (1, 3, "sample-7")
    assert {"labkit", "python", "packages", "record_seed", "monte_carlo_seed"} <= manifest.keys()


def test_what_labkit_makes_is_not_packed(tmp_path: Path) -> None:
    """Lock, hidden files, earlier reports and bundles stay out; links and odd names are named as left out."""
    place = folder_of(tmp_path / "b")
    (place / "report.html").write_text('<meta name="generator" content="labkit 0">', encoding="utf-8")
    (place / "other.html").write_text('<meta name="generator" content="labkit 0">', encoding="utf-8")
    (place / "page.html").write_text("<p>own page</p>", encoding="utf-8")
    (place / "old.bundle.zip").write_bytes(b"")
    (place / ".hidden").mkdir()
    (place / ".hidden" / "x").write_text("x", encoding="utf-8")
    (place / "link").symlink_to("/etc/hostname")
    (place / "away").symlink_to("/etc")
    (place / "a:b").write_text("x", encoding="utf-8")
    files, left_out = collect(place)
    assert sorted(files) == ["page.html", "pair.ipynb", "record.jsonl"]
    assert left_out == ["a:b", "away", "link"]


def test_gaps_are_asked_about(tmp_path: Path, unproven: None) -> None:
    """Readings without frequency, no card, no own words and no notebook get one sentence each."""
    bench = coupled_bench(tmp_path / "b", card=None)
    bench.use(frequency="not known")
    bench.read("1a 1b | 2a=2b", "24.9 µH", "shorted")
    said = pack(tmp_path / "b").remarks
    assert words.NO_FREQUENCY.format(ids="shorted") in said
    assert any(remark.startswith("No accuracy card covers one, two, line") for remark in said)
    assert {words.NO_WORDS, words.NO_NOTEBOOK} <= {*said}


def test_absolute_paths_and_old_outputs_are_named(tmp_path: Path, unproven: None) -> None:
    """A path of this computer in the code, and outputs that the record does not give, are said."""
    place = folder_of(tmp_path / "b", 1)
    text = (folder_of(tmp_path / "c", 2) / "pair.ipynb").read_text(encoding="utf-8")
    text = text.replace("labkit.open_bench()", "labkit.open_bench('/home/p1/bench')")
    (place / "pair.ipynb").write_text(text, encoding="utf-8")
    said = pack(place, run=False).remarks
    assert words.ABSOLUTE.format(name="pair.ipynb", path="/home/p1/bench") in said
    assert any(remark.startswith("pair.ipynb does not show") for remark in said)


def test_a_notebook_that_stops_is_named(tmp_path: Path) -> None:
    """A cell that raises is said with its last line, and the bench folder is not touched by the run."""
    place = folder_of(tmp_path / "b")
    files, _ = collect(place)
    text = files["pair.ipynb"].decode().replace("labkit.explain(bench)", "bench.reading('nine')")
    before = sorted(path.name for path in place.iterdir())
    assert "There is no reading 'nine'" in run_notebook(files | {"pair.ipynb": text.encode()}, "pair.ipynb")
    assert sorted(path.name for path in place.iterdir()) == before


def test_a_rebuild_that_differs_is_said(folder: Path) -> None:
    """The clean process is held to the report's very bytes."""
    assert rebuilt_otherwise(rebuild(folder), open_bench(folder), b"another") == words.REBUILT_OTHERWISE


def test_the_shipped_notebook_packs_without_a_remark(tmp_path: Path, unproven: None) -> None:
    """The coupled pair as shipped, beside its demo record, shows every finding that a bundle is held to."""
    write_demo(tmp_path / "b")
    notebook = shipped("notebooks", "coupled_pair.ipynb").read_bytes()
    (tmp_path / "b" / "coupled_pair.ipynb").write_bytes(notebook)
    assert pack(tmp_path / "b", run=False).remarks == ()


def test_other_files_are_not_replaced(folder: Path, tmp_path: Path, unproven: None) -> None:
    """A file that is no bundle is left alone, an earlier bundle is replaced, a missing folder is refused."""
    (tmp_path / "mine.zip").write_bytes(b"mine")
    with pytest.raises(BundleError, match="is there and is no bundle"):
        pack(folder, tmp_path / "mine.zip", run=False)
    assert (tmp_path / "mine.zip").read_bytes() == b"mine"
    with pytest.raises(BundleError, match="NOT written"):
        pack(folder, tmp_path / "no" / "x.zip", run=False)
    with pytest.raises(RecordMissing):
        pack(tmp_path, run=False)


def test_a_folder_beyond_the_limits_is_refused(
    folder: Path, tmp_path: Path, unproven: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What no check would open is not packed; the sentence gives size and limit."""
    monkeypatch.setattr("labkit.handin.pack.MOST_FILES", 4)
    with pytest.raises(BundleError, match=r"at most .* 4 files are taken"):
        pack(folder, tmp_path / "x.zip", run=False)
    assert not (tmp_path / "x.zip").exists()


def test_what_a_review_would_remark_on_is_said_before(tmp_path: Path, unproven: None) -> None:
    """A slip of the prefix, a misfit and late predictions are told before packing, in the review's words."""
    fault = PrefixSlip(WIRINGS["line-reversed"], 3)
    place = folder_of(tmp_path / "b", faults=(fault,), own=False)
    done = pack(place, run=False)
    seen = {point.column: " ".join(point.sentences) for point in check(done.file).points}
    for column in ("units", "predicted", "supported"):
        assert seen[column]
        assert seen[column] in done.remarks


@pytest.mark.parametrize("denied", ["read_bytes", "replace"])
def test_somebody_elses_file_is_said_to_be(
    folder: Path, tmp_path: Path, unproven: None, monkeypatch: pytest.MonkeyPatch, denied: str
) -> None:
    """Where another's file can be neither read nor replaced, the sentence says that it is another's."""
    out = tmp_path / "p1.bundle.zip"
    pack(folder, out, run=False)
    before = out.read_bytes()

    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    with monkeypatch.context() as drop_box:
        drop_box.setattr(Path, denied, refuse)
        drop_box.setattr(os, "geteuid", lambda: out.stat().st_uid + 1)
        drop_box.setattr("labkit.handin.pack.collect", lambda _: ({}, []))
        drop_box.setattr("labkit.handin.pack.precheck", lambda *_: ((), ()))
        with pytest.raises(BundleError, match="somebody else's, so it was not replaced"):
            pack(folder, out, run=False)
    assert out.read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == [out.name]


HEAVY = "[name for name in ('labkit.faces.report', 'sympy', 'matplotlib') if name in sys.modules]"


def test_nothing_heavy_is_loaded_beside_a_clean_process(folder: Path, tmp_path: Path) -> None:
    """While a clean process runs, the packing one has not loaded what the report needs."""
    code = f"""
import sys
from labkit.handin import pack
seen = []
pack._clean = lambda *_: seen.append({HEAVY}) or "not run here"
pack.pack({str(folder)!r}, {str(tmp_path / "out.zip")!r})
print(seen)
"""
    assert _printed(code) == "[[], []]"


def test_running_a_notebook_needs_nothing_heavy() -> None:
    """The process that watches a notebook's kernel leaves the report's libraries to the kernel."""
    assert _printed(f"import sys, labkit.handin.rebuild; print({HEAVY})") == "[]"


def _printed(code: str) -> str:
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


ODD = {
    "NUL": "'NUL' is a name that some systems keep",
    "con.txt": "'con.txt' is a name that some systems keep",
    "notes/com1.csv": "'notes/com1.csv' is a name that some systems keep",
    "record.jsonl.": "'record.jsonl.' and 'record.jsonl' are the same name",
    "what?.txt": "'what?.txt' has a character",
    "end .txt ": "'end .txt ' has a character or an end",
    "Pair.ipynb": "are the same name on some systems; rename one of them",
    "Report.html": "'Report.html' and 'report.html' are the same name",
}


@pytest.mark.parametrize(("name", "said"), ODD.items(), ids=ODD)
def test_names_that_are_not_the_same_everywhere_are_refused(
    tmp_path: Path, unproven: None, name: str, said: str
) -> None:
    """What is to be renamed is named, and nothing is written."""
    place = folder_of(tmp_path / "bench", quick=True)
    (place / name).parent.mkdir(exist_ok=True)
    (place / name).write_text("x")
    with pytest.raises(BundleError, match="Nothing was packed") as refused:
        pack(place, run=False)
    assert said in str(refused.value)
    assert not list(place.glob("*.zip"))


def test_usual_names_are_no_names_to_be_changed() -> None:
    """Names that only begin like a device's, with dots, spaces and accents inside."""
    assert not_everywhere(["console.txt", "com10", "a.b.c", "my photo.jpg", "é.txt", ".x/y"]) == []


LEAVES = """
import pathlib, subprocess, sys, time
child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(3600)"])
pathlib.Path({file!r}).write_text(str(child.pid))
{then}
"""


def leaving(file: Path, then: str) -> bytes:
    """A notebook that starts a program, says which, and does something else."""
    cell = nbformat.v4.new_code_cell(LEAVES.format(file=str(file), then=then))
    return str(nbformat.writes(nbformat.v4.new_notebook(cells=[cell]))).encode()


def gone(file: Path) -> bool:
    """Whether the program that the notebook started has ended."""
    try:
        process = psutil.Process(int(file.read_text()))
        process.wait(60)
    except psutil.NoSuchProcess:
        return True
    except psutil.TimeoutExpired:
        return False
    return True


def test_what_a_notebook_started_ends_with_it(tmp_path: Path) -> None:
    """Also if it ran to its end: the program held the pipe on which packing waits."""
    assert precheck.run_notebook({"n.ipynb": leaving(tmp_path / "pid", "")}, "n.ipynb") == ""
    assert gone(tmp_path / "pid")


def test_what_a_notebook_started_ends_when_time_is_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The time is up as soon as the program runs."""

    def communicate(self: subprocess.Popen[str], timeout: float) -> None:
        while not (tmp_path / "pid").exists() or not (tmp_path / "pid").read_text():
            assert self.poll() is None
            time.sleep(0.05)
        raise subprocess.TimeoutExpired("", timeout)

    monkeypatch.setattr(subprocess.Popen, "communicate", communicate)
    files = {"n.ipynb": leaving(tmp_path / "pid", "time.sleep(3600)")}
    assert "was not done within" in precheck.run_notebook(files, "n.ipynb")
    assert gone(tmp_path / "pid")
