"""Sentences of the entry form, the boards and the presenting view."""

from labkit.words.record import CAUTIONS

# Words of the entry form: its steps, columns, states, and what it asks, refuses and marks.
#
# `FACE` holds what the form's script shows by itself.

WITHOUT = "The entry form needs JupyterLab; without it, enter readings with bench.read(wiring, shown, id)."

# What stands where a face was stored without a kernel behind it; its name comes first
ASLEEP = "{face} sleeps, because no kernel runs behind it yet. Choose Run > Run All Cells, and it comes back."
FACES = {
    "Form": "The entry form",
    "CardWidget": "The form of the meter card",
    "Boarded": "The board",
    "Presenting": "The presenting view",
}

# The plan
SINGLE = "Winding {number} alone"
LINE_FORWARD = "In line"
LINE_REVERSED = "In line, winding 2 turned round"
SIDE_BY_SIDE = "Side by side"
SIDE_BY_SIDE_REVERSED = "Side by side, winding 2 turned round"

# Head of the form
INVENTED = "invented data"
DOTS = "dots on {dots}"
DOTS_UNKNOWN = "dots not known"
SETTINGS = "For all readings from here on: {settings}"
STORED = "{label}: {shown} stored, line {line} of the record."
LOCKED = "{label}: {shown} locked in as your prediction, line {line} of the record."
READ_ONLY = (
    "This record is open read-only, so nothing can be entered here; it can be read and analysed. "
    "Enter your own readings in a bench of your own: labkit new FOLDER --part NAME."
)
NOT_A_MESSAGE = (
    "labkit could not deal with what this page sent; what is stored stands as you see it here, "
    "and if this comes back, run the cell again."
)
UNREADABLE = "Nothing can be entered before the record is readable again."
UNPLANNED = "Reading {id}"

# Small forms before the first reading
ACCEPT = {
    "title": "Before anything is clamped to anything",
    "text": list(CAUTIONS),
    "button": "I have read the cautions",
}
DESCRIBE = {"title": "What is on the bench?", "text": [], "button": "Store what the part is"}
METER = {
    "title": "Which meter, and what does its manual say?",
    "text": [
        "Without a card no uncertainty is stated for the readings. labkit invents none. "
        "A card can be made here from the accuracy page of the manual."
    ],
    "button": "Store the meter",
}
USE = {
    "title": "What holds for all readings from here on?",
    "text": ["It is stored with every reading, until you change it here."],
    "button": "This holds from here on",
}
USE_AGAIN = "Filled in as with the last reading of the record. Check it, then say that it still holds."
CORRECT = {
    "title": "Correct {id}",
    "text": ["What was entered first stays in the record, with your reason."],
    "button": "Store the correction",
}
WITHDRAW = {
    "title": "Withdraw {id}",
    "text": ["The reading no longer counts. Its line stays in the record, with your reason."],
    "button": "Withdraw the reading",
}

STEP_OF = "step {number} of {all}"
WRITE = {
    "title": "In your own words",
    "text": ["What did you expect, what did you see, and what convinced you?"],
    "button": "Store my words",
}
NEXT_WRITE = (
    "Next: say in your own words what you saw. Then choose Run > Run All Cells: the cells under Predict, "
    "Compare and Explain show what the readings say."
)
NEXT = (
    "Next: choose Run > Run All Cells. The cells under Predict, Compare and Explain show what the readings say, "
    "and the last one writes the report."
)
WRITTEN = "{by}, line {line}: {text}"
SOMEBODY = "somebody"
REASON_IF = "reason, if something stated before is taken back"

LABELS = {
    "by": "your pseudonym",
    "who": "who reads",
    "windings": "windings",
    "family": "the windings are",
    "dots": "dotted ends",
    "undotted": "nobody knows them",
    "title": "what it is (optional)",
    "name": "name of the meter here",
    "card": "its card",
    "path": "or the path of a card file",
    "shown": "the display shows",
    "second": "second display",
    "frequency": "test frequency",
    "mode": "equivalent circuit",
    "meter": "meter",
    "leads": "leads",
    "reason": "reason",
    "text": "your words",
}
HINTS = {
    "by": "p1",
    "windings": "2",
    "dots": "1a 2a",
    "frequency": "10 kHz, empty if not known",
    "second": "Q 3.1",
    "shown": "6.20 µH",
    "path": "cards/mine.toml",
    "title": "ring core, two windings",
    "reason": "in a few words",
    "name": "meter-a",
}
FAMILIES = {
    "same core": "on one core",
    "separate": "separate parts",
    "movable": "movable coils",
}
MODES = {"series": "series (Ls)", "parallel": "parallel (Lp)"}
LEADS = {"zeroed": "zeroed", "not zeroed": "not zeroed"}
UNKNOWN = "not known"
AS_ABOVE = "as above"
NO_CARD = "no card"

