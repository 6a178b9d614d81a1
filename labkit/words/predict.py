"""Sentences and headings of predictions."""

TITLE = "What each connection should read"
HEADER = ("connection", "wiring", "own", "uncoupled", "coupled", "95 % (Monte Carlo)")
ROUTE = "The coupled rule rests on {route} ({ids})."
UNSTATED = "Without a stated uncertainty: {reasons}."
INPUT = "rests on it"
DOTS = "The dots are not marked on the part; the readings decide for {dots}."
DOTS_UNDECIDED = (
    "The dots are not known and the readings do not decide, so aiding and opposing cannot be told apart yet. "
    "The uncoupled prediction needs no dots."
)
BUDGET_TITLE = "Uncertainty budget of {what} by the coupled rule"
BUDGET_HEADER = ("input", "value", "standard uncertainty", "sensitivity", "contribution")
BUDGET_SHARED = "shared between inputs (covariance)"
BUDGET_TOTAL = "combined standard uncertainty"
NO_WINDINGS = "Predictions by rule are for two windings; this part has {windings}."
NO_BUDGET = "There is no uncertainty budget of {what} by the coupled rule yet."
NO_ROW = "Nothing is predicted for {what}."
NO_CONNECTION = "'{given}' is not a connection; the connections are {accepted}."
NO_RULE = "No rule says anything about {wiring} yet."
