"""Execute shipped notebooks and store their outputs: `python -m tests.notebooks.rebuild [NAME ...]`."""

import sys
import tempfile
from pathlib import Path

import nbformat
from nbclient import NotebookClient

import labkit
from labkit.resources import shipped

PICTURE = shipped("data", "pictures", "comparison.svg")
FOLDER = Path(__file__).resolve().parents[2] / "notebooks"


def rebuild(path: Path) -> None:
    """Run one notebook from top to bottom and store it without run times."""
    notebook = nbformat.read(path, as_version=4)
    with tempfile.TemporaryDirectory() as folder:
        client = NotebookClient(notebook, timeout=300, resources={"metadata": {"path": folder}})
        client.record_timing = False
        client.execute()
    notebook.metadata.language_info = {"name": "python"}
    notebook.metadata.pop("widgets", None)  # a form is built from the record, never from what a page kept
    nbformat.write(notebook, path)


def rebuild_picture() -> None:
    """Write the README's picture anew."""
    PICTURE.write_text(labkit.comparison(labkit.demo_bench()).svg, encoding="utf-8")


if __name__ == "__main__":
    named = [FOLDER / f"{name}.ipynb" for name in sys.argv[1:]]
    if not named:
        rebuild_picture()
    for path in named or sorted(FOLDER.glob("*.ipynb")):
        rebuild(path)
        print(path.name)
