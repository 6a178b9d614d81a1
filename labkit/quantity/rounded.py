"""Results as text, rounded to their uncertainty.

The expanded uncertainty U gets two significant digits and the value stops at the same decimal
(JCGM 100:2008, 7.2.6); ties go to the even digit (ISO 80000-1:2009, annex B, rule A). One prefix serves both,
chosen so that the last digit shown is a digit that counts: 120 µH to two digits is 0.12 mH.
"""

from decimal import ROUND_HALF_EVEN, Context, Decimal

from labkit.errors import EntryError
from labkit.quantity.kinds import KINDS, PREFIXES
from labkit.words import quantity as words

# Wide enough for any two floats side by side, and independent of what the caller has set.
_EXACT = Context(prec=700, rounding=ROUND_HALF_EVEN)
_PLAIN_FROM, _PLAIN_BELOW = -12, 12  # powers of ten that are shown without one: from p to the end of G
_SUPERSCRIPT = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def display(
    value: float,
    uncertainty: float | None = None,
    unit: str = "H",
    coverage_factor: float = 2,
    significant_digits: int = 4,
) -> str:
    """Value as text, rounded to its expanded uncertainty U = coverage_factor * uncertainty.

    Parameters
    ----------
    value : float
        In `unit`; may be infinite.
    uncertainty : float or None
        Standard uncertainty in `unit`; None if it is not known.
    unit : str
        Without prefix. The units of `KINDS` get the prefixes that `parse` takes, any other gets none.
    coverage_factor : float
        What multiplies the standard uncertainty to give U.
    significant_digits : int
        Digits of the value where no uncertainty says how many count. Digits before the decimal mark are
        all shown, so that none is a false zero.

    Returns
    -------
    str
        `parse` reads a value shown alone back, if it is finite and, rounded, from 1e-12 to below 1e12.

    Raises
    ------
    EntryError
        If the value or the uncertainty is not a number, or the uncertainty is below zero.

    Examples
    --------
    >>> display(9.95775e-3, 17.7e-6)
    '9.958 ± 0.035 mH'
    >>> display(-6.2399e-6)
    '−6.240 µH'
    >>> display(0.99875, 0.00006, unit="")
    '0.99875 ± 0.00012'
    """
    shown, expanded, in_unit = display_parts(value, uncertainty, unit, coverage_factor, significant_digits)
    both = shown if expanded is None else f"{shown} ± {expanded}"
    if expanded is not None and in_unit.startswith("×"):
        both = f"({both})"
    return f"{both} {in_unit}".rstrip()


def display_parts(
    value: float,
    uncertainty: float | None = None,
    unit: str = "H",
    coverage_factor: float = 2,
    significant_digits: int = 4,
) -> tuple[str, str | None, str]:
    """Texts of value, U (None without uncertainty) and unit, for a table; arguments as in `display`.

    >>> display_parts(25.0e-6, 0.09e-6)
    ('25.00', '0.18', 'µH')
    """
    number = _number(value)
    expanded = None if uncertainty is None else _expanded(uncertainty, coverage_factor)
    place = _last_place(number, expanded, unit, significant_digits)
    number, known = _rounded(number, place), _rounded(expanded or Decimal(0), place)
    power, in_unit = _scale([number, known], place, unit)
    if expanded is None:
        return _text(number, power), None, in_unit
    return _text(number, power), _text(known, power) if known else "0", in_unit


def _number(value: float) -> Decimal:
    """The shortest decimal that stands for the float, so that no binary tail is ever shown."""
    number = Decimal(repr(float(value)))
    if number.is_nan():
        raise EntryError(
            "A value that is not a number cannot be shown: the calculation behind it needs another look.",
            str(value),
        )
    return number


def _expanded(uncertainty: float, coverage_factor: float) -> Decimal:
    """U, refused where it cannot be one."""
    if not uncertainty >= 0:
        raise EntryError(words.BAD_UNCERTAINTY.format(given=uncertainty), str(uncertainty))
    if not 0 < coverage_factor < float("inf"):
        raise EntryError(
            f"A coverage factor of {coverage_factor} cannot be used: it must be a number "
            "above zero, usually 2.",
            str(coverage_factor),
        )
    return _EXACT.multiply(_number(uncertainty), _number(coverage_factor))


def _last_place(number: Decimal, expanded: Decimal | None, unit: str, significant_digits: int) -> int:
    """Power of ten of the last digit to show."""
    if significant_digits < 1:
        raise EntryError(
            f"{significant_digits} significant digits cannot be shown: ask for 1 or more.",
            str(significant_digits),
        )
    if expanded is not None and expanded.is_finite() and expanded:
        return _place(expanded, 2)
    if not number.is_finite() or not number:
        return 0
    place = _place(number, significant_digits)
    plain = _rounded(number, place).adjusted() < _PLAIN_BELOW
    return min(place, max(_powers(unit))) if plain else place


def _place(number: Decimal, digits: int) -> int:
    """Power of ten of the last of so many significant digits, after a carry such as 9.96 to 10."""
    place = number.adjusted() - digits + 1
    return place + _rounded(number, place).adjusted() - number.adjusted()


def _rounded(number: Decimal, place: int) -> Decimal:
    """The number rounded at a power of ten; infinity stays as it is."""
    return number.quantize(Decimal((0, (1,), place)), context=_EXACT) if number.is_finite() else number


def _powers(unit: str) -> dict[int, str]:
    """Powers of ten and prefixes that the unit is shown with."""
    prefixes = next((kind.prefixes for kind in KINDS.values() if unit and kind.symbol == unit), ("",))
    return {PREFIXES[prefix]: prefix for prefix in prefixes}


def _scale(numbers: list[Decimal], place: int, unit: str) -> tuple[int, str]:
    """Power of ten taken out of the digits, and the unit that carries it."""
    sizes = [number.adjusted() for number in numbers if number.is_finite() and number]
    size = max(sizes, default=0)
    if not _PLAIN_FROM <= size < _PLAIN_BELOW:
        power = max(size // 3, -(-place // 3)) * 3
        return power, f"× 10{str(power).translate(_SUPERSCRIPT)} {unit}".rstrip()
    powers = _powers(unit)
    fitting = max((power for power in powers if power <= size), default=min(powers))
    power = min((power for power in powers if power >= max(fitting, place)), default=max(powers))
    return power, powers[power] + unit


def _text(number: Decimal, power: int) -> str:
    """Digits of a number in units of a power of ten, with a true minus sign and no negative zero."""
    size = number.copy_abs()
    digits = format(size.scaleb(-power, context=_EXACT), "f") if size.is_finite() else "∞"
    return f"−{digits}" if number < 0 else digits
