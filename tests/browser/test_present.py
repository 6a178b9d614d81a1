"""A lecturer in front of a class, by keyboard, at both sizes. All readings are invented."""

from pathlib import Path

import nbformat
import pytest
from playwright.sync_api import Locator, expect

from labkit.record.bench import Bench, open_bench
from labkit.words import widgets as words
from tests.benches import coupled_bench
from tests.browser.labs import SIZES, THEMES, Lab

CELL = "import labkit\nlabkit.present(labkit.open_bench(), fallback=labkit.demo_bench())"
KERNEL = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
MISSING, READ = "line-reversed", "1a 2a | 1b=2b"

# What sticks out of the window or of the sheet, or is cut off in its own box.
STICKING_OUT = """(root) => {
  const out = (e, box) => {
    const at = e.getBoundingClientRect();
    return at.left < box.left - 1 || at.right > box.right + 1 || at.top < box.top - 1
      || at.bottom > box.bottom + 1;
  };
  const sheet = root.querySelector(".lk-present-sheet");
  const room = { left: 0, top: 0, right: innerWidth, bottom: innerHeight };
  const all = [...root.querySelectorAll("*")].filter((e) => e.checkVisibility()
    && !e.closest("svg *, math *, .lk-present-spoken"));
  const inside = sheet.getBoundingClientRect();
  const cut = (e) => e.clientWidth
    && (e.scrollWidth > e.clientWidth + 2 || e.scrollHeight > e.clientHeight + 6);
  const names = (found, what) => found.map((e) => `${what}: ${e.className || e.tagName} ${e.textContent}`);
  return [
    ...names(all.filter((e) => out(e, room)), "window"),
    ...names(all.filter((e) => sheet.contains(e) && out(e, inside)), "sheet"),
    ...names(all.filter((e) => sheet.contains(e) && !e.closest("svg, math") && cut(e)), "cut"),
  ];
}"""
DIGITS = """(text) => {
  const pen = document.createElement("canvas").getContext("2d");
  const style = getComputedStyle(text);
  pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
  return pen.measureText("2").actualBoundingBoxAscent;
}"""
COVERED = """(root) => [[3, 3], [innerWidth - 3, 3], [3, innerHeight - 3], [innerWidth / 2, 14]]
  .every(([x, y]) => root.contains(document.elementFromPoint(x, y)))"""


@pytest.fixture
def bench(folder: Path) -> Bench:
    """A bench with one joint reading still to be taken, and a notebook that presents it."""
    bench = coupled_bench(folder / "bench", ["one", "two", "line"])
    bench.commit(READ, "20 mH", "own-line-reversed", by="p1")
    cell = nbformat.v4.new_code_cell(CELL)
    nbformat.write(nbformat.v4.new_notebook(metadata=KERNEL, cells=[cell]), folder / "bench" / "talk.ipynb")
    return bench


def presented(lab: Lab, bench: Bench) -> Locator:
    """The view, shown, prepared, with the keyboard on it."""
    lab.open_notebook(bench.record.folder, "talk.ipynb")
    lab.run_all()
    view = lab.page.locator(".lk-present")
    view.focus()
    lab.page.keyboard.press("9")
    view.locator(".lk-present-step").wait_for()  # with the steps all that takes long is there
    lab.page.keyboard.press("Home")
    return view


def test_a_lecture_by_keyboard_alone(lab: Lab, bench: Bench) -> None:
    """Full page, reveal in order, hide, a reading entered elsewhere meanwhile, the stored record with its
    banner and back, keys explained, Esc: nothing is touched but keys.
    """
    view = presented(lab, bench)
    keys = lab.page.keyboard
    keys.press("f")
    assert view.evaluate(COVERED)
    keys.press("4")
    expect(view.locator(".lk-present-title")).to_have_text("In line, winding 2 turned round")
    expect(view.locator(".lk-present-missing")).to_contain_text(f"No reading yet for {MISSING}.")
    lab.screenshot("present-missing")
    keys.press("Enter")
    expect(view.locator(".lk-present-thing-own .lk-present-text")).to_have_text("20 mH (p1)")
    assert "20 mH (p1)" in view.locator("[aria-live]").inner_text()

    elsewhere = open_bench(bench.record.folder)
    elsewhere.use(frequency="10 kHz", mode="series", meter="meter-a", leads="zeroed")
    elsewhere.read(READ, "25.0 µH", MISSING)
    view.locator(".lk-present-missing").wait_for(state="detached")  # in a few seconds, by itself
    expect(view.locator(".lk-present-thing-reading")).to_have_attribute("data-open", "false")
    assert "25.0" not in view.inner_text()
    keys.press("ArrowDown")
    keys.press("r")
    reading = view.locator(".lk-present-thing-reading .lk-present-text")
    expect(reading).to_have_text("25.0 µH")
    keys.press("Enter")
    expect(view.locator(".lk-present-thing-verdict")).to_contain_text("rule without coupling")
    lab.screenshot("present-revealed")
    keys.press("h")
    assert "25.0" not in view.inner_text()

    banner = view.locator(".lk-present-banner")
    expect(banner).to_be_empty()
    keys.press("s")
    expect(banner).to_contain_text(words.PRESENT_STORED)
    expect(view.locator(".lk-present-title")).to_have_text("In line, winding 2 turned round")
    lab.screenshot("present-stored")
    keys.press("s")
    expect(banner).to_be_empty()

    keys.press("Space")
    expect(view.locator(".lk-present-number")).to_contain_text("page 5 of")
    keys.press("Backspace")
    expect(view.locator(".lk-present-number")).to_contain_text("page 4 of")
    keys.press("?")
    expect(view.locator(".lk-present-help")).to_be_visible()
    lab.screenshot("present-keys")
    keys.press("Escape")
    expect(view.locator(".lk-present-help")).to_be_hidden()
    assert view.evaluate(COVERED)
    keys.press("Escape")
    assert not view.evaluate(COVERED)
    keys.press("ArrowRight")  # the keyboard is still on the view
    expect(view.locator(".lk-present-number")).to_contain_text("page 5 of")
    assert lab.failures() == []


