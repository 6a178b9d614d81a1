"""Wirings: the notation, its refusals, nodes, the canonical form, and what each amounts to."""

from collections import Counter
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit.errors import WiringError
from labkit.theory.network import identify
from labkit.theory.wiring import (
    Connection,
    Terminal,
    Wiring,
    all_wirings,
    parse_dots,
    standard_wiring,
    terminals,
)
from labkit.words import theory as words

DOTS = ("1a 2a", "1a 2b", "1b 2a", "1b 2b")


def ends(windings: int) -> st.SearchStrategy[Terminal]:
    """Any terminal of a part."""
    return st.sampled_from(terminals(windings))


def wirings(windings: int) -> st.SearchStrategy[Wiring]:
    """Any wiring of a part: overlapping ties, clips on one node and ties of many ends included."""
    tie = st.lists(ends(windings), min_size=2, max_size=3, unique=True).map(tuple)
    return st.builds(Wiring, st.tuples(ends(windings), ends(windings)), st.lists(tie, max_size=4).map(tuple))


@pytest.mark.parametrize(
    ("text", "notation", "spoken"),
    [
        ("1a 1b", "1a 1b", "clips on 1a and 1b"),
        ("1a 2a | 1b=2b", "1a 2a | 1b=2b", "clips on 1a and 2a, tie 1b to 2b"),
        (" 1A  2a|1b = 2B ", "1a 2a | 1b=2b", "clips on 1a and 2a, tie 1b to 2b"),
        ("1a 1b |", "1a 1b", "clips on 1a and 1b"),
        ("1a 1b | 1a=2a=3a 1b=2b", "1a 1b | 1a=2a=3a 1b=2b", None),
        ("12a 3b", "12a 3b", "clips on 12a and 3b"),
    ],
)
def test_notation_is_read_and_written_back(text: str, notation: str, spoken: str | None) -> None:
    """Blanks and capitals do not matter, and what was read is written one way only."""
    wiring = Wiring.parse(text)
    assert str(wiring) == wiring.notation == notation
    assert spoken is None or wiring.spoken == spoken


def test_a_chain_of_ties_is_spoken_in_one_breath() -> None:
    """Three ends on one tie are read aloud as one chain."""
    assert Wiring.parse("1a 1b | 1a=2a=3a").spoken == "clips on 1a and 1b, tie 1a to 2a to 3a"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", words.EMPTY),
        ("   ", words.EMPTY),
        ("1a", words.CLIPS.format(given="1a", count=1)),
        ("1a 1b 2a", words.CLIPS.format(given="1a 1b 2a", count=3)),
        ("| 1a=1b", words.CLIPS.format(given="| 1a=1b", count=0)),
        ("1a 2a | 1b=2b | 2a=1a", words.BARS.format(given="1a 2a | 1b=2b | 2a=1a")),
        ("1a 2c", words.TERMINAL.format(given="2c")),
        ("0a 1b", words.TERMINAL.format(given="0a")),
        ("a1 1b", words.TERMINAL.format(given="a1")),
        ("１a 1b", words.TERMINAL.format(given="１a")),
        ("100a 1b", words.TERMINAL.format(given="100a")),
        ("1a 1b | 2a=2x", words.TERMINAL.format(given="2x")),
        ("1a 1b | 2a", words.TIE.format(given="2a")),
        ("1a 1b | 2a=", words.TIE.format(given="2a=")),
        ("1a 1b | =", words.TIE.format(given="=")),
        ("1a 1b | 2a==2b", words.TIE.format(given="2a==2b")),
        ("1a 1b | 2a=2a", words.SELF_TIE.format(given="2a=2a")),
        ("1a 1b | 2a=2b=2a", words.SELF_TIE.format(given="2a=2b=2a")),
    ],
)
def test_what_cannot_be_read_is_refused_with_one_sentence(text: str, sentence: str) -> None:
    """Each kind of slip has its own sentence, and the error keeps what was typed."""
    with pytest.raises(WiringError) as caught:
        Wiring.parse(text)
    assert str(caught.value) == sentence
    assert caught.value.given in text
    assert "\n" not in sentence
    assert sentence.endswith(".")


def test_a_winding_that_the_part_lacks_is_refused() -> None:
    """A wiring that names winding 3 of a pair says so, with the terminals there are."""
    wiring = Wiring.parse("1a 3b")
    with pytest.raises(WiringError) as caught:
        wiring.nodes(2)
    assert str(caught.value) == words.WINDINGS.format(given=wiring, winding=3, windings=2)
    assert len(wiring.nodes(3)) == 6


@pytest.mark.parametrize("text", ["1a", "1a 1b", "1a 3a", "1a 2a 2b", "", "1a 2a 3a"])
def test_dots_mark_one_end_of_each_winding(text: str) -> None:
    """Dots that leave a winding out, or mark it twice, are refused with one sentence."""
    with pytest.raises(WiringError) as caught:
        parse_dots(text)
    assert str(caught.value) == words.DOTS.format(given=text, windings=2)


def test_dots_come_in_winding_order() -> None:
    """The order in which dots are typed does not matter."""
    assert parse_dots("2b 1a") == parse_dots("1a 2b") == (Terminal(1, "a"), Terminal(2, "b"))
    assert parse_dots("3a 1b 2b", 3) == (Terminal(1, "b"), Terminal(2, "b"), Terminal(3, "a"))


