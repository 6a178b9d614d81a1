"""Circuits of any elements with a handful of nodes, at many frequencies at once.

Unknown are the voltages of the nodes and the currents of the windings. An element that is known by its
admittance adds to the nodes' balance of currents; coupled windings add one equation each, u - Z i = 0, so
that k = 1 needs no inverse. What `labkit.theory.nodal` solves for the wirings of one choke, this solves with
source, load, capacitors and measured ports around it; the two are proven equal in tests.

Symbols: Y admittance (S) · Z impedance (Ω) · F number of frequencies.
Source: modified nodal analysis, C.-W. Ho, A. E. Ruehli and P. A. Brennan, IEEE Trans. Circuits Syst. 22
(1975) 504-509.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Complexes: TypeAlias = NDArray[np.complex128]
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
    found = _solved(A, drive[:-1])
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


def _solved(A: Complexes, drive: NDArray[np.float64]) -> Complexes:
    """Solutions; where a current is left open, as around two equal windings with k = 1, the smallest one."""
    try:
        return np.asarray(np.linalg.solve(A, drive[None]), dtype=np.complex128)
    except np.linalg.LinAlgError:
        return np.asarray(np.linalg.pinv(A) @ drive, dtype=np.complex128)
