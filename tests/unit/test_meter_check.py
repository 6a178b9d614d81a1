"""A meter against reference parts: limits, verdicts, leads, the card with its residual. All is invented."""

import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from labkit.analysis.finding import Finding
from labkit.analysis.meter_check import MeterCheck, checks, meter_check
from labkit.errors import EntryError, MissingReading
from labkit.record.bench import Bench
from labkit.record.card import parse_card, read_card
from labkit.record.demo import demo_bench
from labkit.record.references import references
from labkit.record.virtual_bench import VirtualBench
from labkit.resources import shipped
from tests.benches import empty_bench
from tests.computed import same
from tests.make_data.meter_demo import RESIDUAL, demo_card, write_meter_demo

FINE = shipped("data", "cards", "bench-fine.toml")
CERTIFIED = {"uncertainty": "0.008 mH", "coverage_factor": 2}
Make = Callable[..., Bench]


@pytest.fixture
def make(tmp_path: Path) -> Make:
    """A maker of benches: reference 1 of 10.000 mH, read with the fine meter, or as the fields say."""

    def bench(
        *shown: str,
        stated: dict[str, Any] | None = None,
        card: str | None = FINE.read_text("utf-8"),
        leads: str | None = "zeroed",
        alone: str | None = None,
        frequency: str | None = "10 kHz",
        mode: str | None = "series",
    ) -> Bench:
        bench = empty_bench(tmp_path, "references", family="separate", dots=None)
        bench.meter("meter-a", card)
        bench.reference(1, "10.000 mH", **(CERTIFIED if stated is None else stated))
        settings = {"frequency": frequency, "mode": mode, "meter": "meter-a", "leads": leads}
        bench.use(**{name: value for name, value in settings.items() if value})
        if alone:
            bench.read("1a 1a", alone, "leads")
        for n, text in enumerate(shown, start=1):
            bench.read("1a 1b", text, f"reference-{n}", repeat=n)
        return bench

    return bench


def found(bench: Bench, kind: str) -> Finding:
    """The one finding of a kind."""
    (finding,) = [f for f in meter_check(bench).findings if f.kind == kind]
    return finding


def kinds(bench: Bench) -> set[str]:
    """Kinds of all findings."""
    return {f.kind for f in meter_check(bench).findings}


# What is stated of a reference


@pytest.mark.parametrize(
    ("stated", "u"),
    [
        ({"uncertainty": "0.008 mH", "coverage_factor": 2}, 4e-6),
        ({"uncertainty": "0.08 %", "coverage_factor": "2"}, 4e-6),
        ({"uncertainty": "10 µH", "coverage_factor": 2.5}, 4e-6),
        ({"tolerance": "1 %"}, 100e-6 / math.sqrt(3)),
        ({"tolerance": "0.03 mH"}, 30e-6 / math.sqrt(3)),
        ({}, 0.0),
    ],
)
def test_stated_spread_becomes_a_standard_uncertainty(make: Make, stated: dict[str, Any], u: float) -> None:
    """A certificate's U is divided by its k, a tolerance by √3, and nothing stated stays nothing."""
    (reference,) = references(make(stated=stated).events)
    assert reference.input.standard_uncertainty == pytest.approx(u, rel=1e-12)
    assert (reference.spread is None) == (not stated)


@pytest.mark.parametrize(
    ("winding", "shown", "stated", "reason"),
    [
        (3, "10.000 mH", {}, "the part of this bench has 2"),
        (1, "10.000", {}, "no unit"),
        (1, "10.000 mH", {"uncertainty": "8 µH"}, "give both, or neither"),
        (1, "10.000 mH", {"coverage_factor": 2}, "give both, or neither"),
        (1, "10.000 mH", {**CERTIFIED, "tolerance": "1 %"}, "Both an uncertainty"),
        (1, "10.000 mH", {"tolerance": "0 %"}, "above zero"),
        (1, "10.000 mH", {"tolerance": "1"}, "no unit"),
        (1, "10.000 mH", {"uncertainty": "8 µH", "coverage_factor": 0}, "cannot be a coverage factor"),
        (1, "10.000 mH", {"frequency": "10"}, "no unit"),
    ],
)
def test_a_reference_that_cannot_be_taken_is_refused(
    make: Make, winding: int, shown: str, stated: dict[str, Any], reason: str
) -> None:
    """One sentence, and nothing is stored."""
    bench = make()
    before = len(bench.events)
    with pytest.raises(EntryError, match=re.escape(reason)):
        bench.reference(winding, shown, **stated)
    assert len(bench.events) == before


