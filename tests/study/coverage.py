"""Coverage: how often the joint fit's 95 % interval holds the truth."""

from collections import Counter

import numpy as np

from labkit.analysis.joint_fit import QUANTITIES, fit
from labkit.analysis.observations import observe
from labkit.record.card import Gain
from labkit.record.virtual_bench import VirtualBench
from labkit.theory.pair import Pair
from tests.benches import virtual_bench
from tests.study.planting import SETS, card

COUPLINGS = (0.3, 0.9, 0.99, 0.999, 0.9998)
JUDGED = (
    "mutual_inductance",
    "coupling_coefficient",
    "gap",
    "parallel_aiding",
    "leakage_differential_mode",
    "short_circuit_1",
)
DRAWS = 4000


def block(k: float, card_: str, gain: Gain, first: int, count: int) -> dict[str, int]:
    """How many of some benches' intervals hold the truth, by quantity."""
    held: Counter[str] = Counter(benches=count)
    for seed in range(first, first + count):
        rng = np.random.default_rng([seed, int(k * 1e5), *map(ord, card_ + gain)])
        L1 = float(np.exp(rng.uniform(np.log(1e-3), np.log(15e-3))))
        half = min(0.02, (1 - k) ** 0.5 / 2)  # unlike windings cannot be coupled as closely
        pair = Pair.from_coupling(L1, L1 * (1 + half * rng.uniform(-1, 1)), k)
        meter = VirtualBench(pair.matrix(), card(card_), int(rng.integers(2**31)), gain=gain)
        found = fit(observe(virtual_bench(meter, SETS["four"], card_), gain)).drawn(DRAWS)
        true = (pair.L1, pair.L2, pair.B)
        for name in JUDGED:
            low, high = found[name].interval
            held[name] += int(low <= float(QUANTITIES[name][1](*true)) <= high)
    return dict(held)
