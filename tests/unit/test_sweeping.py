"""Sweeps on a bench: what is stored, kept, asked and refused. Chokes and sweeps are invented."""

import hashlib
import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from filelock import FileLock
from hypothesis import given
from hypothesis import strategies as st

from labkit.errors import EntryError, LabkitError, RecordConflict, RecordError, SweepError, WiringError
from labkit.handin.bundle import read_bundle
from labkit.handin.pack import pack
from labkit.record import sweep_files as sweeping
from labkit.record.bench import Bench, open_bench
from labkit.record.sweep_files import path_of
from labkit.record.virtual_bench import Fixture, VirtualSweep
from labkit.theory.choke import Choke
from tests.benches import empty_bench

CHOKE = Choke(
    R=(0.1, 0.12), leakage=(12e-6, 13e-6), core=10e-3, relaxation=1e6, C=(20e-12, 22e-12), between=(30e-12,)
)
F = np.geomspace(1e3, 1e7, 21)
IDEAL = VirtualSweep(CHOKE, F, seed=3)
CLAMPED = VirtualSweep(CHOKE, F, seed=3, fixture=Fixture(R=0.05, L=50e-9, G=10e-9, C=2e-12))
ALL = {"test_level": "0.5 V", "bias": "none", "temperature": "23 °C", "fixture": "clamp", "instrument": "A"}
ONE = "1a 1b"


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """A bench with nothing swept yet."""
    return empty_bench(tmp_path / "bench")


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A table of winding 1 outside the bench's folder."""
    return written(tmp_path / "one.csv", IDEAL.table(ONE))


def written(path: Path, data: bytes) -> Path:
    """The path of a file with this content."""
    path.write_bytes(data)
    return path


def files(bench: Bench) -> dict[str, bytes]:
    """Everything in the bench's folder by name."""
    folder = bench.record.folder
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


# What is stored


def test_a_sweep_is_stored_and_read_back(bench: Bench, file: Path) -> None:
    """Id, wiring, file, hash, conditions, accuracy and line are those given, the impedance the file's."""
    answer = bench.sweep(ONE, file, "winding", accuracy="0.5 %", **ALL)
    (sweep,) = open_bench(bench.record.folder).sweeps
    assert (sweep.id, str(sweep.wiring and sweep.wiring.notation), sweep.setup) == (
        "winding",
        ONE,
        "impedance",
    )
    assert sweep.sha256 == hashlib.sha256(file.read_bytes()).hexdigest()
    assert (sweep.file, sweep.conditions, sweep.accuracy, sweep.line) == ("one.csv", ALL, "0.5 %", 4)
    assert sweep.relative_accuracy == pytest.approx(0.005)
    assert sweep.impedance().Z == pytest.approx(CHOKE.impedance(ONE, F), rel=1e-8)
    assert answer.sentences == (
        "winding: 21 points from 1 kHz to 10 MHz, clips on 1a and 1b, from one.csv. "
        f"Line 4 of the record, file {sweep.sha256[:12]}….",
    )


def test_the_file_is_kept_as_it_was(bench: Bench, file: Path) -> None:
    """The copy stands in `sweeps/` under its hash, byte for byte, and the original is not touched."""
    data = file.read_bytes()
    bench.sweep(ONE, file)
    assert files(bench)[f"sweeps/{hashlib.sha256(data).hexdigest()}.csv"] == data
    assert file.read_bytes() == data


def test_without_an_id_the_file_names_the_sweep(bench: Bench, file: Path) -> None:
    """The id is made from the file's name."""
    bench.sweep(ONE, file)
    assert bench.sweeps[0].id == "sweep.one"


def test_the_same_call_again_stores_nothing(bench: Bench, file: Path) -> None:
    """A notebook can be run again, also on a computer that has only the bench's folder."""
    first = bench.sweep(ONE, file, **ALL)
    before = files(bench)
    assert bench.sweep(ONE, file, **ALL).sentences == first.sentences
    file.unlink()
    assert bench.sweep(ONE, file, **ALL).sentences == first.sentences
    assert files(bench) == before


def test_other_content_under_the_same_id_is_refused(bench: Bench, file: Path) -> None:
    """A changed file or another wiring under the id of a sweep is refused, and nothing is stored of it."""
    bench.sweep(ONE, file)
    before = files(bench)
    with pytest.raises(RecordConflict, match=r"'sweep\.one' is in the record already"):
        bench.sweep("2a 2b", file)
    written(file, IDEAL.table("2a 2b"))
    with pytest.raises(RecordConflict, match="sha256"):
        bench.sweep(ONE, file)
    assert files(bench) == before


