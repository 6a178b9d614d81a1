"""Messages of the entry form: what a page sends as the calls of a bench, and the answers to questions."""

import json
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from labkit.errors import EntryError
from labkit.record.events import Event, to_content
from labkit.record.state import second_text
from labkit.resources import shipped
from labkit.widgets.form_rows import NO_CARD, UNKNOWN, chosen
from labkit.words import record as words
from labkit.words import widgets as widgets_words

# What was entered, as the call that enters the same: run again, it changes nothing.

_SETTINGS = ("frequency", "mode", "meter", "leads", "by")


def plain_call(event: Event) -> str:
    """The call of the bench that stores this event; empty for an event that no verb of the bench makes."""
    fields = to_content(event)
    return _CALLS[event.event](fields) if event.event in _CALLS else ""


def _call(verb: str, *positional: Any, **named: Any) -> str:
    arguments = [*map(_text, positional), *(f"{name}={_text(value)}" for name, value in named.items())]
    return f"bench.{verb}({', '.join(arguments)})"


def _text(value: Any) -> str:
    """A value as it is written in Python; a text as in JSON, where every escape means the same."""
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value)


def _pick(fields: dict[str, Any], *names: str) -> dict[str, Any]:
    return {name: fields[name] for name in names if name in fields}


def _known(fields: dict[str, Any], *names: str) -> dict[str, Any]:
    return {name: value for name, value in _pick(fields, *names).items() if value is not None}


def _second_display(fields: dict[str, Any]) -> dict[str, Any]:
    match fields.get("second"):
        case {"quantity": letter, "shown": shown}:
            return {"second": f"{letter} {shown}"}
    return _pick(fields, "second")


def _read(fields: dict[str, Any]) -> str:
    shared = {name: words.UNKNOWN if v is None else v for name, v in _pick(fields, *_SETTINGS).items()}
    own = _second_display(fields) | _known(fields, "repeat")
    if fields["quantity"] != "inductance":
        own = {"quantity": fields["quantity"]} | own
    return _call("read", fields["wiring"], fields["shown"], id=fields["id"], **shared, **own)


def _commit(fields: dict[str, Any]) -> str:
    shown = fields.get("said", fields["shown"])
    return _call("commit", fields["wiring"], shown, id=fields["id"], **_known(fields, "by"))


def _correct(fields: dict[str, Any]) -> str:
    changes = dict(fields["changes"])
    shown = [changes.pop("shown")] if "shown" in changes else []
    changes |= _second_display(changes)
    by = _known(fields, "by")
    return _call("correct", fields["corrects"], *shown, reason=fields["reason"], **changes, **by)


def _withdraw(fields: dict[str, Any]) -> str:
    return _call("withdraw", fields["withdraws"], fields["reason"], **_known(fields, "by"))


def _accept(fields: dict[str, Any]) -> str:
    return _call("accept_cautions", **_pick(fields, "by"))


def _describe(fields: dict[str, Any]) -> str:
    names = ("windings", "family", "dots", "title", "description", "turns", "core", "by", "reason")
    return _call("describe", **_pick(fields, *names))


def _meter(fields: dict[str, Any]) -> str:
    text = fields.get("card")
    for path in sorted(shipped("data", "cards").glob("*.toml")):
        if text is not None and path.read_text(encoding="utf-8") == text:
            return f'bench.meter({_text(fields["meter"])}, labkit.shipped("data", "cards", "{path.name}"))'
    return _call("meter", fields["meter"], *([] if text is None else [text]), **_pick(fields, "reason"))


_CALLS: dict[str, Callable[[dict[str, Any]], str]] = {
    "reading": _read,
    "prediction": _commit,
    "correction": _correct,
    "withdrawal": _withdraw,
    "cautions": _accept,
    "part": _describe,
    "meter": _meter,
    "own_words": lambda fields: _call("write", fields["topic"], fields["text"], **_known(fields, "by")),
}


