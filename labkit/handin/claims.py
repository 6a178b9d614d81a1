"""What a bundle claims in numbers, and how it compares with what the record gives.

Values are to first order, so no draw and no seed is in them. Two computations of the same record agree if a
value differs by no more than a thousandth of its standard uncertainty (or a part in 10⁹ where none is
stated), an uncertainty by a thousandth of itself, E_n by a thousandth of (1 + |E_n|), and every word exactly.
What sweeps give, some of it by fits that end when steps become small, may also differ by a part in 10⁶.

Of a bench with sweeps the claims hold every single number of its characterisation but those that follow from
others (insertion losses) and those that are noise when all is well (excess of passivity and reciprocity).
"""

import math
from collections.abc import Iterator, Mapping
from typing import Any

from labkit.analysis.analysis import Analysis
from labkit.analysis.compare import TOGETHER, Comparison, Statement, coupled, uncoupled
from labkit.analysis.routes import SINGLES, Coupling
from labkit.errors import printable
from labkit.record.bench import Bench
from labkit.record.events import spoken
from labkit.uncertainty.propagate import Estimate, first_order
from labkit.words import handin as words

SCHEMA = 1
PARTS = ("coupling", "predictions", "verdicts", "choke")  # the last one only of a bench with sweeps
TOLERANCE = 1e-3  # of a standard uncertainty
EXACT = 1e-9  # of a value without one
FITTED = 1e-6  # of a value from sweeps
FOLLOWS = ("_insertion_loss_", "passivity_excess_", "reciprocity_error_")
DESCRIBING = ("unit", "standard_uncertainty", "frequency_Hz")
DEEPEST, MOST = 8, 20_000
DIGITS = 8  # of a number in a sentence

Claims = dict[str, Any]
Leaf = str | float | int | bool | None


def claims(analysis: Analysis) -> Claims:
    """M, k, the prediction of every connection, every verdict, what sweeps give: as plain JSON values."""
    choke = {"choke": dict(_choke(analysis.bench))} if analysis.bench.sweeps else {}
    return {
        "schema": SCHEMA,
        "coupling": _coupling(analysis.believed),
        "predictions": dict(_predictions(analysis)),
        "verdicts": {_key(c): _verdict(c) for c in analysis.comparisons},
        **choke,
    }


def _choke(bench: Bench) -> Iterator[tuple[str, Claims]]:
    from labkit.choke.characterisation import characterisation_of  # loads scipy

    for n in characterisation_of(bench).scalars:
        if not any(piece in n.name for piece in FOLLOWS):
            u = None if n.u is None else _finite(n.u)
            number = {"value": _finite(n.value), "unit": n.unit, "standard_uncertainty": u}
            yield n.name, number | {"frequency_Hz": n.frequency}


def _coupling(by: Coupling | None) -> Claims | None:
    if by is None:
        return None
    return {
        "route": by.route.name,
        "mutual_inductance": _number(by.mutual_inductance, "H", by.stated),
        "coupling_coefficient": _number(by.coefficient, "", by.stated),
    }


def _number(estimate: Estimate, unit: str, stated: bool) -> Claims:
    u = _finite(estimate.standard_uncertainty) if stated else None
    return {"value": _finite(estimate.value), "unit": unit, "standard_uncertainty": u}


def _finite(x: float) -> float | None:
    return float(x) if math.isfinite(x) else None


def _predictions(analysis: Analysis) -> Iterator[tuple[str, Claims]]:
    if analysis.bench.windings != 2 or analysis.shared.dots is None:
        return
    pool, by = analysis.shared.pool(), analysis.believed
    for connection in TOGETHER:
        if all(single in pool for single in SINGLES):
            rule = uncoupled(connection, (pool[SINGLES[0]], pool[SINGLES[1]]))
            yield f"{connection} uncoupled", _predicted(rule)
        if by:
            yield f"{connection} coupled", _predicted(coupled(connection, by))


