"""The little help that formulas need to serve every kind of number.

Floats, complex numbers, numpy arrays, uncertain numbers, fractions and sympy expressions share `+ - * /`;
they do not share a square root, nor a way to ask how large they are.
"""

import cmath
import math
from collections.abc import Mapping
from fractions import Fraction
from typing import Any, TypeAlias

import numpy as np

Number: TypeAlias = (
    Any  # float, complex, Fraction, array, ufloat or sympy expression; the formulas do not care
)

Expression = Any  # a sympy expression, matrix or matrix expression; sympy ships no usable types
Figures = Mapping[str, str]  # symbol name -> text shown in its place, such as "25.0 µH"


def _family(x: Number) -> str:
    return type(x).__module__.partition(".")[0]


def _of_its_kind(name: str, x: Number) -> Number:
    """A function of the library that `x` comes from."""
    match _family(x):
        case "sympy":
            import sympy

            return getattr(sympy, name)(x)
        case "uncertainties":
            from uncertainties import umath

            return getattr(umath, name)(x)
        case "numpy":
            return getattr(np, name)(x)
    return getattr(cmath if isinstance(x, complex) else math, name)(x)


def sqrt(x: Number) -> Number:
    """Square root of the same kind as `x`.

    >>> sqrt(4.0)
    2.0
    """
    return _of_its_kind("sqrt", x)


def exp(x: Number) -> Number:
    """Exponential of the same kind as `x`."""
    return _of_its_kind("exp", x)


def log(x: Number) -> Number:
    """Natural logarithm of the same kind as `x`."""
    return _of_its_kind("log", x)


def tanh(x: Number) -> Number:
    """Hyperbolic tangent of the same kind as `x`."""
    return _of_its_kind("tanh", x)


def nominal(x: Number) -> Number:
    """The value without its uncertainty; anything that has none comes back as it is."""
    return x.nominal_value if _family(x) == "uncertainties" else x


def is_exact(x: Number) -> bool:
    """Whether arithmetic with `x` leaves no rounding behind."""
    return _family(x) == "sympy" or isinstance(x, int | Fraction)


def is_finite(x: Number) -> bool:
    """Whether every element is a finite number; a symbol counts as one."""
    return is_exact(x) or bool(np.isfinite(nominal(x)).all())


def magnitude(x: Number) -> Number:
    """How large `x` is, for choosing a pivot: floats of the same shape; 0 or 1 for a symbol."""
    if _family(x) == "sympy":
        return 0.0 if x == 0 else 1.0
    return np.abs(nominal(x)) if isinstance(x, np.ndarray) else abs(complex(nominal(x)))


def ratio(numerator: Number, denominator: Number, rounding: Number = 0) -> Number:
    """Quotient in which 0/0 is 0 and anything else over 0 is infinite; never nan.

    `rounding` is what rounding may leave of a denominator that is zero; exact numbers leave nothing.

    For a passive network a loop without energy stores none through any other current either, so the
    term that it would subtract is zero: that is the 0/0 case (two windings with k = 1 and L1 = L2).
    """
    if isinstance(denominator, np.ndarray) or isinstance(numerator, np.ndarray):
        numerator, denominator = np.broadcast_arrays(numerator, denominator)
        zero = np.abs(denominator) <= np.abs(rounding)
        quotient = numerator / np.where(zero, 1, denominator)
        return np.where(zero, np.where(numerator == 0, 0, np.inf), quotient)
    if _family(denominator) == "sympy" and denominator == 0:
        import sympy

        return sympy.Integer(0) if numerator == 0 else sympy.oo
    if nominal(denominator) == 0 or (
        not is_exact(denominator) and magnitude(denominator) <= magnitude(rounding)
    ):
        return 0 * numerator if nominal(numerator) == 0 else math.inf
    return numerator / denominator
