"""A second opinion on impedances: the same circuits solved by ngspice, a nodal simulator of other origin.

The netlist is written from the wiring's text alone: a mistake in `labkit.theory.wiring` cannot hide here.
"""

import math
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

REFERENCE = 1e3  # Ω, from an island of windings without the second clip to ground; larger costs digits


@dataclass(frozen=True)
class Circuit:
    """Coupled windings hooked up for one reading; units H, Ω, F, entries as for `input_impedance`."""

    wiring: str
    L: list[list[float]]
    R: list[float]
    C: list[float | None]


def impedances(circuits: Sequence[Circuit], sweep: str, folder: Path) -> tuple[np.ndarray, list[np.ndarray]]:
    """Frequencies (Hz) of the sweep, and what ngspice sees at the clips of each circuit (Ω), all in one run.

    An open circuit shows the bare reference resistor: with clips on separate islands, the unit current has no
    other way home.
    """
    lines = [line for number, circuit in enumerate(circuits) for line in _netlist(f"{number}", circuit)]
    table = run(lines, sweep, folder)
    return table["frequency"].real, [table[f"v(seen_{number})"] for number in range(len(circuits))]


def run(lines: Sequence[str], sweep: str, folder: Path) -> dict[str, np.ndarray]:
    """The saved quantities of a small-signal analysis by name, `frequency` (Hz) among them."""
    program = shutil.which("ngspice")
    if program is None:
        pytest.fail("ngspice is not on the PATH; these checks need it (Debian: apt-get install ngspice).")
    whole = ["a circuit of these checks", f".ac {sweep}", ".options noacct", *lines, ".end", ""]
    (folder / "windings.cir").write_text("\n".join(whole))
    command = [program, "-b", "-r", "windings.raw", "windings.cir"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False, timeout=600)
    if done.returncode or "warning" in (done.stdout + done.stderr).lower():
        pytest.fail(f"ngspice did not take the netlist: {done.stdout}{done.stderr}")
    return _read_raw(folder / "windings.raw")


def _netlist(name: str, circuit: Circuit) -> list[str]:
    clips, _, ties = circuit.wiring.partition("|")
    first, second = clips.split()
    windings = range(1, len(circuit.L) + 1)
    node = {f"{w}{end}": f"{name}_{w}{end}" for w in windings for end in "ab"}
    for tie in ties.split():
        head, *tail = tie.split("=")
        for terminal in tail:
            node = _joined(node, head, terminal)
    node = {terminal: "0" if n == node[second] else n for terminal, n in node.items()}
    lines = [f"Imeter{name} 0 {node[first]} DC 0 AC 1", f"Eseen{name} seen_{name} 0 {node[first]} 0 1"]
    lines += [f".save v(seen_{name})"]
    for w, R, C, row in zip(windings, circuit.R, circuit.C, circuit.L, strict=True):
        a, b, inside = node[f"{w}a"], node[f"{w}b"], f"{name}_{w}"
        lines += [f"R{inside} {a} {inside} {R!r}", f"L{inside} {inside} {b} {row[w - 1]!r}"]
        lines += [f"C{inside} {a} {b} {C!r}"] if C is not None else []
    return lines + _couplings(name, circuit.L) + _references(name, node, first, len(windings))


def _joined(node: dict[str, str], one: str, other: str) -> dict[str, str]:
    return {terminal: node[one] if n == node[other] else n for terminal, n in node.items()}


def _couplings(name: str, L: list[list[float]]) -> list[str]:
    pairs = [(i, j) for j in range(len(L)) for i in range(j)]
    return [
        f"K{name}_{i + 1}{j + 1} L{name}_{i + 1} L{name}_{j + 1} {L[i][j] / math.sqrt(L[i][i] * L[j][j])!r}"
        for i, j in pairs
    ]


def _references(name: str, node: dict[str, str], first_clip: str, windings: int) -> list[str]:
    """One resistor an island, at the first clip if it sits there.

    It gives the island a potential and carries no current, as a single bridge cannot; only the meter's own
    current takes it if it has no other way to ground.
    """
    island = dict(node)
    for w in range(1, windings + 1):
        island = _joined(island, f"{w}a", f"{w}b")
    grounded = {island[terminal] for terminal, n in node.items() if n == "0"}
    floating = {island[t]: node[t] for t in (*node, first_clip) if island[t] not in grounded}
    return [f"Rref{name}_{i} {n} 0 {REFERENCE!r}" for i, n in enumerate(floating.values())]


def _read_raw(path: Path) -> dict[str, np.ndarray]:
    """The simulator's binary result file: a text header with the names, then complex doubles by point."""
    head, _, body = path.read_bytes().partition(b"Binary:\n")
    header = head.decode().splitlines()
    start = header.index("Variables:") + 1
    names = [line.split()[1] for line in header[start:]]
    points = np.frombuffer(body, dtype=complex).reshape(-1, len(names))
    return dict(zip(names, points.T, strict=True))
