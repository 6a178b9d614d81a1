"""Impedance in both modes, insertion loss, corners and checks of one source, as numbers with their spread."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from labkit import quantity
from labkit.analysis.analysis import analyse
from labkit.analysis.findings import missing
from labkit.analysis.routes import Coupling
from labkit.arrays import Complexes, Floats
from labkit.errors import EntryError, MissingReading
from labkit.record.bench import Bench
from labkit.record.sweep_files import StoredSweep
from labkit.sweeps.sweep import Scattering
from labkit.theory import lossy_pair as corners
from labkit.theory.choke import Choke
from labkit.theory.insertion import Capacitor, Filter, Termination, reduced
from labkit.theory.modes import (
    Dots,
    MixedMode,
    Mode,
    Part,
    Worst,
    far_ends,
    mixed_mode,
    mode_inductance,
    part_of_choke,
    part_of_inductances,
    part_of_pair,
    part_of_scattering,
    passivity,
    reciprocity,
    renormalised,
    tying,
)
from labkit.theory.pair import Pair
from labkit.theory.wiring import Wiring
from labkit.uncertainty.least_squares import covariance_of
from labkit.words import choke as words

# What modes and insertion loss are worked out from: readings, a four-port sweep, a pair, a choke.
#
# Readings give a pair by the route that is believed, without loss and capacitance, and the spread of
# whatever is worked out from it: u² = J V J', V the covariance of the readings with the errors that they
# share, J by differences over one standard uncertainty to either side.

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
    raise EntryError(
        f"An object of type {type(given).__name__} has no modes to show; give a bench, a "
        "Pair, a Choke, or a Part made from impedances or scattering parameters."
    )


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
        raise EntryError(
            words.NOT_OFFERED.format(given=wanted, offered=", ".join(offered) or "none, and no readings")
        )
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
        raise EntryError(
            f"Which lines run together in sweep {sweep.id} depends on the dots, and they are "
            "not known; mark them on the part, such as dots='1a 2a'."
        )
    measured, ports = sweep.scattering(), sweep.ports
    assert ports is not None
    part = part_of_scattering(measured.frequency, measured.S, measured.reference, ports, bench.dots)
    notes = (words.MEASURED.format(id=sweep.id, line=sweep.line, ports=" ".join(ports)),)
    stated = sweep.relative_accuracy or 0.0
    return ModeSource(
        part, measured.frequency, notes, bench.invented, scattering=(measured, ports), accuracy=stated
    )


MARKED = (10e3, 150e3, 1e6, 10e6, 30e6)
"""Frequencies that a table shows, in Hz: decades, and where limits of conducted emission begin and end."""

PLACES = ("x_source", "x_load", "y_source", "y_load")


@dataclass(frozen=True, eq=False)
class ModeNumbers:
    """What a part is in both modes.

    Attributes
    ----------
    frequency : (F,), in Hz
    wirings : clips and ties of each mode
    impedances : (F,) of each mode, in Ω
    spreads : standard uncertainty of |Z|, (F,) in Ω; None where none is stated
    mixed : mixed-mode parameters of a four-port; None otherwise
    gain, asymmetry : worst excess of power out over power in, worst |S_ij - S_ji|; None without a four-port
    """

    source: ModeSource
    frequency: Floats
    wirings: Mapping[Mode, Wiring]
    impedances: Mapping[Mode, Complexes]
    spreads: Mapping[Mode, Floats | None]
    mixed: MixedMode | None = None
    gain: Worst | None = None
    asymmetry: Worst | None = None

    @property
    def resistance_corner(self) -> float | None:
        """(R1 + R2)/(2πB), in Hz; None where resistances or B are not known."""
        if self.source.resistances is None or self.source.inductance is None:
            return None
        return float(corners.resistance_corner(*self.source.resistances, self.source.inductance[1]))

    @property
    def conversion(self) -> tuple[float, float] | None:
        """Most of a differential wave that leaves as a common one, |S_cd21|, and its frequency in Hz."""
        if self.mixed is None:
            return None
        found = np.abs(self.mixed.to_common[:, 1, 0])
        at = int(found.argmax())
        return float(found[at]), float(self.frequency[at])


def grid(source: ModeSource, frequency: npt.ArrayLike | None) -> Floats:
    """Frequencies to work at, in Hz: those asked for, else the source's own and the marked ones."""
    if frequency is not None:
        asked = np.unique(np.atleast_1d(np.asarray(frequency, dtype=np.float64)))
        if not asked.size or not np.all((asked > 0) & np.isfinite(asked)):
            raise EntryError(words.FREQUENCY, str(frequency))
        return asked
    if source.part.frequency is not None:
        return source.frequency
    marked = [f for f in MARKED if source.frequency[0] <= f <= source.frequency[-1]]
    return np.unique(np.concatenate([source.frequency, marked]))


