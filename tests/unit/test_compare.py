"""Reading against statement: discrepancy, E_n with covariance, verdicts, closures. Invented readings."""

import math
from collections import Counter
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import labkit
from labkit.analysis import compare, predict
from labkit.analysis.analysis import Analysis, analyse
from labkit.analysis.compare import LEAST_FREEDOM, Closure, Comparison, Difference, difference
from labkit.record.bench import Bench
from labkit.record.card import read_card
from labkit.record.virtual_bench import BuiltInstead, PrefixSlip, VirtualBench
from labkit.resources import shipped
from labkit.uncertainty.components import Component, Input
from labkit.uncertainty.montecarlo import monte_carlo
from labkit.uncertainty.propagate import first_order
from labkit.words import analysis as words
from tests.benches import ALL_WIRINGS, EXAMPLE, PAIR, WIRINGS, typed_bench, virtual_bench

FINE, COARSE = EXAMPLE["bench-fine"], EXAMPLE["hand-held-coarse"]
CARDS = {name: read_card(shipped("data", "cards", f"{name}.toml")) for name in EXAMPLE}


def few_draws(*args: Any, **more: Any) -> Any:
    """Monte Carlo with a fiftieth of the draws, whatever was asked for."""
    return monte_carlo(*args, **(more | {"draws": 20_000}))


