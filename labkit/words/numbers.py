"""Names in files of numbers, and how to cite them."""

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
