"""The demo record of a meter check, an invented session: `python -m tests.make_data.meter_demo FOLDER`."""

import sys
import textwrap
from pathlib import Path

from labkit.record.bench import Bench, new_bench
from labkit.record.card_entry import CardDraft, write_card
from labkit.record.demo import ticks
from labkit.record.virtual_bench import VirtualBench

# Texts of the demo record of a meter check. Scenario, meter, references and figures are invented.

SCENARIO = (
    "Invented scenario: before a lesson a technician checks the meter of room 4 and its leads with two reference "
    "inductors. The meter, the references and all figures come from labkit's virtual bench; the capacitance of the leads is "
    "made up."
)
METER = "Bench LCR meter of room 4 (invented)"
SOURCE = "accuracy page of an invented manual; no instrument stands behind it"
RANGES = """
200 µH   199.99 µH   0.3 %   5 digits   1 kHz, 10 kHz
2 mH     1.9999 mH   0.3 %   5 digits   1 kHz, 10 kHz
20 mH    19.999 mH   0.3 %   5 digits   1 kHz, 10 kHz
200 mH   199.99 mH   0.3 %   5 digits   1 kHz, 10 kHz
"""
PARTS = "Two reference inductors (invented)"
CERTIFICATE = "certificate of an invented laboratory"
NOTE = "Clips taken off and put on again between repeats."
OWN_WORDS = (
    "I expected shorted leads to read nothing. Before zeroing they read more than half a microhenry, afterwards still a few "
    "counts. At 10 mH that is nothing, at 100 µH it is part of the discrepancy. The 10 mH reference shows that the meter is "
    "within its card there. The 100 µH one is not good enough to show it, so for small readings I only know what the card "
    "promises."
)

SEED = 10
FREQUENCY = "10 kHz"
TRUE_H = (10.0025e-3, 100.02e-6)
LEADS_BEFORE_H, LEADS_AFTER_H = 0.61e-6, 0.05e-6  # before and after zeroing
OPEN_LEADS = "2 pF"  # the virtual bench knows no capacitance between leads
REPEATS = 5
RESIDUAL = "0.07 µH", "0.06 µH"  # what the analysis of this record offers

REFERENCES = (("10.000 mH", "0.008 mH"), ("100.00 µH", "0.12 µH"))
"""Stated value and its uncertainty U, k = 2, of winding 1 and 2."""


def demo_card(leads: tuple[str, str] | None = None) -> CardDraft:
    """The card as the notebook writes it, from the accuracy page of an invented manual."""
    return write_card(
        "meter-room-4",
        title=METER,
        source=SOURCE,
        invented=True,
        calibrated="2030-11-20",
        calibration_due="2031-11-20",
        low_q=0.1,
        leads=leads,
        ranges=RANGES,
    )


def write_meter_demo(folder: str | Path) -> Bench:
    """Write the demo record into a folder that has none; the same bytes each time."""
    draft = demo_card()
    L = [[TRUE_H[0], 0.0], [0.0, TRUE_H[1]]]
    before, after = (
        VirtualBench(L, draft.card, SEED, FREQUENCY, scatter=2.0, lead_inductance=leads)
        for leads in (LEADS_BEFORE_H, LEADS_AFTER_H)
    )
    bench = new_bench(
        folder, "references", clock=ticks().__next__, invented=True, scenario=SCENARIO, seed=SEED
    )
    bench.accept_cautions(by="p1")
    bench.describe(windings=2, family="separate", title=PARTS)
    where = {"frequency": FREQUENCY, "source": CERTIFICATE}
    for winding, (stated, U) in enumerate(REFERENCES, start=1):
        bench.reference(winding, stated, uncertainty=U, coverage_factor="2", **where)
    bench.meter("meter-a", draft.text)
    bench.note_conditions(temperature="23.0 °C", test_level="0.5 V", note=NOTE)
    bench.commit("1a 1a", "0 µH", "own-leads", by="p1")
    bench.commit("1a 1b", "10.000 mH", "own-reference-1", by="p1")
    bench.use(frequency=FREQUENCY, mode="series", meter="meter-a", by="p1")
    bench.read("1a 1a", before.shown("1a 1a"), "leads-before", leads="not zeroed")
    bench.read("1a 1a", after.shown("1a 1a"), "leads-shorted", leads="zeroed")
    bench.use(frequency=FREQUENCY, mode="series", meter="meter-a", leads="zeroed", by="p1")
    bench.read("1a 2a", OPEN_LEADS, "leads-open", quantity="capacitance", mode="parallel")
    for n in range(1, REPEATS + 1):
        bench.read("1a 1b", after.shown("1a 1b", n), f"reference-1-{n}", repeat=n)
    bench.read("2a 2b", after.shown("2a 2b"), "reference-2")
    bench.meter("meter-a", demo_card(RESIDUAL).text)
    bench.write("explanation", textwrap.fill(OWN_WORDS, 84), by="p1")
    return bench


if __name__ == "__main__":
    write_meter_demo(sys.argv[1])
