"""How a text that is being typed is understood, while it is typed; nothing is stored by looking."""

import re
from typing import Any

from labkit import quantity
from labkit.bench.fields import blank, second_display
from labkit.bench.readings import SECOND_KINDS
from labkit.errors import AmbiguousEntry, EntryError
from labkit.quantity import KINDS, Quantity
from labkit.quantity.kinds import PREFIXES
from labkit.words import bench as bench_words
from labkit.words import form as words

Echo = dict[str, Any]


def look(text: str, kind: str) -> Echo:
    """The state of a field, and what to say beside it.

    Parameters
    ----------
    text : as typed
    kind : "inductance", "frequency", or "second" for the second display with its letter

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
        return _understood(text, kind)
    except AmbiguousEntry as error:
        return _echo("refused", str(error), choices=_choices(text, kind, error))
    except EntryError as error:
        return _echo("refused", str(error))


def _echo(state: str, said: str, *, choices: tuple[str, ...] = (), flag: str = "") -> Echo:
    return {"state": state, "said": said, "choices": list(choices), "flag": flag}


def _understood(text: str, kind: str) -> Echo:
    return _second(text) if kind == "second" else _value(quantity.parse(text, kind))


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
    """Whole entries made from the candidates, those only that are then taken as they stand."""
    letter = f"{text.split(maxsplit=1)[0]} " if kind == "second" else ""
    digits = re.sub(r"[^0-9.,]+$", "", error.given)
    entries = [each if any(map(str.isdigit, each)) else f"{digits} {each}" for each in error.candidates]
    offered = (letter + entry.strip() for entry in entries)
    return tuple(entry for entry in offered if _taken(entry, kind))
