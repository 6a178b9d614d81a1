"""Sentences about the record: its events, its file and what can happen to them."""

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
TWICE = "the name {name} stands twice in one object"
NOT_A_NUMBER = "{name} is not a number that JSON knows"
NOT_AN_OBJECT = "it holds a {given}"
TOO_NEW = (
    "{where} was written in record format {given}, but this labkit reads formats up to {newest}; "
    "the record is unharmed: open it with a newer labkit."
)
RESERVED = "{where}: {field} cannot be given, because the record writes it itself; leave it out."
CLOCK = "The clock gave {given}, but a record needs a time with its time zone; pass a clock that returns one."

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
NO_FOLDER = "{given} cannot be the name of a folder; check the folder's name."
MISSING = "There is no {file} in '{folder}'; check the folder's name, or begin a record there."
EXISTS = "'{folder}' holds a {file} already, which is never overwritten; open it, or use another folder."
SYMLINK = (
    "{file} in '{folder}' is a symbolic link to '{target}'; "
    "open the folder that holds the file itself, so that everybody waits for the same lock."
)
NOT_A_FILE = "{file} in '{folder}' is not a file that can be read line by line; check the folder."
CANNOT_READ = "{file} in '{folder}' cannot be read ({reason}); check the folder and its permissions."
CANNOT_CREATE = "No record can be begun in '{folder}' ({reason}); choose a folder that you may write to."
READ_ONLY = "The record in '{folder}' is open read-only, so {where} was NOT stored; open one of your own."
BUSY = (
    "Another program has held the record in '{folder}' for {seconds:g} s, so {where} was NOT stored; "
    "wait or close the other notebook, then enter it again."
)
NOT_STORED = (
    "{where} was NOT stored in '{folder}' ({reason}); "
    "make room or permission there, then enter it again under the same id."
)
SHORT = "only {written} of {size} bytes could be written"
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
