"""The steps for any number of windings, in matrix form, and the solution of the matrix equations.

Three forms, by what the nodes alone decide: all winding currents (series), all winding voltages (parallel),
or neither. Bold symbols: L inductance matrix · s signs · p signs of the meter's path · Q one column of signs
for each closed loop · i, v winding currents and voltages · x loop currents.
"""

from dataclasses import dataclass
from typing import TypeAlias

from sympy import (
    Add,
    ImmutableMatrix,
    MatMul,
    Matrix,
    MatrixSymbol,
    Symbol,
    expand,
    fraction,
    together,
    zeros,
)
from sympy.polys.matrices import DomainMatrix

from labkit.theory.laws import Laws, mutual_name
from labkit.theory.mathml import Expression, MatrixRate
from labkit.theory.pair_steps import L_EQ, equivalent_inductance, over, tidy
from labkit.theory.steps import Equation, Rows, Step
from labkit.words import derivation as words

Fraction: TypeAlias = tuple[Expression, Expression]  # numerator, denominator

MOST_UNKNOWNS = 5  # six in 21 symbols already take seconds
MOST_TERMS = 90
ONE_LINE = 20  # terms of a fraction that still fit into one line


@dataclass(frozen=True)
class MatrixForm:
    """What the node law makes of the matrix equation: signs, and the formula that follows from them."""

    signs: Expression  # (windings, 1): s or p
    loops: Expression  # (windings, loops): Q
    parallel: bool = False

    @classmethod
    def of(cls, laws: Laws) -> "MatrixForm":
        """Series or parallel where the nodes alone decide, the general form elsewhere."""
        N = laws.windings
        assert laws.path is not None  # an open circuit has no matrix form
        if laws.loops and laws.incidence.rank() == 1:
            first = next(row for row in range(len(laws.node_names)) if laws.incidence[row, N] == 1)
            return cls(-laws.incidence[first, :N].T, zeros(N, 0), parallel=True)
        return cls(Matrix(laws.path[:N]), Matrix(N, len(laws.loops), lambda w, x: laws.loops[x][w]))

    @property
    def unknowns(self) -> int:
        """Size of the linear system that has to be solved."""
        return len(self.signs) if self.parallel else int(self.loops.cols)

    def solve(self, L: Expression) -> Fraction:
        """Numerator and denominator of the equivalent inductance for a matrix of symbols or exact numbers."""
        s, Q = self.signs, self.loops
        if self.parallel:
            solution, denominator = _solved(L, s)
            return denominator, (s.T * solution)[0]
        if not Q.cols:
            return (s.T * L * s)[0], L[0, 0] ** 0
        solution, denominator = _solved(Q.T * L * Q, Q.T * L * s)
        return expand((s.T * L * s)[0] * denominator - (s.T * L * Q * solution)[0]), denominator

    def formula(self) -> Expression:
        """The same in matrix symbols."""
        L, s, p, Q = self.symbols
        if self.parallel:
            return (s.T * L.I * s).I
        if not self.loops.cols:
            return s.T * L * s
        return p.T * L * p - p.T * L * Q * (Q.T * L * Q).I * Q.T * L * p

    def values(self, L: Expression) -> dict[Expression, Expression]:
        """What stands for each matrix symbol of the formula."""
        return dict(zip(self.symbols, (L, self.signs, self.signs, self.loops), strict=True))

    @property
    def symbols(self) -> tuple[Expression, ...]:
        """L, s, p and Q."""
        N = len(self.signs)
        column = [MatrixSymbol(name, N, 1) for name in "sp"]
        return MatrixSymbol("L", N, N), *column, MatrixSymbol("Q", N, self.loops.cols)


def _solved(matrix: Expression, right: Expression) -> tuple[Expression, Expression]:
    """Vector x and number y with matrix x = right y; y is the determinant. Fraction-free, so fast."""
    both = DomainMatrix.from_Matrix(matrix.row_join(right))
    size = matrix.rows
    x, y = both[:, :size].to_dense().solve_den(both[:, size:].to_dense())
    return x.to_Matrix(), x.domain.to_sympy(y)


