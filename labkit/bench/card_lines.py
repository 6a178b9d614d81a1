"""The accuracy table of a manual, one range a line, in a notation that is quick to type and to paste.

    200 µH   199.99 µH   0.3 %   5 digits   1 kHz, 10 kHz
    2 mH   1.9999 mH   0.1 µH   0.3 % + 5 counts   1 kHz

From left to right: the range as the meter calls it, its largest display, the value of one count if the
manual gives it (else it is the last digit of the largest display), percent of the reading, digits, and the
test frequencies that the line holds for. How wide the gaps are does not matter; tabs, bars and semicolons are
gaps too. The unit says which quantity it is. Nothing is filled in: what a line lacks, its refusal names.
"""

import math
import re
from dataclasses import dataclass
from decimal import Decimal

from pydantic import ValidationError

from labkit import quantity
from labkit.bench.card import Range
from labkit.errors import EntryError
from labkit.quantity import KINDS, Quantity
from labkit.quantity.kinds import PREFIXES
from labkit.words import card_form as words

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
        return TableLine(number, text, None, words.LINE.format(number=number, refusal=error))
    except ValidationError:
        return TableLine(number, text, None, words.LINE.format(number=number, refusal=words.TOO_LARGE))


def _range(text: str) -> Range:
    percent = _PERCENT.fullmatch(text)
    if percent is None:
        raise EntryError(words.NO_PERCENT, text)
    digits = _DIGITS.fullmatch(percent["right"])
    if digits is None:
        raise EntryError(words.NO_DIGITS, text)
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
        raise EntryError(words.NO_DISPLAY, text)
    before, above = _cut(rest)
    if above is None or above.kind != last.kind or last.exact * LEAST_COUNTS > above.exact:
        name, up_to, count = rest, last, None
    else:
        name, up_to, count = before, above, last
    if not name:
        raise EntryError(words.NO_NAME.format(up_to=up_to), text)
    if count and not math.isclose(count.value, up_to.last_digit, rel_tol=1e-9):
        raise EntryError(words.COUNT.format(up_to=up_to, last=_last_digit(up_to), count=count), text)
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
        raise EntryError(words.NO_FREQUENCY, text)
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