def test_the_latest_statement_counts_and_the_same_again_changes_nothing(make: Make) -> None:
    """One reference for each winding and frequency; a notebook may say it again."""
    bench = make()
    bench.reference(1, "10.002 mH", **CERTIFIED)
    bench.reference(1, "10.004 mH", frequency="1 kHz", **CERTIFIED)
    lines = len(bench.events)
    assert "replaced this one" in str(bench.reference(1, "10.000 mH", **CERTIFIED))
    assert "otherwise" not in str(bench.reference(1, "10.004 mH", frequency="1 kHz", **CERTIFIED))
    assert len(bench.events) == lines
    assert [str(r.stated) for r in references(bench.events)] == ["10.002 mH", "10.004 mH"]


# Verdicts


@pytest.mark.parametrize(
    ("shown", "decision", "kind"),
    [
        ("10.000 mH", "pass", "meter: within its card"),
        ("10.026 mH", "pass", "meter: within its card"),
        ("9.974 mH", "pass", "meter: within its card"),
        ("10.030 mH", "cannot tell", "meter: cannot tell"),
        ("10.040 mH", "cannot tell", "meter: cannot tell"),
        ("10.045 mH", "fail", "meter: outside its card"),
        ("9.955 mH", "fail", "meter: outside its card"),
    ],
)
def test_verdict_keeps_a_guard_band(make: Make, shown: str, decision: str, kind: str) -> None:
    """Limit 0.3 % + 5 µH ≈ 35 µH; w = 2·√(4² + 0.5²/3) = 8.02 µH: pass within ±27, fail beyond ±43."""
    bench = make(shown)
    (check,) = checks(bench)
    assert check.decision == decision
    assert found(bench, kind).ids == ("reference.1", "reference-1")
    judged = check.judged
    assert judged is not None
    assert judged.guard_band == pytest.approx(2e-6 * math.sqrt(16 + 0.25 / 3), rel=1e-6)
    assert check.limit == pytest.approx(0.003 * check.observation.value + 5e-6, rel=1e-12)


def test_probability_is_that_of_the_normal_distribution(make: Make) -> None:
    """At 10.030 mH the limit 35.09 µH is 5.09 µH away: Φ(5.09/4.0104) = 89.8 %."""
    (check,) = checks(make("10.030 mH"))
    assert check.judged is not None
    assert check.judged.probability == pytest.approx(0.8978, abs=1e-4)


def test_repeats_enter_with_their_scatter_and_freedom(make: Make) -> None:
    """Five repeats: mean, s/√5 beside the reference and the step; the digits of the card stay out of u."""
    shown = ("10.012 mH", "10.010 mH", "10.014 mH", "10.012 mH", "10.012 mH")
    bench = make(*shown)
    (check,) = checks(bench)
    judged = check.judged
    assert judged is not None
    s = math.sqrt(2 * 2e-6**2 / 4)
    assert judged.value == pytest.approx(12e-6, rel=1e-9)
    assert judged.standard_uncertainty == pytest.approx(math.sqrt(16e-12 + 0.25e-12 / 3 + s**2 / 5), rel=1e-9)
    sentence = found(bench, "repeats").sentence
    assert "5 repeats" in sentence
    assert "s = 1.4 µH" in sentence
    assert "degrees of freedom: 4" in sentence


def test_alike_repeats_and_a_single_reading_are_told(make: Make) -> None:
    """No scatter is no proof of none: the step is named; and one reading says nothing about scatter."""
    assert "stands for 0.29 µH" in found(make("10.012 mH", "10.012 mH"), "repeats alike").sentence


def test_one_reading_asks_for_repeats(make: Make) -> None:
    """A reference that was read once is told to be read again."""
    assert "read only once" in found(make("10.012 mH"), "read once").sentence


