"""Nodal equations: a choke's wirings with exact slopes, and circuits around it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
from numpy.typing import ArrayLike, NDArray

from labkit.arrays import Complexes, Floats
from labkit.theory.wiring import Node as Node_of_wiring
from labkit.theory.wiring import Wiring, terminals

# Clips, ties and capacitances around coupled windings, solved for all frequencies at once.
#
# Node voltages v (V) and winding currents i (A, from end a to end b) together obey
#
#     [ Y    K ] [v]   [J]        Y admittance of capacitances and loads (S), K incidence of the windings,
#     [ K'  -Z ] [i] = [0],       Z impedances of the windings (Ω), J current put into each node (A),
#
# which is symmetric and needs no inverse of Z. Windings that nothing galvanic or capacitive joins are
# islands; one node of each is its reference.
#
# Source: modified nodal analysis, C.-W. Ho, A. E. Ruehli and P. A. Brennan, IEEE Trans. Circuits Syst. 22
# (1975) 504-509.

_SINGULAR = 1e-13


class Nodal:
    """The nodes that a wiring makes of the terminals of N windings, and the equations between them.

    Parameters
    ----------
    windings : N
    wiring : clips and ties; None leaves every terminal to itself
    C : (N,) across each winding, in F
    between : (N-1,) from each winding to the next, half of it between ends a, half between ends b, in F

    Attributes
    ----------
    across, between_a, between_b : incidence, one row a node, one column a branch
    """

    def __init__(self, windings: int, wiring: Wiring | None, C: Floats, between: Floats) -> None:
        every = terminals(windings)
        self.C, self.between, self.windings = C, between, windings
        self.nodes: Sequence[Node_of_wiring] = (
            wiring.nodes(windings) if wiring else [frozenset({terminal}) for terminal in every]
        )
        self.clips = [self.nodes.index(node) for node in wiring.clip_nodes(windings)] if wiring else []
        place = {terminal: row for row, node in enumerate(self.nodes) for terminal in node}
        ends = np.array([place[terminal] for terminal in every]).reshape(-1, 2)
        self.across = self._incidence(ends)
        self.between_a, self.between_b = (
            self._incidence(np.column_stack([ends[:-1, end], ends[1:, end]])) for end in (0, 1)
        )
        self.islands = self._islands()

    def _incidence(self, branches: npt.NDArray[np.intp]) -> Floats:
        """+1 where a branch leaves, -1 where it arrives; nothing if both ends are one node."""
        K = np.zeros((len(self.nodes), len(branches)))
        for column, (tail, head) in enumerate(branches):
            K[tail, column] += 1
            K[head, column] -= 1
        return K

    def _islands(self) -> list[int]:
        """For each node the island that it belongs to, named by its first node."""
        joined = self.between > 0
        island = list(range(len(self.nodes)))
        for K in (self.across, self.between_a[:, joined], self.between_b[:, joined]):
            for column in K.T:
                met = [island[node] for node in np.flatnonzero(column)]
                island = [min(met) if name in met else name for name in island]
        return island

    def capacitive(self, f: Floats) -> Complexes:
        """Nodal admittance of the capacitances alone, shape (F, nodes, nodes), in S."""
        halves = self.between / 2
        C = (self.across * self.C) @ self.across.T
        C = C + (self.between_a * halves) @ self.between_a.T + (self.between_b * halves) @ self.between_b.T
        return np.asarray((2j * np.pi * f)[:, None, None] * C)

    def at_the_clips(self, f: Floats, Z: Complexes) -> tuple[Complexes, Complexes, Complexes]:
        """Impedance between the clips, and what a unit current through them does.

        Parameters
        ----------
        f : (F,), in Hz
        Z : (F, N, N) impedances of the windings, in Ω

        Returns
        -------
        impedance (F,) in Ω, node voltages (F, nodes) in V, winding currents (F, N) in A
        """
        first, second = self.clips
        if first == second or self.islands[first] != self.islands[second]:
            seen = 0 if first == second else np.inf
            v, i = (np.zeros((len(f), columns), complex) for columns in (len(self.nodes), self.windings))
            return np.full(len(f), complex(seen)), v, i
        J = np.zeros((len(self.nodes), 1))
        J[first], J[second] = 1, -1
        v, i = self._solve(f, Z, np.zeros(len(self.nodes)), J, references={second})
        return v[:, first, 0], v[..., 0], i[..., 0]

    def loaded(self, f: Floats, Z: Complexes, ports: list[int], conductance: Floats) -> Complexes:
        """Port voltages for a unit current into each port, all ports loaded to ground, (F, P, P), in V."""
        load = np.zeros(len(self.nodes))
        load[ports] = conductance
        J = np.eye(len(self.nodes))[:, ports]
        return self._solve(f, Z, load, J, references=set())[0][:, ports]

    def _solve(
        self, f: Floats, Z: Complexes, load: Floats, J: Floats, references: set[int]
    ) -> tuple[Complexes, Complexes]:
        """Node voltages (F, nodes, columns of J) and winding currents (F, N, columns) for currents J."""
        held = {self.islands[node] for node in (*references, *np.flatnonzero(load))}
        references = references | {name for name in self.islands if name not in held}
        free = [node for node in range(len(self.nodes)) if node not in references]
        Y = self.capacitive(f)[:, free][:, :, free] + np.diag(load[free])
        level = _level(Z, Y)
        K = np.broadcast_to(self.across[free], (len(f), len(free), self.windings))
        system = np.block([[Y * level, K], [np.swapaxes(K, 1, 2), -Z / level]])
        right = np.zeros((len(f), system.shape[1], J.shape[1]), complex)
        right[:, : len(free)] = J[free]
        found = _solved(system, right)
        v = np.zeros((len(f), len(self.nodes), J.shape[1]), complex)
        v[:, free] = found[:, : len(free)]
        finite = np.isfinite(found).all(axis=(1, 2))
        v[finite] *= level[finite]
        return v, found[:, len(free) :]


def _level(Z: Complexes, Y: Complexes) -> Floats:
    """The impedance, shape (F, 1, 1) in Ω, in whose units the largest of Z and of Y are alike, or Z is 1."""
    z, y = (np.abs(x).max(axis=(1, 2), keepdims=True, initial=0) for x in (Z, Y))
    return np.asarray(np.sqrt(np.where(z > 0, z, 1) / np.where(y > 0, y, 1 / np.where(z > 0, z, 1))))


def singular(matrices: Complexes) -> npt.NDArray[np.bool_]:
    """Which of the matrices, shape (F, n, n), have no inverse within double precision."""
    return np.asarray(~(np.linalg.cond(matrices) < 1 / _SINGULAR))


def _solved(system: Complexes, right: Complexes) -> Complexes:
    """Solutions of all systems; a singular one by least squares if it has a solution, else infinite."""
    try:
        found = np.asarray(np.linalg.solve(system, right), dtype=np.complex128)
    except np.linalg.LinAlgError:
        found = np.full(right.shape, complex(np.inf))
    size = np.abs(found).max(axis=(1, 2)) * np.abs(system).max(axis=(1, 2))
    for index in np.flatnonzero(~(size < 1 / _SINGULAR)):
        one, _, _, _ = np.linalg.lstsq(system[index], right[index], rcond=_SINGULAR)
        rounding = 1e-6 + 1e-14 * np.abs(one).max()
        solves = np.allclose(system[index] @ one, right[index], rtol=0, atol=rounding)
        found[index] = one if solves else complex(np.inf)
    return found


# Circuits of any elements with a handful of nodes, at many frequencies at once.
#
# Unknown are the voltages of the nodes and the currents of the windings. An element that is known by its
# admittance adds to the nodes' balance of currents; coupled windings add one equation each, u - Z i = 0, so
# that k = 1 needs no inverse. What `labkit.theory.nodes` solves for the wirings of one choke, this solves
# with source, load, capacitors and measured ports around it; the two are proven equal in tests.
#
# Symbols: Y admittance (S) · Z impedance (Ω) · F number of frequencies.
# Source: modified nodal analysis, C.-W. Ho, A. E. Ruehli and P. A. Brennan, IEEE Trans. Circuits Syst. 22
# (1975) 504-509.

Node: TypeAlias = str

GROUND: Node = "ground"
_NOTHING = 1e-12  # of the largest admittance: what is left of a sum that cancels


@dataclass(frozen=True, eq=False)
class Admittance:
    """An element between nodes: the currents into them are Y times the voltages; columns of Y sum to 0."""

    nodes: tuple[Node, ...]
    Y: Complexes  # (F, n, n), S

    def renamed(self, names: Mapping[Node, Node]) -> "Admittance":
        """The same at other nodes; those that `names` leaves out keep their own."""
        return replace(self, nodes=tuple(names.get(node, node) for node in self.nodes))


@dataclass(frozen=True, eq=False)
class Windings:
    """Coupled branches, each from its first node to its second: their voltages are Z times their currents."""

    branches: tuple[tuple[Node, Node], ...]
    Z: Complexes  # (F, n, n), Ω

    @property
    def nodes(self) -> tuple[Node, ...]:
        """The ends of the branches."""
        return tuple(node for branch in self.branches for node in branch)

    def renamed(self, names: Mapping[Node, Node]) -> "Windings":
        """The same at other nodes; those that `names` leaves out keep their own."""
        return replace(self, branches=tuple((names.get(a, a), names.get(b, b)) for a, b in self.branches))


Element: TypeAlias = Admittance | Windings


def between(first: Node, second: Node, Y: ArrayLike, frequency: ArrayLike) -> Admittance:
    """One admittance (S, number or shape (F,)) between two nodes."""
    y = np.broadcast_to(np.asarray(Y, dtype=complex), np.shape(frequency))
    return Admittance((first, second), y[:, None, None] * np.array([[1, -1], [-1, 1]]))


def to_ground(nodes: Sequence[Node], Y: Complexes) -> Admittance:
    """An element known by its admittances (F, n, n) against ground, with ground as a node like any other.

    What its currents leave over returns through ground. A remainder that is only the rounding of a sum that
    cancels counts as none: a part without capacitance to ground is not tied to it.
    """
    count = len(nodes)
    whole = np.zeros((len(Y), count + 1, count + 1), dtype=complex)
    whole[:, :count, :count] = Y
    nothing = _NOTHING * np.maximum(np.abs(Y.real), np.abs(Y.imag)).max(axis=(1, 2))[:, None]
    whole[:, count, :count] = _remainder(Y.sum(axis=1), nothing)
    whole[:, :, count] = _remainder(whole[:, :, :count].sum(axis=2), nothing)
    return Admittance((*nodes, GROUND), whole)


def _remainder(sums: Complexes, nothing: NDArray[np.float64]) -> Complexes:
    return np.where(np.abs(sums) <= nothing, 0, -sums)


def port_impedances(elements: Sequence[Element], ports: Sequence[tuple[Node, Node]]) -> Complexes:
    """Voltages across pairs of nodes for a current of 1 A into the first and out of the second node of each.

    Parameters
    ----------
    elements : at least one, all at the same F frequencies
    ports : P pairs of nodes

    Returns
    -------
    complex, shape (F, P, P), in Ω: row the port that is read, column the one that is driven. A node that
    nothing leads to stays at 0 V.

    Examples
    --------
    >>> f = np.array([1.0, 2.0])
    >>> chain = [between("a", "b", 0.5, f), between("b", "c", 0.25, f)]
    >>> port_impedances(chain, [("a", "c"), ("b", "c")])[0].real
    array([[6., 4.],
           [4., 4.]])
    """
    reference = ports[-1][1]
    named = (*(node for port in ports for node in port), *(n for element in elements for n in element.nodes))
    place = {node: i for i, node in enumerate(n for n in dict.fromkeys(named) if n != reference)}
    A = _equations(elements, place)
    drive = np.zeros((A.shape[1] + 1, len(ports)))  # the last row takes the reference
    for column, port in enumerate(ports):
        for node, current in zip(port, (1, -1), strict=True):
            drive[place.get(node, -1), column] += current
    found = _driven(A, drive[:-1])
    ends = drive[: len(place)]
    return np.asarray(ends.T @ found[:, : len(place)])


def _equations(elements: Sequence[Element], place: Mapping[Node, int]) -> Complexes:
    """The matrix of all equations; its last row and column, left off at the end, take the reference node."""
    branches = sum(len(element.branches) for element in elements if isinstance(element, Windings))
    points = max(len(element.Y if isinstance(element, Admittance) else element.Z) for element in elements)
    A = np.zeros((points, len(place) + branches + 1, len(place) + branches + 1), dtype=complex)
    row = len(place)
    for element in elements:
        if isinstance(element, Admittance):
            _add_admittance(A, element, place)
        else:
            _add_windings(A, element, place, row)
            row += len(element.branches)
    A = A[:, :-1, :-1]
    floats = np.arange(len(place))
    bare = ~A[:, floats].any(axis=2)
    A[:, floats, floats] += bare  # V = 0 for a node that has no equation
    return A


def _add_admittance(A: Complexes, element: Admittance, place: Mapping[Node, int]) -> None:
    at = [place.get(node, -1) for node in element.nodes]
    for i, row in enumerate(at):
        for j, column in enumerate(at):
            A[:, row, column] += element.Y[:, i, j]


def _add_windings(A: Complexes, element: Windings, place: Mapping[Node, int], first: int) -> None:
    for i, (tail, head) in enumerate(element.branches, first):
        for node, sign in ((tail, 1), (head, -1)):
            A[:, place.get(node, -1), i] += sign
            A[:, i, place.get(node, -1)] += sign
    last = first + len(element.branches)
    A[:, first:last, first:last] -= element.Z


def _driven(A: Complexes, drive: NDArray[np.float64]) -> Complexes:
    """Solutions; where a current is left open, as around two equal windings with k = 1, the smallest one."""
    try:
        return np.asarray(np.linalg.solve(A, drive[None]), dtype=np.complex128)
    except np.linalg.LinAlgError:
        return np.asarray(np.linalg.pinv(A) @ drive, dtype=np.complex128)
