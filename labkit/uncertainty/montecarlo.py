"""Propagation of distributions by Monte Carlo (JCGM 101:2008), seeded, in blocks.

Only the results are kept; the inputs live in one block that is drawn over and over. Every block has a
random stream of its own, so block n is the same whatever is drawn before or after it.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias, overload

import numpy as np

from labkit.errors import EntryError
from labkit.uncertainty.component import Component, Input, sources_of
from labkit.uncertainty.distribution import FloatArray
from labkit.uncertainty.interval import Interval, coverage_intervals
from labkit.words import uncertainty as words

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
        raise EntryError(words.NO_FINITE_DRAW.format(draws=draws), given=str(draws))
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
        raise EntryError(words.BAD_SEED.format(given=seed), given=str(seed))
    least = math.ceil(10 / (1 - coverage))  # ten draws outside the interval
    if not (isinstance(draws, int) and draws >= least):
        sentence = words.TOO_FEW_DRAWS.format(given=draws, percent=f"{100 * coverage:g}", least=least)
        raise EntryError(sentence, given=str(draws))
