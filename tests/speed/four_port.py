"""A four-port file to finished figures, against the time that scikit-rf needs to read the same file.

Read, mixed modes, passivity and reciprocity, impedance in both modes, insertion loss of both modes between
four pairs of terminations, and their three charts written to files. The data are invented.
"""

import gc
import tempfile
import time
from pathlib import Path

import numpy as np
import skrf

from labkit.choke.mode_results import ModeSource, loss_numbers, mode_numbers
from labkit.faces.mode_report import InsertionLoss, Modes
from labkit.sweeps.touchstone_file import read_touchstone
from labkit.theory.insertion import CISPR_17, nominal_network
from labkit.theory.modes import Mode, part_of_scattering
from tests.chokes import NEARLY_EQUAL as CHOKE

POINTS = 10_001
PORTS = ("1a", "2a", "1b", "2b")
LIMIT, BASELINE = 3.0, "scikit-rf reading the same four-port file of 10 001 points"


def write(path: Path) -> None:
    """The choke as an instrument would export it: nine digits, a matrix row a line."""
    f = np.linspace(9e3, 30e6, POINTS)
    lines = ["! invented data", "# Hz S RI R 50"]
    for frequency, S in zip(f, CHOKE.scattering(f, PORTS), strict=True):
        rows = [" ".join(f"{x.real:.9g} {x.imag:.9g}" for x in row) for row in S]
        lines += [f"{frequency:.10g} {rows[0]}", *rows[1:]]
    path.write_text("\n".join([*lines, ""]))


def figures(path: Path) -> list[Path]:
    """All that the file says, as pictures beside it; returns where they are."""
    measured = read_touchstone(path.read_bytes(), path.name)
    part = part_of_scattering(measured.frequency, measured.S, measured.reference, PORTS)
    source = ModeSource(part, measured.frequency, scattering=(measured, PORTS))
    modes = Modes(mode_numbers(source))
    assert modes.numbers.mixed is not None
    ends = {mode: (*CISPR_17, nominal_network(mode)) for mode in Mode}
    loss = InsertionLoss(loss_numbers(source, ends, {}))
    pictures = {"impedance": modes.picture()} | {mode.value: loss.picture(mode) for mode in Mode}
    saved = []
    for name, picture in pictures.items():
        saved.append(path.with_name(f"{name}.svg"))
        saved[-1].write_text(picture.svg)
    return saved


def ratio(rounds: int = 9) -> tuple[float, ...]:
    """File to figures over scikit-rf's reading, one ratio a round, after a warm-up of each."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "choke.s4p")
        write(path)
        found = [_timed(figures, path) / _timed(skrf.Network, path) for _ in range(rounds + 1)]
        return tuple(found[1:])


def _timed(work: object, path: Path) -> float:
    """Seconds; garbage that others left is collected before, so that nobody pays for it here."""
    assert callable(work)
    gc.collect()
    begin = time.perf_counter()
    work(path if work is figures else str(path))
    return time.perf_counter() - begin


if __name__ == "__main__":
    print(", ".join(f"{each:.2f}" for each in ratio()), f"x {BASELINE}")
