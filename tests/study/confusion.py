"""Confusion among causes: what the ranking says of benches with one known mistake, beside the oracle."""

import tempfile
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from labkit.analysis.analysis import Analysis
from labkit.errors import CardError
from labkit.record.virtual_bench import VirtualBench
from labkit.theory.circuit import series_inductance
from labkit.theory.pair import Pair
from tests.spice import Circuit, impedances
from tests.study.cases import weigh
from tests.study.oracle import Density
from tests.study.planting import CAUSES, SETS, Draft, any_pair, card

Rng = np.random.Generator
DENSITY, WIDTHS = Density(24, 20, 0.05, 20.0), (None, 6)


@dataclass(frozen=True)
class SpiceBench(VirtualBench):
    """A bench whose truth comes from ngspice, with winding resistance and capacitance left out elsewhere."""

    def true_inductance(self, wiring: str) -> float:
        assert self.R is not None
        assert self.C is not None
        circuit = Circuit(
            self._built(wiring).notation, [list(row) for row in self.L], list(self.R), list(self.C)
        )
        with tempfile.TemporaryDirectory() as folder:
            (f, *_), (Z, *_) = impedances([circuit], "lin 1 10k 10k", Path(folder))
        return float(series_inductance(complex(Z[0]), float(f))) + self.lead_inductance


def plant(cause: str, set_: str, card_: str, rng: Rng, spice: bool = False) -> tuple[Draft, Pair]:
    """A bench with one mistake, and its pair."""
    pair, seed = any_pair(rng), int(rng.integers(2**31))
    if spice:
        R = np.exp(rng.uniform(np.log(0.05), np.log(1.0), 2)).tolist()
        C = np.exp(rng.uniform(np.log(5e-12), np.log(50e-12), 2)).tolist()
        meter: VirtualBench = SpiceBench(pair.matrix(), card(card_), seed, R=R, C=C)
    else:
        meter = VirtualBench(pair.matrix(), card(card_), seed)
    draft = Draft(meter, SETS[set_], rng)
    CAUSES[cause](draft)
    return draft, pair


def judge(cause: str, set_: str, card_: str, seed: int, spice: bool) -> Counter[str]:
    """What comes of one bench, as counts of 0 and 1."""
    rng = np.random.default_rng([seed, *map(ord, cause + set_ + card_), spice])
    try:
        draft, _ = plant(cause, set_, card_, rng, spice)
    except CardError:
        return Counter(unreadable=1)
    analysis = Analysis(draft.bench())
    ranking = analysis.ranking
    if ranking is None or analysis.shared.dots is None:
        return Counter(unranked=1)
    truth = draft.truth(ranking.observations)
    oracle = weigh(
        analysis.bench,
        ranking.observations,
        analysis.shared.dots,
        DENSITY,
        WIDTHS,
        [e.of for e in ranking.unseparated],
    )
    separable, named = len(oracle.unseparated) == 1, ranking.named
    right = named is not None and named.of == truth
    intended = tuple((o.connection or "", 0, "") for o in ranking.observations)
    faulty_first = ranking.robust and ranking.first.of != intended
    return Counter(
        benches=1,
        separable=int(separable),
        named_right=int(separable and right),
        wrongly_inseparable=int(separable and named is None),
        named_other=int(separable and named is not None and not right),
        wrongly_separable=int(not separable and named is not None),
        misled=int(named is not None and not right),
        accused=int(cause == "sound" and faulty_first),
        in_set=int(any(e.of == truth for e in ranking.unseparated)),
    )


def block(cause: str, set_: str, card_: str, first: int, count: int, spice: bool) -> dict[str, int]:
    """Counts over some benches."""
    total: Counter[str] = Counter()
    for seed in range(first, first + count):
        total.update(judge(cause, set_, card_, seed, spice))
    return dict(total)
