"""Words about the one-port models of a winding: what their parameters are, and what cannot be mapped."""

SERIES = "resistance and inductance"
SELF_CAPACITANCE = "resistance, inductance and self-capacitance"
CORE = "core with one relaxation, and self-capacitance"
CORE_DAMPED = "core with one relaxation, and damped self-capacitance"

RESISTANCE = "resistance of the wire"
INDUCTANCE = "inductance"
AIR = "inductance of the flux in air"
CORE_INDUCTANCE = "inductance through the core at low frequency"
RELAXATION = "relaxation frequency of the core"
CAPACITANCE = "self-capacitance"
DAMPING = "resistance in series with the self-capacitance"

KIRCHHOFF = "Kirchhoff's laws"
LUMPED = (
    "Kirchhoff's laws; one lumped capacitance stands for the distributed one below and around self-resonance"
)
DEBYE = (
    "P. Debye, Polar Molecules (1929), for one relaxation; for magnetic relaxation of the same form "
    "S. Chikazumi, Physics of Ferromagnetism, 2nd ed. (1997)"
)

COUNT = (
    "{given} parameters were given, but the model '{model}' has {needed}: {symbols}; give them in this order."
)
UNEQUAL = (
    "The {mode} branch is one simple model only if both windings are equal, but they differ in {what}; "
    "take the impedance from Choke.impedance."
)
TWO_WINDINGS = "The {mode} branch is one of two windings, but the choke has {windings}; take the impedance from Choke.impedance."
COMMON_MODE, DIFFERENTIAL_MODE = "common-mode", "differential-mode"
