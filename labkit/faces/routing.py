"""Find ways for wires on a grid of tracks: short, straight, and crossing as little as may be.

A grid has columns and rows at nominal places. A wire runs from one point to another along edges between
neighbouring points. Wires of different nets may cross at right angles, at a cost, and never share an edge,
a bend or an end. Each wire takes the cheapest way past those already laid (A* search); the order in which
they are laid is searched with a bound.

Source: C. Y. Lee, IRE Transactions on Electronic Computers EC-10 (1961) 346, for routing on a grid, and
P. E. Hart, N. J. Nilsson, B. Raphael, IEEE Transactions SSC-4 (1968) 100, for A*; both from memory. The costs
are our own.
"""

import heapq
import math
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

Point = tuple[int, int]  # column, row
Path = tuple[Point, ...]
Edge = frozenset[Point]

BEND, CROSSING, SHARING = 3.0, 40.0, 12.0  # in steps between neighbouring tracks
SEARCHES = 60  # ways looked for in one layout before the best order found so far must do
LAST_RESORT = 1000  # and before a layout with no order found at all is given up

ACROSS, DOWN, TURNING = "across", "down", "bend"


@dataclass(frozen=True)
class Wire:
    """What is to be joined; two wires of one net are one piece of metal."""

    name: str
    start: Point
    end: Point
    net: Hashable


@dataclass(frozen=True)
class Grid:
    """Tracks and what stands on them.

    `x`, `y` are the nominal places of columns and rows; `closed` holds edges that no wire may use, `dear` the
    extra cost of an edge, `ends` the points where wires may end and no other wire may pass, with their nets.
    """

    x: tuple[float, ...]
    y: tuple[float, ...]
    closed: frozenset[Edge]
    dear: Mapping[Edge, float]
    ends: Mapping[Point, Hashable]

    @cached_property
    def steps(self) -> dict[Point, list[tuple[Point, float]]]:
        """From each point, the points next to it with the cost of the step."""
        points = [(column, row) for column in range(len(self.x)) for row in range(len(self.y))]
        return {point: list(self._steps_from(point)) for point in points}

    @cached_property
    def doors(self) -> dict[Point, set[Hashable]]:
        """The points next to an end, with the nets that may turn there; others would wall that end in."""
        doors: dict[Point, set[Hashable]] = {}
        for end, net in self.ends.items():
            for point, _ in self.steps[end]:
                doors.setdefault(point, set()).add(net)
        return doors

    def distance(self, one: Point, other: Point) -> float:
        """The least that any way between two points costs."""
        length = abs(self.x[one[0]] - self.x[other[0]]) + abs(self.y[one[1]] - self.y[other[1]])
        return length + BEND * (one[0] != other[0] and one[1] != other[1])

    def _steps_from(self, point: Point) -> Iterable[tuple[Point, float]]:
        column, row = point
        for there in ((column, row - 1), (column + 1, row), (column, row + 1), (column - 1, row)):
            edge = frozenset((point, there))
            inside = 0 <= there[0] < len(self.x) and 0 <= there[1] < len(self.y)
            if inside and edge not in self.closed:
                yield there, self.distance(point, there) + self.dear.get(edge, 0.0)


@dataclass(frozen=True)
class _Laid:
    """Where wires already lie: at each point the nets, and how each goes through."""

    at: dict[Point, list[tuple[Hashable, str]]] = field(default_factory=dict)

    def plus(self, path: Path, net: Hashable) -> "_Laid":
        at = dict(self.at)
        ways = ["end", *(_way(*three) for three in zip(path, path[1:], path[2:], strict=False)), "end"]
        for point, way in zip(path, ways, strict=True):
            at[point] = [*at.get(point, ()), (net, way)]
        return _Laid(at)

    def cost(self, point: Point, way: str, net: Hashable) -> float:
        """What it costs `net` to go through `point` that way; infinite if it may not."""
        total = 0.0
        for other, taken in self.at.get(point, ()):
            if other == net:
                total += SHARING
            else:
                total += CROSSING if _cross(way, taken) else math.inf
        return total


