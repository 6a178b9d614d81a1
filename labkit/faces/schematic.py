"""Draw what was built: windings, dots, ties, clips and meter of one wiring, as SVG.

`labkit.faces.layout` decides which way every wire goes, `labkit.faces.layout` how large all is.
"""

import math
import textwrap
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from labkit.errors import EntryError
from labkit.faces import plot as style
from labkit.faces.layout import (
    CORE_HALF,
    HEIGHT,
    LEAD,
    METER_HALF_HEIGHT,
    TEXT,
    TURN,
    TURNS,
    Measures,
    crossings,
    edges,
    facing,
    measure,
    place,
)
from labkit.faces.plot import Canvas, Spot, text_width
from labkit.show import Picture
from labkit.theory.wiring import Terminal, Wiring, parse_dots, terminals
from labkit.words import pictures as words

# What a schematic shows, worked out before anything is drawn: names, shorts, open ends, and all in words.


@dataclass(frozen=True)
class Drawing:
    """One wiring of a part with `windings` windings; `dots` is None if nobody knows them.

    `labels` names windings by number; `measured` is what the meter's symbol says; `source` makes it one.
    """

    wiring: Wiring
    dots: tuple[Terminal, ...] | None
    windings: int
    labels: Mapping[int, str]
    measured: str

    @classmethod
    def of(
        cls,
        wiring: str | Wiring,
        dots: str | tuple[Terminal, ...] | None,
        windings: int,
        labels: Mapping[int, str],
        measured: str,
    ) -> "Drawing":
        """The same from what a person writes; raises WiringError or EntryError with one sentence."""
        if windings not in range(1, 100):
            raise EntryError(words.WINDINGS.format(given=windings), str(windings))
        strange = ", ".join(str(number) for number in labels if number not in range(1, windings + 1))
        if strange:
            raise EntryError(words.LABELS.format(given=strange, windings=windings), strange)
        wiring = Wiring.parse(wiring)
        wiring.nodes(windings)  # refuses a terminal that the part does not have
        if dots is not None:
            dots = parse_dots(dots if isinstance(dots, str) else " ".join(map(str, dots)), windings)
        return cls(wiring, dots, windings, labels, measured)

    def name(self, winding: int) -> str:
        """What a winding is called."""
        return self.labels.get(winding, "").strip() or words.WINDING.format(number=winding)

    @property
    def shorted(self) -> tuple[int, ...]:
        """The windings with both ends on one node."""
        nodes = self.wiring.nodes(self.windings)
        ends = {w: {Terminal(w, "a"), Terminal(w, "b")} for w in range(1, self.windings + 1)}
        return tuple(w for w, pair in ends.items() if any(pair <= node for node in nodes))

    @property
    def open_ends(self) -> tuple[Terminal, ...]:
        """The terminals that no clip and no tie touches."""
        touched = {*self.wiring.clips, *(terminal for tie in self.wiring.ties for terminal in tie)}
        return tuple(terminal for terminal in terminals(self.windings) if terminal not in touched)

    @property
    def spoken(self) -> str:
        """The drawing in words: part, names, dots, clips, ties, shorts, open ends."""
        return " ".join((*self._part(), *self._connections(), *self._consequences()))

    def _part(self) -> list[str]:
        count = words.COUNTS.get(self.windings, str(self.windings))
        said = [words.ALT_ONE if self.windings == 1 else words.ALT_MANY.format(count=count)]
        called = [w for w in range(1, self.windings + 1) if self.labels.get(w, "").strip()]
        said += [words.ALT_LABEL.format(number=w, label=self.name(w)) for w in called]
        dots = words.ALT_DOTS.format(dots=listed(self.dots or ()))
        return [*said, dots if self.dots else words.ALT_DOTS_UNKNOWN]

    def _connections(self) -> list[str]:
        first, second = self.wiring.clips
        said = [words.ALT_CLIPS.format(first=first, second=second)]
        if self.measured == words.SOURCE:
            said.append(words.ALT_SOURCE)
        elif self.measured != words.METER:
            said.append(words.ALT_METER.format(measured=self.measured))
        ties = [words.ALT_TIE.format(chain=" to ".join(map(str, tie))) for tie in self.wiring.ties]
        return [*said, *(ties or [words.ALT_NO_TIE])]

    def _consequences(self) -> list[str]:
        said = [words.ALT_SHORTED.format(number=w) for w in self.shorted]
        first, second = self.wiring.clip_nodes(self.windings)
        if first == second:
            said.append(words.ALT_LEADS)
        ends = words.ALT_OPEN.format(ends=listed(self.open_ends))
        return [*said, ends if self.open_ends else words.ALT_NO_OPEN]


