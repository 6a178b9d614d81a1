"""Propagation of distributions by Monte Carlo (JCGM 101:2008), seeded, in blocks.

Only the results are kept; the inputs live in one block that is drawn over and over. Every block has a
random stream of its own, so block n is the same whatever is drawn before or after it.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any, TypeAlias, overload

import numpy as np

from labkit.errors import EntryError
from labkit.uncertainty.components import Component, FloatArray, Input, sources_of
from labkit.uncertainty.propagate import Estimate
from labkit.words import uncertainty as words

# Coverage intervals from draws (JCGM 101:2008, 7.7): probabilistically symmetric, and shortest.

Interval: TypeAlias = tuple[float, float]

NEAR_THE_MINIMUM = 0.01
"""Relative excess over the smallest width up to which a place counts as nearly the shortest."""


def coverage_intervals(draws: FloatArray, coverage: float) -> tuple[Interval, Interval]:
    """Symmetric and shortest interval that hold the fraction `coverage` of the draws.

    Parameters
    ----------
    draws : shape (n,), finite; reordered in place
    coverage : from 0.5 to below 1

    Notes
    -----
    An interval that holds q of the n draws starts at one of the n - q smallest and ends at one of the
    n - q largest; only those two tails are sorted.

    References
    ----------
    JCGM 101:2008, 7.7.1 and 7.7.2

    Examples
    --------
    >>> import numpy as np
    >>> symmetric, shortest = coverage_intervals(np.arange(1.0, 101.0), 0.9)
    >>> symmetric
    (5.0, 95.0)
    """
    held = min(int(coverage * draws.size + 0.5), draws.size - 1)
    outside = draws.size - held
    draws.partition(outside - 1)
    draws[outside:].partition(held - outside)
    lower, upper = draws[:outside], draws[held:]
    lower.sort()
    upper.sort()
    middle = (outside + 1) // 2 - 1
    shortest = _place_of_shortest(upper - lower)
    return (
        (float(lower[middle]), float(upper[middle])),
        (float(lower[shortest]), float(upper[shortest])),
    )


def _place_of_shortest(width: FloatArray) -> int:
    """Where the width curve has its minimum, read from a cubic through the places that nearly have it.

    The smallest of many nearly equal widths sits at a random place, so its ends scatter by a hundredth of
    the standard uncertainty at a million draws; those of the cubic scatter by half of that. A
    parabola would scatter still less, but it shifts the interval of a skew distribution.
    """
    near = np.flatnonzero(width <= width.min() * (1.0 + NEAR_THE_MINIMUM))
    near = near[:: max(1, near.size // 2000)]
    if near.size < 10:
        return int(width.argmin())
    place = (near - near[0]) / (near[-1] - near[0])
    powers = np.vander(place, 4)
    cubic, *_ = np.linalg.lstsq(powers, width[near])
    return int(near[np.argmin(powers @ cubic)])


Function: TypeAlias = Callable[..., Any]
Several: TypeAlias = Callable[..., tuple[Any, ...] | list[Any]]

BLOCK = 16_384
"""Draws in a block: its arrays stay in the processor's cache. Part of the meaning of a seed."""


@dataclass(frozen=True)
class MonteCarlo:
    """What the draws say about one result, in its SI base unit.

    Attributes
    ----------
    value : the formula at the values of the inputs; None if it has no finite value there
    mean : of the draws; None if a source known from two repeats takes part (it has no mean)
    standard_uncertainty : deviation of the draws; infinite if a source known from three or fewer
        repeats takes part (its distribution has no finite variance)
    symmetric : probabilistically symmetric interval: as many draws below as above
    shortest : shortest interval
    coverage : the part of the draws that each interval holds
    draws, seed : they make the result again, digit for digit
    invalid : draws that break the stated condition, kept in the result; None if none was stated
    nonfinite : draws without a finite result; the figures rest on the others
    """

    value: float | None
    mean: float | None
    standard_uncertainty: float
    symmetric: Interval
    shortest: Interval
    coverage: float
    draws: int
    seed: int
    invalid: int | None
    nonfinite: int

    @property
    def bias(self) -> float | None:
        """Mean of the draws minus the formula at the values; None if either does not exist."""
        return None if self.mean is None or self.value is None else self.mean - self.value

    @property
    def remarks(self) -> tuple[str, ...]:
        """What a reader must be told before using the figures, one sentence each; often empty."""
        counts = ((self.invalid or 0, words.INVALID_DRAWS), (self.nonfinite, words.NONFINITE_DRAWS))
        said = [
            sentence.format(count=count, draws=self.draws, percent=f"{100 * count / self.draws:.2g}")
            for count, sentence in counts
            if count
        ]
        return (*said, words.NO_DEVIATION) if math.isinf(self.standard_uncertainty) else tuple(said)


