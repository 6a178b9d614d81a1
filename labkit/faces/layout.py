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
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from itertools import pairwise

from labkit.errors import EntryError
from labkit.faces.plot import Spot, text_width
from labkit.theory.wiring import Node, Terminal, Wiring

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


# Where a wiring goes on the grid: windings side by side, free tracks round them, the meter at one side.
#
# Ends a lie above, ends b below. Every zone has more tracks than it needs; those left unused vanish when
# the drawing gets its measures. The meter goes to the side from which everything is laid most cheaply.

SIDES = {"left": 0.0, "top": 1.0, "right": 2.0, "bottom": 3.0}  # what it costs to leave the usual place
TRACKS = (3, 6, 12)  # in every zone; more if it is crowded
BESIDE_CORE = 5.0  # a wire between winding and core is clear, but one outside is clearer
STEPS = {"winding": 3.0, "label": 5.0, "core": 2.0, "pin": 2.0, "track": 1.0, "meter": 3.0}


@dataclass(frozen=True)
class Placement:
    """A laid wiring: named columns and rows, and one path for each wire.

    Wires are named `tie-0-0` (first tie, first length of wire) and `clip-0`. Columns are named `w1` (a
    winding), `left-0`, `right-0` (tracks outside), `after1-0`, `before2-0` (tracks between winding and core),
    `pin-0` (of a meter above or below), `meter-left`; rows `a`, `b`, `top-0`, `bottom-0`, `pin-0` (of a meter
    at the left or right), `meter-top`.
    """

    side: str
    columns: tuple[str, ...]
    rows: tuple[str, ...]
    paths: dict[str, Path]
    nets: dict[str, Hashable]

    def used(self) -> tuple[set[str], set[str]]:
        """The columns and rows along which, or to which, some wire runs."""
        points = [point for path in self.paths.values() for point in corners(path)]
        return {self.columns[column] for column, _ in points}, {self.rows[row] for _, row in points}


@dataclass(frozen=True)
class _Board:
    columns: tuple[str, ...]
    rows: tuple[str, ...]

    def point(self, column: str, row: str) -> Point:
        return self.columns.index(column), self.rows.index(row)

    def terminal(self, terminal: Terminal) -> Point:
        return self.point(f"w{terminal.winding}", terminal.end)


@lru_cache(maxsize=256)
def place(wiring: Wiring, windings: int, *, inside: bool = True) -> Placement:
    """The best place found for the meter and every wire; the same for the same wiring, always.

    `inside` says whether a wire may run between a winding and its core; on a ring there is no such way.
    Raises EntryError if the wiring is too crowded to be drawn without a false joint.
    """
    for tracks in TRACKS:
        if best := _best(_board(windings, tracks, tracks * inside), wiring, windings):
            return best
    raise EntryError(
        f"The wiring {wiring.notation} has so many ties that it cannot be drawn clearly; "
        "leave out ties that join what is joined already.",
        wiring.notation,
    )


def _best(board: _Board, wiring: Wiring, windings: int) -> Placement | None:
    """The cheapest layout over all places of the meter, most promising first; None if none is found."""
    node_of = {terminal: node for node in wiring.nodes(windings) for terminal in node}
    ends = {board.terminal(terminal): node for terminal, node in node_of.items()}
    ties = [
        Wire(name, board.terminal(start), board.terminal(end), node_of[start])
        for name, (start, end) in _lengths(wiring).items()
    ]
    bare = _grid(board, ends)
    trials = []
    for side, pins in _meters(board, windings):
        clips = [
            Wire(f"clip-{i}", board.terminal(clip), pin, node_of[clip])
            for i, (clip, pin) in enumerate(zip(wiring.clips, pins, strict=True))
        ]
        grid = replace(bare, ends={**ends, **{wire.end: wire.net for wire in clips}})
        trials.append((least(grid, clips) + SIDES[side], side, grid, [*ties, *clips]))
    best, bound = None, math.inf
    for _, side, grid, wires in sorted(trials, key=lambda trial: trial[0]):
        cost, paths = lay(grid, wires, bound - SIDES[side])
        if paths:
            bound = cost + SIDES[side]
            nets = {wire.name: wire.net for wire in wires}
            best = Placement(side, board.columns, board.rows, paths, nets)
    return best


def _lengths(wiring: Wiring) -> dict[str, tuple[Terminal, Terminal]]:
    """Each tie as lengths of wire between two ends, nearest first, so that a tie of n ends has n - 1."""
    lengths = {}
    for i, tie in enumerate(wiring.ties):
        inside, outside = [tie[0]], list(tie[1:])
        for j in range(len(tie) - 1):
            pairs = [(here, there) for here in inside for there in outside]
            start, end = min(pairs, key=lambda pair: (_apart(*pair), pair))
            lengths[f"tie-{i}-{j}"] = (start, end)
            inside.append(end)
            outside.remove(end)
    return lengths


