"""What every kind of event is built on."""

from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from labkit.bench.shapes import Digest, Id, Person, Utc

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
