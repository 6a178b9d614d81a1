"""Two forms on one record never disagree. All values are invented."""

from pathlib import Path

from tests.browser.forms import OPEN, SHOW, USE, Filling, described, shown_form, stored, write_notebook
from tests.browser.labs import Lab

HIDE = "Object.defineProperty(document, 'hidden', { value: true, configurable: true })"
CALL = 'bench.read("1a 1b | 1a=2a 1b=2b", "9.958 mH", id="side-by-side")'


def test_two_notebooks_on_one_record_agree(lab: Lab, folder: Path) -> None:
    """What one kernel stores the other form shows; a late entry under the same id is refused and kept."""
    described(folder)
    first = shown_form(lab, folder)
    other = lab.tab()
    other.open_notebook(folder, write_notebook(folder, OPEN, USE, SHOW, name="other.ipynb"))
    other.run_all()
    second = Filling(other)
    second.page.evaluate(HIDE)  # a page that is not looked at does not look at the record either
    first.page.bring_to_front()
    first.row("winding-1").locator(".lk-head").click()
    first.enter("10.00 mH")
    first.wait("winding-1", "stored")

    second.page.bring_to_front()
    second.row("winding-1").locator(".lk-head").click()
    second.enter("11.00 mH")
    second.wait("winding-1", "refused")
    assert "10.00 mH" in second.row("winding-1").inner_text()
    second.row("winding-1").locator(".lk-head").click()
    assert second.field("The display shows, repeat 2").input_value() == "11.00 mH"
    assert second.said("is in the record already with other content").is_visible()
    assert stored(folder) == {"winding-1": "10.00 mH"}

    second.page.evaluate("delete document.hidden")
    second.row("winding-2").locator(".lk-head").click()
    second.enter("9.96 mH")
    second.wait("winding-2", "stored")
    first.page.bring_to_front()
    first.wait("winding-2", "stored")  # by the look that the form takes every few seconds
    assert "9.96 mH" in first.row("winding-2").inner_text()


def test_two_tabs_on_one_kernel_agree(lab: Lab, folder: Path) -> None:
    """An entry in one tab, or by a plain call, shows in both, and each tab hears its own answers."""
    described(folder)
    first = shown_form(lab, folder)
    lab.save()
    other = lab.tab()
    other.open_notebook(folder, "entry.ipynb")
    other.cell(3)
    second = Filling(other)
    second.row("winding-1").locator(".lk-head").click()
    second.enter("10.00 mH")
    second.wait("winding-1", "stored")
    first.page.bring_to_front()
    first.wait("winding-1", "stored")
    first.row("winding-2").locator(".lk-head").click()
    first.enter("9.96 mH")
    second.wait("winding-2", "stored")
    lab.write_cell(2, CALL)
    lab.page.keyboard.press("Control+Enter")
    lab.cell(3)
    for form in (first, second):
        form.wait("side-by-side", "stored")
    expected = {"winding-1": "10.00 mH", "winding-2": "9.96 mH", "side-by-side": "9.958 mH"}
    assert stored(folder) == expected
