"""Sentences of the bench: the record, cards, cautions."""


# Sentences about the record: its events, its file and what can happen to them.

_LINE = "one line of 1 to 500 characters"
_NAME = "one line of 1 to 200 characters"
_TEXT = "text of 1 to 10000 characters, neither blank nor with control characters"

ACCEPTED = {
    "schema": "3: the record format; in older records 1, or 2 for a sweep",
    "seq": "a whole number from 1, one more than on the line before",
    "utc": "a time in UTC such as 2031-05-06T08:14:09Z",
    "event": "one of the kinds of event",
    "id": "1 to 100 letters a to z or A to Z, digits, '.', '_' or '-', with a letter or digit first",
    "by": "a pseudonym of letters a to z and a number, such as p2 (people stay unnamed), or null for unknown",
    "check": "the first 16 hexadecimal digits of the hash of all that the line says besides",
    "prev": "the 64 hexadecimal digits of the hash of the event before, or null on the first line",
    "part": _NAME + " that names the part, such as sample-7",
    "labkit": "the version of labkit that began the record, " + _NAME,
    "invented": "true or false",
    "scenario": _TEXT + ", or null",
    "seed": "a whole number from 0 to 9007199254740991, or null",
    "windings": "a whole number from 1 to 64",
    "family": "'same core', 'separate' or 'movable', or null for unknown",
    "dots": _LINE + " with one dotted terminal a winding, such as 1a 2a, or null for unknown",
    "title": _LINE + ", or null",
    "description": _TEXT + ", or null",
    "turns": "a list of 1 to 64 whole numbers from 1, one a winding, or null for unknown",
    "core": _TEXT + ", or null for unknown",
    "meter": _NAME + " that names the meter, such as meter-a; null for unknown only where it is read",
    "card": "the card's own text of 1 to 100000 characters, or null for no card known",
    "winding": "the number of a winding, a whole number from 1 to 64",
    "uncertainty": _LINE + " as stated, such as 0.005 mH or 0.05 %, or null for unknown",
    "coverage_factor": _LINE + " as stated, such as 2, or null for unknown",
    "tolerance": _LINE + " as stated, such as 0.1 mH or 1 %, or null for unknown",
    "source": _TEXT + " that says where the values stand, or null for unknown",
    "temperature": _LINE + " as shown, such as 23 °C, or null for unknown",
    "humidity": _LINE + " as shown, or null for unknown",
    "test_level": _LINE + " as shown, such as 0.5 V, or null for unknown",
    "frequency": _LINE + " as shown, such as 10 kHz, or null for unknown",
    "correction": _LINE + ", such as open and short, or null for unknown",
    "bias": _LINE + ", or null for unknown",
    "place": _LINE + ", or null for unknown",
    "largest_meter_error": _LINE + " in per cent above 0 and below 100, such as 30 %, or null for unknown",
    "note": _TEXT + ", or null",
    "accepted": _NAME + " with the version of the caution text",
    "wiring": _LINE + ": two clips, a bar and the ties, such as 1a 2a | 1b=2b",
    "quantity": "1 to 32 letters, digits, spaces, '_' or '-', a letter first, such as inductance or Q",
    "shown": _LINE + ", exactly what the display showed, such as 6.20 µH",
    "mode": "'series' or 'parallel' for the meter's equivalent circuit, or null for unknown",
    "second": "the second display as a quantity and what was shown, or null for unknown",
    "leads": "'zeroed' or 'not zeroed', or null for unknown",
    "repeat": "a whole number from 1 to 10000, or null for unknown",
    "corrects": "the id of the reading to correct",
    "changes": "at least one field of the reading with its new value",
    "reason": "the reason, " + _TEXT,
    "said": "the prediction as it was said, " + _LINE,
    "withdraws": "the id of the reading or sweep to withdraw",
    "topic": _NAME,
    "file": _NAME + " that names a file, such as winding-1.csv",
    "sha256": "the 64 hexadecimal digits of the file's SHA-256",
    "setup": "'impedance', 'reflection', 'series-through', 'shunt-through' or 'four-port'",
    "ports": _LINE + " with the terminal of each port in order, such as 1a 2a 1b 2b, or null",
    "decimal": "'.' or ',' for the decimal mark of a table that leaves it open, or null",
    "open": "name and hash of the sweep of the open fixture, or null for none",
    "short": "name and hash of the sweep of the shorted fixture, or null for none",
    "fixture_model": "'ladder' or 'symmetric' for how open and short are taken off, or null for none",
    "accuracy": _LINE + " as stated, relative to |Z|, such as 0.5 %, or null for unknown",
    "not_passive": "why values stay that no passive part can have, " + _TEXT + ", or null",
    "fixture": _LINE + ", such as two-terminal clamp, or null for unknown",
    "instrument": _LINE + ", such as impedance analyser A, or null for unknown",
    "text": _TEXT,
}

