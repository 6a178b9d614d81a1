"""Sentences about where winding resistance rules."""

MEASURED = "both windings side by side, as swept"
LOSSLESS = "the same from singles and series-opposing by the lossless formula"
LOSSY = "the same from singles and series-opposing with their resistances"
WEIGHT = "weight of the mismatch term d²/(4B) as swept"

CORNER = "Windings {i} and {j} side by side: winding resistance {R} and leakage B = {B} meet at f_c = (R1 + R2)/(2πB) = {corner}."
SIZE = "The mismatch term d²/(4B) is {term}, {percent} % of the reading: that is what resistance hides below f_c."
HOLDS = "With resistances the theory fits the sweep at {good} of {count} frequencies up to 30 f_c (largest |E_n| {worst})."
REFUTED = (
    "Without resistances it does not fit at {bad} of {count} frequencies up to 30 f_c (largest |E_n| {worst}, at {where}); "
    "from {start} on it does."
)
REFUTED_ALL = "Without resistances it does not fit at {bad} of {count} frequencies up to 30 f_c (largest |E_n| {worst}, at {where})."
NOT_REFUTED = "Without resistances it fits as well: this mismatch is too small, or the corner too low, for the sweep to tell."
UNSTATED = "No accuracy is stated for all four sweeps, so it cannot be said which theory fits; the curves stand side by side."
TITLE = "How much of the mismatch term shows, as swept and as x²/(1 + x²) for R1 = R2, x = f/f_c"
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
