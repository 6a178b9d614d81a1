"""What is clamped to what: clips, ties, and the nodes they make.

Notation, as read aloud at the bench: the two clips of the meter, a bar, then the ties.

    1a 1b                one winding
    1a 2b | 1b=2a        in line            1a 2a | 1b=2b        in line, one winding reversed
    1a 1b | 1a=2a 1b=2b  side by side       1a 1b | 1a=2b 1b=2a  side by side, one winding reversed
    1a 1b | 2a=2b        the other winding shorted

A terminal is a winding's number and its end, `a` or `b`. Where the dots are is a property of the part;
whether a wiring aids or opposes is derived from both (`labkit.theory.network.identify`).
"""

import itertools
import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from labkit.errors import WiringError
from labkit.words import theory as words


class Connection(StrEnum):
    """What a wiring of two windings amounts to, seen from the clips."""

    SELF_1 = "self_inductance_1"
    SELF_2 = "self_inductance_2"
    SERIES_AIDING = "series_aiding"
    SERIES_OPPOSING = "series_opposing"
    PARALLEL_AIDING = "parallel_aiding"
    PARALLEL_OPPOSING = "parallel_opposing"
    SHORT_CIRCUIT_1 = "short_circuit_1"
    SHORT_CIRCUIT_2 = "short_circuit_2"
    OPEN = "open"
    LEADS = "leads"


class Terminal(NamedTuple):
    """One end of one winding."""

    winding: int
    end: str

    def __str__(self) -> str:
        return f"{self.winding}{self.end}"

    @classmethod
    def parse(cls, text: str) -> "Terminal":
        """Read `1a`; raises WiringError for anything else."""
        match = re.fullmatch(r"([1-9][0-9]?)([ab])", text.lower(), re.ASCII)
        if match is None:
            raise WiringError(words.TERMINAL.format(given=text), text)
        return cls(int(match[1]), match[2])


Node = frozenset[Terminal]


@dataclass(frozen=True)
class Wiring:
    """Two clips and some ties; `Wiring.parse` reads the notation.

    >>> print(Wiring.parse("1a 2a | 1b=2b").spoken)
    clips on 1a and 2a, tie 1b to 2b
    """

    clips: tuple[Terminal, Terminal]
    ties: tuple[tuple[Terminal, ...], ...] = ()

    @classmethod
    def parse(cls, text: "str | Wiring") -> "Wiring":
        """Read the notation; raises WiringError with one sentence if it cannot be read."""
        if isinstance(text, Wiring):
            return text
        if not isinstance(text, str):
            raise WiringError(words.NO_TEXT.format(given=type(text).__name__), str(text))
        if not text.strip():
            raise WiringError(words.EMPTY, text)
        clip_text, *tie_texts = text.split("|")
        if len(tie_texts) > 1:
            raise WiringError(words.BARS.format(given=text), text)
        clips = [Terminal.parse(word) for word in clip_text.split()]
        if len(clips) != 2:
            raise WiringError(words.CLIPS.format(given=text, count=len(clips)), text)
        ties = re.sub(r"\s*=\s*", "=", "".join(tie_texts)).split()
        return cls((clips[0], clips[1]), tuple(_tie(tie) for tie in ties))

    @property
    def notation(self) -> str:
        """The wiring as written at the bench, clips first."""
        clips = " ".join(map(str, self.clips))
        ties = " ".join("=".join(map(str, tie)) for tie in self.ties)
        return f"{clips} | {ties}" if ties else clips

    @property
    def spoken(self) -> str:
        """The wiring as read aloud."""
        parts = [words.SPOKEN.format(first=self.clips[0], second=self.clips[1])]
        parts += [words.SPOKEN_TIE.format(chain=" to ".join(map(str, tie))) for tie in self.ties]
        return ", ".join(parts)

    @property
    def highest_winding(self) -> int:
        """The largest winding number that the wiring mentions."""
        return max(t.winding for t in (*self.clips, *itertools.chain(*self.ties)))

    def nodes(self, windings: int = 2) -> tuple[Node, ...]:
        """The partition of all `2 * windings` terminals into nodes, sorted; WiringError if one is unknown."""
        if self.highest_winding > windings:
            raise WiringError(
                words.WINDINGS.format(given=self, winding=self.highest_winding, windings=windings),
                self.notation,
            )
        nodes = [{terminal} for terminal in terminals(windings)]
        for tie in self.ties:
            touched = [node for node in nodes if node & set(tie)]
            nodes = [node for node in nodes if node not in touched] + [set().union(*touched)]
        return tuple(sorted((frozenset(node) for node in nodes), key=sorted))

    def clip_nodes(self, windings: int = 2) -> tuple[Node, Node]:
        """The nodes under the first and the second clip; the same node twice if they are tied together."""
        nodes = self.nodes(windings)
        first, second = (next(node for node in nodes if clip in node) for clip in self.clips)
        return first, second

    def canonical(self, windings: int = 2) -> "Wiring":
        """The one wiring that stands for all with the same nodes and the same pair of clip nodes.

        >>> print(Wiring.parse("2b 1b | 2a=1a").canonical())
        1b 2b | 1a=2a
        """
        first, second = sorted(min(node) for node in self.clip_nodes(windings))
        ties = tuple(tuple(sorted(node)) for node in self.nodes(windings) if len(node) > 1)
        return Wiring((first, second), ties)

    def __str__(self) -> str:
        return self.notation


