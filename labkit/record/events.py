"""The events of a record: what one line may hold, and how a line, its content and its hash belong together.

A field that is absent was not asked; a field that is null was asked and is not known. What a display
showed is kept as text and not interpreted here. `python -m labkit.record.events` prints the JSON schema of
the newest record format, `python -m labkit.record.events 1` that of the first.
"""

import copy
import functools
import hashlib
import json
import operator
import sys
from collections import Counter
from collections.abc import Mapping
from datetime import datetime
from typing import Annotated, Any, Literal, NoReturn, TypeAlias, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    StringConstraints,
    TypeAdapter,
    ValidationError,
)

from labkit.errors import RecordError, RecordTooNew
from labkit.words import record as words

# What single values of an event may look like: one-line texts, texts, names, times, digests, counts.

_CONTROL = r"\u0000-\u001f\u007f-\u009f"
_CONTROL_BUT_LINE_ENDS = r"\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f"
_ONE_LINE = rf"^[^{_CONTROL}]*[^\s{_CONTROL}][^{_CONTROL}]*$"
_LINES = rf"^[^{_CONTROL_BUT_LINE_ENDS}]*[^\s{_CONTROL}][^{_CONTROL_BUT_LINE_ENDS}]*$"


def _real_time(text: str) -> str:
    datetime.fromisoformat(text)
    return text


Id = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,99}$")]
Person = Annotated[str, StringConstraints(pattern=r"^[a-z]{1,8}[0-9]{1,4}$")]
Digest = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
Utc = Annotated[
    str,
    StringConstraints(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}Z$"),
    AfterValidator(_real_time),
]
Name = Annotated[str, StringConstraints(max_length=200, pattern=_ONE_LINE)]
Line = Annotated[str, StringConstraints(max_length=500, pattern=_ONE_LINE)]
Text = Annotated[str, StringConstraints(max_length=10_000, pattern=_LINES)]
CardText = Annotated[str, StringConstraints(max_length=100_000, pattern=_LINES)]
QuantityName = Annotated[str, StringConstraints(pattern=r"^[A-Za-z][A-Za-z0-9 _-]{0,31}$")]
Turn = Annotated[int, Field(ge=1, strict=True)]
Turns = Annotated[tuple[Turn, ...], Field(strict=False, min_length=1, max_length=64)]
Seed = Annotated[int, Field(ge=0, lt=2**53)]  # whole numbers above 2**53 change in many JSON readers
Repeat = Annotated[int, Field(ge=1, le=10_000)]


# What every kind of event is built on.

NOT_ASKED: Any = None  # the attribute of a field that is absent; where null is no answer, a null is refused


class Strict(BaseModel):
    """Nothing is converted, added or changed."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, hide_input_in_errors=True)


def _not_second(schema: int) -> int:
    if schema == 2:  # which only sweeps were written in
        raise ValueError
    return schema


class Common(Strict):
    """What every event carries."""

    schema_version: Annotated[int, Field(ge=1, le=3), AfterValidator(_not_second)] = Field(alias="schema")
    seq: Annotated[int, Field(ge=1)]
    utc: Utc
    event: str
    id: Id
    by: Person | None = NOT_ASKED
    prev: Digest | None


# The event of a sweep: which file, measured how, under which conditions.
#
# It came with record format 2: a labkit that knows only format 1 would take such a line for damage and hang
# the next event to the wrong one, so it has to refuse the record with its sentence about newer formats.

Setup = Literal["impedance", "reflection", "series-through", "shunt-through", "four-port"]
FixtureModel = Literal["ladder", "symmetric"]


class KeptFile(Strict):
    """A file as it was given, kept under its hash."""

    file: Name
    sha256: Digest


class Sweep(KeptFile, Common):
    """Impedance or scattering parameters against frequency, in a file that is kept beside the record."""

    schema_version: Annotated[int, Field(ge=2, le=3)] = Field(alias="schema")
    event: Literal["sweep"]
    part: Name
    wiring: Line | None
    setup: Setup
    ports: Line | None = NOT_ASKED
    decimal: Literal[".", ","] | None = NOT_ASKED
    open: KeptFile | None = NOT_ASKED
    short: KeptFile | None = NOT_ASKED
    fixture_model: FixtureModel | None = NOT_ASKED
    accuracy: Line | None = NOT_ASKED
    not_passive: Text | None = NOT_ASKED
    test_level: Line | None = NOT_ASKED
    bias: Line | None = NOT_ASKED
    temperature: Line | None = NOT_ASKED
    fixture: Line | None = NOT_ASKED
    instrument: Line | None = NOT_ASKED
    note: Text | None = NOT_ASKED


class Opened(Common):
    """The first line: the part under test, and whether the record is invented."""

    event: Literal["opened"]
    part: Name
    labkit: Name
    invented: bool = NOT_ASKED
    scenario: Text | None = NOT_ASKED
    seed: Seed | None = NOT_ASKED


class Part(Common):
    """What is known of the part: windings, family, dots."""

    event: Literal["part"]
    part: Name
    windings: Annotated[int, Field(ge=1, le=64)]
    family: Literal["same core", "separate", "movable"] | None = NOT_ASKED
    dots: Line | None = NOT_ASKED
    title: Line | None = NOT_ASKED
    description: Text | None = NOT_ASKED
    turns: Turns | None = NOT_ASKED
    core: Text | None = NOT_ASKED
    reason: Text = NOT_ASKED


class Meter(Common):
    """A meter and its card's text, verbatim."""

    event: Literal["meter"]
    meter: Name
    card: CardText | None = NOT_ASKED
    reason: Text = NOT_ASKED


