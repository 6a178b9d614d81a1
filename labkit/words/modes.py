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
NETWORK_NAME = "network"
TERMINATIONS = (
    "'{given}' does not say what stands at either side; write terminations='network' for the artificial network, give a list of "
    "Termination, or leave it out."
)

# What the numbers rest on
NO_SOURCE = "An object of type {given} has no modes to show; give a bench, a Pair, a Choke, or a Part made from impedances or scattering parameters."
WHICH = "This bench can answer from several sources; say which by {offered}."
NOT_OFFERED = "'{given}' is no four-port sweep of this bench; it has {offered}."
NONE = "none, and no readings"
NO_PAIR = "The readings do not give a pair yet, so nothing can be said about its modes."
LOSSLESS = (
    "Lossless and without capacitance: inductances alone. True well below the first self-resonance, which inductances do "
    "not tell. Near it the real choke does more, and from about √2 times that frequency on it does less."
)
RESTS = "From {ids} by {route}, read at {frequency}."
UNRECORDED = "a frequency that was not recorded"
MEASURED = (
    "From the four-port sweep {id} (line {line}), ports at {ports}; the other side of each port is ground."
)
DOTS = (
    "Which lines run together in sweep {id} depends on the dots, and they are not known; mark them on the part, such as "
    "dots='1a 2a'."
)
CAPACITOR_TEXT = "{given} is no capacitor; write it with its unit, such as '4.7 nF'."

# Results
MODES_TITLE = "Common mode and differential mode"
MODES_HEADER = ("mode", "clips and ties", "inductance")
AT = "|Z| at {frequency}"
IMPEDANCE_CHART = "Impedance in common and in differential mode"
IMPEDANCE_AXIS = "magnitude of the impedance |Z|"
DRIVEN = "{mode}: {wiring}."
LINE_150 = "150 kHz"
THREE_LINES = "Differential mode is driven through lines 1 and 2; the others stay open."
RESISTANCE_CORNER = (
    "Winding resistance rules the loop below f_c = (R1 + R2)/(2πB) = {corner}. A lossless formula for the windings side by "
    "side may be used from 10 f_c = {ten} on, where nearly all of its mismatch term shows. For R1 = R2 that is 99 %, at f_c half, at f_c/10 1 %."
)
NO_RESISTANCE = "No winding resistance is known here, so it cannot be told below which frequency it, and not the leakage, rules."
CHECKS_TITLE = "Checks of the four-port"
CHECKS_HEADER = ("check", "worst", "at", "what it says")
PASSIVE = "power out over power in, less 1"
RECIPROCAL = "|S{i}{j} − S{j}{i}|"
CONVERSION = "|S| from differential to common mode"
HOLDS = "nothing above rounding and the stated accuracy, if any"
GAINS = "a passive part gives no power: calibration, noise or a wrong file"
ASYMMETRIC = "R, L, C and coupling treat both ways alike: noise, calibration, or a magnetised core"
CONVERTS = "lines that are not alike; 0 for a perfectly symmetric choke"

LOSS_TITLE = "Insertion loss"
LOSS_HEADER = ("mode", "source / load")
LOSS_CHART = "Insertion loss in {mode}"
LOSS_AXIS = "insertion loss 20 log |V20/V2|"
ALONE = "The choke alone."
WITH = "The choke with {capacitors}."
CAPACITOR_AT = {
    "x_source": "{C} from line to line on the side of the source",
    "x_load": "{C} from line to line on the side of the load",
    "y_source": "{C} from each line to ground on the side of the source",
    "y_load": "{C} from each line to ground on the side of the load",
}
PARASITIC = "{C} (with {R} and {L} in series)"
CIRCUIT = (
    "Common mode: lines tied on either side, source and load against ground. Differential mode: source and load from line "
    "to line, ground floating."
)
FLAT = (
    "For a choke alone only the sum of source and load counts, so that 0.1 Ω / 100 Ω and 100 Ω / 0.1 Ω hardly differ from "
    "50 Ω / 50 Ω."
)
CORNERS_TITLE = "Corners of ideal elements"
CORNERS_HEADER = ("corner", "frequency")
RESONANCE = {
    "common mode": "common mode: choke with the Y-capacitors of both lines",
    "differential mode": "differential mode: loop inductance with what lies between the lines",
}
CHOKE_CORNER = {
    "common mode": "common mode: 3 dB between 50 Ω and 50 Ω",
    "differential mode": "differential mode: 3 dB between 50 Ω and 50 Ω",
}
LINE_CAUTION = (
    "Nothing here is to be connected to mains. Capacitors on a line hold a charge after unplugging and those to ground leak "
    "current into it; which are allowed, and with which bleeder, is decided by the local code and by people licensed for it."
)
