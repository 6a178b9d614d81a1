"""Comments inside a netlist. ASCII only, so that every simulator takes the file."""

NAME = (
    "'{given}' cannot be the name of a subcircuit; begin with a letter and go on with letters, digits and underscores, "
    "such as 'choke'."
)
HEAD = "{name}: choke with {windings} windings as a subcircuit; terminals in the order of the .subckt line"
UNITS = "R in ohm, L in H, C in F; written by labkit {version}"
HOLDS = (
    "holds for small signals within the frequencies that the values come from; "
    "no saturation, no temperature, nothing to ground"
)
WINDING = "winding {number}: resistance, leakage inductance, its share of the core, ammeter of 0 V"
CORE = "core as seen from winding 1"
CORE_LOSS = "one relaxation at {relaxation:.6g} Hz is exactly this resistance beside the inductance"
CAPACITANCE = "capacitance across windings and between neighbours"
