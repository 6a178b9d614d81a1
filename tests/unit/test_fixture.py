"""The same part through every hook-up and fixture, and corrections that do not belong. Invented values."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit.arrays import Complexes
from labkit.errors import SweepError
from labkit.record.virtual_bench import Fixture
from labkit.sweeps.fixture import (
    HOOK_UPS,
    from_reflection,
    from_series_through,
    from_shunt_through,
    open_short,
    open_short_load,
)
from labkit.sweeps.sweep import Impedance, Scattering

F = np.array([1e3, 1e4, 1e5])
Z = np.array([0.5 + 63j, 0.6 + 628j, 3 + 6283j])
OPEN, SHORT = Impedance(F, -1j * 1e6 / F * 1e3), Impedance(F, 0.05 + 1j * F * 3e-7)
PART = Impedance(F, Z)

parts = st.complex_numbers(min_magnitude=1e-3, max_magnitude=1e6, allow_nan=False).filter(
    lambda z: z.real > 0
)
ohms = st.floats(1, 1e3)


def from_chain(a: complex, b: complex, c: complex, d: complex, R1: float, R2: float) -> Scattering:
    """S of a two-port from its chain matrix; Frickey, IEEE Trans. MTT 42 (1994) 205, for real references."""
    below = a * R2 + b + c * R1 * R2 + d * R1
    S = [[a * R2 + b - c * R1 * R2 - d * R1, 2 * (a * d - b * c) * np.sqrt(R1 * R2)]]
    S.append([2 * np.sqrt(R1 * R2), -a * R2 + b - c * R1 * R2 + d * R1])
    return Scattering(F[:1], np.array([S]) / below, np.array([R1, R2]))


@given(parts, ohms, ohms)
def test_series_through_between_any_references(z: complex, R1: float, R2: float) -> None:
    """A series impedance comes back from S21 and from the whole two-port, whatever the references are."""
    measured = from_chain(1, z, 0, 1, R1, R2)
    tolerance = 1e-9 * (abs(z) + R1 + R2)
    assert abs(from_series_through(measured).Z[0] - z) < tolerance
    assert abs(from_series_through(measured, ground=False).Z[0] - z) < tolerance * (1 + (R1 + R2) / abs(z))


@given(parts, ohms, ohms)
def test_shunt_through_between_any_references(z: complex, R1: float, R2: float) -> None:
    """An impedance to ground comes back from S21, whatever the references are."""
    found = from_shunt_through(from_chain(1, 0, 1 / z, 1, R1, R2)).Z[0]
    assert abs(found - z) < 1e-9 * abs(z) * (1 + abs(z) / min(R1, R2))


def test_what_leads_to_ground_is_taken_out_only_if_asked() -> None:
    """Capacitance from a port to ground spoils S21 alone and leaves -1/Y21 as it is."""
    z, y = 10 + 600j, 1j * 2 * np.pi * 1e6 * 10e-12
    measured = from_chain(1 + z * y, z, y * (2 + z * y), 1 + z * y, 50, 50)
    assert from_series_through(measured, ground=False).Z[0] == pytest.approx(z, rel=1e-12)
    assert abs(from_series_through(measured).Z[0] / z - 1) > 1e-3


def test_reflection_at_another_reference() -> None:
    """The port's own reference counts."""
    measured = Scattering(F, ((Z - 75) / (Z + 75))[:, None, None], np.array([75.0]))
    assert from_reflection(measured).Z == pytest.approx(Z, rel=1e-12)


@pytest.mark.parametrize("name", HOOK_UPS)
def test_each_hook_up_has_its_ports(name: str) -> None:
    """A file with another number of ports is refused with both numbers."""
    measured = Scattering(F, np.zeros((3, 4, 4), complex), np.full(4, 50.0))
    needed = 1 if name == "reflection" else 2
    with pytest.raises(SweepError, match=f"A {name} measurement has ports: {needed}, but the file has 4"):
        HOOK_UPS[name](measured)


@pytest.mark.parametrize(
    ("name", "S"),
    [("reflection", [[1]]), ("series-through", [[1, 0], [0, 1]]), ("shunt-through", [[0, 1], [1, 0]])],
)
def test_nothing_between_the_clips(name: str, S: list[list[complex]]) -> None:
    """Where the hook-up shows an ideal open, no impedance follows, and the frequency is named."""
    measured = Scattering(F[:1], np.array([S], complex), np.full(len(S), 50.0))
    with pytest.raises(SweepError, match="No finite impedance follows at 1 kHz") as caught:
        HOOK_UPS[name](measured)
    assert caught.value.frequency == 1e3


