"""Two coils on one core as textbooks work them: every connection, M and k from two series readings.

The source stands in each row. Printed digits stand as text and count to half a unit of the last digit;
plain numbers are exact in the source. "Computed" marks what the source leaves open.
"""

import math
from fractions import Fraction
from typing import NamedTuple

import pytest

from labkit.theory.network import input_inductance
from labkit.theory.pair import Pair, coupling_coefficient, mutual_from_series, passive_range
from labkit.theory.wiring import Connection, parse_dots, standard_wiring
from tests.printed import printed

SA, SO = Connection.SERIES_AIDING, Connection.SERIES_OPPOSING
PA, PO = Connection.PARALLEL_AIDING, Connection.PARALLEL_OPPOSING
mH, uH, H = 1e-3, 1e-6, 1.0

SADIKU = "Alexander & Sadiku, Fundamentals of Electric Circuits"
BHATTACHARYA = "Bhattacharya, Basic Electrical and Electronics Engineering"
BIRD = "Bird, Electrical Circuit Theory and Technology, 2nd ed. 2003, ch. 43"
GURU = "Guru & Hiziroğlu, Electric Machinery and Transformers"
KULSHRESHTHA = "Kulshreshtha, Basic Electrical Engineering"
MUTHU = "Muthusubramanian & Salivahanan, Basic Electrical and Electronics Engineering"
POWELL = "Powell, Introduction to Electric Circuits"
ROBERTSON = "Robertson, Fundamental Electrical and Electronic Principles"
SCHULTZ = "Schultz, Grob's Basic Electronics"
EXERCISE = "common exercise, no primary source"


def read(L1: float, L2: float, M: float, connection: Connection, dots: str = "1a 2a") -> float:
    """What the forward model reads of a pair hooked up in the usual way for this connection."""
    signed = M if dots in ("1a 2a", "1b 2b") else -M
    wiring = standard_wiring(connection, parse_dots(dots))
    assert wiring is not None
    return input_inductance([[L1, signed], [signed, L2]], wiring)


class Coils(NamedTuple):
    """Inductances in `unit`, the answers in the same unit as the source has them."""

    source: str
    unit: float
    L1: float
    L2: float
    M: float
    answers: dict[Connection, str | float]


def mutual(L1: float, L2: float, k: float) -> float:
    """The M of a row that states k."""
    return k * math.sqrt(L1 * L2)


COILS = [
    Coils(
        f"{KULSHRESHTHA}, example 7.18, p. 198",
        mH,
        200,
        800,
        mutual(200, 800, 0.5),
        {SA: "1400.000", SO: "600.000", PA: "200.000", PO: "85.714"},
    ),
    Coils(f"{GURU}, example 2.12, p. 108", mH, 1600, 100, 340, {PA: "43.5", PO: "18.7"}),
    Coils(
        f"{KULSHRESHTHA}, example 7.12, p. 195",
        H,
        8,
        6,
        mutual(8, 6, 0.433),
        {PA: "4.875", PO: "1.950"},
    ),
    Coils(EXERCISE, H, 4, 6, 3, {PA: 3.75, PO: 0.9375}),
    Coils(
        f"{SADIKU}, problem 13.5, earlier edition; answers computed",
        mH,
        25,
        60,
        mutual(25, 60, 0.5),
        {SA: "123.7", PA: "24.31"},
    ),
    Coils(
        f"{SADIKU}, problem 13.5, later edition; series computed",
        mH,
        50,
        120,
        mutual(50, 120, 0.5),
        {SA: "247.5", PA: "48.63"},
    ),
    # Printed 120 µH, to two figures; recomputed from k.
    Coils(f"{EXERCISE}; answer computed", uH, 30, 50, mutual(30, 50, 0.5), {SA: "118.7"}),
    Coils(f"{EXERCISE}; mixed units", uH, 835, 2440, mutual(835, 2440, 0.922), {SO: "643"}),
    Coils(f"{POWELL}, example 2.18, p. 33; opposing computed", mH, 2.5, 40, 8, {SA: 58.5, SO: 26.5}),
    Coils(f"{POWELL}, example 2.18, p. 33, k = 1; opposing computed", mH, 2.5, 40, 10, {SA: 62.5, SO: 22.5}),
]
ANSWERS = [pytest.param(coils, c, id=f"{coils.source}: {c}") for coils in COILS for c in coils.answers]


