"""The order of the rooms, read from the imports of every module, and what `import labkit` costs."""

import ast
import importlib
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import labkit

PACKAGE = Path(labkit.__file__).parent

ROOMS = (
    ("labkit.errors", "labkit.resources", "labkit.arrays"),
    ("labkit.words",),
    ("labkit.show",),
    ("labkit.quantity",),
    ("labkit.uncertainty",),
    ("labkit.theory",),
    ("labkit.sweeps",),
    ("labkit.record",),
    ("labkit.analysis",),
    ("labkit.choke",),
    ("labkit.faces",),
    ("labkit.widgets",),
    ("labkit.handin",),
    ("labkit", "labkit.cli"),
)
"""Each room imports only from those above it, and from itself."""

HEAVY = {"IPython", "anywidget", "ipywidgets", "jupyterlab", "matplotlib", "nbclient", "nbformat"} | {
    "numpy",
    "pydantic",
    "pandas",
    "schemdraw",
    "scipy",
    "skrf",
    "sympy",
    "uncertainties",
}

LIGHT = ("labkit", "labkit.cli", "labkit.errors", "labkit.quantity", "labkit.resources", "labkit.words")
"""Packages and modules that import nothing heavy before it is used."""

FILES = sorted(PACKAGE.rglob("*.py"))


