"""The fields of a meter card as a person gives them: each is taken, or refused with one sentence."""

from datetime import date

from labkit import quantity
from labkit.bench.card import Range
from labkit.bench.card_lines import table_lines
from labkit.errors import CardError, EntryError
from labkit.words import card_form as words

LONGEST = {"title": 120, "source": 400}
LONGEST_ID = 40
_ID_CHARACTERS = set("abcdefghijklmnopqrstuvwxyz0123456789-")


def checked_text(text: str, field: str) -> str:
    """Title or source; CardError if there is none, or too much of it."""
    text = _given(text, field)
    if len(text) > LONGEST[field]:
        raise CardError(words.TOO_LONG.format(field=words.FIELDS[field], limit=LONGEST[field]))
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
        raise CardError(words.BAD_LEADS.format(reason=words.NEGATIVE_LIMIT.format(given=limit)))
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
        raise CardError(words.TWICE.format(name=first.name, frequency=at))


def _given(text: str, field: str) -> str:
    if not isinstance(text, str) or not text.strip():
        raise CardError(words.MISSING.format(field=words.FIELDS[field], example=words.EXAMPLES[field]))
    return text.strip()
