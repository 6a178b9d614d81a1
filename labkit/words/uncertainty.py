"""Sentences about sources of error, propagation and Monte Carlo."""

# Refusals: what was given, what is accepted, what to do.
UNKNOWN_DISTRIBUTION = "Source {name}: the distribution {given} is not known; use one of {accepted}."
BAD_SCALE = "Source {name}: the scale {given} is not a size; give a finite number that is zero or larger."
BAD_DEGREES_OF_FREEDOM = (
    "Source {name}: {given} degrees of freedom make no sense here; give a number of at least 1"
    " (infinity, the default, means exactly known; a student distribution needs a finite number)."
)
BAD_SHAPE = (
    "Source {name}: the shape {given} cannot be used with the distribution {distribution}; a curvilinear"
    " trapezoid takes a fraction from 0 to 1, every other distribution takes 0."
)
ENSEMBLE_NEEDS_STUDENT = (
    "Source {name}: it belongs to the simultaneous readings {ensemble} but is {given};"
    " a source estimated from simultaneous readings is student."
)
NO_NAME = "The name of this {what} is empty, so nothing can be traced to it; give it a name of its own."
NOT_FINITE = "{name}: {given} is not a finite number; give the number that was found, or leave the input out."
SAME_NAME = (
    "Two different sources of error are both called {name} ({first} and {second});"
    " one name means one physical source, so give each its own name."
)
TOO_FEW_READINGS = (
    "{name}: {count} repeated reading(s) given; a spread needs at least 2, so read again"
    " or state the uncertainty another way."
)
READINGS_SHAPE = (
    "Simultaneous readings need one column for each name;"
    " {names} name(s) and an array of shape {shape} were given."
)
COVARIANCE_SHAPE = (
    "{names} name(s), {values} value(s) and a covariance of shape {shape} do not belong together;"
    " give one value a name and a square matrix of that size."
)
NOT_A_COVARIANCE = (
    "The matrix given for {names} is no covariance ({why}); check its units, signs and symmetry."
)
NOT_SYMMETRIC = "it is not symmetric"
NEGATIVE_VARIANCE = "it gives some combination a negative variance"
FIT_SHAPE = (
    "Readings of shape {readings}, a covariance of shape {covariance} and parameters of shape {parameters} do not belong"
    " together; give n readings, an n by n covariance and at most n parameters."
)
NOT_DEFINITE = (
    "The covariance of the {readings} readings leaves some combination of them without uncertainty or gives it a"
    " negative one, so they cannot be weighed; state an uncertainty of its own for each reading."
)

BAD_COVERAGE = (
    "A coverage of {given} was asked for; give a probability of at least {least} and below 1, such as 0.95."
)
BAD_SEED = "The seed {given} cannot be used; give a whole number that is zero or larger."
TOO_FEW_DRAWS = (
    "{given} draws were asked for;"
    " a {percent} % interval needs a whole number of at least {least}, better a million."
)

NO_VALUE = (
    "The formula gives no finite value at {values} ({why});"
    " check those values, or ask Monte Carlo which part of the draws has an answer."
)
NO_SLOPE = (
    "First order needs a finite slope, and the formula has none for {name} at {values};"
    " use Monte Carlo there."
)
ONE_OUTPUT = "Second-order terms are worked out for one result at a time; this formula returned {count}."
NO_SECOND_ORDER = (
    "The second-order terms give a negative variance, so the series is of no use here; use Monte Carlo."
)
NO_FINITE_DRAW = (
    "None of the {draws} draws gave a finite number, so there is nothing to report; check the inputs."
)
NOT_A_NUMBER = "the result is infinite or no number"

# Remarks on a Monte Carlo result.
INVALID_DRAWS = (
    "{count} of {draws} draws ({percent} %) break the stated condition;"
    " they are counted and kept in the result, not clipped."
)
NONFINITE_DRAWS = (
    "{count} of {draws} draws ({percent} %) gave no finite number;"
    " mean, standard uncertainty and intervals rest on the others."
)
NO_DEVIATION = (
    "A source known from three or fewer repeats has no finite standard deviation;"
    " only the interval can be quoted (four repeats would give both)."
)

# Verdicts of the comparison of first order with Monte Carlo.
TRUSTED = (
    "First order can be trusted here: Monte Carlo gives the same value, standard uncertainty"
    " and {percent} % interval to {digits} digits of the uncertainty."
)
TRUSTED_BUT_INTERVAL = (
    "First order can be trusted here for the value and its standard uncertainty;"
    " its {percent} % interval has the wrong shape (an end is off by {off} of a standard uncertainty),"
    " so quote the Monte Carlo interval."
)
NOT_TRUSTED = (
    "First order is not to be trusted here: the mean of the draws lies {bias} of a standard uncertainty"
    " {side} the first-order value and the standard uncertainty is {ratio} times the first-order one;"
    " quote the Monte Carlo result."
)
BELOW = "below"
ABOVE = "above"
NO_FIRST_ORDER = (
    "First order is not to be trusted here: it sees no uncertainty because every slope is zero"
    " at the measured values; quote the Monte Carlo result."
)
NOT_EVERY_DRAW = (
    "First order is not to be trusted here: {count} of {draws} draws gave no finite number,"
    " so part of what the readings allow has no answer at all."
)
UNRESOLVED = (
    "Cannot tell whether first order can be trusted: {draws} draws do not settle {digits} digits of the"
    " uncertainty; take at least {needed}."
)
NOTHING_TO_COMPARE = (
    "Cannot tell whether first order can be trusted: the draws have no finite standard deviation;"
    " quote the Monte Carlo interval."
)
INTERVAL_UNRESOLVED = (
    "First order can be trusted here for the value and its standard uncertainty; {draws} draws do not settle"
    " {digits} digits of its {percent} % interval, so quote the Monte Carlo interval"
    " or take at least {needed}."
)
BAD_DIGITS = (
    "A comparison to {given} digits was asked for; give 1, 2 or 3 significant digits of the uncertainty."
)

# Conformity with limits.
BAD_LIMITS = (
    "The limits {lower} and {upper} leave nothing between them; give the lower one first, infinity for none."
)
BAD_GUARD = (
    "A guard band of {given} times U was asked for; give a factor of zero or larger, 1 unless a rule says"
    " otherwise."
)
