"""Pictures of a class: one's own group marked, all others alike and without a name, nothing left out.

A value beyond the end of the axis is an arrow at the margin with its value or their number, so that a
thousandfold slip neither stretches the axis nor disappears.
"""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from labkit import quantity
from labkit.analysis.classroom import (
    ACT,
    LEAST,
    LOOK,
    RESIDUALS,
    Across,
    ClassResults,
    Value,
    centre,
    size_text,
    text,
)
from labkit.faces import plot
from labkit.faces import plot as style
from labkit.faces.plot import FAINT, Axes, Mark, Size, size_called
from labkit.show import Picture
from labkit.words import classroom as words

REACH = 5.0  # the axis reaches at least to the last value within so many s* of x*
PITCH = 0.62  # of a line, from one value to the next
GROUP = Mark("o", style.Stroke(style.MUTED, 1.6))
OWN = Mark("D", style.PREDICTION, filled=True)
BAND = "#E3E3E3"
END, MARGIN = 5.0, 5.9  # of the axis of z for dots, and for the arrows beyond


@dataclass(frozen=True)
class Spread:
    """The axis of a dot plot, in the unit of its values, and what lies beyond either end."""

    low: float
    high: float

    @classmethod
    def of(cls, row: Across) -> "Spread":
        """Wide enough for what is within `REACH` s* of x* and for its intervals, up to as much again."""
        inside, reach = [v.value for v in row.values], 0.0
        if row.robust:
            reach = REACH * row.robust.scale or 1e-3 * abs(row.robust.location) or 1.0
            near = [x for x in inside if abs(x - row.robust.location) <= reach]
            inside = near or [row.robust.location]
        if row.held_against:
            inside.append(row.held_against.value)
        low, high = min(inside), max(inside)
        bars = [v.U for v in row.values if v.U is not None and low <= v.value <= high]
        room = 0.08 * (high - low) + min(max(bars, default=0.0), max(high - low, reach)) or 1e-3 * abs(high)
        return cls(low - room, high + room or 1.0)

    def place(self, value: float) -> float:
        """Part of the axis."""
        return (value - self.low) / (self.high - self.low)

    def side(self, value: Value) -> str:
        """`left` or `right` of a value beyond an end, else empty."""
        return "left" if value.value < self.low else "right" if value.value > self.high else ""


def class_dots(results: ClassResults, name: str, size: str = "page") -> Picture:
    """One quantity of the whole class: a row a value in rising order, with its interval, and the robust mean.

    Parameters
    ----------
    results : from `labkit.class_results`
    name : of a quantity or closure, such as `parallel_aiding` or `series_sum`
    size : `page`, or `projector` for letters that can be read from the last row

    Returns
    -------
    Picture: no name is in it; `alt` says the class's figures and one's own in words.

    Raises
    ------
    EntryError
        for a size or quantity that there is not.
    """
    measures = size_called(size)
    mark = words.MARK[results.invented]
    if name in words.QUANTITY and all(row.name != name for row in results.rows):
        why = " ".join((words.NOT_READ.format(what=words.QUANTITY[name]), results.summary))
        return Picture(plot.blank(why, mark, measures), why)
    row = results[name]
    return Picture(_Dots(row, measures).svg(mark), _alt_dots(row, Spread.of(row), results.invented))


