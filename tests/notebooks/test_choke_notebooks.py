"""The notebooks with sweeps in a bench folder of one's own: blank, and filled in from exported files."""

import shutil
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbclient import NotebookClient

from labkit.record.bench import new_bench
from tests.make_data.choke_demo import SESSIONS
from labkit.record.demo import FOLDERS
from labkit.record.demo import demo_bench
from labkit.record.sweep_files import path_of
from labkit.faces.start import _blank_text
from labkit.resources import shipped

NAMES = ("choke_characterisation", "frequency_and_resistance", "common_and_differential_mode")


def run(notebook: Any, folder: Path) -> list[str]:
    """Run a notebook in a folder; the plain text of every output."""
    NotebookClient(notebook, timeout=900, resources={"metadata": {"path": str(folder)}}).execute()
    cells = [cell for cell in notebook.cells if cell.cell_type == "code"]
    return [o.get("data", {}).get("text/plain", "") for cell in cells for o in cell.outputs]


@pytest.mark.parametrize("name", NAMES)
def test_the_blank_notebook_runs_before_anything_is_entered(name: str, tmp_path: Path) -> None:
    """No cell raises; the later ones say what is missing, and nothing of the demo is left."""
    new_bench(tmp_path, "my-choke")
    text = _blank_text(f"{name}.ipynb")
    said = " ".join(" ".join(run(nbformat.reads(text, as_version=4), tmp_path)).split())
    assert "There is no sweep in this record yet" in said
    for demo in ("p3", "4.716 mH", "exported/open.csv", "some five millihenry", "tenth less at"):
        assert demo not in text


@pytest.mark.parametrize("name", NAMES)
def test_the_demo_entries_can_be_made_in_a_bench_of_ones_own(name: str, tmp_path: Path) -> None:
    """On an empty record the shipped cells and exported files store sweeps and find the same."""
    session = next(each for each in SESSIONS.values() if each.folder == FOLDERS[name])
    new_bench(tmp_path, session.part, invented=True)
    (tmp_path / "exported").mkdir()
    for sweep in demo_bench(name).sweeps:
        for kept in (sweep.event, sweep.event.open, sweep.event.short):
            if kept:
                shutil.copy(path_of(kept, shipped("data", session.folder)), tmp_path / "exported" / kept.file)
    notebook = nbformat.read(shipped("notebooks", f"{name}.ipynb"), as_version=4)
    for cell in notebook.cells:
        cell.source = cell.source.replace(f'labkit.demo_bench("{name}")', "labkit.open_bench()")
    said = " ".join("\n".join(run(notebook, tmp_path)).split())
    assert "In common mode (clips and ties 1a 1b | 1a=2a 1b=2b) the choke has" in said
    assert "In differential mode (1a 2a | 1b=2b) it has" in said
    demo, own = shipped("data", session.folder, "sweeps"), tmp_path / "sweeps"  # by the hashes of the files
    assert {path.name for path in own.iterdir()} <= {path.name for path in demo.iterdir()}
    assert len(list(own.iterdir())) >= 5