def _predicted(statement: Statement) -> Claims:
    stated = all(o.no_uncertainty is None for o in statement.inputs)
    return _number(first_order(statement.value, [o.input for o in statement.inputs]), "H", stated)


def _key(c: Comparison) -> str:
    return f"{c.observation.id} {c.statement.rule}"


def _verdict(c: Comparison) -> Claims:
    E_n = {
        gain: _finite(d.E_n) if c.stated else None
        for gain, d in (("shared", c.shared), ("independent", c.independent))
    }
    return {"verdict": c.verdict.kind, "E_n": E_n}


def differences(claimed: Mapping[str, Any], computed: Claims, part: str) -> tuple[str, ...]:
    """One sentence for each place below `part` where the claims differ from what the record gives."""
    theirs, ours = (dict(_leaves(side.get(part, ...), part)) for side in (claimed, computed))
    if len(theirs) > MOST:
        return (words.TOO_MANY_CLAIMS.format(limit=MOST),)
    places = dict.fromkeys([*ours, *theirs])
    return tuple(
        words.DIFFERS.format(place=_spoken(place), **_both_told(theirs, ours, place))
        for place in places
        if not _agree(place, theirs.get(place, ...), ours) and not _told_by_value(place, theirs, ours)
    )


def _told_by_value(place: str, theirs: Mapping[str, Any], ours: Mapping[str, Any]) -> bool:
    """Whether a number is there on one side only, which the sentence about its value says."""
    parent, _, last = place.rpartition("\n")
    value = f"{parent}\nvalue"
    return last in DESCRIBING and (value in theirs) != (value in ours)


def _leaves(value: Any, place: str, depth: int = 0) -> Iterator[tuple[str, Any]]:
    if isinstance(value, Mapping) and value and depth < DEEPEST:
        for name, inner in value.items():
            yield from _leaves(inner, f"{place}\n{name}", depth + 1)
    elif value is not ...:
        yield place, value


def _agree(place: str, claimed: Any, ours: Mapping[str, Any]) -> bool:
    computed = ours.get(place, ...)
    if not _is_number(computed) or not _is_number(claimed):
        return bool(type(claimed) is type(computed) and claimed == computed)
    return bool(abs(claimed - computed) <= _allowed(place, computed, ours))


def _allowed(place: str, computed: float, ours: Mapping[str, Any]) -> float:
    *parents, last = place.split("\n")
    if last == "value":
        u = ours.get("\n".join([*parents, "standard_uncertainty"]))
        relative = FITTED if parents[0] == "choke" else 0.0 if u else EXACT
        return TOLERANCE * (u or 0.0) + relative * abs(computed)
    if last == "frequency_Hz":
        return EXACT * abs(computed)
    if "E_n" in parents:
        return TOLERANCE * (1 + abs(computed))
    return TOLERANCE * abs(computed)


def _is_number(x: object) -> bool:
    return isinstance(x, int | float) and not isinstance(x, bool) and abs(x) < 1e300


def _spoken(place: str) -> str:
    text = place.replace("\n", ", ").replace("_", " ")
    return printable(text[:160])


def _both_told(theirs: Mapping[str, Any], ours: Mapping[str, Any], place: str) -> dict[str, str]:
    """Both sides in words: numbers with the digits that a person compares, or all if they look the same."""
    short = [_told(leaves, place, DIGITS) for leaves in (theirs, ours)]
    if short[0] == short[1]:
        short = [_told(leaves, place) for leaves in (theirs, ours)]
    return dict(zip(("claimed", "computed"), short, strict=True))


def _told(leaves: Mapping[str, Any], place: str, digits: int | None = None) -> str:
    if place not in leaves:
        return words.NOTHING
    value = leaves[place]
    short = digits is not None and isinstance(value, float) and _is_number(value)
    return f"{value:.{digits}g}" if short else spoken(value)