# What comes back from the small forms, checked and turned into arguments of the bench's verbs.
#
# A choice that was not made is an empty text; one that says "not known" becomes None, so that the record
# can tell what nobody asked from what was asked and is not known.

Fields = Mapping[str, Any]


def pseudonym(text: str) -> str:
    """A pseudonym such as p2; EntryError for anything that may be a name."""
    given = text.strip()
    if not re.fullmatch(r"[a-z]{1,8}[0-9]{1,4}", given):
        raise EntryError(widgets_words.PSEUDONYM.format(given=given[:40]), text)
    return given


def part(fields: Fields) -> dict[str, Any]:
    """What the part is, for `Bench.describe`."""
    windings, dots, title = (fields[name].strip() for name in ("windings", "dots", "title"))
    if not (windings.isascii() and windings.isdecimal()):
        raise EntryError(widgets_words.WHOLE.format(given=windings[:40]), windings)
    if bool(dots) == bool(fields["undotted"]):
        raise EntryError(
            "Nothing was stored: dotted ends were given and “nobody knows” was ticked; keep one of the two."
            if dots
            else "Nothing was stored: give the dotted ends, such as 1a 2a, or tick that nobody knows them.",
            dots,
        )
    more = {"title": title} if title else {}
    more |= {"reason": why} if (why := fields.get("reason", "").strip()) else {}
    return {"windings": int(windings), "family": _needed(fields, "family"), "dots": dots or None, **more}


def meter(fields: Fields, folder: Path) -> tuple[str, Path | None]:
    """Name of a meter and the file of its card, None if it has none, for `Bench.meter`."""
    name, card, path = (fields[field].strip() for field in ("name", "card", "path"))
    if not name:
        raise EntryError("Nothing was stored: give the meter a name for this bench, such as meter-a.")
    if bool(card) == bool(path):
        raise EntryError(
            "Nothing was stored: a card was chosen and a path was given; keep one of the two."
            if card
            else "Nothing was stored: choose a card, give the path of one, or say that there is no card.",
            path,
        )
    return name, None if card == NO_CARD else _file(card or path, folder)


def _file(text: str, folder: Path) -> Path:
    for path in (Path(text), folder / text):
        if path.is_file():
            return path
    raise EntryError(
        f"There is no readable card file at “{text}”: check the path, or choose another card.", text
    )


def settings(fields: Fields) -> dict[str, str]:
    """What holds for all readings, for `Bench.use`."""
    choices = {name: _needed(fields, name) for name in ("mode", "meter", "leads")}
    by = pseudonym(fields["who"]) if fields["who"].strip() else None
    said = {"frequency": fields["frequency"].strip(), **choices, "by": by}
    return {name: value or words.UNKNOWN for name, value in said.items()}  # None would change nothing


def changed_fields(fields: Fields, stands: Fields) -> dict[str, Any]:
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
        name: _chosen(fields[name])
        for name in ("mode", "meter", "leads")
        if fields[name] not in ("", chosen(stands, name))
    }
    if not typed | picked:
        raise EntryError(widgets_words.NOTHING_CHANGED)
    return typed | picked


def reason_given(fields: Fields) -> str:
    """Why something is changed; EntryError if nothing is said."""
    if not fields["reason"].strip():
        raise EntryError(widgets_words.REASON)
    return str(fields["reason"].strip())


def own_words(fields: Fields) -> str:
    """What a person wrote; EntryError if nothing."""
    if not fields["text"].strip():
        raise EntryError("Nothing was stored: write what you saw in a sentence or two.")
    return str(fields["text"])


def _needed(fields: Fields, name: str) -> str | None:
    if not fields[name]:
        raise EntryError(f"Nothing was stored: choose first: {widgets_words.LABELS[name]}.")
    return _chosen(fields[name])


def _chosen(choice: str) -> str | None:
    return None if choice == UNKNOWN else choice
