"""A bundle as bytes: read whole into memory within limits, never unpacked onto the disk, never run.

What cannot be taken is refused with one sentence before anything of it is used.
"""

import hashlib
import json
import platform
import stat
import struct
import unicodedata
import zipfile
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.metadata import version
from io import BytesIO
from pathlib import Path
from typing import Annotated, Any, Literal, NoReturn

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from labkit import __version__
from labkit.analysis.compare import SEED
from labkit.errors import LabkitError
from labkit.record.bench import Bench
from labkit.record.events import spoken
from labkit.words import handin as words

RECORD, MANIFEST, REPORT = "record.jsonl", "manifest.json", "report.html"
MOST_FILES = 300
MOST_BYTES = 64 * 1024 * 1024  # of the bundle, of one file in it, and of all files in it together
MOST_ARCHIVE_BYTES = 4 * 1024**3  # of an archive of bundles
MOST_LISTED = 10_000  # files and folders, and those of zip files among them, before the list is read at all
_LISTED = b"PK\x01\x02"  # what each entry of a zip file's list begins with
MOST_RATIO = 200  # unpacked to packed, from RATIO_FROM on; text of a notebook reaches about 20
RATIO_FROM = 1024 * 1024
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}
_DAMAGED = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    NotImplementedError,
    RuntimeError,
    ValueError,
    OverflowError,
)


class BundleError(LabkitError, ValueError):
    """A bundle that cannot be taken; the message is one sentence."""


def read_bundle(data: bytes) -> dict[str, bytes]:
    """The files of a bundle by name.

    Raises
    ------
    BundleError
        for anything but a plain zip file of regular files with harmless names inside the limits.
    """
    if len(data) > MOST_BYTES:
        raise BundleError(words.TOO_LARGE.format(what="the bundle", limit=_megabytes(MOST_BYTES)))
    if (listed := data.count(_LISTED)) > MOST_LISTED:
        raise BundleError(words.TOO_MANY.format(count=listed, limit=MOST_FILES))
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            members = [member for member in archive.infolist() if not _is_folder(member) or _is_link(member)]
            _require_harmless(members)
            return {member.filename: archive.read(member) for member in members}
    except BundleError:
        raise
    except _DAMAGED as error:
        raise BundleError(words.NOT_A_ZIP.format(reason=_one_line(error))) from None


def surplus(data: bytes) -> int:
    """Bytes of a zip file that belong to none of its files, nor to their list: in front, between or behind.

    What a packing program adds to a file whose size it did not know beforehand (24 bytes at the most) is
    allowed for.

    References
    ----------
    PKWARE, APPNOTE.TXT 6.3.10, 4.3.7 to 4.3.16
    """
    with zipfile.ZipFile(BytesIO(data)) as archive:
        members, start = archive.infolist(), archive.start_dir
    members = [member for member in members if 0 <= member.header_offset <= len(data) - 30]
    end = data.rfind(b"PK\x05\x06", start)
    own = 0
    for member in members:
        lengths = struct.unpack_from("<2H", data, member.header_offset + 26)
        own += 30 + sum(lengths) + member.compress_size + (24 if member.flag_bits & 8 else 0)
    return max(len(data) - own - (end + 22 - start), 0)


@dataclass(frozen=True)
class Place:
    """Where a bundle lies: a file, and the name in it if that is an archive, or its path below the folder."""

    path: Path
    inside: str = ""
    below: str = ""

    @property
    def name(self) -> str:
        """For people: in homes of a class only the path tells two bundles apart."""
        return self.inside or self.below or self.path.name

    def read(self) -> bytes:
        """Its bytes; BundleError if it cannot be read or is larger than any bundle."""
        if not self.inside:
            return read_file(self.path)
        try:
            facts = self.path.stat()
            archive = _archive(self.path, facts.st_mtime_ns, facts.st_size)
            if archive.getinfo(self.inside).compress_type not in _METHODS:
                raise BundleError(words.METHOD.format(name=spoken(self.inside)))
            with archive.open(self.inside) as file:
                return file.read(MOST_BYTES + 1)
        except (*_DAMAGED, OSError, KeyError) as error:
            if isinstance(error, BundleError):
                raise
            raise BundleError(words.NOT_A_ZIP.format(reason=_one_line(error))) from None


def bundles_in(archive: Path) -> list[str]:
    """Names of the bundles in an archive; none if the file itself is to be looked at as a bundle."""
    if archive.stat().st_size > MOST_ARCHIVE_BYTES:
        return []
    with zipfile.ZipFile(archive) as opened:
        names = opened.namelist()
    return [] if MANIFEST in names else [n for n in dict.fromkeys(names) if n.lower().endswith(".zip")]


@lru_cache(maxsize=1)
def _archive(path: Path, changed_ns: int, size: int) -> zipfile.ZipFile:  # noqa: ARG001 - opened anew if changed
    """An archive of bundles, its list of names read once and not once a bundle."""
    return zipfile.ZipFile(path)


def read_file(path: Path) -> bytes:
    """The bytes of a file, refused if it is larger than any bundle."""
    try:
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except OSError as error:
        raise BundleError(
            f"{path.name} cannot be read ({error.strerror}); check its name and its permissions."
        ) from error


