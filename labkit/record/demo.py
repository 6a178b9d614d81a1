"""The demo records, invented sessions on the virtual bench: `python -m labkit.record.demo` writes them."""

import shutil
import tempfile
import textwrap
import weakref
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from labkit import quantity
from labkit.errors import EntryError, MissingReading
from labkit.record.bench import Bench, new_bench
from labkit.record.card import parse_card
from labkit.record.record_file import Record
from labkit.record.state import Answer
from labkit.record.virtual_bench import BuiltInstead, Fault, PrefixSlip, VirtualBench
from labkit.resources import shipped
from labkit.show import Part, Shown, Text
from labkit.theory.pair import Pair

# Texts of the demo record. Scenario, people, part and figures are invented.

SCENARIO = (
    "Invented scenario: two members of an evening course measure a ring-core choke from a box of teaching samples. "
    "The windings, the meter and all figures come from labkit's virtual bench."
)
TITLE = "Teaching sample 12, two windings on one ring (invented)"
NOTE = "Part at rest on the bench for an hour, singles read back to back."
REASON = "Decimal point misplaced when copying; the display still showed the reading."
OWN_WORDS = (
    "We expected the two windings to add up like two resistors. In line they gave four times one winding, and with one "
    "winding turned round almost nothing, so both sit on the same flux. Side by side changed almost nothing either, "
    "which is why we also turned one winding round before we believed our clamps."
)
BOX_TITLE = "Box 3, four terminals, two windings, no dots marked (invented)"
BOX_WORDS = (
    "Nothing on the box says where the dots are. We read both windings in line twice, the second time with winding 2 turned "
    "round. The larger reading is the one where the fluxes add, so the current then enters both dotted ends."
)
SHORT_TITLE = "Teaching sample 21, two windings on one ring (invented)"
SHORT_WORDS = (
    "We expected a shorted winding next door to change nothing. It took the reading from four millihenry to some fifty "
    "microhenry, because the shorted winding lets no flux through. What is left is the flux that it does not catch."
)
NO_DEMO = "There is no demo record '{given}'; the shipped ones are {known}."


# Sentences of the practice benches.

PRACTICE_TITLE = "Practice bench {seed}, with at most one mistake in it"
PRACTICE_SCENARIO = (
    "Invented practice bench {seed} of labkit's virtual bench; a mistake may have been planted."
)
INTRODUCTION = (
    "Practice bench {seed}, invented. The first {count} readings are taken. You may take more with practice.read(wiring), then "
    "commit a guess with practice.guess(text); only then is the solution shown."
)
GUESS_FIRST = "Commit a guess first with practice.guess(text); the solution is shown afterwards."
GUESSED = "Your guess is stored, line {line} of the record: {text}"
SOLUTION = "What was planted: {planted}. The pair behind it: L1 = {L1}, L2 = {L2}, series-opposing {B}."
YOURS = "Your guess was: {guess}"
PLANTED = {
    "nothing": "nothing, every reading is as it should be",
    "open clamp": "side by side, one clamp was open, so that winding 1 alone was in circuit",
    "reversed": "in line, winding 2 was the wrong way round, so that the connection was series-aiding",
    "short left on": "a link across winding 2 was left on while winding 1 was read",
    "prefix": "the series-opposing reading was written down with the prefix three places too large",
    "one winding": "in line, the clips sat across winding 1 alone",
}
SEED_RANGE = "The seed of a practice bench is a whole number from 0 on; {given} is not."

CARD = shipped("data", "cards", "bench-fine.toml")
FREQUENCY = "10 kHz"


@dataclass(frozen=True)
class Session:
    """An invented session: the truth behind it, and what is done in which order.

    Attributes
    ----------
    folder : below data/
    part, title, explanation : names and own words
    truth, dots : the windings, and where their dots really are
    marked : whether the dots are marked on the part
    turns : of each winding, None if nobody knows
    plan : id, wiring, own prediction
    seed : of all errors
    slip : id of a reading that is copied with a slip and then corrected, empty for none
    """

    folder: str
    part: str
    title: str
    explanation: str
    truth: Pair
    dots: str
    marked: bool
    turns: tuple[int, ...] | None
    plan: tuple[tuple[str, str, str], ...]
    seed: int
    slip: str = ""


