"""A bundle of a bench with sweeps: what they give is worked out anew and held against the claims."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from labkit.choke.characterisation import characterisation_of
from labkit.handin.bundle import read_bundle
from labkit.handin.check import examine
from labkit.handin.claims import TOLERANCE, differences
from labkit.handin.pack import collect, pack
from labkit.record.bench import open_bench
from labkit.resources import shipped
from labkit.words import handin as words
from tests.bundles import Files, bundle, changed, event_changed, swept_bundle, with_manifest

LEAKAGE = "leakage_differential_mode_1_2_from_series_opposing_low_frequency"


@pytest.fixture(scope="module")
def swept(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The bundle of the invented bench with sweeps."""
    return swept_bundle(tmp_path_factory.mktemp("swept") / "b")


def claimed(data: bytes) -> dict[str, Any]:
    """The claims about sweeps in a bundle."""
    return dict(json.loads(read_bundle(data)["manifest.json"])["claims"]["choke"])


def sentences(data: bytes, column: str) -> tuple[str, tuple[str, ...]]:
    """Outcome and feedback of one column."""
    point = next(p for p in examine("g", data).points if p.column == column)
    return point.outcome, point.sentences


def test_a_bench_with_sweeps_is_packed_whole(swept: bytes) -> None:
    """Every kept file of a sweep is in the bundle under its hash, byte for byte."""
    files = read_bundle(swept)
    kept = sorted(shipped("data", "choke_sweeps", "sweeps").iterdir())
    assert len(kept) == 9
    assert {f"sweeps/{path.name}": path.read_bytes() for path in kept}.items() <= files.items()


def test_what_sweeps_give_agrees_with_the_claims(swept: bytes) -> None:
    """As packed, recomputation agrees, the outputs are those of the record, and only real gaps are named."""
    found = examine("g", swept)
    for column in ("opens", "as_packed", "units", "recomputed", "outputs"):
        assert found.outcome(column) == "yes", found.feedback
    (gaps,) = (text for text in found.feedback if "Not noted" in text)
    assert gaps.startswith("Not noted for sweep.four-port: temperature.")


def test_claims_name_what_a_choke_is_quoted_with(swept: bytes) -> None:
    """Matrix, leakage by each route, self-resonance, model parameters, both modes at stated frequencies."""
    choke = claimed(swept)
    for start in (
        "self_inductance_1_from_readings", "mutual_inductance_1_2_from_readings", LEAKAGE,
        "self_resonance_sweep_winding_1", "self_capacitance_", "model_", "winding_resistance_corner_1_2",
        "common_mode_impedance_magnitude_next_to_150_kHz",
        "differential_mode_1_2_impedance_magnitude_next_to_150_kHz",
    ):  # fmt: skip
        assert any(name.startswith(start) for name in choke), start
    bench = open_bench(shipped("data", "choke_sweeps"))
    leakage = characterisation_of(bench).number(LEAKAGE)
    assert choke[LEAKAGE] == {
        "value": leakage.value, "unit": "H", "standard_uncertainty": leakage.u, "frequency_Hz": 1000.0
    }  # fmt: skip


@pytest.mark.parametrize(("by", "agrees"), [(0.5, True), (1.5, False), (-1.5, False)])
def test_a_number_from_a_sweep_is_held_to_its_tolerance(swept: bytes, by: float, agrees: bool) -> None:
    """B may differ by a thousandth of its standard uncertainty; beyond that it is named with both values."""

    def edit(manifest: dict[str, Any]) -> None:
        number = manifest["claims"]["choke"][LEAKAGE]
        number["value"] += by * (TOLERANCE * number["standard_uncertainty"] + 1e-6 * number["value"])

    outcome, said = sentences(with_manifest(swept, edit), "recomputed")
    assert outcome == ("yes" if agrees else "no")
    if not agrees:
        assert said[0].startswith(f"choke, {LEAKAGE.replace('_', ' ')}, value: the bundle says 2.38")
        assert "the record gives 2.3865328e-05" in said[0]
        assert len(said) == 2


def test_every_number_from_a_sweep_counts(swept: bytes) -> None:
    """Whichever value, uncertainty, unit or frequency is another, or is left out, is found, and just once."""
    ours = claimed(swept)
    assert len(ours) > 50
    for name, number in ours.items():
        for key, value in number.items():
            other = {name: number | {key: "kg" if key == "unit" else (value or 0.0) * 1.3 + 0.01}}
            found = differences({"choke": ours | other}, {"choke": ours}, "choke")
            assert len(found) == 1, (name, key)
        less = {key: value for key, value in ours.items() if key != name}
        (gone,) = differences({"choke": less}, {"choke": ours}, "choke")
        assert f"{name.replace('_', ' ')[:100]}" in gone
        assert "the bundle says nothing" in gone
        (more,) = differences({"choke": ours}, {"choke": less}, "choke")
        assert "the record gives nothing" in more


