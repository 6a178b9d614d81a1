"""Benches with a known mistake: drawn from a seed, read with a virtual meter, typed in as a person would.

Parts and meters are invented.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

import numpy as np

from labkit import quantity
from labkit.analysis.causes.hypotheses import connection_of
from labkit.analysis.causes.ranking import Of
from labkit.analysis.observations import Observation
from labkit.record.bench import Bench
from labkit.record.card import Card, read_card
from labkit.record.virtual_bench import BuiltInstead, Fault, PrefixSlip, VirtualBench
from labkit.resources import shipped
from labkit.theory.pair import Pair
from labkit.theory.wiring import Wiring, parse_dots
from tests.benches import ALL_WIRINGS, typed_bench
from tests.study.cases import Named

Rng = np.random.Generator
CARDS = ("bench-fine", "hand-held-coarse")
DOTS = parse_dots("1a 2a")
SETS = {
    "four": ("one", "two", "line-reversed", "side"),
    "five, aiding": ("one", "two", "line", "line-reversed", "side"),
    "five, opposing": ("one", "two", "line-reversed", "side", "side-reversed"),
}


@dataclass
class Draft:
    """A bench in the making: the readings' texts, and what was done to each."""

    meter: VirtualBench
    ids: tuple[str, ...]
    rng: Rng
    dots: str = "1a 2a"
    texts: dict[str, str] = field(default_factory=dict)
    seconds: dict[str, str] = field(default_factory=dict)
    predicted: dict[str, str] = field(default_factory=dict)
    done: dict[str, Of] = field(default_factory=dict)
    mode: str | None = "series"

    def __post_init__(self) -> None:
        for id in self.ids:
            self.read(id)
            self.done[id] = (self.connection(id), 0, "")

    def read(self, id: str, *faults: Fault) -> None:
        """Read a wiring, with faults if wanted."""
        m = self.meter
        more = {
            "frequency": m.frequency,
            "gain": m.gain,
            "R": m.R,
            "C": m.C,
            "lead_inductance": m.lead_inductance,
        }
        self.texts[id] = VirtualBench(m.L, m.card, m.seed, faults=faults, **more).shown(ALL_WIRINGS[id])  # type: ignore[arg-type]

    def built(self, id: str, wiring: str) -> None:
        """Build another wiring in its place."""
        self.read(id, BuiltInstead(ALL_WIRINGS[id], wiring))
        self.done[id] = (connection_of(Wiring.parse(wiring), DOTS), 0, "")

    def connection(self, id: str) -> str:
        return connection_of(Wiring.parse(ALL_WIRINGS[id]), DOTS)

    def any(self, ids: Sequence[str] = ()) -> str:
        """One of the readings."""
        return str(self.rng.choice(ids or self.ids))

    def bench(self) -> Bench:
        """The record."""
        bench = typed_bench({}, card=self.meter.card.id, dots=self.dots, mode=self.mode)
        for id, shown in self.predicted.items():
            bench.commit(ALL_WIRINGS[id], shown, f"own-{id}", by="p1")
        for id, text in self.texts.items():
            bench.read(ALL_WIRINGS[id], text, id, second=self.seconds.get(id))
        return bench

    def truth(self, observations: Sequence[Observation]) -> Named:
        """What each reading really is of."""
        return tuple(self.done[o.id] for o in observations)


def sound(draft: Draft) -> None:
    """Nothing."""


def wrong_polarity(draft: Draft) -> None:
    draft.built("line-reversed", ALL_WIRINGS["line"])


def one_winding_in_line(draft: Draft) -> None:
    draft.built("line-reversed", draft.any(("1a 1b", "2a 2b")))


def other_winding_shorted(draft: Draft) -> None:
    draft.built("line-reversed", draft.any(("1a 1b | 2a=2b", "2a 2b | 1a=1b")))


def clamp_open(draft: Draft) -> None:
    """An open clamp lasts."""
    left = draft.any(("1a 1b", "2a 2b"))
    for id in draft.ids:
        if id.startswith("side"):
            draft.built(id, left)


def clips_on_one_node(draft: Draft) -> None:
    """Leads of some tenths of a microhenry."""
    id = draft.any()
    lead = float(np.exp(draft.rng.normal(np.log(0.4e-6), 1.0)))
    draft.texts[id] = str(draft.meter.card.ranges[0].display(max(lead, draft.meter.card.ranges[0].count)))
    draft.done[id] = ("leads", 0, "")


def prefix(draft: Draft) -> None:
    id, exponent = draft.any(), int(draft.rng.choice((3, -3)))
    draft.read(id, PrefixSlip(ALL_WIRINGS[id], exponent))
    draft.done[id] = (draft.connection(id), exponent, "")