@overload
def monte_carlo(
    function: Several,
    inputs: Sequence[Input],
    *,
    seed: int,
    draws: int = ...,
    coverage: float = ...,
    valid: Function | None = ...,
) -> tuple[MonteCarlo, ...]: ...
@overload
def monte_carlo(
    function: Function,
    inputs: Sequence[Input],
    *,
    seed: int,
    draws: int = ...,
    coverage: float = ...,
    valid: Function | None = ...,
) -> MonteCarlo: ...
def monte_carlo(
    function: Function,
    inputs: Sequence[Input],
    *,
    seed: int,
    draws: int = 1_000_000,
    coverage: float = 0.95,
    valid: Function | None = None,
) -> MonteCarlo | tuple[MonteCarlo, ...]:
    """Mean, standard uncertainty and coverage intervals of a formula, by drawing its inputs.

    Parameters
    ----------
    function : takes the inputs positionally as arrays of shape (n,), which it neither keeps nor
        changes, and returns one array or a tuple of arrays
    inputs : the quantities that enter, in order
    seed : whole number, zero or larger; the same seed gives the same digits
    draws : how many; a million settles two digits of the uncertainty (JCGM 101:2008, 7.2)
    coverage : probability of the intervals, from 0.5 to below 1
    valid : takes the same arrays, returns True for each draw that the physics allows; the others are
        counted and kept, never clipped

    Returns
    -------
    MonteCarlo, or a tuple of them if the function returns a tuple

    Raises
    ------
    EntryError : a setting out of its range; two sources with one name; no finite draw at all

    References
    ----------
    JCGM 101:2008, clause 7

    Examples
    --------
    >>> x = Input("x", 0.0, ((Component("x", "rectangular", 1.0), 1.0),))
    >>> result = monte_carlo(lambda x: x, [x], seed=1, draws=100_000)
    >>> round(result.standard_uncertainty, 2), [round(end, 2) for end in result.symmetric]
    (0.58, [-0.95, 0.95])
    """
    _require_settings(seed, draws, coverage)
    with np.errstate(all="ignore"):  # a draw without an answer is counted, not warned about
        at_values = function(*[np.array([x.value]) for x in inputs])
        values = [float(np.squeeze(y)) for y in _as_tuple(at_values)]
        results = np.empty((len(values), draws))
        invalid = _draw_into(results, function, valid, inputs, seed)
    known = min(
        (s.degrees_of_freedom for s in sources_of(inputs) if s.distribution == "student"), default=math.inf
    )
    summaries = tuple(
        _summary(y, value, known, coverage=coverage, draws=draws, seed=seed, invalid=invalid)
        for y, value in zip(results, values, strict=True)
    )
    return summaries if isinstance(at_values, tuple | list) else summaries[0]


def _as_tuple(outcome: Any) -> tuple[Any, ...]:
    return tuple(outcome) if isinstance(outcome, tuple | list) else (outcome,)


def _draw_into(
    results: FloatArray, function: Function, valid: Function | None, inputs: Sequence[Input], seed: int
) -> int | None:
    """Fill `results`, shape (outputs, draws); return how many draws break the condition, None without one."""
    draws = results.shape[1]
    invalid = 0
    for start, block in zip(range(0, draws, BLOCK), blocks(inputs, seed, draws), strict=True):
        stop = start + block.shape[1]
        for row, y in zip(results, _as_tuple(function(*block)), strict=True):
            row[start:stop] = y
        if valid is not None:
            allowed = np.broadcast_to(valid(*block), stop - start)
            invalid += stop - start - int(np.count_nonzero(allowed))
    return None if valid is None else invalid


