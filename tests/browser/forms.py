"""A person at the entry form: notebooks that show it, and what is read off it. All values are invented."""

import re
from pathlib import Path

import nbformat
from playwright.sync_api import Locator, Page

from labkit.record.bench import Bench, new_bench, open_bench
from labkit.resources import shipped
from tests.browser.labs import Lab

NOTEBOOK = "entry.ipynb"
OPEN = "import labkit\nbench = labkit.open_bench()"
USE = 'bench.use(frequency="10 kHz", mode="series", meter="meter-a", leads="zeroed", by="p2")'
SHOW = "labkit.form(bench)"
PREDICTED = ("20 mH", "20 mH", "5 mH", "5 mH")
READ = ("10.00 mH", "9.96 mH", "39.90 mH", "25.00 µH", "9.958 mH", "6.24 µH")
IDS = ("winding-1", "winding-2", "line-forward", "line-reversed", "side-by-side", "side-by-side-reversed")


def write_notebook(folder: Path, *cells: str, name: str = NOTEBOOK) -> str:
    """A notebook with these code cells, not run yet; its name comes back."""
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    made = [nbformat.v4.new_code_cell(cell) for cell in cells]  # type: ignore[no-untyped-call]
    notebook = nbformat.v4.new_notebook(cells=made, metadata={"kernelspec": kernel})  # type: ignore[no-untyped-call]
    nbformat.write(notebook, folder / name)  # type: ignore[no-untyped-call]
    return name


def begun(folder: Path) -> Bench:
    """A record that knows only the part's name."""
    return new_bench(folder, "sample-7", invented=True)


def described(folder: Path) -> Bench:
    """A record with all that has to be said before the first entry."""
    bench = begun(folder)
    bench.accept_cautions("p1")
    bench.describe(windings=2, family="same core", dots="1a 2a", title="Teaching sample 7 (invented)")
    bench.meter("meter-a", shipped("data", "cards", "bench-fine.toml"))
    return bench


def shown_form(lab: Lab, folder: Path, *before: str) -> "Filling":
    """The form of the record in the folder, in a notebook that was run from top to bottom."""
    lab.open_notebook(folder, write_notebook(folder, OPEN, *(before or (USE,)), SHOW))
    lab.run_all()
    return Filling(lab)


class Filling:
    """The one form on a page, as a person sees it."""

    def __init__(self, lab: Lab) -> None:
        self.lab, self.page = lab, lab.page
        self.form = self.page.locator(".lk-entry")
        self.form.wait_for()

    @property
    def keys(self) -> "Page.keyboard":  # type: ignore[name-defined]
        """The keyboard."""
        return self.page.keyboard

    def row(self, id: str) -> Locator:
        """A row by its id."""
        return self.form.locator(f'.lk-row[data-row="{id}"]')

    def state(self, id: str) -> str:
        """What the row says has become of its texts."""
        return self.row(id).get_attribute("data-state") or ""

    def wait(self, id: str, state: str) -> None:
        """Wait until the row says so."""
        self.form.locator(f'.lk-row[data-row="{id}"][data-state="{state}"]').wait_for()

    def field(self, label: str) -> Locator:
        """The field with this label that can be seen."""
        return self.form.get_by_label(label, exact=True).locator("visible=true")

    def said(self, text: str) -> Locator:
        """A visible text in the form, capitals as given."""
        return self.form.get_by_text(re.compile(re.escape(text))).locator("visible=true").first

    def key(self, name: str) -> Locator:
        """A visible button of the form."""
        return self.form.get_by_role("button", name=re.compile(f"^{re.escape(name)}")).locator("visible=true")

    def enter(self, *texts: str) -> None:
        """Type each text as fast as the keyboard takes it, with Enter after each."""
        for text in texts:
            self.keys.type(text)
            self.keys.press("Enter")


def stored(folder: Path) -> dict[str, str]:
    """What the record on the disk holds now: the readings that stand, by id."""
    return {reading.id: str(reading.shown) for reading in open_bench(folder).readings}


def predicted(folder: Path) -> list[str]:
    """The own predictions in the record on the disk."""
    return [str(prediction.shown) for prediction in open_bench(folder).predictions]