def _apart(one: Terminal, other: Terminal) -> float:
    return 2.0 * abs(one.winding - other.winding) + 3.0 * (one.end != other.end)


def _board(windings: int, tracks: int, inside: int) -> _Board:
    """Columns and rows with so many tracks in each zone outside, and between each winding and its core."""
    columns = ["meter-left", *(f"left-{i}" for i in reversed(range(tracks))), "w1"]
    for w in range(1, windings + 1):
        columns += [f"after{w}-{i}" for i in range(inside)] if w < windings or w == 1 else []
        columns += ["pin-0", "pin-1"] if w == windings // 2 else []
        if w < windings:
            columns += [f"before{w + 1}-{i}" for i in reversed(range(inside))] + [f"w{w + 1}"]
    columns += [*(f"right-{i}" for i in range(tracks)), "meter-right"]
    above = ["meter-top", *(f"top-{i}" for i in reversed(range(tracks)))]
    below = [*(f"bottom-{i}" for i in range(tracks)), "meter-bottom"]
    return _Board(tuple(columns), (*above, "a", "pin-0", "pin-1", "b", *below))


def _meters(board: _Board, windings: int) -> Iterator[tuple[str, tuple[Point, Point]]]:
    """Every place for the meter's two pins, both ways round, the usual one first."""
    for side in SIDES:
        if side in ("left", "right"):
            pins = [board.point(f"meter-{side}", f"pin-{i}") for i in (0, 1)]
        elif windings > 1:
            pins = [board.point(f"pin-{i}", f"meter-{side}") for i in (0, 1)]
        else:
            continue
        yield side, (pins[0], pins[1])
        yield side, (pins[1], pins[0])


def _grid(board: _Board, ends: dict[Point, Node]) -> Grid:
    x = _places(board.columns)
    y = _places(board.rows)
    closed: set[frozenset[Point]] = set()
    dear: dict[frozenset[Point], float] = {}
    for column, name in enumerate(board.columns):
        for row in range(len(board.rows) - 1):
            edge = frozenset(((column, row), (column, row + 1)))
            beside = "a" <= board.rows[row] < "b" or board.rows[row].startswith("pin")
            if name.startswith("pin") or (name.startswith("w") and beside):
                closed.add(edge)
            elif name.startswith(("after", "before")) and beside:
                dear[edge] = BESIDE_CORE / 3
    for row, name in enumerate(board.rows):
        for column in range(len(board.columns) - 1):
            edge = frozenset(((column, row), (column + 1, row)))
            inside_meter = name.startswith("meter") and board.columns[column] == "pin-0"
            if name.startswith("pin") or inside_meter:
                closed.add(edge)
    for side in ("left", "right"):
        closed.add(frozenset((board.point(f"meter-{side}", "pin-0"), board.point(f"meter-{side}", "pin-1"))))
    return Grid(x, y, frozenset(closed), dear, ends)


def _places(names: tuple[str, ...]) -> tuple[float, ...]:
    kinds = {"w": "winding", "a": "winding", "b": "winding", "p": "pin", "m": "meter"}
    places, place = [], 0.0
    for name in names:
        plain_track = name.startswith(("after", "before", "bottom"))
        place += STEPS["track" if plain_track else kinds.get(name[0], "track")]
        places.append(place)
    return tuple(places)


# How large a schematic is: where each column and row of a placement lies on the sheet, in user units.
#
# One user unit is one pixel of a page at its usual size. Tracks that no wire uses take no room.

TEXT = 18.0
TRACK = 24.0  # between neighbouring wires
TURN = 11.0  # radius of one turn of a winding
TURNS = 5
LEAD = 26.0  # from a terminal to the first turn
CORE = 75.0  # from a winding to the middle of the core that its turns face
CORE_HALF = 4.0  # from there to each of the two core lines
ABOVE = 44.0  # from a terminal to the first track above: room for its label
BESIDE = 20.0  # between a winding's name and what stands on either side of it
METER_HALF_HEIGHT = 24.0
CLEAR = 26.0  # round the meter

HEIGHT = 2 * LEAD + 2 * TURN * TURNS


@dataclass(frozen=True)
class Measures:
    """Places of named columns, rows and cores, the middle of the meter and half its width, in user units."""

    placement: Placement
    x: dict[str, float]
    y: dict[str, float]
    cores: tuple[float, ...]
    meter: Spot
    meter_half: float

    def spot(self, point: Point) -> Spot:
        """The place of one point of the grid."""
        return self.x[self.placement.columns[point[0]]], self.y[self.placement.rows[point[1]]]

    def spots(self, path: Path) -> list[Spot]:
        """The corners of a path on the sheet."""
        return [self.spot(point) for point in corners(path)]


