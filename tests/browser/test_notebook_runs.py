"""The shipped notebook in a real browser, without a network."""

from pathlib import Path

import pytest

from tests.browser.labs import Lab


def test_shipped_notebook_runs_from_top_to_bottom(lab: Lab, demo_folder: Path) -> None:
    """Every cell runs without error or warning, drawings and formulas show, the report is written."""
    lab.open_notebook(demo_folder)
    lab.run_all()
    assert lab.failures() == []
    assert lab.cell_output(lab.number("labkit.draw")).locator("svg[role=img]").is_visible()
    assert lab.cell_output(lab.number("labkit.derive")).locator("math").first.is_visible()
    assert (demo_folder / "coupled_pair_report.html").stat().st_size > 10_000


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_notebook_is_pictured(lab: Lab, demo_folder: Path, theme: str) -> None:
    """Pictures of the whole notebook are stored, at laptop and projector size, for people to look at."""
    lab.open_notebook(demo_folder)
    lab.theme(theme)
    lab.run_all()
    for size in ("laptop", "projector"):
        lab.size(size)
        assert len(lab.screenshots("notebook")) > 5
