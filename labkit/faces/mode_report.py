"""Common and differential mode, and insertion loss, as results that show themselves."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from itertools import chain

import numpy as np
import numpy.typing as npt

from labkit import quantity
from labkit.arrays import Floats
from labkit.choke.mode_results import (
    MARKED,
    PLACES,
    Loss,
    LossNumbers,
    ModeNumbers,
    ModeSource,
    capacitor,
    loss_numbers,
    mode_numbers,
    source_of,
)
from labkit.errors import EntryError
from labkit.faces.curves import Curve, Line, Scale, chart, hertz
from labkit.faces.schematic import draw
from labkit.record.bench import Bench
from labkit.show import Heading, Part, Picture, Shown, Table, Text
from labkit.theory.choke import Choke
from labkit.theory.insertion import (
    CISPR_17,
    NETWORK_RESISTANCE,
    Capacitor,
    Termination,
    against_network,
    nominal_network,
)
from labkit.theory.modes import Mode, Worst, mode_called
from labkit.theory.modes import Part as CircuitPart
from labkit.theory.pair import Pair
from labkit.words import choke as words
from labkit.words import pictures as schematic_words

Given = Bench | Pair | Choke | CircuitPart | ModeSource
ROUNDING = 1e-6  # what the digits of a file leave over
LINES = (Line(150e3, words.LINE_150),)


@dataclass(frozen=True, eq=False)
class Modes(Shown):
    """Impedance in both modes; `numbers` holds frequency, impedances and checks."""

    numbers: ModeNumbers
    size: str = "page"

    def parts(self) -> tuple[Part, ...]:
        source = self.numbers.source
        about = self._resistance() if source.part.windings == 2 else words.THREE_LINES
        notes = [Text(note, "note") for note in (*source.notes, about)]
        return (
            Heading(words.MODES_TITLE),
            self._table(),
            *self._checks(),
            *notes,
            *chain.from_iterable(self._drawn()),
            self.picture(),
        )

    def picture(self) -> Picture:
        """|Z| in both modes against frequency."""
        n = self.numbers
        scale = Scale(words.IMPEDANCE_AXIS, "Ω")
        found = [_curve(str(mode), n.frequency, np.abs(n.impedances[mode]), n.spreads[mode]) for mode in Mode]
        invented = n.source.invented
        return chart(words.IMPEDANCE_CHART, scale, found, lines=LINES, invented=invented, size=self.size)

    def drawing(self, mode: Mode | str) -> Picture:
        """What is clamped to what in a mode, with a source between the clips."""
        wiring, part = self.numbers.wirings[mode_called(mode)], self.numbers.source.part
        return draw(wiring, part.dots, part.windings, measured=schematic_words.SOURCE, size=self.size)

    def _drawn(self) -> Iterator[tuple[Part, Part]]:
        for mode, wiring in self.numbers.wirings.items():
            said = words.DRIVEN.format(mode=mode.capitalize(), wiring=wiring.spoken)
            yield Text(said), self.drawing(mode)

    def _table(self) -> Table:
        n = self.numbers
        at = _places(n.frequency)
        columns = words.MODES_HEADER[: 3 if n.source.inductance else 2]
        header = (*columns, *(words.AT.format(frequency=hertz(n.frequency[i])) for i in at))
        rows = []
        for mode in Mode:
            Z, u = np.abs(n.impedances[mode]), n.spreads[mode]
            values = [_shown(Z[i], None if u is None else u[i], "Ω") for i in at]
            rows.append((str(mode), n.wirings[mode].spoken, *self._inductance(mode), *values))
        return Table(header, tuple(rows))

    def _inductance(self, mode: Mode) -> list[str]:
        """At low frequency; of a lossless part its uncertainty is in proportion to that of |Z|."""
        n = self.numbers
        if n.source.inductance is None:
            return []
        value = dict(zip(Mode, n.source.inductance, strict=True))[mode]
        u, Z = n.spreads[mode], abs(n.impedances[mode][0])
        return [_shown(value, None if u is None or not Z else value * u[0] / Z, "H")]

    def _resistance(self) -> str:
        corner = self.numbers.resistance_corner
        if corner is None or corner == 0:
            return words.NO_RESISTANCE
        return words.RESISTANCE_CORNER.format(corner=hertz(corner), ten=hertz(10 * corner))

    def _checks(self) -> tuple[Part, ...]:
        n = self.numbers
        if n.gain is None or n.asymmetry is None or n.conversion is None:
            return ()
        assert n.asymmetry.ports is not None
        i, j = (port + 1 for port in n.asymmetry.ports)
        share, f = n.conversion
        rows = (
            (words.MODES_PASSIVE, *_checked(n.gain, words.GAINS, (1 + n.source.accuracy) ** 2 - 1)),
            (
                words.MODES_RECIPROCAL.format(i=i, j=j),
                *_checked(n.asymmetry, words.ASYMMETRIC, 2 * n.source.accuracy),
            ),
            (words.CONVERSION, _two(share), hertz(f), words.CONVERTS),
        )
        return (Table(words.MODES_CHECKS_HEADER, rows, words.MODES_CHECKS_TITLE),)


def _checked(found: Worst, trouble: str, allowed: float) -> tuple[str, str, str]:
    """What a check found; what the stated accuracy allows is no trouble."""
    says = trouble if found.amount > ROUNDING + allowed else words.HOLDS
    return _two(found.amount), hertz(found.frequency), says


def modes(
    given: Given, *, of: str | None = None, frequency: npt.ArrayLike | None = None, size: str = "page"
) -> Modes:
    """Common-mode and differential-mode impedance, with the terminal tying drawn.

    Parameters
    ----------
    given : a bench, a Pair, a Choke, or a Part from impedances or scattering parameters
    of : of a bench, the id of a four-port sweep, or `readings`; needed only where it has several
    frequency : in Hz; None for 9 kHz to 30 MHz, to 1 MHz for inductances alone, and for measured data all
    size : `page`, or `projector` for letters that can be read from the last row

    Raises
    ------
    EntryError, MissingReading, PassivityError
    """
    return Modes(mode_numbers(source_of(given, of), frequency), size)


@dataclass(frozen=True, eq=False)
class InsertionLoss(Shown):
    """Insertion loss in one mode or both; `numbers` holds frequency, losses and corners."""

    numbers: LossNumbers
    size: str = "page"

    def parts(self) -> tuple[Part, ...]:
        n = self.numbers
        caution = [Text(words.LINE_CAUTION, "caution")] * n.filter.has_capacitors
        usual = any(each.termination in CISPR_17[1:] for each in n.losses)
        flat = [words.FLAT] * (usual and not n.filter.has_capacitors)
        notes = [Text(note, "note") for note in (words.CIRCUIT, *flat, *n.source.notes)]
        pictures = [self.picture(mode) for mode in self._modes()]
        return (
            Heading(words.LOSS_TITLE),
            Text(self._built()),
            *caution,
            self._table(),
            *self._corners(),
            *notes,
            *pictures,
        )

    def picture(self, mode: Mode | str) -> Picture:
        """Insertion loss in a mode against frequency, between every source and load."""
        wanted, n = mode_called(mode), self.numbers
        found = [
            _curve(each.termination.name, n.frequency, each.dB, each.spread)
            for each in n.losses
            if each.mode is wanted
        ]
        return chart(
            words.LOSS_CHART.format(mode=wanted),
            Scale(words.LOSS_AXIS, "dB", "linear"),
            found,
            lines=LINES,
            notes=[self._built()],
            invented=n.source.invented,
            size=self.size,
        )

    def _modes(self) -> list[Mode]:
        return list(dict.fromkeys(each.mode for each in self.numbers.losses))

    def _table(self) -> Table:
        n = self.numbers
        at = _places(n.frequency)
        header = (*words.LOSS_HEADER, *(hertz(n.frequency[i]) for i in at))
        return Table(header, tuple((str(x.mode), x.termination.name, *_losses(x, at)) for x in n.losses))

    def _corners(self) -> tuple[Part, ...]:
        rows = tuple((corner.what, hertz(corner.frequency)) for corner in self.numbers.corners)
        return (Table(words.CORNERS_HEADER, rows, words.CORNERS_TITLE),) if rows else ()

    def _built(self) -> str:
        filter = self.numbers.filter
        found = [
            (field.name, getattr(filter, field.name)) for field in fields(filter) if field.name in PLACES
        ]
        said = [words.CAPACITOR_AT[place].format(C=_spoken(c)) for place, c in found if c]
        return words.WITH.format(capacitors=", ".join(said)) if said else words.ALONE


def insertion_loss(
    given: Given,
    mode: Mode | str | None = None,
    *,
    x_source: str | Capacitor | None = None,
    x_load: str | Capacitor | None = None,
    y_source: str | Capacitor | None = None,
    y_load: str | Capacitor | None = None,
    terminations: Sequence[Termination] | str | None = None,
    of: str | None = None,
    frequency: npt.ArrayLike | None = None,
    size: str = "page",
) -> InsertionLoss:
    """Insertion loss of a choke, alone or with X- and Y-capacitors where you put them.

    Parameters
    ----------
    given : a bench, a Pair, a Choke, or a Part from impedances or scattering parameters
    mode : "common mode" or "differential mode"; None for both
    x_source, x_load : capacitor from line to line on either side of the choke, such as "0.47 µF"
    y_source, y_load : one such capacitor from each line to ground
    terminations : what stands at either side; None for 50/50, 0.1/100, 100/0.1 Ω and the artificial network
        as a resistance; `network` for that network as a resistance, as 50 Ω ∥ 50 µH, and with its 5 Ω
    of, frequency, size : as for `modes`

    Raises
    ------
    EntryError, MissingReading, PassivityError
    """
    placed = dict(zip(PLACES, map(capacitor, (x_source, x_load, y_source, y_load)), strict=True))
    chosen = list(Mode) if mode is None else [mode_called(mode)]
    ends = {m: _terminations(m, terminations) for m in chosen}
    present = {place: c for place, c in placed.items() if c}
    return InsertionLoss(loss_numbers(source_of(given, of), ends, present, frequency), size)


def _terminations(mode: Mode, given: Sequence[Termination] | str | None) -> Sequence[Termination]:
    nominal, source = nominal_network(mode), NETWORK_RESISTANCE[mode]
    if given is None:
        return (*CISPR_17, nominal)
    if not isinstance(given, str):
        return given
    if given != words.NETWORK_NAME:
        raise EntryError(
            f"'{given}' does not say what stands at either side; write "
            "terminations='network' for the artificial network, give a list of Termination, "
            "or leave it out.",
            given,
        )
    return nominal, against_network(mode, source), against_network(mode, source, 5.0)


def _places(frequency: Floats) -> list[int]:
    """Where the marked frequencies stand, or the nearest to each; each once, none far from its mark."""
    inside = [f for f in MARKED if frequency[0] / 1.05 <= f <= frequency[-1] * 1.05]
    near: Iterable[int] = (int(np.abs(np.log(frequency / f)).argmin()) for f in inside)
    ends = (0, len(frequency) - 1)
    return list(dict.fromkeys(near)) or list(dict.fromkeys(ends))


def _curve(label: str, f: Floats, value: Floats, u: Floats | None) -> Curve:
    if u is None:
        return Curve(label, f, value)
    return Curve(label, f, value, value - 2 * u, value + 2 * u)


def _shown(value: float, u: float | None, unit: str) -> str:
    return quantity.display(float(value), None if u is None else float(u), unit=unit)


def _losses(loss: Loss, at: Sequence[int]) -> list[str]:
    u = loss.spread
    return [
        f"{loss.dB[i]:.2f} dB".replace("-", "−") if u is None else _shown(loss.dB[i], u[i], "dB") for i in at
    ]


def _spoken(c: Capacitor) -> str:
    C = _three(c.C, "F")
    facts: Mapping[str, str] = {"R": _three(c.R, "Ω"), "L": _three(c.L, "H")}
    return words.PARASITIC.format(C=C, **facts) if c.R or c.L else C


def _two(value: float) -> str:
    return quantity.display(value, unit="", significant_digits=2)


def _three(value: float, unit: str) -> str:
    return quantity.display(value, unit=unit, significant_digits=3)
