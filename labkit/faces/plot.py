"""The look that all charts share, and the way from matplotlib to SVG that can stand inside a page.

A chart is a column of labels beside one axis. Heights count in pixels from the top, so that a chart grows
with what is in it.
"""

import io
import re
import textwrap
import unicodedata
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Final
from xml.etree import ElementTree

import matplotlib
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from labkit.errors import EntryError
from labkit.words import pictures as words

# One visual language for every face: colours and strokes named by what they mean.
#
# The hues are the eight of Okabe and Ito, chosen so that people with any common form of colour vision keep
# them apart. Colour never says a thing alone: a clip is also a sleeve, a tie also a plain wire between two
# ends, an uncoupled prediction also a dashed one. A hue names a thing in a schematic and a kind of number
# in a chart, and there it may return with another meaning.
#
# Source: M. Okabe and K. Ito, "Color Universal Design (CUD)", 2002, revised 2008,
# https://jfly.uni-koeln.de/color/ ; the same set in B. Wong, Nature Methods 8 (2011) 441. Values from
# memory of the first; the contrast of each on white is computed in a test.

OKABE_ITO: Final = {
    "black": "#000000",
    "orange": "#E69F00",
    "sky blue": "#56B4E9",
    "bluish green": "#009E73",
    "yellow": "#F0E442",
    "blue": "#0072B2",
    "vermillion": "#D55E00",
    "reddish purple": "#CC79A7",
}

INK: Final = OKABE_ITO["black"]
"""Text, and all that belongs to the meter."""
PAPER: Final = "#FFFFFF"
"""The ground under every drawing, also on a dark page."""
MUTED: Final = "#595959"
"""Words and lines that step back; still 7 to 1 on paper."""
WINDINGS: Final = (OKABE_ITO["blue"], OKABE_ITO["bluish green"], OKABE_ITO["reddish purple"])
FONT: Final = "Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif"
"""Fonts that stand on the reader's own machine; none is fetched."""


@dataclass(frozen=True)
class Stroke:
    """A line: its colour, its width in user units (page pixels), its dashes in the same units."""

    colour: str
    width: float
    dashes: tuple[float, ...] = ()

    @property
    def svg(self) -> dict[str, str]:
        """The presentation attributes of an SVG shape drawn with this stroke and not filled."""
        attributes = {"stroke": self.colour, "stroke-width": f"{self.width:g}", "fill": "none"}
        if self.dashes:
            attributes["stroke-dasharray"] = " ".join(f"{dash:g}" for dash in self.dashes)
        return attributes


def winding(number: int) -> Stroke:
    """The stroke of winding `number`, counted from 1; hues repeat after the third.

    >>> winding(1).colour, winding(4) == winding(1)
    ('#0072B2', True)
    """
    return Stroke(WINDINGS[(number - 1) % len(WINDINGS)], 3.4)


WINDING_1: Final = winding(1)
WINDING_2: Final = winding(2)
CORE: Final = Stroke(MUTED, 3.0)
TIE: Final = Stroke(OKABE_ITO["vermillion"], 3.6)
CLIP: Final = Stroke(INK, 2.6)
READING: Final = Stroke(INK, 2.0)
PREDICTION: Final = Stroke(OKABE_ITO["blue"], 2.0)
UNCOUPLED: Final = Stroke(OKABE_ITO["reddish purple"], 2.0, (6.0, 4.0))
CAUTION: Final = Stroke(OKABE_ITO["orange"], 4.0)
"""An edge beside words in ink; too pale on paper to carry words or data itself."""


# A sheet of SVG that knows how large its content is.
#
# Built on the standard library's ElementTree, so that every text and attribute is escaped and the result is
# well-formed. A circuit-drawing library was tried first: its SVG back end writes labels unescaped (an
# ampersand in a label stops it), gives shapes no attributes to find them by, and loads matplotlib.

Spot = tuple[float, float]

