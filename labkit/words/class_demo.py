"""Texts of the invented class. Scenario, people, parts and figures are invented."""

SCENARIO = (
    "Invented scenario: twenty groups of an evening course at one afternoon. Windings, meters, mistakes and all figures come "
    "from labkit's virtual bench."
)
PART = "choke-{group:02}"
ROUND = "round-robin-choke"
TITLE = "Ring-core choke of a class set (invented)"
CERTIFICATE = "certificate of an invented laboratory"
