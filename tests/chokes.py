"""Chokes for tests: a stated population, sweeps with known noise, and the same networks for ngspice.

The simulator gets coupled inductors: one winding more, closed by the resistance 2π f_r core, stands for the
core's loss. Nothing of `labkit.theory` is used to write it.
"""

import math
import random
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from labkit.sweeps.sweep import Impedance
from labkit.theory.choke import Choke
from tests.spice import run

NO_OPERATING_POINT = ".options noopac"
"""A winding that only capacitances join has no potential at direct current; a linear circuit needs none."""


NEARLY_EQUAL = Choke(
    R=(0.12, 0.13),
    leakage=(12e-6, 13e-6),
    core=10e-3,
    turns=(1, 1.002),
    relaxation=1e6,
    C=(8e-12, 9e-12),
    between=[20e-12],
)
"""Two windings as a common-mode choke has them."""

TRIO = Choke(
    R=(0.02, 0.03, 0.02),
    leakage=(4e-6, 5e-6, 4.5e-6),
    core=2e-3,
    turns=(1, 1.02, -1),
    relaxation=3e5,
    C=(5e-12, 6e-12, 5e-12),
    between=(12e-12, 9e-12),
)
"""Three windings, the last one with its dot on the other end."""


def random_choke(rng: random.Random, windings: int = 2) -> Choke:
    """Core 0.1 to 100 mH, leakage 0.1 to 10 % of it, turns 0.5 to 2 of either polarity."""
    core = 10 ** rng.uniform(-4, -1)
    turns = [1.0, *(rng.choice((-1, 1)) * rng.uniform(0.5, 2) for _ in range(windings - 1))]
    return Choke(
        R=[10 ** rng.uniform(-2.5, 0.5) for _ in range(windings)],
        leakage=[core * 10 ** rng.uniform(-3, -1) for _ in range(windings)],
        core=core,
        turns=turns,
        relaxation=10 ** rng.uniform(5, 7),
        C=[10 ** rng.uniform(-12, -10) for _ in range(windings)],
        between=[10 ** rng.uniform(-12, -10) for _ in range(windings - 1)],
    )


def equal_choke(rng: random.Random) -> Choke:
    """The same population with two equal windings, as common-mode chokes are made."""
    one = random_choke(rng)
    R, leakage, C = (float(values[0]) for values in (one.R, one.leakage, one.C))
    return Choke([R] * 2, [leakage] * 2, one.core, None, one.relaxation, [C] * 2, one.between)


def unequal_choke(rng: random.Random) -> Choke:
    """The same population with two windings that were meant to be equal: each value apart by up to 10 %."""
    one = equal_choke(rng)
    R, leakage, C = (values * [1, rng.uniform(0.9, 1.1)] for values in (one.R, one.leakage, one.C))
    return Choke(R, leakage, one.core, [1, rng.uniform(0.9, 1.1)], one.relaxation, C, one.between)


def noisy(frequency: np.ndarray, Z: np.ndarray, u: float, rng: np.random.Generator) -> Impedance:
    """A sweep whose real and imaginary parts err independently by u |Z|."""
    errors = rng.standard_normal(len(Z)) + 1j * rng.standard_normal(len(Z))
    return Impedance(frequency, Z + u * np.abs(Z) * errors)


def simulated(
    hooked: Sequence[tuple[Choke, str]], sweep: str, folder: Path
) -> tuple[np.ndarray, list[np.ndarray]]:
    """Frequencies (Hz), and what ngspice sees at the clips of each choke in its wiring (Ω), in one run."""
    lines = [line for number, (choke, wiring) in enumerate(hooked) for line in _lines(number, choke, wiring)]
    table = run([NO_OPERATING_POINT, *lines], sweep, folder)
    return table["frequency"].real, [table[f"v(seen_{number})"] for number in range(len(hooked))]


def _lines(number: int, choke: Choke, wiring: str) -> list[str]:
    clips, _, ties = wiring.partition("|")
    first, second = clips.split()
    N = choke.windings
    node = {f"{w}{end}": f"{number}_{w}{end}" for w in range(1, N + 1) for end in "ab"}
    for tie in ties.split():
        head, *tail = tie.split("=")
        for terminal in tail:
            node = {t: node[head] if n == node[terminal] else n for t, n in node.items()}
    node = {t: "0" if n == node[second] else n for t, n in node.items()}
    lines = [f"Imeter{number} 0 {node[first]} DC 0 AC 1", f"Eseen{number} seen_{number} 0 {node[first]} 0 1"]
    lines += [f".save v(seen_{number})"]
    for w in range(1, N + 1):
        a, b, inside = node[f"{w}a"], node[f"{w}b"], f"{number}_{w}"
        own = float(choke.leakage[w - 1] + choke.core * choke.turns[w - 1] ** 2)
        lines += [f"R{inside} {a} {inside} {float(choke.R[w - 1])!r}", f"L{inside} {inside} {b} {own!r}"]
        lines += [f"C{inside} {a} {b} {float(choke.C[w - 1])!r}"] if a != b else []
    for w in range(1, N):
        half = float(choke.between[w - 1]) / 2
        pairs = [(end, node[f"{w}{end}"], node[f"{w + 1}{end}"]) for end in "ab"]
        lines += [f"Cb{number}_{w}{end} {one} {other} {half!r}" for end, one, other in pairs if one != other]
    return lines + _core(number, choke)


def _core(number: int, choke: Choke) -> list[str]:
    """The winding that stands for the loss, and all couplings."""
    assert choke.relaxation is not None
    turns = [*map(float, choke.turns), 1.0]
    own = [float(choke.leakage[w]) + choke.core * turns[w] ** 2 for w in range(choke.windings)] + [choke.core]
    name = [f"L{number}_{w + 1}" for w in range(choke.windings)] + [f"Lloss{number}"]
    lines = [f"Lloss{number} loss{number} 0 {choke.core!r}"]
    lines += [f"Rloss{number} loss{number} 0 {2 * math.pi * choke.relaxation * choke.core!r}"]
    for j in range(len(own)):
        for i in range(j):
            k = choke.core * turns[i] * turns[j] / math.sqrt(own[i] * own[j])
            lines.append(f"K{number}_{i}{j} {name[i]} {name[j]} {k!r}")
    return lines
