"""From readings to observations: values, error components, and what is said about each. Invented readings."""

import math

import pytest

from labkit.analysis.observations import Observation, observe
from labkit.record.bench import Bench
from labkit.theory.wiring import Connection, parse_dots
from labkit.uncertainty.propagate import first_order
from tests.benches import ALL_WIRINGS, EXAMPLE, typed_bench

FINE = EXAMPLE["bench-fine"]


def read(bench: Bench, shown: str, id: str, wiring: str = "1a 1b", **more: object) -> None:
    """One more reading."""
    bench.read(wiring, shown, id, **more)  # type: ignore[arg-type]


def only(bench: Bench, **how: object) -> Observation:
    """The bench's single observation."""
    (found,) = observe(bench, **how)  # type: ignore[arg-type]
    return found


def test_each_inductance_reading_is_in_one_observation() -> None:
    """Repeats, other meters, modes, frequencies: each reading is found once, a resistance is left out."""
    bench = typed_bench(FINE)
    bench.meter("meter-b")
    read(bench, "10.001 mH", "again", repeat=2)
    read(bench, "10.002 mH", "other-meter", meter="meter-b")
    read(bench, "10.003 mH", "other-mode", mode="parallel", second="Q 50")
    read(bench, "10.004 mH", "other-frequency", frequency="1 kHz")
    read(bench, "0.52 Ω", "ohms", quantity="resistance")
    found = observe(bench)
    ids = [id for o in found for id in o.ids]
    assert sorted(ids) == sorted({r.id for r in bench.readings} - {"ohms"})
    assert [o.ids for o in found if len(o.ids) > 1] == [("one", "again")]


def test_one_frequency_however_written() -> None:
    """10 kHz, 10.0 kHz and 10000 Hz are one frequency."""
    bench = typed_bench({})
    for n, frequency in enumerate(("10 kHz", "10.0 kHz", "10000 Hz")):
        read(bench, "10.000 mH", f"r{n}", frequency=frequency)
    assert len(only(bench).readings) == 3


def test_one_wiring_however_written() -> None:
    """Other notations of one wiring are repeats of it."""
    bench = typed_bench({"line-reversed": "25.00 µH"})
    read(bench, "25.02 µH", "again", "2a 1a | 2b=1b")
    assert only(bench).value == pytest.approx(25.01e-6)


def test_repeats_make_a_mean_whose_digits_do_not_average_out() -> None:
    """u² = (gain² + digits² + step²)/3 + s²/n: only the scatter shrinks with repeats (computed here)."""
    bench = typed_bench({})
    shown = (9.998e-3, 10.000e-3, 10.004e-3)
    for n, value in enumerate(shown):
        read(bench, f"{value * 1e3:.3f} mH", f"r{n}", repeat=n + 1)
    o = only(bench)
    mean = sum(shown) / 3
    scatter = sum((x - mean) ** 2 for x in shown) / 2 / 3
    limits = (0.003 * mean) ** 2 + (5e-6) ** 2 + (0.5e-6) ** 2
    assert o.value == pytest.approx(mean)
    assert o.standard_uncertainty == pytest.approx(math.sqrt(limits / 3 + scatter), rel=1e-3)
    (student,) = [c for c, _ in o.input.terms if c.distribution == "student"]
    assert student.degrees_of_freedom == 2


def test_equal_repeats_keep_the_uncertainty_of_one() -> None:
    """A display that shows the same three times has said nothing new."""
    bench = typed_bench({"one": "10.000 mH"})
    before = only(bench).standard_uncertainty
    read(bench, "10.000 mH", "b")
    read(bench, "10.000 mH", "c")
    assert only(bench).standard_uncertainty == pytest.approx(before)


@pytest.mark.parametrize(
    ("settings", "card", "said"),
    [
        ({}, None, "no meter is recorded"),
        (
            {"frequency": "100 kHz"},
            "bench-fine",
            "The card bench-fine states no accuracy for 10.000 mH at 100 kHz",
        ),
    ],
)
def test_without_a_card_for_it_there_is_no_uncertainty(
    settings: dict[str, str], card: str | None, said: str
) -> None:
    """No meter, or a card that does not cover the reading: a value, no uncertainty, and the reason."""
    o = only(typed_bench({"one": "10.000 mH"}, card=card, **settings))
    assert o.value == 10e-3
    assert o.standard_uncertainty is None
    assert o.no_uncertainty.startswith(said)


