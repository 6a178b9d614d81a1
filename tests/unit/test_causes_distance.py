"""How many slips of a hand lie between two wirings."""

import pytest

from labkit.analysis.causes.hypotheses import built_instead, slips
from labkit.theory.wiring import Wiring, all_wirings

BY_HAND = [
    ("1a 2b | 1b=2a", "1a 2a | 1b=2b", 1, "one winding the wrong way round"),
    ("1a 1b | 1a=2a 1b=2b", "1a 1b | 1a=2a", 1, "one tie left out: an open clamp"),
    ("1a 1b", "1a 1b | 2a=2b", 1, "one tie left on from an earlier test"),
    ("1a 1b", "2a 2b", 2, "both clips on the other winding"),
    ("1a 2a | 1b=2b", "1a 1b | 1b=2b", 1, "one clip put elsewhere"),
    ("1a 1b | 1a=2a 1b=2b", "1a 1b | 1a=2b 1b=2a", 1, "side by side, one winding turned"),
]


@pytest.mark.parametrize(("intended", "built", "expected", "what"), BY_HAND)
def test_slips_by_hand(intended: str, built: str, expected: int, what: str) -> None:
    """The distance is what a person counts at the bench."""
    assert slips(Wiring.parse(intended), Wiring.parse(built)) == expected, what


@pytest.mark.parametrize("wiring", [w.notation for w in all_wirings()])
def test_only_itself_is_no_slip_away(wiring: str) -> None:
    """A wiring is no slip from itself, and at least one from each of the other thirty."""
    here = Wiring.parse(wiring).canonical()
    others = built_instead(here)
    assert slips(here, here) == 0
    assert len(others) == 30
    assert min(distance for _, distance in others) == 1


def test_notation_does_not_matter() -> None:
    """Text that means the same nodes is the same distance away."""
    assert slips(Wiring.parse("2b 1b | 2a=1a"), Wiring.parse("1b 2b | 1a=2a")) == 0
