"""The picture of the comparison shows the analysis's numbers at their place, as read back from the SVG."""

import math
import re
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import matplotlib
import pytest

from labkit import quantity
from labkit.analysis.analysis import analyse
from labkit.errors import EntryError
from labkit.faces import comparison_chart as chart
from labkit.faces import plot
from labkit.faces import plot as style
from labkit.faces.comparison_chart import Lane, Point, Row, comparison, rows
from labkit.faces.plot import text_width
from labkit.record.bench import Bench
from labkit.theory.wiring import Connection
from labkit.words import labels
from labkit.words import pictures as words
from tests.benches import coupled_bench, empty_bench, three_winding_bench

SVG = "{http://www.w3.org/2000/svg}"
LINK = "{http://www.w3.org/1999/xlink}href"


@pytest.fixture(scope="module")
def lesson(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    """A pair read and predicted in six wirings; nothing may be added to it."""
    return coupled_bench(tmp_path_factory.mktemp("lesson"))


def read(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def row(found: tuple[Row, ...], connection: Connection) -> dict[str, str]:
    """Texts of a row by kind."""
    this = next(r for r in found if r.label == labels.CONNECTION[connection])
    return {lane.kind: lane.text for lane in this.lanes}


def outline(path: ElementTree.Element) -> str:
    """Path data with one space between its parts."""
    return " ".join(path.get("d", "").split())


def drawn(root: ElementTree.Element) -> list[tuple[float, float, str, str]]:
    """Every shape that is used: x and y in pixels from the top left, its outline, its paint."""
    outlines = {path.get("id"): outline(path) for path in root.iter(f"{SVG}path")}
    return [
        (
            float(use.get("x", "nan")),
            float(use.get("y", "nan")),
            outlines[use.get(LINK, "")[1:]],
            use.get("style", "").lower(),
        )
        for use in root.iter(f"{SVG}use")
    ]


def marks(root: ElementTree.Element, kind: str) -> list[float]:
    """Where the marks of a kind stand, in pixels: closed outlines of its colour, a circle for a reading."""
    mark = plot.MARKS[kind]
    paint = f"stroke: {mark.stroke.colour}".lower()
    hollow = f"fill: {style.PAPER}".lower()
    found = [(x, o, look) for x, _, o, look in drawn(root) if "z" in o and paint in look]
    return sorted(x for x, o, look in found if ("C" in o if mark.filled else hollow in look))


def bars(root: ElementTree.Element, colour: str) -> list[tuple[float, float]]:
    """Left and right ends of the horizontal bars of a colour, in pixels."""
    found = []
    for path in root.iter(f"{SVG}path"):
        spots = re.fullmatch(r"M ([\d.]+) ([\d.]+) L ([\d.]+) ([\d.]+)", outline(path))
        look = path.get("style", "").lower()
        if (
            spots
            and spots[2] == spots[4]
            and f"stroke: {colour.lower()}" in look
            and "clip-path" in path.attrib
        ):
            found.append((float(spots[1]), float(spots[3])))
    return found


def decade_width(root: ElementTree.Element) -> float:
    """Pixels between the labels `100 µH` and `1 mH`."""
    at = {text.text: float(text.get("x", "nan")) for text in root.iter(f"{SVG}text")}
    return at["1 mH"] - at["100 µH"]


def test_every_number_is_the_one_of_the_analysis(lesson: Bench) -> None:
    """Readings, both rules and own predictions stand in the rows as the analysis has them."""
    analysis = analyse(lesson)
    found = rows(analysis)
    for p in analysis.predictions:
        texts = row(found, p.connection)
        if p.uncoupled:
            estimate = p.uncoupled.estimate
            assert texts["uncoupled"] == quantity.display(estimate.value, estimate.standard_uncertainty)
        if p.coupled and not p.is_input:
            estimate = p.coupled.estimate
            assert texts["coupled"] == quantity.display(estimate.value, estimate.standard_uncertainty)
        assert texts.get("own") == (", ".join(str(own.shown) for own in p.own) or None)
    for o in analysis.shared.observations:
        assert o.connection is not None
        assert row(found, o.connection)["reading"] == quantity.display(o.value, o.standard_uncertainty)


def test_one_row_for_each_connection_read_or_predicted(lesson: Bench) -> None:
    """Both singles and all six joint connections have one row each, in a fixed order."""
    found = rows(analyse(lesson))
    assert [r.label for r in found] == [labels.CONNECTION[c] for c in list(Connection)[:8]]


def test_the_coupled_rule_is_left_out_where_it_rests_on_the_reading(lesson: Bench) -> None:
    """Readings that the coupled rule starts from are marked as input, without its prediction beside them."""
    analysis = analyse(lesson)
    inputs = {lane.text: r for r in rows(analysis) for lane in r.lanes if lane.is_input}
    assert analysis.believed is not None
    assert len(inputs) == len(analysis.believed.observations) == 3
    assert all(lane.kind != "coupled" for r in inputs.values() for lane in r.lanes)


@pytest.mark.parametrize("kind", ["reading", "coupled", "uncoupled", "own"])
def test_marks_stand_where_the_logarithm_says(lesson: Bench, kind: str) -> None:
    """The distance between marks of a kind is proportional to the logarithm of the ratio of their values."""
    root, found = read(comparison(lesson).svg), rows(analyse(lesson))
    values = sorted(p.value for r in found for lane in r.lanes if lane.kind == kind for p in lane.points)
    places = marks(root, kind)
    assert len(places) == len(values) > 3
    decade = decade_width(root)
    for place, value in zip(places, values, strict=True):
        assert place - places[0] == pytest.approx(decade * math.log10(value / values[0]), abs=0.01)


def test_bars_span_the_intervals(tmp_path: Path) -> None:
    """The bar of each reading reaches from y - 2u to y + 2u on the same axis."""
    bench = coupled_bench(tmp_path, card="hand-held-coarse")
    root = read(comparison(bench).svg)
    decade = decade_width(root)
    analysis = analyse(bench)
    drawn = sorted(right - left for left, right in bars(root, style.READING.colour))
    widths = []
    for o in analysis.shared.observations:
        assert o.standard_uncertainty is not None
        U = 2 * o.standard_uncertainty
        widths.append(decade * math.log10((o.value + U) / (o.value - U)))
    assert drawn == pytest.approx(sorted(widths), abs=0.01)


def test_an_interval_narrower_than_its_mark_still_shows(lesson: Bench) -> None:
    """The ends of a bar are taller than the mark that may hide the bar itself."""
    shapes = drawn(read(comparison(lesson).svg))
    black = {shape for _, y, shape, look in shapes if style.INK in look and y < 500}
    heights = {}
    for shape in black:
        ys = [float(y) for y in re.findall(r"(-?[\d.]+)(?= [MLCz]|$)", shape)]
        heights["mark" if "z" in shape else "end"] = max(ys) - min(ys)
    assert heights["end"] > 1.5 * heights["mark"] > 0


def test_each_kind_has_a_shape_of_its_own() -> None:
    """Nothing is told by colour alone: four kinds have four different shapes."""
    assert len({mark.shape for mark in plot.MARKS.values()}) == len(plot.MARKS) == 4


def test_what_has_no_place_is_stated(tmp_path: Path) -> None:
    """Negative and zero readings are not drawn but stated in their row, with why."""
    bench = coupled_bench(tmp_path)
    bench.read("1a 2a | 1b=2b", "-24.9 µH", "below", frequency="1 kHz")
    bench.read("1a 2a | 1b=2b", "0.00 µH", "nothing", frequency="100 Hz")
    before, picture = (
        len(marks(read(comparison(coupled_bench(tmp_path / "b")).svg), "reading")),
        comparison(bench),
    )
    assert len(marks(read(picture.svg), "reading")) == before
    for text in ("reading below: −24.9", "reading nothing: 0.00"):
        assert re.search(rf"{text}[^;]*\(no place on a logarithmic axis\)", picture.alt)
        assert any((t.text or "").startswith(text) for t in read(picture.svg).iter(f"{SVG}text"))


def test_infinity_has_no_place() -> None:
    """Infinite and negative values are kept off the axis, a positive one is not."""
    assert [Point(value).has_place for value in (math.inf, -math.inf, -1e-3, 0.0, 1e-3)] == [False] * 4 + [
        True
    ]


def test_an_interval_that_reaches_zero_ends_in_an_arrow(tmp_path: Path) -> None:
    """A bar whose lower end is no positive inductance runs to the edge of the axis and ends in an arrow."""
    bench = coupled_bench(tmp_path)
    bench.read("1a 1a", "0.05 µH", "leads")
    analysis = analyse(bench)
    leads = next(o for o in analysis.shared.observations if o.connection is Connection.LEADS)
    assert leads.standard_uncertainty is not None
    assert leads.value < 2 * leads.standard_uncertainty
    root = read(comparison(bench).svg)
    edge = min(left for left, _ in bars(root, style.READING.colour))
    at_edge = [
        outline for x, _, outline, look in drawn(root) if x == pytest.approx(edge) and "fill" not in look
    ]
    assert any("z" in shape and "C" not in shape for shape in at_edge)
    assert "50" in next(lane.text for r in rows(analysis) for lane in r.lanes if r.label == "the leads alone")


def test_without_a_card_there_are_no_bars(tmp_path: Path) -> None:
    """Where no uncertainty is stated nothing is drawn or written as one, and the picture says why."""
    bench = coupled_bench(tmp_path, card=None)
    picture = comparison(bench)
    assert not bars(read(picture.svg), style.READING.colour)
    assert "±" not in picture.alt
    assert words.NO_BARS in picture.svg


def test_an_interval_of_draws_is_written_out_where_first_order_fails(tmp_path: Path) -> None:
    """Where first order is not to be trusted the row quotes the interval of the draws instead."""
    bench = coupled_bench(tmp_path, ["one", "two", "line"], card="hand-held-coarse")
    analysis = analyse(bench)
    failing = [p for p in analysis.predictions if p.coupled and p.coupled.trusted is False and not p.is_input]
    assert failing
    for p in failing:
        assert p.coupled is not None
        assert p.coupled.monte_carlo is not None
        low, high = map(quantity.display, p.coupled.monte_carlo.shortest)
        assert row(rows(analysis), p.connection)["coupled"].endswith(f"from {low} to {high}")


def test_readings_of_one_connection_are_told_apart_by_their_ids(tmp_path: Path) -> None:
    """Two readings at one connection have a lane each, named by id."""
    bench = coupled_bench(tmp_path)
    bench.read("1a 2a | 1b=2b", "25.1 µH", "again", frequency="1 kHz")
    names = [
        lane.name
        for r in rows(analyse(bench))
        if r.label == "series-opposing"
        for lane in r.lanes
        if lane.name
    ]
    assert names == ["reading line-reversed:", "reading again:"]


def test_every_own_prediction_is_marked(tmp_path: Path) -> None:
    """A class's many predictions all have their marks; three are written out and the others counted."""
    bench = coupled_bench(tmp_path, own=False)
    for n in range(1, 8):
        bench.commit("1a 2a | 1b=2b", f"{n} mH", f"guess-{n}", by=f"p{n}")
    assert len(marks(read(comparison(bench).svg), "own")) == 7
    own = row(rows(analyse(bench)), Connection.SERIES_OPPOSING)["own"]
    assert own == ", ".join(f"{n} mH (after the reading)" for n in (1, 2, 3)) + " and 4 more"


@pytest.mark.parametrize("size", ["page", "projector"])
def test_no_text_leaves_the_picture_or_covers_a_mark(tmp_path: Path, size: str) -> None:
    """Every line of text lies inside the picture, and no lane's label lies on a mark of its lane."""
    bench = coupled_bench(tmp_path)
    bench.commit("1a 2a | 1b=2b", "1 µH", "low", by="p3")
    bench.read("1a 2a | 1b=2b", "25.1 µH", "a-reading-with-a-rather-long-id", frequency="1 kHz")
    root = read(comparison(bench, size).svg)
    width = float(root.get("viewBox", "").split()[2])
    spots = [(x, y) for x, y, _, _ in drawn(root)]
    for text in root.iter(f"{SVG}text"):
        look, content = text.get("style", ""), text.text or ""
        height = float(re.search(r"([\d.]+)px", look)[1])  # type: ignore[index]
        anchor = re.search(r"text-anchor: (\w+)", look)
        x, y, long = float(text.get("x", "nan")), float(text.get("y", "nan")), text_width(content, height)
        left = x - {"start": 0.0, "middle": long / 2, "end": long}[anchor[1] if anchor else "start"]
        assert -1 <= left <= left + long <= width + 1, content
        same_line = [at for at, line in spots if y - height < line < y + 0.2 * height]
        assert not [at for at in same_line if left < at < left + 0.95 * long], content


def test_labels_move_below_marks_that_leave_no_room() -> None:
    """A label that fits on neither side of its marks goes to the next line, inside the axis."""
    frame = chart.Frame(1e-6, 1e-1, plot.Size(940.0, 14.0, 21))
    wide = Lane("own", (Point(2e-6), Point(5e-2)), "2 µH, 50 mH and quite some more")
    narrow = Lane("own", (Point(2e-6),), "2 µH")
    assert chart.beside(wide, frame).lines == 2
    assert (chart.beside(narrow, frame).towards, chart.beside(narrow, frame).lines) == ("left", 1)
    assert chart.beside(Lane("own", (Point(5e-2),), "50 mH"), frame).towards == "right"


def test_the_alternative_says_every_number(lesson: Bench) -> None:
    """The words for those who do not see the picture hold every label of every lane."""
    alt = comparison(lesson).alt
    assert all(lane.label in alt for r in rows(analyse(lesson)) for lane in r.lanes)
    assert words.ALT_INVENTED in alt


def test_only_invented_records_are_marked_so(tmp_path: Path) -> None:
    """The picture of an invented record says that; that of another does not."""
    pictures = [comparison(empty_bench(tmp_path / str(i), invented=i)) for i in (True, False)]
    assert [words.INVENTED in picture.svg for picture in pictures] == [True, False]


def test_an_unknown_connection_is_named_by_its_wiring(tmp_path: Path) -> None:
    """With three windings, or dots that nothing decides, rows go by wiring, and nothing is predicted."""
    found = rows(analyse(three_winding_bench(tmp_path / "three")))
    assert [r.title for r in found] == ["1a 1b", "1a 2a | 1b=2b", "1a 1b | 1a=2a=3a 1b=2b=3b"]
    open_dots = coupled_bench(tmp_path / "open", ["one", "side"], card=None, dots=None)
    assert [r.title for r in rows(analyse(open_dots))] == ["winding 1 alone (1a 1b)", "1a 1b | 1a=2a 1b=2b"]


def test_an_empty_record_says_so(tmp_path: Path) -> None:
    """Without readings and predictions picture and alternative say that there is nothing yet."""
    picture = comparison(empty_bench(tmp_path))
    assert picture.alt == words.FIGURES_NOTHING
    assert words.FIGURES_NOTHING in picture.svg


def test_a_size_that_is_none_is_refused(tmp_path: Path) -> None:
    """Another size is refused with the sizes there are."""
    with pytest.raises(EntryError, match=r"size='page'.*size='projector'"):
        comparison(empty_bench(tmp_path), "poster")


def test_projector_letters_are_larger(lesson: Bench) -> None:
    """On a projector the smallest letters are at least 1.5 % of the picture's width."""
    svg = comparison(lesson, "projector").svg
    width = float(read(svg).get("viewBox", "").split()[2])
    assert min(map(float, re.findall(r"font-size: ([\d.]+)px", svg))) >= 0.015 * width


def test_the_same_record_gives_the_same_bytes(lesson: Bench) -> None:
    """Drawn twice, and in spite of a reader's own drawing settings, the picture is the same."""
    once = comparison(lesson).svg
    with matplotlib.rc_context({"svg.fonttype": "path", "font.size": 30, "savefig.bbox": "tight"}):
        assert comparison(lesson).svg == once
    assert comparison(lesson).svg == once


def test_the_picture_can_stand_in_a_page(lesson: Bench) -> None:
    """No style rule, script, address to fetch, prologue, date or name that nothing refers to; under 60 kB."""
    for size in ("page", "projector"):
        svg = comparison(lesson, size).svg
        assert svg.startswith("<svg ")
        assert not re.search(r"<style|<script|<\?xml|<!DOCTYPE|<metadata|<!--", svg)
        assert set(re.findall(r'https?://[^"]*', svg)) == {
            "http://www.w3.org/1999/xlink",
            "http://www.w3.org/2000/svg",
        }
        assert all(f"#{name}" in svg for name in re.findall(r' id="([^"]*)"', svg))
        assert len(svg.encode()) < 60_000


def test_the_interactive_part_of_the_library_stays_out() -> None:
    """Importing the pictures loads no window system and no interactive state."""
    check = (
        "import sys, labkit.faces.comparison_chart;"
        "print([m for m in sys.modules if 'pyplot' in m or 'tkinter' in m])"
    )
    done = subprocess.run([sys.executable, "-c", check], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
