"""Benches for tests. Parts, meters and readings are invented."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from labkit.errors import RecordConflict
from labkit.record.bench import Bench, new_bench
from labkit.record.card import card_text, read_card
from labkit.record.events import Event, to_event, to_line, told
from labkit.record.record_file import Chain, Kind, utc_now
from labkit.record.virtual_bench import VirtualBench
from labkit.resources import shipped
from labkit.theory.pair import Pair
from tests.records import ticking

PAIR = Pair(L1=10.00e-3, L2=9.96e-3, B=25.0e-6)
LOOSE = Pair.from_mutual(4.0e-3, 6.0e-3, 3.0e-3)

WIRINGS = {
    "one": "1a 1b",
    "two": "2a 2b",
    "line": "1a 2b | 1b=2a",
    "line-reversed": "1a 2a | 1b=2b",
    "side": "1a 1b | 1a=2a 1b=2b",
    "side-reversed": "1a 1b | 1a=2b 1b=2a",
}
"""What a lesson reads, by the ids that the readings get; the names suppose dots at 1a and 2a."""


def empty_bench(folder: Path, part: str = "sample-7", *, invented: bool = True, **part_fields: Any) -> Bench:
    """A bench with its part described and the cautions accepted, and nothing read yet."""
    bench = new_bench(folder, part, clock=ticking(), invented=invented)
    bench.accept_cautions("p1")
    described: dict[str, Any] = {"windings": 2, "family": "same core", "dots": "1a 2a"}
    bench.describe(**(described | part_fields))
    return bench


def coupled_bench(
    folder: Path,
    wirings: Iterable[str] = tuple(WIRINGS),
    *,
    card: str | None = "bench-fine",
    pair: Pair = PAIR,
    dots: str | None = "1a 2a",
    seed: int = 3,
    own: bool = True,
    **more: Any,
) -> Bench:
    """A pair read in the wirings named, with a virtual meter.

    Parameters
    ----------
    folder : of the bench, which is made
    wirings : ids out of `WIRINGS`
    card : shipped card of `meter-a`; None for a meter without one (its display is the fine one's)
    pair : the truth
    dots : as marked on the part; None if nobody knows them (they are at 1a and 2a)
    own : whether somebody predicts each joint reading first, by the rules of resistors
    more : further fields of the virtual bench, such as `faults`
    """
    path = shipped("data", "cards", f"{card or 'bench-fine'}.toml")
    meter = VirtualBench(pair.matrix(), read_card(path), seed, **more)
    bench = empty_bench(folder, dots=dots)
    bench.meter("meter-a", path if card else None)
    wanted = {id: WIRINGS[id] for id in wirings}
    if own:
        for id, wiring in wanted.items():
            if "|" in wiring:
                bench.commit(wiring, "20 mH" if id.startswith("line") else "5 mH", f"own-{id}", by="p1")
    bench.use(frequency=meter.frequency, mode="series", meter="meter-a", leads="zeroed", by="p2")
    for id, wiring in wanted.items():
        bench.read(wiring, meter.shown(wiring), id)
    return bench


def three_winding_bench(folder: Path) -> Bench:
    """A part with three windings, read in a few wirings, one with two windings tied."""
    bench = empty_bench(folder, windings=3, dots="1a 2a 3a")
    bench.read("1a 1b", "10.00 mH", "one", frequency="10 kHz")
    bench.read("1a 2a | 1b=2b", "25.0 µH", "line-reversed", frequency="10 kHz")
    bench.read("1a 1b | 1a=2a=3a 1b=2b=3b", "9.95 mH", "all-side-by-side")
    return bench


ALL_WIRINGS = WIRINGS | {"one-shorted": "1a 1b | 2a=2b", "two-shorted": "2a 2b | 1a=1b"}
"""The eight wirings that read something of a pair, by the ids that the readings get."""

EXAMPLE = {
    "bench-fine": {"one": "10.000 mH", "two": "9.960 mH", "line-reversed": "25.00 µH"},
    "hand-held-coarse": {"one": "10.00 mH", "two": "9.96 mH", "line-reversed": "25.0 µH"},
}
"""The readings of `PAIR` that the coupled rule starts from, as either shipped card's meter displays them."""


class InMemory:
    """A record on no disk, for benches by the hundred; the events and their checks are the true ones."""

    read_only = False
    problems = ()

    def __init__(self, part: str = "sample-7") -> None:
        self._chain = Chain()
        self.append("opened", "opened", part=part, labkit="0", invented=True)

    @property
    def events(self) -> tuple[Event, ...]:
        """All events, oldest first."""
        return tuple(self._chain.events)

    @property
    def digest(self) -> str | None:
        """Hash of the last event."""
        return self._chain.digest

    def event(self, id: str) -> Event | None:
        """The event under an id."""
        return self._chain.by_id.get(id)

    def of(self, kind: type[Kind]) -> Sequence[Kind]:
        """The events of one kind."""
        return self._chain.of(kind)

    def about(self, id: str) -> tuple[Event, ...]:
        """The event under an id, its corrections and its withdrawal."""
        return self._chain.about(id)

    def append(self, event: str, id: str, **fields: Any) -> Event:
        """Keep an event; the same again is a no-op, and other content under its id is refused."""
        place = {"schema": 1, "seq": self._chain.seq + 1, "utc": utc_now().strftime("%Y-%m-%dT%H:%M:%SZ")}
        new = to_event(place | {"event": event, "id": id} | fields | {"prev": self._chain.digest}, id)
        if stored := self._chain.by_id.get(id):
            if told(stored) != told(new):
                raise RecordConflict(id)
            return stored
        self._chain.take(to_line(new))
        return self._chain.by_id[id]


def typed_bench(
    readings: Mapping[str, str],
    *,
    card: str | None = "bench-fine",
    dots: str | None = "1a 2a",
    **settings: str | None,
) -> Bench:
    """A bench in memory with readings typed in as they stand.

    Parameters
    ----------
    readings : what was shown, by ids out of `ALL_WIRINGS`
    card : shipped card of `meter-a`, or a card's TOML text; None for no meter at all
    dots : as marked on the part
    settings : of all readings; 10 kHz and series mode unless given, None for what was not recorded
    """
    bench = Bench(InMemory())  # type: ignore[arg-type]
    bench.accept_cautions("p1")
    bench.describe(windings=2, dots=dots)
    shared = {"frequency": "10 kHz", "mode": "series"} | settings
    if card is not None:
        text = card if "\n" in card else card_text(shipped("data", "cards", f"{card}.toml"))
        bench.meter("meter-a", text)
        shared = {"meter": "meter-a"} | shared
    bench.use(**{name: value for name, value in shared.items() if value is not None})
    for id, shown in readings.items():
        bench.read(ALL_WIRINGS[id], shown, id)
    return bench


def virtual_bench(meter: VirtualBench, wirings: Iterable[str], card: str) -> Bench:
    """A bench in memory, read with a virtual meter that has this shipped card."""
    readings = {id: meter.shown(ALL_WIRINGS[id]) for id in wirings}
    return typed_bench(readings, card=card, frequency=meter.frequency)


THREE = [[1.020e-3, 1.000e-3, 0.995e-3], [1.000e-3, 1.010e-3, 0.997e-3], [0.995e-3, 0.997e-3, 1.013e-3]]
"""Inductance matrix of an invented choke with three windings, in H."""

THREE_WIRINGS = {
    "one": "1a 1b",
    "two": "2a 2b",
    "three": "3a 3b",
    "one-two": "1a 2a | 1b=2b",
    "one-three": "1a 3a | 1b=3b",
    "two-three": "2a 3a | 2b=3b",
    "all": "1a 1b | 1a=2a=3a 1b=2b=3b",
}
"""Three singles, each two windings in line with one reversed, and all side by side."""


def matrix_bench(
    folder: Path,
    L: list[list[float]],
    wirings: Mapping[str, str],
    *,
    card: str | None = "bench-fine",
    dots: str | None = None,
    seed: int = 3,
    **more: Any,
) -> Bench:
    """Any number of windings read in the wirings named, with a virtual meter.

    Parameters
    ----------
    L : the truth, in H
    wirings : what is read, by id
    card : shipped card of `meter-a`; None for a meter without one (its display is the fine one's)
    dots : as marked on the part
    more : further fields of the virtual bench, such as `faults`
    """
    path = shipped("data", "cards", f"{card or 'bench-fine'}.toml")
    meter = VirtualBench(L, read_card(path), seed, **more)
    bench = empty_bench(folder, windings=len(L), dots=dots)
    bench.meter("meter-a", path if card else None)
    bench.use(frequency=meter.frequency, mode="series", meter="meter-a", leads="zeroed", by="p2")
    for id, wiring in wirings.items():
        bench.read(wiring, meter.shown(wiring), id)
    return bench