class _Dots:
    """A dot plot of one quantity."""

    def __init__(self, row: Across, size: Size) -> None:
        self.row, self.size, self.spread = row, size, Spread.of(row)
        self.pitch = PITCH * size.line

    def svg(self, mark: str) -> str:
        """The picture as one `svg` element."""
        row, size = self.row, self.size
        label, below = textwrap.wrap(words.QUANTITY[row.name], size.label), self._statistics()
        height = max(self.pitch * (len(row.values) + 1), size.line * (0.8 * (len(label) + len(below)) + 1.8))
        notes = self._notes()
        with plot.drawn():
            self.axes = plot.sheet(size, height, plot.room_below(len(notes), size))
            self.axes.set_xlim(self.spread.low, self.spread.high)
            _ticks(self.axes, row, size)
            self._centre()
            plot.heading(self.axes, label, below, 0.0, size)
            for i, each in enumerate(row.values):
                self._value(each, height - (i + 1) * self.pitch)
            plot.notes(self.axes, notes, mark, size)
            return plot.inline(self.axes, size)

    def _statistics(self) -> list[str]:
        row = self.row
        if row.robust is None:
            return [line.format(count=len(row.values), least=LEAST) for line in words.FEW_STATISTICS]
        facts = {"x": text(centre(row.robust), row), "s": size_text(row.robust.scale, row)}
        return [line.format(count=len(row.values), **facts) for line in words.STATISTICS]

    def _notes(self) -> list[str]:
        row, bars = self.row, any(v.U is not None for v in self.row.values)
        said = [words.DOTS_AXIS.format(what=words.QUANTITY[row.name])]
        said += [words.DOTS_BARS if bars else words.DOTS_NO_BARS]
        said += [words.DOTS_CENTRE] * (row.robust is not None)
        said += [words.DOTS_TARGET.format(target=_target(row))] if row.target else []
        return [*said, *beyond(row, self.spread)]

    def _centre(self) -> None:
        """The robust mean with its band, and the reference if there is one."""
        row, width = self.row, 0.1 * self.size.text
        if row.robust:
            x, U = row.robust.location, 2 * row.robust.standard_uncertainty
            self.axes.axvspan(x - U, x + U, color=BAND, zorder=0, gid=plot.named("band"))
            self.axes.axvline(x, color=style.INK, linewidth=width, zorder=1, gid=plot.named("centre"))
        if row.target:
            dashes = {"color": style.UNCOUPLED.colour, "linestyle": "--", "linewidth": 1.3 * width}
            self.axes.axvline(row.target.value, zorder=1, gid=plot.named("target"), **dashes)

    def _value(self, each: Value, y: float) -> None:
        is_own = each is self.row.own
        mark, height = (OWN if is_own else GROUP), self.size.text
        side = self.spread.side(each)
        if side:
            self._beyond(each, side, y, mark)
        else:
            if each.U is not None:
                ends = (each.value - each.U, each.value + each.U)
                plot.interval(self.axes, ends, y, mark.stroke, height=0.7 * height)
            name = "own" if is_own else "group"
            plot.point(self.axes, (each.value, y), mark, height=0.85 * height, name=name)
        if is_own and not side:
            place, U = self.spread.place, each.U or 0.0
            spot = plot.beside(place(each.value - U), place(each.value + U), words.OWN, self.size)
            ink = {"weight": "bold", "color": OWN.stroke.colour, "ha": spot.towards}
            plot.write(self.axes, words.OWN, (spot.x, y), height, **ink)

    def _beyond(self, each: Value, side: str, y: float, mark: Mark) -> None:
        edge, head = (self.spread.low, "<") if side == "left" else (self.spread.high, ">")
        colour = mark.stroke.colour
        gid = plot.named("own beyond" if each is self.row.own else "beyond")
        self.axes.plot(
            [edge], [y], head, ms=0.7 * self.size.text, color=colour, clip_on=False, gid=gid, zorder=5
        )
        shown = text(each, self.row)
        shown = f"{words.OWN}: {shown}" if each is self.row.own else shown
        at = (0.02, y) if side == "left" else (0.98, y)
        plot.write(self.axes, shown, at, self.size.text, ha=side, color=colour, weight="bold")


def beyond(row: Across, spread: Spread) -> list[str]:
    """A line for each end of the axis that values lie beyond."""
    said = []
    for side in ("left", "right"):
        out = [text(Value(v.value), row) for v in row.values if spread.side(v) == side]
        if out:
            values = ", ".join(out)
            said.append(words.BEYOND.format(count=len(out), side=side, values=values))
    return said


def _target(row: Across) -> str:
    assert row.target is not None
    if row.name in RESIDUALS:
        return words.SHOULD_BE
    return f"{words.REFERENCE} {text(row.target, row)}"


def _ticks(axes: Axes, row: Across, size: Size) -> None:
    ends = sorted(map(float, axes.get_xlim()))
    percent = 100 if row.name in RESIDUALS else 1
    ticks = MaxNLocator(max(2, int(size.axis / (8 * size.text))), steps=[1, 2, 5, 10]).tick_values(*ends)
    step = float(ticks[1] - ticks[0])
    shown = [t for t in ticks if ends[0] <= t <= ends[1]]
    axes.xaxis.set_major_locator(FixedLocator(shown))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda t, _: _tick(t * percent, step * percent, row)))
    axes.grid(axis="x", which="major", color=FAINT, linewidth=1.0)


def _tick(value: float, step: float, row: Across) -> str:
    """A round value down to the digit of the step between two of them."""
    unit = "%" if row.name in RESIDUALS else row.unit
    shown, _, in_unit = quantity.display_parts(value if abs(value) > step / 10 else 0.0, step, unit, 1)
    first = shown[:-1] if "." in shown else shown
    return f"{first.rstrip('.')} {in_unit}".strip() if abs(value) > step / 10 else f"0 {in_unit}".strip()


def _alt_dots(row: Across, spread: Spread, invented: str) -> str:
    low, high = (text(Value(end), row) for end in (spread.low, spread.high))
    facts = {"what": words.QUANTITY[row.name], "count": len(row.values)}
    said = [words.ALT_DOTS.format(low=low, high=high, **facts)]
    said += [words.INVENTED[invented]] if invented else []
    if row.robust:
        x, s = text(centre(row.robust), row), size_text(row.robust.scale, row)
        said.append(words.ALT_CENTRE.format(x=x, s=s))
    said += [f"{line[0].upper()}{line[1:]}." for line in beyond(row, spread)]
    said += [words.ALT_OWN.format(value=text(row.own, row))] if row.own else []
    return " ".join(said)


def class_scores(results: ClassResults, size: str = "page") -> Picture:
    """The z scores of the whole class: a row a quantity, a dot a group.

    Parameters and returns as of `class_dots`. Where each group had a part of its own, values have
    no z, and the rows are the closure residuals alone.
    """
    measures = size_called(size)
    mark = words.MARK[results.invented]
    rows = [row for row in results.rows if row.scored and row.robust]
    if not rows:
        why = " ".join((words.NOTHING_SCORED, results.summary))
        return Picture(plot.blank(why, mark, measures), why)
    return Picture(_scores(rows, measures, mark), _alt_scores(rows, results.invented))


