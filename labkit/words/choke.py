"""Sentences of a documented choke: matrix, curves, modes, report."""


# Sentences of a characterisation.

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


# Headings and chart texts of a characterisation.

TITLE = "Characterisation of {part}"
SWEEPS = "|Z| of every sweep"
MODES = "|Z| in common and differential mode"
PHASES = "Phase of Z in common and differential mode"
MAGNITUDE, PHASE, INDUCTANCE, LOSS, GAP, E_N, LEVEL = (
    "|Z|",
    "phase",
    "series inductance",
    "insertion loss",
    "1 − k",
    "E_n",
    "level",
)
WINDINGS = "Series inductance of each winding, and in common mode"
EQUIVALENTS = "Winding 1 in the two modes of a meter"
EQUIVALENT, SERIES, PARALLEL = "inductance", "series, Ls", "parallel, Lp"
EQUIVALENTS_NOTE = "Lp = Ls(1 + 1/Q²): the two differ where Q is small, and neither is wrong"
LEAKAGE = "Leakage, three meanings, from singles and series-opposing"
ROUTES = "Differential-mode leakage B by two routes"
DISAGREEMENT = "Difference of the two routes over its expanded uncertainty"
COUPLING = "1 − k by every route"
LOSSES = "Insertion loss of the choke alone in {mode}"
MIXED = "Mixed-mode parameters of {id}, 100 Ω differential, 25 Ω common"
BAND = "bands: expanded uncertainty (k = 2) from the stated accuracy alone"
LOSS_NOTE = (
    "One impedance in series between source and load; from the four-port file the whole circuit. 0.1 Ω / 100 Ω "
    "and 100 Ω / 0.1 Ω are the same for a series impedance."
)
DISAGREEMENT_NOTE = (
    "between the lines the routes agree; values beyond ±{limit:g} stand at the edge and count as disagreement"
)
LIMIT = "a tenth of self-resonance"
SELF_RESONANCE = "self-resonance {mode}"
SHORT_MODE = {"common mode": "CM", "differential mode": "DM"}
KIND = {"measured": "swept", "computed": "computed", "four_port": "four-port"}
SHORT_LEAKAGE = {
    "leakage_per_winding": "√(L1 L2)(1 − k)",
    "leakage_differential_mode": "B = L1 + L2 − 2M",
    "leakage_short_circuit": "L1(1 − k²)",
    "loop_resistance": "loop resistance",
}
SHORT_ROUTE = {
    "series_opposing": "series-opposing",
    "short_circuit_1": "winding 2 shorted",
    "short_circuit_2": "winding 1 shorted",
    "series_aiding": "series-aiding",
}
PAIR = "{i}, {j}: {what}"
WINDING = "winding {n}"


SUBTITLE = "Characterisation of a choke: part {part}"
SECTION_MODES = "Common and differential mode"
SECTION_LOSS = "Insertion loss of the choke alone"
SECTION_LEAKAGE = "Leakage and coupling"
SECTION_MATRIX = "Inductance matrix"
SECTION_WINDINGS = "Windings and self-resonance"
SECTION_RESISTANCE = "Where winding resistance rules"
SECTION_MODELS = "Models, compared honestly"
SECTION_NUMBERS = "All numbers"
SECTION_CITE = "How to cite, and where it comes from"
NO_LOSS = "No sweep tells the impedance in a mode yet."
NO_ROUTES = "There are no two routes to the leakage yet."
NO_RESONANCES = "There is no sweep yet."
NO_MODELS = "There is no sweep long enough for a model."
NO_MATRIX = "No inductance matrix: {reason}"
TYING = "{mode}: {wiring}, clips on {spoken}"
READ_TITLE = "Readings that count"
READ_HEADER = ("reading", "wiring", "shown", "frequency", "meter", "record line")
DOWNLOADS = "The same numbers as files, inside this page (large ones as .gz); names carry the units, empty cells mean that there is no value:"
FILES = {
    "numbers.csv": "every single number, with expanded uncertainty and what it rests on",
    "spectra.csv": "every curve, one line a frequency, expanded uncertainty beside each",
    "numbers.json": "both, the inductance matrix with its covariance, and how to cite",
    "choke.cir": "the fitted choke as a SPICE subcircuit",
}
KEPT = "{file} was written."
NO_CHART = "'{given}' is no chart of a characterisation; there are {known}."
NOTHING_TO_DRAW = "There is nothing to draw for '{given}' yet: the sweeps that it needs are missing."