# Places that begin a sentence
LINE = "{file}, line {line}"
ENTRY = "{kind} {id}"

# One event that cannot be taken
WRONG = "{where}: {field} was given as {given}, but accepted is {accepted}."
MISSING_FIELD = "{where}: {field} is missing; accepted is {accepted}."
UNKNOWN_FIELD = "{where}: {field} = {given} is not a field known here; the fields are {fields}."
UNKNOWN_EVENT = "{where}: {given} is not a kind of event; the kinds are {kinds}."
NOT_JSON = "{where} is not one JSON object in UTF-8 ({given}); it is kept, and no event is read from it."
NOT_AN_OBJECT = "it holds a {given}"

# What an event may not do
NOT_OPENED = "{where} stands where the opening line belongs; begin a record with Record.create."
ALREADY_OPENED = "{where} opens a record that is open already; use another folder for another part."
NO_SUCH_ID = "{where} names '{target}', but no event before it has that id; name the id of a reading."
LOCKED = (
    "{where} names '{target}', a prediction, but a prediction is locked and stays as it was given; "
    "enter a second thought as a new prediction under a new id."
)
NOT_A_READING = (
    "{where} names '{target}', a {kind} event, but only a reading can be corrected or withdrawn; "
    "enter what is new under a new id."
)
WITHDRAWN = (
    "{where} names '{target}', but '{withdrawal}' has withdrawn it; enter a new reading with a new id."
)
CONFLICT = (
    "The id '{id}' is in the record already with other content "
    "({field} is {stored} there, {given} was given); {remedy}."
)
ABSENT = "absent"
REMEDIES = {
    "reading": "put a mistyped reading right with correct('{id}', …), or enter a further one under a new id",
    "prediction": "a prediction is locked and stays as given, so enter a second thought under a new id",
}
REMEDY = "nothing is overwritten, so enter the new content under a new id"

# The file
MISSING = "There is no {file} in '{folder}'; check the folder's name, or begin a record there."
SYMLINK = (
    "{file} in '{folder}' is a symbolic link to '{target}'; "
    "open the folder that holds the file itself, so that everybody waits for the same lock."
)
NOT_A_FILE = "{file} in '{folder}' is not a file that can be read line by line; check the folder."
CANNOT_READ = "{file} in '{folder}' cannot be read ({reason}); check the folder and its permissions."
CANNOT_CREATE = "No record can be begun in '{folder}' ({reason}); choose a folder that you may write to."
BUSY = (
    "Another program has held the record in '{folder}' for {seconds:g} s, so {where} was NOT stored; "
    "wait or close the other notebook, then enter it again."
)
NOT_STORED = (
    "{where} was NOT stored in '{folder}' ({reason}); "
    "make room or permission there, then enter it again under the same id."
)
NOT_READ_BACK = "it is not in the file when that is read again"
NOT_CONFIRMED = (
    "{where} was written in '{folder}' but not confirmed ({reason}), so do not count on it; "
    "enter it again under the same id, which never stores it twice."
)

