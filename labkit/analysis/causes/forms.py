"""Logarithms of what each connection reads, with their slopes, for many pairs at once.

In (ln A, ln B, atanh c) the logarithms are nearly straight lines, which is what makes a Gaussian
approximation good: ln A and ln B are coordinates themselves, ln P± = ln A or B - ln 4 + ln(1 - c²) by the
quarter law, and Lsc1 L2 = Lsc2 L1 = P+ B. With ln B/A in place of ln B, ln A enters all of them alike.
"""

import numpy as np
from numpy.typing import NDArray

from labkit.theory.wiring import Connection

Array = NDArray[np.float64]

CONNECTIONS = (
    Connection.SELF_1,
    Connection.SELF_2,
    Connection.SERIES_AIDING,
    Connection.SERIES_OPPOSING,
    Connection.PARALLEL_AIDING,
    Connection.PARALLEL_OPPOSING,
    Connection.SHORT_CIRCUIT_1,
    Connection.SHORT_CIRCUIT_2,
)
INDEX = {connection: i for i, connection in enumerate(CONNECTIONS)}
NOTHING = len(CONNECTIONS)
"""Row of `form_table` for what does not depend on the pair."""

LN_4 = np.log(4.0)


def log_forms(t: Array) -> tuple[Array, Array]:
    """ln of each connection's inductance in H, shape (K, 8), and its slopes with t, shape (K, 8, 3).

    Parameters
    ----------
    t : (ln A, ln B, atanh c), shape (K, 3)
    """
    table = form_table(from_pair(t))[:NOTHING]
    table[:, 0] -= table[:, 1]  # ln A alone, while ln B stays
    return table[:, 3].T, table[:, :3].transpose(2, 0, 1)


def from_pair(pair: Array) -> Array:
    """(ln A, ln B/A, atanh c), shape (3, K), from (ln A, ln B, atanh c), shape (K, 3)."""
    return np.array([pair[:, 0], pair[:, 1] - pair[:, 0], pair[:, 2]])


def form_table(t: Array) -> Array:
    """Slopes with t = (ln A, ln B/A, atanh c) and ln of each connection: (9, 4, K), t of shape (3, K).

    Every slope with ln A is 1: all inductances grow alike. The last row, for `NOTHING`, is zero.
    """
    a, x = t[0], t[1]
    c = np.tanh(t[2])
    s = np.exp(np.clip(x, -60, 60) / 2)
    bend, cs, both = np.maximum(1 - c * c, 1e-15), c * s, 1 + s * s
    table = np.zeros((NOTHING + 1, 4, t.shape[1]))
    table[:NOTHING, 0] = 1
    for row, turned in ((0, cs), (1, -cs)):
        L = np.maximum(both + 2 * turned, 1e-15 * both)  # 4 L1 or 4 L2, over A
        table[row, 1], table[row, 2] = (s * s + turned) / L, (2 - 4 * row) * s * bend / L
        table[row, 3] = a + np.log(L) - LN_4
    table[2, 3], table[3, 1], table[3, 3] = a, 1, a + x
    table[4:6] = table[2:4]
    table[4:6, 2] = -2 * c
    table[4:6, 3] += np.log(bend) - LN_4
    table[6] = table[4] + table[3] - table[1]
    table[7] = table[4] + table[3] - table[0]
    return table
