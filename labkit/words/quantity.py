"""What a person reads when an entry cannot be taken as typed: one sentence each.

`{given}` arrives in quotation marks, with invisible characters made visible.
"""


# Quantities: a reading as the display shows it

EMPTY = "Nothing was entered: type the {quantity} as the display shows it, such as {example}."
NOT_TEXT = (
    "The {quantity} came as {given} and not as text: put what the display shows in quotation marks, "
    'such as "{example}".'
)
OVERLONG = (
    "The entry is longer than any display: type at most {limit} characters with at most {digits} digits, "
    "such as {example}."
)
HIDDEN = (
    "{given} contains a tab, a line break or another invisible character: type it again by hand, such as "
    "{example}."
)
FOREIGN_DIGITS = "{given} has digits other than 0 to 9: type it again with 0 to 9, such as {example}."
OVER_RANGE = "{given} says that the meter is over range: choose a higher range and read again."
NOT_A_NUMBER = "{given} is not a number: read the display again and type its digits, such as {example}."
POWER_OF_TEN = (
    "{given} is written with a power of ten, which no display shows: type it as shown, such as {example}."
)
GROUPED = "{given} has a gap or a mark between its digits: type the digits together, such as {example}."
NO_NUMBER = "{given} has no digits: type the {quantity} as the display shows it, such as {example}."
NOT_UNDERSTOOD = "{given} is not understood: type only what the display shows, such as {example}."
TWO_MARKS = (
    "{given} has more than one decimal mark: keep the one on the display and leave out any mark between "
    "thousands."
)
OPEN_MARK = "{given} stops at the decimal mark: type the digits that follow it, or leave the mark out."
NO_UNIT = "{given} has no unit: add the one on the display ({accepted})."
UNIT_CUT = "{given} stops after the prefix: add the rest of the unit on the display ({accepted})."
UNIT_SPLIT = "{given} has a gap inside the unit: type the unit in one piece, as in {fixed}."
UNIT_MISFIT = "{unit} is not a unit of {quantity} here: look at the display again and type {accepted}."
UNIT_UNWANTED = (
    "{given} has something after the number, but a {quantity} has no unit: type the number alone, such "
    "as {example}."
)
NOT_POSITIVE = (
    "{given} cannot be a frequency, which is always above zero: read it again and type it, such as {example}."
)

ASK_CASE = (
    "{given} could mean {candidates}: type the unit again with capital and small letters exactly as the "
    "display shows it."
)
ASK_RARE = (
    "{given} could mean {candidates}: type {likely} if the display shows that, or give it in {other} if "
    "it truly is {rare}."
)
ASK_COMMA = (
    "{given} could mean {decimal} or {thousands}: type the one the display shows, with a point or "
    "without the comma."
)

# Results: what can be shown

BAD_UNCERTAINTY = (
    "An uncertainty of {given} cannot be shown: it must be zero or more, or None if it is not known."
)