# Refusals
CLOSED = "Nothing was stored: the entry opens after this step: {step}"
PSEUDONYM = (
    "“{given}” is not a pseudonym: give small letters and a number, such as p2, so that people stay unnamed."
)
WHOLE = "“{given}” is not a number of windings: give a whole number, such as 2."
NOTHING_ENTERED = "Nothing was entered: type what the display shows, such as 6.20 µH."
NOTHING_EXPECTED = "Nothing was entered: type what you expect, such as 20 mH or 2 x winding 1."
NOTHING_CHANGED = "Nothing was stored: all fields are as they stand; change what was wrong."
REASON = "Nothing was stored: give the reason in a few words; it stays in the record with both values."
NO_SUCH_ROW = "There is no step “{given}” in this plan."

# What is understood, and what stands
UNDERSTOOD = "{value}, last digit {step}"
UNDERSTOOD_SECOND = "{letter} {value}, last digit {step}"
BEFORE_PREDICTION = "read before a prediction was committed"
AFTER_READING = "after the reading"
MANY = 10  # a factor above this, or below its inverse, is said in words
TIMES_LESS = "{factor} times less"
TIMES_MORE = "{factor} times more"
WIRED_AS = "wired as {wiring}"
WITHDRAWN = "withdrawn: {reason}"
LINES = "line {lines}"
FACTS = {
    "frequency": "{value}",
    "mode": "{value}",
    "meter": "{value}",
    "leads": "leads {value}",
    "by": "{value}",
}
GAP = "{name} {gap}"
UNRECORDED = "not recorded"

# What the script shows by itself
FACE = {
    "form": "Entry form",
    "wiring": "wiring",
    "expected": "you expect",
    "read": "the display showed",
    "factor": "read / expected",
    "yourPrediction": "You expect",
    "display": "The display shows",
    "displayAgain": "The display shows, repeat {n}",
    "second": "second display",
    "hint": "such as 6.20 µH",
    "expectHint": "20 mH or 2 x winding 1",
    "lateExpected": "You had expected (after the reading)",
    "lateKey": "Say what you had expected",
    "meantExpected": "What do you expect?",
    "makeCard": "Make a card from the manual",
    "write": "Write in your own words",
    "writeAnew": "Write anew",
    "secondHint": "such as Q 3.1",
    "commit": "Lock in",
    "store": "Store",
    "correct": "Correct",
    "withdraw": "Withdraw",
    "again": "Read again",
    "changed": "corrected from",
    "anyway": "Read without a prediction",
    "cancel": "Cancel",
    "change": "Change",
    "otherMeter": "Another meter",
    "partAnew": "Part anew",
    "special": "Different for this reading only",
    "locked": "locked",
    "missed": "no prediction before the reading",
    "unpredicted": "no prediction yet",
    "awaited": "not read yet",
    "stored": "stored",
    "storing": "storing",
    "unsaved": "not stored yet",
    "refused": "NOT STORED",
    "lost": "NOT SAVED",
    "lostTitle": "NOT SAVED",
    "lostText": (
        "The kernel does not answer, so what you typed is only on this screen and not in the record. "
        "It stays in its field. Choose Run > Run All Cells (first Kernel > Restart Kernel if nothing happens); "
        "the form comes back with your text. Then press Enter there."
    ),
    "silentTitle": "The kernel does not answer",
    "silentText": (
        "Nothing that you type now is stored. If it does not come back by itself, choose Run > Run All Cells "
        "(first Kernel > Restart Kernel if nothing happens). All that is stored comes back."
    ),
    "savedAgain": "Entries are saved again.",
    "offered": (
        "Typed before and not in the record: it stands in its field again. Check it, then press Enter."
    ),
    "done": "All planned readings are stored.",
    "call": "The same as a plain call",
    "copy": "Copy",
    "copied": "Copied",
    "meant": "What does the display show?",
    "keys": "Enter: store and next · Shift+Enter: back · ↑ ↓: other rows",
}


# Sentences of the wiring board and of the derivation board, and names of what is built.

# What is built

DECIDED_BY_DOTS = "{alike} or {unlike}: the dots decide"
ALONE = "winding {windings} alone"
WINDING = "winding {windings}"
WINDINGS = "windings {windings}"
IN_LINE = "{windings} in line"
BOARD_SIDE_BY_SIDE = "{windings} side by side"
NETWORK = "a network of {windings}"
REVERSED = ", {windings} reversed"
SHORTED = " ({windings} shorted)"
BOARD_CLOSED = ", {windings} in a closed loop"
OPEN = "an open circuit"
BOARD_LEADS = "the leads alone"

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
BOARD_WRITTEN = "Built as written."
UNDONE = "Undone."
NOT_UNDERSTOOD = "The board did not understand {given}; nothing was changed. Run the cell again."
LOST = (
    "The kernel does not answer: the last change is not shown. Restart the kernel, then run the cell again."
)

# Stepping through

DERIVATION = "Where the formula comes from"
WORKING = "Working out the derivation …"
START = "first step"
BOARD_NEXT = "next"
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


