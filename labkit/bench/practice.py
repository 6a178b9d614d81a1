"""Practice benches: a virtual bench with at most one planted mistake, the same for the same seed.

The record holds what was read and nothing about the mistake; the solution follows from the seed and is
shown only after a guess has been committed.
"""

import shutil
import tempfile
import weakref
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from labkit import quantity
from labkit.bench.answer import Answer
from labkit.bench.bench import Bench, new_bench
from labkit.bench.card import parse_card
from labkit.bench.virtual import BuiltInstead, Fault, PrefixSlip, VirtualBench
from labkit.errors import EntryError, MissingReading
from labkit.resources import shipped
from labkit.show import Part, Shown, Text
from labkit.theory.pair import Pair
from labkit.words import practice as words

FREQUENCY = "10 kHz"
LINE, SIDE_BY_SIDE = "1a 2a | 1b=2b", "1a 1b | 1a=2a 1b=2b"
FIRST = (
    ("winding-1", "1a 1b"),
    ("winding-2", "2a 2b"),
    ("line-reversed", LINE),
    ("side-by-side", SIDE_BY_SIDE),
)

PLANTED: dict[str, tuple[Fault, ...]] = {
    "nothing": (),
    "open clamp": (
        BuiltInstead(SIDE_BY_SIDE, "1a 1b | 1a=2a"),
        BuiltInstead("1a 1b | 1a=2b 1b=2a", "1a 1b | 1a=2b"),
    ),
    "reversed": (BuiltInstead(LINE, "1a 2b | 1b=2a"),),
    "short left on": (BuiltInstead("1a 1b", "1a 1b | 2a=2b"),),
    "prefix": (PrefixSlip(LINE, 3),),
    "one winding": (BuiltInstead(LINE, "1a 1b"),),
}
"""What may be planted. An open clamp stays open when a winding is turned round."""


@dataclass(frozen=True)
class Truth:
    """What stands behind a practice bench."""

    planted: str
    pair: Pair
    meter: VirtualBench


class Practice(Shown):
    """A practice bench to play with: look at `bench`, `read` more, `guess`, then see the `solution`."""

    def __init__(self, seed: int, bench: Bench, truth: Truth) -> None:
        self.seed = seed
        self.bench = bench
        self._truth = truth

    def parts(self) -> tuple[Part, ...]:
        introduction = words.INTRODUCTION.format(seed=self.seed, count=len(FIRST))
        return (Text(introduction), *self.bench.parts())

    def read(self, wiring: str, id: str | None = None) -> Answer:
        """Take one more reading at a wiring; the same wiring reads the same again."""
        taken = [r for r in self.bench.readings if r.id.startswith("more-")]
        return self.bench.read(wiring, self._truth.meter.shown(wiring), id or f"more-{len(taken) + 1}")

    def guess(self, text: str, by: str = "p1") -> Answer:
        """Commit what you think happened; it stays in the record."""
        answer = self.bench.write("guess", text, by=by)
        if answer.event is None:
            return answer
        return Answer(words.GUESSED.format(line=answer.event.seq, text=text), event=answer.event)

    def solution(self) -> Answer:
        """What was planted, beside your guess.

        Raises
        ------
        MissingReading
            if no guess was committed.
        """
        guesses = [event.text for event in self.bench.own_words if event.topic == "guess"]
        if not guesses:
            raise MissingReading(words.GUESS_FIRST)
        pair = self._truth.pair
        facts = {name: quantity.display(getattr(pair, name)) for name in ("L1", "L2", "B")}
        planted = words.PLANTED[self._truth.planted]
        return Answer(words.SOLUTION.format(planted=planted, **facts), words.YOURS.format(guess=guesses[-1]))


def practice_bench(seed: int, folder: str | Path | None = None) -> Practice:
    """A practice bench with its first readings taken.

    Parameters
    ----------
    seed : which one; the same seed is the same bench
    folder : where its record is kept; None for a temporary folder, removed when the bench is no longer used
    """
    if not isinstance(seed, int) or seed < 0:
        raise EntryError(words.SEED_RANGE.format(given=repr(seed)), repr(seed))
    card = shipped("data", "cards", "bench-fine.toml").read_text(encoding="utf-8")
    truth = _truth(seed, card)
    where = Path(folder) if folder is not None else Path(tempfile.mkdtemp(prefix="labkit-practice-"))
    scenario = words.SCENARIO.format(seed=seed)
    bench = new_bench(where, f"practice-{seed}", invented=True, scenario=scenario)
    if folder is None:
        weakref.finalize(bench.record, shutil.rmtree, where, ignore_errors=True)
    bench.accept_cautions(by="p1")
    bench.describe(windings=2, family="same core", dots="1a 2a", title=words.TITLE.format(seed=seed))
    bench.meter("meter-a", card)
    bench.use(frequency=FREQUENCY, mode="series", meter="meter-a", leads="zeroed", by="p2")
    for id, wiring in FIRST:
        bench.read(wiring, truth.meter.shown(wiring), id)
    return Practice(seed, bench, truth)


def _truth(seed: int, card: str) -> Truth:
    rng = np.random.default_rng([seed, 0x68756E74])
    planted = str(rng.choice(list(PLANTED)))
    L1 = float(np.exp(rng.uniform(np.log(2e-3), np.log(15e-3))))
    L2 = L1 * float(rng.uniform(0.985, 1.015))
    pair = Pair.from_coupling(L1, L2, 1 - float(np.exp(rng.uniform(np.log(1.2e-3), np.log(2e-2)))))
    meter = VirtualBench(pair.matrix(), parse_card(card), seed, FREQUENCY, faults=PLANTED[planted])
    return Truth(planted, pair, meter)
