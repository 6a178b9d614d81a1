"""What a wiring is called and what it does."""

import pytest

from labkit.faces.wiring_name import ALIKE, UNLIKE, connections, name, remarks
from labkit.theory.derivation import derive
from labkit.theory.wiring import Connection, Wiring, all_wirings, parse_dots
from labkit.words import labels
from labkit.words import widgets as words

PAIRS = list(all_wirings())


@pytest.mark.parametrize("wiring", PAIRS, ids=str)
def test_a_pair_is_called_what_its_derivation_finds(wiring: Wiring) -> None:
    """For like, unlike and unknown dots the names are those of the derivation, which uses another way."""
    for dots in (ALIKE, UNLIKE, None):
        assert connections(wiring, dots) == derive(wiring, dots=dots).connections
    assert name(wiring, ALIKE) == labels.CONNECTION[connections(wiring, ALIKE)[0]]


def test_unknown_dots_leave_both_names() -> None:
    """The name says both, and the remark that the dots decide."""
    wiring = Wiring.parse("1a 1b | 1a=2a 1b=2b")
    assert name(wiring) == "parallel-aiding or parallel-opposing: the dots decide"
    assert remarks(wiring) == (words.DOTS_DECIDE.format(alike="parallel-aiding", unlike="parallel-opposing"),)


@pytest.mark.parametrize("wiring", PAIRS, ids=str)
def test_a_winding_is_idle_exactly_where_one_alone_is_read(wiring: Wiring) -> None:
    """The remark that a reading says nothing about coupling stands at one winding alone and nowhere else."""
    (found,) = connections(wiring, ALIKE)
    alone = found in (Connection.SELF_1, Connection.SELF_2)
    other = 2 if found is Connection.SELF_1 else 1
    assert (words.IDLE.format(number=other) in remarks(wiring, ALIKE)) is alone
    assert any("nothing about coupling" in each for each in remarks(wiring, ALIKE)) is alone


@pytest.mark.parametrize(
    ("notation", "said"),
    [
        ("1a 2a", (words.REMARKS["open"],)),
        ("1a 2a | 2a=2b", (words.REMARKS["open"], "Winding 2 is shorted.")),
        ("1a 1a", (words.REMARKS["leads"],)),
        ("1a 1b | 1a=1b", (words.REMARKS["leads"], "Winding 1 is shorted.")),
        ("1a 1b | 2a=2b", (words.REMARKS["short_circuit_1"],)),
    ],
)
def test_open_leads_and_shorts_are_said_plainly(notation: str, said: tuple[str, ...]) -> None:
    """An open circuit, the leads, and every shorted winding have a sentence."""
    assert remarks(Wiring.parse(notation), ALIKE) == said


@pytest.mark.parametrize(
    ("notation", "called"),
    [
        ("1a 2a", "an open circuit"),
        ("1a 1b | 1a=1b", "the leads alone"),
        ("3a 3b", "winding 3 alone"),
        ("1a 1b | 2a=2b 3a=3b", "winding 1 alone (2 and 3 shorted)"),
        ("1a 3b | 1b=2a 2b=3a", "windings 1, 2 and 3 in line"),
        ("1a 3a | 1b=2a 2b=3b", "windings 1, 2 and 3 in line, 3 reversed"),
        ("1a 1b | 1a=2a=3a 1b=2b=3b", "windings 1, 2 and 3 side by side"),
        ("1a 1b | 1a=2b=3a 1b=2a=3b", "windings 1, 2 and 3 side by side, 2 reversed"),
        ("1a 3b | 1b=2b=3a 1a=2a", "a network of windings 1, 2 and 3"),
        ("1a 1b | 2a=3a 2b=3b", "winding 1 alone, windings 2 and 3 in a closed loop"),
    ],
)
def test_three_windings_are_told_by_their_shape(notation: str, called: str) -> None:
    """In line, side by side, a network; with what is reversed, shorted, or closed on itself."""
    assert name(Wiring.parse(notation), parse_dots("1a 2a 3a", 3), 3) == called


def test_reversed_goes_by_the_dots_and_is_not_claimed_without_them() -> None:
    """The same clamps are reversed or not as the dots lie; with unknown dots nothing is said."""
    wiring = Wiring.parse("1a 3a | 1b=2a 2b=3b")
    assert name(wiring, parse_dots("1a 2a 3b", 3), 3) == "windings 1, 2 and 3 in line"
    assert name(wiring, None, 3) == "windings 1, 2 and 3 in line"


def test_idle_and_shorted_windings_of_many_are_listed() -> None:
    """Each has its sentence."""
    wiring = Wiring.parse("1a 1b | 2a=2b")
    assert remarks(wiring, None, 3) == ("Winding 3 carries no current here.", "Winding 2 is shorted.")
