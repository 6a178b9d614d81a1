"""A lesson at the entry form, by keyboard only, and all is back after a restart. All values are invented."""

from pathlib import Path

from tests.browser.forms import (
    IDS,
    OPEN,
    PREDICTED,
    READ,
    SHOW,
    Filling,
    begun,
    described,
    predicted,
    shown_form,
    stored,
    write_notebook,
)
from tests.browser.labs import Lab

VERDICT = "labkit.compare(bench)"
FOCUS = """() => {
  const here = document.activeElement;
  if (!here.closest(".lk-entry")) return null;
  const ringed = here.closest(".lk-pill") ?? here;
  const { outlineStyle, outlineWidth } = getComputedStyle(ringed);
  return [here.outerHTML.slice(0, 90), outlineStyle === "solid" && parseFloat(outlineWidth) >= 2];
}"""


def test_from_cautions_to_verdict_by_keyboard(lab: Lab, folder: Path) -> None:
    """From cautions to verdict without a mouse, typed in bursts: nothing is lost, and all comes back."""
    begun(folder)
    lab.open_notebook(folder, write_notebook(folder, OPEN, SHOW, VERDICT))
    lab.run_all()
    form = Filling(lab)
    lab.screenshot("entry-01-cautions")
    answer_small_forms(form)
    form.enter(*READ[:2])
    form.enter(*PREDICTED)
    lab.screenshot("entry-05-predicted")
    form.enter(*READ[2:])
    form.said("All planned readings are stored.").wait_for()
    lab.screenshot("entry-06-read")
    assert predicted(folder) == list(PREDICTED)
    assert stored(folder) == dict(zip(IDS, READ, strict=True))

    assert "inconsistent" in lab.run_cell(3).inner_text()
    lab.restart_and_run_all()
    assert lab.failures() == []
    again = Filling(lab)
    assert [again.state(id) for id in IDS] == ["stored"] * 6
    assert "39.90 mH" in again.row("line-forward").inner_text()
    lab.cell(2)
    assert again.said("Filled in as with the last reading").is_visible()
    lab.screenshot("entry-07-restarted")


def answer_small_forms(form: Filling) -> None:
    """The four small forms, with Tab, arrows, space and Enter, starting in the first field."""
    keys, lab = form.keys, form.lab
    form.field("your pseudonym").focus()
    form.enter("p1")
    form.field("windings").wait_for()
    lab.screenshot("entry-02-part")
    for step in ("Tab", "Space", "Tab"):
        keys.press(step)
    form.enter("1a 2a")
    form.field("name of the meter here").wait_for()
    keys.type("meter-a")
    for step in ("Tab", "ArrowRight"):  # past "no card"
        keys.press(step)
    lab.screenshot("entry-03-meter")
    keys.press("Enter")
    form.field("test frequency").wait_for()
    keys.type("10 kHz")
    for step in ("Tab", "Space") * 3:
        keys.press(step)
    lab.screenshot("entry-04-settings")
    keys.press("Enter")
    form.field("The display shows").wait_for()


def test_keys_lead_everywhere_and_focus_is_seen(lab: Lab, folder: Path) -> None:
    """Back, across, and by Tab through all; no key reaches the notebook, and every stop has its ring."""
    described(folder)
    form = shown_form(lab, folder)
    cells = lab.page.locator(".jp-Notebook .jp-Cell").count()
    form.field("The display shows").focus()
    opened = [focused_row(form)]
    for key in ("Enter", "Enter", "Enter", "Shift+Enter", "ArrowDown", "ArrowDown"):
        form.keys.press(key)
        opened.append(focused_row(form))
    one, two, line, back, side, _ = IDS
    assert opened == [one, two, line, back, line, back, side]
    for letter in ("a", "b", "d", "d", "x", "m"):  # in command mode these would add, delete and change cells
        form.keys.press(letter)
    form.keys.press("Shift+Enter")
    form.row(side).locator(".lk-head").focus()
    for letter in ("a", "d", "d", "x", "m"):
        form.keys.press(letter)
    assert lab.page.locator(".jp-Notebook .jp-Cell").count() == cells
    assert form.field("You expect").input_value() == ""
    assert form.state(side) == "unsaved"

    form.key("Change").focus()
    form.keys.press("Tab")
    form.keys.press("Shift+Tab")
    stops = []
    while len(stops) < 60 and (stop := form.page.evaluate(FOCUS)):
        stops.append(stop)
        form.keys.press("Tab")
    assert 8 <= len(stops) < 60
    assert [what for what, ringed in stops if not ringed] == []


def focused_row(form: Filling) -> str:
    """Id of the row that has the focus."""
    return str(form.page.evaluate("() => document.activeElement.closest('.lk-row')?.dataset.row ?? ''"))
