"""The node law and the loop law of a wiring, as integer coefficients, with the windings' own equations.

Nothing here knows `labkit.theory.network`: currents come from the balance at every node, voltages from the
potentials of the nodes, both by the null space of one incidence matrix, so that a derivation that starts
here is an independent check of the forward model.

Symbols: i meter's current into the first clip (A) · v voltage from the first clip to the second (V) ·
i1, i2, ... winding currents from end a to end b · v1, v2, ... winding voltages from end a to end b.
"""

from dataclasses import dataclass
from functools import cached_property

from sympy import Matrix, Symbol, symbols

from labkit.theory.formula_text import Rate
from labkit.theory.number import Expression
from labkit.theory.wiring import Terminal, Wiring

Coefficients = tuple[int, ...]  # one for each winding, then one for the meter


def mutual_name(i: int, j: int, windings: int) -> str:
    """Name of the mutual inductance of windings i and j: M for a pair, M12, M1_12 beyond nine windings."""
    i, j = sorted((i, j))
    return "M" if windings == 2 else f"M{i}{j}" if j < 10 else f"M{i}_{j}"


@dataclass(frozen=True)
class Laws:
    """All equations that hold for a wiring before anything is solved.

    Parameters
    ----------
    wiring : Wiring
    windings : int
    dots : dotted end of each winding, or None if they are not known; then each mutual inductance counts
        positive if the ends a are like ends.
    """

    wiring: Wiring
    windings: int
    dots: tuple[Terminal, ...] | None

    @cached_property
    def node_names(self) -> tuple[str, ...]:
        """The nodes as at the bench: `1a`, `1b=2b`."""
        return tuple("=".join(map(str, sorted(node))) for node in self.wiring.nodes(self.windings))

    @cached_property
    def incidence(self) -> Expression:
        """Matrix (nodes, windings + 1): +1 where the current arrives at the node, -1 where it leaves.

        The last column is the meter: its current arrives at the first clip and leaves at the second.
        """
        nodes = self.wiring.nodes(self.windings)
        first, second = self.wiring.clip_nodes(self.windings)
        rows = [
            [
                *(
                    (Terminal(w, "b") in node) - (Terminal(w, "a") in node)
                    for w in range(1, self.windings + 1)
                ),
                (node == first) - (node == second),
            ]
            for node in nodes
        ]
        return Matrix(rows)

    @cached_property
    def current_patterns(self) -> tuple[Coefficients, ...]:
        """Ways for current to flow that balance at every node, loops first.

        The last pattern carries the meter's current, unless none does (an open circuit).
        """
        return _null_space(self.incidence)

    @cached_property
    def voltage_sums(self) -> tuple[Coefficients, ...]:
        """Sums over winding voltages and the meter's that vanish for every set of node potentials."""
        potentials = self.incidence.copy()
        for w in range(self.windings):
            potentials[:, w] = -potentials[:, w]
        return _null_space(potentials)

    @property
    def loops(self) -> tuple[Coefficients, ...]:
        """The current patterns that do not touch the meter."""
        return tuple(pattern for pattern in self.current_patterns if pattern[-1] == 0)

    @property
    def path(self) -> Coefficients | None:
        """The current pattern of the meter's current; None for an open circuit."""
        return next((pattern for pattern in self.current_patterns if pattern[-1]), None)

    @property
    def on_one_node(self) -> bool:
        """Whether both clips sit on one node."""
        first, second = self.wiring.clip_nodes(self.windings)
        return first == second

    @cached_property
    def inductances(self) -> Expression:
        """Matrix (windings, windings) of L1, L2, ... and the mutual inductances with the dots' signs."""
        return Matrix(self.windings, self.windings, self._entry)

    def _entry(self, i: int, j: int) -> Expression:
        if i == j:
            return Symbol(f"L{i + 1}")
        alike = self.dots is None or self.dots[i].end == self.dots[j].end
        return (1 if alike else -1) * Symbol(mutual_name(i + 1, j + 1, self.windings))

    @cached_property
    def currents(self) -> tuple[Symbol, ...]:
        """i1, i2, ... and the meter's i."""
        return (*symbols(f"i1:{self.windings + 1}"), Symbol("i"))

    @cached_property
    def rates(self) -> tuple[Rate, ...]:
        """di1/dt, di2/dt, ... and the meter's di/dt."""
        return tuple(Rate(current.name) for current in self.currents)

    @cached_property
    def voltages(self) -> tuple[Symbol, ...]:
        """v1, v2, ... and the meter's v."""
        return (*symbols(f"v1:{self.windings + 1}"), Symbol("v"))

    def free(self, pattern: Coefficients) -> int:
        """The column whose current stands for the pattern: the meter's, or that of its last winding."""
        return max(column for column, coefficient in enumerate(pattern) if coefficient)


def _null_space(matrix: Expression) -> tuple[Coefficients, ...]:
    """Integer vectors that the matrix takes to zero, one for each column that the others leave free."""
    return tuple(tuple(int(entry) for entry in vector) for vector in matrix.nullspace())