SESSIONS = {
    "coupled_pair": Session(
        folder="demo",
        part="sample-12",
        title=TITLE,
        explanation=OWN_WORDS,
        truth=Pair(L1=6.836e-3, L2=6.794e-3, B=31.2e-6),
        dots="1a 2a",
        marked=True,
        turns=(41, 41),
        plan=(
            ("winding-1", "1a 1b", ""),
            ("winding-2", "2a 2b", ""),
            ("line-forward", "1a 2b | 1b=2a", "13.6 mH"),
            ("line-reversed", "1a 2a | 1b=2b", "13.6 mH"),
            ("side-by-side", "1a 1b | 1a=2a 1b=2b", "3.4 mH"),
            ("side-by-side-reversed", "1a 1b | 1a=2b 1b=2a", "3.4 mH"),
        ),
        seed=12,
        slip="winding-2",
    ),
    "finding_the_dots": Session(
        folder="demo_unmarked",
        part="box-3",
        title=BOX_TITLE,
        explanation=BOX_WORDS,
        truth=Pair(L1=2.412e-3, L2=1.376e-3, B=0.655e-3),
        dots="1a 2b",
        marked=False,
        turns=None,
        plan=(
            ("winding-1", "1a 1b", ""),
            ("winding-2", "2a 2b", ""),
            ("line-forward", "1a 2b | 1b=2a", "6 mH"),
            ("line-reversed", "1a 2a | 1b=2b", "0.6 mH"),
        ),
        seed=3,
    ),
    "short_circuit_and_leakage": Session(
        folder="demo_short_circuit",
        part="sample-21",
        title=SHORT_TITLE,
        explanation=SHORT_WORDS,
        truth=Pair(L1=4.214e-3, L2=4.187e-3, B=52.6e-6),
        dots="1a 2a",
        marked=True,
        turns=(33, 33),
        plan=(
            ("winding-1", "1a 1b", ""),
            ("winding-2", "2a 2b", ""),
            ("line-reversed", "1a 2a | 1b=2b", "0 mH"),
            ("first-with-second-shorted", "1a 1b | 2a=2b", "4.2 mH"),
            ("second-with-first-shorted", "2a 2b | 1a=1b", "4.2 mH"),
        ),
        seed=21,
    ),
}

FOLDERS = {name: session.folder for name, session in SESSIONS.items()} | {
    "know_your_meter": "meter_check",
    "choke_characterisation": "choke_sweeps",
    "frequency_and_resistance": "frequency",
    "common_and_differential_mode": "choke_sweeps",
    "on_the_board": "on_the_board",
    "three_windings": "three_windings",
}
"""Where in data/ each demo lies; those after the first three are written by `meter_demo` and `choke_demo`."""

Demo = TypeVar("Demo")


def write_demo(folder: str | Path, name: str = "coupled_pair") -> Bench:
    """Write a demo record into a folder that has none; the same bytes each time."""
    session = _known(name, SESSIONS)
    card = CARD.read_text(encoding="utf-8")
    alike = session.dots == "1a 2a"
    meter = VirtualBench(session.truth.matrix(alike), parse_card(card), session.seed, FREQUENCY)
    opened = {"invented": True, "scenario": SCENARIO, "seed": session.seed}
    bench = new_bench(folder, session.part, clock=ticks().__next__, **opened)
    bench.accept_cautions(by="p1")
    bench.accept_cautions(by="p2")
    turns: dict[str, Any] = {"turns": list(session.turns)} if session.turns else {}
    dots = session.dots if session.marked else None
    bench.describe(windings=2, family="same core", dots=dots, title=session.title, **turns)
    bench.meter("meter-a", card)
    bench.note_conditions(
        temperature="22.5 °C", test_level="0.5 V", correction="leads zeroed, shorted", note=NOTE
    )
    for id, wiring, expected in session.plan:
        if expected:
            bench.commit(wiring, expected, f"own-{id}", by="p1")
    bench.use(frequency=FREQUENCY, mode="series", meter="meter-a", leads="zeroed", by="p2")
    for id, wiring, _ in session.plan:
        shown = meter.shown(wiring)
        typed = _point_moved(shown) if id == session.slip else shown
        bench.read(wiring, typed, id)
        if typed != shown:
            bench.correct(id, shown, REASON, by="p2")
    bench.write("explanation", textwrap.fill(session.explanation, 84), by="p1")
    return bench


def demo_bench(name: str = "coupled_pair") -> Bench:
    """A shipped demo record, open read-only: what it holds can be said again, nothing can be added.

    Parameters
    ----------
    name : of the notebook that it belongs to

    Raises
    ------
    EntryError
        if there is no demo of that name.
    """
    return Bench(Record.open(shipped("data", _known(name, FOLDERS)), read_only=True))


