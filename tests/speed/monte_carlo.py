"""Monte Carlo of M, k and P+ from L1, L2 and B, against plain whole-array numpy.

The baseline is what one would write first: a million draws of every source with the default generator,
whole arrays, `argsort` for the shortest interval. Both contestants run on one thread and report mean,
standard uncertainty and shortest 95 % interval of the three results. Each ratio is formed inside one
round, so that a slow moment of the machine hits both.

Run: python tests/speed/monte_carlo.py
"""

import statistics
import time
from collections.abc import Callable
from typing import Any, TypeAlias

import numpy as np

from labkit.uncertainty.components import Component, Input
from labkit.uncertainty.montecarlo import monte_carlo

Figures: TypeAlias = tuple[float | None, float, tuple[float, float]]

DRAWS = 1_000_000
ROUNDS = 15
LIMIT = 0.6
BASELINE = "whole-array numpy (default_rng, argsort)"

# An invented pair read on an invented card: ±(0.3 % + 5 digits), one digit 1 µH for L1 and L2, 10 nH for B.
L1, L2, B = 10.00e-3, 9.96e-3, 25.0e-6
GAIN, DIGITS = 0.003, 5
DIGIT = {"L1": 1e-6, "L2": 1e-6, "B": 10e-9}


def derived(L1: Any, L2: Any, B: Any) -> tuple[Any, Any, Any]:
    """M, k and P+ in their stable forms."""
    M = (L1 + L2 - B) / 2
    k = M / np.sqrt(L1 * L2)
    P = (L1 + L2) / 2 - B / 4 - (L1 - L2) ** 2 / (4 * B)
    return M, k, P


def inputs() -> list[Input]:
    """The three readings with a gain that L1 and L2 share."""
    shared, own = Component("gain mH", "rectangular", GAIN), Component("gain µH", "rectangular", GAIN)

    def reading(name: str, value: float, gain: Component) -> Input:
        digits = Component(f"digits of {name}", "rectangular", DIGITS * DIGIT[name])
        step = Component(f"step of {name}", "rectangular", DIGIT[name] / 2)
        return Input(name, value, ((gain, value), (digits, 1.0), (step, 1.0)))

    return [reading("L1", L1, shared), reading("L2", L2, shared), reading("B", B, own)]


def engine() -> list[Figures]:
    """Mean, standard uncertainty and shortest interval of each result by labkit."""
    results = monte_carlo(derived, inputs(), seed=1, draws=DRAWS)
    return [(each.mean, each.standard_uncertainty, each.shortest) for each in results]


def baseline() -> list[Figures]:
    """The same by plain numpy."""
    rng = np.random.default_rng(1)
    gain = 1 + rng.uniform(-GAIN, GAIN, DRAWS)
    own = 1 + rng.uniform(-GAIN, GAIN, DRAWS)

    def reading(name: str, value: float, gain: Any) -> Any:
        digit = DIGIT[name]
        digits = rng.uniform(-DIGITS * digit, DIGITS * digit, DRAWS)
        return value * gain + digits + rng.uniform(-digit / 2, digit / 2, DRAWS)

    outputs = derived(reading("L1", L1, gain), reading("L2", L2, gain), reading("B", B, own))
    return [(float(y.mean()), float(y.std(ddof=1)), _shortest_by_argsort(y)) for y in outputs]


def _shortest_by_argsort(y: Any) -> tuple[float, float]:
    ordered = y[np.argsort(y)]
    held = int(0.95 * y.size)
    start = int(np.argmin(ordered[held:] - ordered[:-held]))
    return float(ordered[start]), float(ordered[start + held])


def _seconds(job: Callable[[], object]) -> float:
    begin = time.perf_counter()
    job()
    return time.perf_counter() - begin


def ratio(rounds: int = ROUNDS) -> tuple[float, ...]:
    """Time of the engine over time of the baseline, one ratio a round, after one warm-up of each."""
    for warm_up in (engine, baseline):
        warm_up()
    return tuple(_seconds(engine) / _seconds(baseline) for _ in range(rounds))


def main() -> None:
    """Print the median ratio and its spread."""
    ratios = sorted(ratio())
    print(
        f"Monte Carlo of M, k, P+, {DRAWS} draws: {statistics.median(ratios):.2f} x {BASELINE}"
        f" (from {ratios[0]:.2f} to {ratios[-1]:.2f} in {len(ratios)} rounds; limit {LIMIT})"
    )


if __name__ == "__main__":
    main()
