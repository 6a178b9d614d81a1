"""A derivation with the figures of a bench at its end. Readings are invented."""

from collections.abc import Mapping
from functools import cache

import pytest
from sympy import Expr, Rational, Symbol, cancel

from labkit.analysis.results import predict
from labkit.analysis.worked import FORMS, MEANS, WorkedOut, work_out
from labkit.quantity import parse
from labkit.record.bench import Bench
from labkit.theory.derivation import Filled, Step, derive
from labkit.theory.wiring import Connection, parse_dots, standard_wiring
from labkit.words import analysis as words
from labkit.words import labels
from tests.benches import EXAMPLE, typed_bench

FINE = EXAMPLE["bench-fine"]
DEMO = {"one": "6.838 mH", "two": "6.803 mH", "line-reversed": "31.16 µH"}
SINGLES = {id: DEMO[id] for id in ("one", "two")}
LOOSE = {"one": "4.000 mH", "two": "6.000 mH", "line-reversed": "4.000 mH"}  # M = 3 mH
SIDE_BY_SIDE = "1a 1b | 1a=2a 1b=2b"
L1, L2, M, B = map(Symbol, ("L1", "L2", "M", "B"))


def written_out(form: Expr) -> Expr:
    """A form with every symbol replaced by what it stands for, down to L1, L2 and M."""
    for _ in range(3):
        form = form.subs({symbol: meaning for symbol, (meaning, _) in MEANS.items()})
    return form.subs(B, L1 + L2 - 2 * M)


@cache
def bench(readings: tuple[tuple[str, str], ...], dots: str = "1a 2a") -> Bench:
    """A bench with readings, analysed once for all tests that look at it."""
    return typed_bench(dict(readings), dots=dots)


def worked(connection: Connection, readings: Mapping[str, str] = DEMO, dots: str = "1a 2a") -> WorkedOut:
    """The usual wiring of a connection, worked out."""
    wiring = standard_wiring(connection, parse_dots(dots))
    assert wiring is not None
    return work_out(wiring, bench(tuple(readings.items()), dots))


def titled(found: WorkedOut, title: str) -> Step | None:
    """The step with a title, None if it is left out."""
    return next((step for step in found.figures if step.title == title), None)


@pytest.mark.parametrize("dots", ["1a 2a", "1a 2b"])
@pytest.mark.parametrize("connection", FORMS)
def test_every_form_equals_the_derivation(connection: Connection, dots: str) -> None:
    """The form that the figures are put into is the derived formula, exactly."""
    wiring = standard_wiring(connection, parse_dots(dots))
    assert wiring is not None
    assert cancel(written_out(FORMS[connection][0]) - derive(wiring, dots=dots).result) == 0


@pytest.mark.parametrize("symbol", MEANS, ids=str)
def test_what_is_shown_for_a_symbol_is_what_is_computed(symbol: Symbol) -> None:
    """The meaning on the board and the function that gives its figure are the same."""
    shown, function = MEANS[symbol]
    assert cancel(written_out(shown) - function(L1, L2, L1 + L2 - 2 * M)) == 0


@pytest.mark.parametrize("readings", [DEMO, LOOSE], ids=["tight", "loose"])
@pytest.mark.parametrize("connection", FORMS)
def test_the_shown_figures_give_the_shown_result(connection: Connection, readings: Mapping[str, str]) -> None:
    """Whoever puts the shown figures into the shown form by hand gets the result, within a tenth of its U."""
    step = titled(worked(connection, readings), words.FIGURES_TITLE)
    assert step is not None
    filled = [e.sides[1] for e in step.equations if isinstance(e.sides[1], Filled)]
    value, U = step.equations[-1].sides[-1].replace("±", "").rsplit(" ", 1)[0].split()
    unit = step.equations[-1].sides[-1].rsplit(" ", 1)[1]
    for each in filled:
        exact = {Symbol(name): Rational(str(parse(text).exact)) for name, text in each.figures.items()}
        by_hand = float(each.expression.subs(exact))
        assert abs(by_hand - parse(f"{value} {unit}").value) < 0.1 * parse(f"{U} {unit}").value
    assert filled or connection is Connection.SERIES_OPPOSING


@pytest.mark.parametrize("connection", FORMS)
def test_the_result_is_the_prediction(connection: Connection) -> None:
    """The last lines say what `predict` says, coupled and uncoupled."""
    found = worked(connection)
    rows = predict(bench(tuple(DEMO.items()))).parts()[0].rows  # type: ignore[union-attr]
    predicted = next(row for row in rows if row[0] == labels.CONNECTION[connection])
    steps = [titled(found, title) for title in (words.UNCOUPLED_TITLE, words.FIGURES_TITLE)]
    without, coupled = (step.equations[-1].sides[-1] for step in steps if step)
    assert without == predicted[3]
    assert coupled == predicted[4] or predicted[4] == "rests on it"


def test_why_m_is_not_put_in_is_told_by_what_it_would_do() -> None:
    """M one expanded uncertainty off: the textbook form's own values, and k beyond 1, are shown."""
    step = titled(worked(Connection.PARALLEL_OPPOSING), words.WHY_TITLE)
    assert step is not None
    low, high = (equation.text for equation in step.equations[1:])
    # by hand: (6.838·6.803 − M²)/(6.838 + 6.803 + 2M) mH, k = M/√(6.838·6.803), M = 6.80492 ± 0.024 mH
    assert low == "M = 6.781 mH, k = 0.99420:  L_eq = 19.77 µH"
    assert high == "M = 6.829 mH, k = 1.00123:  L_eq = −4.212 µH"
    assert words.WHY_NO_PAIR in step.sentence


