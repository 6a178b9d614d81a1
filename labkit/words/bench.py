"""Sentences of the bench: what an entry answers, and what is missing."""

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
NO_BENCH = (
    "A {given} was given where a bench is expected; open one with labkit.open_bench(folder) and give that."
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
NOT_A_READING = "There is no reading '{id}' in the record; its readings are {known}."
UNREADABLE = "Line {line} of the record does not make reading '{id}' readable: {reason}"
UNREADABLE_PREDICTION = "Line {line} of the record does not make prediction '{id}' readable: {reason}"
FEWER_WINDINGS = (
    "Nothing was stored: {given} windings were given, but the record has a wiring of winding {highest}; "
    "give all windings of the part."
)
NO_READINGS = "none yet"
GONE = "Reading '{id}' was withdrawn in line {line}; enter what is new as a new reading under a new id."
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
WITHDRAWN = "{id}: withdrawn in line {line}; line {old} keeps what was entered. Reason: {reason}"
ACCEPTED = "Cautions accepted by {by}, line {line} of the record."
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
LARGEST_ERROR = (
    "'{given}' cannot be the largest error of a meter, which is above zero and below 100 %, such as 30 %."
)
