"""Coverage intervals from draws (JCGM 101:2008, 7.7): probabilistically symmetric, and shortest."""

from typing import TypeAlias

import numpy as np

from labkit.uncertainty.distribution import FloatArray

Interval: TypeAlias = tuple[float, float]

NEAR_THE_MINIMUM = 0.01
"""Relative excess over the smallest width up to which a place counts as nearly the shortest."""


def coverage_intervals(draws: FloatArray, coverage: float) -> tuple[Interval, Interval]:
    """Symmetric and shortest interval that hold the fraction `coverage` of the draws.

    Parameters
    ----------
    draws : shape (n,), finite; reordered in place
    coverage : from 0.5 to below 1

    Notes
    -----
    An interval that holds q of the n draws starts at one of the n - q smallest and ends at one of the
    n - q largest; only those two tails are sorted.

    References
    ----------
    JCGM 101:2008, 7.7.1 and 7.7.2

    Examples
    --------
    >>> import numpy as np
    >>> symmetric, shortest = coverage_intervals(np.arange(1.0, 101.0), 0.9)
    >>> symmetric
    (5.0, 95.0)
    """
    held = min(int(coverage * draws.size + 0.5), draws.size - 1)
    outside = draws.size - held
    draws.partition(outside - 1)
    draws[outside:].partition(held - outside)
    lower, upper = draws[:outside], draws[held:]
    lower.sort()
    upper.sort()
    middle = (outside + 1) // 2 - 1
    shortest = _place_of_shortest(upper - lower)
    return (
        (float(lower[middle]), float(upper[middle])),
        (float(lower[shortest]), float(upper[shortest])),
    )


def _place_of_shortest(width: FloatArray) -> int:
    """Where the width curve has its minimum, read from a cubic through the places that nearly have it.

    The smallest of many nearly equal widths sits at a random place, so its ends scatter by a hundredth of
    the standard uncertainty at a million draws; those of the cubic scatter by half of that. A
    parabola would scatter still less, but it shifts the interval of a skew distribution.
    """
    near = np.flatnonzero(width <= width.min() * (1.0 + NEAR_THE_MINIMUM))
    near = near[:: max(1, near.size // 2000)]
    if near.size < 10:
        return int(width.argmin())
    place = (near - near[0]) / (near[-1] - near[0])
    powers = np.vander(place, 4)
    cubic, *_ = np.linalg.lstsq(powers, width[near])
    return int(near[np.argmin(powers @ cubic)])