def test_a_meter_without_a_card_states_nothing() -> None:
    """A meter is named, its card is not there: the reason names the meter."""
    bench = typed_bench({}, card=None)
    bench.meter("meter-b")
    read(bench, "10.000 mH", "one", meter="meter-b")
    assert only(bench).no_uncertainty == "the meter meter-b has no card"


def test_repeats_without_a_card_state_no_uncertainty_either() -> None:
    """The scatter of repeats is not the accuracy of a meter."""
    bench = typed_bench({}, card=None)
    for n in range(3):
        read(bench, f"10.00{n} mH", f"r{n}")
    o = only(bench)
    assert o.standard_uncertainty is None
    assert "±" not in o.text


def test_an_unrecorded_frequency_is_fine_where_it_does_not_matter() -> None:
    """The shipped card has one accuracy at all its frequencies, so a missing one costs nothing."""
    with_it, without = (only(typed_bench({"one": "10.000 mH"}, frequency=f)) for f in ("10 kHz", None))
    assert without.standard_uncertainty == with_it.standard_uncertainty > 0
    assert without.frequency is None


@pytest.mark.parametrize("second", ["Q 2", "D 0.5"])
def test_parallel_mode_is_converted_with_its_own_q(second: str) -> None:
    """Ls = Lp/(1 + 1/Q²): 10 mH at Q = 2 is 8 mH in series, and its limits shrink along."""
    o = only(_parallel(second))
    assert o.value == pytest.approx(8e-3)
    assert any("converted to the series equivalent with its own D = 0.5" in r for r in o.remarks)
    gain = next(w for c, w in o.input.terms if c.label == "gain")
    assert gain == pytest.approx(0.003 * 8e-3 * math.sqrt(1 + 0.25))


def _parallel(second: str | None) -> Bench:
    bench = typed_bench({}, mode="parallel")
    read(bench, "10.000 mH", "one", second=second)
    return bench


@pytest.mark.parametrize("second", [None, "R 50 Ω"])
def test_parallel_mode_without_q_is_used_and_remarked(second: str | None) -> None:
    """Without Q or D the reading is used as it stands, and the remark says what is missing."""
    o = only(_parallel(second))
    assert o.value == 10e-3
    assert any("no Q or D was recorded" in r for r in o.remarks)


def test_series_mode_needs_no_remark_and_an_unknown_mode_has_one() -> None:
    """Nothing is taken for granted in silence: a mode that nobody noted is remarked."""
    assert only(typed_bench({"one": "10.000 mH"})).remarks == ()
    assert "mode is not recorded" in only(typed_bench({"one": "10.000 mH"}, mode=None)).remarks[0]


def test_leads_not_zeroed_are_remarked() -> None:
    """Their inductance is in the reading, and is said to be."""
    assert any(
        "leads were not zeroed" in r
        for r in only(typed_bench({"one": "10.000 mH"}, leads="not zeroed")).remarks
    )
    assert only(typed_bench({"one": "10.000 mH"}, leads="zeroed")).remarks == ()


@pytest.mark.parametrize("shown", ["0.000 mH", "-1.000 mH"])
def test_zero_and_negative_readings_are_kept_and_remarked(shown: str) -> None:
    """No passive winding reads that; the value stands, with its uncertainty and a remark."""
    o = only(typed_bench({"one": shown}))
    assert o.value <= 0
    assert o.standard_uncertainty > 0
    assert any("zero or negative" in r for r in o.remarks)


def test_digits_left_out_are_noticed() -> None:
    """25 µH where the meter shows 10 nH: half a microhenry of rounding counts, and is remarked."""
    short, whole = (only(typed_bench({"line-reversed": s})) for s in ("25 µH", "25.00 µH"))
    assert any("shown to 1 µH, though the meter's digit on this range is 0.01 µH" in r for r in short.remarks)
    assert short.standard_uncertainty > 3 * whole.standard_uncertainty
    assert whole.remarks == ()