def test_overlapping_ties_make_one_node() -> None:
    """Ties that share an end join all their ends."""
    nodes = Wiring.parse("1a 1b | 1a=2a 2a=2b").nodes()
    assert [sorted(map(str, node)) for node in nodes] == [["1a", "2a", "2b"], ["1b"]]


def test_canonical_form_sorts_clips_and_ties() -> None:
    """Examples of the one wiring that stands for its equals."""
    assert str(Wiring.parse("2b 1b | 2a=1a").canonical()) == "1b 2b | 1a=2a"
    assert str(Wiring.parse("2a 2b | 2a=1a 1b=2b").canonical()) == "1a 1b | 1a=2a 1b=2b"
    assert str(Wiring.parse("2a 1a | 1a=2a").canonical()) == "1a 1a | 1a=2a"


@given(wirings(2))
def test_canonical_is_idempotent_and_keeps_the_nodes(wiring: Wiring) -> None:
    """Twice canonical is once canonical; nodes and clip nodes are those of the wiring."""
    canonical = wiring.canonical()
    assert canonical.canonical() == canonical
    assert canonical.nodes() == wiring.nodes()
    assert set(canonical.clip_nodes()) == set(wiring.clip_nodes())


@given(wirings(3), st.randoms())
def test_order_of_clips_ties_and_ends_does_not_matter(wiring: Wiring, random: Random) -> None:
    """Clips swapped, ties shuffled and turned round: the canonical form is the same."""
    ties = [tuple(random.sample(tie, len(tie))) for tie in wiring.ties]
    shuffled = Wiring((wiring.clips[1], wiring.clips[0]), tuple(random.sample(ties, len(ties))))
    assert shuffled.canonical(3) == wiring.canonical(3)


@given(wirings(3))
def test_notation_reads_back_to_the_same_wiring(wiring: Wiring) -> None:
    """What is written can be read."""
    assert Wiring.parse(wiring.notation) == wiring


@given(wirings(3), wirings(3))
def test_canonical_forms_differ_where_nodes_or_clips_differ(one: Wiring, other: Wiring) -> None:
    """Two wirings share a canonical form only if they share nodes and clip nodes."""
    same = one.nodes(3) == other.nodes(3) and set(one.clip_nodes(3)) == set(other.clip_nodes(3))
    assert (one.canonical(3) == other.canonical(3)) == same


def test_two_windings_have_31_wirings_with_nine_results() -> None:
    """Counted by result, with dots on ends of the same name and on ends of different names."""
    counted = {
        Connection.OPEN: 9,
        Connection.SELF_1: 5,
        Connection.SELF_2: 5,
        Connection.SERIES_OPPOSING: 2,
        Connection.SERIES_AIDING: 2,
        Connection.SHORT_CIRCUIT_1: 3,
        Connection.SHORT_CIRCUIT_2: 3,
        Connection.PARALLEL_AIDING: 1,
        Connection.PARALLEL_OPPOSING: 1,
    }
    found = list(all_wirings())
    assert len(found) == len(set(found)) == 31
    for dots in DOTS:
        assert Counter(identify(wiring, parse_dots(dots)) for wiring in found) == counted


@pytest.mark.parametrize(("windings", "count"), [(1, 1), (2, 31), (3, 856)])
def test_every_wiring_of_a_part_is_listed_once_in_canonical_form(windings: int, count: int) -> None:
    """The number is the sum over partitions of pairs of blocks (computed for this test from S(2N, b))."""
    found = list(all_wirings(windings))
    assert len(found) == len(set(found)) == count
    assert all(wiring.canonical(windings) == wiring for wiring in found)


@pytest.mark.parametrize("text", ["1a 1a", "1a 1b | 1a=1b", "1a 2a | 1a=1b 1b=2a"])
def test_both_clips_on_one_node_read_the_leads(text: str) -> None:
    """A legal wiring of its own, not among the 31."""
    assert identify(text, parse_dots("1a 2a")) is Connection.LEADS
    assert Wiring.parse(text).canonical() not in set(all_wirings())


@pytest.mark.parametrize("dots", DOTS)
@pytest.mark.parametrize("connection", [c for c in Connection if c is not Connection.OPEN])
def test_standard_wiring_is_recognised(connection: Connection, dots: str) -> None:
    """The usual way to build a connection amounts to that connection, wherever the dots are."""
    wiring = standard_wiring(connection, parse_dots(dots))
    assert wiring is not None
    assert identify(wiring, parse_dots(dots)) is connection
    assert Wiring.parse(wiring.notation) == wiring


def test_there_is_no_usual_way_to_build_an_open_circuit() -> None:
    """`open` has no standard wiring."""
    assert standard_wiring(Connection.OPEN, parse_dots("1a 2a")) is None


@pytest.mark.parametrize("wiring", list(all_wirings()))
def test_moving_one_dot_swaps_aiding_and_opposing_and_nothing_else(wiring: Wiring) -> None:
    """Aiding or opposing comes from the dots; everything else does not depend on them."""
    swapped = {
        Connection.SERIES_AIDING: Connection.SERIES_OPPOSING,
        Connection.SERIES_OPPOSING: Connection.SERIES_AIDING,
        Connection.PARALLEL_AIDING: Connection.PARALLEL_OPPOSING,
        Connection.PARALLEL_OPPOSING: Connection.PARALLEL_AIDING,
    }
    before = identify(wiring, parse_dots("1a 2a"))
    assert identify(wiring, parse_dots("1a 2b")) is swapped.get(before, before)