@pytest.mark.parametrize("dots", ["1a 2a", "1a 2b", "1b 2a", "1b 2b"])
@pytest.mark.parametrize(("coils", "connection"), ANSWERS)
def test_network_reads_the_books_value(coils: Coils, connection: Connection, dots: str) -> None:
    """The forward model reads the source's equivalent inductance, wherever the dots are."""
    L1, L2, M = (x * coils.unit for x in (coils.L1, coils.L2, coils.M))
    assert read(L1, L2, M, connection, dots) == printed(coils.answers[connection], coils.unit)


@pytest.mark.parametrize(("coils", "connection"), ANSWERS)
def test_pair_gives_the_books_value(coils: Coils, connection: Connection) -> None:
    """The stable form of a pair gives the source's equivalent inductance."""
    pair = Pair.from_mutual(coils.L1, coils.L2, coils.M)
    assert pair.inductance(connection) == printed(coils.answers[connection])


class Coupling(NamedTuple):
    """Self-inductances and mutual inductance in H, coupling coefficient as the source has it."""

    source: str
    L1: float
    L2: float
    M: float
    k: str | float


def linkage(turns: float, flux: float, current: float) -> float:
    """Inductance in H from its definition: flux linkage per current."""
    return turns * flux / current


COUPLINGS = [
    Coupling(f"{BIRD}, example 3, p. 844", 0.250, 0.400, 0.080, "0.253"),
    Coupling(f"{BIRD}, example 4, p. 845, 4 A reversed", 0.080, 0.060, linkage(100, 5e-3, 2 * 4), "0.902"),
    Coupling(f"{BIRD}, example 5, p. 846", 0.040, 0.010, 0.005, 0.25),
    Coupling(f"{BIRD}, example 6, p. 847", 1, 5, 1, "0.447"),
    Coupling("B. R. Gupta, example 2.100, p. 141", 15, 35, 10, "0.44"),
    Coupling(f"{SCHULTZ}, example 19-9, p. 585", 0.4, 0.4, 0.08, 0.2),
    Coupling(f"{SCHULTZ}, example 19-10, p. 586", 0.4, 0.4, 0.04, 0.1),
    Coupling(
        f"{BHATTACHARYA}, example 2.6, p. 131",
        linkage(1000, 0.8e-3, 6),
        linkage(400, 0.5e-3, 6),
        linkage(400, 0.75 * 0.8e-3, 6),
        0.6,
    ),
    Coupling(
        f"{KULSHRESHTHA}, example 7.9, p. 189: 60 % of the flux links, k is more",
        linkage(1200, 0.25e-3, 5),
        linkage(800, 0.15e-3, 5),
        linkage(800, 0.60 * 0.25e-3, 5),
        "0.6325",
    ),
    Coupling(
        f"{MUTHU}, example 3.10, p. 113: 55 % of the flux links, k is less",
        linkage(15000, 0.05e-3, 6),
        linkage(12000, 0.08e-3, 6),
        linkage(12000, 0.55 * 0.05e-3, 6),
        "0.389",
    ),
    Coupling(f"{POWELL}, example 2.18, p. 33; k computed", 2.5, 40, 8, 0.8),
]


@pytest.mark.parametrize("row", COUPLINGS, ids=lambda row: row.source)
def test_coupling_coefficient_is_the_books(row: Coupling) -> None:
    """k from L1, L2 and M is the source's."""
    assert coupling_coefficient(row.L1, row.L2, row.M) == printed(row.k)


@pytest.mark.parametrize("row", COUPLINGS, ids=lambda row: row.source)
def test_short_circuit_test_finds_the_books_coupling(row: Coupling) -> None:
    """k = sqrt(1 - Lsc/Loc), from two readings of the forward model on either winding, is the source's."""
    for shorted, alone in (("1a 1b | 2a=2b", "1a 1b"), ("2a 2b | 1a=1b", "2a 2b")):
        L = [[row.L1, row.M], [row.M, row.L2]]
        assert math.sqrt(1 - input_inductance(L, shorted) / input_inductance(L, alone)) == printed(row.k)


class Mutual(NamedTuple):
    """Self-inductances and M in `unit`, the coupling coefficient that the source states."""

    source: str
    unit: float
    L1: float
    L2: float
    k: float
    M: str | float


