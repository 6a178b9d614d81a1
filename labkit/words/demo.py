"""Texts of the demo record. Scenario, people, part and figures are invented."""

SCENARIO = (
    "Invented scenario: two members of an evening course measure a ring-core choke from a box of teaching samples. "
    "The windings, the meter and all figures come from labkit's virtual bench."
)
TITLE = "Teaching sample 12, two windings on one ring (invented)"
NOTE = "Part at rest on the bench for an hour, singles read back to back."
REASON = "Decimal point misplaced when copying; the display still showed the reading."
OWN_WORDS = (
    "We expected the two windings to add up like two resistors. In line they gave four times one winding, and with one "
    "winding turned round almost nothing, so both sit on the same flux. Side by side changed almost nothing either, "
    "which is why we also turned one winding round before we believed our clamps."
)