# Words of the presenting view: its keys, covers, banners, and what it says when a reading is missing.
#
# `FACE` holds what the view's script shows by itself.

PRESENT_WITHOUT = (
    "The presenting view needs JupyterLab; without it, use labkit.compare(bench), labkit.explain(bench) and "
    "labkit.work_out(wiring, bench)."
)

# Whose record it is
PRESENT_STORED = "STORED RECORD, not measured now"

# Stations of the strip, short
READINGS = "readings"
PRESENT_SINGLE = "{number} alone"
SHORT = {
    "series_aiding": "line, aiding",
    "series_opposing": "line, opposing",
    "parallel_aiding": "side, aiding",
    "parallel_opposing": "side, opposing",
    "short_circuit_1": "1 (2 shorted)",
    "short_circuit_2": "2 (1 shorted)",
}
COMPARISON = "pictures"
FLUX = "flux"
PRESENT_DERIVATION = "derivation"
FINDINGS = "findings"

# A page of a connection
OWN = "Our prediction"
RULES = "What the rules predict"
READING = "The meter reads"
VERDICT = "Verdict"
UNCOUPLED, COUPLED = "no coupling", "coupled"
BY = "{shown} ({notes})"
MORE = "{shown} and {count} more"
NO_OWN = "none was committed"
IS_INPUT = "Both rules start from this reading."
NO_SINGLES = "needs each winding alone"
NO_ROUTE = "needs another reading of both"
NEEDS_DOTS = "needs the dots"
PRESENT_DOTS_UNKNOWN = "The dots are not known yet, so no rule can say which of the two ways round this is."
DOUBT = "But the readings do not fit together as entered: see the findings."
SIZE = "It reads {size} the {uncoupled} without shared flux."
PRESENT_MANY = "The rules compared here are for two windings."
REPEATS = "reading {number} of {number}; before: {others}"
ENTERED = "entered {utc}"
MISSING = "No reading yet for {id}."
MISSING_HOW = "{spoken}. It appears here once it is entered."
PRESENT_WITHDRAWN = "{id} was {withdrawn}"

# Verdicts, by what holds without coupling and what holds with it
VERDICTS = {
    ("inconsistent", "consistent"): "The coupled rule holds; the rule without coupling does not.",
    ("inconsistent", "cannot tell"): "The coupled rule holds; but {rivals} would read the same.",
    ("inconsistent", "inconsistent"): "Neither rule holds: check wiring, unit and frequency.",
    ("inconsistent", ""): "The rule without coupling does not hold.",
    ("inconsistent", "alone"): "The rule without coupling does not hold, unless this is {rivals}.",
    ("consistent", "inconsistent"): "It reads as if there were no coupling; the coupled rule fails.",
    ("consistent", ""): "It reads as if there were no coupling.",
    ("no uncertainty stated", ""): "No uncertainty is stated, so there is no verdict.",
    ("no uncertainty stated", "no uncertainty stated"): "No uncertainty is stated, so there is no verdict.",
    ("", ""): "Nothing to compare with yet.",
}
VERDICT_ELSE = "Without coupling: {uncoupled}. Coupled: {coupled}."
NOT_COMPARED = "not compared"
OR = " or "

# Other pages
COMPARED = "Readings and predictions, {number} of {total}"
FLUX_TITLE = "Flux in the core: {what}"
DERIVING = "Derivation: {wiring}"
FINDING = "Finding {number} of {total}"
NO_FINDINGS = "There are no findings yet."
RESTS_ON = "rests on {ids}"

# Said aloud
GREW = "The record has grown."

# What the script shows by itself
PRESENT_FACE = {
    "title": "Presenting view",
    "page": "page {number} of {total}",
    "covered": "press Enter",
    "nothing": "Nothing is hidden on this page.",
    "hiddenAgain": "All hidden again.",
    "stations": "Stations",
    "jump": "{label}, key {number}",
    "missing": "not read yet",
    "back": "Back",
    "next": "Next",
    "reveal": "Reveal",
    "hide": "Hide all",
    "full": "Full page",
    "leave": "Leave full page",
    "stored": "Stored record",
    "live": "Back to this bench",
    "help": "Keys",
    "close": "Close",
    "switched": "Now showing: {name}.",
    "noStored": "No stored record was given: present(bench, fallback=labkit.demo_bench()) holds one ready.",
    "notReady": "The stored record is still being read; press the key again in a moment.",
    "lost": "The kernel does not answer just now: new readings do not arrive. What is shown stays.",
    "keys": [
        ["→  Space  Page ↓", "next page"],
        ["←  Backspace  Page ↑", "page before"],
        ["Enter  ↓  r", "reveal the next hidden thing"],
        ["h  ↑", "hide all on this page again"],
        ["1 … 9  0", "go to a station of the strip"],
        ["Home  End", "first page, last page"],
        ["f", "full page; F11 hides the browser's frame too"],
        ["s", "stored record instead of this bench, and back"],
        ["?", "these keys"],
        ["Esc", "close the keys; leave full page"],
    ],
}