def listed(items: Sequence[object]) -> str:
    """The items as read aloud.

    >>> listed(["1a", "2a", "3a"])
    '1a, 2a and 3a'
    """
    texts = [str(item) for item in items]
    return words.AND.join([", ".join(texts[:-1]), texts[-1]] if len(texts) > 1 else texts)


# What is hooked up to a part: ties, clips with their leads, the meter, the terminals they all meet at.
#
# Every wire comes routed (`labkit.faces.layout`); where the part itself stands between its terminals is
# the business of whoever draws it.

OPEN_RING, JOINT = 6.0, 4.0  # an open end is a ring, a taken one a joint; both smaller than a dot
HOP = 7.0
SLEEVE = (9.0, 33.0)  # along a clip's lead, from the terminal


def wires(sheet: Canvas, measures: Measures, drawing: Drawing) -> None:
    """Every tie and both leads, each in a group of its own."""
    paths = measures.placement.paths
    drawn: list[str] = []
    for i, tie in enumerate(drawing.wiring.ties):
        sheet.group(data_tie="=".join(map(str, tie)))
        for name in [name for name in sorted(paths) if name.startswith(f"tie-{i}-")]:
            _wire(sheet, measures, name, drawn)
            drawn.append(name)
    for i, clip in enumerate(drawing.wiring.clips):
        sheet.group(data_clip=str(clip))
        _wire(sheet, measures, f"clip-{i}", drawn)
        _sleeve(sheet, *measures.spots(paths[f"clip-{i}"])[:2])
        drawn.append(f"clip-{i}")


def _wire(sheet: Canvas, measures: Measures, name: str, drawn: list[str]) -> None:
    """One wire, with a hop wherever it passes over a wire of another net that is drawn already."""
    paths, nets = measures.placement.paths, measures.placement.nets
    foreign = [paths[other] for other in drawn if nets[other] != nets[name]]
    over = {measures.spot(point) for point in crossings(paths[name], foreign)}
    spots = measures.spots(paths[name])
    data = "M{:g} {:g}".format(*spots[0])
    for start, end in pairwise(spots):
        along = _unit(start, end)
        for way in sorted(math.dist(start, spot) for spot in over if _between(start, spot, end)):
            data += " L{:g} {:g}".format(*_from(start, along, way - HOP))
            data += " A{r:g} {r:g} 0 0 1 {:g} {:g}".format(*_from(start, along, way + HOP), r=HOP)
        data += " L{:g} {:g}".format(*end)
    sheet.path(spots, style.TIE if name.startswith("tie") else style.CLIP, data)


def joints(sheet: Canvas, measures: Measures) -> None:
    """A dot wherever wires of one net meet away from a terminal."""
    paths, nets = measures.placement.paths, measures.placement.nets
    steps = {(edge, nets[name]) for name, path in paths.items() for edge in edges(path)}
    meeting = Counter((point, net) for edge, net in steps for point in edge)
    ends = {path[k] for path in paths.values() for k in (0, -1)}
    sheet.group(data_joints="")
    for point in sorted({point for (point, _), count in meeting.items() if count > 2} - ends):
        sheet.circle(measures.spot(point), JOINT, stroke=style.TIE, fill=style.TIE.colour)


def _sleeve(sheet: Canvas, terminal: Spot, towards: Spot) -> None:
    """The insulated sleeve of a clip, beside the terminal that it grips."""
    along = _unit(terminal, towards)
    near, far = (_from(terminal, along, way) for way in SLEEVE)
    sheet.path([near, far], style.Stroke(style.CLIP.colour, 11.0))
    sheet.path([terminal, near], style.Stroke(style.CLIP.colour, 6.0))


