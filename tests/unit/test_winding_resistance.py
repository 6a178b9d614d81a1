"""Where winding resistance rules: the weight of the mismatch term, and which theory fits where."""

import numpy as np
import pytest

import labkit
from labkit.choke.characterisation import characterisation_of
from labkit.choke.resistance import Resistance, at_marks, loop_corner, resistance
from labkit.choke.swept import Spectra
from labkit.record.demo import demo_bench
from labkit.theory.wiring import parse_dots
from tests.make_data.choke_demo import SESSIONS
from tests.unit.test_spectra import sweeps

PART = {
    "R": (0.15, 0.15),
    "leakage": (1.5e-6, 1.5e-6),
    "core": 500e-6,
    "turns": (1.0, 39 / 40),
    "relaxation": None,
    "C": None,
}
F = np.unique([*np.geomspace(100.0, 1e6, 81)])


def exact(accuracy: float | None = 1e-4, **changed: object) -> Resistance:
    """The same from exact sweeps of a lossless core without capacitance."""
    found = Spectra(sweeps(F, accuracy, **(PART | changed)), 2, parse_dots("1a 2a"))
    return resistance(found)[0]


def test_the_weight_is_one_per_cent_half_and_ninety_nine_per_cent() -> None:
    """At f_c/10, f_c and 10 f_c, whatever the sweep: x²/(1 + x²) to 1e-6 for equal resistances."""
    found = exact()
    assert np.allclose(found.weight.value, found.expected, atol=1e-4)
    x = np.array([0.1, 1.0, 10.0])
    at = np.interp(np.log(x * found.corner), np.log(F), found.expected)
    assert at == pytest.approx([1 / 101, 0.5, 100 / 101], abs=2e-3)


def test_the_corner_is_resistance_over_leakage() -> None:
    """(R1 + R2)/(2πB) of the truth, with an uncertainty that shrinks where both are alike."""
    found = exact()
    B = 3e-6 + 500e-6 / 1600
    assert found.corner == pytest.approx(0.3 / (2 * np.pi * B), rel=1e-4)
    corner = loop_corner(found.common.sweeps[2])
    assert corner.u is not None
    assert corner.u < 3e-4 * corner.value
    assert 0.8 < corner.frequency / corner.value < 1.25


def test_with_resistances_the_theory_is_exact_at_every_frequency() -> None:
    """Unequal resistances too: the lossy form equals the sweep, the lossless one only high up."""
    for R in ((0.15, 0.15), (0.10, 0.25)):
        found = exact(R=R)
        assert np.allclose(found.lossy.value, found.measured.value, rtol=1e-9)
        off = np.abs(found.lossless.value - found.measured.value)
        assert off[0] > 0.05 * found.measured.value[0]
        assert off[-1] < 1e-3 * found.measured.value[-1]


def test_the_demo_shows_the_three_weights_within_their_uncertainty() -> None:
    """As swept they are 0.01, 0.5 and 0.99 within ± U, and U is below a tenth."""
    (found,) = characterisation_of(demo_bench("frequency_and_resistance")).resistance
    marks = dict(at_marks(found))
    assert {0.1, 1.0, 10.0} <= set(marks)
    for place in marks.values():
        assert found.weight.u is not None
        U = 2 * found.weight.u[place]
        assert abs(found.weight.value[place] - found.expected[place]) <= U
        assert U < 0.1


def test_the_lossless_formula_is_refuted_below_and_holds_from_some_frequency_on() -> None:
    """The sentence gives that frequency, between f_c and 10 f_c."""
    result = labkit.characterise(demo_bench("frequency_and_resistance"))
    (found,) = result.found.resistance
    assert found.lossless_from is not None
    assert found.corner < found.lossless_from < 10 * found.corner
    assert "Without resistances it does not fit" in str(result.resistance)


def test_a_balanced_choke_is_not_said_to_refute_anything() -> None:
    """Where the mismatch is below what the sweep resolves, no weight is shown."""
    said = str(labkit.characterise(demo_bench("choke_characterisation")).resistance)
    assert "Without resistances it fits as well" in said
    assert "x²/(1 + x²), x = f/f_c" not in said


def test_without_accuracy_or_sweeps_it_says_what_is_missing() -> None:
    """No verdict without a stated accuracy; without the sweeps a sentence that names them."""
    found = exact(accuracy=None)
    assert found.E_n_lossless is None
    assert found.lossless_from is None
    bare = labkit.characterise(demo_bench("coupled_pair")).resistance
    assert "Sweep each winding alone, series-opposing and side by side" in str(bare)


def test_the_demo_part_has_a_lossless_twin_without_a_corner() -> None:
    """With resistances a hundred times smaller the corner lies below the sweep, and lossless theory fits."""
    truth = SESSIONS["frequency_and_resistance"].choke
    assert truth.R.tolist() == [0.15, 0.15]
    found = exact(R=(0.0015, 0.0015))
    assert found.corner < 200
    assert np.allclose(found.lossless.value[F > 5e3], found.measured.value[F > 5e3], rtol=1e-4)
