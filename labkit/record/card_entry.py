"""From the accuracy page of a manual to a meter card: written down, read back, then stored.

`write_card` makes a draft; the draft says what it allows for a typical value, in words and numbers, and is
stored only once a person has confirmed that the manual says the same. What the manual does not state stays
out. A file that is there is never overwritten.
"""

import math
import os
import re
import secrets
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from decimal import Context, Decimal
from pathlib import Path
from typing import Any

import tomli_w
from pydantic import ValidationError

from labkit import quantity
from labkit.errors import CardError, EntryError
from labkit.quantity import KINDS, Quantity
from labkit.quantity.kinds import PREFIXES
from labkit.record.card import Card, Range, parse_card
from labkit.record.state import Answer
from labkit.show import Heading, Part, Shown, Table, Text
from labkit.uncertainty.components import Input
from labkit.words import record as words

# The accuracy table of a manual, one range a line, in a notation that is quick to type and to paste.
#
#     200 µH   199.99 µH   0.3 %   5 digits   1 kHz, 10 kHz
#     2 mH   1.9999 mH   0.1 µH   0.3 % + 5 counts   1 kHz
#
# From left to right: the range as the meter calls it, its largest display, the value of one count if the
# manual gives it (else it is the last digit of the largest display), percent of the reading, digits, and
# the test frequencies that the line holds for. How wide the gaps are does not matter; tabs, bars and
# semicolons are gaps too. The unit says which quantity it is. Nothing is filled in: what a line lacks, its
# refusal names.

KIND_BY_LETTER = {"h": "inductance", "f": "capacitance", "ω": "resistance", "m": "resistance"}
"""The last letter of a unit, in small: Ω and ohm are both resistance."""
LEAST_COUNTS = 50  # no display has fewer: what is smaller than its largest value by more is one count

_NUMBER = r"[0-9.,]+"
_QUANTITY = rf"{_NUMBER} ?[A-Za-zµ\u03bcΩ\u2126]+"
_LAST_QUANTITY = re.compile(rf"(?:(?P<rest>.*) )?(?P<last>{_QUANTITY})")
_PERCENT = re.compile(rf"(?P<left>.*?)[±( ]*(?P<percent>{_NUMBER} ?%)(?P<right>.*)")
_DIGITS = re.compile(
    r"[ ,+]*(?:of (?:the )?(?:reading|value) ?)?[ ,+]*"
    rf"(?P<digits>{_NUMBER}) ?(?:digits?|counts?)\b[ ,)]*(?P<at>.*)"
)
_GAPS = re.compile(r"[\s;|]+")
_BETWEEN_FREQUENCIES = re.compile(r"(?<=[A-Za-z]) ?[,/&] ?|(?<=[A-Za-z]) (?=[0-9])")


@dataclass(frozen=True)
class TableLine:
    """One typed line: its number from 1, its text, and the range it states or why it cannot be taken."""

    number: int
    text: str
    range: Range | None
    refusal: str | None = None


def table_lines(text: str) -> tuple[TableLine, ...]:
    """The lines of a table, in order; blank ones are left out and keep their number.

    >>> [line.range.name for line in table_lines("200 µH  199.99 µH  0.3 %  5 digits  1 kHz")]
    ['200 µH']
    >>> table_lines("200 µH  199.99 µH  5 digits  1 kHz")[0].refusal
    'Line 1: no percentage; add the percent of the reading from the manual, such as 0.3 % (0 % if none).'
    """
    return tuple(_line(n, line) for n, line in enumerate(text.splitlines(), start=1) if line.strip())


def ten_times(on: Range) -> str:
    """The line of the next range of a meter that counts alike in each: all sizes ten times those of this one.

    >>> line, = table_lines("200 µH  199.99 µH  0.3 %  5 digits  1 kHz")
    >>> ten_times(line.range)
    '2 mH  1.9999 mH  0.3 %  5 digits  1 kHz'
    """
    up_to = _decade_up(quantity.parse(on.up_to, on.quantity))
    accuracy = f"{plain(on.percent)} %  {plain(on.digits)} digits"
    return f"{_name_up(on)}  {up_to}  {accuracy}  {', '.join(on.frequencies)}"


def _line(number: int, text: str) -> TableLine:
    try:
        return TableLine(number, text, _range(_GAPS.sub(" ", text).strip()))
    except EntryError as error:
        return TableLine(number, text, None, words.CARD_FORM_LINE.format(number=number, refusal=error))
    except ValidationError:
        return TableLine(
            number, text, None, words.CARD_FORM_LINE.format(number=number, refusal=words.TOO_LARGE)
        )


