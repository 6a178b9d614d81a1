"""Stored and computed text compared: last digits may differ, and nothing else."""

import base64

import pytest

from tests.computed import differences, same

HASH = "ab" * 32


@pytest.mark.parametrize(
    ("computed", "stored"),
    [
        ("0.363796569", "0.36379657"),  # what another processor made of a shipped line
        ("27.235 mH", "27.234 mH"),
        ("0.10", "0.099"),
        ("\N{MINUS SIGN}4.51 µH", "\N{MINUS SIGN}4.50 µH"),
        ("1e-08", "1.0e-08"),
        (f"kept as {HASH}.csv", f"kept as {HASH[::-1]}.csv"),
        ("#m0123abcdef", "#m4567abcdef"),
    ],
)
def test_last_digits_may_differ(computed: str, stored: str) -> None:
    """By one unit of the number with more digits; hashes of content by all they are."""
    assert same(computed, stored)


@pytest.mark.parametrize(
    ("computed", "stored"),
    [
        ("27.236 mH", "27.234 mH"),
        ("0.11", "0.099"),
        ("0.6", "0.500000001"),
        ("27.234 mH", "27.234 µH"),
        ("\N{MINUS SIGN}4.50 µH", "4.50 µH"),
        ("1 2", "1 2 3"),
        ("1e-08", "1e-07"),
    ],
)
def test_anything_else_is_a_difference(computed: str, stored: str) -> None:
    """Two units of the last digit, a word, a sign, a number too few."""
    assert not same(computed, stored)


def test_more_is_allowed_where_it_is_stated() -> None:
    """A hundredth of a pixel, say."""
    assert list(differences("x=602.137813", "x=602.136719", "0.01")) == []
    assert list(differences("x=602.157813", "x=602.136719", "0.01"))


def test_what_is_packed_is_laid_open() -> None:
    """A picture inside a page is compared number by number, and the sentence says where it differs."""

    def page(x: str) -> str:
        return f'<img src="data:image/svg+xml;base64,{base64.b64encode(f"<path d=M{x}>".encode()).decode()}">'

    assert same(page("1.234567"), page("1.234568"))
    assert list(differences(page("1.234567"), page("1.234569"))) == [
        "after '<img src=\"<path d=M': '1.234567' is computed, '1.234569' is stored"
    ]
