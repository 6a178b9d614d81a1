"""Sentences about a meter and its leads: within the card or not, and what the leads add."""

# Why there is no verdict

NO_SPREAD = "neither uncertainty nor tolerance of the reference is stated"
OTHER_FREQUENCY = "the reference is stated at {stated} and was read at {read}"
UNRECORDED = "an unrecorded frequency"
LEADS_NOT_READ = "the leads were not zeroed, and nobody read them alone (clips on one node, 1a 1a)"

# Tables

LIMITS_TITLE = "What the card allows before anything is read"
LIMITS_HEADER = ("reference part", "meter, range", "the card allows", "guard band w", "accepted")
FROM_TO = "{low} to {high}"
NO_ROOM = "nothing: w exceeds the limit"
NO_CARDS = (
    "No meter of this bench has a card, so nothing says what it may show; write one with labkit.write_card or "
    "labkit.card_form, and enter it with bench.meter."
)
NO_REFERENCES = (
    "No reference part is stated; give what its certificate or marking says, such as "
    'bench.reference(1, "10.000 mH", uncertainty="0.008 mH", coverage_factor=2).'
)
VERDICTS_TITLE = "Readings of reference parts against what is stated"
VERDICTS_HEADER = (
    "reference part",
    "indication",
    "discrepancy E ± U",
    "card's limit",
    "probability within",
    "verdict",
)
STATED_AS = "{stated} ({spread})"
PLUS_MINUS = "±{size}"
REPEATS = "{mean} (mean of {count})"
VERDICT = {
    "pass": "within its card",
    "fail": "outside its card",
    "cannot tell": "cannot tell",
}
FOR_REASON = "{verdict}: {reason}"
LEADS_OFF = "leads taken off: {verdict}"
NOTHING_READ = (
    'No reference part has been read yet; clamp the meter to one and enter bench.read("1a 1b", ...).'
)
NEARLY_ONE = "above 99.9 %"
NEARLY_ZERO = "below 0.1 %"

# Findings

REFERENCE = "reference {winding} ({stated})"
RULE = (
    "Decision rule: within its card if the discrepancy stays inside ±(limit − w), outside if it passes ±(limit + w), and "
    "between the two nobody can tell. The guard band w is the expanded uncertainty U of the discrepancy, so that a meter "
    "called within its card is beyond a limit with a probability of at most 2.3 % (JCGM 106:2012, 8.3.2 and 8.3.3, w = U)."
)
WITHIN = (
    "{meter} at {what} reads {indication}, a discrepancy of {E}. It stays inside the card's ±{limit} less the guard band of "
    "{w}, so the meter is within its card here (probability {probability})."
)
OUTSIDE = (
    "{meter} at {what} reads {indication}, a discrepancy of {E}. It passes the card's ±{limit} by more than the guard band "
    "of {w}, so the meter is outside its card here (probability of being within: {probability}); repeat with fresh contacts, "
    "and have it calibrated if that changes nothing."
)
CANNOT_TELL = (
    "{meter} at {what} reads {indication}, a discrepancy of {E}. That is closer to the card's ±{limit} than the guard band "
    "of {w}, so this reference cannot tell whether the meter is within its card (probability {probability})."
)
DEPENDS_ON_LEADS = (
    "{meter} at {what} reads {indication}, a discrepancy of {E}, of which the leads alone read {leads}. Within the card "
    "or not depends on whether the leads are taken off, so this record cannot tell; zero them, read them again, and "
    "repeat."
)
NO_VERDICT = "{meter} at {what} reads {indication}; there is no verdict, because {reason}."
UNNAMED = "The meter"
TOO_COARSE = (
    "The guard band {w} of {what} is wider than the card's limit ±{limit}, so with this reference no meter could ever be "
    "shown to be within this card; a reference with a third of that uncertainty could."
)
REPEATED = (
    "{count} repeats of {what} scatter by s = {s}; their mean is uncertain by s/√n = {mean} (degrees of freedom: {freedom}). "
    "Repeats show only what changes: an error of gain or zero is the same in each and does not average out."
)
ALIKE = (
    "{count} repeats of {what} show the same digits, so they scatter by less than a count; the display step still stands "
    "for {step}."
)
ONCE = "{what} was read only once, so nothing is known about scatter; repeat it with the clips taken off and put on again."
LEADS_ZEROED = (
    "The leads alone read {value} after zeroing, known to ±{limit}: that is the lead residual. It adds to everything that "
    "is read, and counts where that is small."
)
LEADS_BEFORE = "Before zeroing, the leads alone read {value}: so much stood in every reading until then."
LEADS_UNKNOWN = (
    "The leads alone read {value} after zeroing, but how far off that may be is not known ({reason}), so it is no lead "
    "residual yet."
)
LEADS_NOT_ZEROED = (
    "The leads alone read {value} and were not zeroed: zero the meter with the clips together and read them again, or take "
    "this value off every reading."
)
LEADS_UNSAID = (
    'The leads alone read {value}, but nobody noted whether they were zeroed; note it (leads="zeroed" or "not zeroed") '
    "before this value is used as a lead residual."
)
IN_CARD = "The card of {meter} carries a lead residual of {inductance} ± {limit}."
OFFERED = (
    'To carry it in the card: bench.meter("{meter}", labkit.meter_check(bench).card_with_leads("{meter}")).'
)
OPEN_CAPACITANCE = (
    "With nothing between the clips the leads have {C}. Across {what} that makes the reading at {frequency} too large by "
    "{step}, {compared} one count of the display; across a smaller part it does less, as the square of its inductance."
)
LESS = "less than"
MORE = "more than"
OPEN_SHOWN = "With nothing between the clips the meter showed {shown}; it is kept as shown."
DUE = "The calibration of {meter} was due on {due}, before these readings; say so wherever a verdict is used."
NO_CALIBRATION = "The card of {meter} names no date of calibration."
UNTESTED = (
    "Nothing is known yet about {meter} on the other ranges of its card: {ranges}. A verdict holds for the range and the "
    "frequency that were read."
)
MISSING = "Still missing: {missing}."
MISSING_LEADS = 'the leads alone, zeroed (bench.read("1a 1a", ...))'
MISSING_OPEN = (
    'the leads with nothing between them (bench.read("1a 2a", ..., quantity="capacitance"), or in your own words under the '
    'topic "leads open" if the meter shows no value)'
)
OPEN_TOPIC = "leads open"

# The card with the lead residual

NO_RESIDUAL = (
    "There is no lead residual of {meter} to put into its card: {why}; zero the leads, clamp both clips to one node and "
    'enter bench.read("1a 1a", ..., leads="zeroed").'
)
WHICH_METER = "The bench has {count} meters with a card ({meters}); name the one that is meant."

# The picture

PICTURE = "Discrepancies of the meter inside their limits"
ROW = "{meter} at {what}"
READS = "reads {indication}"
ZONES = ("within", "cannot tell", "outside")
ZERO = "E = 0"
LIMIT_AT = "{sign}{size}"
MARK = "E = {E}: {verdict}"
LEGEND = (
    "Dot: discrepancy E, indication minus stated value; bar: its expanded uncertainty U. Strong lines: the card's limits. "
    "The dot must stay within the limits less the guard band w = U to count as within, and pass the limits by w to count "
    "as outside (JCGM 106:2012)."
)
ALT = "One row for each reading of a reference part, on an axis of discrepancy over the card's limit."
ALT_ROW = "{meter} at {what} reads {indication}: discrepancy {E}, limit ±{limit}, {verdict}."
ALT_NONE = "{meter} at {what} reads {indication}: {verdict}."
