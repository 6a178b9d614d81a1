"""What modes and insertion loss are worked out from: readings, a four-port sweep, a pair, a choke.

Readings give a pair by the route that is believed, without loss and capacitance, and the spread of whatever
is worked out from it: u² = J V J', V the covariance of the readings with the errors that they share, J by
differences over one standard uncertainty to either side.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from labkit.analysis.analysis import analyse
from labkit.analysis.findings import missing
from labkit.analysis.routes import Coupling
from labkit.bench.bench import Bench
from labkit.bench.stored_sweep import StoredSweep
from labkit.errors import EntryError, MissingReading
from labkit.sweeps.sweep import Scattering
from labkit.theory.choke import Choke
from labkit.theory.modes import (
    Dots,
    Mode,
    Part,
    mode_inductance,
    part_of_choke,
    part_of_inductances,
    part_of_pair,
    part_of_scattering,
)
from labkit.theory.pair import Pair
from labkit.uncertainty.least_squares import covariance_of
from labkit.words import modes as words

Floats = npt.NDArray[np.float64]
Work = Callable[[Part], Floats]
"""What is worked out from a part, shape (..., F)."""

LOSSLESS_RANGE = (9e3, 1e6)
MODEL_RANGE = (9e3, 30e6)
POINTS = 241
READINGS = "readings"


@dataclass(frozen=True, eq=False)
class ModeSource:
    """A part with all that has to be said about it.

    Attributes
    ----------
    part : Part
    frequency : where it is shown unless somebody asks otherwise, (F,), in Hz
    notes : what the numbers rest on and where they stop holding
    invented : whether the data are
    inductance : common-mode and differential-mode inductance at low frequency, in H; None if unknown
    resistances : of two windings, in Ω; None if unknown or of more windings
    scattering : of a four-port with the terminal of each port; None otherwise
    coupling : the route from readings; None otherwise
    accuracy : stated for a four-port, relative; 0 if none is
    """

    part: Part
    frequency: Floats
    notes: tuple[str, ...] = ()
    invented: bool = False
    inductance: tuple[float, float] | None = None
    resistances: tuple[float, float] | None = None
    scattering: tuple[Scattering, tuple[str, ...]] | None = None
    coupling: Coupling | None = None
    accuracy: float = 0.0

    def spread(self, work: Work) -> Floats | None:
        """Standard uncertainty of what is worked out from the part, same shape; None if none is stated."""
        if self.coupling is None or not self.coupling.stated:
            return None
        readings = [o.input for o in self.coupling.observations]
        values = [x.value for x in readings]
        columns = []
        for i, reading in enumerate(readings):
            u = reading.standard_uncertainty
            ends = [[v + sign * u * (i == j) for j, v in enumerate(values)] for sign in (1, -1)]
            up, down = (work(self._by_route(end)) for end in ends)
            columns.append((up - down) / (2 * u) if u else np.zeros_like(up))
        J = np.stack(columns, axis=-1)
        return np.asarray(np.sqrt(np.einsum("...i,ij,...j", J, covariance_of(readings), J)))

    def _by_route(self, values: list[float]) -> Part:
        assert self.coupling is not None
        L1, L2, B = self.coupling.route.pair(*values)
        alike = self.part.dots[0].end == self.part.dots[1].end
        M = (L1 + L2 - B) / 2 * (1 if alike else -1)
        return part_of_inductances([[L1, M], [M, L2]], self.part.dots)


def source_of(given: "Bench | Pair | Choke | Part | ModeSource", of: str | None = None) -> ModeSource:
    """What was given, made ready for modes and insertion loss.

    Parameters
    ----------
    given : Bench, Pair, Choke or Part
    of : for a bench: the id of a four-port sweep, or `readings`; None for the only one of these that it has

    Raises
    ------
    EntryError, MissingReading, PassivityError
    """
    match given:
        case ModeSource():
            return given
        case Bench():
            return _of_bench(given, of)
        case Pair():
            return _of_pair(given)
        case Choke():
            return _of_choke(given)
        case Part():
            known = _range(MODEL_RANGE) if given.frequency is None else given.frequency
            return ModeSource(given, known)
    raise EntryError(words.NO_SOURCE.format(given=type(given).__name__))


def _range(ends: tuple[float, float]) -> Floats:
    return np.geomspace(*ends, POINTS)


def _of_pair(pair: Pair, dots: Dots | str = "1a 2a") -> ModeSource:
    inductance = (float(pair.parallel_aiding), float(pair.series_opposing))
    notes = (words.LOSSLESS,)
    return ModeSource(part_of_pair(pair, dots), _range(LOSSLESS_RANGE), notes, inductance=inductance)


def _of_choke(choke: Choke) -> ModeSource:
    part = part_of_choke(choke)
    if choke.windings == 2:  # B keeps its digits in a pair
        pair = choke.pair()
        inductance = (float(pair.parallel_aiding), float(pair.series_opposing))
        R1, R2 = map(float, choke.R)
        return ModeSource(part, _range(MODEL_RANGE), inductance=inductance, resistances=(R1, R2))
    L = (np.diag(choke.leakage) + choke.core * np.outer(choke.turns, choke.turns)).tolist()
    common, differential = (float(mode_inductance(L, mode, part.dots)) for mode in Mode)
    return ModeSource(part, _range(MODEL_RANGE), inductance=(common, differential))


def _of_bench(bench: Bench, of: str | None) -> ModeSource:
    four_ports = {sweep.id: sweep for sweep in bench.sweeps if sweep.setup == "four-port"}
    offered = [*four_ports, *[READINGS] * bool(bench.readings)]
    if of is None and len(offered) > 1:
        raise EntryError(words.WHICH.format(offered=" or ".join(f"of='{name}'" for name in offered)))
    wanted = of if of is not None else next(iter(offered), READINGS)
    if wanted == READINGS:
        return _of_readings(bench)
    if wanted not in four_ports:
        raise EntryError(words.NOT_OFFERED.format(given=wanted, offered=", ".join(offered) or words.NONE))
    return _of_sweep(bench, four_ports[wanted])


def _of_readings(bench: Bench) -> ModeSource:
    analysis = analyse(bench)
    by, dots = analysis.believed, analysis.shared.dots
    if by is None or dots is None:
        reasons = " ".join(finding.sentence for finding in missing(analysis))
        raise MissingReading(f"{words.NO_PAIR} {reasons}".strip())
    pair = Pair(*by.route.pair(*(o.value for o in by.observations)))
    at = analysis.shared.main_frequency
    facts = {"ids": ", ".join(by.ids), "route": by.route.title}
    rests = words.RESTS.format(**facts, frequency=at or words.UNRECORDED)
    plain = _of_pair(pair, dots)
    return ModeSource(
        plain.part,
        plain.frequency,
        (rests, *plain.notes),
        bench.invented,
        plain.inductance,
        coupling=by,
    )


def _of_sweep(bench: Bench, sweep: StoredSweep) -> ModeSource:
    if bench.dots is None:
        raise EntryError(words.DOTS.format(id=sweep.id))
    measured, ports = sweep.scattering(), sweep.ports
    assert ports is not None
    part = part_of_scattering(measured.frequency, measured.S, measured.reference, ports, bench.dots)
    notes = (words.MEASURED.format(id=sweep.id, line=sweep.line, ports=" ".join(ports)),)
    stated = sweep.relative_accuracy or 0.0
    return ModeSource(
        part, measured.frequency, notes, bench.invented, scattering=(measured, ports), accuracy=stated
    )
