"""Charts show the numbers of the analysis where they belong; all is read back from the SVG itself."""

import itertools
import math
import re
import warnings
from collections.abc import Callable
from pathlib import Path
from statistics import NormalDist

import pytest

import labkit
from labkit import quantity
from labkit.analysis.analysis import analyse
from labkit.analysis.routes import Coupling
from labkit.errors import EntryError
from labkit.faces.coupling_scale import coupling_scale
from labkit.faces.uncertainty_charts import budget_bars, distribution
from labkit.record.bench import Bench
from labkit.record.virtual_bench import BuiltInstead
from labkit.resources import shipped
from labkit.show import Picture
from labkit.theory.pair import Pair
from labkit.uncertainty.montecarlo import histogram
from tests.benches import LOOSE, WIRINGS, coupled_bench, empty_bench, three_winding_bench
from tests.drawings import SVG, Chart

COARSE = "hand-held-coarse"
TIGHT = Pair(L1=10.00e-3, L2=9.96e-3, B=4.0e-6)
ABOVE_ONE = re.compile(r"\|k\| = 1\.0\d+ ± ")


@pytest.fixture(scope="module")
def demo() -> Bench:
    return labkit.demo_bench()


@pytest.fixture(scope="module")
def coarse(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    return coupled_bench(tmp_path_factory.mktemp("coarse"), card=COARSE)


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    return coupled_bench(tmp_path_factory.mktemp("bare"), card=None)


def found(bench: Bench) -> dict[str, Coupling]:
    return {r.name: c for r, c in analyse(bench).couplings.items() if isinstance(c, Coupling)}


def place_of_k(chart: Chart) -> Callable[[float], float]:
    """Where a value of 1 - |k| must stand, worked out from two numbers on the axis."""
    ticks = [(1 - float(k), x) for k, x in chart.ticks().items() if k not in ("1", "> 1")]
    (gap1, x1), (gap2, x2) = ticks[0], ticks[-1]
    per_decade = (x2 - x1) / math.log10(gap1 / gap2)
    return lambda gap: x1 + per_decade * math.log10(gap1 / gap)


def place_of_value(chart: Chart) -> Callable[[float], float]:
    """Where an inductance must stand, worked out from two numbers on the axis."""
    ticks = [(quantity.parse(text).value, x) for text, x in chart.ticks().items()]
    (v1, x1), (v2, x2) = ticks[0], ticks[-1]
    return lambda value: x1 + (x2 - x1) * (value - v1) / (v2 - v1)


# k on a scale


@pytest.mark.parametrize("size", ["page", "projector"])
def test_estimates_and_intervals_of_k_stand_where_they_belong(demo: Bench, size: str) -> None:
    """Each mark is at 1 - |k| and each resolved interval from U below to U above it."""
    chart = Chart(coupling_scale(demo, size))
    place = place_of_k(chart)
    assert len(found(demo)) == 6
    for name, c in found(demo).items():
        (x, _), _ = chart.mark(f"estimate {name}")
        assert x == pytest.approx(place(c.gap.value), abs=0.1)
        U = 2 * c.gap.standard_uncertainty
        left, right = chart.span(f"interval {name}")
        assert left == pytest.approx(place(c.gap.value + U), abs=0.1)
        if c.resolved:
            assert right == pytest.approx(place(c.gap.value - U), abs=0.1)


def test_every_number_of_the_axis_stands_at_its_k(demo: Bench) -> None:
    """All numbers written on the axis lie on the one logarithmic line, and 1 lies beyond them all."""
    for size in ("page", "projector"):
        chart = Chart(coupling_scale(demo, size))
        place, ticks = place_of_k(chart), chart.ticks()
        numbers = {k: x for k, x in ticks.items() if k != "1"}
        assert len(numbers) >= 4
        assert all(x == pytest.approx(place(1 - float(k)), abs=0.1) for k, x in numbers.items())
        assert ticks["1"] > max(numbers.values())


def test_a_route_that_resolves_nothing_is_open_towards_one(demo: Bench) -> None:
    """Its interval ends at the mark for 1, dashed, with the words; a resolved one stays short of it."""
    chart = Chart(coupling_scale(demo))
    ((one, _), *_) = chart.spots("one")
    for name, c in found(demo).items():
        _, right = chart.span(f"interval {name}")
        (_, y), _ = chart.mark(f"estimate {name}")
        assert ("not resolved" in chart.row(y, 40.0)) is not c.resolved
        assert ("stroke-dasharray" in chart.style(f"interval {name}")) is not c.resolved
        assert right == pytest.approx(one, abs=0.1) if not c.resolved else right < one - 20


def test_k_above_one_stands_beyond_the_mark_with_its_value(coarse: Bench) -> None:
    """|k| > 1 is drawn right of the mark for 1, and its value is written as computed, not clipped."""
    chart = Chart(coupling_scale(coarse))
    ((one, _), *_) = chart.spots("one")
    above = {name: c for name, c in found(coarse).items() if c.gap.value < 0}
    assert above
    for name, c in above.items():
        (x, y), _ = chart.mark(f"estimate {name}")
        assert one < x < chart.ticks()["> 1"] + 0.1
        texts = chart.row(y, 60.0)
        assert f"|k| = {c.text(c.coefficient, '')}" in texts
        assert any(ABOVE_ONE.match(text) for text in texts)
        assert "not resolved: no passive pair has |k| > 1" in texts


def test_the_preferred_route_comes_first_and_is_marked(demo: Bench) -> None:
    """It alone is filled, bold and called preferred, and stands above all others."""
    chart, believed = Chart(coupling_scale(demo)), analyse(demo).believed
    assert believed
    heights = {name: chart.mark(f"estimate {name}")[0][1] for name in found(demo)}
    filled = {name for name in heights if "fill: #ffffff" not in chart.mark(f"estimate {name}")[1]}
    assert filled == {believed.route.name} == {min(heights, key=lambda name: heights[name])}
    called = [(text, style) for text, _, style in chart.texts if text.endswith(", preferred")]
    assert [text for text, _ in called] == [f"|k| = {believed.text(believed.coefficient, '')}, preferred"]
    assert "font-weight: 700" in called[0][1]


def test_words_give_every_route_with_its_numbers_and_readings(demo: Bench) -> None:
    """The alternative names k, 1 - k, status and ids of every route."""
    alt = coupling_scale(demo).alt
    for c in found(demo).values():
        k, gap = c.text(c.coefficient, ""), c.text(c.gap, "")
        facts = f"({', '.join(c.ids)}): |k| = {k}, 1 − |k| = {gap}, {c.status}."
        assert facts in alt
    assert "The data are invented." in alt


def test_without_a_card_the_bars_are_what_a_meter_within_the_bound_leaves(bare: Bench) -> None:
    """The bar is the range of |k| that stands in the table, and the words say so."""
    chart = Chart(coupling_scale(bare))
    bounded = [c.between for c in found(bare).values() if c.between]
    assert bounded
    assert len(chart.named("interval")) == len(bounded)
    assert len(chart.named("estimate")) == len(found(bare)) == 6
    texts = [text for text, _, _ in chart.texts]
    assert {*bounded} <= {*texts}
    assert any(text.startswith("bars: where |k| lies if the meter, which has no card") for text in texts)


def test_k_without_uncertainty_is_told_from_one(tmp_path: Path) -> None:
    """Without a card a k of about 0.9998 keeps so many digits that 1 - k can be read from them to 2 %."""
    bench = coupled_bench(tmp_path, card=None, pair=TIGHT)
    (shown,) = (text for text, _, _ in Chart(coupling_scale(bench)).texts if text.endswith(", preferred"))
    k = float(shown.removeprefix("|k| = ").removesuffix(", preferred"))
    gap = found(bench)["series_opposing"].gap.value
    assert 1 - k == pytest.approx(gap, rel=0.02)
    assert gap < 3e-4


def test_a_loose_pair_starts_at_zero(tmp_path: Path) -> None:
    """For k of about 0.6 the axis starts at k = 0."""
    chart = Chart(coupling_scale(coupled_bench(tmp_path, pair=LOOSE)))
    assert min(chart.ticks().items(), key=lambda tick: tick[1])[0] == "0"


@pytest.mark.parametrize("wirings", [(), ("one", "two")])
def test_missing_readings_are_named_instead(tmp_path: Path, wirings: tuple[str, ...]) -> None:
    """Without a route the picture is a sentence that says what is still missing."""
    picture = coupling_scale(coupled_bench(tmp_path, wirings))
    assert picture.alt.startswith("There is no k to show yet. Still missing")
    assert " ".join(text for text, _, _ in Chart(picture).texts if "invented" not in text) == picture.alt


def test_three_windings_have_no_single_k(tmp_path: Path) -> None:
    """A part with three windings gets the sentence, not a scale."""
    assert coupling_scale(three_winding_bench(tmp_path)).alt.startswith("There is no k to show yet.")


def test_a_route_without_a_solution_keeps_its_row(tmp_path: Path) -> None:
    """A parallel-aiding reading between the singles has no real root: the row says so and has no mark."""
    bench = empty_bench(tmp_path)
    for id, shown in (
        ("one", "10.00 mH"),
        ("two", "9.90 mH"),
        ("side", "9.95 mH"),
        ("line-reversed", "25.0 µH"),
    ):
        bench.read(WIRINGS[id], shown, id)
    picture = coupling_scale(bench)
    assert [text for text, _, _ in Chart(picture).texts].count("no real solution") == 2
    assert set(Chart(picture).named("estimate")) == {"series_opposing"}
    sentences = [c for c in analyse(bench).couplings.values() if isinstance(c, str)]
    assert len(sentences) == 2
    assert all(sentence in picture.alt for sentence in sentences)


# Budget


def estimate(bench: Bench, connection: str) -> labkit.uncertainty.propagate.Estimate:  # type: ignore[name-defined]
    return next(
        p.coupled.estimate for p in analyse(bench).predictions if p.connection == connection and p.coupled
    )


def lengths(chart: Chart) -> dict[str, float]:
    """The length of every bar in H, by the numbers on the axis."""
    place = place_of_value(chart)
    per_henry = place(1.0) - place(0.0)
    spans = {name: chart.span(f"bar {name}") for name in chart.named("bar")}
    assert all(left == pytest.approx(place(0.0), abs=0.1) for left, _ in spans.values())
    return {name: (right - left) / per_henry for name, (left, right) in spans.items()}


@pytest.mark.parametrize("size", ["page", "projector"])
def test_bars_of_readings_are_as_long_as_their_contributions(coarse: Bench, size: str) -> None:
    """Each bar is |c·u|, largest first, hollow where the result falls; the last one is u."""
    chart, e = Chart(budget_bars(coarse, "parallel_aiding", size=size)), estimate(coarse, "parallel_aiding")
    drawn = lengths(chart)
    parts = {row.name: row.contribution for row in e.budget}
    *names, shared, total = drawn
    assert names == sorted(parts, key=lambda name: -abs(parts[name]))
    for name in names:
        assert drawn[name] == pytest.approx(abs(parts[name]), abs=2e-3 * max(drawn.values()))
        assert ("fill: #ffffff" in chart.style(f"bar {name}")) is (parts[name] < 0)
    assert "fill: url(#" in chart.style(f"bar {shared}")
    assert drawn[total] == pytest.approx(e.standard_uncertainty, rel=2e-3)


def test_squares_of_readings_and_of_what_they_share_add_up(coarse: Bench) -> None:
    """The drawn bars obey u² = sum of squares minus the square of what shared errors take away."""
    *parts, shared, total = lengths(Chart(budget_bars(coarse, "parallel_aiding"))).items()
    assert shared[0] == "shared errors take away"
    left = sum(length**2 for _, length in parts) - shared[1] ** 2
    assert left == pytest.approx(total[1] ** 2, rel=0.02)


def test_shared_errors_that_add_are_called_so(demo: Bench) -> None:
    """For series-aiding the gain that both windings share adds to u, and the words say add."""
    picture = budget_bars(demo, "series_aiding")
    assert estimate(demo, "series_aiding").covariance_part > 0
    assert re.search(r"shared errors add \(covariance\): \+\d", picture.alt)


@pytest.mark.parametrize("connection", ["parallel_aiding", "short_circuit_1", "series_aiding"])
def test_squares_of_sources_add_up_to_the_whole(tmp_path: Path, connection: str) -> None:
    """Bars by sources, the smaller ones together as one, have squares that add up to u²."""
    bench = coupled_bench(tmp_path, card=COARSE)
    drawn = lengths_in_order(Chart(budget_bars(bench, connection, "sources")))
    assert math.hypot(*drawn[:-1]) == pytest.approx(drawn[-1], rel=5e-3)
    assert drawn[-1] == pytest.approx(estimate(bench, connection).standard_uncertainty, rel=2e-3)


@pytest.mark.parametrize("connection", ["parallel_aiding", "short_circuit_1"])
def test_small_sources_stand_together_by_their_squares(coarse: Bench, connection: str) -> None:
    """Sources below 1 % of u² share one bar: the root of the sum of their squares, with their number."""
    picture, e = budget_bars(coarse, connection, "sources"), estimate(coarse, connection)
    small = [part for part in e.contributions.values() if 0 < (part / e.standard_uncertainty) ** 2 < 0.01]
    assert len(small) >= 3
    assert f"{len(small)} smaller ones: " in picture.alt
    drawn = lengths_in_order(Chart(picture))[-2]
    assert drawn == pytest.approx(math.hypot(*small), abs=1e-3 * e.standard_uncertainty)


def lengths_in_order(chart: Chart) -> list[float]:
    place = place_of_value(chart)
    groups = [g for g in chart.root.iter() if g.get("data-mark", "").startswith("bar")]
    found = []
    for g in groups:
        numbers = [float(n) for n in re.findall(r"-?\d[\d.]*", next(iter(g)).attrib["d"])]
        found.append((max(numbers[::2]) - min(numbers[::2])) / (place(1.0) - place(0.0)))
    return found


def test_sources_say_their_size_share_and_in_how_many_readings_they_are(coarse: Bench) -> None:
    """The gain of the range that both windings were read on is one source, in two readings."""
    alt = budget_bars(coarse, "parallel_aiding", "sources").alt
    e = estimate(coarse, "parallel_aiding")
    source, part = max(e.contributions.items(), key=lambda item: abs(item[1]))
    assert source.label == "gain"
    percent = round(100 * (part / e.standard_uncertainty) ** 2)
    said = re.search(
        r"gain \(meter-a, inductance, range [^)]*\): \+([\d.]+) µH, (\d+) % of u², in 2 readings", alt
    )
    assert said
    assert (float(said[1]), int(said[2])) == (pytest.approx(part * 1e6, abs=0.05), percent)


def test_text_beside_bars_is_the_data_in_one_unit(coarse: Bench) -> None:
    """Every reading's contribution is written with its sign, all in one unit."""
    chart, e = Chart(budget_bars(coarse, "parallel_aiding")), estimate(coarse, "parallel_aiding")
    texts = [text for text, _, _ in chart.texts]
    for row in e.budget:
        sign = "−" if row.contribution < 0 else "+"
        assert f"{sign}{abs(row.contribution) * 1e6:.1f} µH" in texts
    assert f"u = {e.standard_uncertainty * 1e6:.1f} µH" in texts
    shown = quantity.display(e.value, e.standard_uncertainty)
    assert f"parallel-aiding by the coupled rule: {shown}" in texts


def test_without_a_card_the_budget_is_a_sentence(bare: Bench) -> None:
    """No uncertainty stated: the picture says so and draws nothing."""
    picture = budget_bars(bare, "parallel_aiding")
    assert "no uncertainty budget of parallel-aiding" in picture.alt
    assert not Chart(picture).named("bar")


# Distribution


def predicted(bench: Bench, connection: str) -> labkit.analysis.predict.Ruled:  # type: ignore[name-defined]
    return next(p.coupled for p in analyse(bench).predictions if p.connection == connection and p.coupled)


@pytest.mark.parametrize("size", ["page", "projector"])
@pytest.mark.parametrize("connection", ["parallel_aiding", "short_circuit_1"])
def test_intervals_stand_where_they_belong(coarse: Bench, connection: str, size: str) -> None:
    """Both 95 % intervals, first order with U and the reading with U are drawn at their values."""
    chart = Chart(distribution(coarse, connection, size))
    place, ruled = place_of_value(chart), predicted(coarse, connection)
    value, u = ruled.estimate.value, ruled.estimate.standard_uncertainty
    expected = {
        "shortest": ruled.monte_carlo.shortest,
        "symmetric": ruled.monte_carlo.symmetric,
        "coupled": (value - 2 * u, value + 2 * u),
    }
    assert chart.mark("value coupled")[0][0] == pytest.approx(place(value), abs=0.1)
    read = [o for o in analyse(coarse).shared.observations if o.connection == connection]
    for o in read:
        U = 2 * o.standard_uncertainty
        expected["reading"] = (o.value - U, o.value + U)
        assert chart.mark("value reading")[0][0] == pytest.approx(place(o.value), abs=0.1)
    assert set(chart.named("interval")) == set(expected)
    for name, ends in expected.items():
        assert chart.span(f"interval {name}") == pytest.approx(tuple(map(place, ends)), abs=0.1)


def test_the_two_intervals_differ_without_colour(coarse: Bench) -> None:
    """The symmetric interval is dashed, the shortest one is not."""
    chart = Chart(distribution(coarse, "parallel_aiding"))
    assert "stroke-dasharray" in chart.style("interval symmetric")
    assert "stroke-dasharray" not in chart.style("interval shortest")


def heights_of_steps(chart: Chart) -> list[tuple[float, float, float]]:
    """Left, right and height of each step, in pixels."""
    spots = chart.spots("steps")
    base = max(y for _, y in spots)
    tops = [(a, b) for a, b in itertools.pairwise(spots) if a[1] == b[1] and b[0] > a[0]]
    return [(a[0], b[0], base - a[1]) for a, b in tops]


def test_steps_are_the_draws_and_the_curve_is_normal_on_one_scale(coarse: Bench) -> None:
    """Steps and curve have areas like the parts of the draws and of the normal distribution they show."""
    chart, ruled = Chart(distribution(coarse, "parallel_aiding")), predicted(coarse, "parallel_aiding")
    steps = heights_of_steps(chart)
    assert len(steps) == 60
    place = place_of_value(chart)
    curve = chart.spots("normal")
    base = max(y for _, y in chart.spots("steps"))
    peak_x, peak_y = min(curve, key=lambda spot: spot[1])
    bell = NormalDist(ruled.estimate.value, ruled.estimate.standard_uncertainty)
    assert peak_x == pytest.approx(place(bell.mean), abs=3)
    per_density = (base - peak_y) / bell.pdf(bell.mean)
    area = sum((right - left) * height for left, right, height in steps)
    assert area / per_density / (place(1.0) - place(0.0)) == pytest.approx(1.0, abs=0.01)
    for x, y in curve:
        value = bell.mean + (x - place(bell.mean)) / (place(1.0) - place(0.0))
        assert base - y == pytest.approx(per_density * bell.pdf(value), abs=1.0)


def test_steps_count_the_very_draws_that_the_intervals_rest_on(coarse: Bench) -> None:
    """The height of every step follows the counts of the same formula, inputs and seed."""
    chart, ruled = Chart(distribution(coarse, "parallel_aiding")), predicted(coarse, "parallel_aiding")
    place, steps = place_of_value(chart), heights_of_steps(chart)
    per_henry = place(1.0) - place(0.0)
    edges = [(x - place(0.0)) / per_henry for x in (*(left for left, _, _ in steps), steps[-1][1])]
    inputs = [o.input for o in ruled.statement.inputs]
    counts = histogram(ruled.statement.value, inputs, seed=ruled.monte_carlo.seed, edges=edges).counts
    height = sum(height for *_, height in steps)
    for (*_, drawn), count in zip(steps, counts, strict=True):
        assert drawn / height == pytest.approx(count / sum(counts), abs=2e-5)


def test_the_shortest_interval_holds_95_percent_of_the_steps(coarse: Bench) -> None:
    """The area of the steps between the drawn ends of each interval is 95 % of the whole."""
    chart = Chart(distribution(coarse, "parallel_aiding"))
    steps = heights_of_steps(chart)
    whole = sum((right - left) * height for left, right, height in steps)
    for name in ("shortest", "symmetric"):
        low, high = chart.span(f"interval {name}")
        inside = sum(max(0.0, min(right, high) - max(left, low)) * height for left, right, height in steps)
        assert inside / whole == pytest.approx(0.95, abs=0.005)


def test_a_reading_far_away_is_an_arrow_with_words(tmp_path: Path) -> None:
    """A reading thousands of U away is not drawn on the axis, and the words say where it lies."""
    fault = BuiltInstead(WIRINGS["side"], WIRINGS["side-reversed"])
    picture = distribution(coupled_bench(tmp_path, faults=(fault,)), "parallel_aiding")
    chart = Chart(picture)
    assert not chart.named("value reading")
    assert any(re.fullmatch(r"6\.\d+ ± 0\.\d+ µH, far to the left", text) for text, _, _ in chart.texts)


def test_words_give_draws_intervals_and_the_verdict(demo: Bench) -> None:
    """The alternative holds number of draws, seed, both intervals, first order, reading and verdict."""
    alt, ruled = distribution(demo, "parallel_aiding").alt, predicted(demo, "parallel_aiding")
    drawn = ruled.monte_carlo
    assert f"seed {drawn.seed}" in alt
    assert "1\N{NARROW NO-BREAK SPACE}000\N{NARROW NO-BREAK SPACE}000 draws" in alt
    low, high = drawn.shortest
    assert f"shortest 95 %: {low * 1e3:.3f} to {high * 1e3:.3f} mH." in alt
    assert "reading: 6.795 ± 0.024 mH." in alt
    assert ruled.agreement.sentence in alt


@pytest.mark.parametrize(
    ("connection", "sentence"),
    [
        (
            "series_opposing",
            "The coupled rule rests on the reading of series-opposing, so nothing is drawn for it;",
        ),
        ("self_inductance_1", "The coupled rule rests on the reading of winding 1 alone,"),
        ("open", "There is no uncertainty budget of an open circuit by the coupled rule yet."),
    ],
)
def test_what_is_not_drawn_says_why(demo: Bench, connection: str, sentence: str) -> None:
    """A connection without draws gets a sentence instead of a picture."""
    assert distribution(demo, connection).alt.startswith(sentence)


# All of them

PICTURES: dict[str, Callable[..., Picture]] = {
    "scale": coupling_scale,
    "budget": lambda bench, size="page": budget_bars(bench, "parallel_aiding", size=size),
    "sources": lambda bench, size="page": budget_bars(bench, "parallel_aiding", "sources", size),
    "distribution": lambda bench, size="page": distribution(bench, "parallel_aiding", size),
}


@pytest.mark.parametrize("size", ["page", "projector"])
@pytest.mark.parametrize("name", PICTURES)
def test_no_two_texts_overlap_and_all_stand_on_the_picture(coarse: Bench, name: str, size: str) -> None:
    """Labels, numbers and notes keep clear of each other and inside the view, at both sizes."""
    chart = Chart(PICTURES[name](coarse, size))
    boxes = chart.boxes()
    for (a, x1, y1, x2, y2), (b, *other) in itertools.combinations(boxes, 2):
        clear = x1 >= other[2] or x2 <= other[0] or y1 >= other[3] or y2 <= other[1]
        assert clear, (a, b)
    for text, left, top, right, bottom in boxes:
        assert chart.left + 5 < left < right <= chart.right + 1, text
        assert 0 <= top < bottom <= chart.height, text


@pytest.mark.parametrize("name", PICTURES)
def test_letters_at_projector_size_are_large(demo: Bench, name: str) -> None:
    """Numbers, labels and values are 30 pixels high, notes 24, on a picture 1600 wide but for its margin."""
    chart = Chart(PICTURES[name](demo, "projector"))
    sizes = {float(size) for *_, style in chart.texts for size in re.findall(r"font-size: ([\d.]+)px", style)}
    assert (chart.right, min(sizes) >= 24, max(sizes)) == (1600, True, 30)


@pytest.mark.parametrize("name", PICTURES)
def test_pictures_are_inert_and_the_same_each_time(demo: Bench, name: str) -> None:
    """No script, no style rule, no link to elsewhere; ids only where they are referred to; own paper."""
    picture = PICTURES[name](demo)
    assert PICTURES[name](labkit.demo_bench()).svg == picture.svg
    assert not re.search(r"<script|<style|href=\"(?!#)|url\((?!#)|@import|<image|<!--", picture.svg)
    referred = set(re.findall(r"#([\w.-]+)", picture.svg))
    assert set(re.findall(r' id="([^"]*)"', picture.svg)) <= referred
    chart = Chart(picture)
    ground = next(chart.root.iter(f"{SVG}rect"))
    x, y, width, height = (float(ground.attrib[name]) for name in ("x", "y", "width", "height"))
    assert ground.attrib["fill"] == "#FFFFFF"
    assert (x, y, x + width, height) == pytest.approx((chart.left, 0.0, chart.right, chart.height))


@pytest.mark.parametrize("name", PICTURES)
def test_letters_that_a_font_lacks_stay_text(tmp_path: Path, name: str) -> None:
    """A meter called in Chinese draws without a warning, and its name is still text."""
    bench = empty_bench(tmp_path)
    bench.meter("电桥", shipped("data", "cards", "bench-fine.toml"))
    bench.use(frequency="10 kHz", mode="series", meter="电桥", leads="zeroed", by="p2")
    for id, shown in (("one", "10.00 mH"), ("two", "9.96 mH"), ("line-reversed", "25.00 µH")):
        bench.read(WIRINGS[id], shown, id)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        picture = PICTURES[name](bench)
    if name == "sources":
        assert "电桥" in picture.svg


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda b: coupling_scale(b, "poster"), "'poster' is not a size of picture;"),
        (lambda b: budget_bars(b, "parallel_aiding", size="poster"), "'poster' is not a size of picture;"),
        (lambda b: distribution(b, "parallel_aiding", "poster"), "'poster' is not a size of picture;"),
        (lambda b: budget_bars(b, "parallel_aiding", "parts"), "'parts' is not a way to split a budget;"),
        (lambda b: budget_bars(b, "sideways"), "'sideways' is not a connection;"),
        (lambda b: distribution(b, "sideways"), "'sideways' is not a connection;"),
    ],
)
def test_bad_input_gets_one_sentence(demo: Bench, call: Callable[[Bench], Picture], sentence: str) -> None:
    """What cannot be drawn is refused with what was given and what is accepted."""
    with pytest.raises(EntryError, match="^" + re.escape(sentence)):
        call(demo)
