"""Break-even: how wrong a meter without a card would have to be, at its threshold and over a population."""

import itertools
import math

import numpy as np
import pytest

import labkit
from labkit.analysis.analysis import analyse
from labkit.analysis.break_even import (
    ANY,
    BOUND,
    NONE,
    NOT_POSITIVE,
    POSITIVE,
    Display,
    coupling_within,
    error_text,
    least_error,
    pair_within,
)
from labkit.analysis.routes import polarity
from labkit.errors import EntryError
from labkit.faces.report import own_predictions
from labkit.record.bench import Bench
from labkit.theory.pair import STABLE_FORMS
from labkit.theory.wiring import Connection
from tests.benches import WIRINGS, typed_bench

C = Connection
READ = (
    C.SELF_1,
    C.SELF_2,
    C.SERIES_AIDING,
    C.SERIES_OPPOSING,
    C.PARALLEL_AIDING,
    C.PARALLEL_OPPOSING,
    C.SHORT_CIRCUIT_1,
    C.SHORT_CIRCUIT_2,
)
FACTOR = 1 / (1 - BOUND)
PLAIN = {"one": "4.52 mH", "two": "4.49 mH", "line": "17.98 mH", "line-reversed": "8.7 µH", "side": "4.5 mH"}


def exact(connection: Connection, value: float) -> Display:
    """A display with so many digits that the last one does not count."""
    return Display(connection, value, 1e-12 * abs(value))


def bench(shown: dict[str, str], dots: str | None = None, **more: str) -> Bench:
    """Readings of a meter without a card."""
    return typed_bench(shown, dots=dots, card=None, **more)


def kinds(bench: Bench) -> dict[str, str]:
    """Kind of each finding with its sentence."""
    return {f.kind: f.sentence for f in labkit.explain(bench).findings}


# ---- the least error itself


def test_two_readings_that_must_be_equal_need_the_root_of_their_ratio() -> None:
    """A above B by a ratio r: for M not to be positive both are off by sqrt(r), one each way."""
    for ratio in (1.01, 1.5, 100.0):
        found = least_error([exact(C.SERIES_AIDING, ratio), exact(C.SERIES_OPPOSING, 1.0)], NOT_POSITIVE)
        assert 1 / (1 - found) == pytest.approx(math.sqrt(ratio), rel=2e-3)


def test_all_readings_of_a_rule_are_off_at_once() -> None:
    """L1 + L2 reached from B: both singles too large, B too small."""
    displays = [exact(C.SELF_1, 1.0), exact(C.SELF_2, 1.0), exact(C.SERIES_OPPOSING, 0.02)]
    assert 1 / (1 - least_error(displays, NONE)) == pytest.approx(10.0, rel=2e-3)


def test_the_last_digit_counts() -> None:
    """0.01 mH may be 0.02 mH or nothing at all, so it refutes much less than 0.010 mH does."""
    singles = [exact(C.SELF_1, 0.012e-3), exact(C.SELF_2, 0.012e-3)]
    few, many = (
        least_error([*singles, Display(C.SERIES_OPPOSING, 0.01e-3, step)], NONE) for step in (1e-5, 1e-6)
    )
    assert few < BOUND < many


def test_more_readings_never_need_less() -> None:
    """What refutes a claim goes on refuting it when another reading of the same pair is added."""
    pair = (4.5e-3, 3.9e-3, 1.0e-3)
    displays = [exact(c, float(STABLE_FORMS[c](*pair))) for c in READ]
    needed = [least_error(displays[:n], NOT_POSITIVE) for n in range(2, 9)]
    assert all(after >= before * 0.998 for before, after in itertools.pairwise(needed))
    assert needed[-1] > needed[0]


@pytest.mark.parametrize(
    ("error", "said"),
    [(0.0068, "0.68 %"), (0.5, "50 %"), (0.7, "a factor of 3.3"), (0.999, "a factor of 1000")],
)
def test_an_error_in_words(error: float, said: str) -> None:
    """Per cent for what is near, a factor for what is far."""
    assert error_text(error) == said


