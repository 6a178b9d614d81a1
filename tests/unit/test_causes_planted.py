"""Each cause: planted once it is found, and a near-miss is not accused.

The pair has unlike windings and k = 0.97, so that its connections read apart; parts and meters are invented.
"""

import numpy as np
import pytest

from labkit.analysis.analysis import Analysis
from labkit.analysis.causes.ranking import Ranking, verdict
from labkit.record.virtual_bench import VirtualBench
from labkit.theory.pair import Pair
from tests.benches import WIRINGS, typed_bench
from tests.study.planting import CAUSES, Draft, card

UNLIKE = Pair.from_coupling(10e-3, 7e-3, 0.97)
SETTLED = sorted(set(CAUSES) - {"sound", "clamp open side by side", "clips on one node", "decimal mark"})


def planted(cause: str, card_: str = "bench-fine", seed: int = 2) -> tuple[Draft, Ranking]:
    """Six readings of the pair with one cause planted."""
    meter = VirtualBench(UNLIKE.matrix(), card(card_), 5)
    draft = Draft(meter, tuple(WIRINGS), np.random.default_rng(seed))
    CAUSES[cause](draft)
    ranking = Analysis(draft.bench()).ranking
    assert ranking is not None
    return draft, ranking


@pytest.mark.parametrize("cause", SETTLED)
def test_planted_cause_is_named(cause: str) -> None:
    """With six readings of unlike windings the planted cause is the one explanation that is named."""
    draft, ranking = planted(cause)
    assert ranking.named is not None
    assert ranking.named.of == draft.truth(ranking.observations)


@pytest.mark.parametrize("cause", ["clamp open side by side", "clips on one node", "decimal mark"])
def test_planted_cause_stands_first(cause: str) -> None:
    """What comes within 1 : 1000 of `none of these`, or hides another slip, still stands first."""
    draft, ranking = planted(cause)
    assert ranking.first.of == draft.truth(ranking.observations)


@pytest.mark.parametrize("card_", ["bench-fine", "hand-held-coarse"])
def test_sound_bench_is_not_accused(card_: str) -> None:
    """Six sound readings: nothing speaks against what was entered."""
    _, ranking = planted("sound", card_)
    assert ranking.first.as_intended
    assert verdict(ranking).startswith("Nothing in these 6 readings speaks against what was entered")


SOUND = planted("sound")[0].texts
OFF_BY_LITTLE = {
    "line-reversed": "0.7705 mH",
    "one": "10.02 mH",
    "side": "5.391 mH",
    "side-reversed": "125.1 µH",
}


@pytest.mark.parametrize("id", OFF_BY_LITTLE)
def test_reading_within_its_uncertainty_is_no_slip(id: str) -> None:
    """A reading that is off by less than the card allows is not accused of anything."""
    ranking = Analysis(typed_bench(SOUND | {id: OFF_BY_LITTLE[id]})).ranking
    assert ranking is not None
    assert SOUND[id] != OFF_BY_LITTLE[id]
    assert ranking.named is not None
    assert ranking.named.as_intended


def test_other_digits_on_the_second_display_are_no_resistance_typed() -> None:
    """A resistance on the second display with other digits is no alternative at all."""
    bench = typed_bench({id: text for id, text in SOUND.items() if id != "one"})
    bench.read(WIRINGS["one"], SOUND["one"], "one", second="R 1.234 Ω")
    ranking = Analysis(bench).ranking
    assert ranking is not None
    assert all("resistance typed" not in e.causes for e in ranking.explanations)
    assert ranking.first.as_intended


def test_close_prediction_is_no_copy() -> None:
    """A prediction that differs in the last digit is not taken for a copy; one with all digits may be."""
    for shown, copied in (("5.396 mH", False), (SOUND["side"], True)):
        bench = typed_bench({})
        bench.commit(WIRINGS["side"], shown, "own-side", by="p1")
        for id, text in SOUND.items():
            bench.read(WIRINGS[id], text, id)
        ranking = Analysis(bench).ranking
        assert ranking is not None
        found = any("prediction copied" in e.causes for e in ranking.explanations)
        assert ranking.first.as_intended
        assert found is copied


def test_low_q_in_series_mode_is_no_parallel_equivalent() -> None:
    """A recorded series mode rules the parallel equivalent out, whatever the Q."""
    bench = typed_bench({id: text for id, text in SOUND.items() if id != "one"})
    bench.read(WIRINGS["one"], SOUND["one"], "one", second="D 0.3")
    ranking = Analysis(bench).ranking
    assert ranking is not None
    assert all("parallel mode" not in e.causes for e in ranking.explanations)


def test_exact_thousandth_elsewhere_is_no_slip() -> None:
    """A part a thousand times smaller read with the right prefix throughout has no prefix slip."""
    small = Pair.from_coupling(100e-6, 70e-6, 0.97)
    meter = VirtualBench(small.matrix(), card("bench-fine"), 5)
    ranking = Analysis(typed_bench({id: meter.shown(w) for id, w in WIRINGS.items()})).ranking
    assert ranking is not None
    assert ranking.first.as_intended


def test_what_the_card_cannot_show_is_asked_about_too() -> None:
    """10 H typed for 10 mH lies beyond every range of the card, and the slip is named all the more."""
    ranking = Analysis(typed_bench(SOUND | {"one": SOUND["one"].replace("mH", "H")})).ranking
    assert ranking is not None
    assert ranking.named is not None
    (deed,) = ranking.named.deeds
    assert (deed.observation.id, deed.alternative.cause, deed.alternative.exponent) == ("one", "prefix", 3)