# Problems: what opening a record reports, changing nothing
EMPTY = "{file} is empty and holds no opening line; begin the record with Record.create."
BYTE_ORDER_MARK = "{file} begins with a byte-order mark, which some editors add; it is skipped."
BLANK = "{where} is blank; nothing is read from it."
NUMBERED = "{where} is numbered {given} where {expected} was expected: a line was added, moved or removed."
CHECK = (
    "{where} does not fit its own check, so it was changed after it was stored; it counts as it stands: "
    "compare it with your notes, and correct what is wrong."
)
NO_FORMAT = (
    "{where} says record format {given}, but does not fit its own check, so it is damaged; "
    "it is kept, and no event is read from it."
)
NOT_KNOWN = (
    "{where} has {fields}, which this labkit does not know, as from a newer one; "
    "it is kept in the line, and the rest counts."
)
UNCHECKED = (
    "{where}, the last one, was stored by an older labkit without a check of its own, "
    "so a change of it would not be noticed; the next entry closes this gap."
)
CHAIN = "{where} does not follow from the event before it: a line was changed, added, moved or removed."
DUPLICATE = "{where} repeats the id '{id}' of an earlier line; the later line is kept and not counted."
NOT_COUNTED = "{sentence}; the line is kept and not counted."
TORN = (
    "{where}: the last {size} bytes are not a whole event, as after a write that was cut short; "
    "they are left as they are, and the next entry first moves them to '{aside}'."
)
UNENDED = "{where} has no line end; it reads whole and counts, and the next entry adds the line end."
ASIDE = "'{aside}' keeps {size} bytes that were moved out of {file}, because they were not a whole event."

SCHEMA_HEAD = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "labkit record, format {format}: one line",
    "description": "One line of record.jsonl. A field that is absent was not asked; "
    "a field that is null was asked and is not known.",
}


# Sentences of the bench: what an entry answers, and what is missing.

