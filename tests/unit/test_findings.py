"""What may be said of a record: made from its numbers, traced to its lines, no stronger than they are.

All readings are invented.
"""

import functools
import math
import re
from typing import Any

import pytest

import labkit
from labkit.analysis import compare, predict, suspicions
from labkit.analysis.analysis import analyse
from labkit.analysis.finding import Figure, Finding
from labkit.analysis.findings import FINDERS
from labkit.record.bench import Bench
from labkit.record.demo import demo_bench
from labkit.uncertainty.montecarlo import monte_carlo
from tests.benches import ALL_WIRINGS, EXAMPLE, typed_bench

FINE, COARSE = EXAMPLE["bench-fine"], EXAMPLE["hand-held-coarse"]
SINGLES = {"one": "10.000 mH", "two": "9.960 mH"}


def few_draws(*args: Any, **more: Any) -> Any:
    """Monte Carlo with a fiftieth of the draws, whatever was asked for."""
    return monte_carlo(*args, **(more | {"draws": 20_000}))


@pytest.fixture(autouse=True)
def fewer_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """The sentences tested here do not hang on the third digit of an interval."""
    for module in (compare, predict):
        monkeypatch.setattr(module, "monte_carlo", few_draws)


def found(bench: Bench) -> dict[str, list[Finding]]:
    """Findings of a bench by kind; the ranking of causes, which takes longer, has tests of its own."""
    kinds: dict[str, list[Finding]] = {}
    for finder in FINDERS:
        for finding in () if finder.__module__ == suspicions.__name__ else finder(analyse(bench)):
            kinds.setdefault(finding.kind, []).append(finding)
    return kinds


def said(bench: Bench, kind: str) -> str:
    """The sentences of one kind."""
    return " ".join(finding.sentence for finding in found(bench).get(kind, []))


def everything(card: str | None = "bench-fine", dots: str | None = "1a 2a", **changed: str) -> Bench:
    """The eight readings of the example pair as the fine meter displays them."""
    more = {"line": "39.90 mH", "side": "9.958 mH", "side-reversed": "6.24 µH", "one-shorted": "24.99 µH"}
    return typed_bench(FINE | more | {"two-shorted": "24.89 µH"} | changed, card=card, dots=dots)


def eventful() -> Bench:
    """A bench with repeats, a correction, a withdrawal, two frequencies, a prediction and a resistance."""
    bench = everything()
    bench.commit(ALL_WIRINGS["line"], "20 mH", "guess", by="p1")
    bench.read(ALL_WIRINGS["line"], "39.91 mH", "line-again")
    bench.read(ALL_WIRINGS["one"], "10.010 mH", "one-low", frequency="1 kHz")
    bench.read(ALL_WIRINGS["one"], "0.52 Ω", "ohms", quantity="resistance")
    bench.read(ALL_WIRINGS["two"], "99.60 mH", "slip")
    bench.correct("slip", "9.961 mH", "decimal point")
    bench.read(ALL_WIRINGS["two"], "9.000 mH", "gone")
    bench.withdraw("gone", "clamp slipped")
    return bench


BENCHES = {
    "demo": demo_bench,
    "everything": everything,
    "no card": lambda: everything(card=None),
    "dots open": lambda: everything(dots=None),
    "dots wrong": lambda: everything(dots="1a 2b"),
    "contradiction": lambda: everything(line="10.00 mH", side="9.95 µH"),
    "eventful": eventful,
    "nothing": lambda: typed_bench({}),
    "singles": lambda: typed_bench(SINGLES),
}


@functools.cache
def explained(name: str) -> tuple[Bench, tuple[Finding, ...]]:
    """One of the benches with all that can be said of it."""
    bench = BENCHES[name]()
    return bench, labkit.explain(bench).findings


@pytest.mark.parametrize("name", BENCHES)
def test_every_finding_rests_on_lines_of_the_record(name: str) -> None:
    """Each id that a finding names is that of an event, and none is named twice."""
    bench, findings = explained(name)
    ids = {event.id for event in bench.events}
    for finding in findings:
        assert set(finding.ids) <= ids, finding.kind
        assert len(set(finding.ids)) == len(finding.ids), finding.kind