def meter(sheet: Canvas, measures: Measures, measured: str) -> None:
    """The meter's symbol with what it reads."""
    (x, y), half = measures.meter, measures.meter_half
    sheet.group(data_meter="")
    low, high = (x - half, y - METER_HALF_HEIGHT), (x + half, y + METER_HALF_HEIGHT)
    sheet.box(low, high, stroke=style.CLIP, fill=style.PAPER, radius=8.0)
    sheet.text((x, y + 0.35 * TEXT), measured, size=TEXT, weight="bold")


def draw_terminals(sheet: Canvas, measures: Measures, drawing: Drawing) -> None:
    """Every terminal with its name, open ones as rings."""
    sheet.group(data_terminals="")
    for each in terminals(drawing.windings):
        at = measures.x[f"w{each.winding}"], measures.y[each.end]
        terminal(sheet, each, at, is_open=each in drawing.open_ends)


def terminal(sheet: Canvas, which: Terminal, place: Spot, *, is_open: bool) -> None:
    """One terminal with its name beside it."""
    (x, y), side = place, facing(which.winding)
    radius, fill = (OPEN_RING, style.PAPER) if is_open else (JOINT, style.INK)
    rim = style.Stroke(style.INK, 2.2)
    sheet.circle((x, y), radius, stroke=rim, fill=fill, data_terminal=str(which))
    at = (x - side * 10.0, y - 11.0 if which.end == "a" else y + 11.0 + 0.72 * TEXT)
    anchor = "end" if side > 0 else "start"
    sheet.text(at, str(which), size=TEXT, anchor=anchor, weight="bold")
    if is_open:
        further = (at[0] - side * text_width(f"{which} ", TEXT), at[1])
        sheet.text(further, words.OPEN, size=TEXT, anchor=anchor, colour=style.MUTED)


def _unit(start: Spot, end: Spot) -> Spot:
    length = math.dist(start, end)
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length


def _from(spot: Spot, along: Spot, way: float) -> Spot:
    return spot[0] + along[0] * way, spot[1] + along[1] * way


def _between(start: Spot, spot: Spot, end: Spot) -> bool:
    return math.isclose(math.dist(start, spot) + math.dist(spot, end), math.dist(start, end))


SCALES = {"page": 0.85, "projector": 2.0}  # pixels a user unit: text of 15 and of 36 pixels
DOT = 7.0
LINE = 1.2 * TEXT
NAME_WIDTH = 16  # characters of a line of a winding's name


def draw(
    wiring: str | Wiring,
    dots: str | tuple[Terminal, ...] | None = None,
    windings: int = 2,
    *,
    labels: Mapping[int, str] | None = None,
    measured: str | None = None,
    size: str = "page",
) -> Picture:
    """The schematic of a wiring as it was built, the wrong way round included, with the same in words.

    Parameters
    ----------
    wiring : str or Wiring
    dots : text such as `1a 2a`, or the dotted terminals; None if they are unknown, which is drawn as `?`
    windings : how many windings the part has
    labels : names for windings by number; the others are called `winding 1`, ...
    measured : what the meter reads, written into its symbol; `meter` if not given, `source` for a source
    size : `page`, or `projector` with text 36 pixels high

    Returns
    -------
    Picture: `svg` with one `g` a tie (`data-tie`) and a clip (`data-clip`); `alt` says the same in words.

    Raises
    ------
    WiringError, EntryError

    Examples
    --------
    >>> print(draw("1a 2b | 1b=2a", dots="1a 2a").alt)
    Schematic of two windings on one core. Dots on 1a and 2a. Meter clips on 1a and 2b. Tie 1b to 2a.
    No end is open.
    """
    if size not in SCALES:
        raise EntryError(
            f"'{size}' is not a size of drawing; write size='page' for a report or "
            "size='projector' for a class.",
            size,
        )
    drawing = Drawing.of(wiring, dots, windings, labels or {}, measured or words.METER)
    notation, alt = drawing.wiring.notation, drawing.spoken
    attributes = {"data_wiring": notation, "aria_label": alt}
    svg = _sheet(drawing).svg(words.TITLE.format(wiring=notation), attributes, scale=SCALES[size])
    return Picture(svg, alt)


