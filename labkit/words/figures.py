"""Words in and about the pictures of readings and predictions."""

KIND = {
    "reading": "reading",
    "coupled": "coupled rule",
    "uncoupled": "uncoupled rule",
    "own": "own prediction",
}
READING_ID = "reading {id}:"
INPUT = "{text} (input)"
INTERVAL = "{value}, 95 % of the draws from {low} to {high}"
MORE = "{shown} and {count} more"
LANE = "{name} {text}"
OFF_AXIS = "{lane} (no place on a logarithmic axis)"

AXIS = "inductance, logarithmic axis"
BARS = "bars: expanded uncertainty, coverage factor 2, or 95 % of the draws"
NO_BARS = "no bars: no uncertainty is stated"
INPUTS = "input: the coupled rule rests on this reading"
INVENTED = "invented data"

ALT_HEAD = "Chart on one logarithmic axis of inductance from {low} to {high}."
ALT_INVENTED = "The data are invented."
ALT_INPUT = "Readings marked input are what the coupled rule rests on."
ROW = "{label} ({wiring})"
ALT_ROW = "{row}: {lanes}."
NOTHING = "Nothing has been read or predicted yet, so there is nothing to compare in a picture."
SIZE = "'{given}' is not a size of picture; write size='page' for a report or size='projector' for a class."
