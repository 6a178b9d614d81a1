"""Robust statistics and scores against the worked examples of ISO 13528:2022, annex E.

The standard itself was not at hand. Data and printed results are taken from a secondary source: the tables of
annex E as typed into the tests of the LGPL library pt13528 (tests/annex_e_data.py, 2026), which cites the
table of each. Only figures are used here.
"""

import pytest

from labkit.uncertainty.decisions import E_n_score, Robust, algorithm_a, made, z_score

E_1 = (10, 10, 12, 19, 20, 20, 23, 23, 25, 25, 26, 28, 28, 30, 28, 29, 30, 30, 31, 32, 32, 45, 50)
"""Table E.1, first column."""
E_1_DELETED = (12, 19, 20, 23, 23, 25, 25, 26, 28, 28, 28, 29, 30, 30, 31, 32, 32, 45)
"""Table E.1, second column."""
E_3 = (
    0.040, 0.055, 0.178, 0.202, 0.206, 0.227, 0.228, 0.230, 0.230, 0.235, 0.236, 0.237, 0.243, 0.244, 0.245,
    0.2555, 0.260, 0.264, 0.267, 0.270, 0.273, 0.274, 0.274, 0.278, 0.2811, 0.287, 0.287, 0.288, 0.289, 0.295,
    0.296, 0.311, 0.331, 0.4246,
)  # fmt: skip
"""Table E.4, 34 participants."""
E_4 = (
    # result, U, z and E_n as printed
    (0.013, 0.003, -4.70, -3.55), (0.013, 0.007, -4.70, -2.88), (0.014, 0.004, -4.55, -3.29),
    (0.014, 0.0005, -4.55, -3.65), (0.016, 0.003, -4.24, -3.21), (0.017, 0.008, -4.09, -2.36),
    (0.019, 0.003, -3.79, -2.86), (0.0239, 0.0036, -3.05, -2.24), (0.037, 0.013, -1.06, -0.46),
    (0.039, 0.007, -0.76, -0.46), (0.04, 0.008, -0.61, -0.35), (0.04, 0.03, -0.61, -0.13),
    (0.0424, 0.008, -0.24, -0.14), (0.044, 0.007, 0.00, 0.00), (0.045, 0.007, 0.15, 0.09),
    (0.045, 0.005, 0.15, 0.10), (0.046, 0.007, 0.30, 0.19), (0.049, 0.0072, 0.76, 0.46),
    (0.053, 0.007, 1.36, 0.83),
)  # fmt: skip
"""Tables E.6 and E.7, the participants that state U with a coverage factor of 2."""
ASSIGNED, U_ASSIGNED, SIGMA = 0.044, 0.0082, 0.0066
E_7 = (
    0.013, 0.013, 0.0135, 0.014, 0.014, 0.016, 0.017, 0.019, 0.0239, 0.037, 0.039, 0.04, 0.04, 0.040, 0.0424,
    0.044, 0.045, 0.045, 0.046, 0.049, 0.053,
)  # fmt: skip
"""All 21 results of table E.6."""


def figures(found: Robust, decimals: int) -> tuple[float, float, float]:
    """x*, s* and u(x*), rounded as printed."""
    return (
        round(found.location, decimals),
        round(found.scale, decimals),
        round(found.standard_uncertainty, decimals),
    )


def test_thirty_four_participants() -> None:
    """Example E.3: x* = 0.2570, s* = 0.0395, u = 0.0085, and MADe = 0.0386."""
    assert figures(algorithm_a(E_3), 4) == (0.2570, 0.0395, 0.0085)
    assert round(made(E_3), 4) == 0.0386


def test_censored_results() -> None:
    """Example E.1: x* = 26.81, s* = 5.29 without the censored results; x* = 26.01 with them.

    There the printed s* = 7.23 is where the three-figure rule stops; settled, it is 7.24.
    """
    assert figures(algorithm_a(E_1_DELETED), 2)[:2] == (26.81, 5.29)
    found = algorithm_a(E_1)
    assert round(found.location, 2) == 26.01
    assert found.scale == pytest.approx(7.23, abs=0.008)


def test_a_class_in_two_camps() -> None:
    """Example E.7: x* = 0.03161, s* = 0.0164 and u = 0.0045, with nine of 21 results far below the rest."""
    found = algorithm_a(E_7)
    assert round(found.location, 5) == 0.03161
    assert figures(found, 4)[1:] == (0.0164, 0.0045)


@pytest.mark.parametrize(("x", "U", "z", "E_n"), E_4)
def test_scores(x: float, U: float, z: float, E_n: float) -> None:
    """Example E.4: z and E_n of each participant as printed, to half a unit of the last digit."""
    assert z_score(x, ASSIGNED, SIGMA) == pytest.approx(z, abs=0.0051)
    assert E_n_score(x, U, ASSIGNED, U_ASSIGNED) == pytest.approx(E_n, abs=0.0051)
