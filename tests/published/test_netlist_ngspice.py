"""The subcircuit of a choke, run by ngspice, against the model that it was written from.

Source: the circuits and their answers are computed for this test by an independent simulator.
"""

import random
from pathlib import Path

import numpy as np
import pytest

from labkit.choke.choke_fit import netlist
from labkit.errors import EntryError
from labkit.theory.choke import Choke
from labkit.theory.modes import part_of_choke
from tests.chokes import TRIO
from tests.spice import run

AGREEMENT = 1e-6
CHOKES = 40
SWEEP = "dec 3 1k 30meg"
COMMON, DIFFERENTIAL = "1a 1b | 1a=2a 1b=2b", "1a 2a | 1b=2b"
WIRINGS = (COMMON, DIFFERENTIAL, "1a 1b", "2a 2b", "1a 1b | 2a=2b", "2a 2b | 1a=1b")
BRIDGE = {False: 1e3, True: 1e12}
"""Ω, from a winding that nothing galvanic joins to ground; by whether a capacitance does."""


def random_choke(rng: random.Random) -> Choke:
    """Two windings: 0.1 mH to 50 mH, leakage down to a hundred-thousandth, half with a mirrored dot."""
    core = 10 ** rng.uniform(-4, -1.3)
    return Choke(
        R=[10 ** rng.uniform(-3, 0.5) for _ in range(2)],
        leakage=[core * 10 ** rng.uniform(-5, -1.5) for _ in range(2)],
        core=core,
        turns=(1, rng.choice((-1, 1)) * rng.uniform(0.9, 1.1)),
        relaxation=10 ** rng.uniform(5, 7) if rng.random() < 0.8 else None,
        C=[10 ** rng.uniform(-12, -10.3) if rng.random() < 0.8 else 0.0 for _ in range(2)],
        between=[10 ** rng.uniform(-12, -10.3)] if rng.random() < 0.7 else [0.0],
    )


def hooked_up(name: str, wiring: str, coupled: bool) -> list[str]:
    """A unit current through the clips of a wiring of subcircuit `name`; the second clip is ground."""
    (clips, _, ties), (number, _) = wiring.partition("|"), name.split("_")
    node = {f"{w}{end}": f"{name}_{w}{end}" for w in "12" for end in "ab"}
    for tie in ties.split():
        first, second = tie.split("=")
        node = {t: node[first] if n == node[second] else n for t, n in node.items()}
    high, low = (node[clip] for clip in clips.split())
    node = {t: "0" if n == low else n for t, n in node.items()}
    bridges = [f"R{name}_{w} {node[f'{w}b']} 0 {BRIDGE[coupled]}" for w in "12" if not alone(node, w)]
    return [
        f"I{name} 0 {high} DC 0 AC 1",
        f"X{name} {' '.join(node[t] for t in ('1a', '1b', '2a', '2b'))} choke{number}",
        f"E{name} seen_{name} 0 {high} 0 1",
        f".save v(seen_{name})",
        *bridges,
    ]


def alone(node: dict[str, str], winding: str) -> bool:
    """Whether a winding has a way to ground already."""
    other = {"1": "2", "2": "1"}[winding]
    own, others = ({node[f"{w}{end}"] for end in "ab"} for w in (winding, other))
    return "0" in own or bool(own & others)


@pytest.fixture(scope="module")
def compared(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Choke, str, float]]:
    """Every choke in every wiring with the worst relative difference of ngspice and the model."""
    rng = random.Random(6174)
    chokes = [random_choke(rng) for _ in range(CHOKES)]
    lines = [line for i, choke in enumerate(chokes) for line in netlist(choke, f"choke{i}").splitlines()]
    for i, choke in enumerate(chokes):
        for j, wiring in enumerate(WIRINGS):
            lines += hooked_up(f"{i}_{j}", wiring, coupled=bool(np.any(choke.between)))
    table = run(lines, SWEEP, tmp_path_factory.mktemp("netlist"))
    f = table["frequency"].real
    return [
        (choke, wiring, _worst(choke.impedance(wiring, f), table[f"v(seen_{i}_{j})"]))
        for i, choke in enumerate(chokes)
        for j, wiring in enumerate(WIRINGS)
    ]


