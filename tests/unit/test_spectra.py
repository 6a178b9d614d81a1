"""Quantities against frequency: the truth of a choke comes back, routes agree, bands are the stated ones."""

from typing import Any

import numpy as np
import pytest

from labkit.choke.spectra import Swept, resonance, together
from labkit.choke.swept import Spectra, as_pair
from labkit.sweeps.sweep import Impedance
from labkit.theory.choke import Choke
from labkit.theory.wiring import Wiring, parse_dots

PART: dict[str, Any] = {
    "R": (0.12, 0.118),
    "leakage": (15e-6, 13e-6),
    "core": 6.8e-3,
    "relaxation": 1.5e6,
    "C": (9e-12, 9e-12),
}
WIRINGS = {
    "one": "1a 1b",
    "two": "2a 2b",
    "forward": "1a 2b | 1b=2a",
    "reversed": "1a 2a | 1b=2b",
    "one-shorted": "1a 1b | 2a=2b",
    "two-shorted": "2a 2b | 1a=1b",
    "side": "1a 1b | 1a=2a 1b=2b",
}
F = np.geomspace(1e3, 30e6, 120)


def sweeps(
    f: np.ndarray = F, accuracy: float | None = 0.005, wirings: dict[str, str] = WIRINGS, **part: Any
) -> tuple[Swept, ...]:
    """Exact sweeps of an invented choke."""
    choke = Choke(**(PART | part))
    return tuple(
        Swept(id, Wiring.parse(w), Impedance(f, choke.impedance(w, f)), accuracy) for id, w in wirings.items()
    )


def replaced(found: tuple[Swept, ...], id: str, by: Impedance, accuracy: float | None = 0.005) -> list[Swept]:
    """The same sweeps, one of them with another impedance."""
    return [Swept(id, s.wiring, by, accuracy) if s.id == id else s for s in found]


def spectra(found: Any, dots: str | None = "1a 2a") -> Spectra:
    """Sweeps of two windings sorted."""
    return Spectra(tuple(found), 2, parse_dots(dots) if dots else None)


def test_low_frequency_values_are_those_of_the_choke() -> None:
    """L, R, M, k and the leakages at 1 kHz are the truth's, the last three by name."""
    found, pair = spectra(sweeps()), Choke(**PART).pair()
    M = (pair.L1 + pair.L2 - pair.B) / 2
    k = M / (pair.L1 * pair.L2) ** 0.5
    expected = {
        "self_inductance_1": pair.L1,
        "mutual_inductance_1_2_from_series_opposing": M,
        "coupling_coefficient_1_2_from_series_opposing": k,
        "leakage_per_winding_1_2_from_series_opposing": (pair.L1 * pair.L2) ** 0.5 * (1 - k),
        "leakage_differential_mode_1_2_from_series_opposing": pair.B,
        "leakage_differential_mode_1_2_from_short_circuit_1": pair.B,
        "leakage_differential_mode_1_2_from_short_circuit_2": pair.B,
        "leakage_differential_mode_1_2_from_series_aiding": pair.B,
        "imbalance_1_2": pair.L1 - pair.L2,
    }
    for name, value in expected.items():
        assert found.curve(name).value[0] == pytest.approx(value, rel=3e-3 if "aiding" in name else 1e-4), (
            name
        )
    assert found.curve("loop_resistance_1_2_from_series_opposing").value[0] == pytest.approx(0.238, rel=1e-4)


def test_leakage_per_winding_of_unequal_windings_is_theirs() -> None:
    """√(L1 L2)(1 - k) with 3 % fewer turns on winding 2 is far from half of B, and is the truth's."""
    unequal = PART | {"turns": (1.0, 0.97)}
    pair = Choke(**unequal).pair()
    M = (pair.L1 + pair.L2 - pair.B) / 2
    found = spectra(sweeps(turns=(1.0, 0.97)))
    value = found.curve("leakage_per_winding_1_2_from_series_opposing").value[0]
    assert value == pytest.approx((pair.L1 * pair.L2) ** 0.5 - M, rel=1e-3)
    assert value < 0.9 * pair.B / 2


def test_short_circuit_leakage_includes_what_winding_resistance_adds() -> None:
    """Predicted from singles and series-opposing it equals the short-circuit sweep at every frequency."""
    found = spectra(sweeps())
    measured = {s.id: s.impedance for s in found.sweeps}["one-shorted"]
    predicted = found.curve("leakage_short_circuit_1_2_from_series_opposing").value
    assert np.allclose(predicted, measured.reactance / measured.omega, rtol=1e-6)


