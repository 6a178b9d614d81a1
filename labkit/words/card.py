"""Sentences about meter cards."""

NOT_TOML = "The meter card {name} is not readable as TOML ({detail}); mend that line or start from a card in data/cards."
TOO_LONG = "The meter card {name} has more than {text} characters, or {line} in one line; no manual needs that, so start from a card in data/cards."
CANNOT_READ = (
    "The meter card {file} cannot be read ({reason}); check the path, or copy a card from data/cards."
)
FIELD = "The meter card {name} cannot be taken: {field} is {given}, but {accepted}; correct it from the page of the manual."
MISSING = "The meter card {name} lacks {field}; add it, as in the cards of data/cards."
UNKNOWN = "The meter card {name} has {field} = {given}, which is no field of a card; see data/cards for those that are."
SCHEMA = "The meter card {name} has schema {given}, but this labkit knows schema 1; update labkit or rewrite the card."
NO_RANGE = "The card {card} states no accuracy for {shown} at {frequency}; it covers {covered}."
FREQUENCY_NEEDED = (
    "The card {card} has different accuracies for {shown} depending on the frequency, and the reading has none; "
    "record the test frequency."
)
UNKNOWN_FREQUENCY = "an unrecorded frequency"
NOTHING = "nothing of this quantity"
NO_GAIN_RULE = "gain was given as '{given}', but it is either 'shared' or 'independent'; choose one of them."
DIGIT = (
    "The meter card {name} says for range {range} that it reaches up to {up_to} and that one digit is {digit}, but "
    "the last digit of {up_to} is worth something else; write up_to with all digits that the display has."
)
