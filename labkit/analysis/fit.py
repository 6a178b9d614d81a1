"""One pair for all readings: a joint fit with the error components of the cards.

Parameters are (ln A, ln B, atanh c): every real triple is a passive pair, so nothing has to be clipped near
k = 1. One amount, such as a lead inductance, can be fitted beside them. Generalised least squares

    chi² = (y - f(t))' V^-1 (y - f(t)),   V from the components (a shared gain makes it non-diagonal),

solved by Levenberg and Marquardt with exact slopes (complex step; the forms are analytic). The solution
is linear in the errors to first order, t = t0 + K e, so each parameter becomes an `Input` with the
readings' own components, and every quantity gets its interval from the same engine as all predictions,
rectangular errors included.

Source: JCGM 100:2008, F.1.2; least squares with correlated input, ISO/TS 28037:2010, clause 8.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from labkit.analysis.amounts import Amount, reads
from labkit.analysis.observations import Observation
from labkit.errors import MissingReading
from labkit.theory.number import Number, exp, tanh
from labkit.theory.pair import STABLE_FORMS, Pair, coupling_coefficient
from labkit.theory.wiring import Connection
from labkit.uncertainty.component import Input, sources_of
from labkit.uncertainty.estimate import Estimate
from labkit.uncertainty.montecarlo import MonteCarlo, monte_carlo
from labkit.uncertainty.propagate import first_order
from labkit.words import fit as words

Array = NDArray[np.float64]
SEED, DRAWS = 20310507, 100_000
C = Connection


def pair_at(ln_A: Number, ln_B: Number, atanh_c: Number) -> tuple[Number, Number, Number]:
    """(L1, L2, B) in H at the coordinates, for every kind of number."""
    A, B = exp(ln_A), exp(ln_B)
    m, d = (A + B) / 4, tanh(atanh_c) * exp((ln_A + ln_B) / 2)
    return m + d / 2, m - d / 2, B


def _coupling(L1: Number, L2: Number, B: Number) -> Number:
    return coupling_coefficient(L1, L2, (L1 + L2 - B) / 2)


QUANTITIES: dict[str, tuple[str, Callable[[Number, Number, Number], Number]]] = {
    "self_inductance_1": ("H", STABLE_FORMS[C.SELF_1]),
    "self_inductance_2": ("H", STABLE_FORMS[C.SELF_2]),
    "mutual_inductance": ("H", lambda L1, L2, B: (L1 + L2 - B) / 2),
    "coupling_coefficient": ("", _coupling),
    "gap": ("", lambda L1, L2, B: 1 - _coupling(L1, L2, B)),
    "series_aiding": ("H", STABLE_FORMS[C.SERIES_AIDING]),
    "leakage_differential_mode": ("H", STABLE_FORMS[C.SERIES_OPPOSING]),
    "parallel_aiding": ("H", STABLE_FORMS[C.PARALLEL_AIDING]),
    "parallel_opposing": ("H", STABLE_FORMS[C.PARALLEL_OPPOSING]),
    "short_circuit_1": ("H", STABLE_FORMS[C.SHORT_CIRCUIT_1]),
    "short_circuit_2": ("H", STABLE_FORMS[C.SHORT_CIRCUIT_2]),
}
"""What a fit can tell, with unit and formula from (L1, L2, B)."""


@dataclass(frozen=True)
class Fitted:
    """One quantity of a fit: first order, and the distribution of the same from the readings' errors."""

    name: str
    unit: str
    estimate: Estimate
    monte_carlo: MonteCarlo

    @property
    def interval(self) -> tuple[float, float]:
        """95 % interval, equal tails."""
        return self.monte_carlo.symmetric


@dataclass(frozen=True)
class Fit:
    """A pair that fits all readings as well as any pair can.

    Attributes
    ----------
    observations : the readings used, n of them
    parameters : ln A, ln B, atanh c, and the amount if one was fitted; tied to the readings' errors
    amount : what was fitted beside the pair, None if nothing
    chi_squared, degrees_of_freedom : of the fit, n - p
    residuals : reading minus fit over its standard uncertainty, shape (n,)
    leverage : how much of each reading's own value is its own doing, 0 to 1, shape (n,)
    """

    observations: tuple[Observation, ...]
    parameters: tuple[Input, ...]
    chi_squared: float
    degrees_of_freedom: int
    residuals: tuple[float, ...]
    leverage: tuple[float, ...]
    amount: Amount | None = None

    @property
    def p_value(self) -> float | None:
        """Probability of a larger chi² if the readings are one pair's; None without degrees of freedom."""
        from scipy.special import chdtrc

        return float(chdtrc(self.degrees_of_freedom, self.chi_squared)) if self.degrees_of_freedom else None

    @property
    def size(self) -> Estimate | None:
        """Size of the amount, in its unit; None if none was fitted."""
        return first_order(lambda *t: t[3], self.parameters) if self.amount else None

    @cached_property
    def quantities(self) -> dict[str, Fitted]:
        """Every quantity of `QUANTITIES`, from one set of draws."""
        return self.drawn(DRAWS)

    def drawn(self, draws: int) -> dict[str, Fitted]:
        """The same from a number of draws."""

        def all_of(*t: Number) -> tuple[Number, ...]:
            pair = pair_at(*t[:3])
            return tuple(form(*pair) for _, form in QUANTITIES.values())

        estimates = first_order(all_of, self.parameters)
        found = monte_carlo(all_of, self.parameters, seed=SEED, draws=draws)
        return {
            name: Fitted(name, unit, estimate, each)
            for (name, (unit, _)), estimate, each in zip(QUANTITIES.items(), estimates, found, strict=True)
        }


