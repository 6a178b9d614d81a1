"""What a card allows at one value, in words and numbers: a card is read back with it before it is stored."""

from contextlib import suppress
from dataclasses import dataclass
from decimal import Context, Decimal

from labkit import quantity
from labkit.bench.card import Card, Range
from labkit.bench.card_lines import plain
from labkit.errors import EntryError
from labkit.quantity import Quantity
from labkit.show import Part, Shown, Text
from labkit.uncertainty.component import Input
from labkit.words import card_form as words


@dataclass(frozen=True)
class Allowed(Shown):
    """What a card allows at one value: the manual's limits, with numbers put in.

    Attributes
    ----------
    card, on : the card, and the range that serves the value
    shown, frequency : as typed
    limit : half-width of the limits of error, exact, in the value's SI unit
    standard_uncertainty : of a reading of this value on this range: limits and display step, SI unit
    """

    card: Card
    on: Range
    shown: Quantity
    frequency: Quantity | None
    limit: Decimal
    standard_uncertainty: float

    @property
    def where(self) -> str:
        """Value, frequency and range."""
        at = words.AT.format(frequency=self.frequency) if self.frequency else ""
        return words.WHERE.format(shown=self.shown, at=at, range=self.on.name)

    @property
    def formula(self) -> str:
        """The limits with numbers put in: ±(0.3 % of 10.00 mH + 5 × 0.001 mH) = ±0.035 mH."""
        return words.FORMULA.format(
            shown=self.shown,
            percent=plain(self.on.percent),
            digits=plain(self.on.digits),
            count=_in_unit(_size(self.on.digit, self.on).exact, self.shown),
            limit=_in_unit(self.limit, self.shown),
        )

    @property
    def u(self) -> str:
        """The standard uncertainty in words, to two digits."""
        return words.STANDARD.format(u=_in_unit(_two_digits(self.standard_uncertainty), self.shown))

    @property
    def remarks(self) -> tuple[str, ...]:
        """What low Q does to the limits if the card says so, and the question whether all this is so."""
        if self.card.low_q is None:
            return (words.IS_IT_SO,)
        D = f"{self.card.low_q.above_dissipation_factor:g}"
        return words.LOW_Q.format(D=D), words.IS_IT_SO

    @property
    def sentences(self) -> tuple[str, ...]:
        """The limits in words and numbers, and the remarks."""
        return words.ALLOWED.format(where=self.where, formula=self.formula, u=self.u), *self.remarks

    def parts(self) -> tuple[Part, ...]:
        limits, *more = self.sentences
        return (Text(limits, "strong"), *(Text(sentence, "note") for sentence in more))


def allowed(card: Card, shown: str, frequency: str | None = None) -> Allowed:
    """What a card allows at a typical value, on the smallest range that reaches it, with all its digits.

    Raises
    ------
    EntryError, CardError
        with one sentence.
    """
    value = _of_any(shown, tuple(dict.fromkeys(on.quantity for on in card.ranges)))
    f = quantity.parse(frequency, "frequency") if frequency and frequency.strip() else None
    reaching = [
        on
        for on in card.ranges
        if on.quantity == value.kind
        and on.serves(f.value if f else None)
        and abs(value.value) <= on.full_scale
    ]
    displayed = _on_display(value, min(reaching, key=lambda on: on.full_scale)) if reaching else value
    on = card.range_for(displayed, f)
    percent, digits, count = Decimal(repr(on.percent)), Decimal(repr(on.digits)), _size(on.digit, on)
    limit = percent / 100 * abs(value.exact) + digits * count.exact
    terms = card.terms(displayed, "typical", meter=card.id, frequency=f)
    return Allowed(card, on, value, f, limit, Input("typical", value.value, terms).standard_uncertainty)


def _of_any(shown: str, kinds: tuple[str, ...]) -> Quantity:
    """A value of the first of these quantities that it can be; the refusal of the first if it is none."""
    for kind in kinds:
        with suppress(EntryError):
            return quantity.parse(shown, kind)
    return quantity.parse(shown, kinds[0])


def _size(text: str, on: Range) -> Quantity:
    return quantity.parse(text, on.quantity)


def _on_display(value: Quantity, on: Range) -> Quantity:
    """The value as the range would show it: in its unit, with at least the digits that it has."""
    top = _size(on.up_to, on)
    digits, full = value.exact.scaleb(-top.power), Decimal(top.digits)
    if _exponent(digits) > _exponent(full):
        digits = digits.quantize(full)
    return quantity.parse(f"{digits:f} {top.unit}", value.kind)


def _in_unit(size: Decimal, like: Quantity) -> str:
    """A size in SI units, all its digits, in the unit of another quantity."""
    return f"{size.scaleb(-like.power).normalize():f} {like.unit}"


def _two_digits(size: float) -> Decimal:
    return Context(prec=2).create_decimal(repr(size))


def _exponent(number: Decimal) -> int:
    """Power of ten of the last digit."""
    return int(number.as_tuple().exponent)
