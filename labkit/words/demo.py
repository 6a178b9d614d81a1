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
BOX_TITLE = "Box 3, four terminals, two windings, no dots marked (invented)"
BOX_WORDS = (
    "Nothing on the box says where the dots are. We read both windings in line twice, the second time with winding 2 turned "
    "round. The larger reading is the one where the fluxes add, so the current then enters both dotted ends."
)
SHORT_TITLE = "Teaching sample 21, two windings on one ring (invented)"
SHORT_WORDS = (
    "We expected a shorted winding next door to change nothing. It took the reading from four millihenry to some fifty "
    "microhenry, because the shorted winding lets no flux through. What is left is the flux that it does not catch."
)
NO_DEMO = "There is no demo record '{given}'; the shipped ones are {known}."
