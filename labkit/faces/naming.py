"""What a wiring is called and what it does, in words, for any number of windings.

Two windings have the names of `Connection`; more are told by what the forward model finds: windings in
line, side by side, or a network, and which of them are shorted, closed in a loop, or idle.
"""

from dataclasses import dataclass, field

from labkit.faces.drawing import listed
from labkit.theory.network import identify, path_and_loops
from labkit.theory.wiring import Connection, Terminal, Wiring
from labkit.words import board as words
from labkit.words import labels

Dots = tuple[Terminal, ...] | None
ALIKE, UNLIKE = (Terminal(1, "a"), Terminal(2, "a")), (Terminal(1, "a"), Terminal(2, "b"))


def connections(wiring: Wiring, dots: Dots) -> tuple[Connection, ...]:
    """What a wiring of two windings amounts to: one connection, or two if the unknown dots decide."""
    return tuple(dict.fromkeys(identify(wiring, each) for each in ([dots] if dots else [ALIKE, UNLIKE])))


def name(wiring: Wiring, dots: Dots = None, windings: int = 2) -> str:
    """What is built, in a few words.

    >>> name(Wiring.parse("1a 2a | 1b=2b"), ALIKE), name(Wiring.parse("1a 2b | 1b=2a 3a=3b"), None, 3)
    ('series-opposing', 'windings 1 and 2 in line (3 shorted)')
    """
    if windings != 2:
        return _name_of_many(wiring, dots, windings)
    found = [labels.CONNECTION[each] for each in connections(wiring, dots)]
    return found[0] if len(found) == 1 else words.DECIDED_BY_DOTS.format(alike=found[0], unlike=found[1])


def remarks(wiring: Wiring, dots: Dots = None, windings: int = 2) -> tuple[str, ...]:
    """What the wiring does, and which windings are shorted or idle, one sentence each."""
    shape = Shape.of(wiring, windings)
    if shape is None:
        return (words.REMARKS["open"], *_shorted(wiring, windings))
    if not shape.carrying:
        return (words.REMARKS["leads"], *_shorted(wiring, windings))
    idle = [w for w in range(1, windings + 1) if w not in (*shape.carrying, *shape.shorted, *shape.closed)]
    if windings != 2:
        said = [words.IDLE_MANY.format(number=w) for w in idle]
        return (*said, *(words.SHORTED_ONE.format(number=w) for w in shape.shorted))
    if idle:
        return (words.IDLE.format(number=idle[0]),)
    found = connections(wiring, dots)
    if len(found) > 1:
        alike, unlike = (labels.CONNECTION[each] for each in found)
        return (words.DOTS_DECIDE.format(alike=alike, unlike=unlike),)
    return (words.REMARKS[found[0]],)


def _shorted(wiring: Wiring, windings: int) -> tuple[str, ...]:
    nodes = wiring.nodes(windings)
    both = [{Terminal(w, "a"), Terminal(w, "b")} for w in range(1, windings + 1)]
    shorted = [w for w, ends in enumerate(both, 1) if any(ends <= node for node in nodes)]
    return tuple(words.SHORTED_ONE.format(number=w) for w in shorted)


@dataclass(frozen=True)
class Shape:
    """Which windings do what, by the loops that the forward model finds.

    Attributes
    ----------
    carrying : windings between the clips
    signs : of the meter's current in a winding in line, from end a to end b
    meshed : whether some loop shares a winding with the way from clip to clip
    shorted, closed : windings with both ends on one node; windings in a loop of their own
    """

    carrying: tuple[int, ...]
    signs: dict[int, int]
    meshed: bool
    shorted: tuple[int, ...] = ()
    closed: tuple[int, ...] = field(default=())

    @classmethod
    def of(cls, wiring: Wiring, windings: int) -> "Shape | None":
        """The shape of a wiring, None if no winding leads from clip to clip."""
        found = path_and_loops(wiring, windings)
        if found is None:
            return None
        path, loops = found
        carrying = {w for w, sign in enumerate(path, 1) if sign}
        rings = [{w for w, sign in enumerate(loop, 1) if sign} for loop in loops]
        shorted = sorted(w for ring in rings if len(ring) == 1 for w in ring)
        rings = [ring for ring in rings if len(ring) > 1]
        meshed = False
        while touching := [ring for ring in rings if ring & carrying]:
            meshed = True
            carrying |= set().union(*touching)
            rings = [ring for ring in rings if ring not in touching]
        signs = {w: sign for w, sign in enumerate(path, 1) if sign}
        closed = sorted(set().union(*rings)) if rings else []
        return cls(tuple(sorted(carrying)), signs, meshed, tuple(shorted), tuple(closed))


def _name_of_many(wiring: Wiring, dots: Dots, windings: int) -> str:
    shape = Shape.of(wiring, windings)
    if shape is None:
        return words.OPEN
    if not shape.carrying:
        return words.LEADS
    told = words.WINDINGS if len(shape.carrying) > 1 else words.WINDING
    windings_told = told.format(windings=listed(shape.carrying))
    signs = shape.signs
    if len(shape.carrying) == 1:
        said = words.ALONE.format(windings=shape.carrying[0])
    elif not shape.meshed:
        said = words.IN_LINE.format(windings=windings_told)
    elif signs := _beside(wiring, windings, shape.carrying):
        said = words.SIDE_BY_SIDE.format(windings=windings_told)
    else:
        said = words.NETWORK.format(windings=windings_told)
    said += _reversed(signs, dots)
    said += words.SHORTED.format(windings=listed(shape.shorted)) if shape.shorted else ""
    loop = words.WINDINGS.format(windings=listed(shape.closed))
    return said + (words.CLOSED.format(windings=loop) if shape.closed else "")


def _beside(wiring: Wiring, windings: int, carrying: tuple[int, ...]) -> dict[int, int]:
    """+1 for a winding with end a under the first clip, -1 with end b; empty if one lies elsewhere."""
    first, second = wiring.clip_nodes(windings)
    node_of = {terminal: node for node in wiring.nodes(windings) for terminal in node}
    lying = {w: (node_of[Terminal(w, "a")], node_of[Terminal(w, "b")]) for w in carrying}
    if not all({*nodes} == {first, second} for nodes in lying.values()):
        return {}
    return {w: 1 if nodes[0] == first else -1 for w, nodes in lying.items()}


def _reversed(signs: dict[int, int], dots: Dots) -> str:
    """Which windings lie the other way round than the first of them, as the dots have it."""
    if dots is None or len(signs) < 2:
        return ""
    ways = {w: sign * (1 if dots[w - 1].end == "a" else -1) for w, sign in signs.items()}
    first = ways[min(ways)]
    turned = [w for w, way in sorted(ways.items()) if way != first]
    return words.REVERSED.format(windings=listed(turned)) if turned else ""
