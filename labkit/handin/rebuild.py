"""What a clean process does for `labkit pack`: `python -m labkit.handin.rebuild [--notebook NAME] FOLDER`."""

import argparse
import hashlib
import json
import os
import signal
import sys
from contextlib import suppress
from pathlib import Path
from typing import Any

from labkit.errors import LabkitError

CELL_S = 300


def rebuilt(folder: Path) -> str:
    """Claims and the report's hash, from the record alone, as JSON."""
    from labkit.analysis.analysis import analyse  # none of this loads beside a notebook that runs
    from labkit.faces.report import render
    from labkit.handin.claims import claims
    from labkit.record.bench import Bench
    from labkit.record.record_file import Record

    bench = Bench(Record.open(folder, read_only=True))
    report = hashlib.sha256(render(bench).encode()).hexdigest()
    return json.dumps({"claims": claims(analyse(bench)), "report": report}, allow_nan=False)


def run(folder: Path, name: str) -> None:
    """Run a notebook in its folder; raises nbclient's error at the first cell that fails.

    Programs that its cells started and left are ended too, as far as they are in the kernel's process group.
    """
    import nbformat
    from nbclient import NotebookClient

    notebook = nbformat.read(folder / name, as_version=4)  # type: ignore[no-untyped-call]
    place = {"metadata": {"path": str((folder / name).parent)}}
    groups: set[int] = set()
    client: Any = NotebookClient(notebook, timeout=CELL_S, resources=place)
    client.on_cell_start = lambda **_: groups.add(client.km.provisioner.pid)
    try:
        client.execute()
    finally:
        for group in groups if hasattr(os, "killpg") else ():
            with suppress(OSError):
                os.killpg(group, signal.SIGKILL)


def main() -> int:
    """0 if it could be done, else 1 with one line on the error stream."""
    options = argparse.ArgumentParser(prog="python -m labkit.handin.rebuild", description=__doc__)
    options.add_argument("folder", type=Path)
    options.add_argument("--notebook")
    args = options.parse_args()
    try:
        if args.notebook:
            run(args.folder, args.notebook)
        else:
            print(rebuilt(args.folder))
    except (LabkitError, OSError) as error:
        print(error, file=sys.stderr)
        return 1
    except Exception as error:  # whatever a cell raises
        print(_last_line(error), file=sys.stderr)
        return 1
    return 0


def _last_line(error: Exception) -> str:
    lines = [line for line in str(error).splitlines() if line.strip()]
    return lines[-1] if lines else type(error).__name__


if __name__ == "__main__":
    sys.exit(main())
