"""The demo records with sweeps: what the virtual bench writes, small, and true to the choke behind them."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from labkit.record.bench import Bench
from labkit.record.demo import demo_bench
from labkit.record.events import Sweep
from labkit.record.sweep_files import path_of
from labkit.resources import shipped
from tests.computed import differences, same
from tests.make_data.choke_demo import SESSIONS, Session, write_choke_demo


@pytest.fixture(params=SESSIONS)
def session(request: pytest.FixtureRequest) -> Session:
    """Each session."""
    return SESSIONS[request.param]


def files_of(bench: Bench) -> Iterator[Path]:
    """Every kept file in the order in which the record names it."""
    for event in bench.events:
        if isinstance(event, Sweep):
            yield from (
                path_of(kept, bench.record.folder) for kept in (event, event.open, event.short) if kept
            )


@pytest.mark.parametrize("name", SESSIONS)
def test_the_shipped_record_and_its_sweeps_are_what_the_virtual_bench_writes(
    name: str, tmp_path: Path
) -> None:
    """`write_choke_demo` gives the shipped record and its files but for last digits, and no other is there.

    A processor may turn the last of nine digits over, and with it the hash that a file is kept under; so the
    files are compared one by one, as the events name them.
    """
    made, there = write_choke_demo(tmp_path, name), demo_bench(name)
    assert made.record.problems == ()
    record = "record.jsonl"
    assert same((tmp_path / record).read_text("utf-8"), (there.record.folder / record).read_text("utf-8"))
    files, kept = (list(dict.fromkeys(files_of(bench))) for bench in (made, there))
    for computed, stored in zip(files, kept, strict=True):
        assert list(differences(computed.read_text("utf-8"), stored.read_text("utf-8"))) == []
    written = {path for path in there.record.folder.rglob("*") if path.is_file()}
    assert written == {*kept, there.record.folder / record, there.record.folder / "README.md"}


def test_the_demos_with_sweeps_are_small() -> None:
    """Together they take less than 300 kB."""
    folders = [shipped("data", session.folder) for session in SESSIONS.values()]
    assert sum(p.stat().st_size for f in folders for p in f.rglob("*") if p.is_file()) < 300_000


def test_every_demo_says_that_it_is_invented(session: Session) -> None:
    """In the record, in its README, and in the first line of every kept file."""
    there = shipped("data", session.folder)
    assert "**Invented.**" in (there / "README.md").read_text(encoding="utf-8")
    assert '"invented":true' in (there / "record.jsonl").read_text(encoding="utf-8")
    for file in (there / "sweeps").iterdir():
        assert "nvented" in file.read_text(encoding="utf-8").splitlines()[0]


def test_swept_values_are_within_their_stated_accuracy_of_the_truth(session: Session) -> None:
    """After the fixture is taken off all lie within, but for the two around a sharp resonance."""
    name = next(name for name, each in SESSIONS.items() if each is session)
    part = session.built()
    for stored in demo_bench(name).sweeps:
        if stored.wiring:
            found = stored.impedance()
            true = part.impedance(stored.wiring, found.frequency)
            off = np.abs(found.Z / true - 1)
            limit = stored.relative_accuracy or 0
            assert np.sum(off > limit) <= 2
            assert np.all(off < 2 * limit)


def test_an_x_capacitor_on_the_board_spoils_one_wiring_and_spares_another() -> None:
    """In line 1 µF makes the reading a quarter too large, then negative; side by side nothing happens."""
    read = {reading.id: reading.shown.value for reading in demo_bench("on_the_board").readings}
    alone = {reading.id: reading.shown.value for reading in demo_bench("choke_characterisation").readings}
    assert read["line-forward-1kHz"] == pytest.approx(1.23 * alone["line-forward"], rel=0.02)
    assert read["line-forward-10kHz"] < 0
    assert read["side-by-side-10kHz"] == pytest.approx(alone["side-by-side"], rel=0.003)
