"""Sentences of card writing: from the accuracy page of a manual to a meter card, read back before it is stored."""

# One line of the accuracy table

LINE = "Line {number}: {refusal}"
NO_PERCENT = "no percentage; add the percent of the reading from the manual, such as 0.3 % (0 % if none)."
NO_DIGITS = (
    "no number of digits after the percentage; add it with its word, such as 5 digits (0 digits if none)."
)
NO_DISPLAY = "no largest display before the percentage; add what the range shows at most, with all its digits, such as 199.99 µH."
NO_NAME = (
    "only one size, {up_to}, before the percentage; write the range as the meter calls it and then its largest display, "
    "such as 200 µH  199.99 µH."
)
NO_KIND = "{given} is no inductance, resistance or capacitance; a card knows ranges of these three."
COUNT = (
    "the last digit of {up_to} is worth {last}, but one count is given as {count}; write the largest display with all "
    "the digits that it has."
)
NO_FREQUENCY = "no test frequency; add those that the line holds for, such as 1 kHz, 10 kHz."
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
MISSING = "The card cannot be written yet: {field} is missing; give it, such as {example}."
TOO_LONG = "The card cannot be written yet: {field} has more than {limit} characters; shorten it."
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
NEGATIVE_LIMIT = "its limit is {given}, below zero"
BAD_LOW_Q = (
    "The rule for low Q was given as '{given}'; give the dissipation factor D above which the accuracy gets worse, such "
    "as 0.1, or leave it out."
)
TWO_ENDS = (
    "Range {name} reaches {one} in one line and {other} in another; two lines of one range differ in their frequencies "
    "only, so give each range its own name."
)
TWICE = "Range {name} is stated twice at {frequency}; keep the line that the manual has for that frequency."

# The draft, and reading it back

TITLE = "{title}: a card, not stored yet"
INVENTED = "{title}: an invented card, not stored yet"
HEADER = ("quantity", "range", "largest display", "one count", "accuracy", "test frequencies")
CAPTION = "As understood, from: {source}"
ACCURACY = "±({percent} % + {digits} digits)"
LEFT_OUT = "Not stated, so left out: {fields}."
NOT_STORED = 'Read it back for a value that you can check on the page, card.allows("10.00 mH", "1 kHz"), before you store or use it.'
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
CONFIRM_FIRST = "The card was NOT stored. It says: {said} If the manual allows the same, call store again with confirmed=True."
STORED = "Card stored in {path}."
THERE = "The card is in {path} already, as it is here; nothing was written."
EXISTS = "{path} holds something else already and was NOT overwritten; give the card another id, or move that file away."
CANNOT_WRITE = (
    "The card was NOT stored in {path} ({reason}); choose a folder that is there and that you may write to."
)

# The form

WITHOUT = "The card form needs JupyterLab; without it, write a card with labkit.write_card(id, title=…, source=…, ranges=…)."
READ_ONLY = (
    "This record is open read-only: a card can be tried out and read back here, but nothing is stored. Open a bench of "
    'your own, or give a folder: labkit.card_form("my-cards").'
)
NO_FOLDER = "There is no folder {given}; make it first, or give one that is there."
CARD_ALLOWS = "{where}: the card allows"
CARD_STANDARD = "That is {u}."
CHANGED = "The card was NOT stored: it was changed since these limits were worked out; look at them again, then confirm."
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
FILE_KEPT = "{stored} It was NOT entered in the record: {reason}"
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