@pytest.mark.parametrize("size", SIZES)
def test_every_page_fits_and_the_digits_can_be_read_from_the_last_row(
    lab: Lab, bench: Bench, size: str
) -> None:
    """At both sizes nothing on any page, all revealed, is cut off, and the digits of a reading are at least a
    twelfth of the height; the stored record with its banner included.
    """
    view = presented(lab, bench)
    lab.size(size)
    keys = lab.page.keyboard
    keys.press("f")
    height = SIZES[size][1]
    seen = readings = 0
    for _ in range(2):
        total = int(view.locator(".lk-present-number").inner_text().split()[-1])
        keys.press("Home")
        for number in range(1, total + 1):
            expect(view.locator(".lk-present-number")).to_contain_text(f"page {number} of")
            for _ in range(4):
                keys.press("Enter")
            assert view.evaluate(STICKING_OUT) == [], f"page {number}"
            for text in view.locator(".lk-present-thing-reading .lk-present-text").all():
                assert text.evaluate(DIGITS) >= height / 12
                readings += 1
            seen += 1
            keys.press("PageDown")
        keys.press("s")
    assert seen > 50
    assert readings == 3 + 6


@pytest.mark.parametrize("theme", THEMES)
def test_it_is_accessible_in_both_themes(lab: Lab, bench: Bench, theme: str) -> None:
    """axe-core finds nothing on a page covered, revealed, with its keys explained, and stored."""
    view = presented(lab, bench)
    lab.theme(theme)
    view.focus()
    scanned = 0
    for press in ("3", "Enter", "?", "?", "s", "8", "9", "0"):
        lab.page.keyboard.press(press)
        scan = lab.axe(".lk-present")
        assert scan.violations == []
        assert scan.scanned > 20
        scanned += scan.scanned
    lab.screenshot("present-in-a-cell")
    print(f"axe-core: {scanned} elements of the presenting view, {theme}")


def test_with_a_dead_kernel_the_lecture_goes_on(lab: Lab, bench: Bench) -> None:
    """The view says that new readings do not arrive; paging, revealing and the stored record still work."""
    view = presented(lab, bench)
    lab.page.keyboard.press("f")  # JupyterLab's own dialog about the kernel stays behind it
    lab.kill_kernel()
    view.locator(".lk-present-note", has_text=words.PRESENT_FACE["lost"]).wait_for()
    lab.page.keyboard.press("3")
    lab.page.keyboard.press("s")
    for _ in range(3):
        lab.page.keyboard.press("Enter")
    expect(view.locator(".lk-present-banner")).to_contain_text(words.PRESENT_STORED)
    expect(view.locator(".lk-present-thing-reading .lk-present-text")).to_have_text("27.24 mH")


def test_it_can_be_used_by_pointer(lab: Lab, bench: Bench) -> None:
    """Stations and buttons do what the keys do, and after a click the keys go on."""
    view = presented(lab, bench)
    view.get_by_role("button", name="line, aiding").click()
    view.get_by_role("button", name=words.PRESENT_FACE["reveal"]).click()
    expect(view.locator('[data-open="true"]')).to_have_count(1)
    lab.page.keyboard.press("Enter")
    expect(view.locator('[data-open="true"]')).to_have_count(2)
    view.get_by_role("button", name=words.PRESENT_FACE["hide"]).click()
    expect(view.locator('[data-open="true"]')).to_have_count(0)
    view.get_by_role("button", name=words.PRESENT_FACE["full"]).click()
    assert view.evaluate(COVERED)
    view.get_by_role("button", name=words.PRESENT_FACE["leave"]).click()
    assert not view.evaluate(COVERED)
