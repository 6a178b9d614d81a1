"""Whatever was swept of whatever part, a characterisation says what it can and raises nothing."""

import itertools
import re
from pathlib import Path

import numpy as np
import pytest

import labkit
from labkit.errors import LabkitError
from labkit.record.bench import Bench
from labkit.record.virtual_bench import VirtualSweep
from labkit.theory.choke import Choke
from tests.benches import empty_bench
from tests.pages import parse

GRID = np.geomspace(1e3, 1e7, 25)


def any_choke(rng: np.random.Generator, windings: int) -> Choke:
    """One to four windings of any size, dots anywhere."""
    return Choke(
        R=10 ** rng.uniform(-3, 1, windings),
        leakage=10 ** rng.uniform(-8, -3, windings),
        core=10 ** rng.uniform(-6, -2),
        turns=[1.0, *rng.choice([1.0, -1.0, 0.97, 2.0], windings - 1)],
        relaxation=rng.choice([None, 1e5, 1e7]),
        C=10 ** rng.uniform(-13, -9, windings),
        between=10 ** rng.uniform(-13, -10, windings - 1),
    )


def any_wirings(rng: np.random.Generator, windings: int) -> list[str]:
    """Some wirings in any order: singles, each two windings in every way, and one that nothing joins."""
    every = [f"{k}a {k}b" for k in range(1, windings + 1)]
    for i, j in itertools.combinations(range(1, windings + 1), 2):
        every += [f"{i}a {j}a | {i}b={j}b", f"{i}a {j}b | {i}b={j}a", f"{i}a {i}b | {j}a={j}b"]
        every += [f"{i}a {i}b | {i}a={j}a {i}b={j}b", f"{i}a {i}b | {i}a={j}b {i}b={j}a", f"{i}a {j}a"]
    return [str(each) for each in rng.permutation(every)[: rng.integers(1, len(every) + 1)]]


def any_bench(seed: int, folder: Path) -> Bench:
    """Sweeps of an invented part, some at frequencies of their own, some of one point, some unstated."""
    rng = np.random.default_rng(seed)
    windings = int(rng.integers(1, 5))
    choke = any_choke(rng, windings)
    ends = " ".join(f"{k}{'a' if n > 0 else 'b'}" for k, n in enumerate(choke.turns, start=1))
    bench = empty_bench(folder / "bench", windings=windings, dots=ends if rng.random() < 0.7 else None)
    for number, wiring in enumerate(any_wirings(rng, windings)):
        points = int(rng.choice([1, 2, 5, 25]))
        own = np.geomspace(1e4, 10 ** rng.uniform(5, 8), points)
        f = GRID if rng.random() < 0.7 else own
        sweep = VirtualSweep(choke, f, seed=number, noise=float(rng.choice([0, 1e-3])), gain=1e-3)
        (folder / f"{number}.csv").write_bytes(sweep.table(wiring))
        try:
            bench.sweep(wiring, folder / f"{number}.csv", accuracy=rng.choice(["0.5 %", None]))
        except LabkitError:
            continue  # what the bench refuses is its own matter
    return bench


@pytest.mark.parametrize("seed", range(16))
def test_any_bench_is_characterised(seed: int, tmp_path: Path) -> None:
    """Every part shows itself, the page is well-formed, and the files hold no nan."""
    bench = any_bench(seed, tmp_path)
    result = labkit.characterise(bench)
    shown = (result, result.matrix, result.leakage, result.modes, result.losses, result.resonances)
    for part in (*shown, result.resistance, result.models, result.conditions):
        assert not re.search(r"\bnan\b", str(part) + part._repr_html_())
    parse(labkit.characterisation_report(bench).html)
    assert all("nan" not in content.lower().split(",") for content in result.files().values())
