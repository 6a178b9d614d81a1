"""From the accuracy page of a manual to a meter card: written down, read back, then stored.

`write_card` makes a draft; the draft says what it allows for a typical value, in words and numbers, and is
stored only once a person has confirmed that the manual says the same. What the manual does not state stays
out. A file that is there is never overwritten.
"""

import os
import secrets
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import tomli_w

from labkit.bench.allowance import Allowed, allowed
from labkit.bench.answer import Answer
from labkit.bench.card import Card, Range, parse_card
from labkit.bench.card_fields import (
    checked_date,
    checked_id,
    checked_leads,
    checked_low_q,
    checked_ranges,
    checked_text,
)
from labkit.bench.card_lines import plain
from labkit.errors import CardError
from labkit.show import Heading, Part, Shown, Table, Text
from labkit.words import card_form as words


class CardDraft(Shown):
    """A card that is not stored yet; `write_card` makes it.

    Attributes
    ----------
    card : Card
    text : its TOML, which `parse_card` reads back to an equal card
    read_back : the values that were read back so far, in words
    """

    def __init__(self, card: Card) -> None:
        self.card = card
        self.text = card_toml(card)
        self.read_back: list[str] = []

    def allows(self, shown: str, frequency: str | None = None) -> Allowed:
        """What the card allows at a typical value, such as "10.00 mH" at "1 kHz": compare it with the manual.

        Raises
        ------
        EntryError, CardError
            if the value cannot be read or no range covers it.
        """
        found = allowed(self.card, shown, frequency)
        self.read_back.append(found.sentences[0])
        return found

    def store(self, where: str | Path = ".", *, confirmed: bool = False) -> Answer:
        """Store the card as a file, once it was read back and confirmed.

        Parameters
        ----------
        where : a folder, where the file is called after the card's id, or the path of a `.toml` file
        confirmed : say True when what was read back is what the manual allows

        Raises
        ------
        CardError
            if it was not read back or not confirmed, or if the file is there with other content; nothing is
            written.
        """
        if not self.read_back:
            raise CardError(words.READ_BACK_FIRST.format(id=self.card.id))
        if not confirmed:
            raise CardError(words.CONFIRM_FIRST.format(said=self.read_back[-1]))
        path = Path(where)
        path = path if path.suffix == ".toml" else path / f"{self.card.id}.toml"
        return Answer((words.STORED if store_text(path, self.text) else words.THERE).format(path=path))

    def parts(self) -> tuple[Part, ...]:
        rows = tuple(_row(on) for on in self.card.ranges)
        left_out = [words.FIELDS[name] for name in words.OPTIONAL if getattr(self.card, name) is None]
        heading = words.INVENTED if self.card.invented else words.TITLE
        parts: list[Part] = [
            Heading(heading.format(title=self.card.title)),
            Table(words.HEADER, rows, words.CAPTION.format(source=self.card.source)),
        ]
        if left_out:
            parts.append(Text(words.LEFT_OUT.format(fields=", ".join(left_out)), "note"))
        return (*parts, Text(words.NOT_STORED, "caution"))


def write_card(
    id: str,
    *,
    title: str,
    source: str,
    ranges: str,
    invented: bool = False,
    calibrated: str | date | None = None,
    calibration_due: str | date | None = None,
    low_q: float | str | None = None,
    leads: tuple[str, str] | None = None,
) -> CardDraft:
    """Draft of a meter card from what its manual states; read it back with `allows`, then `store` it.

    Parameters
    ----------
    id : name of the card: small letters, digits, hyphens
    title : the meter, as you call it
    source : where the figures stand, such as "manual, page 12"
    ranges : the accuracy table, one range a line; the notation stands in `labkit.bench.card_lines`
    invented : True only for a card that no instrument stands behind
    calibrated, calibration_due : as on the sticker, "2031-01-15"; None if there is none
    low_q : dissipation factor above which the limits grow by sqrt(1 + D²); None if there is no such rule
    leads : inductance that the leads add after zeroing, and how far off it may be; None if unknown

    Raises
    ------
    CardError
        with one sentence for the first thing that is missing or cannot be taken.

    Examples
    --------
    >>> draft = write_card("fine", title="Fine (invented)", source="invented", invented=True,
    ...                    ranges="20 mH  19.999 mH  0.3 %  5 digits  1 kHz")
    >>> print(draft.allows("10.00 mH", "1 kHz").sentences[0])
    10.00 mH at 1 kHz, range 20 mH: the card allows ±(0.3 % of 10.00 mH + 5 × 0.001 mH) = ±0.035 mH, a
    standard uncertainty of 0.018 mH.
    """
    fields: dict[str, Any] = {
        "schema": 1,
        "id": checked_id(id),
        "title": checked_text(title, "title"),
        "invented": invented,
        "source": checked_text(source, "source"),
        "calibrated": checked_date(calibrated, "calibrated"),
        "calibration_due": checked_date(calibration_due, "calibration_due"),
        "lead_residual": checked_leads(leads),
        "low_q": checked_low_q(low_q),
        "ranges": [line.model_dump() for line in checked_ranges(ranges)],
    }
    return CardDraft(parse_card(_toml(fields), id))


def card_toml(card: Card) -> str:
    """The TOML text of a card; `parse_card` reads it back to an equal card."""
    return _toml(card.model_dump(by_alias=True))


def store_text(path: Path, text: str) -> bool:
    """Write a card's file whole or not at all; whether it was written, False if it is there already as such.

    Raises
    ------
    CardError
        if the file is there with other content, or cannot be written.
    """
    try:
        if path.exists() and path.read_bytes() == text.encode():
            return False
        _write_new(path, text.encode())
    except FileExistsError:
        raise CardError(words.EXISTS.format(path=path)) from None
    except OSError as error:
        raise CardError(words.CANNOT_WRITE.format(path=path, reason=error.strerror)) from None
    return True


def _write_new(path: Path, content: bytes) -> None:
    """A whole file under a new name; FileExistsError if the name is taken.

    The finished file gets its name as a second one, which fails if the name is taken; a rename would not.
    """
    unnamed = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        _write(unnamed, content)
        try:
            path.hardlink_to(unnamed)
        except FileExistsError:
            raise
        except OSError:  # a file system that knows no second names
            _write(path, content)
    finally:
        unnamed.unlink(missing_ok=True)


def _write(path: Path, content: bytes) -> None:
    with path.open("xb") as file:
        file.write(content)
        os.fsync(file.fileno())


def _toml(fields: Mapping[str, Any]) -> str:
    """TOML of a card's fields, those that are None left out, whole numbers without a needless point."""
    return tomli_w.dumps({name: _tidy(value) for name, value in fields.items() if value is not None})


def _tidy(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _tidy(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_tidy(inner) for inner in value]
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _row(on: Range) -> tuple[str, ...]:
    accuracy = words.ACCURACY.format(percent=plain(on.percent), digits=plain(on.digits))
    return on.quantity, on.name, on.up_to, on.digit, accuracy, ", ".join(on.frequencies)