def mode_numbers(source: ModeSource, frequency: npt.ArrayLike | None = None) -> ModeNumbers:
    """Impedance of a source in both modes; checks and mixed modes too if it is a four-port."""
    f, part = grid(source, frequency), source.part
    impedances = {mode: part.mode_impedance(mode, f) for mode in Mode}
    spreads = {mode: source.spread(_magnitude(mode, f)) for mode in Mode}
    wirings = {mode: tying(mode, part.dots) for mode in Mode}
    if source.scattering is None:
        return ModeNumbers(source, f, wirings, impedances, spreads)
    measured, ports = source.scattering
    chosen = measured.S if len(f) == len(measured) else measured.S[np.searchsorted(measured.frequency, f)]
    ends = (*part.dots, *far_ends(part.dots))
    alike = renormalised(chosen, measured.reference, measured.reference[0])
    mixed = mixed_mode(alike, measured.reference[0], [ports.index(str(end)) for end in ends])
    checks = passivity(f, chosen), reciprocity(f, chosen)
    return ModeNumbers(source, f, wirings, impedances, spreads, mixed, *checks)


def _magnitude(mode: Mode, f: Floats) -> Work:
    return lambda part: np.abs(part.mode_impedance(mode, f))


@dataclass(frozen=True, eq=False)
class Loss:
    """Insertion loss in a mode between one source and load: dB, (F,), and standard uncertainty or None."""

    mode: Mode
    termination: Termination
    dB: Floats
    spread: Floats | None


@dataclass(frozen=True)
class Corner:
    """A corner frequency in Hz and what it is of."""

    what: str
    frequency: float


@dataclass(frozen=True, eq=False)
class LossNumbers:
    """What a choke or a filter takes away.

    Attributes
    ----------
    frequency : (F,), in Hz
    losses : every mode between every termination
    filter : with the capacitors where they were put
    corners : where the ideal choke and the ideal filter turn; none if their inductances are not known
    """

    source: ModeSource
    frequency: Floats
    losses: tuple[Loss, ...]
    filter: Filter
    corners: tuple[Corner, ...]


def loss_numbers(
    source: ModeSource,
    terminations: Mapping[Mode, Sequence[Termination]],
    capacitors: Mapping[str, Capacitor],
    frequency: npt.ArrayLike | None = None,
) -> LossNumbers:
    """Insertion loss of a source with capacitors, for each mode between each of its terminations."""
    f = grid(source, frequency)
    whole = Filter(source.part, **capacitors)
    losses = [
        each for mode, ends in terminations.items() for each in _losses(source, mode, ends, capacitors, f)
    ]
    return LossNumbers(source, f, tuple(losses), whole, tuple(_corners(source, terminations, capacitors)))


def _losses(
    source: ModeSource,
    mode: Mode,
    ends: Sequence[Termination],
    capacitors: Mapping[str, Capacitor],
    f: Floats,
) -> Iterator[Loss]:
    """The circuit is solved once and then put between each source and load."""

    def work(part: Part) -> Floats:
        circuit = reduced(Filter(part, **capacitors), mode, f)
        return np.array([circuit.loss(each) for each in ends])

    spread = source.spread(work)
    for i, (each, dB) in enumerate(zip(ends, work(source.part), strict=True)):
        yield Loss(mode, each, dB, None if spread is None else spread[i])


def _corners(
    source: ModeSource,
    terminations: Mapping[Mode, Sequence[Termination]],
    capacitors: Mapping[str, Capacitor],
) -> list[Corner]:
    if source.inductance is None:
        return []
    of = dict(zip(Mode, source.inductance, strict=True))
    found = []
    for mode in terminations:
        C = _across(mode, capacitors)
        if C and of[mode] > 0:
            found.append(Corner(words.MODES_RESONANCE[mode], float(corners.resonance(of[mode], C))))
        elif of[mode] > 0 and not capacitors:
            found.append(Corner(words.CHOKE_CORNER[mode], float(corners.choke_corner(of[mode], 50.0, 50.0))))
    return found


def _across(mode: Mode, capacitors: Mapping[str, Capacitor]) -> float:
    """Capacitance that rings with the choke, in F, if it is all on one side; 0 for none or on both."""
    sides = []
    for side in ("source", "load"):
        x, y = (c.C if (c := capacitors.get(f"{kind}_{side}")) else 0.0 for kind in "xy")
        sides.append(2 * y if mode is Mode.COMMON else x + y / 2)
    return 0.0 if all(sides) else sum(sides)


def capacitor(given: "str | Capacitor | None") -> Capacitor | None:
    """A capacitor from text such as `4.7 nF`, or as it is; EntryError for anything else."""
    if given is None or isinstance(given, Capacitor):
        return given
    if not isinstance(given, str):
        raise EntryError(f"{given} is no capacitor; write it with its unit, such as '4.7 nF'.", str(given))
    return Capacitor(quantity.parse(given, "capacitance").value)
