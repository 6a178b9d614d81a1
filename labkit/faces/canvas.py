"""A sheet of SVG that knows how large its content is.

Built on the standard library's ElementTree, so that every text and attribute is escaped and the result is
well-formed. A circuit-drawing library was tried first: its SVG back end writes labels unescaped (an
ampersand in a label stops it), gives shapes no attributes to find them by, and loads matplotlib.
"""

import re
import unicodedata
from collections.abc import Sequence
from xml.etree import ElementTree

from labkit.faces import style

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

    def path(self, points: Sequence[Spot], stroke: style.Stroke, description: str = "") -> None:
        """Straight lines through `points`, or whatever `description` (SVG path data) draws within them."""
        data = description or "M" + " L".join(f"{_number(x)} {_number(y)}" for x, y in points)
        self._add("path", points, stroke.width, d=data, **stroke.svg)

    def circle(self, centre: Spot, radius: float, *, stroke: style.Stroke, fill: str, **more: str) -> None:
        """A circle with a rim of `stroke`, filled."""
        x, y = centre
        shape = {"cx": _number(x), "cy": _number(y), "r": _number(radius)}
        corners = [(x - radius, y - radius), (x + radius, y + radius)]
        self._add("circle", corners, stroke.width, **{**stroke.svg, **shape, "fill": fill}, **_names(more))

    def box(self, low: Spot, high: Spot, *, stroke: style.Stroke, fill: str, radius: float = 0.0) -> None:
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
        colour: str = style.INK,
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
            "font-family": style.FONT,
            "role": "img",
        }
        root = ElementTree.Element("svg", {**frame, **_names(attributes)})
        ElementTree.SubElement(root, "title").text = clean(title)
        paper = {"x": left, "y": top, "width": width, "height": height}
        ElementTree.SubElement(
            root, "rect", {**{k: _number(v) for k, v in paper.items()}, "fill": style.PAPER}
        )
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
