"""The demo records with sweeps, invented: `python -m tests.make_data.choke_demo` writes them, the same bytes.

All readings and sweeps of a part come from one `Choke`, through the virtual meter and the virtual sweep, so
that they belong together. Frequencies include 10 kHz, where the meter reads.
"""

import math
import shutil
import tempfile
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from labkit import quantity
from labkit.arrays import Floats
from labkit.record.bench import Bench, new_bench
from labkit.record.card import Card, parse_card
from labkit.record.demo import CARD, ticks
from labkit.record.virtual_bench import PORTS, Columns, Fixture, VirtualBench, VirtualSweep
from labkit.resources import shipped
from labkit.theory.choke import Choke
from labkit.theory.modes import Part, part_of_choke
from labkit.theory.nodes import between
from labkit.theory.wiring import Wiring

# Texts of the demo records with sweeps. Scenario, people, parts and figures are invented.

SCENARIO = (
    "Invented scenario: a small filter laboratory documents a choke before it is used. Parts, instruments and all figures come "
    "from labkit's virtual bench."
)
NOTE = "Part at rest on the bench for an hour, not magnetised before."
INSTRUMENT, ANALYSER = "impedance analyser (invented)", "network analyser, 50 Ω (invented)"
JIG, BOARD_JIG = "four-terminal jig, 40 mm leads", "four coaxial sockets on a plane"
CHOKE_TITLE = "Current-compensated choke C4, two windings on one ring (invented)"
CHOKE_WORDS = (
    "In common mode the choke is what its marking says, some five millihenry, and above half a megahertz it is a capacitor. In "
    "differential mode twenty-odd microhenry are left. Both routes to that leakage agree, so we believe it."
)
FREQUENCY_TITLE = "Ring with one turn too many, 40 and 39 turns, thin wire (invented)"
FREQUENCY_WORDS = (
    "Side by side the two windings read a tenth less at high frequency than at low. It is the odd turn: above the corner its "
    "current is limited by leakage alone and cancels flux, below it by the wire, and then hardly anything flows."
)
THREE_TITLE = "Choke for three lines, three windings on one ring (invented)"
THREE_WORDS = (
    "Three single readings and three in opposition are enough for the whole matrix. All three side by side read what the matrix "
    "says, so no winding is turned round."
)
BOARD_TITLE = "Choke of the same kind on its filter board, 1 µF X-capacitor left in (invented)"
BOARD_WORDS = (
    "On the board both windings in line read a quarter too much at 1 kHz and less than nothing at 10 kHz, while side by side was "
    "right. In line the X-capacitor lies across one winding; side by side it is shorted by our own tie."
)
BOARD_NOTE = "On the board: 1 µF X-capacitor between 1a and 2a. Measured 0.0 V across it before clipping on."

CHOKE_DEMO_JIG = Fixture(R=18e-3, L=32e-9, G=2e-8, C=1.1e-12)
LEFTOVERS = ("record.jsonl", "record.lock")


@dataclass(frozen=True)
class ChokeMeter(VirtualBench):
    """A virtual meter that reads a choke with loss and capacitance, or any other part, at its frequency."""

    part: Part | None = None

    def true_inductance(self, wiring: str) -> float:
        """Series inductance of what is at the clips, in H."""
        assert self.part is not None
        f = quantity.parse(self.frequency, "frequency").value
        Z = self.part.impedance(Wiring.parse(wiring), [f])
        return float(Z[0].imag / (2 * math.pi * f))


@dataclass(frozen=True)
class Session:
    """An invented session with sweeps.

    Attributes
    ----------
    folder : below data/
    part, title, explanation : names and own words
    choke : the truth
    seed : of all errors
    readings : id and wiring of what the meter reads, by frequency
    sweeps : id and wiring of what is swept
    frequency : (F,), in Hz
    fixture : of the sweeps; taken off by open and short
    columns : of the tables
    four_port : (F,) of a four-port file, in Hz; None for none
    x_capacitor : in F, between 1a and 2a, left in the circuit; 0 for none
    note : condition of the bench
    instrument : noise, largest gain error, and an accuracy of |Z| that covers it and four times the noise
    turns : of the windings
    """

    folder: str
    part: str
    title: str
    explanation: str
    choke: Choke
    seed: int
    readings: dict[str, dict[str, str]]
    sweeps: dict[str, str]
    frequency: Floats
    turns: tuple[int, ...]
    fixture: Fixture | None = None
    columns: Columns = "real-imaginary"
    four_port: Floats | None = None
    x_capacitor: float = 0.0
    note: str = NOTE
    instrument: tuple[float, float, str] = (5e-4, 1.5e-3, "0.35 %")

    @property
    def dots(self) -> str:
        """All dots at ends a."""
        return " ".join(f"{n}a" for n in range(1, self.choke.windings + 1))

    def built(self) -> Part:
        """The choke with whatever else is in the circuit."""
        part = part_of_choke(self.choke)
        if not self.x_capacitor:
            return part
        return Part(
            part.dots,
            lambda f: (
                *part.equations(f),
                between("1a", "2a", 2j * np.pi * f * self.x_capacitor, f),
            ),
        )