@pytest.mark.parametrize("name", BENCHES)
def test_every_finding_is_a_finished_sentence(name: str) -> None:
    """No field is left open, no value is nan or inf, no number is in a computer's spelling."""
    for finding in explained(name)[1]:
        assert not re.search(r"[{}]|\bnan\b|\binf\b|\de[+-]\d|None", finding.sentence), finding.sentence
        assert finding.sentence.endswith((".", "”")), finding.sentence
        assert finding.tone in ("plain", "caution", "strong")


@pytest.mark.parametrize("name", BENCHES)
def test_every_figure_is_a_number(name: str) -> None:
    """Figures are finite, and an uncertainty is one or is not stated."""
    for finding in explained(name)[1]:
        for figure in finding.figures.values():
            assert math.isfinite(figure.value)
            assert figure.standard_uncertainty is None or figure.standard_uncertainty >= 0


def test_without_a_card_no_text_has_an_uncertainty() -> None:
    """No ± and no E_n in any result, no uncertainty behind any figure; break-even instead."""
    bench = everything(card=None)
    results = (
        labkit.explain(bench),
        labkit.predict(bench),
        labkit.compare(bench),
        labkit.budget(bench, "parallel_aiding"),
    )
    for result in results:
        assert "±" not in str(result)
        assert "E_n =" not in str(result)
    figures = [figure for f in labkit.explain(bench).findings for figure in f.figures.values()]
    assert not [figure for figure in figures if figure.standard_uncertainty is not None]
    assert "800 times less than two inductors that share no flux" in said(bench, "uncoupled rule refuted")
    assert "All 3 readings would have to be wrong by a factor of" in said(bench, "uncoupled rule refuted")


# ---- the words follow the numbers


def numbers(text: str) -> set[str]:
    """Numbers in a text."""
    return set(re.findall(r"\d+\.\d+", text))


@pytest.mark.parametrize(
    "kind",
    [
        "uncoupled rule refuted",
        "coupling",
        "coupled rule holds",
        "second clamp not proven",
        "modes",
        "leakages",
    ],
)
def test_other_data_give_another_sentence(kind: str) -> None:
    """Half-sized windings halve the figures: no number of a sentence is written into the code."""
    halved = {
        "one": "5.000 mH",
        "two": "4.980 mH",
        "line-reversed": "12.50 µH",
        "line": "19.95 mH",
        "side": "4.979 mH",
    }
    here, there = (
        said(typed_bench(b), kind) for b in (FINE | {"line": "39.90 mH", "side": "9.958 mH"}, halved)
    )
    assert here
    assert there
    assert here != there
    assert len(numbers(here) & numbers(there)) < len(numbers(here)) / 2


def test_sentences_quote_their_figures() -> None:
    """M and k stand in the sentence as the figures have them, rounded to the uncertainty."""
    (coupling,) = found(everything())["coupling"]
    M, k = coupling.figures["mutual_inductance"], coupling.figures["coupling_coefficient"]
    assert str(M) in coupling.sentence
    assert str(k) == f"{Figure(k.value, '', k.standard_uncertainty)}"
    assert str(k) in coupling.sentence


def test_the_size_of_the_refutation_is_computed() -> None:
    """The sentence says how many expanded uncertainties off, by the more cautious of the two assumptions."""
    bench = typed_bench(FINE | {"line": "39.90 mH"})
    (c,) = [
        c for c in analyse(bench).comparisons if (c.observation.id, c.statement.rule) == ("line", "uncoupled")
    ]
    smaller = min(abs(c.shared.E_n), abs(c.independent.E_n))
    assert f"is {smaller:.0f} times its expanded uncertainty, so the uncoupled rule is refuted here" in said(
        bench, "uncoupled rule refuted"
    )


# ---- the uncoupled rule


def test_the_uncoupled_rule_is_not_refuted_by_what_one_winding_would_read() -> None:
    """A parallel reading that either winding alone would give refutes only if both are in circuit."""
    kinds = found(typed_bench(FINE | {"side": "9.958 mH"}))
    (finding,) = kinds["uncoupled rule refuted if built as noted"]
    assert "but winding 1 alone or winding 2 alone would read the same" in finding.sentence
    assert finding.tone == "plain"
    assert [f.ids[0] for f in kinds["uncoupled rule refuted"]] == ["line-reversed"]


