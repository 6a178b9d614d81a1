"""A new bench folder from the shipped notebooks.

A shipped notebook is stored executed on the demo record. For a bench of one's own, every cell that holds demo
entries, or speaks of them, carries its blank form in its metadata (`labkit.blank`); all outputs are dropped.
"""

from pathlib import Path

from labkit.bench.bench import new_bench
from labkit.bench.card import read_card
from labkit.errors import RecordConflict
from labkit.resources import NOTEBOOKS, shipped
from labkit.words import template as words


def start_folder(folder: Path, part: str, card: Path | None = None, notebook: str = NOTEBOOKS[0]) -> Path:
    """Make a bench folder for a part with its record and notebook; the path of the notebook comes back.

    Parameters
    ----------
    folder : made if it is not there
    part : name of the part under test
    card : TOML file of the meter's card, entered as `meter-a`; None if there is none yet
    notebook : one of `NOTEBOOKS`

    Raises
    ------
    RecordConflict
        if the folder holds a record or a notebook already; nothing is written.
    CardError
        if the card cannot be taken; nothing is written.
    """
    file = f"{notebook}.ipynb"
    taken = [name for name in (file, "record.jsonl") if (folder / name).exists()]
    if taken:
        raise RecordConflict(words.NOT_EMPTY.format(folder=folder, name=taken[0]))
    text = _blank_text(file)
    if card is not None:
        read_card(card)
    bench = new_bench(folder, part)
    if card is not None:
        bench.meter("meter-a", card)
    (folder / file).write_text(text, encoding="utf-8")
    return folder / file


def _blank_text(name: str) -> str:
    import nbformat

    notebook = nbformat.read(shipped("notebooks", name), as_version=4)  # type: ignore[no-untyped-call]
    notebook.metadata.pop("widgets", None)
    for cell in notebook.cells:
        cell.source = cell.metadata.pop("labkit", {}).get("blank", cell.source)
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
    return str(nbformat.writes(notebook)) + "\n"  # type: ignore[no-untyped-call]
