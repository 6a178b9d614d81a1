"""One-port models: slopes against sympy and differences, limits, resonance, and what they are of a choke."""

import random

import numpy as np
import pytest
import sympy

from labkit.errors import ShapeError
from labkit.theory.choke import Choke
from labkit.theory.models import (
    CORE,
    CORE_DAMPED,
    MODELS,
    SELF_CAPACITANCE,
    SERIES,
    Model,
    common_mode_branch,
    differential_mode_branch,
)
from tests.chokes import equal_choke, random_choke

F = np.geomspace(1e3, 1e8, 60)
TYPICAL = {
    "series": [0.1, 1e-3],
    "self_capacitance": [5.0, 1e-4, 7e-12],
    "core": [0.1, 2e-5, 1e-3, 2e6, 1e-11],
    "core_damped": [0.1, 2e-5, 1e-3, 2e6, 1e-11, 300.0],
}
each_model = pytest.mark.parametrize("model", MODELS, ids=lambda model: model.name)


@each_model
def test_slopes_agree_with_sympy(model: Model) -> None:
    """p dZ/dp, differentiated symbolically from the model's own formula, equals the slopes."""
    symbols = sympy.symbols(model.symbols, positive=True)
    f = sympy.Symbol("f", positive=True)
    Z = model.impedance(symbols, f)
    p = TYPICAL[model.name]
    slopes = model.derivatives(p, F)
    for column, (symbol, value) in enumerate(zip(symbols, p, strict=True)):
        exact = sympy.lambdify([f, *symbols], symbol * sympy.diff(Z, symbol), "numpy")
        np.testing.assert_allclose(slopes[:, column], exact(F, *p), rtol=1e-9, err_msg=f"{symbol} {value}")


@each_model
def test_slopes_agree_with_differences(model: Model) -> None:
    """Moving one logarithm both ways gives the same slope, relative to |Z|."""
    p = np.array(TYPICAL[model.name])
    Z, slopes = model.with_derivatives(p, F)
    np.testing.assert_allclose(Z, model.impedance(p, F), rtol=1e-13)
    for column, axis in enumerate(np.eye(len(p))):
        up, down = (model.impedance(p * np.exp(sign * 1e-5 * axis), F) for sign in (1, -1))
        assert np.max(np.abs((up - down) / 2e-5 - slopes[:, column]) / np.abs(Z)) < 1e-5


@each_model
def test_reactance_vanishes_at_self_resonance(model: Model) -> None:
    """Im Z is zero there, positive below and negative above; the plain R-L has no such frequency."""
    p = TYPICAL[model.name]
    f0 = model.self_resonance(p)
    if model is SERIES:
        assert f0 is None
        return
    assert abs(np.angle(model.impedance(p, f0))) < 1e-6
    assert model.impedance(p, 0.99 * f0).imag > 0 > model.impedance(p, 1.01 * f0).imag


def test_the_lowest_of_several_resonances_is_given() -> None:
    """On a fine grid the first sign change of the reactance is the self-resonance, for random parameters."""
    rng = random.Random(3)
    grid = np.geomspace(1e2, 1e10, 20001)
    for _ in range(40):
        p = [10 ** rng.uniform(*span) for span in ((-2, 1), (-6, -4), (-4, -2), (5, 7), (-12, -10), (1, 4))]
        f0 = CORE_DAMPED.self_resonance(p)
        X = CORE_DAMPED.impedance(p, grid).imag
        changes = np.flatnonzero((X[:-1] > 0) & (X[1:] <= 0))
        if f0 is None:
            assert not changes.size
        else:
            assert grid[changes[0]] <= f0 * (1 + 1e-9)
            assert f0 * (1 - 1e-9) <= grid[changes[0] + 1]


def test_a_winding_with_more_loss_than_reactance_has_no_resonance() -> None:
    """R above sqrt(L/C) leaves no phase zero: None, not a number."""
    assert SELF_CAPACITANCE.self_resonance([1e4, 1e-4, 1e-11]) is None
    assert CORE.self_resonance([1e4, 1e-5, 1e-4, 1e9, 1e-11]) is None


def test_each_model_holds_the_one_before() -> None:
    """With R_d = 0, f_r far away, C = 0 the larger model is the smaller one."""
    R, air, core, f_r, C, _ = TYPICAL["core_damped"]
    pairs = [
        (CORE_DAMPED, [R, air, core, f_r, C, 0.0], CORE, [R, air, core, f_r, C]),
        (CORE, [R, air, core, 1e20, C], SELF_CAPACITANCE, [R, air + core, C]),
        (SELF_CAPACITANCE, [R, core, 0.0], SERIES, [R, core]),
    ]
    for larger, p, smaller, q in pairs:
        np.testing.assert_allclose(larger.impedance(p, F), smaller.impedance(q, F), rtol=1e-9)


def test_core_loss_is_largest_at_the_relaxation() -> None:
    """µ'' = x/(1+x²) peaks at f_r with half of µ_i, where µ' is half too."""
    f = np.array([0.9e6, 1e6, 1.1e6])
    Z = CORE.impedance([0.0, 0.0, 1e-3, 1e6, 0.0], f) / (2j * np.pi * f * 1e-3)
    assert -Z.imag[1] == pytest.approx(0.5)
    assert Z.real[1] == pytest.approx(0.5)
    assert -Z.imag[1] > max(-Z.imag[0], -Z.imag[2])


@pytest.mark.parametrize(
    ("branch", "wiring"),
    [(common_mode_branch, "1a 1b | 1a=2a 1b=2b"), (differential_mode_branch, "1a 2a | 1b=2b")],
)
def test_branches_of_a_choke_are_models(branch: object, wiring: str) -> None:
    """For equal windings the mapped model has the choke's impedance in that tying."""
    rng = random.Random(4)
    for _ in range(20):
        choke = equal_choke(rng)
        model, p = branch(choke)
        np.testing.assert_allclose(model.impedance(p, F), choke.impedance(wiring, F), rtol=1e-7)


def test_unequal_windings_are_no_simple_branch() -> None:
    """The sentence names what differs, and a third winding is refused too."""
    unequal = Choke(R=[0.1, 0.1], leakage=[1e-5, 2e-5], core=1e-2)
    with pytest.raises(ShapeError, match=r"common-mode branch .* they differ in leakage"):
        common_mode_branch(unequal)
    with pytest.raises(
        ShapeError, match="differential-mode branch is one of two windings, but the choke has 3"
    ):
        differential_mode_branch(random_choke(random.Random(1), 3))


def test_a_wrong_number_of_parameters_is_refused() -> None:
    """The sentence gives the symbols in order."""
    with pytest.raises(ShapeError, match="has 5: R, L_air, L_core, f_r, C"):
        CORE.impedance([1.0, 2.0], F)
