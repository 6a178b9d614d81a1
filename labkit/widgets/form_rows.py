"""What the rows of the entry form show: every planned wiring with all that the record holds of it."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Context, Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from labkit import quantity
from labkit.errors import EntryError, LabkitError, WiringError
from labkit.faces.entries import Entry, entries
from labkit.faces.schematic import draw
from labkit.quantity import Quantity
from labkit.record.bench import Bench
from labkit.record.card import read_card
from labkit.record.events import Prediction, spoken
from labkit.record.state import second_text
from labkit.resources import shipped
from labkit.theory.network import identify
from labkit.theory.wiring import Terminal, Wiring
from labkit.words import labels
from labkit.words import record as bench_words
from labkit.words import report as report_words
from labkit.words import widgets as words
from labkit.words.record import ACCEPTED

# What is planned to be read: each step has an id, a wiring and a label, and nothing else is known here.

_PAIR = (
    ("line-forward", "1a 2b | 1b=2a", words.LINE_FORWARD),
    ("line-reversed", "1a 2a | 1b=2b", words.LINE_REVERSED),
    ("side-by-side", "1a 1b | 1a=2a 1b=2b", words.SIDE_BY_SIDE),
    ("side-by-side-reversed", "1a 1b | 1a=2b 1b=2a", words.SIDE_BY_SIDE_REVERSED),
)
_LONGEST_ID = 60  # leaves room for "own-", for the number of a repeat, and for what a correction puts before


@dataclass(frozen=True)
class Step:
    """One planned wiring; readings of it are stored under `id`, repeats under `id.2`, `id.3`, ..."""

    id: str
    wiring: Wiring
    label: str

    @property
    def joint(self) -> bool:
        """Whether several windings take part, so that there is something to predict."""
        touched = {*self.wiring.clips, *(terminal for tie in self.wiring.ties for terminal in tie)}
        return len({terminal.winding for terminal in touched}) > 1

    @property
    def prediction_id(self) -> str:
        """Under which a person's own prediction is stored."""
        return f"own-{self.id}"

    def numbered(self, number: int) -> str:
        """Id of the reading with this number, counted from 1."""
        return self.id if number == 1 else f"{self.id}.{number}"

    def owns(self, id: str) -> bool:
        """Whether a reading with this id was entered for this step.

        >>> step = Step("single", Wiring.parse("1a 1b"), "alone")
        >>> step.owns("single"), step.owns("single.2"), step.owns("single-b")
        (True, True, False)
        """
        head, _, number = id.rpartition(".")
        return id == self.id or (head == self.id and number.isdecimal())


def default_plan(windings: int) -> tuple[Step, ...]:
    """Each winding alone; for two windings also in line and side by side, both ways."""
    singles = tuple(
        Step(f"winding-{n}", Wiring((Terminal(n, "a"), Terminal(n, "b"))), words.SINGLE.format(number=n))
        for n in range(1, windings + 1)
    )
    return (*singles, *plan_of(_PAIR)) if windings == 2 else singles


def plan_of(steps: Iterable[Any]) -> tuple[Step, ...]:
    """A plan from rows of (id, wiring, label), the label optional.

    Raises
    ------
    EntryError, WiringError
        if a row is none, an id cannot be one or comes twice, or a wiring cannot be read.
    """
    plan = tuple(map(_step, steps))
    ids = [step.id for step in plan]
    for id in ids:
        if ids.count(id) > 1:
            raise EntryError(f"The plan holds the id '{id}' twice; give every step an id of its own.", id)
    return plan


def _step(row: Any) -> Step:
    if isinstance(row, Step):
        return row
    match row:
        case [str(id), str(wiring), *label] if len(label) < 2 and all(isinstance(x, str) for x in label):
            _check_id(id)
            built = Wiring.parse(wiring)
            return Step(id, built, label[0] if label else built.spoken)
    raise EntryError(
        f"The plan holds {spoken(row)}, but a step is an id, a wiring and a label, such "
        "as ('line-reversed', '1a 2a | 1b=2b', 'In line, winding 2 turned round').",
        str(row),
    )


def _check_id(id: str) -> None:
    first, allowed = id[:1], id.replace(".", "").replace("_", "").replace("-", "")
    if not (first.isalnum() and allowed.isalnum() and id.isascii() and len(id) <= _LONGEST_ID):
        accepted = ACCEPTED["id"].replace("100", str(_LONGEST_ID))
        raise EntryError(f"The plan's id '{id}' cannot be used: it takes {accepted}.", id)


# The small forms of the entry form as data: a title, some text, fields, a button.
#
# A field has a name, a label, a kind (text, choice, check, or a quantity that is looked at while it is
# typed), a value, a hint and, for a choice, its options. `form_messages` takes what comes back.

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


