"""Files of sweeps, kept beside the record under their own hash: `sweeps/<sha256>.<ending>`.

A file is on the disk before its event is. What is kept is never written again; a kept file whose content no
longer has the hash of its name is refused with one sentence, at every reading.
"""

import contextlib
import hashlib
import os
import re
from functools import lru_cache
from pathlib import Path

from labkit.bench.linefile import sync_folder
from labkit.bench.sweep_event import KeptFile
from labkit.errors import SweepError
from labkit.sweeps.sweep import Decimal, Impedance, Scattering
from labkit.sweeps.table import read_table
from labkit.sweeps.text import MOST_BYTES, shown_name
from labkit.sweeps.touchstone import read_touchstone
from labkit.words import sweeps as words

FOLDER = "sweeps"
_TOUCHSTONE = re.compile(r"\.([syzgh][0-9]+p|ts)$", re.IGNORECASE)


def is_touchstone(name: str) -> bool:
    """Whether a file of this name is read as Touchstone, and not as a table."""
    return bool(_TOUCHSTONE.search(name))


def given_file(file: str | Path, bench: Path) -> Path:
    """The file that a person named: as seen from the working folder, else from the bench's folder."""
    path = Path(file)
    return path if path.exists() or path.is_absolute() else bench / path


def read_given(path: Path) -> bytes:
    """The bytes of a file that a person named; SweepError if it cannot be read or is too large."""
    try:
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise SweepError(words.CANNOT_READ.format(name=shown_name(str(path)), reason=reason)) from None


def kept_as(data: bytes, name: str) -> KeptFile:
    """Name and hash under which a file is known to the record."""
    return KeptFile(file=shown_name(name), sha256=hashlib.sha256(data).hexdigest())


def path_of(kept: KeptFile, bench: Path) -> Path:
    """Where a kept file stands."""
    ending = Path(kept.file).suffix.lower()
    return bench / FOLDER / f"{kept.sha256}{ending if re.fullmatch(r'[.][a-z0-9]{1,5}', ending) else '.txt'}"


def keep(data: bytes, kept: KeptFile, bench: Path) -> None:
    """Have the file on the disk, unless it is there; SweepError if something else stands in its place.

    Whoever keeps a file holds the record's lock, so an unfinished file that lies there is a killed program's.
    """
    path = path_of(kept, bench)
    if path.exists():
        read_kept(kept, bench)
        return
    aside = path.with_name(f".{path.name}.part")
    try:
        path.parent.mkdir(exist_ok=True)
        for left in filter(_unfinished, path.parent.iterdir()):
            left.unlink()
        with aside.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        aside.replace(path)
        sync_folder(path.parent)
        sync_folder(bench)
    except OSError as error:
        with contextlib.suppress(OSError):
            aside.unlink()
        facts = {"name": kept.file, "folder": path.parent, "reason": error.strerror}
        raise SweepError(words.NOT_KEPT.format(**facts)) from error


def _unfinished(path: Path) -> bool:
    """Whether a file is one that `keep` began, by its name; older programs put their number into it."""
    return bool(re.fullmatch(r"[.][0-9a-f]{64}[.][a-z0-9]{1,5}([.][0-9]+)?[.]part", path.name))


def read_kept(kept: KeptFile, bench: Path) -> bytes:
    """The bytes of a kept file, held against its hash."""
    try:
        data = path_of(kept, bench).read_bytes()
    except OSError as error:
        facts = {"name": kept.file, "where": _where(kept), "reason": error.strerror}
        raise SweepError(words.KEPT_MISSING.format(**facts)) from None
    return as_stored(data, kept)


def as_stored(data: bytes, kept: KeptFile) -> bytes:
    """The same bytes; SweepError if they are not those that the event was stored with."""
    if hashlib.sha256(data).hexdigest() != kept.sha256:
        raise SweepError(words.KEPT_CHANGED.format(name=kept.file, where=_where(kept)))
    return data


def _where(kept: KeptFile) -> str:
    path = path_of(kept, Path())
    return f"{FOLDER}/{path.name[:12]}…{path.suffix}"


def read_content(data: bytes, name: str, decimal: Decimal | None = None) -> Impedance | Scattering:
    """What a file holds, by its name's ending."""
    return read_touchstone(data, name) if is_touchstone(name) else read_table(data, name, decimal=decimal)


@lru_cache(maxsize=32)
def content(data: bytes, name: str, decimal: Decimal | None = None) -> Impedance | Scattering:
    """The same for a bench's own files; the same bytes are read once."""
    return read_content(data, name, decimal)
