"""One pair for all readings: a joint fit with the error components of the cards.

Parameters are (ln A, ln B, atanh c): every real triple is a passive pair, so nothing has to be clipped near
k = 1. One amount, such as a lead inductance, can be fitted beside them. Where the second displays tell the
pair's resistance, each reading is what a lossy pair shows (`labkit.theory.lossy_pair`).

The readings are weighed by the inverse of their covariance, which a shared gain makes non-diagonal
(`labkit.uncertainty.least_squares`), with exact slopes by complex step. Each parameter becomes an `Input`
with the readings' own components, and every quantity gets its interval from the same engine as all
predictions, rectangular errors included.

Source: JCGM 100:2008, F.1.2; least squares with correlated input, ISO/TS 28037:2010, clause 8.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from labkit.analysis.amounts import Amount, reads
from labkit.analysis.observations import Observation
from labkit.arrays import Floats
from labkit.errors import EntryError, MissingReading
from labkit.theory.lossy_pair import Losses, series_inductances
from labkit.theory.number import Number, exp, tanh
from labkit.theory.pair import STABLE_FORMS, Pair, coupling_coefficient
from labkit.theory.wiring import Connection
from labkit.uncertainty.components import Input
from labkit.uncertainty.least_squares import LeastSquares, covariance_of, least_squares
from labkit.uncertainty.montecarlo import MonteCarlo, monte_carlo
from labkit.uncertainty.propagate import Estimate, first_order
from labkit.words import analysis as words
from labkit.words import labels

# What a pair has that a fit can tell, and where in its coordinates (ln A, ln B, atanh c) it lies.

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


def require_known(name: str) -> None:
    """Refuse what is no quantity of a joint fit."""
    if name not in QUANTITIES:
        raise EntryError(words.NO_QUANTITY.format(given=name, accepted=", ".join(QUANTITIES)), name)


# Resistances of a pair from the second displays of its readings, where they say enough.


def recorded_losses(observations: Sequence[Observation]) -> Losses | None:
    """What the second displays say about the pair's resistance; None where that is not all of it.

    Both windings alone and both in line are needed, each with R, Q or D at a known frequency: the reading in
    line tells the resistance that both share, the loss of a common core, from the copper of each. The
    resistances are taken as exact; what they change is small, and their own error of it smaller still.
    """
    rho = {o.connection: each for o in observations if (each := _resistance_over_w(o)) is not None}
    if not {C.SELF_1, C.SELF_2} <= rho.keys():
        return None
    one, two = rho[C.SELF_1], rho[C.SELF_2]
    if C.SERIES_OPPOSING in rho:
        return Losses(one, two, (one + two - rho[C.SERIES_OPPOSING]) / 2)
    if C.SERIES_AIDING in rho:
        return Losses(one, two, (rho[C.SERIES_AIDING] - one - two) / 2)
    return None


def _resistance_over_w(o: Observation) -> float | None:
    """Series resistance over ω, in H; None if the second display does not say it."""
    first = o.readings[0]
    if o.frequency is None:
        return None
    if first.second and first.second.kind == "resistance":
        w = 2 * math.pi * o.frequency.value
        return first.second.value / w if first.mode == "series" else None
    D = first.dissipation_factor
    return None if D is None else o.value * D


# What some readings leave open, and which further reading would settle it.
#
# A reading fixes one combination of the pair's three coordinates. A quantity is identified if its own slope
# is a combination of the readings' slopes. Slopes are taken at a pair in no special relation, so that what
# is said holds for pairs in general; readings side by side know c² alone, so that which winding is the
# larger one stays open without a reading that tells.

Form = Callable[[Number, Number, Number], Number]

BASIC = ("self_inductance_1", "self_inductance_2", "mutual_inductance", "coupling_coefficient")
"""What a sentence names; the rest follows from them. If they are all identified, so is the pair."""

GENERIC = np.array(Pair(13.0, 7.0, 10.0).coordinates)
USUAL = (
    Connection.SELF_1,
    Connection.SELF_2,
    Connection.SERIES_OPPOSING,
    Connection.SERIES_AIDING,
    Connection.SHORT_CIRCUIT_1,
    Connection.SHORT_CIRCUIT_2,
    Connection.PARALLEL_OPPOSING,
    Connection.PARALLEL_AIDING,
)
"""What may be read, in the order in which it is advised."""


@dataclass(frozen=True)
class Unidentified:
    """What readings leave open.

    Attributes
    ----------
    quantities : names out of `QUANTITIES`, each with what would settle it if read once more; nothing there
        if no single reading does
    either : further readings any one of which would settle the pair
    all_of : readings that together settle the pair, where one is not enough
    """

    quantities: dict[str, tuple[Connection, ...]]
    either: tuple[Connection, ...]
    all_of: tuple[Connection, ...]

    @property
    def sentence(self) -> str:
        """What is open and what to read; empty if nothing is."""
        if not self.quantities:
            return ""
        basic = ", ".join(labels.QUANTITY[name] for name in BASIC if name in self.quantities)
        either, all_of = (
            ", ".join(labels.CONNECTION[c] for c in some) for some in (self.either, self.all_of)
        )
        sentence = words.ONE_MORE if self.either else words.MORE
        return sentence.format(open=f"{basic} {words.FOLLOWS}", either=either, all_of=all_of)


def unidentified(read: Sequence[Connection]) -> Unidentified:
    """What readings of these connections leave open, and what would settle it.

    Examples
    --------
    >>> left = unidentified([Connection.SERIES_AIDING, Connection.SERIES_OPPOSING])
    >>> "mutual_inductance" in left.quantities, "coupling_coefficient" in left.quantities
    (False, True)
    """
    J = _slopes(read)
    quantities = {
        name: tuple(c for c in USUAL if c not in read and _spans(_slopes([*read, c]), form))
        for name, (_, form) in QUANTITIES.items()
        if not _spans(J, form)
    }
    needed: list[Connection] = []
    for c in USUAL:
        if _rank(_slopes([*read, *needed, c])) > _rank(_slopes([*read, *needed])):
            needed.append(c)
    single = len(needed) == 1
    either = tuple(c for c in USUAL if single and _rank(_slopes([*read, c])) == GENERIC.size)
    return Unidentified(quantities, either, () if single else tuple(needed))


def _slopes(read: Sequence[Connection]) -> Floats:
    return np.array([_slope(STABLE_FORMS[c]) for c in read]).reshape(len(read), GENERIC.size)


def _slope(form: Form) -> Floats:
    """d ln form / dt by complex step, to unit length."""
    step = 1e-30
    here = form(*pair_at(*GENERIC))
    along = [form(*pair_at(*(GENERIC + 1j * step * axis))).imag / step / here for axis in np.eye(3)]
    return np.asarray(np.array(along) / np.linalg.norm(along), dtype=np.float64)


def _spans(J: Floats, form: Form) -> bool:
    return _rank(np.vstack([J, _slope(form)])) == _rank(J)


def _rank(J: Floats) -> int:
    return int(np.linalg.matrix_rank(J, tol=1e-9)) if J.size else 0


SEED, DRAWS = 20310507, 100_000


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
    solution : the least squares behind it, in H
    parameters : ln A, ln B, atanh c, and the amount if one was fitted; tied to the readings' errors
    amount : what was fitted beside the pair, None if nothing
    losses : of the pair as the second displays tell them, None if they do not
    """

    observations: tuple[Observation, ...]
    solution: LeastSquares
    parameters: tuple[Input, ...]
    amount: Amount | None = None
    losses: Losses | None = None

    @property
    def chi_squared(self) -> float:
        """Weighted sum of squares."""
        return self.solution.chi_squared

    @property
    def degrees_of_freedom(self) -> int:
        """Readings beyond those that it takes."""
        return self.solution.degrees_of_freedom

    @property
    def p_value(self) -> float | None:
        """Probability of a larger chi² if the readings are one pair's; None without degrees of freedom."""
        return self.solution.p_value

    @property
    def residuals(self) -> tuple[float, ...]:
        """Reading minus fit over the reading's standard uncertainty, shape (n,)."""
        spread = [o.input.standard_uncertainty for o in self.observations]
        return tuple((self.solution.residuals / spread).tolist())

    @property
    def leverage(self) -> tuple[float, ...]:
        """How much of each fitted value is its own reading's doing, 0 to 1, shape (n,)."""
        return tuple(self.solution.leverage.tolist())

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
        if the readings do not identify the parameters; the sentence says which readings would. Also if they
        fit best at k = 1 itself, where no interval can be had.
    """
    used = tuple(o for o in observations if o.connection in STABLE_FORMS and o.connection is not C.LEADS)
    if any(o.no_uncertainty for o in used):
        raise MissingReading(
            "A joint fit weighs readings by their uncertainty, and at least one reading has "
            "none stated; enter the meter's card with bench.meter, or compare by the "
            "break-even instead."
        )
    losses = recorded_losses(used)
    start = _start(used)
    if amount:
        start = np.append(start, amount.scale)
    if not _identifies(used, start, amount):
        raise MissingReading(_not_identified(used, amount))
    readings = [o.input for o in used]
    found = least_squares(
        [o.value for o in used],
        covariance_of(readings),
        lambda t: model(used, t, amount, losses),
        lambda t: slopes(used, t, amount, losses),
        start,
    )
    if not found.converged or _at_limit(found.parameters):
        sentence = words.AT_LIMIT if found.converged else words.NOT_CONVERGED
        raise MissingReading(sentence.format(readings=", ".join(o.id for o in used)))
    names = ("ln A", "ln B", "atanh c", "amount")[: start.size]
    return Fit(used, found, found.inputs(names, readings), amount, losses)


def would_identify(observations: Sequence[Observation], amount: Amount) -> tuple[Connection, ...]:
    """What any one further reading, under the conditions of the last, would tell an amount by."""
    used = tuple(o for o in observations if o.connection in STABLE_FORMS and not o.no_uncertainty)
    start = np.append(_start(used), amount.scale)
    read = [o.connection for o in used]
    return tuple(
        c
        for c in USUAL
        if c not in read and _identifies((*used, replace(used[-1], connection=c)), start, amount)
    )


LIMIT = 1e-9
"""Distance from |k| = 1, in 1 - c², B/A or A/B, below which first order says nothing: the slopes are gone."""


def _at_limit(t: Floats) -> bool:
    ln_A, ln_B, atanh_c = t[:3]
    return bool(1 - math.tanh(atanh_c) ** 2 < LIMIT or abs(ln_B - ln_A) > -math.log(LIMIT))


def _not_identified(used: Sequence[Observation], amount: Amount | None) -> str:
    read = ", ".join(o.id for o in used) or words.NONE
    missing = unidentified([o.connection for o in used if o.connection])
    if amount and not missing.quantities:
        return words.AMOUNT_NOT_IDENTIFIED.format(readings=read, amount=amount.name)
    return words.NOT_IDENTIFIED.format(readings=read, missing=missing.sentence)


def model(
    observations: Sequence[Observation],
    t: Floats,
    amount: Amount | None = None,
    losses: Losses | None = None,
) -> Floats:
    """What each reading should be at parameters t, in H, shape (n,); complex t gives complex values."""
    shown = series_inductances(*pair_at(*t[:3]), losses)
    return reads(amount, shown, observations, t[3] if amount else 0.0)


def slopes(
    observations: Sequence[Observation],
    t: Floats,
    amount: Amount | None = None,
    losses: Losses | None = None,
) -> Floats:
    """Derivatives of `model` with each parameter, shape (n, p), exact by complex step."""
    step = 1e-30
    at = [model(observations, t + 1j * step * axis, amount, losses) for axis in np.eye(len(t))]
    return np.array([each.imag / step for each in at]).T


def _identifies(observations: Sequence[Observation], start: Floats, amount: Amount | None) -> bool:
    """Whether the readings' slopes, in units of their own uncertainty, span all parameters."""
    if start.size > len(observations):
        return False
    spread = np.array([o.input.standard_uncertainty for o in observations])
    J = slopes(observations, start, amount) / spread[:, None]
    size = np.linalg.norm(J, axis=0)
    return bool((size > 0).all() and np.linalg.matrix_rank(J / size, tol=1e-7) == start.size)


def _start(observations: Sequence[Observation]) -> Floats:
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
    B = min(max(B, low + 1e-7 * (high - low)), high - 1e-7 * (high - low))  # windings may be far from alike
    return np.array(Pair(L1, L2, B).coordinates)
