"""Words on common and differential mode, insertion loss and filters."""

ONE_WINDING = "One winding has no modes; common and differential mode need two lines or more."
NO_MODE = "'{given}' is not a mode; write {accepted}."
LINES = (
    "Lines {given} are no loop of a part with {windings} windings; give two different numbers from 1 to {windings}, such "
    "as lines=(1, 2)."
)
FREQUENCY = "Frequencies are numbers above zero in Hz; give at least one."
NOT_KNOWN = (
    "This part is known only at its measured frequencies from {low:g} Hz to {high:g} Hz, and {given:g} Hz is not one of "
    "them; ask at those, nothing is interpolated."
)
PORTS = (
    "'{given}' does not say where {count} ports sit; name the terminal of each port in the order of the file, every "
    "terminal once, such as ports='1a 2a 1b 2b'."
)
SQUARE = (
    "A matrix of shape {given} does not describe {windings} windings; it needs a row and a column for each."
)
ORDER = (
    "Order {given} of {ports} ports has no mixed modes; give the places of all four ports, first and second line on one "
    "side, then on the other, such as (0, 1, 2, 3)."
)
ONE_REFERENCE = (
    "Mixed modes need one reference impedance at all ports, and these have {given} Ω; renormalise first."
)
REFERENCES = (
    "{given} reference impedances do not fit {ports} ports; give one for all or one each, in Ω above zero."
)
TERMINATION = "Source and load of '{name}' need impedances above zero; an ideal source or short has no insertion loss to tell."
CAPACITOR = "C = {C} F, R = {R} Ω, L = {L} H is no capacitor; C must be above zero, R and L zero or more."

BETWEEN = "{source:g} Ω / {load:g} Ω"
NETWORK = "network, {resistance:g} Ω / {resistance:g} Ω"
REAL_NETWORK = "{source:g} Ω / network of 50 Ω ∥ 50 µH"
REAL_NETWORK_5 = "{source:g} Ω / network of 50 Ω ∥ (50 µH + {resistance:g} Ω)"
