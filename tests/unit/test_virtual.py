"""The virtual bench: known truth, bounded errors, planted mistakes. Parts and meters are invented."""

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit import quantity
from labkit.errors import CardError
from labkit.record.card import Card, read_card
from labkit.record.virtual_bench import BuiltInstead, PrefixSlip, VirtualBench
from labkit.resources import shipped
from labkit.theory.pair import Pair
from tests.benches import ALL_WIRINGS, PAIR

FINE, COARSE = (read_card(shipped("data", "cards", f"{n}.toml")) for n in ("bench-fine", "hand-held-coarse"))
TEN_KHZ = quantity.parse("10 kHz", "frequency")
SERIES, TURNED = ALL_WIRINGS["line"], ALL_WIRINGS["line-reversed"]


def bench(card: Card = FINE, seed: int = 3, **more: object) -> VirtualBench:
    """The example pair at a virtual meter."""
    return VirtualBench(PAIR.matrix(), card, seed, **more)  # type: ignore[arg-type]


def errors(meter: VirtualBench) -> dict[str, float]:
    """Shown minus true for each wiring, over the limit of error that the card states for the reading."""
    found = {}
    for id, wiring in ALL_WIRINGS.items():
        shown = quantity.parse(meter.shown(wiring))
        limit = meter.card.limit(shown, TEN_KHZ) + shown.last_digit / 2
        found[id] = (shown.value - meter.true_inductance(wiring)) / limit
    return found


@given(
    seed=st.integers(0, 2**32),
    card=st.sampled_from([FINE, COARSE]),
    gain=st.sampled_from(["shared", "independent"]),
)
def test_errors_stay_within_the_card(seed: int, card: Card, gain: str) -> None:
    """Whatever the seed, what is shown lies within the limits that the card states."""
    found = errors(bench(card, seed, gain=gain))
    assert max(map(abs, found.values())) <= 1 + 1e-3


def test_errors_fill_the_limits() -> None:
    """Over many seeds the errors spread over most of the stated limits, both ways."""
    one = [errors(bench(seed=seed))["one"] for seed in range(200)]
    assert min(one) < -0.6
    assert max(one) > 0.6
    assert abs(sum(one) / len(one)) < 0.1


def test_a_seed_is_a_session() -> None:
    """The same seed shows the same, another one something else, in whatever order the wirings are read."""
    forth = {w: bench(seed=5).shown(w) for w in ALL_WIRINGS.values()}
    meter = bench(seed=5)
    back = {w: meter.shown(w) for w in reversed(ALL_WIRINGS.values())}
    assert forth == back
    assert forth != {w: bench(seed=6).shown(w) for w in ALL_WIRINGS.values()}


def gains(gain: str) -> tuple[float, float]:
    """Relative error of both windings at a meter whose card has a gain error alone and a very fine digit."""
    line = FINE.ranges[2].model_copy(
        update={"digit": "1 nH", "up_to": "19.999999 mH", "digits": 0.0, "percent": 1.0}
    )
    meter = bench(FINE.model_copy(update={"ranges": (line,)}), gain=gain)
    one, two = (
        quantity.parse(meter.shown(w)).value / meter.true_inductance(w) - 1 for w in ("1a 1b", "2a 2b")
    )
    return one, two


def test_gain_is_shared_on_a_range_or_not() -> None:
    """Shared, both windings are wrong by one factor; independent, each by its own."""
    one, two = gains("shared")
    assert one == pytest.approx(two, abs=2e-7)
    assert abs(one) > 1e-4
    one, two = gains("independent")
    assert abs(one - two) > 1e-4


def test_one_wiring_however_written_is_one_reading() -> None:
    """Repeats and other notations of one wiring share every error but the scatter."""
    assert bench().shown("1a 2a | 1b=2b") == bench().shown("2a 1a | 2b=1b")
    assert bench().shown("1a 1b", repeat=1) == bench().shown("1a 1b", repeat=2)
    wild = bench(scatter=20.0)
    assert len({wild.shown("1a 1b", repeat=n) for n in range(1, 6)}) > 1


@pytest.mark.parametrize(("card", "one", "turned"), [(FINE, 3, 2), (COARSE, 2, 1)])
def test_the_display_has_the_digits_of_its_range(card: Card, one: int, turned: int) -> None:
    """Decimals and unit are the card's: 1 µH or 10 µH steps in mH, 10 nH or 100 nH steps in µH."""
    for wiring, decimals, unit in (("1a 1b", one, "mH"), (TURNED, turned, "µH")):
        digits, shown_unit = bench(card).shown(wiring).split()
        assert (len(digits.partition(".")[2]), shown_unit) == (decimals, unit)