def _range(text: str) -> Range:
    percent = _PERCENT.fullmatch(text)
    if percent is None:
        raise EntryError(
            "no percentage; add the percent of the reading from the manual, such as 0.3 % (0 % if none).",
            text,
        )
    digits = _DIGITS.fullmatch(percent["right"])
    if digits is None:
        raise EntryError(
            "no number of digits after the percentage; add it with its word, such as 5 "
            "digits (0 digits if none).",
            text,
        )
    name, up_to, count = _sizes(percent["left"].strip())
    fields = {
        "quantity": up_to.kind,
        "name": name,
        "up_to": str(up_to),
        "digit": str(count) if count else _last_digit(up_to),
        "percent": quantity.parse(percent["percent"], "percentage").value,
        "digits": quantity.parse(digits["digits"], "number").value,
        "frequencies": _frequencies(digits["at"].strip()),
    }
    return Range.model_validate(fields)


def _sizes(text: str) -> tuple[str, Quantity, Quantity | None]:
    """Name, largest display and one count (None if not given) from what stands before the percent."""
    rest, last = _cut(text)
    if last is None:
        raise EntryError(
            "no largest display before the percentage; add what the range shows at most, "
            "with all its digits, such as 199.99 µH.",
            text,
        )
    before, above = _cut(rest)
    if above is None or above.kind != last.kind or last.exact * LEAST_COUNTS > above.exact:
        name, up_to, count = rest, last, None
    else:
        name, up_to, count = before, above, last
    if not name:
        raise EntryError(
            f"only one size, {up_to}, before the percentage; write the range as the meter "
            "calls it and then its largest display, such as 200 µH  199.99 µH.",
            text,
        )
    if count and not math.isclose(count.value, up_to.last_digit, rel_tol=1e-9):
        raise EntryError(
            f"the last digit of {up_to} is worth {_last_digit(up_to)}, but one count is "
            f"given as {count}; write the largest display with all the digits that it has.",
            text,
        )
    return name, up_to, count


def _cut(text: str) -> tuple[str, Quantity | None]:
    """The text before its last quantity, and that quantity; None if the text does not end in one."""
    match = _LAST_QUANTITY.fullmatch(text)
    if match is None:
        return text, None
    kind = KIND_BY_LETTER.get(match["last"][-1].lower())
    if kind is None:
        raise EntryError(words.NO_KIND.format(given=match["last"]), text)
    return match["rest"] or "", quantity.parse(match["last"], kind)


def _last_digit(up_to: Quantity) -> str:
    """One count of a display that shows this, in its unit."""
    places = Decimal(up_to.digits).as_tuple().exponent
    return f"{Decimal((0, (1,), int(places))):f} {up_to.unit}"


def _frequencies(text: str) -> tuple[str, ...]:
    text = text.removeprefix("at ")
    if not text:
        raise EntryError("no test frequency; add those that the line holds for, such as 1 kHz, 10 kHz.", text)
    return tuple(str(quantity.parse(each, "frequency")) for each in _BETWEEN_FREQUENCIES.split(text))


def _name_up(on: Range) -> str:
    """The name of the next range, if the name is a size; any other name stays as it is."""
    try:
        size = quantity.parse(on.name, on.quantity)
    except EntryError:
        return on.name
    digits, _, unit = _decade_up(size).partition(" ")
    return f"{Decimal(digits).normalize():f} {unit}"


def _decade_up(size: Quantity) -> str:
    """A size ten times as large, with as many digits, in the unit in which it is at least 1."""
    kind, exact = KINDS[size.kind], size.exact.scaleb(1)
    powers = {PREFIXES[prefix]: prefix for prefix in kind.prefixes}
    power = max((p for p in powers if p <= exact.adjusted()), default=min(powers))
    return f"{exact.scaleb(-power):f} {powers[power]}{kind.symbol}"


def plain(number: float) -> str:
    """A number as a manual prints it, without a power of ten or a needless point."""
    return f"{Decimal(repr(number)).normalize():f}"


# The fields of a meter card as a person gives them: each is taken, or refused with one sentence.

LONGEST = {"title": 120, "source": 400}
LONGEST_ID = 40
_ID_CHARACTERS = set("abcdefghijklmnopqrstuvwxyz0123456789-")


def checked_text(text: str, field: str) -> str:
    """Title or source; CardError if there is none, or too much of it."""
    text = _given(text, field)
    if len(text) > LONGEST[field]:
        raise CardError(
            f"The card cannot be written yet: {words.FIELDS[field]} has more than "
            f"{LONGEST[field]} characters; shorten it."
        )
    return text


def checked_id(text: str) -> str:
    """The card's id; CardError if it is not one."""
    text = _given(text, "id")
    if len(text) > LONGEST_ID or text[0] == "-" or not set(text) <= _ID_CHARACTERS:
        raise CardError(words.BAD_ID.format(given=text[:60], limit=LONGEST_ID))
    return text


