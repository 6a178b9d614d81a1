"""The lead residual that a record supports, and the card that carries it."""

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal

from labkit.analysis.observations import Observation
from labkit.bench.card import Card, LeadResidual
from labkit.bench.card_writing import card_toml
from labkit.uncertainty.component import Component


@dataclass(frozen=True)
class Residual:
    """What zeroed leads still read, and how far off that may be.

    Attributes
    ----------
    leads : the reading of the leads alone, both clips on one node, zeroed
    card : of the meter that read them
    """

    leads: Observation
    card: Card

    @property
    def value(self) -> str:
        """What the leads add, as shown or as the mean of the repeats in the same unit and digits."""
        return self._text(Decimal(repr(self.leads.value)))

    @property
    def limit(self) -> str:
        """How far off it may be: the card's limits, half a count and twice the scatter, rounded up."""
        widths = (abs(weight) * _reach(source) for source, weight in self.leads.input.terms)
        return self._text(Decimal(repr(sum(widths))), up=True)

    @property
    def card_text(self) -> str:
        """TOML of the card with this residual in it."""
        residual = LeadResidual(inductance=self.value, limit=self.limit)
        return card_toml(self.card.model_copy(update={"lead_residual": residual}))

    def _text(self, size: Decimal, *, up: bool = False) -> str:
        """A size in H with the unit and the last digit of what was shown."""
        shown = self.leads.readings[0].shown
        last = Decimal((0, (1,), int(Decimal(shown.digits).as_tuple().exponent)))
        digits = size.scaleb(-shown.power).quantize(last, ROUND_CEILING if up else ROUND_HALF_EVEN)
        return f"{digits:f} {shown.unit}"


def _reach(source: Component) -> float:
    """How far an error may go: its limit, or twice the standard uncertainty where it has none."""
    return source.scale if source.distribution == "rectangular" else 2 * source.standard_uncertainty
