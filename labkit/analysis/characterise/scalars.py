"""The single numbers of a characterisation, each with its uncertainty, frequency and what it rests on."""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from operator import attrgetter

import numpy as np

from labkit.analysis.characterise.matrix import Matrix
from labkit.analysis.characterise.modes import FourPort, Modes, Source, of_ohm, prefix_of
from labkit.analysis.characterise.numbers import Number
from labkit.analysis.characterise.resistance import loop_corner
from labkit.analysis.characterise.spectra import Curve
from labkit.analysis.characterise.swept import Spectra, key_of
from labkit.sweeps.sweep import hertz
from labkit.theory.insertion import Termination
from labkit.theory.modes import Mode
from labkit.theory.wiring import Connection
from labkit.uncertainty.estimate import Estimate
from labkit.words import characterise as words

SPOTS = (10e3, 150e3, 500e3, 1e6, 5e6, 10e6, 30e6)
"""Frequencies in Hz at which an emission standard or a reader is likely to look."""
NEXT_TO = 1.15  # a swept frequency further away than this factor is not next to a spot

SPOKEN = {
    "low": ("self_inductance", "series_resistance"),
    "pair": (
        "mutual_inductance",
        "coupling_coefficient",
        "leakage_per_winding",
        "leakage_differential_mode",
        "leakage_short_circuit",
        "loop_resistance",
        "imbalance",
    ),
}


def scalars(
    matrix: Matrix | None, spectra: Spectra, modes: Modes, four_ports: Sequence[FourPort]
) -> Iterator[Number]:
    """Every number: from readings, at low frequency, of resonances, of modes, of four-ports."""
    if matrix is not None:
        yield from _of_matrix(matrix)
    yield from _low(spectra)
    yield from _resonances(spectra)
    yield from _of_modes(modes)
    yield from _corners(spectra)
    for four in four_ports:
        yield from _of_four_port(four)


def _of_matrix(m: Matrix) -> Iterator[Number]:
    ids = tuple(id for o in m.observations for id in o.ids)
    at = m.frequency.value if m.frequency else None

    def number(
        name: str, unit: str, pick: Callable[[Matrix], Estimate | None], what: str
    ) -> Iterator[Number]:
        if estimate := pick(m):
            yield Number(f"{name}_from_{m.basis}", unit, estimate.value, m.u(pick), what, ids, at)

    for i, j in m.keys:
        name = f"self_inductance_{i}" if i == j else f"mutual_inductance_{i}_{j}"
        entry = partial(Matrix.entry, i=i, j=j)
        yield from number(name, "H", entry, words.WHAT_ENTRY.format(i=i, j=j, basis=m.basis))
    for i, j in m.pairs:
        for name, unit, pick in (
            ("coupling_coefficient", "", partial(Matrix.coupling, i=i, j=j)),
            ("leakage_differential_mode", "H", partial(Matrix.line_to_line, i=i, j=j)),
            ("imbalance", "H", partial(Matrix.difference, i=i, j=j)),
        ):
            yield from number(
                f"{name}_{i}_{j}", unit, pick, words.WHAT_MATRIX[name].format(i=i, j=j, basis=m.basis)
            )
    common = attrgetter("common_mode")
    yield from number("common_mode_inductance", "H", common, words.WHAT_COMMON.format(basis=m.basis))


def _at(curve: Curve, place: int, name: str, what: str) -> Number:
    u = None if curve.u is None else float(curve.u[place])
    f = float(curve.frequency[place])
    return Number(name, curve.unit, float(curve.value[place]), u, what, curve.ids, f)


def _low(spectra: Spectra) -> Iterator[Number]:
    """Windings and pairs at the lowest frequency; of a pair by the first route that there is."""
    curves = {curve.name: curve for curve in spectra.curves}
    wanted = [f"{name}_{n}" for n in sorted(spectra.singles) for name in SPOKEN["low"]]
    for i, j in spectra.pairs:
        for name in SPOKEN["pair"]:
            key = f"{name}_{i}_{j}"
            wanted += [c for c in curves if c == key or c.startswith(f"{key}_from")][:1]
    for name in wanted:
        curve = curves[name]
        yield _at(curve, 0, f"{name}_low_frequency", words.WHAT_LOW.format(what=curve.what))


