"""When first order can be trusted: its comparison with Monte Carlo (JCGM 101:2008, clause 8)."""

import math
from dataclasses import dataclass
from statistics import NormalDist

from labkit.errors import EntryError
from labkit.uncertainty.estimate import Estimate
from labkit.uncertainty.interval import Interval
from labkit.uncertainty.montecarlo import MonteCarlo
from labkit.words import uncertainty as words


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
        raise EntryError(words.BAD_DIGITS.format(given=digits), given=str(digits))
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