@given(L1=st.floats(1e-5, 0.19), seed=st.integers(0, 1000))
def test_what_is_shown_is_on_a_range_of_the_card(L1: float, seed: int) -> None:
    """Near a range's end the meter takes the next one: no display shows more than it has digits for."""
    pair = Pair.from_coupling(L1, L1, 0.5)
    for card in (FINE, COARSE):
        shown = quantity.parse(VirtualBench(pair.matrix(), card, seed).shown("1a 1b"))
        on = card.range_for(shown, TEN_KHZ)
        assert on.count == pytest.approx(shown.last_digit)
        assert shown.value <= on.full_scale


@pytest.mark.parametrize("L", [19.6e-3, 19.8e-3, 19.98e-3])
def test_near_a_ranges_end_the_meter_takes_the_next_one(L: float) -> None:
    """Whatever the errors, no reading of the coarse meter exceeds the 19.99 mH that its range can show."""
    for seed in range(60):
        shown = quantity.parse(VirtualBench([[L, 0], [0, L]], COARSE, seed).shown("1a 1b"))
        assert shown.value <= (19.99e-3 if shown.last_digit == pytest.approx(10e-6) else 199.9e-3)


def test_lead_inductance_is_in_every_reading() -> None:
    """Leads add their inductance to each wiring, and most of it to nothing but small readings."""
    for wiring in ALL_WIRINGS.values():
        plain, leaded = bench().true_inductance(wiring), bench(lead_inductance=1e-6).true_inductance(wiring)
        assert leaded - plain == pytest.approx(1e-6, rel=1e-6)


def test_losses_and_self_capacitance_are_seen_at_the_frequency() -> None:
    """With C the reading is L/(1 - ω²LC), a little higher; with R alone a single winding reads the same."""
    w = 2 * math.pi * 10e3
    bare = bench().true_inductance("1a 1b")
    assert bench(R=[1.0, 1.0]).true_inductance("1a 1b") == pytest.approx(bare)
    with_C = bench(C=[1e-9, None]).true_inductance("1a 1b")
    assert with_C == pytest.approx(bare / (1 - w * w * bare * 1e-9))
    leaded = bench(C=[1e-9, None], lead_inductance=1e-6).true_inductance("1a 1b")
    assert leaded - with_C == pytest.approx(1e-6, rel=1e-6)


def test_wrong_wiring_is_built_wherever_it_was_meant() -> None:
    """Instead of the intended wiring, in whatever notation, the other one is read; the rest is untouched."""
    slip = bench(faults=[BuiltInstead(TURNED, SERIES)])
    assert slip.true_inductance("2a 1a | 2b=1b") == bench().true_inductance(SERIES)
    assert quantity.parse(slip.shown(TURNED)).value == pytest.approx(
        bench().true_inductance(SERIES), rel=4e-3
    )
    assert slip.shown(SERIES) == bench().shown(SERIES)
    assert slip.shown("1a 1b") == bench().shown("1a 1b")


def test_a_prefix_slip_changes_the_unit_alone() -> None:
    """The digits are those of the display, the unit is a thousand times off, and only there."""
    digits, unit = bench().shown(TURNED).split()
    slip = bench(faults=[PrefixSlip(TURNED)])
    assert unit == "µH"
    assert slip.shown(TURNED) == f"{digits} mH"
    assert slip.shown("1a 1b") == bench().shown("1a 1b")
    assert bench(faults=[PrefixSlip("1a 1b", -3)]).shown("1a 1b").endswith("µH")


def test_a_meter_has_no_range_for_everything() -> None:
    """An open circuit, or a frequency that the card does not know, is refused with what is covered."""
    with pytest.raises(CardError, match=r"no accuracy for ∞ H|no accuracy for inf"):
        bench().shown("1a 2a")
    with pytest.raises(CardError, match="at 100 kHz"):
        bench(frequency="100 kHz").shown("1a 1b")


def test_clips_on_one_node_read_the_leads() -> None:
    """Nothing but the lead inductance is left, within the last digits."""
    shown = quantity.parse(bench(lead_inductance=0.5e-6).shown("1a 1a"))
    assert shown.value == pytest.approx(0.5e-6, abs=0.06e-6)


def test_a_virtual_bench_cannot_be_changed_on_the_quiet() -> None:
    """A session is a value: its seed and faults stay what they were."""
    with pytest.raises(dataclasses.FrozenInstanceError):
        bench().seed = 4  # type: ignore[misc]
