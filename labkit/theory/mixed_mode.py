"""Scattering parameters of ports against ground: other references, admittances, mixed modes, checks.

Two lines that run together, voltages v1, v2 against ground, currents i1, i2 into them:

    differential  v_d = v1 - v2        i_d = (i1 - i2)/2      reference 2 Z0   (100 Ω for 50 Ω ports)
    common        v_c = (v1 + v2)/2    i_c = i1 + i2          reference Z0/2   (25 Ω)

Between ports of one reference Z0 the waves of the modes are (a1 ± a2)/√2, so that S_mixed = M S M' with an
orthogonal M. Symbols: S scattering parameters · Y admittances (S) · F frequencies · P ports.
Source: D. E. Bockelman, W. R. Eisenstadt, IEEE Trans. Microwave Theory Tech. 43 (1995) 1530; A. Ferrero,
M. Pirola, ibid. 54 (2006) 458 (pages from memory); K. Kurokawa, ibid. 13 (1965) 194 for the waves. Proven
equal to scikit-rf's `se2gmm` and `renormalize` in tests.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from labkit.errors import ShapeError, WiringError
from labkit.words import modes as words

Floats = npt.NDArray[np.float64]
Complexes = npt.NDArray[np.complex128]


@dataclass(frozen=True, eq=False)
class MixedMode:
    """Scattering parameters in mixed modes of two lines with two sides, ports in the order d1 d2 c1 c2.

    Attributes
    ----------
    S : (F, 4, 4)
    reference : (4,), in Ω: 2 Z0 twice, then Z0/2 twice
    """

    S: Complexes
    reference: Floats

    @property
    def differential(self) -> Complexes:
        """S_dd (F, 2, 2): differential mode in, differential mode out."""
        return self.S[:, :2, :2]

    @property
    def common(self) -> Complexes:
        """S_cc (F, 2, 2): common mode in, common mode out."""
        return self.S[:, 2:, 2:]

    @property
    def to_differential(self) -> Complexes:
        """S_dc (F, 2, 2): common mode in, differential mode out."""
        return self.S[:, :2, 2:]

    @property
    def to_common(self) -> Complexes:
        """S_cd (F, 2, 2): differential mode in, common mode out."""
        return self.S[:, 2:, :2]


def mixed_mode(S: npt.ArrayLike, reference: npt.ArrayLike, order: Sequence[int]) -> MixedMode:
    """Mixed-mode parameters of a four-port.

    Parameters
    ----------
    S : (F, 4, 4)
    reference : of each port, or one for all, real, in Ω
    order : places of the ports: first and second line on side 1, first and second line on side 2. For ports
        that sit at 1a 1b 2a 2b and lines that come in at 1a and 2a: (0, 2, 1, 3).

    Raises
    ------
    WiringError
        if `order` does not name every port once
    ShapeError
        if the references differ; see `renormalised`

    Examples
    --------
    >>> through = [[[0, 0, 1, 0], [0, 0, 0, 1], [1, 0, 0, 0], [0, 1, 0, 0]]]
    >>> mixed_mode(through, 50.0, (0, 1, 2, 3)).differential.real
    array([[[0., 1.], [1., 0.]]])
    """
    values = np.asarray(S, dtype=np.complex128)
    if values.shape[1:] != (4, 4) or sorted(order) != [0, 1, 2, 3]:
        raise WiringError(words.ORDER.format(given=tuple(order), ports=values.shape[-1]))
    Z0 = _references(reference, 4)
    if np.any(Z0 != Z0[0]):
        raise ShapeError(words.ONE_REFERENCE.format(given=", ".join(f"{z:g}" for z in Z0)))
    M = np.array([[1, -1, 0, 0], [0, 0, 1, -1], [1, 1, 0, 0], [0, 0, 1, 1]]) / np.sqrt(2)
    M = M @ np.eye(4)[list(order)]
    return MixedMode(M @ values @ M.T, np.array([2.0, 2.0, 0.5, 0.5]) * Z0[0])


def admittance_of(S: npt.ArrayLike, reference: npt.ArrayLike) -> Complexes:
    """Admittances (F, P, P) in S of ports with real references: √G (1 + S)^-1 (1 - S) √G, G = 1/reference."""
    values = np.asarray(S, dtype=np.complex128)
    root = 1 / np.sqrt(_references(reference, values.shape[-1]))
    one = np.eye(values.shape[-1])
    return np.asarray(root[:, None] * np.linalg.solve(one + values, one - values) * root)


def scattering_of(Y: npt.ArrayLike, reference: npt.ArrayLike) -> Complexes:
    """Scattering parameters (F, P, P) of ports with admittances in S and real references in Ω."""
    values = np.asarray(Y, dtype=np.complex128)
    root = np.sqrt(_references(reference, values.shape[-1]))
    y, one = root[:, None] * values * root, np.eye(values.shape[-1])
    return np.asarray(np.linalg.solve(one + y, one - y), dtype=np.complex128)


def renormalised(S: npt.ArrayLike, reference: npt.ArrayLike, new: npt.ArrayLike) -> Complexes:
    """The same network against other real references (Ω): A^-1 (S - Γ)(1 - Γ S)^-1 A.

    Γ = (new - old)/(new + old), A = √(1 - Γ²), both diagonal. Needs neither Y nor Z.

    >>> renormalised([[[0.0]]], 50.0, 25.0).real.round(4)
    array([[[0.3333]]])
    """
    values = np.asarray(S, dtype=np.complex128)
    old, wanted = (_references(z, values.shape[-1]) for z in (reference, new))
    if np.array_equal(old, wanted):
        return values
    gamma = (wanted - old) / (wanted + old)
    A = np.sqrt(1 - gamma**2)
    turned = np.linalg.solve(np.eye(len(A)) - np.swapaxes(gamma[:, None] * values, 1, 2), np.eye(len(A)))
    core = (values - np.diag(gamma)) @ np.swapaxes(turned, 1, 2)
    return np.asarray(core * A / A[:, None])


@dataclass(frozen=True)
class Worst:
    """The worst that a check found: how much, where, and between which ports (from 0; None if not of two).

    `amount` is 0 or less where the check holds everywhere.
    """

    amount: float
    frequency: float
    ports: tuple[int, int] | None = None


def passivity(frequency: npt.ArrayLike, S: npt.ArrayLike) -> Worst:
    """By how much power out exceeds power in at worst, as a part of the power in: σ_max(S)² - 1.

    A passive network has no singular value of S above 1 (real references).

    >>> round(passivity([1e6], [[[0.0, 1.1], [0.0, 0.0]]]).amount, 9)
    0.21
    """
    f, values = np.asarray(frequency, dtype=np.float64), np.asarray(S, dtype=np.complex128)
    power = np.linalg.eigvalsh(np.conj(np.swapaxes(values, 1, 2)) @ values)[:, -1] - 1
    at = int(np.argmax(power))
    return Worst(float(power[at]), float(f[at]))


def reciprocity(frequency: npt.ArrayLike, S: npt.ArrayLike) -> Worst:
    """The largest |S_ij - S_ji|, where, and between which ports; R, L, C and coupling alone have 0."""
    f, values = np.asarray(frequency, dtype=np.float64), np.asarray(S, dtype=np.complex128)
    apart = values - np.swapaxes(values, 1, 2)
    squared = apart.real**2 + apart.imag**2
    at, i, j = np.unravel_index(int(np.argmax(squared)), squared.shape)
    return Worst(float(abs(apart[at, i, j])), float(f[at]), (int(min(i, j)), int(max(i, j))))


def _references(reference: npt.ArrayLike, ports: int) -> Floats:
    given = np.asarray(reference, dtype=np.float64)
    if given.shape not in {(), (1,), (ports,)} or not np.all((given > 0) & np.isfinite(given)):
        raise ShapeError(words.REFERENCES.format(given=given.size, ports=ports))
    return np.broadcast_to(given, (ports,)).astype(np.float64)
