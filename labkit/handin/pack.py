"""Pack a bench folder into one file: the same folder gives the same bytes.

A class that packs at once shares one computer's memory. So the clean processes run one after another, before
this one loads what the report needs.
"""

import os
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from labkit.analysis.analysis import analyse
from labkit.bench.bench import Bench, open_bench
from labkit.handin.bundle import (
    MANIFEST,
    MOST_BYTES,
    MOST_FILES,
    REPORT,
    BundleError,
    is_harmless,
    not_everywhere,
    read_bundle,
)
from labkit.handin.claims import claims
from labkit.handin.manifest import manifest_of, read_manifest
from labkit.handin.precheck import precheck, proof
from labkit.resources import write_whole
from labkit.show import Part, Shown, Text
from labkit.words import handin as words
from labkit.words.report import GENERATOR, HEAD

SUFFIX = ".bundle.zip"
OWN = {"record.lock", MANIFEST, REPORT}
LEVEL = 9
EPOCH = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True)
class Packed(Shown):
    """A bundle that was written, and what to look at before handing it in."""

    file: Path
    names: tuple[str, ...]
    remarks: tuple[str, ...]
    notes: tuple[str, ...]

    def parts(self) -> tuple[Part, ...]:
        size = -(-self.file.stat().st_size // 1000)
        written = words.PACKED.format(count=len(self.names), file=self.file, size=size)
        remarks = [Text(remark, tone="caution") for remark in self.remarks] or [Text(words.SOUND)]
        return (*remarks, *map(Text, self.notes), Text(written))


def pack(folder: str | Path = ".", out: str | Path | None = None, *, run: bool = True) -> Packed:
    """Check a bench folder and pack it into one file.

    Parameters
    ----------
    folder : of the bench
    out : the file; else the folder's name with `.bundle.zip` in the folder itself. An earlier bundle is
        replaced, any other file is left alone.
    run : whether to run the notebooks in a clean process first; it is the packing person's own computer

    Raises
    ------
    RecordError
        if there is no record that can be read.
    BundleError
        if the folder is too large, holds names that other systems do not, or the file cannot be written.
    """
    place = Path(folder).resolve()
    bench = open_bench(place)
    file = Path(out) if out is not None else place / f"{place.name}{SUFFIX}"
    files, left_out = collect(place)
    proven = proof(place, files, run=run)
    from labkit.faces.report import render

    files[REPORT] = render(bench).encode()
    data = bundle_bytes(bench, files)
    remarks, notes = precheck(bench, files, data, proven)
    if left_out:
        remarks = (*remarks, words.LEFT_OUT.format(names=", ".join(map(ascii, left_out))))
    _write(file, data)
    return Packed(file, (MANIFEST, *sorted(files)), remarks, notes)


def bundle_bytes(bench: Bench, files: dict[str, bytes]) -> bytes:
    """The bundle's bytes: manifest first, then the files by name, without any time or owner."""
    manifest = manifest_of(bench, files, claims(analyse(bench)))
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name, data in [(MANIFEST, manifest), *sorted(files.items())]:
            member = zipfile.ZipInfo(name, EPOCH)
            member.create_system, member.external_attr = 3, 0o100644 << 16
            member.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(member, data, compresslevel=LEVEL)
    return stream.getvalue()


def collect(folder: Path) -> tuple[dict[str, bytes], list[str]]:
    """What is packed from a folder by name, and names of what is left out though labkit does not make it."""
    paths = dict(_walk(folder))
    left_out = [name for name, path in paths.items() if not _is_plain(name, path)]
    wanted = {name: path for name, path in paths.items() if name not in left_out and not _is_made(name, path)}
    if odd := not_everywhere(wanted):
        raise BundleError(words.RENAME.format(names=" ".join(odd)))
    size = sum(path.stat().st_size for path in wanted.values())
    if size > MOST_BYTES or len(wanted) > MOST_FILES - 2:
        facts = {"size": size // 1_000_000, "limit": MOST_BYTES // 1_000_000, "most": MOST_FILES}
        raise BundleError(words.FOLDER_TOO_LARGE.format(folder=folder, count=len(wanted), **facts))
    return {name: path.read_bytes() for name, path in wanted.items()}, left_out


def _walk(folder: Path) -> Iterator[tuple[str, Path]]:
    for root, folders, names in os.walk(folder):
        folders[:] = sorted(name for name in folders if not _is_hidden(name))
        linked = [name for name in folders if (Path(root) / name).is_symlink()]
        for name in sorted([*linked, *names]):
            if not _is_hidden(name):
                path = Path(root) / name
                yield path.relative_to(folder).as_posix(), path


def _is_hidden(name: str) -> bool:
    return name.startswith((".", "~")) or name == "__pycache__"


def _is_plain(name: str, path: Path) -> bool:
    return path.is_file() and not path.is_symlink() and is_harmless(name)


def _is_made(name: str, path: Path) -> bool:
    """Whether labkit makes it anew: lock, report, bundle."""
    if name in OWN or name.endswith(SUFFIX):
        return True
    with path.open("rb") as file:
        return name.endswith(".html") and GENERATOR in file.read(HEAD)


def _write(file: Path, data: bytes) -> None:
    if file.exists() and not _is_bundle(file):
        raise BundleError(words.FOREIGN.format(file=file))
    try:
        write_whole(file, data)
    except OSError as error:
        if isinstance(error, PermissionError) and _is_anothers(file):
            raise BundleError(words.ANOTHERS.format(file=file)) from error
        raise BundleError(words.CANNOT_WRITE.format(file=file, reason=error.strerror)) from error


def _is_bundle(file: Path) -> bool:
    try:
        read_manifest(read_bundle(file.read_bytes()))
    except (BundleError, OSError) as error:
        if isinstance(error, PermissionError) and _is_anothers(file):
            raise BundleError(words.ANOTHERS.format(file=file)) from error
        return False
    return True


def _is_anothers(file: Path) -> bool:
    """Whether a file is there and belongs to another account."""
    return file.exists() and hasattr(os, "geteuid") and file.stat().st_uid != os.geteuid()