class Conditions(Common):
    """The conditions on the bench, as shown or told."""

    event: Literal["conditions"]
    temperature: Line | None = NOT_ASKED
    humidity: Line | None = NOT_ASKED
    test_level: Line | None = NOT_ASKED
    frequency: Line | None = NOT_ASKED
    correction: Line | None = NOT_ASKED
    bias: Line | None = NOT_ASKED
    place: Line | None = NOT_ASKED
    largest_meter_error: Line | None = NOT_ASKED
    note: Text | None = NOT_ASKED
    reason: Text = NOT_ASKED


class Reference(Common):
    """What a certificate or a marking states of a reference part, which counts as one winding."""

    event: Literal["reference"]
    winding: Annotated[int, Field(ge=1, le=64)]
    quantity: QuantityName
    shown: Line
    uncertainty: Line | None = NOT_ASKED
    coverage_factor: Line | None = NOT_ASKED
    tolerance: Line | None = NOT_ASKED
    frequency: Line | None = NOT_ASKED
    source: Text | None = NOT_ASKED

    @property
    def subject(self) -> tuple[int, str | None]:
        """What it is about: one winding at one frequency."""
        return self.winding, self.frequency


class Cautions(Common):
    """A person has read this version of the cautions."""

    event: Literal["cautions"]
    by: Person
    accepted: Name


class Prediction(Common):
    """A person's own prediction; locked, it can never be corrected."""

    event: Literal["prediction"]
    wiring: Line
    quantity: QuantityName
    shown: Line
    said: Line = NOT_ASKED


class Second(Strict):
    """The second display of a reading."""

    quantity: QuantityName
    shown: Line


class ReadingFields(Strict):
    """What a reading consists of, each field optional: what a correction may change."""

    part: Name = NOT_ASKED
    wiring: Line = NOT_ASKED
    quantity: QuantityName = NOT_ASKED
    mode: Literal["series", "parallel"] | None = NOT_ASKED
    shown: Line = NOT_ASKED
    second: Second | None = NOT_ASKED
    frequency: Line | None = NOT_ASKED
    meter: Name | None = NOT_ASKED
    leads: Literal["zeroed", "not zeroed"] | None = NOT_ASKED
    repeat: Repeat | None = NOT_ASKED
    temperature: Line | None = NOT_ASKED
    test_level: Line | None = NOT_ASKED


class Reading(ReadingFields, Common):
    """What a meter showed at one wiring."""

    event: Literal["reading"]
    part: Name
    wiring: Line
    quantity: QuantityName
    shown: Line


def _something(changes: ReadingFields) -> ReadingFields:
    if not changes.model_fields_set:
        raise ValueError
    return changes


Changes = Annotated[ReadingFields, AfterValidator(_something), Field(json_schema_extra={"minProperties": 1})]


class Correction(Common):
    """New values for fields of a reading, with the reason; the reading's own line stays."""

    event: Literal["correction"]
    corrects: Id
    changes: Changes
    reason: Text


class Withdrawal(Common):
    """A reading that shall no longer count, with the reason; the reading's own line stays."""

    event: Literal["withdrawal"]
    withdraws: Id
    reason: Text


class OwnWords(Common):
    """What a person writes in own words."""

    event: Literal["own_words"]
    topic: Name
    text: Text