def test_separate_inductors_keep_the_uncoupled_rule() -> None:
    """Two inductors without common flux agree with it, and nothing is called refuted."""
    kinds = found(typed_bench(SINGLES | {"line": "19.96 mH", "side": "4.990 mH"}))
    assert len(kinds["uncoupled rule not refuted"]) == 2
    assert "uncoupled rule refuted" not in kinds


def test_a_refutation_that_hangs_on_the_gain_is_none() -> None:
    """Where one assumption refutes and the other does not, it is said to depend on the gain."""
    bench = typed_bench(SINGLES | {"side": "4.970 mH"})
    assert "depending on whether the meter's gain error" in said(bench, "uncoupled rule depends on gain")
    assert "uncoupled rule refuted" not in found(bench)


# ---- polarity


def test_dots_as_marked() -> None:
    """With the dots right M is positive, and the sentence says so."""
    assert "M is positive with the dots at 1a 2a" in said(everything(), "polarity as marked")


@pytest.mark.parametrize(
    "readings", [{}, {"one-shorted": "24.99 µH"}], ids=["series", "with a short circuit"]
)
def test_dots_at_the_wrong_end(readings: dict[str, str]) -> None:
    """A mark at the wrong end makes M negative, also where a short-circuit test knows k best."""
    bench = typed_bench(FINE | {"line": "39.90 mH"} | readings, dots="1a 2b")
    (finding,) = found(bench)["polarity against the marks"]
    assert (
        "M comes out negative (−9.97" in finding.sentence or "M comes out negative (−9.96" in finding.sentence
    )
    assert finding.tone == "caution"
    assert "polarity as marked" not in found(bench)


@pytest.mark.parametrize(
    ("series", "dots"),
    [
        ({"line": "39.90 mH", "line-reversed": "25.00 µH"}, "1a 2a"),
        ({"line": "25.00 µH", "line-reversed": "39.90 mH"}, "1a 2b"),
    ],
)
@pytest.mark.parametrize("short", [{}, {"one-shorted": "24.99 µH"}], ids=["", "with a short circuit"])
def test_readings_decide_unknown_dots(series: dict[str, str], dots: str, short: dict[str, str]) -> None:
    """Two series readings say which ends belong together, with or without a short circuit beside them."""
    bench = typed_bench(SINGLES | series | short, dots=None)
    assert f"the readings put them at {dots}" in said(bench, "polarity decided by the readings")
    assert "coupled rule fails" not in found(bench)


@pytest.mark.parametrize(
    "readings",
    [
        {"one-shorted": "24.99 µH"},
        {"one-shorted": "24.99 µH", "two-shorted": "24.89 µH"},
        {"line": "19.96 mH"},
    ],
    ids=["one short circuit", "both", "uncoupled"],
)
def test_what_does_not_know_the_sign_does_not_decide(readings: dict[str, str]) -> None:
    """Short-circuit tests and uncoupled windings leave unknown dots unknown."""
    bench = typed_bench(SINGLES | readings, dots=None)
    assert analyse(bench).shared.dots is None
    assert "polarity decided by the readings" not in found(bench)


def test_open_dots_are_a_question() -> None:
    """A joint reading that decides nothing asks for more, and names the readings in question."""
    (finding,) = found(typed_bench(SINGLES | {"line": "19.96 mH"}, dots=None))["polarity open"]
    assert (finding.ids, finding.tone) == (("line",), "caution")
    assert "the readings so far do not tell" in finding.sentence


def test_dots_that_break_even_leaves_open_ask_for_the_card() -> None:
    """Weak coupling without a card: the sentence has the number, and says that the card is missing."""
    weak = SINGLES | {"line": "21.00 mH", "line-reversed": "18.90 mH"}
    told = said(typed_bench(weak, card=None, dots=None), "polarity open")
    assert "Enter the meter's card" in told
    assert "a meter wrong by 5.1 % would turn the answer round" in told


# ---- coupling


