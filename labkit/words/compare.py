"""Sentences of statements, verdicts and closures."""

STATEMENT = {
    "coupled": "coupled",
    "uncoupled": "uncoupled",
    "only winding 1": "winding 1 alone",
    "only winding 2": "winding 2 alone",
}
VERDICT = {
    "consistent": "consistent",
    "inconsistent": "inconsistent",
    "depends on gain": "depends on whether the gain error is shared",
    "cannot tell": "cannot tell",
    "no uncertainty stated": "no uncertainty stated",
}
RIVALS = "cannot tell from: {rivals}"
CLOSURE = {
    "series_sum": "series-aiding + series-opposing = 2 (winding 1 + winding 2)",
    "quarter_law": "parallel-aiding / series-aiding = parallel-opposing / series-opposing",
    "short_circuits": "short-circuit 1 / winding 1 = short-circuit 2 / winding 2",
    "product": "parallel-aiding × series-opposing = short-circuit 1 × winding 2",
}
NO_VALUE = (
    "The {rule} rule gives no finite value for {what} from {readings}: it divides by zero there. So it is left out; "
    "check these wirings and units."
)
BREAK_EVEN = "the meter would have to be wrong by {percent} % of this reading"
BREAK_EVEN_AMOUNT = "the meter would have to be wrong by {amount}"
BREAK_EVEN_FACTOR = "the meter would have to be wrong by a factor of {factor}"
TITLE = "Every reading against every statement"
HEADER = ("reading", "statement", "it says", "discrepancy", "E_n", "verdict")
CLOSURES_TITLE = "Closures: what must hold between the readings, whatever the pair"
CLOSURES_HEADER = ("relation", "difference", "E_n", "verdict")
ROUTES_TITLE = "M, k and leakage by every route"
ROUTES_HEADER = ("route", "M", "k", "1 − k", "L(1 − k)", "B (differential mode)", "L1(1 − k²)", "status")
NOTE = (
    "Discrepancy: reading minus statement. E_n: discrepancy over its expanded uncertainty (coverage factor 2), covariance "
    "included; |E_n| ≤ 1 is consistent. Two values stand for a gain error shared within a range, and for one of its own in "
    "each reading. MC: first order is not to be trusted there, and the verdict is by Monte Carlo."
)
ROUTES_NOTE = "± is the wider of two: for a gain error that all readings on a range share, and for one of its own in each reading."
MONTE_CARLO = "MC"

TIMES_LESS = "{ratio} times less than"
TIMES = "{ratio} times as much as"

# Without a card: how wrong the meter would have to be
PERCENT = "{percent} %"
FACTOR = "a factor of {factor}"
BEYOND = "more than any factor"
REFUTED = "does not hold: {all} would have to be wrong by {error} at once"
ALL = {1: "this reading", 2: "both readings", 3: "all {count} readings"}
FITS_DIGITS = "holds as far as these digits show"
OPEN = "cannot tell without a card: a meter wrong by {error} would do"
NO_CARD = (
    "Without a card we ask how wrong the meter would have to be. A statement is refuted only if all its readings at once "
    "would have to be wrong by more than {bound}, which no LCR meter is; the last digit shown may be one off besides."
)
OR = " or "
READS_UNCOUPLED = "It reads as if no flux were shared: the resistor rule holds as far as these digits show."
READS_OPEN = "Cannot tell without a card: it is {size} the {uncoupled} without shared flux, and a meter wrong by {error} would do for that."
READS_COUPLED = "{size} the {uncoupled} without shared flux: the resistor rule does not hold."
READS_UNLESS = "Unless this is {rivals}."
READS_NEITHER = "Nor does the coupled rule: check wiring, unit and frequency."
READS_AS_COUPLED = "The coupled rule holds as far as these digits show."
READS_BREAK_EVEN = "{All} would have to be wrong by {error} at once."
