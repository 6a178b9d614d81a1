"""Where one impedance in series stops telling the insertion loss of the circuit."""

from pathlib import Path

import numpy as np
import pytest

from labkit.analysis.finding import Finding
from labkit.choke.characterisation import Characterisation, characterisation_of
from labkit.choke.findings import series_or_circuit
from labkit.record.virtual_bench import VirtualSweep
from labkit.theory.choke import Choke
from labkit.theory.insertion import Filter, Termination, insertion_loss, series_loss
from labkit.theory.modes import Mode, part_of_choke
from tests.benches import empty_bench

F = np.geomspace(10e3, 30e6, 60)


def choke(between: float) -> Choke:
    """An invented choke with this capacitance between its windings, in F."""
    return Choke(
        R=(0.1, 0.1), leakage=(12e-6, 12e-6), core=4e-3, relaxation=1e6, C=(4e-12,) * 2, between=(between,)
    )


def characterised(folder: Path, part: Choke, four_port: bool = True) -> Characterisation:
    """A bench with a sweep in differential mode and, if wanted, a four-port file."""
    bench, sweep = empty_bench(folder / "bench"), VirtualSweep(part, F, seed=1)
    (folder / "dm.csv").write_bytes(sweep.table("1a 2a | 1b=2b"))
    bench.sweep("1a 2a | 1b=2b", folder / "dm.csv", accuracy="0.1 %")
    if four_port:
        (folder / "c.s4p").write_bytes(sweep.four_port())
        bench.sweep(None, folder / "c.s4p", setup="four-port", ports="1a 2a 1b 2b", accuracy="0.01 %")
    return characterisation_of(bench)


def said(found: Characterisation, mode: str) -> Finding:
    """What is said of one mode."""
    (finding,) = [f for f in series_or_circuit(found) if mode in f.sentence]
    return finding


def test_it_stops_where_the_truth_parts(tmp_path: Path) -> None:
    """The frequency named is the first swept one at which the choke's own two losses differ by over 1 dB."""
    part = choke(12e-12)
    finding = said(characterised(tmp_path, part), "differential mode")
    alone = series_loss(part.impedance("1a 2a | 1b=2b", F), 50, 50)
    circuit = insertion_loss(Filter(part_of_choke(part)), Mode.DIFFERENTIAL, Termination.of(50, 50), F)
    first = F[np.flatnonzero(np.abs(alone - circuit) > 1)[0]]
    assert finding.tone == "caution"
    assert finding.figures["from"].value == pytest.approx(first, rel=1e-6)
    assert 1e6 < first < 20e6


def test_without_capacitance_between_the_windings_it_holds(tmp_path: Path) -> None:
    """Capacitance between the windings is the cause: without it the two losses are one everywhere."""
    finding = said(characterised(tmp_path, choke(0.0)), "differential mode")
    assert finding.kind == "series loss holds"
    assert finding.tone == "plain"


def test_without_a_four_port_it_is_said_that_nobody_knows_where(tmp_path: Path) -> None:
    """One sentence, which asks for a four-port file."""
    finding = said(characterised(tmp_path, choke(12e-12), four_port=False), "differential mode")
    assert finding.kind == "series loss alone"
    assert finding.ids == ("sweep.dm",)
