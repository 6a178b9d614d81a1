"""The shipped notebooks: prose plus one call a cell, and stored executed so that nbval compares them."""

import ast
from pathlib import Path
from typing import Any

import nbformat
import pytest

import labkit
from tests.computed import differences
from tests.notebooks.rebuild import PICTURE

FOLDER = Path(__file__).resolve().parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
LOGIC = (
    ast.FunctionDef,
    ast.Lambda,
    ast.For,
    ast.While,
    ast.If,
    ast.IfExp,
    ast.With,
    ast.Try,
    ast.ClassDef,
    ast.BinOp,
    ast.comprehension,
)
SILENT = ("import labkit",)


def code_cells(path: Path) -> list[Any]:
    """The code cells of a notebook."""
    return [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code"]


def test_there_are_notebooks() -> None:
    """The folder is found and not empty, so that the tests below look at something."""
    assert [path.name for path in NOTEBOOKS].count("coupled_pair.ipynb") == 1


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_cells_hold_no_logic(path: Path) -> None:
    """A cell is one call, at most after an import and an assignment; all logic lives in labkit."""
    for cell in code_cells(path):
        tree = ast.parse(cell.source)
        assert len([node for node in tree.body if not isinstance(node, ast.Import)]) <= 2, cell.source
        assert not any(isinstance(node, LOGIC) for node in ast.walk(tree)), cell.source


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_every_cell_is_stored_executed(path: Path) -> None:
    """nbval runs a cell without execution count but never compares it; so each has one, and an output."""
    for number, cell in enumerate(code_cells(path), start=1):
        assert cell.execution_count == number, cell.source
        assert cell.outputs or cell.source in SILENT, cell.source


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_no_stored_output_is_an_error(path: Path) -> None:
    """A notebook with a stored exception would pass nbval as long as it kept failing."""
    assert not [o for cell in code_cells(path) for o in cell.outputs if o.output_type == "error"]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_movements_stand_in_order(path: Path) -> None:
    """Measure, predict, compare, explain: each is a heading of its own."""
    cells = nbformat.read(path, as_version=4).cells
    prose = "\n".join(c.source for c in cells if c.cell_type == "markdown")
    places = [prose.find(f"## {heading}") for heading in ("Measure", "Predict", "Compare", "Explain")]
    assert -1 not in places
    assert places == sorted(places)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_demo_entries_have_an_empty_form(path: Path) -> None:
    """Every call that enters something says what stands there in a new bench folder."""
    verbs = ("bench.commit(", "bench.read(", "bench.write(", "bench.accept_cautions(", "bench.describe(")
    for cell in code_cells(path):
        if cell.source.startswith((*verbs, "bench.meter(", "bench.note_conditions(", "bench = ", "import labkit\n")):
            assert "blank" in cell.metadata.get("labkit", {}), cell.source


def test_the_readme_shows_what_the_code_draws() -> None:
    """The picture in the README is the comparison of the demo record as it is drawn today.

    To half a pixel: another version of matplotlib takes letters to be a little higher or wider.
    """
    drawn = labkit.comparison(labkit.demo_bench()).svg
    assert list(differences(drawn, PICTURE.read_text(encoding="utf-8"), "0.5")) == []
