"""The joint fit: what comes back from exact readings, and what it says of inexact ones.

Parts and meters are invented.
"""

import contextlib
import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np
import pytest

from labkit.analysis.amounts import AMOUNTS, LEADS
from labkit.analysis.joint_fit import QUANTITIES, Fit, fit
from labkit.analysis.observations import Observation, observe
from labkit.errors import MissingReading
from labkit.record.card import Card, Gain, read_card
from labkit.record.virtual_bench import VirtualBench
from labkit.resources import shipped
from labkit.theory.pair import Pair
from labkit.uncertainty.components import Input
from labkit.uncertainty.least_squares import covariance_of
from labkit.uncertainty.propagate import first_order
from tests.benches import ALL_WIRINGS, PAIR, typed_bench, virtual_bench

THREE = ("one", "two", "line-reversed")


def card(name: str) -> Card:
    """A shipped card."""
    return read_card(shipped("data", "cards", f"{name}.toml"))


def observed(
    ids: Iterable[str], pair: Pair = PAIR, gain: Gain = "shared", card_: str = "bench-fine", seed: int = 5
) -> tuple[Observation, ...]:
    """Readings by a virtual meter."""
    meter = VirtualBench(pair.matrix(), card(card_), seed, gain=gain)
    return observe(virtual_bench(meter, ids, card_), gain)


def exact(ids: Iterable[str], pair: Pair = PAIR, add: float = 0.0) -> tuple[Observation, ...]:
    """The same observations with what a meter without errors would read, and `add` on each, in H."""

    def ideal(o: Observation) -> Observation:
        assert o.connection is not None
        return replace(o, input=Input(o.id, float(pair.inductance(o.connection)) + add, tuple(o.input.terms)))

    return tuple(map(ideal, observed(ids, pair)))


def found(f: Fit, name: str) -> float:
    return float(first_order(lambda *t: t, f.parameters)[["ln A", "ln B", "atanh c"].index(name)].value)


def true(pair: Pair, name: str) -> float:
    return float(QUANTITIES[name][1](pair.L1, pair.L2, pair.B))


def values(f: Fit) -> dict[str, float]:
    return {name: each.estimate.value for name, each in f.drawn(2000).items()}


@pytest.mark.parametrize("k", [0.02, 0.3, 0.97, 0.9999, 0.999999])
@pytest.mark.parametrize("ids", [THREE, tuple(ALL_WIRINGS), ("one", "line", "side-reversed")])
def test_exact_readings_give_the_pair_back(k: float, ids: tuple[str, ...]) -> None:
    """From exact readings every quantity returns, loosely and tightly coupled alike."""
    pair = Pair.from_coupling(10e-3, 10e-3 * (1 + (1 - k) ** 0.5 / 3), k)
    got = values(fit(exact(ids, pair)))
    for name, value in got.items():
        assert value == pytest.approx(true(pair, name), rel=1e-6), name


def test_exact_readings_leave_nothing_over() -> None:
    """Eight exact readings fit with chi² 0, five degrees of freedom and no residual."""
    f = fit(exact(ALL_WIRINGS))
    assert f.degrees_of_freedom == 5
    assert f.chi_squared < 1e-12
    assert np.abs(f.residuals).max() < 1e-6
    assert f.p_value == pytest.approx(1.0)


def test_shared_gain_does_not_enter_the_coupling_and_independent_gain_does() -> None:
    """L1 and L2 on one range: a shared gain cancels in their ratio, so c is known better than without."""
    shared, independent = (
        {p.name: p.standard_uncertainty for p in fit(observed(THREE, gain=gain)).parameters}
        for gain in ("shared", "independent")
    )
    assert shared["atanh c"] < 0.8 * independent["atanh c"]
    assert shared["ln A"] > 1.2 * independent["ln A"]


def test_gain_common_to_all_never_shows() -> None:
    """All readings 0.2 % too large on one range: chi² stays, and the pair is 0.2 % larger."""
    ids = ("one", "two", "side")
    plain = exact(ids)
    more = [
        replace(o, input=Input(o.id, o.value * 1.002, tuple((c, w * 1.002) for c, w in o.input.terms)))
        for o in plain
    ]
    assert fit(more).chi_squared < 1e-9
    assert values(fit(more))["self_inductance_1"] == pytest.approx(1.002 * PAIR.L1, rel=1e-6)