def test_the_preferred_route_is_named_where_there_are_several() -> None:
    """With one route there is nothing to prefer; with several the reason is given with its figure."""
    assert "preferred route" not in found(typed_bench(FINE))
    text = said(everything(), "preferred route")
    assert "because it gives 1 − |k| with the smallest uncertainty (0.0012" in text


def test_unresolved_routes_are_told_with_their_figures() -> None:
    """The aiding reading does not resolve a tight coupling, and k above one is shown as it came out."""
    bench = typed_bench(FINE | {"line": "40.00 mH"})
    text = said(bench, "coupling not resolved")
    assert "By singles and series-aiding, k = 1.004" in text
    assert "shown unclipped" in text


def test_an_impossible_coupling_carries_no_result() -> None:
    """k = 2 beyond its uncertainty is a caution, never a strong finding."""
    (finding,) = found(typed_bench(SINGLES | {"line": "60.00 mH"}))["coupling"]
    assert finding.tone == "caution"


# ---- the coupled rule


def test_the_coupled_rule_reading_by_reading() -> None:
    """Holds, cannot tell, fails, depends: each is said of the reading that it is true of."""
    kinds = found(everything())
    assert {f.ids[0] for f in kinds["coupled rule holds"]} >= {"line", "line-reversed", "side-reversed"}
    assert [f.ids[0] for f in kinds["coupled rule among others"]] == ["side"]
    assert "and this reading alone cannot tell" in kinds["coupled rule among others"][0].sentence
    assert "fails" not in "".join(kinds)
    (depends,) = found(typed_bench(FINE | {"side": "9.930 mH"}))["coupled rule depends on gain"]
    assert "this record cannot decide that" in depends.sentence
    (fails,) = found(typed_bench(FINE | {"side": "9.700 mH"}))["coupled rule fails"]
    assert (fails.ids[0], fails.tone) == ("side", "caution")


# ---- clamps


def test_the_second_clamp_is_computed_not_recited() -> None:
    """The distances to either winding alone are those of this pair: 42.25 µH and 2.25 µH."""
    (finding,) = found(typed_bench(FINE | {"side": "9.958 mH"}))["second clamp not proven"]
    assert "differ from winding 1 alone by 42 µH and from winding 2 alone by 2.3 µH" in finding.sentence
    assert "about 6.2 µH if both clamps hold, about 10 mH if one is open" in said(
        typed_bench(FINE | {"side": "9.958 mH"}), "reading that proves the clamps"
    )


def test_a_parallel_reading_with_nothing_else_proves_no_clamp() -> None:
    """With the singles alone no figure for both clamps is known, and the cure is said without one."""
    kinds = found(typed_bench(SINGLES | {"side": "9.958 mH"}))
    assert (
        "winding 1 alone and winding 2 alone would read the same"
        in kinds["second clamp not proven"][0].sentence
    )
    assert "about 10 mH once more if one clamp is open" in kinds["reading that proves the clamps"][0].sentence
    assert "coupling" not in kinds


def test_a_reversed_reading_proves_the_clamps() -> None:
    """6.24 µH with one winding reversed cannot be one winding alone: there both clamps held."""
    kinds = found(typed_bench(FINE | {"side": "9.958 mH", "side-reversed": "6.24 µH"}))
    assert "there both clamps held" in kinds["clamps proven with one winding reversed"][0].sentence
    assert kinds["second clamp not proven"][0].tone == "plain"
    assert "reading that proves the clamps" not in kinds


def test_a_reversed_reading_like_one_winding_is_an_open_clamp() -> None:
    """10 mH with one winding reversed is what winding 1 alone gives, and not what both would."""
    kinds = found(typed_bench(FINE | {"side": "9.958 mH", "side-reversed": "10.001 mH"}))
    (finding,) = kinds["clamp open with one winding reversed"]
    assert "That is what winding 1 alone" in finding.sentence
    assert "clamps proven with one winding reversed" not in kinds


def test_a_reversed_reading_that_fits_nothing_proves_nothing() -> None:
    """6.24 mH, a slip of the prefix, proves no clamp; it is asked to be read again."""
    kinds = found(typed_bench(FINE | {"side": "9.958 mH", "side-reversed": "6.240 mH"}))
    assert "read it again" in kinds["reading with one winding reversed fits nothing"][0].sentence
    assert "clamps proven with one winding reversed" not in kinds