def _require_harmless(members: list[zipfile.ZipInfo]) -> None:
    if len(members) > MOST_FILES:
        raise BundleError(words.TOO_MANY.format(count=len(members), limit=MOST_FILES))
    seen: set[str] = set()
    for member in members:
        if refusal := _refusal(member):
            raise BundleError(refusal.format(name=spoken(member.orig_filename)))
        key = unicodedata.normalize("NFC", member.filename).casefold()
        if key in seen:
            raise BundleError(
                f"Not opened: the name {spoken(member.orig_filename)} stands in it twice, so it "
                "is not clear which file counts; pack again."
            )
        seen.add(key)
    if sum(member.file_size for member in members) > MOST_BYTES:
        raise BundleError(
            words.TOO_LARGE.format(what="what the bundle holds, unpacked,", limit=_megabytes(MOST_BYTES))
        )


def _refusal(member: zipfile.ZipInfo) -> str | None:
    """Why a member cannot be taken, None if it can."""
    if not is_harmless(member.orig_filename):
        return words.OUTSIDE
    if _is_link(member):
        return words.LINK
    if member.flag_bits & 1:
        return words.ENCRYPTED
    if member.compress_type not in _METHODS:
        return words.METHOD
    if member.file_size > RATIO_FROM and member.file_size > MOST_RATIO * max(member.compress_size, 1):
        return words.RATIO
    return None


def is_harmless(name: str) -> bool:
    """Whether a name can only mean a file inside the folder that a bundle came from, on every system."""
    odd = any(unicodedata.category(c) in ("Cc", "Cs", "Cf") for c in name)
    parts = name.split("/")
    return not (odd or len(name) > 240 or "\\" in name or ":" in name or {"", ".", ".."} & {*parts})


def not_everywhere(names: Iterable[str]) -> list[str]:
    """A sentence for each of these files that has to be renamed so that every system can hold it.

    References
    ----------
    Microsoft, "Naming Files, Paths, and Namespaces", for what Windows keeps for itself (from memory)
    """
    found, taken = [], {name: name for name in (RECORD, MANIFEST, REPORT)}
    for name in names:
        parts = name.split("/")
        if any(part.partition(".")[0].rstrip().casefold() in _DEVICES for part in parts):
            found.append(words.DEVICE.format(name=spoken(name)))
        elif any(part[-1:] in (".", " ") or set(part) & set('<>"|?*') for part in parts):
            found.append(words.NOT_A_NAME.format(name=spoken(name)))
        key = "/".join(unicodedata.normalize("NFC", part).casefold().rstrip(". ") for part in parts)
        if taken.setdefault(key, name) != name:
            found.append(words.ALIKE.format(name=spoken(name), other=spoken(taken[key])))
    return found


def _is_folder(member: zipfile.ZipInfo) -> bool:
    return member.filename.endswith("/")  # its own is_dir() needs a name


def _is_link(member: zipfile.ZipInfo) -> bool:
    mode = stat.S_IFMT(member.external_attr >> 16)
    return mode not in (0, stat.S_IFREG, stat.S_IFDIR)


def strict_json(data: bytes, name: str) -> dict[str, Any]:
    """The JSON object in a file; BundleError if it is none, too deep, not UTF-8, or holds NaN or Infinity."""
    try:
        content = json.loads(data.decode(), parse_constant=_no_number, object_pairs_hook=_each_once)
    except (ValueError, RecursionError) as error:
        raise BundleError(words.NOT_JSON.format(name=spoken(name), reason=_one_line(error))) from None
    if not isinstance(content, dict):
        reason = words.NOT_AN_OBJECT.format(kind=type(content).__name__)
        raise BundleError(words.NOT_JSON.format(name=spoken(name), reason=reason))
    return content


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object; ValueError if a name stands in it twice, as programs differ in which of them counts."""
    content = dict(pairs)
    if len(content) < len(pairs):
        names = [name for name, _ in pairs]
        raise ValueError(
            f"the name {next(n for n in names if names.count(n) > 1)!a} stands in it twice, "
            "and it is not clear which counts"
        )
    return content


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a number that JSON knows")


def _one_line(error: BaseException) -> str:
    text = spoken(str(error) or type(error).__name__)
    return text[1:-1].rstrip(".")


def _megabytes(size: int) -> str:
    return f"{size // (1024 * 1024)} MB"


# The manifest of a bundle: what is in it, from which record and with which versions it was made.

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
        raise BundleError(
            "There is no manifest.json in the bundle, so what it claims is not known; pack "
            "the bench folder with labkit pack."
        )
    if len(files[MANIFEST]) > MOST_MANIFEST:
        raise BundleError(
            f"The manifest is larger than {MOST_MANIFEST // 1024**2} MB, which no bench "
            "session gives; pack again with labkit pack."
        )
    content = strict_json(files[MANIFEST], MANIFEST)
    schema = content.get("schema")
    if isinstance(schema, int) and schema > SCHEMA:
        raise BundleError(
            f"The manifest is in format {schema}, and this labkit reads formats up to "
            f"{SCHEMA}; check it with a newer labkit."
        )
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
