"""A fit of six parameters to 1601 points, against scipy's least squares with finite differences.

Both contestants have the same sweep, model, logarithms and start, read off the sweep. The baseline is
`scipy.optimize.least_squares` as it comes (trust region, forward differences). The engine's time is all of
`fit_model`: start, search for a second minimum, climb, covariance. Both must end in the same sum of squares.

How often the baseline calls the model depends on the part: about 20 times here. Where it needs half of that,
the ratio is up to twice as large; where it ends in a false minimum there is nothing to compare.

Run: python -m tests.speed.fitting
"""

import json
import os
import statistics
import subprocess
import sys
import time

import numpy as np
from scipy.optimize import least_squares

from labkit.choke.choose_model import fit_model, starts, thinned
from labkit.theory.models import CORE_DAMPED
from tests.chokes import noisy

POINTS, U, ROUNDS = 1601, 0.003, 31
LIMIT = 0.3
BASELINE = "scipy's least_squares with finite differences, from the same start"

# An invented choke: 20 mH on a core with a relaxation at 300 kHz, 20 pF with 1 kΩ in series.
CHOKE = (0.2, 50e-6, 20e-3, 300e3, 20e-12, 1e3)
FREQUENCY = np.geomspace(1e3, 100e6, POINTS)
SWEEP = noisy(FREQUENCY, CORE_DAMPED.impedance(CHOKE, FREQUENCY), U, np.random.default_rng(1))


def engine() -> float:
    """Sum of squares of labkit's fit."""
    return fit_model(CORE_DAMPED, SWEEP, U).squares


def baseline() -> float:
    """Sum of squares of scipy's."""
    weight = 1 / (np.abs(SWEEP.Z) * U)

    def off(x: np.ndarray) -> np.ndarray:
        return np.asarray(((SWEEP.Z - CORE_DAMPED.impedance(np.exp(x), FREQUENCY)) * weight).view(float))

    start = np.log(next(starts(CORE_DAMPED, thinned(SWEEP))))
    return float(2 * least_squares(off, start).cost)


def here(rounds: int) -> tuple[float, ...]:
    """Time of the engine over time of the baseline, one ratio a round, after one warm-up of each."""
    if not np.isclose(engine(), baseline(), rtol=1e-4):
        raise AssertionError("the two fits do not end in the same minimum")
    ratios = []
    for _ in range(rounds):
        begin = time.perf_counter()
        engine()
        middle = time.perf_counter()
        baseline()
        ratios.append((middle - begin) / (time.perf_counter() - middle))
    return tuple(ratios)


def ratio(rounds: int = ROUNDS) -> tuple[float, ...]:
    """The same in a process of its own with one thread, as more only slow down matrices as small as these."""
    one = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    command = [sys.executable, "-m", "tests.speed.fitting", str(rounds)]
    done = subprocess.run(command, env=os.environ | one, check=True, capture_output=True, text=True)
    return tuple(json.loads(done.stdout))


def main() -> None:
    """Print the median ratio and its spread; with a number of rounds, only the ratios."""
    if len(sys.argv) > 1:
        print(json.dumps(here(int(sys.argv[1]))))
        return
    ratios = sorted(ratio())
    print(
        f"fit of {POINTS} points, 6 parameters: {statistics.median(ratios):.2f} x {BASELINE}"
        f" (from {ratios[0]:.2f} to {ratios[-1]:.2f} in {len(ratios)} rounds; limit {LIMIT})"
    )


if __name__ == "__main__":
    main()
