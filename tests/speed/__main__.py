"""The benchmark: `python -m tests.speed` prints ratios against named baselines, formed in the same run."""

import statistics
import sys

from tests.speed import (
    board,
    causes,
    entry,
    fitting,
    four_port,
    monte_carlo,
    notebook,
    opening,
    record,
    review,
    startup,
)


def main() -> int:
    """Print all ratios; 1 if one is above its limit."""
    results = [
        ("import labkit", startup.BASELINE, startup.IMPORT_LIMIT, startup.ratio(startup.IMPORT)),
        ("labkit --help", startup.BASELINE, startup.HELP_LIMIT, startup.ratio(startup.HELP)),
        ("Monte Carlo of M, k, P+", monte_carlo.BASELINE, monte_carlo.LIMIT, monte_carlo.ratio()),
        ("labkit open to the entry form", opening.BASELINE, opening.LIMIT, opening.ratio()),
        ("reading entered to stored", entry.BASELINE, entry.LIMIT, entry.ratio()),
        ("changed wiring to drawing and prediction", board.BASELINE, board.LIMIT, board.ratio()),
        ("ranking of six readings", causes.BASELINE, causes.LIMIT, causes.ratio()),
        ("ranking of six readings", causes.SCREENED_BASELINE, causes.SCREENED_LIMIT, causes.screened_ratio()),
        ("study on two cores", causes.CORES_BASELINE, causes.CORES_LIMIT, causes.cores_ratio()),
        ("fit of 1601 points, 6 parameters", fitting.BASELINE, fitting.LIMIT, fitting.ratio()),
        ("four-port file to finished figures", four_port.BASELINE, four_port.LIMIT, four_port.ratio()),
        ("reading at 100 000 events", record.READ_BASELINE, record.READ_LIMIT, record.read_ratio()),
        ("opening 100 000 events", record.OPEN_BASELINE, record.OPEN_LIMIT, record.open_ratio()),
        ("coupled_pair.ipynb, headless", notebook.BASELINE, notebook.LIMIT, notebook.ratio()),
        ("review of 40 bundles, all cores", review.BASELINE, review.LIMIT, review.ratio()),
        ("review on two cores", review.CORES_BASELINE, review.CORES_LIMIT, review.cores_ratio()),
        ("memory of 400 bundles", review.MEMORY_BASELINE, review.MEMORY_LIMIT, review.memory_ratio()),
    ]
    above = 0
    for what, baseline, limit, ratios in results:
        median = statistics.median(ratios)
        above += median > limit
        spread = f"{min(ratios):.2g} to {max(ratios):.2g}, {len(ratios)} rounds"
        print(f"{what}: {median:.2g} x {baseline} (limit {limit:.3g}; {spread})", flush=True)
    return 1 if above else 0


if __name__ == "__main__":
    sys.exit(main())
