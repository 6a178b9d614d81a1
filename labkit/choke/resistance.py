"""Where winding resistance rules: both windings side by side, against lossless and against lossy theory.

The loop of two windings side by side has the impedance z_B = R1 + R2 + jωB. Below f_c = (R1 + R2)/(2πB) its
resistance limits the current that goes around, and the mismatch term d²/(4B) of

    P+ = m - B/4 - d²/(4B)      becomes      Im[z_m - z_B/4 - z_d²/(4 z_B)]/ω,

so that for R1 = R2 it shows with weight x²/(1 + x²), x = f/f_c: 1 % at f_c/10, half at f_c, 99 % at 10 f_c.

Symbols: m = (L1 + L2)/2, d = L1 - L2, B as in `labkit.theory.pair`; z_m, z_B, z_d the same of impedances.
Source: two coupled windings in parallel; `labkit.theory.lossy_pair` for weight and corner.
"""

from dataclasses import dataclass

import numpy as np

from labkit.arrays import Complexes, Floats
from labkit.choke.spectra import Curve, Function, Swept, Together, inductance, together
from labkit.choke.swept import Pair, Spectra
from labkit.theory.lossy_pair import mismatch_weight, resistance_corner
from labkit.theory.wiring import Connection
from labkit.words import choke as words

MARKS = (0.1, 0.5, 1.0, 2.0, 10.0)
"""Parts of the corner frequency at which the weight is told."""
RESOLVED = 0.25
"""Standard uncertainty of a weight above which a table or chart of weights would show nothing."""


@dataclass(frozen=True, eq=False)
class Resistance:
    """Two windings side by side, as swept and as computed with and without resistance.

    Attributes
    ----------
    windings : their numbers
    common : the sweeps of winding 1, winding 2, series-opposing and parallel-aiding
    corner : f_c in Hz
    measured, lossless, lossy : inductance of both side by side, (F,), in H
    weight : of the mismatch term as swept, with its uncertainty; `expected` is x²/(1 + x²), without
    """

    windings: Pair
    common: Together
    corner: float
    measured: Curve
    lossless: Curve
    lossy: Curve
    weight: Curve

    @property
    def expected(self) -> Floats:
        """x²/(1 + x²), (F,)."""
        return np.asarray(mismatch_weight(self.weight.frequency, self.corner))

    @property
    def E_n_lossless(self) -> Floats | None:
        """Swept minus lossless over its expanded uncertainty, (F,); None without a stated accuracy."""
        return self._E_n(_lossless)

    @property
    def E_n_lossy(self) -> Floats | None:
        """Swept minus lossy over its expanded uncertainty, (F,); None without a stated accuracy."""
        return self._E_n(_lossy)

    def _E_n(self, theory: Function) -> Floats | None:
        off, u = self.common.with_uncertainty(lambda w, *Z: inductance(w, Z[3]) - theory(w, *Z))
        return None if u is None else off / (2 * u)

    @property
    def lossless_from(self) -> float | None:
        """Lowest frequency in Hz from which on the lossless formula fits up to 30 f_c; None if unknown."""
        if self.E_n_lossless is None:
            return None
        f = self.measured.frequency
        near = f <= 30 * self.corner
        bad = np.flatnonzero(near & ~(np.abs(self.E_n_lossless) <= 1))
        first = int(bad[-1]) + 1 if len(bad) else 0
        return float(f[first]) if first < len(f) and near[first] else None


def _lossless(w: Floats, Z1: Complexes, Z2: Complexes, z: Complexes, _: Complexes) -> Floats:
    d, B = inductance(w, Z1 - Z2), inductance(w, z)
    return inductance(w, Z1 + Z2) / 2 - B / 4 - d**2 / (4 * B)


def _lossy(w: Floats, Z1: Complexes, Z2: Complexes, z: Complexes, _: Complexes) -> Floats:
    return inductance(w, (Z1 + Z2) / 2 - z / 4 - (Z1 - Z2) ** 2 / (4 * z))


def _weight(w: Floats, Z1: Complexes, Z2: Complexes, z: Complexes, P: Complexes) -> Floats:
    d, B = inductance(w, Z1 - Z2), inductance(w, z)
    return (inductance(w, Z1 + Z2) / 2 - B / 4 - inductance(w, P)) * 4 * B / d**2


def resistance(spectra: Spectra) -> tuple[Resistance, ...]:
    """Each two windings that were swept alone, in series-opposing and side by side."""
    return tuple(found for pair in spectra.pairs if (found := _of_pair(spectra, pair)))


def _of_pair(spectra: Spectra, pair: Pair) -> Resistance | None:
    joint = spectra.joint[pair]
    opposing, side = joint.get(Connection.SERIES_OPPOSING), joint.get(Connection.PARALLEL_AIDING)
    if opposing is None or side is None:
        return None
    common = together(*(spectra.singles[n] for n in pair), opposing, side)
    if not len(common.frequency) or common.Z[2][0].real <= 0 or common.Z[2][0].imag <= 0:
        return None
    corner = loop_corner(opposing).value
    key = f"{pair[0]}_{pair[1]}"
    return Resistance(
        pair,
        common,
        corner,
        common.curve(
            f"parallel_aiding_{key}", "H", words.RESISTANCE_MEASURED, lambda w, *Z: inductance(w, Z[3])
        ),
        common.curve(f"parallel_aiding_{key}_lossless", "H", words.RESISTANCE_LOSSLESS, _lossless),
        common.curve(f"parallel_aiding_{key}_lossy", "H", words.LOSSY, _lossy),
        common.curve(f"mismatch_weight_{key}", "", words.WEIGHT, _weight),
    )


@dataclass(frozen=True)
class Corner:
    """f_c in Hz with its standard uncertainty, None if no accuracy is stated, and where it was read off."""

    value: float
    u: float | None
    frequency: float


def loop_corner(opposing: Swept) -> Corner:
    """f_c = f Re z/Im z of the loop, at the swept frequency where resistance and reactance are most alike.

    There it is known best: at much lower frequency B drowns in R, at much higher R in B.
    """
    one = together(opposing)
    z = one.Z[0]
    with np.errstate(all="ignore"):
        apart = np.abs(np.log(np.where((z.real > 0) & (z.imag > 0), z.imag / z.real, np.nan)))
    place = int(np.nanargmin(apart)) if np.isfinite(apart).any() else 0
    value, u = one.with_uncertainty(lambda w, Z: resistance_corner(Z.real, 0.0, Z.imag / w))
    spread = None if u is None else float(u[place])
    return Corner(float(value[place]), spread, float(one.frequency[place]))


def at_marks(found: Resistance) -> tuple[tuple[float, int], ...]:
    """Marks that were swept within 15 %, each with the place of the frequency next to it."""
    f = found.measured.frequency
    places = ((mark, int(np.argmin(np.abs(np.log(f / (mark * found.corner)))))) for mark in MARKS)
    return tuple((m, i) for m, i in places if abs(np.log(f[i] / (m * found.corner))) < 0.14)
