"""What the entry form takes, asks about and refuses, in the browser. All values are invented."""

from pathlib import Path

from tests.browser.forms import described, shown_form, stored
from tests.browser.labs import Lab
from tests.records import lines

REFUSED = {
    "25.0": "no unit",
    "25.0 Ω": "not a unit of inductance",
    "1.2.3 mH": "more than one decimal mark",
    "abc": "no digits",
    "nan mH": "not a number",
    "inf": "over range",
    "1" * 50 + " mH": "longer than any display",
    "6.20 mh": "“6.20 mh” could mean mH or MH",
    "6.20 MH": "“6.20 MH” could mean mH or MH",
    "6.20 Mh": "“6.20 Mh” could mean mH or MH",
    "2,700 mH": "“2,700 mH” could mean 2.700 mH or 2700 mH",
}


def test_what_is_not_understood_is_not_stored(lab: Lab, folder: Path) -> None:
    """Each gets its sentence; Enter says NOT STORED and stays with it; what was meant the person decides."""
    described(folder)
    form = shown_form(lab, folder)
    before = len(lines(folder))
    form.row("winding-1").locator(".lk-head").click()
    field = form.field("The display shows")
    for text, said in REFUSED.items():
        field.fill("")
        form.keys.type(text)
        form.said(said).wait_for()
        assert (field.get_attribute("aria-invalid"), form.state("winding-1")) == ("true", "unsaved")
        form.keys.press("Enter")
        form.wait("winding-1", "refused")
        assert form.page.evaluate("document.activeElement.value") == text
    lab.screenshot("entry-asked")
    choices = form.row("winding-1").locator(".lk-choices button:visible")
    assert choices.all_inner_texts() == ["2.700 mH", "2700 mH"]
    choices.nth(1).press("Enter")
    form.said("2700 mH, last digit 1 mH").wait_for()
    assert len(lines(folder)) == before
    form.keys.press("Enter")
    form.wait("winding-1", "stored")
    assert stored(folder) == {"winding-1": "2700 mH"}


def test_slips_are_called_back_and_corrected_in_view(lab: Lab, folder: Path) -> None:
    """A burst leaves its bad entry as NOT STORED; a correction and a withdrawal ask for a reason and stay."""
    described(folder)
    form = shown_form(lab, folder)
    form.row("winding-1").locator(".lk-head").click()
    form.enter("100.0", "9.96 mH")  # faster than the kernel can look
    form.wait("winding-1", "refused")
    form.wait("winding-2", "stored")
    assert stored(folder) == {"winding-2": "9.96 mH"}
    assert "NOT STORED" in form.row("winding-1").inner_text()
    form.row("winding-1").locator(".lk-head").click()
    form.keys.press("End")
    form.enter(" mH")
    form.wait("winding-1", "stored")

    form.row("winding-1").locator(".lk-head").click()
    form.key("Correct: 100.0 mH").click()
    form.field("the display shows").fill("10.00 mH")
    form.keys.press("Enter")
    form.said("give the reason in a few words").wait_for()
    form.field("reason").fill("point misplaced")
    form.keys.press("Enter")
    form.key("Correct: 10.00 mH").wait_for()
    assert form.said("point misplaced").is_visible()
    assert form.row("winding-1").locator("s").inner_text() == "100.0 mH"
    lab.screenshot("entry-corrected")
    form.key("Withdraw: 10.00 mH").click()
    form.field("reason").fill("clamp slipped")
    form.keys.press("Enter")
    form.said("withdrawn: clamp slipped").wait_for()
    form.field("The display shows").fill("-10.01 mH")
    form.said("The display shows a negative inductance").wait_for()
    form.keys.press("Enter")
    form.wait("winding-1", "stored")
    assert stored(folder) == {"winding-2": "9.96 mH", "winding-1.2": "−10.01 mH"}


def test_a_likely_slip_is_asked_about_after_it_is_stored(lab: Lab, folder: Path) -> None:
    """Once the person rests: 31.2 in mH after three readings that want µH; a correction ends the question."""
    bench = described(folder)
    for id, wiring, shown in (
        ("winding-1", "1a 1b", "6.83 mH"),
        ("winding-2", "2a 2b", "6.81 mH"),
        ("side-by-side", "1a 1b | 1a=2a 1b=2b", "6.80 mH"),
    ):
        bench.read(wiring, shown, id, frequency="10 kHz", meter="meter-a")
    bench.commit("1a 2a | 1b=2b", "9 mH", "own-line-reversed")
    form = shown_form(lab, folder)
    form.row("line-reversed").locator(".lk-head").click()
    form.enter("31.2 mH")
    form.wait("line-reversed", "stored")
    form.said("is it 31.2 µH?").wait_for()
    lab.screenshot("entry-doubted")
    assert stored(folder)["line-reversed"] == "31.2 mH"
    form.row("line-reversed").locator(".lk-head").click()
    form.key("Correct: 31.2 mH").click()
    form.field("the display shows").fill("31.2 µH")
    form.field("reason").fill("wrong prefix")
    form.keys.press("Enter")
    form.form.locator(".lk-doubt").wait_for(state="hidden")
