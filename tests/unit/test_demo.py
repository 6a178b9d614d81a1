"""The demo record: made by the virtual bench, and never to be added to."""

import textwrap
from pathlib import Path

import pytest

from labkit.errors import EntryError, RecordError
from labkit.record import demo as words
from labkit.record.bench import Bench
from labkit.record.card import read_card
from labkit.record.demo import CARD, FREQUENCY, SESSIONS, demo_bench, write_demo
from labkit.record.events import Correction
from labkit.record.virtual_bench import VirtualBench
from labkit.resources import shipped
from tests.computed import same

SHIPPED = shipped("data", "demo", "record.jsonl")
SESSION = SESSIONS["coupled_pair"]


@pytest.fixture
def demo() -> Bench:
    """The shipped demo."""
    return demo_bench()


@pytest.mark.parametrize("name", SESSIONS)
def test_the_shipped_record_is_what_the_virtual_bench_writes(name: str, tmp_path: Path) -> None:
    """`write_demo` gives the shipped record but for last digits, and it is sound."""
    made = write_demo(tmp_path, name)
    there = shipped("data", SESSIONS[name].folder, "record.jsonl")
    assert same((tmp_path / "record.jsonl").read_text("utf-8"), there.read_text("utf-8"))
    assert made.record.problems == ()


def test_a_demo_that_does_not_exist_is_refused() -> None:
    """The sentence names the demos that there are."""
    with pytest.raises(EntryError, match="no demo record 'nothing'; the shipped ones are coupled_pair"):
        demo_bench("nothing")


def test_the_demo_says_that_it_is_invented(demo: Bench) -> None:
    """The record and the view of the bench say that the data are invented."""
    assert demo.invented
    assert "Invented scenario" in demo.opened.scenario
    assert "invented data" in str(demo)


def test_the_demo_readings_are_the_virtual_meters(demo: Bench) -> None:
    """Each reading that stands is what a meter with the shipped card shows of the known pair."""
    meter = VirtualBench(SESSION.truth.matrix(), read_card(CARD), SESSION.seed, FREQUENCY)
    assert {r.id: str(r.shown) for r in demo.readings} == {
        id: meter.shown(wiring) for id, wiring, _ in SESSION.plan
    }


def test_the_demo_shows_a_correction_and_predictions(demo: Bench) -> None:
    """One reading was corrected, by somebody and with a reason; each joint reading was predicted before."""
    (correction,) = [event for event in demo.events if isinstance(event, Correction)]
    assert (correction.corrects, correction.by, correction.reason) == (SESSION.slip, "p2", words.REASON)
    assert [r.predicted_before for r in demo.readings if r.joint] == [True] * 4
    assert len(demo.predictions) == 4


def test_the_demo_can_be_said_again(demo: Bench) -> None:
    """Every call that made the demo is a no-op on it, and the file is not touched."""
    before = SHIPPED.stat()
    demo.accept_cautions(by="p1")
    demo.describe(windings=2, family="same core", dots="1a 2a", title=words.TITLE, turns=[41, 41])
    demo.meter("meter-a", CARD)
    demo.commit("1a 2b | 1b=2a", "13.6 mH", "own-line-forward", by="p1")
    demo.use(frequency=FREQUENCY, mode="series", meter="meter-a", leads="zeroed", by="p2")
    demo.read("1a 1b", "6.838 mH", "winding-1")
    demo.correct(SESSION.slip, "6.803 mH", words.REASON, by="p2")
    demo.write("explanation", textwrap.fill(words.OWN_WORDS, 84), by="p1")
    after = SHIPPED.stat()
    assert (before.st_mtime_ns, before.st_size, before.st_ino) == (
        after.st_mtime_ns,
        after.st_size,
        after.st_ino,
    )


ADDITIONS = {
    "read": lambda b: b.read("1a 1b | 2a=2b", "31.2 µH", "short"),
    "commit": lambda b: b.commit("1a 1b | 2a=2b", "31.2 µH", "guess"),
    "correct": lambda b: b.correct("winding-1", "6.839 mH", "why"),
    "withdraw": lambda b: b.withdraw("winding-1", "why"),
    "describe": lambda b: b.describe(windings=2, dots="1a 2b"),
    "meter": lambda b: b.meter("meter-b"),
    "write": lambda b: b.write("explanation", "Something else.", by="p1"),
    "accept": lambda b: b.accept_cautions("p9"),
}


@pytest.mark.parametrize("add", ADDITIONS.values(), ids=ADDITIONS)
def test_nothing_can_be_added_to_the_demo(demo: Bench, add: object) -> None:
    """Anything new is refused with a sentence, and the shipped file stays as it is."""
    before = SHIPPED.read_bytes()
    with pytest.raises(RecordError, match=r"is open read-only, so .* was NOT stored"):
        add(demo)  # type: ignore[operator]
    assert SHIPPED.read_bytes() == before
    assert sorted(p.name for p in SHIPPED.parent.iterdir()) == ["README.md", "record.jsonl"]
