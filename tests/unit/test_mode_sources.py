"""Common and differential mode from sweeps as tied, from singles and pairs, and from a four-port file."""

from typing import Any

import numpy as np
import pytest

from labkit.choke.findings import four_ports
from labkit.choke.mode_curves import FourPort, Modes, Source
from labkit.choke.spectra import Swept
from labkit.choke.swept import Spectra
from labkit.sweeps.sweep import Impedance, Scattering
from labkit.theory.choke import Choke
from labkit.theory.insertion import series_loss
from labkit.theory.modes import Mode
from labkit.theory.wiring import Wiring, parse_dots

F = np.geomspace(1e3, 30e6, 50)
PORTS = ("1a", "2a", "1b", "2b")


def choke(windings: int, between: float = 0.0) -> Choke:
    """An invented choke, no two windings alike, every second one turned round."""
    each = np.arange(1, windings + 1)
    return Choke(
        R=0.1 * each,
        leakage=10e-6 * each,
        core=4e-3,
        turns=[(1 - 0.01 * n) * (-1) ** n for n in range(windings)],
        relaxation=1e6,
        C=5e-12 * each,
        between=np.full(windings - 1, between),
    )


def spectra(part: Choke, wirings: list[str], dots: str | None) -> Spectra:
    """Exact sweeps, accuracy stated."""
    found = tuple(
        Swept(f"s{k}", Wiring.parse(w), Impedance(F, part.impedance(w, F)), 0.005)
        for k, w in enumerate(wirings)
    )
    return Spectra(found, part.windings, parse_dots(dots, part.windings) if dots else None)


def four(part: Choke, S: Any = None, accuracy: float | None = None) -> FourPort:
    """A four-port file of the choke, or other parameters in its place."""
    values = part.scattering(F, PORTS) if S is None else S
    return FourPort("four", PORTS, Scattering(F, values, np.full(4, 50.0)), 7, accuracy)


TWO = ["1a 1b", "2a 2b", "1a 2b | 1b=2a", "1a 1b | 1a=2b 1b=2a"]
"""Singles, series-opposing and side by side with the dots on one node, for dots at 1a and 2b."""
THREE = ["1a 1b", "2a 2b", "3a 3b", "1a 2b | 1b=2a", "1a 3a | 1b=3b", "2b 3a | 2a=3b"]


def best(modes: Modes, mode: Mode, lines: tuple[int, int] | None = None, kind: str = "") -> Source:
    """The source of a kind, the one to be believed first if none is named."""
    (found, *_) = [s for s in modes.sources if s.mode is mode and s.lines == lines and kind in s.kind]
    return found


def test_common_mode_computed_is_that_swept_for_two_and_three_windings() -> None:
    """Without capacitance between the windings they are the same at every frequency, dots anywhere."""
    two = Modes(spectra(choke(2), TWO, "1a 2b"))
    swept, computed = (best(two, Mode.COMMON, kind=kind) for kind in ("measured", "computed"))
    assert np.allclose(swept.impedance, computed.impedance, rtol=1e-9)
    three = choke(3)
    tied = three.impedance("1a 1b | 1a=2b=3a 1b=2a=3b", F)
    only = best(Modes(spectra(three, THREE, "1a 2b 3a")), Mode.COMMON)
    assert only.kind == "computed"
    assert np.allclose(only.impedance, tied, rtol=1e-9)


def test_the_closure_is_small_on_sound_sweeps_and_large_on_a_wrong_one() -> None:
    """|E_n| stays below 1e-6; with the tie of one winding off it exceeds 1 somewhere."""
    sound = Modes(spectra(choke(2), TWO, "1a 2b")).closure
    assert sound is not None
    assert sound[3] is not None
    low = F < 1e5
    assert np.abs(sound[3][low]).max() < 1e-6
    found = spectra(choke(2), TWO, "1a 2b")
    wrong = Swept("s3", found.sweeps[3].wiring, Impedance(F, 1.01 * found.sweeps[3].impedance.Z), 0.001)
    off = Modes(Spectra((*found.sweeps[:3], wrong), 2, found.dots)).closure
    assert off is not None
    assert off[3] is not None
    assert np.abs(off[3][low]).max() > 1


