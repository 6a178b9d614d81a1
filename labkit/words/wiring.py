"""Sentences about wirings."""

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
NOT_FINITE = (
    "The inductance matrix holds {given}, but its entries are finite numbers in H; read what is missing."
)
PER_WINDING = "{given} values of {what} were given for {windings} windings; give one for each winding."

SPOKEN = "clips on {first} and {second}"
SPOKEN_TIE = "tie {chain}"