def test_gaps_are_told(bench: Bench, file: Path) -> None:
    """What nobody noted is named in the answer and in `gaps`; what is not known stays a gap."""
    answer = bench.sweep(ONE, file, test_level="0.5 V", bias=None)
    gaps = ("bias", "temperature", "fixture", "instrument")
    assert bench.sweeps[0].gaps == gaps
    assert answer.sentences[1].startswith(f"Not recorded: {', '.join(gaps)}, accuracy.")


def test_a_folder_of_the_bench_is_found(bench: Bench) -> None:
    """A relative name is looked for in the working folder, then in the bench's."""
    written(bench.record.folder / "raw.csv", IDEAL.table(ONE))
    bench.sweep(ONE, "raw.csv")
    assert bench.sweeps[0].file == "raw.csv"


def test_a_withdrawn_sweep_is_gone_and_its_file_stays(bench: Bench, file: Path) -> None:
    """A sweep can be withdrawn with a reason once; record and file stay as they were."""
    bench.sweep(ONE, file)
    kept = path_of(bench.sweeps[0].event, bench.record.folder)
    bench.withdraw("sweep.one", "clamp slipped")
    assert bench.sweeps == ()
    assert kept.exists()
    assert bench.withdraw("sweep.one", "clamp slipped").event
    assert open_bench(bench.record.folder).record.problems == ()
    with pytest.raises(EntryError, match="There is no reading"):
        bench.withdraw("sweep.two", "x")


def test_a_sweep_cannot_be_corrected(bench: Bench, file: Path) -> None:
    """Only readings have corrections; what is wrong about a sweep is entered anew."""
    bench.sweep(ONE, file)
    with pytest.raises(LabkitError, match="sweep"):
        bench.correct("sweep.one", "10 mH", "misread")


def test_every_line_says_the_newest_format(bench: Bench, file: Path) -> None:
    """A sweep's line, and those of all other events before and after it."""
    bench.sweep(ONE, file)
    bench.read(ONE, "10.00 mH", "single")
    assert [event.schema_version for event in bench.events] == [3] * 5
    assert bench.record.problems == ()


def test_a_bench_shows_its_sweeps(bench: Bench, file: Path) -> None:
    """The bench's own display has a table of sweeps once there is one."""
    assert "sweep.one" not in str(bench)
    bench.sweep(ONE, file)
    assert "sweep.one" in str(bench)


def test_windings_that_were_swept_stay(bench: Bench, file: Path) -> None:
    """The part cannot be described with fewer windings than a sweep has clamped."""
    bench.describe(windings=3, family="same core")
    bench.sweep("3a 3b", file)
    with pytest.raises(EntryError, match="wiring of winding 3"):
        bench.describe(windings=2, dots="1a 2a")


# Hook-ups and fixtures


@pytest.mark.parametrize(
    ("setup", "name", "data"),
    [
        ("reflection", "one.s1p", IDEAL.reflection("1a 1b | 2a=2b")),
        ("series-through", "one.s2p", IDEAL.series_through("1a 1b | 2a=2b")),
        ("shunt-through", "one.s2p", IDEAL.shunt_through("1a 1b | 2a=2b")),
    ],
)
def test_each_hook_up_gives_the_impedance(
    bench: Bench, tmp_path: Path, setup: Any, name: str, data: bytes
) -> None:
    """The impedance of the wiring comes back from every hook-up, and its scattering parameters as well."""
    wiring = "1a 1b | 2a=2b"
    bench.sweep(wiring, written(tmp_path / name, data), setup=setup)
    (sweep,) = bench.sweeps
    assert sweep.impedance().Z == pytest.approx(CHOKE.impedance(wiring, F), rel=1e-6)
    assert sweep.scattering().ports == int(name[-2])


