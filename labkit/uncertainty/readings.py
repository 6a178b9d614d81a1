"""Inputs from repeated readings and from a stated covariance (type A evaluation)."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from labkit.errors import EntryError, ShapeError
from labkit.uncertainty.component import Component, Input, finite
from labkit.uncertainty.distribution import FloatArray
from labkit.words import uncertainty as words


def from_readings(name: str, readings: ArrayLike) -> Input:
    """Mean of independent repeated readings with s/sqrt(n) and n - 1 degrees of freedom (type A).

    Parameters
    ----------
    name : of the quantity; the source is called "<name>, scatter of repeats"
    readings : shape (n,), n >= 2, SI base unit

    Raises
    ------
    EntryError : fewer than two readings, or one that is not finite

    Notes
    -----
    An error that is the same in every repeat (gain, offset) does not show in the scatter: add it as a
    source of its own.

    References
    ----------
    JCGM 100:2008, 4.2.2 and 4.2.3; JCGM 101:2008, 6.4.9
    """
    values = np.asarray(readings, dtype=float).ravel()
    _require_repeats(name, values.size)
    _require_finite(name, values)
    spread = float(values.std(ddof=1)) / math.sqrt(values.size)
    source = Component(f"{name}, scatter of repeats", "student", spread, values.size - 1.0)
    return Input(name, float(values.mean()), ((source, 1.0),))


def from_simultaneous_readings(names: Sequence[str], readings: ArrayLike, source: str) -> tuple[Input, ...]:
    """Means of quantities read together n times, with the correlation that the sets show (type A).

    Parameters
    ----------
    names : N names
    readings : shape (n, N), n >= 2 sets of simultaneous readings, one column a name, SI base units
    source : name of this set of readings; another set is another source and needs another name

    Returns
    -------
    tuple of N inputs with n - 1 degrees of freedom in common

    Raises
    ------
    ShapeError : the columns do not match the names
    EntryError : fewer than two sets, or a reading that is not finite

    Notes
    -----
    Monte Carlo draws a multivariate t-distribution with n - 1 degrees of freedom, so that each quantity
    alone is distributed as `from_readings` would have it. JCGM 102:2011, 5.3.2, starts from another prior,
    is wider for few sets, and needs more sets than quantities.

    References
    ----------
    JCGM 100:2008, 5.2.3 and H.2
    """
    values = np.asarray(readings, dtype=float)
    if values.ndim != 2 or values.shape[1] != len(names):
        raise ShapeError(words.READINGS_SHAPE.format(names=len(names), shape=values.shape))
    _require_repeats(source, values.shape[0])
    for name, column in zip(names, values.T, strict=True):
        _require_finite(name, column)
    covariance = np.atleast_2d(np.cov(values, rowvar=False)) / values.shape[0]
    return from_covariance(names, values.mean(axis=0), covariance, source, values.shape[0] - 1.0)


def from_covariance(
    names: Sequence[str],
    values: ArrayLike,
    covariance: ArrayLike,
    source: str,
    degrees_of_freedom: float = math.inf,
) -> tuple[Input, ...]:
    """Inputs with a stated covariance, written as a sum of independent shared sources.

    Parameters
    ----------
    names, values : N names and N values, SI base units
    covariance : shape (N, N), symmetric, no negative eigenvalue (a correlation of exactly 1 is fine)
    source : name of what the covariance comes from; the components are called "<source>, part <i>"
    degrees_of_freedom : of the covariance as a whole; infinite means exactly known

    Raises
    ------
    ShapeError : sizes that do not belong together
    EntryError : not a covariance

    References
    ----------
    JCGM 100:2008, 5.2.2; JCGM 101:2008, 6.4.8
    """
    best, matrix = np.asarray(values, dtype=float), np.asarray(covariance, dtype=float)
    if best.shape != (len(names),) or matrix.shape != (len(names), len(names)):
        shape_facts = {"names": len(names), "values": best.size, "shape": matrix.shape}
        raise ShapeError(words.COVARIANCE_SHAPE.format(**shape_facts))
    weights = _square_root(names, matrix)
    known = math.isinf(degrees_of_freedom)
    law, ensemble = ("normal", "") if known else ("student", source)
    parts = [
        Component(f"{source}, part {i + 1}", law, 1.0, degrees_of_freedom, ensemble=ensemble)
        for i in range(len(names))
    ]
    return tuple(
        Input(name, float(value), tuple(zip(parts, row.tolist(), strict=True)))
        for name, value, row in zip(names, best, weights, strict=True)
    )


def _square_root(names: Sequence[str], covariance: FloatArray) -> FloatArray:
    """Matrix W with W Wᵀ = covariance, taken from the correlation so that units of any size may mix."""
    given = ", ".join(names)
    _require_finite(f"covariance of {given}", covariance.ravel())
    if not np.allclose(covariance, covariance.T, rtol=1e-9, atol=0):
        raise EntryError(words.NOT_A_COVARIANCE.format(names=given, why=words.NOT_SYMMETRIC))
    variance = np.diag(covariance)
    deviation = np.sqrt(np.clip(variance, 0, None))
    unit = np.where(deviation > 0, deviation, 1.0)
    size, direction = np.linalg.eigh(covariance / np.outer(unit, unit))
    # Rounding alone may leave an eigenvalue of a singular correlation below zero by a few ulp.
    if (variance < 0).any() or size.min() < -1e-12 * len(names):
        raise EntryError(words.NOT_A_COVARIANCE.format(names=given, why=words.NEGATIVE_VARIANCE))
    # The symmetric root: eigenvectors may turn round with the processor, and would take the draws with them.
    root: FloatArray = unit[:, None] * (direction * np.sqrt(np.clip(size, 0, None)) @ direction.T)
    return root


def _require_repeats(name: str, count: int) -> None:
    if count < 2:
        raise EntryError(words.TOO_FEW_READINGS.format(name=name, count=count), given=str(count))


def _require_finite(name: str, values: FloatArray) -> None:
    for value in values:
        finite(name, float(value))