@given(
    st.builds(
        Fixture, R=st.floats(0, 10), L=st.floats(0, 1e-6), G=st.floats(1e-9, 1e-4), C=st.floats(0, 1e-10)
    ),
    parts,
)
def test_a_ladder_is_taken_off_by_its_own_model(fixture: Fixture, z: complex) -> None:
    """Whatever ladder the part was measured in, the ladder model gives the part back."""
    seen = fixture.seen(np.full(3, z), F)
    opened = fixture.seen(np.full(3, np.inf), F)
    found = open_short(Impedance(F, seen), Impedance(F, opened), Impedance(F, fixture.series(F)), "ladder").Z
    weight = 1 + abs(z) * np.abs(fixture.across(F)) + np.abs(fixture.series(F)) / abs(z)
    assert np.all(np.abs(found - z) < 1e-9 * abs(z) * weight**2)


def test_a_symmetric_two_port_is_taken_off_by_its_own_model() -> None:
    """A fixture with equal chain-matrix ends a = d is exact in the symmetric model and not in the ladder."""
    a, c = 1.01 + 0.02j, 1e-4j
    b = (a * a - 1) / c

    def seen(z: Complexes) -> Complexes:
        return (a * z + b) / (c * z + a)

    measured = Impedance(F, seen(Z)), Impedance(F, np.full(3, a / c)), Impedance(F, np.full(3, b / a))
    assert open_short(*measured, "symmetric").Z == pytest.approx(Z, rel=1e-9)
    assert np.abs(open_short(*measured, "ladder").Z / Z - 1).min() > 1e-2


@pytest.mark.parametrize("model", ["", "open/short", "Ladder", None])
def test_the_model_has_to_be_named(model: str) -> None:
    """Without one of the two models nothing is taken off."""
    with pytest.raises(SweepError, match="is not a model of the fixture"):
        open_short(PART, OPEN, SHORT, model)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("g", "sentence", "at"),
    [
        ([1e3, 1.1e4, 1e5], "point 2 is at 11 kHz, but the part was measured at 10 kHz", 1e4),
        ([1e3, 1e4, 1.000001e5], "point 3 is at 100.0001 kHz, but the part was measured at 100 kHz", 1e5),
        ([1e3, 1e4], "has 2 points, but the part has 3, and 100 kHz is in one of them only", 1e5),
        ([1e3, 1e4, 1e5, 2e5], "has 4 points, but the part has 3, and 200 kHz is in one of them only", 2e5),
    ],
)
@pytest.mark.parametrize("role", ["open", "short"])
def test_a_correction_at_another_frequency_is_refused(
    role: str, g: list[float], sentence: str, at: float
) -> None:
    """The first frequency that differs is named, and nothing is interpolated."""
    other = Impedance(np.array(g), np.full(len(g), 1e3 + 0j))
    pair = (other, SHORT) if role == "open" else (OPEN, other)
    with pytest.raises(SweepError, match=f"The {role} correction") as caught:
        open_short(PART, *pair, "ladder")
    assert sentence in str(caught.value)
    assert caught.value.frequency == at


def test_the_rounding_of_units_is_no_other_frequency() -> None:
    """0.3 MHz in one file and 300 kHz in another are the same frequency."""
    f = np.array([0.3 * 1e6, 0.7 * 1e6])
    g = np.array([300 * 1e3, 700 * (1 + 1e-13) * 1e3])
    measured = Impedance(f, Z[:2])
    corrections = Impedance(g, OPEN.Z[:2]), Impedance(g, SHORT.Z[:2])
    assert len(open_short(measured, *corrections, "ladder")) == 2


def test_a_part_that_cannot_be_told_from_the_open_fixture() -> None:
    """Where the part reads as the open fixture does, no impedance follows."""
    with pytest.raises(SweepError, match="No finite impedance follows at 1 kHz"):
        open_short(OPEN, OPEN, SHORT, "ladder")


def test_a_load_is_held_to_the_same_frequencies() -> None:
    """Open, short, load and the load's known impedance must all be at the part's frequencies."""
    other = Impedance(F[:2], Z[:2])
    known = Impedance(F, np.full(3, 100 + 0j))
    for place, name in enumerate(("open", "short", "load", "known load")):
        corrections = [OPEN, SHORT, known, known]
        corrections[place] = other
        with pytest.raises(SweepError, match=f"The {name} correction has 2 points"):
            open_short_load(PART, *corrections)