def test_open_and_short_are_taken_off_by_the_named_model(bench: Bench, tmp_path: Path) -> None:
    """Three files are kept, and the model named decides what comes back."""
    raw = written(tmp_path / "raw.csv", CLAMPED.table(ONE))
    opened = written(tmp_path / "open.csv", CLAMPED.open_table("magnitude-phase"))
    shorted = written(tmp_path / "short.csv", CLAMPED.short_table("series"))
    bench.sweep(ONE, raw, "a", open=opened, short=shorted, correction="ladder")
    bench.sweep(ONE, raw, "b", open=opened, short=shorted, correction="symmetric")
    bench.sweep(ONE, raw, "c")
    ladder, symmetric, without = (sweep.impedance().Z for sweep in bench.sweeps)
    true = CHOKE.impedance(ONE, F)
    assert ladder == pytest.approx(true, rel=1e-6)
    assert 1e-6 < np.abs(symmetric / true - 1).max() < np.abs(without / true - 1).max()
    assert len([name for name in files(bench) if name.startswith("sweeps/")]) == 3
    for path in (raw, opened, shorted):
        path.unlink()
    assert bench.sweep(ONE, raw, "a", open=opened, short=shorted, correction="ladder").event


def test_a_correction_at_other_frequencies_is_refused(bench: Bench, tmp_path: Path, file: Path) -> None:
    """An open sweep at other frequencies is refused with the first that differs, and nothing is kept."""
    other = VirtualSweep(CHOKE, F * 1.5, seed=3, fixture=CLAMPED.fixture)
    opened = written(tmp_path / "open.csv", other.open_table())
    shorted = written(tmp_path / "short.csv", CLAMPED.short_table())
    before = files(bench)
    with pytest.raises(SweepError, match=r"open correction's point 1 is at 1\.5 kHz") as caught:
        bench.sweep(ONE, file, open=opened, short=shorted, correction="ladder")
    assert caught.value.frequency == 1e3
    assert files(bench) == before


def test_half_a_correction_is_refused(bench: Bench, file: Path) -> None:
    """Open, short and the name of the model belong together."""
    for given_ in ({"open": file}, {"open": file, "short": file}, {"correction": "ladder"}):
        with pytest.raises(EntryError, match="A correction needs all three"):
            bench.sweep(ONE, file, **given_)  # type: ignore[arg-type]
    with pytest.raises(RecordError, match="fixture_model was given as 'delta'"):
        bench.sweep(ONE, file, open=file, short=file, correction="delta")  # type: ignore[arg-type]


# Four ports


def test_a_four_port_is_stored_with_its_ports(bench: Bench, tmp_path: Path) -> None:
    """Ports stand for the wiring; the parameters are those of the file, and an impedance needs a wiring."""
    data = IDEAL.four_port(("1b", "2a", "1a", "2b"))
    bench.sweep(None, written(tmp_path / "c.s4p", data), setup="four-port", ports="1b 2a 1a 2b")
    (sweep,) = bench.sweeps
    assert (sweep.wiring, sweep.ports) == (None, ("1b", "2a", "1a", "2b"))
    assert sweep.scattering().S == pytest.approx(CHOKE.scattering(F, ("1b", "2a", "1a", "2b")), abs=1e-8)
    with pytest.raises(SweepError, match="whose impedance depends on a wiring"):
        sweep.impedance()


def test_a_wrong_order_of_ports_is_refused(bench: Bench, tmp_path: Path) -> None:
    """Ports that cannot be the ends of one winding are named, with the frequency that shows it."""
    file = written(tmp_path / "c.s4p", IDEAL.four_port())
    with pytest.raises(SweepError, match="ports 1 with 3 and 2 with 4 look like the ends") as caught:
        bench.sweep(None, file, setup="four-port", ports="1a 1b 2a 2b")
    assert caught.value.frequency == 1e3
    assert bench.sweeps == ()


def test_ports_against_the_dots_are_refused(tmp_path: Path) -> None:
    """With the ends of one winding exchanged the sweep contradicts the dots; without dots all is taken."""
    file = written(tmp_path / "c.s4p", IDEAL.four_port())
    for number, (dots, ports, fits) in enumerate(
        (
            ("1a 2a", "1a 2a 1b 2b", True),
            ("1b 2b", "1a 2a 1b 2b", True),
            ("1a 2b", "1a 2a 1b 2b", False),
            ("1a 2a", "1a 2b 1b 2a", False),
            ("1a 2b", "1a 2b 1b 2a", True),
            (None, "1a 2b 1b 2a", True),
        )
    ):
        bench = empty_bench(tmp_path / f"bench-{number}", dots=dots)
        if fits:
            bench.sweep(None, file, setup="four-port", ports=ports)
        else:
            with pytest.raises(SweepError, match="the mutual inductance would be negative at 1 kHz"):
                bench.sweep(None, file, setup="four-port", ports=ports)


