"""The entry form while the kernel dies, is busy, or the page is reloaded. All values are invented."""

import re
from pathlib import Path

from tests.browser.forms import Filling, described, shown_form, stored
from tests.browser.labs import Lab

LONG = """
import time
from pathlib import Path
while not Path("enough").exists():
    time.sleep(0.1)
"""


def test_a_dead_kernel_is_told_and_nothing_is_lost(lab: Lab, folder: Path) -> None:
    """Killed in the middle of an entry: NOT SAVED, the text stays, is offered again, and Enter stores it."""
    described(folder)
    form = shown_form(lab, folder)
    form.row("winding-1").locator(".lk-head").click()
    form.enter("10.00 mH")
    form.wait("winding-1", "stored")
    form.keys.type("9.96")
    lab.kill_kernel()
    form.enter(" mH")
    form.wait("winding-2", "lost")
    banner = form.form.locator(".lk-banner")
    assert "NOT SAVED" in banner.inner_text()
    assert "NOT SAVED" in form.row("winding-2").inner_text()
    assert float(banner.locator("strong").evaluate("(e) => parseFloat(getComputedStyle(e).fontSize)")) >= 24
    assert stored(folder) == {"winding-1": "10.00 mH"}
    lab.accept()  # JupyterLab says that the kernel died
    lab.screenshot("entry-not-saved")
    lab.wait_ready()
    assert "Run > Run All Cells" in banner.inner_text()
    lab.run_all()
    lab.cell(3)
    again = Filling(lab)
    assert again.said("Typed before and not in the record").is_visible()
    assert stored(folder) == {"winding-1": "10.00 mH"}
    assert again.field("The display shows").input_value() == "9.96 mH"
    assert again.state("winding-2") == "unsaved"
    lab.screenshot("entry-offered-again")
    again.field("The display shows").focus()
    again.keys.press("Enter")
    again.wait("winding-2", "stored")
    assert again.said("Entries are saved again").is_visible()
    assert stored(folder) == {"winding-1": "10.00 mH", "winding-2": "9.96 mH"}


def test_a_busy_kernel_is_told_until_it_answers(lab: Lab, folder: Path) -> None:
    """While a long cell runs the entry is NOT SAVED; later it is stored, and that is said."""
    described(folder)
    form = shown_form(lab, folder)
    lab.write_cell(1, LONG)
    form.page.keyboard.press("Control+Enter")
    form.row("winding-1").locator(".lk-head").click()
    form.enter("10.00 mH")
    form.wait("winding-1", "lost")
    assert stored(folder) == {}
    (folder / "enough").touch()
    form.wait("winding-1", "stored")
    form.said("Entries are saved again").wait_for()
    assert not form.form.locator(".lk-banner").is_visible()
    assert stored(folder) == {"winding-1": "10.00 mH"}


def test_a_reload_keeps_what_was_stored_and_what_was_not(lab: Lab, folder: Path) -> None:
    """Stored readings come from the record; a text without Enter stands in its field again, not stored.

    Before that the cell is run again, which leaves one form: one Enter stores one line.
    """
    described(folder)
    shown_form(lab, folder)
    lab.run_cell(3)
    assert lab.page.locator(".lk-entry").count() == 1
    form = Filling(lab)
    form.row("winding-1").locator(".lk-head").click()
    form.enter("10.00 mH")
    form.wait("winding-1", "stored")
    assert len(re.findall('"event":"reading"', (folder / "record.jsonl").read_text(encoding="utf-8"))) == 1
    form.keys.type("9.96 mH")
    lab.save()
    lab.reload()
    lab.cell(3)
    again = Filling(lab)
    again.wait("winding-2", "unsaved")
    assert again.state("winding-1") == "stored"
    assert again.field("The display shows").input_value() == "9.96 mH"
    assert stored(folder) == {"winding-1": "10.00 mH"}
    again.field("The display shows").focus()
    again.keys.press("Enter")
    again.wait("winding-2", "stored")
    assert stored(folder) == {"winding-1": "10.00 mH", "winding-2": "9.96 mH"}
