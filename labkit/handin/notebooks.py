"""What a stored notebook or report says, as text: parsed, never run, and nothing of it shown as markup."""

import re
from collections.abc import Iterable, Iterator, Mapping
from html.parser import HTMLParser
from itertools import zip_longest
from typing import Any

from labkit.bench.events import spoken
from labkit.handin.bundle import BundleError, strict_json
from labkit.words import handin as words

_ABSOLUTE = re.compile(
    r"""["'](?:/(?:home|Users|root|tmp|mnt|media|work|var|opt)/|[A-Za-z]:[\\/]|\\\\)[^"'\n]{0,200}"""
)


def cells(data: bytes, name: str) -> list[dict[str, Any]]:
    """The code cells of a notebook; BundleError with one sentence if it is none."""
    found = strict_json(data, name).get("cells")
    if not isinstance(found, list):
        raise BundleError(words.NO_CELLS.format(name=ascii(name)))
    return [cell for cell in found if isinstance(cell, dict) and cell.get("cell_type") == "code"]


def absolute_paths(data: bytes, name: str) -> tuple[str, ...]:
    """Quoted absolute paths in the code of a notebook; another computer does not have them."""
    sources = (_joined(cell.get("source")) for cell in cells(data, name))
    return tuple(dict.fromkeys(match[0][1:] for text in sources for match in _ABSOLUTE.finditer(text)))


def output_text(data: bytes, name: str) -> str:
    """All plain text that the stored outputs hold; HTML, scripts, images and widget state are not read."""
    return "\n".join(text for cell in cells(data, name) for text in _texts(cell.get("outputs")))


def _texts(outputs: object) -> Iterator[str]:
    for output in outputs if isinstance(outputs, list) else ():
        if isinstance(output, Mapping):
            data = output.get("data")
            yield _joined(output.get("text"))
            yield _joined(data.get("text/plain") if isinstance(data, Mapping) else None)


def _joined(text: object) -> str:
    if isinstance(text, list):
        return "".join(line for line in text if isinstance(line, str))
    return text if isinstance(text, str) else ""


def not_in(text: str, sentences: Iterable[str]) -> list[str]:
    """The sentences that do not stand in the text, wherever its lines are broken."""
    packed = "".join(text.split())
    return [sentence for sentence in sentences if "".join(sentence.split()) not in packed]


class _Words(HTMLParser):
    """The words of a page outside its styles, drawings and what is said about versions."""

    UNREAD = ("style", "script", "svg", "title")
    APART = ("picture", "provenance")

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._inside: list[str] = []  # elements that are not read, each within the one before

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        apart = tag == "section" and dict(attrs).get("id") in self.APART
        if apart or tag in self.UNREAD or (self._inside and tag == self._inside[-1]):
            self._inside.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self._inside and tag == self._inside[-1]:
            self._inside.pop()

    def handle_data(self, data: str) -> None:
        if not self._inside:
            self.found += data.split()


def page_words(html: str) -> list[str]:
    """The words and numbers of a report in their order; its picture and its provenance are left out."""
    reader = _Words()
    reader.feed(html)
    reader.close()
    return reader.found


def difference(theirs: list[str], ours: list[str]) -> str:
    """A sentence with the first words that differ, empty if none do; a number's last digit may."""
    for place, (one, other) in enumerate(zip_longest(theirs, ours, fillvalue="")):
        if one != other and not _same_number(one, other):
            both = [" ".join(found[max(place - 3, 0) : place + 4])[:120] for found in (theirs, ours)]
            facts = dict(zip(("theirs", "ours"), map(spoken, both), strict=True))
            return words.REPORT_DIFFERS.format(**facts)
    return ""


_DIGITS = re.compile(r"[0-9]+(?:[.][0-9]+)?")


def _same_number(one: str, other: str) -> bool:
    """Whether two words are the same but for the last digit of the numbers in them."""
    if _DIGITS.split(one) != _DIGITS.split(other):
        return False
    pairs = zip(_DIGITS.findall(one), _DIGITS.findall(other), strict=True)
    return all(a == b or abs(float(a) - float(b)) <= 1.01 * max(map(_step, (a, b))) for a, b in pairs)


def _step(number: str) -> float:
    """What the last digit of a number is worth; nothing of a whole one, which is a count or a name."""
    decimals = number.partition(".")[2]
    return 10.0 ** -len(decimals) if decimals else 0.0
