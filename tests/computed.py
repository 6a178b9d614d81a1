"""Computed text held against stored text: the words alike, each number within one unit of its last digit.

Another processor or another version of a library ends a computation with other last bits, and now and then a
shown digit turns over with them. So no computed text is compared byte for byte with one that is stored. The
unit is that of the number with more digits: 0.36379657 is 0.363796569, and 0.10 is 0.099, but not 0.11.
"""

import base64
import binascii
import gzip
import re
from collections.abc import Iterator
from decimal import Decimal

NUMBER = re.compile(r"([-+\N{MINUS SIGN}]?[0-9]+(?:\.[0-9]+)?(?:[eE][-+]?[0-9]+)?)")
PACKED = re.compile(r"data:[\w/.+-]+(?:;charset=[\w-]+)?;base64,([A-Za-z0-9+/=]+)")
MADE_OF_CONTENT = re.compile(r"\b(?:[0-9a-f]{64}|(?<=\"check\":\")[0-9a-f]{16}|[a-z][0-9a-f]{10})\b")
"""Hashes of content: SHA-256, the check of a record's line, matplotlib's names for parts of an SVG."""
BESIDE = 40  # characters shown on either side of a difference


def same(computed: str, stored: str) -> bool:
    """Whether nothing differs but last digits."""
    return next(differences(computed, stored), None) is None


def differences(computed: str, stored: str, allowed: str = "0") -> Iterator[str]:
    """Where the two differ by more than a unit of a last digit and more than `allowed`, a sentence each."""
    ours, theirs = (NUMBER.split(_plain(text)) for text in (computed, stored))
    for place, (one, other) in enumerate(zip(ours, theirs, strict=False)):
        if not (_near(one, other, Decimal(allowed)) if place % 2 else one == other):
            near = "".join(theirs[max(0, place - 4) : place])[-BESIDE:]
            yield f"after {near!r}: {one[:BESIDE]!r} is computed, {other[:BESIDE]!r} is stored"
    if len(ours) != len(theirs):
        yield f"{len(ours) // 2} numbers are computed, {len(theirs) // 2} are stored"


def _near(one: str, other: str, allowed: Decimal) -> bool:
    a, b = (Decimal(text.replace("\N{MINUS SIGN}", "-")) for text in (one, other))
    return abs(a - b) <= max(allowed, Decimal(1).scaleb(min(int(x.as_tuple().exponent) for x in (a, b))))


def _plain(text: str) -> str:
    """The text with all that is packed in it laid open, and a word for each hash of content."""
    return MADE_OF_CONTENT.sub("HASH", PACKED.sub(_opened, text))


def _opened(found: re.Match[str]) -> str:
    try:
        data = base64.b64decode(found[1], validate=True)
        return (gzip.decompress(data) if data[:2] == b"\x1f\x8b" else data).decode("utf-8")
    except (binascii.Error, UnicodeDecodeError, OSError):  # no text: it is compared as it stands
        return found[0]
