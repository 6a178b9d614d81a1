"""Charts against frequency show the numbers where they belong; all is read back from the SVG itself."""

import math
import re
from xml.etree import ElementTree

import numpy as np
import pytest

from labkit import quantity
from labkit.errors import EntryError, ShapeError
from labkit.faces.curves import Curve, Line, Scale, chart, spread, stroke
from labkit.show import Picture
from tests.drawings import SVG

F = np.geomspace(1e3, 1e7, 41)
OHM = Scale("impedance", "Ω")
DB = Scale("loss", "dB", "linear")
SIZES = ["page", "projector"]


def rising(label: str = "a coil", **more: object) -> Curve:
    """63 Ω at 1 kHz, in proportion to frequency."""
    return Curve(label, F, 0.063 * F, **more)  # type: ignore[arg-type]


class Read:
    """What can be read off a chart of curves: its texts with place, size and anchor, and its named shapes."""

    def __init__(self, picture: Picture) -> None:
        self.root = ElementTree.fromstring(picture.svg)
        self.left, self.top, width, height = map(float, self.root.attrib["viewBox"].split())
        self.right, self.bottom = self.left + width, self.top + height
        self.texts = [
            (t.text or "", (float(t.attrib["x"]), float(t.attrib["y"])), t.attrib)
            for t in self.root.iter(f"{SVG}text")
        ]

    def group(self, name: str) -> ElementTree.Element:
        """The group that a curve, band or line is in."""
        return next(g for g in self.root.iter(f"{SVG}g") if g.get("data-mark") == name)

    def points(self, name: str) -> np.ndarray:
        """The vertices of a named shape, in pixels."""
        shape = next(e for e in self.group(name).iter() if e.tag in (f"{SVG}path", f"{SVG}polygon"))
        text = shape.get("points") or shape.attrib["d"]
        return np.array([[float(n) for n in spot] for spot in re.findall(r"([-\d.]+)[ ,]([-\d.]+)", text)])


def points(picture: Picture, name: str) -> np.ndarray:
    """The vertices of a named shape in the SVG, in pixels."""
    return Read(picture).points(name)


def axis(picture: Picture, unit: str, log: bool = True) -> tuple[np.ndarray, np.ndarray]:
    """Values (or their logarithms) of the numbers on the axis with this unit, and where they stand."""
    found = [
        (quantity.parse(text, {"Hz": "frequency", "Ω": "resistance"}[unit]).value if log else _dB(text), x, y)
        for text, (x, y), _ in Read(picture).texts
        if re.fullmatch(rf"−?[\d.]+ [kMGmµ]?{unit}", text)
    ]
    at = 1 if unit == "Hz" else 2
    values = np.array([math.log10(row[0]) if log else row[0] for row in found])
    return values, np.array([row[at] for row in found])


def _dB(text: str) -> float:
    return float(text.removesuffix(" dB").replace("−", "-"))


@pytest.mark.parametrize("size", SIZES)
def test_a_curve_goes_through_its_values(size: str) -> None:
    """Where the curve begins and ends is where both axes have those values."""
    picture = chart("title", OHM, [rising()], size=size)
    drawn = points(picture, "a coil")
    for unit, column, ends in (("Hz", 0, F[[0, -1]]), ("Ω", 1, 0.063 * F[[0, -1]])):
        values, places = axis(picture, unit)
        slope, offset = np.polyfit(values, places, 1)
        shift = 0.36 * (14 if size == "page" else 30) if unit == "Ω" else 0  # text stands on its baseline
        assert drawn[[0, -1], column] == pytest.approx(slope * np.log10(ends) + offset - shift, abs=0.05)


