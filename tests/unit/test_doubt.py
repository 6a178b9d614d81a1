"""What is said with less confidence once something in the record does not fit."""

from pathlib import Path

from labkit.analysis.analysis import analyse
from labkit.analysis.findings import find
from tests.benches import typed_bench
from tests.unit.test_entry_doubt import bench


def test_coupling_from_a_doubtful_reading_asks_to_settle_that_first(tmp_path: Path) -> None:
    """With the series-opposing value typed in mH, k is stated with the doubt; with µH without it."""
    for typed, doubtful in (("31.2 mH", True), ("31.2 µH", False)):
        made = bench(tmp_path / typed, typed)
        (coupling,) = [f for f in find(analyse(made)) if f.kind == "coupling"]
        assert ("settle that first" in coupling.sentence) is doubtful
        assert coupling.tone == ("caution" if doubtful else "strong")


def test_repeats_that_no_meter_explains_are_remarked() -> None:
    """Two repeats a factor apart are averaged with a remark; two a digit apart without one."""
    for second, remarked in (("7.000 mH", True), ("6.839 mH", False)):
        made = typed_bench({"one": "6.838 mH"})
        made.read("1a 1b", second, "again", repeat=2)
        (seen,) = analyse(made).shared.observations
        assert any("apart, more than the meter's limits" in remark for remark in seen.remarks) is remarked
