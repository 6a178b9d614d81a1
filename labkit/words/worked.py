"""Sentences of a derivation's last steps: the figures of a bench in the place of the symbols."""

READ_TITLE = "What was read"
READ = "The readings of this bench that the formula needs."
READ_BY = "The readings of this bench that the formula needs. B is not read itself; it follows from {route}."
ITS_READING = "reading {id}"

WHY_TITLE = "Why M is not put in"
WHY = (
    "M is not read. It is half of a difference, and once rounded it has lost what its error shares with those of "
    "L1 and L2."
)
WHY_MOVED = " Moved by its own uncertainty alone, ± {width}, it takes the result along as shown."
WHY_COUNT = (
    " No uncertainty is stated; one count of the display, {width}, already takes the result along as shown."
)
WHY_NO_PAIR = " k beyond 1 belongs to no pair of windings."
WHY_AT = "M = {M}, k = {k}"

FORM_TITLE = "The same without the difference"
FORM = (
    "Written with what was read. B, the small one, is no longer a difference of large figures; d still is one, and "
    "what the errors of L1 and L2 share cancels in it."
)
DIRECT = "This is B, which was read directly: nothing is left to be worked out."

FIGURES_TITLE = "With the figures of the bench"
FIGURES = (
    "The figures in the place of the symbols, those in between with one digit in reserve. The result is rounded to its "
    "expanded uncertainty (coverage factor 2)."
)
FIGURES_SINGLE = "The formula is one winding alone, so the figure is its own reading."
FIGURES_NOT_STATED = "The figures in the place of the symbols. No uncertainty is stated: {reasons}."
INTERVAL = " First order is not to be trusted here; the shortest 95 % interval by Monte Carlo goes from {low} to {high}."
UNCOUPLED_TITLE = "And without coupling"
UNCOUPLED = "The same readings, if the windings shared no flux: {ratio} the coupled figure."
UNCOUPLED_ONLY = (
    "The readings so far hold nothing about coupling, so only the rule for separate inductors has figures. Read both "
    "windings together in at least one wiring."
)
TIMES = "{factor} times"

NO_FIGURES = "No figure of the part is needed here."
NO_SINGLES = "There are no figures to put in yet: read {missing} alone."
SINGLE = "winding {number}"
DOTS_UNKNOWN = "The dots are not known and the readings do not decide, so there is no sign for M and no figure to put in."
DOTS_DIFFER = (
    "The derivation has the dots at {given}, the record at {record}. Figures go by the record: derive it with its dots "
    "to put them in."
)
MORE_WINDINGS = "Figures of a bench are put in for two windings; this part has {windings}. Use derive(...).substitute(...) with your own."
UNRESOLVED = "Take this with care: {status}."
AND = " and "