@pytest.fixture(autouse=True)
def fewer_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Verdicts where first order is not trusted need a few thousand draws here, not a million."""
    for module in (compare, predict):
        monkeypatch.setattr(module, "monte_carlo", few_draws)


def rules(bench: Bench, id: str) -> dict[str, Comparison]:
    """Comparisons of one reading by rule."""
    return {c.statement.rule: c for c in analyse(bench).comparisons if c.observation.id == id}


def closed(bench: Bench) -> dict[str, Closure]:
    """The closures of a bench by name."""
    return {c.name: c for c in analyse(bench).closures}


def kinds(bench: Bench, id: str) -> dict[str, str]:
    """Verdicts on one reading by rule."""
    return {rule: c.verdict.kind for rule, c in rules(bench, id).items()}


# ---- one comparison


def test_discrepancy_is_reading_minus_statement() -> None:
    """39.90 mH against 19.96 mH differs by +19.94 mH."""
    c = rules(typed_bench(FINE | {"line": "39.90 mH"}), "line")["uncoupled"]
    assert c.predicted.value == pytest.approx(19.96e-3)
    assert c.discrepancy == pytest.approx(19.94e-3)
    assert c.shared.E_n > 100


def test_uncertainty_of_a_difference_keeps_the_covariance() -> None:
    """Reading minus winding on one range: of a shared gain 0.3 % of 42 µH are left (computed here)."""
    c = rules(typed_bench(FINE | {"side": "9.958 mH"}), "side")["only winding 1"]
    digits = 2 * (5e-6**2 + 0.5e-6**2)
    shared = math.sqrt((digits + (0.003 * 42e-6) ** 2) / 3)
    independent = math.sqrt((digits + (0.003 * 9.958e-3) ** 2 + (0.003 * 10e-3) ** 2) / 3)
    assert c.shared.estimate.standard_uncertainty == pytest.approx(shared, rel=1e-9)
    assert c.independent.estimate.standard_uncertainty == pytest.approx(independent, rel=1e-9)
    assert c.shared.E_n == pytest.approx(-42e-6 / (2 * shared))
    assert c.E_n_text == f"−{42e-6 / (2 * shared):.2f} / −{42e-6 / (2 * independent):.2f}"


def test_the_ids_are_of_all_readings_behind_it() -> None:
    """A comparison names its own reading and those that the statement rests on."""
    c = rules(typed_bench(FINE | {"side": "9.958 mH"}), "side")["coupled"]
    assert set(c.ids) == {"side", "one", "two", "line-reversed"}


def normal(name: str, value: float, u: float) -> Input:
    """An input with a source of its own."""
    return Input(name, value, ((Component(name, "normal", u),) and ((Component(name, "normal", u), 1.0),)))


@pytest.mark.parametrize(("value", "passes"), [(1.99, True), (-1.99, True), (2.01, False), (-2.01, False)])
def test_two_standard_uncertainties_are_the_border(value: float, passes: bool) -> None:
    """|E_n| ≤ 1 with U = 2u passes, beyond does not, whatever the sign."""
    d = difference(lambda x: x, [normal("x", value, 1.0)])
    assert d.monte_carlo is None
    assert (d.passes, abs(d.E_n) <= 1) == (passes, passes)
    assert d.interval == pytest.approx((value - 2, value + 2))


def test_a_discrepancy_without_uncertainty() -> None:
    """Nothing uncertain: zero passes with E_n = 0, anything else does not with E_n infinite."""
    nothing, something = (difference(lambda x: x, [Input("x", value)]) for value in (0.0, -1e-9))
    assert (nothing.passes, nothing.E_n) == (True, 0.0)
    assert (something.passes, something.E_n) == (False, -math.inf)


def test_a_curved_difference_is_judged_by_its_draws() -> None:
    """x² at x = 0: first order says u = 0; the draws say that zero is at the edge of the interval."""
    d = difference(lambda x: x * x, [normal("x", 0.0, 1.0)])
    assert d.estimate.standard_uncertainty == 0
    assert d.monte_carlo is not None
    assert d.interval == d.monte_carlo.shortest
    assert d.interval[0] < 1e-3


def test_few_repeats_are_judged_by_their_draws() -> None:
    """Two repeats know their scatter badly: a discrepancy of 4u still passes; of 15 repeats it would not."""

    def repeats(n: int) -> Difference:
        scatter = Component("scatter", "student", 1.0, n - 1)
        return difference(lambda x: x, [Input("x", 4.0, ((scatter, 1.0),))])

    assert repeats(2).monte_carlo is not None
    assert repeats(2).passes
    assert abs(repeats(2).E_n) < 1
    assert repeats(LEAST_FREEDOM + 1).monte_carlo is None
    assert not repeats(LEAST_FREEDOM + 1).passes


# ---- verdicts


@pytest.mark.parametrize("card", EXAMPLE)
def test_a_parallel_reading_of_the_coarse_meter_cannot_tell(card: str) -> None:
    """Right or one clamp open? The coarse meter passes both windings alone, the fine one only winding 2."""
    shown = {"bench-fine": "9.958 mH", "hand-held-coarse": "9.96 mH"}[card]
    verdicts = kinds(typed_bench(EXAMPLE[card] | {"side": shown}, card=card), "side")
    assert verdicts["coupled"] == verdicts["only winding 2"] == "cannot tell"
    assert verdicts["uncoupled"] == "inconsistent"
    assert (
        verdicts["only winding 1"]
        == {"bench-fine": "depends on gain", "hand-held-coarse": "cannot tell"}[card]
    )


def test_rivals_are_named() -> None:
    """A verdict that cannot tell says from what."""
    c = rules(typed_bench(COARSE | {"side": "9.96 mH"}, card="hand-held-coarse"), "side")["coupled"]
    assert c.verdict.rivals == ("only winding 1", "only winding 2")
    assert c.verdict.text == "cannot tell from: winding 1 alone, winding 2 alone"


@pytest.mark.parametrize(
    ("side", "verdict"),
    [("9.958 mH", "cannot tell"), ("9.930 mH", "depends on gain"), ("9.700 mH", "inconsistent")],
)
def test_a_verdict_that_hangs_on_the_gain_says_so(side: str, verdict: str) -> None:
    """28 µH off is too much if the gain cancels and fits if it does not; 258 µH off never fits."""
    assert kinds(typed_bench(FINE | {"side": side}), "side")["coupled"] == verdict


def test_a_shared_gain_may_forgive_what_independent_gains_would_not() -> None:
    """Inconsistent needs both: a difference across two ranges may fail with either assumption alone."""
    for bench in (typed_bench(FINE | {"side": "9.930 mH"}), typed_bench(FINE | {"line": "39.70 mH"})):
        for c in analyse(bench).comparisons:
            both = {c.shared.passes, c.independent.passes}
            expected = {
                frozenset({True}): {"consistent", "cannot tell"},
                frozenset({False}): {"inconsistent"},
            }
            assert c.verdict.kind in expected.get(frozenset(both), {"depends on gain"})


def test_no_card_no_verdict_but_a_break_even() -> None:
    """Without a card there is no E_n and no ±, and the uncoupled rule would need a meter wrong by half."""
    bench = typed_bench(FINE | {"side": "9.958 mH", "line": "39.90 mH"}, card=None)
    assert set(kinds(bench, "side").values()) == {"no uncertainty stated"}
    side = rules(bench, "side")["uncoupled"]
    assert side.break_even == "the meter would have to be wrong by 50 % of this reading"
    assert (side.E_n_text, side.stated) == ("", False)
    assert "±" not in side.predicted_text + side.discrepancy_text
    assert closed(bench)["series_sum"].verdict.kind == "no uncertainty stated"
    assert "±" not in str(labkit.compare(bench))


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        ("25.00 µH", "by a factor of 798"),
        ("9.98 mH", "by 100 % of this reading"),
        ("19.96 mH", "by 0 % of this reading"),
        ("0.20 mH", "by a factor of 100"),
        ("0.00 µH", "by 20 mH"),
        ("-1.00 mH", "by 21 mH"),
    ],
)
def test_break_even_in_figures_that_fit(reading: str, said: str) -> None:
    """Per cent for what is near, a factor for what is far, an amount where sign or zero forbids both."""
    bench = typed_bench(FINE | {"line-reversed": reading}, card=None)
    assert rules(bench, "line-reversed")["uncoupled"].break_even.endswith(said)


def test_one_side_without_a_card_is_enough_for_no_verdict() -> None:
    """A statement from a reading without uncertainty has no verdict, however good the other readings are."""
    bench = typed_bench({"two": "9.960 mH", "line": "39.90 mH"})
    bench.meter("meter-b")
    bench.read("1a 1b", "10.000 mH", "one", meter="meter-b")
    assert kinds(bench, "line") == {
        "uncoupled": "no uncertainty stated",
        "only winding 1": "no uncertainty stated",
        "only winding 2": "inconsistent",
    }


def test_every_verdict_has_words() -> None:
    """Each kind of verdict is said in words."""
    assert set(words.VERDICT) == set(compare.Kind.__args__)


# ---- sound and faulty benches


def sound(seed: int) -> Analysis:
    """A bench of the example pair read without a mistake: either card, gain shared or not, by the seed."""
    card = ("bench-fine", "hand-held-coarse")[seed % 2]
    gain = ("shared", "independent")[seed // 2 % 2]
    meter = VirtualBench(PAIR.matrix(), CARDS[card], seed, gain=gain)  # type: ignore[arg-type]
    return analyse(virtual_bench(meter, WIRINGS, card))


def test_sound_benches_refute_the_uncoupled_rule_and_keep_the_coupled_one() -> None:
    """100 seeds, both cards, both kinds of gain: the uncoupled rule always fails, the coupled one rarely.

    At a coverage of 95 % at most one comparison in twenty may call it inconsistent, and as few closures fail.
    """
    found: Counter[tuple[str, str]] = Counter()
    for seed in range(100):
        analysis = sound(seed)
        found.update((c.statement.rule, c.verdict.kind) for c in analysis.comparisons)
        found.update(("closure", c.verdict.kind) for c in analysis.closures)
    assert found["uncoupled", "inconsistent"] == 400
    assert found["coupled", "inconsistent"] <= 20
    assert found["closure", "inconsistent"] <= 10
    assert found["coupled", "consistent"] + found["coupled", "cannot tell"] > 320


def faulty(card: str, seed: int, **mistake: object) -> Analysis:
    """A bench of the example pair with a mistake."""
    meter = VirtualBench(PAIR.matrix(), CARDS[card], seed, **mistake)  # type: ignore[arg-type]
    return analyse(virtual_bench(meter, WIRINGS, card))


def built(intended: str, instead: str) -> dict[str, object]:
    """A wrong wiring, by the ids of the wirings."""
    return {"faults": [BuiltInstead(ALL_WIRINGS[intended], ALL_WIRINGS[instead])]}


def slip(id: str, exponent: int) -> dict[str, object]:
    """A prefix slip."""
    return {"faults": [PrefixSlip(ALL_WIRINGS[id], exponent)]}


NOTICED = {
    "not reversed": (built("line-reversed", "line"), "line-reversed", "series_sum"),
    "reversed by mistake": (built("line", "line-reversed"), "line", "series_sum"),
    "one winding in line": (built("line", "one"), "line", "series_sum"),
    "side by side reversed by mistake": (built("side", "side-reversed"), "side", "quarter_law"),
    "clamp open with one reversed": (built("side-reversed", "one"), "side-reversed", "quarter_law"),
    "slip of a winding": (slip("one", -3), "side", "series_sum"),
    "slip of the opposing reading": (slip("line-reversed", 3), "side-reversed", "quarter_law"),
    "slip of the aiding reading": (slip("line", -3), "line", "series_sum"),
    "slip of the parallel reading": (slip("side", -3), "side", "quarter_law"),
    "leads of 1 µH": ({"lead_inductance": 1e-6}, "side-reversed", "quarter_law"),
}


@pytest.mark.parametrize("card", EXAMPLE)
@pytest.mark.parametrize(("mistake", "reading", "closure"), NOTICED.values(), ids=NOTICED)
def test_a_mistake_that_shows_is_called_inconsistent(
    mistake: dict[str, object], reading: str, closure: str, card: str
) -> None:
    """The coupled rule fails for the reading, and a closure fails, with either card and several seeds."""
    for seed in range(3):
        analysis = faulty(card, seed, **mistake)
        verdicts = {
            c.observation.id: c.verdict.kind for c in analysis.comparisons if c.statement.rule == "coupled"
        }
        assert verdicts[reading] == "inconsistent"
        assert {c.name: c.verdict.kind for c in analysis.closures}[closure] == "inconsistent"


HIDDEN = {
    "one clamp open": built("side", "two"),
    "the other winding shorted instead of in line": built("line-reversed", "one-shorted"),
    "leads of 20 nH": {"lead_inductance": 20e-9},
}


@pytest.mark.parametrize("mistake", HIDDEN.values(), ids=HIDDEN)
def test_a_mistake_that_does_not_show_is_not_made_up(mistake: dict[str, object]) -> None:
    """Where the physics hides it from the coarse meter, the coupled rule is not called inconsistent."""
    for seed in range(4):
        analysis = faulty("hand-held-coarse", seed, **mistake)
        assert "inconsistent" not in {
            c.verdict.kind for c in analysis.comparisons if c.statement.rule == "coupled"
        }
        assert "inconsistent" not in {c.verdict.kind for c in analysis.closures}


# ---- closures


def everything(**changed: str) -> Bench:
    """The eight readings of the example pair as the fine meter displays them."""
    more = {"line": "39.90 mH", "side": "9.958 mH", "side-reversed": "6.24 µH", "one-shorted": "24.99 µH"}
    return typed_bench(FINE | more | {"two-shorted": "24.89 µH"} | changed)


def test_every_closure_holds_for_a_sound_pair() -> None:
    """All four closures are there with eight readings, and each is consistent."""
    assert {name: c.verdict.kind for name, c in closed(everything()).items()} == dict.fromkeys(
        compare.CLOSURES, "consistent"
    )


@given(L1=st.floats(1e-4, 1e-1), ratio=st.floats(0.5, 2.0), k=st.floats(-0.99, 0.99))
@settings(max_examples=50)
def test_closures_are_zero_for_every_pair(L1: float, ratio: float, k: float) -> None:
    """Whatever the pair, each closure's function of the true inductances vanishes."""
    pair = labkit.Pair.from_coupling(L1, L1 * ratio, k)
    for needs, function in compare.CLOSURES.values():
        assert function(*map(pair.inductance, needs)) == pytest.approx(0, abs=1e-9 * L1)