def decades(low: float, high: float, points: int) -> Floats:
    """So many frequencies a decade from `low` to `high` (Hz), 150 kHz and `high` among them.

    >>> decades(1e4, 1e6, 2)
    array([  10000. ,   31622.8,  100000. ,  150000. ,  316228. , 1000000. ])
    """
    steps = math.floor(points * math.log10(high / low) + 1e-9)
    grid = [float(f"{low * 10 ** (n / points):.6g}") for n in range(steps + 1)]
    return np.unique([*grid, 150e3, high])


PAIR = {
    "winding-1": "1a 1b",
    "winding-2": "2a 2b",
    "line-forward": "1a 2b | 1b=2a",
    "line-reversed": "1a 2a | 1b=2b",
    "side-by-side": "1a 1b | 1a=2a 1b=2b",
}
SHORTED = {"first-with-second-shorted": "1a 1b | 2a=2b"}
THREE = {
    "winding-1": "1a 1b",
    "winding-2": "2a 2b",
    "winding-3": "3a 3b",
    "lines-1-2": "1a 2a | 1b=2b",
    "lines-1-3": "1a 3a | 1b=3b",
    "lines-2-3": "2a 3a | 2b=3b",
    "all-side-by-side": "1a 1b | 1a=2a=3a 1b=2b=3b",
}

CHOKE = Choke(
    R=(0.092, 0.094),
    leakage=(11.8e-6, 12.1e-6),
    core=4.7e-3,
    relaxation=1.4e6,
    C=(6.0e-12, 6.2e-12),
    between=(9.0e-12,),
)

SESSIONS = {
    "choke_characterisation": Session(
        folder="choke_sweeps",
        part="choke-4",
        title=CHOKE_TITLE,
        explanation=CHOKE_WORDS,
        choke=CHOKE,
        seed=4,
        readings={"10 kHz": PAIR},
        sweeps=PAIR | SHORTED,
        frequency=decades(1e3, 30e6, 44),
        turns=(34, 34),
        fixture=CHOKE_DEMO_JIG,
        four_port=decades(10e3, 30e6, 25),
    ),
    "frequency_and_resistance": Session(
        folder="frequency",
        part="ring-40-39",
        title=FREQUENCY_TITLE,
        explanation=FREQUENCY_WORDS,
        choke=Choke(
            R=(0.150, 0.150),
            leakage=(1.5e-6, 1.5e-6),
            core=500e-6,
            turns=(1.0, 39 / 40),
            relaxation=2.2e6,
            C=(3e-12, 3e-12),
            between=(2e-12,),
        ),
        seed=6,
        readings={},
        sweeps=PAIR,
        frequency=decades(100.0, 10e6, 30),
        turns=(40, 39),
        columns="series",
        instrument=(1e-4, 4e-4, "0.1 %"),
    ),
    "three_windings": Session(
        folder="three_windings",
        part="choke-3x",
        title=THREE_TITLE,
        explanation=THREE_WORDS,
        choke=Choke(
            R=(0.021, 0.022, 0.021),
            leakage=(9.4e-6, 10.2e-6, 9.1e-6),
            core=1.08e-3,
            relaxation=1.8e6,
            C=(5e-12, 5e-12, 5e-12),
            between=(4e-12, 4e-12),
        ),
        seed=14,
        readings={"10 kHz": THREE},
        sweeps=THREE,
        frequency=decades(10e3, 30e6, 20),
        turns=(17, 17, 17),
    ),
    "on_the_board": Session(
        folder="on_the_board",
        part="board-choke",
        title=BOARD_TITLE,
        explanation=BOARD_WORDS,
        choke=CHOKE,
        seed=12,
        readings={"1 kHz": PAIR, "10 kHz": PAIR},
        sweeps={id: PAIR[id] for id in ("line-forward", "side-by-side")},
        frequency=decades(1e3, 1e6, 30),
        turns=(34, 34),
        x_capacitor=1e-6,
        note=BOARD_NOTE,
    ),
}