_Setting: TypeAlias = Opened | Part | Meter | Reference | Conditions | Cautions
_Entry: TypeAlias = Prediction | Reading | Correction | Withdrawal | OwnWords | Sweep
Event: TypeAlias = _Setting | _Entry
KINDS: dict[str, type[BaseModel]] = {
    get_args(kind.model_fields["event"].annotation)[0]: kind for kind in get_args(Event)
}
FORMATS = {name: 2 if kind is Sweep else 1 for name, kind in KINDS.items()}
"""The record format that each kind of event came with, and that its lines said before lines had a check."""

NEWEST_SCHEMA = 3
CHECKED_FROM = 3  # every line of this format, and of each later one, carries its check
CHECK_DIGITS = 16
_PLAIN: Any = {"ensure_ascii": False, "allow_nan": False, "check_circular": False, "separators": (",", ":")}
_ENCODER = json.JSONEncoder(**_PLAIN)
_CANONICAL = json.JSONEncoder(sort_keys=True, **_PLAIN)
_ADAPTER: TypeAdapter[Event] = TypeAdapter(Annotated[Event, Field(discriminator="event")])


def asked(event: Event, field: str) -> bool:
    """Whether the field stands in the event's line, be it with a value or as null for "not known"."""
    return field in event.model_fields_set


def to_content(event: Event) -> dict[str, Any]:
    """The event as plain JSON values, absent fields left out, in the order in which its line is written."""
    content = event.model_dump(mode="json", by_alias=True, exclude_unset=True)
    last = {name: content.pop(name) for name in ("by", "prev") if name in content}
    return content | last


def to_line(event: Event) -> bytes:
    """The event's line in UTF-8, with its check and its line end."""
    content = to_content(event)
    if event.schema_version >= CHECKED_FROM:
        content["check"] = content_hash(content)[:CHECK_DIGITS]
    return _ENCODER.encode(content).encode() + b"\n"


def content_hash(content: Mapping[str, Any]) -> str:
    """SHA-256 of the content in canonical form, as 64 hexadecimal digits.

    Canonical is the JSON text with sorted names, no spaces, characters unescaped, in UTF-8. Neither the
    line's spacing nor its line end nor the order of its names counts, its `prev` does.

    >>> content_hash({"b": 1, "a": "µ"}) == hashlib.sha256('{"a":"µ","b":1}'.encode()).hexdigest()
    True
    """
    return hashlib.sha256(_CANONICAL.encode(content).encode()).hexdigest()


def take_check(content: dict[str, Any]) -> tuple[str | None, bool | None]:
    """Take the check out of the content of a line, and hold it against the rest.

    Returns
    -------
    The hash of the content without its check, None if there is none (half a character, an infinite number).
    Whether the check fits; None for a line of a format that has none.
    """
    check, schema = content.pop("check", None), content.get("schema")
    try:
        digest = content_hash(content)
    except (ValueError, RecursionError):
        return None, False
    if check is None:
        return digest, False if isinstance(schema, int) and schema >= CHECKED_FROM else None
    return digest, check == digest[:CHECK_DIGITS]


def told(event: Event) -> dict[str, Any]:
    """What the person gave: the content without the place, time and link that the record adds."""
    added = {"schema", "seq", "utc", "prev"}
    return {name: value for name, value in to_content(event).items() if name not in added}


def parse_line(raw: bytes, where: str) -> dict[str, Any]:
    """The JSON object on one line.

    Raises
    ------
    RecordError
        if the line is not UTF-8, not JSON, not an object, names a field twice, or holds NaN or Infinity.
    """
    try:
        content = _DECODER.decode(raw.decode())
    except (ValueError, RecursionError) as error:
        raise RecordError(words.NOT_JSON.format(where=where, given=str(error)[:80])) from None
    if not isinstance(content, dict):
        given = words.NOT_AN_OBJECT.format(given=type(content).__name__)
        raise RecordError(words.NOT_JSON.format(where=where, given=given))
    return content


def _without_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    content = dict(pairs)
    if len(content) < len(pairs):
        twin = Counter(name for name, _ in pairs).most_common(1)[0][0]
        raise ValueError(f"the name {spoken(twin)} stands twice in one object")
    return content


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a number that JSON knows")


_DECODER = json.JSONDecoder(object_pairs_hook=_without_twins, parse_constant=_no_number)


def to_event(content: Mapping[str, Any], where: str) -> Event:
    """The event that the content, without a check, describes; `where` begins the sentence of a refusal.

    Raises
    ------
    RecordTooNew
        if the content belongs to a newer format than this labkit reads.
    RecordError
        if a field is missing, unknown or not acceptable; the sentence names it and what is accepted.
    """
    schema = content.get("schema")
    if isinstance(schema, int) and schema > NEWEST_SCHEMA:
        raise RecordTooNew(
            f"{where} was written in record format {schema}, but this labkit reads formats "
            f"up to {NEWEST_SCHEMA}; the record is unharmed: open it with a newer labkit."
        )
    try:
        return _ADAPTER.validate_python(content)
    except ValidationError as error:
        raise RecordError(_refusal(content, error, where)) from None


