"""The notebook of a class in a real browser, offline: on the invented class, and in a new folder."""

import shutil
from pathlib import Path

from labkit.faces.start import start_folder
from labkit.resources import shipped
from tests.browser.labs import Lab
from tests.bundles import bundle
from tests.pages import drawings

NAME = "class_results.ipynb"


def test_the_shipped_class_is_shown_and_nobody_is_named(lab: Lab, folder: Path) -> None:
    """Every picture is there, one's own group is marked in it, and no other name stands in any output."""
    shutil.copy(shipped("notebooks", NAME), folder)
    lab.open_notebook(folder, NAME)
    lab.run_all()
    assert lab.failures() == []
    for call in (
        "labkit.class_dots(own_parts",
        "labkit.class_scores(own_parts",
        "labkit.class_dots(round_robin",
    ):
        assert 'data-mark="own"' in lab.drawings(lab.number(call))
    outputs = " ".join(
        lab.page.locator(".jp-OutputArea-output").evaluate_all("all => all.map(e => e.innerHTML)")
    )
    assert "group-" not in outputs + "".join(drawings(outputs))
    for theme, size in (("light", "laptop"), ("dark", "projector")):
        lab.theme(theme)
        lab.size(size)
        assert lab.axe(".jp-OutputArea-output .lk").violations == []
        assert len(lab.screenshots("class")) > 3


def test_a_new_folder_waits_and_then_shows_its_own_class(lab: Lab, folder: Path) -> None:
    """Without a bundle every cell runs and says what is awaited; with six beside it, there is a class."""
    start_folder(folder, "sample-7", notebook="class_results")
    lab.open_notebook(folder, NAME)
    lab.run_all()
    assert lab.failures() == []
    assert lab.page.get_by_text("Robust figures are given from 5 values on").count() >= 2
    for seed in range(1, 7):
        (folder / f"group-{seed}.zip").write_bytes(bundle(folder / "b", seed))
    lab.run_all()
    assert lab.failures() == []
    assert lab.drawings(lab.number("labkit.class_scores(own_parts")).count('data-mark="group"') >= 12
