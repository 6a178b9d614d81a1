"""Sentences about amounts: influences that have a size, not a yes or no."""

TITLE = {
    "lead inductance": "lead inductance in series with the clips",
    "capacitance": "capacitance across the clips",
    "shorting resistance": "resistance of the shorted loop",
    "core change": "change of the core between single and joint readings (level, remanence)",
    "drift": "drift of the core from one reading to the next",
}
NEEDED = "{title}: {size} would be needed to bring the readings together best, {verdict}."
INSIDE = "which is within twice its uncertainty: the readings do not ask for any"
OUTSIDE = "which is more than twice its uncertainty and {plausible}"
PLAUSIBLE = "of a plausible size ({usual})"
IMPLAUSIBLE = "not of a plausible size ({usual}), so something else is more likely"
USUAL = {
    "lead inductance": "0 to 2 µH for leads that were not zeroed",
    "capacitance": "1 pF to 200 pF for windings, 10 nF to 2 µF for a capacitor left on a board",
    "shorting resistance": "10 mΩ to 5 Ω for a winding with its short",
    "core change": "up to 5 % with the test level",
    "drift": "up to 1 % from reading to reading while a part warms or cools",
}
NOT_IDENTIFIED = "{title}: these readings say nothing about it."
GAP = (
    "A cracked core or an air gap lowers both windings and both aiding readings together and leaves the opposing ones, so "
    "one session alone cannot show it: compare with an earlier record of the same part."
)
NOT_YET = (
    "Amounts are asked for once the readings fit what was entered: at least three of them, each with an uncertainty, and no "
    "contradiction among them."
)
