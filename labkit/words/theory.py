"""Sentences of the theory: wirings and the steps of a derivation."""


# Sentences about wirings.

NOTATION = "write the two clips, then a bar and the ties, for example 1a 2a | 1b=2b"
NO_TEXT = "A {given} was given where a wiring is expected; " + NOTATION + "."
EMPTY = "No wiring was given; " + NOTATION + "."
TERMINAL = (
    "'{given}' is not a terminal; a terminal is a winding's number and an end a or b, for example 1a; "
    + NOTATION
    + "."
)
CLIPS = "{count} clips were given in '{given}', but a meter has exactly two; " + NOTATION + "."
BARS = "'{given}' has more than one bar; " + NOTATION + "."
TIE = "'{given}' does not tie two terminals together; write a tie as 1b=2b."
SELF_TIE = "'{given}' ties a terminal to itself; a tie joins two different terminals, such as 1b=2b."
WINDINGS = (
    "The wiring {given} names winding {winding}, but the part has {windings} windings; "
    "use terminals 1a to {windings}b."
)
DOTS = "'{given}' does not mark one end of each of {windings} windings; give one terminal a winding, such as 1a 2a."
MATRIX = (
    "The inductance matrix is {rows} by {columns}, but the wiring {wiring} needs one row and one column for "
    "each winding, at least {windings}."
)
PER_WINDING = "{given} values of {what} were given for {windings} windings; give one for each winding."

SPOKEN = "clips on {first} and {second}"
SPOKEN_TIE = "tie {chain}"


# Sentences of a derivation: each step says what is done and why.

TITLE = "From the laws to the formula"
IN_CASE = "For {remark}. {sentence}"

CONNECTED_TITLE = "What is connected"
CONNECTED = (
    "{spoken}: that leaves {count} nodes, {nodes}. The meter drives its current i into the first clip "
    "and takes it out at the second; the current in a winding counts from its end a to its end b. What "
    "arrives at a node also leaves it."
)
AT_NODE = "at {node}"

CURRENTS_TITLE = "Currents"
CURRENTS_FIXED = "The nodes fix the current in every winding."
CURRENTS_FREE = (
    "The nodes leave open how much current goes round closed loops, {free}; only the voltages decide that."
)

WINDINGS_TITLE = "What each winding does"
DERIVATION_WINDINGS = (
    "A changing current in a winding makes a voltage in itself through its self-inductance and in every "
    "other winding through the mutual inductance; voltages count from end a to end b."
)
WINDING = "A changing current in a winding makes a voltage through its self-inductance."
DOTS_ALIKE = (
    " The dots sit on {dots}, ends of the same name, so the mutual terms are added: M counts positive."
)
DOTS_UNLIKE = (
    " The dots sit on {dots}, ends of different names, so the mutual terms are subtracted; M itself is "
    "positive."
)
DOTS_UNKNOWN = (
    " Where the dots sit is not known, so M keeps its own sign: positive if 1a and 2a are like ends, "
    "negative if they are not."
)
DOTS_MANY = (
    " The dots sit on {dots}: a mutual term is added where two dots have ends of the same name, and "
    "subtracted where they have not."
)
DOTS_MANY_UNKNOWN = (
    " Where the dots sit is not known, so each mutual inductance keeps its own sign: positive if the "
    "ends a of the two windings are like ends."
)

VOLTAGES_TITLE = "Round the loops"
VOLTAGES = (
    "v is the voltage from the first clip to the second. Every way from one node to another gives the "
    "same voltage."
)

LOOP_TITLE = "The closed loop decides its current"
LOOP = (
    "Put the windings' equations into the loop, then write every current through i and {free}. One "
    "equation is left for one unknown."
)
SHARES_TITLE = "How the current divides"
SHARES = "Solved, each winding's current is a fixed share of i."

CLIPS_TITLE = "The voltage at the clips"
DERIVATION_CLIPS = "Put the windings' equations and the currents into v."

RESULT_TITLE = "The equivalent inductance"
RESULT = "The factor between v and how fast i changes is what a meter calls inductance."
OPEN = (
    "No winding leads from one clip to the other: whatever the voltage, no current flows. The wiring is "
    "an open circuit."
)
LEADS = (
    "Both clips sit on one node, so there is no voltage between them: this reads the leads and nothing else."
)

SILENT_TITLE = "What this says about coupling"
SILENT = (
    "M does not occur in the result: this wiring reads the same however strongly the windings are coupled."
)