Row = dict[str, Any]
_picture = lru_cache(maxsize=64)(draw)  # a picture takes 25 ms and changes only with the dots
_identify = lru_cache(maxsize=64)(identify)


@dataclass(frozen=True)
class _Part:
    """What all rows need to know of a bench, looked up once."""

    windings: int
    dots: tuple[Terminal, ...] | None
    predictions: tuple[Prediction, ...]
    taken: frozenset[str]

    @classmethod
    def of(cls, bench: Bench) -> "_Part":
        predictions = tuple(event for event in bench.events if isinstance(event, Prediction))
        return cls(bench.windings, bench.dots, predictions, frozenset(event.id for event in bench.events))


def rows(bench: Bench, plan: Iterable[Step]) -> list[Row]:
    """One row a planned step, then one for each reading in the record that belongs to none."""
    part, found, plan = _Part.of(bench), entries(bench), tuple(plan)
    owners = {entry.id: _owner(entry, plan, part.windings) for entry in found}
    planned = [_row(part, step, [e for e in found if owners[e.id] is step], planned=True) for step in plan]
    strays = [entry for entry in found if owners[entry.id] is None]
    shown = planned + [_row(part, _stray(entry), [entry], planned=False) for entry in strays]
    verdicts = _verdicts(bench)
    for row in shown:
        said = (verdicts.get(entry["id"], "") for entry in row["entries"] if not entry["withdrawn"])
        row["verdict"] = next(filter(None, said), "")
    return shown


def _verdicts(bench: Bench) -> dict[str, str]:
    """What each reading without a card says about the two rules, by its id."""
    if bench.windings != 2 or all(bench.cards.get(reading.meter or "") for reading in bench.readings):
        return {}
    from labkit.analysis.analysis import analyse, in_doubt  # heavy, and needed only once readings are there
    from labkit.analysis.compare import reading_verdict

    analysis = analyse(bench)
    compared: dict[str, dict[str, Any]] = {}
    for c in analysis.comparisons:
        for id in c.observation.ids:
            compared.setdefault(id, {})[c.statement.rule] = c
    doubt = f" {words.DOUBT}" if in_doubt(analysis) else ""
    told = {id: " ".join(reading_verdict(row)) for id, row in compared.items()}
    return {id: text + doubt for id, text in told.items() if text}


def pictures(bench: Bench, shown: Iterable[Row]) -> dict[str, str]:
    """The drawing of each wiring as SVG, by its notation; apart from the rows, for it seldom changes."""
    dots, windings = bench.dots, bench.windings
    possible = [row["notation"] for row in shown if not row["closed"]]
    return {notation: _picture(notation, dots, windings).svg for notation in possible}


def _owner(entry: Entry, plan: tuple[Step, ...], windings: int) -> Step | None:
    """The step that the reading was entered for, else the one with the same wiring."""
    by_id = [step for step in plan if step.owns(entry.id)]
    if by_id:
        return by_id[0]
    built = _canonical(entry.wiring, windings)
    fitting = (step for step in plan if not _refusal(step.wiring, windings))
    return next((step for step in fitting if _canonical(step.wiring, windings) == built), None)


def _stray(entry: Entry) -> Step:
    return Step(entry.id, entry.wiring, words.UNPLANNED.format(id=entry.id))


@lru_cache(maxsize=256)
def _canonical(wiring: Wiring, windings: int) -> Wiring:
    return wiring.canonical(windings)


@lru_cache(maxsize=256)
def _refusal(wiring: Wiring, windings: int) -> str:
    """Why the part cannot be wired so, empty if it can."""
    try:
        wiring.nodes(windings)
    except WiringError as error:
        return str(error)
    return ""


def _row(part: _Part, step: Step, found: list[Entry], *, planned: bool) -> Row:
    closed = _refusal(step.wiring, part.windings)
    predicted = [] if closed else _predictions(part, step.wiring)
    first = min((event.seq for event in predicted), default=None) if step.joint else 0
    standing = [entry for entry in found if entry.withdrawal is None]
    return {
        "id": step.id,
        "label": step.label,
        "notation": step.wiring.notation,
        "spoken": step.wiring.spoken,
        "name": _name(part, step.wiring) if step.joint and not closed else "",
        "closed": closed,
        "joint": step.joint,
        "predicted": [_prediction(event, found) for event in predicted],
        "factor": _factors(predicted, found),
        "predict": step.joint and not predicted and not found and planned,
        "missed": step.joint and not predicted and bool(found),
        "entries": [_entry(entry, step, first) for entry in found],
        "next": _next(step, part.taken, len(standing)) if planned and not closed else None,
    }


def _predictions(part: _Part, wiring: Wiring) -> list[Prediction]:
    built, windings = _canonical(wiring, part.windings), part.windings
    return [event for event in part.predictions if _canonical(Wiring.parse(event.wiring), windings) == built]


