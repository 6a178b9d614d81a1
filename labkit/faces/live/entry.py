"""The entry form without a browser: what it shows of a record, and what it does with each message.

The form is a view. Everything it shows comes from the record, and every entry goes through a verb of the
bench, so that a form built again, a second form and a plain call never disagree.
"""

import hashlib
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

from labkit import quantity
from labkit.analysis.analysis import analyse
from labkit.analysis.causes.telling import question
from labkit.bench.answer import Answer
from labkit.bench.bench import Bench
from labkit.bench.store import Record
from labkit.errors import EntryError, LabkitError
from labkit.faces.entries import Entry, entries
from labkit.faces.live import answers, sheets
from labkit.faces.live.calls import plain_call
from labkit.faces.live.card import CardForm
from labkit.faces.live.look import look
from labkit.faces.live.plan import Step, default_plan, plan_of
from labkit.faces.live.rows import fact, pictures, rows
from labkit.words import form as words

State = dict[str, Any]
TOPIC = "explanation"
STEPS = ("accept", "describe", "meter", "use")
_CONDITIONS = ("frequency", "mode", "meter", "leads")
_LOOKED_AT = {"shown": "inductance", "second": "second", "frequency": "frequency"}
_SAID: dict[
    Path, dict[str, Any]
] = {}  # what held last for a folder in this kernel, offered to a bench opened anew


