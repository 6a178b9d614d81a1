"""The fault hunt and the box without dots, played in a real browser as a class would."""

import re
import shutil
from pathlib import Path

import pytest

from labkit.resources import shipped
from tests.browser.labs import SIZES, Lab

SLIPPED = 3
"""Seed of a practice bench whose series-opposing reading has its prefix off."""


@pytest.fixture
def hunt(lab: Lab, folder: Path) -> Lab:
    """The fault hunt, opened and not run yet."""
    shutil.copy(shipped("notebooks", "fault_hunt.ipynb"), folder)
    lab.open_notebook(folder, "fault_hunt.ipynb")
    return lab


def text_of(lab: Lab, part: str, source: str | None = None) -> str:
    """Run the cell that holds a text, with another source if wanted, and read its output as one line."""
    number = lab.number(part)
    if source:
        lab.write_cell(number, source)
    return " ".join(lab.run_cell(number).inner_text().split())


def seen(lab: Lab, part: str, name: str) -> None:
    """Bring a cell to the screen and keep it at laptop and projector size."""
    for size in SIZES:
        lab.size(size)
        lab.cell_output(lab.number(part)).evaluate("(e) => e.scrollIntoView({ block: 'center' })")
        lab.screenshot(f"fault-hunt-{name}")
    lab.size("laptop")


def test_a_planted_slip_is_hunted_down(hunt: Lab) -> None:
    """Another seed, a further reading, the explanation names the slip; the solution waits for a guess."""
    text_of(hunt, "import labkit")
    bench = text_of(
        hunt, "labkit.practice_bench", f"practice = labkit.practice_bench(seed={SLIPPED})\npractice"
    )
    typed = re.search(r"line-reversed\s+1a 2a \| 1b=2b\s+([\d.]+ mH)", bench)
    assert typed, bench
    display = typed[1].replace("mH", "µH")
    assert "line-reversed" in text_of(hunt, "labkit.next_reading")  # it is doubted, and to be settled
    text_of(hunt, "practice.read")
    explained = text_of(hunt, "labkit.explain")
    assert (
        f"line-reversed has its prefix off by a factor of 1 000 (the display showed {display})" in explained
    )
    seen(hunt, "labkit.explain", "explained")
    assert "Commit a guess first" in text_of(hunt, "practice.solution")
    stored = text_of(hunt, "practice.guess", 'practice.guess("mH was written down for µH")')
    assert "Your guess is stored" in stored
    solution = text_of(hunt, "practice.solution")
    assert "written down with the prefix three places too large" in solution
    assert "mH was written down for µH" in solution
    assert hunt.complaints == []
    seen(hunt, "practice.solution", "solution")


def test_shipped_hunt_runs_from_top_to_bottom(hunt: Lab) -> None:
    """Run All Cells: no error, and the open clamp is named."""
    hunt.run_all()
    assert hunt.failures() == []
    explained = " ".join(hunt.cell_output(hunt.number("labkit.explain")).inner_text().split())
    assert "one clamp was open there" in explained
    assert len(hunt.screenshots("fault-hunt")) > 3


def test_box_without_dots_finds_them(lab: Lab, folder: Path) -> None:
    """Run All Cells of the unmarked box: no error, and the dots are told."""
    shutil.copy(shipped("notebooks", "finding_the_dots.ipynb"), folder)
    lab.open_notebook(folder, "finding_the_dots.ipynb")
    lab.run_all()
    assert lab.failures() == []
    explained = " ".join(lab.cell_output(lab.number("labkit.explain")).inner_text().split())
    assert "The dots were not marked; the readings put them at 1a 2b" in explained
    assert len(lab.screenshots("finding-the-dots")) > 3
