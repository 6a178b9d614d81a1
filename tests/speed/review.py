"""How long a review takes, against running the notebooks, and two cores against one; and what it holds.

`python -m tests.speed.review`, on a machine that does nothing else.
"""

import os
import statistics
import subprocess
import sys
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
MANY, MEMORY_LIMIT, MEMORY_BASELINE = 10, 1.1, f"{BUNDLES} bundles, in one process"
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
    for _ in look_at(find_bundles(folder)[0], jobs, 60, None, progress=False):
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


def work_ratio() -> float:
    """Processor time of two worker processes over that of one for the same review.

    Two cores gain 2 over this at the most; it says so on a busy machine too, where the clock does not.
    """
    with tempfile.TemporaryDirectory() as name:
        folder = folder_of_bundles(Path(name))
        timed(folder, 1)
        begin = _worked()
        timed(folder, 1)
        one = _worked()
        timed(folder, 2)
        return (_worked() - one) / (one - begin)


def _worked() -> float:
    """Seconds of processor time that children of this process used, which all have ended."""
    times = os.times()
    return times.children_user + times.children_system


def memory() -> dict[int, float]:
    """Most resident megabytes of one process that looks at 40 and then at 400 bundles; made elsewhere."""
    held = {}
    with tempfile.TemporaryDirectory() as name:
        for count in (BUNDLES, MANY * BUNDLES):
            folder = Path(name, str(count))
            folder.mkdir()
            _made_elsewhere(folder, count)
            held[count] = max(
                sum(child.memory_info().rss for child in psutil.Process().children()) / 1e6
                for _ in look_at(find_bundles(folder)[0], 1, 60, None, progress=False)
            )
    return held


def _made_elsewhere(folder: Path, count: int) -> None:
    """Making bundles holds more than looking at them, so another process does it."""
    code = "import sys; from pathlib import Path; from tests.speed.review import folder_of_bundles as make"
    command = [sys.executable, "-c", f"{code}; make(Path(sys.argv[1]), int(sys.argv[2]))"]
    subprocess.run([*command, str(folder), str(count)], check=True)


def memory_ratio() -> tuple[float, ...]:
    """Memory with 400 bundles over that with 40."""
    held = memory()
    return (held[MANY * BUNDLES] / held[BUNDLES],)


def main() -> int:
    """Print memory and, for a quiet machine, both ratios; 1 if one is above its limit."""
    print("megabytes held:", {count: round(megabytes) for count, megabytes in memory().items()}, flush=True)
    print(f"processor time of two workers over one process: {work_ratio():.2f}", flush=True)
    above = 0
    for what, limit, ratios in (("two cores", CORES_LIMIT, cores_ratio()), ("notebooks", LIMIT, ratio())):
        median = statistics.median(ratios)
        above += median > limit
        print(f"{what}: {median:.3f} (limit {limit:.3f}), rounds {[round(r, 3) for r in ratios]}", flush=True)
    return 1 if above else 0


if __name__ == "__main__":
    sys.exit(main())
