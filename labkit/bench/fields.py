"""Fields of an event from what a person gave."""

import re
from typing import Any

from labkit import quantity
from labkit.bench.events import Correction, Event
from labkit.bench.readings import SECOND_KINDS
from labkit.errors import EntryError
from labkit.words import bench as words


def given(**fields: Any) -> dict[str, Any]:
    """Fields that were given; a field left out is absent from the event (not asked)."""
    return {name: value for name, value in fields.items() if value is not None}


def blank(text: object) -> bool:
    """Whether nothing was typed; anything that is no text goes on to the check that refuses it."""
    return isinstance(text, str) and not text.strip()


def slug(text: str) -> str:
    """Letters, digits and `.-_` of a name, for the id that is made from it."""
    return re.sub(r"[^A-Za-z0-9._-]+", "-", text)[:80]


def told(changes: dict[str, Any]) -> str:
    """Corrected fields in words."""
    second = changes.get("second")
    named = changes | ({"second": f"{second['quantity']} {second['shown']}"} if second else {})
    values = {name: words.UNKNOWN if value is None else value for name, value in named.items()}
    return ", ".join(str(value) if name == "shown" else f"{name} {value}" for name, value in values.items())


def changed(event: Event) -> set[str]:
    """Fields that the event sets; those of the reading if it is a correction."""
    return (event.changes if isinstance(event, Correction) else event).model_fields_set


def second_display(text: str) -> dict[str, str]:
    """The second display from text such as "Q 3.1"; EntryError if it is none."""
    if not isinstance(text, str):
        raise EntryError(words.SECOND.format(given=text), str(text))
    letter, _, shown = text.strip().partition(" ")
    if letter not in SECOND_KINDS or not shown:
        raise EntryError(words.SECOND.format(given=text), text)
    quantity.parse(shown, SECOND_KINDS[letter])
    return {"quantity": letter, "shown": shown.strip()}
