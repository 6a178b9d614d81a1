"""Findings about what may have happened: what is said, asked and sized, and what is not.

Parts and meters are invented.
"""

import math
from functools import cache
from typing import Any

import pytest

from labkit.analysis import suspicions
from labkit.analysis.amounts import AMOUNTS
from labkit.analysis.analysis import Analysis, analyse
from labkit.analysis.causes.ranking import question
from labkit.analysis.finding import Finding
from labkit.analysis.joint_fit import fit
from labkit.analysis.results import amounts as told
from labkit.analysis.results import explain
from labkit.analysis.suspicions import amount_told, amounts, coupling_told, next_step, sizes, what_happened
from labkit.record.bench import Bench
from labkit.record.card import card_text, read_card
from labkit.record.virtual_bench import VirtualBench
from labkit.resources import shipped
from labkit.theory.pair import Pair
from labkit.uncertainty.components import uncertain
from labkit.uncertainty.propagate import first_order
from labkit.words import analysis as words
from tests.benches import ALL_WIRINGS, WIRINGS, InMemory, typed_bench

UNLIKE = Pair.from_coupling(10e-3, 9.5e-3, 0.997)
SEVEN = (*WIRINGS, "one-shorted")


def shown(ids: tuple[str, ...] = SEVEN, pair: Pair = UNLIKE, **more: Any) -> dict[str, str]:
    """What a virtual meter shows of the pair."""
    card = read_card(shipped("data", "cards", "bench-fine.toml"))
    meter = VirtualBench(pair.matrix(), card, 5, **more)
    return {id: meter.shown(ALL_WIRINGS[id]) for id in ids}


def one(found: Any) -> Finding:
    (finding,) = found
    return finding  # type: ignore[no-any-return]


@cache
def sound() -> Analysis:
    """Seven sound readings."""
    return Analysis(typed_bench(shown()))


def slipped(id: str, text: str) -> Analysis:
    """The seven readings with another text for one of them."""
    return Analysis(typed_bench(shown() | {id: text}))


def as_typed_elsewhere(id: str, unit: str) -> str:
    """A reading's digits with another unit."""
    return f"{shown()[id].split()[0]} {unit}"


# --- what happened --------------------------------------------------------------------------------------


def test_sound_bench_gets_a_plain_finding_of_all_its_readings() -> None:
    """Nothing speaks against what was entered: the tone is plain, and all seven ids stand behind it."""
    finding = one(what_happened(sound()))
    assert finding.tone == "plain"
    assert finding.sentence.startswith("Nothing in these 7 readings speaks against")
    assert set(finding.ids) == set(SEVEN)


def test_slip_gets_a_strong_finding() -> None:
    """A prefix slip is what the findings begin with, and it is told with what the display showed."""
    finding = one(what_happened(slipped("line-reversed", as_typed_elsewhere("line-reversed", "mH"))))
    assert finding.tone == "strong"
    assert "line-reversed has its prefix off by a factor of 1" in finding.sentence
    assert f"the display showed {shown()['line-reversed']}" in finding.sentence


def test_too_few_readings_give_no_finding() -> None:
    """Two readings: nothing is said about what may have happened, and nothing is advised."""
    analysis = Analysis(typed_bench(shown(("one", "two"))))
    assert list(what_happened(analysis)) == []
    assert list(next_step(analysis)) == []


# --- the question at entry ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("id", "unit"), [("line-reversed", "mH"), ("one", "µH"), ("side-reversed", "mH"), ("line", "µH")]
)
def test_slip_far_likelier_than_the_reading_as_typed_is_asked(id: str, unit: str) -> None:
    """Whichever reading has the wrong prefix is asked about, with both readings of the display."""
    text = as_typed_elsewhere(id, unit)
    ranking = slipped(id, text).ranking
    assert ranking is not None
    asked = question(ranking, id)
    assert asked is not None
    assert asked.startswith(f"{id}: is it {shown()[id]}?")
    assert text in asked


@pytest.mark.parametrize("id", SEVEN)
def test_sound_reading_is_not_asked(id: str) -> None:
    """None of seven sound readings is asked about."""
    ranking = sound().ranking
    assert ranking is not None
    assert question(ranking, id) is None


def test_only_the_slipped_reading_is_asked() -> None:
    """A slip in one reading raises no question about another."""
    ranking = slipped("line-reversed", as_typed_elsewhere("line-reversed", "mH")).ranking
    assert ranking is not None
    assert [id for id in SEVEN if question(ranking, id)] == ["line-reversed"]


def test_wrong_wiring_is_no_slip_of_the_pen() -> None:
    """A reading of another wiring is a finding, but no question about its unit."""
    ranking = slipped("line-reversed", shown()["one"]).ranking
    assert ranking is not None
    assert question(ranking, "line-reversed") is None


# --- amounts --------------------------------------------------------------------------------------------


def amount_of(analysis: Analysis, name: str) -> Any:
    """Size of one amount."""
    return next(size for amount, size in sizes(analysis) if amount.name == name)


