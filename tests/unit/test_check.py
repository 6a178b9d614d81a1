"""One bundle examined: what each column answers, and that nothing of a bundle is run."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from labkit.handin import claims as claiming
from labkit.handin.bundle import BundleError, read_bundle
from labkit.handin.check import COLUMNS, Examination, check, examine
from labkit.record.bench import open_bench
from labkit.record.virtual_bench import BuiltInstead, PrefixSlip
from labkit.words import handin as words
from tests.benches import WIRINGS
from tests.bundles import Files, bundle, changed, folder_of, group_bench, packed, with_manifest


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A bundle without fault."""
    return bundle(tmp_path_factory.mktemp("sound") / "b")


def outcomes(examination: Examination) -> dict[str, str]:
    """Every outcome that is not yes."""
    return {point.column: point.outcome for point in examination.points if point.outcome != "yes"}


def test_a_sound_bundle_is_all_yes(sound: bytes) -> None:
    """A bundle as packed has yes in every column, no feedback, and its key."""
    found = examine("g.zip", sound)
    assert [point.column for point in found.points] == list(COLUMNS)
    assert (outcomes(found), found.feedback) == ({}, ())
    assert found.mutual_inductance.endswith("mH")


def test_the_key_is_the_groups_own(tmp_path: Path) -> None:
    """M and k of the table are what the group's own bench gives, and differ between groups."""
    keys = []
    for seed in (1, 2):
        bench = group_bench(tmp_path / str(seed), seed)
        found = examine("g", packed(tmp_path / str(seed)))
        believed = claiming.Analysis(bench).believed
        assert believed is not None
        assert found.mutual_inductance == believed.text(believed.mutual_inductance)
        keys.append(found.coupling_coefficient)
    assert keys[0] != keys[1]


def _number(manifest: dict[str, Any], name: str, by: float) -> None:
    claim = manifest["claims"]["coupling"][name]
    claim["value"] += by * claim["standard_uncertainty"]


@pytest.mark.parametrize(("by", "agrees"), [(0.0005, True), (0.002, False), (-0.002, False)])
def test_a_claimed_number_is_held_to_its_tolerance(sound: bytes, by: float, agrees: bool) -> None:
    """M may differ by a thousandth of its standard uncertainty and no more; the difference is named."""
    found = examine("g", with_manifest(sound, lambda m: _number(m, "mutual_inductance", by)))
    assert outcomes(found) == ({} if agrees else {"recomputed": "no"})
    assert agrees or "mutual inductance, value: the bundle says" in found.feedback[0]


def test_a_claimed_verdict_is_held_to_the_readings(sound: bytes) -> None:
    """A verdict that the readings do not give is named with its reading and rule."""

    def turn(manifest: dict[str, Any]) -> None:
        manifest["claims"]["verdicts"]["line uncoupled"]["verdict"] = "consistent"

    found = examine("g", with_manifest(sound, turn))
    assert outcomes(found) == {"supported": "no"}
    assert (
        "line uncoupled, verdict: the bundle says 'consistent', the record gives 'incon" in found.feedback[0]
    )


@pytest.mark.parametrize("part", ["coupling", "predictions", "verdicts"])
def test_a_missing_or_added_claim_is_named(sound: bytes, part: str) -> None:
    """Claims left out, and claims that nothing supports, are differences too."""
    column = "supported" if part == "verdicts" else "recomputed"
    assert outcomes(examine("g", with_manifest(sound, lambda m: m["claims"].pop(part)))) == {column: "no"}
    added = with_manifest(sound, lambda m: m["claims"][part].update(more=1))
    assert outcomes(examine("g", added)) == {column: "no"}


def test_a_reading_edited_after_packing_is_seen(sound: bytes) -> None:
    """An edited line of the record shows in hashes, chain, outputs and numbers at once."""

    def edit(files: Files) -> None:
        lines = files["record.jsonl"].split(b"\n")
        place = next(n for n, line in enumerate(lines) if b'"id":"line-reversed"' in line)
        event = json.loads(lines[place])
        event["shown"] = "1" + event["shown"]
        lines[place] = json.dumps(event).encode()
        files["record.jsonl"] = b"\n".join(lines)

    found = outcomes(examine("g", changed(sound, edit)))
    assert {"as_packed", "complete", "recomputed", "outputs"} <= found.keys()
    assert set(found.values()) == {"no"}


