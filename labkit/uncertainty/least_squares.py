"""Generalised least squares: the parameters of a model that fit correlated readings best.

With readings y (n,), their covariance V (n, n) and a model f of p parameters t, the best t makes

    chi² = (y - f(t))' V^-1 (y - f(t))

least. Around it the parameters follow the errors e of the readings as t + K e, with

    K = (J' V^-1 J)^-1 J' V^-1,   J = df/dt,   covariance of t: K V K'.

Solved by Levenberg and Marquardt (MINPACK through scipy); a linear model takes one step. It knows nothing of
what the readings are of.

Source: JCGM 100:2008, 5.1.2 and H.3; ISO/TS 28037:2010, clauses 6 to 10.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from labkit.errors import EntryError, ShapeError
from labkit.uncertainty.components import FloatArray, Input, sources_of
from labkit.words import uncertainty as words

Model = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True)
class LeastSquares:
    """The best parameters and all that belongs to them.

    Attributes
    ----------
    parameters : shape (p,)
    gain : K, by how much each parameter follows the error of each reading, shape (p, n)
    covariance : of the parameters, if that of the readings is as stated, shape (p, p)
    residuals : reading minus model, in the readings' unit, shape (n,)
    leverage : how much of each fitted value is its own reading's doing, 0 to 1, shape (n,); they add up to p
    chi_squared : least weighted sum of squares
    converged : whether it is the least; if not, everything here belongs to where the search gave up
    """

    parameters: FloatArray
    gain: FloatArray
    covariance: FloatArray
    residuals: FloatArray
    leverage: FloatArray
    chi_squared: float
    converged: bool

    @property
    def degrees_of_freedom(self) -> int:
        """n - p."""
        return self.residuals.size - self.parameters.size

    @property
    def p_value(self) -> float | None:
        """Probability of a larger chi² if model and covariance hold; None without degrees of freedom."""
        from scipy.special import chdtrc

        return float(chdtrc(self.degrees_of_freedom, self.chi_squared)) if self.degrees_of_freedom else None

    @property
    def scatter(self) -> float | None:
        """sqrt(chi² / (n - p)): how many times the stated uncertainties the readings scatter."""
        return math.sqrt(self.chi_squared / self.degrees_of_freedom) if self.degrees_of_freedom else None

    def inputs(self, names: Sequence[str], readings: Sequence[Input]) -> tuple[Input, ...]:
        """The parameters as inputs of further formulas, tied to the readings' own sources of error.

        Parameters
        ----------
        names : one a parameter
        readings : those that were fitted, n of them, in their order
        """
        return tuple(
            Input(
                name,
                float(value),
                tuple(
                    (source, float(weight) * coefficient)
                    for weight, reading in zip(row, readings, strict=True)
                    for source, coefficient in reading.coefficients.items()
                ),
            )
            for name, value, row in zip(names, self.parameters, self.gain, strict=True)
        )


def covariance_of(readings: Sequence[Input]) -> FloatArray:
    """Covariance of inputs that may share sources of error, shape (n, n), in their units."""
    sources = sources_of(readings)
    weights = np.array([[x.coefficients.get(source, 0.0) for source in sources] for x in readings])
    weights = weights.reshape(len(readings), len(sources)) * [s.standard_uncertainty for s in sources]
    return np.asarray(weights @ weights.T, dtype=np.float64)


def least_squares(
    readings: ArrayLike,
    covariance: ArrayLike,
    model: Model,
    slopes: Model,
    start: ArrayLike,
    sizes: ArrayLike | None = None,
) -> LeastSquares:
    """The parameters that fit the readings best, weighed by the inverse of their covariance.

    Parameters
    ----------
    readings : y, shape (n,)
    covariance : V of the readings, shape (n, n), positive definite
    model : from parameters (p,) to what the readings should be (n,)
    slopes : from parameters to J (n, p)
    start : parameters to start from, shape (p,), p at most n
    sizes : usual size of a change in each parameter, shape (p,); taken from the slopes if not given

    Raises
    ------
    ShapeError
        if readings, covariance and parameters do not belong together.
    EntryError
        if the covariance is not positive definite.

    Examples
    --------
    The mean of two readings, the second of twice the standard uncertainty, counts the first four times:

    >>> import numpy as np
    >>> one = np.ones((2, 1))
    >>> mean = least_squares([10.0, 11.0], np.diag([1.0, 4.0]), lambda t: one @ t, lambda t: one, [0.0])
    >>> print(f"{mean.parameters[0]:.3f} ± {mean.covariance[0, 0] ** 0.5:.3f}")
    10.200 ± 0.894
    """
    from scipy.optimize import least_squares as levenberg_marquardt

    y, V, t0 = (np.asarray(each, dtype=np.float64) for each in (readings, covariance, start))
    whiten = _whitening(y, V, t0)
    with np.errstate(all="ignore"):  # a search that leaves the numbers comes back by itself
        found = levenberg_marquardt(
            lambda t: np.nan_to_num(whiten @ (y - model(t)), nan=FAR, posinf=FAR, neginf=-FAR),
            t0,
            lambda t: np.nan_to_num(-whiten @ slopes(t), posinf=0.0, neginf=0.0),
            method="lm",
            x_scale="jac" if sizes is None else np.asarray(sizes, dtype=np.float64),
            xtol=1e-14,
            ftol=1e-14,
            gtol=1e-14,
        )
        t = np.asarray(found.x, dtype=np.float64)
        return _around(t, slopes(t), y - model(t), V, whiten, settled=found.status > 0)


FAR = 1e100
"""How far off, in standard uncertainties, a reading counts for which the model gives no number."""


def _around(
    t: FloatArray, J: FloatArray, off: FloatArray, V: FloatArray, whiten: FloatArray, *, settled: bool
) -> LeastSquares:
    """The result around the best parameters; not converged if anything in it is no number."""
    if not (np.isfinite(J).all() and np.isfinite(off).all()):
        J, off, settled = np.zeros_like(J), np.full_like(off, np.nan), False
    # Columns that differ by many orders of magnitude are no sign of a deficient rank.
    gain = np.linalg.pinv(whiten @ J, rcond=1e-20) @ whiten
    covariance = gain @ V @ gain.T
    return LeastSquares(
        parameters=t,
        gain=gain,
        covariance=covariance,
        residuals=off,
        leverage=np.diag(J @ gain).copy(),
        chi_squared=float(np.sum((whiten @ off) ** 2)),
        converged=bool(settled and np.isfinite(covariance).all()),
    )


def _whitening(y: FloatArray, V: FloatArray, t0: FloatArray) -> FloatArray:
    """The matrix that turns the readings' errors into independent ones of unit deviation."""
    if y.ndim != 1 or t0.ndim != 1 or V.shape != (y.size, y.size) or t0.size > y.size:
        facts = {"readings": y.shape, "covariance": V.shape, "parameters": t0.shape}
        raise ShapeError(words.FIT_SHAPE.format(**facts))
    try:
        return np.asarray(np.linalg.inv(np.linalg.cholesky(V)), dtype=np.float64)
    except np.linalg.LinAlgError:
        raise EntryError(
            f"The covariance of the {y.size} readings leaves some combination of them "
            "without uncertainty or gives it a negative one, so they cannot be weighed; "
            "state an uncertainty of its own for each reading."
        ) from None
