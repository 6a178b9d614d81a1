"""Draw rows of lanes on one logarithmic axis, as SVG that can stand inside a page.

Heights count in pixels from the top. Only words of this house and entries that were checked may reach a
drawing: a part's name may hold letters that the font lacks.
"""

import io
import math
import re
import textwrap
from dataclasses import dataclass
from typing import Any

import matplotlib
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, LogLocator, NullFormatter

from labkit import quantity
from labkit.faces import style
from labkit.faces.lanes import Lane, Point, Row

Axes = Any
FONT = "DejaVu Sans"  # comes with matplotlib; stands in until the reader's own fonts are named
CHARACTER = 0.58  # its width in heights, bold letters included
SMALL = 0.82
FAINT, GUIDE = "#DDDDDD", "#8C8C8C"
DRAWN_WITH: Any = {
    "svg.hashsalt": "labkit",
    "svg.fonttype": "none",
    "font.family": FONT,
    "text.parse_math": False,
    "text.usetex": False,
    "savefig.bbox": "standard",
    "savefig.facecolor": style.PAPER,
    "savefig.transparent": False,
}
WITHOUT = dict.fromkeys(("Date", "Creator", "Format", "Type"))


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
    def left(self) -> float:
        """Width of the column of labels."""
        return CHARACTER * self.text * (self.label + 1)

    @property
    def axis(self) -> float:
        """Width of the axis."""
        return self.width - self.left - 1.5 * self.text


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
class Frame:
    """The ends of the axis in H, and the measures of the picture."""

    low: float
    high: float
    size: Size

    def place(self, value: float) -> float:
        """Where a value stands: 0 at the low end of the axis, 1 at the high end; never outside."""
        if value <= self.low:
            return 0.0
        return min(math.log(value / self.low) / math.log(self.high / self.low), 1.0)


@dataclass(frozen=True)
class Beside:
    """Where a lane's label stands: part of the axis, side of the text there, on which line."""

    x: float
    towards: str
    lines: int = 1


def beside(lane: Lane, frame: Frame) -> Beside:
    """The side of the marks and bars with more room; the next line if the label fits on neither side."""
    placed = [point for point in lane.points if point.has_place]
    if not placed:
        return Beside(0.01, "left")
    places = [frame.place(end) for point in placed for end in (point.value, *(point.interval or ()))]
    first, last = min(places), max(places)
    gap = 0.8 * frame.size.text / frame.size.axis
    needed = gap + len(lane.label) * CHARACTER * frame.size.text / frame.size.axis
    if max(first, 1 - last) < needed:
        return Beside(max(0.01, min(first, 1 - needed)), "left", lines=2)
    return Beside(last + gap, "left") if 1 - last >= first else Beside(first - gap, "right")


def draw(rows: tuple[Row, ...], frame: Frame, notes: tuple[str, ...], mark: str = "") -> str:
    """The picture as one `svg` element.

    Parameters
    ----------
    rows : from top to bottom
    frame : axis and measures
    notes : lines under the axis
    mark : what the whole picture is marked with, under its labels
    """
    heights = [_height(row, frame) for row in rows]
    with matplotlib.rc_context(DRAWN_WITH):
        height = sum(heights) or frame.size.line
        axes = _axes(frame, height, lines=len(notes))
        for i, row in enumerate(rows):
            _draw_row(axes, row, (sum(heights[:i]), sum(heights[: i + 1])), frame)
        _draw_notes(axes, notes, mark, height, frame.size)
        return _inline(axes.figure, frame.size)


def _label(row: Row, size: Size) -> list[str]:
    return textwrap.wrap(row.label, size.label)


def _height(row: Row, frame: Frame) -> float:
    """As much as the lanes need, or the label with its notation, and half a line between rows."""
    lanes = sum(beside(lane, frame).lines for lane in row.lanes)
    return frame.size.line * (max(lanes, 0.8 * len(_label(row, frame.size)) + 0.7) + 0.5)


def _axes(frame: Frame, height: float, lines: int) -> Axes:
    size = frame.size
    below = (1.6 + lines) * size.line
    whole = height + below
    figure = Figure(figsize=(size.width / 72, whole / 72), dpi=72)
    FigureCanvasSVG(figure)
    axes = figure.add_axes((size.left / size.width, below / whole, size.axis / size.width, height / whole))
    axes.set_xscale("log")
    axes.set_xlim(frame.low, frame.high)
    axes.set_ylim(height, 0.0)
    axes.set_yticks([])
    for side in ("left", "right", "top"):
        axes.spines[side].set_visible(False)
    _ticks(axes, frame)
    return axes


def _ticks(axes: Axes, frame: Frame) -> None:
    """Labels at decades, or at 1, 2 and 5 where there are few; a faint line at each."""
    decades = range(math.floor(math.log10(frame.low)), math.floor(math.log10(frame.high)) + 1)
    steps = (1, 2, 5) if len(decades) <= 3 else (1,)
    every = math.ceil(len(decades) * 5 * frame.size.text / frame.size.axis)
    ticks = [n * 10.0**power for power in decades[::every] for n in steps]
    axes.xaxis.set_major_locator(FixedLocator([tick for tick in ticks if frame.low <= tick <= frame.high]))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda tick, _: _tick(tick)))
    axes.xaxis.set_minor_locator(LogLocator(subs=tuple(range(2, 10))))
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.tick_params(which="major", labelsize=frame.size.text, length=0.4 * frame.size.text)
    axes.tick_params(which="minor", length=0.2 * frame.size.text)
    axes.grid(axis="x", which="major", color=FAINT, linewidth=1.0)
    axes.set_axisbelow(True)


