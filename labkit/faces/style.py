"""One visual language for every face: colours and strokes named by what they mean.

The hues are the eight of Okabe and Ito, chosen so that people with any common form of colour vision keep
them apart. Colour never says a thing alone: a clip is also a sleeve, a tie also a plain wire between two
ends, an uncoupled prediction also a dashed one. A hue names a thing in a schematic and a kind of number in
a chart, and there it may return with another meaning.

Source: M. Okabe and K. Ito, "Color Universal Design (CUD)", 2002, revised 2008,
https://jfly.uni-koeln.de/color/ ; the same set in B. Wong, Nature Methods 8 (2011) 441. Values from memory of
the first; the contrast of each on white is computed in a test.
"""

from dataclasses import dataclass
from typing import Final

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