@pytest.mark.parametrize(
    ("given", "reason"),
    [
        ({"card": None}, "no card"),
        ({"stated": {}}, "neither uncertainty nor tolerance"),
        ({"stated": {**CERTIFIED, "frequency": "1 kHz"}}, "stated at 1 kHz and was read at 10 kHz"),
        (
            {"stated": {**CERTIFIED, "frequency": "1 kHz"}, "frequency": None},
            "read at an unrecorded frequency",
        ),
        ({"leads": "not zeroed"}, "the leads were not zeroed"),
        ({"frequency": "100 kHz"}, "states no accuracy for 10.012 mH at 100 kHz"),
    ],
)
def test_without_what_it_needs_there_is_no_verdict(make: Make, given: dict[str, Any], reason: str) -> None:
    """The decision is "cannot tell", and the finding and the table both say why."""
    bench = make("10.012 mH", **given)
    (check,) = checks(bench)
    assert check.judged is None
    assert check.decision == "cannot tell"
    assert reason in found(bench, "no verdict").sentence
    assert reason in " ".join(str(meter_check(bench).verdicts).split())
    assert "decision rule" not in kinds(bench)


def test_a_coarse_reference_is_told(make: Make) -> None:
    """With U above the limit nothing could ever pass, and the finding says which reference would do."""
    bench = make("10.012 mH", stated={"tolerance": "1 %"})
    assert found(bench, "meter: cannot tell")
    assert "a third of that uncertainty" in found(bench, "reference too coarse").sentence
    assert "w exceeds the limit" in " ".join(str(meter_check(bench).limits).split())


def test_a_reference_stated_at_the_frequency_of_the_reading_is_taken(make: Make) -> None:
    """Of two statements about one winding the one at the reading's frequency counts."""
    bench = make("10.012 mH")
    bench.reference(1, "10.012 mH", frequency="10 kHz", **CERTIFIED)
    bench.reference(1, "9.000 mH", frequency="1 kHz", **CERTIFIED)
    (check,) = checks(bench)
    assert str(check.reference.stated) == "10.012 mH"


# Leads


def test_leads_that_were_not_zeroed_are_taken_off(make: Make) -> None:
    """0.60 µH of leads come off the discrepancy, known as well as the card says, and the table says so."""
    bench = make("10.012 mH", leads="not zeroed", alone="0.60 µH")
    (check,) = checks(bench)
    assert check.as_read is None
    assert check.judged is not None
    assert check.judged.value == pytest.approx(11.4e-6, rel=1e-9)
    assert "leads taken off: within its card" in " ".join(str(meter_check(bench).verdicts).split())
    assert check.ids == ("reference.1", "reference-1", "leads")
    assert "were not zeroed" in found(bench, "leads not zeroed").sentence


@pytest.mark.parametrize("state", ["zeroed", None])
def test_a_verdict_that_hangs_on_the_leads_is_none(make: Make, state: str | None) -> None:
    """Leads of 20 µH, in or out, move 10.045 mH from outside to between: then nobody can tell."""
    bench = make("10.045 mH", leads=state, alone="20.00 µH")
    (check,) = checks(bench)
    assert (check.as_read.decision, check.without_leads.decision) == ("fail", "pass")  # type: ignore[union-attr]
    assert check.decision == "cannot tell"
    assert "depends on whether the leads are taken off" in found(bench, "depends on the leads").sentence


def test_leads_read_in_another_state_or_with_another_meter_do_not_count(make: Make) -> None:
    """Only the reading of the leads in the same state, by the same meter, is held against a reference."""
    bench = make("10.012 mH")
    bench.read("1a 1a", "0.60 µH", "before", leads="not zeroed")
    bench.meter("meter-b", FINE)
    bench.read("1a 1a", "0.50 µH", "other", meter="meter-b")
    (check,) = checks(bench)
    assert check.leads is None
    bench.read("2b 2b", "0.05 µH", "same")
    (check,) = checks(bench)
    assert check.leads is not None
    assert check.leads.ids == ("same",)


def test_residual_of_zeroed_leads_has_the_limit_that_the_card_gives(make: Make) -> None:
    """0.06 µH: 0.3 % and 5 counts of 10 nH and half a count are 0.0552 µH, rounded up to 0.06 µH."""
    bench = make("10.012 mH", alone="0.06 µH")
    assert "read 0.06 µH after zeroing, known to ±0.06 µH" in found(bench, "lead residual").sentence
    card = parse_card(meter_check(bench).card_with_leads())
    before = read_card(FINE)
    assert card.lead_residual is not None
    assert (card.lead_residual.inductance, card.lead_residual.limit) == ("0.06 µH", "0.06 µH")
    assert card.model_copy(update={"lead_residual": before.lead_residual}) == before


