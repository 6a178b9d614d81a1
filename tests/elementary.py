"""Elementary functions for test formulas that are written once for floats, arrays and uncertain numbers."""

from typing import Any

import numpy as np
from uncertainties import UFloat, umath


def sqrt(x: Any) -> Any:
    """Square root."""
    return umath.sqrt(x) if isinstance(x, UFloat) else np.sqrt(x)


def sin(x: Any) -> Any:
    """Sine, argument in rad."""
    return umath.sin(x) if isinstance(x, UFloat) else np.sin(x)


def cos(x: Any) -> Any:
    """Cosine, argument in rad."""
    return umath.cos(x) if isinstance(x, UFloat) else np.cos(x)


def arctan2(y: Any, x: Any) -> Any:
    """Angle of the point (x, y), in rad."""
    return umath.atan2(y, x) if isinstance(y, UFloat) else np.arctan2(y, x)
