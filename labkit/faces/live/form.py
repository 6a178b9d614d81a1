"""The entry form in JupyterLab."""

import asyncio
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from html import escape
from typing import Any

import traitlets

from labkit.bench.bench import Bench
from labkit.faces.live.entry import EntryForm
from labkit.faces.live.live import Live, State, in_place, number_of
from labkit.words import form as words


class Form(Live):
    """The entry form as a widget; where no widget can be shown it is one sentence."""

    pictures = traitlets.Dict().tag(sync=True)
    model: EntryForm

    def __init__(self, model: EntryForm) -> None:
        super().__init__(
            model, "entry.js", "entry.css", on=("entry_fields.js", "entry_row.js"), inner=("card",)
        )
        self.pictures = model.pictures()

    def answer(self, message: object) -> None:
        """Deal with a message and acknowledge it.

        The new state goes along with the acknowledgement: a second small message behind the first is often
        held back for 40 ms on its way. What takes long is acknowledged at once, worked out beside the entries
        that come meanwhile, and told when it is there.
        """
        if isinstance(message, dict) and message.get("kind") == "doubt":
            self.send({"answer": number_of(message)})
            self._beside(message)
            return
        reply = {"answer": number_of(message)} | self.done(message)
        state = self.model.state()
        self.send(reply if state is self.state else reply | {"now": state})
        self.state = state
        self.pictures = self.model.pictures()

    def _beside(self, message: State) -> None:
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:  # nothing else can come meanwhile
            self.send(self._doubt(message))
            return
        working = loop.run_in_executor(_BESIDE, self._doubt, message)
        working.add_done_callback(lambda done: self.send(done.result()))

    def _doubt(self, message: State) -> State:
        """A record that cannot be read now raises no doubt; other messages say so."""
        return {"about": message.get("id"), "doubt": self.done(message).get("doubt", "")}

    def __repr__(self) -> str:
        return words.WITHOUT

    def _ipython_display_(self) -> None:
        """Show the form behind a sentence that only a form without a kernel leaves in view."""
        from IPython.display import display

        data, metadata = self._repr_mimebundle_() or ({}, {})
        display({"text/html": _ASLEEP, "text/plain": ""}, raw=True)  # type: ignore[no-untyped-call]
        display(data, metadata=metadata, raw=True)  # type: ignore[no-untyped-call]


_NEXT = ".jp-OutputArea-child:has(.lk-asleep) + .jp-OutputArea-child"
_ASLEEP = f"""<style>
.jp-OutputArea-child:has(.lk-asleep):has(+ .jp-OutputArea-child .lk-entry) {{ display: none; }}
{_NEXT} .jp-OutputArea-output:not(:has(*)) {{ display: none; }}
</style><p class="lk-asleep">{escape(words.ASLEEP)}</p>"""
_BESIDE = ThreadPoolExecutor(max_workers=1, thread_name_prefix="labkit-doubt")


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
    return in_place(Form(EntryForm(bench, plan)), str(bench.record.folder))
