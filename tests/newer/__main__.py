"""Check the same bundles with a newer Python: `python -m tests.newer`.

The interpreter is one that is there (on the path, or built by pyenv), else what uv can fetch. The package is
installed under it as for anybody, with the newest dependencies that it gets there.
"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from labkit.handin.check import check
from labkit.handin.claims import PARTS, differences
from labkit.record.virtual_bench import BuiltInstead, PrefixSlip
from tests.benches import WIRINGS
from tests.bundles import bundle, folder_of, with_manifest
from tests.newer import side

ROOT = Path(__file__).resolve().parents[2]
SIDE = Path(side.__file__)
WANTED = "3.13"
VERSION = "import sys; print(*sys.version_info[:2])"
NONE = "No newer Python could be had: none is installed, and uv could not fetch one. Nothing was compared."


def version(python: str) -> tuple[int, ...]:
    """Version of an interpreter, empty if it does not run."""
    done = subprocess.run([python, "-c", VERSION], check=False, capture_output=True, text=True)
    return tuple(map(int, done.stdout.split())) if done.returncode == 0 else ()


def candidates() -> Iterator[str]:
    """Interpreters that may be newer than this one."""
    for minor in range(sys.version_info[1] + 4, sys.version_info[1], -1):
        if found := shutil.which(f"python3.{minor}"):
            yield found
    yield from map(str, sorted(Path.home().glob(".pyenv/versions/3.*/bin/python"), reverse=True))


def interpreter(folder: Path) -> str | None:
    """The first newer interpreter that runs; fetched by uv into `folder` if there is none."""
    here = tuple(sys.version_info[:2])
    there = next((python for python in candidates() if version(python) > here), None)
    return there or fetched(folder)


def fetched(folder: Path) -> str | None:
    """An interpreter that uv fetches, None if it cannot."""
    place = folder / "uv"
    pip = [sys.executable, "-m", "pip", "install", "-qq", "--target", str(place), "uv"]
    if subprocess.run(pip, check=False).returncode:
        return None
    uv = str(place / "bin" / "uv")
    settings = {**os.environ, "UV_PYTHON_INSTALL_DIR": str(folder / "pythons")}
    install = [uv, "python", "install", WANTED]
    try:
        subprocess.run(install, env=settings, check=True, timeout=300)
    except (subprocess.SubprocessError, OSError):
        return None
    find = [uv, "python", "find", "--managed-python", WANTED]
    done = subprocess.run(find, env=settings, check=False, capture_output=True, text=True)
    return done.stdout.strip() or None


def bundles(folder: Path) -> None:
    """Bundles of invented groups: sound, with mistakes, without card or dots, edited and torn."""
    slip = (PrefixSlip(WIRINGS["line-reversed"], 3),)
    built = (BuiltInstead(WIRINGS["side"], "1a 1b | 2a=2b"),)
    for seed in range(1, 7):
        (folder / f"group-{seed}.zip").write_bytes(bundle(folder / "b", seed))
    for name, more in {
        "slip": {"faults": slip},
        "built": {"faults": built},
        "uncarded": {"card": None},
        "coarse": {"card": "hand-held-coarse"},
        "unmarked": {"dots": None},
    }.items():
        (folder / f"{name}.zip").write_bytes(bundle(folder / "b", 9, **more))
    sound = (folder / "group-1.zip").read_bytes()
    claimed = with_manifest(sound, lambda m: m["claims"]["coupling"].update(route="none"))
    (folder / "claimed.zip").write_bytes(claimed)
    (folder / "torn.zip").write_bytes(sound[:3000])


def run(python: str, *arguments: str) -> dict[str, Any]:
    """What an interpreter finds."""
    command = [python, "-P", str(SIDE), *arguments]
    done = subprocess.run(command, check=True, capture_output=True, text=True, cwd=SIDE.parent)
    return dict(json.loads(done.stdout))


def compare(ours: dict[str, Any], theirs: dict[str, Any]) -> list[str]:
    """What differs between the two, a line each."""
    lines = []
    for name, here in ours["bundles"].items():
        there = theirs["bundles"][name]
        if here["examination"] != there["examination"]:
            lines.append(f"{name}: {here['examination']} here, {there['examination']} there")
        if here["claims"]:
            for part in PARTS:
                lines += [f"{name}: {each}" for each in differences(there["claims"], here["claims"], part)]
    return lines


def furthest(ours: dict[str, Any], theirs: dict[str, Any]) -> tuple[int, float]:
    """How many numbers were compared, and the largest relative difference between two of them."""
    pairs = [
        pair
        for name, here in ours["bundles"].items()
        for pair in zip(numbers(here["claims"]), numbers(theirs["bundles"][name]["claims"]), strict=True)
    ]
    return len(pairs), max(abs(a - b) / max(abs(a), abs(b), 1e-300) for a, b in pairs)


def numbers(node: Any) -> Iterator[float]:
    """Every number in claims, in order."""
    if isinstance(node, dict):
        for inner in node.values():
            yield from numbers(inner)
    elif isinstance(node, float):
        yield node


def main() -> int:
    """0 if nothing differs, or if there is no newer Python to be had; 1 if something does."""
    with tempfile.TemporaryDirectory(prefix="labkit-newer-") as name:
        folder = Path(name)
        python = interpreter(folder)
        if python is None:
            print(NONE)
            return 0
        subprocess.run([python, "-m", "venv", str(folder / "venv")], check=True)
        newer = str(folder / "venv" / "bin" / "python")
        subprocess.run([newer, "-m", "pip", "install", "-qq", str(ROOT)], check=True)
        (folder / "class").mkdir()
        bundles(folder / "class")
        ours, theirs = (run(each, "check", str(folder / "class")) for each in (sys.executable, newer))
        lines = compare(ours, theirs)
        bench = folder_of(folder / "bench", 7)
        run(newer, "pack", str(bench), str(folder / "newer.zip"))
        if remarks := check(folder / "newer.zip").feedback:
            lines.append(f"packed by the newer Python: {' '.join(remarks)}")
        count, most = furthest(ours, theirs)
    for line in lines:
        print(line)
    print(
        f"{len(ours['bundles'])} bundles under Python {ours['python']} and {theirs['python']}: "
        f"{len(lines)} differences; {count} numbers, the largest relative difference {most:.1g}"
    )
    return 1 if lines else 0


if __name__ == "__main__":
    sys.exit(main())
