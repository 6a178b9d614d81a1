"""Sentences about the comparison of models: what is taken, why, and when none is believed."""

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