@pytest.mark.parametrize(
    ("changed", "fails"),
    [
        ({"line": "39.00 mH"}, "series_sum"),
        ({"side-reversed": "6.54 µH"}, "quarter_law"),
        ({"two-shorted": "26.00 µH"}, "short_circuits"),
        ({"one-shorted": "26.00 µH"}, "product"),
    ],
)
def test_a_closure_fails_where_a_reading_is_off(changed: dict[str, str], fails: str) -> None:
    """A reading that is 2 to 5 % off breaks the closure that it is in."""
    assert closed(everything(**changed))[fails].verdict.kind == "inconsistent"


def test_a_closure_needs_its_readings() -> None:
    """Without the readings that it ties together there is no closure."""
    assert closed(typed_bench(FINE)) == {}
    assert list(closed(typed_bench(FINE | {"line": "39.90 mH"}))) == ["series_sum"]


def test_every_closure_has_a_title() -> None:
    """Closures are named in words."""
    assert set(words.CLOSURE) == set(compare.CLOSURES)


# ---- whatever is entered


SHOWN = (
    "0.000 mH",
    "-1.000 mH",
    "0.00 µH",
    "0.01 µH",
    "6.24 µH",
    "25.00 µH",
    "-25.00 µH",
    "1.9999 mH",
    "9.960 mH",
)
typed = st.dictionaries(
    st.sampled_from(list(ALL_WIRINGS)),
    st.sampled_from([*SHOWN, "10.000 mH", "19.999 mH", "199.99 mH", "5.000 H"]),
)