def test_two_routes_agree_on_sound_data() -> None:
    """Loss and capacitance across the windings are in both: |E_n| is far below 1 up to leakage resonance."""
    found = spectra(sweeps()).leakages
    assert len(found) == 8
    assert all(each.agree for each in found)
    exact = [each for each in found if each.name != "leakage_per_winding"]
    low = F < 9e6
    assert max(np.abs(each.E_n[low]).max() for each in exact if each.E_n is not None) < 1e-6
    assert all((each.agreed_up_to or 0) > 9e6 for each in exact)
    assert all(each.shorting_resistance is None for each in found)


def test_a_short_with_resistance_is_found_out_and_sized() -> None:
    """50 mΩ in the short make the loop's resistances disagree, and 50 mΩ is what would explain it."""
    short = Choke(**(PART | {"R": (0.12, 0.168)})).impedance(WIRINGS["one-shorted"], F)
    found = spectra(replaced(sweeps(), "one-shorted", Impedance(F, short))).leakages
    verdicts = {(each.name, each.shorted): each for each in found}
    assert verdicts["loop_resistance", 1].agree is False
    assert verdicts["loop_resistance", 0].agree is True
    assert verdicts["loop_resistance", 1].shorting_resistance == pytest.approx(0.05, rel=1e-3)


def test_a_short_with_resistance_raises_the_inductance_of_a_small_choke() -> None:
    """Where R is not far below ωL2 the excess falls as 1/f², and inductance alone shows it."""
    small = {"core": 80e-6, "leakage": (0.5e-6, 0.5e-6)}
    f = np.geomspace(300.0, 3e6, 80)
    short = Choke(**(PART | small | {"R": (0.12, 0.268)})).impedance(WIRINGS["one-shorted"], f)
    found = spectra(replaced(sweeps(f, **small), "one-shorted", Impedance(f, short))).leakages
    (leakage,) = (e for e in found if (e.name, e.shorted) == ("leakage_short_circuit", 1))
    assert leakage.agree is False
    assert leakage.E_n is not None
    assert leakage.E_n[0] < -1
    assert abs(leakage.E_n[60]) < 0.1


def test_capacitance_between_the_windings_parts_the_routes_only_high_up() -> None:
    """It is in neither route: they agree to a tenth of self-resonance and disagree at the top."""
    found = spectra(sweeps(between=(8e-12,))).leakages
    (B,) = (e for e in found if (e.name, e.shorted) == ("leakage_differential_mode", 1))
    assert B.agree
    assert B.agreed_up_to is not None
    assert 1e6 < B.agreed_up_to < 10e6


def test_bands_are_the_stated_accuracy_and_nothing_else() -> None:
    """At high Q, L and R have the stated part of |Z| over √3; without a statement there is no band."""
    found = spectra(sweeps(accuracy=0.01))
    L, R = found.curve("self_inductance_1"), found.curve("series_resistance_1")
    Z = np.abs(found.sweeps[0].impedance.Z)
    assert L.u is not None
    assert R.u is not None
    assert L.u[40] == pytest.approx(0.01 / 3**0.5 * L.value[40], rel=1e-3)
    assert R.u[40] == pytest.approx(0.01 / 3**0.5 * Z[40], rel=1e-3)
    bare = spectra(sweeps(accuracy=None))
    assert all(curve.u is None and curve.band is None for curve in bare.curves)
    assert all(each.agree is None for each in bare.leakages)
    assert any("No accuracy is stated" in each for each in bare.sentences)


def test_first_order_bands_are_those_of_drawn_errors() -> None:
    """2000 draws of both errors of three sweeps scatter 1 - k as the band says, within 5 %."""
    rng = np.random.default_rng(6)
    found = spectra(sweeps(accuracy=0.001))
    k = found.curve("coupling_coefficient_1_2_from_series_opposing")
    common = together(*(found.singles[n] for n in (1, 2)), found.sweeps[3])
    at = [5, 30]
    errors = rng.uniform(-0.001, 0.001, (2, 2000, 3))
    factors = np.exp(errors[0] + 1j * errors[1])
    Z1, Z2, z = (Z[at][None, :] * factors[:, place, None] for place, Z in enumerate(common.Z))
    drawn = (Z1.imag + Z2.imag - z.imag) / 2 / np.sqrt(Z1.imag * Z2.imag)
    assert k.u is not None
    assert drawn.std(axis=0) == pytest.approx(k.u[at], rel=0.05)


