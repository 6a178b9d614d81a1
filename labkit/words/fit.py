"""Sentences of the joint fit."""

NO_UNCERTAINTY = (
    "A joint fit weighs readings by their uncertainty, and at least one reading has none stated; enter the meter's card "
    "with bench.meter, or compare by the break-even instead."
)
NOT_IDENTIFIED = "The readings {readings} do not identify a pair. {missing}"
ONE_MORE = "Open: {open}. Any one further reading of these would settle it: {either}."
MORE = "Open: {open}. What would settle it, all of them read: {all_of}."
AMOUNT_NOT_IDENTIFIED = (
    "The readings {readings} identify the pair, and say nothing about the {amount} beside it."
)
AT_LIMIT = (
    "The readings {readings} fit best at k = 1, the very limit of what a passive pair can be, so they do not resolve how far "
    "below it k is. A reading in line with one winding reversed (series-opposing) does."
)
NOT_CONVERGED = (
    "No pair was found that the readings {readings} settle on; look for a contradiction among them first."
)
FOLLOWS = "and what follows from them"
OR = " or "
NONE = "(none)"
