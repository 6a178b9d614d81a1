"""Pictures of a class: every value is drawn, those beyond the axis as arrows, one's own apart."""

import re

import pytest

import labkit
from labkit.analysis.classroom import ClassResults, Group, Value
from labkit.errors import EntryError
from labkit.faces.class_charts import Spread, class_dots, class_scores
from labkit.faces.plot import SIZES
from labkit.resources import shipped

L1 = "self_inductance_1"


def a_class(*values: float, own: int | None = None, u: float | None = 1e-5) -> ClassResults:
    """A class that read one winding of one part."""
    groups = [Group(f"group-{n}", "p", "10 kHz", {L1: Value(x, u)}, {}) for n, x in enumerate(values)]
    return ClassResults(groups, groups[own] if own is not None else None, shared=True)


def marks(svg: str, name: str) -> int:
    """How many marks of this name are in a picture."""
    return svg.count(f'data-mark="{name}"')


VALUES = [1e-3 + n * 1e-5 for n in range(10)]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("slips", [(), (1.0,), (1.0, 1e-6), (1.0, 1.1, 1e-6)])
def test_every_value_is_drawn(slips: tuple[float, ...], size: str) -> None:
    """Dots, one's own and arrows add up to the values; the axis does not stretch for a slip."""
    results = a_class(*VALUES, *slips, own=3)
    picture = class_dots(results, L1, size)
    assert marks(picture.svg, "group") == len(VALUES) - 1
    assert marks(picture.svg, "own") == 1
    assert marks(picture.svg, "beyond") == len(slips)
    spread = Spread.of(results[L1])
    assert 0.8e-3 < spread.low < min(VALUES) < max(VALUES) < spread.high < 1.3e-3
    for slip in slips:
        assert f"{'1.100' if slip > 1 else '1.000'} " in picture.alt


@pytest.mark.parametrize("slips", [(), (1.0,), (1.0, 1e-6), (1.0, 1.1, 1e-6)])
def test_every_score_is_drawn(slips: tuple[float, ...]) -> None:
    """In the picture of scores the values beyond an end are one arrow with their number."""
    svg = class_scores(a_class(*VALUES, *slips, own=3)).svg
    ends = {slip > 1e-3 for slip in slips}
    assert marks(svg, "group") + marks(svg, "own") == len(VALUES)
    assert marks(svg, "beyond") == len(ends)
    assert f">{sum(slip > 1e-3 for slip in slips)}</text>" in svg or not slips


def test_dots_do_not_hide_each_other() -> None:
    """Equal scores stand on top of each other, each at a height of its own."""
    from labkit.faces.class_charts import _stacked

    levels = _stacked([-1.0, -1.0, -1.0, 0.0, 0.01, 2.0, None, 9.0], SIZES["page"])
    assert levels == [0, 1, 2, 0, 1, 0, 0, 0]


def test_no_spread_is_said() -> None:
    """A class that read the same to the last digit has a picture and no z."""
    results = a_class(*[1e-3] * 8, 1.1e-3)
    assert "no spread, no z" in class_scores(results).svg
    assert marks(class_dots(results, L1).svg, "group") + marks(class_dots(results, L1).svg, "beyond") == 9


@pytest.mark.parametrize("values", [[0.0] * 6, [-1e-6, 0.0, 1e-6, 2e-6, 3e-6, 1.0], [1e-3] * 5 + [-1.0]])
def test_odd_classes_are_drawn(values: list[float]) -> None:
    """Zeros, negative values and identical ones have an axis."""
    svg = class_dots(a_class(*values, u=None), L1).svg
    assert marks(svg, "group") + marks(svg, "beyond") == len(values)


def test_an_unknown_size_is_refused() -> None:
    """One sentence names both sizes."""
    with pytest.raises(EntryError, match="size='projector'"):
        class_dots(a_class(*VALUES), L1, "poster")


def test_the_same_class_is_the_same_picture() -> None:
    """The same bytes twice, for a class of twenty with intervals, a reference and one's own."""
    folder = shipped("data", "class")
    made = [
        class_dots(
            labkit.class_results(folder / "round_robin", "group-07", reference=folder / "reference.jsonl"),
            "parallel_aiding",
        ).svg
        for _ in range(2)
    ]
    assert made[0] == made[1]
    assert marks(made[0], "target") == 1


@pytest.mark.parametrize(("invented", "mark"), [(0, ""), (3, "partly invented data"), (10, "invented data")])
def test_invented_data_are_marked(invented: int, mark: str) -> None:
    """All, some or none of the records may be invented, and the picture says which."""
    groups = [
        Group(str(n), "p", "10 kHz", {L1: Value(x)}, {}, invented=n < invented) for n, x in enumerate(VALUES)
    ]
    for picture in (
        class_dots(ClassResults(groups, shared=True), L1),
        class_scores(ClassResults(groups, shared=True)),
    ):
        assert (f">{mark}</text>" in picture.svg) == bool(mark)
        assert ("invented" in picture.svg + picture.alt) == bool(mark)


def test_ones_own_is_told_apart_by_colour_and_shape() -> None:
    """One's own dot is drawn in blue, and its path is not that of the others."""
    results = a_class(*VALUES, own=3)
    for picture in (class_dots(results, L1), class_scores(results)):
        own, other = (
            re.search(rf'data-mark="{name}">.*?</g>\s*</g>', picture.svg, re.DOTALL)
            for name in ("own", "group")
        )
        assert own
        assert other
        assert "#0072b2" in own[0].lower()
        assert "#0072b2" not in other[0].lower()
        paths = [re.search(r' d="([^"]*)"', found[0]) for found in (own, other)]
        assert paths[0] is None or paths[1] is None or paths[0][1] != paths[1][1]
