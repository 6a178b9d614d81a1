"""The invented class of twenty: `python -m tests.make_data.class_demo` writes `data/class`, the same bytes.

Two exercises: in `own_parts` each group has a choke of its own, in `round_robin` one choke went from group to
group; `reference.jsonl` states its windings as a certificate would. In each, one reading is written
down with its prefix off and one wiring was built wrongly; nothing in the records says which.
"""

import shutil
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from labkit.record.bench import new_bench
from labkit.record.card import read_card
from labkit.record.demo import ticks
from labkit.record.virtual_bench import BuiltInstead, Fault, PrefixSlip, VirtualBench
from labkit.resources import shipped
from labkit.theory.pair import Pair

# Texts of the invented class. Scenario, people, parts and figures are invented.

SCENARIO = (
    "Invented scenario: twenty groups of an evening course at one afternoon. Windings, meters, mistakes and all figures come "
    "from labkit's virtual bench."
)
PART = "choke-{group:02}"
ROUND = "round-robin-choke"
TITLE = "Ring-core choke of a class set (invented)"
CERTIFICATE = "certificate of an invented laboratory"

FOLDER = ("data", "class")
GROUPS = 20
SEED = 15
FINE, COARSE = "bench-fine", "hand-held-coarse"
COARSE_GROUPS = (3, 6, 9, 12, 16, 19)
NO_CARD = 14
FREQUENCY = "10 kHz"
SINGLE, LINE, SIDE = "1a 1b", "1a 2a | 1b=2b", "1a 1b | 1a=2a 1b=2b"
PLAN = (
    ("winding-1", SINGLE),
    ("winding-2", "2a 2b"),
    ("line-forward", "1a 2b | 1b=2a"),
    ("line-reversed", LINE),
    ("side-by-side", SIDE),
    ("side-by-side-reversed", "1a 1b | 1a=2b 1b=2a"),
)
FAULTS: dict[str, dict[int, tuple[Fault, ...]]] = {
    "own_parts": {11: (PrefixSlip(SINGLE, 3),), 17: (BuiltInstead(SIDE, "1a 1b | 2a=2b"),)},
    "round_robin": {5: (PrefixSlip(LINE, 3),), 17: (BuiltInstead(SIDE, "1a 1b | 2a=2b"),)},
}
"""Which groups err, by exercise: a prefix off by a thousand, a short across winding 2 instead of two ties."""
CLASS_DEMO_ROUND = Pair(L1=5.310e-3, L2=5.284e-3, B=42.4e-6)
"""The choke that goes round."""
STATED, U_STATED = ("5.311 mH", "5.283 mH"), "0.004 mH"


@dataclass(frozen=True)
class Bench:
    """One invented bench of the class."""

    part: str
    pair: Pair
    card: str | None
    seed: int
    faults: Sequence[Fault] = ()
    drift: float = 0.0
    """Relative, of the windings: the room is not equally warm for every group; leakage stays."""
    stated: tuple[str, ...] = ()
    """What a certificate states of the windings."""


def own_part(group: int) -> Pair:
    """The choke of a group: chokes of one kind differ by tens of per cent."""
    rng = np.random.default_rng([SEED, group])
    L1 = 7.0e-3 * float(np.exp(rng.uniform(-0.35, 0.40)))
    k = 1 - float(np.exp(rng.uniform(-6.3, -5.3)))
    return Pair.from_coupling(L1, L1 * float(rng.uniform(0.985, 1.015)), k)


def benches(exercise: str) -> list[Bench]:
    """Every bench of an exercise, group 1 first."""
    found = []
    for group in range(1, GROUPS + 1):
        card = None if group == NO_CARD else COARSE if group in COARSE_GROUPS else FINE
        own = exercise == "own_parts"
        drift = 0.0 if own else float(np.random.default_rng([SEED, 100 + group]).normal(0, 8e-4))
        part, pair = (PART.format(group=group), own_part(group)) if own else (ROUND, CLASS_DEMO_ROUND)
        seed = SEED * 1000 + group + (0 if own else 500)
        found.append(Bench(part, pair, card, seed, FAULTS[exercise].get(group, ()), drift))
    return found


def _warmed(pair: Pair, drift: float) -> Pair:
    return Pair(pair.L1 * (1 + drift), pair.L2 * (1 + drift), pair.B)


def write(file: Path, bench: Bench) -> None:
    """Write the record of one bench to a file."""
    card = shipped("data", "cards", f"{bench.card or FINE}.toml")
    truth = _warmed(bench.pair, bench.drift).matrix()
    meter = VirtualBench(truth, read_card(card), bench.seed, FREQUENCY, faults=bench.faults)
    opened = {"invented": True, "scenario": SCENARIO, "seed": bench.seed}
    with tempfile.TemporaryDirectory() as folder:
        made = new_bench(folder, bench.part, clock=ticks().__next__, **opened)
        made.accept_cautions(by="p1")
        made.describe(windings=2, family="same core", dots="1a 2a", title=TITLE)
        made.meter("meter-a", card.read_text(encoding="utf-8") if bench.card else None)
        for id, wiring in PLAN[2:]:
            made.commit(wiring, "14 mH" if id.startswith("line") else "3.5 mH", f"own-{id}", by="p1")
        made.use(frequency=FREQUENCY, mode="series", meter="meter-a", leads="zeroed", by="p2")
        for id, wiring in PLAN:
            made.read(wiring, meter.shown(wiring), id)
        for winding, stated in enumerate(bench.stated, start=1):
            made.reference(winding, stated, uncertainty=U_STATED, coverage_factor="2", source=CERTIFICATE)
        shutil.copyfile(Path(folder) / "record.jsonl", file)


def write_all(folder: Path) -> None:
    """Write both exercises and the reference below a folder."""
    for exercise in FAULTS:
        (folder / exercise).mkdir(parents=True, exist_ok=True)
        for group, bench in enumerate(benches(exercise), start=1):
            write(folder / exercise / f"group-{group:02}.jsonl", bench)
    write(folder / "reference.jsonl", Bench(ROUND, CLASS_DEMO_ROUND, FINE, SEED, stated=STATED))


if __name__ == "__main__":
    write_all(shipped(*FOLDER))
