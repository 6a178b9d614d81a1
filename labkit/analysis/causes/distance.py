"""How far a wiring is from the one that was meant, counted in slips of a hand."""

from functools import cache
from itertools import product

from labkit.theory.network import identify
from labkit.theory.wiring import Node, Terminal, Wiring, all_wirings

Canonical = tuple[tuple[Node, ...], frozenset[Node]]


def slips(intended: Wiring, built: Wiring) -> int:
    """Fewest slips that turn one wiring of two windings into another.

    A slip is a clip put elsewhere, a tie left out or added, or one winding connected the wrong way round.

    >>> slips(Wiring.parse("1a 2b | 1b=2a"), Wiring.parse("1a 2a | 1b=2b"))
    1
    """
    return _slips(intended.canonical(), built.canonical())


@cache
def _slips(intended: Wiring, built: Wiring) -> int:
    turned = product((False, True), repeat=2)
    return min(sum(turn) + _moves(_turn(intended, turn), built) for turn in turned)


def _turn(wiring: Wiring, turn: tuple[bool, ...]) -> Wiring:
    """The wiring with the ends of some windings exchanged."""

    def other(t: Terminal) -> Terminal:
        return Terminal(t.winding, "ab"[t.end == "a"]) if turn[t.winding - 1] else t

    first, second = map(other, wiring.clips)
    return Wiring((first, second), tuple(tuple(map(other, tie)) for tie in wiring.ties))


def _moves(one: Wiring, other: Wiring) -> int:
    nodes, more = set(one.nodes()), set(other.nodes())
    common = {a & b for a in nodes for b in more} - {frozenset()}
    ties = 2 * len(common) - len(nodes) - len(more)
    first, second = other.clip_nodes()
    clips = min(
        sum(clip not in node for clip, node in zip(one.clips, order, strict=True))
        for order in ((first, second), (second, first))
    )
    return ties + clips


connection_of = cache(identify)  # the same few wirings are asked for again and again


@cache
def built_instead(intended: Wiring) -> tuple[tuple[Wiring, int], ...]:
    """Every other wiring of two windings with its distance in slips, the nearest first."""
    here = intended.canonical()
    found = [(wiring, slips(here, wiring)) for wiring in all_wirings() if wiring != here]
    return tuple(sorted(found, key=lambda pair: (pair[1], pair[0].notation)))
