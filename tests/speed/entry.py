"""From Enter on a reading to the stored acknowledgement, against a bare kernel observer in the same page.

Both are timed inside the page, from the event to the changed document. Each round stores a reading that the
record did not hold, written through to the disk; the rows take turns, so that no row grows long.
"""

import itertools
import tempfile
from pathlib import Path

from labkit.faces.start import serving
from tests.browser.forms import IDS, OPEN, SHOW, USE, described, write_notebook
from tests.browser.labs import Lab, chromium
from tests.speed import board

ROUNDS = 21
LIMIT = 3.0
BASELINE = board.BASELINE
QUIET = 400  # ms before either is timed, so that nothing of what came before is still under way

TYPE = """([id, text]) => {
  const row = document.querySelector(`.lk-row[data-row="${id}"]`);
  const visible = (selector) => [...row.querySelectorAll(selector)].find((e) => e.checkVisibility());
  row.querySelector(".lk-head").click();
  if (!visible(".lk-of-shown input")) visible(".lk-body > .lk-keys > button").click();
  visible(".lk-of-shown input").value = text;
  visible(".lk-of-shown input").dispatchEvent(new Event("input", { bubbles: true }));
}"""
ENTER = f"""([id, text]) => {{
  const row = document.querySelector(`.lk-row[data-row="${{id}}"]`);
  const enter = new KeyboardEvent("keydown", {{ key: "Enter", bubbles: true }});
  const shown = () => row.querySelector(".lk-value").textContent;
  const stored = () => row.dataset.state === "stored" && shown().endsWith(text);
  return ({board.TIME})(() => row.querySelector(".lk-of-shown input").dispatchEvent(enter), stored, row);
}}"""


def ratio(rounds: int = ROUNDS) -> tuple[float, ...]:
    """Time of the form over time of the bare observer, one ratio a round, after a warm-up of each."""
    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryDirectory() as kept:
        root = Path(folder)
        described(root)
        both = (
            f"{board.CELLS[0]}\n{SHOW}"  # in one cell, since a cell that scrolls out of view is served late
        )
        name = write_notebook(root, OPEN, USE, both)
        with serving(root, kept=Path(kept)) as served, chromium() as browser:
            lab = Lab(served, root, browser.new_page())
            lab.open_notebook(root, name)
            lab.run_all()
            return tuple(ours / bare for ours, bare in _rounds(lab, rounds))


def _rounds(lab: Lab, rounds: int) -> list[tuple[float, float]]:
    """Milliseconds of the form and of the bare observer, in turns; the first of each is left out."""
    found = []
    for number, id in enumerate(itertools.islice(itertools.cycle(IDS), rounds + 1)):
        typed = [id, f"10.{number:02d} mH"]
        lab.page.evaluate(TYPE, typed)
        lab.page.wait_for_timeout(QUIET)
        bare = lab.page.evaluate(board.BARE, f"round {number}")
        lab.page.wait_for_timeout(QUIET)
        ours = lab.page.evaluate(ENTER, typed)
        found.append((ours, bare))
    return found[1:]