def test_limit_of_the_residual_is_rounded_up(make: Make) -> None:
    """2.00 µH: 6 nH, 50 nH and 5 nH make 0.061 µH, which 0.06 µH would understate."""
    assert "known to ±0.07 µH" in found(make("10.012 mH", alone="2.00 µH"), "lead residual").sentence


def test_offer_turns_into_a_statement_once_the_card_carries_the_residual(make: Make) -> None:
    """The sentence gives the call; after it the card carries the residual, and the call changes nothing."""
    bench = make("10.012 mH", alone="-0.02 µH")
    assert 'card_with_leads("meter-a")' in found(bench, "residual offered").sentence
    bench.meter("meter-a", meter_check(bench).card_with_leads("meter-a"))
    lines = len(bench.events)
    assert "−0.02 µH" in found(bench, "residual in the card").sentence.replace("-", "−")
    bench.meter("meter-a", meter_check(bench).card_with_leads("meter-a"))
    assert len(bench.events) == lines


def test_no_residual_without_zeroed_leads(make: Make) -> None:
    """Leads of unknown or other state are no lead residual, and the refusal says what to do."""
    bench = make("10.012 mH", alone="0.60 µH", leads=None)
    assert "nobody noted whether they were zeroed" in found(bench, "leads not zeroed").sentence
    with pytest.raises(MissingReading, match="were not read while zeroed"):
        meter_check(bench).card_with_leads()


def test_no_residual_without_a_card(make: Make) -> None:
    """A meter without a card gives no limit, so no residual."""
    bench = make("10.012 mH", alone="0.06 µH", card=None)
    assert "how far off that may be is not known" in found(bench, "lead residual unknown").sentence
    with pytest.raises(MissingReading, match="no card that covers"):
        meter_check(bench).card_with_leads("meter-a")


def test_of_several_meters_one_has_to_be_named(make: Make) -> None:
    """The refusal names them."""
    bench = make("10.012 mH", alone="0.06 µH")
    bench.meter("meter-b", FINE)
    with pytest.raises(EntryError, match="meter-a, meter-b"):
        meter_check(bench).card_with_leads()
    assert "lead_residual" in meter_check(bench).card_with_leads("meter-a")


def test_open_leads_are_worked_out_across_the_largest_part(make: Make) -> None:
    """0.8 pF across 10.012 mH at 10 kHz: L·ω²LC = 0.317 µH, less than the last digit."""
    bench = make("10.012 mH")
    bench.read("1a 2a", "0.8 pF", "open", quantity="capacitance")
    finding = found(bench, "leads open")
    x = (2 * math.pi * 1e4) ** 2 * 10.012e-3 * 0.8e-12
    assert finding.figures["excess"].value == pytest.approx(10.012e-3 * x / (1 - x), rel=1e-12)
    assert "0.32 µH, less than one count" in finding.sentence
    bench.read("1a 2a", "80 pF", "open-long", quantity="capacitance")
    second = [f for f in meter_check(bench).findings if f.kind == "leads open"][1]
    assert "more than one count" in second.sentence


def test_an_open_reading_that_is_no_capacitance_is_kept_as_shown(make: Make) -> None:
    """A negative inductance with open leads is stated, not interpreted."""
    bench = make("10.012 mH")
    bench.read("1a 2a", "-31.2 H", "open")
    assert "showed −31.2 H" in found(bench, "leads open").sentence


# What is missing, and what has not been looked at


def test_missing_readings_are_named_with_their_calls(make: Make) -> None:
    """An empty bench says what to read; own words about open leads count as an answer."""
    bench = make(card=None, stated={})
    assert {"missing readings", "no card", "no reference read"} <= kinds(bench)
    assert "1a 1a" in found(bench, "missing readings").sentence
    bench.read("1a 1a", "0.06 µH", "leads")
    assert "1a 2a" in found(bench, "missing readings").sentence
    bench.write("leads open", "OL on every range", by="p1")
    assert "missing readings" not in kinds(bench)


def test_limits_without_reference_or_card_say_what_is_missing(tmp_path: Path) -> None:
    """Two sentences, no table."""
    limits = meter_check(empty_bench(tmp_path)).limits
    assert limits.rows == ()
    assert len(limits.missing) == 2


