"""Sentences about swept data: frequencies, files, fixtures."""

# What a sweep is
AT_LINE = "{name}, line {line}"
AT_POINT = "Point {point}"
NO_FREQUENCIES = (
    "Frequencies of shape {shape} were given, but a sweep is a row of at least one frequency; check the data."
)
NOT_ABOVE_ZERO = "{where}: the frequency is {given}, but it has to be above zero; check what was exported."
TWICE = (
    "{where}: the frequency {given} stands there once more, but each may stand only once; "
    "decide which point counts and export that one."
)
FALLS = (
    "{where}: the frequency {given} follows on {before}, but frequencies have to ascend; "
    "check whether two sweeps stand in one file, and export one sweep from low to high."
)
SHAPE = (
    "{name} has the shape {given}, but {needed} is needed for these frequencies and ports; check the data."
)
NOT_FINITE = "{name} is not a finite number at {frequency}; check what was exported there."
NOT_FINITE_LINE = (
    "{name}, line {line}: the values at {at} give no finite impedance; check what was exported there."
)
REFERENCE = "Reference impedances {given} were given, but each port needs one above zero in Ω."

# What a file is instead
TOO_LARGE = "{name} is larger than {limit} MB, which no sweep needs; export fewer points or one sweep a file."
NOT_DATA = "{name} is {what} and not a text file of numbers; export the sweep as CSV or Touchstone."
ARCHIVE = "a packed archive or a spreadsheet file"
PDF = "a PDF document"
PICTURE = "a picture"
OFFICE = "an office document"
MARKUP = "a web page or another file with markup"
BINARY = "a binary file"
LONG_LINE = "{name}, line {line} is longer than any line of a sweep; check whether this is the exported file."
EMPTY = "{name} is empty; export the sweep again."

# Touchstone
OPTIONS = (
    "{name}, line {line}: '{given}' is not an option line; it reads # with a unit (Hz, kHz, MHz, GHz), a parameter "
    "(S, Y, Z, G, H), a format (DB, MA, RI) and R with the reference in Ω."
)
REFERENCE_VALUE = "{name}, line {line}: '{given}' is no reference; a reference is a number above zero, in Ω."
NO_OPTIONS = (
    "{name}, line {line}: '{given}' comes before any option line, such as # MHz S MA R 50; "
    "check whether this is a Touchstone file."
)
PORTS_UNKNOWN = (
    "{name}, line {line}: nothing says how many ports the file has; name it as it was exported, such as "
    "part.s2p, or give [Number of Ports] in version 2."
)
OTHER_PORTS = (
    "{name}, line {line}: the file says {given} ports, but its name says {ports}; check which file this is."
)
MANY_PORTS = "{name}, line {line}: {ports} ports are said, but 1 to {most} are taken; check the file's name."
MIXED_MODE = (
    "{name}, line {line}: the file holds mixed-mode parameters; export the single-ended ones, "
    "from which labkit works out the modes itself."
)
KEYWORD = (
    "{name}, line {line}: '{given}' is not taken here; check the file against the Touchstone specification."
)
NOT_A_NUMBER = "{name}, line {line}: '{given}' is not a number with a decimal point; check what was exported."
MISFIT = (
    "{name}, line {line}: {count} numbers do not fit here, as a point of {ports} ports has {size} with its frequency; "
    "check the number of ports in the file's name, and whether the file is whole."
)
CUT_SHORT = "{name}, line {line}: this point has {count} of {size} numbers, so the file was cut short; export it again."
NO_POINTS = "{name}, line {line}: the file ends without a single point; export the sweep again."
OTHER_COUNT = (
    "{name}, line {line}: the file ends after {count} points, but says that it has {given}; export it again."
)
NO_ORDER = (
    "{name}, line {line}: a two-port file of version 2 has to say its [Two-Port Data Order]; export it again."
)
REFERENCES = "{name}, line {line}: {given} references were given for {ports} ports; one for all or one for each is taken."
HYBRID = "{name}, line {line}: {kind} parameters belong to two ports, but the file has {ports}; export S parameters."
RELATIVE_TO_WHAT = (
    "{name}, line {line}: {kind} parameters relative to a reference that differs between ports have "
    "no plain meaning; export S parameters."
)
NO_SCATTERING = (
    "{name}, line {line}: the {kind} parameters cannot be turned into S parameters; export S parameters."
)

