"""The shipped notebook in a real browser, without a network."""

from pathlib import Path

from labkit import open_bench
from tests.browser.labs import Lab

STILL = 25  # readings, 200 ms apart, that must say the same: the form looks at the record every four seconds


def outputs(lab: Lab) -> list[str]:
    """Text of every output in the notebook once it changes no more, prompts left out."""
    seen: list[list[str]] = []
    while len(seen) < STILL or any(text != seen[-1] for text in seen[-STILL:]):
        if len(seen) == 1000:
            raise TimeoutError("the outputs never come to rest")
        lab.page.wait_for_timeout(200)
        seen.append(lab.page.locator(".jp-Notebook .jp-OutputArea-output").all_text_contents())
    return seen[-1]


def test_shipped_notebook_runs_and_comes_back(lab: Lab, demo_folder: Path) -> None:
    """Every cell runs without error or warning, drawings and formulas show, the report is written; after a
    restart of the kernel every output says the same as before. Pictures of the whole notebook are kept.
    """
    lab.open_notebook(demo_folder)
    lab.run_all()
    before = outputs(lab)
    assert len(before) > 20
    lab.restart_and_run_all()
    assert lab.failures() == []
    assert outputs(lab) == before
    assert "data-tie" in lab.drawings(lab.number("labkit.draw"))
    assert lab.cell_output(lab.number("labkit.derive")).locator("mjx-math").first.is_visible()
    assert (demo_folder / "coupled_pair_report.html").stat().st_size > 10_000
    assert len(lab.screenshots("notebook")) > 5
    lab.theme("dark")
    lab.size("projector")
    assert len(lab.screenshots("notebook")) > 5


def test_a_killed_kernel_costs_no_entry(lab: Lab, student_folder: Path) -> None:
    """What was entered before the kernel died is in the record, and a new kernel shows it."""
    lab.open_notebook(student_folder)
    lab.run_cell(lab.number("import labkit"))
    lab.run_cell(lab.number("labkit.open_bench"))
    for call, source in (
        ("bench.accept_cautions", 'bench.accept_cautions(by="p1")'),
        ("bench.describe", 'bench.describe(windings=2, family="same core", dots=None)'),
        ("bench.read", 'bench.read("1a 1b", "10.00 mH", id="winding-1")'),
    ):
        lab.write_cell(lab.number(call), source)
        lab.run_cell(lab.number(call))
    assert lab.failures() == []
    lab.kill_kernel()
    lab.accept()  # the page says that the kernel died
    lab.wait_ready()
    lab.run_cell(lab.number("import labkit"))
    shown = lab.run_cell(lab.number("labkit.open_bench"))
    assert "10.00 mH" in shown.inner_text()
    assert [reading.id for reading in open_bench(student_folder).readings] == ["winding-1"]
