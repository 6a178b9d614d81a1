"""One-port models of a winding, from two parameters to six, with exact slopes.

    SERIES            R + jωL
    SELF_CAPACITANCE  (R + jωL) across C
    CORE              (R + jωL_air + jωL_core/(1 + jf/f_r)) across C
    CORE_DAMPED       the same across C in series with R_d

The core's term is a complex permeability µ' - jµ'' with one relaxation, µ_i/(1 + jf/f_r): the imaginary
part is the core's loss, largest at f_r. It is exactly the inductance L_core in parallel with the
resistance 2π f_r L_core.

Parameters are positive; slopes are with respect to their logarithms, p dZ/dp, in Ω. With Z_b the branch of
the windings and Y the admittance across it, Z = Z_b/(1 + Z_b Y) and dZ = (Z/Z_b)² dZ_b - Z² dY.

Symbols: p parameters, shape (P,) · f frequency, shape (F,), in Hz · ω = 2πf.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from labkit.arrays import Complexes, Floats
from labkit.errors import ShapeError
from labkit.theory.choke import Choke
from labkit.theory.number import Number

# Words about the one-port models of a winding: what their parameters are, and what cannot be mapped.


RESISTANCE = "resistance of the wire"
INDUCTANCE = "inductance"
AIR = "inductance of the flux in air"
CORE_INDUCTANCE = "inductance through the core at low frequency"
RELAXATION = "relaxation frequency of the core"
CAPACITANCE = "self-capacitance"
DAMPING = "resistance in series with the self-capacitance"

KIRCHHOFF = "Kirchhoff's laws"
LUMPED = (
    "Kirchhoff's laws; one lumped capacitance stands for the distributed one below and around self-resonance"
)
DEBYE = (
    "P. Debye, Polar Molecules (1929), for one relaxation; for magnetic relaxation of the same form "
    "S. Chikazumi, Physics of Ferromagnetism, 2nd ed. (1997)"
)

COUNT = (
    "{given} parameters were given, but the model '{model}' has {needed}: {symbols}; give them in this order."
)
UNEQUAL = (
    "The {mode} branch is one simple model only if both windings are equal, but they differ in {what}; "
    "take the impedance from Choke.impedance."
)
TWO_WINDINGS = "The {mode} branch is one of two windings, but the choke has {windings}; take the impedance from Choke.impedance."
COMMON_MODE, DIFFERENTIAL_MODE = "common-mode", "differential-mode"

Parts = tuple[Number, list[Number]]
"""A quantity, and p times its derivative with each of its own parameters."""


@dataclass(frozen=True)
class Parameter:
    """A parameter's symbol, SI unit, and what it is."""

    symbol: str
    unit: str
    what: str


@dataclass(frozen=True)
class Model:
    """A one-port model.

    Attributes
    ----------
    name : what stands in tables and files
    title : what a person reads
    parameters : in the order of p
    source : where the form comes from
    own : how many of the parameters are the branch's; the others are the shunt's
    branch, shunt : the two parts, functions of jω and their parameters; `shunt` None for nothing across
    """

    name: str
    title: str
    parameters: tuple[Parameter, ...]
    source: str
    own: int
    branch: Callable[..., Parts]
    shunt: Callable[..., Parts] | None
    resonance: Callable[..., float | None]

    @property
    def symbols(self) -> tuple[str, ...]:
        """The parameters' symbols."""
        return tuple(parameter.symbol for parameter in self.parameters)

    def impedance(self, p: Sequence[Number] | Floats, f: Number) -> Number:
        """Z at frequencies f (Hz), in Ω, of the shape of f; also for symbols.

        >>> round(abs(SELF_CAPACITANCE.impedance([5.0, 1e-6, 7e-12], 25e6)), 3)
        189.966
        """
        Zb, _, Y, _ = self._parts(p, f)
        return Zb / (1 + Zb * Y)

    def derivatives(self, p: Sequence[float] | Floats, f: Floats) -> Complexes:
        """dZ/d ln p, shape (F, P), in Ω."""
        return self.with_derivatives(p, f)[1]

    def with_derivatives(
        self, p: Sequence[float] | Floats, f: Floats, weight: Floats | float = 1.0
    ) -> tuple[Complexes, Complexes]:
        """Impedance, shape (F,), and dZ/d ln p times a weight, shape (F, P), for little more than one."""
        Zb, branch, Y, shunt = self._parts(np.asarray(p).tolist(), f)
        through = 1 / (1 + Zb * Y)
        Z = Zb * through
        slopes = np.empty((len(p), np.size(f)), np.complex128)
        through *= through * weight
        for row, slope in enumerate(branch):
            np.multiply(through, slope, out=slopes[row])
        if shunt:
            through = Z * Z
            through *= -weight
        for row, slope in enumerate(shunt, start=len(branch)):
            np.multiply(through, slope, out=slopes[row])
        return Z, slopes.T

    def self_resonance(self, p: Sequence[float] | Floats) -> float | None:
        """Lowest frequency in Hz at which the phase passes zero; None if it never does."""
        return self.resonance(*p)

    def _parts(
        self, p: Sequence[Number] | Floats, f: Number
    ) -> tuple[Number, list[Number], Number, list[Number]]:
        if len(p) != len(self.parameters):
            facts = {"given": len(p), "needed": len(self.parameters), "symbols": ", ".join(self.symbols)}
            raise ShapeError(COUNT.format(model=self.title, **facts))
        jw = 2j * math.pi * f
        Zb, branch = self.branch(jw, *p[: self.own])
        Y, shunt = (0, []) if self.shunt is None else self.shunt(jw, *p[self.own :])
        return Zb, branch, Y, shunt


