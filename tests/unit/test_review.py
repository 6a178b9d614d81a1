"""A folder of bundles reviewed: the table is right, the page is inert, a broken bundle stops nothing."""

import csv
import gc
import json
import re
import signal
import subprocess
import sys
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from labkit.errors import EntryError
from labkit.handin import review as reviewing
from labkit.handin.bundle import Place
from labkit.handin.check import COLUMNS, Examiner, closed, examine
from labkit.handin.review import find, render, review
from labkit.record.virtual_bench import PrefixSlip
from labkit.words import handin as words
from tests.benches import WIRINGS
from tests.bundles import Files, bundle, changed, collected, with_manifest

GROUPS = 40


def _edited(files: Files) -> None:
    files["record.jsonl"] = files["record.jsonl"].replace(b'"shown":"', b'"shown":"1', 1)


def _claimed(manifest: dict[str, Any]) -> None:
    manifest["claims"]["coupling"]["coupling_coefficient"]["value"] = 1.0


BROKEN: dict[int, tuple[Callable[[Path], bytes], dict[str, str]]] = {
    4: (lambda b: bundle(b, 4)[:2000], {"opens": "no"} | dict.fromkeys(COLUMNS[1:], "cannot tell")),
    11: (
        lambda b: changed(bundle(b, 11), _edited),
        dict.fromkeys(("as_packed", "complete"), "no"),
    ),
    18: (lambda b: with_manifest(bundle(b, 18), _claimed), {"recomputed": "no"}),
    25: (lambda b: bundle(b, 25, faults=(PrefixSlip(WIRINGS["line-reversed"], 3),)), {"units": "no"}),
    32: (lambda b: bundle(b, 32, own=False), {"predicted": "no"}),
}
"""Five groups broken in different ways, and what the table has to say of each where it is not yes."""


