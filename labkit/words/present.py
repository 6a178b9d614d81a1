"""Words of the presenting view: its keys, covers, banners, and what it says when a reading is missing.

`FACE` holds what the view's script shows by itself.
"""

WITHOUT = (
    "The presenting view needs JupyterLab; without it, use labkit.compare(bench), labkit.explain(bench) and "
    "labkit.work_out(wiring, bench)."
)

# Whose record it is
STORED = "STORED RECORD, not measured now"
INVENTED = "invented data"
FALLBACK = (
    "The fallback is {given}, which is no bench; give a stored one, such as fallback=labkit.demo_bench()."
)

# Stations of the strip, short
READINGS = "readings"
SINGLE = "{number} alone"
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
DERIVATION = "derivation"
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
DOTS_UNKNOWN = "The dots are not known yet, so no rule can say which of the two ways round this is."
DOUBT = "But the readings do not fit together as entered: see the findings."
SIZE = "It reads {size} the {uncoupled} without shared flux."
MANY = "The rules compared here are for two windings."
REPEATS = "reading {number} of {number}; before: {others}"
ENTERED = "entered {utc}"
MISSING = "No reading yet for {id}."
MISSING_HOW = "{spoken}. It appears here once it is entered."
WITHDRAWN = "{id} was {withdrawn}"

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
WORKING = "Working out the derivation …"
FINDING = "Finding {number} of {total}"
NO_FINDINGS = "There are no findings yet."
RESTS_ON = "rests on {ids}"

# Said aloud
GREW = "The record has grown."

# What the script shows by itself
FACE = {
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
