"""One bundle is one guarded unit: whatever it does in memory, time or death, the others are done."""

import json
import subprocess
import sys
import zipfile
from io import BytesIO
from pathlib import Path

import psutil
import pytest

from labkit.errors import CardError, EntryError
from labkit.handin import review as reviewing
from labkit.handin.bundle import MANIFEST, MOST_MANIFEST, RECORD, BundleError, Place, read_bundle
from labkit.handin.check import Examiner, check, examine
from labkit.handin.review import review
from labkit.handin.submission import Submission
from labkit.record.card import parse_card
from tests.bundles import Files, bundle, changed, zipped
from tests.faults.evil import Evil

ROOT = Path(__file__).parents[2]
SAID = {
    "kill": "was ended twice",
    "exit": "was ended twice",
    "memory": "more than 2 GB of memory",
    "many pieces of memory": "more than 2 GB of memory",
    "exception": "labkit could not go on with this bundle (LookupError)",
    "kill once": "",
    "says too much": "",
}


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A bundle without fault."""
    return bundle(tmp_path_factory.mktemp("sound") / "b", quick=True)


def test_nothing_that_a_bundle_does_stops_the_others(
    sound: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each evil one gets its sentence, those between them are looked at, and no process stays behind."""
    monkeypatch.setenv("PYTHONPATH", str(ROOT))  # the evil places have to be known to the other process
    places: list[Place] = []
    for number, does in enumerate(SAID):
        for name, evil in ((f"{number}-evil.zip", does), (f"{number}-good.zip", "")):
            (tmp_path / name).write_bytes(sound)
            places.append(Evil(tmp_path / name, does=evil, marker=tmp_path / "once"))
    before = set(psutil.Process().children())
    found = dict(reviewing.look_at(places, 2, 300.0, None, progress=False))
    assert len(found) == len(places)
    for number, (does, said) in enumerate(SAID.items()):
        evil, good = found[2 * number], found[2 * number + 1]
        assert evil.outcome("opens") == ("no" if said else "yes"), (does, evil.feedback)
        assert said in " ".join(evil.feedback), does
        assert good.outcome("opens") == "yes", (does, good.feedback)
        assert not good.feedback
    assert not set(psutil.Process().children()) - before


@pytest.mark.parametrize("does", ["time", "sleep that no signal ends"])
def test_what_takes_too_long_is_ended(
    sound: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, does: str
) -> None:
    """The process goes, whatever it does with signals, and the next bundle has another one."""
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    (tmp_path / "g.zip").write_bytes(sound)
    with Examiner(0.5) as examiner:
        late = examiner.look(Evil(tmp_path / "g.zip", does=does))
        assert "Not finished within 0.5 s" in late.feedback[0]
        examiner.timeout = 300.0
        assert examiner.look(Place(tmp_path / "g.zip")).outcome("opens") == "yes"


def listed(names: list[str], *, folders: bool = False) -> bytes:
    """A zip of empty files, or of folders, with these names."""
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name in names:
            archive.writestr(zipfile.ZipInfo(f"{name}/" if folders else name), b"")
    return stream.getvalue()


def test_a_member_without_a_name_is_refused_with_a_sentence() -> None:
    """What Python 3.11 ends with an IndexError is a name that cannot be a file."""
    (feedback,) = examine("g.zip", listed([""])).feedback
    assert "the name '' would lead outside" in feedback


