"""The steps for one or two windings: node law, winding equations, loop law, solution, inductance."""

from sympy import Add, Mul, Symbol, cancel, collect, fraction, oo

from labkit.theory.laws import Coefficients, Laws
from labkit.theory.mathml import Expression
from labkit.theory.steps import Equation, Step
from labkit.words import derivation as words

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
    return Step(words.WINDINGS_TITLE, words.WINDINGS + signs, winding_equations(laws))


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
        Step(words.CLIPS_TITLE, words.CLIPS, (clips,)),
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