def test_a_four_port_tells_both_modes_capacitance_between_windings_included() -> None:
    """Common and differential impedance from S are those at the clips of the tied choke."""
    part = choke(2, between=8e-12)
    modes = Modes(Spectra((), 2, parse_dots("1a 2b")), (four(part),))
    for mode, lines, wiring in (
        (Mode.COMMON, None, "1a 1b | 1a=2b 1b=2a"),
        (Mode.DIFFERENTIAL, (1, 2), "1a 2b | 1b=2a"),
    ):
        source = best(modes, mode, lines)
        assert source.kind == "four_port"
        assert np.allclose(source.impedance, part.impedance(wiring, F), rtol=1e-6)


def test_insertion_loss_of_one_impedance_and_of_the_whole_circuit_agree_without_capacitance_between() -> None:
    """For two windings without it the choke is one impedance in series, in common mode exactly."""
    part = choke(2)
    modes = Modes(spectra(part, TWO, "1a 2b"), (four(part),))
    curves = {curve.name: curve for curve in modes.curves}
    one = curves["common_mode_insertion_loss_50_50_measured"]
    whole = curves["common_mode_insertion_loss_50_50_four_port_four"]
    expected = series_loss(part.impedance(TWO[3], F), 50.0, 50.0)
    assert np.allclose(one.value, expected, atol=1e-9)
    assert np.allclose(whole.value, expected, atol=1e-6)
    assert whole.u is None
    assert one.u is not None
    unequal = curves["common_mode_insertion_loss_0p1_100_measured"]
    assert np.allclose(unequal.value, series_loss(part.impedance(TWO[3], F), 0.1, 100.0), atol=1e-9)


def test_mixed_modes_are_named_by_where_the_waves_come_out() -> None:
    """For equal windings Scc21 is the loss between 25 Ω and 25 Ω, sign turned; Sdd21 that at 100 Ω."""
    part = Choke(
        R=(0.1, 0.1), leakage=(1e-5, 1e-5), core=4e-3, turns=(1, -1), C=(5e-12, 5e-12), between=(8e-12,)
    )
    curves = {c.name: c for c in Modes(Spectra((), 2, parse_dots("1a 2b")), (four(part),)).curves}
    loss = curves["common_mode_insertion_loss_25_25_four_port_four"].value
    assert np.allclose(curves["mixed_mode_Scc21_four"].value, -loss, atol=1e-6)
    loss = curves["differential_mode_1_2_insertion_loss_100_100_four_port_four"].value
    assert np.allclose(curves["mixed_mode_Sdd21_four"].value, -loss, atol=1e-6)


def test_without_dots_no_mode_is_told() -> None:
    """Which wiring is common mode depends on them."""
    assert Modes(spectra(choke(2), TWO[:2], None), (four(choke(2)),)).sources == ()


@pytest.mark.parametrize(
    ("gain", "accuracy", "passive"),
    [(1.0, None, True), (1.002, None, False), (1.002, 0.005, True), (1.02, 0.005, False)],
)
def test_passive_is_what_the_stated_accuracy_allows(
    gain: float, accuracy: float | None, passive: bool
) -> None:
    """A gain of 0.2 % is none within 0.5 %, and 2 % is; without a statement only rounding is allowed."""
    found = four(choke(2), gain * choke(2).scattering(F, PORTS), accuracy)
    assert found.passive is passive

    class Found:
        four_ports = (found,)

    said, reciprocal = four_ports(Found())  # type: ignore[arg-type]
    assert said.tone == ("plain" if passive else "caution")
    assert reciprocal.figures["reciprocity_error"].value < 1e-9


def test_the_closure_is_measured_in_expanded_uncertainties() -> None:
    """1 % off, with u = 1 %/√3 of it alone, is E_n = √3/2: a deviation over 2 u."""
    found = spectra(choke(2), TWO, "1a 2b")
    exact = [Swept(s.id, s.wiring, s.impedance, 1e-12) for s in found.sweeps]
    tied = Swept("s3", exact[3].wiring, Impedance(F, 1.01 * exact[3].impedance.Z), 0.01)
    closure = Modes(Spectra((*exact[:3], tied), 2, found.dots)).closure
    assert closure is not None
    assert closure[3] is not None
    assert np.abs(closure[3][F < 1e5]) == pytest.approx(3**0.5 / 2 / 1.01, rel=0.01)
