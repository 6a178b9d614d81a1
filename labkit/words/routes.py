"""Sentences about the routes from readings to M and k."""

NAME = {
    "series_opposing": "singles and series-opposing",
    "series_aiding": "singles and series-aiding",
    "both_series": "both series readings",
    "short_circuit_1": "singles and winding 1 with 2 shorted",
    "short_circuit_2": "singles and winding 2 with 1 shorted",
    "parallel_opposing": "singles and parallel-opposing",
    "parallel_aiding_high": "singles and parallel-aiding, larger root",
    "parallel_aiding_low": "singles and parallel-aiding, smaller root",
}
RESOLVED = "resolved"
NOT_RESOLVED = "not resolved by this route, since 1 − k = {gap} has an expanded uncertainty of {U}"
UNPHYSICAL = (
    "not resolved by this route, since |k| would exceed 1, which no passive pair has; it is shown unclipped"
)
IMPOSSIBLE = (
    "|k| exceeds 1 by more than its expanded uncertainty, so these readings do not belong to one pair as they stand; "
    "check wiring and units"
)
NO_SOLUTION = "these readings as they stand ({detail}) do not settle M: this route resolves nothing here"
UNSTATED = "no uncertainty stated, so it cannot be said whether this k is resolved"
TWO_ROOTS = "the parallel-aiding reading has two solutions for M; this is one of them"
PREFER = "Preferred route: {route}, because it gives 1 − |k| with the smallest uncertainty ({gap})."
PREFER_UNSTATED = (
    "Preferred route: {route}, because a small inductance read directly needs no difference of large ones."
)

BRIEF = {
    "resolved": "resolved",
    "two roots": "one of two solutions",
    "not resolved": "not resolved",
    "beyond": "not resolved: k above 1",
    "unstated": "no uncertainty stated",
    "no solution": "no solution",
}
WHY = "{route}: {status}."
