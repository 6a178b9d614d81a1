"""Logarithms of what each connection reads, with their slopes, for many pairs at once.

In t = (ln A, ln B, atanh c) the logarithms are nearly straight lines, which is what makes a Gaussian
approximation good: ln A and ln B are the coordinates themselves, ln P± = ln A or B - ln 4 + ln(1 - c²) by
the quarter law.
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


def log_forms(t: Array) -> tuple[Array, Array]:
    """ln of each connection's inductance in H, shape (K, 8), and its slopes with t, shape (K, 8, 3).

    Parameters
    ----------
    t : shape (K, 3)
    """
    a, b, c = t[:, 0], t[:, 1], np.tanh(t[:, 2])
    # In units of exp(a), so that nothing overflows: B/A = r, d/A = c sqrt(r).
    r = np.exp(np.clip(b - a, -60, 60))
    half_d = c * np.sqrt(r) / 2
    L1, L2 = (1 + r) / 4 + half_d, (1 + r) / 4 - half_d
    rest = np.log1p(-np.clip(c * c, 0, 1 - 1e-15))
    one, zero = np.ones_like(a), np.zeros_like(a)
    bend = (1 - c * c) * np.sqrt(r) / 2
    ln_L1, ln_L2 = a + np.log(L1), a + np.log(L2)
    slope_L1 = np.stack([(1 / 4 + half_d / 2) / L1, (r / 4 + half_d / 2) / L1, bend / L1], -1)
    slope_L2 = np.stack([(1 / 4 - half_d / 2) / L2, (r / 4 - half_d / 2) / L2, -bend / L2], -1)
    ln_P, ln_Q = a - np.log(4) + rest, b - np.log(4) + rest
    slope_A, slope_B = np.stack([one, zero, zero], -1), np.stack([zero, one, zero], -1)
    slope_P, slope_Q = np.stack([one, zero, -2 * c], -1), np.stack([zero, one, -2 * c], -1)
    values = [ln_L1, ln_L2, a, b, ln_P, ln_Q, ln_P + b - ln_L2, ln_P + b - ln_L1]
    slopes = [slope_L1, slope_L2, slope_A, slope_B, slope_P, slope_Q]
    slopes += [slope_P + slope_B - slope_L2, slope_P + slope_B - slope_L1]
    return np.stack(values, 1), np.stack(slopes, 1)
