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