def least(grid: Grid, wires: Sequence[Wire]) -> float:
    """What laying all wires would cost if none were in another's way: a bound for `lay` from below."""
    return sum(_find(grid, wire, _Laid())[0] for wire in wires)


def lay(grid: Grid, wires: Sequence[Wire], bound: float = math.inf) -> tuple[float, dict[str, Path]]:
    """The cheapest way found to lay all wires: its cost and a path for each; none if not below `bound`."""
    alone = {wire.name: _find(grid, wire, _Laid())[0] for wire in wires}
    best: tuple[float, dict[str, Path]] = (bound, {})
    searches = 0

    def extend(laid: _Laid, paths: dict[str, Path], rest: list[Wire], cost: float) -> None:
        nonlocal best, searches
        if cost + sum(alone[wire.name] for wire in rest) >= best[0]:
            return
        if not rest:
            best = (cost, paths)
        for wire in rest:
            if searches >= (SEARCHES if best[0] < math.inf else LAST_RESORT):
                return
            searches += 1
            more, path = _find(grid, wire, laid)
            if path:
                others = [other for other in rest if other is not wire]
                extend(laid.plus(path, wire.net), {**paths, wire.name: path}, others, cost + more)

    extend(_Laid(), {}, sorted(wires, key=lambda wire: -alone[wire.name]), 0.0)
    return best


def corners(path: Path) -> Path:
    """The path without the points where it runs straight on.

    >>> corners(((0, 0), (1, 0), (2, 0), (2, 1)))
    ((0, 0), (2, 0), (2, 1))
    """
    threes = zip(path, path[1:], path[2:], strict=False)
    return (path[0], *(three[1] for three in threes if _way(*three) == TURNING), path[-1])


def crossings(path: Path, others: Iterable[Path]) -> list[Point]:
    """The points where `path` and any of `others` run straight through each other at right angles."""
    laid = _Laid()
    for other in others:
        laid = laid.plus(other, None)
    return [
        three[1]
        for three in zip(path, path[1:], path[2:], strict=False)
        if any(_cross(_way(*three), taken) for _, taken in laid.at.get(three[1], ()))
    ]


def edges(path: Path) -> list[Edge]:
    """The steps of a path, without direction."""
    return [frozenset(step) for step in pairwise(path)]


def _way(before: Point, here: Point, after: Point) -> str:
    if before[1] == here[1] == after[1]:
        return ACROSS
    return DOWN if before[0] == here[0] == after[0] else TURNING


def _cross(way: str, taken: str) -> bool:
    return (way, taken) in ((ACROSS, DOWN), (DOWN, ACROSS))


def _find(grid: Grid, wire: Wire, laid: _Laid) -> tuple[float, Path]:
    """The cheapest path of one wire past those laid, by (point before, point); () if there is none."""
    queue: list[tuple[float, float, Path]] = [(grid.distance(wire.start, wire.end), 0.0, (wire.start,))]
    seen: set[Path] = set()
    while queue:
        _, cost, path = heapq.heappop(queue)
        here = path[-1]
        if here == wire.end:
            return cost, path
        if path[-2:] in seen:
            continue
        seen.add(path[-2:])
        for there, step in grid.steps[here]:
            if there in path or (there in grid.ends and there != wire.end):
                continue
            total = cost + step + (_passing(grid, wire, laid, (path[-2], here, there)) if path[1:] else 0.0)
            if total < math.inf:
                heapq.heappush(queue, (total + grid.distance(there, wire.end), total, (*path, there)))
    return math.inf, ()


def _passing(grid: Grid, wire: Wire, laid: _Laid, three: tuple[Point, Point, Point]) -> float:
    way = _way(*three)
    cost = laid.cost(three[1], way, wire.net) if three[1] in laid.at else 0.0
    if way != TURNING:
        return cost
    return cost + (BEND if grid.doors.get(three[1], set()) <= {wire.net} else math.inf)
