"""The steps of a derivation: for a pair in its named connections, and for any wiring of windings."""

from dataclasses import dataclass
from typing import TypeAlias

from sympy import (
    Add,
    ImmutableMatrix,
    Integer,
    MatMul,
    Matrix,
    MatrixSymbol,
    Mul,
    Symbol,
    cancel,
    collect,
    expand,
    factor,
    factor_terms,
    fraction,
    oo,
    sqrt,
    symbols,
    together,
    zeros,
)
from sympy.polys.matrices import DomainMatrix

from labkit.theory.derivation import Equation, Rows, Step, possible_connections
from labkit.theory.formula_text import MatrixRate
from labkit.theory.laws import Coefficients, Laws, mutual_name
from labkit.theory.network import identify
from labkit.theory.number import Expression
from labkit.theory.wiring import Terminal, Wiring
from labkit.words import labels
from labkit.words import theory as words


@dataclass(frozen=True)
class Solved:
    """The laws of a wiring, what follows from them, and the steps: see `labkit.theory.derivation`."""

    laws: Laws
    result: Expression
    steps: tuple[Step, ...]
    limits: tuple[Step, ...]


def solve(wiring: Wiring, windings: int, dots: tuple[Terminal, ...] | None) -> Solved:
    """Everything that the laws of a wiring say about its inductance."""
    laws = Laws(wiring, windings, dots)
    first = connected(laws)
    if laws.path is None or laws.on_one_node:
        result, last = conclusion(laws)
        return Solved(laws, result, (*first, last), ())
    if windings > 2:
        return _many(laws, first)
    result, steps = solved(laws)
    middle = (what_windings_do(laws), round_the_loops(laws))
    special = pair_limits(laws, result) if windings == 2 else ()
    return Solved(laws, result, (*first, *middle, *steps), special)


def _many(laws: Laws, first: tuple[Step, ...]) -> Solved:
    found, steps = solved_matrix(laws)
    middle = (what_the_matrix_says(laws), round_the_loops(laws))
    result = None if found is None else found[0] / found[1]
    return Solved(laws, result, (*first, *middle, *steps), limits(laws))


# The steps for one or two windings: node law, winding equations, loop law, solution, inductance.

L_EQ = Symbol("L_eq")


def connected(laws: Laws) -> tuple[Step, ...]:
    """Nodes and what the balance at each says, then every winding current from these."""
    equations = _node_equations(laws)
    spoken = laws.wiring.spoken
    sentence = words.CONNECTED.format(
        spoken=spoken[0].upper() + spoken[1:], count=len(laws.node_names), nodes=", ".join(laws.node_names)
    )
    known = [set(equation.sides) for equation in equations]
    solved = tuple(equation for equation in _currents(laws) if set(equation.sides) not in known)
    first = Step(words.CONNECTED_TITLE, sentence, equations)
    if not solved:
        return (first,)
    free = [str(laws.currents[laws.free(loop)]) for loop in laws.loops]
    why = words.CURRENTS_FREE.format(free=" and ".join(free)) if free else words.CURRENTS_FIXED
    return first, Step(words.CURRENTS_TITLE, why, solved)


def _node_equations(laws: Laws) -> tuple[Equation, ...]:
    """One equation a node but for the second clip's, which says nothing new; no equation twice."""
    found: dict[frozenset[Expression], Equation] = {}
    _, second = laws.wiring.clip_nodes(laws.windings)
    for row, node in enumerate(laws.wiring.nodes(laws.windings)):
        sides = _balanced(tuple(laws.incidence.row(row)), laws.currents)
        if node != second and sides[0] != sides[1]:
            remark = words.AT_NODE.format(node=laws.node_names[row])
            found.setdefault(frozenset(sides), Equation(sides, remark))
    return tuple(found.values())


def _balanced(coefficients: Coefficients, values: tuple[Expression, ...]) -> tuple[Expression, Expression]:
    """The vanishing sum as an equation without minus signs: the side with fewer terms first, zero last."""
    pairs = list(zip(coefficients, values, strict=True))
    left = Add(*(value for coefficient, value in pairs if coefficient > 0))
    right = Add(*(value for coefficient, value in pairs if coefficient < 0))
    first, last = sorted((left, right), key=lambda side: (side == 0, len(Add.make_args(side)), str(side)))
    return first, last


def _currents(laws: Laws) -> tuple[Equation, ...]:
    """Each winding current through the meter's and the free ones; the meter's, if the nodes forbid it."""
    free = {laws.free(pattern) for pattern in laws.current_patterns}
    return tuple(
        Equation((laws.currents[column], _combined(laws, column, laws.currents)))
        for column in range(laws.windings + 1)
        if column not in free
    )


