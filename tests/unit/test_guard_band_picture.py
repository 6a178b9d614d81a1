"""The picture of discrepancies inside their limits: places, words, and what lies beyond. All is invented."""

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from labkit.analysis.meter_check import checks
from labkit.errors import EntryError
from labkit.faces.uncertainty_charts import REACH, UNIT, guard_band
from labkit.record.bench import Bench
from labkit.record.demo import demo_bench
from labkit.resources import shipped
from labkit.show import Picture
from tests.benches import empty_bench

SVG = "{http://www.w3.org/2000/svg}"


def rows(picture: Picture) -> list[ElementTree.Element]:
    """The groups of the rows."""
    root = ElementTree.fromstring(picture.svg)
    return [group for group in root.iter(f"{SVG}g") if group.get("data-check") is not None]


def grounds(row: ElementTree.Element) -> list[tuple[float, float]]:
    """Left and right end of every ground, in limits."""
    found = [
        (float(r.get("x", "")), float(r.get("x", "")) + float(r.get("width", "")))
        for r in row.iter(f"{SVG}rect")
    ]
    return [(left / UNIT, right / UNIT) for left, right in found]


def one(folder: Path, shown: str, **stated: object) -> Bench:
    """A bench with one reading of one reference."""
    bench = empty_bench(folder, "references", family="separate", dots=None)
    bench.meter("meter-a", shipped("data", "cards", "bench-fine.toml"))
    bench.reference(1, "10.000 mH", **stated)
    bench.read("1a 1b", shown, "r", frequency="10 kHz", meter="meter-a", leads="zeroed", mode="series")
    return bench


def test_grounds_and_mark_stand_where_the_numbers_are() -> None:
    """Edges at 1 − w and 1 + w limits, the dot at E in limits, for each row of the demo."""
    bench = demo_bench("know_your_meter")
    for row, check in zip(rows(guard_band(bench)), checks(bench), strict=True):
        judged = check.judged
        assert judged is not None
        w, place = judged.guard_band / check.limit, judged.value / check.limit
        edges = sorted({round(edge, 3) for ends in grounds(row) for edge in ends})
        assert edges == pytest.approx([-REACH, -1 - w, -1 + w, 1 - w, 1 + w, REACH], abs=2e-3)
        (dot,) = row.iter(f"{SVG}circle")
        assert float(dot.get("cx", "")) / UNIT == pytest.approx(place, abs=2e-3)


def test_words_say_what_is_drawn() -> None:
    """Alternative and drawing hold stated value, discrepancy, limit and verdict of each row."""
    picture = guard_band(demo_bench("know_your_meter"))
    drawn = " ".join(re.findall(r">([^<]+)<", picture.svg))
    for text in (
        "10.000 mH (U = 0.008 mH, k = 2)",
        "16.0 ± 8.1 µH",
        "35 µH",
        "within its card",
        "cannot tell",
    ):
        assert text in picture.alt
        assert text in drawn


def test_a_discrepancy_beyond_the_axis_points_there(tmp_path: Path) -> None:
    """An arrow at the edge instead of a dot, and the number in words."""
    picture = guard_band(one(tmp_path, "9.800 mH", uncertainty="0.008 mH", coverage_factor=2))
    (row,) = rows(picture)
    assert list(row.iter(f"{SVG}circle")) == []
    (arrow,) = row.iter(f"{SVG}polygon")
    assert float(arrow.get("points", "").split(",")[0]) == pytest.approx(-(REACH + 0.03) * UNIT, abs=0.1)
    assert "outside its card" in picture.alt


def test_a_wide_guard_band_leaves_no_ground_to_pass(tmp_path: Path) -> None:
    """With U above the limit nothing is drawn as within."""
    (row,) = rows(guard_band(one(tmp_path, "10.012 mH", tolerance="1 %")))
    assert all(not (left < 0 < right) or right - left > 2 for left, right in grounds(row))
    assert "within" not in [text.text for text in row.iter(f"{SVG}text")]


def test_without_a_verdict_the_reason_stands_in_the_row(tmp_path: Path) -> None:
    """No grounds, no dot, but the reason."""
    picture = guard_band(one(tmp_path, "10.012 mH"))
    (row,) = rows(picture)
    assert grounds(row) == []
    assert "neither uncertainty nor tolerance" in picture.alt


def test_an_empty_bench_says_what_to_do(tmp_path: Path) -> None:
    """One sentence, drawn and spoken."""
    picture = guard_band(empty_bench(tmp_path))
    assert rows(picture) == []
    assert "No reference part has been read yet" in picture.alt


def test_what_people_typed_is_escaped(tmp_path: Path) -> None:
    """A meter's name cannot become markup."""
    bench = one(tmp_path, "10.012 mH")
    bench.meter("<b>&", None)
    bench.read("1a 1b", "10.013 mH", "s", frequency="10 kHz", meter="<b>&")
    assert "<b>" not in guard_band(bench).svg
    assert len(rows(guard_band(bench))) == 2


def test_an_unknown_size_is_refused() -> None:
    """The sentence names the sizes."""
    with pytest.raises(EntryError, match="page or projector"):
        guard_band(demo_bench("know_your_meter"), "wall")
