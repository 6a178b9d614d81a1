"""Impedance in both modes, insertion loss, corners and checks of one source, as numbers with their spread."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from labkit import quantity
from labkit.analysis.mode_source import ModeSource, Work
from labkit.errors import EntryError
from labkit.theory import corners
from labkit.theory.insertion import Capacitor, Filter, Termination, reduced
from labkit.theory.mixed_mode import MixedMode, Worst, mixed_mode, passivity, reciprocity, renormalised
from labkit.theory.modes import Complexes, Floats, Mode, Part, far_ends, tying
from labkit.theory.wiring import Wiring
from labkit.words import modes as words

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
            found.append(Corner(words.RESONANCE[mode], float(corners.resonance(of[mode], C))))
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
        raise EntryError(words.CAPACITOR_TEXT.format(given=given), str(given))
    return Capacitor(quantity.parse(given, "capacitance").value)