def _worst(ours: np.ndarray, seen: np.ndarray) -> float:
    return float(np.max(np.abs(seen / ours - 1)))


@pytest.mark.parametrize("wiring", WIRINGS)
def test_ngspice_gives_the_impedances_of_the_model(
    compared: list[tuple[Choke, str, float]], wiring: str
) -> None:
    """Both modes, one winding alone and with the other shorted: the same within a millionth."""
    found = [worst for _, built, worst in compared if built == wiring]
    print(f"{wiring}: worst relative difference {max(found):.1e} over {len(found)} chokes")
    assert len(found) == CHOKES
    assert max(found) < AGREEMENT


def test_the_circuits_have_something_to_disagree_about(compared: list[tuple[Choke, str, float]]) -> None:
    """Chokes go from inductive to capacitive, or the core loses, within the frequencies of the run."""
    f = np.geomspace(1e3, 30e6, 41)
    phases = [np.angle(choke.impedance(COMMON, f), deg=True) for choke, _, _ in compared[:: len(WIRINGS)]]
    assert sum(phase.max() > 80 and phase.min() < -80 for phase in phases) > CHOKES / 3
    assert sum(10 < np.abs(phase).min() < 80 for phase in phases) > CHOKES / 10


def test_three_windings(tmp_path: Path) -> None:
    """A lossy three-winding choke with all its capacitances in common mode and from line to line."""
    part = part_of_choke(TRIO)
    lines = [
        *netlist(TRIO, "trio").splitlines(),
        "Xc high 0 high 0 0 high trio",
        "Ic 0 high DC 0 AC 1",
        ".save v(high) v(line)",
        "Xd line t 0 t o2 o1 trio",
        f"Rbridge o1 0 {BRIDGE[True]}",
        "Id 0 line DC 0 AC 1",
    ]
    table = run(lines, SWEEP, tmp_path)
    f = table["frequency"].real
    assert _worst(part.mode_impedance("common mode", f), table["v(high)"]) < AGREEMENT
    assert _worst(TRIO.impedance("1a 2a | 1b=2b", f), table["v(line)"]) < AGREEMENT


def test_a_part_without_resistance_leakage_or_loss(tmp_path: Path) -> None:
    """Elements of nothing are left out: an ideal transformer on an inductance still runs."""
    choke = Choke(R=(0, 0), leakage=(0, 0), core=1e-3)
    text = netlist(choke)
    assert not [line for line in text.splitlines() if line[:2] in ("R1", "L1", "R2", "L2", "Rc", "C1")]
    lines = [*text.splitlines(), "X1 a 0 o 0 choke", "I1 0 a DC 0 AC 1", "Ro o 0 1e12", ".save v(a)"]
    table = run(lines, SWEEP, tmp_path)
    assert _worst(choke.impedance("1a 1b", table["frequency"].real), table["v(a)"]) < AGREEMENT


def test_how_it_was_made_stands_in_comments_only() -> None:
    """Words of several lines become comments, so that none of them is taken for an element."""
    text = netlist(Choke(R=(1, 1), leakage=(0, 0), core=1e-3), made="fitted\nR9 to 3 sweeps")
    assert "* fitted\n* R9 to 3 sweeps\n.subckt" in text
    assert text.isascii()


@pytest.mark.parametrize("name", ["", "2nd", "my choke", "a.b", "µ"])
def test_a_name_that_simulators_would_not_take_is_refused(name: str) -> None:
    """The sentence says what a name may be."""
    with pytest.raises(EntryError, match="begin with a letter"):
        netlist(Choke(R=(1, 1), leakage=(0, 0), core=1e-3), name)