def _sheet(drawing: Drawing) -> Canvas:
    names = [_lines(drawing, w) for w in range(1, drawing.windings + 1)]
    end = f"{drawing.windings}a {words.OPEN}"
    widths = tuple(max(text_width(line, TEXT) for line in (*name, end)) for name in names)
    measures = measure(place(drawing.wiring, drawing.windings), widths, drawing.measured)
    sheet = Canvas()
    _cores(sheet, measures)
    for w, name in enumerate(names, 1):
        _winding(sheet, measures, w, name, shorted=w in drawing.shorted)
        _polarity(sheet, measures.x[f"w{w}"], w, drawing.dots)
    wires(sheet, measures, drawing)
    joints(sheet, measures)
    meter(sheet, measures, drawing.measured)
    draw_terminals(sheet, measures, drawing)
    _caption(sheet, drawing)
    return sheet


def _lines(drawing: Drawing, w: int) -> tuple[str, ...]:
    """What stands beside a winding; long names in lines as wide as it takes to stay within its height."""
    room = int(HEIGHT / LINE) - 3
    name = drawing.name(w)
    lines = textwrap.wrap(name, max(NAME_WIDTH, math.ceil(1.4 * len(name) / room)))
    return (*lines, words.SHORTED) if w in drawing.shorted else tuple(lines)


def _cores(sheet: Canvas, measures: Measures) -> None:
    sheet.group(data_core="")
    top, bottom = LEAD - TURN / 2, HEIGHT - LEAD + TURN / 2
    for core in measures.cores:
        for x in (core - CORE_HALF, core + CORE_HALF):
            sheet.path([(x, top), (x, bottom)], style.CORE)


def _winding(sheet: Canvas, measures: Measures, w: int, name: tuple[str, ...], *, shorted: bool) -> None:
    x, side = measures.x[f"w{w}"], facing(w)
    turn = f"a{TURN:g} {TURN:g} 0 0 {int(side > 0)} 0 {2 * TURN:g}"
    data = f"M{x:g} 0 v{LEAD:g} {turn * TURNS} v{LEAD:g}"
    sheet.group(data_winding=str(w))
    sheet.path([(x, 0.0), (x + side * TURN, HEIGHT)], style.winding(w), data)
    first = HEIGHT / 2 - LINE * (len(name) - 1) / 2 + 0.35 * TEXT
    for i, line in enumerate(name):
        weight = "bold" if shorted and i == len(name) - 1 else "normal"
        at = (x - side * 20.0, first + i * LINE)
        sheet.text(at, line, size=TEXT, anchor="end" if side > 0 else "start", weight=weight)


def _polarity(sheet: Canvas, x: float, w: int, dots: tuple[Terminal, ...] | None) -> None:
    sheet.group(data_polarity=str(w))
    for terminal in (Terminal(w, "a"), Terminal(w, "b")):
        at = (x + facing(w) * 22.0, LEAD - 4.0 if terminal.end == "a" else HEIGHT - LEAD + 4.0)
        if dots is None:
            sheet.text((at[0], at[1] + 0.35 * TEXT), words.UNKNOWN_DOT, size=TEXT, weight="bold")
        elif terminal in dots:
            sheet.circle(at, DOT, stroke=style.Stroke(style.INK, 0.0), fill=style.INK, data_dot=str(terminal))


def _caption(sheet: Canvas, drawing: Drawing) -> None:
    left, _, right, bottom = sheet.extent()
    sheet.group(data_caption="")
    notes = [drawing.wiring.notation, *([words.SCHEMATIC_DOTS_UNKNOWN] if drawing.dots is None else [])]
    at = ((left + right) / 2, bottom + 1.6 * TEXT)
    sheet.text(at, " · ".join(notes), size=TEXT, colour=style.MUTED)
