"""The entry form without a browser: what it shows of a record, and what it does with each message.

The form is a view. Everything it shows comes from the record, and every entry goes through a verb of the
bench, so that a form built again, a second form and a plain call never disagree.
"""

import asyncio
import hashlib
import re
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from pathlib import Path
from typing import Any

import traitlets

from labkit import quantity
from labkit.analysis.analysis import analyse
from labkit.analysis.causes.ranking import question
from labkit.errors import AmbiguousEntry, EntryError, LabkitError
from labkit.faces.entries import Entry, entries
from labkit.quantity import KINDS, Quantity
from labkit.quantity.kinds import PREFIXES, accepted_units
from labkit.record.bench import Bench
from labkit.record.record_file import Record
from labkit.record.state import SECOND_KINDS, Answer, Reading, blank, expected, second_display
from labkit.widgets import form_messages as answers
from labkit.widgets import form_rows as sheets
from labkit.widgets.card_form import CardForm
from labkit.widgets.form_messages import plain_call
from labkit.widgets.form_rows import Step, default_plan, fact, pictures, plan_of, rows
from labkit.widgets.live import Live, in_place, number_of
from labkit.widgets.live import State as State_of_live
from labkit.words import record as bench_words
from labkit.words import widgets as words

# How a text that is being typed is understood, while it is typed; nothing is stored by looking.

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
    symbol, mega = KINDS[kind].symbol, KINDS[kind].mega
    if mega and unit == f"M{symbol}":
        return f"{digits} {mega}"  # every digit as read; with another prefix zeros would be added
    power = PREFIXES[unit.removesuffix(symbol)]
    taken = min(KINDS[kind].prefixes, key=lambda prefix: abs(PREFIXES[prefix] - power))
    return f"{Decimal(digits).scaleb(power - PREFIXES[taken]):f} {taken}{symbol}"


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
        changes, reason = answers.changed_fields(fields, entry.fields), answers.reason_given(fields)
        by = self._settings.get("by")
        return _stored(self.bench.correct(entry.id, changes.pop("shown", None), reason, by=by, **changes))

    def withdraw(self, message: State) -> State:
        """Store that a reading no longer counts, with the reason."""
        reason = answers.reason_given(message["fields"])
        return _stored(self.bench.withdraw(message["id"], reason, by=self._settings.get("by")))

    def _entry(self, id: str) -> Entry:
        found = {entry.id: entry for entry in entries(self.bench)}
        if id not in found:
            raise EntryError(f"There is no reading “{id}” in this record.", id)
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


# The entry form in JupyterLab.


class Form(Live):
    """The entry form as a widget; where no widget can be shown it is one sentence."""

    pictures = traitlets.Dict().tag(sync=True)
    model: EntryForm

    def __init__(self, model: EntryForm) -> None:
        super().__init__(
            model, "entry.js", "entry.css", on=("entry_fields.js", "entry_row.js"), inner=("card",)
        )
        self.pictures = model.pictures()

    def answer(self, message: object) -> None:
        """Deal with a message and acknowledge it.

        The new state goes along with the acknowledgement: a second small message behind the first is often
        held back for 40 ms on its way. What takes long is acknowledged at once, worked out beside the entries
        that come meanwhile, and told when it is there.
        """
        if isinstance(message, dict) and message.get("kind") == "doubt":
            self.send({"answer": number_of(message)})
            self._beside(message)
            return
        reply = {"answer": number_of(message)} | self.done(message)
        state = self.model.state()
        self.send(reply if state is self.state else reply | {"now": state})
        self.state = state
        self.pictures = self.model.pictures()

    def _beside(self, message: State_of_live) -> None:
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:  # nothing else can come meanwhile
            self.send(self._doubt(message))
            return
        working = loop.run_in_executor(_BESIDE, self._doubt, message)
        working.add_done_callback(lambda done: self.send(done.result()))

    def _doubt(self, message: State_of_live) -> State_of_live:
        """A record that cannot be read now raises no doubt; other messages say so."""
        return {"about": message.get("id"), "doubt": self.done(message).get("doubt", "")}

    def __repr__(self) -> str:
        return words.WITHOUT


_BESIDE = ThreadPoolExecutor(max_workers=1, thread_name_prefix="labkit-doubt")


def form(bench: Bench, plan: Iterable[Any] | None = None) -> Form:
    """The entry form of a bench: own predictions first, then what the display shows, row by row.

    It is a view of the record: build it again and it shows the same. The same cell run again closes the form
    that it made before.

    Parameters
    ----------
    bench : Bench
    plan : rows of (id, wiring, label), the label optional; if None, each winding alone, and two also in line
        and side by side, both ways

    Raises
    ------
    EntryError, WiringError
        if the plan cannot be read.
    """
    return in_place(Form(EntryForm(bench, plan)), str(bench.record.folder))
