"""Words of the entry form: its steps, columns, states, and what it asks, refuses and marks.

`FACE` holds what the form's script shows by itself.
"""

from labkit.words.cautions import CAUTIONS

WITHOUT = "The entry form needs JupyterLab; without it, enter readings with bench.read(wiring, shown, id)."

ASLEEP = (
    "The entry form sleeps, because no kernel runs behind it yet. Choose Run > Run All Cells: "
    "it comes back with all that is in the record."
)

# The plan
SINGLE = "Winding {number} alone"
LINE_FORWARD = "In line"
LINE_REVERSED = "In line, winding 2 turned round"
SIDE_BY_SIDE = "Side by side"
SIDE_BY_SIDE_REVERSED = "Side by side, winding 2 turned round"
PLAN_STEP = (
    "The plan holds {given}, but a step is an id, a wiring and a label, such as "
    "('line-reversed', '1a 2a | 1b=2b', 'In line, winding 2 turned round')."
)
PLAN_ID = "The plan's id '{given}' cannot be used: it takes {accepted}."
PLAN_TWICE = "The plan holds the id '{given}' twice; give every step an id of its own."

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
CHOOSE_FIRST = "Nothing was stored: choose first: {what}."
DOTS_FIRST = "Nothing was stored: give the dotted ends, such as 1a 2a, or tick that nobody knows them."
DOTS_EITHER = "Nothing was stored: dotted ends were given and “nobody knows” was ticked; keep one of the two."
CARD_EITHER = "Nothing was stored: a card was chosen and a path was given; keep one of the two."
CARD_FIRST = "Nothing was stored: choose a card, give the path of one, or say that there is no card."
CARD_PATH = "There is no readable card file at “{given}”: check the path, or choose another card."
METER_NAME = "Nothing was stored: give the meter a name for this bench, such as meter-a."
NOTHING_ENTERED = "Nothing was entered: type what the display shows, such as 6.20 µH."
NOTHING_EXPECTED = "Nothing was entered: type what you expect, such as 20 mH or 2 x winding 1."
NOTHING_WRITTEN = "Nothing was stored: write what you saw in a sentence or two."
NOTHING_CHANGED = "Nothing was stored: all fields are as they stand; change what was wrong."
REASON = "Nothing was stored: give the reason in a few words; it stays in the record with both values."
NO_SUCH_ROW = "There is no step “{given}” in this plan."
NO_SUCH_ENTRY = "There is no reading “{given}” in this record."

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