STORED = "{id}: {shown} for {what}, {spoken}. Last digit {step}. Line {line} of the record."
STORED_PREDICTION = "{id}: {shown} predicted for {spoken}. Locked at {utc}, line {line} of the record."
RELATIVE = "{said} = {shown}"
AFTER_READING = "It was committed after the reading: it is marked so, and never counts as a success."
NO_PREDICTION = (
    "“{given}” is not understood as a prediction: type a number with its unit, such as 20 mH, or a multiple of "
    "a reading, such as 2 x winding 1."
)
PREDICTION_ASKED = "“{given}” could mean {meant}: choose which one you expect."
NO_SUCH_READING = (
    "“{given}” is no reading of this bench yet ({known}): read it first, or predict a number with its unit."
)
WAITING = "{id}: no entry yet for {spoken}; type what the display shows, with its unit."
NEGATIVE = (
    "The display shows a negative inductance: kept as shown. Above self-resonance, or with a reversed phase, a meter "
    "does that; note the frequency and read again lower."
)
BEFORE_PREDICTION = (
    "This reading was taken before a prediction for its wiring was committed; the report says so."
)
CAUTIONS_FIRST = (
    "Nothing was stored: the cautions have not been accepted on this bench; read labkit.cautions() and call "
    'bench.accept_cautions(by="p1") with your pseudonym, then enter the reading again.'
)
NO_PART = (
    "Nothing was stored: the record does not say yet what the part is; call bench.describe(windings=2, "
    'family="same core", dots="1a 2a") first.'
)
UNKNOWN_METER = "Nothing was stored: there is no meter '{meter}' on this bench ({known}); call bench.meter(\"{meter}\", card) first."
NO_METERS = "none was named"
SECOND = (
    "'{given}' is not a second display; write its letter and value, such as 'Q 3.1', 'D 0.32' or 'R 0.52 Ω', "
    "or leave it out."
)
UNREADABLE = "Line {line} of the record does not make reading '{id}' readable: {reason}"
UNREADABLE_PREDICTION = "Line {line} of the record does not make prediction '{id}' readable: {reason}"
NO_READINGS = "none yet"
SINCE = (
    "A later entry (line {later}) replaced this one (line {line}), and line {later} counts. "
    "To go back, enter it again with a new id or a reason."
)
CORRECTED_SINCE = "Corrected since then in line {line}, which counts: {changes}. Reason: {reason}"
WITHDRAWN_SINCE = "Withdrawn since then in line {line}, so it does not count. Reason: {reason}"
MODE = (
    "The mode '{given}' is neither 'series' nor 'parallel'; give the equivalent circuit that the meter shows."
)
CORRECTED = (
    "{id}: corrected to {changes}, line {line}; line {old} keeps what was entered first. Reason: {reason}"
)
BENCH_WITHDRAWN = "{id}: withdrawn in line {line}; line {old} keeps what was entered. Reason: {reason}"
BENCH_ACCEPTED = "Cautions accepted by {by}, line {line} of the record."
DESCRIBED = "Part {part}: {windings} windings, {family}, dots {dots}. Line {line} of the record."
DOTS_UNKNOWN = "not known"
FAMILY_UNKNOWN = "family not given"
UNKNOWN = "not known"
METER = "Meter {meter}, card {card}. Line {line} of the record."
WAITING_PART = (
    'The part is not described yet; say it in the form or here, such as windings=2, family="same core", '
    'dots="1a 2a", or dots=None if nobody knows them.'
)
WAITING_METER = 'No meter is named yet; give its name, and its card if there is one: "meter-a", "card.toml".'
METERS = "Meters of this bench: {meters}."
CARDLESS = "no card"
CONDITIONS = (
    "temperature",
    "humidity",
    "test_level",
    "frequency",
    "correction",
    "bias",
    "place",
    "largest_meter_error",
    "note",
)
CONDITION = "{name} (line {line})"
CONDITIONS_STAND = "The record holds these conditions: {named}."
WAITING_PREDICTION = "{id}: no prediction yet for {spoken}; type what you expect, such as 20 mH."
WRITTEN = "{topic}, line {line} of the record: {text}"
NO_CARD = "none, so no uncertainty is stated for its readings"
REFERENCE = "Winding {winding} is a reference part: {shown} stated. Line {line} of the record."
WAITING_REFERENCE = (
    "Winding {winding}: no stated value yet; give what its certificate or marking says, such as "
    '"10.000 mH", uncertainty="0.008 mH", coverage_factor=2.'
)
NOTED = "Noted, line {line} of the record."
WAITING_WORDS = "{topic}: nothing written yet; say it in your own words."
BENCH_INVENTED = "{title}: invented data"
BENCH_HEADER = ("reading", "wiring", "shown", "frequency", "meter", "record lines")
WAITING_CAUTIONS = "The cautions are not accepted yet; read them, then give your pseudonym, such as p1."
WAITING_CONDITIONS = 'No conditions noted yet; give those you know, for example temperature="22.5 °C".'
SETTING = "'{given}' is not a setting of readings; the settings are {accepted}."
SETTINGS = "Each reading from here on is stored with: {settings}."
NO_SETTINGS = "nothing but what its own call says"
MARKED_AFTER = "{shown} (after the reading)"


# Sentences about meter cards.

NOT_TOML = "The meter card {name} is not readable as TOML ({detail}); mend that line or start from a card in data/cards."
FIELD = "The meter card {name} cannot be taken: {field} is {given}, but {accepted}; correct it from the page of the manual."
CARD_MISSING = "The meter card {name} lacks {field}; add it, as in the cards of data/cards."
CARD_UNKNOWN = "The meter card {name} has {field} = {given}, which is no field of a card; see data/cards for those that are."
SCHEMA = "The meter card {name} has schema {given}, but this labkit knows schema 1; update labkit or rewrite the card."
NO_RANGE = "The card {card} states no accuracy for {shown} at {frequency}; it covers {covered}."
UNKNOWN_FREQUENCY = "an unrecorded frequency"


# Sentences of card writing: from the accuracy page of a manual to a meter card, read back before it is
# stored.

