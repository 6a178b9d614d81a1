"""Bundles for tests, from the virtual bench; parts, meters and readings are invented."""

import hashlib
import json
import os
import shutil
import zipfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import nbformat
import numpy as np
import pytest

from labkit.analysis.analysis import analyse
from labkit.analysis.results import explain
from labkit.faces.choke_report import characterise
from labkit.faces.report import render
from labkit.handin.bundle import REPORT, read_bundle
from labkit.handin.pack import bundle_bytes, collect
from labkit.handin.submission import sentences
from labkit.record.bench import Bench, open_bench
from labkit.resources import shipped
from labkit.theory.pair import Pair
from tests.benches import coupled_bench

Files = dict[str, bytes]


def group_bench(folder: Path, seed: int, **more: Any) -> Bench:
    """The bench of one group: its own pair and its own meter errors, all from the seed."""
    rng = np.random.default_rng([seed, 5])
    L1 = float(np.exp(rng.uniform(np.log(2e-3), np.log(12e-3))))
    pair = Pair.from_coupling(
        L1, L1 * float(rng.uniform(0.985, 1.015)), 1 - float(np.exp(rng.uniform(-6.5, -4)))
    )
    bench = coupled_bench(folder, pair=pair, seed=seed, **more)
    bench.write("explanation", f"Group {seed} expected four times one winding.", by="p1")
    return bench


def notebook_of(call: str, shown: str) -> str:
    """A notebook with one cell that ends with this call and has shown this."""
    code = nbformat.v4.new_code_cell(f"import labkit\nbench = labkit.open_bench()\n{call}")
    code.outputs = [nbformat.v4.new_output("execute_result", {"text/plain": shown}, execution_count=1)]
    code.execution_count = 1
    code.id = "one"
    return str(nbformat.writes(nbformat.v4.new_notebook(cells=[code])))


def folder_of(folder: Path, seed: int = 3, *, quick: bool = False, **more: Any) -> Path:
    """A bench folder as a student has it: record and notebook, the notebook run and saved.

    With `quick` the notebook shows what a bundle is held to and no causes, which take most of the time.
    """
    bench = group_bench(folder, seed, **more)
    shown = "\n\n".join(sentences(analyse(bench))) if quick else str(explain(bench))
    (folder / "pair.ipynb").write_text(notebook_of("labkit.explain(bench)", shown), encoding="utf-8")
    return folder


def packed(folder: Path, *, picture: bool = False) -> bytes:
    """The bundle of a folder without the checks before packing, which start processes."""
    bench = open_bench(folder)
    files, _ = collect(folder)
    files[REPORT] = render(bench, picture=picture).encode()
    return bundle_bytes(bench, files)


def collected(top: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The homes of three students, each with a bench folder called alike; one of them lets nobody in."""
    for seed, login in enumerate(("anna", "boris", "chen"), start=3):
        bench = folder_of(top / login / "my-choke", seed, quick=True)
        (bench / "my-choke.bundle.zip").write_bytes(packed(bench))
    look = os.scandir

    def guarded(path: str) -> Any:
        if Path(path).name == "chen":
            raise PermissionError(13, "Permission denied", path)
        return look(path)

    monkeypatch.setattr(os, "scandir", guarded)
    return top


def bundle(folder: Path, seed: int = 3, **more: Any) -> bytes:
    """A whole bundle of one group."""
    data = packed(folder_of(folder, seed, **more))
    shutil.rmtree(folder)
    return data


def swept_bundle(folder: Path, *, notebook: bool = True) -> bytes:
    """A whole bundle of the invented bench with sweeps, with a notebook that shows its findings."""
    shutil.copytree(shipped("data", "choke_sweeps"), folder)
    if notebook:
        shown = str(characterise(open_bench(folder)))
        (folder / "choke.ipynb").write_text(notebook_of("labkit.characterise(bench)", shown), "utf-8")
    return packed(folder)


def event_changed(files: Files, id: str, **fields: Any) -> None:
    """One event of the record with other fields, the chain left as it was."""
    lines = files["record.jsonl"].split(b"\n")
    (place,) = (n for n, line in enumerate(lines) if f'"id":"{id}"'.encode() in line)
    lines[place] = json.dumps(json.loads(lines[place]) | fields, separators=(",", ":")).encode()
    files["record.jsonl"] = b"\n".join(lines)


def sweep_file(data: bytes, id: str, file: str, **fields: Any) -> Callable[[Files], None]:
    """Gives a sweep another file, under its own hash, and without a fixture to take off."""

    def change(files: Files) -> None:
        digest = hashlib.sha256(data).hexdigest()
        files[f"sweeps/{digest}{Path(file).suffix}"] = data
        bare = {"open": None, "short": None, "fixture_model": None}
        event_changed(files, id, **(bare | {"file": file, "sha256": digest} | fields))

    return change


def zipped(files: Files, method: int = zipfile.ZIP_STORED) -> bytes:
    """A plain zip of files as they stand."""
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w", method) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return stream.getvalue()


def changed(data: bytes, change: Callable[[Files], object]) -> bytes:
    """A bundle with its files changed and the manifest left as it was."""
    files = read_bundle(data)
    change(files)
    return zipped(files)


def with_manifest(data: bytes, change: Callable[[dict[str, Any]], object]) -> bytes:
    """A bundle with its manifest changed."""

    def edit(files: Files) -> None:
        manifest = json.loads(files["manifest.json"])
        change(manifest)
        files["manifest.json"] = json.dumps(manifest).encode()

    return changed(data, edit)
