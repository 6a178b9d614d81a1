"""Sentences about models fitted to the sweeps of a choke."""

TITLE = "Models of {what} ({id})"
HEADER = ("model", "parameters", "reduced chi-squared", "AICc above the least", "verdict")
VERDICT = {
    True: "believed: describes the sweep, and no larger one tells more",
    False: "closest, yet NOT believed: it does not describe the sweep",
    None: "simplest that no larger one improves; no accuracy is stated to judge it",
}
OTHER = {
    True: "describes the sweep too",
    False: "does not describe the sweep",
    None: "no accuracy is stated to judge it",
}
NOT_TOLD = "({symbol} about {value})"
NO_LIMIT = "({symbol} without limit)"
NOT_QUOTED = "not given: they would belong to no real part"
OPEN_WINDING = (
    "A winding alone is more than these models hold: the open winding, closely coupled, closes loops with it through the "
    "capacitance between the two, and they resonate."
)
YET_DESCRIBED = "One choke for both modes and both windings, below, does describe this sweep."
PARAMETER = "{what} ({symbol}) of the model '{model}' fitted to {sweep}"
CHOKE_TITLE = "One choke for both modes and both windings"
CHOKE_HEADER = ("parameter", "value")
REDUCED = "reduced chi-squared of all sweeps together"
CHOKE = {
    True: "One choke describes all these sweeps within their stated accuracy.",
    False: "No one choke of this form describes all these sweeps within their stated accuracy; its values are those of the closest.",
    None: "No accuracy is stated, so it cannot be said whether one choke describes these sweeps.",
}
UNIT = {
    "R": "Ω",
    "leakage": "H",
    "core": "H",
    "turns": "",
    "relaxation": "Hz",
    "C": "F",
    "between": "F",
}
NO_MODELS = "No sweep is long enough for a model."
