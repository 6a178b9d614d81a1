"""A new bench folder: what is blank in it, what is refused, and that it runs before anything is entered."""

import os
import re
from pathlib import Path
from typing import Any

import nbformat
import pytest

import labkit
from labkit.errors import CardError, RecordConflict, RecordError
from labkit.faces.start import start_folder
from labkit.record.bench import open_bench
from labkit.record.demo import demo_bench
from labkit.resources import NOTEBOOKS, shipped

NOTEBOOK = "coupled_pair.ipynb"

CARD = shipped("data", "cards", "bench-fine.toml")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder for a part whose meter has a card."""
    folder = tmp_path_factory.mktemp("bench") / "mine"
    start_folder(folder, "sample-7", CARD)
    return folder


def cells(folder: Path) -> list[Any]:
    """Code cells of the folder's notebook."""
    notebook = nbformat.read(folder / NOTEBOOK, as_version=4)
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def test_a_new_folder_holds_a_record_and_a_notebook(folder: Path) -> None:
    """The record holds the part's name and the meter with its card, and nothing else."""
    bench = open_bench(folder)
    assert bench.part_name == "sample-7"
    assert bench.cards["meter-a"].id == "bench-fine"
    assert [event.event for event in bench.events] == ["opened", "meter"]
    assert not bench.invented


def test_a_new_notebook_acknowledges_nothing(folder: Path) -> None:
    """No caution is accepted: the cell for it waits for a pseudonym."""
    accepting = [cell.source for cell in cells(folder) if "accept_cautions" in cell.source]
    assert accepting == ['bench.accept_cautions(by="")']
    assert open_bench(folder).cautions_accepted == ()


def test_a_new_notebook_holds_no_demo_entry(folder: Path) -> None:
    """No reading, prediction, pseudonym, own words or part of the demo is left in the notebook."""
    text = (folder / NOTEBOOK).read_text(encoding="utf-8")
    demo = demo_bench()
    entries = {str(r.shown) for r in demo.readings} | {str(p.shown) for p in demo.predictions}
    entries |= {
        "68.03",
        "p1",
        "demo_bench",
        "sample-12",
        "Teaching sample",
        "22.5",
        demo.own_words[0].text[:30],
    }
    assert not [entry for entry in entries if any(entry in cell.source for cell in cells(folder))]
    assert "labkit.blank" not in text


def test_a_new_notebook_was_never_run(folder: Path) -> None:
    """No outputs, no counts, and no metadata of ours are left."""
    for cell in cells(folder):
        assert (cell.outputs, cell.execution_count) == ([], None)
        assert "labkit" not in cell.metadata


def test_every_demo_entry_has_a_blank_form() -> None:
    """Each cell of the shipped notebook that enters something says what it is when blank."""
    entering = re.compile(
        r"demo_bench|bench\.(accept_cautions|describe|meter|note_conditions|commit|use|read|correct|write)"
    )
    entries = [
        c
        for c in nbformat.read(shipped("notebooks", NOTEBOOK), 4).cells
        if c.cell_type == "code" and entering.search(c.source)
    ]
    assert len(entries) > 15
    assert not [cell.source for cell in entries if "blank" not in cell.metadata.get("labkit", {})]


@pytest.mark.parametrize("taken", [NOTEBOOK, "record.jsonl"])
def test_a_folder_in_use_is_left_alone(tmp_path: Path, taken: str) -> None:
    """A notebook or record that is there is never overwritten, and nothing is added beside it."""
    (tmp_path / taken).write_text("mine", encoding="utf-8")
    with pytest.raises(RecordConflict, match=f"holds {taken} already, and nothing was written"):
        start_folder(tmp_path, "sample-7")
    assert [p.name for p in tmp_path.iterdir()] == [taken]
    assert (tmp_path / taken).read_text(encoding="utf-8") == "mine"


def test_a_bad_card_makes_no_folder(tmp_path: Path) -> None:
    """A card that cannot be taken is refused before anything is made."""
    card = tmp_path / "card.toml"
    card.write_text("schema = 9\n", encoding="utf-8")
    with pytest.raises(CardError, match=r"card\.toml has schema 9"):
        start_folder(tmp_path / "new", "sample-7", card)
    with pytest.raises(FileNotFoundError):
        start_folder(tmp_path / "new", "sample-7", tmp_path / "none.toml")
    assert not (tmp_path / "new").exists()


