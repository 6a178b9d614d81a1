"""Reference parts: what a certificate or a marking states of one winding, as a source of error.

A certificate gives an expanded uncertainty and its coverage factor: normal, u = U/k (JCGM 100:2008, 4.3.3).
A marking gives a tolerance: nothing but limits, so rectangular, u = a/√3 (4.3.7). Neither is ever assumed.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from labkit import quantity
from labkit.errors import EntryError
from labkit.quantity import Quantity
from labkit.record.events import Event
from labkit.record.events import Reference as ReferenceEvent
from labkit.record.state import given
from labkit.uncertainty.components import Component, Input
from labkit.words import record as words


@dataclass(frozen=True)
class Reference:
    """What is stated of a reference part, as it stands.

    Attributes
    ----------
    id, line : of the event
    winding : which winding of the record's part it is
    stated : its value; `input` is the same in H with its source of error
    spread : the stated uncertainty or tolerance in words; None if none is stated, and `input` then has none
    frequency, source : as stated, None if not
    """

    id: str
    line: int
    winding: int
    stated: Quantity
    input: Input
    spread: str | None = None
    frequency: Quantity | None = None
    source: str | None = None


def references(events: Iterable[Event]) -> tuple[Reference, ...]:
    """The references that stand: the latest statement about each winding at each frequency."""
    latest: dict[tuple[int, str | None], Reference] = {}
    for event in events:
        if isinstance(event, ReferenceEvent):
            latest[event.subject] = _reference(event)
    return tuple(latest.values())


def reference_fields(
    winding: int,
    shown: str,
    windings: int,
    *,
    uncertainty: str | None = None,
    coverage_factor: str | float | None = None,
    tolerance: str | None = None,
    frequency: str | None = None,
    source: str | None = None,
) -> dict[str, Any]:
    """Fields of a reference as they are stored; EntryError for one that cannot be taken."""
    if not (isinstance(winding, int) and 1 <= winding <= windings):
        raise EntryError(
            f"Winding {winding} was given, but the part of this bench has {windings}; count "
            "each reference part as one winding and give its number, or describe the part "
            "anew.",
            str(winding),
        )
    stated = quantity.parse(shown)
    if (uncertainty is None) != (coverage_factor is None):
        raise EntryError(
            f"The uncertainty was given as {uncertainty} and the coverage factor as "
            f"{coverage_factor}; a certificate states both (U and k), so give both, or "
            "neither."
        )
    if uncertainty is not None and tolerance is not None:
        raise EntryError(
            f"Both an uncertainty ({uncertainty}) and a tolerance ({tolerance}) were given; "
            "give the certificate's uncertainty if there is a certificate, else the "
            "tolerance that is marked on the part."
        )
    for text in (uncertainty, tolerance):
        if text is not None:
            _half_width(text, stated)
    if coverage_factor is not None:
        coverage_factor = _factor(coverage_factor)
    if frequency is not None:
        quantity.parse(frequency, "frequency")
    optional = given(uncertainty=uncertainty, coverage_factor=coverage_factor, tolerance=tolerance)
    where = given(frequency=frequency, source=source)
    return {"winding": winding, "quantity": "inductance", "shown": shown} | optional | where


def _reference(event: ReferenceEvent) -> Reference:
    stated = quantity.parse(event.shown, event.quantity)
    terms: tuple[tuple[Component, float], ...] = ()
    spread = None
    name = words.REFERENCE_NAME.format(winding=event.winding)
    if event.uncertainty is not None and event.coverage_factor is not None:
        u = _half_width(event.uncertainty, stated) / float(_factor(event.coverage_factor))
        terms = ((Component(name, "normal", label=words.REFERENCE_LABEL), u),)
        spread = words.CERTIFIED.format(U=event.uncertainty, k=event.coverage_factor)
    elif event.tolerance is not None:
        a = _half_width(event.tolerance, stated)
        terms = ((Component(name, "rectangular", label=words.REFERENCE_LABEL), a),)
        spread = words.MARKED.format(tolerance=event.tolerance)
    return Reference(
        id=event.id,
        line=event.seq,
        winding=event.winding,
        stated=stated,
        input=Input(name, stated.value, terms),
        spread=spread,
        frequency=quantity.parse(event.frequency, "frequency") if event.frequency else None,
        source=event.source,
    )


def _half_width(text: str, stated: Quantity) -> float:
    """An uncertainty or tolerance in H, from "0.008 mH" or from "0.05 %" of the stated value."""
    if text.rstrip().endswith("%"):
        width = quantity.parse(text, "percentage").value / 100 * abs(stated.value)
    else:
        width = quantity.parse(text, stated.kind).value
    if not width > 0:
        raise EntryError(
            f"'{text}' cannot be an uncertainty or a tolerance, which is above zero; leave "
            "it out if none is stated.",
            text,
        )
    return width


def _factor(text: str | float | None) -> str:
    """A coverage factor as text; EntryError unless it is a number above zero."""
    shown = f"{text:g}" if isinstance(text, int | float) else str(text)
    if not quantity.parse(shown, "number").value > 0:
        raise EntryError(
            f"'{shown}' cannot be a coverage factor, which is above zero, usually 2; copy it "
            "from the certificate.",
            shown,
        )
    return shown
