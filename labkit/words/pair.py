"""Sentences about a pair of windings."""

SELF_INDUCTANCES = (
    "L1 = {L1:.6g} H and L2 = {L2:.6g} H were given, but self-inductances are above zero; "
    "read each winding alone, with the other one open."
)
NOT_REAL = "{name} = {given} was given, but a pair is made of finite real numbers; give {name} as one number."
FULL_COUPLING = (
    "This pair has k = {k:.6g}; the coordinates (ln A, ln B, atanh c) exist for |k| below 1 only. "
    "Use L1, L2 and B themselves."
)
NOT_PASSIVE = (
    "L1 = {L1:.6g} H, L2 = {L2:.6g} H and a series-opposing {B:.6g} H would need k = {k:.6g}, but a passive pair "
    "has a series-opposing inductance from {low:.6g} H to {high:.6g} H; check the units and which reading is which."
)
