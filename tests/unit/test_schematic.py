"""The drawing of a wiring says what the wiring says; everything is read back from the SVG itself."""

import itertools
import math
import os
import re
import subprocess
import sys
from html import escape
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labkit.errors import EntryError, WiringError
from labkit.faces.plot import text_width
from labkit.faces.schematic import draw
from labkit.theory.wiring import Wiring, all_wirings, parse_dots, terminals
from tests.drawings import SVG, Read, Segment, close, crossing
from tests.pages import drawings

ALL = [wiring.notation for wiring in all_wirings(2)]
ODD = [
    "1a 1a",
    "1a 2a | 1a=2a",
    "2b 1a | 2a=1b",
    "1b 2b | 1a=2b 1b=2a",
    "1a 1b | 1a=1b=2a=2b",
    "1a 1b | 1a=2a 2a=1a 1b=2b",
]
MORE = [
    ("1a 3b | 1b=2a 2b=3a", 3),
    ("1a 1b | 1a=2b 1b=2a 3a=3b", 3),
    ("2a 2b | 3a=2a 2a=1a=1b 1a=3b", 3),
    ("1a 3a | 3b=1a 2a=2b 1b=1a=2a", 3),
    ("1a 4b | 1b=2a 2b=3a 3b=4a", 4),
    ("1a 1b", 1),
]
CASES = [(wiring, 2) for wiring in (*ALL, *ODD)] + MORE


def read(wiring: str, windings: int = 2, **more: object) -> Read:
    return Read(draw(wiring, windings=windings, **more))  # type: ignore[arg-type]


@pytest.mark.parametrize(("wiring", "windings"), CASES)
def test_drawn_lines_connect_what_the_wiring_connects(wiring: str, windings: int) -> None:
    """The wiring read back from the drawn lines alone is the wiring that was asked for."""
    assert read(wiring, windings).wiring().canonical(windings) == Wiring.parse(wiring).canonical(windings)


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_any_wiring_of_three_or_four_windings_is_drawn_truly(data: st.DataObject) -> None:
    """Random wirings, crossings and redundant ties included, read back from the lines as they were."""
    windings = data.draw(st.integers(3, 4))
    ends = st.sampled_from([str(t) for t in terminals(windings)])
    tie = st.lists(ends, min_size=2, max_size=3, unique=True).map("=".join)
    clips = f"{data.draw(ends)} {data.draw(ends)}"
    wiring = Wiring.parse(f"{clips} | {' '.join(data.draw(st.lists(tie, max_size=4)))}")
    assert read(wiring.notation, windings).wiring().canonical(windings) == wiring.canonical(windings)


@pytest.mark.parametrize(("wiring", "windings"), CASES)
def test_every_tie_and_both_clips_are_drawn(wiring: str, windings: int) -> None:
    """There is one group for each tie and each clip as written, and each holds a line between its ends."""
    seen, asked = read(wiring, windings), Wiring.parse(wiring)
    assert seen.ties == ["=".join(map(str, tie)) for tie in asked.ties]
    assert seen.clips == [str(clip) for clip in asked.clips]
    for group, tie in zip(seen.groups("data-tie"), asked.ties, strict=True):
        lines = [seen.spots(path) for path in group.iter(f"{SVG}path")]
        reached = {
            name for name, s in seen.terminals.items() for ln in lines for k in (0, -1) if close(s, ln[k][1])
        }
        assert len(lines) == len(tie) - 1
        assert reached == set(map(str, tie))


@pytest.mark.parametrize(("wiring", "windings"), CASES)
def test_leads_run_from_their_terminals_to_two_sides_of_the_meter(wiring: str, windings: int) -> None:
    """Each lead begins on its clip's terminal and ends on the meter's rim, not where the other one ends."""
    seen = read(wiring, windings)
    left, top, right, bottom = seen.meter
    for clip, lead in zip(seen.clips, seen.leads, strict=True):
        x, y = lead[-1][1]
        assert close(lead[0][1], seen.terminals[str(clip)])
        assert left - 0.1 <= x <= right + 0.1
        assert top - 0.1 <= y <= bottom + 0.1
        assert min(abs(x - left), abs(x - right), abs(y - top), abs(y - bottom)) < 0.1
    assert math.dist(seen.leads[0][-1][1], seen.leads[1][-1][1]) > 40


