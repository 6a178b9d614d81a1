"""The meter notebook in a bench folder of one's own: blank, and filled in. All values are invented."""

from pathlib import Path
from typing import Any

import nbformat
from nbclient import NotebookClient

from labkit.record.bench import new_bench
from labkit.faces.start import _blank_text
from labkit.resources import shipped

NAME = "know_your_meter.ipynb"


def run(notebook: Any, folder: Path) -> list[str]:
    """Run a notebook in a folder; the plain text of every output."""
    NotebookClient(notebook, timeout=900, resources={"metadata": {"path": str(folder)}}).execute()
    cells = [cell for cell in notebook.cells if cell.cell_type == "code"]
    return [o.get("data", {}).get("text/plain", "") for cell in cells for o in cell.outputs]


def test_the_blank_notebook_runs_before_anything_is_entered(tmp_path: Path) -> None:
    """No cell raises; the later ones say what is missing, and nothing of the demo is left."""
    new_bench(tmp_path, "my-references")
    text = _blank_text(NAME)
    said = run(nbformat.reads(text, as_version=4), tmp_path)
    assert any("Still missing: the leads alone, zeroed" in each for each in said)
    assert any("No reference part is stated" in each for each in said)
    for demo in ("room", "10.015 mH", "100.30 µH", "0.63 µH", "p1", "half a microhenry"):
        assert demo not in text


def test_the_demo_entries_can_be_made_in_a_bench_of_ones_own(tmp_path: Path) -> None:
    """The shipped cells on an empty record enter all that the demo holds and come to the same verdicts."""
    new_bench(tmp_path, "references", invented=True)
    notebook = nbformat.read(shipped("notebooks", NAME), as_version=4)
    for cell in notebook.cells:
        cell.source = cell.source.replace('labkit.demo_bench("know_your_meter")', "labkit.open_bench()")
    said = "\n".join(run(notebook, tmp_path))
    assert "within its card here (probability above 99.9" in " ".join(said.split())
    assert "To carry it in the card" in said
    own, demo = tmp_path / "record.jsonl", shipped("data", "meter_check", "record.jsonl")
    assert len(own.read_bytes().splitlines()) == len(demo.read_bytes().splitlines())
