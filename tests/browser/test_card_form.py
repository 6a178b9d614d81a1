"""From the accuracy page to a stored card in a real browser, by keyboard. The meter is invented."""

import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Locator

from labkit.record.bench import open_bench
from labkit.record.card import read_card
from labkit.resources import shipped
from tests.browser.forms import OPEN, begun, write_notebook
from tests.browser.labs import Lab

SHOW = "labkit.card_form(bench)"
METER = ("bench-meter-3", "Bench LCR meter 3 (invented)", "manual of an invented meter, page 12")
FIRST = "200 µH  199.99 µH  0.3 %  5 digits  1 kHz, 10 kHz"
LIMITS = "±(0.3 % of 10.00 mH + 5 × 0.001 mH) = ±0.035 mH"


class Writing:
    """The one card form on a page, as a person sees it."""

    def __init__(self, lab: Lab) -> None:
        self.lab, self.page, self.keys = lab, lab.page, lab.page.keyboard
        self.form = self.page.locator(".lk-card")
        self.form.wait_for()

    def field(self, label: str) -> Locator:
        """The field with this label."""
        return self.form.get_by_label(label, exact=True)

    def enter(self, *texts: str) -> None:
        """Type each text as fast as the keyboard takes it, with Enter after each."""
        for text in texts:
            self.keys.type(text)
            self.keys.press("Enter")

    def tab(self, times: int = 1) -> None:
        """Press Tab."""
        for _ in range(times):
            self.keys.press("Tab")

    def store(self) -> Locator:
        """The key that confirms and stores."""
        return self.form.get_by_role("button", name="Yes, the manual allows the same")

    def said(self, text: str) -> Locator:
        """A text in the form."""
        return self.form.get_by_text(text).first


@pytest.fixture
def writing(lab: Lab, folder: Path) -> Writing:
    """The form of a bench just begun."""
    begun(folder)
    lab.open_notebook(folder, write_notebook(folder, OPEN, SHOW))
    lab.run_all()
    return Writing(lab)


def fill_in(form: Writing) -> None:
    """Everything up to the reading back, without a mouse."""
    form.field("Name of the card (its id)").focus()
    form.enter(*METER)
    form.keys.press("Space")
    form.tab()
    form.keys.type(FIRST)
    form.tab()
    for _ in range(3):
        form.keys.press("Enter")
        form.page.wait_for_timeout(100)
        form.said("understood").wait_for()
        form.tab()


def test_from_the_page_to_the_card_by_keyboard(writing: Writing, folder: Path) -> None:
    """Three fields, one line and three keys make the card; it is read back, confirmed, stored, entered."""
    form = writing
    form.lab.screenshot("card-1-empty")
    fill_in(form)
    form.said("4 understood").wait_for()
    form.lab.screenshot("card-2-table")
    form.field("Calibrated on").focus()
    form.enter("2031-01-15", "", "0.1", "60 nH", "40 nH")
    form.said("15 January 2031").wait_for()
    form.enter("10.00 mH", "1 kHz")
    form.said(LIMITS).wait_for()
    form.enter("meter-a")
    form.lab.screenshot("card-3-read-back")
    assert form.store().evaluate("(key) => key === document.activeElement")
    form.keys.press("Enter")
    form.said("Card stored in").wait_for()
    form.lab.screenshot("card-4-stored")
    card = read_card(folder / "bench-meter-3.toml")
    fine = read_card(shipped("data", "cards", "bench-fine.toml"))
    assert [(r.name, r.up_to, r.count) for r in card.ranges] == [
        (r.name, r.up_to, r.count) for r in fine.ranges
    ]
    assert card.lead_residual == fine.lead_residual
    assert open_bench(folder).cards == {"meter-a": card}
    assert form.lab.failures() == []


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_form_is_pictured_and_accessible(writing: Writing, theme: str) -> None:
    """Pictures at both sizes in both themes; axe-core finds nothing in the form, empty, refused or full."""
    form = writing
    form.lab.theme(theme)
    scans = [form.lab.axe(".lk-card")]
    fill_in(form)
    form.field("One range a line: range, largest display, percent, digits, test frequencies").focus()
    form.keys.press("Control+End")
    form.page.wait_for_timeout(100)  # JupyterLab keeps keys back for a moment after one with Control
    form.keys.press("Enter")
    form.keys.type("2 H  1.9999 H  5 digits  1 kHz")
    form.said("Line 5: no percentage").wait_for()
    scans.append(form.lab.axe(".lk-card"))
    for size in ("laptop", "projector"):
        form.lab.size(size)
        form.form.scroll_into_view_if_needed()
        form.lab.screenshot("card-refused")
    for _ in range(len("\n2 H  1.9999 H  5 digits  1 kHz")):
        form.keys.press("Backspace")
    form.field("What is allowed at …").focus()
    form.enter("10.00 mH", "1 kHz")
    form.said(LIMITS).wait_for()
    scans.append(form.lab.axe(".lk-card"))
    for size in ("laptop", "projector"):
        form.lab.size(size)
        form.said(LIMITS).scroll_into_view_if_needed()
        form.lab.screenshot("card-full")
    print(f"axe-core looked at {[scan.scanned for scan in scans]} elements")
    assert all(scan.scanned > 0 for scan in scans)
    assert [scan.violations for scan in scans] == [[], [], []]
    assert form.lab.failures() == []