def facing(winding: int) -> int:
    """To which side the turns of a winding bulge: +1 right, -1 left; its name stands on the other side."""
    return 1 if winding == 1 else -1


def measure(placement: Placement, name_widths: tuple[float, ...], measured: str) -> Measures:
    """Give every column and row its place; `name_widths` is the width of each winding's name, user units."""
    half = max(text_width(measured, TEXT) / 2 + 12.0, 40.0)
    across = _Across(placement, name_widths, half)
    y = down(placement)
    meter = {
        "left": (across.x.get("meter-left", 0.0), HEIGHT / 2),
        "right": (across.x.get("meter-right", 0.0), HEIGHT / 2),
        "top": (across.cores[across.meter_gap - 1], y.get("meter-top", 0.0)),
        "bottom": (across.cores[across.meter_gap - 1], y.get("meter-bottom", 0.0)),
    }[placement.side]
    return Measures(placement, across.x, y, tuple(across.cores), meter, half)


class _Across:
    """The places of all columns, found gap by gap from the first winding to the right, then outside."""

    def __init__(self, placement: Placement, name_widths: tuple[float, ...], half: float) -> None:
        self.side, self.half, self.columns = placement.side, half, placement.columns
        self.used = placement.used()[0]
        self.x: dict[str, float] = {"w1": 0.0}
        self.cores: list[float] = []
        self.meter_gap = max(len(name_widths) // 2, 1)
        for w in range(1, max(len(name_widths), 2)):
            self._gap(w, name_widths[w - 1], last=w >= len(name_widths))
        end = self.x[f"w{len(name_widths)}"] + BESIDE + name_widths[-1] + BESIDE
        self._outside("right", end if len(name_widths) > 1 else self.cores[-1] + TRACK, 1)
        self._outside("left", -2 * BESIDE - name_widths[0], -1)

    def _gap(self, w: int, name_width: float, *, last: bool) -> None:
        start = self.x[f"w{w}"]
        first = start + (CORE - TRACK if facing(w) > 0 else 2 * BESIDE + name_width)
        after, before = self._tracks(f"after{w}-"), self._tracks(f"before{w + 1}-")
        end_of_after = self._run(after, first, 1)
        holds_meter = w == self.meter_gap and self.side in ("top", "bottom")
        reach = self.half + TRACK / 2 if holds_meter else 0.0  # from the middle of the core to the next wire
        core = max(
            start + (CORE if facing(w) > 0 else 0.0),
            start + reach + TRACK / 2,
            end_of_after,
            end_of_after - TRACK + reach if after else 0.0,
        )
        self.cores.append(core)
        if holds_meter:
            self.x |= {"pin-0": core - self.half, "pin-1": core + self.half}
        if not last:
            room = max(TRACK, reach) + TRACK * (len(before) - 1) if before else 0.0
            self.x[f"w{w + 1}"] = next_one = core + max(CORE, CORE - TRACK + room, reach + TRACK / 2)
            self._run(before[::-1], next_one - CORE + TRACK, -1)

    def _outside(self, side: str, place: float, step: int) -> None:
        tracks = self._tracks(f"{side}-")
        place = self._run(tracks if step > 0 else tracks[::-1], place, step)
        if self.side == side:
            place += step * (self.half + CLEAR - TRACK * bool(tracks))
        self.x[f"meter-{side}"] = place

    def _tracks(self, prefix: str) -> list[str]:
        return [name for name in self.columns if name.startswith(prefix) and name in self.used]

    def _run(self, tracks: list[str], place: float, step: int) -> float:
        for name in tracks:
            self.x[name] = place
            place += step * TRACK
        return place


def down(placement: Placement, height: float = HEIGHT) -> dict[str, float]:
    """The places of all rows, ends a at 0 and ends b at `height`."""
    used, middle = placement.used()[1], height / 2
    y = {"a": 0.0, "b": height, "pin-0": middle - METER_HALF_HEIGHT, "pin-1": middle + METER_HALF_HEIGHT}
    for side, edge, step in (("top", 0.0, -1), ("bottom", height, 1)):
        tracks = sorted(name for name in placement.rows if name.startswith(f"{side}-") and name in used)
        y |= {name: edge + step * (ABOVE + TRACK * i) for i, name in enumerate(tracks)}
        beyond = METER_HALF_HEIGHT if placement.side == side else 0.0
        y[f"meter-{side}"] = edge + step * (ABOVE + TRACK * len(tracks) + beyond)
    return y
