"""The look that all charts share, and the way from matplotlib to SVG that can stand inside a page.

A chart is a column of labels beside one axis. Heights count in pixels from the top, so that a chart grows
with what is in it.
"""

import io
import re
import textwrap
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import matplotlib
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from labkit.errors import EntryError
from labkit.faces import style
from labkit.faces.canvas import clean
from labkit.words import figures as words

Axes = Any
FONT = "DejaVu Sans"  # comes with matplotlib; stands in until the reader's own fonts are named
CHARACTER = 0.58  # its width in heights, bold letters included
SMALL = 0.82
FAINT, GUIDE = "#DDDDDD", "#8C8C8C"
DRAWN_WITH: Any = {
    "svg.hashsalt": "labkit",
    "svg.fonttype": "none",
    "font.family": FONT,
    "hatch.linewidth": 1.5,
    "text.parse_math": False,
    "text.usetex": False,
    "savefig.bbox": "standard",
    "savefig.facecolor": style.PAPER,
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
    stroke: style.Stroke
    filled: bool = False


MARKS = {
    "reading": Mark("o", style.READING, filled=True),
    "coupled": Mark("D", style.PREDICTION),
    "uncoupled": Mark("s", style.UNCOUPLED),
    "own": Mark("v", style.Stroke(style.OKABE_ITO["vermillion"], 2.0)),
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
        write(axes, text, (left, first + i * line), SMALL * size.text, color=style.MUTED)
    return first


def clipped(text: str, size: Size) -> str:
    """As much of a text as fits on one line below a label."""
    room = int(1.2 * size.label)
    return text if len(text) <= room else f"{text[: room - 1]}…"


def point(axes: Axes, at: tuple[float, float], mark: Mark, *, height: float, name: str = "") -> None:
    """A mark; `height` is that of the letters beside it."""
    fill = mark.stroke.colour if mark.filled else style.PAPER
    width = mark.stroke.width * height / 16
    ink = {"mec": mark.stroke.colour, "mfc": fill, "mew": width, "ms": 0.55 * height}
    axes.plot([at[0]], [at[1]], mark.shape, zorder=4, gid=name and named(name), **ink)


def interval(
    axes: Axes,
    ends: tuple[float, float],
    y: float,
    stroke: style.Stroke,
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
        write(axes, line, at, SMALL * size.text, color=style.MUTED, ha="right")
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
    how = {"color": style.INK, "ha": "left", "va": "center", "zorder": 2} | how
    ground = {"facecolor": style.PAPER, "edgecolor": "none", "pad": 0.0}
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
    wider = rf'viewBox="{-size.margin:g} 0 {width:g} \1"\2><rect {ground} fill="{style.PAPER}"/>'
    svg = re.sub(r'viewBox="0 0 [\d.]+ ([\d.]+)"([^>]*)>', wider, svg, count=1)
    return svg.replace(f"'{FONT}'", style.FONT)
