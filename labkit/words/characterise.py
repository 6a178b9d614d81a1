"""Sentences of a characterisation."""

SOURCE = {
    "measured": "swept as tied ({id})",
    "computed": "computed from {ids}",
    "four_port": "from the four-port file ({id})",
}
WHAT_Z = "|Z| in {mode}, {source}"
WHAT_PHASE = "phase of Z in {mode}, {source}"
WHAT_L = "series inductance in {mode}, {source}"
WHAT_R = "series resistance in {mode}, {source}"
WHAT_LOSS = "insertion loss of the choke alone in {mode}, {source} and load {termination}"
WHAT_MIXED = {
    "mixed_mode_Scc21": "|Scc21|, common mode in, common mode out",
    "mixed_mode_Sdd21": "|Sdd21|, differential mode in, differential mode out",
    "mixed_mode_Scd21": "|Scd21|, differential mode in, common mode out",
    "mixed_mode_Sdc21": "|Sdc21|, common mode in, differential mode out",
}
WHAT_PEAK = "largest |Z| in {mode}, at a swept frequency, {source}"
WHAT_SPOT_Z = "|Z| in {mode} at the swept frequency next to {spot}, {source}"
WHAT_SPOT_LOSS = (
    "insertion loss of the choke alone in {mode} between {termination} at the swept frequency next to {spot}"
)
WHAT_LOW = "{what}, at the lowest frequency swept"
WHAT_RESONANCE = "self-resonance of {what}"
WHAT_CAPACITANCE = "effective self-capacitance of {what}, with its lowest-frequency inductance"
WHAT_CORNER = (
    "winding-resistance corner (R1 + R2)/(2πB) of windings {i} and {j}, at the lowest frequency swept"
)
WHAT_ENTRY = "entry {i}, {j} of the inductance matrix from {basis}"
WHAT_MATRIX = {
    "coupling_coefficient": "coupling coefficient of windings {i} and {j} from {basis}",
    "leakage_differential_mode": "line-to-line inductance L1 + L2 − 2M of windings {i} and {j} from {basis}",
    "imbalance": "imbalance L1 − L2 of windings {i} and {j} from {basis}",
}
WHAT_COMMON = "common-mode inductance 1/(1ᵀL⁻¹1) from {basis}"
WHAT_PASSIVITY = "largest power out less power in, as a part of the power in, of {id}"
WHAT_RECIPROCITY = "largest |Sij − Sji| of {id}"

LOST = "Sweep {id} is left out: {reason}"
NO_SWEEPS = "There is no sweep in this record yet; `bench.sweep(wiring, file)` stores one."
NO_MODE_DOTS = "The dots are not known, so common and differential mode are not told apart."
NO_MODE = "Nothing tells the impedance in {mode}: sweep {wiring}, or each winding alone and the series-opposing connection."

GAPS = "Not noted for {ids}: {what}. A reader cannot repeat these sweeps without it."
GAP_NAMES = {
    "test_level": "test level",
    "bias": "bias",
    "temperature": "temperature",
    "fixture": "fixture",
    "instrument": "instrument",
    "accuracy": "accuracy",
}

