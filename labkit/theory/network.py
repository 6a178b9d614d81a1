"""The one forward model: what a meter sees at the clips of any wiring of any coupled windings.

Loop method. The meter drives a unit current along one path of windings, `path`; every closed loop of
windings, `loops`, carries whatever current lets its total voltage vanish. With the branch matrix X
(inductances in H or impedances in Ω) and T = [path, loops], the input quantity is the Schur complement

    X_in = S00 - S0l (Sll)^-1 Sl0,   S = T' X T.

For a lossless set this is the least magnetic energy for a unit input current, so it is finite for every
positive semidefinite matrix, k = 1 included; no inverse of the inductance matrix is ever taken.

Symbols: L inductance matrix (H) · R winding resistances (Ω) · C self-capacitances (F) · f frequency (Hz).
Source: Kirchhoff's laws; proven equal to `labkit.theory.derivation` in tests.
"""

import itertools
import math
from collections import deque
from collections.abc import Sequence
from fractions import Fraction

from labkit.errors import EntryError, ShapeError
from labkit.theory.elimination import schur_complement
from labkit.theory.number import Number, is_finite, magnitude
from labkit.theory.pair import CLOSED_FORMS
from labkit.theory.wiring import Connection, Node, Terminal, Wiring
from labkit.words import wiring as words

Branch = tuple[Node, Node]
Matrix = Sequence[Sequence[Number]]


def input_inductance(L: Matrix, wiring: str | Wiring, lead_inductance: Number = 0) -> Number:
    """Inductance between the clips, lossless and without capacitance.

    Parameters
    ----------
    L : sequence of N rows of N entries, in H
        Inductance matrix, currents counted positive from end a to end b of each winding: L[0][1] is +M if
        the dots are on equally named ends and -M if not. An entry may be any kind of number.
    wiring : str or Wiring
    lead_inductance : in H, in series with the clips.

    Returns
    -------
    Same kind of number, in H. `inf` if no winding joins the clips, the lead inductance if one node holds
    both; minus infinity where L is not passive and a loop without energy would carry current all the same.

    Raises
    ------
    WiringError, ShapeError; EntryError if an entry is not a finite number

    Examples
    --------
    >>> input_inductance([[8.0, 2.0], [2.0, 6.0]], "1a 2a | 1b=2b")
    10.0
    """
    wiring = Wiring.parse(wiring)
    windings = _windings(L, wiring)
    found = _loops(wiring, windings, _winding_branches(wiring, windings))
    if found is None:
        return math.inf
    return _at_the_clips(L, *found) + lead_inductance


def input_impedance(
    L: Matrix,
    wiring: str | Wiring,
    frequency: Number,
    R: Sequence[Number] | None = None,
    C: Sequence[Number | None] | None = None,
    lead_impedance: Number = 0,
) -> Number:
    """Complex impedance between the clips, with winding resistance and self-capacitance.

    Parameters
    ----------
    L : as for `input_inductance`, in H
    wiring : str or Wiring
    frequency : float or array of shape (n,), in Hz
    R : one resistance a winding, in Ω; None for lossless windings
    C : one self-capacitance a winding, in F, across its ends; None (whole or for one winding) for none
    lead_impedance : in Ω, in series with the clips

    Returns
    -------
    complex or array of shape (n,), in Ω; `inf` if nothing joins the clips, or in an exact lossless resonance.

    Examples
    --------
    >>> z = input_impedance([[1e-3, 0.0], [0.0, 1e-3]], "1a 1b", frequency=1e3, R=[2.0, 2.0])
    >>> round(z.real, 3), round(z.imag, 3)
    (2.0, 6.283)
    """
    wiring = Wiring.parse(wiring)
    windings = _windings(L, wiring)
    resistances = _per_winding(R, windings, "resistance")
    capacitances = _per_winding(C, windings, "self-capacitance")
    jw = 2j * math.pi * frequency
    Z: list[list[Number]] = [[jw * L[i][j] for j in range(windings)] for i in range(windings)]
    for i, resistance in enumerate(resistances):
        Z[i][i] = Z[i][i] + (resistance or 0)
    branches = _winding_branches(wiring, windings)
    shunts = [(branches[i], jw * c) for i, c in enumerate(capacitances) if c is not None]
    branches += [branch for branch, _ in shunts]
    found = _loops(wiring, windings, branches)
    if found is None:
        return complex(math.inf)
    return _at_the_clips(Z, *found, [admittance for _, admittance in shunts]) + lead_impedance


def identify(wiring: str | Wiring, dots: tuple[Terminal, ...]) -> Connection:
    """What a wiring of two windings with these dots amounts to, found by the forward model itself.

    A pair in no special relation (three primes) is put through the network and the closed forms; only the
    right form gives the same fraction.

    >>> from labkit.theory.wiring import parse_dots
    >>> identify("1a 2a | 1b=2b", parse_dots("1a 2a")).value
    'series_opposing'
    """
    L1, L2, M = Fraction(13), Fraction(7), Fraction(5)
    sign = 1 if dots[0].end == dots[1].end else -1
    seen = input_inductance([[L1, sign * M], [sign * M, L2]], wiring)
    if seen == math.inf:
        return Connection.OPEN
    return next(connection for connection, form in CLOSED_FORMS.items() if form(L1, L2, M) == seen)


