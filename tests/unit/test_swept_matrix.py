"""The inductance matrix from sweeps alone."""

import itertools

import numpy as np
import pytest

from labkit.choke.matrix import swept_matrix
from labkit.choke.spectra import Swept
from labkit.errors import MissingReading
from labkit.sweeps.sweep import Impedance
from labkit.theory.choke import Choke
from labkit.theory.wiring import Wiring

F = np.geomspace(1e3, 1e6, 20)
CHOKE = Choke(R=(0.1,) * 3, leakage=(10e-6, 20e-6, 30e-6), core=4e-3, turns=(1, 0.9, -1.1))
WIRINGS = {f"w{n}": f"{n}a {n}b" for n in (1, 2, 3)} | {
    f"p{i}{j}": f"{i}a {j}a | {i}b={j}b" for i, j in ((1, 2), (1, 3), (2, 3))
}


def sweeps(accuracy: float | None = 0.002, error: dict[str, complex] | None = None) -> list[Swept]:
    """Singles and pairs of an invented choke with three windings, each with its own factor of error."""
    return [
        Swept(id, Wiring.parse(w), Impedance(F, CHOKE.impedance(w, F) * (error or {}).get(id, 1)), accuracy)
        for id, w in WIRINGS.items()
    ]


def test_six_sweeps_give_the_matrix_of_three_windings() -> None:
    """Exact sweeps give the choke's own matrix at the lowest frequency, with the signs of its turns."""
    found = swept_matrix(sweeps(), 3, None)
    assert found.frequency is not None
    assert found.frequency.value == 1e3
    assert found.L == pytest.approx(CHOKE.inductance_matrix([1e3])[0].real, rel=1e-9)
    assert found.basis == "sweeps"
    assert [o.id for o in found.observations] == list(WIRINGS)
    assert found.polarity == (1, 1, -1)


def test_the_covariance_is_that_of_independent_sweeps() -> None:
    """Against 4000 draws of each sweep's own error of size and phase, rectangular within its limit."""
    limit, rng = 0.002, np.random.default_rng(3)
    found = swept_matrix(sweeps(limit), 3, None)
    w = 2 * np.pi * 1e3
    draws = {
        id: (CHOKE.impedance(wiring, [1e3])[0] * (1 + rng.uniform(-limit, limit, (4000, 2)) @ [1, 1j])).imag
        / w
        for id, wiring in WIRINGS.items()
    }
    rows = []
    for i, j in itertools.combinations_with_replacement((1, 2, 3), 2):
        single = draws[f"w{i}"]
        rows.append(single if i == j else (single + draws[f"w{j}"] - draws[f"p{i}{j}"]) / 2)
    scale = np.sqrt(np.outer(np.diag(found.covariance), np.diag(found.covariance)))
    assert (np.cov(rows) - found.covariance) / scale == pytest.approx(0, abs=0.06)


def test_one_sweep_without_accuracy_takes_the_uncertainty_away() -> None:
    """Values stay; nothing is stated about how sure they are."""
    few = [*sweeps()[:-1], Swept("p23", Wiring.parse(WIRINGS["p23"]), sweeps()[-1].impedance, None)]
    found = swept_matrix(few, 3, None)
    assert not found.stated
    assert pytest.approx(CHOKE.inductance_matrix([1e3])[0].real, rel=1e-9) == found.L


def test_what_is_missing_is_named() -> None:
    """Without one pair the sentence asks for its wiring; sweeps apart in frequency are never joined."""
    with pytest.raises(MissingReading, match=r"windings 2 and 3 in series \(2a 3a \| 2b=3b\)"):
        swept_matrix(sweeps()[:-1], 3, None)
    last = sweeps()[-1]
    apart = Swept("p23", last.wiring, Impedance(F * 1.01, last.impedance.Z), 0.002)
    with pytest.raises(MissingReading, match="share none; nothing is interpolated"):
        swept_matrix([*sweeps()[:-1], apart], 3, None)