@pytest.mark.parametrize("wiring", ALL)
def test_no_wires_of_a_pair_cross(wiring: str) -> None:
    """For two windings with any of the 31 wirings there is a way without a crossing, and it is found."""
    assert " A" not in "".join(
        p.attrib["d"] for p in read(wiring).root.iter(f"{SVG}path") if "M" in p.attrib["d"]
    )
    assert not list(plain_crossings(read(wiring)))


def plain_crossings(seen: Read) -> list[tuple[Segment, Segment]]:
    pairs = itertools.combinations(seen.conductors, 2)
    return [
        (a, b)
        for one, other in pairs
        for a in seen.straights(one)
        for b in seen.straights(other)
        if crossing(a, b)
    ]


def test_a_wire_that_must_cross_hops_over() -> None:
    """Where a wire has to cross another, it goes over in an arc, and no two straight lines cross."""
    seen = read("2a 2b | 3a=2a 2a=1a=1b 1a=3b", 3)
    assert any(letter == "A" for conductor in seen.conductors for letter, _ in conductor)
    assert not plain_crossings(seen)


@pytest.mark.parametrize(("wiring", "windings"), CASES)
def test_no_wire_runs_through_words_windings_or_the_meter(wiring: str, windings: int) -> None:
    """Labels, turns and the meter's symbol stand clear of every wire; a lead only touches the meter's rim."""
    seen = read(wiring, windings, labels={1: "the red & white one"})
    left, top, right, bottom = seen.meter
    boxes = [(left + 1, top + 1, right - 1, bottom - 1), *text_boxes(seen), *turn_boxes(seen)]
    for conductor in seen.conductors:
        for segment in seen.straights(conductor):
            (x1, y1), (x2, y2) = sorted(segment)
            low, high = min(y1, y2), max(y1, y2)
            hit = [b for b in boxes if x1 < b[2] and x2 > b[0] and low < b[3] and high > b[1]]
            assert not hit


def text_boxes(seen: Read) -> list[tuple[float, float, float, float]]:
    boxes = []
    for text in seen.root.iter(f"{SVG}text"):
        size, x, y = (float(text.attrib[name]) for name in ("font-size", "x", "y"))
        width = text_width(text.text or "", size)
        left = x - {"start": 0.0, "middle": width / 2, "end": width}[text.attrib["text-anchor"]]
        boxes.append((left, y - 0.72 * size, left + width, y))
    return boxes