def test_a_slip_elsewhere_is_not_laid_on_the_reversed_reading() -> None:
    """With series-opposing typed in mH the sound 6.24 µH is not said to fit nothing."""
    kinds = found(
        typed_bench(FINE | {"line-reversed": "25.00 mH", "side": "9.958 mH", "side-reversed": "6.24 µH"})
    )
    assert "reading with one winding reversed fits nothing" not in kinds


def test_a_slip_is_no_proof_of_the_clamps() -> None:
    """9.95 µH is far from either winding alone, but it is not what both would read either."""
    assert "second clamp seen" not in found(typed_bench(FINE | {"side": "9.95 µH"}))


def test_unequal_windings_show_their_clamps() -> None:
    """Where the parallel reading differs from both windings and fits the coupled rule, both clamps held."""
    bench = typed_bench(
        {"one": "4.000 mH", "two": "6.000 mH", "line-reversed": "4.000 mH", "side": "3.750 mH"}
    )
    assert "so both clamps held" in said(bench, "second clamp seen")


# ---- what it means


def test_common_and_differential_mode() -> None:
    """P+ and B of this pair, their ratio, and their reactances at the test frequency."""
    text = said(typed_bench(FINE), "modes")
    assert "a common-mode current meets 9.958 ± 0.035 mH, a differential-mode current 25.00 ± 0.10 µH" in text
    assert "398 times less" in text
    assert "At 10 kHz that is 626 Ω against 1.57 Ω" in text
    assert "kHz" not in said(typed_bench(FINE, frequency=None), "modes")


def test_an_unresolved_coupling_has_no_ratio() -> None:
    """From the aiding reading alone B is not resolved, and no ratio is made of it."""
    bench = typed_bench(SINGLES | {"line": "39.90 mH"})
    assert "coupling" in found(bench)
    assert "modes" not in found(bench)


def test_three_leakages() -> None:
    """12.5, 25.0 and 24.99 µH, each by its name."""
    text = said(typed_bench(FINE), "leakages")
    assert re.search(r"\(1 − k\) = 12\.4.* B = 25\.00 .* L1\(1 − k²\) = 24\.99", text)


def test_what_of_b_is_mismatch_is_said() -> None:
    """4 and 6 mH: B keeps (2 − √6)² mH = 0.202 mH at k = 1, which is no leakage."""
    text = said(typed_bench({"one": "4.000 mH", "two": "6.000 mH", "line-reversed": "400.0 µH"}), "leakages")
    assert "Of B, (√L1 − √L2)² = 0.20 mH is mismatch of the windings" in text


def test_where_first_order_fails_it_is_said() -> None:
    """The coarse meter's aiding route: first order is not to be trusted, and draws leave physics."""
    kinds = found(
        typed_bench({"one": "10.00 mH", "two": "9.96 mH", "line": "39.9 mH"}, card="hand-held-coarse")
    )
    assert "first order is not to be trusted" in kinds["first order not trusted"][0].sentence
    assert re.search(r"\d+ of 20000 draws have \|k\| > 1", kinds["draws outside physics"][0].sentence)


@pytest.mark.parametrize(("line", "kind"), [("39.00 mH", "closure fails"), ("39.90 mH", None)])
def test_a_failed_closure_is_said(line: str, kind: str | None) -> None:
    """A closure that fails names its readings; one that holds is not worth a sentence."""
    closures = [k for k in found(typed_bench(FINE | {"line": line})) if k.startswith("closure")]
    assert closures == ([kind] if kind else [])


# ---- the record


def test_missing_readings_are_asked_for() -> None:
    """Each missing single is named with its wiring, and a joint reading is asked for."""
    text = said(typed_bench({"two": "9.960 mH"}), "missing readings")
    assert "winding 1 alone (1a 1b)" in text
    assert "winding 2 alone" not in text
    assert "best one in line with one winding reversed" in text
    assert said(typed_bench(FINE), "missing readings") == ""


def test_readings_at_another_frequency_are_not_passed_over() -> None:
    """Singles at 1 kHz and the joint reading at 10 kHz are not compared, and that is said."""
    bench = typed_bench(SINGLES, frequency="1 kHz")
    bench.read(ALL_WIRINGS["line-reversed"], "25.00 µH", "turned", frequency="10 kHz")
    (finding,) = found(bench)["nothing to compare with"]
    assert finding.ids == ("turned",)
    assert "repeat the readings at one frequency" in finding.sentence


