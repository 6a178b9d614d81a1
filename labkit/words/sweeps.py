"""Sentences about swept data: frequencies, files, fixtures."""

# What a sweep is
AT_LINE = "{name}, line {line}"
AT_POINT = "Point {point}"
NOT_ABOVE_ZERO = "{where}: the frequency is {given}, but it has to be above zero; check what was exported."
TWICE = (
    "{where}: the frequency {given} stands there once more, but each may stand only once; "
    "decide which point counts and export that one."
)
FALLS = (
    "{where}: the frequency {given} follows on {before}, but frequencies have to ascend; "
    "check whether two sweeps stand in one file, and export one sweep from low to high."
)

# What a file is instead
NOT_DATA = "{name} is {what} and not a text file of numbers; export the sweep as CSV or Touchstone."
ARCHIVE = "a packed archive or a spreadsheet file"
PDF = "a PDF document"
PICTURE = "a picture"
OFFICE = "an office document"

# Touchstone
OPTIONS = (
    "{name}, line {line}: '{given}' is not an option line; it reads # with a unit (Hz, kHz, MHz, GHz), a parameter "
    "(S, Y, Z, G, H), a format (DB, MA, RI) and R with the reference in Ω."
)
REFERENCE_VALUE = "{name}, line {line}: '{given}' is no reference; a reference is a number above zero, in Ω."
KEYWORD = (
    "{name}, line {line}: '{given}' is not taken here; check the file against the Touchstone specification."
)

# Tables
WRONG_UNIT = "{where}: '{unit}' in '{heading}' is not a unit of it; taken are {accepted}."
NO_UNIT = "none, as it has no unit"
ASK_COMMA = (
    "{name}, line {line}: the comma in '{given}' may be the decimal mark or separate thousands, and no other number "
    'tells; say decimal="," if it is the decimal mark, or export without thousands separators.'
)
CELL = "{name}, line {line}: '{given}' under '{heading}' is not a number; check that line."
CELL_EMPTY = "{name}, line {line}: nothing stands under '{heading}'; check that line, or take the point out of the export."
CELL_UNIT = (
    "{name}, line {line}: '{given}' carries a unit of its own, but all values under '{heading}' share the unit of the "
    "heading; export numbers only."
)
NO_PAIR = (
    "{name}, line {line}: the columns {found} do not give an impedance; needed beside the frequency are |Z| and phase, "
    "R and X, Ls and Rs, Ls and Q, Lp and Rp, or another such pair."
)
ASK_EQUIVALENT = "{name}, line {line}: '{heading}' may be a series or a parallel equivalent; name it {names} in the heading."

# Fixtures
OPEN, SHORT, LOAD, LOAD_REFERENCE = "open", "short", "load", "known load"
MODEL = (
    "'{given}' is not a model of the fixture; say \"ladder\" (a series impedance, then an admittance across the part) "
    'or "symmetric" (a two-port that looks the same from both sides).'
)
OTHER_FREQUENCY = (
    "The {name} correction's point {point} is at {given}, but the part was measured at {frequency}; "
    "measure the correction at the part's own frequencies, as nothing is interpolated."
)
OTHER_LENGTH = (
    "The {name} correction has {given} points, but the part has {count}, and {first} is in one of them only; "
    "measure the correction at the part's own frequencies, as nothing is interpolated."
)

# Files of sweeps
NOT_KEPT = "{name} could not be kept in '{folder}' ({reason}), so nothing was stored; make room or check the permissions."
KEPT_MISSING = "{name} is not where it was kept, {where} ({reason}); put the original back under that name."

# Storing
ENTRY = "sweep {id}"
STORED = "{id}: {count} points from {low} to {high}, {what}, from {file}. Line {line} of the record, file {digest}…."
AT_PORTS = "ports at {ports}"
GAPS = "Not recorded: {gaps}. A reader would have to ask; give what is known, or None for what nobody knows."
CONDITION_NAMES = {
    "test_level": "test level",
    "bias": "bias",
    "temperature": "temperature",
    "fixture": "fixture",
    "instrument": "instrument",
}
ACCURACY = "accuracy"
SETUP = "'{given}' is not a setup; the setups are {accepted}."
FOUR_PORT_NEEDS = (
    "A four-port has no wiring: give None for it, and the terminal of each port in order, such as "
    'ports="1a 2a 1b 2b".'
)
NEEDS_SETUP = (
    "{file} holds network parameters, but the setup says {setup}; say how the part was hooked up: "
    'setup="reflection", "series-through", "shunt-through" or "four-port".'
)
NEEDS_TOUCHSTONE = '{file} holds impedances, but the setup {setup} needs a Touchstone file; say setup="impedance" for a table.'
CORRECTION_NEEDS = (
    'A correction needs all three: the open sweep, the short sweep, and correction="ladder" or "symmetric" for the '
    "fixture's model; a four-port takes none."
)
WRONG_PORTS = (
    "{file}: with ports {ports} the waves at {frequency} do not fit, as ports {pairs} look like the ends of one winding; "
    "check the order of the ports."
)
AGAINST_THE_DOTS = (
    "{file}: with ports {ports} and the dots at {dots} the mutual inductance would be negative at {frequency}; "
    "check the order of the ports, where ends a and b of one winding may be exchanged, and the dots."
)
NOT_PASSIVE = (
    "{file}: {what} at {frequency}, which no passive part can have ({beyond}); check the fixture and its correction, "
    'or say why it may stay: not_passive="…".'
)
NEGATIVE_R = "the resistance is {value} Ω"
SINGULAR = "the largest singular value of S exceeds 1 by {value}"
BEYOND = "beyond the stated accuracy of {accuracy}"
NOT_STATED = "no accuracy is stated that could explain it"
STAYS = "{file}: {what} at {frequency}, which no passive part can have; it stays for this reason: {reason}"
PROGRESS = "sweeps"
MANY = "{done} of {all} sweeps are in the record."
STOPPED = "Stopped with {left} to go; nothing is lost, and the same call goes on from here."
SWEEPS_HEADER = ("sweep", "wiring or ports", "setup", "file", "record line")
INVENTED = "invented data, seed {seed}, relative noise {noise}, gain error within {gain}"

WAITING_FILE = "Waiting for the file of the sweep at {what}."
NO_INSTRUMENT = (
    "{file} gives |Z| = {size} Ω at {frequency} Hz, which no instrument shows; export the sweep again."
)