def turn_boxes(seen: Read) -> list[tuple[float, float, float, float]]:
    places = [seen.terminals[f"{n}{end}"] for n in range(1, len(seen.terminals) // 2 + 1) for end in "ab"]
    return [
        (x - 12, y + 12, x + 12, below - 12)
        for (x, y), (_, below) in zip(places[::2], places[1::2], strict=True)
    ]


@pytest.mark.parametrize("dots", ["1a 2a", "1a 2b", "1b 2a", "1b 2b"])
def test_dots_stand_at_the_dotted_ends(dots: str) -> None:
    """There is one dot a winding, and of all terminals the dotted one is nearest to it."""
    seen = read("1a 2b | 1b=2a", dots=dots)
    assert list(seen.dots) == dots.split()
    for name, dot in seen.dots.items():
        assert min(seen.terminals, key=lambda t: math.dist(seen.terminals[t], dot)) == name


def test_unknown_dots_are_asked_for() -> None:
    """Without dots no dot is drawn: a question mark at all four ends and a note say that nobody knows."""
    seen = read("1a 1b")
    texts = [t.text for t in seen.root.iter(f"{SVG}text")]
    assert seen.dots == {}
    assert texts.count("?") == 4
    assert "1a 1b · dots unknown" in texts
    assert "Where the dots are is unknown." in draw("1a 1b").alt


def test_dots_are_taken_as_terminals_too() -> None:
    """Dots as text and as terminals give the same drawing."""
    assert draw("1a 1b", parse_dots("1a 2b")) == draw("1a 1b", "1a 2b")


@pytest.mark.parametrize("wiring", ALL)
def test_only_ends_that_nothing_touches_are_drawn_open(wiring: str) -> None:
    """An open end is a hollow ring with the word open, a taken one a filled joint."""
    picture, asked = draw(wiring), Wiring.parse(wiring)
    circles = [c for c in Read(picture).root.iter(f"{SVG}circle") if "data-terminal" in c.attrib]
    hollow = {c.attrib["data-terminal"] for c in circles if c.attrib["fill"] == "#FFFFFF"}
    touched = {str(t) for t in (*asked.clips, *itertools.chain(*asked.ties))}
    assert hollow == {"1a", "1b", "2a", "2b"} - touched
    assert picture.svg.count(">open<") == len(hollow)


@pytest.mark.parametrize(
    ("wiring", "shorted"),
    [
        ("1a 1b | 2a=2b", ["2"]),
        ("1a 2a | 1a=1b=2b", ["1"]),
        ("1a 1b | 1a=2a 2a=1b", ["1"]),
        ("1a 2b | 1b=2a", []),
    ],
)
def test_a_shorted_winding_is_called_shorted(wiring: str, shorted: list[str]) -> None:
    """A winding with both ends on one node, however they got there, is marked and named as shorted."""
    picture = draw(wiring)
    marked = [
        g.get("data-winding")
        for g in Read(picture).groups("data-winding")
        if "shorted" in [t.text for t in g]
    ]
    assert marked == shorted
    assert re.findall(r"Winding (\d) is shorted", picture.alt) == shorted


@pytest.mark.parametrize(("wiring", "windings"), CASES)
def test_words_name_clips_and_all_ties(wiring: str, windings: int) -> None:
    """The alternative in words names both clips, every tie as a chain, and every open end."""
    alt, asked = draw(wiring, windings=windings).alt, Wiring.parse(wiring)
    assert f"Meter clips on {asked.clips[0]} and {asked.clips[1]}." in alt
    assert re.findall(r"Tie ([^.]*)\.", alt) == [" to ".join(map(str, tie)) for tie in asked.ties]
    touched = {*asked.clips, *itertools.chain(*asked.ties)}
    open_ends = [str(t) for t in terminals(windings) if t not in touched]
    said = re.search(r"Open ends: ([^.]*)\.", alt)
    assert (re.findall(r"\d[ab]", said[1]) if said else []) == open_ends


def test_words_say_that_only_the_leads_are_seen() -> None:
    """Clips on one node, by one terminal or by ties, are said to see the leads alone, and others are not."""
    for wiring, leads in {"1a 1a": True, "1a 2b | 1a=2a=2b": True, "1a 2b | 1b=2a": False}.items():
        assert ("the meter sees its own leads" in draw(wiring).alt) is leads


def test_the_picture_is_one_image_with_a_title() -> None:
    """The SVG root carries role img, the words as its label and the wiring as its title."""
    picture = draw("1a 2a | 1b=2b", "1a 2a")
    root = Read(picture).root
    assert root.get("role") == "img"
    assert root.get("aria-label") == picture.alt
    assert root[0].tag == f"{SVG}title"
    assert root[0].text == "Wiring 1a 2a | 1b=2b"


def test_a_drawing_is_inert() -> None:
    """No ids to clash on a page, no scripts, no links, no fonts or images from elsewhere."""
    for size in ("page", "projector"):
        svg = draw("2a 2b | 3a=2a 2a=1a=1b 1a=3b", windings=3, size=size).svg
        assert not re.search(r'\bid=|<script|<style|href|url\(|@import|<image|\bon\w+="', svg)


def test_the_same_wiring_gives_the_same_drawing_in_any_process() -> None:
    """The order of hashed sets leaves no trace: processes with other hash seeds draw byte for byte alike."""
    code = (
        "from labkit.faces.schematic import draw;"
        "print(draw('1a 3a | 3b=1a 3b=1a 2a=2b 1b=1a=2a', windings=3).svg)"
    )
    runs = [
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert runs[0] == runs[1]
    assert b"<circle" in runs[0]


HOSTILE = '<script>alert("x")</script> & \x00\x1b'


def test_what_users_write_is_only_ever_text() -> None:
    """Names and the measured quantity are escaped; characters that XML cannot hold become visible marks."""
    picture = draw("1a 1b", labels={1: HOSTILE}, measured=HOSTILE)
    root = ElementTree.fromstring(picture.svg)
    assert not [element for element in root.iter() if "script" in element.tag]
    assert "<script" not in picture.html()
    meter = Read(picture).groups("data-meter")[0].find(f"{SVG}text")
    assert meter is not None
    assert meter.text == '<script>alert("x")</script> & \N{REPLACEMENT CHARACTER}\N{REPLACEMENT CHARACTER}'


def test_a_long_name_is_kept_whole() -> None:
    """A name of any length is wrapped and none of it is lost."""
    name = "the winding of forty turns of green enamelled wire that was put on last"
    lines = [
        t.text or ""
        for t in Read(draw("1a 1b", labels={2: name})).groups("data-winding")[1].iter(f"{SVG}text")
    ]
    assert " ".join(lines) == name
    assert len(lines) > 2


def test_everything_stands_on_the_sheet() -> None:
    """Terminals, wires, meter and words of every wiring lie within the drawing's view."""
    for wiring, windings in CASES:
        seen = read(wiring, windings)
        left, top, width, height = map(float, seen.root.attrib["viewBox"].split())
        corners = [(x, y) for box in (seen.meter, *text_boxes(seen)) for x, y in (box[:2], box[2:])]
        for x, y in [*corners, *seen.terminals.values(), *(s for c in seen.conductors for _, s in c)]:
            assert left < x < left + width
            assert top < y < top + height


def test_a_projector_gets_large_text() -> None:
    """At projector size every text is at least 36 pixels high, a thirtieth of a screen of 1080 lines."""
    root = Read(draw("1a 2b | 1b=2a", size="projector")).root
    scale = float(root.attrib["width"]) / float(root.attrib["viewBox"].split()[2])
    assert min(float(t.attrib["font-size"]) for t in root.iter(f"{SVG}text")) * scale >= 35.9


def test_a_picture_shows_itself_in_a_notebook() -> None:
    """The notebook shows the SVG as an image with its words; plain text shows the words."""
    picture = draw("1a 1b")
    assert drawings(picture._repr_html_()) == [picture.svg]
    assert f'alt="{escape(picture.alt)}"' in picture._repr_html_()
    assert picture.plain().startswith("[Schematic of two windings on one core.")


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        ({"size": "poster"}, "'poster' is not a size of drawing; write size='page'"),
        ({"labels": {3: "x"}}, "Labels were given for 3, but this part has windings 1 to 2;"),
        ({"windings": 0}, "A part with 0 windings cannot be drawn;"),
        ({"dots": "1a 1b"}, "'1a 1b' does not mark one end of each of 2 windings;"),
    ],
)
def test_bad_input_gets_one_sentence(call: dict[str, object], sentence: str) -> None:
    """What cannot be drawn is refused with what was given and what is accepted."""
    with pytest.raises(EntryError, match="^" + re.escape(sentence)):
        draw("1a 1b", **call)  # type: ignore[arg-type]


def test_a_terminal_that_the_part_lacks_is_refused() -> None:
    """A wiring that names a third winding cannot be drawn on a part with two."""
    with pytest.raises(WiringError, match="names winding 3"):
        draw("1a 3a")