def test_self_resonance_lies_where_the_truth_crosses() -> None:
    """Interpolated between points 9 % apart it is within 0.1 % of a fine sweep's, and C is the choke's."""
    coarse, fine = np.geomspace(1e3, 30e6, 120), np.geomspace(0.4e6, 1e6, 20001)
    found, exact = (resonance(sweeps(f, wirings={"one": "1a 1b"})[0]).frequency for f in (coarse, fine))
    assert found == pytest.approx(exact, rel=1e-3)
    one = resonance(sweeps()[0])
    assert one.bracket is not None
    assert one.bracket[0] < (one.frequency or 0) < one.bracket[1]
    assert one.capacitance == pytest.approx(18e-12, rel=0.01)  # 9 pF of each winding, n = 1


@pytest.mark.parametrize(
    ("points", "lossless"),
    [(120, {}), (24, {"R": (0.0, 0.0), "relaxation": 1e12})],
    ids=["the phase counts", "the sizes count"],
)
def test_the_band_of_a_self_resonance_is_that_of_drawn_errors(points: int, lossless: dict[str, Any]) -> None:
    """One phase error for both points and a size error of each: 4000 draws scatter as the band says."""
    rng = np.random.default_rng(8)
    F = np.geomspace(1e3, 30e6, points)
    one = sweeps(F, **lossless)[0]
    here = resonance(one)
    drawn = []
    for _ in range(4000):
        phase, *size = rng.uniform(-0.005, 0.005, 1 + len(F))
        off = np.exp(np.array(size) + 1j * phase)
        drawn.append(resonance(Swept("one", one.wiring, Impedance(F, one.impedance.Z * off))).frequency)
    assert np.std(np.array(drawn, dtype=float)) == pytest.approx(here.u, rel=0.05)


def test_no_resonance_within_the_sweep_is_said_and_not_extrapolated() -> None:
    """A sweep that ends below it has none; one that begins above it is capacitive throughout."""
    low = resonance(sweeps(np.geomspace(1e3, 1e5, 30))[0])
    high = resonance(sweeps(np.geomspace(5e6, 30e6, 30))[0])
    assert low.frequency is None
    assert low.capacitance is None
    assert not low.starts_capacitive
    assert high.frequency is None
    assert high.starts_capacitive


def test_other_frequencies_are_told_and_never_interpolated() -> None:
    """Sweeps that share some frequencies give what they share; those that share none give nothing."""
    found = list(sweeps())
    half = Impedance(F[::2], found[3].impedance.Z[::2])
    shared = spectra(replaced(tuple(found), "reversed", half))
    assert len(shared.curve("leakage_differential_mode_1_2_from_series_opposing").frequency) == 60
    assert any("nothing is interpolated" in each and "(60 left out)" in each for each in shared.sentences)
    apart = Impedance(F * 1.01, found[3].impedance.Z)
    alone = spectra(replaced(tuple(found), "reversed", apart))
    assert not [c for c in alone.curves if "series_opposing" in c.name]
    assert any("share no frequency" in each for each in alone.sentences)


def test_dots_are_told_by_the_two_series_sweeps_where_nobody_marked_them() -> None:
    """With winding 2 turned round the same wirings change places, and k stays positive."""
    for turns in ((1, 1), (1, -1)):
        found = spectra(sweeps(turns=turns), dots=None)
        assert found.curve("coupling_coefficient_1_2_from_series_opposing").value[0] > 0.99
        assert any("taken as aiding" in each for each in found.sentences)


def test_pairs_of_three_windings_are_told_apart() -> None:
    """Each two windings get their own leakage; wirings that touch a third one are not theirs."""
    three = {"R": (0.1,) * 3, "leakage": (10e-6, 20e-6, 30e-6), "C": (5e-12,) * 3}
    wirings = {f"w{n}": f"{n}a {n}b" for n in (1, 2, 3)}
    wirings |= {f"p{i}{j}": f"{i}a {j}a | {i}b={j}b" for i, j in ((1, 2), (1, 3), (2, 3))}
    found = Spectra(sweeps(wirings=wirings, **three), 3, parse_dots("1a 2a 3a", 3))
    for (i, j), B in {(1, 2): 30e-6, (1, 3): 40e-6, (2, 3): 50e-6}.items():
        curve = found.curve(f"leakage_differential_mode_{i}_{j}_from_series_opposing")
        assert curve.value[0] == pytest.approx(B, rel=1e-3)
    assert as_pair(Wiring.parse("1a 3a | 1b=3b"), (1, 2)) is None