def checked_date(given: str | date | None, field: str) -> date | None:
    """A date from "2031-01-15"; None if none is stated; CardError if it is no date."""
    if given is None or isinstance(given, date):
        return given
    try:
        return date.fromisoformat(given.strip())
    except ValueError:
        raise CardError(words.BAD_DATE.format(field=words.FIELDS[field], given=given[:60])) from None


def checked_leads(leads: tuple[str, str] | None) -> dict[str, str] | None:
    """Lead residual from its value and limit; None if none is stated; CardError if one cannot be read."""
    if leads is None:
        return None
    try:
        inductance, limit = map(quantity.parse, leads)
    except ValueError as error:
        raise CardError(words.BAD_LEADS.format(reason=str(error).rstrip("."))) from None
    if limit.negative:
        raise CardError(words.BAD_LEADS.format(reason=f"its limit is {limit}, below zero"))
    return {"inductance": str(inductance), "limit": str(limit)}


def checked_low_q(given: float | str | None) -> dict[str, float] | None:
    """Low-Q rule from its dissipation factor; None if none is stated; CardError unless it is above zero."""
    if given is None:
        return None
    try:
        D = quantity.parse(str(given), "dissipation_factor").value
    except EntryError:
        D = 0.0
    if D <= 0:
        raise CardError(words.BAD_LOW_Q.format(given=str(given)[:60]))
    return {"above_dissipation_factor": D}


def checked_ranges(table: str) -> tuple[Range, ...]:
    """The ranges of a table; CardError with the first line that cannot be taken or disagrees with another."""
    lines = table_lines(_given(table, "ranges"))
    for line in lines:
        if line.refusal:
            raise CardError(line.refusal)
    ranges = tuple(line.range for line in lines if line.range)
    for place, second in enumerate(ranges):
        for first in ranges[:place]:
            _check_pair(first, second)
    return ranges


def _check_pair(first: Range, second: Range) -> None:
    """Two lines of one range hold for different frequencies and reach the same value."""
    if (first.quantity, first.name) != (second.quantity, second.name):
        return
    if first.up_to != second.up_to:
        ends = {"one": first.up_to, "other": second.up_to}
        raise CardError(words.TWO_ENDS.format(name=first.name, **ends))
    shared = sorted(set(first.frequencies_Hz) & set(second.frequencies_Hz))
    if shared:
        at = first.frequencies[first.frequencies_Hz.index(shared[0])]
        raise CardError(
            f"Range {first.name} is stated twice at {at}; keep the line that the manual has "
            "for that frequency."
        )


def _given(text: str, field: str) -> str:
    if not isinstance(text, str) or not text.strip():
        raise CardError(
            f"The card cannot be written yet: {words.FIELDS[field]} is missing; give it, "
            f"such as {words.EXAMPLES[field]}."
        )
    return text.strip()


# What a card allows at one value, in words and numbers: a card is read back with it before it is stored.


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


class CardDraft(Shown):
    """A card that is not stored yet; `write_card` makes it.

    Attributes
    ----------
    card : Card
    text : its TOML, which `parse_card` reads back to an equal card
    read_back : the values that were read back so far, in words
    """

    def __init__(self, card: Card) -> None:
        self.card = card
        self.text = card_toml(card)
        self.read_back: list[str] = []

    def allows(self, shown: str, frequency: str | None = None) -> Allowed:
        """What the card allows at a typical value, such as "10.00 mH" at "1 kHz": compare it with the manual.

        Raises
        ------
        EntryError, CardError
            if the value cannot be read or no range covers it.
        """
        found = allowed(self.card, shown, frequency)
        self.read_back.append(found.sentences[0])
        return found

    def store(self, where: str | Path = ".", *, confirmed: bool = False) -> Answer:
        """Store the card as a file, once it was read back and confirmed.

        Parameters
        ----------
        where : a folder, where the file is called after the card's id, or the path of a `.toml` file
        confirmed : say True when what was read back is what the manual allows

        Raises
        ------
        CardError
            if it was not read back or not confirmed, or if the file is there with other content; nothing is
            written.
        """
        if not self.read_back:
            raise CardError(words.READ_BACK_FIRST.format(id=self.card.id))
        if not confirmed:
            raise CardError(
                f"The card was NOT stored. It says: {self.read_back[-1]} If the manual allows "
                "the same, call store again with confirmed=True."
            )
        path = Path(where)
        path = path if path.suffix == ".toml" else path / f"{self.card.id}.toml"
        return Answer(
            (words.CARD_FORM_STORED if store_text(path, self.text) else words.THERE).format(path=path)
        )

    def parts(self) -> tuple[Part, ...]:
        rows = tuple(_row(on) for on in self.card.ranges)
        left_out = [words.FIELDS[name] for name in words.OPTIONAL if getattr(self.card, name) is None]
        heading = words.INVENTED if self.card.invented else words.TITLE
        parts: list[Part] = [
            Heading(heading.format(title=self.card.title)),
            Table(words.HEADER, rows, words.CAPTION.format(source=self.card.source)),
        ]
        if left_out:
            parts.append(Text(words.LEFT_OUT.format(fields=", ".join(left_out)), "note"))
        return (*parts, Text(words.CARD_FORM_NOT_STORED, "caution"))


