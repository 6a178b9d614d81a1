"""What a sweep may be. All values here are invented."""

import numpy as np
import pytest

from labkit.errors import LabkitError, SweepError
from labkit.sweeps.sweep import Impedance, Scattering, hertz, require_ascending

F = np.array([1e3, 2e3, 5e3])
Z = np.array([1 + 1j, 2 + 2j, 3 + 3j])


def refused(frequency: object, values: object = Z) -> SweepError:
    """The error with which an impedance is refused."""
    with pytest.raises(SweepError) as caught:
        Impedance(frequency, values)  # type: ignore[arg-type]
    return caught.value


@pytest.mark.parametrize(
    ("frequency", "sentence", "at"),
    [
        (
            [1e3, 5e3, 2e3],
            "Point 3: the frequency 2 kHz follows on 5 kHz, but frequencies have to ascend",
            2e3,
        ),
        ([1e3, 1e3, 2e3], "Point 2: the frequency 1 kHz stands there once more", 1e3),
        ([0.0, 1e3, 2e3], "Point 1: the frequency is 0 Hz, but it has to be above zero", 0.0),
        ([1e3, -1e3, 2e3], "Point 2: the frequency is -1 kHz, but it has to be above zero", -1e3),
    ],
)
def test_frequencies_ascend_above_zero(frequency: list[float], sentence: str, at: float) -> None:
    """The first frequency that does not fit is named, and nothing is sorted."""
    error = refused(frequency)
    assert str(error).startswith(sentence)
    assert error.frequency == at


def test_a_frequency_that_is_no_number() -> None:
    """Infinite and undefined frequencies are refused like those that are not above zero."""
    for odd in (np.inf, np.nan):
        assert "has to be above zero" in str(refused([1e3, odd, 5e3]))


@pytest.mark.parametrize("frequency", [[], [[1e3]], 1e3])
def test_a_sweep_is_a_row(frequency: object) -> None:
    """No point, a table of frequencies or a bare number is no sweep."""
    assert "a row of at least one frequency" in str(refused(frequency))


def test_lines_are_named_where_they_are_known() -> None:
    """With the lines of a file, a refusal names the line and carries it."""
    with pytest.raises(SweepError, match=r"^a\.csv, line 7: the frequency 1 kHz") as caught:
        require_ascending(np.array([2e3, 1e3]), [4, 7], "a.csv")
    assert caught.value.line == 7


def test_values_belong_to_the_frequencies() -> None:
    """Another number of values is refused with both shapes."""
    assert "Z has the shape (2,), but (3,) is needed" in str(refused(F, Z[:2]))


def test_values_are_finite() -> None:
    """A value that is not finite is refused by its frequency."""
    error = refused(F, [1, np.nan, 1])
    assert "not a finite number at 2 kHz" in str(error)
    assert error.frequency == 2e3


def test_a_sweep_keeps_its_own_values() -> None:
    """Later changes of what was given change nothing, and the sweep's arrays cannot be changed."""
    f, z = F.copy(), Z.copy()
    sweep = Impedance(f, z)
    f[0], z[0] = 0, 0
    assert (sweep.frequency[0], sweep.Z[0]) == (1e3, 1 + 1j)
    with pytest.raises(ValueError, match="read-only"):
        sweep.Z[0] = 0


def test_parts_of_an_impedance() -> None:
    """Resistance, reactance and angular frequency come with their signs, in SI units."""
    sweep = Impedance(F, -Z)
    assert sweep.resistance.tolist() == [-1, -2, -3]
    assert sweep.reactance.tolist() == [-1, -2, -3]
    assert sweep.omega[0] == pytest.approx(6283.185307, rel=1e-9)
    assert len(sweep) == 3


@pytest.mark.parametrize("reference", [[50.0], [50.0, 0.0], [50.0, -1.0], [np.inf, 50.0], []])
def test_each_port_has_a_reference(reference: list[float]) -> None:
    """References of another number than ports, or not above zero, are refused."""
    with pytest.raises(SweepError):
        Scattering(F, np.zeros((3, 2, 2), complex), np.array(reference))


def test_scattering_values_are_checked_alike() -> None:
    """Frequencies and values of a multiport are held to the same rules."""
    with pytest.raises(SweepError, match="S is not a finite number at 5 kHz"):
        Scattering(F, np.array([0, 0, np.inf]).reshape(3, 1, 1), np.array([50.0]))
    with pytest.raises(SweepError, match="frequencies have to ascend"):
        Scattering(F[::-1], np.zeros((3, 1, 1)), np.array([50.0]))


def test_an_error_is_the_one_that_a_caller_would_catch() -> None:
    """What is refused is a ValueError and labkit's own."""
    assert issubclass(SweepError, ValueError)
    assert issubclass(SweepError, LabkitError)


@pytest.mark.parametrize(
    ("frequency", "text"),
    [(0.5, "0.5 Hz"), (1000, "1 kHz"), (10_000.001, "10.000001 kHz"), (2.5e6, "2.5 MHz"), (1e10, "10 GHz")],
)
def test_a_frequency_in_a_sentence(frequency: float, text: str) -> None:
    """A frequency is spoken with the prefix that suits it and all its digits."""
    assert hertz(frequency) == text