@pytest.mark.parametrize(
    ("wiring", "more"),
    [(ONE, {"ports": "1a 2a 1b 2b"}), (None, {}), (ONE, {}), (None, {"ports": "1a 2a 1b"})],
)
def test_a_four_port_has_ports_and_no_wiring(bench: Bench, tmp_path: Path, wiring: Any, more: Any) -> None:
    """Each terminal is named once, and nothing else."""
    file = written(tmp_path / "c.s4p", IDEAL.four_port())
    with pytest.raises(EntryError):
        bench.sweep(wiring, file, setup="four-port", **more)
    assert bench.sweeps == ()


# What is refused


def test_a_setup_that_does_not_fit_the_file(bench: Bench, tmp_path: Path, file: Path) -> None:
    """Tables are impedances and Touchstone files are not; how it was hooked up is asked."""
    two = written(tmp_path / "one.s2p", IDEAL.series_through(ONE))
    for path, setup, sentence in (
        (file, "reflection", "holds impedances"),
        (two, "impedance", "say how the part was hooked up"),
        (two, "reflection", "has ports: 1, but the file has 2"),
        (two, "through", "'through' is not a setup"),
    ):
        with pytest.raises((EntryError, SweepError), match=sentence):
            bench.sweep(ONE, path, setup=setup)
    with pytest.raises(SweepError, match="has 2 ports, but a four-port has 4"):
        bench.sweep(None, two, setup="four-port", ports="1a 2a 1b 2b")
    assert bench.sweeps == ()


def test_what_cannot_be_passive_needs_a_reason(bench: Bench, tmp_path: Path) -> None:
    """A negative resistance is refused unless the accuracy covers it or a reason is given and stored."""
    file = written(tmp_path / "a.csv", "f/kHz;R/Ω;X/Ω\n1;1;100\n2;-0,4;100\n".encode())
    with pytest.raises(
        SweepError, match=r"the resistance is -0\.4 Ω at 2 kHz.*no accuracy is stated"
    ) as caught:
        bench.sweep(ONE, file)
    assert caught.value.frequency == 2e3
    with pytest.raises(SweepError, match=r"beyond the stated accuracy of 0\.3 %"):
        bench.sweep(ONE, file, accuracy="0.3 %")
    assert len(bench.sweep(ONE, file, "in", accuracy="0.5 %", **ALL).sentences) == 1
    answer = bench.sweep(ONE, file, "out", not_passive="open correction missing", **ALL)
    assert "it stays for this reason: open correction missing" in answer.sentences[1]
    assert [sweep.event.not_passive for sweep in bench.sweeps] == [None, "open correction missing"]


def test_how_far_a_four_port_is_beyond_passive_is_said(bench: Bench, tmp_path: Path) -> None:
    """The sentence gives the excess, as a value rounded to four digits would read 1, which is passive."""
    row = " ".join(f"{v:.5f} 0" for v in (1.00004 * np.eye(4)).ravel())
    file = written(tmp_path / "c.s4p", f"# kHz S RI R 50\n1 {row}\n".encode())
    with pytest.raises(SweepError, match=r"singular value of S exceeds 1 by 0\.000040 at 1 kHz"):
        bench.sweep(None, file, setup="four-port", ports="1a 2a 1b 2b")


def test_a_decimal_comma_is_answered_and_stored(bench: Bench, tmp_path: Path) -> None:
    """The answer to an open decimal mark is stored, so that the file is read the same way later."""
    file = written(tmp_path / "a.csv", "f/Hz;R/Ω;X/Ω\n100;1,000;2,000\n".encode())
    with pytest.raises(SweepError, match="may be the decimal mark"):
        bench.sweep(ONE, file)
    bench.sweep(ONE, file, decimal=",")
    assert open_bench(bench.record.folder).sweeps[0].impedance().Z.tolist() == [1 + 2j]


@pytest.mark.parametrize(
    ("more", "error"),
    [
        ({"humidity": "40 %"}, EntryError),
        ({"accuracy": "0.5"}, EntryError),
        ({"accuracy": "about 1 %"}, EntryError),
        ({"fixture": 3}, RecordError),
        ({"note": "a\x00b"}, RecordError),
        ({"by": "Anna"}, RecordError),
        ({"id": "a b"}, RecordError),
    ],
)
def test_fields_that_cannot_be_taken(
    bench: Bench, file: Path, more: dict[str, Any], error: type[Exception]
) -> None:
    """Whatever the record would refuse is refused before the file is kept."""
    before = files(bench)
    with pytest.raises(error):
        bench.sweep(ONE, file, **more)
    assert files(bench) == before


