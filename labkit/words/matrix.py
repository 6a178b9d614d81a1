"""Sentences of the inductance matrix."""

TITLE = "Inductance matrix at {frequency}, in the windings' own direction (currents from end a to end b)"
NO_FREQUENCY = "an unrecorded frequency"
CORNER = "between"
WINDING = "winding {n}"
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
PASSIVE = {
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
NO_SUCH_FREQUENCY = (
    "'{given}' is no frequency at which an inductance was read; there are readings at {known}."
)
SHOULD = {True: "consistent", False: "inconsistent", None: "no uncertainty stated"}
CONTRADICT = (
    "The readings contradict each other as one matrix (probability of a larger chi-squared {p}): one of {ids} does not belong to the "
    "same part under the same conditions, or is a slip; quote nothing from this matrix."
)
