"""Currents that the network itself decides, eliminated: for every kind of number, and never nan.

Floats leave rounding behind where the exact result is zero: at k = 1 a loop without energy has an inductance
of 1e-19 H instead of 0, and dividing by that gives anything. What is below the rounding of the terms that it
is a sum of therefore counts as zero; fractions and symbols are exact and need no such rule.
"""

import itertools
import math
from typing import TypeAlias

import numpy as np

from labkit.theory.number import Number, is_exact, magnitude, nominal, ratio

Table: TypeAlias = list[list[Number]]

_ROUNDING = 64 * np.finfo(float).eps


def schur_complement(S: Table, scales: list[Number]) -> Number:
    """What is left of S[0][0] when the other unknowns follow from their equations: S00 - S0l (Sll)^-1 Sl0.

    Parameters
    ----------
    S : square, at least one row; entries of one kind of number, arrays broadcast together
    scales : for each row, how large the terms are that its entries are sums of; same unit as the row

    Returns
    -------
    The same kind of number. Where Sll is singular, an equation 0 = 0 leaves the result alone (a loop without
    energy) and an equation 0 = something makes it infinite (a lossless resonance, a set that is not passive).

    Examples
    --------
    >>> schur_complement([[4.0, 2.0], [2.0, 2.0]], scales=[4.0, 4.0])
    2.0
    """
    if any(isinstance(entry, np.ndarray) for row in S for entry in row):
        flat = iter(np.broadcast_arrays(*itertools.chain(*S), *scales))
        S, scales = [[next(flat) for _ in row] for row in S], list(flat)
    rest = list(range(1, len(S)))
    return _reduced(S, rest, rest, scales)


def _reduced(S: Table, rows: list[int], columns: list[int], scales: list[Number]) -> Number:
    if not rows:
        return S[0][0]
    p, q = max(itertools.product(rows, columns), key=lambda at: _worth(S[at[0]][at[1]], scales[at[0]]))
    void = _is_void(S[p][q], scales[p])
    if np.all(void):
        return _nothing_to_divide_by(S, rows, columns, scales)
    if np.any(void):
        return _split(S, rows, columns, scales, void)
    rows, columns = [i for i in rows if i != p], [j for j in columns if j != q]
    reduced = [list(row) for row in S]
    for i, j in itertools.product((0, *rows), (0, *columns)):
        reduced[i][j] = S[i][j] - S[i][q] * S[p][j] / S[p][q]
    return _reduced(reduced, rows, columns, scales)


def _is_void(x: Number, scale: Number) -> Number:
    """Whether x is zero but for rounding; an array of truth values for an array."""
    return x == 0 if is_exact(x) else magnitude(x) <= _ROUNDING * scale


def _worth(x: Number, scale: Number) -> tuple[float, float]:
    """How good a pivot x is: for how many elements it can serve, then its least size against its row."""
    void = np.asarray(_is_void(x, scale))
    least = np.min(magnitude(x) / np.where(np.asarray(scale) > 0, scale, 1))
    return 1 - float(np.mean(void)), float(least)


def _nothing_to_divide_by(S: Table, rows: list[int], columns: list[int], scales: list[Number]) -> Number:
    """Only equations without unknowns are left: 0 = 0 changes nothing, 0 = something has no finite answer."""
    pole: Number = False
    for p, q in itertools.product(rows, columns):
        product = S[0][q] * S[p][0]
        pole = pole | ~np.asarray(_is_void(product, scales[0] * scales[p]))
    if isinstance(S[0][0], np.ndarray):
        return np.where(pole, _infinite(S[0][0]), S[0][0])
    return _infinite(S[0][0]) if pole else S[0][0]


def _infinite(x: Number) -> Number:
    """A complex impedance grows in no direction; an inductance that is not passive falls without end."""
    return complex(math.inf) if np.iscomplexobj(nominal(x)) else -ratio(1, 0 * x)


def _split(S: Table, rows: list[int], columns: list[int], scales: list[Number], void: Number) -> Number:
    """Solve the elements that this pivot cannot serve apart from the others."""
    result = np.empty(void.shape, dtype=np.result_type(*itertools.chain(*S)))
    for chosen in (void, ~void):
        part = [[entry[chosen] for entry in row] for row in S]
        result[chosen] = _reduced(part, rows, columns, [scale[chosen] for scale in scales])
    return result
