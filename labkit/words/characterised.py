"""Headings and chart texts of a characterisation."""

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
FOREIGN = "{file} is there already and is no file of a characterisation; give another folder or move it away."
NO_CHART = "'{given}' is no chart of a characterisation; there are {known}."
NOTHING_TO_DRAW = "There is nothing to draw for '{given}' yet: the sweeps that it needs are missing."