CASES_TITLE = "Both places of the dots"
CASES = (
    "With M counted positive, the unknown dots leave two results, {alike} or {unlike}; a reading decides "
    "between them."
)
IF_ALIKE = "1a and 2a as like ends"
IF_UNLIKE = "1a and 2b as like ends"

UNCOUPLED_TITLE = "No coupling"
UNCOUPLED = (
    "Two inductors that share no flux have k = 0, so M = 0. The rule for separate inductors comes back."
)

TURNED_TITLE = "One winding turned round"
TURNED = "Swap the ends of one winding, or move its dot, and M changes its sign: {this} becomes {other}."
TURNED_SAME = (
    "Only the square of M occurs: swapping the ends of one winding changes nothing, so this reading "
    "cannot find the dots."
)

STABLE_TITLE = "The same with half sum and difference"
STABLE = (
    "Written with the half sum m, the difference d and the series-opposing inductance B, which a meter "
    "reads directly, a small B is no longer a difference of two large rounded numbers."
)
QUARTER_TITLE = "A quarter of the series reading"
QUARTER = "The result is a quarter of what the same two windings read in line, less their mismatch c²."

FULL_TITLE = "Full coupling"
FULL_TURNS = (
    "With M = k·√(L1·L2) and n = √(L2/L1), on one core the ratio of turns, k = 1 means that all flux is "
    "shared."
)
FULL_SQUARE = "With M = k·√(L1·L2), k = 1 means that all flux is shared."
FULL_NOTHING = " Then nothing is left."
PATH_TITLE = "Full coupling depends on the way there"
PATH = (
    " Here numerator and denominator vanish together, and the result depends on how k = 1 is reached. "
    "Equal windings keep their inductance; unequal ones short each other out; between the two lies every "
    "value, reached when d shrinks together with √(B·m) and s says how fast."
)
IN_GENERAL = "any k"
AT_ONE = "k = 1"
EQUAL = "L1 = L2, k → 1"
EQUAL_ANY = "L1 = L2, any k"
UNEQUAL = "L1 ≠ L2, k → 1"
ON_PATH = "d = s·√(B·m), B → 0"

MATRIX_TITLE = "All windings at once"
SERIES_FORM = (
    "The nodes give every winding current as ±i or 0. Collect these signs in s: the winding currents are "
    "s times i, and the clip voltage is the sum of the winding voltages with the same signs."
)
PARALLEL_FORM = (
    "The nodes give every winding voltage as ±v or 0. Collect these signs in s: the winding voltages are "
    "s times v, and the meter's current is the sum of the winding currents with the same signs."
)
GENERAL_FORM = (
    "The winding currents are p times i plus the loop currents x, one for each column of Q. The voltage "
    "round each loop vanishes, which fixes x; the rest is the voltage at the clips."
)
WRITTEN_TITLE = "Written out"
WRITTEN_OUT = "Written out with the inductances of this part."
TOO_LONG = "Written out it has {terms} terms; the matrix form above is the one to work with."
NOT_WRITTEN = (
    "{unknowns} unknowns give an expression of many thousand terms, so it is not written out; the matrix "
    "form above is the result, and figures can be put into it."
)
MANY_UNCOUPLED = "Without coupling every mutual inductance is 0. The rule for separate inductors comes back."
ALIKE_TITLE = "Windings that are all alike"
ALIKE = "With the same self-inductance L and the same mutual inductance M everywhere."
ALIKE_FULL = "M = L"

FIGURES_TITLE = "With figures"
FIGURES = "The figures in the place of the symbols."
FIGURES_NOWHERE = (
    "With these figures numerator and denominator are both zero: at full coupling the result depends on "
    "how it is reached, so no number is given."
)
FIGURES_INFINITE = (
    "With these figures the denominator is zero and the numerator is not: no passive set of windings has "
    "them; check the figures."
)
FIGURES_NONE = "No figure is needed: the result holds no inductance of the part."
FIGURES_NOT_PASSIVE = (
    "The figures in the place of the symbols. They mean k = {k}, beyond ±1, which no pair of windings "
    "has: M is too coarse for this formula."
)
NO_FIGURES = "none"
FIGURES_NAMES = (
    "Figures were given for: {given}. The formula needs: {needed}; give one for each of these, as a "
    "number in H or as a display shows it."
)
