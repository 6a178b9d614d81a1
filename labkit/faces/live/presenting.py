"""The presenting view in JupyterLab."""

from collections.abc import Iterable
from typing import Any
from weakref import WeakValueDictionary

from labkit.bench.bench import Bench
from labkit.faces.live.live import Live
from labkit.faces.live.present import Presentation
from labkit.theory.wiring import Wiring


class Presenting(Live):
    """The presenting view as a widget; where no widget can be shown it is one sentence."""

    model: Presentation

    def __init__(self, model: Presentation) -> None:
        super().__init__(model, "present.js", "present.css")

    def __repr__(self) -> str:
        return self.model.sentence


_open: WeakValueDictionary[tuple[str, str], Presenting] = WeakValueDictionary()


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
    made = Presenting(Presentation(bench, fallback, plan, derive))
    place = str(bench.record.folder), _cell()
    if place in _open:
        _open[place].close()
    _open[place] = made
    return made


def _cell() -> str:
    """The notebook's name for the cell that runs, empty if it gives none."""
    from IPython.core.getipython import get_ipython

    request: dict[str, Any] = getattr(get_ipython(), "get_parent", dict)()
    return str(request.get("metadata", {}).get("cellId", ""))