def _resonances(spectra: Spectra) -> Iterator[Number]:
    for found in spectra.resonances:
        key, what = key_of(found.sweep.id), spectra.called(found.sweep)
        ids = (found.sweep.id,)
        if found.frequency is None:
            continue
        said = words.WHAT_RESONANCE.format(what=what)
        yield Number(f"self_resonance_{key}", "Hz", found.frequency, found.u, said, ids)
        if found.capacitance is not None:
            said = words.WHAT_CAPACITANCE.format(what=what)
            yield Number(f"self_capacitance_{key}", "F", found.capacitance, found.u_capacitance, said, ids)


def _of_modes(modes: Modes) -> Iterator[Number]:
    for mode, lines in modes.wanted if modes.spectra.dots else ():
        source = modes.best(mode, lines)
        if source is None:
            continue
        magnitude, _, inductance, resistance = source.curves()
        prefix, facts = prefix_of(mode, lines), {"mode": mode.value, "source": source.what}
        for curve, name in ((inductance, "inductance"), (resistance, "resistance")):
            said = words.WHAT_LOW.format(what=curve.what)
            yield _at(curve, 0, f"{prefix}_{name}_low_frequency", said)
        peak = int(np.argmax(magnitude.value))
        yield _at(magnitude, peak, f"{prefix}_largest_impedance_magnitude", words.WHAT_PEAK.format(**facts))
        yield from _spots(source, magnitude, prefix)


def _spots(source: Source, magnitude: Curve, prefix: str) -> Iterator[Number]:
    losses = list(source.losses())
    facts = {"mode": source.mode.value, "source": source.what}
    for spot in SPOTS:
        place = next_to(magnitude, spot)
        if place is None:
            continue
        key, at = spot_key(spot), hertz(spot)
        said = words.WHAT_SPOT_Z.format(spot=at, **facts)
        yield _at(magnitude, place, f"{prefix}_impedance_magnitude_next_to_{key}", said)
        for termination, curve in losses:
            said = words.WHAT_SPOT_LOSS.format(spot=at, termination=termination.name, **facts)
            yield _at(curve, place, loss_name(prefix, termination, spot), said)


def loss_name(prefix: str, termination: Termination, spot: float) -> str:
    """Name of an insertion loss next to a spot frequency (Hz)."""
    return f"{prefix}_insertion_loss_{of_ohm(termination)}_next_to_{spot_key(spot)}"


def spot_key(spot: float) -> str:
    """A spot frequency as part of a name.

    >>> spot_key(150e3)
    '150_kHz'
    """
    return hertz(spot).replace(" ", "_")


def next_to(curve: Curve, spot: float) -> int | None:
    """Place of the swept frequency next to a spot; None if none is near."""
    place = int(np.argmin(np.abs(np.log(curve.frequency / spot))))
    ratio = float(curve.frequency[place]) / spot
    return place if 1 / NEXT_TO <= ratio <= NEXT_TO else None


def _corners(spectra: Spectra) -> Iterator[Number]:
    """Where winding resistance stops ruling the loop, from the series-opposing sweep."""
    for i, j in spectra.pairs:
        sweep = spectra.joint[i, j].get(Connection.SERIES_OPPOSING)
        if sweep is None:
            continue
        found = loop_corner(sweep)
        if found.value > 0:
            said, name = words.WHAT_CORNER.format(i=i, j=j), f"winding_resistance_corner_{i}_{j}"
            yield Number(name, "Hz", found.value, found.u, said, (sweep.id,), found.frequency)


def _of_four_port(four: FourPort) -> Iterator[Number]:
    key = key_of(four.id)
    for name, what, found in (
        ("passivity_excess", words.WHAT_PASSIVITY, four.passivity),
        ("reciprocity_error", words.WHAT_RECIPROCITY, four.reciprocity),
    ):
        said = what.format(id=four.id)
        yield Number(f"{name}_{key}", "", found.amount, None, said, (four.id,), found.frequency)


def common_and_differential(modes: Modes) -> tuple[Source | None, Source | None]:
    """The sources to be believed first of common mode and of the first two lines' differential mode."""
    if not modes.spectra.dots:
        return None, None
    return modes.best(Mode.COMMON), modes.best(Mode.DIFFERENTIAL, (1, 2))
