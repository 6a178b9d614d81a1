"""The ring core obeys the right-hand rule; currents, turns and fluxes are read back from the SVG itself."""

import math
import re
from xml.etree import ElementTree

import pytest

from labkit.errors import EntryError, WiringError
from labkit.faces.plot import text_width
from labkit.faces.ring import flux
from labkit.show import Picture
from labkit.theory.network import identify
from labkit.theory.wiring import Wiring, all_wirings, parse_dots
from tests.drawings import SVG, Read, Spot, close

DOTS = ["1a 2a", "1a 2b", "1b 2a", "1b 2b"]
ALL = [wiring.notation for wiring in all_wirings(2)]
MODES = ["common mode", "differential mode"]
VERDICTS = {
    "series_aiding": "fluxes add",
    "parallel_aiding": "fluxes add",
    "series_opposing": "fluxes cancel",
    "parallel_opposing": "fluxes cancel",
    "short_circuit_1": "fluxes cancel",
    "short_circuit_2": "fluxes cancel",
    "self_inductance_1": "one flux only",
    "self_inductance_2": "one flux only",
    "open": "no current, no flux",
}


class Ring:
    """What a viewer sees on a drawn ring, y counted upwards."""

    def __init__(self, picture: Picture) -> None:
        self.root = ElementTree.fromstring(picture.svg)
        (core,) = self.groups("data-core")
        rims = [float(c.attrib["r"]) for c in core.iter(f"{SVG}circle")]
        self.outer, self.inner = max(rims), min(rims)
        circle = next(core.iter(f"{SVG}circle"))
        self.centre = (float(circle.attrib["cx"]), -float(circle.attrib["cy"]))

    def groups(self, name: str, value: str | None = None) -> list[ElementTree.Element]:
        return [g for g in self.root.iter(f"{SVG}g") if name in g.attrib and value in (None, g.get(name))]

    def lines(self, name: str, value: str) -> list[tuple[Spot, Spot]]:
        """The straight lines of a group, each once."""
        found = []
        for g in self.groups(name, value):
            for path in g.iter(f"{SVG}path"):
                x1, y1, x2, y2 = map(float, re.findall(r"-?[\d.]+", path.attrib["d"]))
                found.append(((x1, -y1), (x2, -y2)))
        return list(dict.fromkeys(found))

    def heads(self, name: str, value: str) -> list[tuple[Spot, Spot]]:
        """Where each arrowhead of a group points from and to: the middle of its back, its tip."""
        found = []
        for g in self.groups(name, value):
            for shape in g.iter(f"{SVG}polygon"):
                tip, one, other = (
                    (float(x), -float(y))
                    for x, y in (corner.split(",") for corner in shape.attrib["points"].split())
                )
                found.append((((one[0] + other[0]) / 2, (one[1] + other[1]) / 2), tip))
        return found

    def from_centre(self, spot: Spot) -> Spot:
        return spot[0] - self.centre[0], spot[1] - self.centre[1]

    def way_round(self, at: Spot, along: Spot) -> float:
        """How far a direction at a place runs counterclockwise, -1 to 1."""
        x, y = self.from_centre(at)
        return (x * along[1] - y * along[0]) / (math.hypot(x, y) * math.hypot(*along))

    def flux(self, w: int) -> int:
        """Which way round the arrows of a winding's flux run: +1 counterclockwise, -1 clockwise, 0 none."""
        ways = [self.way_round(a, (b[0] - a[0], b[1] - a[1])) for a, b in self.heads("data-flux", str(w))]
        assert all(abs(way) > 0.9 for way in ways)
        assert len({way > 0 for way in ways}) <= 1
        return 0 if not ways else 1 if ways[0] > 0 else -1

    def field(self, w: int) -> float:
        """Which way round the field goes inside the core, by Biot and Savart from the arrows on the face.

        A piece of current dl on the face, a height h before the middle of the core, gives there a field
        along dl x (0, 0, -h) = h (-dl_y, dl_x, 0).
        """
        total = 0.0
        for a, b in self.heads("data-current", str(w)):
            along = (b[0] - a[0], b[1] - a[1])
            total += self.way_round(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), (-along[1], along[0]))
        return total

    def wire(self, w: int) -> list[tuple[str, Spot, Spot]]:
        """The wire of a winding followed from end a to end b: pieces of lead, face and back, in turn."""
        pieces = [("face", *line) for line in self.lines("data-winding", str(w))]
        pieces += [("back", *line) for line in self.lines("data-behind", str(w))]
        pieces += [(f"lead {end}", *line) for end in "ab" for line in self.lines("data-lead", f"{w}{end}")]
        here = next(p for p in pieces if p[0] == "lead a")[1]
        way = []
        while pieces:
            piece = next(p for p in pieces if any(math.dist(here, spot) < 0.1 for spot in p[1:]))
            pieces.remove(piece)
            kind, start, end = piece if math.dist(here, piece[1]) < 0.1 else (piece[0], piece[2], piece[1])
            way.append((kind, start, end))
            here = end
        return way

    def current(self, w: int, end: str) -> int:
        """Current from end a to end b as the arrow on one lead says: +1, -1, 0 if there is none."""
        heads = self.heads("data-current", f"{w}{end}")
        return 0 if not heads else 1 if heads[0][1][1] < heads[0][0][1] else -1

    def texts(self, name: str) -> list[str]:
        return [t.text or "" for g in self.groups(name) for t in g.iter(f"{SVG}text")]