def _name(part: _Part, wiring: Wiring) -> str:
    """What the wiring amounts to; nothing while that depends on dots that nobody knows."""
    if part.windings != 2 or part.dots is None:
        return ""
    return labels.CONNECTION[_identify(wiring, part.dots)]


def _prediction(event: Prediction, found: Iterable[Entry]) -> Row:
    shown = str(_value(event.shown, event.quantity) or event.shown)
    notes = [event.said, event.by, words.AFTER_READING if _late(event, found) else ""]
    kept = {"shown": shown, "typed": event.said or event.shown, "by": event.by or ""}
    return kept | {"notes": [note for note in notes if note]}


def _late(event: Prediction, found: Iterable[Entry]) -> bool:
    """Whether something had been read at the wiring before the prediction was committed."""
    return any(entry.event.seq < event.seq for entry in found)


def _factors(predicted: Iterable[Prediction], found: list[Entry]) -> list[str]:
    """How many times what was expected each reading is that counts; none without a prediction in time."""
    expected = [_value(event.shown, event.quantity) for event in predicted if not _late(event, found)]
    read = [_value(e.fields["shown"], e.fields["quantity"]) for e in found if e.withdrawal is None]
    first = expected[0] if expected else None
    return [_factor(value, first) for value in read if value and first and first.exact]


def _factor(value: Quantity, expected: Quantity) -> str:
    """The factor in three digits: 1.99, "870 times more", "870 times less".

    >>> _factor(quantity.parse("25.0 µH"), quantity.parse("20 mH"))
    '800 times less'
    """
    if abs(expected.exact) > abs(value.exact) * words.MANY > 0:
        return words.TIMES_LESS.format(factor=_three(expected.exact, value.exact))
    many = abs(value.exact) > abs(expected.exact) * words.MANY
    return (words.TIMES_MORE if many else "{factor}").format(factor=_three(value.exact, expected.exact))


def _three(number: Decimal, of: Decimal) -> str:
    """A quotient in three digits."""
    quotient = Context(prec=3).divide(number, of)
    digits = Decimal(1).scaleb(quotient.adjusted() - 2) if quotient else Decimal(1)
    return f"{quotient.quantize(digits):f}".replace("-", "\N{MINUS SIGN}")


@lru_cache(maxsize=1024)
def _value(shown: str, kind: str) -> Quantity | None:
    """The shown text as a quantity; None for one that only an editor can have put into the record."""
    try:
        return quantity.parse(shown, kind)
    except EntryError:
        return None


def _entry(entry: Entry, step: Step, predicted: int | None) -> Row:
    shown, withdrawal = entry.fields["shown"], entry.withdrawal
    value = _value(shown, entry.fields["quantity"])
    return {
        "id": entry.id,
        "shown": str(value or shown),
        "typed": shown,
        "facts": _facts(entry),
        "marks": list(_marks(entry, step, value, predicted)),
        "changes": [_change(change.event.reason, change.fields) for change in entry.changes],
        "withdrawn": words.WITHDRAWN.format(reason=withdrawal.reason) if withdrawal else "",
    }


def _facts(entry: Entry) -> str:
    """Under what conditions it was read; what nobody recorded is named as a gap."""
    said = [fact(entry.fields, name) for name in words.FACTS]
    lines = words.LINES.format(lines=", ".join(map(str, entry.lines)))
    return " · ".join(filter(None, [second_text(entry.fields), *said, lines]))


def fact(fields: Mapping[str, Any], name: str) -> str:
    """One condition of a reading in words; a gap says whether it was asked."""
    if fields.get(name) is not None:
        return words.FACTS[name].format(value=fields[name])
    gap = words.UNKNOWN if name in fields else words.UNRECORDED
    return words.GAP.format(name=words.LABELS[name], gap=gap) if name != "by" else ""


def _marks(entry: Entry, step: Step, value: Quantity | None, predicted: int | None) -> Iterable[str]:
    if predicted is None or predicted > entry.event.seq:
        yield words.BEFORE_PREDICTION
    if entry.wiring.notation != step.wiring.notation:
        yield words.WIRED_AS.format(wiring=entry.wiring.notation)
    if value is not None and value.negative and value.kind == "inductance":
        yield bench_words.NEGATIVE


def _change(reason: str, fields: Iterable[tuple[str, str, str]]) -> Mapping[str, Any]:
    display = report_words.FIELDS["shown"]
    was = ", ".join(before if name == display else f"{name} {before}" for name, before, _ in fields)
    return {"was": was, "reason": reason}


def _next(step: Step, taken: frozenset[str], standing: int) -> Row:
    number = next(n for n in range(1, len(taken) + 2) if step.numbered(n) not in taken)
    return {"id": step.numbered(number), "repeat": standing + 1 if standing else None}