def test_sound_bench_gives_no_finding() -> None:
    """Zeroed leads, ideal windings: all eight amounts are sized, and none is a finding."""
    assert list(amounts(sound())) == []
    assert len(list(sizes(sound()))) == 8


CLOSE = Pair(10e-3, 9.95e-3, 25e-6)


def leads(size: float) -> Analysis:
    """The seven readings through leads of an inductance, in H."""
    return Analysis(typed_bench(shown(pair=CLOSE, lead_inductance=size)))


@pytest.mark.parametrize("planted", [0.2e-6, 0.8e-6])
def test_lead_inductance_is_another_way_out(planted: float) -> None:
    """Leads contradict the readings as entered, and no mistake fits: their size is found within 2 u."""
    analysis = leads(planted)
    finding = one(amounts(analysis))
    assert finding.kind == "amount instead"
    size = finding.figures["lead inductance"]
    assert size.standard_uncertainty is not None
    assert size.value == pytest.approx(planted, abs=2 * size.standard_uncertainty)
    assert "as entered, all readings fit together with" in finding.sentence
    assert "zero the leads" in finding.sentence
    assert finding.sentence in " ".join(str(told(analysis.bench)).split())


def test_size_that_is_not_usual_is_no_way_out() -> None:
    """5 µH of leads would fit too, but leads do not have that: it is not offered."""
    analysis = leads(5e-6)
    assert analysis.ranking is not None
    found = fit(analysis.ranking.observations, AMOUNTS[0])
    assert found.size is not None
    assert found.p_value is not None
    assert found.p_value > suspicions.CONTRADICTED
    assert not any("lead inductance" in f.figures for f in amounts(analysis))


def sized(name: str, size: float, u: float) -> str:
    """What is said of a size with a standard uncertainty."""
    estimate = first_order(lambda x: x, [uncertain("size", size, "normal", u)])
    return amount_told(next(a for a in AMOUNTS if a.name == name), estimate)


def test_size_within_twice_its_uncertainty_is_not_asked_for() -> None:
    """1.9 u of leads: with its sign and uncertainty, and that the readings do not ask for any."""
    text = sized("lead inductance", -95e-9, 50e-9)
    assert text.startswith("Lead inductance in series with the clips: −0.10 ± 0.10 µH")
    assert text.endswith("the readings do not ask for any.")


def test_size_known_too_badly_says_so() -> None:
    """5 µH ± 12 µH of leads says nothing about the 2 µH that leads may have, and is not called clean."""
    assert "too uncertain to say anything about a usual size" in sized("lead inductance", 5e-6, 6e-6)


def test_size_beyond_it_is_judged_and_told_how_to_find_out() -> None:
    """2.5 u may be chance; 4 u is not; a size or sign that is not usual points elsewhere."""
    assert "of a plausible size (0 to 2 µH" in sized("lead inductance", 0.2e-6, 0.05e-6)
    assert words.BY_CHANCE not in sized("lead inductance", 0.2e-6, 0.05e-6)
    assert sized("lead inductance", 0.2e-6, 0.08e-6).endswith(words.BY_CHANCE)
    assert "something else is more likely" in sized("lead inductance", -0.2e-6, 0.05e-6)


def test_square_is_told_as_its_root() -> None:
    """Of a resistance the fit counts the square: told in ohms, as a limit, or refused if negative."""
    assert "3.00 ± 0.33 Ω" in sized("shorting resistance", 9.0, 1.0)
    assert "anything up to 2.0 Ω would fit" in sized("shorting resistance", 0.0, 2.0)
    assert "which no resistance explains" in sized("shorting resistance", -9.0, 1.0)


def test_what_would_do_as_well_is_told_in_one_finding(monkeypatch: pytest.MonkeyPatch) -> None:
    """Several sizes beyond 3 u are one finding: the plausible one is told, the others are named in it."""
    by_name = {a.name: a for a in AMOUNTS}
    planted = {"level": (-40.0, 4.0), "core change": (2.0, 0.5), "drift": (0.25, 0.1)}
    found = [
        (by_name[name], first_order(lambda x: x, [uncertain("size", *of)]))
        for name, of in ((name, (size, "normal", u)) for name, (size, u) in planted.items())
    ]
    monkeypatch.setattr(suspicions, "sizes", lambda _: iter(found))
    finding = one(amounts(sound()))
    assert finding.sentence.startswith("Change of the core between single and joint readings")
    assert f"in its place: {words.AMOUNTS_TITLE['level']}." in finding.sentence
    assert set(finding.figures) == {"level", "core change"}


def test_slip_is_no_influence() -> None:
    """With a prefix slip no size is told, and no influence of a plausible size is offered for it."""
    analysis = slipped("line-reversed", as_typed_elsewhere("line-reversed", "mH"))
    assert list(sizes(analysis)) == []
    assert list(amounts(analysis)) == []
    assert " ".join(str(told(analysis.bench)).split()) == words.NOT_YET


