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
SAME_NAME = (
    "Two different sources of error are both called {name} ({first} and {second});"
    " one name means one physical source, so give each its own name."
)
COVARIANCE_SHAPE = (
    "{names} name(s), {values} value(s) and a covariance of shape {shape} do not belong together;"
    " give one value a name and a square matrix of that size."
)
NOT_A_COVARIANCE = (
    "The matrix given for {names} is no covariance ({why}); check its units, signs and symmetry."
)
FIT_SHAPE = (
    "Readings of shape {readings}, a covariance of shape {covariance} and parameters of shape {parameters} do not belong"
    " together; give n readings, an n by n covariance and at most n parameters."
)

BAD_COVERAGE = (
    "A coverage of {given} was asked for; give a probability of at least {least} and below 1, such as 0.95."
)
TOO_FEW_DRAWS = (
    "{given} draws were asked for;"
    " a {percent} % interval needs a whole number of at least {least}, better a million."
)

NO_VALUE = (
    "The formula gives no finite value at {values} ({why});"
    " check those values, or ask Monte Carlo which part of the draws has an answer."
)

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

# Conformity with limits.
