"""Where a wiring goes on the grid: windings side by side, free tracks round them, the meter at one side.

Ends a lie above, ends b below. Every zone has more tracks than it needs; those left unused vanish when the
drawing gets its measures. The meter goes to the side from which everything is laid most cheaply.
"""

import math
from collections.abc import Hashable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from labkit.errors import EntryError
from labkit.faces.routing import Grid, Path, Point, Wire, corners, lay, least
from labkit.theory.wiring import Node, Terminal, Wiring
from labkit.words import schematic as words

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
    raise EntryError(words.CROWDED.format(wiring=wiring.notation), wiring.notation)


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
