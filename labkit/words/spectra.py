"""Sentences of quantities against frequency."""

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
LEAKAGE = {
    "leakage_per_winding": "leakage per winding √(L1 L2)(1 − k)",
    "leakage_differential_mode": "differential-mode leakage B",
    "leakage_short_circuit": "short-circuit leakage L1(1 − k²)",
    "loop_resistance": "differential-mode loop resistance",
}
SINGLE = "winding {n} alone"
WIRED = "{id} ({wiring})"

NO_BAND = "No accuracy is stated for {ids}: curves that rest on them have no band, and agreement cannot be judged there."
BAND = (
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