# One line of the accuracy table

CARD_FORM_LINE = "Line {number}: {refusal}"
NO_KIND = "{given} is no inductance, resistance or capacitance; a card knows ranges of these three."
TOO_LARGE = (
    "a percentage of 100 or more, 10000 digits or more, a negative one, or a name of more than 40 characters; look at the "
    "line again."
)

# The fields of a card

FIELDS = {
    "id": "the name of the card (its id)",
    "title": "the meter's title",
    "source": "the source of the figures",
    "ranges": "the accuracy table",
    "calibrated": "the date of calibration",
    "calibration_due": "the date when calibration is due",
    "low_q": "the rule for low Q",
    "lead_residual": "the lead residual",
}
OPTIONAL = ("calibrated", "calibration_due", "low_q", "lead_residual")
EXAMPLES = {
    "id": "bench-meter-3",
    "title": "Bench LCR meter 3",
    "source": "manual, page 12",
    "ranges": "200 µH  199.99 µH  0.3 %  5 digits  1 kHz, 10 kHz",
}
BAD_ID = (
    "The id '{given}' cannot be the name of a card; use at most {limit} small letters, digits and hyphens, such as "
    "bench-meter-3."
)
BAD_DATE = (
    "The card cannot be written yet: {field} was given as '{given}'; write it as year-month-day, such as 2031-01-15, or "
    "leave it out."
)
BAD_LEADS = (
    "The lead residual cannot be taken ({reason}); give its value and its limit, such as 60 nH and 40 nH, or leave both "
    "out."
)
BAD_LOW_Q = (
    "The rule for low Q was given as '{given}'; give the dissipation factor D above which the accuracy gets worse, such "
    "as 0.1, or leave it out."
)
TWO_ENDS = (
    "Range {name} reaches {one} in one line and {other} in another; two lines of one range differ in their frequencies "
    "only, so give each range its own name."
)

# The draft, and reading it back

TITLE = "{title}: a card, not stored yet"
INVENTED = "{title}: an invented card, not stored yet"
HEADER = ("quantity", "range", "largest display", "one count", "accuracy", "test frequencies")
CAPTION = "As understood, from: {source}"
ACCURACY = "±({percent} % + {digits} digits)"
LEFT_OUT = "Not stated, so left out: {fields}."
CARD_FORM_NOT_STORED = 'Read it back for a value that you can check on the page, card.allows("10.00 mH", "1 kHz"), before you store or use it.'
ALLOWED = "{where}: the card allows {formula}, {u}."
WHERE = "{shown}{at}, range {range}"
FORMULA = "±({percent} % of {shown} + {digits} × {count}) = ±{limit}"
STANDARD = "a standard uncertainty of {u}"
AT = " at {frequency}"
LOW_Q = "At low Q, with D above {D}, the limits are wider by √(1 + D²)."
IS_IT_SO = "Does the manual allow the same? If not, mend the line; if so, the card can be stored."
READ_BACK_FIRST = (
    'The card {id} was NOT stored: nobody has read it back yet; call card.allows("10.00 mH", "1 kHz") with a value that '
    "you can check on the page."
)
CARD_FORM_STORED = "Card stored in {path}."
THERE = "The card is in {path} already, as it is here; nothing was written."

# The form

