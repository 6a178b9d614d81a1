"""A meter's card: what its manual says about accuracy, and the error components a reading gets from it.

A card is TOML of our own schema (see data/cards/README.md). A statement ±(percent of reading + digits)
becomes separate components, each with expectation zero (JCGM 100:2008, 4.3.7 for the limits, F.2.2.1 for
the step):

    gain    rectangular, ±percent of the value; one error for all readings on one range of one meter
    digits  rectangular, ±digits counts; one error for all repeats of one reading
    step    rectangular, ± half a count of what the display showed

The gain is normally *shared* within (meter, quantity, range), so that it cancels in ratios of that range.
How much of a percentage is truly shared is an assumption: `gain="independent"` gives every reading its
own.
"""

import math
import tomllib
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal
from functools import cached_property
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from labkit import quantity
from labkit.errors import CardError, CardMissing, EntryError
from labkit.quantity import Quantity
from labkit.uncertainty.components import Component
from labkit.words import record as words

MOST_TEXT, MOST_LINE = 64 * 1024, 2000  # characters; reading TOML takes the square of a long line's keys

Gain = Literal["shared", "independent"]
Term = tuple[Component, float]


def _states(kind: str) -> AfterValidator:
    def check(text: str) -> str:
        quantity.parse(text, kind)
        return text

    return AfterValidator(check)


Shown = str
Inductance = Annotated[str, _states("inductance")]
Frequency = Annotated[str, _states("frequency")]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


class Range(_Part):
    """One line of the accuracy table: a range of one quantity at some frequencies."""

    quantity: Literal["inductance", "resistance", "capacitance"]
    name: str = Field(min_length=1, max_length=40)
    up_to: str
    digit: str
    percent: float = Field(ge=0, lt=100, allow_inf_nan=False)
    digits: float = Field(ge=0, lt=10_000, allow_inf_nan=False)
    frequencies: tuple[Frequency, ...] = Field(min_length=1)

    @cached_property
    def full_scale(self) -> float:
        """Largest value that the range displays, SI base unit."""
        return quantity.parse(self.up_to, self.quantity).value

    @cached_property
    def unit(self) -> str:
        """Unit that the range displays, such as "mH"."""
        return quantity.parse(self.up_to, self.quantity).unit

    @cached_property
    def count(self) -> float:
        """Value of one count of the last digit, SI base unit."""
        return quantity.parse(self.digit, self.quantity).value

    @cached_property
    def frequencies_Hz(self) -> tuple[float, ...]:
        """Test frequencies that this line holds for, in Hz."""
        return tuple(quantity.parse(f, "frequency").value for f in self.frequencies)

    @property
    def accuracy(self) -> tuple[float, float, float]:
        """(percent, digits, value of a count): what has to agree for two lines to say the same."""
        return self.percent, self.digits, self.count

    def limit(self, value: float) -> float:
        """Limit of error ±(percent + digits) for an indication, in its SI unit; without low-Q derating."""
        return self.percent / 100 * abs(value) + self.digits * self.count

    def display(self, value: float) -> Quantity:
        """What the range shows of a value in its SI unit: whole counts, in its own unit.

        >>> on = Range(quantity="inductance", name="20 mH", up_to="19.999 mH", digit="1 µH", percent=0.3,
        ...            digits=5, frequencies=("10 kHz",))
        >>> print(on.display(6.20049e-3))
        6.200 mH
        """
        full = quantity.parse(self.up_to, self.quantity)
        step = Decimal((0, (1,), int(full.exact.as_tuple().exponent)))
        exact = (Decimal(value) / step).quantize(Decimal(1), ROUND_HALF_EVEN) * step
        digits = exact / (full.exact / Decimal(full.digits))
        places = -int(Decimal(full.digits).as_tuple().exponent)
        return quantity.parse(f"{digits:.{places}f} {full.unit}", self.quantity)

    def serves(self, frequency: float | None) -> bool:
        """Whether the line holds at a frequency in Hz; an unrecorded frequency rules nothing out."""
        return frequency is None or any(math.isclose(frequency, f, rel_tol=1e-6) for f in self.frequencies_Hz)


