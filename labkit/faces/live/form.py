"""The entry form in JupyterLab."""

from collections.abc import Iterable
from typing import Any
from weakref import WeakValueDictionary

from labkit.bench.bench import Bench
from labkit.faces.live.entry import EntryForm
from labkit.faces.live.live import Live
from labkit.words import form as words


class Form(Live):
    """The entry form as a widget; where no widget can be shown it is one sentence."""

    def __init__(self, model: EntryForm) -> None:
        super().__init__(model, "entry.js", "entry.css", on=("entry_fields.js", "entry_row.js"))

    def __repr__(self) -> str:
        return words.WITHOUT


_open: WeakValueDictionary[tuple[str, str], Form] = WeakValueDictionary()


def form(bench: Bench, plan: Iterable[Any] | None = None) -> Form:
    """The entry form of a bench: own predictions first, then what the display shows, row by row.

    It is a view of the record: build it again and it shows the same. The same cell run again closes the form
    that it made before.

    Parameters
    ----------
    bench : Bench
    plan : rows of (id, wiring, label), the label optional; if None, each winding alone, and two also in line
        and side by side, both ways

    Raises
    ------
    EntryError, WiringError
        if the plan cannot be read.
    """
    made = Form(EntryForm(bench, plan))
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
