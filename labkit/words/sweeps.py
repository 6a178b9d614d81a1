"""Sentences about swept data: frequencies, files, fixtures."""

# What a sweep is
NO_FREQUENCIES = (
    "Frequencies of shape {shape} were given, but a sweep is a row of at least one frequency; check the data."
)
NOT_ABOVE_ZERO = "Point {place} is at {given} Hz, but a frequency has to be above zero; check the file."
TWICE = "Point {place} is at {given} once more; each frequency may stand only once, so decide which one counts and take the other out."
FALLS = (
    "Point {place} is at {given}, below {before} before it; frequencies have to ascend, so check whether two sweeps "
    "stand in one file and sort nothing by hand that belongs together."
)
SHAPE = (
    "{name} has the shape {given}, but {needed} is needed for these frequencies and ports; check the data."
)
NOT_FINITE = (
    "{name} is not a finite number at {frequency}; take that point out of the file, or measure it again."
)
REFERENCE = "Reference impedances {given} were given, but each port needs one above zero in Ω."