def test_dots_that_contradict_the_sweeps_are_told() -> None:
    """A winding turned round against its mark: k as swept is negative, and a caution says how they are."""
    found = spectra(sweeps(turns=(1.0, -1.0)))
    assert found.curve("coupling_coefficient_1_2_from_series_opposing").value[0] < -0.99
    (caution,) = found.cautions
    assert "marked at 1a 2a, yet" in caution
    assert "have them at 1a 2b" in caution
    assert "not what was noted" in caution
    assert spectra(sweeps()).cautions == ()


@pytest.mark.parametrize("series", ["forward", "reversed"])
def test_dots_are_told_by_one_series_sweep_and_both_singles(series: str) -> None:
    """L1 + L2 ± 2M against L1 + L2: one series sweep tells the dots, or contradicts how they are marked."""
    kept = ("one", "two", series)
    for turns, told in (((1.0, 1.0), "1a 2a"), ((1.0, -1.0), "1a 2b")):
        few = tuple(sweep for sweep in sweeps(turns=turns) if sweep.id in kept)
        assert Spectra(few, 2).pair_dots((1, 2)) == parse_dots(told, 2)
        assert Spectra(few, 2, parse_dots(told, 2)).cautions == ()
        other = parse_dots({"1a 2a": "1a 2b", "1a 2b": "1a 2a"}[told], 2)
        assert len(Spectra(few, 2, other).cautions) == 1


def test_windings_that_hardly_couple_tell_no_dots() -> None:
    """A series sweep that is nearly the sum of both windings alone tells nothing."""
    apart = sweeps(core=50e-6, leakage=(1e-3, 1e-3))
    few = tuple(sweep for sweep in apart if sweep.id in ("one", "two", "reversed"))
    assert Spectra(few, 2).pair_dots((1, 2)) is None


def test_a_repeated_wiring_is_told_and_the_first_is_used() -> None:
    """The second sweep of winding 1 keeps its own |Z|; everything else rests on the first."""
    twice = (*sweeps(), Swept("again", Wiring.parse("1b 1a"), sweeps()[1].impedance, 0.005))
    found = spectra(twice)
    assert found.singles[1].id == "one"
    assert any("one, again are of one wiring" in each for each in found.sentences)
    assert found.curve("impedance_magnitude_again").value[0] > 0


def drawn(exact: tuple[Swept, ...], limit: float, rng: np.random.Generator) -> Spectra:
    """The sweeps with one error of size and one of phase each, both within the limit."""
    off = [np.exp(rng.uniform(-limit, limit, 2) @ [1, 1j]) for _ in exact]
    found = (
        Swept(s.id, s.wiring, Impedance(s.impedance.frequency, s.impedance.Z * factor), limit)
        for s, factor in zip(exact, off, strict=True)
    )
    return spectra(found)


def test_intervals_cover_the_truth_as_often_as_they_say() -> None:
    """300 draws of errors within the stated accuracy: value ± U (k = 2) holds the truth in 95 to 99.9 %."""
    exact, rng = sweeps(np.array([3e3, 10e3, 30e3])), np.random.default_rng(11)
    names = [
        f"{name}_1_2_from_{route}"
        for name in ("mutual_inductance", "leakage_differential_mode", "leakage_short_circuit")
        for route in ("series_opposing", "short_circuit_1")
    ]
    truth = [spectra(exact).curve(name).value for name in names]
    hits = []
    for _ in range(300):
        found = drawn(exact, 0.002, rng)
        for name, true in zip(names, truth, strict=True):
            curve = found.curve(name)
            assert curve.u is not None
            hits.append(np.abs(curve.value - true) <= 2 * curve.u)
    covered = np.mean(np.array(hits).reshape(300, len(names), -1), axis=(0, 2))
    assert np.all((covered > 0.95) & (covered < 0.999)), covered


def test_sound_routes_are_said_to_agree_in_nine_of_ten_cases_and_more() -> None:
    """The difference of two errors within their limits exceeds its U in some 3 % of 300 draws, not in 10."""
    exact, rng = sweeps(np.array([3e3, 10e3, 30e3])), np.random.default_rng(12)
    agreed = []
    for _ in range(300):
        found = drawn(exact, 0.002, rng).leakages
        (B,) = (e for e in found if (e.name, e.shorted) == ("leakage_differential_mode", 1))
        agreed.append(B.agree)
    assert 0.9 < np.mean(agreed) < 1