def _combined(laws: Laws, column: int, values: tuple[Expression, ...]) -> Expression:
    return Add(*(pattern[column] * values[laws.free(pattern)] for pattern in laws.current_patterns))


def winding_equations(laws: Laws) -> tuple[Equation, ...]:
    """v1 = L1 di1/dt + M di2/dt and so on, with the dots' signs."""
    return tuple(Equation((laws.voltages[w], _winding_voltage(laws, w))) for w in range(laws.windings))


def _winding_voltage(laws: Laws, winding: int) -> Expression:
    return Add(*(laws.inductances[winding, x] * laws.rates[x] for x in range(laws.windings)))


def what_windings_do(laws: Laws) -> Step:
    """The windings' equations, and what the dots do to the sign of M."""
    if laws.windings == 1:
        return Step(words.WINDINGS_TITLE, words.WINDING, winding_equations(laws))
    if laws.dots is None:
        signs = words.DOTS_UNKNOWN
    else:
        alike = laws.dots[0].end == laws.dots[1].end
        signs = words.DOTS_ALIKE if alike else words.DOTS_UNLIKE
        signs = signs.format(dots=" and ".join(map(str, laws.dots)))
    return Step(words.WINDINGS_TITLE, words.DERIVATION_WINDINGS + signs, winding_equations(laws))


def round_the_loops(laws: Laws) -> Step:
    """The clip voltage and the closed loops as sums of winding voltages."""
    clips = Equation((laws.voltages[-1], _clip_sum(laws, laws.voltages)))
    loops = (Equation(_balanced(loop, laws.voltages)) for loop in _closed(laws))
    return Step(words.VOLTAGES_TITLE, words.VOLTAGES, (clips, *loops))


def _closed(laws: Laws) -> tuple[Coefficients, ...]:
    return tuple(sums for sums in laws.voltage_sums if sums[-1] == 0)


def _clip_sum(laws: Laws, values: tuple[Expression, ...]) -> Expression:
    sums = next(sums for sums in laws.voltage_sums if sums[-1])
    return Add(*(-sums[w] * sums[-1] * values[w] for w in range(laws.windings)))


def solved(laws: Laws) -> tuple[Expression, tuple[Step, ...]]:
    """The equivalent inductance and the steps that solve the laws of at most two windings for it."""
    loop_steps, rates = _loop_current(laws) if laws.loops else ((), _rates(laws, laws.rates))
    di = laws.rates[-1]
    voltages = tuple(_winding_voltage(laws, w) for w in range(laws.windings))
    bare = _clip_sum(laws, voltages)
    filled = bare.xreplace(dict(zip(laws.rates, rates, strict=True)))
    over_di = Add(*(term / di for term in Add.make_args(filled)))
    v = laws.voltages[-1]
    clips = Equation(_without_repeats(v, bare, Mul(over_di, di, evaluate=False)))
    result = cancel(over_di)
    steps = (
        *loop_steps,
        Step(words.CLIPS_TITLE, words.DERIVATION_CLIPS, (clips,)),
        equivalent_inductance(laws, result),
    )
    return result, steps


def equivalent_inductance(laws: Laws, result: Expression) -> Step:
    """What is called inductance, and the result or its formula."""
    v, di = laws.voltages[-1], laws.rates[-1]
    return Step(words.RESULT_TITLE, words.RESULT, (_equation(v, L_EQ * di), _equation(L_EQ, result)))


def _rates(laws: Laws, free: tuple[Expression, ...]) -> tuple[Expression, ...]:
    return tuple(_combined(laws, column, free) for column in range(laws.windings + 1))


def _loop_current(laws: Laws) -> tuple[tuple[Step, ...], tuple[Expression, ...]]:
    """Solve the one closed loop that two windings can have beside the meter's path."""
    (loop,), (sums,) = laws.loops, _closed(laws)
    column = laws.free(loop)
    unknown, di = laws.rates[column], laws.rates[-1]
    voltages = tuple(_winding_voltage(laws, w) for w in range(laws.windings))
    through_free = dict(zip(laws.rates, _rates(laws, laws.rates), strict=True))
    names = dict(zip(laws.voltages, voltages, strict=False))
    bare = tuple(side.xreplace(names) for side in _balanced(sums, laws.voltages))
    one = _one_equation((bare[0] - bare[1]).xreplace(through_free), unknown, di)
    share = cancel(-one.coeff(di) / one.coeff(unknown))
    free = tuple(share * di if x == column else rate for x, rate in enumerate(laws.rates))
    rates = tuple(tidy(rate / di) * di for rate in _rates(laws, free))
    steps = (
        Step(
            words.LOOP_TITLE,
            words.LOOP.format(free=laws.currents[column]),
            (Equation(bare), Equation((one, 0))),
        ),
        Step(words.SHARES_TITLE, words.SHARES, tuple(map(_equation, laws.rates[:-1], rates))),
    )
    return steps, rates