def test_corrections_count_and_withdrawn_readings_do_not() -> None:
    """An observation is made of what stands, and knows the lines of the correction too."""
    bench = typed_bench({"one": "10.00 mH", "two": "9.96 mH"}, card=None)
    bench.correct("one", "10.02 mH", "misread")
    bench.withdraw("two", "clamp slipped")
    o = only(bench)
    assert (o.value, o.text, len(o.lines)) == (10.02e-3, "10.02 mH", 2)


@pytest.mark.parametrize(
    ("dots", "line", "side"),
    [
        ("1a 2a", Connection.SERIES_AIDING, Connection.PARALLEL_AIDING),
        ("1b 2b", Connection.SERIES_AIDING, Connection.PARALLEL_AIDING),
        ("1a 2b", Connection.SERIES_OPPOSING, Connection.PARALLEL_OPPOSING),
        (None, None, None),
    ],
)
def test_the_connection_follows_from_the_dots(
    dots: str | None, line: Connection | None, side: Connection | None
) -> None:
    """The same wiring aids or opposes by where the dots are; with unknown dots neither is claimed."""
    bench = typed_bench(
        {"one": "10.000 mH", "line": "20.00 mH", "side": "5.000 mH", "one-shorted": "1.000 mH"}, dots=dots
    )
    single, series, parallel, shorted = observe(bench)
    assert (series.connection, parallel.connection) == (line, side)
    assert (single.connection, shorted.connection) == (Connection.SELF_1, Connection.SHORT_CIRCUIT_1)


def test_dots_can_be_supposed() -> None:
    """Dots given to `observe` win over the part's own."""
    bench = typed_bench({"line": "20.00 mH"})
    assert only(bench, dots=parse_dots("1a 2b")).connection is Connection.SERIES_OPPOSING


def test_a_third_winding_leaves_connections_open() -> None:
    """With three windings nothing is called by a pair's names."""
    bench = typed_bench({})
    bench.describe(windings=3, dots="1a 2a 3a")
    read(bench, "10.000 mH", "one")
    assert only(bench).connection is None


def correlation(bench: Bench, gain: str) -> float:
    """Correlation of the first two observations."""
    first, second, *_ = (o.input for o in observe(bench, gain))  # type: ignore[arg-type]
    a, b = first_order(lambda x, y: (x, y), [first, second])
    return a.correlation(b)


def test_gain_is_shared_on_one_range_only() -> None:
    """Both windings share the gain of their range; the small reading has that of its own."""
    both = typed_bench({"one": "10.000 mH", "two": "9.960 mH"})
    apart = typed_bench({"one": "10.000 mH", "line-reversed": "25.00 µH"})
    assert correlation(both, "shared") == pytest.approx(30**2 / (30**2 + 5**2 + 0.5**2), rel=1e-2)
    assert correlation(both, "independent") == correlation(apart, "shared") == 0


def test_two_frequencies_share_the_gain_of_a_range() -> None:
    """A range keeps its gain error from one test frequency to the next."""
    bench = typed_bench({"one": "10.000 mH"})
    read(bench, "9.990 mH", "one-low", frequency="1 kHz")
    assert correlation(bench, "shared") > 0.9


def test_a_text_is_what_was_shown_or_a_rounded_mean() -> None:
    """One reading is quoted as displayed; a mean is rounded to its uncertainty."""
    bench = typed_bench({"one": "10.000 mH"})
    assert only(bench).text == "10.000 mH"
    read(bench, "10.002 mH", "again")
    assert only(bench).text == "10.001 ± 0.035 mH"


def test_the_eight_wirings_are_eight_connections() -> None:
    """Each of the wirings of a lesson amounts to a connection of its own."""
    bench = typed_bench(dict.fromkeys(ALL_WIRINGS, "10.000 mH"))
    assert len({o.connection for o in observe(bench)}) == 8