MUTUALS = [
    Mutual(f"{KULSHRESHTHA}, example 7.18, p. 198", mH, 200, 800, 0.5, 200),
    Mutual(f"{KULSHRESHTHA}, example 7.14, p. 196", H, linkage(250, 4e-3, 3), 0.0261, 0.75, "0.0700"),
    Mutual(f"{SADIKU}, problem 13.5, earlier edition; computed", mH, 25, 60, 0.5, "19.3649"),
    Mutual(EXERCISE, uH, 30, 50, 0.5, "19.4"),
    Mutual(f"{EXERCISE}; mixed units", uH, 835, 2440, 0.922, "1316"),
    Mutual(f"{ROBERTSON}, example 5.26, p. 183", mH, 65, 65 * (650 / 400) ** 2, 0.95, "100"),
    Mutual(f"{BIRD}, example 9, p. 850", mH, 20, 80, 0.75, 30),
]


@pytest.mark.parametrize("row", MUTUALS, ids=lambda row: row.source)
def test_mutual_inductance_from_coupling_is_the_books(row: Mutual) -> None:
    """M = k sqrt(L1 L2) is the source's."""
    pair = Pair.from_coupling(row.L1 * row.unit, row.L2 * row.unit, row.k)
    assert pair.mutual_inductance == printed(row.M, row.unit)


class SeriesReadings(NamedTuple):
    """Series-aiding A and series-opposing B, what the source concludes; inductances in `unit`."""

    source: str
    unit: float
    A: float
    B: float
    L1: float
    L2: float
    M: float
    k: str | float


SERIES = [
    SeriesReadings(
        f"{SADIKU}, problem 13.3, earlier edition; k computed", mH, 250, 150, 150, 50, 25, "0.2887"
    ),
    SeriesReadings(
        f"{SADIKU}, problem 13.3, later edition: MEMORY, computed", mH, 500, 300, 300, 100, 50, "0.2887"
    ),
    SeriesReadings(f"{GURU}, example 2.11, p. 106", H, 2.38, 1.02, 0.1, 1.6, 0.34, 0.85),
    SeriesReadings(f"{SCHULTZ}, example 19-20, p. 598", uH, 550, 450, 250, 250, 25, 0.1),
    SeriesReadings(f"{KULSHRESHTHA}, example 7.10, p. 192", mH, 1.4, 0.6, 0.5, 0.5, 0.20, 0.40),
    SeriesReadings(f"{KULSHRESHTHA}, example 7.17, p. 198", H, 4.0, 0.8, 1.20, 1.20, 0.8, "0.667"),
    SeriesReadings(f"{BHATTACHARYA}, example 2.1, p. 125", H, 1.6, 0.4, 0.6, 0.4, 0.3, "0.61237"),
    SeriesReadings(f"{EXERCISE}; k computed", H, 0.6, 0.1, 0.2, 0.15, 0.125, "0.7217"),
    SeriesReadings(f"{EXERCISE}; k cut off in print", H, 1.2, 0.2, 0.4, 0.3, 0.25, "0.72168…"),
    SeriesReadings(f"{EXERCISE}; equal coils, k computed", H, 14, 6, 5, 5, 2, 0.4),
]


@pytest.mark.parametrize("row", SERIES, ids=lambda row: row.source)
def test_two_series_readings_give_the_books_mutual_inductance(row: SeriesReadings) -> None:
    """M = (A - B)/4 is the source's."""
    assert mutual_from_series(row.A * row.unit, row.B * row.unit) == printed(row.M, row.unit)


@pytest.mark.parametrize("row", SERIES, ids=lambda row: row.source)
def test_two_series_readings_give_the_books_coupling(row: SeriesReadings) -> None:
    """k from M = (A - B)/4 is the source's."""
    assert coupling_coefficient(row.L1, row.L2, mutual_from_series(row.A, row.B)) == printed(row.k)


@pytest.mark.parametrize("row", SERIES, ids=lambda row: row.source)
def test_opposing_reading_alone_gives_the_books_coupling(row: SeriesReadings) -> None:
    """The pair held as (L1, L2, B) has the source's k and returns the other reading, A."""
    pair = Pair(row.L1, row.L2, row.B)
    assert pair.coupling_coefficient == printed(row.k)
    assert pair.series_aiding == printed(row.A)


@pytest.mark.parametrize("row", SERIES, ids=lambda row: row.source)
def test_network_returns_the_readings(row: SeriesReadings) -> None:
    """The forward model of the source's L1, L2 and M reads the source's A and B again."""
    assert read(row.L1, row.L2, row.M, SA) == printed(row.A)
    assert read(row.L1, row.L2, row.M, SO) == printed(row.B)