# Sentences of the inductance matrix.

MATRIX_TITLE = (
    "Inductance matrix at {frequency}, in the windings' own direction (currents from end a to end b)"
)
NO_FREQUENCY = "an unrecorded frequency"
CORNER = "between"
ENTRY = "L{i}{j}"
CORRELATIONS_TITLE = "Correlation coefficients of the entries"
CORRELATIONS_HEADER = "entry"
PAIRS_TITLE = "Each two windings"
PAIRS_HEADER = (
    "windings",
    "M",
    "k",
    "1 − |k|",
    "line-to-line L1 + L2 − 2M",
    "imbalance L1 − L2",
    "relative to their mean",
)
TOGETHER_TITLE = "All windings together"
TOGETHER_HEADER = ("quantity", "value")
COMMON_MODE = "common-mode inductance 1/(1ᵀL⁻¹1), all windings in parallel, dots on one node"
SMALLEST = "smallest eigenvalue of the coupling matrix"
CHECKS_TITLE = "Readings that the matrix was not made from, against the matrix"
CHECKS_HEADER = ("reading", "read", "the matrix says", "E_n", "verdict")
CHECK = "{id} ({wiring})"
USED = "From {ids}: winding networks in series only, whose inductance is linear in the entries."
SPARE = (
    "{readings} readings for {entries} entries: chi-squared {chi}, degrees of freedom {freedom} "
    "(probability of a larger chi-squared {p})."
)
UNSTATED = "No uncertainty is stated for {ids}, so none is given here: {reason}."
MATRIX_PASSIVE = {
    "yes": "Positive semidefinite: yes, the smallest eigenvalue of the coupling matrix exceeds its expanded uncertainty.",
    "no": (
        "Positive semidefinite: NO, the smallest eigenvalue of the coupling matrix is below zero by more than its expanded "
        "uncertainty. No passive part has this matrix as it stands (nothing was clipped); check wirings and units."
    ),
    "cannot tell": (
        "Positive semidefinite: cannot tell, the smallest eigenvalue of the coupling matrix does not exceed its expanded "
        "uncertainty. A series-opposing reading of each two windings would resolve it."
    ),
    "unstated yes": "Positive semidefinite as read; no uncertainty is stated that would say how surely.",
    "unstated no": "Not positive semidefinite as read (nothing was clipped), and no uncertainty is stated.",
}
NO_COUPLING = (
    "Positive semidefinite: NO, a winding alone read zero or less, so there is no coupling coefficient. "
    "Check which wiring was built and its unit."
)
POLARITY = (
    "Dots: the inductances say that {read} have equal polarity, the part is marked {marked}. "
    "One of the two is wrong, or a wiring is not what was noted."
)
POLARITY_READ = "Dotted ends by the signs of the mutual inductances: {dots}."
MISSING = (
    "The inductance matrix of {windings} windings cannot be made from {given}; still missing: {missing}. "
    "Read each winding alone and each two windings in series, at one frequency."
)
NO_SHARED = (
    "The inductance matrix needs sweeps at one frequency, and {ids} share none; nothing is interpolated."
)
NO_ACCURACY = "no accuracy is stated"
NOTHING = "no reading"
NO_VALUE = "no finite value"
MISSING_SINGLE = "winding {n} alone ({n}a {n}b)"
MISSING_PAIR = "windings {i} and {j} in series ({i}a {j}a | {i}b={j}b)"
SHOULD = {True: "consistent", False: "inconsistent", None: "no uncertainty stated"}
CONTRADICT = (
    "The readings contradict each other as one matrix (probability of a larger chi-squared {p}): one of {ids} does not belong to the "
    "same part under the same conditions, or is a slip; quote nothing from this matrix."
)


# Sentences of quantities against frequency.

