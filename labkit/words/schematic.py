"""Sentences about the drawing of a wiring."""

METER = "meter"
SOURCE = "source"
WINDING = "winding {number}"
OPEN = "open"
SHORTED = "shorted"
UNKNOWN_DOT = "?"
DOTS_UNKNOWN = "dots unknown"

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

SIZE = "'{given}' is not a size of drawing; write size='page' for a report or size='projector' for a class."
WINDINGS = "A part with {given} windings cannot be drawn; give a whole number from 1 to 99."
LABELS = (
    "Labels were given for {given}, but this part has windings 1 to {windings}; "
    "give one name a winding, such as labels={{1: 'red pair'}}."
)
CROWDED = (
    "The wiring {wiring} has so many ties that it cannot be drawn clearly; leave out ties that join what is "
    "joined already."
)
