"""A derivation worked out: the figures of a bench in the place of the symbols, with units and uncertainty.

M is not put in. It is no reading but a difference of readings, and k close to 1 makes the textbook forms
small differences of large figures, 0/0 in the end. The last steps go through (L1, L2, B) instead, in the
stable forms of `labkit.theory.pair`, and say with the bench's own figures what rounding M would have cost.

Symbols: m = (L1+L2)/2 · d = L1-L2 · A = 2(L1+L2)-B series-aiding · B series-opposing · P = m-B/4-d²/(4B).
"""

from collections.abc import Callable
from dataclasses import dataclass

from sympy import Integer, Mul, Symbol, symbols

from labkit import quantity
from labkit.analysis.analysis import Analysis, analyse
from labkit.analysis.compare import coupled
from labkit.analysis.observations import Observation
from labkit.analysis.predict import Prediction, Ruled
from labkit.analysis.routes import SINGLES, Coupling
from labkit.record.bench import Bench
from labkit.show import Heading, Part, Shown
from labkit.theory.derivation import Derivation, Equation, Filled, Side, Step, derive
from labkit.theory.derivation_steps import L_EQ, over
from labkit.theory.number import Expression, Number
from labkit.theory.pair import CLOSED_FORMS, STABLE_FORMS, coupling_coefficient
from labkit.theory.wiring import Connection, Terminal, Wiring
from labkit.uncertainty.propagate import Estimate, first_order
from labkit.words import analysis as words

C = Connection
L1, L2, M, A, B, P, m, d = symbols("L1 L2 M A B P m d")

MEANS: dict[Symbol, tuple[Expression, Callable[[Number, Number, Number], Number]]] = {
    m: (over(L1 + L2, Integer(2)), lambda L1, L2, B: (L1 + L2) / 2),  # noqa: ARG005 - one signature for all
    d: (L1 - L2, lambda L1, L2, B: L1 - L2),  # noqa: ARG005
    A: (Mul(2, L1 + L2, evaluate=False) - B, STABLE_FORMS[C.SERIES_AIDING]),
    P: (m - B / 4 - d**2 / (4 * B), STABLE_FORMS[C.PARALLEL_AIDING]),
}
"""What the symbols of the stable forms stand for, as shown and as a function of (L1, L2, B)."""

FORMS: dict[Connection, tuple[Expression, tuple[Symbol, ...]]] = {
    C.SERIES_AIDING: (A, (A,)),
    C.SERIES_OPPOSING: (B, ()),
    C.PARALLEL_AIDING: (m - B / 4 - d**2 / (4 * B), (m, d)),
    C.PARALLEL_OPPOSING: (B / 4 - d**2 / (4 * A), (A, d)),
    C.SHORT_CIRCUIT_1: (P * B / L2, (m, d, P)),
    C.SHORT_CIRCUIT_2: (P * B / L1, (m, d, P)),
}
"""Each connection of both windings without a small difference of large figures, and the symbols it needs."""

NOTABLE = 2  # times the result's own uncertainty: what M may do on its own without being worth a step


@dataclass(frozen=True)
class WorkedOut(Shown):
    """A derivation and, after it, the same with the figures of a bench."""

    derivation: Derivation
    figures: tuple[Step, ...]

    @property
    def all_steps(self) -> tuple[Step, ...]:
        """Derivation, special cases, figures, in reading order."""
        return (*self.derivation.all_steps, *self.figures)

    def parts(self) -> tuple[Part, ...]:
        """Every step with its number."""
        shown = list(self.derivation.parts())
        for number, step in enumerate(self.figures, start=len(self.derivation.all_steps) + 1):
            shown += [Heading(f"{number} {step.title}"), *step.parts()[1:]]
        return tuple(shown)


def work_out(
    wiring: str | Wiring,
    bench: Bench | None = None,
    *,
    dots: str | tuple[Terminal, ...] | None = None,
    windings: int = 2,
) -> WorkedOut:
    """The derivation of a wiring, and at its end the figures of a bench.

    Parameters
    ----------
    wiring : such as `1a 1b | 1a=2a 1b=2b`
    bench : whose readings are put in; None for the derivation alone
    dots : if not given, as the bench is marked or its readings decide
    windings : how many, if no bench says so

    Raises
    ------
    WiringError
        if wiring or dots cannot be read or do not fit the part.
    """
    if bench is None:
        return WorkedOut(derive(wiring, windings, dots), ())
    analysis = analyse(bench)
    derivation = derive(wiring, bench.windings, dots if dots is not None else analysis.shared.dots)
    return WorkedOut(derivation, figured(derivation, analysis))


