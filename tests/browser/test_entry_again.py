"""A lesson in the blank notebook: run again, kernel restarted, next day. All values are invented."""

from pathlib import Path
from typing import Any

from labkit import compare, open_bench
from labkit.record.events import told
from tests.browser.forms import (
    IDS,
    OPEN,
    PREDICTED,
    READ,
    SHOW,
    Filling,
    begun,
    described,
    shown_form,
    write_notebook,
)
from tests.browser.labs import Lab


def meaning(folder: Path) -> dict[str, Any]:
    """What the record amounts to: all that counts now, and what is computed from it."""
    bench = open_bench(folder)
    return {
        "readings": bench.readings,
        "predictions": bench.predictions,
        "part": bench.part and told(bench.part),
        "cards": {name: card and card.id for name, card in bench.cards.items()},
        "cautions": bench.cautions_accepted,
        "words": [(w.topic, w.text) for w in bench.own_words],
        "compared": str(compare(bench)),
    }


def open_form(lab: Lab) -> Filling:
    """The form by two key strokes after the notebook opened: past the title, and the first cell."""
    lab.page.keyboard.press("Shift+Enter")
    lab.page.keyboard.press("Shift+Enter")
    return Filling(lab)


def said(lab: Lab, part: str) -> str:
    """Output of the cell whose source contains this text."""
    return str(lab.cell_output(lab.number(part)).inner_text())


def answer_steps(form: Filling) -> None:
    """The four small forms, for a part whose dots nobody knows and a meter without a card."""
    form.said("step 1 of 4").wait_for()
    form.field("your pseudonym").focus()
    form.enter("p1")
    form.said("step 2 of 4").wait_for()
    form.field("windings").focus()
    for key in ("Tab", "Space", "Tab", "Tab", "Space", "Enter"):
        form.keys.press(key)
    form.said("step 3 of 4").wait_for()
    form.keys.type("meter-a")
    for key in ("Tab", "Space", "Enter"):
        form.keys.press(key)
    form.said("step 4 of 4").wait_for()
    form.keys.type("10 kHz")
    for key in ("Tab", "Space", "Tab", "Tab", "Space", "Enter"):
        form.keys.press(key)
    form.field("The display shows").wait_for()


def test_a_lesson_run_again_means_the_same(lab: Lab, student_folder: Path) -> None:
    """Form, Run All, form again, next day with a new kernel, Run All: nothing that was said is taken back."""
    lab.open_notebook(student_folder)
    form = open_form(lab)
    lab.screenshot("again-01-cautions")
    answer_steps(form)
    form.enter(*READ[:2], "2 x winding 1", *PREDICTED[1:])
    form.enter(READ[2])
    form.wait("line-forward", "stored")
    begun = meaning(student_folder)
    assert begun["predictions"][0].said == "2 x winding 1"
    assert len(begun["readings"]) == 3

    lab.run_all()
    assert lab.failures() == []
    assert meaning(student_folder) == begun
    assert "Cautions accepted by p1" in said(lab, "bench.accept_cautions")
    assert "10.00 mH for the wiring" in said(lab, 'id="winding-1"')
    assert "2 x winding 1 = 20.00 mH" in said(lab, 'id="own-line-forward"')
    form = Filling(lab)
    lab.cell(1)
    assert form.said("Filled in as with the last reading").is_visible()
    form.key("This holds from here on").click()
    form.field("The display shows").wait_for()
    form.field("The display shows").focus()
    form.enter(*READ[3:])
    form.said("All planned readings are stored.").wait_for()
    assert "2.00" in form.row("line-forward").inner_text()
    assert "800 times less" in form.row("line-reversed").inner_text()
    form.key("Write in your own words").click()
    form.field("your words").fill("They share one flux.")
    form.key("Store my words").click()
    form.said("They share one flux.").wait_for()
    for size in ("projector", "laptop"):
        lab.size(size)
        lab.screenshot("again-02-done")
    whole = meaning(student_folder)
    assert {(r.meter, r.mode, r.leads, r.by, str(r.frequency)) for r in whole["readings"]} == {
        ("meter-a", "series", "zeroed", "p1", "10 kHz")
    }
    form.row("winding-1").locator(".lk-head").click()
    assert form.key("Correct").is_visible()
    assert form.key("Withdraw").is_visible()
    lab.save()

    lab.page.goto("about:blank")
    lab.reset()  # overnight the kernel is gone
    lab.open_notebook(student_folder)
    asleep = lab.cell_output(1)
    assert asleep.locator(".lk-asleep").is_visible()
    assert "model not found" not in asleep.inner_text()
    lab.screenshot("again-03-next-day")
    lab.run_all()  # as the sentence says
    assert lab.failures() == []
    assert meaning(student_folder) == whole
    form = Filling(lab)
    assert not lab.cell_output(1).locator(".lk-asleep").is_visible()
    assert [form.state(id) for id in IDS] == ["stored"] * 6
    assert form.said("They share one flux.").is_visible()