@pytest.mark.parametrize("dots", DOTS)
@pytest.mark.parametrize("drive", [*ALL, *MODES])
def test_the_right_hand_rule_holds_on_the_drawing(drive: str, dots: str) -> None:
    """The drawn flux of each winding runs as the field of the drawn currents on its face does."""
    ring = Ring(flux(drive, dots))
    for w in (1, 2):
        field, drawn = ring.field(w), ring.flux(w)
        assert (field > 0) - (field < 0) == drawn
        assert not drawn or abs(field) > 4  # all six turns push the same way


@pytest.mark.parametrize("dots", DOTS)
@pytest.mark.parametrize("drive", [*ALL, *MODES])
def test_each_wire_can_be_followed_through_the_turns(drive: str, dots: str) -> None:
    """From end a to end b the wire goes over the face and behind the core in turn, six times round."""
    ring = Ring(flux(drive, dots))
    for w in (1, 2):
        kinds = [kind for kind, _, _ in ring.wire(w)]
        assert (kinds[0], kinds[-1]) == ("lead a", "lead b")
        first = ["face", "back"] if f"{w}a" in dots else ["back", "face"]
        assert kinds[1:-1] == first * 6
        for _, start, end in ring.wire(w)[1:-1]:
            radii = sorted(math.hypot(*ring.from_centre(spot)) for spot in (start, end))
            assert radii[0] < ring.inner < ring.outer < radii[1]


@pytest.mark.parametrize("dots", DOTS)
@pytest.mark.parametrize("drive", [*ALL, *MODES])
def test_one_current_flows_all_along_a_wire(drive: str, dots: str) -> None:
    """The arrows at both leads and on every turn point the same way along the wire."""
    ring = Ring(flux(drive, dots))
    for w in (1, 2):
        current = ring.current(w, "a")
        assert ring.current(w, "b") == current
        on_face = [(start, end) for kind, start, end in ring.wire(w) if kind == "face"]
        heads = ring.heads("data-current", str(w))
        assert len(heads) == (6 if current else 0)
        for back, tip in heads:
            start, end = min(on_face, key=lambda line: math.dist(back, line[0]) + math.dist(back, line[1]))
            along = (end[0] - start[0]) * (tip[0] - back[0]) + (end[1] - start[1]) * (tip[1] - back[1])
            assert (1 if along > 0 else -1) == current


@pytest.mark.parametrize("dots", DOTS)
@pytest.mark.parametrize("wiring", ALL)
def test_drawn_fluxes_add_or_cancel_as_the_connection_does(wiring: str, dots: str) -> None:
    """Arrows round the ring and the words agree with aiding and opposing from the forward model."""
    picture = flux(wiring, dots)
    ring, connection = Ring(picture), identify(wiring, parse_dots(dots))
    assert ring.texts("data-verdict")[0] == VERDICTS[connection]
    assert f"Together: {VERDICTS[connection]}" in picture.alt
    product = ring.flux(1) * ring.flux(2)
    assert product == {"fluxes add": 1, "fluxes cancel": -1}.get(VERDICTS[connection], 0)


@pytest.mark.parametrize("dots", DOTS)
@pytest.mark.parametrize("w", [1, 2])
def test_current_into_a_dot_drives_flux_clockwise(dots: str, w: int) -> None:
    """Whichever winding it is and wherever its dot, current into the dot at its lead means clockwise."""
    dot = parse_dots(dots)[w - 1]
    far = "b" if dot.end == "a" else "a"
    ring = Ring(flux(f"{dot} {w}{far}", dots))
    inwards = 1 if dot.end == "a" else -1
    assert ring.current(w, dot.end) == inwards
    assert ring.flux(w) == -1


@pytest.mark.parametrize(("dots", "common", "differential"), [("1a 2a", 1, -1), ("1a 2b", -1, 1)])
def test_modes_follow_the_dots(dots: str, common: int, differential: int) -> None:
    """With dots on like ends common mode adds and differential mode cancels; with unlike ends not so."""
    for drive, product in (("common mode", common), ("differential mode", differential)):
        ring = Ring(flux(drive, dots))
        assert ring.flux(1) * ring.flux(2) == product
        assert [ring.current(1, "a"), ring.current(2, "a")] == [1, 1 if drive == "common mode" else -1]


