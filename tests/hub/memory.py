"""What one student's kernel keeps: memory of its own after each cell of the lesson, on an invented record.

    python -m tests.hub.memory [NOTEBOOK]

Of its own is what no other process shares (USS), in MB of 10⁶ bytes: what each further student costs.
"""

import sys
import tempfile
from collections.abc import Iterator

import nbformat
import psutil
from nbclient import NotebookClient

from labkit.resources import shipped

NOTEBOOK = "coupled_pair.ipynb"
LIMIT = 120.0  # MB after the whole lesson


def lesson(name: str = NOTEBOOK) -> Iterator[tuple[str, float]]:
    """First line of each code cell, and MB of the kernel's own after it; before the first cell `bare`."""
    notebook = nbformat.read(shipped("notebooks", name), as_version=4)
    with tempfile.TemporaryDirectory() as folder:
        client = NotebookClient(notebook, timeout=300, resources={"metadata": {"path": folder}})
        with client.setup_kernel():
            kernel = psutil.Process(client.km.provisioner.process.pid)
            yield "bare", own(kernel)
            for index, cell in enumerate(notebook.cells):
                if cell.cell_type == "code":
                    client.execute_cell(cell, index)
                    yield cell.source.splitlines()[0], own(kernel)


def own(process: psutil.Process) -> float:
    """MB of a process that no other one shares."""
    return float(process.memory_full_info().uss) / 1e6


def main(name: str = NOTEBOOK) -> int:
    """Print one line a cell; 1 if the last is above the limit."""
    used = 0.0
    for cell, now in lesson(name):
        print(f"{now:7.1f} {now - used:+6.1f}  {cell}", flush=True)
        used = now
    print(f"{used:.1f} MB of its own after the lesson, and at most {LIMIT:.0f} are meant to be")
    return int(used > LIMIT)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:2]))
