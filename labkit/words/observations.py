"""Sentences about what the readings amount to."""

NO_METER = "no meter is recorded"
NO_CARD = "the meter {meter} has no card"
CONVERTED = "read in parallel mode and converted to the series equivalent with its own D = {D:.4g}"
PARALLEL_UNCONVERTED = (
    "read in parallel mode; the series equivalent is smaller by a factor 1 + 1/Q², but no Q or D was recorded, so the "
    "reading is used as it stands"
)
COARSER = (
    "shown to {shown}, though the meter's digit on this range is {digit}: digits seem to have been left out"
)
NO_MODE = "the meter's mode is not recorded; taken as the series inductance, which a parallel one exceeds by a factor 1 + 1/Q²"
NOT_POSITIVE = (
    "zero or negative, which no passive winding has at low frequency; nothing is worked out from it"
)
LEADS_NOT_ZEROED = (
    "the leads were not zeroed, so their inductance is in the reading; it counts most in small ones"
)
NO_FREQUENCY_AT_ALL = "no test frequency is recorded; all readings are taken to have the same one"
NO_FREQUENCY = "no test frequency is recorded; it is compared as if read at {frequency} like the others"
NOT_USED = "not an inductance, takes no part in the comparison"
REPEATS_DISAGREE = "the repeats lie {spread} apart, more than the meter's limits of ±{limit} can explain; they may not be of one wiring or one part"