def test_a_bad_part_name_makes_no_folder(tmp_path: Path) -> None:
    """A name that cannot be stored is refused before anything is made."""
    with pytest.raises(RecordError, match="part was given as"):
        start_folder(tmp_path / "new", " ")
    assert not (tmp_path / "new").exists()


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No setting of the person who runs the tests reaches a kernel."""
    for name in (
        "IPYTHONDIR",
        "JUPYTER_CONFIG_DIR",
        "JUPYTER_DATA_DIR",
        "JUPYTER_RUNTIME_DIR",
        "MPLCONFIGDIR",
    ):
        (tmp_path / name).mkdir()
        monkeypatch.setenv(name, str(tmp_path / name))


@pytest.mark.usefixtures("home")
def test_a_new_notebook_runs_before_anything_is_entered(tmp_path: Path) -> None:
    """Run from top to bottom by a kernel in its own folder, the blank notebook raises nothing."""
    from nbclient import NotebookClient

    start_folder(tmp_path / "mine", "sample-7")
    notebook = nbformat.read(tmp_path / "mine" / NOTEBOOK, as_version=4)
    where = {"metadata": {"path": os.fspath(tmp_path / "mine")}}
    NotebookClient(notebook, timeout=900, resources=where, allow_errors=True).execute()
    outputs = [(c.source, o) for c in notebook.cells if c.cell_type == "code" for o in c.outputs]
    assert not [(source, o.evalue) for source, o in outputs if o.output_type == "error"]
    said = "".join(str(o) for _, o in outputs)
    assert "no entry yet" in said
    assert "Still missing for the comparison" in said


def run(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The notebook's code cells, one after the other, in this process."""
    monkeypatch.chdir(folder)
    names: dict[str, Any] = {}
    for cell in cells(folder):
        exec(compile(cell.source, "cell", "exec"), names)


@pytest.mark.parametrize("card", [None, CARD], ids=["no card", "card"])
def test_a_new_notebook_enters_nothing(
    tmp_path: Path, card: Path | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A blank run stores no reading, prediction or acceptance, keeps the card, and can be repeated."""
    start_folder(tmp_path / "mine", "sample-7", card)
    run(tmp_path / "mine", monkeypatch)
    once = (tmp_path / "mine" / "record.jsonl").read_bytes()
    run(tmp_path / "mine", monkeypatch)
    assert (tmp_path / "mine" / "record.jsonl").read_bytes() == once
    bench = open_bench(tmp_path / "mine")
    assert bench.readings == bench.predictions == bench.cautions_accepted == bench.own_words == ()
    assert bench.part is None
    assert list(bench.cards) == ([] if card is None else ["meter-a"])


def test_a_notebook_is_filled_in_cell_by_cell(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """After a blank run, entries typed into the cells are stored as typed, and the findings follow."""
    path = start_folder(tmp_path / "mine", "sample-7", CARD)
    run(tmp_path / "mine", monkeypatch)
    text = path.read_text(encoding="utf-8")
    typed = {
        'accept_cautions(by=\\"\\")': 'accept_cautions(by=\\"p1\\")',
        "bench.describe()": 'bench.describe(windings=2, dots=\\"1a 2a\\")',
        "bench.use()": 'bench.use(meter=\\"meter-a\\", frequency=\\"10 kHz\\", mode=\\"series\\")',
        'read(\\"1a 1b\\", \\"\\"': 'read(\\"1a 1b\\", \\"10.000 mH\\"',
        'read(\\"2a 2b\\", \\"\\"': 'read(\\"2a 2b\\", \\"9.960 mH\\"',
        'read(\\"1a 2a | 1b=2b\\", \\"\\"': 'read(\\"1a 2a | 1b=2b\\", \\"25.00 µH\\"',
    }
    for blank, filled in typed.items():
        assert text.count(blank) == 1, blank
        text = text.replace(blank, filled)
    path.write_text(text, encoding="utf-8")
    run(tmp_path / "mine", monkeypatch)
    bench = open_bench(tmp_path / "mine")
    assert [str(r.shown) for r in bench.readings] == ["10.000 mH", "9.960 mH", "25.00 µH"]
    assert "k = 0.9987495" in str(labkit.explain(bench))


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_every_notebook_for_a_bench_can_be_started_with(name: str, tmp_path: Path) -> None:
    """Each is written blank: nothing executed, no accepted caution, no reading of the demo."""
    written = start_folder(tmp_path / name, "sample-9", notebook=name)
    notebook = nbformat.read(written, 4)
    sources = "\n".join(cell.source for cell in notebook.cells)
    assert written.name == f"{name}.ipynb"
    assert 'accept_cautions(by="")' in sources or "bench = " not in sources  # one that enters nothing
    assert "demo_bench" not in sources
    assert name != "coupled_pair" or "demo" not in sources
    assert "widgets" not in notebook.metadata
    assert all(not cell.get("outputs") for cell in notebook.cells)