def test_a_bundle_that_claims_nothing_of_its_sweeps_is_read(swept: bytes) -> None:
    """A manifest as an earlier labkit wrote it: nothing to compare, the rest is recomputed all the same."""
    outcome, said = sentences(with_manifest(swept, lambda m: m["claims"].pop("choke")), "recomputed")
    assert (outcome, said[0]) == ("cannot tell", words.SWEEPS_UNCLAIMED)

    def both(manifest: dict[str, Any]) -> None:
        del manifest["claims"]["choke"]
        manifest["claims"]["coupling"]["mutual_inductance"]["value"] = 1.0

    outcome, said = sentences(with_manifest(swept, both), "recomputed")
    assert outcome == "no"
    assert "mutual inductance" in said[0]


def test_a_bundle_without_sweeps_claims_as_before(tmp_path: Path) -> None:
    """Where nothing was swept the claims have no place for it, and one that was added is named."""
    data = bundle(tmp_path / "b")
    assert "choke" not in json.loads(read_bundle(data)["manifest.json"])["claims"]
    assert sentences(data, "recomputed") == ("yes", ())
    added = {"resonance": {"value": 1.0}}
    outcome, said = sentences(with_manifest(data, lambda m: m["claims"].update(choke=added)), "recomputed")
    assert outcome == "no"
    assert said[0] == "choke, resonance, value: the bundle says 1, the record gives nothing."


def _files(files: Files) -> list[str]:
    return sorted(name for name in files if name.startswith("sweeps/"))


CHANGED: dict[str, tuple[Callable[[Files], object], str]] = {
    "edited": (
        lambda f: f.update({_files(f)[0]: f[_files(f)[0]] + b"\n"}),
        "was changed after it was stored",
    ),
    "gone": (lambda f: f.pop(_files(f)[0]), "is not in the bundle"),
}


@pytest.mark.parametrize(("change", "said"), CHANGED.values(), ids=CHANGED)
def test_a_file_that_is_not_the_events_gets_one_sentence(
    swept: bytes, change: Callable[[Files], object], said: str
) -> None:
    """It is named once, nothing is computed from it, and what is lacking then is named."""
    data = changed(swept, change)
    outcome, found = sentences(data, "complete")
    assert outcome == "no"
    assert [said in sentence for sentence in found].count(True) == 1
    assert found[1] == words.SWEEPS_ADVICE
    outcome, found = sentences(data, "recomputed")
    assert outcome == "no"
    assert "self inductance 2 low frequency, value" in found[0]
    assert "the record gives nothing" in found[0]


def test_files_outside_the_bundle_are_not_read(
    swept: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sweep's file that lies where the checking person stands is not taken for that of the bundle."""
    for folder in (tmp_path, tmp_path / "record.jsonl"):
        shutil.copytree(shipped("data", "choke_sweeps", "sweeps"), folder / "sweeps")
    monkeypatch.chdir(tmp_path)
    bare = changed(swept, lambda files: [files.pop(name) for name in _files(files)])
    outcome, found = sentences(bare, "complete")
    assert outcome == "no"
    assert "is not in the bundle" in found[0]


def test_outputs_of_another_record_are_seen(swept: bytes) -> None:
    """A notebook that shows the findings of all sweeps does not fit a record with one of them less."""
    data = changed(swept, lambda f: event_changed(f, "sweep.line-reversed", wiring="1a 1b"))
    outcome, _ = sentences(data, "outputs")
    assert outcome == "no"


def test_packing_tells_what_sweeps_lack(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Before handing in: unrecorded conditions and a damaged file are told in the words of the check."""
    monkeypatch.setattr("labkit.handin.pack.rebuild", lambda *_: "")
    swept_bundle(tmp_path / "b")
    remarks = pack(tmp_path / "b", run=False).remarks
    assert "Not noted for sweep.four-port: temperature." in remarks
    assert not any("does not show" in remark for remark in remarks)
    file = next((tmp_path / "b" / "sweeps").glob("*.s4p"))
    file.write_bytes(file.read_bytes() + b"\n")
    assert any("was changed after it was stored" in r for r in pack(tmp_path / "b", run=False).remarks)


def test_a_clean_process_gives_the_same_claims(tmp_path: Path) -> None:
    """What sweeps give is part of what is rebuilt from the record before handing in."""
    from labkit.faces.report import render
    from labkit.handin.pack import rebuild, rebuilt_otherwise

    swept_bundle(tmp_path / "b", notebook=False)
    bench = open_bench(tmp_path / "b")
    assert rebuilt_otherwise(rebuild(tmp_path / "b"), bench, render(bench).encode()) == ""
    assert any(name.startswith("sweeps/") for name in collect(tmp_path / "b")[0])