class LeadResidual(_Part):
    """Inductance that leads and clips add after zeroing, and the limit of what is known about it."""

    inductance: Inductance
    limit: Inductance


class LowQ(_Part):
    """Above this dissipation factor D the stated accuracy is multiplied by sqrt(1 + D²)."""

    above_dissipation_factor: float = Field(gt=0, allow_inf_nan=False)


class Card(_Part):
    """A meter's accuracy statement; read it with `read_card` or `parse_card`."""

    schema_version: Literal[1] = Field(alias="schema")
    id: str = Field(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")
    title: str = Field(min_length=1, max_length=120)
    invented: bool
    source: str = Field(min_length=1, max_length=400)
    calibrated: date | None = None
    calibration_due: date | None = None
    lead_residual: LeadResidual | None = None
    low_q: LowQ | None = None
    ranges: tuple[Range, ...] = Field(min_length=1)

    def range_for(self, shown: Quantity, frequency: Quantity | None = None) -> Range:
        """The range that a reading was shown on.

        It is a range of the quantity that reaches the value and holds at the frequency. Among several, those
        in the unit shown come first, and of these the one whose count is the last digit shown; failing that,
        the smallest.

        Raises
        ------
        CardError
            if no range covers the reading, or if the accuracy depends on a frequency that was not recorded.
        """
        f = frequency.value if frequency else None
        fitting = [
            r
            for r in self.ranges
            if r.quantity == shown.kind and r.serves(f) and abs(shown.value) <= r.full_scale * (1 + 1e-9)
        ]
        fitting = [r for r in fitting if r.unit == shown.unit] or fitting
        as_shown = [r for r in fitting if math.isclose(r.count, shown.last_digit, rel_tol=1e-6)]
        smallest = min((r.full_scale for r in as_shown or fitting), default=None)
        candidates = [r for r in as_shown or fitting if r.full_scale == smallest]
        if not candidates:
            covered = ", ".join(
                f"{r.name} at {' / '.join(r.frequencies)}" for r in self.ranges if r.quantity == shown.kind
            )
            at = str(frequency) if frequency else words.UNKNOWN_FREQUENCY
            raise CardError(
                words.NO_RANGE.format(
                    card=self.id, shown=shown, frequency=at, covered=covered or "nothing of this quantity"
                )
            )
        if len({r.accuracy for r in candidates}) > 1:
            raise CardError(
                f"The card {self.id} has different accuracies for {shown} depending on the "
                "frequency, and the reading has none; record the test frequency."
            )
        return candidates[0]

    def derating(self, dissipation_factor: float | None) -> float:
        """Factor on the accuracy at low Q: sqrt(1 + D²) above the card's D, else 1."""
        D = dissipation_factor
        if D is None or self.low_q is None or D <= self.low_q.above_dissipation_factor:
            return 1.0
        return math.sqrt(1 + D * D)

    def limit(
        self, shown: Quantity, frequency: Quantity | None = None, dissipation_factor: float | None = None
    ) -> float:
        """Limit of error of a reading, in its SI unit."""
        return self.range_for(shown, frequency).limit(shown.value) * self.derating(dissipation_factor)

    def terms(
        self,
        shown: Quantity,
        key: str,
        *,
        meter: str,
        frequency: Quantity | None = None,
        dissipation_factor: float | None = None,
        gain: Gain = "shared",
    ) -> tuple[Term, ...]:
        """Error components of one reading with their half-widths, in the reading's SI unit.

        Parameters
        ----------
        shown : what the display showed
        key : names the reading; repeats of one reading share it
        meter : the meter's name on this bench; readings share a gain only within one meter
        frequency, dissipation_factor : as recorded, None if not
        gain : "shared" within (meter, quantity, range) or "independent" for each key

        Raises
        ------
        CardError
        """
        if gain not in ("shared", "independent"):
            raise CardError(
                f"gain was given as '{gain}', but it is either 'shared' or 'independent'; choose one of them."
            )
        on = self.range_for(shown, frequency)
        factor = self.derating(dissipation_factor)
        scope = f"{meter}, {on.quantity}, range {on.name}" if gain == "shared" else key
        components = (
            (_rectangular("gain", scope), on.percent / 100 * abs(shown.value) * factor),
            (_rectangular("digits", key), on.digits * on.count * factor),
            (_rectangular("display step", key), shown.last_digit / 2),
        )
        return tuple((component, width) for component, width in components if width > 0)


def _rectangular(label: str, scope: str) -> Component:
    return Component(f"{label} ({scope})", "rectangular", 1.0, label=label)


def parse_card(text: str, name: str = "") -> Card:
    """Read a card from TOML text; raises CardError with one sentence."""
    if len(text) > MOST_TEXT or max(map(len, text.split("\n"))) > MOST_LINE:
        raise CardError(
            f"The meter card {name} has more than {MOST_TEXT} characters, or {MOST_LINE} in "
            "one line; no manual needs that, so start from a card in data/cards."
        )
    try:
        content = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise CardError(words.NOT_TOML.format(name=name, detail=error)) from None
    if content.get("schema", 1) != 1:
        raise CardError(words.SCHEMA.format(name=name, given=content["schema"]))
    try:
        card = Card.model_validate(content)
        for line in card.ranges:
            _check_digit(line, name)
    except ValidationError as error:
        raise CardError(_refusal(name, error)) from None
    except EntryError as error:
        facts = {"field": "ranges", "given": error.given, "accepted": str(error).rstrip(".")}
        raise CardError(words.FIELD.format(name=name, **facts)) from None
    return card


def _refusal(name: str, error: ValidationError) -> str:
    """One sentence for the first thing that is wrong; places in a list are counted from 1."""
    first = error.errors()[0]
    steps = [str(step + 1) if isinstance(step, int) else step for step in first["loc"]]
    field, given = ".".join(steps), repr(first["input"])[:60]
    if first["type"] == "missing":
        return words.CARD_MISSING.format(name=name, field=field)
    if first["type"] == "extra_forbidden":
        return words.CARD_UNKNOWN.format(name=name, field=field, given=given)
    accepted = first["msg"].removeprefix("Input ").removeprefix("Value error, ").rstrip(".")
    return words.FIELD.format(
        name=name, field=field, given=given, accepted=accepted[:1].lower() + accepted[1:]
    )


def _check_digit(line: Range, name: str) -> None:
    """`digit` says once more what the last digit of `up_to` is worth, so that a slip in either is noticed."""
    shown = quantity.parse(line.up_to, line.quantity)
    if not math.isclose(shown.last_digit, line.count, rel_tol=1e-9) or shown.value <= 0:
        raise CardError(
            f"The meter card {name} says for range {line.name} that it reaches up to "
            f"{line.up_to} and that one digit is {line.digit}, but the last digit of "
            f"{line.up_to} is worth something else; write up_to with all digits that the "
            "display has."
        )


def read_card(path: str | Path) -> Card:
    """Read a card from a TOML file; raises CardError with one sentence."""
    return parse_card(card_text(Path(path)), Path(path).name)


def card_text(card: str | Path) -> str:
    """A card's text: the file's if its path is given (one line that ends in .toml), else the text itself.

    Raises
    ------
    CardMissing
        if the file cannot be read.
    CardError
        if it is not text in UTF-8.
    """
    if isinstance(card, str) and ("\n" in card or not card.endswith(".toml")):
        return card
    try:
        with Path(card).open(encoding="utf-8") as file:
            return file.read(MOST_TEXT + 1)
    except OSError as error:
        raise CardMissing(
            f"The meter card {card} cannot be read ({error.strerror}); check the path, or "
            "copy a card from data/cards."
        ) from None
    except UnicodeDecodeError as error:
        raise CardError(words.NOT_TOML.format(name=Path(card).name, detail=error)) from None
