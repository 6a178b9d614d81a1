"""How long the shipped notebook runs headless, against a notebook that only imports the same libraries."""

import tempfile
import time

import nbformat
from nbclient import NotebookClient

from labkit.resources import shipped

ROUNDS = 7
LIMIT = 1.3
BASELINE = "nbclient run of a notebook that only imports the same libraries"
NOTEBOOK = "coupled_pair.ipynb"


def modules() -> list[str]:
    """Every module outside labkit that the shipped notebook imports; the baseline imports the same."""
    notebook = nbformat.read(shipped("notebooks", NOTEBOOK), as_version=4)
    notebook.cells.insert(0, nbformat.v4.new_code_cell("import sys; _before = set(sys.modules)"))
    show = "print(' '.join(m for m in sys.modules if m not in _before and not m.startswith('labkit')))"
    notebook.cells.append(nbformat.v4.new_code_cell(show))
    run(notebook)
    return [name for name in notebook.cells[-1].outputs[0].text.split() if name != "__main__"]


def run(notebook: nbformat.NotebookNode) -> float:
    """Seconds of one headless run in a temporary folder."""
    with tempfile.TemporaryDirectory() as folder:
        begin = time.perf_counter()
        NotebookClient(notebook, timeout=120, resources={"metadata": {"path": folder}}).execute()
        return time.perf_counter() - begin


def baseline(names: list[str]) -> nbformat.NotebookNode:
    """A notebook with one cell that imports the libraries."""
    lines = [f"try:\n    import {name}\nexcept ImportError:\n    pass" for name in names]
    return nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("\n".join(lines))])


def ratio(rounds: int = ROUNDS) -> tuple[float, ...]:
    """Time of the shipped notebook over time of the baseline, one ratio a round, after a warm-up."""
    names = modules()
    run(baseline(names))
    ratios = []
    for _ in range(rounds):
        ours = run(nbformat.read(shipped("notebooks", NOTEBOOK), as_version=4))
        ratios.append(ours / run(baseline(names)))
    return tuple(ratios)
