"""Sentences of the wiring board and of the derivation board, and names of what is built."""

# What is built

DECIDED_BY_DOTS = "{alike} or {unlike}: the dots decide"
ALONE = "winding {windings} alone"
WINDING = "winding {windings}"
WINDINGS = "windings {windings}"
IN_LINE = "{windings} in line"
SIDE_BY_SIDE = "{windings} side by side"
NETWORK = "a network of {windings}"
REVERSED = ", {windings} reversed"
SHORTED = " ({windings} shorted)"
CLOSED = ", {windings} in a closed loop"
OPEN = "an open circuit"
LEADS = "the leads alone"

REMARKS = {
    "series_aiding": "One current runs into both windings at like ends: the fluxes add.",
    "series_opposing": "One current runs into the windings at unlike ends: the fluxes oppose each other.",
    "parallel_aiding": "Like ends are joined: one voltage asks both windings for flux the same way round.",
    "parallel_opposing": "Unlike ends are joined: one voltage asks the two windings for fluxes against each other.",
    "short_circuit_1": "The current in the shorted winding 2 holds its flux still; what is left to winding 1 is leakage.",
    "short_circuit_2": "The current in the shorted winding 1 holds its flux still; what is left to winding 2 is leakage.",
    "open": "No winding leads from one clip to the other: there is no inductance to read.",
    "leads": "Both clips sit on one node: the meter reads its own leads and nothing of the part.",
}
DOTS_DECIDE = "Where the dots sit is not known, so the same clamps can be either: {alike} or {unlike}."
IDLE = "Winding {number} carries no current, so this says nothing about coupling."
IDLE_MANY = "Winding {number} carries no current here."
SHORTED_ONE = "Winding {number} is shorted."

# Prediction

HEADER = ("", "no coupling", "coupled")
ROW_BUILT = "as built"
ROW_TURNED = "one winding turned round"
ROW_IF = "if it is"
ROW = "{which}: {name}"
PREDICTION_TITLE = "What the meter should read"
NO_BENCH = "No bench is given, so there are no readings to predict from; the drawing, the name and the derivation need none."
ITS_READING = "The figure for {what} is its own reading."
RESTS_ON_ITSELF = "The coupled figure for {what} is its own reading, which the rule rests on."
BY_RECORD = (
    "The dots on this board, {board}, are not those of the record, {record}. A meter does not see dots: the figures "
    "go by the clamps and the record."
)
INTERVAL = "First order is not to be trusted for {what}: 95 % interval {low} to {high}."

# The board itself

TITLE = "Wiring board"
STEPS_TITLE = "Derivation board"
CLIP_KEYS = ("first clip", "second clip")
CLIP_SHORT = ("1st clip", "2nd clip")
WINDING_KEY = "winding {number}"
TERMINAL = "terminal {terminal}"
TERMINAL_CLIPPED = "{clip} on it"
TERMINAL_TIED = "tied to {others}"
TIED_SHORT = "= {others}"
TURN = "turn round"
TURN_LABEL = "turn winding {number} round"
DOT = "dot at {end}"
DOT_UNKNOWN = "dot ?"
DOT_LABEL = "dot of winding {number}: at {end}; press to move it"
DOT_LABEL_UNKNOWN = "dot of winding {number}: not known; press to mark it"
DOTS_UNKNOWN = "dots not known"
UNDO = "undo"
NOTATION = "wiring as text"
BUILD = "build it"
COVER = "cover figures"
UNCOVER = "show figures"
COVERED = "covered"
HAND = "Clips and ties"
HOW = "Press two ends to tie or untie them. Press a clip, then an end, to move it."
KEYS = "Keys: type 1a2b for a tie, f1a or s2b for a clip, u to undo."
HOLDING_CLIP = "{clip} in hand: choose its end."
HOLDING_END = "{end} chosen: now the other end of the tie."

SAID = "{change} {name}."
TIED = "Tied {one} to {other}."
UNTIED = "{other} is off the tie with {one}."
CLIPPED = "{clip} is on {terminal}."
TURNED = "Winding {number} is turned round."
DOT_MOVED = "Dots at {dots}."
DOTS_FORGOTTEN = "Dots not known."
WRITTEN = "Built as written."
UNDONE = "Undone."
NOTHING_TO_UNDO = "There is nothing to undo."
SAME_CLIP = "{clip} is already on {terminal}."
NOT_UNDERSTOOD = "The board did not understand {given}; nothing was changed. Run the cell again."
LOST = (
    "The kernel does not answer: the last change is not shown. Restart the kernel, then run the cell again."
)

# Stepping through

DERIVATION = "Where the formula comes from"
WORKING = "Working out the derivation …"
START = "first step"
NEXT = "next"
BACK = "back"
FORMULA = "formula only"
TO_FIGURES = "to the figures"
COUNT = "step {number} of {total}"
STEP_KEYS = "Keys: Enter or → next, ← back, Home formula, End figures."

# Outside a notebook

PLAIN_BOARD = 'A wiring board needs JupyterLab; here use labkit.what_is("{wiring}").'
PLAIN_BOARD_BENCH = 'A wiring board needs JupyterLab; here use labkit.what_is("{wiring}", bench).'
PLAIN_STEPS = 'A derivation board needs JupyterLab; here use labkit.work_out("{wiring}").'
PLAIN_STEPS_BENCH = 'A derivation board needs JupyterLab; here use labkit.work_out("{wiring}", bench).'
WINDINGS_DIFFER = "The part of this bench has {bench} windings, but windings={given} was given; leave it out to use the bench's."
