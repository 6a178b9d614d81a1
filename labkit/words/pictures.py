"""Words in pictures, and their alternatives in words."""


# Words in and about the pictures: flux in the ring, k on a scale, budget as bars, draws as a histogram.

# Flux in the ring
COMMON_MODE = "common mode"
DIFFERENTIAL_MODE = "differential mode"
MODE_TITLE = {COMMON_MODE: "common-mode current", DIFFERENTIAL_MODE: "differential-mode current"}
CURRENTS_TITLE = "currents {first} and {second}, counted from end a to end b"
FLUX = {1: "Φ₁", 2: "Φ₂"}
CURRENT = "i"
SUM = "sum"
NOTHING, ALMOST_NOTHING = "0", "≈ 0"
VERDICT = {
    "add": "fluxes add",
    "cancel": "fluxes cancel",
    "partly cancel": "fluxes cancel in part",
    "alone": "one flux only",
    "none": "no current, no flux",
}
LEFT = {"cancel": "only leakage flux is left", "alone": "no current in the other"}
FLUX_TITLE = "Flux in the ring: {what}"

ALT_RING = "Ring core seen from the front, winding 1 on the left, winding 2 on the right, dots on {dots}."
ALT_MODE = {
    COMMON_MODE: "Common-mode current enters both windings at their ends a.",
    DIFFERENTIAL_MODE: (
        "Differential-mode current goes out through winding 1 from end a to end b and back through winding 2 from end b "
        "to end a."
    ),
}
ALT_CURRENT = "Current flows through winding {number} from {start} to {end}; its flux goes {way}."
ALT_NO_CURRENT = "Winding {number} carries no current."
CLOCKWISE, COUNTERCLOCKWISE = "clockwise", "counterclockwise"
ALT_VERDICT = "Together: {verdict}."
ALT_LEFT = "Together: {verdict}, {left}."
ALT_EQUAL = "Drawn for equal windings that couple tightly."

# k on a scale
K = "|k| = {k}"
GAP = "1 − |k| = {gap}"
PREFERRED = "{text}, preferred"
STATE = {
    "resolved": GAP,
    "two roots": "one of two solutions",
    "not resolved": "not resolved",
    "beyond": "not resolved: no passive pair has |k| > 1",
    "impossible": "not one pair: |k| > 1 by more than U",
    "unstated": "no uncertainty stated",
    "no solution": "no real solution",
}
ONE, MORE_THAN_ONE = "1", "> 1"
SCALE_AXIS = "coupling coefficient |k|, axis logarithmic in 1 − |k|"
SCALE_BEYOND = "beyond |k| = 1 nothing is to scale; the values stand beside the marks"
SCALE_BARS = "bars: expanded uncertainty, coverage factor 2; an arrow: not resolved; filled: preferred route"
SCALE_BOUND = (
    "bars: where |k| lies if the meter, which has no card, is wrong by up to {bound}; filled: preferred route"
)
SCALE_NO_BARS = "no bars: no uncertainty is stated"
SCALE_NOTHING = "There is no k to show yet."
ALT_SCALE = (
    "Scale of the coupling coefficient k, logarithmic in 1 − |k|, from |k| = {low} to |k| = {high}, then an end mark at "
    "|k| = 1."
)
ALT_ROUTE = "{title} ({ids}): |k| = {k}, 1 − |k| = {gap}, {status}."
ALT_PREFERRED = "Preferred route, {title} ({ids}): |k| = {k}, 1 − |k| = {gap}, {status}."
ALT_NO_ROUTE = "{title}: {status}."

# Uncertainty budget as bars
BUDGET_TITLE = "{what} by the coupled rule: {value}"
SHARED_ADD, SHARED_TAKE = "shared errors add", "shared errors take away"
SHARED_BELOW = "covariance"
TOTAL, TOTAL_BELOW, TOTAL_TEXT = "all together", "combined", "u = {u}"
SHARE = "{size}, {percent} % of u²"
SHARED_BY = "{text}, in {count} readings"
LESS_THAN_ONE = "< 1"
OTHERS = "{count} smaller ones"
BUDGET_AXIS = "size of the contribution c·u to the standard uncertainty u"
BUDGET_SIGNS = "filled: the result rises with it (+); hollow: it falls (−)"
BUDGET_HATCHED = "hatched: root of what shared errors change in u²"
NO_SPREAD = "These readings leave no uncertainty in {what}, so there is no budget to draw."
ALT_BUDGET = "Bars of an uncertainty budget, largest first. {title}."
ALT_BAR = "{label} ({below}): {text}."
ALT_BAR_ALONE = "{label}: {text}."

