"""The study: `python -m tests.study` runs what is missing and writes data/study/causes.md.

Finished blocks stand in .artefacts/study/blocks.jsonl, one a line, and are not run again; `--fresh` begins
anew. Seeds belong to the blocks, so that the result depends neither on the order nor on the number of cores.
"""

import argparse
import json
import os
import time
import warnings
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path
from typing import Any

from tqdm import tqdm

ROOT = Path(__file__).resolve().parents[2]
BLOCKS = ROOT / ".artefacts" / "study" / "blocks.jsonl"
TABLE = ROOT / "data" / "study" / "causes.md"
Task = tuple[str, tuple[Any, ...]]


def tasks(scale: float) -> Iterator[Task]:
    """Every block of the study; `scale` shrinks it for a trial."""
    from tests.study import coverage, planting

    def some(count: int) -> int:
        return max(1, round(count * scale))

    for card in planting.CARDS:
        for set_ in planting.SETS:
            for cause in planting.CAUSES:
                yield "confusion", (cause, set_, card, 0, some(40), False)
                yield "confusion", (cause, set_, card, 1000, some(10), True)
        for set_ in ("four", "five, opposing"):
            for first in range(0, some(800), 50):
                yield "calibration", (card, set_, first, 50)
        for k in coverage.COUPLINGS:
            for gain in ("shared", "independent"):
                for first in range(0, some(1000), 250):
                    yield "coverage", (k, card, gain, first, min(250, some(1000)))


def run(task: Task) -> tuple[Task, Any]:
    """One block."""
    from tests.study import calibration, confusion, coverage

    warnings.simplefilter("error")
    kind, arguments = task
    jobs = {"confusion": confusion.block, "calibration": calibration.block, "coverage": coverage.block}
    return task, jobs[kind](*arguments)


def finished() -> dict[Task, Any]:
    """Blocks that ran before; a torn last line counts as not run."""
    found: dict[Task, Any] = {}
    for line in BLOCKS.read_text().splitlines() if BLOCKS.exists() else []:
        try:
            kind, arguments, result = json.loads(line)
        except json.JSONDecodeError:
            continue
        found[kind, tuple(arguments)] = result
    return found


def main() -> None:
    """Run what is missing, then write the table."""
    from tests.study import table

    options = argparse.ArgumentParser(prog="python -m tests.study", description=__doc__)
    options.add_argument("--fresh", action="store_true", help="forget finished blocks")
    options.add_argument("--scale", type=float, default=1.0, help="below 1 a trial, whose table is printed")
    options.add_argument("--so-far", action="store_true", help="write the table of finished blocks, run none")
    options.add_argument("--workers", type=int, help="processes; as many as cores if left out")
    options.add_argument("--only", nargs="+", help="some of: confusion calibration coverage")
    chosen = options.parse_args()
    BLOCKS.parent.mkdir(parents=True, exist_ok=True)
    if chosen.fresh:
        BLOCKS.unlink(missing_ok=True)
    wanted = [t for t in tasks(chosen.scale) if not chosen.only or t[0] in chosen.only]
    done, began = finished(), time.monotonic()
    missing = [] if chosen.so_far else [task for task in wanted if task not in done]
    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # one thread a worker, or they wait for each other
    with ProcessPoolExecutor(chosen.workers) as pool, BLOCKS.open("a") as file:
        running = [pool.submit(run, task) for task in missing]
        for each in tqdm(as_completed(running), total=len(missing), unit="block", mininterval=10):
            task, result = each.result()
            done[task] = result
            file.write(json.dumps([*task, result]) + "\n")
            file.flush()
    finished_ones = {task: done[task] for task in wanted if task in done}
    left = [kind for kind, _ in wanted if (kind, _) not in done]
    text = table.written(finished_ones, (time.monotonic() - began) / 60, left)
    if chosen.scale == 1.0 and not chosen.only:
        TABLE.parent.mkdir(parents=True, exist_ok=True)
        TABLE.write_text(text)
    else:
        print(text)


if __name__ == "__main__":
    main()