def test_a_card_is_made_in_the_meter_step(lab: Lab, folder: Path) -> None:
    """Beside "no card" the manual's accuracy page can be typed in; what is stored there ends the step."""
    bench = begun(folder)
    bench.accept_cautions("p1")
    bench.describe(windings=2, dots=None)
    lab.open_notebook(folder, write_notebook(folder, f"{OPEN}\n{SHOW}"))
    lab.run_all()
    form = Filling(lab)
    form.key("Make a card from the manual").click()
    card = form.form.locator(".lk-card")
    for label, text in {
        "Name of the card (its id)": "mine",
        "Meter": "Meter of the bench (invented)",
        "Where the figures stand": "invented",
    }.items():
        card.get_by_label(label, exact=True).fill(text)
    card.locator(".lk-of-ranges textarea").fill("20 mH  19.999 mH  0.3 %  5 digits  10 kHz")
    card.locator(".lk-of-typical input").fill("10.000 mH")
    card.locator(".lk-of-typical_frequency input").fill("10 kHz")
    card.locator(".lk-of-meter input").fill("meter-a")
    card.locator(".lk-main:not([aria-disabled=true])").wait_for()
    scan = lab.axe(".lk-entry")
    assert (scan.violations, scan.scanned > 20) == ([], True)
    for theme in ("light", "dark"):
        lab.theme(theme)
        lab.cell(1)
        lab.screenshot("again-04-card")
    card.locator(".lk-main").click()
    form.said("step 4 of 4").wait_for()
    stored_card = open_bench(folder).cards["meter-a"]
    assert stored_card is not None
    assert stored_card.id == "mine"


def test_what_has_two_meanings_gets_two_buttons_and_a_late_prediction_its_mark(
    lab: Lab, folder: Path
) -> None:
    """`27.2mh` is asked, also of a prediction; one after the reading is taken and marked."""
    described(folder)
    form = shown_form(lab, folder)
    form.row("line-forward").locator(".lk-head").click()
    form.field("You expect").fill("27.2mh")
    form.key("27.2 MH = 27.2 megahenry").wait_for()
    assert form.said("could mean mH or MH: choose which one you expect").is_visible()
    form.field("You expect").fill("")
    form.key("Read without a prediction").click()
    form.keys.type("27.2mh")
    form.key("27.2 MH = 27.2 megahenry").wait_for()
    lab.screenshot("again-05-two-meanings")
    form.key("27.2 mH").click()
    form.keys.press("Enter")
    form.wait("line-forward", "stored")
    form.row("line-forward").locator(".lk-head").click()
    form.key("Say what you had expected").click()
    form.enter("27.2 mH")
    form.row("line-forward").get_by_text("after the reading").first.wait_for()
    lab.screenshot("again-06-late")
    assert form.row("line-forward").locator(".lk-factor").inner_text() == ""
    assert [p.after_reading for p in open_bench(folder).predictions] == [True]


def test_every_face_without_a_kernel_says_how_to_wake_it(lab: Lab, folder: Path) -> None:
    """Stored and opened again, each face is one sentence with the next step, and Run All puts it back."""
    faces = ("labkit.wiring_board(bench)", "labkit.card_form(bench)", "labkit.present(bench)")
    name = write_notebook(folder, "import labkit\nbench = labkit.demo_bench()", *faces)
    lab.open_notebook(folder, name)
    lab.run_all()
    lab.save()
    lab.page.goto("about:blank")
    lab.reset()
    lab.open_notebook(folder, name)
    notebook = lab.page.locator(".jp-Notebook")
    asleep = notebook.locator(".lk-asleep")
    assert len(set(asleep.all_inner_texts())) == len(faces)
    assert all("Run > Run All Cells" in text for text in asleep.all_inner_texts())
    assert "model not found" not in notebook.inner_text()
    lab.screenshot("again-07-asleep")
    lab.run_all()
    for face in (".lk-board", ".lk-card", ".lk-present"):
        notebook.locator(face).wait_for()
    assert not any(sentence.is_visible() for sentence in asleep.all())
