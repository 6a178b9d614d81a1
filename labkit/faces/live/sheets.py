"""The small forms of the entry form as data: a title, some text, fields, a button.

A field has a name, a label, a kind (text, choice, check, or a quantity that is looked at while it is typed),
a value, a hint and, for a choice, its options. `labkit.faces.live.answers` takes what comes back.
"""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from labkit.bench.bench import Bench
from labkit.bench.card import read_card
from labkit.bench.fields import second_text
from labkit.errors import LabkitError
from labkit.faces.entries import Entry
from labkit.resources import shipped
from labkit.words import form as words

Sheet = dict[str, Any]
UNKNOWN = "?"  # what a choice sends for "not known"
NO_CARD = "none"  # and for a meter without a card


def accept() -> Sheet:
    """The cautions, and the pseudonym of who has read them."""
    return _sheet("accept", words.ACCEPT, _field("by"))


def describe(bench: Bench) -> Sheet:
    """What the part is."""
    part = bench.part
    known: dict[str, Any] = part.model_dump(exclude_unset=True) if part else {"windings": 2}
    return _sheet(
        "describe",
        words.DESCRIBE,
        _field("windings", value=str(known["windings"])),
        _choice("family", words.FAMILIES | _UNKNOWN, chosen(known, "family")),
        _field("dots", value=known.get("dots") or ""),
        _field("undotted", kind="check", value="yes" if known.get("dots", "") is None else ""),
        _field("title", value=known.get("title") or ""),
        *([_field("reason") | {"label": words.REASON_IF}] if part else []),
    )


def meter(bench: Bench) -> Sheet:
    """Which meter, with a shipped card, one in the bench's folder, one at a path, or none."""
    options = {NO_CARD: words.NO_CARD} | dict(_cards(bench.record.folder))
    more = [_field("reason") | {"label": words.REASON_IF}] if any(bench.cards.values()) else []
    return _sheet("meter", words.METER, _field("name"), _choice("card", options, ""), _field("path"), *more)


def use(bench: Bench, settings: Mapping[str, Any], last: Mapping[str, Any]) -> Sheet:
    """What holds for all readings, filled in as it holds or held last; the only meter is chosen."""
    only = {"meter": next(iter(bench.cards))} if len(bench.cards) == 1 else {}
    known = {**only, **last, **settings}
    people = bench.cautions_accepted
    who = known.get("by") or (people[-1] if people else "")
    sheet = _sheet("use", words.USE, *_conditions(bench, known), _field("who", value=who))
    return sheet | {"text": [words.USE_AGAIN]} if last and not settings else sheet


def write() -> Sheet:
    """A person's own words on what was seen."""
    return _sheet("write", words.WRITE, _field("text", kind="text-area"))


def correct(bench: Bench, entry: Entry) -> Sheet:
    """Every field of a reading as it stands, and the reason for a change."""
    return _sheet(
        "correct",
        words.CORRECT,
        _field("shown", kind="inductance", value=entry.fields["shown"]),
        _field("second", kind="second", value=second_text(entry.fields)),
        *_conditions(bench, entry.fields),
        _field("reason"),
        id=entry.id,
    )


def withdraw(entry: Entry) -> Sheet:
    """The reason for a withdrawal."""
    return _sheet("withdraw", words.WITHDRAW, _field("reason"), id=entry.id)


def special(bench: Bench) -> list[Sheet]:
    """What may differ for one reading; empty means that it does not."""
    fields = [field | {"hint": words.AS_ABOVE} for field in _conditions(bench, {})]
    same = ("", words.AS_ABOVE)
    return [field | {"options": [same, *_known(field)]} for field in fields]


def _known(field: Sheet) -> list[tuple[str, str]]:
    return [option for option in field.get("options", ()) if option[0] != UNKNOWN]


def chosen(known: Mapping[str, Any], name: str) -> str:
    """The option that stands for a value; none for what was never asked."""
    return str(known[name] or UNKNOWN) if name in known else ""


def _cards(folder: Path) -> Iterator[tuple[str, str]]:
    """Path and title of each card that is shipped or lies in the bench's folder."""
    for place in (shipped("data", "cards"), folder, folder / "cards"):
        for path in sorted(place.glob("*.toml")):
            try:
                yield str(path), read_card(path).title
            except (LabkitError, OSError, UnicodeDecodeError):  # some other file
                continue


def _conditions(bench: Bench, known: Mapping[str, Any]) -> list[Sheet]:
    meters = {name: name for name in bench.cards}
    return [
        _field("frequency", kind="frequency", value=known.get("frequency") or ""),
        _choice("mode", words.MODES | _UNKNOWN, chosen(known, "mode")),
        _choice("meter", meters | _UNKNOWN, chosen(known, "meter")),
        _choice("leads", words.LEADS | _UNKNOWN, chosen(known, "leads")),
    ]


_UNKNOWN = {UNKNOWN: words.UNKNOWN}


def _sheet(kind: str, said: Mapping[str, Any], *fields: Sheet, **facts: str) -> Sheet:
    title = said["title"].format(**facts)
    return {
        "kind": kind,
        **facts,
        "title": title,
        "text": said["text"],
        "button": said["button"],
        "fields": list(fields),
    }


def _field(name: str, kind: str = "text", value: str = "") -> Sheet:
    hint = words.HINTS.get(name, "")
    return {"name": name, "kind": kind, "label": words.LABELS[name], "value": value, "hint": hint}


def _choice(name: str, options: Mapping[str, str], value: str) -> Sheet:
    return _field(name, "choice", value) | {"options": list(options.items())}
