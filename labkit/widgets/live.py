"""A widget that shows a state and answers every message, so that a dead kernel is noticed.

A live face is a model, plain Python with `state()` and `handle(message)`, and a script that draws the
state. The widget between them is this class: it knows no inductors. Nothing lives only in a widget; a model
reads and writes the record, and a face built again from it looks the same.
"""

import json
from html import escape
from pathlib import Path
from typing import Any, Protocol, TypeVar
from weakref import WeakValueDictionary

import anywidget
import traitlets

from labkit.errors import LabkitError
from labkit.words import widgets as words

_HERE = Path(__file__).resolve().parent
_SHARED = (_HERE / "live.js").read_text(encoding="utf-8")

State = dict[str, Any]
Face = TypeVar("Face", bound="Live")

_open: WeakValueDictionary[tuple[str, ...], "Live"] = WeakValueDictionary()


class Model(Protocol):
    """What a live face shows and understands."""

    def state(self) -> State:
        """Everything the script draws, as plain JSON."""

    def handle(self, message: State) -> State | None:
        """Do what a message asks; what comes back goes into the answer. LabkitError becomes its sentence."""


class Live(anywidget.AnyWidget):
    """A model in the browser; `script`, those it builds on, and `style` are file names beside this module.

    `inner` names faces that this one shows inside itself: their style, and their script as an object.
    """

    state = traitlets.Dict().tag(sync=True)
    _css = traitlets.Unicode().tag(sync=True)  # without it a style given to __init__ never leaves the kernel

    def __init__(
        self, model: Model, script: str, style: str, *, on: tuple[str, ...] = (), inner: tuple[str, ...] = ()
    ) -> None:
        self.model = model
        inside = (f"const {name} = (() => {{\n{_read(f'{name}.js')}\n}})();" for name in inner)
        inside = (text.replace("export default", "return") for text in inside)
        source = "\n".join((*inside, *(_read(name) for name in (*on, script))))
        super().__init__(
            _esm=f"{_SHARED}\n{source}",
            _css="\n".join(_read(name) for name in (*(f"{name}.css" for name in inner), style)),
            _anywidget_id=f"labkit.{script}",  # a page keeps one style for each id
            state=model.state(),
        )
        self.on_msg(lambda _, message, __: self.answer(message))

    def answer(self, message: object) -> None:
        """Deal with a message, show the new state, then acknowledge: an answer means that it is stored.

        A message that the script of this face would not send is answered too, so that the page waits for
        nothing; what is wrong with it goes to the kernel's log.
        """
        reply = {"answer": number_of(message)} | self.done(message)
        self.state = self.model.state()
        self.send(reply)

    def _ipython_display_(self) -> None:
        """Show the face behind a sentence that only a face without a kernel leaves in view."""
        from IPython.display import display

        sentence = escape(words.ASLEEP.format(face=words.FACES[type(self).__name__]))
        asleep = f'{_ASLEEP_STYLE}<p class="lk-asleep">{sentence}</p>'
        data, metadata = self._repr_mimebundle_() or ({}, {})
        display({"text/html": asleep, "text/plain": ""}, raw=True)  # type: ignore[no-untyped-call]
        display(data, metadata=metadata, raw=True)  # type: ignore[no-untyped-call]

    def done(self, message: object) -> State:
        """What comes of a message; `refused` says why nothing did."""
        try:
            if not isinstance(message, dict):
                raise TypeError(type(message).__name__)
            json.dumps(
                message, ensure_ascii=False
            ).encode()  # half a character can be stored and shown nowhere
            return self.model.handle(message) or {}
        except LabkitError as error:
            return {"refused": str(error)}
        except (
            Exception
        ):  # whatever a page can send; a face without an answer would be taken for a dead kernel
            self.log.warning(words.NOT_A_MESSAGE, exc_info=True)
            return {"refused": words.NOT_A_MESSAGE}


_ASLEEP = ".jp-OutputArea-child:has(.lk-asleep)"
_NEXT = "+ .jp-OutputArea-child .jp-OutputArea-output"
# A face that is drawn has elements; in place of one without a kernel JupyterLab writes bare text.
_ASLEEP_STYLE = f"""<style>
{_ASLEEP}:has({_NEXT} *) {{ display: none; }}
{_ASLEEP} {_NEXT}:not(:has(*)) {{ display: none; }}
</style>"""


def number_of(message: object) -> int | str | None:
    """The number under which the page waits for the answer."""
    number = message.get("number") if isinstance(message, dict) else None
    return number if isinstance(number, int | str) else None


def _read(name: str) -> str:
    return (_HERE / name).read_text(encoding="utf-8")


def in_place(face: Face, *about: str) -> Face:
    """The face itself; the one of its kind that the same cell made before about the same thing is closed."""
    place = (type(face).__name__, running_cell(), *about)
    if place in _open:
        _open[place].close()
    _open[place] = face
    return face


def running_cell() -> str:
    """The notebook's name for the cell that runs, empty if it gives none."""
    from IPython.core.getipython import get_ipython

    request: dict[str, Any] = getattr(get_ipython(), "get_parent", dict)()
    return str(request.get("metadata", {}).get("cellId", ""))
