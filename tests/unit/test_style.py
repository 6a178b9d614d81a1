"""One palette for all faces: colours from the published set, readable on paper."""

import pytest

from labkit.faces import plot as style


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour. Source: WCAG 2.2, definition of relative luminance."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(colour: str) -> float:
    """Contrast ratio against the paper. Source: WCAG 2.2, definition of contrast ratio."""
    return (luminance(style.PAPER) + 0.05) / (luminance(colour) + 0.05)


@pytest.mark.parametrize("colour", [style.INK, style.MUTED])
def test_words_stand_out_from_the_paper(colour: str) -> None:
    """Text colours reach 7 to 1, the enhanced contrast of WCAG 2.2 success criterion 1.4.6."""
    assert contrast(colour) >= 7


@pytest.mark.parametrize(
    "stroke",
    [
        *(style.winding(number) for number in (1, 2, 3)),
        *(style.CORE, style.TIE, style.CLIP, style.READING, style.PREDICTION, style.UNCOUPLED),
    ],
)
def test_lines_that_carry_meaning_stand_out_from_the_paper(stroke: style.Stroke) -> None:
    """Line colours reach 3 to 1, the contrast for graphics of WCAG 2.2 success criterion 1.4.11."""
    assert contrast(stroke.colour) >= 3


def test_coloured_lines_come_from_the_published_set() -> None:
    """Every coloured stroke is one of the eight hues of Okabe and Ito; the core alone is grey."""
    strokes = [value for value in vars(style).values() if isinstance(value, style.Stroke)]
    assert {s.colour for s in strokes} - set(style.OKABE_ITO.values()) == {style.MUTED}


def test_what_meets_in_one_drawing_differs_in_colour() -> None:
    """Windings, ties, clips and core have a colour each; so have readings and the two predictions."""
    schematic = [style.winding(n) for n in (1, 2, 3)] + [style.TIE, style.CLIP, style.CORE]
    chart = [style.READING, style.PREDICTION, style.UNCOUPLED]
    assert len({s.colour for s in schematic}) == len(schematic)
    assert len({s.colour for s in chart}) == len(chart)


def test_a_dashed_stroke_says_so_in_svg() -> None:
    """Dashes reach the SVG attributes, and a solid stroke has none."""
    assert style.UNCOUPLED.svg["stroke-dasharray"] == "6 4"
    assert "stroke-dasharray" not in style.TIE.svg