FOUND_COMMON = "In common mode (clips and ties {wiring}) the choke has {L} at {low}; |Z| is largest, {peak}, at {where}{resonance}."
FOUND_DIFFERENTIAL = (
    "In differential mode ({wiring}) it has {L} at {low}, which is the loop inductance B; winding resistance {R} rules below "
    "{corner}, so lossless formulas may be used from about ten times that{resonance}."
)
AND_RESONANCE = "; self-resonance {f}"
FOUND_COUPLING = "Windings {i} and {j}: k = {k} at {low} by {route}; 1 − k = {gap}."
NEGLECTED = (
    "To first order only: the square of the error of L1 − L2 makes 1 − k look smaller by {bias} on average; singles that share "
    "their errors, as one instrument's do, lose less."
)
CLOSURE = (
    "Common mode as swept and as computed from {ids} {verdict} at {good} of {count} frequencies up to {limit} "
    "(largest |E_n| {worst})."
)
AGREES, DISAGREES = "agree", "DISAGREE"
PASSIVE = (
    "Sweep {id} is passive at every frequency within its stated accuracy (power out less power in at most {amount} of the power "
    "in, at {frequency})."
)
NOT_PASSIVE = (
    "Sweep {id} gives out more power than it takes in: by {amount} of it at {frequency}. No passive part does; "
    "check calibration and the order of the ports."
)
RECIPROCAL = "Sweep {id} is reciprocal within {amount} (largest |Sij − Sji|, at {frequency})."
OF_LINES = "{mode} of lines {i} and {j}"
SERIES_PARTS = (
    "Insertion loss in {mode}: one impedance in series tells it only below {start}. From there on the whole circuit, as the "
    "four-port file {id} holds it, differs by more than {limit} ({ends}: {alone} in series, {circuit} in the circuit at "
    "{where}), as capacitance between the windings makes it, which lies across the lines there; quote the four-port's."
)
SERIES_HOLDS = (
    "Insertion loss in {mode}: one impedance in series tells it within {largest} of the whole circuit at every frequency of "
    "{id} ({ends})."
)
SERIES_ALONE = (
    "Insertion loss in differential mode is worked out from one impedance in series. Capacitance between the windings lies across the lines "
    "in a circuit, so near self-resonance and above the real loss differs from it by more than the band; a four-port file "
    "tells by how much."
)
SWEEPS_TITLE = "What was swept"
SWEEPS_HEADER = (
    "sweep",
    "wiring or ports",
    "set-up",
    "fixture taken off",
    "points",
    "from",
    "to",
    "accuracy as stated",
    "line",
)
CONDITIONS_TITLE = "Under what conditions"
CONDITIONS_HEADER = (
    "sweep",
    "test level",
    "bias",
    "temperature",
    "fixture",
    "instrument",
    "file",
    "SHA-256 begins",
)
CORRECTION = "open and short, {model}"
NO_CORRECTION = "no"
NOT_NOTED = "NOT NOTED"

SPOT_TITLE = "What the choke does at the swept frequencies next to {spots}; loss: of the impedance in series; DM: lines 1 and 2"
SPOT_HEADER = (
    "swept at",
    "|Z| CM",
    "|Z| DM",
    "loss CM 50/50 Ω",
    "loss CM 25/25 Ω",
    "loss DM 50/50 Ω",
    "loss DM 100/100 Ω",
)
KEY_TITLE = "Key figures; ± is the expanded uncertainty, coverage factor 2"
KEY_HEADER = ("quantity", "value", "at", "rests on")
LEAKAGE_TITLE = (
    "Leakage by two routes, at the lowest frequency swept and up to a tenth of the lowest self-resonance"
)
LEAKAGE_HEADER = (
    "windings",
    "quantity",
    "from series-opposing",
    "from short-circuit",
    "largest |E_n|",
    "agree at",
    "without exception up to",
)
OF = "{good} of {count} up to {limit}"
SHORTED = "{near} ({far} shorted)"
LEAKAGE_NOTE = (
    "Leakage has three meanings: √(L1 L2)(1 − k) belongs to one winding if both are alike, B is the loop out through one winding "
    "and back through the other (of unlike windings it keeps the mismatch (√L1 − √L2)² even at k = 1), L1(1 − k²) is what winding 1 shows with winding 2 shorted. E_n: difference over its expanded uncertainty."
)

NO_TWO_ROUTES = (
    "Leakage is known by one route only: sweep each winding alone, series-opposing and with one winding shorted, at the same "
    "frequencies, and two routes can be held against each other."
)
LEAKAGES_AGREE = (
    "Leakage of windings {i} and {j} by two routes, series-opposing and winding {near} with {far} shorted: all three meanings and "
    "the loop's resistance agree within the stated accuracy up to {limit} (largest |E_n| {worst}), B = {B} at {low}; B agrees "
    "without exception up to {up_to}."
)
CORNER_UNKNOWN = "a frequency that is not known"
FROM_READINGS = "From {basis} at {frequency}: {what} {value}."
COMMON_MODE_NAME = "common-mode inductance 1/(1ᵀL⁻¹1), without winding resistance,"
