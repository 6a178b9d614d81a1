"""From what was measured to the part's impedance: out of scattering parameters, and without the fixture.

Three hook-ups, references R1 and R2 of the ports in Ω:

    reflection       the part from port 1 to ground        Z = R1 (1 + S11)/(1 - S11)
    series-through   the part from port 1 to port 2        Z = 2√(R1 R2)/S21 - R1 - R2
    shunt-through    the part from the through to ground   Z = R1 R2 S21/(2√(R1 R2) - (R1 + R2) S21)

With 50 Ω at both ports the last two are 100 (1 - S21)/S21 and 25 S21/(1 - S21). All suppose an ideal fixture.

Two models of a fixture, with Zo and Zs what is measured with the fixture open and shorted:

    ladder      a series impedance, then an admittance across the part: Zs in series, 1/(Zo - Zs) across
                Z = (Zm - Zs)/(1 - (Zm - Zs)/(Zo - Zs))
    symmetric   a two-port that looks the same from both sides
                Z = Zo (Zs - Zm)/(Zm - Zo)

They differ by the factor Zo/(Zo - Zs). With a load of known impedance no model is needed:

    load        Z = Zref (Zo - Zl)(Zm - Zs)/((Zl - Zs)(Zo - Zm)), Zl the load as measured

Source: the definition of S for power waves at real references, and the chain matrix of a two-port.
"""

from collections.abc import Callable
from typing import Literal

import numpy as np

from labkit.arrays import Complexes
from labkit.errors import SweepError
from labkit.sweeps.sweep import Impedance, Scattering, hertz
from labkit.words import sweeps as words

SAME = 1e-9
"""How far two files may differ in a frequency, relative: what their units and rounding can explain."""

Model = Literal["ladder", "symmetric"]


def from_reflection(measured: Scattering) -> Impedance:
    """Impedance of a part between port 1 and ground, from the reflection of a one-port file.

    Raises
    ------
    SweepError
        if there is more than one port, or where a reflection of exactly 1 leaves no finite impedance.
    """
    _require_ports(measured, 1, "reflection")
    S11, R = measured.S[:, 0, 0], measured.reference[0]
    return _impedance(measured, R * (1 + S11), 1 - S11)


def from_series_through(measured: Scattering, *, ground: bool = True) -> Impedance:
    """Impedance of a part between port 1 and port 2, from a two-port file.

    Parameters
    ----------
    measured : two ports
    ground : True for a part that touches nothing but the two ports, so that S21 alone tells; False takes
        out whatever leads from either port to ground: Z = -1/Y21 of the whole two-port

    Raises
    ------
    SweepError
        if there are not two ports, or where nothing passes, which leaves no finite impedance.
    """
    _require_ports(measured, 2, "series-through")
    S, (R1, R2) = measured.S, measured.reference
    S21 = S[:, 1, 0]
    root = np.sqrt(R1 * R2)
    if ground:
        return _impedance(measured, 2 * root - (R1 + R2) * S21, S21)
    determinant = (1 + S[:, 0, 0]) * (1 + S[:, 1, 1]) - S[:, 0, 1] * S21
    return _impedance(measured, root * determinant, 2 * S21)


def from_shunt_through(measured: Scattering) -> Impedance:
    """Impedance of a part from the through line to ground, from S21 of a two-port file.

    Raises
    ------
    SweepError
        if there are not two ports, or where everything passes, which leaves no finite impedance.
    """
    _require_ports(measured, 2, "shunt-through")
    S21, (R1, R2) = measured.S[:, 1, 0], measured.reference
    return _impedance(measured, R1 * R2 * S21, 2 * np.sqrt(R1 * R2) - (R1 + R2) * S21)


HOOK_UPS: dict[str, Callable[[Scattering], Impedance]] = {
    "reflection": from_reflection,
    "series-through": from_series_through,
    "shunt-through": from_shunt_through,
}
"""Impedance from scattering parameters by the name of the hook-up."""


def open_short(measured: Impedance, open_: Impedance, short: Impedance, model: Model) -> Impedance:
    """The part's impedance without the fixture, by the model named.

    Parameters
    ----------
    measured, open_, short : the part in the fixture, the open fixture, the shorted fixture
        at the same frequencies; nothing is interpolated.
    model : "ladder" or "symmetric", see the top of this module

    Raises
    ------
    SweepError
        if the model is none of the two, if a correction was measured at another frequency (the sentence
        names the first), or where the part cannot be told from the open fixture.
    """
    if model not in ("ladder", "symmetric"):
        raise SweepError(words.MODEL.format(given=model))
    _require_same(measured, open_, words.OPEN)
    _require_same(measured, short, words.SHORT)
    Zm, Zo, Zs = measured.Z, open_.Z, short.Z
    gap = Zo - Zs if model == "ladder" else Zo
    return _impedance(measured, (Zm - Zs) * gap, Zo - Zm)


def open_short_load(
    measured: Impedance, open_: Impedance, short: Impedance, load: Impedance, reference: Impedance
) -> Impedance:
    """The part's impedance without the fixture, whatever linear two-port that is, by means of a known load.

    Parameters
    ----------
    measured, open_, short, load : the part, nothing, a short and the load in the fixture
    reference : the load's known impedance
        all at the same frequencies.

    Raises
    ------
    SweepError
        as for `open_short`.
    """
    for other, name in (
        (open_, words.OPEN),
        (short, words.SHORT),
        (load, words.LOAD),
        (reference, words.LOAD_REFERENCE),
    ):
        _require_same(measured, other, name)
    Zm, Zo, Zs, Zl = measured.Z, open_.Z, short.Z, load.Z
    return _impedance(measured, reference.Z * (Zo - Zl) * (Zm - Zs), (Zl - Zs) * (Zo - Zm))


def _impedance(measured: Impedance | Scattering, above: Complexes, below: Complexes) -> Impedance:
    """The quotient as an impedance; refused by its frequency where it is not finite."""
    with np.errstate(all="ignore"):
        Z = above / below
    for index in np.flatnonzero(~np.isfinite(Z))[:1]:
        f = float(measured.frequency[index])
        raise SweepError(
            f"No finite impedance follows at {hertz(f)}: the part cannot be told from an "
            "open or shorted fixture there; leave that point out, or measure it again.",
            frequency=f,
        )
    return Impedance(measured.frequency, Z)


def _require_ports(measured: Scattering, needed: int, hook_up: str) -> None:
    if measured.ports != needed:
        raise SweepError(
            f"A {hook_up} measurement has ports: {needed}, but the file has {measured.ports}; "
            "check the file or the hook-up."
        )


def _require_same(measured: Impedance, correction: Impedance, name: str) -> None:
    """Both at the same frequencies: interpolating a correction would invent data."""
    f, g = measured.frequency, correction.frequency
    both = min(len(f), len(g))
    apart = np.flatnonzero(np.abs(f[:both] - g[:both]) > SAME * f[:both])
    if len(apart):
        at, there = float(f[apart[0]]), float(g[apart[0]])
        facts = {"point": apart[0] + 1, "frequency": hertz(at), "given": hertz(there)}
        raise SweepError(words.OTHER_FREQUENCY.format(name=name, **facts), frequency=at)
    if len(f) != len(g):
        at = float((f if len(f) > len(g) else g)[both])
        facts = {"first": hertz(at), "count": len(f), "given": len(g)}
        raise SweepError(words.OTHER_LENGTH.format(name=name, **facts), frequency=at)
