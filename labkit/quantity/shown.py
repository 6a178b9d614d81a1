"""A reading as the display gives it, taken as typed, asked about, or refused.

Nothing is guessed and nothing is repaired: an entry is plain, or asked (`AmbiguousEntry`), or refused
(`EntryError`), each time with one sentence. Kinds and units stand in `labkit.quantity.kinds`.

Digits. A *point* is always the decimal mark. A *comma* is the decimal mark too, except
between one to three digits that do not start with 0 and exactly three digits: `2,700` may be 2.7
or 2700 and is asked. Gaps, apostrophes and underscores between digits are refused, and so are powers
of ten. A sign stands directly before the digits; a plus is understood and not kept. `.5` is taken,
as some displays show it so; `5.` is refused, since a digit may be missing.

Units. Taken in exactly the spellings of the table, with any plain or no-break spaces before them. The same
letters in other capitals are *asked*: `mh`, `Mh` and `MH` (mH or MH), `uh` (µH). `khz` and `KHz`
are unmistakable, as no other prefix has that letter, and so is `Mhz`: a capital M is mega.
`mhz` and `mHz` are asked, as a test frequency in millihertz is as unlikely as an inductance in
megahenry; the unlikely one of such a pair can be written out (megahenry) or given in Hz.

Signs. A frequency must be above zero. All else may be negative, as on a real meter, and `negative` says so.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NoReturn

from labkit.errors import AmbiguousEntry, EntryError
from labkit.quantity.kinds import KINDS, PREFIXES, accepted_units, spelled
from labkit.words import quantity as words

MAX_CHARACTERS = 44
MAX_DIGITS = 30  # leaves room for sign, space and unit, so that a printed quantity can always be read back

_SPACES = " \u00a0\u2007\u2009\u202f"  # plain, no-break, figure, thin, narrow no-break
# The left-hand characters look the same as the right-hand ones and mean the same here.
_TWINS = str.maketrans(
    {"\u03bc": "µ", "\u2126": "Ω", "\u2103": "°C", "\u00ba": "°", "\u2212": "-"} | dict.fromkeys(_SPACES, " ")
)
_NUMBER = re.compile(r"([+-]?)([0-9.,]*[0-9][0-9.,]*)(.*)")
_GROUP = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
# What is refused at sight, in this order.
_NOT_DIGITS = (
    (r"^[+-]?([o0]\.?l\.?|over(load|range)?|inf|infinity|∞)( [^0-9]*)?$", words.OVER_RANGE),
    (r"^[+-]?nan( [^0-9]*)?$", words.NOT_A_NUMBER),
    (r"[0-9.,] ?(e ?[+-]?[0-9]|[x×*·^] ?[0-9])", words.POWER_OF_TEN),
    (r"[0-9.,][ '’_]+[0-9.,]", words.GROUPED),
)


@dataclass(frozen=True, slots=True)
class Quantity:
    """One shown value: its digits as displayed, its unit, and what they amount to.

    Two quantities are equal if kind, digits and unit are, however they were typed.

    Attributes
    ----------
    text : str
        What was typed, unchanged.
    kind : str
        A key of `KINDS`.
    digits : str
        The digits as shown, with a point as decimal mark and `-` as sign: "6.20".
    unit : str
        Canonical unit with prefix, "µH"; empty for a factor without unit.
    exact : Decimal
        The value in the SI unit without prefix (temperature: °C), with the exponent of the last digit.
    """

    text: str = field(compare=False)
    kind: str
    digits: str
    unit: str
    exact: Decimal

    @property
    def value(self) -> float:
        """The value in the SI unit without prefix (temperature: °C)."""
        return float(self.exact)

    @property
    def last_digit(self) -> float:
        """What one step of the last shown digit is worth, in the same unit as `value`."""
        return float(f"1e{self.exact.as_tuple().exponent}")

    @property
    def power(self) -> int:
        """Power of ten that the unit's prefix stands for: -6 for µ."""
        return PREFIXES[self.unit.removesuffix(KINDS[self.kind].symbol)]

    @property
    def negative(self) -> bool:
        """Whether the value is below zero."""
        return self.exact < 0

    def __str__(self) -> str:
        """Canonical text, which `parse` reads back to an equal quantity."""
        known = KINDS[self.kind]
        unit = known.mega if known.mega and self.unit == f"M{known.symbol}" else self.unit
        return f"{self.digits.replace('-', '−')} {unit}".rstrip()


def parse(text: str, kind: str = "inductance") -> Quantity:
    """Quantity that a display shows, from its text.

    Parameters
    ----------
    text : str
        Digits, prefix and unit as shown, at most 44 characters; the rules stand at the top of this module.
    kind : str
        What the display shows: a key of `KINDS`.

    Raises
    ------
    AmbiguousEntry
        If the text has more than one honest meaning; `candidates` holds the units or entries to choose from.
    EntryError
        If the text cannot be taken; `given` holds it unchanged.

    Examples
    --------
    >>> reading = parse("6,20 uH")
    >>> str(reading), reading.value, reading.last_digit
    ('6.20 µH', 6.2e-06, 1e-08)
    >>> parse("6.20 MH")
    Traceback (most recent call last):
    ...
    labkit.errors.AmbiguousEntry: “6.20 MH” could mean mH or MH: type mH if the display shows that, or give it
    in megahenry if it truly is MH.
    """
    if kind not in KINDS:
        raise EntryError(
            f"{_quoted(str(kind))} is not a quantity that can be entered here: choose one of "
            f"{_listed(KINDS)}.",
            str(kind),
        )
    if not isinstance(text, str):
        _refuse(words.NOT_TEXT, repr(text), kind)
    plain = _readable(text, kind)
    match = _NUMBER.fullmatch(plain)
    if match is None:
        _refuse(words.NOT_UNDERSTOOD if re.search("[0-9]", plain) else words.NO_NUMBER, text, kind)
    sign, number, rest = match.groups()
    _check_marks(number, text, kind)
    prefix = _prefix(rest.strip(), text, kind)
    unit = prefix + KINDS[kind].symbol
    if _GROUP.fullmatch(number):
        _ask_comma(sign.strip("+") + number, unit, text)
    digits = sign.strip("+") + number.replace(",", ".")
    exact = Decimal(f"{digits}e{PREFIXES[prefix]}")
    if KINDS[kind].above_zero and exact <= 0:
        _refuse(words.NOT_POSITIVE, text, kind)
    return Quantity(text, kind, digits, unit, exact)