class EntryForm:
    """The model of the entry form: `state()` is what to show, `handle(message)` does what a message asks.

    Parameters
    ----------
    bench : the form's record and settings are the bench's own
    plan : rows of (id, wiring, label); if None, each winding alone, and two also in line and side by side

    Raises
    ------
    EntryError, WiringError
        if the plan cannot be read.
    """

    def __init__(self, bench: Bench, plan: Iterable[Any] | None = None) -> None:
        self.bench = bench
        self._plan = None if plan is None else plan_of(plan)
        self._verbs: dict[str, Callable[[State], State]] = {
            "look": self.look,
            "again": self.again,
            "sheet": self.sheet,
            "doubt": self.doubt,
            "store": self.store,
            "accept": self.accept,
            "describe": self.describe,
            "meter": self.meter,
            "use": self.use,
            "write": self.write,
            "card": self.card,
            "correct": self.correct,
            "withdraw": self.withdraw,
        }
        self._card: CardForm | None = None  # the form of a meter's card, once somebody asked for it
        self._problems: tuple[str, ...] = ()
        self._seen: tuple[object, ...] = ()
        self._ranked: tuple[str | None, Any] = (
            None,
            None,
        )  # digest of a record, and what explains its readings
        self._shown: State = {}
        self.again({})

    @property
    def plan(self) -> tuple[Step, ...]:
        """The steps; without a plan of one's own they follow the number of windings."""
        return default_plan(self.bench.windings) if self._plan is None else self._plan

    # ---- what to show

    def state(self) -> State:
        """Everything that the script draws; made anew only if the record or the settings changed."""
        record = self.bench.record
        card = self._card.revision if self._card else -1
        seen = (record.digest, len(record.events), self._problems, tuple(self._settings.items()), card)
        if seen != self._seen:
            self._seen, self._shown = seen, self._head() | self._body()
        return self._shown

    def pictures(self) -> dict[str, str]:
        """The drawing of each wiring that the state names, by its notation."""
        return pictures(self.bench, self.state()["rows"])

    @property
    def _settings(self) -> dict[str, Any]:
        return self.bench.settings

    def _head(self) -> State:
        bench = self.bench
        dots = " ".join(map(str, bench.dots or ()))
        return {
            "record": hashlib.sha256(str(bench.record.folder).encode()).hexdigest()[:16],
            "title": (bench.part.title if bench.part else None) or bench.part_name,
            "invented": words.INVENTED if bench.invented else "",
            "dots": words.DOTS.format(dots=dots) if dots else words.DOTS_UNKNOWN if bench.part else "",
            "problems": list(self._problems),
            "call": next(filter(None, map(plain_call, reversed(bench.events))), ""),
            "card": self._card.state() if self._card else None,
            "words": words.FACE,
        }

    def _body(self) -> State:
        try:
            return self._open_body()
        except LabkitError as error:  # a line that no bench has stored
            closed = f"{error} {words.UNREADABLE}"
            nothing: State = {"settings": "", "special": [], "rows": [], "done": None}
            return {"closed": closed, "step": None} | nothing

    def _open_body(self) -> State:
        shown = rows(self.bench, self.plan)
        return {
            "closed": words.READ_ONLY if self.bench.record.read_only else "",
            "step": self._numbered(step) if (step := self._step()) else None,
            "settings": self._said_settings(),
            "special": sheets.special(self.bench),
            "rows": shown,
            "done": self._done(shown),
        }

    def _done(self, shown: list[State]) -> State | None:
        """Once every planned wiring is read: what comes next, and what people wrote; None before."""
        planned = [row for row in shown if row["next"]]
        if not planned or any(all(e["withdrawn"] for e in row["entries"]) for row in planned):
            return None
        written = [w for w in self.bench.own_words if w.topic == TOPIC]
        own = [words.WRITTEN.format(by=w.by or words.SOMEBODY, line=w.seq, text=w.text) for w in written]
        return {"next": words.NEXT if own else words.NEXT_WRITE, "own": own}

    def _numbered(self, step: str) -> sheets.Sheet:
        """A small form that has to be answered, with its place among them."""
        count = words.STEP_OF.format(number=STEPS.index(step) + 1, all=len(STEPS))
        return self._sheet(step) | {"count": count}

    def _said_settings(self) -> str:
        said = [fact(self._settings, name) for name in words.FACTS if name in self._settings]
        return words.SETTINGS.format(settings=" · ".join(filter(None, said))) if said else ""

    def _step(self) -> str:
        """The small form that has to be answered before the next entry, empty if entry is open."""
        bench = self.bench
        missing = {
            "accept": not bench.cautions_accepted,
            "describe": bench.part is None,
            "meter": not bench.cards,
            "use": not set(_CONDITIONS) <= set(self._settings),
        }
        return "" if bench.record.read_only else next((step for step in missing if missing[step]), "")

    # ---- messages that store nothing

    def handle(self, message: State) -> State:
        """Do what a message asks; LabkitError, or `refused` in what comes back, says why it was not done."""
        return self._verbs[message["kind"]](message)

    def look(self, message: State) -> State:
        """How a text is understood so far."""
        readings = self.bench.readings if message["as"] == "prediction" else ()
        return look(message["text"], message["as"], readings)

    def again(self, _: State) -> State:
        """See what others have added to the record."""
        self.bench.record.refresh()
        self._problems = self.bench.record.problems
        return {}

    def sheet(self, message: State) -> State:
        """A small form that was asked for."""
        return {"sheet": self._sheet(message["name"], message.get("id", ""))}

    def _sheet(self, name: str, id: str = "") -> sheets.Sheet:
        made: dict[str, Callable[[], sheets.Sheet]] = {
            "accept": sheets.accept,
            "describe": lambda: sheets.describe(self.bench),
            "meter": lambda: sheets.meter(self.bench),
            "use": self._use_sheet,
            "write": sheets.write,
            "correct": lambda: sheets.correct(self.bench, self._entry(id)),
            "withdraw": lambda: sheets.withdraw(self._entry(id)),
        }
        return made[name]()

    def _use_sheet(self) -> sheets.Sheet:
        counting = [entry.fields for entry in entries(self.bench) if entry.withdrawal is None]
        last = counting[-1] if counting else _SAID.get(self.bench.record.folder, {})
        return sheets.use(self.bench, self._settings, last)

    def doubt(self, message: State) -> State:
        """A discreet question about a stored reading, once the others make a slip in it likely.

        It takes long, so it reads the record for itself and can be worked out beside further entries.
        """
        record = Record.open(self.bench.record.folder, read_only=True)
        if self._ranked[0] != record.digest:
            self._ranked = record.digest, analyse(Bench(record)).ranking
        ranking = self._ranked[1]
        return {"doubt": (question(ranking, message["id"]) if ranking else None) or ""}

    # ---- messages that store

    def store(self, message: State) -> State:
        """Store a prediction or a reading of a planned step."""
        step = next((step for step in self.plan if step.id == message["row"]), None)
        if step is None:
            raise EntryError(words.NO_SUCH_ROW.format(given=message["row"]), message["row"])
        if waiting := self._step():
            raise EntryError(words.CLOSED.format(step=self._sheet(waiting)["title"]))
        if message["what"] == "prediction":
            return self._predict(step, message["shown"])
        if refusal := _refusal(message, needed="shown"):
            return refusal
        return _entered(words.STORED, step, self._read(step, message))

    def _predict(self, step: Step, shown: str) -> State:
        echo = look(shown, "prediction", self.bench.readings)
        if echo["state"] != "ok":
            said = echo["said"] or words.NOTHING_EXPECTED
            return {"refused": said, "field": "prediction", "choices": echo["choices"]}
        by = self._settings.get("by")
        answer = self.bench.commit(step.wiring.notation, shown, step.prediction_id, by=by)
        return _entered(words.LOCKED, step, answer)

    def _read(self, step: Step, message: State) -> Answer:
        special = {name: message[name] for name in _CONDITIONS if message.get(name)}
        return self.bench.read(
            step.wiring.notation,
            message["shown"],
            message["id"],
            second=message.get("second") or None,
            repeat=message.get("repeat"),
            **special,
        )

    def accept(self, message: State) -> State:
        """Store that a person has read the cautions."""
        return _stored(self.bench.accept_cautions(by=answers.pseudonym(message["fields"]["by"])))

    def describe(self, message: State) -> State:
        """Store what the part is; what was stated is taken back only with a reason."""
        said = answers.part(message["fields"])
        before = self.bench.part.model_dump() if self.bench.part else {}
        if not said.get("reason") and any(v is None and before.get(name) for name, v in said.items()):
            raise EntryError(words.REASON)
        return _stored(self.bench.describe(**said))

    def meter(self, message: State) -> State:
        """Store a meter with its card, or that there is none."""
        name, card = answers.meter(message["fields"], self.bench.record.folder)
        why = message["fields"].get("reason", "").strip() or None
        if card is None and self.bench.card_of(name) and not why:
            raise EntryError(words.REASON)
        return _stored(self.bench.meter(name, card, reason=why))

    def card(self, message: State) -> State:
        """Open the form of a meter's card, or hand it a message."""
        if self._card is None:
            self._card = CardForm(self.bench.record.folder, self.bench)
        return self._card.handle(message["message"]) if message.get("message") else {}

    def use(self, message: State) -> State:
        """Say what holds for all readings from here on."""
        if refusal := _refusal(message["fields"]):
            return refusal
        answer = self.bench.use(**answers.settings(message["fields"]))
        _SAID[self.bench.record.folder] = self.bench.settings
        return _stored(answer)

    def write(self, message: State) -> State:
        """Store what a person saw in own words."""
        text = answers.own_words(message["fields"])
        return _stored(self.bench.write(TOPIC, text, by=self._settings.get("by")))

    def correct(self, message: State) -> State:
        """Store what should have been entered, with the reason."""
        entry, fields = self._entry(message["id"]), message["fields"]
        if refusal := _refusal(fields, needed="shown"):
            return refusal
        changes, reason = answers.changes(fields, entry.fields), answers.reason(fields)
        by = self._settings.get("by")
        return _stored(self.bench.correct(entry.id, changes.pop("shown", None), reason, by=by, **changes))

    def withdraw(self, message: State) -> State:
        """Store that a reading no longer counts, with the reason."""
        reason = answers.reason(message["fields"])
        return _stored(self.bench.withdraw(message["id"], reason, by=self._settings.get("by")))

    def _entry(self, id: str) -> Entry:
        found = {entry.id: entry for entry in entries(self.bench)}
        if id not in found:
            raise EntryError(words.NO_SUCH_ENTRY.format(given=id), id)
        return found[id]


def _refusal(fields: Mapping[str, Any], needed: str = "") -> State | None:
    """The first field that is not understood, with what to say beside it; None if all are."""
    for name, kind in _LOOKED_AT.items():
        echo = look(fields.get(name, ""), kind)
        if echo["state"] == "empty" and name == needed:
            return {"refused": words.NOTHING_ENTERED, "field": name, "choices": []}
        if echo["state"] == "refused":
            return {"refused": echo["said"], "field": name, "choices": echo["choices"]}
    return None


def _entered(sentence: str, step: Step, answer: Answer) -> State:
    """That a value was stored, and what the bench warns of."""
    event: Any = answer.event
    facts = {"label": step.label, "shown": quantity.parse(event.shown), "line": event.seq}
    return {"said": [sentence.format(**facts), *answer.sentences[1:]], "entered": event.id}


def _stored(answer: Answer) -> State:
    """What the bench says to an entry that it has stored."""
    return {"said": list(answer.sentences)}
