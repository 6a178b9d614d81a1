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
