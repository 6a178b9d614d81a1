"""Shipped notebooks as a lecturer opens them: nobody signed them, so JupyterLab trusts no output."""

import shutil
from pathlib import Path

import nbformat
import pytest
from sympy import Symbol

from labkit.show import Text, in_notebook
from labkit.theory.derivation import Equation
from tests.browser.labs import Lab
from tests.notebooks.test_notebooks import NOTEBOOKS

# What stands in outputs after JupyterLab took out what it does not trust, and MathJax did its work.
LOOK = """async () => {
  const all = (what) => [...document.querySelectorAll(`.jp-OutputArea-output .lk ${what}`)];
  const images = all("img"), formulas = all(".mathjax_process");
  await Promise.all(images.map((image) => image.decode().catch(() => null)));
  const words = (found) => found.map((e) => e.alt || e.title || e.outerHTML);
  return {
    pictures: images.length,
    formulas: formulas.length,
    bare: words(all(":is(svg, math, style):not(mjx-container *)")),
    blank: words(images.filter((e) => !e.naturalWidth || !e.alt || e.clientWidth < 100)),
    wide: words(images.filter((e) => e.clientWidth > e.closest(".lk").clientWidth)),
    raw: words(formulas.filter((e) => !e.querySelector("mjx-math") || /[$\\\\]/.test(e.innerText))),
    refused: words(all("mjx-merror")),
    flat: words(formulas.filter((e) => e.title.includes("/") && !e.querySelector("mjx-mfrac"))),
    strayed: words(all("mjx-container").filter((e) => !e.closest(".mathjax_process"))),
  };
}"""
KERNEL = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
SETTLED = "() => [...document.querySelectorAll('.mathjax_process')].every((e) => !e.innerText.includes('$'))"
FINE = {what: [] for what in ("bare", "blank", "wide", "raw", "refused", "flat", "strayed")}


def look(lab: Lab) -> dict[str, object]:
    """What stands in the outputs once every formula is typeset."""
    lab.page.wait_for_function(SETTLED)
    return lab.page.evaluate(LOOK)  # type: ignore[no-any-return]


def stored(path: Path, part: str) -> int:
    """How often a text stands in the HTML that a notebook stores."""
    cells = [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code"]
    return sum(o.get("data", {}).get("text/html", "").count(part) for cell in cells for o in cell.outputs)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_every_picture_and_formula_shows_before_it_is_trusted(lab: Lab, folder: Path, path: Path) -> None:
    """Nothing is run: each drawing is an image with words for it, each formula has its fractions, and no
    other text is typeset; in the dark theme too, which one notebook with both stands for.
    """
    shutil.copy(path, folder)
    lab.open_notebook(folder, path.name)
    wanted = FINE | {"pictures": stored(path, "<img"), "formulas": stored(path, "mathjax_process")}
    assert wanted["pictures"]
    assert look(lab) == wanted
    if path.stem == "coupled_pair":
        lab.screenshots(f"untrusted-{path.stem}")
        lab.theme("dark")
        lab.size("projector")
        assert look(lab) == wanted
        lab.screenshots(f"untrusted-{path.stem}")


def test_what_people_typed_is_not_typeset(lab: Lab, folder: Path) -> None:
    """Dollar signs and TeX in a note stay as they were typed; a formula in the same output is typeset, and
    holds every letter of a text in it.
    """
    typed = r"$5 core, $6 wire \(x\) $$y$$ \begin{matrix}z\end{matrix}"
    formula = Equation((Symbol("L1") / Symbol("M"), typed + " {a}_b^c # & % ~"), typed).formula()
    output = nbformat.v4.new_output("display_data", {"text/html": in_notebook(Text(typed), formula)})
    cell = nbformat.v4.new_code_cell("", outputs=[output], execution_count=1)
    notebook = nbformat.v4.new_notebook(cells=[cell], metadata=KERNEL)
    nbformat.write(notebook, folder / "typed.ipynb")
    lab.open_notebook(folder, "typed.ipynb")
    shown = lab.cell_output(1)
    shown.locator("mjx-mfrac").wait_for()
    assert shown.locator("p").inner_text() == typed
    assert shown.locator("mjx-container").count() == 1
    assert shown.locator("mjx-merror").count() == 0
    assert shown.locator("mjx-mtext").count() >= 2
    lab.screenshot("untrusted-typed")
