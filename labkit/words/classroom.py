"""Sentences of class results. They speak of values, never of the people who read them."""

from labkit.words import labels

NO_OWN = "There is no record called '{given}' in it; give the name of your own bundle's file or of your bench folder."
NOT_READ = "No record gives this yet: {what}."
NONE = "no values yet"

QUANTITY = labels.CONNECTION | {
    "mutual_inductance": "mutual inductance M",
    "coupling_coefficient": "coupling coefficient k",
    "coupled_parallel": "coupled rule",
    "series_sum": "series sum",
    "quarter_law": "quarter law",
    "short_circuits": "short circuits",
    "product": "product",
}

COUNT = "{count} records, {usable} of them with values; a record that lies there twice counts once."
UNREAD = "{count} could not be read and are in no figure; labkit check says why."
EMPTY = "{count} without a reading of two windings."
TOO_FEW = "Robust figures are given from {least} values on."
INVENTED = {"all": "The data are invented.", "some": "Some of the data are invented."}
MARK = {"": "", "all": "invented data", "some": "partly invented data"}
SHARED_BY_NAME = "All records name the same part, so it is taken as one that went round; say shared=False if each group had its own."
OWN_PARTS = "The records name different parts, so only relations that hold for every pair are scored; say shared=True if one part went round."
TOLD_SHARED = "One part went round, so the values themselves are compared."
TOLD_OWN = "Each group had a part of its own, so only relations that hold for every pair are scored."

CLASS_HEADER = ("quantity", "values", "x* ± U", "s*", "median", "MADe")
OWN_HEADER = ("quantity", "own value", "z", "E_n", "E_n is against")
OWN_TITLE = "Own group beside the class"
VALUES_SHARED = "What the class read of one part"
VALUES_OWN = "What the class read, each group of its own part: no common value, so no score"
RESIDUALS_TITLE = "Closure residuals: what should be zero, whatever the pair"
NOTE = (
    "x*, s*: robust mean and standard deviation (ISO 13528, algorithm A), U = 2 · 1.25 s*/√p for p values; MADe: the median's "
    "counterpart of s*. Scores are formed of what can be compared: z = (value − x*)/s*; E_n = difference over its expanded "
    "uncertainty. Coupled rule: parallel-aiding reading over what winding 1, winding 2 and series-opposing predict. "
    "Series sum: A + B over 2 (L1 + L2). Quarter law: P+/A over P−/B. All less one."
)

EXPECTED_TITLE = "What every pair should give"
EXPECTED_HEADER = ("relation", "expected", "U of a typical group", "groups that state U")
EXPECTED_NOTE = "Relative residuals. The typical U is the median of what the groups' own cards allow."
NO_CLOSURES = (
    "No record has the readings for a closure yet: both windings alone and two or more of both together."
)

FREQUENCIES = (
    "Not all groups read at one frequency: {listed}. What differs may be the part's, not the groups'."
)
UNRECORDED = "not recorded"
THOUSANDFOLD = (
    "{what}: one value, {value}, is about {step} what the class reads, {x}. That is the step of a prefix or of a decimal "
    "mark. It is kept, counts as one value among all and stands at the margin of the picture; an ordinary mean would be {mean}."
)
STEP = {1e3: "1000 times", 1e-3: "a thousandth of", 1e6: "a million times", 1e-6: "a millionth of"}
OF = "{what} {far} of {count}"
OUTSIDE = "Further than {limit} s* from x*: {what}. A meter with a wide card scatters more; otherwise look at display, prefix, wiring and part."
ALL_INSIDE = "No value is further than {limit} s* from x*."
NOT_COVERED = "Further off than the values' own uncertainties cover, |E_n| > {limit}: {what}."
ALL_COVERED = "Every value that states an uncertainty is covered by it, |E_n| ≤ {limit}."
NO_SPREAD = "{what}: most values are the same to the last digit, so s* is zero and there is no z."
CLASS_OFF = "{what}: the class as a whole is off {target} by {difference}. What all groups share, such as leads, meter type or temperature, does not show in their scatter."
ZERO = "zero"
OWN_LOOK = "Own group, {look} s* or more from x*: {what}. Look at the display's prefix, the wiring and the clips there first."
OWN_INSIDE = "Own group: every score is below 2."

# Pictures
OWN = "own group"
DOTS_AXIS = "{what}, one row a value"
DOTS_BARS = "bars: expanded uncertainty, coverage factor 2"
DOTS_NO_BARS = "no bars: no uncertainty is stated"
DOTS_CENTRE = "line and band: x* and its expanded uncertainty"
DOTS_TARGET = "dashed line: {target}"
REFERENCE = "reference"
SHOULD_BE = "what it should be"
BEYOND = "beyond the {side} end of the axis: {count} ({values})"
STATISTICS = ("{count} values", "x* {x}", "s* {s}")
FEW_STATISTICS = ("{count} values", "no x* below {least}")
ALT_DOTS = "Dot plot of {what}: {count} values on an axis from {low} to {high}."
ALT_CENTRE = "Robust mean {x}, robust standard deviation {s}."
ALT_OWN = "Own group, highlighted: {value}."
SCORES_AXIS = "z: distance from the class's robust mean in robust standard deviations"
SCORES_LINES = "lines at |z| = 2 (look) and |z| = 3 (act)"
SCORES_ARROWS = "arrows: values beyond the end of the axis, with their number"
ALT_SCORES = "Dot plot of z scores, one row a quantity, on an axis from −{end} to {end}."
ALT_SCORES_ROW = "{what}: {count} values, {inside} with |z| up to 2, {left} beyond the left end, {right} beyond the right end."
ALT_SCORES_OWN = "Own group z = {z}."
SCORES_OWN = "blue diamond: own group"
FAR_UP, FAR_DOWN = "> 1000", "< −1000"
NOTHING_SCORED = "Nothing can be scored yet: there are no closures or too few values."
NO_Z = "no spread, no z"
