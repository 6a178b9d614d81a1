"""Insertion loss of random chokes with X- and Y-capacitors against ngspice, in both modes.

Source: the circuits and their answers are computed for this test by an independent simulator. Its netlist is
written here from the values alone: coupled inductors, and capacitors with their series resistance and leads.
"""

import math
import random
from dataclasses import dataclass

import numpy as np
import pytest

from labkit.theory.insertion import Capacitor, Filter, Termination, insertion_loss
from labkit.theory.modes import part_of_inductances
from tests.spice import run

AGREEMENT = 1e-6  # of the ratio of the voltages; 1e-5 dB
FILTERS = 60
SWEEP = "lin 5 1meg 9meg"
PLACES = ("x_source", "x_load", "y_source", "y_load")
ENDS = [(50, 50), (0.1, 100), (100, 0.1), (25, 25), (100, 100)]


@dataclass(frozen=True)
class Case:
    """One filter as plain numbers, its terminations, and on which end the dot of winding 2 is."""

    L: list[list[float]]
    R: list[float]
    capacitors: dict[str, Capacitor]
    source: float
    load: float
    mirrored: bool

    @property
    def ours(self) -> Filter:
        """The filter as labkit takes it."""
        part = part_of_inductances(self.L, "1a 2b" if self.mirrored else "1a 2a", self.R)
        return Filter(part, **self.capacitors)


def random_case(rng: random.Random) -> Case:
    """0.1 mH to 30 mH, k from 0.9 to 0.9999, up to 5 % unequal; each capacitor there three times in four."""
    L1 = 10 ** rng.uniform(-4, -1.5)
    L2 = L1 * rng.uniform(0.95, 1.05)
    mirrored = rng.random() < 0.5
    M = (1 - 10 ** rng.uniform(-4, -1)) * math.sqrt(L1 * L2) * (-1 if mirrored else 1)
    capacitors = {
        place: Capacitor(
            10 ** rng.uniform(-8, -6) if place.startswith("x") else 10 ** rng.uniform(-10, -8),
            R=10 ** rng.uniform(-3, -1),
            L=10 ** rng.uniform(-9, -8),
        )
        for place in PLACES
        if rng.random() < 0.75
    }
    R = [10 ** rng.uniform(-2.5, 0) for _ in range(2)]
    return Case([[L1, M], [M, L2]], R, capacitors, *rng.choice(ENDS), mirrored)


def netlist(name: str, case: Case, common: bool, filtered: bool) -> list[str]:
    """A source of 1 V behind its resistance, the filter or two wires, the load; the voltage on it is saved.

    In differential mode source and load float; a large resistance gives each of the nodes a potential.
    """
    n = {key: f"{name}_{key}" for key in ("1", "2", "o1", "o2", "e", "g", "s")}
    if common:
        n |= {"2": n["1"], "o2": n["o1"], "g": "0"}
    source_return, load_return = ("0", "0") if common else (n["2"], n["o2"])
    lines = [f"V{name} {n['e']} {source_return} DC 0 AC 1", f"Rs{name} {n['e']} {n['1']} {case.source}"]
    lines += [f"Rl{name} {n['o1']} {load_return} {case.load}"]
    lines += _filter(name, n, case) if filtered else _wires(name, n)
    lines += [f"Rg{name} {n['g']} 0 1e3"] if not common else []
    lines += [] if common else [f"Rh{name} {n['o2']} 0 1e12"]
    return [*lines, f"E{name} {n['s']} 0 {n['o1']} {load_return} 1", f".save v({n['s']})"]


def _wires(name: str, n: dict[str, str]) -> list[str]:
    second = [f"V2{name} {n['2']} {n['o2']} 0"] if n["2"] != n["1"] else []
    return [f"V1{name} {n['1']} {n['o1']} 0", *second]


def _filter(name: str, n: dict[str, str], case: Case) -> list[str]:
    """Winding 2 runs from the load to the source if its dot is on end b: lines come in at the dots."""
    k = case.L[0][1] / math.sqrt(case.L[0][0] * case.L[1][1])
    a2, b2 = (n["o2"], n["2"]) if case.mirrored else (n["2"], n["o2"])
    lines = [
        f"R1{name} {n['1']} {name}_w1 {case.R[0]!r}",
        f"L1{name} {name}_w1 {n['o1']} {case.L[0][0]!r}",
        f"R2{name} {a2} {name}_w2 {case.R[1]!r}",
        f"L2{name} {name}_w2 {b2} {case.L[1][1]!r}",
        f"K{name} L1{name} L2{name} {k!r}",
    ]
    for place, capacitor in case.capacitors.items():
        first, second = (n["1"], n["2"]) if place.endswith("source") else (n["o1"], n["o2"])
        joined = [(first, second)] if place.startswith("x") else [(first, n["g"]), (second, n["g"])]
        for i, ends in enumerate(joined):
            lines += _capacitor(f"{place}{i}{name}", *ends, capacitor)
    return lines


def _capacitor(name: str, first: str, second: str, capacitor: Capacitor) -> list[str]:
    return [
        f"C{name} {first} {name}_c {capacitor.C!r}",
        f"RC{name} {name}_c {name}_r {capacitor.R!r}",
        f"LC{name} {name}_r {second} {capacitor.L!r}",
    ]


@pytest.fixture(scope="module")
def compared(
    tmp_path_factory: pytest.TempPathFactory,
) -> dict[str, list[tuple[Case, np.ndarray, np.ndarray]]]:
    """For each mode, every case with its insertion loss in dB by labkit and by ngspice."""
    rng = random.Random(271828)
    cases = [random_case(rng) for _ in range(FILTERS)]
    lines = []
    for i, case in enumerate(cases):
        for common in (True, False):
            for filtered in (True, False):
                lines += netlist(f"n{i}_{common:d}{filtered:d}", case, common, filtered)
    table = run(lines, SWEEP, tmp_path_factory.mktemp("filters"))
    f = table["frequency"].real
    found: dict[str, list[tuple[Case, np.ndarray, np.ndarray]]] = {}
    for mode, common in (("common mode", 1), ("differential mode", 0)):
        for i, case in enumerate(cases):
            without, with_it = (np.abs(table[f"v(n{i}_{common}{filtered}_s)"]) for filtered in (0, 1))
            ours = insertion_loss(case.ours, mode, Termination.of(case.source, case.load), f)
            found.setdefault(mode, []).append((case, ours, 20 * np.log10(without / with_it)))
    return found


@pytest.mark.parametrize("mode", ["common mode", "differential mode"])
def test_insertion_loss_is_that_of_ngspice(
    compared: dict[str, list[tuple[Case, np.ndarray, np.ndarray]]], mode: str
) -> None:
    """Sixty filters at five frequencies: the voltages on the load have the same ratio within a millionth."""
    apart = [np.max(np.abs(10 ** ((ours - seen) / 20) - 1)) for _, ours, seen in compared[mode]]
    print(f"{mode}: worst relative difference {max(apart):.1e} over {len(apart)} filters")
    assert len(apart) == FILTERS
    assert max(apart) < AGREEMENT


def test_the_filters_filter(compared: dict[str, list[tuple[Case, np.ndarray, np.ndarray]]]) -> None:
    """There is something to disagree about: losses from below nothing, in a resonance, to above 100 dB."""
    dB = np.array([ours for rows in compared.values() for _, ours, _ in rows])
    assert dB.min() < 0.1
    assert dB.max() > 100
