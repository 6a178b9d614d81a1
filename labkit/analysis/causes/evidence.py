"""How well each combination of causes explains all readings, with the pair and the gains integrated out.

A combination h says for every reading which alternative holds. Given h, the logarithms of the readings
are normal,

    ln y_i = ln f_i(t) + g_range + e_i,

with t the pair, g the gain error of a range (shared or each reading's own) and e the rest; so V_h is
diagonal plus a block a range, and the gains are integrated exactly. The pair is integrated by
`labkit.analysis.causes.posterior`, and `labkit.analysis.causes.search` finds the combinations that matter.
"""

import math
from dataclasses import dataclass

import numpy as np

from labkit.analysis.causes.forms import INDEX
from labkit.analysis.causes.integral import refined
from labkit.analysis.causes.local import Alternative, Spread
from labkit.analysis.causes.posterior import TO_PAIR, Array, Option, Posterior, Whole, climb, laplace
from labkit.analysis.causes.search import MATTERS, Problem, search
from labkit.theory.wiring import Connection

LEADS = (math.log(0.4e-6), 1.2)  # clips on one node: mean of ln y (H) and standard deviation


@dataclass(frozen=True)
class Combinations:
    """Combinations of alternatives with their evidence.

    Attributes
    ----------
    session : 0, or 1 + the number of the story that holds, shape (K,)
    choice : alternative of each reading, shape (K, n)
    log_evidence : up to a constant that all share, shape (K,)
    pair : best (ln A, ln B, atanh c) of each, shape (K, 3)
    covariance : of the pair there, shape (K, 3, 3)
    """

    session: Whole
    choice: Whole
    log_evidence: Array
    pair: Array
    covariance: Array


def option(
    value: float, alternative: Alternative, spread: Spread | None, ranges: dict[str, int], shared: bool
) -> Option:
    """An alternative in numbers; `ranges` numbers the ranges as they turn up."""
    log_value = math.log(value) - alternative.exponent * math.log(10) - math.log(alternative.factor)
    log_weight = math.log(alternative.weight)
    if alternative.connection is Connection.LEADS:
        centre, width = LEADS
        z = (log_value - centre) / width
        return Option(
            log_value, log_weight, -1, 0, 1, 0, -z * z / 2 - math.log(width * math.sqrt(2 * math.pi))
        )
    if alternative.connection is None or spread is None:
        density = alternative.density or 0.0
        return Option(log_value, log_weight, -1, 0, 1, 0, math.log(density))
    place = ranges.setdefault(spread.range, len(ranges))
    gain, rest = (spread.gain, spread.rest) if shared else (0.0, math.hypot(spread.gain, spread.rest))
    return Option(log_value, log_weight, INDEX[alternative.connection], gain, max(rest, 1e-9), place, 0.0)


def weigh(problem: Problem) -> Combinations:
    """Every combination that matters, with its evidence; one that two pairs explain comes twice."""
    found = search(problem)
    posterior = Posterior.of(problem.columns, found.choice, problem.prior)
    t, G = climb(posterior, found.t)
    beside = found.log_evidence - laplace(posterior, found.t, found.G)  # sessions, and what lasts
    plain = laplace(posterior, t, G) + beside
    keys = np.column_stack([found.session, found.choice])
    keep, log_evidence = refined(posterior, plain, t, G, keys, MATTERS)
    covariance = TO_PAIR @ np.linalg.inv(G[:3, :3, keep].transpose(2, 0, 1)) @ TO_PAIR.T
    pair = (TO_PAIR @ t[:, keep]).T
    return Combinations(found.session[keep], found.choice[keep], log_evidence, pair, covariance)
