"""The demo records, invented sessions on the virtual bench: `python -m labkit.bench.demo` writes them."""

import textwrap
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar

from labkit.bench.bench import Bench, new_bench
from labkit.bench.card import parse_card
from labkit.bench.store import Record
from labkit.bench.virtual import VirtualBench
from labkit.errors import EntryError
from labkit.resources import shipped
from labkit.theory.pair import Pair
from labkit.words import demo as words

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
        title=words.TITLE,
        explanation=words.OWN_WORDS,
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
        title=words.BOX_TITLE,
        explanation=words.BOX_WORDS,
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
        title=words.SHORT_TITLE,
        explanation=words.SHORT_WORDS,
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
    opened = {"invented": True, "scenario": words.SCENARIO, "seed": session.seed}
    bench = new_bench(folder, session.part, clock=ticks().__next__, **opened)
    bench.accept_cautions(by="p1")
    bench.accept_cautions(by="p2")
    turns: dict[str, Any] = {"turns": list(session.turns)} if session.turns else {}
    dots = session.dots if session.marked else None
    bench.describe(windings=2, family="same core", dots=dots, title=session.title, **turns)
    bench.meter("meter-a", card)
    bench.note_conditions(
        temperature="22.5 °C", test_level="0.5 V", correction="leads zeroed, shorted", note=words.NOTE
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
            bench.correct(id, shown, words.REASON, by="p2")
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
        raise EntryError(words.NO_DEMO.format(given=name, known=", ".join(demos)), name)
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