# Draws of a prediction
DISTRIBUTION_TITLE = "{what} by the coupled rule, {draws} draws"
DRAWS, DRAWS_BELOW = "Monte Carlo", "grey steps: draws"
FIRST_ORDER, FIRST_ORDER_BELOW, CURVE_BELOW = "first order", "value ± U, U = 2u", "blue curve: normal"
SHORTEST, SYMMETRIC = "shortest {percent} %", "symmetric {percent} %"
SHORTEST_BELOW, SYMMETRIC_BELOW = "of the draws", "as many below as above"
FROM_TO = "{low} to {high} {unit}"
FAR = {"left": "{text}, far to the left", "right": "{text}, far to the right"}
STEPS = "steps: the first {count} of these draws, seed {seed}"
STEPS_OUTSIDE = "steps: the first {count} of these draws, seed {seed}; {outside} lie beyond the axis"
IS_INPUT = "The coupled rule rests on the reading of {what}, so nothing is drawn for it; ask for a connection that is predicted."
ALT_DISTRIBUTION = "Distribution of {what} by the coupled rule, from {draws} draws, with the normal curve of first order over it."
ALT_STRIP = "{label}: {text}."


# Words in and about the pictures of readings and predictions.

KIND = {
    "reading": "reading",
    "coupled": "coupled rule",
    "uncoupled": "uncoupled rule",
    "own": "own prediction",
}
READING_ID = "reading {id}:"
INPUT = "{text} (input)"
INTERVAL = "{value}, 95 % of the draws from {low} to {high}"
MORE = "{shown} and {count} more"
LANE = "{name} {text}"
OFF_AXIS = "{lane} (no place on a logarithmic axis)"

AXIS = "inductance, logarithmic axis"
BARS = "bars: expanded uncertainty, coverage factor 2, or 95 % of the draws"
NO_BARS = "no bars: no uncertainty is stated"
INPUTS = "input: the coupled rule rests on this reading"
INVENTED = "invented data"

ALT_HEAD = "Chart on one logarithmic axis of inductance from {low} to {high}."
ALT_INVENTED = "The data are invented."
ALT_INPUT = "Readings marked input are what the coupled rule rests on."
ROW = "{label} ({wiring})"
ALT_ROW = "{row}: {lanes}."
FIGURES_NOTHING = "Nothing has been read or predicted yet, so there is nothing to compare in a picture."
SIZE = "'{given}' is not a size of picture; write size='page' for a report or size='projector' for a class."


# Words in and about charts of quantities against frequency.

FREQUENCY = "frequency"
BAND = "bands: expanded uncertainty, coverage factor 2"
NO_PLACE_LOG = (
    "{label}: {count} of {points} values are zero, negative or not finite and have no place on this axis"
)
NO_PLACE = "{label}: {count} of {points} values are not finite and have no place on this axis"
CURVES_NOTHING = "There is nothing to draw: no curve has a value that has a place on these axes."

CURVES_ALT_HEAD = "{title}. {name} against frequency from {low} to {high}, {scale}."
ALT_LOG, ALT_LINEAR = "both axes logarithmic", "frequency axis logarithmic"
ALT_CURVE = "{label}: {first} at {low}, {last} at {high}; largest {peak} at {where}."
ALT_SINGLE = "{label}: {first} at {low}."
ALT_MARK = "Marked: {label} at {frequency}."


# Sentences about the drawing of a wiring.

METER = "meter"
SOURCE = "source"
WINDING = "winding {number}"
OPEN = "open"
SHORTED = "shorted"
UNKNOWN_DOT = "?"
SCHEMATIC_DOTS_UNKNOWN = "dots unknown"

TITLE = "Wiring {wiring}"

AND = " and "
COUNTS = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}
ALT_ONE = "Schematic of one winding on a core."
ALT_MANY = "Schematic of {count} windings on one core."
ALT_LABEL = "Winding {number} is called {label}."
ALT_DOTS = "Dots on {dots}."
ALT_DOTS_UNKNOWN = "Where the dots are is unknown."
ALT_CLIPS = "Meter clips on {first} and {second}."
ALT_SOURCE = "A source drives the clips."
ALT_METER = "The meter reads {measured}."
ALT_TIE = "Tie {chain}."
ALT_NO_TIE = "No ties."
ALT_SHORTED = "Winding {number} is shorted."
ALT_LEADS = "Both clips are on one node: the meter sees its own leads."
ALT_OPEN = "Open ends: {ends}."
ALT_NO_OPEN = "No end is open."

WINDINGS = "A part with {given} windings cannot be drawn; give a whole number from 1 to 99."
LABELS = (
    "Labels were given for {given}, but this part has windings 1 to {windings}; "
    "give one name a winding, such as labels={{1: 'red pair'}}."
)
