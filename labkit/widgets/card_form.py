"""The card form: from the accuracy page of a manual to a meter card, read back before it is stored."""

import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any
from weakref import WeakValueDictionary

from labkit.errors import CardError, EntryError, LabkitError, RecordMissing
from labkit.record.bench import Bench
from labkit.record.card_entry import (
    CardDraft,
    TableLine,
    allowed,
    checked_date,
    checked_id,
    checked_leads,
    checked_low_q,
    checked_text,
    plain,
    table_lines,
    ten_times,
    write_card,
)
from labkit.widgets.live import Live
from labkit.words import record as words

State = dict[str, Any]
FIELDS = tuple(words.FACE["labels"])
OK, EMPTY, REFUSED = "ok", "empty", "refused"


class CardForm:
    """The model of the card form: what was typed, how it is understood, and what the card then allows.

    Parameters
    ----------
    folder : where the card's file goes
    bench : whose record the meter can be entered in, None for none
    """

    def __init__(self, folder: Path, bench: Bench | None = None) -> None:
        self.folder, self.bench = folder, bench
        self.fields: dict[str, str] = dict.fromkeys(FIELDS, "")
        self.revision = 0
        self._stored: list[str] = []
        self._verbs: dict[str, Callable[[State], State]] = {
            "type": self.type,
            "next": self.next,
            "store": self.store,
        }

    @property
    def read_only(self) -> bool:
        """Whether nothing can be stored."""
        return bool(self.bench and self.bench.record.read_only)

    def state(self) -> State:
        """Everything that the script draws."""
        draft, waiting = self._draft()
        back = self._back(draft, waiting)
        lines = table_lines(self.fields["ranges"])
        return {
            "words": words.FACE,
            "place": hashlib.sha256(str(self.folder.resolve()).encode()).hexdigest()[:16],
            "fields": dict(self.fields),
            "without": [] if self.bench else ["meter"],
            "notes": {name: self._note(name) for name in NOTES},
            "lines": [_line_state(line) for line in lines],
            "count": _count(lines),
            "back": back,
            "ready": back["state"] == OK and not self.read_only,
            "file": str(self.folder / f"{self.fields['id'].strip()}.toml") if draft else "",
            "stored": self._stored,
            "closed": words.CARD_FORM_READ_ONLY if self.read_only else "",
            "call": self.call if draft else "",
            "revision": self.revision,
        }

    def handle(self, message: State) -> State:
        """Do what a message asks; LabkitError says why it was not done."""
        return self._verbs[message["kind"]](message)

    def type(self, message: State) -> State:
        """Take over what was typed, in any of the fields."""
        typed = {name: str(text) for name, text in message["fields"].items() if name in self.fields}
        if any(self.fields[name] != text for name, text in typed.items()):
            self.fields |= typed
            self.revision += 1
            self._stored = []
        return {}

    def next(self, _: State) -> State:
        """Add the range after the last one: ten times larger, with the same accuracy."""
        last = next((line.range for line in reversed(table_lines(self.fields["ranges"])) if line.range), None)
        if last is None:
            raise EntryError(words.NOTHING_TO_REPEAT)
        text = f"{self.fields['ranges'].rstrip()}\n{ten_times(last)}"
        self.type({"fields": {"ranges": text}})
        return {"ranges": text}

    def store(self, message: State) -> State:
        """Store the card that was read back, and enter the meter if it has a name."""
        if message["revision"] != self.revision:
            raise CardError(
                "The card was NOT stored: it was changed since these limits were worked out; "
                "look at them again, then confirm."
            )
        if self.read_only:
            raise CardError(words.CARD_FORM_READ_ONLY)
        draft = self._whole()
        draft.allows(self.fields["typical"], self.fields["typical_frequency"])
        said = list(draft.store(self.folder, confirmed=True).sentences)
        meter = self.fields["meter"].strip()
        if self.bench and meter:
            try:
                said += self.bench.meter(meter, draft.text).sentences
            except LabkitError as error:
                raise CardError(f"{said[0]} It was NOT entered in the record: {error}") from None
        self._stored = said
        return {"stored": True}

    @property
    def call(self) -> str:
        """The plain calls that do the same."""
        named = {
            "title": _quoted(self.fields["title"]),
            "source": _quoted(self.fields["source"]),
            "ranges": _block(self.fields["ranges"]),
        }
        optional = self._optional()
        named |= {name: _python(value) for name, value in optional.items()}
        arguments = "".join(f",\n    {name}={text}" for name, text in named.items())
        lines = [f"card = labkit.write_card({_quoted(self.fields['id'])}{arguments})"]
        if self.fields["typical"].strip():
            given = [self.fields["typical"], self.fields["typical_frequency"]]
            lines.append(f"card.allows({', '.join(_quoted(text) for text in given if text.strip())})")
        lines.append(f"card.store({_quoted(str(self.folder))}, confirmed=True)")
        if self.bench and self.fields["meter"].strip():
            lines.append(f"bench.meter({_quoted(self.fields['meter'])}, card.text)")
        return "\n".join(lines)

    # ---- helpers

    def _whole(self) -> CardDraft:
        """The card as typed; CardError with the first thing that is missing."""
        id, title, source, ranges = (self.fields[name] for name in ("id", "title", "source", "ranges"))
        return write_card(id, title=title, source=source, ranges=ranges, **self._optional())

    def _draft(self) -> tuple[CardDraft | None, str]:
        try:
            return self._whole(), ""
        except CardError as error:
            return None, str(error)

    def _optional(self) -> dict[str, Any]:
        """The fields that were given and need not be."""
        named = ("calibrated", "calibration_due", "low_q")
        given: dict[str, Any] = {name: self.fields[name] for name in named if self.fields[name].strip()}
        if self._lead_given:
            given["leads"] = (self.fields["lead"], self.fields["lead_limit"])
        return given | ({"invented": True} if self.fields["invented"] else {})

    @property
    def _lead_given(self) -> bool:
        return bool(self.fields["lead"].strip() or self.fields["lead_limit"].strip())

    def _back(self, draft: CardDraft | None, waiting: str) -> State:
        """What the card allows at the typical value."""
        if draft is None:
            return {"state": EMPTY, "said": [waiting]}
        if not self.fields["typical"].strip():
            return {"state": EMPTY, "said": [words.NO_VALUE]}
        try:
            found = allowed(draft.card, self.fields["typical"], self.fields["typical_frequency"])
        except LabkitError as error:
            return {"state": REFUSED, "said": [str(error)]}
        said = [words.CARD_ALLOWS.format(where=found.where), found.formula]
        said += [words.CARD_STANDARD.format(u=found.u), *found.remarks]
        return {"state": OK, "said": said}

    def _note(self, name: str) -> State:
        """How one field is understood so far."""
        text = self.fields[name]
        if not (text.strip() or (name == "lead" and self._lead_given)):
            return {"state": EMPTY, "said": ""}
        try:
            return {"state": OK, "said": NOTES[name](self.fields)}
        except CardError as error:
            return {"state": REFUSED, "said": str(error)}