ONE_READING = [
    pytest.param(0.040, 0.010, 0.060, 0.005, id=f"{BIRD}, example 5, p. 846"),
    # 240 V on 15 Ω at 8 A, rising by 15 A/s
    pytest.param(1.0, 5.0, (240 - 15 * 8) / 15, 1.0, id=f"{BIRD}, example 6, p. 847"),
]


@pytest.mark.parametrize(("L1", "L2", "A", "M"), ONE_READING)
def test_one_series_reading_gives_the_books_mutual_inductance(
    L1: float, L2: float, A: float, M: float
) -> None:
    """With both windings known, one series-aiding reading gives the source's M, which reads A again."""
    assert Pair(L1, L2, 2 * (L1 + L2) - A).mutual_inductance == printed(M)
    assert read(L1, L2, M, SA) == printed(A)


ENERGIES = [(Connection.SELF_1, "0.78"), (Connection.SELF_2, "1.25"), (SA, "3.6"), (SO, "0.45")]


@pytest.mark.parametrize(("connection", "millijoules"), ENERGIES)
def test_stored_energy_is_the_books(connection: Connection, millijoules: str) -> None:
    """Robertson, example 5.28, p. 185: 25 and 40 mH with k = 0.8 store L I²/2 at 0.25 A."""
    energy = read(25e-3, 40e-3, mutual(25e-3, 40e-3, 0.8), connection) * 0.25**2 / 2
    assert energy == printed(millijoules, 1e-3)


THREE_COILS = [
    pytest.param([[6, -4, 2], [-4, 8, -5], [2, -5, 10]], 10, id=f"{SADIKU}, problem 13.1"),
    pytest.param([[10, 6, -4], [6, 12, -6], [-4, -6, 8]], 22, id=f"{SADIKU}, problem 13.2"),
]


@pytest.mark.parametrize(("L", "answer"), THREE_COILS)
def test_three_coils_in_line_are_the_books(L: list[list[int]], answer: int) -> None:
    """Three coils in line, each coupled with each, read the source's inductance."""
    assert input_inductance(L, "1a 3b | 1b=2a 2b=3a") == answer


T_EQUIVALENTS = [  # hook-up of the coils with 1b=2b, and of the separate limbs with all three joined
    ("1a 1b | 1b=2b", "1a 3b | 1b=2b=3a"),
    ("2a 1b | 1b=2b", "2a 3b | 1b=2b=3a"),
    ("1a 2a | 1b=2b", "1a 2a | 1b=2b=3a"),
    ("1a 1b | 1b=2b=2a", "1a 3b | 1b=2b=3a 2a=3b"),
    ("2a 1b | 1b=2b=1a", "2a 3b | 1b=2b=3a 1a=3b"),
    ("1a 1b | 1b=2b 1a=2a", "1a 3b | 1b=2b=3a 1a=2a"),
]


@pytest.mark.parametrize(("coils", "limbs"), T_EQUIVALENTS)
def test_t_equivalent_reads_like_the_coils(coils: str, limbs: str) -> None:
    """Alexander & Sadiku, 5th ed., example 13.5: L1 10, L2 4, M 2 H behave as limbs of 8, 2 and 2 H."""
    separate = [[8, 0, 0], [0, 2, 0], [0, 0, 2]]
    together = input_inductance([[10, 2], [2, 4]], coils)
    assert together == pytest.approx(input_inductance(separate, limbs), rel=1e-15)


def test_limits_of_a_pair() -> None:
    """Common exercise, no primary source: 9 and 16 mH allow M up to 12 mH and a series of 49 mH."""
    least, _ = passive_range(9, 16)
    assert (9 + 16 - least) / 2 == 12
    assert read(9, 16, 12, SA) == 49


def test_parallel_is_largest_before_coupling_is() -> None:
    """Common exercise, no primary source: 9 and 16 mH in parallel peak at 9 mH for M = 9; M = 12 gives 0."""
    L1, L2 = Fraction(9), Fraction(16)
    by_M = {M: input_inductance([[L1, M], [M, L2]], "1a 1b | 1a=2a 1b=2b") for M in map(Fraction, range(13))}
    assert max(by_M, key=lambda M: by_M[M]) == 9
    assert by_M[Fraction(9)] == 9
    assert by_M[Fraction(12)] == 0