# Tables
NO_HEADINGS = (
    "{name}: no line of headings names a frequency; line 1 reads '{given}'. Write headings with units above the "
    "numbers, such as f/kHz;|Z|/Ω;phase/°."
)
WRONG_UNIT = "{where}: '{unit}' in '{heading}' is not a unit of it; taken are {accepted}."
NO_UNIT = "none, as it has no unit"
UNIT_MISSING = "{name}, line {line}: '{heading}' states no unit; add it to the heading, such as f/kHz, R/Ω, Ls/mH, phase/°."
TWO_COLUMNS = (
    "{name}, line {line}: '{first}' and '{second}' both name the same quantity; keep the one that counts."
)
QUOTES = "{name}, line {line}: a quotation mark has no partner; check what was exported."
NO_ROWS = "{name}, line {line}: no numbers follow the headings; export the sweep again."
CELLS = "{name}, line {line}: {count} values stand under {columns} headings ('{given}'); check that line, or export again."
COMMA_OR_COLUMN = (
    "{name}, line {line}: {count} values stand under {columns} headings ('{given}'), so a comma may be the decimal mark "
    "or may separate columns; export with semicolons or tabs between columns, or with decimal points."
)
TWO_MARKS = "{name}, line {line}: '{comma}' holds a comma and '{point}' a point; export with one decimal mark throughout and without thousands separators."
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
ROUTES_DIFFER = (
    "{name}, line {line}: at {at} the columns {first} and {second} give impedances that differ by more than one per cent; "
    "check the units in the headings, or export one pair only."
)

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
HOOK_UP_PORTS = (
    "A {hook_up} measurement has ports: {needed}, but the file has {given}; check the file or the hook-up."
)
NO_IMPEDANCE = "No finite impedance follows at {frequency}: the part cannot be told from an open or shorted fixture there; leave that point out, or measure it again."

# Files of sweeps
CANNOT_READ = "{name} cannot be read ({reason}); check its name, its folder and its permissions."
NOT_KEPT = "{name} could not be kept in '{folder}' ({reason}), so nothing was stored; make room or check the permissions."
KEPT_MISSING = "{name} is not where it was kept, {where} ({reason}); put the original back under that name."
KEPT_CHANGED = (
    "{name}, kept as {where}, was changed after it was stored, so it is not used; "
    "put the original back under that name."
)
NO_SCATTERING_HERE = (
    "{id} was measured as an impedance and holds no scattering parameters; ask for its impedance."
)
FOUR_PORT_IMPEDANCE = (
    "{id} is a four-port, whose impedance depends on a wiring; ask for its scattering parameters."
)

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
CONDITION = "'{given}' is not a condition of a sweep; they are {accepted}."
FOUR_PORT_NEEDS = (
    "A four-port has no wiring: give None for it, and the terminal of each port in order, such as "
    'ports="1a 2a 1b 2b".'
)
WIRING_NEEDS = (
    "This setup needs a wiring such as 1a 1b and no ports; only a four-port has ports and no wiring."
)
NEEDS_SETUP = (
    "{file} holds network parameters, but the setup says {setup}; say how the part was hooked up: "
    'setup="reflection", "series-through", "shunt-through" or "four-port".'
)
NEEDS_TOUCHSTONE = '{file} holds impedances, but the setup {setup} needs a Touchstone file; say setup="impedance" for a table.'
NOT_FOUR = "{file} has {ports} ports, but a four-port has 4; check which file this is."
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
