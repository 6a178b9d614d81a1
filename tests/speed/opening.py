"""From starting the server to the entry form, against JupyterLab's own first cell, in the same run.

Both start a server of their own, open a notebook in the same browser and press Shift+Enter: past the title
and the first cell for the form, the one cell of an otherwise empty notebook for JupyterLab itself.
"""

import tempfile
import time
from pathlib import Path

from playwright.sync_api import Browser

from labkit.faces.start import serving, start_folder
from labkit.record.bench import new_bench
from tests.browser.forms import write_notebook
from tests.browser.labs import Lab, chromium

BASELINE = "JupyterLab's own first cell"
LIMIT = 1.3
ROUNDS = 7


def ratio() -> list[float]:
    """One ratio a round, the two in turn."""
    with tempfile.TemporaryDirectory() as name, chromium() as browser:
        folder = Path(name)
        start_folder(folder / "form", "sample-7")
        new_bench(folder / "bare", "sample-7")
        write_notebook(folder / "bare", "6 * 7", name="coupled_pair.ipynb")
        _shown(browser, folder / "bare", 1, ".jp-OutputArea-output", folder / "kept")  # from a cold disk
        return [_round(browser, folder) for _ in range(ROUNDS)]


def _round(browser: Browser, folder: Path) -> float:
    form = _shown(browser, folder / "form", 2, ".lk-entry", folder / "kept")
    return form / _shown(browser, folder / "bare", 1, ".jp-OutputArea-output", folder / "kept")


def _shown(browser: Browser, folder: Path, strokes: int, awaited: str, kept: Path) -> float:
    """Seconds from the start of the server until what is awaited stands on the page."""
    context = browser.new_context(viewport={"width": 1280, "height": 720})
    start = time.perf_counter()
    with serving(folder, kept=kept) as served:
        lab = Lab(served, folder, context.new_page())
        lab.open_notebook(folder)
        for _ in range(strokes):
            lab.page.keyboard.press("Shift+Enter")
        lab.page.locator(awaited).first.wait_for()
        seconds = time.perf_counter() - start
        context.close()
    return seconds