def test_a_wiring_of_another_part(bench: Bench, file: Path) -> None:
    """A winding that the part does not have is refused as for a reading."""
    with pytest.raises(WiringError, match="names winding 3"):
        bench.sweep("3a 3b", file)


def test_the_cautions_come_first(tmp_path: Path, file: Path) -> None:
    """As for a reading, cautions and the part come before a sweep."""
    bench = empty_bench(tmp_path / "b")
    fresh = type(bench)(type(bench.record).create(tmp_path / "new", "x"))
    with pytest.raises(EntryError, match="cautions have not been accepted"):
        fresh.sweep(ONE, file)


@pytest.mark.parametrize("name", ["gone.csv", ".", "a\x00b.csv"])
def test_a_file_that_cannot_be_read(bench: Bench, name: str) -> None:
    """A missing file, a folder and an impossible name are refused plainly."""
    with pytest.raises(SweepError, match="cannot be read") as caught:
        bench.sweep(ONE, name, "x")
    assert str(caught.value).isprintable()


def test_an_empty_name_waits(bench: Bench) -> None:
    """A cell that is not filled in yet stores nothing and says what is awaited, as for a reading."""
    before = files(bench)
    assert ONE in bench.sweep(ONE, " ").sentences[0]
    assert files(bench) == before


# Kept files


def test_an_edited_kept_file_is_told_and_not_used(bench: Bench, file: Path) -> None:
    """A change of a kept file shows at every reading, on the bench, and when it is entered again."""
    bench.sweep(ONE, file)
    (sweep,) = bench.sweeps
    kept = path_of(sweep.event, bench.record.folder)
    kept.write_bytes(kept.read_bytes() + b"1e9;1;1\n")
    for call in (sweep.impedance, sweep.measured, lambda: bench.sweep(ONE, file)):
        with pytest.raises(SweepError, match="was changed after it was stored, so it is not used"):
            call()
    assert len(bench.sweep_problems) == 1
    assert "was changed after it was stored" in str(bench)
    kept.unlink()
    assert "is not where it was kept" in bench.sweep_problems[0]
    bench.sweep(ONE, file)
    assert bench.sweep_problems == ()


def test_a_failure_to_keep_stores_no_event(bench: Bench, file: Path) -> None:
    """If the file cannot be kept there is no event that names it."""
    (bench.record.folder / "sweeps").write_text("in the way", encoding="utf-8")
    with pytest.raises(SweepError, match="could not be kept"):
        bench.sweep(ONE, file)
    assert len(bench.events) == 3


