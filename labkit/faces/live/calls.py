"""What was entered, as the call that enters the same: run again, it changes nothing."""

import json
from collections.abc import Callable
from typing import Any

from labkit.bench.events import Event, to_content
from labkit.resources import shipped
from labkit.words import bench as words

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


def _second(fields: dict[str, Any]) -> dict[str, Any]:
    match fields.get("second"):
        case {"quantity": letter, "shown": shown}:
            return {"second": f"{letter} {shown}"}
    return _pick(fields, "second")


def _read(fields: dict[str, Any]) -> str:
    shared = {name: words.UNKNOWN if v is None else v for name, v in _pick(fields, *_SETTINGS).items()}
    own = _second(fields) | _known(fields, "repeat")
    if fields["quantity"] != "inductance":
        own = {"quantity": fields["quantity"]} | own
    return _call("read", fields["wiring"], fields["shown"], id=fields["id"], **shared, **own)


def _commit(fields: dict[str, Any]) -> str:
    shown = fields.get("said", fields["shown"])
    return _call("commit", fields["wiring"], shown, id=fields["id"], **_known(fields, "by"))


def _correct(fields: dict[str, Any]) -> str:
    changes = dict(fields["changes"])
    shown = [changes.pop("shown")] if "shown" in changes else []
    changes |= _second(changes)
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