def _one_equation(total: Expression, unknown: Expression, known: Expression) -> Expression:
    """What must vanish, sorted by the two rates, the unknown's coefficient counted positive."""
    total = total.expand()
    if total.coeff(unknown).could_extract_minus_sign():
        total = (-total).expand()
    return collect(total, (unknown, known))


def tidy(quotient: Expression) -> Expression:
    """Numerator over denominator without a common factor, a common minus sign in front."""
    numerator, denominator = fraction(cancel(quotient))
    return -(-numerator / denominator) if numerator.could_extract_minus_sign() else numerator / denominator


def over(numerator: Expression, denominator: Expression) -> Expression:
    """The quotient, a plain number as denominator kept below the whole sum."""
    if denominator.is_Integer and denominator != 1 and numerator.is_Add:
        return Mul(1 / denominator, numerator, evaluate=False)
    return numerator / denominator


def _equation(*sides: Expression) -> Equation:
    return Equation(sides)


def _without_repeats(*sides: Expression) -> tuple[Expression, ...]:
    return tuple(side for place, side in enumerate(sides) if side not in sides[:place])


def conclusion(laws: Laws) -> tuple[Expression, Step]:
    """The end of the road where there is nothing to solve: an open circuit, or both clips on one node."""
    if laws.on_one_node:
        return 0 * L_EQ, Step(
            words.RESULT_TITLE, words.LEADS, (_equation(laws.voltages[-1], 0), _equation(L_EQ, 0))
        )
    return oo, Step(words.RESULT_TITLE, words.OPEN, (_equation(L_EQ, oo),))


# The steps for any number of windings, in matrix form, and the solution of the matrix equations.
#
# Three forms, by what the nodes alone decide: all winding currents (series), all winding voltages
# (parallel), or neither. Bold symbols: L inductance matrix · s signs · p signs of the meter's path · Q one
# column of signs for each closed loop · i, v winding currents and voltages · x loop currents.

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


def what_the_matrix_says(laws: Laws) -> Step:
    """v = L di/dt with all entries, and what the dots do to the signs of the mutual inductances."""
    signs = words.DOTS_MANY_UNKNOWN
    if laws.dots is not None:
        signs = words.DOTS_MANY.format(dots=", ".join(map(str, laws.dots)))
    N = laws.windings
    L, rates = ImmutableMatrix(laws.inductances), ImmutableMatrix(N, 1, laws.rates[:N])
    equation = Equation((ImmutableMatrix(N, 1, laws.voltages[:N]), MatMul(L, rates, evaluate=False)))
    return Step(words.WINDINGS_TITLE, words.DERIVATION_WINDINGS + signs, (equation,))


def solved_matrix(laws: Laws) -> tuple[Fraction | None, tuple[Step, ...]]:
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


# What a pair's result becomes in special cases: no coupling, full coupling, one winding turned round.
#
# Symbols: n = sqrt(L2/L1) · k coupling coefficient · m = (L1+L2)/2 · d = L1-L2 · A = L1+L2+2M · B =
# L1+L2-2M · c = d/sqrt(A B) · s with d = s sqrt(B m), the way on which the windings become equal while k
# goes to 1.

PAIR = L1, L2, M = symbols("L1 L2 M")
A, B, m, d = symbols("A B m d")
c, k, n, s = symbols("c k n s")


def pair_limits(laws: Laws, result: Expression) -> tuple[Step, ...]:
    """The special cases of a pair's result, each computed from it."""
    if not result.has(M):
        return (Step(words.SILENT_TITLE, words.SILENT),)
    cases = {"": result}
    if len(possible_connections(laws.wiring, laws.dots)) > 1:
        cases = {words.IF_ALIKE: result, words.IF_UNLIKE: result.subs(M, -M)}
    steps = [_uncoupled(result), _turned(laws, result) if len(cases) == 1 else _both(laws, cases)]
    for remark, case in cases.items():
        steps += [*_without_large_differences(case, remark), _full_coupling(case, remark)]
    return tuple(steps)


def _in_case(remark: str, sentence: str) -> str:
    return words.IN_CASE.format(remark=remark, sentence=sentence) if remark else sentence


def _uncoupled(result: Expression) -> Step:
    return Step(words.UNCOUPLED_TITLE, words.UNCOUPLED, (Equation((L_EQ, tidy(result.subs(M, 0)))),))