def test_decibels_stand_on_a_linear_axis() -> None:
    """A line from 0 dB to 40 dB over the decades is straight, and its numbers are equally far apart."""
    picture = chart("title", DB, [Curve("loss", F, 10 * np.log10(F / F[0]))])
    values, places = axis(picture, "dB", log=False)
    assert np.allclose(np.diff(places) / np.diff(values), np.diff(places)[0] / np.diff(values)[0], rtol=1e-3)
    x, y = points(picture, "loss").T
    assert np.abs(np.polyval(np.polyfit(x, y, 1), x) - y).max() < 0.2


@pytest.mark.parametrize(
    ("ends", "numbers"),
    [
        ((90, -90), "90 45 0 −45 −90"),
        ((170, -170), "180 135 90 45 0 −45 −90 −135 −180"),
        ((20, 90), "90 75 60 45 30 15 0"),
    ],
)
def test_angles_stand_at_parts_of_a_right_angle(ends: tuple[float, float], numbers: str) -> None:
    """An axis in degrees has a number at the right angle, and equal steps that divide it."""
    picture = chart("phase", Scale("phase", "°", "linear"), [Curve("coil", F, np.linspace(*ends, len(F)))])
    found = sorted(
        (y, text.removesuffix(" °")) for text, (_, y), _ in Read(picture).texts if text.endswith(" °")
    )
    assert [text for _, text in found] == numbers.split()


def test_a_band_lies_around_its_curve() -> None:
    """The band is drawn below the curve with the ends given, and the chart says what bands are."""
    picture = chart("title", OHM, [rising(low=0.03 * F, high=0.12 * F)], band="bands: a test")
    band, curve = points(picture, "band a coil"), points(picture, "a coil")
    assert band[:, 1].min() < curve[:, 1].min()
    assert band[:, 1].max() > curve[:, 1].max()
    assert "bands: a test" in [text for text, _, _ in Read(picture).texts]
    assert "bands" not in chart("title", OHM, [rising()]).svg


def test_names_stand_apart_even_where_curves_coincide() -> None:
    """Four equal curves have four names, each on lines of its own, and four strokes."""
    names = ["one", "two", "three", "four"]
    picture = chart("title", OHM, [rising(name) for name in names])
    heights = sorted(y for text, (_, y), _ in Read(picture).texts if text in names)
    assert len(heights) == 4
    assert np.diff(heights).min() > 14
    assert len({(stroke(i).colour, stroke(i).dashes) for i in range(6)}) == 6


@pytest.mark.parametrize("wanted", [(0, 0, 0), (100, 100, 100), (50, 50, 50), (0, 100, 50), (20, 80, 50)])
def test_names_keep_within_the_axes(wanted: tuple[float, ...]) -> None:
    """Wherever curves end, names of height 20 stand apart between 0 and 100, and at their place if free."""
    placed = sorted(spread(wanted, [20.0] * 3, 0.0, 100.0))
    assert placed[0] >= 10
    assert placed[-1] <= 90
    assert np.diff(placed).min() >= 20 - 1e-9
    if wanted == (20, 80, 50):
        assert placed == [20, 50, 80]


def test_what_has_no_place_is_counted() -> None:
    """Zero, negative and infinite values are left out of a logarithmic axis, and the chart says how many."""
    values = 0.063 * F
    values[:3] = [0, -1, np.inf]
    picture = chart("title", OHM, [Curve("a coil", F, values)])
    assert "a coil: 3 of 41 values are zero, negative or not finite" in picture.alt
    assert len(points(picture, "a coil")) <= 38
    values = np.where(F < 1.5e3, np.nan, -1.0)
    said = chart("title", DB, [Curve("loss", F, values)]).alt
    assert f"loss: {np.isnan(values).sum()} of 41 values are not finite" in said


def test_nothing_to_draw_is_said() -> None:
    """Without any value that has a place the picture is a sentence."""
    picture = chart("title", OHM, [Curve("a coil", F, -F)])
    assert picture.alt.startswith("There is nothing to draw")


