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
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from labkit import __version__
from labkit.analysis.characterise.matrix import Matrix
from labkit.analysis.characterise.spectra import Curve, Floats
from labkit.bench.bench import Bench
from labkit.show import spreadsheet_cell
from labkit.words import numbers as words

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
