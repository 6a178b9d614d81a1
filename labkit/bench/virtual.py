"""A bench without a bench: a known pair, a meter with a card, a seed, and mistakes if wanted.

Demo records, tests, practice benches and simulation studies all come from here, so that the truth behind the
readings is known. Every error is drawn once for each named component of the card (`Card.terms`): readings on
one range share their gain, repeats share their digits, and the order of the readings changes nothing.
"""

import math
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from labkit import quantity
from labkit.bench.card import Card, Gain, Range
from labkit.errors import CardError
from labkit.theory.circuit import series_inductance
from labkit.theory.network import Matrix, input_impedance, input_inductance
from labkit.theory.wiring import Wiring
from labkit.words import card as words


@dataclass(frozen=True)
class BuiltInstead:
    """A mistake: wherever `intended` should have been built, `built` was."""

    intended: str
    built: str


@dataclass(frozen=True)
class PrefixSlip:
    """A mistake: the reading at this wiring is written down with its prefix 10^`exponent` off (-3, 3, 6)."""

    wiring: str
    exponent: int = 3


Fault = BuiltInstead | PrefixSlip


@dataclass(frozen=True)
class VirtualBench:
    """What a meter would show of known windings.

    Parameters
    ----------
    L : inductance matrix in H, currents from end a to end b of each winding
    card : the meter's card; its limits bound the errors
    seed : all draws come from it
    frequency : test frequency as shown
    gain : "shared" draws one gain a range, "independent" one a wiring
    scatter : largest random part of one reading, in counts of the display; it is new for each repeat
    lead_inductance : in H, in series with every wiring
    R, C : winding resistances (Ω) and self-capacitances (F), None for ideal windings
    faults : mistakes to make
    """

    L: Matrix
    card: Card
    seed: int
    frequency: str = "10 kHz"
    gain: Gain = "shared"
    scatter: float = 0.0
    lead_inductance: float = 0.0
    R: Sequence[float] | None = None
    C: Sequence[float] | None = None
    faults: Sequence[Fault] = field(default=())

    def true_inductance(self, wiring: str) -> float:
        """Series-equivalent inductance of what was really built, leads included, in H."""
        built = self._built(wiring)
        if self.R is None and self.C is None:
            return float(input_inductance(self.L, built, self.lead_inductance))
        f = quantity.parse(self.frequency, "frequency").value
        Z = input_impedance(self.L, built, f, self.R, self.C, 2j * math.pi * f * self.lead_inductance)
        return float(series_inductance(Z, f))

    def shown(self, wiring: str, repeat: int = 1) -> str:
        """What is written down for a wiring: the display with its errors, rounding and slips.

        Raises
        ------
        CardError
            if the meter has no range for it (an open circuit, say).
        """
        true = self.true_inductance(wiring)
        on = self._range(true)
        indicated = true * (1 + on.percent / 100 * self._error("gain", self._scope(on, wiring)))
        indicated += on.digits * on.count * self._error("digits", self._key(wiring))
        indicated += self.scatter * on.count * self._error("repeat", f"{self._key(wiring)} #{repeat}")
        return self._written(on, indicated, wiring)

    def _built(self, wiring: str) -> Wiring:
        for fault in self.faults:
            if isinstance(fault, BuiltInstead) and self._same(fault.intended, wiring):
                return Wiring.parse(fault.built)
        return Wiring.parse(wiring)

    def _same(self, one: str, other: str) -> bool:
        windings = len(self.L)
        return Wiring.parse(one).canonical(windings) == Wiring.parse(other).canonical(windings)

    def _key(self, wiring: str) -> str:
        return Wiring.parse(wiring).canonical(len(self.L)).notation

    def _scope(self, on: Range, wiring: str) -> str:
        return on.name if self.gain == "shared" else self._key(wiring)

    def _error(self, label: str, scope: str) -> float:
        """One draw from -1 to 1 that belongs to this label and scope, whatever was drawn before."""
        rng = np.random.default_rng([self.seed, zlib.crc32(f"{label} {scope}".encode())])
        return float(rng.uniform(-1, 1))

    def _range(self, value: float) -> Range:
        at = quantity.parse(self.frequency, "frequency")
        fitting = [
            r
            for r in self.card.ranges
            if r.quantity == "inductance" and r.serves(at.value) and self._most(r, value) <= r.full_scale
        ]
        if not fitting:
            shown = quantity.display(value)
            covered = ", ".join(r.name for r in self.card.ranges)
            raise CardError(
                words.NO_RANGE.format(
                    card=self.card.id, shown=shown, frequency=self.frequency, covered=covered
                )
            )
        return min(fitting, key=lambda r: r.full_scale)

    def _most(self, on: Range, value: float) -> float:
        """The largest indication that the errors allow."""
        return abs(value) + on.limit(value) + self.scatter * on.count

    def _written(self, on: Range, indicated: float, wiring: str) -> str:
        shown = on.display(indicated)
        unit = shown.unit
        for fault in self.faults:
            if isinstance(fault, PrefixSlip) and self._same(fault.wiring, wiring):
                unit = _slipped(unit, fault.exponent)
        return f"{shown.digits} {unit}"


def _slipped(unit: str, exponent: int) -> str:
    units = quantity.accepted_units("inductance")
    return units[units.index(unit) + exponent // 3]