# ---- a conclusion of each kind, just above the bound and just below


def series(k: float) -> dict[str, str]:
    """Two windings of 10 mH in line both ways, with so many digits that they do not count."""
    return {
        "one": "10.00000 mH",
        "two": "10.00000 mH",
        "line": f"{20 * (1 + k):.5f} mH",
        "line-reversed": f"{20 * (1 - k):.5f} mH",
    }


EDGE = (FACTOR**2 - 1) / (FACTOR**2 + 1)
"""k at which A / B is the square of the factor."""


def test_dots_are_found_above_the_bound_only() -> None:
    """The ratio of the two series readings carries it."""
    assert str(analyse(bench(series(EDGE + 0.002))).shared.dots[1]) == "2a"  # type: ignore[index]
    assert analyse(bench(series(EDGE - 0.002))).shared.dots is None
    assert "would turn the answer round" in kinds(bench(series(EDGE - 0.002)))["polarity open"]


def test_coupling_is_bounded_above_the_bound_only() -> None:
    """M and k are drawn, or left open with the number."""
    assert "k is at least" in kinds(bench(series(EDGE + 0.01), dots="1a 2a"))["coupling"]
    below = kinds(bench(series(EDGE - 0.01), dots="1a 2a"))
    assert "coupling" not in below
    assert "cannot tell without a card" in below["coupling open without a card"]


@pytest.mark.parametrize(("side", "refuted"), [(FACTOR**2 * 1.003, True), (FACTOR**2 * 0.997, False)])
def test_a_rule_is_refuted_above_the_bound_only(side: float, refuted: bool) -> None:
    """Of L1, L2 and one series reading."""
    shown = {"one": "1.00000 mH", "two": "1.00000 mH", "line": f"{2 * side:.5f} mH"}
    uncoupled = next(
        c for c in analyse(bench(shown, dots="1a 2a")).comparisons if c.statement.rule == "uncoupled"
    )
    assert uncoupled.refuted is refuted
    assert ("does not hold" in uncoupled.verdict_text) is refuted
    assert ("cannot tell without a card" in uncoupled.verdict_text) is not refuted


@pytest.mark.parametrize(("over", "contradictory"), [(1.003, True), (0.997, False)])
def test_a_contradiction_is_stated_above_the_bound_only(over: float, contradictory: bool) -> None:
    """Series-aiding above (sqrt L1 + sqrt L2)², which no pair reads."""
    shown = {"one": "1.00000 mH", "two": "1.00000 mH", "line": f"{4 * FACTOR**2 * over:.5f} mH"}
    found = kinds(bench(shown, dots="1a 2a"))
    assert ("do not fit together as entered" in found.get("what happened", "")) is contradictory


def test_a_parallel_reading_above_either_winding_is_passivity() -> None:
    """No passive pair reads more side by side than one of its windings."""
    displays = [exact(C.SELF_1, 1.0), exact(C.SELF_2, 1.0), exact(C.PARALLEL_AIDING, 4.0)]
    assert 1 / (1 - least_error(displays)) == pytest.approx(2.0, rel=2e-3)


@pytest.mark.parametrize(("factor", "named"), [(FACTOR**2 * 1.01, 0), (FACTOR**2 * 0.99, 1)])
def test_a_cause_explains_within_the_bound_only(factor: float, named: int) -> None:
    """One series reading built the wrong way round: with the other one it must still fit."""
    shown = series(0.9) | {"line": f"{2 * factor:.5f} mH"}  # of B = 2 mH
    found = analyse(bench(shown, dots="1a 2a")).mistakes
    reversed_ = [m for m in found if m.clause == "line shows series-opposing, not series-aiding"]
    assert len(reversed_) == named