def what_windings_do(laws: Laws) -> Step:
    """v = L di/dt with all entries, and what the dots do to the signs of the mutual inductances."""
    signs = words.DOTS_MANY_UNKNOWN
    if laws.dots is not None:
        signs = words.DOTS_MANY.format(dots=", ".join(map(str, laws.dots)))
    N = laws.windings
    L, rates = ImmutableMatrix(laws.inductances), ImmutableMatrix(N, 1, laws.rates[:N])
    equation = Equation((ImmutableMatrix(N, 1, laws.voltages[:N]), MatMul(L, rates, evaluate=False)))
    return Step(words.WINDINGS_TITLE, words.WINDINGS + signs, (equation,))


def solved(laws: Laws) -> tuple[Fraction | None, tuple[Step, ...]]:
    """The equivalent inductance as a fraction, if it is short enough to be had, and the steps to it."""
    form = MatrixForm.of(laws)
    steps = (_all_at_once(laws, form), equivalent_inductance(laws, form.formula()))
    if form.unknowns > MOST_UNKNOWNS:
        return None, (*steps, Step(words.WRITTEN_TITLE, words.NOT_WRITTEN.format(unknowns=form.unknowns)))
    found = form.solve(laws.inductances)
    return found, (*steps, _written_out(found))


def _written_out(found: Fraction) -> Step:
    numerator, denominator = found
    terms = len(Add.make_args(numerator)) + len(Add.make_args(denominator))
    if terms > MOST_TERMS:
        return Step(words.WRITTEN_TITLE, words.TOO_LONG.format(terms=terms))
    if terms <= ONE_LINE:
        return Step(words.WRITTEN_TITLE, words.WRITTEN_OUT, (Equation((L_EQ, numerator / denominator)),))
    N, D = Symbol("N"), Symbol("D")
    equations = ((L_EQ, N / D), (N, Rows(numerator)), (D, Rows(denominator)))
    return Step(words.WRITTEN_TITLE, words.WRITTEN_OUT, tuple(Equation(sides) for sides in equations))


def _all_at_once(laws: Laws, form: MatrixForm) -> Step:
    L, s, p, Q = form.symbols
    v, di = laws.voltages[-1], laws.rates[-1]
    rates, voltages = MatrixRate("i", laws.windings, 1), MatrixSymbol("v", laws.windings, 1)
    signs = ImmutableMatrix(form.signs)
    if form.parallel:
        sums = ((L * rates, s * v), (di, s.T * rates, s.T * L.I * s * v))
        return _in_matrices(words.PARALLEL_FORM, (s, signs), *sums)
    if not form.loops.cols:
        return _in_matrices(
            words.SERIES_FORM, (s, signs), (rates, s * di), (v, s.T * voltages, s.T * L * s * di)
        )
    x = MatrixRate("x", form.loops.cols, 1)
    round_loops = (Q.T * L * (p * di + Q * x), 0)
    return _in_matrices(
        words.GENERAL_FORM,
        (p, signs),
        (Q, ImmutableMatrix(form.loops)),
        (rates, p * di + Q * x),
        round_loops,
        (x, -((Q.T * L * Q).I * Q.T * L * p * di)),
        (v, p.T * L * rates),
    )


def _in_matrices(sentence: str, *equations: tuple[Expression, ...]) -> Step:
    return Step(words.MATRIX_TITLE, sentence, tuple(Equation(sides) for sides in equations))


def limits(laws: Laws) -> tuple[Step, ...]:
    """No coupling, and windings that are all alike."""
    form, N = MatrixForm.of(laws), laws.windings
    alone = Matrix(N, N, lambda i, j: laws.inductances[i, j] if i == j else 0)
    uncoupled = Equation((L_EQ, _quotient(form.solve(alone))))
    L, M = Symbol("L"), Symbol("M")
    names = {Symbol(mutual_name(i, j, N)): M for i in range(1, N + 1) for j in range(1, i)}
    names |= {Symbol(f"L{w}"): L for w in range(1, N + 1)}
    alike = _quotient(form.solve(laws.inductances.subs(names)))
    full = alike.subs(M, L) if fraction(alike)[1].subs(M, L) != 0 else None
    equations = [Equation((L_EQ, alike))]
    equations += [] if full is None else [Equation((L_EQ, full), words.ALIKE_FULL)]
    return (
        Step(words.UNCOUPLED_TITLE, words.MANY_UNCOUPLED, (uncoupled,)),
        Step(words.ALIKE_TITLE, words.ALIKE, tuple(equations)),
    )


def _quotient(found: Fraction) -> Expression:
    numerator, denominator = found
    return over(*fraction(together(tidy(numerator / denominator))))
