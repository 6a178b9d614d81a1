"""What a hand does to a wiring: ties, clips, turning a winding round."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit.errors import WiringError
from labkit.faces.wiring_name import TURNED
from labkit.theory.network import identify
from labkit.theory.wiring import Terminal, Wiring, all_wirings, parse_dots, terminals
from labkit.widgets import boards as hand

ENDS = st.sampled_from(terminals(3))
TIES = st.lists(st.lists(ENDS, min_size=2, max_size=4, unique=True).map(tuple), max_size=4).map(tuple)
WIRINGS = st.builds(Wiring, st.tuples(ENDS, ENDS), TIES)


@given(WIRINGS, ENDS, ENDS)
def test_tying_joins_what_was_apart_and_parts_what_was_joined(
    wiring: Wiring, one: Terminal, other: Terminal
) -> None:
    """After a tie two ends are on one node if and only if they were not before."""
    if one == other:
        return

    def joined(built: Wiring) -> bool:
        return any({one, other} <= node for node in built.nodes(3))

    assert joined(hand.tie(wiring, one, other)) is not joined(wiring)
    assert hand.tied(wiring, one, other) is joined(wiring)


@given(WIRINGS, ENDS, ENDS)
def test_untying_takes_off_the_second_end_and_no_other(
    wiring: Wiring, one: Terminal, other: Terminal
) -> None:
    """All other ends stay joined as they were, and the second end is joined to none."""
    if one == other or not hand.tied(wiring, one, other):
        return
    left = hand.tie(wiring, one, other).nodes(3)
    assert frozenset({other}) in left
    assert {node - {other} for node in wiring.nodes(3)} - {frozenset()} == set(left) - {frozenset({other})}


@given(WIRINGS)
def test_bundles_say_the_same_as_the_ties(wiring: Wiring) -> None:
    """Ties that share ends become one; the nodes stay what they were, and no end is named twice."""
    bundled = hand.bundles(wiring.ties)
    assert Wiring(wiring.clips, bundled).nodes(3) == wiring.nodes(3)
    named = list(itertools.chain(*bundled))
    assert len(named) == len(set(named))


def test_an_end_cannot_be_tied_to_itself() -> None:
    """One sentence, and no wiring comes back."""
    with pytest.raises(WiringError, match="ties a terminal to itself"):
        hand.tie(Wiring.parse("1a 1b"), Terminal(1, "a"), Terminal(1, "a"))


@pytest.mark.parametrize(("number", "notation"), [(0, "2b 1b | 1a=2a"), (1, "1a 2b | 1a=2a")])
def test_a_clip_moves_and_everything_else_stays(number: int, notation: str) -> None:
    """Clip 0 is the first, clip 1 the second; ties are not touched."""
    assert str(hand.clip(Wiring.parse("1a 1b | 1a=2a"), number, Terminal(2, "b"))) == notation


@given(WIRINGS, st.integers(1, 3))
def test_turning_a_winding_twice_changes_nothing(wiring: Wiring, winding: int) -> None:
    """Nodes and clips are those of the beginning."""
    twice = hand.turn(hand.turn(wiring, winding), winding)
    assert (twice.clips, twice.nodes(3)) == (wiring.clips, wiring.nodes(3))


@pytest.mark.parametrize("winding", [1, 2])
def test_turning_a_winding_swaps_aiding_and_opposing_and_nothing_else(winding: int) -> None:
    """Over all 31 wirings of a pair the forward model finds exactly the swaps that the board shows."""
    dots = parse_dots("1a 2a")
    for wiring in all_wirings():
        before, after = (identify(each, dots) for each in (wiring, hand.turn(wiring, winding)))
        assert after is TURNED.get(before, before), wiring
