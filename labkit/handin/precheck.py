"""Before handing in: what a careful reader would ask, and whether everything rebuilds in a clean process."""

import hashlib
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

from labkit.analysis.analysis import analyse
from labkit.bench.bench import Bench
from labkit.handin.bundle import REPORT, BundleError
from labkit.handin.claims import claims
from labkit.handin.notebooks import absolute_paths, not_in, output_text
from labkit.handin.points import look
from labkit.handin.submission import Submission, gaps, sentences
from labkit.words import handin as words

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
