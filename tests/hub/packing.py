"""The most memory that `labkit pack` takes with all its processes: `python -m tests.hub.packing`."""

import shutil
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from pathlib import Path

import psutil

from labkit.record.demo import write_demo
from labkit.resources import shipped

NOTEBOOK = "coupled_pair.ipynb"
EVERY_S = 0.1


def peak(folder: Path) -> tuple[float, list[float]]:
    """Most memory of all processes together (PSS) in MB, and what each had then."""
    most: list[float] = []
    command = [sys.executable, "-m", "labkit.cli", "pack", str(folder), "--out", f"{folder}.bundle.zip"]
    pack = subprocess.Popen(command)
    top = psutil.Process(pack.pid)
    while pack.poll() is None:
        parts = []
        with suppress(psutil.NoSuchProcess):
            for process in (top, *top.children(recursive=True)):
                with suppress(psutil.NoSuchProcess):
                    parts.append(process.memory_full_info().pss / 1e6)
        most = max(most, parts, key=sum)
        time.sleep(EVERY_S)
    return sum(most), most


def main() -> int:
    """Pack the invented demo record with the shipped notebook and print the peak."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "bench"
        write_demo(folder)
        shutil.copy(shipped("notebooks", NOTEBOOK), folder)
        most, parts = peak(folder)
    print(f"{most:.0f} MB at the peak, of processes with {', '.join(f'{part:.0f}' for part in parts)} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