def _series(jw: Number, R: Number, L: Number) -> Parts:
    return R + jw * L, [R, jw * L]


def _core(jw: Number, R: Number, L_air: Number, L_core: Number, f_r: Number) -> Parts:
    x = jw / (2 * math.pi * f_r)
    mu = 1 / (1 + x)
    air, core = jw * L_air, (jw * L_core) * mu
    return R + air + core, [R, air, core, core * x * mu]


def _capacitance(jw: Number, C: Number) -> Parts:
    return jw * C, [jw * C]


def _damped_capacitance(jw: Number, C: Number, R_d: Number) -> Parts:
    drop = jw * (C * R_d)
    inverse = 1 / (1 + drop)
    Y = (jw * C) * inverse
    slope = Y * inverse
    return Y, [slope, -drop * slope]


def _no_resonance(R: float, L: float) -> None:
    """Nothing to resonate with."""


def _resonance_lumped(R: float, L: float, C: float) -> float | None:
    """ω² = 1/(LC) - (R/L)²."""
    squared = 1 / (L * C) - (R / L) ** 2
    return math.sqrt(squared) / (2 * math.pi) if squared > 0 else None


def _resonance_core(
    R: float, L_air: float, L_core: float, f_r: float, C: float, R_d: float = 0.0
) -> float | None:
    """Im Z_b (1 + (ω C R_d)²) = ω C |Z_b|², a polynomial in q = (f/f_r)²."""
    w = 2 * math.pi * f_r
    q: Any = np.polynomial.Polynomial([0, 1])
    inductive = L_air * (1 + q) + L_core
    resistive = R * (1 + q) + w * L_core * q
    damping = 1 + (w * C * R_d) ** 2 * q
    balance = inductive * (1 + q) * damping - C * (resistive**2 + w**2 * q * inductive**2)
    roots = np.asarray(balance.trim().roots(), dtype=np.complex128)
    real = roots.real[(roots.real > 0) & (np.abs(roots.imag) < 1e-9 * np.abs(roots))]
    return f_r * math.sqrt(real.min()) if real.size else None


_R = Parameter("R", "Ω", RESISTANCE)
_L = Parameter("L", "H", INDUCTANCE)
_L_AIR = Parameter("L_air", "H", AIR)
_L_CORE = Parameter("L_core", "H", CORE_INDUCTANCE)
_F_R = Parameter("f_r", "Hz", RELAXATION)
_C = Parameter("C", "F", CAPACITANCE)
_R_D = Parameter("R_d", "Ω", DAMPING)

SERIES = Model("series", "resistance and inductance", (_R, _L), KIRCHHOFF, 2, _series, None, _no_resonance)
SELF_CAPACITANCE = Model(
    "self_capacitance",
    "resistance, inductance and self-capacitance",
    (_R, _L, _C),
    LUMPED,
    2,
    _series,
    _capacitance,
    _resonance_lumped,
)
CORE = Model(
    "core",
    "core with one relaxation, and self-capacitance",
    (_R, _L_AIR, _L_CORE, _F_R, _C),
    DEBYE,
    4,
    _core,
    _capacitance,
    _resonance_core,
)
CORE_DAMPED = Model(
    "core_damped",
    "core with one relaxation, and damped self-capacitance",
    (_R, _L_AIR, _L_CORE, _F_R, _C, _R_D),
    DEBYE,
    4,
    _core,
    _damped_capacitance,
    _resonance_core,
)

MODELS = (SERIES, SELF_CAPACITANCE, CORE, CORE_DAMPED)
"""In growing order: each one holds the one before as a limiting case."""


def common_mode_branch(choke: Choke) -> tuple[Model, Floats]:
    """Both windings side by side, dots together, as CORE: (R/2, leakage/2, core, f_r, 2C).

    Exact for two equal windings; a lossless core is CORE with an infinite f_r. The capacitance between the
    windings plays no part.

    Raises
    ------
    ShapeError
        if the choke has not two windings, or two that differ.
    """
    R, leakage, C = _of_equal_windings(choke, COMMON_MODE)
    f_r = math.inf if choke.relaxation is None else choke.relaxation
    return CORE, np.array([R / 2, leakage / 2, choke.core, f_r, 2 * C])


def differential_mode_branch(choke: Choke) -> tuple[Model, Floats]:
    """The loop out through one winding and back through the other as SELF_CAPACITANCE.

    (2R, 2 leakage, C/2 + between/2): the core's flux cancels, so neither its inductance nor its loss appears.
    Exact for two equal windings tied at ends b, with the clips on their ends a.

    Raises
    ------
    ShapeError
        if the choke has not two windings, or two that differ.
    """
    R, leakage, C = _of_equal_windings(choke, DIFFERENTIAL_MODE)
    return SELF_CAPACITANCE, np.array([2 * R, 2 * leakage, (C + float(choke.between[0])) / 2])


def _of_equal_windings(choke: Choke, mode: str) -> tuple[float, float, float]:
    if choke.windings != 2:
        raise ShapeError(TWO_WINDINGS.format(mode=mode, windings=choke.windings))
    for name in ("R", "leakage", "turns", "C"):
        one, other = getattr(choke, name)
        if one != other:
            raise ShapeError(UNEQUAL.format(mode=mode, what=name))
    return float(choke.R[0]), float(choke.leakage[0]), float(choke.C[0])