def test_chi_squared_is_distributed_as_it_should() -> None:
    """Normal errors drawn from the very covariance: the mean of chi² over 400 benches is n - p within 3 u."""
    clean = exact(("one", "two", "line-reversed", "side", "side-reversed", "one-shorted"))
    rng, total = np.random.default_rng(11), []
    V = covariance_of([o.input for o in clean])
    for errors in rng.multivariate_normal(np.zeros(len(clean)), V, 400):
        noisy = [
            replace(o, input=Input(o.id, o.value + float(e), tuple(o.input.terms)))
            for o, e in zip(clean, errors, strict=True)
        ]
        total.append(fit(noisy).chi_squared)
    assert np.mean(total) == pytest.approx(3.0, abs=3 * math.sqrt(2 * 3 / 400))


def test_stray_reading_shows_in_chi_squared_and_in_its_residual() -> None:
    """P- off by 30 % is what the fit objects to."""
    ids = ("one", "two", "line-reversed", "side-reversed", "one-shorted")
    clean = exact(ids)
    stray = [
        replace(o, input=Input(o.id, o.value * 1.3, tuple(o.input.terms))) if o.id == "side-reversed" else o
        for o in clean
    ]
    f = fit(stray)
    assert f.p_value is not None
    assert f.p_value < 1e-6
    assert ids[int(np.argmax(np.abs(f.residuals)))] == "side-reversed"


def test_leverage_of_the_only_reading_of_its_kind_is_one() -> None:
    """Of L1, L2, B, each alone in what it says, every fitted value is its own reading's doing."""
    assert fit(observed(THREE)).leverage == pytest.approx([1.0] * 3, abs=1e-9)


def test_leverage_is_shared_where_readings_repeat_each_other() -> None:
    """Eight readings of three parameters: leverages from 0 to 1 that add up to 3."""
    leverage = fit(observed(ALL_WIRINGS)).leverage
    assert sum(leverage) == pytest.approx(3.0)
    assert all(-1e-9 <= each <= 1 + 1e-9 for each in leverage)


@pytest.mark.parametrize("k", [0.99, 0.9998])
def test_interval_of_k_stays_below_one_and_leans_away_from_it(k: float) -> None:
    """A coarse meter near k = 1: the 95 % interval of k is inside physics and holds the truth."""
    pair = Pair.from_coupling(8e-3, 8e-3 * (1 + (1 - k) ** 0.5 / 5), k)
    each = fit(observed(("one", "two", "line-reversed", "side"), pair, card_="hand-held-coarse")).quantities
    low, high = each["coupling_coefficient"].interval
    assert low < k < high < 1
    low, high = each["gap"].interval
    assert 0 < low < 1 - k < high


def test_aiding_readings_alone_do_not_resolve_k_near_one() -> None:
    """L1, L2, A at k = 0.99875: the uncertainty of 1 - k is several times its value."""
    each = fit(exact(("one", "two", "line"))).drawn(4000)["gap"]
    assert each.estimate.value == pytest.approx(true(PAIR, "gap"), rel=1e-6)
    assert each.estimate.standard_uncertainty > 3 * each.estimate.value


def test_best_fit_at_k_1_is_refused_instead_of_being_called_exact() -> None:
    """A too large by half a per cent: the best pair is at k = 1, where first order would claim certainty."""
    more = [
        replace(o, input=Input(o.id, o.value * 1.005, o.input.terms)) if o.id == "line" else o
        for o in exact(("one", "two", "line"))
    ]
    with pytest.raises(MissingReading, match="do not resolve how far below it k is"):
        fit(more)


def test_lead_inductance_comes_out_free() -> None:
    """180 nH on every reading is found beside the pair, and the pair is as without."""
    ids = ("one", "two", "line-reversed", "side", "side-reversed")
    f = fit(exact(ids, add=180e-9), LEADS)
    assert f.size is not None
    assert f.size.value == pytest.approx(180e-9, rel=1e-3)
    assert values(f)["leakage_differential_mode"] == pytest.approx(PAIR.B, rel=1e-5)


def test_lead_inductance_needs_a_reading_with_another_share_of_it() -> None:
    """Beside L1, L2 and B alone there is nothing to tell the leads by."""
    with pytest.raises(MissingReading, match="say nothing about the lead inductance"):
        fit(exact(THREE), LEADS)


