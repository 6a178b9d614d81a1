"""What a stored notebook says, as text: parsed, never run, and nothing of it shown as markup."""

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

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
