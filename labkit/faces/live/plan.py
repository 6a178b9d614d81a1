"""What is planned to be read: each step has an id, a wiring and a label, and nothing else is known here."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from labkit.bench.events import spoken
from labkit.errors import EntryError
from labkit.theory.wiring import Terminal, Wiring
from labkit.words import form as words
from labkit.words.record import ACCEPTED

_PAIR = (
    ("line-forward", "1a 2b | 1b=2a", words.LINE_FORWARD),
    ("line-reversed", "1a 2a | 1b=2b", words.LINE_REVERSED),
    ("side-by-side", "1a 1b | 1a=2a 1b=2b", words.SIDE_BY_SIDE),
    ("side-by-side-reversed", "1a 1b | 1a=2b 1b=2a", words.SIDE_BY_SIDE_REVERSED),
)
_LONGEST_ID = 60  # leaves room for "own-", for the number of a repeat, and for what a correction puts before


@dataclass(frozen=True)
class Step:
    """One planned wiring; readings of it are stored under `id`, repeats under `id.2`, `id.3`, ..."""

    id: str
    wiring: Wiring
    label: str

    @property
    def joint(self) -> bool:
        """Whether several windings take part, so that there is something to predict."""
        touched = {*self.wiring.clips, *(terminal for tie in self.wiring.ties for terminal in tie)}
        return len({terminal.winding for terminal in touched}) > 1

    @property
    def prediction_id(self) -> str:
        """Under which a person's own prediction is stored."""
        return f"own-{self.id}"

    def numbered(self, number: int) -> str:
        """Id of the reading with this number, counted from 1."""
        return self.id if number == 1 else f"{self.id}.{number}"

    def owns(self, id: str) -> bool:
        """Whether a reading with this id was entered for this step.

        >>> step = Step("single", Wiring.parse("1a 1b"), "alone")
        >>> step.owns("single"), step.owns("single.2"), step.owns("single-b")
        (True, True, False)
        """
        head, _, number = id.rpartition(".")
        return id == self.id or (head == self.id and number.isdecimal())


def default_plan(windings: int) -> tuple[Step, ...]:
    """Each winding alone; for two windings also in line and side by side, both ways."""
    singles = tuple(
        Step(f"winding-{n}", Wiring((Terminal(n, "a"), Terminal(n, "b"))), words.SINGLE.format(number=n))
        for n in range(1, windings + 1)
    )
    return (*singles, *plan_of(_PAIR)) if windings == 2 else singles


def plan_of(steps: Iterable[Any]) -> tuple[Step, ...]:
    """A plan from rows of (id, wiring, label), the label optional.

    Raises
    ------
    EntryError, WiringError
        if a row is none, an id cannot be one or comes twice, or a wiring cannot be read.
    """
    plan = tuple(map(_step, steps))
    ids = [step.id for step in plan]
    for id in ids:
        if ids.count(id) > 1:
            raise EntryError(words.PLAN_TWICE.format(given=id), id)
    return plan


def _step(row: Any) -> Step:
    if isinstance(row, Step):
        return row
    match row:
        case [str(id), str(wiring), *label] if len(label) < 2 and all(isinstance(x, str) for x in label):
            _check_id(id)
            built = Wiring.parse(wiring)
            return Step(id, built, label[0] if label else built.spoken)
    raise EntryError(words.PLAN_STEP.format(given=spoken(row)), str(row))


def _check_id(id: str) -> None:
    first, allowed = id[:1], id.replace(".", "").replace("_", "").replace("-", "")
    if not (first.isalnum() and allowed.isalnum() and id.isascii() and len(id) <= _LONGEST_ID):
        accepted = ACCEPTED["id"].replace("100", str(_LONGEST_ID))
        raise EntryError(words.PLAN_ID.format(given=id, accepted=accepted), id)
