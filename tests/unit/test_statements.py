"""What can be stated about a reading, and from which others. Invented readings."""

import pytest

from labkit.analysis.analysis import analyse
from labkit.analysis.compare import PARALLEL, SERIES, SHORTED, TOGETHER, Statement, statements
from labkit.record.bench import Bench
from labkit.theory.pair import Pair
from labkit.theory.wiring import Connection
from labkit.words import analysis as words
from tests.benches import ALL_WIRINGS, EXAMPLE, PAIR, typed_bench

FINE = EXAMPLE["bench-fine"]
JOINT = dict(zip(TOGETHER, [id for id, w in ALL_WIRINGS.items() if "|" in w], strict=True))
"""Ids of the joint readings by their connection, dots at 1a and 2a."""


def about(bench: Bench, id: str) -> dict[str, Statement]:
    """Statements about one reading, by rule."""
    situation = analyse(bench).shared
    (observation,) = [o for o in situation.observations if o.id == id]
    return {s.rule: s for s in statements(observation, situation)}


def everything() -> Bench:
    """The example pair's eight readings, rounded to the fine meter's display."""
    more = {"line": "39.90 mH", "side": "9.958 mH", "side-reversed": "6.24 µH", "one-shorted": "24.99 µH"}
    return typed_bench(FINE | more | {"two-shorted": "24.89 µH"})


def value(statement: Statement) -> float:
    """What a statement says from the values of its readings, in H."""
    return float(statement.value(*[o.value for o in statement.inputs]))


@pytest.mark.parametrize("connection", TOGETHER)
def test_no_statement_about_a_reading_rests_on_it(connection: Connection) -> None:
    """The coupled rule is held against a reading by a route that leaves it out."""
    for statement in about(everything(), JOINT[connection]).values():
        assert connection not in [o.connection for o in statement.inputs]
        assert statement.connection is connection


@pytest.mark.parametrize("connection", [*SERIES, *PARALLEL])
def test_four_rules_speak_of_a_joint_reading(connection: Connection) -> None:
    """Coupled, uncoupled, and either winding alone."""
    assert list(about(everything(), JOINT[connection])) == list(words.STATEMENT)


@pytest.mark.parametrize("connection", SHORTED)
def test_a_missing_short_is_what_the_uncoupled_rule_says(connection: Connection) -> None:
    """With one winding shorted no rival is named that the uncoupled rule names already."""
    rules = about(everything(), JOINT[connection])
    assert list(rules) == ["coupled", "uncoupled"]
    alone = 10.0e-3 if connection is Connection.SHORT_CIRCUIT_1 else 9.96e-3
    assert value(rules["uncoupled"]) == pytest.approx(alone)


@pytest.mark.parametrize("id", ["one", "two"])
def test_nothing_is_stated_about_one_winding_alone(id: str) -> None:
    """A single winding is what the rules start from."""
    assert about(everything(), id) == {}


@pytest.mark.parametrize("connection", TOGETHER)
def test_the_rules_say_what_pairs_do(connection: Connection) -> None:
    """Coupled: the pair of the route's readings; uncoupled: the same windings without shared flux."""
    rules = about(everything(), JOINT[connection])
    by = rules["coupled"].route
    pair = Pair(*by.pair(*[o.value for o in rules["coupled"].inputs]))
    assert value(rules["coupled"]) == pytest.approx(pair.inductance(connection), rel=1e-12)
    assert value(rules["uncoupled"]) == pytest.approx(Pair.uncoupled(PAIR.L1, PAIR.L2).inductance(connection))


def test_either_winding_alone() -> None:
    """The rivals say what the single readings say."""
    rules = about(everything(), "side")
    assert (value(rules["only winding 1"]), value(rules["only winding 2"])) == (10.0e-3, 9.96e-3)


@pytest.mark.parametrize(
    ("readings", "rules"),
    [
        ({"line": "39.90 mH"}, []),
        ({"one": "10.000 mH", "line": "39.90 mH"}, ["only winding 1"]),
        ({"two": "9.960 mH", "line": "39.90 mH"}, ["only winding 2"]),
        (
            {"one": "10.000 mH", "two": "9.960 mH", "line": "39.90 mH"},
            ["uncoupled", "only winding 1", "only winding 2"],
        ),
        ({"one": "0.000 mH", "two": "9.960 mH", "line": "39.90 mH"}, ["only winding 2"]),
    ],
    ids=["alone", "with 1", "with 2", "with both", "with a zero"],
)
def test_rules_need_their_readings(readings: dict[str, str], rules: list[str]) -> None:
    """A rule speaks only where its readings are there, and none is worked out from a zero."""
    assert list(about(typed_bench(readings), "line")) == rules


