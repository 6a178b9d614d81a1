"""What four readings of an everyday choke can be of, and what they cannot: common practice, no source.

Windings 4.50 and 4.49 mH, 8.7 µH in line with one reversed, 4.48 mH side by side; the meter and its card are
invented.
"""

import math
from pathlib import Path

import numpy as np
import pytest

from labkit.analysis.analysis import Analysis, analyse
from labkit.analysis.causes.ranking import Ranking, question, verdict
from labkit.analysis.observations import observe
from labkit.analysis.results import next_reading
from labkit.record.bench import Bench, new_bench
from labkit.uncertainty.least_squares import covariance_of, least_squares
from labkit.widgets.form import EntryForm
from tests.benches import ALL_WIRINGS, typed_bench
from tests.common_practice.test_common_practice_bench import CARD, READINGS
from tests.study.cases import Named

FOUR = READINGS | {"side": "4.48 mH"}
INTENDED: Named = (
    ("self_inductance_1", 0, ""),
    ("self_inductance_2", 0, ""),
    ("series_opposing", 0, ""),
    ("parallel_aiding", 0, ""),
)
LEAST = 1e-6


def choke(**changed: str) -> Bench:
    """The four readings, some of them changed or added."""
    return typed_bench(FOUR | changed, card=CARD)


def ranked(bench: Bench) -> Ranking:
    ranking = Analysis(bench).ranking
    assert ranking is not None
    return ranking


def instead(place: int, what: tuple[str, int, str]) -> Named:
    """All as intended but for one reading."""
    return (*INTENDED[:place], what, *INTENDED[place + 1 :])


@pytest.mark.parametrize("shorted", ["short_circuit_1", "short_circuit_2"])
def test_unseparated_are_at_least_intended_and_other_winding_shorted(shorted: str) -> None:
    """Common practice, no source: all as intended, and 8.7 µH of one winding with the other shorted."""
    unseparated = {e.of for e in ranked(choke()).unseparated}
    assert INTENDED in unseparated
    assert instead(2, (shorted, 0, "")) in unseparated


def test_the_likeliest_is_that_all_was_done_as_entered() -> None:
    """Common practice, no source: nothing in the four readings speaks against what was entered."""
    ranking = ranked(choke())
    assert ranking.first.of == INTENDED
    assert verdict(ranking).startswith("Nothing in these 4 readings speaks against what was entered")


RULED_OUT = {
    "series-aiding": instead(2, ("series_aiding", 0, "")),
    "in line across winding 1 alone": instead(2, ("self_inductance_1", 0, "")),
    "in line across winding 2 alone": instead(2, ("self_inductance_2", 0, "")),
}
RULED_OUT |= {
    f"10^{exponent} in reading {place + 1}": instead(place, (of[0], exponent, ""))
    for place, of in enumerate(INTENDED)
    for exponent in (3, -3)
}


@pytest.mark.parametrize("name", RULED_OUT)
def test_ruled_out_by_the_ranking(name: str) -> None:
    """Common practice, no source: none of them is among what the ranking keeps."""
    assert RULED_OUT[name] not in {e.of for e in ranked(choke()).explanations}


def test_uncoupled_is_ruled_out() -> None:
    """Common practice, no source: even the best uncoupled pair makes the readings less likely than 1e-6."""
    readings = [o.input for o in observe(choke())]

    def model(L: np.ndarray) -> np.ndarray:
        one, two = L
        return np.array([one, two, one + two, one * two / (one + two)])

    def slopes(L: np.ndarray) -> np.ndarray:
        one, two = L
        return np.array([[1, 0], [0, 1], [1, 1], [two**2, one**2] / (one + two) ** 2])

    y = [each.value for each in readings]
    best = least_squares(y, covariance_of(readings), model, slopes, [4.5e-3, 4.5e-3])
    assert best.converged
    assert math.exp(-best.chi_squared / 2) < LEAST


def test_a_parallel_opposing_reading_settles_the_clamps() -> None:
    """Common practice, no source: with 2.2 µH one winding reversed, no open clamp is left to consider."""

    def open_clamp(bench: Bench) -> bool:
        return any(
            of[0] in ("self_inductance_1", "self_inductance_2")
            for e in ranked(bench).unseparated
            for of in e.of[3:]
            if e.story is None and e.of[:2] == INTENDED[:2]
        )

    assert open_clamp(choke())
    assert not open_clamp(choke(**{"side-reversed": "2.2 µH"}))


def test_the_parallel_opposing_reading_is_what_is_advised() -> None:
    """Common practice, no source: about 2.2 µH if all was done as entered, 4.5 mH if a clamp was open."""
    advice = str(next_reading(choke()))
    sentence = " ".join(advice.split())
    assert sentence.startswith("Read parallel-opposing")
    assert "about 2.2 µH if everything was done as entered" in sentence
    assert "about 4.5 mH if side shows winding 1 alone (as with an open clamp" in sentence


def test_millihenry_for_microhenry_is_asked_about_by_the_ranking() -> None:
    """Common practice, no source: 8.7 typed in mH is asked about once the parallel reading is there."""
    asked = question(ranked(choke(**{"line-reversed": "8.7 mH"})), "line-reversed")
    assert asked is not None
    assert asked.startswith("line-reversed: is it 8.7 µH?")


def test_the_right_prefix_is_not_asked_about() -> None:
    """Common practice, no source: none of the four readings is doubted as it stands."""
    assert [question(ranked(choke()), id) for id in FOUR] == [None] * 4


def test_millihenry_for_microhenry_is_asked_about_at_entry(tmp_path: Path) -> None:
    """Common practice, no source: the entry form asks the same, and the record keeps 8.7 mH."""
    bench = new_bench(tmp_path, "choke", invented=True)
    bench.accept_cautions("p1")
    bench.describe(windings=2, dots="1a 2a")
    bench.meter("meter-a", CARD)
    bench.use(meter="meter-a", frequency="10 kHz", mode="series")
    for id, shown in (FOUR | {"line-reversed": "8.7 mH"}).items():
        bench.read(ALL_WIRINGS[id], shown, id)
    asked = EntryForm(bench).handle({"kind": "doubt", "id": "line-reversed"})["doubt"]
    assert "is it 8.7 µH?" in asked
    assert [str(r.shown) for r in bench.readings if r.id == "line-reversed"] == ["8.7 mH"]


def test_without_the_parallel_reading_the_slip_can_look_right() -> None:
    """Common practice, no source: 8.7 mH lies near the uncoupled sum, and three readings alone do not ask."""
    three = {id: text for id, text in FOUR.items() if id != "side"} | {"line-reversed": "8.7 mH"}
    ranking = analyse(typed_bench(three, card=CARD)).ranking
    assert ranking is not None
    assert question(ranking, "line-reversed") is None
