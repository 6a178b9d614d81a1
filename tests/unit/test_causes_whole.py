"""Stories of a whole session, and what lasts from one reading to the next."""

import math

import pytest

from labkit.analysis.causes import hypotheses as lasting
from labkit.analysis.causes.hypotheses import RENAMED, WEIGHTS, Alternative, stories
from labkit.analysis.observations import Observation, observe
from labkit.theory.wiring import Connection, parse_dots
from tests.benches import WIRINGS, typed_bench

DOTS = parse_dots("1a 2a")
C = Connection


def seen(*ids: str) -> tuple[Observation, ...]:
    """Readings of these wirings; their values play no part."""
    return observe(typed_bench(dict.fromkeys(ids, "100.0 µH")))


def test_a_wrong_dot_exchanges_aiding_and_opposing() -> None:
    """With a dot at the other end series and parallel readings change their names, singles do not."""
    (story,) = (s for s in stories(seen(*WIRINGS), DOTS) if s.cause == "dots")
    assert story.connections == (
        C.SELF_1,
        C.SELF_2,
        C.SERIES_OPPOSING,
        C.SERIES_AIDING,
        C.PARALLEL_OPPOSING,
        C.PARALLEL_AIDING,
    )


def test_exchanged_names_of_windings_are_no_story() -> None:
    """Rows of the two single windings swapped say nothing that any reading could show, and are left out."""
    told = {s.connections for s in stories(seen("one", "two", "line-reversed"), DOTS)}
    assert (C.SELF_2, C.SELF_1, C.SERIES_OPPOSING) not in told
    assert RENAMED[C.SELF_1] is C.SELF_2


def test_no_story_leaves_a_reading_open_or_all_as_it_was() -> None:
    """Every story changes something, and leaves every reading readable."""
    observations = seen(*WIRINGS)
    built = tuple(o.connection for o in observations)
    told = stories(observations, DOTS)
    assert {s.cause for s in told} == {"dots", "rows swapped", "leftover link"}
    assert all(s.connections != built and C.OPEN not in s.connections for s in told)


OPEN_CLAMP = Alternative("other wiring", C.SELF_1, weight=WEIGHTS["other wiring"])


def test_an_open_clamp_lasts() -> None:
    """Open in both readings costs one slip, not two; mended unseen in between is rarer than either."""
    both = seen("side", "side-reversed")
    mended = Alternative("as intended", C.PARALLEL_OPPOSING)
    assert lasting.log_weight(both, (OPEN_CLAMP, OPEN_CLAMP)) == pytest.approx(-math.log(OPEN_CLAMP.weight))
    assert lasting.log_weight(both, (OPEN_CLAMP, mended)) == pytest.approx(math.log(lasting.MENDED))


def test_what_lasts_is_bounded() -> None:
    """No combination gains more than `most`, on which the search's bound rests; one reading gains nothing."""
    both = seen("side", "side-reversed")
    assert lasting.log_weight(both, (OPEN_CLAMP, OPEN_CLAMP)) <= lasting.most(both) + 1e-12
    assert lasting.most(seen("one", "side")) == 0.0
