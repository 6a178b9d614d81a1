"""Straight lines whose fit is printed, through the least squares that the joint fit of readings uses.

JCGM 100:2008, Annex H.3 (calibration of a thermometer): scatter not known beforehand, so it comes from the
residuals. ISO/TS 28037:2010, p. 13 (equal weights): the uncertainty of each reading is known.
Where no tolerance is given the printed value agrees within half a unit of its last digit; unrounded
figures are what the printed inputs give and were recomputed independently of this package.
"""

import math
from collections.abc import Sequence

import numpy as np
import pytest

from labkit.uncertainty.components import Input, uncertain
from labkit.uncertainty.least_squares import LeastSquares, covariance_of, least_squares
from labkit.uncertainty.propagate import first_order
from tests.printed import printed

# --- JCGM 100:2008, Table H.6 -------------------------------------------------------------------------

TEMPERATURE = np.array(
    [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
)  # °C
CORRECTION = np.array(
    [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
)  # °C
REFERENCE = 20.0  # °C

# --- ISO/TS 28037:2010, p. 13 -------------------------------------------------------------------------

X = np.arange(1.0, 7.0)
Y = np.array([3.3, 5.6, 7.1, 9.3, 10.7, 12.1])
U = 0.5


def readings(values: Sequence[float] | np.ndarray, u: float) -> tuple[Input, ...]:
    """Readings with independent normal errors of one standard uncertainty."""
    return tuple(uncertain(f"y{i}", float(y), "normal", u) for i, y in enumerate(values, start=1))


def line(x: np.ndarray, y: Sequence[Input]) -> LeastSquares:
    """Intercept and slope that fit readings best."""
    design = np.column_stack((np.ones_like(x), x))
    values = [each.value for each in y]
    return least_squares(values, covariance_of(y), design.dot, lambda _: design, [0.0, 0.0])


def thermometer() -> tuple[LeastSquares, tuple[Input, ...]]:
    """The calibration line, each reading with the scatter that the residuals of a first fit show."""
    x = TEMPERATURE - REFERENCE
    s = line(x, readings(CORRECTION, 1.0)).scatter
    assert s is not None
    y = readings(CORRECTION, s)
    return line(x, y), y


def correlation(fitted: LeastSquares) -> float:
    """Of intercept and slope."""
    V = fitted.covariance
    return float(V[0, 1] / math.sqrt(V[0, 0] * V[1, 1]))


def test_thermometer_line() -> None:
    """JCGM 100:2008, H.3.3: y1 = -0.1712 °C, y2 = 0.002 18, both with their unrounded figures."""
    intercept, slope = thermometer()[0].parameters
    assert intercept == printed("-0.1712")
    assert slope == printed("0.00218")
    assert intercept == pytest.approx(-0.171203790131, rel=1e-9)
    assert slope == pytest.approx(0.00218269773989, rel=1e-9)


def test_thermometer_uncertainties() -> None:
    """JCGM 100:2008, H.3.3: u(y1) = 0.0029 °C, u(y2) = 0.000 67, r = -0.930."""
    fitted, _ = thermometer()
    u1, u2 = np.sqrt(np.diag(fitted.covariance))
    assert u1 == printed("0.0029")
    assert u2 == printed("0.00067")
    assert correlation(fitted) == printed("-0.930")
    assert [u1, u2] == pytest.approx([0.002877597835, 0.000667938773228], rel=1e-9)
    assert correlation(fitted) == pytest.approx(-0.930429603, rel=1e-9)


def test_thermometer_scatter() -> None:
    """JCGM 100:2008, H.3.3: s = 0.0035 °C from 11 - 2 degrees of freedom; sum of squares 1.10e-4 °C²."""
    fitted = line(TEMPERATURE - REFERENCE, readings(CORRECTION, 1.0))
    assert fitted.degrees_of_freedom == 9
    assert fitted.scatter == printed("0.0035")
    assert fitted.chi_squared == pytest.approx(1.10096583109e-4, rel=1e-9)


def test_thermometer_correction_at_30_degrees() -> None:
    """JCGM 100:2008, H.3.4: b(30 °C) = -0.1494 °C with u = 0.0041 °C, correlation included."""
    fitted, y = thermometer()
    b = first_order(lambda y1, y2: y1 + y2 * (30.0 - REFERENCE), fitted.inputs(("y1", "y2"), y))
    assert b.value == printed("-0.1494")
    assert b.standard_uncertainty == printed("0.0041")
    assert [b.value, b.standard_uncertainty] == pytest.approx([-0.149376813, 0.004138596], rel=1e-6)


def test_correction_without_correlation_would_be_wrong() -> None:
    """Computed for this test: leaving the correlation out makes u(b) at 30 °C larger than the printed one."""
    V = thermometer()[0].covariance
    assert math.sqrt(V[0, 0] + 100 * V[1, 1]) > 1.5 * 0.0041


def test_weighted_line() -> None:
    """ISO/TS 28037:2010, p. 13: a = 1.867 (0.465), b = 1.757 (0.120), cov = -0.050, chi² = 1.665."""
    fitted = line(X, readings(Y, U))
    assert fitted.parameters == pytest.approx([1.8666667, 1.7571429], abs=1e-6)
    assert np.sqrt(np.diag(fitted.covariance)) == pytest.approx([0.4654747, 0.1195229], abs=1e-6)
    assert fitted.covariance[0, 1] == printed("-0.050")
    assert fitted.chi_squared == printed("1.665")
    assert fitted.degrees_of_freedom == 4


def test_weighted_line_read_backwards() -> None:
    """ISO/TS 28037:2010, p. 13: the reading 10.5 (u = 0.5) belongs to x = 4.913 with u = 0.322."""
    y = readings(Y, U)
    a, b = line(X, y).inputs(("a", "b"), y)
    x = first_order(lambda y0, a, b: (y0 - a) / b, [uncertain("y0", 10.5, "normal", U), a, b])
    assert x.value == printed("4.913")
    assert x.standard_uncertainty == printed("0.322")


def test_weights_follow_the_uncertainties() -> None:
    """Computed for this test: scaling every uncertainty leaves the line and divides chi² by the square."""
    once, twice = line(X, readings(Y, U)), line(X, readings(Y, 2 * U))
    assert twice.parameters == pytest.approx(once.parameters, rel=1e-9)
    assert twice.chi_squared == pytest.approx(once.chi_squared / 4, rel=1e-9)