def test_a_manifest_of_another_record_is_seen(sound: bytes) -> None:
    """The chain's last hash must be the one in the manifest, even where every file's hash is right."""
    found = examine("g", with_manifest(sound, lambda m: m.update(record_digest="0" * 64)))
    assert outcomes(found) == {"as_packed": "no"}
    assert words.OTHER_RECORD in found.feedback[0]


@pytest.mark.parametrize("id", ["line-reversed", "side-reversed", "line"])
def test_a_prefix_slip_is_asked_about(tmp_path: Path, id: str) -> None:
    """A thousandfold reading is named, with what the others say, and nobody is accused."""
    data = bundle(tmp_path / "b", faults=(PrefixSlip(WIRINGS[id], 3),))
    found = examine("g", data)
    assert outcomes(found)["units"] == "no"
    text = " ".join(found.feedback)
    assert f"{id} reads" in text
    assert "1000 times what" in text or "more than any pair" in text


def test_a_single_a_thousand_times_off_is_asked_about(tmp_path: Path) -> None:
    """A slip in a single reading shows against the other single."""
    data = bundle(tmp_path / "b", faults=(PrefixSlip("1a 1b", -3),))
    assert outcomes(examine("g", data))["units"] == "no"


def test_no_unit_is_asked_about_in_sound_work(tmp_path: Path) -> None:
    """A wrong wiring is no slip of the unit: the units stay sane and the misfit is put into words."""
    fault = BuiltInstead(WIRINGS["side"], "1a 1b | 2a=2b")
    found = examine("g", bundle(tmp_path / "b", faults=(fault,)))
    assert outcomes(found).get("units") in (None, "no")
    assert any("do not fit one pair" in text for text in found.feedback)


def test_readings_before_predictions_are_named(tmp_path: Path) -> None:
    """Readings of both windings without an earlier prediction are counted; singles need none."""
    found = examine("g", bundle(tmp_path / "b", own=False))
    assert outcomes(found) == {"predicted": "no"}
    assert found.feedback[0].startswith("4 of 4 readings")


def test_without_a_card_no_verdict_is_supported(tmp_path: Path) -> None:
    """A meter without a card leaves a gap in the record and no verdict, which is no judgement."""
    found = outcomes(examine("g", bundle(tmp_path / "b", card=None)))
    assert found == {"complete": "no", "supported": "cannot tell"}


def test_a_record_without_own_words_says_so(tmp_path: Path) -> None:
    """Own words are looked for and never judged."""
    from tests.benches import coupled_bench

    coupled_bench(tmp_path / "b")
    found = examine("g", packed(tmp_path / "b"))
    assert outcomes(found) == {"outputs": "cannot tell", "own_words": "no"}


def test_outputs_of_another_record_are_seen(tmp_path: Path) -> None:
    """A notebook whose stored findings are those of another record is named, with the first one lacking."""
    one, two = folder_of(tmp_path / "one", 1), folder_of(tmp_path / "two", 2)
    (one / "pair.ipynb").write_bytes((two / "pair.ipynb").read_bytes())
    found = examine("g", packed(one))
    assert outcomes(found) == {"outputs": "no"}
    assert "The first is: Series-aiding" in found.feedback[0]


def test_the_key_needs_no_notebook(tmp_path: Path) -> None:
    """A bundle without a notebook is recomputed all the same."""
    folder = folder_of(tmp_path / "b")
    (folder / "pair.ipynb").unlink()
    found = examine("g", packed(folder))
    assert outcomes(found) == {"outputs": "cannot tell"}
    assert found.mutual_inductance


UNREADABLE: dict[str, tuple[str, str, str]] = {
    "digits": ("line-reversed", "shown", "ten"),
    "unit": ("one", "shown", "3.2 kg"),
    "wiring": ("two", "wiring", "here and there"),
    "winding": ("two", "wiring", "7a 7b"),
    "predicted": ("own-line", "shown", "much"),
    "predicted wiring": ("own-line", "wiring", "1a"),
    "predicted winding": ("own-line", "wiring", "1a 9b"),
    "frequency": ("one", "frequency", "often"),
}


