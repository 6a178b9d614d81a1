"""Whether a mode's impedance in series tells the insertion loss of the whole circuit, and up to where.

A mode's impedance is seen with far ends tied. Capacitance between the windings then lies across the loop; in
a line it lies from line to line on either side, where it moves the loss near self-resonance and above.
"""

from collections.abc import Iterator

import numpy as np

from labkit.analysis.characterise.characterisation import Characterisation
from labkit.analysis.characterise.modes import FourPort, Modes, Source
from labkit.analysis.finding import Figure, Finding
from labkit.quantity import display
from labkit.sweeps.sweep import hertz
from labkit.theory.insertion import CISPR_17, series_loss
from labkit.theory.modes import Mode
from labkit.words import characterise as words

APART = 1.0
"""Difference of the two losses in dB from which the series impedance is no longer to be quoted."""


def series_or_circuit(found: Characterisation) -> Iterator[Finding]:
    """For each mode with a four-port file where the two losses part; without one, that they will."""
    sources = found.modes.sources
    whole = [source for source in sources if source.kind == "four_port"]
    for source in whole:
        four = next(four for four in found.four_ports if four.id == source.common.ids[0])
        yield _compared(found.modes, source, four)
    differential = [source for source in sources if source.mode is Mode.DIFFERENTIAL]
    if differential and not whole:
        ids = dict.fromkeys(id for source in differential for id in source.common.ids)
        yield Finding("series loss alone", words.SERIES_ALONE, {}, tuple(ids))


def _compared(modes: Modes, source: Source, four: FourPort) -> Finding:
    ends = CISPR_17[0]
    f, alone = source.common.frequency, np.asarray(series_loss(source.impedance, ends.source, ends.load))
    circuit = modes.circuit_loss(four, source.mode, ends, source.lines)
    off = np.abs(alone - circuit)
    parts = np.flatnonzero(off > APART)
    facts = {"mode": _mode(source), "id": four.id, "ends": ends.name}
    if not len(parts):
        largest = display(float(off.max()), unit="dB", significant_digits=2)
        sentence = words.SERIES_HOLDS.format(largest=largest, **facts)
        return Finding("series loss holds", sentence, {}, (four.id,))
    worst, first = int(np.argmax(off)), int(parts[0])
    sentence = words.SERIES_PARTS.format(
        limit=f"{APART:g} dB",
        start=hertz(float(f"{f[first]:.3g}")),
        where=hertz(float(f"{f[worst]:.3g}")),
        alone=display(float(alone[worst]), unit="dB", significant_digits=3),
        circuit=display(float(circuit[worst]), unit="dB", significant_digits=3),
        **facts,
    )
    return Finding(
        "series loss parts", sentence, {"from": Figure(float(f[first]), "Hz")}, (four.id,), "caution"
    )


def _mode(source: Source) -> str:
    """The mode, and its lines if there are more than two."""
    if source.lines in (None, (1, 2)):
        return source.mode.value
    return words.OF_LINES.format(mode=source.mode.value, i=source.lines[0], j=source.lines[1])
