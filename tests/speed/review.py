"""How long a review takes, against running the notebooks, and two cores against one; and what it holds."""

import statistics
import tempfile
import time
from pathlib import Path

import nbformat
import psutil

from labkit.handin.review import find as find_bundles
from labkit.handin.review import look_at
from labkit.resources import shipped
from tests.bundles import bundle
from tests.speed.notebook import NOTEBOOK, run

BUNDLES = 40
RUN = 3  # notebooks run for the baseline; forty would take minutes and differ only in noise
LIMIT, BASELINE = 0.1, f"executing {BUNDLES} such notebooks with nbclient ({RUN} run, scaled up)"
CORES_LIMIT, CORES_BASELINE = 1 / 1.7, "the same review on one core"


def folder_of_bundles(folder: Path, count: int = BUNDLES) -> Path:
    """Bundles of invented groups; beyond ten the same ones come again under other names."""
    made = [bundle(folder / "bench", seed) for seed in range(min(count, 10))]
    for number in range(count):
        (folder / f"group-{number:03}.zip").write_bytes(made[number % len(made)])
    return folder


def timed(folder: Path, jobs: int) -> float:
    """Seconds to look at every bundle of a folder."""
    begin = time.perf_counter()
    for _ in look_at(find_bundles(folder), jobs, 60, None, progress=False):
        pass
    return time.perf_counter() - begin


def ratio(rounds: int = 3) -> tuple[float, ...]:
    """Review of forty bundles over forty runs of the notebook, one ratio a round."""
    with tempfile.TemporaryDirectory() as name:
        folder = folder_of_bundles(Path(name))
        timed(folder, 2)
        return tuple(timed(folder, 2) / (_executed() * BUNDLES) for _ in range(rounds))


def _executed() -> float:
    runs = [run(nbformat.read(shipped("notebooks", NOTEBOOK), as_version=4)) for _ in range(RUN)]
    return statistics.median(runs)


def cores_ratio(rounds: int = 5) -> tuple[float, ...]:
    """Two cores over one, processes warm in both."""
    with tempfile.TemporaryDirectory() as name:
        folder = folder_of_bundles(Path(name))
        timed(folder, 1), timed(folder, 2)
        return tuple(timed(folder, 2) / timed(folder, 1) for _ in range(rounds))


def memory() -> dict[int, float]:
    """Resident megabytes of one process after 40 and after 400 bundles."""
    held = {}
    with tempfile.TemporaryDirectory() as name:
        for count in (BUNDLES, 10 * BUNDLES):
            folder = Path(name, str(count))
            folder.mkdir()
            timed(folder_of_bundles(folder, count), 1)
            held[count] = psutil.Process().memory_info().rss / 1e6
    return held


if __name__ == "__main__":
    print({count: f"{megabytes:.0f} MB" for count, megabytes in memory().items()})