def _turned(laws: Laws, result: Expression) -> Step:
    other = tidy(result.subs(M, -M))
    if other == result:
        return Step(words.TURNED_TITLE, words.TURNED_SAME)
    this = possible_connections(laws.wiring, laws.dots)[0]
    assert laws.dots is not None  # unknown dots leave two cases, which `_both` shows
    dot1, dot2 = laws.dots
    turned = dot1, dot2._replace(end="b" if dot2.end == "a" else "a")
    names = {"this": labels.CONNECTION[this], "other": labels.CONNECTION[identify(laws.wiring, turned)]}
    return Step(words.TURNED_TITLE, words.TURNED.format(**names), (Equation((L_EQ, other)),))


def _both(laws: Laws, cases: dict[str, Expression]) -> Step:
    alike, unlike = (
        labels.CONNECTION[connection] for connection in possible_connections(laws.wiring, laws.dots)
    )
    equations = tuple(Equation((L_EQ, case), remark) for remark, case in cases.items())
    return Step(words.CASES_TITLE, words.CASES.format(alike=alike, unlike=unlike), equations)


def _without_large_differences(case: Expression, remark: str) -> tuple[Step, ...]:
    """A result with a denominator: in m, d and B if that is B, and as a quarter of a series inductance."""
    denominator = fraction(case)[1]
    if not denominator.has(M):
        return ()
    steps = [_quarter(case, remark)]
    if denominator == L1 + L2 - 2 * M:
        halves = expand(cancel(case.subs({L1: m + d / 2, L2: m - d / 2, M: m - B / 2})))
        equations = ((L_EQ, halves), (m, over(L1 + L2, Integer(2))), (d, L1 - L2), (B, denominator))
        steps.insert(
            0,
            Step(
                words.STABLE_TITLE,
                _in_case(remark, words.STABLE),
                tuple(Equation(sides) for sides in equations),
            ),
        )
    return tuple(steps)


def _quarter(case: Expression, remark: str) -> Step:
    half_sum, half_difference = (A + B) / 4, c * sqrt(A * B) / 2
    in_series = {L1: half_sum + half_difference, L2: half_sum - half_difference, M: (A - B) / 4}
    quarter = factor_terms(cancel(case.subs(in_series)))
    equations = (L_EQ, quarter), (A, L1 + L2 + 2 * M), (B, L1 + L2 - 2 * M), (c, (L1 - L2) / sqrt(A * B))
    return Step(
        words.QUARTER_TITLE, _in_case(remark, words.QUARTER), tuple(Equation(sides) for sides in equations)
    )


def _full_coupling(case: Expression, remark: str) -> Step:
    if cancel(case - case.subs(M, -M)) == 0:
        return _at_one(words.FULL_SQUARE, remark, _factored(case.subs(M, k * sqrt(L1 * L2))))
    general = _factored(case.subs({L2: n**2 * L1, M: k * n * L1}))
    if fraction(general)[1].subs({k: 1, n: 1}) == 0:
        return _on_the_way(case, general, remark)
    return _at_one(words.FULL_TURNS, remark, general)


def _factored(quotient: Expression) -> Expression:
    numerator, denominator = fraction(cancel(quotient))
    if denominator.could_extract_minus_sign():
        numerator, denominator = expand(-numerator), expand(-denominator)
    return factor_terms(numerator) / denominator


def _at_one(sentence: str, remark: str, general: Expression) -> Step:
    full = factor(general.subs(k, 1))
    equations = (Equation((L_EQ, general), words.IN_GENERAL), Equation((L_EQ, full), words.AT_ONE))
    sentence += words.FULL_NOTHING if full == 0 else ""
    return Step(words.FULL_TITLE, _in_case(remark, sentence), equations)


def _on_the_way(case: Expression, general: Expression, remark: str) -> Step:
    """0/0: the limit along three ways."""
    equal = factor(cancel(general.subs(n, 1)))
    unequal = cancel(general.subs(k, 1))
    halves = case.subs({L1: m + d / 2, L2: m - d / 2, M: m - B / 2}).subs(d, s * sqrt(B * m))
    way = factor_terms(cancel(halves).subs(B, Integer(0)))
    equations = (
        Equation((L_EQ, general), words.IN_GENERAL),
        Equation((L_EQ, equal), words.EQUAL_ANY),
        Equation((L_EQ, equal.subs(k, 1)), words.EQUAL),
        Equation((L_EQ, unequal), words.UNEQUAL),
        Equation((L_EQ, way), words.ON_PATH),
    )
    return Step(words.PATH_TITLE, _in_case(remark, words.FULL_TURNS + words.PATH), equations)
