"""Words in and about the pictures: flux in the ring, k on a scale, budget as bars, draws as a histogram."""

SIZE = "'{given}' is not a size of picture; write size='page' for a report or size='projector' for a class."
AND = " and "

# Flux in the ring
COMMON_MODE = "common mode"
DIFFERENTIAL_MODE = "differential mode"
MODE_TITLE = {COMMON_MODE: "common-mode current", DIFFERENTIAL_MODE: "differential-mode current"}
CURRENTS_TITLE = "currents {first} and {second}, counted from end a to end b"
FLUX = {1: "Φ₁", 2: "Φ₂"}
CURRENT = "i"
SUM = "sum"
NOTHING, ALMOST_NOTHING = "0", "≈ 0"
VERDICT = {
    "add": "fluxes add",
    "cancel": "fluxes cancel",
    "partly cancel": "fluxes cancel in part",
    "alone": "one flux only",
    "none": "no current, no flux",
}
LEFT = {"cancel": "only leakage flux is left", "alone": "the other winding carries no current"}
FLUX_TITLE = "Flux in the ring: {what}"
CURRENTS = (
    "'{given}' does not say what drives the current; give a wiring such as '1a 2a | 1b=2b', 'common mode', "
    "'differential mode', or one current a winding such as (1, -1)."
)
DOTS_UNKNOWN = (
    "Nobody can tell which way the fluxes go while the dots are unknown; give them, such as dots='1a 2a', or let the "
    "readings decide."
)

ALT_RING = "Ring core seen from the front, winding 1 on the left, winding 2 on the right, dots on {dots}."
ALT_MODE = {
    COMMON_MODE: "Common-mode current enters both windings at their ends a.",
    DIFFERENTIAL_MODE: (
        "Differential-mode current goes out through winding 1 from end a to end b and back through winding 2 from end b "
        "to end a."
    ),
}
ALT_CURRENT = "Current flows through winding {number} from {start} to {end}; its flux goes {way}."
ALT_NO_CURRENT = "Winding {number} carries no current."
CLOCKWISE, COUNTERCLOCKWISE = "clockwise", "counterclockwise"
ALT_VERDICT = "Together: {verdict}."
ALT_LEFT = "Together: {verdict}, {left}."
ALT_EQUAL = "Drawn for equal windings that couple tightly."
