"""Before handing in: what a careful reader would ask, and whether everything rebuilds in a clean process."""

import hashlib
import json
import os
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TypeAlias

from labkit.analysis.analysis import analyse
from labkit.handin.bundle import (
    MANIFEST,
    MOST_BYTES,
    MOST_FILES,
    REPORT,
    BundleError,
    is_harmless,
    manifest_of,
    not_everywhere,
    read_bundle,
    read_manifest,
)
from labkit.handin.check import look
from labkit.handin.claims import claims
from labkit.handin.submission import Submission, absolute_paths, gaps, not_in, output_text, sentences
from labkit.record.bench import Bench, open_bench
from labkit.resources import write_whole
from labkit.show import Part, Shown, Text
from labkit.words import handin as words
from labkit.words.report import GENERATOR, HEAD

REBUILD_S = 120.0
NOTEBOOK_S = 600.0
ENDING_S = 30.0
REVIEWED = ("units", "predicted", "supported")
Sayings = tuple[str, ...]
Rebuilt: TypeAlias = subprocess.CompletedProcess[str] | str  # or why there is nothing


@dataclass(frozen=True)
class Proof:
    """What clean processes gave: the record rebuilt, and of each notebook why it stops; None if not run."""

    rebuilt: Rebuilt
    stops: dict[str, str] | None


def proof(folder: Path, files: Mapping[str, bytes], *, run: bool) -> Proof:
    """Rebuild the record and run the notebooks, in one clean process after another.

    Parameters
    ----------
    folder, files : the bench folder, and what will be packed of it
    run : whether to run the notebooks
    """
    rebuilt = rebuild(folder)
    return Proof(rebuilt, {name: run_notebook(files, name) for name in _notebooks(files)} if run else None)


def precheck(
    bench: Bench, files: Mapping[str, bytes], bundle: bytes, proof: Proof
) -> tuple[Sayings, Sayings]:
    """What to look at before handing in, and what was found to be in order.

    Parameters
    ----------
    bench, files, bundle : the bench, what will be packed, and the packed bytes
    proof : what clean processes gave
    """
    notebooks = _notebooks(files)
    remarks = [
        *bench.record.problems,
        *bench.sweep_problems,
        *gaps(bench, analyse(bench)),
        *_unwritten(bench),
    ]
    remarks += _as_reviewed(bundle)
    remarks += [words.NO_NOTEBOOK] if not notebooks else []
    for name, data in notebooks.items():
        remarks += _about_notebook(name, data, bench)
    differs = rebuilt_otherwise(proof.rebuilt, bench, files[REPORT])
    remarks += [words.NOT_REBUILT.format(reason=differs)] if differs else []
    notes = [] if differs else [words.REBUILT]
    if proof.stops is None:
        return tuple(remarks), (*notes, words.NOT_RUN)
    for name, reason in proof.stops.items():
        remarks += [words.NOTEBOOK_FAILED.format(name=name, reason=reason)] if reason else []
        notes += [] if reason else [words.NOTEBOOK_RAN.format(name=name)]
    return tuple(remarks), tuple(notes)


def _notebooks(files: Mapping[str, bytes]) -> dict[str, bytes]:
    return {name: data for name, data in files.items() if name.endswith(".ipynb")}


def _unwritten(bench: Bench) -> Iterator[str]:
    if not bench.own_words:
        yield words.NO_WORDS


def _as_reviewed(bundle: bytes) -> Iterator[str]:
    """What a review will remark on in the readings, in its own words, so that it comes as no surprise."""
    submission = Submission(bundle)
    for column in REVIEWED:
        point = look(column, submission)
        if point.sentences and point.outcome != "cannot tell":  # what cannot be told is among the gaps
            yield " ".join(point.sentences)


def _about_notebook(name: str, data: bytes, bench: Bench) -> Iterator[str]:
    try:
        for path in absolute_paths(data, name):
            yield words.ABSOLUTE.format(name=name, path=path)
        text, wanted = output_text(data, name), list(sentences(analyse(bench)))
    except BundleError as error:
        yield str(error)
        return
    lacking = not_in(text, wanted)
    if lacking:
        yield words.STALE.format(name=name, count=len(lacking), all=len(wanted))


def rebuild(folder: Path) -> Rebuilt:
    """What a clean process makes of the record, or why it makes nothing."""
    return _clean([sys.executable, "-P", "-m", "labkit.handin.rebuild", str(folder)], folder, REBUILD_S)


def rebuilt_otherwise(rebuilt: Rebuilt, bench: Bench, report: bytes) -> str:
    """Why a clean process did not give the same claims and report from the record; empty if it did."""
    if isinstance(rebuilt, str):
        return rebuilt
    ours = {"claims": claims(analyse(bench)), "report": hashlib.sha256(report).hexdigest()}
    return "" if json.loads(rebuilt.stdout) == ours else words.REBUILT_OTHERWISE


def run_notebook(files: Mapping[str, bytes], name: str) -> str:
    """Why a notebook does not run from top to bottom beside a copy of the files packed; empty if it does."""
    with tempfile.TemporaryDirectory(prefix="labkit-pack-") as copy:
        for each, data in files.items():
            path = Path(copy, each)
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        command = [sys.executable, "-P", "-m", "labkit.handin.rebuild", "--notebook", name, copy]
        done = _clean(command, Path(copy), NOTEBOOK_S)
        return done if isinstance(done, str) else ""


def _clean(command: list[str], folder: Path, seconds: float) -> subprocess.CompletedProcess[str] | str:
    """What a process without the caller's own settings of Python gives, or why it gave nothing."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "JUPYTER", "IPYTHON"))}
    environment = kept | {"PYTHONIOENCODING": "utf-8", "PYTHONHASHSEED": "random"}
    with subprocess.Popen(
        command,
        cwd=folder,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
        errors="replace",
    ) as running:
        try:
            output, complaint = running.communicate(timeout=seconds)
        except subprocess.TimeoutExpired:
            _end(running)
            return words.TOOK_TOO_LONG.format(seconds=seconds)
        except BaseException:
            _end(running)
            raise
    if running.returncode:
        return (complaint.strip().splitlines() or [str(running.returncode)])[-1]
    return subprocess.CompletedProcess(command, 0, output, complaint)


def _end(running: subprocess.Popen[str]) -> None:
    """End a process, which is asked first so that it can end the notebook's kernel and what that started."""
    running.terminate()
    try:
        running.wait(ENDING_S)
    except subprocess.TimeoutExpired:
        running.kill()


# Pack a bench folder into one file: the same folder gives the same bytes.
#
# A class that packs at once shares one computer's memory. So the clean processes run one after another,
# before this one loads what the report needs.

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
        raise BundleError(
            f"{file} is there and is no bundle, so it was not replaced; name another file with --out."
        )
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
