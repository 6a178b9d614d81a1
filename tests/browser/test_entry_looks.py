"""How the entry form looks and whether everybody can use it. All values are invented."""

from pathlib import Path

from tests.browser.forms import PREDICTED, READ, USE, Filling, begun, described, shown_form
from tests.browser.labs import SIZES, THEMES, Lab

OVERFLOW = """() => [...document.querySelectorAll(".lk-entry *")]
  .filter((e) => e.checkVisibility() && !e.closest("svg, .lk-aloud") && e.scrollWidth > e.clientWidth + 1
    && getComputedStyle(e).display !== "inline" && e.clientWidth > 0)
  .map((e) => `${e.className}: ${e.textContent.slice(0, 60)}`)"""


def scanned(form: Filling) -> int:
    """Elements that axe-core looked at; none of them violates a rule."""
    scan = form.lab.axe(".lk-entry")
    assert scan.violations == []
    print(f"axe-core: {scan.scanned} elements of the entry form, no violation")
    return scan.scanned


def test_everybody_can_use_it(lab: Lab, folder: Path) -> None:
    """No rule of axe-core is violated in any state: cautions, entry, refusal, correction, stored."""
    begun(folder)
    form = shown_form(lab, folder, "pass")
    counts = [scanned(form)]
    bench = described_further(folder)
    assert bench
    lab.run_all()
    form = Filling(lab)
    counts.append(scanned(form))
    lab.write_cell(2, USE)
    lab.run_cell(2)
    lab.run_cell(3)
    form = Filling(lab)
    form.field("The display shows").focus()
    form.enter(*READ[:2], *PREDICTED, *READ[2:4])
    form.wait("line-reversed", "stored")
    form.keys.type("2,700 mH")
    form.said("could mean").wait_for()
    counts.append(scanned(form))
    form.row("line-forward").locator(".lk-head").click()
    form.key("Correct: ").click()
    form.field("reason").wait_for()
    counts.append(scanned(form))
    assert min(counts) > 20


def described_further(folder: Path) -> bool:
    """Say in the record what has to be said before the first entry."""
    from labkit.record.bench import open_bench

    bench = open_bench(folder)
    bench.accept_cautions("p1")
    bench.describe(windings=2, family="same core", dots="1a 2a")
    return bool(bench.meter("meter-a"))


def test_it_is_pictured(lab: Lab, folder: Path) -> None:
    """Nothing is cut off at laptop or projector size, light or dark; pictures are stored to be looked at."""
    described(folder)
    form = shown_form(lab, folder)
    form.field("The display shows").focus()
    form.enter(*READ[:2], *PREDICTED, *READ[2:4])
    form.wait("line-reversed", "stored")
    form.keys.type(READ[4])
    form.said("last digit 1 µH").wait_for()
    for theme in THEMES:
        lab.theme(theme)
        for size in SIZES:
            lab.size(size)
            lab.cell(3)
            lab.screenshot("entry")
            assert lab.page.evaluate(OVERFLOW) == []
    digits = form.row("winding-1").locator(".lk-value")
    assert float(digits.evaluate("(e) => parseFloat(getComputedStyle(e).fontSize)")) >= 28
