"""Sentences about a pair of windings."""

SELF_INDUCTANCES = (
    "L1 = {L1:.6g} H, L2 = {L2:.6g} H and B = {B:.6g} H were given, but self-inductances must be finite and "
    "above zero; read each winding alone, with the other one open."
)
NOT_PASSIVE = (
    "L1 = {L1:.6g} H, L2 = {L2:.6g} H and a series-opposing {B:.6g} H would need k = {k:.6g}, but a passive pair "
    "has a series-opposing inductance from {low:.6g} H to {high:.6g} H; check the units and which reading is which."
)
