"""The record on a terminal: the bench, the comparison, the findings, as plain text."""

from labkit.analysis.results import compare, explain, predict
from labkit.bench.bench import Bench


def summary(bench: Bench) -> str:
    """Readings, predictions, comparison and findings of a bench, findings last so that they stay in view."""
    return "\n\n\n".join(map(str, (bench, predict(bench), compare(bench), explain(bench))))
