"""The discreet question of the entry form: asked once other readings make a slip likely, and only then."""

from pathlib import Path

from labkit.record.bench import Bench, new_bench
from labkit.resources import shipped
from labkit.widgets.form import EntryForm


def bench(folder: Path, series: str) -> Bench:
    """An everyday choke on an invented coarse card; `series` is what was typed for series-opposing."""
    made = new_bench(folder, "sample-9", invented=True)
    made.accept_cautions(by="p1")
    made.describe(windings=2, family="same core", dots="1a 2a")
    made.meter("meter-a", shipped("data", "cards", "hand-held-coarse.toml"))
    made.use(meter="meter-a", frequency="10 kHz", mode="series")
    made.read("1a 1b", "6.83 mH", "winding-1")
    made.read("2a 2b", "6.81 mH", "winding-2")
    made.read("1a 1b | 1a=2a 1b=2b", "6.80 mH", "side-by-side")
    made.read("1a 2a | 1b=2b", series, "line-reversed")
    return made


def test_a_prefix_slip_is_asked_about_and_nothing_is_changed(tmp_path: Path) -> None:
    """31.2 typed in mH: the form asks whether it is µH, and the record keeps what was typed."""
    form = EntryForm(bench(tmp_path, "31.2 mH"))
    before = (tmp_path / "record.jsonl").read_bytes()
    asked = form.handle({"kind": "doubt", "id": "line-reversed"})["doubt"]
    assert "is it 31.2 µH?" in asked
    assert (tmp_path / "record.jsonl").read_bytes() == before


def test_a_sound_reading_is_not_asked_about(tmp_path: Path) -> None:
    """31.2 µH fits the other readings: no question, neither for it nor for any other reading."""
    form = EntryForm(bench(tmp_path, "31.2 µH"))
    for id in ("winding-1", "winding-2", "side-by-side", "line-reversed"):
        assert form.handle({"kind": "doubt", "id": id})["doubt"] == ""


def test_too_few_readings_raise_no_question(tmp_path: Path) -> None:
    """With two readings nothing can be said, so nothing is asked."""
    made = new_bench(tmp_path, "sample-9", invented=True)
    made.accept_cautions(by="p1")
    made.describe(windings=2, family="same core", dots="1a 2a")
    made.meter("meter-a", shipped("data", "cards", "hand-held-coarse.toml"))
    made.use(meter="meter-a", frequency="10 kHz")
    made.read("1a 1b", "6.83 mH", "winding-1")
    made.read("2a 2b", "6.81 H", "winding-2")
    assert EntryForm(made).handle({"kind": "doubt", "id": "winding-2"})["doubt"] == ""
