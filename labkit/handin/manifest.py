"""The manifest of a bundle: what is in it, from which record and with which versions it was made."""

import hashlib
import json
import platform
from collections.abc import Mapping
from importlib.metadata import version
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from labkit import __version__
from labkit.analysis.compare import SEED
from labkit.bench.bench import Bench
from labkit.handin.bundle import MANIFEST, BundleError, strict_json
from labkit.words import handin as words

SCHEMA = 1
MOST_MANIFEST = 4 * 1024 * 1024  # bytes; the numbers of a long session are a tenth of it
PACKAGES = ("numpy", "scipy", "uncertainties", "pydantic")

Short = Annotated[str, Field(max_length=500)]
Digest = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class Entry(BaseModel):
    """One file of the bundle."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)
    name: Short
    sha256: Digest
    size: Annotated[int, Field(ge=0)]


class Manifest(BaseModel):
    """What `manifest.json` holds.

    Attributes
    ----------
    schema_version, record_schema : formats of the manifest and of the record
    labkit, python, packages : versions it was packed with
    record_digest : hash that the record's chain ends in
    record_seed : seed of an invented record, None for a record of a real bench
    monte_carlo_seed : seed of every draw in the report
    files : everything else in the bundle, in order of names
    claims : see `labkit.handin.claims`
    """

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)
    kind: Literal["labkit bundle"]
    schema_version: int = Field(alias="schema")
    record_schema: int
    labkit: Short
    python: Short
    packages: dict[Short, Short]
    part: Short
    record_digest: Digest | None
    record_seed: int | None
    monte_carlo_seed: int
    files: Annotated[list[Entry], Field(max_length=1000)]
    claims: dict[str, Any]


def manifest_of(bench: Bench, files: Mapping[str, bytes], claims: dict[str, Any]) -> bytes:
    """The manifest's text for a bench and the files of its bundle; the same for the same contents."""
    content = {
        "kind": "labkit bundle",
        "schema": SCHEMA,
        "record_schema": max((event.schema_version for event in bench.events), default=1),
        "labkit": __version__,
        "python": platform.python_version(),
        "packages": {name: version(name) for name in PACKAGES},
        "part": bench.part_name,
        "record_digest": bench.record.digest,
        "record_seed": bench.opened.seed if bench.opened else None,
        "monte_carlo_seed": SEED,
        "files": [
            {"name": name, "sha256": _sha256(data), "size": len(data)} for name, data in sorted(files.items())
        ],
        "claims": claims,
    }
    return json.dumps(content, ensure_ascii=False, allow_nan=False, indent=1).encode() + b"\n"


def read_manifest(files: Mapping[str, bytes]) -> Manifest:
    """The manifest among the files of a bundle; BundleError with one sentence if there is none to be read."""
    if MANIFEST not in files:
        raise BundleError(words.NO_MANIFEST)
    if len(files[MANIFEST]) > MOST_MANIFEST:
        raise BundleError(words.MANIFEST_TOO_LONG.format(limit=MOST_MANIFEST // 1024**2))
    content = strict_json(files[MANIFEST], MANIFEST)
    schema = content.get("schema")
    if isinstance(schema, int) and schema > SCHEMA:
        raise BundleError(words.MANIFEST_TOO_NEW.format(given=schema, newest=SCHEMA))
    try:
        return Manifest.model_validate(content)
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False, include_input=False)[0]
        field = ".".join(map(str, first["loc"]))[:80]
        raise BundleError(words.MANIFEST_WRONG.format(field=ascii(field), reason=first["msg"])) from None


def not_as_packed(manifest: Manifest, files: Mapping[str, bytes]) -> tuple[str, ...]:
    """One sentence for each file that is not what the manifest says."""
    listed = {entry.name: entry.sha256 for entry in manifest.files}
    there = {name: _sha256(data) for name, data in files.items() if name != MANIFEST}
    found = [words.FILE_MISSING.format(name=ascii(name)) for name in listed if name not in there]
    found += [words.FILE_ADDED.format(name=ascii(name)) for name in there if name not in listed]
    changed = [name for name in listed if name in there and listed[name] != there[name]]
    return (*found, *(words.FILE_CHANGED.format(name=ascii(name)) for name in changed))


def _sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
