"""What the rows of the entry form show: every planned wiring with all that the record holds of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Context, Decimal
from functools import lru_cache
from typing import Any

from labkit import quantity
from labkit.bench.bench import Bench
from labkit.bench.events import Prediction
from labkit.bench.fields import second_text
from labkit.errors import EntryError, WiringError
from labkit.faces.entries import Entry, entries
from labkit.faces.live.plan import Step
from labkit.faces.schematic import draw
from labkit.quantity import Quantity
from labkit.theory.network import identify
from labkit.theory.wiring import Terminal, Wiring
from labkit.words import bench as bench_words
from labkit.words import form as words
from labkit.words import labels
from labkit.words import report as report_words

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
    return planned + [_row(part, _stray(entry), [entry], planned=False) for entry in strays]


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