def test_a_death_between_file_and_event_does_no_harm(
    bench: Bench, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file that was kept without its event is no damage, and the same call again stores the sweep."""
    with monkeypatch.context() as patch:
        patch.setattr(type(bench.record), "append", interrupt)
        with pytest.raises(KeyboardInterrupt):
            bench.sweep(ONE, file)
    assert any(name.startswith("sweeps/") for name in files(bench))
    again = open_bench(bench.record.folder)
    assert (again.sweeps, again.record.problems) == ((), ())
    again.sweep(ONE, file)
    assert len(again.sweeps) == 1


def test_what_killed_programs_left_is_removed(bench: Bench, file: Path) -> None:
    """Unfinished copies go with the next file that is kept; files that we did not name so stay."""
    folder = bench.record.folder / "sweeps"
    folder.mkdir()
    for name in (f".{'a' * 64}.csv.4711.part", f".{'b' * 64}.s2p.part", ".notes.part", "mine.part"):
        (folder / name).write_bytes(b"frequency")
    bench.sweep(ONE, file)
    left = {path.name for path in folder.iterdir()}
    assert left == {".notes.part", "mine.part", path_of(bench.sweeps[0].event, Path()).name}


def test_a_stored_sweep_can_be_said_again_while_another_program_writes(bench: Bench, file: Path) -> None:
    """Nothing is to be written, so nobody waits for the lock."""
    first = bench.sweep(ONE, file)
    with FileLock(bench.record.folder / "record.lock"):
        assert bench.sweep(ONE, file).sentences == first.sentences


def test_the_disk_confirms_the_file_before_the_event(
    bench: Bench, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The kept file's bytes are confirmed when the event is handed to the record, not later."""
    confirmed: list[int] = []
    fsync, append = os.fsync, type(bench.record).append
    at_the_event: list[list[int]] = []

    def confirming(descriptor: int) -> None:
        confirmed.append(os.fstat(descriptor).st_size)
        fsync(descriptor)

    def appending(*args: Any, **fields: Any) -> Any:
        at_the_event.append(confirmed.copy())
        return append(*args, **fields)

    monkeypatch.setattr(os, "fsync", confirming)
    monkeypatch.setattr(type(bench.record), "append", appending)
    bench.sweep(ONE, file)
    assert at_the_event
    assert all(file.stat().st_size in sizes for sizes in at_the_event)


def interrupt(*_: object, **__: object) -> None:
    """What a person does at the wrong moment."""
    raise KeyboardInterrupt


def test_a_read_only_record_takes_nothing(bench: Bench, file: Path) -> None:
    """A sweep for a record that is open read-only is refused before its file is kept."""
    before = files(bench)
    closed = Bench(type(bench.record).open(bench.record.folder, read_only=True))
    with pytest.raises(RecordError, match="open read-only"):
        closed.sweep(ONE, file)
    assert files(bench) == before


def test_sweeps_go_into_the_bundle(bench: Bench, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A packed bench holds the kept file, its manifest says format 2, and an edited one is remarked."""
    monkeypatch.setattr("labkit.handin.pack.rebuild", lambda *_: "")  # a process of its own, tested there
    bench.sweep(ONE, file)
    kept = path_of(bench.sweeps[0].event, bench.record.folder)
    packed = pack(bench.record.folder, run=False)
    bundle = read_bundle(packed.file.read_bytes())
    assert bundle[f"sweeps/{kept.name}"] == file.read_bytes()
    assert b'"record_schema": 3' in bundle["manifest.json"]
    kept.write_bytes(b"other")
    assert any("was changed after it was stored" in r for r in pack(bench.record.folder, run=False).remarks)


# Many


def test_a_folder_is_stored_one_by_one(bench: Bench, tmp_path: Path) -> None:
    """Each file is stored with its wiring; one that is refused stops nothing and is named."""
    written(tmp_path / "a.csv", IDEAL.table(ONE))
    written(tmp_path / "b.csv", b"<html>")
    written(tmp_path / "c.csv", IDEAL.table("2a 2b"))
    wirings = {"a.csv": ONE, "b.csv": ONE, "c.csv": "2a 2b"}
    answer = bench.sweep_folder(tmp_path, wirings, progress=False, **ALL)
    assert answer.sentences[0] == "2 of 3 sweeps are in the record."
    assert answer.sentences[1].startswith("b.csv is a web page")
    assert [sweep.id for sweep in bench.sweeps] == ["sweep.a", "sweep.c"]


def test_stopping_loses_nothing(bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """After an interrupt what was stored stays, and the same call goes on from there."""
    wirings = dict.fromkeys(("a.csv", "b.csv", "c.csv"), ONE)
    for name in wirings:
        written(tmp_path / name, IDEAL.table(ONE))
    keep = sweeping.keep

    def interrupted(data: bytes, kept: Any, folder: Path) -> None:
        if kept.file == "b.csv":
            raise KeyboardInterrupt
        keep(data, kept, folder)

    with monkeypatch.context() as patch:
        patch.setattr(sweeping, "keep", interrupted)
        answer = bench.sweep_folder(tmp_path, wirings, progress=False)
    assert answer.sentences == (
        "1 of 3 sweeps are in the record.",
        "Stopped with 2 to go; nothing is lost, and the same call goes on from here.",
    )
    assert bench.sweep_folder(tmp_path, wirings, progress=False).sentences == (
        "3 of 3 sweeps are in the record.",
    )
    assert bench.record.problems == ()


@given(st.text(max_size=30))
def test_any_name_of_a_condition_or_setup_is_answered(name: str) -> None:
    """Whatever is given as a setup or condition ends in a sentence."""
    with pytest.raises(EntryError) as caught:
        sweeping._require_known(name or "x", {})
    assert "is not a setup" in str(caught.value)
    with pytest.raises(EntryError, match="is not a condition"):
        sweeping._require_known("impedance", {f"{name}?": None})