def test_a_reference_that_no_range_reaches_is_told_in_the_limits(make: Make) -> None:
    """The card's own sentence stands below the table."""
    bench = make("10.012 mH")
    bench.reference(2, "3.000 H", tolerance="1 %")
    limits = meter_check(bench).limits
    assert len(limits.rows) == 1
    assert "no accuracy for 3.000 H" in limits.missing[0]


def test_limits_are_known_before_anything_is_read(make: Make) -> None:
    """10 mH ± 35 µH, and what is accepted is narrower by w on either side."""
    (row,) = meter_check(make(stated={**CERTIFIED, "frequency": "10 kHz"})).limits.rows
    assert row[2:] == ("9.965 mH to 10.035 mH", "8.0 µH", "9.973 mH to 10.027 mH")


def test_other_ranges_are_not_covered_by_a_verdict(make: Make) -> None:
    """The finding names every range of the card on which no reference was read."""
    assert "200 µH, 2 mH, 200 mH" in found(make("10.012 mH"), "ranges not looked at").sentence


def test_an_overdue_calibration_is_told(make: Make) -> None:
    """Readings of 6 May 2031 with a calibration due on 5 May are told, on 6 May not."""
    text = FINE.read_text("utf-8")
    due = text.replace("calibrated = 2031-01-15", "calibrated = 2030-01-15\ncalibration_due = 2031-05-05")
    assert "was due on 2031-05-05" in found(make("10.012 mH", card=due), "calibration due").sentence


def test_a_calibration_due_today_is_in_time(make: Make) -> None:
    """The day itself still counts."""
    card = FINE.read_text("utf-8").replace(
        "calibrated = 2031-01-15", "calibrated = 2030-01-15\ncalibration_due = 2031-05-06"
    )
    assert "calibration due" not in kinds(make("10.012 mH", card=card))


def test_a_card_without_calibration_is_told(make: Make) -> None:
    """No date is no date: the finding says that the card names none."""
    card = FINE.read_text("utf-8").replace("calibrated = 2031-01-15\n", "")
    assert "names no date" in found(make("10.012 mH", card=card), "no calibration").sentence


# The demo


def test_the_shipped_record_is_what_its_writer_writes(tmp_path: Path) -> None:
    """`write_meter_demo` gives the shipped record but for last digits, and it is sound."""
    made = write_meter_demo(tmp_path)
    there = shipped("data", "meter_check", "record.jsonl")
    assert same((tmp_path / "record.jsonl").read_text("utf-8"), there.read_text("utf-8"))
    assert made.record.problems == ()
    assert made.invented


def test_the_demo_carries_the_residual_that_it_supports() -> None:
    """The card at its end is the one that the analysis of its readings offers."""
    bench = demo_bench("know_your_meter")
    assert meter_check(bench).card_with_leads() == demo_card(RESIDUAL).text
    assert bench.cards["meter-a"] == demo_card(RESIDUAL).card


def test_the_demo_shows_a_pass_and_a_cannot_tell() -> None:
    """The fine reference decides, the coarse one does not, and every finding names events that there are."""
    bench = demo_bench("know_your_meter")
    assert [check.decision for check in checks(bench)] == ["pass", "cannot tell"]
    ids = {event.id for event in bench.events}
    for finding in meter_check(bench).findings:
        assert set(finding.ids) <= ids


def test_verdicts_keep_their_promise_on_the_virtual_bench(tmp_path: Path) -> None:
    """Of 80 meters within their card a good reference calls none outside and most within."""
    card = read_card(FINE)
    decisions = []
    for seed in range(80):
        bench = empty_bench(tmp_path / str(seed), "references", family="separate", dots=None)
        bench.meter("meter-a", FINE)
        bench.reference(1, "10.000 mH", uncertainty="0.004 mH", coverage_factor=2)
        meter = VirtualBench([[10e-3, 0.0], [0.0, 1e-4]], card, seed)
        bench.read("1a 1b", meter.shown("1a 1b"), "r", frequency="10 kHz", meter="meter-a", leads="zeroed")
        decisions += [check.decision for check in checks(bench)]
    assert decisions.count("fail") == 0
    assert decisions.count("pass") > 60


def test_the_check_shows_itself(make: Make) -> None:
    """The result is its findings; it works before anything is known."""
    check = meter_check(make("10.012 mH"))
    assert isinstance(check, MeterCheck)
    assert "within its card" in str(check)
    assert "lk" in check._repr_html_()