class CardWidget(Live):
    """The card form as a widget; where no widget can be shown it is one sentence."""

    def __init__(self, model: CardForm) -> None:
        super().__init__(model, "card.js", "card.css")

    def __repr__(self) -> str:
        return words.WITHOUT


_open: WeakValueDictionary[str, CardWidget] = WeakValueDictionary()


def card_form(where: Bench | str | Path = ".") -> CardWidget:
    """A form that leads from the accuracy page of a manual to a meter card, read back before it is stored.

    The plain call is `write_card`. The same cell run again closes the form that it made before.

    Parameters
    ----------
    where : a bench, whose folder gets the card's file and whose record can take the meter; or just a folder

    Raises
    ------
    RecordMissing
        if there is no such folder.
    """
    bench = where if isinstance(where, Bench) else None
    folder = bench.record.folder if bench else Path(str(where))
    if not folder.is_dir():
        raise RecordMissing(f"There is no folder {folder}; make it first, or give one that is there.")
    made = CardWidget(CardForm(folder, bench))
    place = str(folder.resolve())
    if place in _open:
        _open[place].close()
    _open[place] = made
    return made


def _said_date(name: str) -> Callable[[dict[str, str]], str]:
    def said(fields: dict[str, str]) -> str:
        day = checked_date(fields[name], name)
        assert day is not None
        return words.UNDERSTOOD_DATE.format(day=day.day, month=words.MONTHS[day.month - 1], year=day.year)

    return said


def _said_leads(fields: dict[str, str]) -> str:
    if not (fields["lead"].strip() and fields["lead_limit"].strip()):
        raise CardError(words.BOTH_LEADS)
    return words.UNDERSTOOD_LEADS.format(**(checked_leads((fields["lead"], fields["lead_limit"])) or {}))


def _said_low_q(fields: dict[str, str]) -> str:
    rule = checked_low_q(fields["low_q"])
    assert rule is not None
    return words.UNDERSTOOD_LOW_Q.format(D=f"{rule['above_dissipation_factor']:g}")


NOTES: dict[str, Callable[[dict[str, str]], str]] = {
    "id": lambda fields: checked_id(fields["id"]) and "",
    "title": lambda fields: checked_text(fields["title"], "title") and "",
    "source": lambda fields: checked_text(fields["source"], "source") and "",
    "calibrated": _said_date("calibrated"),
    "calibration_due": _said_date("calibration_due"),
    "low_q": _said_low_q,
    "lead": _said_leads,
}
"""How each field is understood, in words; empty where what was typed says it all."""


def _line_state(line: TableLine) -> State:
    if line.range is None:
        return {"number": line.number, "state": REFUSED, "said": line.refusal}
    on = line.range
    accuracy = words.ACCURACY.format(percent=plain(on.percent), digits=plain(on.digits))
    cells = [on.name, on.up_to, on.digit, accuracy, ", ".join(on.frequencies)]
    return {"number": line.number, "state": OK, "cells": cells}


def _count(lines: tuple[TableLine, ...]) -> str:
    understood = sum(line.range is not None for line in lines)
    refused = len(lines) - understood
    sentence = words.RANGES_REFUSED if refused else words.RANGES_UNDERSTOOD
    return sentence.format(count=understood, refused=refused) if lines else ""


def _quoted(text: str) -> str:
    """A text as it is written in Python."""
    return json.dumps(text.strip(), ensure_ascii=False)


def _block(text: str) -> str:
    """Lines as they are written in Python: one under the other, unless they hold what would end that."""
    return _quoted(text) if {"\\", '"'} & set(text) else f'"""\n{text.strip()}\n"""'


def _python(value: str | bool | tuple[str, ...]) -> str:
    if isinstance(value, tuple):
        return f"({', '.join(map(_quoted, value))})"
    return _quoted(value) if isinstance(value, str) else repr(value)
