"""Sentences about reference parts: what a certificate or a marking states."""

NO_SUCH_WINDING = (
    "Winding {given} was given, but the part of this bench has {windings}; count each reference part as one winding and "
    "give its number, or describe the part anew."
)
WITH_COVERAGE = (
    "The uncertainty was given as {uncertainty} and the coverage factor as {k}; a certificate states both (U and k), so "
    "give both, or neither."
)
ONE_SPREAD = (
    "Both an uncertainty ({uncertainty}) and a tolerance ({tolerance}) were given; give the certificate's uncertainty if "
    "there is a certificate, else the tolerance that is marked on the part."
)
NO_SPREAD = (
    "'{given}' cannot be an uncertainty or a tolerance, which is above zero; leave it out if none is stated."
)
BAD_FACTOR = (
    "'{given}' cannot be a coverage factor, which is above zero, usually 2; copy it from the certificate."
)
REFERENCE_NAME = "reference {winding}"
REFERENCE_LABEL = "reference"
CERTIFIED = "U = {U}, k = {k}"
MARKED = "tolerance ±{tolerance}"