def test_what_is_not_identified_says_which_reading_would() -> None:
    """Without a short-circuit test its resistance is unknown, and both such tests are named."""
    bench = typed_bench(shown(tuple(WIRINGS)))
    text = " ".join(str(told(bench)).split())
    assert (
        "Resistance of the shorted loop: these readings say nothing about it; one more reading would" in text
    )
    assert "winding 1 (2 shorted) or winding 2 (1 shorted)" in text
    assert "Self-capacitance across each winding: these readings say nothing about it; the same" in text


def test_shorting_resistance_has_a_limit_where_none_is_asked_for() -> None:
    """A sound short-circuit reading bounds its resistance instead of giving nothing ± something."""
    text = " ".join(str(told(typed_bench(shown()))).split())
    assert "Resistance of the shorted loop: anything up to" in text


def test_shorting_resistance_is_told_as_a_resistance() -> None:
    """3 Ω in the shorted loop: found as such where the readings as entered contradict each other."""
    R, w, texts = 3.0, 2 * math.pi * 10e3, shown()
    M = (UNLIKE.L1 + UNLIKE.L2 - UNLIKE.B) / 2
    more = M**2 / UNLIKE.L2 * R**2 / (R**2 + (w * UNLIKE.L2) ** 2)
    value = float(texts["one-shorted"].split()[0]) + more * 1e6
    analysis = Analysis(typed_bench(texts | {"one-shorted": f"{value:.2f} µH"}))
    finding = one(amounts(analysis))
    size = finding.figures["shorting resistance"]
    assert size.unit == "Ω²"
    assert size.value**0.5 == pytest.approx(R, rel=0.2)
    assert "Ω of resistance of the shorted loop" in finding.sentence


def test_capacitance_uses_readings_at_another_frequency() -> None:
    """Readings at 1 kHz and 10 kHz of windings with 300 pF each: self-capacitance comes out of the two."""
    C = [300e-12, 300e-12]
    texts, low = shown(C=C), shown(("one", "line"), C=C, frequency="1 kHz")
    bench = typed_bench(texts)
    for id, text in low.items():
        bench.read(ALL_WIRINGS[id], text, f"{id}-low", frequency="1 kHz")
    size = amount_of(analyse(bench), "self-capacitance")
    assert size.value == pytest.approx(300e-12, abs=2.5 * size.standard_uncertainty)
    assert size.value > 2 * size.standard_uncertainty


def test_slip_at_another_frequency_does_not_make_a_capacitance() -> None:
    """A reading at 1 kHz that fits no capacitance is left out: the size is what the main readings say."""
    bench = typed_bench(shown())
    bench.read(ALL_WIRINGS["one"], shown()["one"], "one-low", frequency="1 kHz")
    bench.read(ALL_WIRINGS["two"], "9.00 mH", "two-low", frequency="1 kHz")
    assert isinstance(amount_of(analyse(bench), "self-capacitance"), tuple)


# --- no coupling, tested like an amount -----------------------------------------------------------------


def test_coupling_is_told_with_its_break_even() -> None:
    """k of the pair, how far from 0, and how wrong the meter would have to be for none."""
    text = coupling_told(sound())
    assert text is not None
    assert "k = 0.9" in text
    assert "more than 1000 times its standard uncertainty away from 0" in text
    assert "the meter would have to be wrong by a factor of" in text


def test_uncoupled_parts_ask_for_no_coupling() -> None:
    """Two separate inductors: k within twice its uncertainty, and the readings ask for none."""
    bench = _separate()
    text = coupling_told(analyse(bench))
    assert text is not None
    assert text.endswith("the readings do not ask for any.")


def _separate() -> Bench:
    ids = ("one", "two", "line", "line-reversed")
    bench = Bench(InMemory())  # type: ignore[arg-type]
    bench.accept_cautions("p1")
    bench.describe(windings=2, family="separate", dots="1a 2a")
    bench.meter("meter-a", card_text(shipped("data", "cards", "bench-fine.toml")))
    bench.use(frequency="10 kHz", mode="series", meter="meter-a")
    for id, text in shown(ids, Pair.from_mutual(10e-3, 8e-3, 0.0)).items():
        bench.read(ALL_WIRINGS[id], text, id)
    return bench


def test_what_is_off_by_chance_is_not_told_as_a_contradiction() -> None:
    """A sound bench whose side-by-side reading is off by chance: all fits together, so nothing is accused."""
    readings = {
        "one": "10.006 mH", "two": "5.801 mH", "line": "24.81 mH", "line-reversed": "6.661 mH",
        "side": "5.570 mH", "side-reversed": "1.4849 mH",
    }  # fmt: skip
    text = " ".join(str(explain(typed_bench(readings))).split())
    assert "further off than the expanded uncertainty. All readings taken together still fit." in text
    assert "Taken together, these 6 readings fit what was entered" in text
    assert "They do not fit together" not in text
    assert "Nothing in these 6 readings speaks against" not in text