def terminals(windings: int) -> tuple[Terminal, ...]:
    """All terminals of a part: 1a, 1b, 2a, ..."""
    return tuple(Terminal(w, end) for w in range(1, windings + 1) for end in "ab")


def parse_dots(text: str, windings: int = 2) -> tuple[Terminal, ...]:
    """The dotted end of each winding, in winding order, from text such as `1a 2a`."""
    dots = sorted(Terminal.parse(word) for word in text.split())
    if [dot.winding for dot in dots] != list(range(1, windings + 1)):
        raise WiringError(words.DOTS.format(given=text, windings=windings), text)
    return tuple(dots)


def dotted_ends(dots: str | tuple[Terminal, ...] | None, windings: int) -> tuple[Terminal, ...] | None:
    """The dotted ends in winding order, from text or terminals; None stays None (not known)."""
    return (
        None
        if dots is None
        else parse_dots(dots if isinstance(dots, str) else " ".join(map(str, dots)), windings)
    )


def all_wirings(windings: int = 2) -> Iterator[Wiring]:
    """Every wiring of a part in canonical form, clips on distinct nodes: 31 of them for two windings.

    >>> len(list(all_wirings(2)))
    31
    """
    for nodes in _partitions(list(terminals(windings))):
        ties = tuple(tuple(sorted(node)) for node in sorted(map(sorted, nodes)) if len(node) > 1)
        for pair in itertools.combinations(sorted(min(node) for node in nodes), 2):
            yield Wiring(pair, ties)


def standard_wiring(connection: Connection, dots: tuple[Terminal, ...]) -> Wiring | None:
    """The usual way to build a connection of a pair with these dots; None for `open`.

    >>> print(standard_wiring(Connection.SERIES_OPPOSING, parse_dots("1a 2b")))
    1a 2b | 1b=2a
    """
    dot1, dot2 = dots
    far1, far2 = (Terminal(t.winding, "b" if t.end == "a" else "a") for t in dots)
    usual = {
        Connection.SELF_1: Wiring((dot1, far1)),
        Connection.SELF_2: Wiring((dot2, far2)),
        Connection.SERIES_AIDING: Wiring((dot1, far2), ((far1, dot2),)),
        Connection.SERIES_OPPOSING: Wiring((dot1, dot2), ((far1, far2),)),
        Connection.PARALLEL_AIDING: Wiring((dot1, far1), ((dot1, dot2), (far1, far2))),
        Connection.PARALLEL_OPPOSING: Wiring((dot1, far1), ((dot1, far2), (far1, dot2))),
        Connection.SHORT_CIRCUIT_1: Wiring((dot1, far1), ((dot2, far2),)),
        Connection.SHORT_CIRCUIT_2: Wiring((dot2, far2), ((dot1, far1),)),
        Connection.LEADS: Wiring((dot1, dot1)),
    }
    return usual.get(connection)


def _tie(text: str) -> tuple[Terminal, ...]:
    tie = tuple(Terminal.parse(word) for word in text.split("=") if word)
    if len(tie) < 2 or "" in text.split("="):
        raise WiringError(words.TIE.format(given=text), text)
    if len(set(tie)) < len(tie):
        raise WiringError(words.SELF_TIE.format(given=text), text)
    return tie


def _partitions(items: list[Terminal]) -> Iterator[list[list[Terminal]]]:
    if not items:
        yield []
        return
    head, *rest = items
    for partition in _partitions(rest):
        yield [[head], *partition]
        for i, block in enumerate(partition):
            yield [*partition[:i], [head, *block], *partition[i + 1 :]]