@dataclass(frozen=True, eq=False)
class BuiltSweep(VirtualSweep):
    """A virtual sweep of a part that has more in it than its choke."""

    part: Part | None = None

    def impedance(self, wiring: str) -> npt.NDArray[np.complex128]:
        """Between the clips, (F,), in Ω."""
        assert self.part is not None
        return self.part.impedance(Wiring.parse(wiring), self.frequency)


def write_choke_demo(folder: str | Path, name: str) -> Bench:
    """Write a demo record with its sweeps into a folder that has none; the same bytes each time."""
    session = SESSIONS[name]
    card = CARD.read_text(encoding="utf-8")
    opened = {"invented": True, "scenario": SCENARIO, "seed": session.seed}
    bench = new_bench(folder, session.part, clock=ticks().__next__, **opened)
    bench.accept_cautions(by="p3")
    bench.describe(
        windings=session.choke.windings,
        family="same core",
        dots=session.dots,
        title=session.title,
        turns=list(session.turns),
    )
    bench.meter("meter-a", card)
    bench.note_conditions(
        temperature="22.0 °C", test_level="0.5 V", correction="leads zeroed, shorted", note=session.note
    )
    _read(bench, session, parse_card(card))
    with tempfile.TemporaryDirectory() as place:
        _sweep(bench, session, Path(place))
    bench.write("explanation", textwrap.fill(session.explanation, 84), by="p3")
    return bench


def _read(bench: Bench, session: Session, card: Card) -> None:
    several = len(session.readings) > 1
    for frequency, wirings in session.readings.items():
        L = session.choke.inductance_matrix(1e4)[0].real.tolist()
        meter = ChokeMeter(L, card, session.seed, frequency, part=session.built())
        bench.use(frequency=frequency, mode="series", meter="meter-a", leads="zeroed", by="p3")
        for id, wiring in wirings.items():
            at = f"-{frequency.replace(' ', '')}" if several else ""
            bench.read(wiring, meter.shown(wiring), f"{id}{at}")


def exported(session: Session) -> dict[str, bytes]:
    """The files that the session's instruments would export, by name."""
    noise, gain, _ = session.instrument
    sweep = BuiltSweep(
        session.choke, session.frequency, session.seed, noise, gain, session.fixture, part=session.built()
    )
    files = {f"{id}.csv": sweep.table(wiring, session.columns) for id, wiring in session.sweeps.items()}
    if session.fixture:
        files |= {"open.csv": sweep.open_table(), "short.csv": sweep.short_table()}
    if session.four_port is not None:
        analyser = VirtualSweep(session.choke, session.four_port, session.seed, noise=3e-5)
        files["four-port.s4p"] = analyser.four_port()
    return files


def _sweep(bench: Bench, session: Session, place: Path) -> None:
    files = exported(session)
    for name, data in files.items():
        (place / name).write_bytes(data)
    conditions: dict[str, Any] = {
        "test_level": "0.5 V",
        "bias": "none",
        "temperature": "22.0 °C",
        "fixture": JIG,
        "instrument": INSTRUMENT,
        "accuracy": session.instrument[2],
        "by": "p3",
    }
    if session.fixture:
        conditions |= {"open": place / "open.csv", "short": place / "short.csv", "correction": "ladder"}
    for id, wiring in session.sweeps.items():
        bench.sweep(wiring, place / f"{id}.csv", **conditions)
    if "four-port.s4p" in files:
        bench.sweep(
            None,
            place / "four-port.s4p",
            setup="four-port",
            ports=" ".join(PORTS),
            accuracy="0.05 %",
            instrument=ANALYSER,
            fixture=BOARD_JIG,
            test_level="−10 dBm",
            bias="none",
            by="p3",
        )


def write_all(names: Iterable[str] = tuple(SESSIONS)) -> None:
    """Write shipped demo records with sweeps anew."""
    for name in names:
        folder = shipped("data", SESSIONS[name].folder)
        folder.mkdir(exist_ok=True)
        shutil.rmtree(folder / "sweeps", ignore_errors=True)
        for leftover in LEFTOVERS:
            (folder / leftover).unlink(missing_ok=True)
        write_choke_demo(folder, name)
        (folder / "record.lock").unlink(missing_ok=True)


if __name__ == "__main__":
    write_all()