def test_own_predictions_stand_beside_the_reading() -> None:
    """What somebody expected, what was read, and the discrepancy: reading minus expectation."""
    bench = typed_bench(SINGLES)
    bench.commit(ALL_WIRINGS["line"], "20 mH", "guess", by="p1")
    assert "own prediction" not in found(bench)
    bench.read("2b 1a | 2a=1b", "39.90 mH", "line")
    (own,) = found(bench)["own prediction"]
    assert (
        own.sentence
        == "Own prediction for series-aiding: 20 mH; the reading is 39.90 mH, a discrepancy of 19.9 mH."
    )
    assert set(own.ids) == {"guess", "line"}
    assert "read before prediction" not in found(bench)


def test_an_own_prediction_is_held_against_the_main_frequency() -> None:
    """Of two frequencies the reading at the main one is quoted."""
    bench = typed_bench(FINE)
    bench.commit(ALL_WIRINGS["line"], "20 mH", "guess")
    bench.read(ALL_WIRINGS["line"], "38.00 mH", "line-low", frequency="1 kHz")
    bench.read(ALL_WIRINGS["line"], "39.90 mH", "line-main")
    assert "the reading is 39.90 mH" in said(bench, "own prediction")


def test_readings_before_a_prediction_are_named() -> None:
    """Joint readings that nobody predicted before are listed; a winding alone is not."""
    (finding,) = found(typed_bench(FINE | {"side": "9.958 mH"}))["read before prediction"]
    assert finding.ids == ("line-reversed", "side")


def test_corrections_and_withdrawals_are_told() -> None:
    """A corrected reading names its first line once; a withdrawn one its reason, and it no longer counts."""
    bench = typed_bench(SINGLES | {"line": "3.99 mH", "side": "5.000 mH"})
    bench.correct("line", "39.9 mH", "decimal point")
    bench.correct("line", "39.90 mH", "all digits")
    bench.withdraw("side", "clamp slipped")
    kinds = found(bench)
    assert len(kinds["corrected"]) == 1
    line = next(event.seq for event in bench.events if event.id == "line")
    assert f"the first entry stays in line {line}" in kinds["corrected"][0].sentence
    assert "side was withdrawn" in kinds["withdrawn"][0].sentence
    assert "clamp slipped" in kinds["withdrawn"][0].sentence
    assert "second clamp not proven" not in kinds


def test_remarks_are_said_once_for_all_readings() -> None:
    """One remark that holds for several readings is one sentence with all their ids."""
    remarks = found(typed_bench(FINE, mode=None, frequency=None))["remark"]
    assert [f.ids for f in remarks] == [("one", "two", "line-reversed")] * 2
    assert "no test frequency is recorded" in " ".join(f.sentence for f in remarks)


def test_what_is_left_out_is_said() -> None:
    """A resistance takes no part, and the record's reader is told."""
    bench = typed_bench(FINE)
    bench.read("1a 1b", "0.52 Ω", "ohms", quantity="resistance")
    assert "ohms: not an inductance, takes no part in the comparison" in said(bench, "remark")


def test_three_windings_are_listed_without_a_verdict() -> None:
    """For a part with three windings the rules stay silent and say why; no polarity is asked for."""
    bench = typed_bench({})
    bench.describe(windings=3)
    for n in (1, 2, 3):
        bench.read(f"{n}a {n}b", "10.000 mH", f"w{n}")
    kinds = found(bench)
    assert "The part has 3 windings" in kinds["more than two windings"][0].sentence
    assert not kinds.keys() & {"polarity open", "read before prediction", "missing readings"}


def test_hostile_words_of_people_stay_words() -> None:
    """Braces and markup in a reason are quoted as typed and escaped in the notebook."""
    bench = typed_bench(FINE)
    bench.withdraw("one", "<b>{0} %s</b>")
    assert "<b>{0} %s</b>" in said(bench, "withdrawn")
    assert "<b>" not in labkit.explain(bench)._repr_html_()
