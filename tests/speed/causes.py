"""Ranking of a record of six readings, against the dense quadrature at equal error.

The quadrature is `tests.study.cases.weigh`, which shares the causes and priors but not the method: it
integrates every combination that it looks at (no slip, all single ones, and two and three on top of the
likeliest), one by one. Its density is the coarsest of `DENSITIES` whose leading probabilities, those above
`LEADING`, are no further from the finest one's than the ranking's are. `screened_ratio` is against the same
that integrates densely only what a rough integral leaves in question, as the study does.

How the study scales: the same blocks by one process and by two.
"""

import math
import os
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor

from labkit.analysis.analysis import Analysis
from labkit.analysis.causes.ranking import Ranking
from labkit.record.bench import Bench
from labkit.record.virtual_bench import VirtualBench
from labkit.theory.wiring import parse_dots
from tests.benches import PAIR, WIRINGS, typed_bench
from tests.study.cases import SCREEN, Weighed, weigh
from tests.study.oracle import Density
from tests.study.planting import card

ROUNDS = 3
LIMIT = 0.05
BASELINE = "dense quadrature of every combination, at equal error"
SCREENED_LIMIT = 0.5
SCREENED_BASELINE = "the same, densely only where a rough integral leaves it in question"
CORES_LIMIT = 0.7
CORES_BASELINE = "one process"
LEADING = 0.05
FINEST = Density(100, 80)
DENSITIES = (Density(5, 4), Density(8, 6), Density(12, 10), Density(16, 14), Density(24, 20), Density(40, 30))
CARDS = ("hand-held-coarse", "bench-fine")
DOTS = parse_dots("1a 2a")
BLOCKS = [("sound", "four", "hand-held-coarse", seed, 4, False) for seed in range(0, 32, 4)]


def ratio(rounds: int = ROUNDS, screen: float = math.inf) -> tuple[float, ...]:
    """Time of the ranking over time of the quadrature, one ratio a round and card."""
    return tuple(each for card_ in CARDS for each in _ratios(six(card_), rounds, screen))


def _ratios(bench: Bench, rounds: int, screen: float) -> list[float]:
    ranking = ranked(bench)
    density = equal(bench, ranking)
    return [
        _seconds(lambda: ranked(bench)) / _seconds(lambda: quadrature(bench, ranking, density, screen))
        for _ in range(rounds)
    ]


def screened_ratio(rounds: int = ROUNDS) -> tuple[float, ...]:
    """The same against the quadrature that screens."""
    return ratio(rounds, SCREEN)


def cores_ratio(rounds: int = 2) -> tuple[float, ...]:
    """Time of some of the study's blocks on two processes over that on one."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    return tuple(_seconds(lambda: _study(2)) / _seconds(lambda: _study(1)) for _ in range(rounds))


def six(card_: str) -> Bench:
    """A sound record of six readings of a tight pair."""
    meter = VirtualBench(PAIR.matrix(), card(card_), 5)
    return typed_bench({id: meter.shown(wiring) for id, wiring in WIRINGS.items()}, card=card_)


def ranked(bench: Bench) -> Ranking:
    """The ranking, from the record on."""
    ranking = Analysis(bench).ranking
    assert ranking is not None
    return ranking


def quadrature(bench: Bench, ranking: Ranking, density: Density, screen: float = SCREEN) -> Weighed:
    """The same by the quadrature."""
    return weigh(bench, ranking.observations, DOTS, density, screen=screen)


def equal(bench: Bench, ranking: Ranking) -> Density:
    """The coarsest density whose leading probabilities are no further from the finest one's than ours."""
    finest = quadrature(bench, ranking, FINEST)
    leading = [name for name in finest.names if finest.of(name) > LEADING]
    ours = {e.of: e.probability for e in ranking.explanations}
    error = max(abs(ours.get(name, 0.0) - finest.of(name)) for name in leading)

    def reached(density: Density) -> bool:
        weighed = quadrature(bench, ranking, density)
        return all(abs(weighed.of(name) - finest.of(name)) <= error for name in leading)

    return next((density for density in DENSITIES if reached(density)), FINEST)


def _study(workers: int) -> None:
    from tests.study.confusion import block

    with ProcessPoolExecutor(workers) as pool:
        for each in [pool.submit(block, *arguments) for arguments in BLOCKS]:
            each.result()


def _seconds(job: Callable[[], object]) -> float:
    begin = time.perf_counter()
    job()
    return time.perf_counter() - begin
