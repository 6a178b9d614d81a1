"""A choke as its record documents it: matrix, spectra, modes, models, and all of it in numbers.

Like `labkit.analysis.analysis`, a pure function of the record, each part worked out once and only when asked
for. What is said in words is in `labkit.choke.findings`.
"""

from functools import cached_property

import numpy as np

from labkit.analysis.analysis import analyse
from labkit.choke.choke_fit import ChokeFit, SweepChoice, believed, choices, choke_of
from labkit.choke.export import Number, Numbers, numbers, scalars
from labkit.choke.matrix import Matrix, matrix, swept_matrix
from labkit.choke.mode_curves import FourPort, Modes
from labkit.choke.resistance import Resistance, resistance
from labkit.choke.spectra import Swept
from labkit.choke.swept import Spectra
from labkit.errors import LabkitError, MissingReading
from labkit.record.bench import Bench
from labkit.theory.wiring import Terminal
from labkit.words import choke as words


class Characterisation:
    """Everything that a bench's readings and sweeps say about a choke; get it from `characterisation_of`."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.events = bench.events
        self.problems: tuple[str, ...] = ()
        self._read()

    def _read(self) -> None:
        """Sort the sweeps; one whose file is gone or cannot be used is told and stops nothing."""
        impedances, four_ports, problems = [], [], []
        for stored in self.bench.sweeps:
            try:
                limit, line = stored.relative_accuracy, stored.line
                if stored.wiring is None:
                    found = stored.scattering()
                    four_ports.append(FourPort(stored.id, stored.ports or (), found, line, limit))
                else:
                    impedances.append(Swept(stored.id, stored.wiring, stored.impedance(), limit, line))
            except (LabkitError, OSError) as error:
                problems.append(words.LOST.format(id=stored.id, reason=error))
        self.problems = tuple(problems)
        self._impedances, self._four_ports = tuple(impedances), tuple(four_ports)

    @property
    def windings(self) -> int:
        """How many windings the part has."""
        return self.bench.windings

    @cached_property
    def dots(self) -> tuple[Terminal, ...] | None:
        """Dotted ends: as marked, as readings tell, or as two series sweeps of a pair tell."""
        known = analyse(self.bench).shared.dots if self.windings == 2 else self.bench.dots
        return known or self._dots_by_sweeps

    @cached_property
    def _dots_by_sweeps(self) -> tuple[Terminal, ...] | None:
        return Spectra(self._impedances, 2).told_dots((1, 2)) if self.windings == 2 else None

    @property
    def told_by_sweeps(self) -> bool:
        """Whether the sweeps alone tell where the dots are."""
        return self.dots is not None and self.dots is self._dots_by_sweeps

    @cached_property
    def spectra(self) -> Spectra:
        """What the sweeps of impedance say."""
        return Spectra(self._impedances, self.windings, self.dots)

    @cached_property
    def modes(self) -> Modes:
        """Common and differential mode, from impedances and from four-port files."""
        usable = [four for four in self._four_ports if len(four.ports) == 2 * self.windings]
        return Modes(self.spectra, tuple(usable))

    @property
    def four_ports(self) -> tuple[FourPort, ...]:
        """The four-port files of the record."""
        return self._four_ports

    @cached_property
    def matrix(self) -> Matrix | None:
        """The inductance matrix from readings, else from sweeps; None if neither do: see `no_matrix`."""
        try:
            return matrix(self.bench)
        except MissingReading as error:
            self.no_matrix = str(error)
        try:
            return swept_matrix(self._impedances, self.windings, self.bench.dots)
        except MissingReading as error:
            self.no_matrix = str(error) if self._impedances and not self.bench.readings else self.no_matrix
            return None

    no_matrix: str = ""

    @cached_property
    def resistance(self) -> tuple[Resistance, ...]:
        """Where winding resistance rules, for each two windings that were swept side by side."""
        return resistance(self.spectra)

    @cached_property
    def choices(self) -> tuple[SweepChoice, ...]:
        """Models compared on every sweep."""
        return tuple(choices(self.spectra))

    @cached_property
    def choke(self) -> ChokeFit | None:
        """One choke fitted to the sweeps of both modes and both windings; None if they do not allow one."""
        return choke_of(self.spectra, self.modes)

    @cached_property
    def scalars(self) -> tuple[Number, ...]:
        """Every single number, in stable order."""
        found = scalars(self.matrix, self.spectra, self.modes, self._four_ports)
        return (*found, *believed(self.choices))

    @cached_property
    def numbers(self) -> Numbers:
        """All numbers, ready to be written to files and cited."""
        ruled = (c for each in self.resistance for c in (each.lossless, each.lossy, each.weight))
        curves = (*self.spectra.curves, *self.modes.curves, *ruled)
        return numbers(self.bench, self.scalars, curves, self.matrix)

    def number(self, name: str) -> Number:
        """The number of that name; KeyError if there is none."""
        found = {n.name: n for n in self.scalars}
        return found[name]

    @property
    def highest(self) -> float | None:
        """The highest frequency swept, in Hz; None without a sweep."""
        every = [s.impedance.frequency[-1] for s in self._impedances]
        every += [four.scattering.frequency[-1] for four in self._four_ports]
        return float(np.max(every)) if every else None


def characterisation_of(bench: Bench) -> Characterisation:
    """The characterisation of a bench as it stands now; computed anew only if the record has changed."""
    kept = getattr(bench, "_characterisation", None)
    if not isinstance(kept, Characterisation) or kept.events != bench.events:
        kept = Characterisation(bench)
        bench._characterisation = kept  # type: ignore[attr-defined]
    return kept
