"""Many bundles at once: in bounded memory on both cores, and complete on a cluster that loses a worker.

`LABKIT_BUNDLES=2000` is the long form.
"""

import os
import signal
from pathlib import Path

import psutil
import pytest
from distributed import Client, LocalCluster

from labkit.handin.check import Examination
from labkit.handin.review import find, look_at
from tests.bundles import bundle

BUNDLES = int(os.environ.get("LABKIT_BUNDLES", "40"))
DIFFERENT = 5
LONG_S = 600.0  # for one bundle: this is not about time


@pytest.fixture(scope="module")
def handed_in(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of bundles, every fifth cut short; beyond some they come again under other names."""
    folder = tmp_path_factory.mktemp("many")
    made = [bundle(folder / "bench", seed, quick=True) for seed in range(DIFFERENT)]
    made[-1] = made[-1][:2000]
    for number in range(BUNDLES):
        (folder / f"group-{number}.zip").write_bytes(made[number % DIFFERENT])
    return folder


@pytest.fixture(scope="module")
def here(handed_in: Path) -> tuple[dict[int, Examination], list[int]]:
    """What two processes find, and the bytes that each of them held after each bundle."""
    found, held = {}, []
    for number, row in look_at(find(handed_in)[0], 2, LONG_S, None, progress=False):
        found[number] = row
        held += [child.memory_info().rss for child in psutil.Process().children() if _is_ours(child)]
    return found, held


def _is_ours(process: psutil.Process) -> bool:
    return any("check import serve" in word for word in process.cmdline())


def test_all_are_looked_at(here: tuple[dict[int, Examination], list[int]]) -> None:
    """Sound and broken ones, each in its place."""
    found, _ = here
    assert len(found) == BUNDLES
    for number, row in found.items():
        assert row.name == f"group-{number}.zip"
        assert row.outcome("opens") == ("no" if number % DIFFERENT == DIFFERENT - 1 else "yes")


def test_memory_is_bounded(here: tuple[dict[int, Examination], list[int]]) -> None:
    """In the last half no process holds much more than in the first, and none ever a quarter of its limit."""
    _, held = here
    half = len(held) // 2
    assert max(held[half:]) < max(held[:half]) + 50e6
    assert max(held) < 500e6


def test_a_cluster_that_loses_a_worker_finds_the_same(
    handed_in: Path, here: tuple[dict[int, Examination], list[int]]
) -> None:
    """One of two workers is killed after the first rows; what it had goes to the other one."""
    found: dict[int, Examination] = {}
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        workers = client.run(os.getpid)
        for number, row in look_at(find(handed_in)[0], -1, LONG_S, cluster.scheduler_address, progress=False):
            if not found:
                os.kill(min(workers.values()), signal.SIGKILL)
            assert number not in found
            found[number] = row
    assert found == here[0]
