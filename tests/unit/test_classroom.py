"""A class side by side: what is scored, what a slip does, and that nobody is named."""

import shutil
from pathlib import Path

import pytest

import labkit
from labkit.analysis.classroom import LEAST, ClassResults, group_of
from labkit.errors import EntryError
from labkit.record.bench import open_bench
from labkit.record.virtual_bench import PrefixSlip
from labkit.resources import shipped
from labkit.uncertainty.decisions import algorithm_a
from labkit.words import classroom as words
from tests.benches import WIRINGS, coupled_bench, typed_bench
from tests.bundles import bundle, collected, folder_of, packed
from tests.computed import same
from tests.make_data import class_demo

CLASS = shipped("data", "class")
OWN_PARTS, ROUND_ROBIN = CLASS / "own_parts", CLASS / "round_robin"


@pytest.fixture(scope="module")
def own_parts() -> ClassResults:
    """The shipped class in which each group had a part of its own."""
    return labkit.class_results(OWN_PARTS, own="group-07")


@pytest.fixture(scope="module")
def round_robin() -> ClassResults:
    """The shipped class in which one part went round."""
    return labkit.class_results(ROUND_ROBIN, own="group-07", reference=CLASS / "reference.jsonl")


def test_the_shipped_class_is_what_the_virtual_bench_gives(tmp_path: Path) -> None:
    """`tests.make_data.class_demo` writes the shipped records again, last digits apart, all invented."""
    class_demo.write_all(tmp_path)
    written = {path.relative_to(tmp_path): path.read_text("utf-8") for path in tmp_path.rglob("*.jsonl")}
    kept = {path.relative_to(CLASS): path.read_text("utf-8") for path in CLASS.rglob("*.jsonl")}
    assert len(written) == 2 * class_demo.GROUPS + 1
    assert written.keys() == kept.keys()
    assert all(same(written[path], kept[path]) for path in kept)
    assert all('"invented":true' in text for text in kept.values())


def test_own_parts_have_no_common_value(own_parts: ClassResults) -> None:
    """Where each group had its own part no value is scored, and every closure residual is."""
    assert not own_parts.shared
    scored = {row.name for row in own_parts.rows if row.scored}
    assert scored == {"coupled_parallel", "series_sum", "quarter_law"}
    row = own_parts["self_inductance_1"]
    assert row.own is not None
    assert (row.z(row.own), row.E_n(row.own)) == (None, None)
    assert len(row.values) == 20


def test_one_part_that_went_round_is_scored_itself(round_robin: ClassResults) -> None:
    """Values are scored; E_n is against the certificate if there is one, else the reference's reading."""
    assert round_robin.shared
    row = round_robin["self_inductance_1"]
    assert row.held_against is not None
    assert (row.held_against.value, row.held_against.standard_uncertainty) == (5.311e-3, 2e-6)
    reading = round_robin["series_opposing"].held_against
    assert reading is not None
    assert reading.value == open_reference().readings[3].shown.value
    assert row.own is not None
    assert row.own.U is not None
    assert row.E_n(row.own) == pytest.approx((row.own.value - 5.311e-3) / (row.own.U**2 + 4e-6**2) ** 0.5)


def open_reference() -> labkit.record.bench.Bench:  # type: ignore[name-defined]
    """The reference's bench."""
    from labkit.handin.bundle import Place
    from labkit.handin.class_results import Entrant

    return Entrant(Place(CLASS / "reference.jsonl")).bench()


def test_without_a_reference_the_class_is_its_own() -> None:
    """E_n is then against x* with u = 1.25 s*/sqrt(p)."""
    row = labkit.class_results(ROUND_ROBIN, shared=True)["parallel_aiding"]
    robust = algorithm_a([each.value for each in row.values])
    assert row.held_against is not None
    assert row.held_against.value == robust.location
    assert row.held_against.standard_uncertainty == pytest.approx(1.25 * robust.scale / 20**0.5)


