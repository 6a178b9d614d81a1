"""Words in and about charts of quantities against frequency."""

FREQUENCY = "frequency"
BAND = "bands: expanded uncertainty, coverage factor 2"
NO_PLACE_LOG = (
    "{label}: {count} of {points} values are zero, negative or not finite and have no place on this axis"
)
NO_PLACE = "{label}: {count} of {points} values are not finite and have no place on this axis"
NOTHING = "There is nothing to draw: no curve has a value that has a place on these axes."
LENGTHS = "A curve of {x} frequencies needs as many values, and '{label}' has {y}."
SCALE = "'{given}' is not an axis for a curve; write scale='log' or scale='linear'."

ALT_HEAD = "{title}. {name} against frequency from {low} to {high}, {scale}."
ALT_LOG, ALT_LINEAR = "both axes logarithmic", "frequency axis logarithmic"
ALT_CURVE = "{label}: {first} at {low}, {last} at {high}; largest {peak} at {where}."
ALT_SINGLE = "{label}: {first} at {low}."
ALT_MARK = "Marked: {label} at {frequency}."
