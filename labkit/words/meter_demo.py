"""Texts of the demo record of a meter check. Scenario, meter, references and figures are invented."""

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
