"""Shipped notebooks as a lecturer opens them: nobody signed them, so JupyterLab trusts no output."""

import shutil
from pathlib import Path

import nbformat
import pytest

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
    other text is typeset, in the light theme and in the dark one.
    """
    shutil.copy(path, folder)
    lab.open_notebook(folder, path.name)
    wanted = FINE | {"pictures": stored(path, "<img"), "formulas": stored(path, "mathjax_process")}
    assert wanted["pictures"]
    assert look(lab) == wanted
    lab.theme("dark")
    lab.size("projector")
    assert look(lab) == wanted
    lab.screenshots(f"untrusted-{path.stem}")
