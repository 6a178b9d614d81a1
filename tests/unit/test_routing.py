"""Ways for wires on a plain grid: straight, apart, crossing only where nothing else is left."""

import itertools
import math

import pytest

from labkit.faces.layout import Grid, Path, Point, Wire, corners, crossings, edges, lay, least


def grid(
    columns: int, rows: int, ends: dict[Point, str], closed: tuple[tuple[Point, Point], ...] = ()
) -> Grid:
    """A plain grid with steps of 1."""
    places = tuple(map(float, range(max(columns, rows))))
    return Grid(places[:columns], places[:rows], frozenset(map(frozenset, closed)), {}, ends)


def laid(sheet: Grid, *wires: Wire) -> dict[str, Path]:
    cost, paths = lay(sheet, wires)
    assert cost >= least(sheet, wires) - 1e-9
    return paths


def apart(paths: dict[str, Path]) -> bool:
    """Whether no two paths share an edge."""
    return not any(set(edges(a)) & set(edges(b)) for a, b in itertools.combinations(paths.values(), 2))


def test_a_wire_alone_goes_straight() -> None:
    """A single wire takes the straight line, and its cost is its length."""
    sheet = grid(5, 3, {(0, 1): "a", (4, 1): "a"})
    wire = Wire("w", (0, 1), (4, 1), "a")
    assert laid(sheet, wire) == {"w": tuple((column, 1) for column in range(5))}
    assert least(sheet, [wire]) == 4


def test_a_closed_edge_is_gone_round() -> None:
    """A wire never uses a closed edge."""
    sheet = grid(3, 2, {(0, 0): "a", (2, 0): "a"}, closed=(((0, 0), (1, 0)),))
    (path,) = laid(sheet, Wire("w", (0, 0), (2, 0), "a")).values()
    assert frozenset(((0, 0), (1, 0))) not in edges(path)
    assert path[-1] == (2, 0)


def test_another_wires_end_is_gone_round() -> None:
    """A wire does not pass through a point where another net ends, even on its straight line."""
    sheet = grid(7, 5, {(0, 2): "a", (6, 2): "a", (3, 2): "b"})
    (path,) = laid(sheet, Wire("w", (0, 2), (6, 2), "a")).values()
    assert (3, 2) not in path


def test_another_wires_end_is_not_walled_in() -> None:
    """A wire does not bend beside another net's end, where a wire to that end could not cross it."""
    closed = (((0, 1), (0, 0)), ((1, 1), (1, 0)))
    sheet = grid(5, 4, {(0, 1): "a", (2, 0): "a", (2, 2): "b"}, closed)
    (path,) = laid(sheet, Wire("w", (0, 1), (2, 0), "a")).values()
    assert (2, 1) in path
    assert (2, 1) not in corners(path)


def test_a_short_way_round_is_taken_before_a_crossing() -> None:
    """Where a way round exists, the wires do not cross, although the crossing would be shorter."""
    ends = {(0, 3): "a", (8, 3): "a", (4, 2): "b", (4, 6): "b"}
    sheet = grid(9, 8, ends)
    paths = laid(sheet, Wire("across", (0, 3), (8, 3), "a"), Wire("down", (4, 2), (4, 6), "b"))
    assert not crossings(paths["across"], [paths["down"]])
    assert apart(paths)


def test_a_crossing_is_straight_where_there_is_no_way_round() -> None:
    """Wires that must cross do so once, at right angles, and share no edge."""
    ends = {(0, 2): "a", (4, 2): "a", (2, 0): "b", (2, 4): "b"}
    paths = laid(grid(5, 5, ends), Wire("across", (0, 2), (4, 2), "a"), Wire("down", (2, 0), (2, 4), "b"))
    assert crossings(paths["across"], [paths["down"]]) == [(2, 2)]
    assert apart(paths)


def test_wires_of_two_nets_never_share_an_edge() -> None:
    """Two nets that want the same track get two tracks, whatever the detour costs."""
    ends = {(1, 0): "a", (8, 0): "a", (0, 1): "b", (9, 1): "b", (0, 3): "a", (9, 3): "a"}
    wires = [
        Wire("low", (0, 1), (9, 1), "b"),
        Wire("up", (1, 0), (0, 3), "a"),
        Wire("far", (8, 0), (9, 3), "a"),
    ]
    paths = laid(grid(10, 5, ends), *wires)
    assert apart(paths)
    points = set(paths["low"]) & (set(paths["up"]) | set(paths["far"]))
    assert points == {*crossings(paths["low"], [paths["up"], paths["far"]])}


def test_the_order_of_laying_is_searched() -> None:
    """The cost found does not depend on the order in which the wires are given."""
    ends = {(0, 3): "a", (8, 3): "a", (4, 2): "b", (4, 6): "b", (1, 1): "c", (7, 5): "c"}
    wires = [Wire(net, *[p for p, n in ends.items() if n == net], net) for net in "abc"]
    sheet = grid(9, 8, ends)
    costs = {round(lay(sheet, order)[0], 9) for order in itertools.permutations(wires)}
    assert len(costs) == 1
    assert costs != {math.inf}


def test_a_bound_that_cannot_be_met_yields_nothing() -> None:
    """If every layout costs at least the bound, there is none; just above, there is one."""
    sheet = grid(5, 1, {(0, 0): "a", (4, 0): "a"})
    wire = Wire("w", (0, 0), (4, 0), "a")
    assert lay(sheet, [wire], bound=4.0) == (4.0, {})
    assert lay(sheet, [wire], bound=4.1)[1]


@pytest.mark.parametrize("rows", [1, 2])
def test_what_cannot_be_laid_is_not_laid(rows: int) -> None:
    """Two wires that cannot pass each other on a narrow strip are given up, not laid one over the other."""
    ends = {(0, 0): "a", (2, 0): "a", (1, 0): "b", (3, 0): "b"}
    wires = [Wire("w", (0, 0), (2, 0), "a"), Wire("v", (1, 0), (3, 0), "b")]
    assert lay(grid(4, rows, ends), wires) == (math.inf, {})