def write_card(
    id: str,
    *,
    title: str,
    source: str,
    ranges: str,
    invented: bool = False,
    calibrated: str | date | None = None,
    calibration_due: str | date | None = None,
    low_q: float | str | None = None,
    leads: tuple[str, str] | None = None,
) -> CardDraft:
    """Draft of a meter card from what its manual states; read it back with `allows`, then `store` it.

    Parameters
    ----------
    id : name of the card: small letters, digits, hyphens
    title : the meter, as you call it
    source : where the figures stand, such as "manual, page 12"
    ranges : the accuracy table, one range a line; the notation stands in `labkit.record.card_entry`
    invented : True only for a card that no instrument stands behind
    calibrated, calibration_due : as on the sticker, "2031-01-15"; None if there is none
    low_q : dissipation factor above which the limits grow by sqrt(1 + D²); None if there is no such rule
    leads : inductance that the leads add after zeroing, and how far off it may be; None if unknown

    Raises
    ------
    CardError
        with one sentence for the first thing that is missing or cannot be taken.

    Examples
    --------
    >>> draft = write_card("fine", title="Fine (invented)", source="invented", invented=True,
    ...                    ranges="20 mH  19.999 mH  0.3 %  5 digits  1 kHz")
    >>> print(draft.allows("10.00 mH", "1 kHz").sentences[0])
    10.00 mH at 1 kHz, range 20 mH: the card allows ±(0.3 % of 10.00 mH + 5 × 0.001 mH) = ±0.035 mH, a
    standard uncertainty of 0.018 mH.
    """
    fields: dict[str, Any] = {
        "schema": 1,
        "id": checked_id(id),
        "title": checked_text(title, "title"),
        "invented": invented,
        "source": checked_text(source, "source"),
        "calibrated": checked_date(calibrated, "calibrated"),
        "calibration_due": checked_date(calibration_due, "calibration_due"),
        "lead_residual": checked_leads(leads),
        "low_q": checked_low_q(low_q),
        "ranges": [line.model_dump() for line in checked_ranges(ranges)],
    }
    return CardDraft(parse_card(_toml(fields), id))


def card_toml(card: Card) -> str:
    """The TOML text of a card; `parse_card` reads it back to an equal card."""
    return _toml(card.model_dump(by_alias=True))


def store_text(path: Path, text: str) -> bool:
    """Write a card's file whole or not at all; whether it was written, False if it is there already as such.

    Raises
    ------
    CardError
        if the file is there with other content, or cannot be written.
    """
    try:
        if path.exists() and path.read_bytes() == text.encode():
            return False
        _write_new(path, text.encode())
    except FileExistsError:
        raise CardError(
            f"{path} holds something else already and was NOT overwritten; give the card "
            "another id, or move that file away."
        ) from None
    except OSError as error:
        raise CardError(
            f"The card was NOT stored in {path} ({error.strerror}); choose a folder that is "
            "there and that you may write to."
        ) from None
    return True


def _write_new(path: Path, content: bytes) -> None:
    """A whole file under a new name; FileExistsError if the name is taken.

    The finished file gets its name as a second one, which fails if the name is taken; a rename would not.
    """
    unnamed = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        _write(unnamed, content)
        try:
            path.hardlink_to(unnamed)
        except FileExistsError:
            raise
        except OSError:  # a file system that knows no second names
            _write(path, content)
    finally:
        unnamed.unlink(missing_ok=True)


def _write(path: Path, content: bytes) -> None:
    with path.open("xb") as file:
        file.write(content)
        os.fsync(file.fileno())


def _toml(fields: Mapping[str, Any]) -> str:
    """TOML of a card's fields, those that are None left out, whole numbers without a needless point."""
    return tomli_w.dumps({name: _tidy(value) for name, value in fields.items() if value is not None})


def _tidy(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _tidy(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_tidy(inner) for inner in value]
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _row(on: Range) -> tuple[str, ...]:
    accuracy = words.ACCURACY.format(percent=plain(on.percent), digits=plain(on.digits))
    return on.quantity, on.name, on.up_to, on.digit, accuracy, ", ".join(on.frequencies)