@pytest.mark.parametrize(
    ("connection", "readings"),
    [
        (Connection.PARALLEL_AIDING, LOOSE),
        (Connection.SERIES_AIDING, DEMO),
        (Connection.SERIES_OPPOSING, DEMO),
    ],
)
def test_no_warning_where_none_is_due(connection: Connection, readings: Mapping[str, str]) -> None:
    """Loose coupling, and the series connections, need no word about M."""
    assert titled(worked(connection, readings), words.WHY_TITLE) is None


def test_b_that_was_not_read_says_where_it_comes_from() -> None:
    """By the parallel-opposing reading: the sentence names the route, and the line of B no reading."""
    found = work_out(
        SIDE_BY_SIDE, typed_bench({"one": "10.00 mH", "two": "9.96 mH", "side-reversed": "6.24 µH"})
    )
    step = titled(found, words.READ_TITLE)
    assert step is not None
    assert "singles and parallel-opposing" in step.sentence
    assert step.equations[2].remark == ""
    assert step.equations[0].remark == "reading one"


def test_without_a_card_no_uncertainty_is_made_up() -> None:
    """No ± anywhere; the step says why, and M is moved by one count of the display instead."""
    found = work_out(SIDE_BY_SIDE, typed_bench(DEMO, card=None))
    assert not any("±" in line for step in found.figures for line in (str(step), step.sentence))
    assert any("No uncertainty is stated" in step.sentence for step in found.figures)
    step = titled(found, words.WHY_TITLE)
    assert step is not None
    assert "1.0 µH" in step.sentence


def test_readings_that_say_nothing_about_coupling_give_the_rule_without_it() -> None:
    """Both windings alone: one step, the rule for separate inductors, and what to read."""
    (step,) = work_out(SIDE_BY_SIDE, typed_bench({"one": "4.000 mH", "two": "6.000 mH"})).figures
    assert step.sentence == words.UNCOUPLED_ONLY
    # by hand: gain 2.4·0.003/√3, digits √(0.36² + 0.16²)·5 µH/√3, in all u = 4.3 µH
    assert step.equations[-1].text == "L_eq = 2.4000 ± 0.0086 mH"


def test_one_winding_alone_is_its_reading() -> None:
    """Nothing is worked out."""
    (step,) = work_out("1a 1b", bench(tuple(DEMO.items()))).figures
    assert step.equations[0].text == "reading one:  L_eq = L1 = 6.838 ± 0.024 mH"


@pytest.mark.parametrize(
    ("wiring", "readings", "more", "dots", "sentence"),
    [
        ("1a 2a", DEMO, {}, None, words.NO_FIGURES),
        (SIDE_BY_SIDE, {}, {}, None, words.NO_SINGLES.format(missing="winding 1 and winding 2")),
        ("2a 2b", {"one": "6.838 mH"}, {}, None, words.NO_SINGLES.format(missing="winding 2")),
        (SIDE_BY_SIDE, SINGLES, {"dots": None, "card": None}, None, words.DOTS_UNKNOWN),
        (SIDE_BY_SIDE, DEMO, {}, "1a 2b", words.DOTS_DIFFER.format(given="1a 2b", record="1a 2a")),
    ],
)
def test_what_hinders_is_said_in_one_sentence(
    wiring: str, readings: Mapping[str, str], more: dict[str, None], dots: str | None, sentence: str
) -> None:
    """No figure is needed, one is missing, the dots are unknown or others than the record's."""
    (step,) = work_out(wiring, typed_bench(readings, **more), dots=dots).figures  # type: ignore[arg-type]
    assert (step.sentence, step.equations) == (sentence, ())


def test_an_unresolved_route_is_marked() -> None:
    """k beyond 1 by the aiding route: its status stands with the readings, the interval with the result."""
    found = work_out(SIDE_BY_SIDE, typed_bench({"one": "10.000 mH", "two": "9.960 mH", "line": "40.00 mH"}))
    read, figures = (titled(found, title) for title in (words.READ_TITLE, words.FIGURES_TITLE))
    assert read is not None
    assert "not resolved by this route" in read.sentence
    assert figures is not None
    assert "95 % interval" in figures.sentence


def test_figures_go_on_where_the_derivation_ends() -> None:
    """The steps are numbered through; without a bench there are no figures."""
    found = work_out(SIDE_BY_SIDE, bench(tuple(DEMO.items())))
    count = len(found.derivation.all_steps)
    assert f"{count + 1} What was read" in str(found)
    assert len(found.all_steps) == count + len(found.figures)
    assert work_out(SIDE_BY_SIDE, dots="1a 2a").figures == ()


def test_a_part_with_three_windings_is_told_what_there_is() -> None:
    """Its derivation stands; the figures are refused with the call that takes any."""
    three = typed_bench({})
    three.describe(windings=3, dots="1a 2a 3a")
    found = work_out("1a 3b | 1b=2a 2b=3a", three)
    assert found.derivation.windings == 3
    assert found.figures[0].sentence == words.WORKED_MORE_WINDINGS.format(windings=3)