def _known(name: str, demos: Mapping[str, Demo]) -> Demo:
    if name not in demos:
        raise EntryError(NO_DEMO.format(given=name, known=", ".join(demos)), name)
    return demos[name]


def _point_moved(shown: str) -> str:
    """The display copied with its decimal point one digit too far right: 6.790 becomes 67.90."""
    whole, _, decimals = shown.partition(".")
    return f"{whole}{decimals[0]}.{decimals[1:]}"


def ticks() -> Iterator[datetime]:
    """The clock of a demo: a fixed morning, forty seconds from one event to the next."""
    moment = datetime(2031, 5, 6, 8, 0, tzinfo=UTC)
    while True:
        yield moment
        moment += timedelta(seconds=40)


def write_all() -> None:
    """Write every shipped demo record anew."""
    for name, session in SESSIONS.items():
        folder = shipped("data", session.folder)
        for leftover in ("record.jsonl", "record.lock"):
            (folder / leftover).unlink(missing_ok=True)
        write_demo(folder, name)
        (folder / "record.lock").unlink(missing_ok=True)


if __name__ == "__main__":
    write_all()


# Practice benches: a virtual bench with at most one planted mistake, the same for the same seed.
#
# The record holds what was read and nothing about the mistake; the solution follows from the seed and is
# shown only after a guess has been committed.

LINE, SIDE_BY_SIDE = "1a 2a | 1b=2b", "1a 1b | 1a=2a 1b=2b"
FIRST = (
    ("winding-1", "1a 1b"),
    ("winding-2", "2a 2b"),
    ("line-reversed", LINE),
    ("side-by-side", SIDE_BY_SIDE),
)

PRACTICE_PLANTED: dict[str, tuple[Fault, ...]] = {
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
        introduction = INTRODUCTION.format(seed=self.seed, count=len(FIRST))
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
        return Answer(GUESSED.format(line=answer.event.seq, text=text), event=answer.event)

    def solution(self) -> Answer:
        """What was planted, beside your guess.

        Raises
        ------
        MissingReading
            if no guess was committed.
        """
        guesses = [event.text for event in self.bench.own_words if event.topic == "guess"]
        if not guesses:
            raise MissingReading(GUESS_FIRST)
        pair = self._truth.pair
        facts = {name: quantity.display(getattr(pair, name)) for name in ("L1", "L2", "B")}
        planted = PLANTED[self._truth.planted]
        return Answer(SOLUTION.format(planted=planted, **facts), YOURS.format(guess=guesses[-1]))


def practice_bench(seed: int, folder: str | Path | None = None) -> Practice:
    """A practice bench with its first readings taken.

    Parameters
    ----------
    seed : which one; the same seed is the same bench
    folder : where its record is kept; None for a temporary folder, removed when the bench is no longer used
    """
    if not isinstance(seed, int) or seed < 0:
        raise EntryError(SEED_RANGE.format(given=repr(seed)), repr(seed))
    card = shipped("data", "cards", "bench-fine.toml").read_text(encoding="utf-8")
    truth = _truth(seed, card)
    where = Path(folder) if folder is not None else Path(tempfile.mkdtemp(prefix="labkit-practice-"))
    scenario = PRACTICE_SCENARIO.format(seed=seed)
    bench = new_bench(where, f"practice-{seed}", invented=True, scenario=scenario)
    if folder is None:
        weakref.finalize(bench.record, shutil.rmtree, where, ignore_errors=True)
    bench.accept_cautions(by="p1")
    bench.describe(windings=2, family="same core", dots="1a 2a", title=PRACTICE_TITLE.format(seed=seed))
    bench.meter("meter-a", card)
    bench.use(frequency=FREQUENCY, mode="series", meter="meter-a", leads="zeroed", by="p2")
    for id, wiring in FIRST:
        bench.read(wiring, truth.meter.shown(wiring), id)
    return Practice(seed, bench, truth)


def _truth(seed: int, card: str) -> Truth:
    rng = np.random.default_rng([seed, 0x68756E74])
    planted = str(rng.choice(list(PRACTICE_PLANTED)))
    L1 = float(np.exp(rng.uniform(np.log(2e-3), np.log(15e-3))))
    L2 = L1 * float(rng.uniform(0.985, 1.015))
    pair = Pair.from_coupling(L1, L2, 1 - float(np.exp(rng.uniform(np.log(1.2e-3), np.log(2e-2)))))
    meter = VirtualBench(pair.matrix(), parse_card(card), seed, FREQUENCY, faults=PRACTICE_PLANTED[planted])
    return Truth(planted, pair, meter)