WHAT = {
    "self_inductance": "series inductance of winding {n}, Im Z/ω",
    "series_resistance": "series resistance of winding {n}, Re Z",
    "parallel_inductance": "inductance of the parallel equivalent of winding {n}, |Z|²/(ω Im Z)",
    "parallel_resistance": "resistance of the parallel equivalent of winding {n}, |Z|²/Re Z",
    "quality_factor": "quality factor of winding {n}, Im Z/Re Z",
    "impedance_magnitude": "|Z| of {what}",
    "impedance_phase": "phase of Z of {what}",
    "mutual_inductance": "mutual inductance of windings {i} and {j}, from {route}",
    "coupling_coefficient": "coupling coefficient of windings {i} and {j}, from {route}",
    "leakage_per_winding": "leakage per winding √(L1 L2)(1 − k) of windings {i} and {j}, from {route}",
    "leakage_differential_mode": "differential-mode leakage B = L1 + L2 − 2M of windings {i} and {j}, from {route}",
    "leakage_short_circuit": "short-circuit leakage L1(1 − k²) of windings {i} and {j}, from {route}",
    "loop_resistance": "differential-mode loop resistance Re Z of windings {i} and {j}, from {route}",
    "imbalance": "imbalance L1 − L2 of windings {i} and {j}",
    "relative_imbalance": "imbalance of windings {i} and {j} relative to their mean",
}
ROUTE = {
    "series_opposing": "singles and series-opposing",
    "short_circuit_1": "singles and short-circuit of the second winding",
    "short_circuit_2": "singles and short-circuit of the first winding",
    "both_series": "series-aiding and series-opposing",
    "series_aiding": "singles and series-aiding",
}
SPECTRA_LEAKAGE = {
    "leakage_per_winding": "leakage per winding √(L1 L2)(1 − k)",
    "leakage_differential_mode": "differential-mode leakage B",
    "leakage_short_circuit": "short-circuit leakage L1(1 − k²)",
    "loop_resistance": "differential-mode loop resistance",
}
SINGLE = "winding {n} alone"
WIRED = "{id} ({wiring})"

NO_BAND = "No accuracy is stated for {ids}: curves that rest on them have no band, and agreement cannot be judged there."
SPECTRA_BAND = (
    "Bands are expanded uncertainties (coverage factor 2) from the stated accuracies alone ({stated}), each taken as a limit of "
    "error of |Z| and, as the same part of a radian, of its phase, for each sweep on its own."
)
OTHER_FREQUENCIES = (
    "{ids} were not swept at the same frequencies: what needs them together is given at the {kept} that they share "
    "({left} left out); nothing is interpolated. If they were meant to be the same, export frequencies with equally many digits."
)
NO_COMMON = "{ids} share no frequency, so nothing that needs them together is given; nothing is interpolated. Sweep them alike."
DOTS_BY_SWEEPS = (
    "The dots of windings {i} and {j} are not marked; a series sweep is taken as aiding if its reactance at the lowest frequency "
    "exceeds that of the other one, or of both windings alone together."
)
DOTS_OPEN = (
    "The dots of windings {i} and {j} are neither marked nor told by series sweeps, so these are not used."
)

RESONANCE = "between {low} and {high}"
NO_RESONANCE = "above {high}, the highest frequency swept"
BELOW_SWEEP = "capacitive already at {low}, the lowest frequency swept"
RESONANCE_TITLE = "Self-resonance and self-capacitance"
RESONANCE_HEADER = ("sweep", "self-resonance", "bracketed", "effective self-capacitance", "inductance used")
RESONANCE_NOTE = (
    "Self-resonance: where the susceptance crosses zero, interpolated between two swept frequencies. Effective self-capacitance: "
    "1/((2πf)²L), L the series inductance at the lowest frequency swept."
)

DISAGREE = (
    "The two routes to the {what} of windings {i} and {j} DISAGREE at {bad} of {count} frequencies up to {limit}, a tenth of the "
    "lowest self-resonance of these sweeps (largest |E_n| {worst} at {where}): {why}"
)
WHY_SHORT = (
    "the short-circuit sweep gives more, most of all at low frequency, as a short with resistance does "
    "(about {R} in the short would do it)."
)
WHY_OTHER = "one of the sweeps is not of the wiring that was noted, or its accuracy is not as stated."
ROUTES_UNSTATED = (
    "The two routes to the {what} of windings {i} and {j} differ by {percent} % of it at most up to {limit}; without a stated "
    "accuracy it cannot be said whether they agree."
)

REPEATED = "{ids} are of one wiring; windings, pairs and modes use {kept}, and every sweep has its own |Z| and phase."
DOTS_CONTRADICT = (
    "The dots of windings {i} and {j} are marked at {marked}, yet the series sweeps, by their reactances at the lowest frequency, "
    "have them at {told}: dots or wirings are not what was noted, and what rests on them is not to be quoted."
)


# Words on common and differential mode, insertion loss and filters.

