"""Entries of a symmetric matrix of N windings, and the wiring that has all of them side by side."""

import itertools
from collections.abc import Sequence

from labkit.theory.number import Number
from labkit.theory.wiring import Terminal, Wiring

Entry = tuple[int, int]
"""Numbers of two windings, counted from 1."""


def entries_of(windings: int) -> tuple[Entry, ...]:
    """Winding numbers of the entries of a symmetric matrix, row by row from the diagonal on.

    >>> entries_of(2)
    ((1, 1), (1, 2), (2, 2))
    """
    return tuple(itertools.combinations_with_replacement(range(1, windings + 1), 2))


def all_parallel(polarity: Sequence[int]) -> Wiring:
    """All windings side by side, those of polarity -1 turned round.

    >>> print(all_parallel((1, 1, -1)))
    1a 1b | 1a=2a=3b 1b=2b=3a
    """
    near = tuple(Terminal(n, "a" if s > 0 else "b") for n, s in enumerate(polarity, start=1))
    far = tuple(Terminal(n, "b" if s > 0 else "a") for n, s in enumerate(polarity, start=1))
    return Wiring((near[0], far[0]), (near, far))


def square(entries: Sequence[Number], windings: int) -> list[list[Number]]:
    """The symmetric matrix of these entries, in rows."""
    by_key = dict(zip(entries_of(windings), entries, strict=True))
    numbers = range(1, windings + 1)
    return [[by_key[min(i, j), max(i, j)] for j in numbers] for i in numbers]