WITHOUT = "The card form needs JupyterLab; without it, write a card with labkit.write_card(id, title=…, source=…, ranges=…)."
CARD_FORM_READ_ONLY = (
    "This record is open read-only: a card can be tried out and read back here, but nothing is stored. Open a bench of "
    'your own, or give a folder: labkit.card_form("my-cards").'
)
CARD_ALLOWS = "{where}: the card allows"
CARD_STANDARD = "That is {u}."
NOTHING_TO_REPEAT = "There is no line yet that could be repeated ten times larger; type the first range."
NO_VALUE = "Type a value that you can work out from the page, such as 10.00 mH at 1 kHz."
UNDERSTOOD_DATE = "{day} {month} {year}"
MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
UNDERSTOOD_LEADS = "{inductance} ± {limit}"
UNDERSTOOD_LOW_Q = "wider by √(1 + D²) where D is above {D}"
BOTH_LEADS = "give the value and its limit, or neither"
RANGES_UNDERSTOOD = "{count} understood"
RANGES_REFUSED = "{count} understood, {refused} not"
FACE = {
    "form": "Meter card from the accuracy page of a manual",
    "title": "A meter card from the accuracy page",
    "lead": "Copy what the page states. Leave empty what it does not state; nothing is filled in.",
    "meter": "1  The meter",
    "table": "2  Its accuracy table",
    "also": "3  If the manual or the sticker states it",
    "back": "4  Read it back",
    "labels": {
        "id": "Name of the card (its id)",
        "title": "Meter",
        "source": "Where the figures stand",
        "invented": "Practice card: no instrument stands behind it",
        "ranges": "One range a line: range, largest display, percent, digits, test frequencies",
        "calibrated": "Calibrated on",
        "calibration_due": "Calibration due on",
        "low_q": "Wider limits at low Q, above D =",
        "lead": "Leads add, zeroed",
        "lead_limit": "give or take",
        "typical": "What is allowed at …",
        "typical_frequency": "… at the frequency …",
        "meter": "Enter it in the record as",
    },
    "hints": {
        "id": "such as bench-meter-3",
        "title": "such as Bench LCR meter 3",
        "source": "such as manual, page 12",
        "ranges": "such as  200 µH  199.99 µH  0.3 %  5 digits  1 kHz, 10 kHz",
        "calibrated": "year-month-day",
        "calibration_due": "year-month-day",
        "low_q": "such as 0.1",
        "lead": "such as 60 nH",
        "lead_limit": "such as 40 nH",
        "typical": "such as 10.00 mH",
        "typical_frequency": "such as 1 kHz",
        "meter": "such as meter-a",
    },
    "understood": "As understood",
    "header": list(HEADER[1:]),
    "next": "Next range: the last line, ten times larger",
    "store": "Yes, the manual allows the same: store the card",
    "file": "File",
    "call": "The same as plain calls",
    "lost": "NOT SAVED",
    "lost_more": "The kernel does not answer. What you typed is still here, but it is not stored. Run the cells again when the kernel is back: the form offers it again.",
}


# Sentences about reference parts: what a certificate or a marking states.

REFERENCE_NAME = "reference {winding}"
REFERENCE_LABEL = "reference"
CERTIFIED = "U = {U}, k = {k}"
MARKED = "tolerance ±{tolerance}"


# The cautions that every notebook and report carries. Raise `VERSION` when a sentence changes its meaning.

VERSION = "1"
CAUTIONS_TITLE = "Cautions"
CAUTIONS = (
    "No mains on this bench, and no plug on any board: the meter's own test signal, below 1 V, is the whole "
    "experiment. A choke is never connected to the mains to see it filter.",
    "Parts are salvaged beforehand by an authorised person. Equipment with a high-voltage supply can hold a lethal "
    "charge long after it was unplugged: it is discharged through a rated resistor, checked with a voltmeter and left "
    "shorted.",
    "On a filter board the capacitor across the line can hold the peak of the mains if its bleeder resistor is open. "
    "With 0.47 µF and 1 MΩ it takes 1.1 s to fall from 358 V to 34 V, and only if the bleeder is intact. Measure DC "
    "volts first, then ohms, then inductance: a charged capacitor also destroys the meter.",
    "Mark handled parts “teaching sample, not for mains”. Never rewind a sectional choke as a bifilar one and put it "
    "back into equipment: the gap between its sections is safety insulation.",
    "With DC bias, never interrupt the current of an inductor: use a current-limited source of at most 24 V and a clamp "
    "diode, and mind that chokes get hot.",
    "Ferrite splinters when it breaks; soldering irons burn; clamps pinch.",
    "Local codes, the rules of your institution and licensed practice come first; where they differ from this "
    "list, follow them.",
)
