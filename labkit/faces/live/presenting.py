"""The presenting view in JupyterLab."""

from collections.abc import Iterable
from typing import Any

from labkit.bench.bench import Bench
from labkit.faces.live.live import Live, in_place
from labkit.faces.live.present import Presentation
from labkit.theory.wiring import Wiring


class Presenting(Live):
    """The presenting view as a widget; where no widget can be shown it is one sentence."""

    model: Presentation

    def __init__(self, model: Presentation) -> None:
        super().__init__(model, "present.js", "present.css")

    def __repr__(self) -> str:
        return self.model.sentence


def present(
    bench: Bench,
    fallback: Bench | None = None,
    plan: Iterable[Any] | None = None,
    derive: str | Wiring = "1a 2a | 1b=2b",
) -> Presenting:
    """The bench in front of a class: pages by keyboard, predictions and readings covered until asked for.

    Readings that are entered in another cell or tab appear by themselves. Nothing that is done here goes into
    the record. The same cell run again closes the view that it made before.

    Parameters
    ----------
    bench : what is presented; a record that is open read-only is marked as stored on every page
    fallback : a stored record for the case that measuring fails, such as `demo_bench()`; one key
        changes to it, and every page then says that it was not measured now
    plan : rows of (id, wiring, label) as for `form`; the usual connections if None
    derive : the wiring whose derivation is shown

    Raises
    ------
    EntryError, WiringError
        if plan or wiring cannot be read, or the fallback is no bench.
    """
    return in_place(Presenting(Presentation(bench, fallback, plan, derive)), str(bench.record.folder))