def test_residuals_are_what_the_readings_say() -> None:
    """The residuals of typed readings, by hand: relative, and zero for a pair that fits."""
    shown = {"one": "4.000 mH", "two": "4.000 mH", "line": "15.980 mH", "line-reversed": "100.0 µH"}
    shown |= {"side": "3.950 mH", "side-reversed": "25.00 µH"}
    group = group_of("g", typed_bench(shown, card=None))
    assert group.residuals["series_sum"].value == pytest.approx((15.98 + 0.1) / 16 - 1)
    assert group.residuals["quarter_law"].value == pytest.approx(3.950 * 0.1 / 15.98 / 0.025 - 1)
    assert group.residuals["coupled_parallel"].value == pytest.approx(3.950 / (4 - 0.1 / 4) - 1)
    assert group.residuals["series_sum"].standard_uncertainty is None


def test_a_thousandfold_slip_cannot_hide(own_parts: ClassResults, round_robin: ClassResults) -> None:
    """It is said with its value, it counts, and x* stays with the others; an ordinary mean would not."""
    said = [sentence for sentence in own_parts.findings if "about 1000 times" in sentence]
    assert len(said) == 1
    assert "6.387 H" in said[0]
    assert "ordinary mean would be 326.7 mH" in said[0]
    row = round_robin["series_opposing"]
    assert row.robust is not None
    assert row.values[-1].value == pytest.approx(42.42e-3)
    assert row.robust.count == 20
    assert row.robust.location == pytest.approx(42.4e-6, rel=5e-3)


def test_a_negative_reading_counts(tmp_path: Path) -> None:
    """A reading below zero, with which nothing can be worked out, is still one of the class's values."""
    bench = typed_bench({"one": "4.000 mH", "two": "4.000 mH", "line-reversed": "-3.0 µH"})
    assert group_of("g", bench).values["series_opposing"].value == -3.0e-6


def test_nobody_is_named(own_parts: ClassResults, round_robin: ClassResults) -> None:
    """No file, part or person of a group stands in what is shown, in no face of it."""
    for results in (own_parts, round_robin):
        pictures = [labkit.class_scores(results), *(labkit.class_dots(results, r.name) for r in results.rows)]
        shown = [str(results), results._repr_html_(), str(results.expected)]
        shown += [part for picture in pictures for part in (picture.svg, picture.alt)]
        for text in shown:
            assert "group-" not in text
            assert "choke-" not in text
            assert "p1" not in text


def test_no_sentence_blames() -> None:
    """No sentence calls a person or a value bad, wrong, false or a failure."""
    everything = " ".join(str(value) for name, value in vars(words).items() if name.isupper()).lower()
    for word in ("bad", "wrong", "fail", "fault", "worst", "poor", "mistake", "outlier", "error", "cheat"):
        assert word not in everything, word


def test_bundles_records_and_folders_make_a_class(tmp_path: Path) -> None:
    """Bundles and bench folders are read alike, a record that lies there twice counts once."""
    folder = folder_of(tmp_path / "benches" / "mine", 1)
    (folder / "mine.bundle.zip").write_bytes(packed(folder))
    for seed in (2, 3):
        (tmp_path / f"group-{seed}.zip").write_bytes(bundle(tmp_path / "b", seed))
    (tmp_path / "torn.zip").write_bytes(b"PK")
    (tmp_path / "notes.jsonl").write_text("{}", encoding="utf-8")
    results = labkit.class_results(tmp_path, own="mine")
    assert len(results.groups) == 4  # the notes are a record that says nothing
    assert results.unread == 1
    assert results.own is not None
    reading = open_bench(folder).readings[0].shown.value
    assert results.own.values["self_inductance_1"].value == reading
    assert "1 could not be read" in results.summary
    assert "1 without a reading" in results.summary


