"""The choke against ngspice: random chokes of two and three windings in random wirings.

Source: the circuits and their answers are computed for this test by an independent nodal simulator, with
coupled inductors where the model has a core.
"""

import random
from pathlib import Path

import numpy as np
import pytest

from labkit.theory.wiring import all_wirings
from tests.chokes import random_choke, simulated

CHOKES = {2: 120, 3: 60}
SWEEP = "dec 4 1k 30meg"


@pytest.mark.parametrize("windings", CHOKES)
def test_the_choke_agrees_with_ngspice(windings: int, tmp_path: Path) -> None:
    """Core loss, leakage, resistance and all capacitances give the impedance that the simulator finds."""
    rng = random.Random(31 + windings)
    wirings = [wiring.notation for wiring in all_wirings(windings)]
    hooked = [(random_choke(rng, windings), rng.choice(wirings)) for _ in range(CHOKES[windings])]
    frequency, seen = simulated(hooked, SWEEP, tmp_path)
    for (choke, wiring), Z in zip(hooked, seen, strict=True):
        ours = choke.impedance(wiring, frequency)
        assert np.max(np.abs(ours / Z - 1)) < 2e-6, (choke, wiring)