def _windings(L: Matrix, wiring: Wiring) -> int:
    rows = len(L)
    if any(len(row) != rows for row in L) or rows < wiring.highest_winding:
        columns = max((len(row) for row in L), default=0)
        raise ShapeError(
            words.MATRIX.format(rows=rows, columns=columns, wiring=wiring, windings=wiring.highest_winding)
        )
    if bad := [x for row in L for x in row if not is_finite(x)]:
        raise EntryError(words.NOT_FINITE.format(given=bad[0]), str(bad[0]))
    return rows


def _per_winding(values: Sequence[Number] | None, windings: int, what: str) -> Sequence[Number]:
    if values is None:
        return [None] * windings
    if len(values) != windings:
        raise ShapeError(words.PER_WINDING.format(given=len(values), what=what, windings=windings))
    return values


def _winding_branches(wiring: Wiring, windings: int) -> list[Branch]:
    node_of = {terminal: node for node in wiring.nodes(windings) for terminal in node}
    return [(node_of[Terminal(w, "a")], node_of[Terminal(w, "b")]) for w in range(1, windings + 1)]


def path_and_loops(wiring: str | Wiring, windings: int = 2) -> tuple[list[int], list[list[int]]] | None:
    """Which windings the input current runs through, and the closed loops of windings, with signs.

    Returns None if no winding joins the clips. The derivation starts from these.

    >>> path_and_loops("1a 1b | 1a=2a 1b=2b")
    ([1, 0], [[-1, 1]])
    """
    wiring = Wiring.parse(wiring)
    return _loops(wiring, windings, _winding_branches(wiring, windings))


def _loops(wiring: Wiring, windings: int, branches: list[Branch]) -> tuple[list[int], list[list[int]]] | None:
    first, second = wiring.clip_nodes(windings)
    tree = _spanning_tree(wiring.nodes(windings), branches)
    path = _tree_path(tree, branches, first, second)
    if path is None:
        return None
    loops = []
    for chord, (tail, head) in enumerate(branches):
        if chord not in tree:
            loop = _tree_path(tree, branches, head, tail)
            assert loop is not None  # a chord joins two nodes of one tree
            loop[chord] = 1
            loops.append(loop)
    return path, loops


def _spanning_tree(nodes: Sequence[Node], branches: list[Branch]) -> set[int]:
    """Branches that join all that can be joined without closing a loop, first come first taken."""
    group = {node: node for node in nodes}
    tree = set()
    for i, (tail, head) in enumerate(branches):
        if group[tail] != group[head]:
            gone, kept = group[head], group[tail]
            group = {node: kept if g == gone else g for node, g in group.items()}
            tree.add(i)
    return tree


def _tree_path(tree: set[int], branches: list[Branch], start: Node, goal: Node) -> list[int] | None:
    """Signed branch currents of a unit current from `start` to `goal` along the tree; None if it cannot."""
    paths = {start: [0] * len(branches)}
    queue = deque([start])
    while queue and goal not in paths:
        here = queue.popleft()
        for i in tree:
            tail, head = branches[i]
            for near, far, sign in ((tail, head, 1), (head, tail, -1)):
                if near == here and far not in paths:
                    paths[far] = [*paths[here][:i], sign, *paths[here][i + 1 :]]
                    queue.append(far)
    return paths.get(goal)


def _at_the_clips(
    X: Matrix, path: list[int], loops: list[list[int]], admittances: Sequence[Number] = ()
) -> Number:
    """The input quantity; `admittances` (S) belong to the branches that follow the windings.

    The equation of a loop through a capacitance is multiplied by its admittance, so that at zero frequency it
    says "no current" instead of holding an infinite impedance.
    """
    currents = [path, *loops]
    S = [[_bilinear(left, X, right) for right in currents] for left in currents]
    scales = _scales(X, currents)
    for shunt, admittance in enumerate(admittances, start=len(X)):
        row = next(i for i, current in enumerate(currents) if current[shunt])
        S[row] = [admittance * entry for entry in S[row]]
        S[row][row] = S[row][row] + 1
        scales[row] = magnitude(admittance) * scales[row] + 1
    return schur_complement(S, scales)


def _scales(X: Matrix, currents: list[list[int]]) -> list[Number]:
    """How large the sum in each row would be if nothing in it cancelled."""
    sizes = [[magnitude(entry) for entry in row] for row in X]
    flows = [[abs(sign) for sign in current] for current in currents]
    everywhere = [int(any(flow[i] for flow in flows)) for i in range(len(X))]
    return [_bilinear(flow, sizes, everywhere) for flow in flows]


def _bilinear(left: list[int], X: Matrix, right: list[int]) -> Number:
    total: Number = 0
    for i, j in itertools.product(range(len(X)), repeat=2):
        if left[i] and right[j]:
            total = total + (left[i] * right[j]) * X[i][j]
    return total