def test_too_few_readings_name_what_is_open_and_what_settles_it() -> None:
    """L1 and L2: k, M and the rest are open, and one more reading, series-opposing first, settles it."""
    with pytest.raises(MissingReading) as refused:
        fit(observed(("one", "two")))
    sentence = str(refused.value)
    assert "one, two do not identify a pair" in sentence
    assert "Open: M, k and what follows from them" in sentence
    assert "Any one further reading of these would settle it: series-opposing" in sentence


def test_readings_without_uncertainty_are_refused() -> None:
    """Without a card nothing can be weighed."""
    with pytest.raises(MissingReading, match="none stated"):
        fit(observe(typed_bench({"one": "10.000 mH", "two": "9.960 mH", "side": "9.958 mH"}, card=None)))


# --- real impedance, where frequency and resistance are known -------------------------------------------

UNLIKE = Pair(L1=10.00e-3, L2=9.80e-3, B=40.0e-6)
R1, R2 = 1.9, 1.7
SIX = ("one", "two", "line", "line-reversed", "side", "side-reversed")


def lossy(ids: Iterable[str], seconds: bool, kind: str = "R") -> Fit:
    """Readings of windings with resistance at 10 kHz, with the second display or without."""
    meter = VirtualBench(UNLIKE.matrix(), card("bench-fine"), 5, R=[R1, R2])
    resistance = {"one": R1, "two": R2, "line": R1 + R2, "line-reversed": R1 + R2}
    bench = typed_bench({})
    for id in ids:
        shown = meter.shown(ALL_WIRINGS[id])
        R = resistance.get(id) if seconds else None
        second = None if R is None else f"{kind} {R if kind == 'R' else R / _reactance(id):.6f}"
        bench.read(ALL_WIRINGS[id], shown, id, second=second and (second + " Ω" if kind == "R" else second))
    return fit(observe(bench))


def _reactance(id: str) -> float:
    L = {"one": UNLIKE.L1, "two": UNLIKE.L2, "line-reversed": UNLIKE.B}
    return 2 * math.pi * 10e3 * L.get(id, 4 * UNLIKE.L1)


def test_resistance_left_out_contradicts_the_parallel_reading() -> None:
    """Below the corner frequency side by side shows less of the mismatch, which no lossless pair does."""
    f = lossy(SIX, seconds=False)
    assert f.losses is None
    assert f.chi_squared > 100


@pytest.mark.parametrize("kind", ["R", "D"])
def test_recorded_resistance_explains_the_parallel_reading(kind: str) -> None:
    """With R or D from the second displays the same readings are those of one pair."""
    f = lossy(SIX, seconds=True, kind=kind)
    assert f.losses is not None
    w = 2 * math.pi * 10e3
    assert f.losses.rho_1 * w == pytest.approx(R1, rel=2e-2)
    assert f.chi_squared < 16  # three degrees of freedom; one bench in a thousand has more
    got = values(f)["leakage_differential_mode"]
    assert got == pytest.approx(UNLIKE.B, rel=5e-3)


def test_resistance_of_the_windings_alone_is_not_all_of_it() -> None:
    """Without a resistance in line nobody knows what both share, and the lossless pair is fitted."""
    assert lossy(("one", "two", "side"), seconds=True).losses is None


def test_resistance_of_one_winding_is_not_all_of_it() -> None:
    """Without the resistance of each winding alone the lossless pair is fitted too."""
    assert lossy(("one", "line-reversed", "side"), seconds=True).losses is None


# --- readings that no pair fits ---------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(12))
def test_contradictory_readings_are_fitted_or_refused_in_words(seed: int) -> None:
    """Random readings, each influence beside them: a result or one sentence, and never a warning."""
    rng = np.random.default_rng(seed)
    ids = rng.choice(list(ALL_WIRINGS), rng.integers(4, 8), replace=False)
    ranges = sorted(card("bench-fine").ranges, key=lambda r: r.full_scale)
    values = {id: 10 ** rng.uniform(-6.5, -0.8) for id in map(str, ids)}
    texts = {
        id: str(next(r for r in ranges if r.full_scale > v).display(float(v))) for id, v in values.items()
    }
    observations = observe(typed_bench(texts))
    for amount in (None, *AMOUNTS):
        found = None
        with contextlib.suppress(MissingReading):
            found = fit(observations, amount)
        assert found is None or np.isfinite(found.solution.covariance).all()
        assert found is None or found.solution.converged