def test_fluxes_that_add_are_thick_and_those_that_cancel_thin_and_dashed() -> None:
    """The line of each flux says it without colour; only cancelling fluxes leave leakage in the window."""
    adding, cancelling = (Ring(flux(drive, "1a 2a")) for drive in MODES)
    for w in "12":
        (thick,), (thin,) = (
            list(ring.groups("data-flux", w)[0].iter(f"{SVG}circle")) for ring in (adding, cancelling)
        )
        assert float(thick.attrib["stroke-width"]) > 2 * float(thin.attrib["stroke-width"])
        assert "stroke-dasharray" not in thick.attrib
        assert "stroke-dasharray" in thin.attrib
        assert not adding.groups("data-leakage", w)
        assert cancelling.groups("data-leakage", w)


@pytest.mark.parametrize("currents", [(1.0, -1.0), (-1.0, 1.0)])
def test_leakage_closes_the_way_of_the_flux_through_its_own_winding(currents: tuple[float, float]) -> None:
    """Where flux runs up through a winding, its leakage comes down the window, and the other way round."""
    ring = Ring(flux(currents, "1a 2a"))
    for w, leg in ((1, -1), (2, 1)):
        up_the_leg = ring.flux(w) * leg  # counterclockwise is up on the right and down on the left
        ((back, tip),) = ring.heads("data-leakage", str(w))
        assert (1 if tip[1] > back[1] else -1) == -up_the_leg
        assert math.hypot(*ring.from_centre(tip)) < ring.inner


@pytest.mark.parametrize(("currents", "total"), [((1.0, 1.0), 2.0), ((1.0, -0.5), 0.5), ((-1.0, -0.5), -1.5)])
def test_arrows_of_the_sum_are_drawn_to_scale(currents: tuple[float, float], total: float) -> None:
    """From the common line, each flux is as long as its current, and the sum is their sum."""
    ring = Ring(flux(currents, "1a 2a"))
    lines = ring.lines("data-sum", "")
    zero = lines[0][0][0]
    lengths = [tip[0] - zero for _, tip in ring.heads("data-sum", "")]
    unit = lengths[0] / currents[0]
    assert lengths == pytest.approx([unit * part for part in (*currents, total)], abs=0.05)
    assert unit > 50


@pytest.mark.parametrize("wiring", [*ALL, "1a 1a", "2b 1a | 2a=1b"])
def test_the_wiring_is_drawn_round_the_ring(wiring: str) -> None:
    """The wiring read back from the drawn lines is the wiring asked for; no wire runs over ring or words."""
    picture = flux(wiring, "1a 2a")
    seen, ring = Read(picture), Ring(picture)
    assert seen.wiring().canonical(2) == Wiring.parse(wiring).canonical(2)
    boxes = text_boxes(ring)
    for segment in (s for conductor in seen.conductors for s in seen.straights(conductor)):
        (x1, y1), (x2, y2) = sorted(segment)
        low, high = sorted((y1, y2))
        assert not [b for b in boxes if x1 < b[2] and x2 > b[0] and low < b[3] and high > b[1]]
        nearest = (min(max(ring.centre[0], x1), x2), min(max(-ring.centre[1], low), high))
        assert math.dist(nearest, (ring.centre[0], -ring.centre[1])) > ring.outer + 10


def text_boxes(ring: Ring) -> list[tuple[float, float, float, float]]:
    boxes = []
    for text in ring.root.iter(f"{SVG}text"):
        size, x, y = (float(text.attrib[name]) for name in ("font-size", "x", "y"))
        width = text_width(text.text or "", size)
        left = x - {"start": 0.0, "middle": width / 2, "end": width}[text.attrib["text-anchor"]]
        boxes.append((left, y - 0.72 * size, left + width, y))
    return boxes


@pytest.mark.parametrize("drive", [*ALL, *MODES])
def test_words_and_dots_keep_clear_of_each_other(drive: str) -> None:
    """No two texts overlap, no text lies on a dot, and all stands on the sheet."""
    ring = Ring(flux(drive, "1a 2b"))
    boxes = text_boxes(ring)
    left, top, width, height = map(float, ring.root.attrib["viewBox"].split())
    for i, (x1, y1, x2, y2) in enumerate(boxes):
        assert left < x1 < x2 < left + width
        assert top < y1 < y2 < top + height
        assert not [b for b in boxes[i + 1 :] if x1 < b[2] and x2 > b[0] and y1 < b[3] and y2 > b[1]]
        for dot in (c for c in ring.root.iter(f"{SVG}circle") if "data-dot" in c.attrib):
            cx, cy, r = (float(dot.attrib[name]) for name in ("cx", "cy", "r"))
            assert math.dist((min(max(cx, x1), x2), min(max(cy, y1), y2)), (cx, cy)) > r