MODES_NO_MODE = "'{given}' is not a mode; write {accepted}."
LINES = (
    "Lines {given} are no loop of a part with {windings} windings; give two different numbers from 1 to {windings}, such "
    "as lines=(1, 2)."
)
FREQUENCY = "Frequencies are numbers above zero in Hz; give at least one."
PORTS = (
    "'{given}' does not say where {count} ports sit; name the terminal of each port in the order of the file, every "
    "terminal once, such as ports='1a 2a 1b 2b'."
)
ONE_REFERENCE = (
    "Mixed modes need one reference impedance at all ports, and these have {given} Ω; renormalise first."
)

BETWEEN = "{source:g} Ω / {load:g} Ω"
NETWORK = "network, {resistance:g} Ω / {resistance:g} Ω"
REAL_NETWORK = "{source:g} Ω / network of 50 Ω ∥ 50 µH"
REAL_NETWORK_5 = "{source:g} Ω / network of 50 Ω ∥ (50 µH + {resistance:g} Ω)"
NETWORK_NAME = "network"

# What the numbers rest on
WHICH = "This bench can answer from several sources; say which by {offered}."
NOT_OFFERED = "'{given}' is no four-port sweep of this bench; it has {offered}."
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
MODES_CHECKS_TITLE = "Checks of the four-port"
MODES_CHECKS_HEADER = ("check", "worst", "at", "what it says")
MODES_PASSIVE = "power out over power in, less 1"
MODES_RECIPROCAL = "|S{i}{j} − S{j}{i}|"
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
MODES_RESONANCE = {
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


# Sentences about where winding resistance rules.

RESISTANCE_MEASURED = "both windings side by side, as swept"
RESISTANCE_LOSSLESS = "the same from singles and series-opposing by the lossless formula"
LOSSY = "the same from singles and series-opposing with their resistances"
WEIGHT = "weight of the mismatch term d²/(4B) as swept"

RESISTANCE_MEETS_LEAKAGE = "Windings {i} and {j} side by side: winding resistance {R} and leakage B = {B} meet at f_c = (R1 + R2)/(2πB) = {corner}."
SIZE = "The mismatch term d²/(4B) is {term}, {percent} % of the reading: that is what resistance hides below f_c."
RESISTANCE_HOLDS = "With resistances the theory fits the sweep at {good} of {count} frequencies up to 30 f_c (largest |E_n| {worst})."
REFUTED = (
    "Without resistances it does not fit at {bad} of {count} frequencies up to 30 f_c (largest |E_n| {worst}, at {where}); "
    "from {start} on it does."
)
REFUTED_ALL = "Without resistances it does not fit at {bad} of {count} frequencies up to 30 f_c (largest |E_n| {worst}, at {where})."
NOT_REFUTED = "Without resistances it fits as well: this mismatch is too small, or the corner too low, for the sweep to tell."
RESISTANCE_UNSTATED = "No accuracy is stated for all four sweeps, so it cannot be said which theory fits; the curves stand side by side."
RESISTANCE_TITLE = "How much of the mismatch term shows, as swept and as x²/(1 + x²) for R1 = R2, x = f/f_c"
HEADER = (
    "f / f_c",
    "swept at",
    "side by side, swept",
    "lossless",
    "with resistances",
    "weight swept",
    "x²/(1 + x²)",
)
NEEDS = "Sweep each winding alone, series-opposing and side by side at the same frequencies to see where winding resistance rules."
AXIS, SWEPT, THEORY = "weight", "as swept", "x²/(1 + x²)"
NOTE = "windings {i} and {j} side by side: 0 where the wire's resistance rules, 1 where the lossless formula holds"
LINE = "f_c"
LINE_TEN = "10 f_c"
LINE_TENTH = "f_c/10"


# Names in files of numbers, and how to cite them.

SCHEMA = "labkit-characterisation-1"
"""Version of the layout of the files; it changes with every column that is renamed or moved."""

SCALARS_HEADER = ("name", "value", "expanded_uncertainty_k2", "frequency_Hz", "sweeps_and_readings", "what")
CITE = (
    "{title} (part {part}): characterisation of a choke{invented}. Record of {events} lines ending {date}, SHA-256 {digest}. "
    "Computed with labkit {version}, layout {schema}."
)
INVENTED = ", INVENTED DATA"
NO_DIGEST = "not recorded"
NO_DATE = "at no time recorded"
SUFFIX = {"H": "_H", "Ω": "_Ohm", "°": "_deg", "Hz": "_Hz", "F": "_F", "dB": "_dB", "": "", "H²": "_H2"}
"""How a unit ends a name."""

UNCERTAINTY = "expanded_uncertainty_of_{name}"
EMPTY = ""
