"""What can go wrong, as a small tree: each error is also the built-in a caller would already catch.

Messages come from `labkit.words` and say in one sentence what was given, what is accepted
and what to do next. The facts behind the sentence travel with the error as attributes. What was given may
be hostile, so here is also the one function through which everything goes that is printed.
"""

import unicodedata


def printable(text: str) -> str:
    r"""The text without anything that a terminal would obey, such as colours, turned lines or a bell.

    Each such character becomes a visible mark. Lines stay, and so do spaces of every width.

    >>> printable("\x1b[31m 5\N{NO-BREAK SPACE}mH \u202e")
    '�[31m 5\xa0mH �'
    """
    if text.isprintable():
        return text
    return "".join(c if c == "\n" or c.isprintable() or _is_space(c) else _MARK for c in text)


_MARK = "\N{REPLACEMENT CHARACTER}"


def _is_space(character: str) -> bool:
    return unicodedata.category(character) == "Zs"


class LabkitError(Exception):
    """Root of every error that labkit raises on purpose; its sentence can be printed."""

    def __str__(self) -> str:
        return printable(super().__str__())


class EntryError(LabkitError, ValueError):
    """Something typed or passed in cannot be taken as it stands; `given` holds it unchanged."""

    def __init__(self, message: str, given: str = "") -> None:
        super().__init__(message)
        self.given = given


class AmbiguousEntry(EntryError):
    """The entry has more than one honest meaning; `candidates` lists them, and the person decides."""

    def __init__(self, message: str, given: str = "", candidates: tuple[str, ...] = ()) -> None:
        super().__init__(message, given)
        self.candidates = candidates


class WiringError(EntryError):
    """A wiring that cannot be built or read."""


class ShapeError(LabkitError, ValueError):
    """Arrays or matrices whose shapes do not belong together."""


class PassivityError(LabkitError, ValueError):
    """Inductances that no passive pair of windings can have; `bound` holds the violated limit in H."""

    def __init__(self, message: str, bound: tuple[float, float] | None = None) -> None:
        super().__init__(message)
        self.bound = bound


class CardError(LabkitError, ValueError):
    """A meter card that cannot be read or does not cover the reading."""


class CardMissing(CardError, FileNotFoundError):
    """A meter card's file that is not there or cannot be read."""


class MissingReading(LabkitError, LookupError):
    """The question needs a reading that the record does not hold; the message names it."""


class RecordError(LabkitError, ValueError):
    """A record file, or an event for it, that cannot be taken."""


class RecordMissing(RecordError, FileNotFoundError):
    """There is no record where one was asked for."""


class RecordConflict(RecordError):
    """An id that is already in the record with other content; the message names the correcting verb."""


class RecordTooNew(RecordError):
    """A record written by a newer labkit than this one."""


class RecordBusy(RecordError, TimeoutError):
    """Another process held the record's lock for too long; nothing was written."""


class SweepError(LabkitError, ValueError):
    """Swept data that cannot be taken; `line` of the file (from 1) or `frequency` in Hz where it is known."""

    def __init__(self, message: str, *, line: int | None = None, frequency: float | None = None) -> None:
        super().__init__(message)
        self.line = line
        self.frequency = frequency
