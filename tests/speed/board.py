"""From a changed wiring to the new drawing and prediction, against a bare kernel observer in the same page.

Both are timed inside the page, from the event to the changed document. Every change leads to another wiring,
so most drawings are laid out anew; the derivation, which comes afterwards, is awaited between the rounds.
"""

import itertools
import tempfile
from pathlib import Path

import nbformat

from labkit.faces.start import serving
from tests.browser.labs import Lab, chromium

ROUNDS = 21
LIMIT = 5.0
BASELINE = "ipywidgets Text observed in the kernel, to a Label in the same page"
CELLS = (
    "import ipywidgets, labkit\n"
    "text, label = ipywidgets.Text(), ipywidgets.Label('label')\n"
    "text.add_class('bare-text'), label.add_class('bare-label')\n"
    "text.observe(lambda change: setattr(label, 'value', change.new), 'value')\n"
    "display(text, label)",
    "labkit.wiring_board(labkit.demo_bench())",
)
PAIRS = [("1a", "2a"), ("1a", "2b"), ("1b", "2a"), ("1b", "2b"), ("1a", "1b"), ("2a", "2b")]
CHANGES = [("tie", *pair) for pair in PAIRS] + [("clip", n, end) for end in ("2b", "1b", "1a") for n in "10"]

TIME = """
async (act, changed, root) => {
  const seen = new Promise((done) => {
    const look = () => { if (changed()) { watch.disconnect(); done(performance.now()); } };
    const watch = new MutationObserver(look);
    watch.observe(root, { subtree: true, childList: true, characterData: true, attributes: true });
  });
  const begin = performance.now();
  act();
  return (await seen) - begin;
}
"""
BARE = f"""(value) => {{
  const input = document.querySelector(".bare-text input");
  const label = document.querySelector(".bare-label");
  const put = Object.getOwnPropertyDescriptor(HTMLInputElement.prototype, "value").set;
  put.call(input, value);
  const act = () => input.dispatchEvent(new Event("input", {{ bubbles: true }}));
  return ({TIME})(act, () => label.textContent === value, label.parentElement);
}}"""
BOARD = f"""([kind, one, other]) => {{
  const board = document.querySelector(".lk-board");
  const wiring = () => board.querySelector("svg[data-wiring]").dataset.wiring;
  const before = wiring();
  const end = (name) => board.querySelector(`[data-end="${{name}}"]`);
  (kind === "tie" ? end(one) : board.querySelector(`[data-clip="${{one}}"]`)).click();
  const written = () => board.querySelector(".lk-board-text").value === wiring();
  return ({TIME})(() => end(other).click(), () => wiring() !== before && written(), board);
}}"""
DERIVED = "() => document.querySelector('.lk-board-formula math') !== null"


def ratio(rounds: int = ROUNDS) -> tuple[float, ...]:
    """Time of the board over time of the bare observer, one ratio a round, after a warm-up of each."""
    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryDirectory() as kept:
        root = Path(folder)
        _write(root / "board.ipynb")
        with serving(root, kept=Path(kept)) as served, chromium() as browser:
            lab = Lab(served, root, browser.new_page())
            lab.open_notebook(root, "board.ipynb")
            lab.run_all()
            return tuple(_rounds(lab, rounds))


def _rounds(lab: Lab, rounds: int) -> list[float]:
    found = []
    for number, change in enumerate(itertools.islice(itertools.cycle(CHANGES), rounds + 1)):
        lab.page.wait_for_function(DERIVED)
        bare = lab.page.evaluate(BARE, f"round {number}")
        ours = lab.page.evaluate(BOARD, list(change))
        found.append(ours / bare)
    return found[1:]


def _write(file: Path) -> None:
    kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3 (ipykernel)", "language": "python"}}
    cells = [nbformat.v4.new_code_cell(source) for source in CELLS]
    nbformat.write(nbformat.v4.new_notebook(cells=cells, metadata=kernel), file)