@pytest.mark.parametrize("folders", [True, False])
def test_a_long_list_of_files_is_not_even_read(folders: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty thousand entries, folders too, are counted before the list is read."""
    data = listed([str(n) for n in range(20_000)], folders=folders)
    monkeypatch.setattr(zipfile, "ZipFile", None)
    with pytest.raises(BundleError, match="it lists 20000 files"):
        read_bundle(data)


def test_a_few_folders_are_no_files() -> None:
    """Folders that another packing program lists are passed over."""
    assert read_bundle(listed(["a", "a/b"], folders=True)) == {}


DOTTED = ".".join("a" * 49_000) + " = 1"
DEEP = "a = " + "[\n" * 20_000


@pytest.mark.parametrize(("text", "said"), [(DOTTED, "in one line"), (DEEP, "not readable as TOML")])
def test_a_card_that_grows_in_reading_is_refused_before_it_does(text: str, said: str) -> None:
    """One line of 49 000 dotted keys would take 9 GB, lists in lists the whole stack."""
    with pytest.raises(CardError, match=said):
        parse_card(text)


def dotted(files: Files) -> None:
    """The record with such a card."""
    record = files[RECORD].decode().split("\n")
    (place,) = (n for n, line in enumerate(record) if '"event":"meter"' in line)
    meter = json.loads(record[place])
    assert isinstance(meter["card"], str)
    record[place] = json.dumps(meter | {"card": DOTTED})
    files[RECORD] = "\n".join(record).encode()


def test_a_bundle_with_such_a_card_is_opened(sound: bytes, tmp_path: Path) -> None:
    """The record's other lines are looked at; the sentence names the card, and nothing takes long."""

    (tmp_path / "g.zip").write_bytes(changed(sound, dotted))
    found = check(tmp_path / "g.zip")
    assert found.outcome("opens") == "yes"
    assert "in one line" in " ".join(found.feedback)


def test_a_long_manifest_is_not_parsed(sound: bytes) -> None:
    """More than a few megabytes are refused by their size, without a look at what they hold."""
    found = examine("g", changed(sound, lambda f: f.update({MANIFEST: b"[" * (MOST_MANIFEST + 1)})))
    assert "larger than 4 MB" in found.feedback[0]


def test_a_manifest_that_cannot_be_taken_is_read_once(sound: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    """Three columns ask for it, and each gets the sentence."""
    read: list[bytes] = []

    def note(files: Files) -> None:
        read.append(files[MANIFEST])
        raise BundleError("no manifest")

    monkeypatch.setattr("labkit.handin.submission.read_manifest", note)
    submission = Submission(sound)
    for _ in range(3):
        with pytest.raises(BundleError, match="no manifest"):
            _ = submission.manifest
    assert len(read) == 1


def archive_of(file: Path, bundles: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> Path:
    """An archive of bundles."""
    file.write_bytes(zipped(bundles, method))
    return file


@pytest.mark.parametrize("method", [zipfile.ZIP_DEFLATED, zipfile.ZIP_LZMA, zipfile.ZIP_BZIP2])
def test_a_damaged_inner_bundle_stops_no_other(sound: bytes, tmp_path: Path, method: int) -> None:
    """A byte flipped in one inner bundle, as a broken download does, and any packing of the archive."""
    file = archive_of(tmp_path / "all.zip", {"a.zip": b"x" * 50_000 + sound, "b.zip": sound}, method)
    data = bytearray(file.read_bytes())
    data[40:60] = bytes(20)
    file.write_bytes(data)
    one, two = review(file, tmp_path / "out", jobs=1, progress=False).rows
    assert one.outcome("opens") == "no"
    assert not one.unforeseen, one.feedback
    expected = "yes" if method == zipfile.ZIP_DEFLATED else "no"
    assert two.outcome("opens") == expected
    assert expected == "yes" or "compressed in a way that is not taken" in two.feedback[0]


def test_the_list_of_an_archive_is_read_once(tmp_path: Path) -> None:
    """Three thousand inner bundles: a list read anew for each takes the square of their number."""
    file = archive_of(tmp_path / "all.zip", {f"{n}.zip": b"" for n in range(3000)}, zipfile.ZIP_STORED)
    opened = 0
    before = zipfile.ZipFile.__init__

    def count(self: zipfile.ZipFile, *args: object, **more: object) -> None:
        nonlocal opened
        opened += 1
        before(self, *args, **more)  # type: ignore[arg-type]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(zipfile.ZipFile, "__init__", count)
        assert {place.read() for place in reviewing.find(file)[0]} == {b""}
    assert opened == 1


def test_an_archive_is_listed_in_the_guarded_process(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A list may be made to fill the memory or to take long; such an archive is looked at as a bundle."""
    file = archive_of(tmp_path / "all.zip", {"2.zip": b"", "10.zip": b"", "notes.txt": b""})
    monkeypatch.setattr(zipfile, "ZipFile", None)
    assert [place.inside for place in reviewing.find(file)[0]] == ["2.zip", "10.zip"]
    monkeypatch.setattr(Examiner, "_asked", lambda *_: None)  # it ended
    assert reviewing.find(file)[0] == [Place(file)]


IN_LITTLE_MEMORY = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (2 * 1024**3,) * 2)
import labkit
found = labkit.class_results(sys.argv[1])
print(len(found.groups), found.unread, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
"""


def test_a_class_is_read_beside_a_bundle_that_grows(sound: bytes, tmp_path: Path) -> None:
    """Class results have no process of their own: what is refused before it is parsed takes no memory."""
    (tmp_path / "good.zip").write_bytes(sound)
    (tmp_path / "dotted.zip").write_bytes(changed(sound, dotted))
    (tmp_path / "listed.zip").write_bytes(listed([str(n) for n in range(20_000)]))
    (tmp_path / "long.zip").write_bytes(changed(sound, lambda f: f.update({RECORD: b"[" * 10_000_000})))
    command = [sys.executable, "-P", "-c", IN_LITTLE_MEMORY, str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    groups, unread, megabytes = map(int, done.stdout.split())
    assert (groups, unread) == (1, 3)
    assert megabytes < 1000


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"jobs": 0}, "0 is no number of bundles"),
        ({"jobs": -2}, "-2 is no number of bundles"),
        ({"timeout": float("nan")}, "nan is no time"),
        ({"timeout": float("inf")}, "inf is no time"),
        ({"timeout": 0.0}, "0.0 is no time"),
        ({"cluster": "nonsense"}, "No cluster with a worker answers at 'nonsense'"),
        ({"cluster": "http://[::1"}, "No cluster with a worker answers at"),
        ({"cluster": "tcp://127.0.0.1:1"}, "No cluster with a worker answers at"),
    ],
)
def test_a_wrong_option_is_one_sentence(
    sound: bytes, tmp_path: Path, options: dict[str, float], said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was given, what is accepted, and nothing is written."""
    monkeypatch.setattr(reviewing, "CLUSTER_S", 1.0)
    (tmp_path / "g.zip").write_bytes(sound)
    with pytest.raises(EntryError, match=said.replace("[", r"\[")):
        review(tmp_path, tmp_path / "out", progress=False, **options)  # type: ignore[arg-type]
    assert not (tmp_path / "out").exists()


def test_a_cluster_without_its_package_is_one_sentence(
    sound: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The package is no dependency of labkit."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    (tmp_path / "g.zip").write_bytes(sound)
    with pytest.raises(EntryError, match="needs the package distributed"):
        review(tmp_path, tmp_path / "out", cluster="tcp://127.0.0.1:1", progress=False)


def test_a_process_without_its_review_ends(sound: bytes, tmp_path: Path) -> None:
    """Killed so that it can end nothing itself, a review leaves no process that goes on for long."""
    for number in range(4):
        (tmp_path / f"{number}.zip").write_bytes(sound)
    running = subprocess.Popen(
        [sys.executable, "-m", "labkit.cli", "review", str(tmp_path), "--jobs", "1"], stderr=subprocess.PIPE
    )
    assert running.stderr is not None
    said = b""
    while b" 1/4" not in said:
        more = running.stderr.read1()  # type: ignore[attr-defined]
        assert more, said
        said += more
    children = psutil.Process(running.pid).children(recursive=True)
    assert children
    running.kill()
    running.communicate()
    _, alive = psutil.wait_procs(children, timeout=30)
    assert not alive


def test_an_examiner_that_was_stopped_starts_nothing(sound: bytes, tmp_path: Path) -> None:
    """A thread that still asks one gets a sentence."""
    (tmp_path / "g.zip").write_bytes(sound)
    examiner = Examiner()
    examiner.stop()
    assert examiner.look(Place(tmp_path / "g.zip")).outcome("opens") == "no"
