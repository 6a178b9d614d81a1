"""Sentences about amounts: influences that have a size, not a yes or no."""

TITLE = {
    "lead inductance": "lead inductance in series with the clips",
    "capacitance": "capacitance across the clips",
    "self-capacitance": "self-capacitance across each winding",
    "board capacitor": "capacitor left across the line on a board",
    "shorting resistance": "resistance of the shorted loop",
    "level": "change of the core with the flux (half as large in series-aiding, for a meter that holds its voltage)",
    "core change": "change of the core between single and joint readings (remanence, handling)",
    "drift": "drift of the core from one reading to the next",
}
NEEDED = "{title}: {size} would bring the readings together best, {verdict}."
AT_MOST = "{title}: anything up to {size} would fit, and the readings do not ask for any."
SQUARE_NEGATIVE = "{title}: the short-circuit readings are smaller than without any, which no resistance explains; something else is more likely."
INSIDE = "which is within twice its uncertainty: the readings do not ask for any"
TOO_WIDE = "which is too uncertain to say anything about a usual size ({usual})"
OUTSIDE = "which is more than twice its uncertainty and {plausible}"
PLAUSIBLE = "of a plausible size ({usual}); to find out, {cure}"
IMPLAUSIBLE = "not of a plausible size ({usual}), so something else is more likely"
USUAL = {
    "lead inductance": "0 to 2 µH for leads that were not zeroed",
    "capacitance": "1 pF to 200 pF for windings and leads",
    "self-capacitance": "1 pF to 200 pF for a winding",
    "board capacitor": "10 nF to 2 µF",
    "shorting resistance": "10 mΩ to 5 Ω for a winding with its short",
    "level": "up to 5 % between two test levels",
    "core change": "up to 5 %",
    "drift": "up to 1 % from reading to reading while a part warms or cools",
}
CURE = {
    "lead inductance": "zero the leads and read the small ones again",
    "capacitance": "read again at a lower frequency: the excess falls with the square of it",
    "self-capacitance": "read again at a lower frequency: the excess falls with the square of it",
    "board capacitor": "unsolder one end of it, or read off the board",
    "shorting resistance": "read again at a higher frequency: the excess falls with the square of it",
    "level": "note the test level, and repeat at another one",
    "core change": "demagnetise the core, then read singles and joint ones back to back",
    "drift": "let the part settle, then read once more in reversed order",
}
BY_CHANCE = "A sound bench shows as much now and then, so repeat before concluding."
IN_ITS_PLACE = "Any one of these would do as well in its place: {others}."
INSTEAD = (
    "There is another way out: as entered, all readings fit together with {amounts}. An influence like this is no mistake "
    "and is not ranked among them."
)
SIZED = "{size} of {title} (usual: {usual}; to find out, {cure})"
OR = ", or with "
NOT_IDENTIFIED = "{title}: these readings say nothing about it{cure}."
WOULD_SHOW = "; one more reading would: {names}"
OTHER_FREQUENCY = "; the same readings at another frequency would"
COUPLING = (
    "Coupling: k = {k} would bring the readings together best, {times} times its standard uncertainty away from 0. With no "
    "coupling at all, {break_even} (in {id})."
)
COUPLING_INSIDE = (
    "Coupling: k = {k} would bring the readings together best, which is within twice its uncertainty: the readings do not ask "
    "for any."
)
MANY_TIMES = "more than 1000"
GAP = (
    "A cracked core or an air gap lowers both windings and both aiding readings together and leaves the opposing ones, so "
    "one session alone cannot show it: compare with an earlier record of the same part."
)
NOT_YET = (
    "Amounts are asked for once the readings fit what was entered: at least three of them, each with an uncertainty, and no "
    "contradiction among them."
)
