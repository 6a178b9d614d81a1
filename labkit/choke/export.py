"""All numbers of a characterisation as CSV and JSON: units in the names, the same order every time.

Three texts. The scalars, one a line, with expanded uncertainty (coverage factor 2), the frequency that they
belong to, and the readings or sweeps that they rest on. The spectra, one line a frequency, each curve with
its expanded uncertainty beside it. And JSON with both, the matrix, and how to cite. What does not exist is
an empty cell, null in JSON; it is never zero. Values have nine significant digits, more than any was measured
with, the same in all three; frequencies stand as they were swept.
"""

import csv
import io
import json
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from operator import attrgetter
from typing import Any

import numpy as np

from labkit import __version__
from labkit.arrays import Floats
from labkit.choke.matrix import Matrix
from labkit.choke.mode_curves import FourPort, Modes, Source, of_ohm, prefix_of
from labkit.choke.resistance import loop_corner
from labkit.choke.spectra import Curve
from labkit.choke.swept import Spectra, key_of
from labkit.record.bench import Bench
from labkit.show import spreadsheet_cell
from labkit.sweeps.sweep import hertz
from labkit.theory.insertion import Termination
from labkit.theory.modes import Mode
from labkit.theory.wiring import Connection
from labkit.uncertainty.propagate import Estimate
from labkit.words import choke as words

DIGITS = 9  # significant ones


@dataclass(frozen=True)
class Number:
    """One number.

    Attributes
    ----------
    name : stable, without unit
    unit : SI unit, empty for a ratio
    value, u : value and standard uncertainty in `unit`; u is None if none is stated
    what : in words
    ids : readings and sweeps that it rests on
    frequency : in Hz, that it belongs to; None if to none
    """

    name: str
    unit: str
    value: float
    u: float | None
    what: str
    ids: tuple[str, ...] = ()
    frequency: float | None = None

    @property
    def column(self) -> str:
        """Its name with the unit.

        >>> Number("mutual_inductance", "H", 1e-3, None, "").column
        'mutual_inductance_H'
        """
        return self.name + words.SUFFIX[self.unit]

    @property
    def U(self) -> float | None:
        """Expanded uncertainty, coverage factor 2."""
        return None if self.u is None else 2 * self.u


@dataclass(frozen=True)
class Numbers:
    """Everything that a characterisation says in numbers.

    Attributes
    ----------
    scalars, curves, matrix : in order; the matrix is None if the readings give none
    cite : how to cite them
    about : part, record and program, as in `cite`
    """

    scalars: tuple[Number, ...]
    curves: tuple[Curve, ...]
    matrix: Matrix | None
    cite: str
    about: dict[str, Any]

    @property
    def csv(self) -> str:
        """The scalars."""
        rows = [
            (
                n.column,
                *map(_cell, (n.value, n.U, n.frequency)),
                *map(spreadsheet_cell, (" ".join(n.ids), n.what)),
            )
            for n in self.scalars
        ]
        return self._table((words.SCALARS_HEADER, *rows))

    @property
    def spectra_csv(self) -> str:
        """The spectra, one line a frequency; a curve that does not have it leaves its cells empty."""
        frequency = np.unique(np.concatenate([c.frequency for c in self.curves])) if self.curves else ()
        columns: dict[str, list[str]] = {"frequency_Hz": [repr(float(f)) for f in frequency]}
        for curve in self.curves:
            for name, values in _columns(curve).items():
                known = dict(zip(curve.frequency.tolist(), values.tolist(), strict=True))
                columns[name] = [_cell(known.get(float(f))) for f in frequency]
        return self._table((tuple(columns), *zip(*columns.values(), strict=True)))

    @property
    def json(self) -> str:
        """The same numbers, the matrix with its covariance, and how to cite."""
        content = {
            "schema": words.SCHEMA,
            "cite": self.cite,
            **self.about,
            "scalars": {n.column: _described(n) for n in self.scalars},
            "inductance_matrix": _matrix(self.matrix),
            "spectra": {c.name: _spectrum(c) for c in self.curves},
        }
        parts = (f"{json.dumps(key)}: {_dumped(value)}" for key, value in content.items())
        return "{\n" + ",\n".join(parts) + "\n}\n"

    def _table(self, rows: Sequence[Sequence[str]]) -> str:
        text = io.StringIO()
        table = csv.writer(text, lineterminator="\n")
        table.writerows([(spreadsheet_cell(f"# {self.cite}"),), *rows])
        return text.getvalue()


def numbers(
    bench: Bench, scalars: Sequence[Number], curves: Sequence[Curve], matrix: Matrix | None
) -> Numbers:
    """Numbers with what is needed to cite them; the date is that of the record's last line."""
    last = bench.events[-1] if bench.events else None
    title = (bench.part.title if bench.part else None) or bench.part_name
    about = {
        "title": title,
        "part": bench.part_name,
        "invented": bench.invented,
        "labkit": __version__,
        "record_lines": len(bench.events),
        "record_sha256": bench.record.digest or None,
        "date": last.utc if last else None,
    }
    cite = words.CITE.format(
        title=title,
        part=bench.part_name,
        invented=words.INVENTED if bench.invented else "",
        events=len(bench.events),
        date=about["date"] or words.NO_DATE,
        digest=about["record_sha256"] or words.NO_DIGEST,
        version=__version__,
        schema=words.SCHEMA,
    )
    return Numbers(tuple(scalars), tuple(curves), matrix, cite, about)


def _cell(value: float | None) -> str:
    """A number of a file as text; empty for what does not exist."""
    kept = _finite(value)
    return words.EMPTY if kept is None else repr(kept)


def _dumped(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def _columns(curve: Curve) -> dict[str, Floats]:
    name = curve.name + words.SUFFIX[curve.unit]
    found = {name: curve.value}
    return found if curve.u is None else found | {words.UNCERTAINTY.format(name=name): 2 * curve.u}


def _finite(value: float | None) -> float | None:
    """A value with the digits that files keep; None for what does not exist."""
    return None if value is None or not math.isfinite(value) else float(f"{value:.{DIGITS}g}")


def _described(n: Number) -> dict[str, Any]:
    return {
        "value": _finite(n.value),
        "expanded_uncertainty_k2": _finite(n.U),
        "frequency_Hz": n.frequency,
        "rests_on": list(n.ids),
        "what": n.what,
    }


def _spectrum(curve: Curve) -> dict[str, Any]:
    values = {name: [_finite(x) for x in column.tolist()] for name, column in _columns(curve).items()}
    described = {"what": curve.what, "rests_on": list(curve.ids)}
    return described | {"frequency_Hz": curve.frequency.tolist()} | values


def _matrix(m: Matrix | None) -> dict[str, Any] | None:
    if m is None:
        return None
    return {
        "frequency_Hz": m.frequency.value if m.frequency else None,
        "entries": [f"L{i}{j}" for i, j in m.keys],
        "inductance_H": [float(x.value) for x in m.inputs],
        "covariance_H2": m.covariance.tolist() if m.stated else None,
        "rests_on": [id for o in m.observations for id in o.ids],
    }


# The single numbers of a characterisation, each with its uncertainty, frequency and what it rests on.

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