def read_event(content: Mapping[str, Any], where: str) -> tuple[Event, tuple[str, ...]]:
    """The event on a line of a record, and the fields on it that this labkit does not know.

    A later labkit may have added optional fields: what is known of the line is read, the line is kept.

    Raises
    ------
    as `to_event`
    """
    try:
        return to_event(content, where), ()
    except RecordTooNew:
        raise
    except RecordError:
        paths = _unknown(content)
        if not paths:
            raise
    return to_event(_without(content, paths), where), tuple(".".join(path) for path in paths)


def _unknown(content: Mapping[str, Any]) -> list[list[str]]:
    """The fields that no model has, each as the names that lead to it."""
    try:
        _ADAPTER.validate_python(content)
    except ValidationError as error:
        found = error.errors(include_url=False, include_context=False, include_input=False)
        return [[str(step) for step in e["loc"][1:]] for e in found if e["type"] == "extra_forbidden"]
    return []


def _without(content: Mapping[str, Any], paths: list[list[str]]) -> dict[str, Any]:
    known = copy.deepcopy(dict(content))
    for *owners, name in paths:
        functools.reduce(operator.getitem, owners, known).pop(name)
    return known


def _refusal(content: Mapping[str, Any], error: ValidationError, where: str) -> str:
    """One sentence for the first thing that is wrong."""
    first = error.errors(include_url=False, include_context=False)[0]
    path = [str(step) for step in first["loc"][1:]]
    field, given = ".".join(path), spoken(first["input"])
    if not path:
        given = spoken(content.get("event"))
        return words.UNKNOWN_EVENT.format(where=where, given=given, kinds=", ".join(KINDS))
    if first["type"] == "extra_forbidden":
        beside = ", ".join(_fields_beside(path, content["event"]))
        return words.UNKNOWN_FIELD.format(where=where, field=spoken(field), given=given, fields=beside)
    accepted = next(words.ACCEPTED[name] for name in reversed(path) if name in words.ACCEPTED)
    if first["type"] == "missing":
        return words.MISSING_FIELD.format(where=where, field=field, accepted=accepted)
    return words.WRONG.format(where=where, field=field, given=given, accepted=accepted)


def _fields_beside(path: list[str], kind: str) -> list[str]:
    inner: dict[str, type[BaseModel]] = {
        "second": Second,
        "changes": ReadingFields,
        "open": KeptFile,
        "short": KeptFile,
    }
    model = inner[path[-2]] if path[1:] else KINDS[kind]
    return [field.alias or name for name, field in model.model_fields.items()]


def spoken(value: object) -> str:
    """A value inside a sentence: one line, short, nothing in it that a terminal would obey."""
    text = "null" if value is None else repr(value)
    return text if len(text) <= 80 else text[:79] + "…"


def json_schema(format: int = NEWEST_SCHEMA) -> dict[str, Any]:
    """The published JSON schema of one line of a record in this format, made from the models above."""
    kinds: Any = functools.reduce(operator.or_, (KINDS[name] for name in KINDS if FORMATS[name] <= format))
    adapter: TypeAdapter[Any] = TypeAdapter(Annotated[kinds, Field(discriminator="event")])
    schema = adapter.json_schema(by_alias=True)
    for model in schema["$defs"].values():
        if "schema" in model["properties"]:
            _in_format(format, model)
        for name, field in model["properties"].items():
            accepted = {key: value for key, value in field.items() if key not in ("title", "default")}
            model["properties"][name] = accepted | {"description": words.ACCEPTED[name]}
    return {name: text.format(format=format) for name, text in words.SCHEMA_HEAD.items()} | schema


def _in_format(format: int, model: dict[str, Any]) -> None:
    """What a line of this format says of its format and of its check."""
    came_with = FORMATS[model["properties"]["event"]["const"]]
    model["properties"]["schema"] = {"const": came_with if format < CHECKED_FROM else format}
    if format >= CHECKED_FROM:
        model["properties"]["check"] = {"type": "string", "pattern": f"^[0-9a-f]{{{CHECK_DIGITS}}}$"}
        model["required"].append("check")


if __name__ == "__main__":
    print(json.dumps(json_schema(*map(int, sys.argv[1:])), indent=2, ensure_ascii=False))
