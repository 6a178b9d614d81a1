"""Sentences of fitted models: the fit, the choice, the netlist."""


# Sentences about a model fitted to a sweep, and about how far it is believed.

UNCERTAINTY = (
    "An uncertainty of {given} was given, but it must be finite and above zero, relative to |Z|, one for all "
    "{points} frequencies or one a frequency; leave it out if no accuracy is stated."
)
TOO_FEW = (
    "The sweep has {points} frequencies and the model '{model}' {parameters} parameters; "
    "at least {needed} frequencies are needed."
)
ESTIMATED = (
    "No accuracy is stated for this sweep: its noise, {percent:.2g} % of |Z|, is estimated from what the fit leaves "
    "over, so the intervals are only as good as the model and there is no chi-squared."
)
NOT_CONVERGED = "The fit did not settle; its parameters are where it stopped."
NOT_DESCRIBED = (
    "The model does not describe this sweep within its stated accuracy (reduced chi-squared {reduced:.3g}, "
    "{bands}, most near {worst}); its parameters and intervals hold for no real choke."
)
NOT_DESCRIBED_ANYWHERE = (
    "The model does not describe this sweep within its stated accuracy (reduced chi-squared {reduced:.3g}, in no band "
    "more than elsewhere); its parameters and intervals hold for no real choke."
)
HIDDEN = (
    "{symbol} is told by this sweep only if the stated accuracy holds no error of phase common to all frequencies; "
    "such an error would hide it."
)
TAKEN_EQUAL = (
    "Both windings are taken as equal, because common and differential mode alone cannot tell them apart; "
    "add a sweep of each winding with the other one open."
)
CHOKE_NOT_DESCRIBED = (
    "One choke does not describe all sweeps within their stated accuracy (reduced chi-squared {reduced:.3g}; "
    "worst in {bands}); its values and intervals hold for no real choke."
)
NOT_TOLD = "{symbol} is not identified by these sweeps; {advice}."
AT_MOST = "{symbol} is not identified by this sweep: any value up to {high} fits as well; {advice}."
AT_LEAST = "{symbol} is not identified by this sweep: any value from {low} on fits as well; {advice}."
BETWEEN = "{symbol} is hardly identified by this sweep: anything from {low} to {high} fits as well; {advice}."
ANYTHING = "{symbol} is not identified by this sweep: no value changes the fit; {advice}."

ADVICE = {
    "R": "go to lower frequencies or take the resistance with direct current",
    "L": "go to lower frequencies",
    "L_air": "go well above the core's relaxation, or read the winding with the other one shorted",
    "L_core": "go below the core's relaxation",
    "f_r": "go to higher frequencies",
    "C": "go up to the self-resonance and beyond",
    "R_d": "go well above the self-resonance",
    "leakage": "add a differential-mode sweep",
    "core": "go below the core's relaxation",
    "turns": "add sweeps of the single windings",
    "relaxation": "go to higher frequencies",
    "between": "add a differential-mode sweep up to its self-resonance",
}
BAND = "from {low} to {high}"


# Sentences about models fitted to the sweeps of a choke.

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
FITTED_NOT_TOLD = "({symbol} about {value})"
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


# Sentences about the comparison of models: what is taken, why, and when none is believed.

TAKEN = (
    "{model}: the simplest model that describes the sweep within its stated accuracy (reduced chi-squared {reduced:.3g}) "
    "and that no larger one improves beyond chance with parameters that the sweep tells."
)
IMPROVED = "{smaller} describes the sweep too, but {larger} fits better than chance allows (F = {F:.3g}, p = {p:.1g})."
UNTOLD = (
    "{larger} fits better than chance allows (F = {F:.3g}, p = {p:.1g}), but this sweep does not tell its {symbols}, and "
    "{smaller} describes the sweep within its stated accuracy; the smaller one is kept."
)
NONE = (
    "None of the {count} models describes this sweep within its stated accuracy: {model} comes closest "
    "(reduced chi-squared {reduced:.3g}) and fails {bands}, most near {worst}; do not quote its parameters."
)
NONE_ANYWHERE = (
    "None of the {count} models describes this sweep within its stated accuracy: {model} comes closest "
    "(reduced chi-squared {reduced:.3g}), failing no band more than others; do not quote its parameters."
)
UNSTATED = (
    "No accuracy is stated, so no model can be said to describe this sweep; {model} is the simplest that no larger one "
    "improves beyond chance, and it leaves {percent:.2g} % of |Z|, where neighbouring points scatter by {scatter:.2g} %."
)
PATTERN = (
    "What {model} leaves is not random (Durbin-Watson {d:.3g}, where chance gives 2): neighbouring frequencies err alike, "
    "by an error that the instrument shares among them or by something that the model lacks."
)
TOO_SHORT = "{model} was left out: the sweep has too few frequencies for its parameters."


# Sentences about refits to resampled sweeps.

STOPPED = "Stopped after {done} of {asked} resamples; the figures rest on these {done}."
NAME = "resamples"


# Comments inside a netlist. ASCII only, so that every simulator takes the file.

HEAD = "{name}: choke with {windings} windings as a subcircuit; terminals in the order of the .subckt line"
UNITS = "R in ohm, L in H, C in F; written by labkit {version}"
HOLDS = (
    "holds for small signals within the frequencies that the values come from; "
    "no saturation, no temperature, nothing to ground"
)
WINDING = "winding {number}: resistance, leakage inductance, its share of the core, ammeter of 0 V"
CORE = "core as seen from winding 1"
CORE_LOSS = "one relaxation at {relaxation:.6g} Hz is exactly this resistance beside the inductance"
CAPACITANCE = "capacitance across windings and between neighbours"
