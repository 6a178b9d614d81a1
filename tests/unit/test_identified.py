"""What too few readings leave open, and which further reading settles it."""

import pytest

from labkit.analysis.joint_fit import QUANTITIES, unidentified
from labkit.theory.wiring import Connection

C = Connection


def test_two_windings_alone_say_nothing_about_what_they_share() -> None:
    """L1 and L2 leave every joint quantity open, and any one joint reading settles all of them."""
    left = unidentified([C.SELF_1, C.SELF_2])
    assert set(left.quantities) == set(QUANTITIES) - {"self_inductance_1", "self_inductance_2"}
    joint = {C.SERIES_AIDING, C.SERIES_OPPOSING, C.PARALLEL_AIDING, C.PARALLEL_OPPOSING}
    assert set(left.either) == joint | {C.SHORT_CIRCUIT_1, C.SHORT_CIRCUIT_2}
    assert left.either[0] is C.SERIES_OPPOSING


def test_both_in_line_give_m_and_not_k() -> None:
    """A and B give M = (A - B)/4; k needs one winding alone, or the quarter law's mismatch from P+ or P-."""
    left = unidentified([C.SERIES_AIDING, C.SERIES_OPPOSING])
    assert "mutual_inductance" not in left.quantities
    assert {C.SELF_1, C.SELF_2, C.PARALLEL_AIDING} <= set(left.quantities["coupling_coefficient"])


def test_short_circuit_tests_of_one_product_close_a_loop() -> None:
    """Lsc1 L2 = Lsc2 L1: a reading that the closure already gives adds nothing, and is not advised."""
    read = [C.SELF_1, C.SHORT_CIRCUIT_1]
    before = unidentified(read)
    assert "coupling_coefficient" not in before.quantities  # Lsc1/L1 = 1 - k²
    assert C.SELF_2 in before.either
    three = unidentified([C.SELF_1, C.SELF_2, C.SHORT_CIRCUIT_1])
    assert three.quantities == {}
    assert three.sentence == ""


def test_quarter_law_leaves_one_side_by_side_reading_without_news() -> None:
    """A, B and P+ identify the pair, since P- = P+ B / A; B and P- alone leave the windings open."""
    assert unidentified([C.SERIES_AIDING, C.SERIES_OPPOSING, C.PARALLEL_AIDING]).quantities == {}
    left = unidentified([C.SERIES_OPPOSING, C.PARALLEL_OPPOSING])
    assert set(left.quantities) >= {"self_inductance_1", "mutual_inductance", "series_aiding"}


def test_nothing_read_needs_three() -> None:
    """Without any reading all is open, and three readings are named that settle it."""
    left = unidentified([])
    assert set(left.quantities) == set(QUANTITIES)
    assert left.either == ()
    assert left.all_of == (C.SELF_1, C.SELF_2, C.SERIES_OPPOSING)


@pytest.mark.parametrize("read", [[C.SELF_1], [C.SELF_1, C.SELF_2]])
def test_sentence_names_what_is_open_and_what_settles_it(read: list[C]) -> None:
    """The sentence names k among what is open, and series-opposing among what would settle it."""
    sentence = unidentified(read).sentence
    assert "M, k and what follows from them" in sentence
    assert "series-opposing" in sentence
