"""What some readings leave open, and which further reading would settle it.

A reading fixes one combination of the pair's three coordinates. A quantity is identified if its own slope is
a combination of the readings' slopes. Slopes are taken at a pair in no special relation, so that what is said
holds for pairs in general; readings side by side know c² alone, so that which winding is the larger one stays
open without a reading that tells.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labkit.analysis.quantities import QUANTITIES, pair_at
from labkit.theory.number import Number
from labkit.theory.pair import STABLE_FORMS, Pair
from labkit.theory.wiring import Connection
from labkit.words import fit as words
from labkit.words import labels

Array = NDArray[np.float64]
Form = Callable[[Number, Number, Number], Number]

BASIC = ("self_inductance_1", "self_inductance_2", "mutual_inductance", "coupling_coefficient")
"""What a sentence names; the rest follows from them. If they are all identified, so is the pair."""

GENERIC = np.array(Pair(13.0, 7.0, 10.0).coordinates)
USUAL = (
    Connection.SELF_1,
    Connection.SELF_2,
    Connection.SERIES_OPPOSING,
    Connection.SERIES_AIDING,
    Connection.SHORT_CIRCUIT_1,
    Connection.SHORT_CIRCUIT_2,
    Connection.PARALLEL_OPPOSING,
    Connection.PARALLEL_AIDING,
)
"""What may be read, in the order in which it is advised."""


@dataclass(frozen=True)
class Unidentified:
    """What readings leave open.

    Attributes
    ----------
    quantities : names out of `QUANTITIES`, each with what would settle it if read once more; nothing there
        if no single reading does
    either : further readings any one of which would settle the pair
    all_of : readings that together settle the pair, where one is not enough
    """

    quantities: dict[str, tuple[Connection, ...]]
    either: tuple[Connection, ...]
    all_of: tuple[Connection, ...]

    @property
    def sentence(self) -> str:
        """What is open and what to read; empty if nothing is."""
        if not self.quantities:
            return ""
        basic = ", ".join(labels.QUANTITY[name] for name in BASIC if name in self.quantities)
        either, all_of = (
            ", ".join(labels.CONNECTION[c] for c in some) for some in (self.either, self.all_of)
        )
        sentence = words.ONE_MORE if self.either else words.MORE
        return sentence.format(open=f"{basic} {words.FOLLOWS}", either=either, all_of=all_of)


def unidentified(read: Sequence[Connection]) -> Unidentified:
    """What readings of these connections leave open, and what would settle it.

    Examples
    --------
    >>> left = unidentified([Connection.SERIES_AIDING, Connection.SERIES_OPPOSING])
    >>> "mutual_inductance" in left.quantities, "coupling_coefficient" in left.quantities
    (False, True)
    """
    J = _slopes(read)
    quantities = {
        name: tuple(c for c in USUAL if c not in read and _spans(_slopes([*read, c]), form))
        for name, (_, form) in QUANTITIES.items()
        if not _spans(J, form)
    }
    needed: list[Connection] = []
    for c in USUAL:
        if _rank(_slopes([*read, *needed, c])) > _rank(_slopes([*read, *needed])):
            needed.append(c)
    single = len(needed) == 1
    either = tuple(c for c in USUAL if single and _rank(_slopes([*read, c])) == GENERIC.size)
    return Unidentified(quantities, either, () if single else tuple(needed))


def _slopes(read: Sequence[Connection]) -> Array:
    return np.array([_slope(STABLE_FORMS[c]) for c in read]).reshape(len(read), GENERIC.size)


def _slope(form: Form) -> Array:
    """d ln form / dt by complex step, to unit length."""
    step = 1e-30
    here = form(*pair_at(*GENERIC))
    along = [form(*pair_at(*(GENERIC + 1j * step * axis))).imag / step / here for axis in np.eye(3)]
    return np.asarray(np.array(along) / np.linalg.norm(along), dtype=np.float64)


def _spans(J: Array, form: Form) -> bool:
    return _rank(np.vstack([J, _slope(form)])) == _rank(J)


def _rank(J: Array) -> int:
    return int(np.linalg.matrix_rank(J, tol=1e-9)) if J.size else 0