def test_a_prefix_slip_is_found_without_a_card() -> None:
    """31 mH where the display showed µH."""
    shown = {"one": "4.52 mH", "two": "4.49 mH", "line": "17.98 mH", "line-reversed": "31.0 mH"}
    found = kinds(bench(shown, dots="1a 2a"))["what happened"]
    assert "line-reversed has its prefix off by a factor of 1\u202f000" in found


def test_the_bound_is_what_the_record_states() -> None:
    """The person's own bound moves every conclusion; the last one stated counts."""
    stated = bench(PLAIN)
    assert analyse(stated).shared.bound == BOUND
    stated.note_conditions(largest_meter_error="99 %")
    assert analyse(stated).shared.dots is None
    stated.note_conditions(largest_meter_error="5 %")
    assert analyse(stated).shared.dots is not None


@pytest.mark.parametrize("given", ["0 %", "100 %", "-3 %", "much"])
def test_a_bound_that_is_none_is_refused(given: str) -> None:
    """It lies between nothing and everything."""
    with pytest.raises(EntryError):
        bench(PLAIN).note_conditions(largest_meter_error=given)


# ---- the plain bench


def test_the_plain_bench_says_what_any_lecturer_sees() -> None:
    """No card, no dots: polarity, refuted rule, M and k, each with its number."""
    found = kinds(bench(PLAIN))
    assert "the readings put them at 1a 2a" in found["polarity decided by the readings"]
    assert "1000 times less" in " ".join(f.sentence for f in labkit.explain(bench(PLAIN)).findings)
    assert "k is at least 0.99" in found["coupling"]
    assert "M is about 4.5 mH" in found["coupling"]


def test_separate_inductors_need_neither_dots_nor_card() -> None:
    """Equal both ways: no flux is shared, and the resistor rule holds as far as the digits show."""
    shown = {"one": "4.52 mH", "two": "4.49 mH", "line": "9.01 mH", "line-reversed": "9.01 mH"}
    found = kinds(bench(shown))
    assert found["no coupling"].startswith("They share no flux to speak of")
    assert "|k| is at most 0.0012" in found["no coupling"]
    assert "polarity open" not in found
    assert {c.verdict_text for c in analyse(bench(shown)).comparisons if c.statement.rule == "uncoupled"} == {
        "holds as far as these digits show"
    }
    rows = labkit.predict(bench(shown)).rows
    assert [row.uncoupled is not None for row in rows].count(True) == 6
    assert all(row.coupled is None for row in rows)


def test_one_wrong_polarity_names_both_mirror_images() -> None:
    """Both series readings small, dots unmarked: either may be the wrong one, and that is said."""
    found = kinds(
        bench({k: PLAIN[k] for k in ("one", "two")} | {"line": "8.7 µH", "line-reversed": "8.7 µH"})
    )
    told = found["what happened"]
    assert "line shows series-opposing, not series-aiding" in told
    assert "line-reversed shows series-opposing, not series-aiding" in told
    assert "mirror images" in told


def test_a_card_blames_both_mirror_images_alike() -> None:
    """With a card too neither of the two is named, nor are the dots said to be decided."""
    mirrored = typed_bench(
        {"one": "4.520 mH", "two": "4.490 mH", "line": "8.70 µH", "line-reversed": "8.70 µH"}, dots=None
    )
    ranking = analyse(mirrored).ranking
    assert ranking is not None
    first, second = ranking.explanations[:2]
    assert first.dots != second.dots
    assert first.probability == pytest.approx(second.probability, rel=0.1)
    assert ranking.named is None


def test_a_prediction_after_the_reading_is_marked_and_not_compared() -> None:
    """It stands in every list with its mark, and no discrepancy is formed."""
    late = bench(PLAIN)
    late.commit(WIRINGS["line"], "17.98 mH", "guess", by="p1")
    assert late.predictions[0].after_reading
    assert "(after the reading)" in str(labkit.predict(late))
    told = kinds(late)["own prediction"]
    assert "entered after the reading" in told
    assert "discrepancy" not in told
    assert own_predictions(late)[0].cells[2] == "17.98 mH (after the reading)"


