"""What a choke does in common and in differential mode, against frequency, from whatever was swept.

Up to three sources tell a mode: a sweep of the terminals tied as the mode ties them; impedances of the
windings, from each alone and each two in series-opposing; a four-port file. With the impedance matrix Z in
the direction of the dots, Z_ij = (Z_i + Z_j - z_ij)/2, the common mode is 1/(1' Z^-1 1), the differential
mode of two lines z_ij itself. Capacitance between the windings is in the first and the last source only.

Source: `labkit.theory.modes`, `labkit.theory.insertion`.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from labkit.arrays import Complexes, Floats
from labkit.choke import spectra
from labkit.choke.spectra import Curve, Function, Swept, Together, together
from labkit.choke.swept import Pair, Spectra, key_of
from labkit.sweeps.sweep import Impedance, Scattering
from labkit.theory.insertion import (
    CISPR_17,
    Filter,
    Termination,
    insertion_loss,
    nominal_network,
    series_loss,
)
from labkit.theory.modes import (
    Mode,
    Part,
    Worst,
    far_ends,
    mixed_mode,
    part_of_scattering,
    passivity,
    reciprocity,
    tying,
)
from labkit.theory.wiring import Connection, Wiring
from labkit.words import choke as words

Impedances = Callable[..., Complexes]
ROUNDING = 1e-6  # excess of power that the digits of a file can explain


@dataclass(frozen=True, eq=False)
class FourPort:
    """A four-port as it is used: scattering parameters and the terminal of each port."""

    id: str
    ports: tuple[str, ...]
    scattering: Scattering
    line: int
    accuracy: float | None = None

    @property
    def passive(self) -> bool:
        """Whether no more power comes out than goes in, but for what the stated accuracy explains."""
        return self.passivity.amount <= (1 + (self.accuracy or 0.0)) ** 2 - 1 + ROUNDING

    @property
    def passivity(self) -> Worst:
        """By how much more power comes out than goes in, at worst."""
        return passivity(self.scattering.frequency, self.scattering.S)

    @property
    def reciprocity(self) -> Worst:
        """The largest |S_ij - S_ji|."""
        return reciprocity(self.scattering.frequency, self.scattering.S)


@dataclass(frozen=True, eq=False)
class Source:
    """One source of a mode's impedance.

    Attributes
    ----------
    mode : Mode
    lines : the two windings of a differential mode; None in common mode
    kind : "measured", "computed" or "four_port"
    common : the sweeps that it rests on
    Z : from their impedances to that of the mode, in Ω
    """

    mode: Mode
    lines: Pair | None
    kind: str
    common: Together
    Z: Impedances

    @property
    def prefix(self) -> str:
        """How the names of its curves begin."""
        return prefix_of(self.mode, self.lines)

    @property
    def what(self) -> str:
        """The source in words."""
        ids = ", ".join(self.common.ids)
        return words.SOURCE[self.kind].format(id=ids, ids=ids)

    @property
    def impedance(self) -> Complexes:
        """Of the mode, (F,), in Ω."""
        return self.Z(*self.common.Z)

    def curves(self) -> Iterator[Curve]:
        """|Z|, phase, inductance and resistance."""
        for name, unit, what, function in (
            ("impedance_magnitude", "Ω", words.WHAT_Z, lambda _, Z: np.abs(Z)),
            ("impedance_phase", "°", words.WHAT_PHASE, spectra.phase),
            ("inductance", "H", words.WHAT_L, spectra.inductance),
            ("resistance", "Ω", words.WHAT_R, lambda _, Z: Z.real),
        ):
            said = what.format(mode=self.mode.value, source=self.what)
            yield self.common.curve(f"{self.prefix}_{name}_{self.kind}", unit, said, self._of(function))

    def losses(self) -> Iterator[tuple[Termination, Curve]]:
        """Insertion loss of the choke alone, the impedance of the mode in series between source and load."""
        for termination in (*CISPR_17, nominal_network(self.mode)):
            said = words.WHAT_LOSS.format(
                mode=self.mode.value, source=self.what, termination=termination.name
            )
            name = f"{self.prefix}_insertion_loss_{of_ohm(termination)}_{self.kind}"
            yield termination, self.common.curve(name, "dB", said, self._of(_loss(termination)))

    def _of(self, function: Callable[[Floats, Complexes], Floats]) -> Function:
        return lambda w, *Z: function(w, self.Z(*Z))


def prefix_of(mode: Mode, lines: Pair | None) -> str:
    """A mode as part of a name."""
    name = mode.value.replace(" ", "_")
    return f"{name}_{lines[0]}_{lines[1]}" if lines else name


def _loss(termination: Termination) -> Callable[[Floats, Complexes], Floats]:
    return lambda _, Z: np.asarray(series_loss(Z, termination.source, termination.load))


def of_ohm(termination: Termination) -> str:
    """The two resistances as part of a name: 0.1 is written 0p1."""
    return f"{termination.source:g}_{termination.load:g}".replace(".", "p")


@dataclass(frozen=True, eq=False)
class Modes:
    """Every source of every mode.

    Attributes
    ----------
    spectra : the sweeps of impedance
    four_ports : the four-port files
    """

    spectra: Spectra
    four_ports: tuple[FourPort, ...] = ()

    @cached_property
    def sources(self) -> tuple[Source, ...]:
        """In order: common mode, then each two lines; the source to be believed first in each."""
        if not self.spectra.dots or self.spectra.windings < 2:
            return ()
        return tuple(source for mode, lines in self.wanted for source in self._sources(mode, lines))

    @property
    def wanted(self) -> tuple[tuple[Mode, Pair | None], ...]:
        """Every mode of the part, with its lines; one winding has none."""
        if self.spectra.windings < 2:
            return ()
        numbers = range(1, self.spectra.windings + 1)
        pairs = [(i, j) for i in numbers for j in numbers if i < j]
        return ((Mode.COMMON, None), *((Mode.DIFFERENTIAL, pair) for pair in pairs))

    def wiring(self, mode: Mode, lines: Pair | None) -> Wiring:
        """How clips and ties are set for a mode; the dots must be known."""
        assert self.spectra.dots
        return tying(mode, self.spectra.dots, lines or (1, 2))

    def best(self, mode: Mode, lines: Pair | None = None) -> Source | None:
        """The source to be believed first; None if nothing tells this mode."""
        return next((s for s in self.sources if s.mode is mode and s.lines == lines), None)

    def _sources(self, mode: Mode, lines: Pair | None) -> Iterator[Source]:
        wanted = self.wiring(mode, lines).canonical(self.spectra.windings)
        for sweep in self.spectra.sweeps:
            if sweep.wiring.canonical(self.spectra.windings) == wanted:
                yield Source(mode, lines, "measured", together(sweep), lambda Z: Z)
                break
        if mode is Mode.COMMON:
            yield from self._computed()
        for four in self.four_ports:
            yield self._four_port(four, mode, lines)

    def _computed(self) -> Iterator[Source]:
        """Common mode from each winding alone and each two in series-opposing."""
        s = self.spectra
        opposing = [s.joint[pair].get(Connection.SERIES_OPPOSING) for pair in s.pairs]
        if len(s.singles) < s.windings or not all(opposing):
            return
        singles = [s.singles[n] for n in sorted(s.singles)]
        common = together(*singles, *(sweep for sweep in opposing if sweep))
        if len(common.frequency):
            yield Source(Mode.COMMON, None, "computed", common, _common_mode_of(s.windings))

    def _four_port(self, four: FourPort, mode: Mode, lines: Pair | None) -> Source:
        f = four.scattering.frequency
        Z = self._part(four).mode_impedance(mode, f, lines or (1, 2))
        known = Swept(four.id, self.wiring(mode, lines), Impedance(f, Z))
        return Source(mode, lines, "four_port", together(known), lambda Z: Z)

    @cached_property
    def curves(self) -> tuple[Curve, ...]:
        """Every curve of every source, insertion loss of the one believed first, mixed-mode parameters."""
        found = [curve for source in self.sources for curve in source.curves()]
        best = [self.best(*wanted) for wanted in self.wanted]
        found += [curve for source in best if source for _, curve in source.losses()]
        for four in self.four_ports if self.spectra.dots else ():
            found += [*self._whole_circuit(four), *self._mixed(four)]
        return tuple(found)

    def _whole_circuit(self, four: FourPort) -> Iterator[Curve]:
        """Insertion loss from a four-port file: the whole circuit, not one impedance in series."""
        key, found = key_of(four.id), four.scattering
        for mode, lines in self.wanted:
            for termination in (*CISPR_17, nominal_network(mode)):
                loss = self.circuit_loss(four, mode, termination, lines)
                said = words.WHAT_LOSS.format(
                    mode=mode.value,
                    source=words.SOURCE["four_port"].format(id=four.id),
                    termination=termination.name,
                )
                name = f"{prefix_of(mode, lines)}_insertion_loss_{of_ohm(termination)}_four_port_{key}"
                yield Curve(name, "dB", said, found.frequency, loss, None, (four.id,))

    def circuit_loss(
        self, four: FourPort, mode: Mode, termination: Termination, lines: Pair | None = None
    ) -> Floats:
        """Insertion loss in dB of the whole circuit that a four-port file holds, at its frequencies, (F,)."""
        f = four.scattering.frequency
        return np.asarray(insertion_loss(Filter(self._part(four)), mode, termination, f, lines or (1, 2)))

    def _part(self, four: FourPort) -> Part:
        found = four.scattering
        assert self.spectra.dots
        return part_of_scattering(found.frequency, found.S, found.reference, four.ports, self.spectra.dots)

    def _mixed(self, four: FourPort) -> Iterator[Curve]:
        dots = self.spectra.dots
        if not dots or len(set(four.scattering.reference)) > 1:
            return
        order = [four.ports.index(str(end)) for end in (*dots, *far_ends(dots))]
        found, key = mixed_mode(four.scattering.S, four.scattering.reference, order), key_of(four.id)
        for name, S in (
            ("mixed_mode_Scc21", found.common),
            ("mixed_mode_Sdd21", found.differential),
            ("mixed_mode_Scd21", found.to_common),
            ("mixed_mode_Sdc21", found.to_differential),
        ):
            with np.errstate(divide="ignore"):
                level = 20 * np.log10(np.abs(S[:, 1, 0]))
            f = four.scattering.frequency
            yield Curve(f"{name}_{key}", "dB", words.WHAT_MIXED[name], f, level, None, (four.id,))

    @cached_property
    def closure(self) -> tuple[Source, Source, Floats, Floats | None] | None:
        """Common mode as swept and as computed: both sources, frequencies, E_n (None without accuracy)."""
        found = {s.kind: s for s in self.sources if s.mode is Mode.COMMON}
        if not {"measured", "computed"} <= set(found):
            return None
        one, other = found["measured"], found["computed"]
        common = together(*one.common.sweeps, *other.common.sweeps)
        if not len(common.frequency):
            return None
        off, u = common.with_uncertainty(lambda w, Z, *rest: spectra.inductance(w, Z - other.Z(*rest)))
        with np.errstate(all="ignore"):
            return one, other, common.frequency, None if u is None else off / (2 * u)


def _common_mode_of(windings: int) -> Impedances:
    """1/(1' Z^-1 1) from singles, then series-opposing impedances of each two, in order."""

    def Z(*given: Complexes) -> Complexes:
        singles, opposing = given[:windings], iter(given[windings:])
        matrix = np.empty((*singles[0].shape, windings, windings), dtype=np.complex128)
        for i in range(windings):
            matrix[..., i, i] = singles[i]
            for j in range(i + 1, windings):
                matrix[..., i, j] = matrix[..., j, i] = (singles[i] + singles[j] - next(opposing)) / 2
        ones = np.ones((*singles[0].shape, windings, 1))
        return np.asarray(1 / np.linalg.solve(matrix, ones)[..., 0].sum(axis=-1))

    return Z
