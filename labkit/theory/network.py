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
from typing import TypeAlias

import numpy as np

from labkit.errors import EntryError, ShapeError
from labkit.theory.number import Number, is_exact, is_finite, magnitude, nominal, ratio
from labkit.theory.pair import CLOSED_FORMS
from labkit.theory.wiring import Connection, Node, Terminal, Wiring
from labkit.words import theory as words

# Currents that the network itself decides, eliminated: for every kind of number, and never nan.
#
# Floats leave rounding behind where the exact result is zero: at k = 1 a loop without energy has an
# inductance of 1e-19 H instead of 0, and dividing by that gives anything. What is below the rounding of the
# terms that it is a sum of therefore counts as zero; fractions and symbols are exact and need no such rule.

Table: TypeAlias = list[list[Number]]

_ROUNDING = 64 * np.finfo(float).eps


def schur_complement(S: Table, scales: list[Number]) -> Number:
    """What is left of S[0][0] when the other unknowns follow from their equations: S00 - S0l (Sll)^-1 Sl0.

    Parameters
    ----------
    S : square, at least one row; entries of one kind of number, arrays broadcast together
    scales : for each row, how large the terms are that its entries are sums of; same unit as the row

    Returns
    -------
    The same kind of number. Where Sll is singular, an equation 0 = 0 leaves the result alone (a loop without
    energy) and an equation 0 = something makes it infinite (a lossless resonance, a set that is not passive).

    Examples
    --------
    >>> schur_complement([[4.0, 2.0], [2.0, 2.0]], scales=[4.0, 4.0])
    2.0
    """
    if any(isinstance(entry, np.ndarray) for row in S for entry in row):
        flat = iter(np.broadcast_arrays(*itertools.chain(*S), *scales))
        S, scales = [[next(flat) for _ in row] for row in S], list(flat)
    rest = list(range(1, len(S)))
    return _reduced(S, rest, rest, scales)


def _reduced(S: Table, rows: list[int], columns: list[int], scales: list[Number]) -> Number:
    if not rows:
        return S[0][0]
    p, q = max(itertools.product(rows, columns), key=lambda at: _worth(S[at[0]][at[1]], scales[at[0]]))
    void = _is_void(S[p][q], scales[p])
    if np.all(void):
        return _nothing_to_divide_by(S, rows, columns, scales)
    if np.any(void):
        return _split(S, rows, columns, scales, void)
    rows, columns = [i for i in rows if i != p], [j for j in columns if j != q]
    reduced = [list(row) for row in S]
    for i, j in itertools.product((0, *rows), (0, *columns)):
        reduced[i][j] = S[i][j] - S[i][q] * S[p][j] / S[p][q]
    return _reduced(reduced, rows, columns, scales)


def _is_void(x: Number, scale: Number) -> Number:
    """Whether x is zero but for rounding; an array of truth values for an array."""
    return x == 0 if is_exact(x) else magnitude(x) <= _ROUNDING * scale


def _worth(x: Number, scale: Number) -> tuple[float, float]:
    """How good a pivot x is: for how many elements it can serve, then its least size against its row."""
    void = np.asarray(_is_void(x, scale))
    least = np.min(magnitude(x) / np.where(np.asarray(scale) > 0, scale, 1))
    return 1 - float(np.mean(void)), float(least)


def _nothing_to_divide_by(S: Table, rows: list[int], columns: list[int], scales: list[Number]) -> Number:
    """Only equations without unknowns are left: 0 = 0 changes nothing, 0 = something has no finite answer."""
    pole: Number = False
    for p, q in itertools.product(rows, columns):
        product = S[0][q] * S[p][0]
        pole = pole | ~np.asarray(_is_void(product, scales[0] * scales[p]))
    if isinstance(S[0][0], np.ndarray):
        return np.where(pole, _infinite(S[0][0]), S[0][0])
    return _infinite(S[0][0]) if pole else S[0][0]


def _infinite(x: Number) -> Number:
    """A complex impedance grows in no direction; an inductance that is not passive falls without end."""
    return complex(math.inf) if np.iscomplexobj(nominal(x)) else -ratio(1, 0 * x)


def _split(S: Table, rows: list[int], columns: list[int], scales: list[Number], void: Number) -> Number:
    """Solve the elements that this pivot cannot serve apart from the others."""
    result = np.empty(void.shape, dtype=np.result_type(*itertools.chain(*S)))
    for chosen in (void, ~void):
        part = [[entry[chosen] for entry in row] for row in S]
        result[chosen] = _reduced(part, rows, columns, [scale[chosen] for scale in scales])
    return result


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
        raise EntryError(
            f"The inductance matrix holds {bad[0]}, but its entries are finite numbers in H; "
            "read what is missing.",
            str(bad[0]),
        )
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
