"""How large a schematic is: where each column and row of a placement lies on the sheet, in user units.

One user unit is one pixel of a page at its usual size. Tracks that no wire uses take no room.
"""

from dataclasses import dataclass

from labkit.faces.canvas import Spot, text_width
from labkit.faces.placement import Placement
from labkit.faces.routing import Path, Point, corners

TEXT = 18.0
TRACK = 24.0  # between neighbouring wires
TURN = 11.0  # radius of one turn of a winding
TURNS = 5
LEAD = 26.0  # from a terminal to the first turn
CORE = 75.0  # from a winding to the middle of the core that its turns face
CORE_HALF = 4.0  # from there to each of the two core lines
ABOVE = 44.0  # from a terminal to the first track above: room for its label
BESIDE = 20.0  # between a winding's name and what stands on either side of it
METER_HALF_HEIGHT = 24.0
CLEAR = 26.0  # round the meter

HEIGHT = 2 * LEAD + 2 * TURN * TURNS


@dataclass(frozen=True)
class Measures:
    """Places of named columns, rows and cores, the middle of the meter and half its width, in user units."""

    placement: Placement
    x: dict[str, float]
    y: dict[str, float]
    cores: tuple[float, ...]
    meter: Spot
    meter_half: float

    def spot(self, point: Point) -> Spot:
        """The place of one point of the grid."""
        return self.x[self.placement.columns[point[0]]], self.y[self.placement.rows[point[1]]]

    def spots(self, path: Path) -> list[Spot]:
        """The corners of a path on the sheet."""
        return [self.spot(point) for point in corners(path)]


def facing(winding: int) -> int:
    """To which side the turns of a winding bulge: +1 right, -1 left; its name stands on the other side."""
    return 1 if winding == 1 else -1


def measure(placement: Placement, name_widths: tuple[float, ...], measured: str) -> Measures:
    """Give every column and row its place; `name_widths` is the width of each winding's name, user units."""
    half = max(text_width(measured, TEXT) / 2 + 12.0, 40.0)
    across = _Across(placement, name_widths, half)
    y = down(placement)
    meter = {
        "left": (across.x.get("meter-left", 0.0), HEIGHT / 2),
        "right": (across.x.get("meter-right", 0.0), HEIGHT / 2),
        "top": (across.cores[across.meter_gap - 1], y.get("meter-top", 0.0)),
        "bottom": (across.cores[across.meter_gap - 1], y.get("meter-bottom", 0.0)),
    }[placement.side]
    return Measures(placement, across.x, y, tuple(across.cores), meter, half)


class _Across:
    """The places of all columns, found gap by gap from the first winding to the right, then outside."""

    def __init__(self, placement: Placement, name_widths: tuple[float, ...], half: float) -> None:
        self.side, self.half, self.columns = placement.side, half, placement.columns
        self.used = placement.used()[0]
        self.x: dict[str, float] = {"w1": 0.0}
        self.cores: list[float] = []
        self.meter_gap = max(len(name_widths) // 2, 1)
        for w in range(1, max(len(name_widths), 2)):
            self._gap(w, name_widths[w - 1], last=w >= len(name_widths))
        end = self.x[f"w{len(name_widths)}"] + BESIDE + name_widths[-1] + BESIDE
        self._outside("right", end if len(name_widths) > 1 else self.cores[-1] + TRACK, 1)
        self._outside("left", -2 * BESIDE - name_widths[0], -1)

    def _gap(self, w: int, name_width: float, *, last: bool) -> None:
        start = self.x[f"w{w}"]
        first = start + (CORE - TRACK if facing(w) > 0 else 2 * BESIDE + name_width)
        after, before = self._tracks(f"after{w}-"), self._tracks(f"before{w + 1}-")
        end_of_after = self._run(after, first, 1)
        holds_meter = w == self.meter_gap and self.side in ("top", "bottom")
        reach = self.half + TRACK / 2 if holds_meter else 0.0  # from the middle of the core to the next wire
        core = max(
            start + (CORE if facing(w) > 0 else 0.0),
            start + reach + TRACK / 2,
            end_of_after,
            end_of_after - TRACK + reach if after else 0.0,
        )
        self.cores.append(core)
        if holds_meter:
            self.x |= {"pin-0": core - self.half, "pin-1": core + self.half}
        if not last:
            room = max(TRACK, reach) + TRACK * (len(before) - 1) if before else 0.0
            self.x[f"w{w + 1}"] = next_one = core + max(CORE, CORE - TRACK + room, reach + TRACK / 2)
            self._run(before[::-1], next_one - CORE + TRACK, -1)

    def _outside(self, side: str, place: float, step: int) -> None:
        tracks = self._tracks(f"{side}-")
        place = self._run(tracks if step > 0 else tracks[::-1], place, step)
        if self.side == side:
            place += step * (self.half + CLEAR - TRACK * bool(tracks))
        self.x[f"meter-{side}"] = place

    def _tracks(self, prefix: str) -> list[str]:
        return [name for name in self.columns if name.startswith(prefix) and name in self.used]

    def _run(self, tracks: list[str], place: float, step: int) -> float:
        for name in tracks:
            self.x[name] = place
            place += step * TRACK
        return place


def down(placement: Placement, height: float = HEIGHT) -> dict[str, float]:
    """The places of all rows, ends a at 0 and ends b at `height`."""
    used, middle = placement.used()[1], height / 2
    y = {"a": 0.0, "b": height, "pin-0": middle - METER_HALF_HEIGHT, "pin-1": middle + METER_HALF_HEIGHT}
    for side, edge, step in (("top", 0.0, -1), ("bottom", height, 1)):
        tracks = sorted(name for name in placement.rows if name.startswith(f"{side}-") and name in used)
        y |= {name: edge + step * (ABOVE + TRACK * i) for i, name in enumerate(tracks)}
        beyond = METER_HALF_HEIGHT if placement.side == side else 0.0
        y[f"meter-{side}"] = edge + step * (ABOVE + TRACK * len(tracks) + beyond)
    return y