def name_of(file: Path) -> str:
    """Dotted name of a module, without `__init__`."""
    parts = ("labkit", *file.relative_to(PACKAGE).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {name_of(file): ast.parse(file.read_text(encoding="utf-8")) for file in FILES}


def imported(tree: ast.Module, *, at_top: bool = False) -> Iterator[str]:
    """Dotted names of what a module imports; `at_top` leaves out imports inside functions and blocks."""
    for node in tree.body if at_top else ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "relative imports hide the room"
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                yield whole if whole in MODULES or whole == "labkit.__version__" else str(node.module)


def room_of(module: str) -> int:
    """Place of a module's room in `ROOMS`."""
    places = [
        place
        for place, room in enumerate(ROOMS)
        for name in room
        if module == name or (name != "labkit" and module.startswith(f"{name}."))
    ]
    assert places, f"{module} is in no room: give it one in ROOMS, or move it"
    return places[0]


@pytest.mark.parametrize("module", MODULES)
def test_a_module_imports_from_its_own_room_or_one_above(module: str) -> None:
    """No module imports, at its top or later, from a room below its own; the version number is free."""
    below = [
        name
        for name in imported(MODULES[module])
        if name.split(".")[0] == "labkit" and name != "labkit.__version__" and room_of(name) > room_of(module)
    ]
    assert not below


def test_words_import_only_words() -> None:
    """Sentences are constants: a module of `labkit.words` imports at most another one."""
    found = {m: list(imported(tree)) for m, tree in MODULES.items() if m.startswith("labkit.words")}
    assert len(found) > 10
    assert not {m: n for m, names in found.items() for n in names if not n.startswith("labkit.words")}


def test_words_compute_nothing() -> None:
    """A module of sentences holds assignments and a docstring, and no function, loop or class."""
    for module, tree in MODULES.items():
        if module.startswith("labkit.words"):
            kinds = {type(node) for node in tree.body}
            assert kinds <= {ast.Assign, ast.AnnAssign, ast.Expr, ast.ImportFrom}, module


def idle_sentences() -> Iterator[str]:
    """Constants of `labkit.words` that neither a module nor a template names."""
    sources = {name_of(file): file.read_text(encoding="utf-8") for file in FILES}
    texts = (f.read_text("utf-8") for f in PACKAGE.rglob("*") if f.suffix in (".jinja", ".js"))
    faces = {word for text in texts for word in re.findall(r"\w+", text)}
    for module in (m for m in sources if m.startswith("labkit.words.")):
        named = faces | constants_taken(module)
        for text in sources.values():
            named |= {n for alias in aliases(text, module) for n in re.findall(rf"\b{alias}\.(\w+)", text)}
        own = re.findall(r"\w+", sources[module])
        for name in re.findall(r"^([A-Z]\w+)(?::.*)? = ", sources[module], re.MULTILINE):
            if name not in named and own.count(name) == 1:
                yield f"{module}.{name}"


def constants_taken(module: str) -> set[str]:
    """Constants that other modules import by their own names."""
    return {alias.name for node in all_imports_from() if node.module == module for alias in node.names}


@cache
def all_imports_from() -> tuple[ast.ImportFrom, ...]:
    """Every `from … import …` of every module, found in one walk."""
    return tuple(n for tree in MODULES.values() for n in ast.walk(tree) if isinstance(n, ast.ImportFrom))


def aliases(text: str, module: str) -> list[str]:
    """Names under which a module's text imports another."""
    *_, last = module.split(".")
    found = re.findall(rf"from labkit\.words import {last}(?: as (\w+))?$", text, re.MULTILINE)
    return [alias or last for alias in found]


def test_every_sentence_is_used() -> None:
    """A sentence that nothing names any more is gone from `labkit.words`."""
    assert not list(idle_sentences())


def test_modules_do_not_import_each_other_in_a_circle() -> None:
    """What modules import at their top is a tree of dependencies: any one can be imported first."""
    edges = {m: {n for n in imported(tree, at_top=True) if n in MODULES} for m, tree in MODULES.items()}
    while free := [module for module, needs in edges.items() if not needs & edges.keys()]:
        for module in free:
            del edges[module]
    assert not edges


@pytest.mark.parametrize("file", FILES, ids=name_of)
def test_a_module_is_read_in_one_sitting(file: Path) -> None:
    """No module is longer than 700 lines."""
    assert len(file.read_text(encoding="utf-8").splitlines()) <= 700


def test_public_names_are_sorted_and_each_is_there() -> None:
    """`labkit.__all__` is sorted, without twins, and every name leads to something; `dir` lists it."""
    assert labkit.__all__ == sorted(set(labkit.__all__))
    for name in labkit.__all__:
        assert getattr(labkit, name).__module__.startswith("labkit.")
    assert set(labkit.__all__) <= set(dir(labkit))


def test_public_names_say_where_they_come_from_once() -> None:
    """Each public name is imported for type checkers from the module that gives it at run time."""
    (block,) = [node for node in MODULES["labkit"].body if isinstance(node, ast.If)]
    told = {a.name: n.module for n in block.body if isinstance(n, ast.ImportFrom) for a in n.names}
    assert told == labkit._HOME
    assert sorted(told) == labkit.__all__


def test_an_unknown_name_is_an_attribute_error() -> None:
    """A name that labkit does not have is refused as Python does, and not by an import error."""
    with pytest.raises(AttributeError, match="has no attribute 'predikt'"):
        _ = labkit.predikt
    assert importlib.import_module("labkit.words.record").NOTED


def loaded_after(statement: str) -> set[str]:
    """Top-level packages that a fresh Python has loaded after a statement."""
    code = f"import sys\n{statement}\nprint(*sorted({{m.split('.')[0] for m in sys.modules}}))"
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    return set(done.stdout.split("\n")[-2].split())


def test_import_loads_nothing_heavy() -> None:
    """`import labkit` loads no numerical, symbolic, drawing, validation or Jupyter package."""
    assert not loaded_after("import labkit") & HEAVY
    assert loaded_after("import labkit; labkit.Pair") & HEAVY == {"numpy"}  # the check can fail


def test_help_loads_nothing_heavy() -> None:
    """The command line says what it can do without loading anything heavy."""
    help_text = "from labkit.cli import main\ntry:\n    main(['--help'])\nexcept SystemExit:\n    pass"
    assert not loaded_after(help_text) & HEAVY


@pytest.mark.parametrize(
    "module", [m for m in MODULES if m in LIGHT or m.startswith(("labkit.words", "labkit.quantity"))]
)
def test_light_rooms_stay_light(module: str) -> None:
    """What `import labkit` or `--help` may touch imports nothing heavy at its top."""
    assert not {name.split(".")[0] for name in imported(MODULES[module], at_top=True)} & HEAVY
