"""What comes back from the small forms, checked and turned into arguments of the bench's verbs.

A choice that was not made is an empty text; one that says "not known" becomes None, so that the record can
tell what nobody asked from what was asked and is not known.
"""

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from labkit.bench.fields import second_text
from labkit.errors import EntryError
from labkit.faces.live.sheets import NO_CARD, UNKNOWN, chosen
from labkit.words import bench as bench_words
from labkit.words import form as words

Fields = Mapping[str, Any]


def pseudonym(text: str) -> str:
    """A pseudonym such as p2; EntryError for anything that may be a name."""
    given = text.strip()
    if not re.fullmatch(r"[a-z]{1,8}[0-9]{1,4}", given):
        raise EntryError(words.PSEUDONYM.format(given=given[:40]), text)
    return given


def part(fields: Fields) -> dict[str, Any]:
    """What the part is, for `Bench.describe`."""
    windings, dots, title = (fields[name].strip() for name in ("windings", "dots", "title"))
    if not (windings.isascii() and windings.isdecimal()):
        raise EntryError(words.WHOLE.format(given=windings[:40]), windings)
    if bool(dots) == bool(fields["undotted"]):
        raise EntryError(words.DOTS_EITHER if dots else words.DOTS_FIRST, dots)
    more = {"title": title} if title else {}
    more |= {"reason": why} if (why := fields.get("reason", "").strip()) else {}
    return {"windings": int(windings), "family": _needed(fields, "family"), "dots": dots or None, **more}


def meter(fields: Fields, folder: Path) -> tuple[str, Path | None]:
    """Name of a meter and the file of its card, None if it has none, for `Bench.meter`."""
    name, card, path = (fields[field].strip() for field in ("name", "card", "path"))
    if not name:
        raise EntryError(words.METER_NAME)
    if bool(card) == bool(path):
        raise EntryError(words.CARD_EITHER if card else words.CARD_FIRST, path)
    return name, None if card == NO_CARD else _file(card or path, folder)


def _file(text: str, folder: Path) -> Path:
    for path in (Path(text), folder / text):
        if path.is_file():
            return path
    raise EntryError(words.CARD_PATH.format(given=text), text)


def settings(fields: Fields) -> dict[str, str]:
    """What holds for all readings, for `Bench.use`."""
    choices = {name: _needed(fields, name) for name in ("mode", "meter", "leads")}
    by = pseudonym(fields["who"]) if fields["who"].strip() else None
    said = {"frequency": fields["frequency"].strip(), **choices, "by": by}
    return {name: value or bench_words.UNKNOWN for name, value in said.items()}  # None would change nothing


def changes(fields: Fields, stands: Fields) -> dict[str, Any]:
    """What differs from how a reading stands, for `Bench.correct`; EntryError if nothing does."""
    texts = {
        "shown": stands["shown"],
        "second": second_text(stands),
        "frequency": stands.get("frequency") or "",
    }
    typed = {
        name: fields[name].strip() or None for name, text in texts.items() if fields[name].strip() != text
    }
    picked = {
        name: _value(fields[name])
        for name in ("mode", "meter", "leads")
        if fields[name] not in ("", chosen(stands, name))
    }
    if not typed | picked:
        raise EntryError(words.NOTHING_CHANGED)
    return typed | picked


def reason(fields: Fields) -> str:
    """Why something is changed; EntryError if nothing is said."""
    if not fields["reason"].strip():
        raise EntryError(words.REASON)
    return str(fields["reason"].strip())


def own_words(fields: Fields) -> str:
    """What a person wrote; EntryError if nothing."""
    if not fields["text"].strip():
        raise EntryError(words.NOTHING_WRITTEN)
    return str(fields["text"])


def _needed(fields: Fields, name: str) -> str | None:
    if not fields[name]:
        raise EntryError(words.CHOOSE_FIRST.format(what=words.LABELS[name]))
    return _value(fields[name])


def _value(choice: str) -> str | None:
    return None if choice == UNKNOWN else choice