def _scores(rows: Sequence[Across], size: Size, mark: str) -> str:
    stacks = [_stacked([row.z(v) for v in row.values], size) for row in rows]
    labels = [textwrap.wrap(words.QUANTITY[row.name], size.label) for row in rows]
    heights = [
        size.line * max(0.8 * len(label) + 0.7, PITCH * (max(stack, default=0) + 1) + 0.5)
        for label, stack in zip(labels, stacks, strict=True)
    ]
    notes = [words.SCORES_AXIS, words.SCORES_LINES, words.SCORES_ARROWS]
    notes += [words.SCORES_OWN] * any(row.own is not None for row in rows)
    with plot.drawn():
        axes = plot.sheet(size, sum(heights), plot.room_below(len(notes), size))
        axes.set_xlim(-MARGIN, MARGIN)
        axes.xaxis.set_major_locator(FixedLocator([-ACT, -LOOK, 0.0, LOOK, ACT]))
        axes.xaxis.set_major_formatter(FuncFormatter(lambda z, _: f"{z:g}".replace("-", "−")))
        for z, dashes in ((LOOK, ":"), (ACT, "--"), (0.0, "-")):
            for sign in {z, -z}:
                axes.axvline(sign, color=plot.GUIDE, linestyle=dashes, linewidth=0.09 * size.text, zorder=0)
        for i, (row, label, stack) in enumerate(zip(rows, labels, stacks, strict=True)):
            top, bottom = sum(heights[:i]), sum(heights[: i + 1])
            plot.heading(axes, label, [], top, size)
            _score_row(axes, row, stack, bottom, size)
        plot.notes(axes, notes, mark, size)
        return plot.inline(axes, size)


def _stacked(scores: Sequence[float | None], size: Size) -> list[int]:
    """On which level each dot stands so that none hides another; scores come in rising order."""
    apart = 0.6 * size.text / size.axis * 2 * MARGIN
    last: list[float] = []
    levels = []
    for z in scores:
        if z is None or abs(z) > END:
            levels.append(0)
            continue
        level = next((i for i, before in enumerate(last) if z - before >= apart), len(last))
        last[level : level + 1] = [z]
        levels.append(level)
    return levels


def _score_row(axes: Axes, row: Across, stack: Sequence[int], bottom: float, size: Size) -> None:
    base = bottom - 0.6 * PITCH * size.line - 0.2 * size.line
    out = {"left": 0, "right": 0}
    own_out = ""
    for each, level in zip(row.values, stack, strict=True):
        z, is_own = row.z(each), each is row.own
        if z is None:
            plot.write(axes, words.NO_Z, (0.02, base), size.text, color=style.MUTED)
            return
        if abs(z) > END:
            side = "left" if z < 0 else "right"
            out[side] += 1
            own_out = side if is_own else own_out
            continue
        at = (z, base - level * PITCH * size.line)
        plot.point(
            axes, at, OWN if is_own else GROUP, height=0.85 * size.text, name="own" if is_own else "group"
        )
    for side, count in out.items():
        if count:
            _arrow(axes, side, count, base, size, own=own_out == side)


def _arrow(axes: Axes, side: str, count: int, y: float, size: Size, *, own: bool) -> None:
    """The head of an arrow at the margin, with how many values lie there, one's own as a diamond beside."""
    sign, head = (-1, "<") if side == "left" else (1, ">")
    gid = plot.named("own beyond" if own else "beyond")
    ink = {"color": OWN.stroke.colour if own else style.INK, "clip_on": False, "zorder": 5}
    axes.plot([sign * MARGIN], [y], head, ms=0.7 * size.text, gid=gid, **ink)
    at = (0.5 + sign * (0.5 - 1.2 * size.part("0")), y)
    plot.write(axes, str(count), at, size.text, ha=side, weight="bold", color=ink["color"])
    if own:
        place = sign * (MARGIN - 2 * MARGIN * size.part("0" * (len(str(count)) + 3)))
        plot.point(axes, (place, y), OWN, height=0.85 * size.text)


def _alt_scores(rows: Sequence[Across], invented: str) -> str:
    said = [words.ALT_SCORES.format(end=f"{END:g}")]
    said += [words.INVENTED[invented]] if invented else []
    for row in rows:
        z = [score for each in row.values if (score := row.z(each)) is not None]
        facts = {
            "inside": sum(abs(score) <= LOOK for score in z),
            "left": sum(score < -END for score in z),
            "right": sum(score > END for score in z),
        }
        said.append(
            words.ALT_SCORES_ROW.format(what=words.QUANTITY[row.name], count=len(row.values), **facts)
        )
        own = row.z(row.own) if row.own else None
        said += [words.ALT_SCORES_OWN.format(z=f"{own:.2f}".replace("-", "−"))] if own is not None else []
    return " ".join(said)
