"""What can be read off a drawn wiring by looking at its shapes alone."""

import itertools
import math
import re
from xml.etree import ElementTree

from labkit.show import Picture
from labkit.theory.wiring import Wiring

SVG = "{http://www.w3.org/2000/svg}"

Spot = tuple[float, float]
Segment = tuple[Spot, Spot]


def close(one: Spot, other: Spot) -> bool:
    return math.dist(one, other) < 0.1


def on(segment: Segment, spot: Spot) -> bool:
    start, end = segment
    return abs(math.dist(start, spot) + math.dist(spot, end) - math.dist(start, end)) < 0.01


def crossing(one: Segment, other: Segment) -> bool:
    """Whether two segments run through each other, touching ends not counted."""

    def side(segment: Segment, p: Spot) -> float:
        (x1, y1), (x2, y2) = segment
        return (x2 - x1) * (p[1] - y1) - (y2 - y1) * (p[0] - x1)

    return all(
        side(first, second[0]) * side(first, second[1]) < -1e-6
        for first, second in ((one, other), (other, one))
    )


class Read:
    """What can be read off a drawn schematic by looking at its shapes."""

    def __init__(self, picture: Picture) -> None:
        self.root = ElementTree.fromstring(picture.svg)
        self.terminals = self.circles("data-terminal")
        self.dots = self.circles("data-dot")
        self.ties = [g.get("data-tie") for g in self.groups("data-tie")]
        self.clips = [g.get("data-clip") for g in self.groups("data-clip")]
        wires = [g for name in ("data-tie", "data-clip") for g in self.groups(name)]
        self.conductors = [self.spots(path) for g in wires for path in g.iter(f"{SVG}path")]
        self.leads = [self.spots(next(g.iter(f"{SVG}path"))) for g in self.groups("data-clip")]
        (box,) = next(iter(self.groups("data-meter"))).iter(f"{SVG}rect")
        x, y, width, height = (float(box.get(name, "")) for name in ("x", "y", "width", "height"))
        self.meter = (x, y, x + width, y + height)

    def groups(self, attribute: str) -> list[ElementTree.Element]:
        return [g for g in self.root.iter(f"{SVG}g") if attribute in g.attrib]

    def circles(self, attribute: str) -> dict[str, Spot]:
        found = [c for c in self.root.iter(f"{SVG}circle") if attribute in c.attrib]
        return {c.attrib[attribute]: (float(c.attrib["cx"]), float(c.attrib["cy"])) for c in found}

    def spots(self, path: ElementTree.Element) -> list[tuple[str, Spot]]:
        """The vertices of a path of M, L and A, each with the letter that led there."""
        found = re.findall(r"([MLA])([^MLA]*)", path.attrib["d"])
        numbers = [(letter, [float(n) for n in text.split()]) for letter, text in found]
        return [(letter, (values[-2], values[-1])) for letter, values in numbers]

    def straights(self, conductor: list[tuple[str, Spot]]) -> list[Segment]:
        return [(a, b) for (_, a), (letter, b) in itertools.pairwise(conductor) if letter == "L"]

    def joined(self, one: list[tuple[str, Spot]], other: list[tuple[str, Spot]]) -> bool:
        """Whether a bend or an end of one conductor lies on the other."""
        pairs = ((one, other), (other, one))
        return any(on(s, spot) for a, b in pairs for _, spot in a for s in self.straights(b))

    def node_of(self) -> dict[str, int]:
        """A number for each terminal, equal if conductors join them: found from the lines alone."""
        count = len(self.conductors)
        label = list(range(count))
        for i, j in itertools.combinations(range(count), 2):
            if self.joined(self.conductors[i], self.conductors[j]):
                label = [label[i] if kind == label[j] else kind for kind in label]
        nodes = {name: -k for k, name in enumerate(self.terminals, 1)}
        for name, spot in self.terminals.items():
            touching = {
                label[i] for i, c in enumerate(self.conductors) for s in self.straights(c) if on(s, spot)
            }
            assert len(touching) <= 1
            nodes[name] = next(iter(touching), nodes[name])
        return nodes

    def wiring(self) -> Wiring:
        """The wiring in canonical form, read from the lines: what hangs together, where leads begin."""
        nodes = self.node_of()
        groups: dict[int, list[str]] = {}
        for name, node in nodes.items():
            groups.setdefault(node, []).append(name)
        starts = [next(n for n, s in self.terminals.items() if close(s, lead[0][1])) for lead in self.leads]
        ties = " ".join("=".join(names) for names in groups.values() if len(names) > 1)
        return Wiring.parse(f"{' '.join(starts)} | {ties}")


class Chart:
    """What can be read off a chart: its texts, and the shapes that carry a name."""

    def __init__(self, picture: Picture) -> None:
        self.root = ElementTree.fromstring(picture.svg)
        left, _, width, self.height = map(float, self.root.attrib["viewBox"].split())
        self.left, self.right = left, left + width
        self.texts = [
            (t.text or "", (float(t.attrib["x"]), float(t.attrib["y"])), t.attrib["style"])
            for t in self.root.iter(f"{SVG}text")
        ]

    def named(self, start: str) -> dict[str, ElementTree.Element]:
        """The groups whose name starts so, by the rest of the name."""
        found = (g for g in self.root.iter(f"{SVG}g") if g.get("data-mark", "").startswith(start))
        return {g.attrib["data-mark"].removeprefix(start).strip(): g for g in found}

    def spots(self, name: str) -> list[Spot]:
        """The corners of a named line or area."""
        path = next(self.named(name)[""].iter(f"{SVG}path"))
        numbers = [float(n) for n in re.findall(r"-?\d[\d.]*", path.attrib["d"])]
        return list(zip(numbers[::2], numbers[1::2], strict=True))

    def span(self, name: str) -> Spot:
        """The left and right end of a named line or area."""
        across = [x for x, _ in self.spots(name)]
        return min(across), max(across)

    def mark(self, name: str) -> tuple[Spot, str]:
        """Where a named mark stands, and its style."""
        use = next(self.named(name)[""].iter(f"{SVG}use"))
        return (float(use.attrib["x"]), float(use.attrib["y"])), use.attrib["style"]

    def style(self, name: str) -> str:
        """The style of a named line or area."""
        return next(self.named(name)[""].iter(f"{SVG}path")).attrib["style"]

    def row(self, y: float, down: float) -> list[str]:
        """The texts between a height and one further down."""
        return [text for text, (_, at), _ in self.texts if y <= at < y + down]

    def ticks(self) -> dict[str, float]:
        """The numbers of the axis and where they stand: the lowest line of texts set about their middle."""
        middle = [(text, at) for text, at, style in self.texts if "text-anchor: middle" in style]
        lowest = max(y for _, (_, y) in middle)
        return {text: x for text, (x, y) in middle if y == lowest}

    def boxes(self, character: float = 0.5) -> list[tuple[str, float, float, float, float]]:
        """Each text with about the room that it takes: left, top, right, bottom."""
        found = []
        for text, (x, y), style in self.texts:
            size = float(re.search(r"font-size: ([\d.]+)px", style)[1])  # type: ignore[index]
            anchor = re.search(r"text-anchor: (\w+)", style)[1]  # type: ignore[index]
            width = character * size * len(text)
            left = x - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
            found.append((text, left, y - 0.7 * size, left + width, y))
        return found