def test_a_dead_kernel_is_told_and_the_draft_comes_back(writing: Writing, folder: Path) -> None:
    """Killed in the middle of a line: NOT SAVED, and the form shown again offers all that was typed."""
    form = writing
    fill_in(form)
    form.lab.kill_kernel()
    form.field("Meter").focus()
    form.keys.type(" no. 3")
    form.form.locator(".lk-banner strong").wait_for()
    assert "NOT SAVED" in form.form.locator(".lk-banner").inner_text()
    form.form.locator(".lk-banner").scroll_into_view_if_needed()
    form.lab.screenshot("card-5-not-saved")
    form.lab.accept()  # JupyterLab says that the kernel died
    for cell in (1, 2):
        form.lab.run_cell(cell)
    again = Writing(form.lab)
    again.said("4 understood").wait_for()
    assert again.field("Meter").input_value() == f"{METER[1]} no. 3"
    assert not again.form.locator(".lk-banner strong").is_visible()
    assert list(folder.glob("*.toml")) == []


def test_a_card_that_is_there_is_not_overwritten(writing: Writing, folder: Path) -> None:
    """Another file under the name stays as it is, and the form says so in the place of the confirmation."""
    (folder / "bench-meter-3.toml").write_text("mine", encoding="utf-8")
    form = writing
    fill_in(form)
    form.field("What is allowed at …").focus()
    form.enter("10.00 mH", "1 kHz")
    form.said(LIMITS).wait_for()
    form.store().click()
    form.said("NOT overwritten").wait_for()
    assert (folder / "bench-meter-3.toml").read_text("utf-8") == "mine"
    assert not open_bench(folder).cards


def test_nothing_is_stored_before_it_was_read_back(writing: Writing, folder: Path) -> None:
    """The key does nothing until limits stand on the screen, and again nothing once a line was changed."""
    form = writing
    fill_in(form)
    assert form.store().get_attribute("aria-disabled") == "true"
    form.store().press("Enter")
    form.field("What is allowed at …").focus()
    form.enter("10.00 mH", "1 kHz")
    form.said(LIMITS).wait_for()
    form.field("What is allowed at …").fill("500 mH")
    form.said("states no accuracy for 500 mH").wait_for()
    assert form.store().get_attribute("aria-disabled") == "true"
    form.store().press("Enter")
    form.page.wait_for_timeout(300)
    assert list(folder.glob("*.toml")) == []


def test_the_demo_can_be_tried_out_and_keeps_closed(lab: Lab, folder: Path) -> None:
    """On a record that is open read-only the card is read back, and the key stays shut with a sentence."""
    cells = ('import labkit\nbench = labkit.demo_bench("know_your_meter")', SHOW)
    lab.open_notebook(folder, write_notebook(folder, *cells))
    lab.run_all()
    form = Writing(lab)
    fill_in(form)
    form.field("What is allowed at …").focus()
    form.enter("10.00 mH", "1 kHz")
    form.said(LIMITS).wait_for()
    assert form.said("open read-only").is_visible()
    assert form.store().get_attribute("aria-disabled") == "true"


def test_the_notebook_of_the_meter_runs_from_top_to_bottom(lab: Lab, folder: Path) -> None:
    """Every cell runs without error or warning; form, drawings and the guard band show."""
    shutil.copy(shipped("notebooks", "know_your_meter.ipynb"), folder)
    lab.open_notebook(folder, "know_your_meter.ipynb")
    lab.run_all()
    assert lab.failures() == []
    assert lab.cell_output(lab.number("labkit.card_form")).locator(".lk-card").is_visible()
    assert "cannot tell" in lab.drawings(lab.number("labkit.guard_band"))
    assert "cannot tell" in lab.cell_output(lab.number("verdicts")).inner_text()
    assert len(lab.screenshots("meter-notebook")) > 5
