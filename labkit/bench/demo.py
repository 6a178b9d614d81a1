"""The demo record, an invented session on the virtual bench: `python -m labkit.bench.demo FOLDER`."""

import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from labkit.bench.bench import Bench, new_bench
from labkit.bench.card import parse_card
from labkit.bench.store import Record
from labkit.bench.virtual import VirtualBench
from labkit.resources import shipped
from labkit.theory.pair import Pair
from labkit.words import demo as words

TRUTH = Pair(L1=6.836e-3, L2=6.794e-3, B=31.2e-6)
SEED = 12
CARD = shipped("data", "cards", "bench-fine.toml")
FREQUENCY = "10 kHz"
SLIP = "winding-2"  # copied with a slip, then corrected

# id, wiring, own prediction (by the rules known from resistors)
PLAN = (
    ("winding-1", "1a 1b", None),
    ("winding-2", "2a 2b", None),
    ("line-forward", "1a 2b | 1b=2a", "13.6 mH"),
    ("line-reversed", "1a 2a | 1b=2b", "13.6 mH"),
    ("side-by-side", "1a 1b | 1a=2a 1b=2b", "3.4 mH"),
    ("side-by-side-reversed", "1a 1b | 1a=2b 1b=2a", "3.4 mH"),
)


def write_demo(folder: str | Path) -> Bench:
    """Write the demo record into a folder that has none; the same bytes each time."""
    card = CARD.read_text(encoding="utf-8")
    meter = VirtualBench(TRUTH.matrix(), parse_card(card), SEED, FREQUENCY)
    bench = new_bench(
        folder, "sample-12", clock=_ticks().__next__, invented=True, scenario=words.SCENARIO, seed=SEED
    )
    bench.accept_cautions(by="p1")
    bench.accept_cautions(by="p2")
    bench.describe(windings=2, family="same core", dots="1a 2a", title=words.TITLE, turns=[41, 41])
    bench.meter("meter-a", card)
    bench.note_conditions(
        temperature="22.5 °C", test_level="0.5 V", correction="leads zeroed, shorted", note=words.NOTE
    )
    for id, wiring, expected in PLAN:
        if expected:
            bench.commit(wiring, expected, f"own-{id}", by="p1")
    bench.use(frequency=FREQUENCY, mode="series", meter="meter-a", leads="zeroed", by="p2")
    for id, wiring, _ in PLAN:
        shown = meter.shown(wiring)
        typed = _point_moved(shown) if id == SLIP else shown
        bench.read(wiring, typed, id)
        if typed != shown:
            bench.correct(id, shown, words.REASON, by="p2")
    bench.write("explanation", words.OWN_WORDS, by="p1")
    return bench


def _point_moved(shown: str) -> str:
    """The display copied with its decimal point one digit too far right: 6.790 becomes 67.90."""
    whole, _, decimals = shown.partition(".")
    return f"{whole}{decimals[0]}.{decimals[1:]}"


def demo_bench() -> Bench:
    """The shipped demo record, open read-only: what it holds can be said again, nothing can be added."""
    return Bench(Record.open(shipped("data", "demo"), read_only=True))


def _ticks() -> Iterator[datetime]:
    moment = datetime(2031, 5, 6, 8, 0, tzinfo=UTC)
    while True:
        yield moment
        moment += timedelta(seconds=40)


if __name__ == "__main__":
    write_demo(sys.argv[1])
