"""Sentences of the joint fit."""

NO_UNCERTAINTY = (
    "A joint fit weighs readings by their uncertainty, and at least one reading has none stated; enter the meter's card "
    "with bench.meter, or compare by the break-even instead."
)
NOT_IDENTIFIED = (
    "The readings {readings} do not identify a pair: that needs each winding alone and one reading of both together, best "
    "in line with one winding reversed."
)
NONE = "(none)"