def decimal_mark(draft: Draft) -> None:
    id, exponent = draft.any(), int(draft.rng.choice((1, -1)))
    digits, unit = draft.texts[id].split()
    draft.texts[id] = f"{Decimal(digits).scaleb(exponent):f} {unit}"
    draft.done[id] = (draft.connection(id), exponent, "")


def resistance_typed(draft: Draft) -> None:
    id = draft.any()
    digits = f"{draft.rng.uniform(1.0, 20.0):.3f}"
    draft.texts[id] = f"{digits} {draft.texts[id].split()[1]}"
    draft.seconds[id] = f"R {digits} Ω"
    draft.done[id] = ("", 0, "resistance typed")


def parallel_mode(draft: Draft) -> None:
    """The meter chose the mode by itself, and nobody noted it."""
    id, D = draft.any(), draft.rng.uniform(0.1, 0.6)
    shown = quantity.parse(draft.texts[id])
    on = draft.meter.card.range_for(shown, quantity.parse(draft.meter.frequency, "frequency"))
    draft.texts[id] = str(on.display(shown.value * (1 + D * D)))
    draft.seconds[id], draft.mode = f"D {D:.4f}", None
    draft.done[id] = (draft.connection(id), 0, "parallel mode")


def prediction_copied(draft: Draft) -> None:
    """The guess of the rules of resistors."""
    id = draft.any([i for i in draft.ids if i.startswith(("line", "side"))])
    one, two = (quantity.parse(draft.texts[i]).value for i in ("one", "two"))
    guess = one + two if id.startswith("line") else one * two / (one + two)
    on = next(r for r in draft.meter.card.ranges if guess < 0.99 * r.full_scale)
    draft.texts[id] = draft.predicted[id] = str(on.display(guess))
    draft.done[id] = ("", 0, "prediction copied")


def another_part(draft: Draft) -> None:
    """One winding of another choke; no cause on the list."""
    id = draft.any()
    other = float(np.exp(draft.rng.uniform(np.log(1e-5), np.log(0.1))))
    on = next(r for r in draft.meter.card.ranges if other < 0.99 * r.full_scale)
    draft.texts[id] = str(on.display(other))
    draft.done[id] = ("", 0, "none of these")


def rows_swapped(draft: Draft) -> None:
    i, j = sorted(draft.rng.choice(len(draft.ids), 2, replace=False))
    one, other = draft.ids[i], draft.ids[j]
    draft.texts[one], draft.texts[other] = draft.texts[other], draft.texts[one]
    draft.done[one], draft.done[other] = draft.done[other], draft.done[one]


def leftover_link(draft: Draft) -> None:
    """A short across one winding, in all readings."""
    w = int(draft.rng.choice((1, 2)))
    draft.meter = replace(
        draft.meter, lead_inductance=3e-7
    )  # in parallel the link leaves nothing but the leads
    for id in draft.ids:
        wiring = ALL_WIRINGS[id]
        draft.built(id, f"{wiring}{'' if '|' in wiring else ' |'} {w}a={w}b")


def dots(draft: Draft) -> None:
    """Marked at the wrong end of winding 2."""
    draft.dots = "1a 2b"


CAUSES: dict[str, Callable[[Draft], None]] = {
    "sound": sound,
    "wrong polarity": wrong_polarity,
    "one winding in line": one_winding_in_line,
    "other winding shorted": other_winding_shorted,
    "clamp open side by side": clamp_open,
    "clips on one node": clips_on_one_node,
    "prefix": prefix,
    "decimal mark": decimal_mark,
    "resistance typed": resistance_typed,
    "parallel mode": parallel_mode,
    "prediction copied": prediction_copied,
    "another part": another_part,
    "rows swapped": rows_swapped,
    "leftover link": leftover_link,
    "dots": dots,
}


def card(name: str) -> Card:
    """A shipped card."""
    return read_card(shipped("data", "cards", f"{name}.toml"))


def any_pair(rng: Rng) -> Pair:
    """A choke as a class may get it: 0.3 to 15 mH, windings alike to unlike, k from 0.6 to 0.9998."""
    L1 = float(np.exp(rng.uniform(np.log(0.3e-3), np.log(15e-3))))
    ratio = float(np.exp(rng.choice((0.005, 0.05, 0.3)) * rng.normal()))
    most = 2 / (ratio**0.5 + ratio**-0.5)  # equal flux: more coupling asks for more equal windings
    k = most * (1 - float(np.exp(rng.uniform(np.log(2e-4), np.log(0.4)))))
    return Pair.from_coupling(L1, L1 * ratio, k)
