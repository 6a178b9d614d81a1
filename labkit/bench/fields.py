"""Fields of an event from what a person gave."""

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from labkit import quantity
from labkit.bench.events import Correction, Event, to_content
from labkit.bench.readings import SECOND_KINDS, Reading
from labkit.errors import AmbiguousEntry, EntryError
from labkit.quantity import Quantity
from labkit.words import bench as words

SETTINGS = ("frequency", "mode", "meter", "leads", "by")
_FACTOR = r"(?P<factor>[0-9]{1,5}(?:[.,][0-9]{1,4}|/[1-9][0-9]{0,4})?)\s*[x×*·]\s*"
_TERM = re.compile(
    rf"(?P<sign>-?)\s*(?:{_FACTOR})?(?P<name>[A-Za-z][\w. -]*?)(?:\s*/\s*(?P<part>[1-9][0-9]{{0,4}}))?",
    re.ASCII,
)
_LONGEST = 100  # characters of a prediction by readings
_RELATIVE = re.compile(rf"\s*-?\s*(?:{_FACTOR}|[A-Za-z])")


def given(**fields: Any) -> dict[str, Any]:
    """Fields that were given; a field left out is absent from the event (not asked)."""
    return {name: value for name, value in fields.items() if value is not None}


def blank(text: object) -> bool:
    """Whether nothing was typed; anything that is no text goes on to the check that refuses it."""
    return isinstance(text, str) and not text.strip()


def slug(text: str) -> str:
    """Letters, digits and `.-_` of a name, for the id that is made from it."""
    return re.sub(r"[^A-Za-z0-9._-]+", "-", str(text))[:80]


def told(changes: dict[str, Any]) -> str:
    """Corrected fields in words."""
    second = changes.get("second")
    named = changes | ({"second": f"{second['quantity']} {second['shown']}"} if second else {})
    values = {name: words.UNKNOWN if value is None else value for name, value in named.items()}
    return ", ".join(str(value) if name == "shown" else f"{name} {value}" for name, value in values.items())


def changed(event: Event) -> set[str]:
    """Fields that the event sets; those of the reading if it is a correction."""
    return (event.changes if isinstance(event, Correction) else event).model_fields_set


def told_fields(event: Event) -> dict[str, Any]:
    """What an event states about its subject, without what belongs to its own line: id, person, reason."""
    own = {"schema", "seq", "utc", "prev", "event", "id", "by", "reason"}
    return {name: value for name, value in to_content(event).items() if name not in own}


def standing_over(before: Mapping[str, Any], said: Mapping[str, Any], reason: str | None) -> dict[str, Any]:
    """Fields as they stand once more was said; only with a reason does None take back what was known.

    >>> standing_over({"dots": "1a 2a"}, {"dots": None, "title": "ring"}, None)
    {'dots': '1a 2a', 'title': 'ring'}
    """
    new = {name: v for name, v in said.items() if reason or v is not None or before.get(name) is None}
    return {**before, **new}


def agrees(event: Event, said: Mapping[str, Any]) -> bool:
    """Whether an event holds all that was said; without a reason, None agrees with any value."""
    content, given = to_content(event), {n: list(v) if isinstance(v, tuple) else v for n, v in said.items()}
    open_ = [] if "reason" in said else [name for name, value in given.items() if value is None]
    return all(name in content and (name in open_ or content[name] == value) for name, value in given.items())


def left_open(stored: Any) -> dict[str, Any]:
    """The fields of a stored reading that a call of `read` may leave open."""
    fields = told_fields(stored) | given(by=stored.by)
    if "second" in fields:
        fields["second"] = second_text(fields) or None
    return {name: fields[name] for name in (*SETTINGS, "repeat", "second") if name in fields}


def second_text(fields: Mapping[str, Any]) -> str:
    """The second display as typed, "Q 3.1"; empty if there is none."""
    second = fields.get("second")
    return f"{second['quantity']} {second['shown']}" if second else ""


def second_display(text: str) -> dict[str, str]:
    """The second display from text such as "Q 3.1"; EntryError if it is none."""
    if not isinstance(text, str):
        raise EntryError(words.SECOND.format(given=text), str(text))
    letter, _, shown = text.strip().partition(" ")
    if letter not in SECOND_KINDS or not shown:
        raise EntryError(words.SECOND.format(given=text), text)
    quantity.parse(shown, SECOND_KINDS[letter])
    return {"quantity": letter, "shown": shown.strip()}


def expected(text: str, readings: Iterable[Reading]) -> Quantity:
    """What a person predicts: a value, or numbers times readings by their names, "2 x winding 1 + w2".

    Parameters
    ----------
    text : as typed; `w1` and `winding 1` are the reading `winding-1`, any other reading goes by its id
    readings : those that stand

    Returns
    -------
    Quantity in H; its `text` is what was typed only if that was a value. One made from readings is rounded to
    the last digit of the coarsest of them, or to three digits if that leaves fewer.

    Raises
    ------
    AmbiguousEntry, EntryError
        with a sentence about predictions.
    """
    if not isinstance(text, str):
        raise EntryError(words.NO_PREDICTION.format(given=str(text)[:40]), str(text))
    if _RELATIVE.match(text):
        return _from_readings(text, {r.id.lower(): r.shown for r in readings if r.shown.kind == "inductance"})
    try:
        return quantity.parse(text)
    except AmbiguousEntry as error:
        meant = " or ".join(error.candidates)
        sentence = words.PREDICTION_ASKED.format(given=text.strip(), meant=meant)
        raise AmbiguousEntry(sentence, error.given, error.candidates) from None
    except EntryError:
        raise EntryError(words.NO_PREDICTION.format(given=text.strip()[:40]), text) from None


def _from_readings(text: str, known: Mapping[str, Quantity]) -> Quantity:
    total, named = Fraction(0), []
    for term in text.replace(" - ", " + -").split("+"):
        match = _TERM.fullmatch(term.strip())
        if match is None or len(text) > _LONGEST:
            raise EntryError(words.NO_PREDICTION.format(given=text.strip()[:40]), text)
        name = re.sub(r"^w(inding)?[ -]?(?=[0-9])", "winding-", match["name"].lower())
        if name not in known:
            names = ", ".join(known) or words.NO_READINGS
            raise EntryError(words.NO_SUCH_READING.format(given=match["name"], known=names), text)
        factor = Fraction((match["factor"] or "1").replace(",", ".")) / int(match["part"] or 1)
        total += (-factor if match["sign"] else factor) * Fraction(known[name].exact)
        named.append(known[name])
    return _rounded(total, named)


def _rounded(total: Fraction, named: list[Quantity]) -> Quantity:
    """A sum of readings in the unit of the first, to the last digit of the coarsest or to three digits."""
    exact = Decimal(total.numerator) / Decimal(total.denominator)
    last = max(int(each.exact.as_tuple().exponent) for each in named)
    last = min(last, exact.adjusted() - 2) if exact else last
    value = exact.quantize(Decimal(1).scaleb(last)).scaleb(-named[0].power)
    return quantity.parse(f"{value:f} {named[0].unit}")