def two_frequencies() -> Bench:
    """Singles and opposing at 10 kHz, both series readings at 1 kHz, singles there too but for winding 2."""
    bench = typed_bench(FINE | {"line": "39.90 mH"})
    for id, shown in (("one", "10.010 mH"), ("line", "39.94 mH")):
        bench.read(ALL_WIRINGS[id], shown, f"{id}-low", frequency="1 kHz")
    return bench


def test_readings_at_one_frequency_belong_together() -> None:
    """What is stated at 1 kHz rests on what was read at 1 kHz."""
    rules = about(two_frequencies(), "line-low")
    assert list(rules) == ["only winding 1"]
    assert rules["only winding 1"].inputs[0].id == "one-low"
    assert {o.id for s in about(two_frequencies(), "line").values() for o in s.inputs} == {
        "one",
        "two",
        "line-reversed",
    }


def test_a_reading_without_frequency_belongs_to_the_main_one() -> None:
    """A reading whose frequency nobody noted is compared with the most frequent one."""
    bench = typed_bench(FINE | {"side": "9.958 mH"})
    bench.use(meter="meter-a", mode="series")
    bench.read(ALL_WIRINGS["line"], "39.90 mH", "line-bare")
    assert len(about(bench, "line-bare")) == 4


def test_the_reading_with_a_card_is_taken() -> None:
    """Where a winding was read without a card and again with one, the rules rest on the latter."""
    bench = typed_bench({})
    bench.meter("meter-b")
    bench.read("1a 1b", "10.020 mH", "one-first", meter="meter-b")
    for id, shown in FINE.items():
        bench.read(ALL_WIRINGS[id], shown, id)
    assert [o.id for o in about(bench, "line-reversed")["uncoupled"].inputs] == ["one", "two"]
    assert analyse(bench).believed.stated


def test_of_two_meters_the_first_is_taken() -> None:
    """One wiring read with two meters: the rules start from the first, and both readings stand."""
    bench = typed_bench(FINE)
    bench.meter("meter-b", bench.events[3].card)
    bench.read("1a 1b", "10.030 mH", "one-b", meter="meter-b")
    assert [o.id for o in analyse(bench).shared.observations] == ["one", "two", "line-reversed", "one-b"]
    assert about(bench, "line-reversed")["only winding 1"].inputs[0].id == "one"


def test_the_main_frequency_is_the_most_frequent_value() -> None:
    """10 kHz and 10.0 kHz count together against two readings at 1 kHz."""
    bench = typed_bench({})
    for n, (id, frequency) in enumerate(
        [("one", "1 kHz"), ("two", "1 kHz"), ("one", "10 kHz"), ("two", "10.0 kHz"), ("line", "10000 Hz")]
    ):
        bench.read(ALL_WIRINGS[id], "10.000 mH", f"r{n}", frequency=frequency)
    assert analyse(bench).shared.main_frequency.value == 10e3


def test_titles_are_words() -> None:
    """Each rule has a title."""
    assert [s.title for s in about(everything(), "line").values()] == list(words.STATEMENT.values())


@pytest.mark.parametrize(
    ("aiding", "u", "dots"),
    [
        ("20.09 mH", (1, 2), None),
        ("19.91 mH", (1, 2), None),
        ("20.13 mH", (2, 3), ("1a", "2a")),
        ("19.87 mH", (2, 3), ("1a", "2b")),
    ],
)
def test_readings_decide_the_dots_from_two_standard_uncertainties_on(
    aiding: str, u: tuple[float, float], dots: tuple[str, str] | None
) -> None:
    """Two windings of 10 mH hardly coupled: M of 1 to 2 u decides nothing, M above 2 u its own sign."""
    readings = {"one": "10.000 mH", "two": "10.000 mH", "line": aiding}
    marked = analyse(typed_bench(readings)).believed
    assert marked is not None
    M = marked.mutual_inductance
    assert u[0] < abs(M.value) / M.standard_uncertainty < u[1]
    found = analyse(typed_bench(readings, dots=None)).shared
    assert found.dots_decided is (dots is not None)
    assert (found.dots and tuple(map(str, found.dots))) == dots