def blocks(inputs: Sequence[Input], seed: int, draws: int) -> Iterator[FloatArray]:
    """The inputs drawn, shape (inputs, up to BLOCK); each block overwrites the one before.

    The first blocks of a seed are the same however many draws follow.
    """
    plan = [
        (
            source,
            [
                (i, x.coefficients[source] * source.scale)
                for i, x in enumerate(inputs)
                if source in x.coefficients
            ],
        )
        for source in sources_of(inputs)
    ]
    block, unit, part = np.empty((len(inputs), BLOCK)), np.empty(BLOCK), np.empty(BLOCK)
    values = np.array([[x.value] for x in inputs])
    for start, stream in zip(
        range(0, draws, BLOCK), np.random.SeedSequence(seed).spawn(-(-draws // BLOCK)), strict=True
    ):
        rng = np.random.Generator(np.random.PCG64DXSM(stream))
        spreads: dict[str, FloatArray] = {}
        block[:] = values
        for source, uses in plan:
            _fill(source, rng, unit, spreads)
            for i, weight in uses:
                np.multiply(unit, weight, out=part)
                block[i] += part
        yield block[:, : draws - start]


def _fill(
    source: Component, rng: np.random.Generator, unit: FloatArray, spreads: dict[str, FloatArray]
) -> None:
    """Unit draws of one source; those of one ensemble share the chi-square that makes them Student."""
    if not source.ensemble:
        source.fill_unit(rng, unit)
        return
    if source.ensemble not in spreads:
        freedom = source.degrees_of_freedom
        spreads[source.ensemble] = np.sqrt(freedom / rng.chisquare(freedom, unit.size))
    rng.standard_normal(out=unit)
    unit *= spreads[source.ensemble]


def _summary(
    y: FloatArray, value: float, known: float, *, coverage: float, draws: int, seed: int, invalid: int | None
) -> MonteCarlo:
    """The figures of one result; `known` is the smallest number of degrees of freedom drawn as Student."""
    finite = np.isfinite(y)
    if not finite.all():
        y = y[finite]
    if y.size < 2:
        raise EntryError(
            f"None of the {draws} draws gave a finite number, so there is nothing to report; "
            "check the inputs.",
            given=str(draws),
        )
    mean, deviation = float(y.mean()), float(y.std(ddof=1))
    symmetric, shortest = coverage_intervals(y, coverage)
    return MonteCarlo(
        value=value if math.isfinite(value) else None,
        mean=mean if known > 1 else None,
        standard_uncertainty=deviation if known > 2 else math.inf,
        symmetric=symmetric,
        shortest=shortest,
        coverage=coverage,
        draws=draws,
        seed=seed,
        invalid=invalid,
        nonfinite=draws - y.size,
    )


def _require_settings(seed: int, draws: int, coverage: float) -> None:
    if not 0.5 <= coverage < 1:
        raise EntryError(words.BAD_COVERAGE.format(given=coverage, least=0.5), given=str(coverage))
    if not (isinstance(seed, int) and seed >= 0):
        raise EntryError(
            f"The seed {seed} cannot be used; give a whole number that is zero or larger.", given=str(seed)
        )
    least = math.ceil(10 / (1 - coverage))  # ten draws outside the interval
    if not (isinstance(draws, int) and draws >= least):
        sentence = words.TOO_FEW_DRAWS.format(given=draws, percent=f"{100 * coverage:g}", least=least)
        raise EntryError(sentence, given=str(draws))


# When first order can be trusted: its comparison with Monte Carlo (JCGM 101:2008, clause 8).


@dataclass(frozen=True)
class Agreement:
    """First order held against Monte Carlo for one quantity, in its unit; see `agreement`."""

    estimate: Estimate
    draws: MonteCarlo
    digits: int = 2

    @property
    def tolerance(self) -> float:
        """Half a unit of the last of `digits` significant digits of the standard uncertainty."""
        return numerical_tolerance(
            self.estimate.standard_uncertainty or self.draws.standard_uncertainty, self.digits
        )

    @property
    def bias(self) -> float | None:
        """Mean of the draws minus the first-order value; None if the draws have no mean."""
        return None if self.draws.mean is None else self.draws.mean - self.estimate.value

    @property
    def excess(self) -> float:
        """Standard uncertainty of the draws minus the first-order one."""
        return self.draws.standard_uncertainty - self.estimate.standard_uncertainty

    @property
    def ends(self) -> Interval:
        """Lower and upper end of the symmetric interval of the draws, minus those of y ± U."""
        half_width = self.estimate.expanded(self.draws.coverage)
        low, high = self.draws.symmetric
        return low - self.estimate.value + half_width, high - self.estimate.value - half_width

    @property
    def first_order_trusted(self) -> bool | None:
        """Value and standard uncertainty agree within the tolerance; None: cannot tell.

        A linear formula passes; one that is curved over the spread of its inputs does not.
        """
        if self.draws.nonfinite:
            return False
        if self.bias is None or math.isinf(self.excess):
            return None
        return self._judge(max(abs(self.bias), abs(self.excess)), 1.0)

    @property
    def interval_trusted(self) -> bool | None:
        """Both ends of y ± U agree within the tolerance as well; None: cannot tell.

        This is the whole test of clause 8. It also fails a linear formula whose largest source is not
        bell-shaped, for which value and standard uncertainty can still be quoted and propagated.
        """
        if not self.first_order_trusted:
            return self.first_order_trusted
        return self._judge(max(map(abs, self.ends)), self._scatter_of_ends)

    @property
    def sentence(self) -> str:
        """The verdict in words, its sizes as parts of a standard uncertainty and so without a unit."""
        facts = {
            "percent": f"{100 * self.draws.coverage:g}",
            "digits": self.digits,
            "draws": self.draws.draws,
            "count": self.draws.nonfinite,
        }
        if self.first_order_trusted:
            off = max(map(abs, self.ends)) / (self.estimate.standard_uncertainty or 1.0)
            needed = self._draws_needed(self._scatter_of_ends)
            choice = {True: words.TRUSTED, False: words.TRUSTED_BUT_INTERVAL, None: words.INTERVAL_UNRESOLVED}
            return choice[self.interval_trusted].format(off=f"{off:.2g}", needed=needed, **facts)
        if self.draws.nonfinite:
            return words.NOT_EVERY_DRAW.format(**facts)
        if self.bias is None or math.isinf(self.excess):
            return words.NOTHING_TO_COMPARE
        if self.first_order_trusted is None:
            return words.UNRESOLVED.format(needed=self._draws_needed(1.0), **facts)
        u = self.estimate.standard_uncertainty
        if u <= self._rounding:
            return words.NO_FIRST_ORDER
        return words.NOT_TRUSTED.format(
            bias=f"{abs(self.bias) / u:.2g}",
            side=words.BELOW if self.bias < 0 else words.ABOVE,
            ratio=f"{self.draws.standard_uncertainty / u:.3g}",
        )

    @property
    def _scatter_of_ends(self) -> float:
        """Standard deviation of a quantile of n normal draws, over that of their mean."""
        tail = (1.0 - self.draws.coverage) / 2.0
        bell = NormalDist()
        return math.sqrt(tail * (1.0 - tail)) / bell.pdf(bell.inv_cdf(tail))

    @property
    def _rounding(self) -> float:
        """Where a result has no uncertainty at all, only the rounding of the arithmetic is left."""
        return 1e-12 * abs(self.estimate.value)

    def _judge(self, worst: float, scatter: float) -> bool | None:
        """Is `worst` within the tolerance, as far as this number of draws can tell?"""
        noise = 2.0 * scatter * self.draws.standard_uncertainty / math.sqrt(self.draws.draws)
        tolerance = self.tolerance + self._rounding
        if worst > tolerance + noise:
            return False
        return worst <= tolerance if noise <= tolerance else None

    def _draws_needed(self, scatter: float) -> int:
        if self.tolerance == 0:
            return self.draws.draws
        return math.ceil((2.0 * scatter * self.draws.standard_uncertainty / self.tolerance) ** 2)


def agreement(estimate: Estimate, draws: MonteCarlo, digits: int = 2) -> Agreement:
    """Compare a first-order estimate with Monte Carlo of the same formula and inputs.

    Parameters
    ----------
    estimate, draws : the two results for one quantity
    digits : significant digits of the standard uncertainty that matter, from 1 to 3

    Raises
    ------
    EntryError : digits out of range

    Notes
    -----
    The interval compared is the probabilistically symmetric one: y ± U claims equal tails, and the ends
    are quantiles, which scatter less from seed to seed than those of the shortest interval. U takes the
    coverage of the draws and Student's factor for the effective degrees of freedom.
    Value and standard uncertainty are judged apart from the interval because the cures differ. A
    difference that the number of draws cannot settle is "cannot tell", not agreement.

    References
    ----------
    JCGM 101:2008, 7.9.2 (tolerance), 8.1 and 8.2
    """
    if digits not in (1, 2, 3):
        raise EntryError(
            f"A comparison to {digits} digits was asked for; give 1, 2 or 3 significant "
            "digits of the uncertainty.",
            given=str(digits),
        )
    return Agreement(estimate, draws, digits)


def numerical_tolerance(u: float, digits: int = 2) -> float:
    """Half a unit of the last of `digits` significant digits of u; JCGM 101:2008, 7.9.2.

    >>> numerical_tolerance(17.7), numerical_tolerance(0.0996)
    (0.5, 0.005)
    """
    if u == 0 or not math.isfinite(u):
        return 0.0
    exponent = int(f"{u:.{digits - 1}e}".partition("e")[2])
    return 0.5 * 10.0 ** (exponent - digits + 1)


# How many draws of a result fall where, for a picture: the draws of `monte_carlo`, made again and counted.
#
# `MonteCarlo` keeps no draws. Since block n of a seed is the same whatever is drawn before or after it, the
# first draws of a longer run can be made again alone.


@dataclass(frozen=True)
class Histogram:
    """Counts of draws between edges.

    Attributes
    ----------
    edges : n + 1 of them, rising, in the unit of the result
    counts : n of them
    below, above : draws outside the edges
    nonfinite : draws without a finite result
    draws, seed : they make the counts again
    """

    edges: tuple[float, ...]
    counts: tuple[int, ...]
    below: int
    above: int
    nonfinite: int
    draws: int
    seed: int

    @property
    def density(self) -> tuple[float, ...]:
        """Part of the finite draws in each bin over its width."""
        finite = self.draws - self.nonfinite
        widths = np.diff(self.edges)
        return tuple((np.array(self.counts) / (finite * widths)).tolist())


def histogram(
    function: Callable[..., Any],
    inputs: Sequence[Input],
    *,
    seed: int,
    edges: Sequence[float],
    draws: int = 8 * BLOCK,
) -> Histogram:
    """Count the first draws of a result.

    Parameters
    ----------
    function, inputs, seed : as for `monte_carlo`; one result
    edges : of the bins, rising, in the unit of the result
    draws : how many

    Examples
    --------
    >>> from labkit.uncertainty.components import uncertain
    >>> x = uncertain("x", 0.0, "rectangular", 1.0)
    >>> counted = histogram(lambda x: x, [x], seed=1, edges=[-1.0, 0.0, 0.5], draws=10_000)
    >>> sum(counted.counts) + counted.above, counted.below
    (10000, 0)
    """
    bounds: FloatArray = np.array(edges)
    counts = np.zeros(bounds.size + 1, dtype=int)  # what lies below and above included
    nonfinite = 0
    with np.errstate(all="ignore"):  # a draw without an answer is counted, not warned about
        for block in blocks(inputs, seed, draws):
            y = np.broadcast_to(np.asarray(function(*block), dtype=float), block.shape[1:])
            finite = y[np.isfinite(y)]
            nonfinite += y.size - finite.size
            places = np.searchsorted(bounds, finite, side="right")
            counts += np.bincount(places, minlength=counts.size)
    below, *inside, above = counts.tolist()
    return Histogram(tuple(bounds.tolist()), tuple(inside), below, above, nonfinite, draws, seed)
