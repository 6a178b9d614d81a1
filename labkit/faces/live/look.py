"""How a text that is being typed is understood, while it is typed; nothing is stored by looking."""

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from labkit import quantity
from labkit.bench.fields import blank, expected, second_display
from labkit.bench.readings import SECOND_KINDS, Reading
from labkit.errors import AmbiguousEntry, EntryError
from labkit.quantity import KINDS, Quantity
from labkit.quantity.kinds import PREFIXES, accepted_units
from labkit.words import bench as bench_words
from labkit.words import form as words

Echo = dict[str, Any]


def look(text: str, kind: str, readings: Iterable[Reading] = ()) -> Echo:
    """The state of a field, and what to say beside it.

    Parameters
    ----------
    text : as typed
    kind : "inductance", "frequency", "second" for the second display with its letter, or "prediction"
    readings : those that a prediction may name

    Returns
    -------
    dict with `state` (empty, refused or ok), `said` (one sentence, or the value as understood), `choices`
    (entries to choose from if there is more than one honest meaning) and `flag` (what to mind although it is
    understood)

    >>> look("6,20 uH", "inductance")["said"]
    '6.20 µH, last digit 10 nH'
    """
    if blank(text):
        return _echo("empty", "")
    try:
        return _understood(text, kind) if kind != "prediction" else _expected(text, readings)
    except AmbiguousEntry as error:
        of = "inductance" if kind == "prediction" else kind
        return _echo("refused", str(error), choices=_choices(text, of, error))
    except EntryError as error:
        return _echo("refused", str(error))


def _echo(state: str, said: str, *, choices: tuple[str, ...] = (), flag: str = "") -> Echo:
    return {"state": state, "said": said, "choices": list(choices), "flag": flag}


def _understood(text: str, kind: str) -> Echo:
    return _second(text) if kind == "second" else _value(quantity.parse(text, kind))


def _expected(text: str, readings: Iterable[Reading]) -> Echo:
    value = expected(text, readings)
    said = "" if value.text == text else text.strip()
    return _echo("ok", bench_words.RELATIVE.format(said=said, shown=value) if said else str(value))


def _taken(text: str, kind: str) -> bool:
    try:
        _understood(text, kind)
    except EntryError:
        return False
    return True


def _second(text: str) -> Echo:
    second = second_display(text)
    value = quantity.parse(second["shown"], SECOND_KINDS[second["quantity"]])
    facts = {"letter": second["quantity"], "value": value, "step": _step(value)}
    return _echo("ok", words.UNDERSTOOD_SECOND.format(**facts))


def _value(value: Quantity) -> Echo:
    if value.kind == "frequency":
        return _echo("ok", str(value))
    flag = bench_words.NEGATIVE if value.negative and value.kind == "inductance" else ""
    return _echo("ok", words.UNDERSTOOD.format(value=value, step=_step(value)), flag=flag)


def _step(value: Quantity) -> str:
    """What the last digit is worth, as meter cards say it: 10 nH rather than 0.01 µH."""
    kind, exponent = KINDS[value.kind], int(value.exact.as_tuple().exponent)
    prefixes = {PREFIXES[prefix]: prefix for prefix in kind.prefixes if kind.symbol}
    power = exponent - exponent % 3
    if power in prefixes:
        return f"{10 ** (exponent - power)} {prefixes[power]}{kind.symbol}"
    return quantity.display(value.last_digit, unit=kind.symbol, significant_digits=1)


def _choices(text: str, kind: str, error: AmbiguousEntry) -> tuple[str, ...]:
    """Whole entries made from the candidates; a unit that is not taken stands beside one that is."""
    letter = f"{text.split(maxsplit=1)[0]} " if kind == "second" else ""
    digits = re.sub(r"[^0-9.,]+$", "", error.given)
    offered = [
        (letter + each.strip(),) * 2
        if any(map(str.isdigit, each))
        else (f"{letter}{digits} {each}", letter + _nearest(digits, each, kind))
        for each in error.candidates
    ]
    pairs = ((entry, entry if _taken(entry, kind) else other) for entry, other in offered)
    return tuple(e if e == taken else f"{e} = {taken}" for e, taken in pairs if _taken(taken, kind))


def _nearest(digits: str, unit: str, kind: str) -> str:
    """The same value with the nearest prefix that is taken; empty if its unit is taken as it stands."""
    if kind not in KINDS or unit in accepted_units(kind) or "," in digits:
        return ""
    symbol = KINDS[kind].symbol
    power = PREFIXES[unit.removesuffix(symbol)]
    taken = min(KINDS[kind].prefixes, key=lambda prefix: abs(PREFIXES[prefix] - power))
    return f"{Decimal(digits).scaleb(power - PREFIXES[taken]):f} {taken}{symbol}"