def fit(observations: Sequence[Observation], amount: Amount | None = None) -> Fit:
    """The pair that fits all readings of one part at one frequency.

    Parameters
    ----------
    observations : readings whose connection is known and whose uncertainty is stated; others are refused
    amount : an influence to fit beside the pair

    Raises
    ------
    MissingReading
        if the readings do not identify the parameters; the sentence says which readings would.
    """
    used = tuple(o for o in observations if o.connection in STABLE_FORMS and o.connection is not C.LEADS)
    if any(o.no_uncertainty for o in used):
        raise MissingReading(words.NO_UNCERTAINTY)
    y = np.array([o.value for o in used])
    V, spread = _covariance(used)
    start = _start(used)
    if amount:
        start = np.append(start, amount.scale)
    if start.size > y.size or not _identifies(used, start, spread, amount):
        raise MissingReading(
            words.NOT_IDENTIFIED.format(readings=", ".join(o.id for o in used) or words.NONE)
        )
    whiten = np.linalg.inv(np.linalg.cholesky(V))
    t = _solve(
        lambda t: whiten @ (y - model(used, t, amount)),
        lambda t: -whiten @ slopes(used, t, amount),
        start,
        amount.scale if amount else 1.0,
    )
    J = slopes(used, t, amount)
    gain = np.asarray(
        np.linalg.pinv(whiten @ J, rcond=1e-20) @ whiten, dtype=np.float64
    )  # K of the docstring
    off = y - model(used, t, amount)
    return Fit(
        used,
        _as_inputs(used, t, gain),
        float(np.sum((whiten @ off) ** 2)),
        y.size - t.size,
        tuple((off / spread).tolist()),
        tuple(np.diag(J @ gain).tolist()),
        amount,
    )


def model(observations: Sequence[Observation], t: Array, amount: Amount | None = None) -> Array:
    """What each reading should be at parameters t, in H, shape (n,); complex t gives complex values."""
    pair = pair_at(*t[:3])
    ideal = {connection: form(*pair) for connection, form in STABLE_FORMS.items()}
    return reads(amount, ideal, observations, t[3] if amount else 0.0)


def slopes(observations: Sequence[Observation], t: Array, amount: Amount | None = None) -> Array:
    """Derivatives of `model` with each parameter, shape (n, p), exact by complex step."""
    step = 1e-30
    columns = [model(observations, t + 1j * step * axis, amount).imag / step for axis in np.eye(len(t))]
    return np.array(columns).T


def _covariance(observations: Sequence[Observation]) -> tuple[Array, Array]:
    """Covariance of the readings in H², shape (n, n), and their standard uncertainties, shape (n,)."""
    sources = sources_of([o.input for o in observations])
    weights = np.array([[o.input.coefficients.get(s, 0.0) for s in sources] for o in observations])
    weights = weights.reshape(len(observations), len(sources)) * [s.standard_uncertainty for s in sources]
    V = weights @ weights.T
    return V, np.sqrt(np.diag(V))


def _as_inputs(observations: Sequence[Observation], t: Array, gain: Array) -> tuple[Input, ...]:
    names = ("ln A", "ln B", "atanh c", "amount")
    return tuple(
        Input(
            name,
            float(value),
            tuple(
                (source, float(weight) * coefficient)
                for weight, o in zip(row, observations, strict=True)
                for source, coefficient in o.input.coefficients.items()
            ),
        )
        for name, value, row in zip(names, t, gain, strict=False)
    )


def _solve(
    off: Callable[[Array], Array], slope: Callable[[Array], Array], start: Array, scale: float
) -> Array:
    from scipy.optimize import least_squares

    sizes = np.where(np.arange(start.size) < 3, 1.0, scale)
    found = least_squares(off, start, slope, method="lm", x_scale=sizes, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    return np.asarray(found.x)


def _identifies(
    observations: Sequence[Observation], start: Array, spread: Array, amount: Amount | None
) -> bool:
    """Whether the readings' slopes, in units of their own uncertainty, span all parameters."""
    J = slopes(observations, start, amount) / spread[:, None]
    size = np.linalg.norm(J, axis=0)
    return bool((size > 0).all() and np.linalg.matrix_rank(J / size, tol=1e-7) == start.size)


def _start(observations: Sequence[Observation]) -> Array:
    """Coordinates to start from: what the readings say directly, the rest as a tight, nearly equal pair."""
    seen = {o.connection: o.value for o in observations}
    large = [seen[c] for c in (C.SELF_1, C.SELF_2, C.PARALLEL_AIDING) if seen.get(c, 0) > 0]
    m = float(np.mean(large)) if large else seen.get(C.SERIES_AIDING, 4e-3) / 4
    L1, L2 = (seen[c] if seen.get(c, 0) > 0 else m for c in (C.SELF_1, C.SELF_2))
    guesses = [seen.get(C.SERIES_OPPOSING), seen.get(C.SHORT_CIRCUIT_1), seen.get(C.SHORT_CIRCUIT_2)]
    guesses += [4 * seen[C.PARALLEL_OPPOSING]] if C.PARALLEL_OPPOSING in seen else []
    guesses += [2 * (L1 + L2) - seen[C.SERIES_AIDING]] if C.SERIES_AIDING in seen else []
    B = next((x for x in guesses if x and x > 0), 0.02 * m)
    low, high = (math.sqrt(L1) - math.sqrt(L2)) ** 2, (math.sqrt(L1) + math.sqrt(L2)) ** 2
    B = min(max(B, 1.05 * low, 1e-6 * m), 0.999 * high)
    return np.array(Pair(L1, L2, B).coordinates)