def _readable(text: str, kind: str) -> str:
    """The text without outer spaces and with look-alike characters unified, if a display could show it."""
    if len(text) > MAX_CHARACTERS or sum(map(str.isdigit, text)) > MAX_DIGITS:
        _refuse(words.OVERLONG, text, kind)
    plain = text.translate(_TWINS).strip(" ")
    if not plain:
        _refuse(words.EMPTY, text, kind)
    if not plain.isprintable():
        _refuse(words.HIDDEN, text, kind)
    if any(character.isnumeric() and not character.isascii() for character in plain):
        _refuse(words.FOREIGN_DIGITS, text, kind)
    for pattern, sentence in _NOT_DIGITS:
        if re.search(pattern, plain, re.IGNORECASE):
            _refuse(sentence, text, kind)
    return plain


def _check_marks(number: str, text: str, kind: str) -> None:
    """Refuse digits with more than one decimal mark, or with one at the end."""
    if number.count(".") + number.count(",") > 1:
        _refuse(words.TWO_MARKS, text, kind)
    if number[-1] in ".,":
        _refuse(words.OPEN_MARK, text, kind)


def _prefix(unit: str, text: str, kind: str) -> str:
    """Prefix of a typed unit that fits the kind exactly; anything else is asked or refused."""
    known, fitting, together = KINDS[kind], spelled(kind), unit.replace(" ", "")
    if unit in fitting:
        return fitting[unit]
    if not known.symbol:
        _refuse(words.UNIT_UNWANTED, text, kind)
    if not unit:
        _refuse(words.NO_UNIT, text, kind)
    if unit + known.symbol in fitting:
        _refuse(words.UNIT_CUT, text, kind)
    if together in fitting:
        _refuse(words.UNIT_SPLIT, text, kind, fixed=_quoted(together))
    if " " in unit:
        _refuse(words.NOT_UNDERSTOOD, text, kind)
    _ask_capitals(unit, text, kind)
    return _refuse(words.UNIT_MISFIT, text, kind, unit=_quoted(unit))


def _ask_capitals(typed: str, text: str, kind: str) -> None:
    """Ask if the letters, in other capitals, spell a unit of the kind."""
    known, lower = KINDS[kind], typed.lower()
    every = spelled(kind, every_prefix=True)
    meant = {prefix: prefix + known.symbol for unit, prefix in every.items() if unit.lower() == lower}
    likely = [prefix for prefix in meant if prefix in known.prefixes]
    rare = [prefix for prefix in meant if prefix not in known.prefixes]
    if not likely:
        return
    candidates = tuple(meant.values())
    facts = {"given": _quoted(text), "candidates": _listed(candidates)}
    if not rare:
        raise AmbiguousEntry(words.ASK_CASE.format(**facts), text, candidates)
    nearest = min(known.prefixes, key=lambda prefix: abs(PREFIXES[prefix] - PREFIXES[rare[0]]))
    facts |= {
        "likely": meant[likely[0]],
        "rare": meant[rare[0]],
        "other": known.mega or nearest + known.symbol,
    }
    raise AmbiguousEntry(words.ASK_RARE.format(**facts), text, candidates)


def _ask_comma(number: str, unit: str, text: str) -> NoReturn:
    """Ask whether the comma is a decimal mark or stands between thousands."""
    shown = number.replace("-", "−")
    decimal, thousands = (f"{shown.replace(',', mark)} {unit}".rstrip() for mark in (".", ""))
    sentence = words.ASK_COMMA.format(given=_quoted(text), decimal=decimal, thousands=thousands)
    raise AmbiguousEntry(sentence, text, (decimal, thousands))


def _refuse(sentence: str, text: str, kind: str, **facts: str) -> NoReturn:
    """Raise EntryError with a sentence filled from the entry, its kind and further facts."""
    known = KINDS[kind]
    facts |= {"given": _quoted(text), "quantity": known.name, "example": known.example}
    facts |= {
        "accepted": _listed(accepted_units(kind)),
        "limit": str(MAX_CHARACTERS),
        "digits": str(MAX_DIGITS),
    }
    raise EntryError(sentence.format(**facts), text)


def _quoted(text: str) -> str:
    """Text in quotation marks, short and with invisible characters made visible."""
    shown = text if len(text) <= MAX_CHARACTERS else text[:MAX_CHARACTERS] + "…"
    shown = shown.translate(dict.fromkeys(map(ord, _SPACES), " "))
    visible = (c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in shown)
    return f"“{''.join(visible)}”"


def _listed(items: Iterable[str]) -> str:
    """Items in a row for a sentence: "nH, µH or mH"."""
    *most, last = items or ("",)
    return f"{', '.join(most)} or {last}" if most else last
