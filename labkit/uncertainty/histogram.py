"""How many draws of a result fall where, for a picture: the draws of `monte_carlo`, made again and counted.

`MonteCarlo` keeps no draws. Since block n of a seed is the same whatever is drawn before or after it, the
first draws of a longer run can be made again alone.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from labkit.uncertainty.component import Input
from labkit.uncertainty.distribution import FloatArray
from labkit.uncertainty.montecarlo import BLOCK, blocks


@dataclass(frozen=True)
class Histogram:
    """Counts of draws between edges.

    Attributes
    ----------
    edges : n + 1 of them, rising, in the unit of the result
    counts : n of them
    below, above : draws outside the edges
    nonfinite : draws without a finite result
    draws, seed : they make the counts again
    """

    edges: tuple[float, ...]
    counts: tuple[int, ...]
    below: int
    above: int
    nonfinite: int
    draws: int
    seed: int

    @property
    def density(self) -> tuple[float, ...]:
        """Part of the finite draws in each bin over its width."""
        finite = self.draws - self.nonfinite
        widths = np.diff(self.edges)
        return tuple((np.array(self.counts) / (finite * widths)).tolist())


def histogram(
    function: Callable[..., Any],
    inputs: Sequence[Input],
    *,
    seed: int,
    edges: Sequence[float],
    draws: int = 8 * BLOCK,
) -> Histogram:
    """Count the first draws of a result.

    Parameters
    ----------
    function, inputs, seed : as for `monte_carlo`; one result
    edges : of the bins, rising, in the unit of the result
    draws : how many

    Examples
    --------
    >>> from labkit.uncertainty.component import uncertain
    >>> x = uncertain("x", 0.0, "rectangular", 1.0)
    >>> counted = histogram(lambda x: x, [x], seed=1, edges=[-1.0, 0.0, 0.5], draws=10_000)
    >>> sum(counted.counts) + counted.above, counted.below
    (10000, 0)
    """
    bounds: FloatArray = np.array(edges)
    counts = np.zeros(bounds.size + 1, dtype=int)  # what lies below and above included
    nonfinite = 0
    with np.errstate(all="ignore"):  # a draw without an answer is counted, not warned about
        for block in blocks(inputs, seed, draws):
            y = np.broadcast_to(np.asarray(function(*block), dtype=float), block.shape[1:])
            finite = y[np.isfinite(y)]
            nonfinite += y.size - finite.size
            places = np.searchsorted(bounds, finite, side="right")
            counts += np.bincount(places, minlength=counts.size)
    below, *inside, above = counts.tolist()
    return Histogram(tuple(bounds.tolist()), tuple(inside), below, above, nonfinite, draws, seed)
