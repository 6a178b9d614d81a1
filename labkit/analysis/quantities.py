"""What a pair has that a fit can tell, and where in its coordinates (ln A, ln B, atanh c) it lies."""

from collections.abc import Callable

from labkit.errors import EntryError
from labkit.theory.number import Number, exp, tanh
from labkit.theory.pair import STABLE_FORMS, coupling_coefficient
from labkit.theory.wiring import Connection
from labkit.words import advise as words

C = Connection


def pair_at(ln_A: Number, ln_B: Number, atanh_c: Number) -> tuple[Number, Number, Number]:
    """(L1, L2, B) in H at the coordinates, for every kind of number."""
    A, B = exp(ln_A), exp(ln_B)
    m, d = (A + B) / 4, tanh(atanh_c) * exp((ln_A + ln_B) / 2)
    return m + d / 2, m - d / 2, B


def _coupling(L1: Number, L2: Number, B: Number) -> Number:
    return coupling_coefficient(L1, L2, (L1 + L2 - B) / 2)


QUANTITIES: dict[str, tuple[str, Callable[[Number, Number, Number], Number]]] = {
    "self_inductance_1": ("H", STABLE_FORMS[C.SELF_1]),
    "self_inductance_2": ("H", STABLE_FORMS[C.SELF_2]),
    "mutual_inductance": ("H", lambda L1, L2, B: (L1 + L2 - B) / 2),
    "coupling_coefficient": ("", _coupling),
    "gap": ("", lambda L1, L2, B: 1 - _coupling(L1, L2, B)),
    "series_aiding": ("H", STABLE_FORMS[C.SERIES_AIDING]),
    "leakage_differential_mode": ("H", STABLE_FORMS[C.SERIES_OPPOSING]),
    "parallel_aiding": ("H", STABLE_FORMS[C.PARALLEL_AIDING]),
    "parallel_opposing": ("H", STABLE_FORMS[C.PARALLEL_OPPOSING]),
    "short_circuit_1": ("H", STABLE_FORMS[C.SHORT_CIRCUIT_1]),
    "short_circuit_2": ("H", STABLE_FORMS[C.SHORT_CIRCUIT_2]),
}
"""What a fit can tell, with unit and formula from (L1, L2, B)."""


def require_known(name: str) -> None:
    """Refuse what is no quantity of a joint fit."""
    if name not in QUANTITIES:
        raise EntryError(words.NO_QUANTITY.format(given=name, accepted=", ".join(QUANTITIES)), name)