def test_the_picture_in_words() -> None:
    """Ends, largest value with its frequency, marks, notes and that the data are invented are all said."""
    values = 1e3 / np.abs(1 + 1j * 50 * np.log10(F / 1e5))
    picture = chart(
        "Impedance",
        OHM,
        [Curve("a coil", F, values)],
        lines=[Line(150e3, "corner")],
        notes=["A note."],
        invented=True,
    )
    for said in (
        "largest 1.00 kΩ at 100 kHz",
        "corner at 150 kHz",
        "A note.",
        "invented",
        "from 1 kHz to 10 MHz",
    ):
        assert said in picture.alt


@pytest.mark.parametrize("size", SIZES)
def test_nothing_leaves_the_picture(size: str) -> None:
    """Every text begins and ends inside, long names and notes included."""
    curves = [rising("network, 100 Ω / 100 Ω"), Curve("a rather long name of a curve", F, F / 10)]
    notes = [
        "A note that is long enough to need more than one line below the chart, and then some more. " * 2
    ]
    drawn = Read(chart("title", OHM, curves, notes=notes, lines=[Line(9e6, "a corner")], size=size))
    for words, (x, y), how in drawn.texts:
        width = 0.56 * float(how["font-size"]) * len(words)
        start = x - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[how["text-anchor"]]
        assert drawn.left - 0.1 <= start
        assert start + width <= drawn.right
        assert drawn.top <= y <= drawn.bottom


def test_a_dense_curve_keeps_its_peaks() -> None:
    """Of 20001 points as many are drawn as can be told apart, a peak and a dip of one point among them."""
    f = np.geomspace(1e3, 1e7, 20001)
    values = 10 + np.sin(np.arange(20001.0))
    values[12345], values[4321] = 700.0, 0.5
    extremes = [Curve(name, [f[i]], [values[i]]) for name, i in (("peak", 12345), ("dip", 4321))]  # type: ignore[arg-type]
    picture = chart("title", OHM, [Curve("dense", f, values), *extremes])
    drawn = points(picture, "dense")
    assert len(drawn) < 4000
    for name, at in (("peak", drawn[:, 1].argmin()), ("dip", drawn[:, 1].argmax())):
        (dot,) = Read(picture).group(name).iter(f"{SVG}circle")
        assert drawn[at] == pytest.approx([float(dot.attrib["cx"]), float(dot.attrib["cy"])], abs=0.02)
    assert np.all(np.diff(drawn[:, 0]) >= 0)


def test_a_gap_stays_a_gap() -> None:
    """Where a value has no place the line is broken, not drawn across."""
    values = np.where((F > 1e4) & (F < 1e5), np.nan, 50.0)
    paths = list(Read(chart("title", OHM, [Curve("coil", F, values)])).group("coil").iter(f"{SVG}path"))
    assert len(paths) == 2


def test_a_single_frequency_is_a_point() -> None:
    """One value is drawn as a mark and said alone."""
    picture = chart("title", OHM, [Curve("a coil", [1e4], [63.0])])  # type: ignore[arg-type]
    assert "a coil: 63.0 Ω at 10 kHz." in picture.alt
    ElementTree.fromstring(picture.svg)


def test_the_same_values_give_the_same_bytes() -> None:
    """Nothing in a chart depends on when it was drawn."""
    assert chart("title", OHM, [rising()]).svg == chart("title", OHM, [rising()]).svg


def test_what_cannot_be_drawn_is_refused() -> None:
    """Unequal lengths, no values, an unknown axis or size are said in a sentence."""
    with pytest.raises(ShapeError, match="needs as many values"):
        Curve("a coil", F, F[:-1])
    with pytest.raises(ShapeError, match="needs as many values"):
        Curve("a coil", np.array([]), np.array([]))
    with pytest.raises(EntryError, match="is not an axis"):
        Scale("impedance", "Ω", "logarithmic")
    with pytest.raises(EntryError, match="is not a size"):
        chart("title", OHM, [rising()], size="poster")
