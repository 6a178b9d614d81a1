"""A file's bytes as numbered lines of text, or one sentence about what the file is instead.

Taken are UTF-8 with or without a byte-order mark, UTF-16 with one, and what is neither as Windows-1252, whose
°, µ and ² are those of ISO 8859-1. Digits, marks and separators are the same in all of them.
"""

import re
from pathlib import PurePath
from typing import NamedTuple

from labkit.errors import SweepError
from labkit.show import one_line
from labkit.words import sweeps as words

MOST_BYTES = 32 * 1024 * 1024  # a four-port file of 100 000 points has about 30 MB
MOST_CHARACTERS = 10_000  # of one line

_MAGIC = {
    b"PK\x03\x04": words.ARCHIVE,
    b"\x1f\x8b": words.ARCHIVE,
    b"%PDF": words.PDF,
    b"\x89PNG": words.PICTURE,
    b"\xff\xd8\xff": words.PICTURE,
    b"\xd0\xcf\x11\xe0": words.OFFICE,
}
_MARKUP = re.compile(r"\s*<(!doctype|html|\?xml|svg|head|body)\b", re.IGNORECASE)
_CONTROLS = bytes([*range(0x09), *range(0x0E, 0x20), 0x7F])  # a text has none; one byte each in all codings
_MARKS = {b"\xef\xbb\xbf": "utf-8-sig", b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}


class Line(NamedTuple):
    """One line of a file, without its line end."""

    number: int
    text: str


def lines_of(data: bytes, name: str) -> list[Line]:
    """The lines of a text file that hold something, numbered from 1 as an editor numbers them.

    Parameters
    ----------
    data : the file's bytes
    name : the file's name, for sentences

    Raises
    ------
    SweepError
        if the file is empty, too large, or no text.
    """
    shown = shown_name(name)
    if len(data) > MOST_BYTES:
        raise SweepError(words.TOO_LARGE.format(name=shown, limit=MOST_BYTES // 1024**2))
    text = _text(data, shown)
    if _MARKUP.match(text):
        raise SweepError(words.NOT_DATA.format(name=shown, what=words.MARKUP))
    rows = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    longest = max(rows, key=len)
    if len(longest) > MOST_CHARACTERS:
        line = rows.index(longest) + 1
        raise SweepError(words.LONG_LINE.format(name=shown, line=line), line=line)
    while rows and not rows[-1].strip():
        rows.pop()
    found = list(map(Line._make, enumerate(rows, 1)))
    if not all(map(str.strip, rows)):
        found = [line for line in found if line.text.strip()]
    if not found:
        raise SweepError(words.EMPTY.format(name=shown))
    return found


def _text(data: bytes, name: str) -> str:
    for magic, what in _MAGIC.items():
        if data.startswith(magic):
            raise SweepError(words.NOT_DATA.format(name=name, what=what))
    encoding = next((encoding for mark, encoding in _MARKS.items() if data.startswith(mark)), None)
    for codec in (encoding,) if encoding else ("utf-8", "cp1252"):
        try:
            text = data.decode(codec)
        except UnicodeDecodeError:
            continue
        bare = data if codec != "utf-16" else text.encode()
        if len(bare.translate(None, _CONTROLS)) == len(bare):
            return text
    raise SweepError(words.NOT_DATA.format(name=name, what=words.BINARY))


def shown_name(name: str) -> str:
    """A file's name inside a sentence: the last part, short, nothing in it that a terminal would obey."""
    last = PurePath(name.replace("\\", "/")).name or name
    plain = re.sub(r"\s", " ", one_line(last))
    return plain if len(plain) <= 60 else plain[:59] + "…"


def excerpt(text: str) -> str:
    """A piece of a file inside a sentence, likewise."""
    plain = re.sub(r"\s", " ", one_line(text)).strip()
    return plain if len(plain) <= 40 else plain[:39] + "…"
