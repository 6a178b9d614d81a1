"""The event of a sweep: which file, measured how, under which conditions.

It came with record format 2: a labkit that knows only format 1 would take such a line for damage and hang the
next event to the wrong one, so it has to refuse the record with its sentence about newer formats.
"""

from typing import Annotated, Literal

from pydantic import Field

from labkit.bench.event_base import NOT_ASKED, Common, Strict
from labkit.bench.shapes import Digest, Line, Name, Text

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