# ---- a population


def part(rng: np.random.Generator) -> tuple[float, float, float]:
    """L1, L2 and M of a passive pair, from uncoupled to tight, M of either sign."""
    L1, L2 = 10 ** rng.uniform(-4, -2, 2)
    gap = 10 ** rng.uniform(-3, 0)
    k = 0.0 if rng.random() < 0.2 else 1 - gap
    return float(L1), float(L2), float(k * math.sqrt(L1 * L2) * rng.choice((-1, 1)))


def displays(rng: np.random.Generator, L1: float, L2: float, M: float, error: float, *, vertex: bool) -> list:
    """What a meter shows that is wrong by up to `error` in each reading, rounded to three or four digits."""
    chosen = [c for c in READ if rng.random() < 0.7]
    found = []
    for c in chosen:
        off = rng.choice((-1, 1)) if vertex else rng.uniform(-1, 1)
        truth = float(STABLE_FORMS[c](L1, L2, L1 + L2 - 2 * M))
        shown = truth * (1 + error * off)
        step = 10.0 ** (math.floor(math.log10(abs(shown))) - int(rng.integers(2, 4)))
        found.append(Display(c, round(shown / step) * step, step))
    return found


@pytest.mark.parametrize("vertex", [True, False])
def test_no_false_conclusion_within_the_bound(vertex: bool) -> None:
    """Errors up to the bound, all readings off: nothing that is drawn is false."""
    rng = np.random.default_rng(20310506)
    drawn = 0
    for _ in range(150):
        L1, L2, M = part(rng)
        shown = displays(rng, L1, L2, M, BOUND, vertex=vertex)
        for sign, other in ((1, NOT_POSITIVE), (-1, POSITIVE)):  # what `polarity` decides by
            if not pair_within(shown, BOUND, other):
                drawn += 1
                assert np.sign(M) == sign
        within = pair_within(shown, BOUND, ANY)
        assert within is not None
        assert within["M"].low <= M * (1 + 1e-9) + 1e-15
        assert within["M"].high >= M * (1 - 1e-9) - 1e-15
        k = abs(M) / math.sqrt(L1 * L2)
        assert coupling_within(within).low <= k + 1e-9
        assert coupling_within(within).high >= k - 1e-9
        if M == 0:
            assert pair_within(shown, BOUND, NONE) is not None
    assert drawn > 20


def test_a_real_meter_gets_the_plain_answer_on_tight_pairs() -> None:
    """One per cent in each reading, k from 0.9 to 0.999, four readings: the dots are always found."""
    rng = np.random.default_rng(20310507)
    right = 0
    for _ in range(60):
        L1, k = float(10 ** rng.uniform(-4, -2)), 1 - 10 ** rng.uniform(-3, -1)
        L2 = L1 * float(rng.uniform(0.5, 2))
        pair = (L1, L2, L1 + L2 - 2 * k * math.sqrt(L1 * L2))
        shown = [exact(c, float(STABLE_FORMS[c](*pair)) * (1 + 0.01 * rng.uniform(-1, 1))) for c in READ[:4]]
        right += polarity(shown, BOUND)[0] == 1 and least_error(shown[:2] + shown[3:], NONE) > BOUND
    assert right == 60


def test_one_of_the_two_signs_needs_no_more_than_the_error_there_is() -> None:
    """And a sign stated never needs less than none stated: cut in two, the ranges only become narrower."""
    rng = np.random.default_rng(3)
    for _ in range(12):
        L1, L2, M = part(rng)
        shown = displays(rng, L1, L2, M, 0.05, vertex=False)
        signs = [least_error(shown, sign) for sign in (POSITIVE, NOT_POSITIVE)]
        assert least_error(shown) * 0.998 <= min(signs) <= 0.05
