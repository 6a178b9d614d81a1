"""Sentences about a choke, the truth behind it and what is asked of it."""

COUNT = (
    "{given} values of {what} were given for {windings} windings; give one for each winding, "
    "and one 'between' for each pair of neighbours."
)
SIGN = "{what} = {given:.6g} was given, but {what} must be finite and {bound}; check the unit."
ABOVE, NOT_BELOW, NOT_ZERO = "above zero", "zero or more", "other than zero"
FIRST_TURNS = (
    "turns = {given:.6g} was given for winding 1, but turns count relative to winding 1; divide all by it."
)
TWO_WINDINGS = "The choke has {windings} windings and a pair has two; use its inductance matrix instead."
PORTS = (
    "'{given}' is no list of ports of a choke with {windings} windings; "
    "name each terminal once, from 1a to {windings}b."
)
REFERENCES = (
    "{given} reference impedances were given for {ports} ports; give one above zero for all, or one a port."
)
NO_ADMITTANCE = (
    "At {frequency:.6g} Hz the windings have neither resistance nor leakage that would limit their currents, "
    "so there is no nodal admittance; give each winding a resistance."
)
