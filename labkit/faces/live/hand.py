"""What a hand does to a wiring: tie or untie two ends, move a clip, turn a winding round.

Each function gives a new wiring. Ties are kept as bundles, one for each node of several ends, so that the
same two presses always undo each other's effect.
"""

from dataclasses import replace

from labkit.errors import WiringError
from labkit.theory.wiring import Terminal, Wiring
from labkit.words import wiring as words

Bundle = tuple[Terminal, ...]


def tied(wiring: Wiring, one: Terminal, other: Terminal) -> bool:
    """Whether ties join two ends."""
    return any({one, other} <= set(bundle) for bundle in bundles(wiring.ties))


def tie(wiring: Wiring, one: Terminal, other: Terminal) -> Wiring:
    """The two ends tied; if they were already, `other` is taken off.

    >>> print(tie(Wiring.parse("1a 2a"), Terminal(1, "b"), Terminal(2, "b")))
    1a 2a | 1b=2b
    >>> print(tie(Wiring.parse("1a 2a | 1b=2b=3b"), Terminal(1, "b"), Terminal(2, "b")))
    1a 2a | 1b=3b
    """
    if one == other:
        raise WiringError(words.SELF_TIE.format(given=f"{one}={other}"), f"{one}={other}")
    if not tied(wiring, one, other):
        return replace(wiring, ties=bundles((*wiring.ties, (one, other))))
    left = (tuple(end for end in bundle if end != other) for bundle in bundles(wiring.ties))
    return replace(wiring, ties=tuple(bundle for bundle in left if len(bundle) > 1))


def clip(wiring: Wiring, number: int, terminal: Terminal) -> Wiring:
    """The first (0) or second (1) clip moved to an end.

    >>> print(clip(Wiring.parse("1a 1b"), 1, Terminal(2, "a")))
    1a 2a
    """
    clips = list(wiring.clips)
    clips[number] = terminal
    return replace(wiring, clips=(clips[0], clips[1]))


def turn(wiring: Wiring, winding: int) -> Wiring:
    """Everything on one end of a winding moved to its other end.

    >>> print(turn(Wiring.parse("1a 2a | 1b=2b"), 2))
    1a 2b | 1b=2a
    """

    def moved(end: Terminal) -> Terminal:
        return Terminal(winding, "b" if end.end == "a" else "a") if end.winding == winding else end

    first, second = map(moved, wiring.clips)
    return Wiring((first, second), bundles(tuple(tuple(map(moved, bundle)) for bundle in wiring.ties)))


def bundles(ties: tuple[Bundle, ...]) -> tuple[Bundle, ...]:
    """Ties that share an end as one, all sorted.

    >>> print(*bundles(Wiring.parse("1a 1b | 1a=2a 3b=3a 2a=2b").ties)[0])
    1a 2a 2b
    """
    found: list[set[Terminal]] = []
    for ends in ties:
        touched = [bundle for bundle in found if bundle & set(ends)]
        found = [bundle for bundle in found if bundle not in touched] + [set(ends).union(*touched)]
    return tuple(sorted(tuple(sorted(bundle)) for bundle in found))