@pytest.mark.parametrize("dots", DOTS)
def test_a_dot_stands_at_the_lead_of_its_end(dots: str) -> None:
    """Of the four leads, the one nearest to a dot is that of the dotted end."""
    ring = Ring(flux("common mode", dots))
    leads = {f"{w}{end}": ring.lines("data-lead", f"{w}{end}")[0] for w in "12" for end in "ab"}
    for dot in (c for c in ring.root.iter(f"{SVG}circle") if "data-dot" in c.attrib):
        at = (float(dot.attrib["cx"]), -float(dot.attrib["cy"]))
        nearest = min(leads, key=lambda name: min(math.dist(at, spot) for spot in leads[name]))
        assert nearest == dot.attrib["data-dot"]
        assert nearest in dots.split()


def test_words_say_what_is_seen() -> None:
    """The alternative names dots, wiring, connection, each current with its flux, and the verdict."""
    assert flux("1a 2a | 1b=2b", "1a 2b").alt == (
        "Ring core seen from the front, winding 1 on the left, winding 2 on the right, dots on 1a and 2b. "
        "Clips on 1a and 2a, tie 1b to 2b: series-aiding. "
        "Current flows through winding 1 from 1a to 1b; its flux goes clockwise. "
        "Current flows through winding 2 from 2b to 2a; its flux goes clockwise. "
        "Together: fluxes add. Drawn for equal windings that couple tightly."
    )


def test_every_current_given_is_taken_and_said() -> None:
    """Currents of one's own are drawn by their sign and stand in the words."""
    picture = flux((2, -0.5), "1a 2a")
    assert "Currents 2 and −0.5, counted from end a to end b." in picture.alt
    assert "fluxes cancel in part" in picture.alt
    assert "Winding 2 carries no current." in flux((1, 0), "1a 2a").alt


def test_the_picture_is_one_inert_image() -> None:
    """Role, label and title are there; no ids to clash, no scripts, no links; the same bytes each time."""
    picture = flux("1a 2a | 1b=2b", "1a 2a")
    root = Ring(picture).root
    assert (root.get("role"), root.get("aria-label")) == ("img", picture.alt)
    assert root[0].text == "Flux in the ring: 1a 2a | 1b=2b · series-opposing"
    assert not re.search(r'\bid=|<script|<style|href|url\(|@import|<image|\bon\w+="', picture.svg)
    assert flux("1a 2a | 1b=2b", parse_dots("1a 2a")).svg == picture.svg


def test_a_projector_gets_large_text() -> None:
    """At projector size every text is at least 36 pixels high, a thirtieth of a screen of 1080 lines."""
    root = Ring(flux("common mode", "1a 2a", size="projector")).root
    scale = float(root.attrib["width"]) / float(root.attrib["viewBox"].split()[2])
    assert min(float(t.attrib["font-size"]) for t in root.iter(f"{SVG}text")) * scale >= 35.9
    assert float(root.attrib["width"]) <= 1920


@pytest.mark.parametrize(
    ("drive", "dots", "size", "sentence"),
    [
        ("1a 1b", "1a 2a", "poster", "'poster' is not a size of picture;"),
        ("1a 1b", None, "page", "Nobody can tell which way the fluxes go while the dots are unknown;"),
        ((1.0,), "1a 2a", "page", "'(1.0,)' does not say what drives the current;"),
        ((1.0, math.nan), "1a 2a", "page", "'(1.0, nan)' does not say what drives the current;"),
        ("1a 1b", "1a 1b", "page", "'1a 1b' does not mark one end of each of 2 windings;"),
    ],
)
def test_bad_input_gets_one_sentence(drive: object, dots: str | None, size: str, sentence: str) -> None:
    """What cannot be drawn is refused with what was given and what is accepted."""
    with pytest.raises(EntryError, match="^" + re.escape(sentence)):
        flux(drive, dots, size)  # type: ignore[arg-type]


def test_a_terminal_that_the_part_lacks_is_refused() -> None:
    """A wiring that names a third winding cannot be drawn on a ring with two."""
    with pytest.raises(WiringError):
        flux("1a 3a", "1a 2a")


def test_terminals_of_both_kinds_of_picture_stand_where_leads_begin() -> None:
    """With a meter or with wires from elsewhere, each terminal is the outer end of its lead."""
    for drive in ("1a 2a | 1b=2b", "common mode"):
        ring = Ring(flux(drive, "1a 2a"))
        places = {
            c.attrib["data-terminal"]: (float(c.attrib["cx"]), -float(c.attrib["cy"]))
            for c in ring.root.iter(f"{SVG}circle")
            if "data-terminal" in c.attrib
        }
        assert len(places) == 4
        assert all(close(spot, ring.lines("data-lead", name)[0][0]) for name, spot in places.items())