def figured(derivation: Derivation, analysis: Analysis) -> tuple[Step, ...]:
    """The last steps of a derivation: what was read, why M is not put in, the figures, with and without M."""
    if sentence := _hindrance(derivation, analysis):
        return (Step(words.FIGURES_TITLE, sentence),)
    connection = derivation.connection
    assert connection is not None  # it is one of the hindrances
    pool, by = analysis.shared.pool(), analysis.believed
    if connection in SINGLES:
        symbol = L1 if connection is C.SELF_1 else L2
        read = _equation((L_EQ, symbol, _told(pool[connection])), pool[connection])
        return (Step(words.FIGURES_TITLE, words.FIGURES_SINGLE, (read,)),)
    if by is None:
        return (_without_coupling(connection, analysis, words.UNCOUPLED_ONLY),)
    ruled = _predicted(connection, analysis).coupled
    if ruled is None:
        return (_read(by), Step(words.FIGURES_TITLE, coupled(connection, by).no_value))
    steps = (*_why(connection, ruled, by), *_form(connection, by), _filled(connection, ruled, by))
    without = _without_coupling(connection, analysis, words.UNCOUPLED)
    return (_read(by), *steps, without)


def _predicted(connection: Connection, analysis: Analysis) -> Prediction:
    return next(p for p in analysis.predictions if p.connection is connection)


def _hindrance(derivation: Derivation, analysis: Analysis) -> str:
    """Why no figures can be put in; empty if they can."""
    if derivation.windings != 2:
        return words.WORKED_MORE_WINDINGS.format(windings=derivation.windings)
    if derivation.connection in (C.OPEN, C.LEADS):
        return words.NO_FIGURES
    pool, record = analysis.shared.pool(), analysis.shared.dots
    needed = [derivation.connection] if derivation.connection in SINGLES else SINGLES
    if missing := [words.SINGLE.format(number=SINGLES.index(s) + 1) for s in needed if s not in pool]:
        return words.NO_SINGLES.format(missing=words.AND.join(missing))
    if derivation.connection is None or record is None:
        return words.DOTS_UNKNOWN
    dots = derivation.dots
    if dots and derivation.result.has(M) and (dots[0].end == dots[1].end) != (record[0].end == record[1].end):
        given, marked = (" ".join(map(str, each)) for each in (dots, record))
        return words.DOTS_DIFFER.format(given=given, record=marked)
    return ""


def _told(observation: Observation) -> str:
    return quantity.display(observation.value, observation.standard_uncertainty)


def _equation(sides: tuple[object, ...], *read: Observation) -> Equation:
    return Equation(sides, ", ".join(words.ITS_READING.format(id=o.id) for o in read))


def _read(by: Coupling) -> Step:
    """L1 and L2 as read, and B, read itself or by the route that is believed."""
    one, two, *others = by.observations
    equations = [_equation((L1, _told(one)), one), _equation((L2, _told(two)), two)]
    size = by.text(by.leakage_differential_mode)
    if _read_directly(by):
        return Step(words.READ_TITLE, words.READ, (*equations, _equation((B, size), *others)))
    sentence = words.READ_BY.format(route=by.route.title)
    if by.gap.value < 0:
        sentence += " " + words.UNRESOLVED.format(status=by.status)
    return Step(words.READ_TITLE, sentence, (*equations, Equation((B, size))))


def _why(connection: Connection, ruled: Ruled, by: Coupling) -> tuple[Step, ...]:
    """What becomes of the textbook form if M moves within what is known of it, L1 and L2 held still."""
    if connection in (C.SERIES_AIDING, C.SERIES_OPPOSING):
        return ()
    one, two, *_ = by.observations
    M_value, width = by.mutual_inductance.value, _width(by)
    ends = {
        at: CLOSED_FORMS[connection](one.value, two.value, at) for at in (M_value - width, M_value + width)
    }
    k = {at: coupling_coefficient(one.value, two.value, at) for at in ends}
    spread = abs(max(ends.values()) - min(ends.values())) / 2
    if by.stated and spread < NOTABLE * 2 * ruled.estimate.standard_uncertainty and max(k.values()) <= 1:
        return ()
    moved = [
        Equation((L_EQ, _short(value)), words.WHY_AT.format(M=_short(at), k=f"{k[at]:.5f}"))
        for at, value in ends.items()
    ]
    sentence = words.WORKED_WHY + (words.WHY_MOVED if by.stated else words.WHY_COUNT)
    sentence = sentence.format(width=quantity.display(width, significant_digits=2))
    sentence += words.WHY_NO_PAIR if max(k.values()) > 1 else ""
    first = Equation((M, over(L1 + L2 - B, Integer(2)), by.text(by.mutual_inductance)))
    return (Step(words.WHY_TITLE, sentence, (first, *moved)),)