NARROW, WIDE = 0.56, 1.0  # width of a character in heights, generous for the fonts of `style.FONT`
NOT_XML = re.compile(r"[^\t\n\r\x20-\uD7FF\uE000-\uFFFD\U00010000-\U0010FFFF]")


class Canvas:
    """Shapes in user units, x to the right and y down; the sheet grows with what is put on it.

    >>> sheet = Canvas()
    >>> sheet.text((0.0, 0.0), "a < b", size=10.0)
    >>> "a &lt; b" in sheet.svg("A comparison", {}, scale=1.0)
    True
    """

    def __init__(self) -> None:
        self._root = ElementTree.Element("g")
        self._group = self._root
        self._left = self._top = float("inf")
        self._right = self._bottom = float("-inf")

    def group(self, **attributes: str) -> None:
        """Put all that follows into a new group; `data_tie` becomes `data-tie`."""
        self._group = ElementTree.SubElement(self._root, "g", _names(attributes))

    def path(self, points: Sequence[Spot], stroke: Stroke, description: str = "") -> None:
        """Straight lines through `points`, or whatever `description` (SVG path data) draws within them."""
        data = description or "M" + " L".join(f"{_number(x)} {_number(y)}" for x, y in points)
        self._add("path", points, stroke.width, d=data, **stroke.svg)

    def circle(self, centre: Spot, radius: float, *, stroke: Stroke, fill: str, **more: str) -> None:
        """A circle with a rim of `stroke`, filled."""
        x, y = centre
        shape = {"cx": _number(x), "cy": _number(y), "r": _number(radius)}
        corners = [(x - radius, y - radius), (x + radius, y + radius)]
        self._add("circle", corners, stroke.width, **{**stroke.svg, **shape, "fill": fill}, **_names(more))

    def box(self, low: Spot, high: Spot, *, stroke: Stroke, fill: str, radius: float = 0.0) -> None:
        """A rectangle between two corners, filled, its own corners rounded."""
        shape = {
            "x": low[0],
            "y": low[1],
            "width": high[0] - low[0],
            "height": high[1] - low[1],
            "rx": radius,
        }
        numbers = {name: _number(value) for name, value in shape.items()}
        self._add("rect", [low, high], stroke.width, **{**stroke.svg, **numbers, "fill": fill})

    def polygon(self, points: Sequence[Spot], fill: str, **more: str) -> None:
        """A filled shape with straight sides and no rim, such as the head of an arrow."""
        corners = " ".join(f"{_number(x)},{_number(y)}" for x, y in points)
        self._add("polygon", points, 0.0, points=corners, fill=fill, **_names(more))

    def text(
        self,
        at: Spot,
        text: str,
        *,
        size: float,
        anchor: str = "middle",
        colour: str = INK,
        weight: str = "normal",
    ) -> None:
        """One line of text, its baseline at `at`, which is its start, middle or end."""
        width = text_width(text, size)
        left = at[0] - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
        extent = [(left, at[1] - size), (left + width, at[1] + 0.3 * size)]
        place = {"x": _number(at[0]), "y": _number(at[1]), "font-size": _number(size), "text-anchor": anchor}
        element = self._add("text", extent, 0.0, **place, fill=colour, **{"font-weight": weight})
        element.text = clean(text)

    def extent(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of what is on the sheet, in user units."""
        return self._left, self._top, self._right, self._bottom

    def svg(self, title: str, attributes: dict[str, str], *, scale: float, margin: float = 12.0) -> str:
        """The sheet as one `svg` element, `scale` pixels a user unit, narrower where the page is."""
        left, top = self._left - margin, self._top - margin
        width, height = self._right + margin - left, self._bottom + margin - top
        frame = {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": " ".join(map(_number, (left, top, width, height))),
            "width": _number(width * scale),
            "height": _number(height * scale),
            "style": "max-width:100%;height:auto",
            "font-family": FONT,
            "role": "img",
        }
        root = ElementTree.Element("svg", {**frame, **_names(attributes)})
        ElementTree.SubElement(root, "title").text = clean(title)
        paper = {"x": left, "y": top, "width": width, "height": height}
        ElementTree.SubElement(root, "rect", {**{k: _number(v) for k, v in paper.items()}, "fill": PAPER})
        root.extend(self._root)
        return ElementTree.tostring(root, encoding="unicode")

    def _add(
        self, tag: str, extent: Sequence[Spot], thickness: float, **attributes: str
    ) -> ElementTree.Element:
        half = thickness / 2
        self._left = min(self._left, *(x - half for x, _ in extent))
        self._right = max(self._right, *(x + half for x, _ in extent))
        self._top = min(self._top, *(y - half for _, y in extent))
        self._bottom = max(self._bottom, *(y + half for _, y in extent))
        return ElementTree.SubElement(self._group, tag, attributes)


def clean(text: str) -> str:
    """The text with a visible mark in place of every character that XML cannot hold."""
    return NOT_XML.sub("\N{REPLACEMENT CHARACTER}", text)


def arrowhead(tip: Spot, along: Spot, length: float, half: float) -> list[Spot]:
    """The corners of the head of an arrow, tip first; `along` is a unit vector, `half` half the width."""
    back = (tip[0] - along[0] * length, tip[1] - along[1] * length)
    return [tip, *((back[0] - s * along[1] * half, back[1] + s * along[0] * half) for s in (1, -1))]


def text_width(text: str, size: float) -> float:
    """About how wide a line of text is, in the unit of its height `size`; on the wide side."""
    return size * sum(WIDE if unicodedata.east_asian_width(c) in "WF" else NARROW for c in text)


def _number(value: float) -> str:
    return f"{round(value, 2) + 0.0:g}"


def _names(attributes: dict[str, str]) -> dict[str, str]:
    return {name.replace("_", "-"): clean(text) for name, text in attributes.items()}


Axes = Any
MEASURED_FONT = "DejaVu Sans"  # comes with matplotlib; stands in until the reader's own fonts are named
CHARACTER = 0.58  # its width in heights, bold letters included
SMALL = 0.82
FAINT, GUIDE = "#DDDDDD", "#8C8C8C"
DRAWN_WITH: Any = {
    "svg.hashsalt": "labkit",
    "svg.fonttype": "none",
    "font.family": MEASURED_FONT,
    "hatch.linewidth": 1.5,
    "text.parse_math": False,
    "text.usetex": False,
    "savefig.bbox": "standard",
    "savefig.facecolor": PAPER,
    "savefig.transparent": False,
}
WITHOUT = dict.fromkeys(("Date", "Creator", "Format", "Type"))
NAMED = "data-mark "  # what is drawn under such a name can be found again in the SVG


@dataclass(frozen=True)
class Size:
    """Measures of a picture: width and height of its letters in pixels, characters of a line of a label."""

    width: float
    text: float
    label: int

    @property
    def line(self) -> float:
        """Height of a line."""
        return 1.6 * self.text

    @property
    def margin(self) -> float:
        """Width of the paper left of the labels, so that none stands on its edge on a dark page."""
        return 0.7 * self.text

    @property
    def left(self) -> float:
        """Width of the column of labels."""
        return CHARACTER * self.text * (self.label + 1)

    @property
    def axis(self) -> float:
        """Width of the axis."""
        return self.width - self.left - 1.5 * self.text

    def part(self, text: str) -> float:
        """About which part of the axis a text is wide."""
        return len(text) * CHARACTER * self.text / self.axis


SIZES = {"page": Size(940.0, 14.0, 21), "projector": Size(1600.0, 30.0, 21)}


def size_called(name: str) -> Size:
    """The measures of `page` or `projector`; EntryError for any other name."""
    if name not in SIZES:
        raise EntryError(words.SIZE.format(given=name), name)
    return SIZES[name]


@dataclass(frozen=True)
class Mark:
    """How one kind of number is marked: by shape as well as by colour."""

    shape: str
    stroke: Stroke
    filled: bool = False


MARKS = {
    "reading": Mark("o", READING, filled=True),
    "coupled": Mark("D", PREDICTION),
    "uncoupled": Mark("s", UNCOUPLED),
    "own": Mark("v", Stroke(OKABE_ITO["vermillion"], 2.0)),
}


@dataclass(frozen=True)
class Beside:
    """Where text about some marks stands: part of the axis, side of the text there, on which line."""

    x: float
    towards: str
    lines: int = 1


def beside(first: float, last: float, text: str, size: Size) -> Beside:
    """The side of marks and bars, from one part of the axis to another, that has more room for a text.

    The next line if the text fits on neither side.
    """
    gap = 0.8 * size.text / size.axis
    needed = gap + size.part(text)
    if max(first, 1 - last) < needed:
        return Beside(max(0.01, min(first, 1 - needed)), "left", lines=2)
    return Beside(last + gap, "left") if 1 - last >= first else Beside(first - gap, "right")


@contextmanager
def drawn() -> Iterator[None]:
    """The settings that a chart must be drawn and saved under.

    A letter that matplotlib's font lacks is no trouble: it stays text, and the reader's fonts show it.
    """
    with matplotlib.rc_context(DRAWN_WITH), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        yield


def named(name: str) -> str:
    """What makes a shape findable in the SVG, as its attribute `data-mark`."""
    return NAMED + clean(name)


def sheet(size: Size, height: float, below: float) -> Axes:
    """An empty chart: the axis `height` high, room of `below` under it for its numbers and notes."""
    whole = height + below
    figure = Figure(figsize=(size.width / 72, whole / 72), dpi=72)
    FigureCanvasSVG(figure)
    axes = figure.add_axes((size.left / size.width, below / whole, size.axis / size.width, height / whole))
    axes.set_ylim(height, 0.0)
    axes.set_yticks([])
    for side in ("left", "right", "top"):
        axes.spines[side].set_visible(False)
    axes.tick_params(which="major", labelsize=size.text, length=0.4 * size.text)
    axes.tick_params(which="minor", length=0.2 * size.text)
    axes.set_axisbelow(True)
    return axes


def title(axes: Axes, text: str, size: Size) -> float:
    """A line across the top that says what the chart shows; returns the height that it takes."""
    write(axes, text, (-size.left / size.axis, 0.75 * size.line), size.text, weight="bold")
    return 1.6 * size.line


def heading(axes: Axes, label: Sequence[str], below: Sequence[str], top: float, size: Size) -> float:
    """The label of a row and what stands small below it, in lines; returns where the first line is."""
    left, line, first = -size.left / size.axis, 0.8 * size.line, top + 0.75 * size.line
    if top:
        axes.axhline(top, xmin=left, color=FAINT, linewidth=1.0, clip_on=False)
    for i, text in enumerate(label):
        write(axes, text, (left, first + i * line), size.text, weight="bold")
    for i, text in enumerate(below, len(label)):
        write(axes, text, (left, first + i * line), SMALL * size.text, color=MUTED)
    return first


def clipped(text: str, size: Size) -> str:
    """As much of a text as fits on one line below a label."""
    room = int(1.2 * size.label)
    return text if len(text) <= room else f"{text[: room - 1]}…"


def point(axes: Axes, at: tuple[float, float], mark: Mark, *, height: float, name: str = "") -> None:
    """A mark; `height` is that of the letters beside it."""
    fill = mark.stroke.colour if mark.filled else PAPER
    width = mark.stroke.width * height / 16
    ink = {"mec": mark.stroke.colour, "mfc": fill, "mew": width, "ms": 0.55 * height}
    axes.plot([at[0]], [at[1]], mark.shape, zorder=4, gid=name and named(name), **ink)


def interval(
    axes: Axes,
    ends: tuple[float, float],
    y: float,
    stroke: Stroke,
    *,
    height: float,
    name: str = "",
) -> None:
    """A bar whose ends stand taller than any mark; an arrow where it leaves the axis."""
    (low, high), (first, last) = ends, sorted(map(float, axes.get_xlim()))
    ink = {"color": stroke.colour, "zorder": 3}
    width = stroke.width * height / 16
    dashes = "--" if stroke.dashes else "-"
    gid = name and named(name)
    axes.hlines(y, max(low, first), min(high, last), linestyles=dashes, lw=width, gid=gid, **ink)
    inside = [end for end in ends if first < end < last]
    axes.plot(inside, [y] * len(inside), "|", ms=1.15 * height, mew=width, **ink)
    arrows = [(first, "<")] * (low <= first) + [(last, ">")] * (high >= last)
    for edge, arrow in arrows:
        axes.plot([edge], [y], arrow, ms=0.5 * height, clip_on=False, **ink)


def notes(axes: Axes, lines: Sequence[str], mark: str, size: Size) -> None:
    """Lines under the axis, and what the whole chart is marked with."""
    first = axes.get_ylim()[0] + 2.3 * size.line
    for i, line in enumerate(lines):
        at = (1.0, first + 0.85 * i * size.line)
        write(axes, line, at, SMALL * size.text, color=MUTED, ha="right")
    write(axes, mark, (-size.left / size.axis, first), size.text, weight="bold")


def blank(why: str, mark: str, size: Size) -> str:
    """A chart with nothing in it but the reason."""
    lines = textwrap.wrap(why, int(size.width / (CHARACTER * size.text)) - 4)
    with drawn():
        axes = sheet(size, size.line, room_below(len(lines), size))
        axes.set_axis_off()
        notes(axes, lines, mark, size)
        return inline(axes, size)


def room_below(lines: int, size: Size) -> float:
    """The height that the numbers of an axis and so many notes need."""
    return (1.6 + lines) * size.line


def write(axes: Axes, text: str, at: tuple[float, float], height: float, **how: Any) -> None:
    """One line of text at a part of the axis and a height, on a ground of paper where lines pass below."""
    how = {"color": INK, "ha": "left", "va": "center", "zorder": 2} | how
    ground = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.0}
    axes.text(*at, clean(text), fontsize=height, transform=axes.get_yaxis_transform(), bbox=ground, **how)


def inline(axes: Axes, size: Size) -> str:
    """The chart as one `svg` element.

    Left out are the prologue, style rules that would reach the whole page, and names that nothing refers
    to; the font gives way to those on the reader's own machine.
    """
    page = io.StringIO()
    axes.figure.savefig(page, format="svg", metadata=WITHOUT)
    text = re.sub(r"\s*\n\s*", " ", page.getvalue())
    prologue = r"<!--.*?-->\s*|<defs>\s*<style.*?</style>\s*</defs>\s*"
    svg = re.sub(prologue, "", text[text.index("<svg") :], flags=re.DOTALL)
    svg = re.sub(f' id="{NAMED}([^"]*)"', r' data-mark="\1"', svg)
    wanted = set(re.findall(r"#([\w.-]+)", svg))
    svg = re.sub(r' id="([^"]*)"', lambda name: name[0] if name[1] in wanted else "", svg)
    width = size.margin + size.width
    frame = rf'width="{width:g}" height="\1" style="max-width:100%;height:auto" stroke-linejoin="round" '
    svg = re.sub(r'width="[\d.]+pt" height="([\d.]+)pt" ', frame, svg, count=1)
    ground = rf'x="{-size.margin:g}" y="0" width="{width:g}" height="\1"'
    wider = rf'viewBox="{-size.margin:g} 0 {width:g} \1"\2><rect {ground} fill="{PAPER}"/>'
    svg = re.sub(r'viewBox="0 0 [\d.]+ ([\d.]+)"([^>]*)>', wider, svg, count=1)
    return svg.replace(f"'{MEASURED_FONT}'", FONT)