@pytest.fixture(scope="module")
def handed_in(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Forty bundles of an invented class, five of them broken."""
    folder = tmp_path_factory.mktemp("class")
    for group in range(GROUPS):
        make = (
            BROKEN[group][0] if group in BROKEN else lambda b, group=group: bundle(b, group, quick=group > 0)
        )
        (folder / f"group-{group:02}.zip").write_bytes(make(folder / "bench"))
    return folder


def table(folder: Path) -> list[dict[str, str]]:
    """The rows of the written table."""
    with (folder / "review.csv").open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def test_the_table_is_right_for_all_forty(handed_in: Path, tmp_path: Path) -> None:
    """Thirty-five sound bundles are all yes; each broken one has no and cannot tell just where it must."""
    done = review(handed_in, tmp_path, jobs=2, progress=False)
    rows = table(tmp_path)
    assert [row["bundle"] for row in rows] == [f"group-{group:02}.zip" for group in range(GROUPS)]
    for group, row in enumerate(rows):
        found = {c: row[words.COLUMN[c]] for c in COLUMNS if row[words.COLUMN[c]] != "yes"}
        wanted = BROKEN.get(group, (None, {}))[1]
        assert wanted.items() <= found.items(), (group, found)
        if group in (18, 25, 32, 4) or group not in BROKEN:
            assert found == wanted, (group, row[words.FEEDBACK])
        assert bool(row["M"]) == (row["opens"] == "yes") or group == 11
    assert reviewing.counts(done.rows) == {"count": 40, "clear": 35, "remarks": 4, "shut": 1}
    page = (tmp_path / "review.html").read_text(encoding="utf-8")
    assert page.count("<section") == GROUPS
    assert "<script" not in page


def test_one_core_and_two_give_the_same(handed_in: Path, tmp_path: Path) -> None:
    """The number of processes changes neither table nor page."""
    few = tmp_path / "few"
    few.mkdir()
    for name in ("group-04.zip", "group-11.zip", "group-12.zip"):
        (few / name).write_bytes((handed_in / name).read_bytes())
    for jobs in (1, 2):
        review(few, tmp_path / str(jobs), jobs=jobs, progress=False)
    for name in ("review.csv", "review.html"):
        one, two = ((tmp_path / str(jobs) / name).read_bytes() for jobs in (1, 2))
        assert one == two


def test_a_cluster_gives_the_same(handed_in: Path, tmp_path: Path) -> None:
    """One option hands the work to a running dask scheduler, here a local one with two workers."""
    from distributed import LocalCluster

    few = tmp_path / "few"
    few.mkdir()
    for name in ("group-04.zip", "group-12.zip", "group-25.zip"):
        (few / name).write_bytes((handed_in / name).read_bytes())
    here = review(few, tmp_path / "here", jobs=1, progress=False)
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
        there = review(few, tmp_path / "there", cluster=cluster.scheduler_address, progress=False)
    assert there.rows == here.rows


def test_an_archive_of_bundles_is_taken(handed_in: Path, tmp_path: Path) -> None:
    """One zip file that holds bundles is looked through without being unpacked."""
    archive = tmp_path / "all.zip"
    with zipfile.ZipFile(archive, "w") as stream:
        for name in ("group-00.zip", "group-04.zip"):
            stream.write(handed_in / name, f"late/{name}")
        stream.writestr("readme.txt", "invented")
    done = review(archive, tmp_path / "out", jobs=1, progress=False)
    assert [row.name for row in done.rows] == ["late/group-00.zip", "late/group-04.zip"]
    assert [row.outcome("opens") for row in done.rows] == ["yes", "no"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["all.zip", "out"]


def test_a_bundle_alone_is_no_archive(handed_in: Path) -> None:
    """A single bundle is looked at as one, and links are not followed."""
    ((one,), _) = find(handed_in / "group-00.zip")
    assert one == Place(handed_in / "group-00.zip")
    (handed_in / "linked.zip").symlink_to(handed_in / "group-00.zip")
    try:
        assert len(find(handed_in)[0]) == GROUPS
    finally:
        (handed_in / "linked.zip").unlink()


def test_numbers_in_names_are_counted(tmp_path: Path) -> None:
    """Group 9 stands before group 10, as on a class list, in a folder and in an archive."""
    names = ["group-1.zip", "group-9.zip", "group-10.zip", "team.zip"]
    with zipfile.ZipFile(tmp_path / "all.zip", "w") as archive:
        for name in reversed(names):
            archive.writestr(name, b"")
            (tmp_path / "folder").mkdir(exist_ok=True)
            (tmp_path / "folder" / name).write_bytes(b"")
    assert [place.name for place in find(tmp_path / "folder")[0]] == names
    assert [place.name for place in find(tmp_path / "all.zip")[0]] == names


def test_collected_homes_are_told_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Bundles called alike carry their path, and a folder that cannot be read is counted, not passed over."""
    homes = collected(tmp_path / "homes", monkeypatch)
    found = review(homes, tmp_path / "out", jobs=1, progress=False)
    names = [f"{login}/my-choke/my-choke.bundle.zip" for login in ("anna", "boris")]
    assert [row["bundle"] for row in table(tmp_path / "out")] == names
    closed = "Folders that could not be read: 1."
    for shown in (str(found), found.page.read_text(encoding="utf-8")):
        assert all(name in shown for name in names)
        assert closed in shown
    with pytest.raises(EntryError, match=closed):
        review(homes / "chen", tmp_path / "out")


def test_a_folder_without_bundles_is_refused(tmp_path: Path) -> None:
    """There is nothing to review in an empty folder, and nothing is written."""
    with pytest.raises(EntryError, match="There is no bundle in"):
        review(tmp_path)
    assert not list(tmp_path.iterdir())


def test_labkits_own_fault_stops_nothing(handed_in: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An error that nobody foresaw becomes a row that blames labkit."""

    def fail(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("labkit.handin.check.look", fail)
    found = examine("g", (handed_in / "group-00.zip").read_bytes())
    assert found.unforeseen
    assert "fault of labkit" in found.feedback[0]


def test_nothing_in_the_table_is_a_formula(tmp_path: Path) -> None:
    """A name that a spreadsheet would work out is written as text."""
    (tmp_path / "review.csv").write_bytes(reviewing.table([closed("=1+1\n.zip", "no")]))
    assert table(tmp_path)[0]["bundle"] == "'=1+1 .zip"


def test_links_stay_relative(tmp_path: Path) -> None:
    """A file whose name looks like an address is linked as a file beside the page."""
    link = reviewing._link(Place(tmp_path / 'javascript:alert(1)".zip'), tmp_path)
    assert link == "./javascript%3Aalert%281%29%22.zip"
    assert 'href="./javascript%3A' in render([closed("x", "y")], [link])


def test_every_sentence_asks_or_advises() -> None:
    """No draft says cheat, fake, copy or dishonest, and none gives a mark."""
    everything = json.dumps({k: v for k, v in vars(words).items() if isinstance(v, str)}).lower()
    for word in ("cheat", "fake", "copied", "dishonest", "fraud", "grade", "points out of", "tamper"):
        assert word not in everything


def test_memory_does_not_grow_with_the_bundles(handed_in: Path) -> None:
    """After two more bundles a process holds no more than before (to ten kilobytes a bundle).

    What an examination leaves refers to itself in circles, some 0.8 MB a bundle, and goes when Python
    collects such; when that is depends on everything that ran before, so it is done here before each look.
    """
    data = (handed_in / "group-00.zip").read_bytes()

    def held(times: int) -> int:
        for _ in range(times):
            examine("g", data)
        gc.collect()
        return tracemalloc.get_traced_memory()[0]

    tracemalloc.start()
    try:
        held(2)
        first, second = held(1), held(2)
    finally:
        tracemalloc.stop()
    assert second - first < 2 * 10_000


@pytest.mark.parametrize(
    ("number", "jobs", "after"),
    [("SIGINT", "2", 1), ("SIGTERM", "2", 1), ("SIGTERM", "2", 0), ("SIGINT", "2", 0), ("SIGINT", "1", 1)],
)
def test_a_review_that_is_stopped_leaves_nothing_behind(
    handed_in: Path, tmp_path: Path, number: str, jobs: str, after: int
) -> None:
    """One sentence, no traceback, no warning of leaks, no process left, nothing written.

    After no bundle the processes are just being started, which was the worst moment: of a hundred reviews
    stopped at random moments there, three in ten left a process, a warning or a traceback behind.
    """
    import psutil

    signal.signal(signal.SIGINT, signal.default_int_handler)  # a child of tests run with & would ignore it
    command = [sys.executable, "-m", "labkit.cli", "review", str(handed_in), "--out", str(tmp_path / "out")]
    running = subprocess.Popen([*command, "--jobs", jobs], stderr=subprocess.PIPE)
    assert running.stderr is not None
    said = b""
    while not re.search(rb" [%d-9]/40" % after, said):
        more = running.stderr.read1()
        assert more, said
        said += more
    children = psutil.Process(running.pid).children(recursive=True)
    running.send_signal(getattr(signal, number))
    said += running.communicate()[1]
    assert running.returncode == 130
    assert said.decode().splitlines()[-1] == "Stopped before it was done."
    assert b"40/40" not in said
    assert b"Traceback" not in said
    assert b"leaked" not in said
    assert len(children) == int(jobs) or not after
    _, alive = psutil.wait_procs(children, timeout=60)
    assert not alive
    assert not (tmp_path / "out").exists()


def test_a_signal_waits_until_the_processes_are_ended(
    handed_in: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A thread that works is never torn out of what it does; the signal comes when its processes are gone."""
    order: list[str] = []
    stop = Examiner.stop
    monkeypatch.setattr(Examiner, "stop", lambda self: (order.append("ended"), stop(self)))
    before = signal.signal(signal.SIGTERM, lambda *_: order.append("signal heard"))
    try:
        rows = reviewing.look_at(find(handed_in)[0], 2, 300.0, None, progress=False)
        next(rows)
        signal.raise_signal(signal.SIGTERM)
        assert len(list(rows)) < GROUPS - 1
    finally:
        signal.signal(signal.SIGTERM, before)
    assert order == ["ended", "ended", "signal heard"]


def test_what_fails_apart_is_raised_here(handed_in: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An error of labkit's own in a thread is the caller's to see."""

    def fail(*_: object) -> None:
        raise OSError("no more processes")

    monkeypatch.setattr(Examiner, "look", fail)
    with pytest.raises(OSError, match="no more processes"):
        next(reviewing.look_at(find(handed_in)[0], 2, 300.0, None, progress=False))


def test_remarks_in_an_earlier_table_are_kept(handed_in: Path, tmp_path: Path) -> None:
    """A lecturer's table goes aside under a free name, a link too; the same files again leave nothing."""
    archive = tmp_path / "one.zip"
    with zipfile.ZipFile(archive, "w") as stream:
        stream.write(handed_in / "group-04.zip", "group-04.zip")
    mine, elsewhere, out = b"my remarks", tmp_path / "elsewhere.html", tmp_path / "out"
    out.mkdir()
    (out / "review.csv").write_bytes(mine)
    (out / "review-earlier-1.csv").write_bytes(b"older ones")
    elsewhere.write_bytes(mine)
    (out / "review.html").symlink_to(elsewhere)
    done = review(archive, out, jobs=1, progress=False)
    assert done.kept == (out / "review-earlier-2.csv", out / "review-earlier-1.html")
    assert "review-earlier-2.csv" in "".join(str(done).split())  # whatever the width of a line
    assert done.kept[0].read_bytes() == elsewhere.read_bytes() == mine
    assert (out / "review-earlier-1.csv").read_bytes() == b"older ones"
    assert table(out)[0]["bundle"] == "group-04.zip"
    assert not (out / "review.html").is_symlink()
    again = review(archive, out, jobs=1, progress=False)
    assert again.kept == ()
    assert len(list(out.iterdir())) == 5


def test_only_what_labkit_did_not_write_itself_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its own last table and page are replaced by others; a remark in one of the two keeps that one."""
    late, out = tmp_path / "homes", tmp_path / "out"
    late.mkdir()
    monkeypatch.setattr(
        reviewing, "look_at", lambda places, *_: enumerate(closed(place.name, "shut") for place in places)
    )

    def reviewed(group: int) -> list[str]:
        (late / f"group-{group}.zip").touch()
        return [path.name for path in review(late, out).kept]

    assert reviewed(4) == reviewed(5) == []
    assert [row["bundle"] for row in table(out)] == ["group-4.zip", "group-5.zip"]
    for number, name in enumerate(("review.csv", "review.html"), start=6):
        with (out / name).open("ab") as stream:
            stream.write(b"a remark")
        assert reviewed(number) == [name.replace(".", "-earlier-1.")]
    (out / "review.html").unlink()
    assert reviewed(8) == ["review-earlier-2.csv"]  # nothing says any more whose it is


def test_a_place_that_cannot_be_written_to_is_said_first(
    handed_in: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file where the folder should be, or one without permission: nothing is looked at for it."""
    monkeypatch.setattr(reviewing, "look_at", None)
    (tmp_path / "file").touch()
    with pytest.raises(EntryError, match="Nothing can be written to"):
        review(handed_in, tmp_path / "file" / "out", progress=False)
    monkeypatch.setattr("os.access", lambda *_: False)
    with pytest.raises(EntryError, match="Nothing can be written to"):
        review(handed_in, tmp_path, progress=False)
