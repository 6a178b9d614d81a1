"""Sentences about a model fitted to a sweep, and about how far it is believed."""

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
TOO_FEW_FOR_CHOKE = (
    "The sweeps have {points} frequencies together; at least {needed} are needed for the choke's parameters."
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