@given(
    readings=typed,
    card=st.sampled_from([None, *EXAMPLE]),
    dots=st.sampled_from([None, "1a 2a", "1a 2b"]),
    again=st.lists(st.tuples(st.sampled_from(list(ALL_WIRINGS)), st.sampled_from(SHOWN)), max_size=3),
)
@settings(max_examples=40)
def test_whatever_is_entered_is_answered(
    readings: dict[str, str], card: str | None, dots: str | None, again: list[tuple[str, str]]
) -> None:
    """Zeros, negatives, contradictions, repeats: predict, compare, explain and budget answer in sentences."""
    bench = typed_bench(readings, card=card, dots=dots)
    for n, (id, shown) in enumerate(again):
        bench.read(ALL_WIRINGS[id], shown, f"again-{n}")
    for answer in (
        labkit.predict(bench),
        labkit.compare(bench),
        labkit.explain(bench),
        labkit.budget(bench, "parallel_aiding"),
    ):
        assert str(answer).strip()
        assert "nan" not in str(answer)


def test_e_n_is_printed_to_two_decimals_or_whole() -> None:
    """Below ten two decimals, above whole numbers, with a true minus sign and one figure if both agree."""
    c = rules(typed_bench(FINE | {"line": "39.90 mH"}), "line")["uncoupled"]
    assert all("." not in text and "-" not in text for text in c.E_n_text.split(" / "))
    assert first_order(c.statement.value, [o.input for o in c.statement.inputs]).value == c.predicted.value