def _tick(value: float) -> str:
    """A round value with all its digits before the decimal mark: 1, 10 or 100 of a unit."""
    return quantity.display(value, significant_digits=1 + math.floor(math.log10(value) + 1e-9) % 3)


def _draw_row(axes: Axes, row: Row, span: tuple[float, float], frame: Frame) -> None:
    size, top = frame.size, span[0]
    left, line = -size.left / size.axis, 0.8 * size.line
    if top:
        axes.axhline(top, xmin=left, color=FAINT, linewidth=1.0, clip_on=False)
    label = _label(row, size)
    first = top + 0.75 * size.line
    for i, words in enumerate(label):
        _write(axes, words, (left, first + i * line), size.text, weight="bold")
    _write(axes, row.wiring, (left, first + len(label) * line), SMALL * size.text, color=style.MUTED)
    _guide(axes, row, span, size)
    for lane in row.lanes:
        spot = beside(lane, frame)
        _draw_marks(axes, lane, first, frame)
        weight = "bold" if lane.kind == "reading" else "normal"
        y = first + (spot.lines - 1) * line
        _write(axes, lane.label, (spot.x, y), size.text, weight=weight, ha=spot.towards)
        first += spot.lines * size.line


def _guide(axes: Axes, row: Row, span: tuple[float, float], size: Size) -> None:
    """A line from the first reading down through the row: what lies on it was predicted well."""
    readings = [lane.points[0] for lane in row.lanes if lane.kind == "reading" and lane.points[0].has_place]
    if readings and len(row.lanes) > 1:
        top, bottom = span[0] + 0.3 * size.line, span[1] - 0.3 * size.line
        axes.vlines(readings[0].value, top, bottom, color=GUIDE, linewidth=0.12 * size.text, zorder=1)


def _draw_marks(axes: Axes, lane: Lane, y: float, frame: Frame) -> None:
    mark, height = MARKS[lane.kind], frame.size.text
    width = mark.stroke.width * height / 16
    for point in lane.points:
        if point.has_place:
            _draw_bar(axes, point, y, mark, frame)
            fill = mark.stroke.colour if mark.filled else style.PAPER
            ink = {"mec": mark.stroke.colour, "mfc": fill, "mew": width, "ms": 0.55 * height}
            axes.plot([point.value], [y], mark.shape, zorder=4, **ink)


def _draw_bar(axes: Axes, point: Point, y: float, mark: Mark, frame: Frame) -> None:
    """The interval, its ends taller than the mark: one narrower than the mark still shows."""
    if point.interval is None:
        return
    (low, high), height = point.interval, frame.size.text
    ink = {"color": mark.stroke.colour, "zorder": 3}
    width = mark.stroke.width * height / 16
    dashes = "--" if mark.stroke.dashes else "-"
    axes.hlines(y, max(low, frame.low), min(high, frame.high), linestyles=dashes, lw=width, **ink)
    ends = [end for end in (low, high) if frame.low < end < frame.high]
    axes.plot(ends, [y] * len(ends), "|", ms=1.15 * height, mew=width, **ink)
    arrows = [(frame.low, "<")] * (low <= frame.low) + [(frame.high, ">")] * (high >= frame.high)
    for edge, arrow in arrows:
        axes.plot([edge], [y], arrow, ms=0.5 * height, clip_on=False, **ink)


def _draw_notes(axes: Axes, notes: tuple[str, ...], mark: str, top: float, size: Size) -> None:
    first = top + 2.3 * size.line
    for i, note in enumerate(notes):
        at = (1.0, first + 0.85 * i * size.line)
        _write(axes, note, at, SMALL * size.text, color=style.MUTED, ha="right")
    _write(axes, mark, (-size.left / size.axis, first), size.text, weight="bold")


def _write(axes: Axes, text: str, at: tuple[float, float], height: float, **how: Any) -> None:
    """One line of text at a part of the axis and a height, on a ground of paper where lines pass below."""
    how = {"color": style.INK, "ha": "left", "va": "center", "zorder": 2} | how
    ground = {"facecolor": style.PAPER, "edgecolor": "none", "pad": 0.0}
    axes.text(*at, text, fontsize=height, transform=axes.get_yaxis_transform(), bbox=ground, **how)


def _inline(figure: Figure, size: Size) -> str:
    """The drawing as one `svg` element.

    Left out are the prologue, style rules that would reach the whole page, and names that nothing refers
    to; the font gives way to those on the reader's own machine.
    """
    sheet = io.StringIO()
    figure.savefig(sheet, format="svg", metadata=WITHOUT)
    text = sheet.getvalue()
    prologue = r"<!--.*?-->\s*|<defs>\s*<style.*?</style>\s*</defs>\s*"
    svg = re.sub(prologue, "", text[text.index("<svg") :], flags=re.DOTALL)
    wanted = set(re.findall(r"#([\w.-]+)", svg))
    svg = re.sub(r' id="([^"]*)"', lambda name: name[0] if name[1] in wanted else "", svg)
    frame = f'style="width:100%;max-width:{size.width:g}px;height:auto" stroke-linejoin="round" '
    svg = re.sub(r'width="[\d.]+pt" height="[\d.]+pt" ', frame, svg, count=1)
    return svg.replace(f"'{FONT}'", style.FONT)