def _width(by: Coupling) -> float:
    """How far M may be off by itself: its expanded uncertainty, or one count of the display, in H."""
    if by.stated:
        return 2 * by.mutual_inductance.standard_uncertainty
    return max(o.readings[0].shown.last_digit for o in by.observations[:2])


def _short(value: float) -> str:
    return quantity.display(value)


def _form(connection: Connection, by: Coupling) -> tuple[Step, ...]:
    """The stable form, and what stands for each of its symbols."""
    form, needed = FORMS[connection]
    if not needed:
        return ()
    lines = [] if form in MEANS else [Equation((L_EQ, form))]
    lines += [Equation((s, MEANS[s][0], by.text(_estimate(MEANS[s][1], by)))) for s in needed if s != form]
    return (Step(words.FORM_TITLE, words.FORM, tuple(lines)),) if lines else ()


def _estimate(function: Callable[[Number, Number, Number], Number], by: Coupling) -> Estimate:
    found: Estimate = first_order(lambda *x: function(*by.route.pair(*x)), [o.input for o in by.observations])
    return found


def _filled(connection: Connection, ruled: Ruled, by: Coupling) -> Step:
    """The stable form with figures, and the result as it is predicted."""
    form, _ = FORMS[connection]
    form = MEANS[form][0] if form in MEANS else form
    outcome = by.text(ruled.estimate)
    if form == B:
        return Step(words.FIGURES_TITLE, words.DIRECT, (Equation((L_EQ, B, outcome)),))
    shown = {str(symbol): _bare(symbol, by) for symbol in form.free_symbols}
    return Step(words.FIGURES_TITLE, _on(ruled, by), _in_lines(form, Filled(form, shown), outcome))


def _in_lines(*sides: Side) -> tuple[Equation, ...]:
    """The inductance and what it equals, one line each, since figures make long lines."""
    return tuple(Equation((L_EQ, side)) for side in sides)


def _bare(symbol: Symbol, by: Coupling) -> str:
    """A symbol's figure without its uncertainty: as read, or worked out, with one digit in reserve."""
    one, two, *others = by.observations
    read = {L1: one, L2: two} | ({B: others[0]} if _read_directly(by) else {})
    if symbol in read:
        return _as_read(read[symbol])
    value = by.leakage_differential_mode if symbol == B else _estimate(MEANS[symbol][1], by)
    u = value.standard_uncertainty / 10 if by.stated else None
    text, _, unit = quantity.display_parts(value.value, u, significant_digits=6)
    return f"{text} {unit}"


def _as_read(observation: Observation) -> str:
    """What the display showed; the mean of repeats with one digit in reserve."""
    if "±" not in observation.text:
        return observation.text
    text, _, unit = quantity.display_parts(observation.value, (observation.standard_uncertainty or 0) / 10)
    return f"{text} {unit}"


def _read_directly(by: Coupling) -> bool:
    """Whether B is a reading of its own."""
    return by.route.needs[2:] == (C.SERIES_OPPOSING,)


def _on(ruled: Ruled, by: Coupling) -> str:
    if not ruled.stated:
        reasons = "; ".join(sorted({o.no_uncertainty for o in by.observations if o.no_uncertainty}))
        return words.FIGURES_NOT_STATED.format(reasons=reasons)
    if ruled.trusted is not False or ruled.monte_carlo is None:
        return words.FIGURES
    u = ruled.monte_carlo.standard_uncertainty
    low, high = (quantity.display_parts(x, u) for x in ruled.monte_carlo.shortest)
    return words.FIGURES + words.INTERVAL.format(low=f"{low[0]} {low[2]}", high=f"{high[0]} {high[2]}")


def _without_coupling(connection: Connection, analysis: Analysis, sentence: str) -> Step:
    """The rule for separate inductors with the same readings."""
    prediction, pool = _predicted(connection, analysis), analysis.shared.pool()
    ruled = prediction.uncoupled
    assert ruled is not None  # both windings alone were read
    form = CLOSED_FORMS[connection](L1, L2, 0 * M).factor()
    shown = {str(s): _as_read(pool[single]) for s, single in zip((L1, L2), SINGLES, strict=True)}
    filled = () if form.is_Symbol else (Filled(form, shown),)
    u = ruled.estimate.standard_uncertainty if ruled.stated else None
    outcome = quantity.display(ruled.estimate.value, u)
    if prediction.coupled:
        sentence = sentence.format(ratio=_ratio(ruled.estimate.value / prediction.coupled.estimate.value))
    return Step(words.UNCOUPLED_TITLE, sentence, _in_lines(form, *filled, outcome))


def _ratio(factor: float) -> str:
    return words.WORKED_TIMES.format(factor=f"{factor:.0f}" if factor >= 100 else f"{factor:.2g}")