def test_a_login_or_path_names_ones_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In collected homes all benches are called alike; path or login tell them apart."""
    homes = collected(tmp_path, monkeypatch)
    for own in ("anna", "anna/my-choke", "anna/my-choke/my-choke"):
        results = labkit.class_results(homes, own=own)
        assert results.own is not None
        assert results.own.digest == results.groups[0].digest
    assert [group.name for group in results.groups] == ["anna/my-choke", "boris/my-choke"]
    assert "Folders that could not be read: 1." in results.summary
    with pytest.raises(EntryError, match="More than one record is called 'my-choke'; give its path"):
        labkit.class_results(homes, own="my-choke")


def test_a_class_begins_with_five(tmp_path: Path) -> None:
    """Below that no robust figure is given, the values are still there, and the pictures say so."""
    for group in range(1, LEAST + 1):
        shutil.copy(ROUND_ROBIN / f"group-{group:02}.jsonl", tmp_path)
        results = labkit.class_results(tmp_path, shared=True)
        row = results["self_inductance_1"]
        assert len(row.values) == group
        assert (row.robust is None) == (group < LEAST)
        assert (words.TOO_FEW.format(least=LEAST) in results.summary) == (group < LEAST)
        assert labkit.class_dots(results, "self_inductance_1").svg
        assert (words.NOTHING_SCORED in labkit.class_scores(results).alt) == (group < LEAST)


def test_nothing_there_yet(tmp_path: Path) -> None:
    """An empty folder is a class of none, and every face says so."""
    results = labkit.class_results(tmp_path)
    assert results.summary.startswith("0 records")
    for shown in (str(results), str(results.expected), labkit.class_scores(results).alt):
        assert shown
    assert results.summary in labkit.class_dots(results, "parallel_aiding").alt
    assert " ".join(str(results.overview).split()) == results.summary


def test_what_is_not_there_is_refused(tmp_path: Path) -> None:
    """Folder, own record, reference, quantity: one sentence each, and no other group's name in it."""
    with pytest.raises(EntryError, match="There is no folder or archive"):
        labkit.class_results(tmp_path / "nowhere")
    with pytest.raises(EntryError, match="no record called 'group-99'") as refused:
        labkit.class_results(OWN_PARTS, own="group-99")
    assert "group-01" not in str(refused.value)
    with pytest.raises(EntryError, match=r"The reference .* cannot be taken"):
        labkit.class_results(ROUND_ROBIN, reference=tmp_path / "none.jsonl")
    with pytest.raises(EntryError, match="shared=True"):
        labkit.class_results(OWN_PARTS, reference=CLASS / "reference.jsonl")
    with pytest.raises(EntryError, match="No record gives 'height'"):
        labkit.class_dots(labkit.class_results(OWN_PARTS), "height")
    (tmp_path / "torn.zip").write_bytes(b"PK")
    with pytest.raises(EntryError, match="Your own record 'torn' cannot be read"):
        labkit.class_results(tmp_path, own="torn")
    for folder in ("a", "b"):
        coupled_bench(tmp_path / folder / "mine", seed=ord(folder))
    with pytest.raises(EntryError, match="More than one record is called 'mine'"):
        labkit.class_results(tmp_path, own="mine")


def test_other_frequencies_are_said(tmp_path: Path) -> None:
    """Groups that read at another frequency are counted in a sentence."""
    from labkit.analysis.classroom import Group, Value

    groups = [
        Group(str(n), "p", "1 kHz" if n < 2 else "10 kHz", {"self_inductance_1": Value(1.0 + n)}, {})
        for n in range(6)
    ]
    said = " ".join(ClassResults(groups, shared=True).findings)
    assert "10 kHz (4), 1 kHz (2)" in said


def test_own_slip_is_told_to_its_own_group(tmp_path: Path) -> None:
    """One's own value far off is said with what to look at, and marked at the margin of the picture."""
    for seed in range(1, 9):
        faults = (PrefixSlip(WIRINGS["line-reversed"], 3),) if seed == 4 else ()
        coupled_bench(tmp_path / f"g{seed}", seed=seed, faults=faults)
    results = labkit.class_results(tmp_path, own="g4")
    assert "Own group, 2 s* or more from x*: series-opposing" in " ".join(results.findings)
    assert "> 1000" in str(results)
    for picture in (labkit.class_dots(results, "series_opposing"), labkit.class_scores(results)):
        assert picture.svg.count('data-mark="own beyond"') >= 1
    assert 'data-mark="own"' not in labkit.class_dots(results, "series_opposing").svg