@pytest.mark.parametrize(("id", "field", "given"), UNREADABLE.values(), ids=UNREADABLE)
def test_a_line_edited_by_hand_becomes_a_sentence(sound: bytes, id: str, field: str, given: str) -> None:
    """What cannot be parsed in a line is named with its line; no column goes on with it."""

    def edit(files: Files) -> None:
        lines = files["record.jsonl"].split(b"\n")
        place = next(n for n, line in enumerate(lines) if f'"id":"{id}"'.encode() in line)
        lines[place] = json.dumps(json.loads(lines[place]) | {field: given}).encode()
        files["record.jsonl"] = b"\n".join(lines)

    found = examine("g", changed(sound, edit))
    assert not found.unforeseen
    assert found.outcome("units") == "no"
    assert "Line " in " ".join(found.feedback)


def test_the_answer_shows_itself(tmp_path: Path, sound: bytes) -> None:
    """`check` reads a file and shows a table of all questions with the key."""
    (tmp_path / "g.zip").write_bytes(sound)
    text = str(check(tmp_path / "g.zip"))
    assert all(words.COLUMN[column] in text for column in COLUMNS)
    assert "Recomputed from these readings: M = " in text
    assert text.endswith(words.NO_FEEDBACK)
    with pytest.raises(BundleError, match=r"nowhere\.zip cannot be read"):
        check(tmp_path / "nowhere.zip")


def test_claims_follow_the_record(tmp_path: Path) -> None:
    """The manifest holds M and k in SI units, every prediction by both rules, and every verdict."""
    bench = open_bench(folder_of(tmp_path / "b"))
    analysis = claiming.Analysis(bench)
    claimed = json.loads(read_bundle(packed(tmp_path / "b"))["manifest.json"])["claims"]
    assert analysis.believed is not None
    M = claimed["coupling"]["mutual_inductance"]
    assert (M["value"], M["unit"]) == (analysis.believed.mutual_inductance.value, "H")
    assert len(claimed["predictions"]) == 12
    assert len(claimed["verdicts"]) == len(analysis.comparisons)


def test_numbers_that_differ_are_told_to_the_digits_that_show_it(sound: bytes) -> None:
    """Eight digits where that tells the two apart, all of them where it does not."""
    coarse = examine("g", with_manifest(sound, lambda m: _number(m, "coupling_coefficient", 1e3))).feedback[0]
    assert re.search(r"says 1\.0\d{1,6}, the record gives 0\.\d{1,8}\. ", coarse)
    fine = claiming.differences({"verdicts": 1.0 + 1e-15}, {"verdicts": 1.0}, "verdicts")
    assert fine == ()
    fine = claiming.differences({"verdicts": {"value": 1.0 + 2e-9}}, {"verdicts": {"value": 1.0}}, "verdicts")
    assert fine == ("verdicts, value: the bundle says 1.000000002, the record gives 1.0.",)


def test_every_claim_counts(sound: bytes) -> None:
    """Whichever number of the claims is off by a part in a hundred, or its sign, is found."""
    manifest = json.loads(read_bundle(sound)["manifest.json"])["claims"]

    def numbers(node: Any, path: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
        if isinstance(node, dict):
            return [p for name, inner in node.items() for p in numbers(inner, (*path, name))]
        return [path] if isinstance(node, float) else []

    found = numbers(manifest)
    assert len(found) > 50
    for path in found:
        for off in (lambda x: x * 1.3 + 0.01, lambda _: None):
            assert claiming.differences(_off(manifest, path, off), manifest, path[0]), path


def _off(manifest: dict[str, Any], path: tuple[str, ...], off: Callable[[float], object]) -> dict[str, Any]:
    copy = json.loads(json.dumps(manifest))
    node = copy
    for name in path[:-1]:
        node = node[name]
    node[path[-1]] = off(node[path[-1]])
    return dict(copy)
