"""A wiring is changed by hand in a real browser, by keyboard, by mouse, as text, and derived in steps."""

from collections.abc import Iterator
from pathlib import Path

import nbformat
import pytest
from playwright.sync_api import Locator, expect

from tests.browser.labs import Lab

CELLS = (
    "import labkit\nbench = labkit.demo_bench()",
    "labkit.wiring_board(bench)",
    'labkit.derivation_board("1a 1b | 1a=2a 1b=2b", bench)',
)
PARALLEL = "1a 1b | 1a=2a 1b=2b"
COUPLED = "6.803 ± 0.024 mH"  # parallel-aiding by the demo record, as `labkit predict` prints it
UNCOUPLED = "3.410 ± 0.012 mH"
REVERSED = "7.779 ± 0.031 µH"


@pytest.fixture
def boards(lab: Lab, folder: Path) -> Iterator[Lab]:
    """A notebook with both boards on the demo record, run."""
    cells = [nbformat.v4.new_code_cell(source) for source in CELLS]
    kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3 (ipykernel)", "language": "python"}}
    nbformat.write(nbformat.v4.new_notebook(cells=cells, metadata=kernel), folder / "boards.ipynb")
    lab.open_notebook(folder, "boards.ipynb")
    lab.run_all()
    yield lab
    assert lab.failures() == []


def wiring_board(lab: Lab) -> Locator:
    """The wiring board, its derivation there."""
    board = lab.cell_output(2).locator(".lk-board")
    board.evaluate("(element) => element.scrollIntoView({ block: 'start' })")
    expect(board.locator(".lk-board-formula math")).to_be_visible()
    return board


def derivation_board(lab: Lab) -> Locator:
    """The derivation board at its first step."""
    board = lab.cell_output(3).locator(".lk-board")
    board.evaluate("(element) => element.scrollIntoView({ block: 'start' })")
    expect(board.locator(".lk-board-count")).to_have_text("step 1 of 18")
    return board


def expect_built(board: Locator, wiring: str, name: str, *figures: str) -> None:
    """Drawing, notation, name, figures and what is announced are those of one wiring."""
    expect(board.locator("svg[role=img]")).to_have_attribute("data-wiring", wiring)
    expect(board.get_by_label("wiring as text")).to_have_value(wiring)
    expect(board.locator(".lk-board-name")).to_have_text(name)
    expect(board.locator("[aria-live=polite].lk-board-said")).to_contain_text(name)
    expect(board.locator("tbody td")).to_have_text(list(figures))


def focus_ring(lab: Lab) -> str:
    """Style of the ring round what has the focus; `none` if nothing is seen."""
    return str(lab.page.evaluate("() => getComputedStyle(document.activeElement).outlineStyle"))


def test_wiring_changed_by_keyboard_alone(boards: Lab) -> None:
    """From the cell by Tab to the board, then ties and clips as they are written; nothing else is touched."""
    board, keys = wiring_board(boards), boards.page.keyboard
    cells = boards.page.locator(".jp-Notebook .jp-Cell").count()
    boards.cell(2).locator(".cm-content").focus()
    keys.press("Escape")
    inside = ".lk-board-wired [data-end='1a']:focus"
    for _ in range(60):
        if boards.page.locator(inside).count():
            break
        keys.press("Tab")
    expect(boards.page.locator(inside)).to_have_count(1)
    assert focus_ring(boards) == "solid"
    keys.type("1a2a")
    expect_built(board, "1a 2a | 1a=2a 1b=2b", "The leads alone")
    keys.type("s1b")
    expect_built(board, PARALLEL, "Parallel-aiding", UNCOUPLED, COUPLED, UNCOUPLED, REVERSED)
    expect(board.locator(".lk-board-formula math")).to_have_attribute(
        "alttext", "L_eq = (L1·L2 − M²)/(L1 + L2 − 2M)"
    )
    assert board.locator("[data-end='1b']").evaluate("(key) => key === document.activeElement")
    boards.screenshot("board-keyboard")
    # the same by arrows and Enter: 1b taken, 2b pressed, which unties them
    keys.press("Enter")
    expect(board.locator("[data-end='1b']")).to_have_attribute("aria-pressed", "true")
    keys.press("ArrowRight")
    keys.press("Enter")
    expect_built(board, "1a 1b | 1a=2a", "Winding 1 alone", *["6.838 ± 0.024 mH"] * 2)
    keys.press("u")
    expect_built(board, PARALLEL, "Parallel-aiding", UNCOUPLED, COUPLED, UNCOUPLED, REVERSED)
    keys.press("f")
    keys.press("Escape")  # the clip is let go again
    expect(board.locator("[data-clip='0']")).to_have_attribute("aria-pressed", "false")
    assert boards.page.locator(".jp-Notebook .jp-Cell").count() == cells


def test_keys_pressed_on_a_board_do_nothing_to_the_notebook(boards: Lab) -> None:
    """What would insert, cut, turn or run a cell in the notebook around stays on the board."""
    wiring_board(boards)
    seen = "() => document.querySelector('.jp-Notebook').innerHTML.match(/jp-(Code|Markdown)Cell /g).join()"
    before = boards.page.evaluate(seen)
    for place in (".lk-board-wired [data-end='2b']", ".lk-board-wired input", ".lk-board-stepping"):
        boards.page.locator(place).focus()
        for key in ("b", "a", "m", "y", "Shift+M", "d", "d", "x", "v", "Shift+Enter"):
            boards.page.keyboard.press(key)
        assert boards.page.locator(place).evaluate("(element) => element === document.activeElement")
        assert boards.page.evaluate(seen) == before


def test_wiring_changed_by_mouse(boards: Lab) -> None:
    """Ends pressed, a clip pulled to its end, a winding turned round, a dot moved, figures covered."""
    board = wiring_board(boards)
    for end in ("1a", "2a"):
        board.locator(f"[data-end='{end}']").click()
    expect_built(board, "1a 2a | 1a=2a 1b=2b", "The leads alone")
    board.locator("[data-clip='1']").drag_to(board.locator("[data-end='1b']"))
    expect_built(board, PARALLEL, "Parallel-aiding", UNCOUPLED, COUPLED, UNCOUPLED, REVERSED)
    board.get_by_role("button", name="turn winding 2 round").click()
    turned = "1a 1b | 1a=2b 1b=2a"
    expect_built(board, turned, "Parallel-opposing", UNCOUPLED, REVERSED, UNCOUPLED, COUPLED)
    board.get_by_role("button", name="dot of winding 2").click()
    expect_built(board, turned, "Parallel-aiding", UNCOUPLED, REVERSED, UNCOUPLED, COUPLED)
    expect(board.locator(".lk-board-notes")).to_contain_text("are not those of the record")
    board.get_by_role("button", name="cover figures").click()
    expect(board.locator("tbody td")).to_have_text(["covered"] * 4)
    boards.screenshot("board-mouse")
    for _ in range(4):
        board.get_by_role("button", name="undo").click()
    expect_built(board, "1a 2a | 1b=2b", "Series-opposing", *["covered"] * 4)
    board.locator("[data-end='1a']").drag_to(board.locator("[data-end='2b']"))  # a wire pulled across
    expect_built(board, "1a 2a | 1a=1b=2b", "Winding 2 (1 shorted)", *["covered"] * 2)


def test_wiring_typed_as_text(boards: Lab) -> None:
    """What cannot be read is refused in one sentence and stays in the field; what can is built on Enter."""
    board = wiring_board(boards)
    field = board.get_by_label("wiring as text")
    field.fill("1a 2c | 1b=2b")
    field.press("Enter")
    expect(board.get_by_role("alert").filter(has_text="'2c' is not a terminal")).to_be_visible()
    expect(field).to_have_value("1a 2c | 1b=2b")
    expect(board.locator(".lk-board-name")).to_have_text("Series-opposing")
    boards.screenshot("board-refused")
    field.fill(PARALLEL)
    board.get_by_role("button", name="build it").click()
    expect_built(board, PARALLEL, "Parallel-aiding", UNCOUPLED, COUPLED, UNCOUPLED, REVERSED)
    expect(board.locator(".lk-board-refusal")).to_have_text("")


def test_steps_of_the_wiring_board_come_on_demand(boards: Lab) -> None:
    """The formula is there at once; the first step comes when it is asked for, and goes with the wiring."""
    board = wiring_board(boards)
    expect(board.locator(".lk-board-title")).to_have_text("")
    board.get_by_role("button", name="first step").click()
    expect(board.locator(".lk-board-title")).to_have_text("What is connected")
    board.get_by_role("button", name="turn winding 1 round").click()
    expect(board.locator(".lk-board-title")).to_have_text("")
    expect(board.locator(".lk-board-formula math")).to_have_attribute("alttext", "L_eq = L1 + L2 + 2M")


def test_derivation_stepped_through_by_keyboard(boards: Lab) -> None:
    """Enter, arrows and page keys walk to the figures; every step is seen whole, at both sizes."""
    for size in ("laptop", "projector"):
        boards.size(size)
        board, keys = derivation_board(boards), boards.page.keyboard
        board.focus()
        assert focus_ring(boards) == "solid"
        for number, key in enumerate(["Enter", "ArrowRight", "PageDown"] * 5 + ["Enter"] * 2, start=2):
            keys.press(key)
            expect(board.locator(".lk-board-count")).to_have_text(f"step {number} of 18")
            cut = "(e) => e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1"
            assert not board.locator(".lk-board-page").evaluate(cut), number
            assert not board.locator(".lk-board-formulas").evaluate(cut), number
            if number in (3, 13, 17):
                boards.screenshot(f"derivation-step-{number}")
        keys.press("ArrowLeft")
        expect(board.locator(".lk-board-title")).to_have_text("With the figures of the bench")
        last = board.locator(".lk-board-formulas math").last
        expect(last).to_have_attribute("alttext", f"L_eq = {COUPLED}")
        keys.press("Home")
        expect(board.locator(".lk-board-formula math")).to_be_visible()
        boards.screenshot("derivation-formula")
        keys.press("End")
        expect(board.locator(".lk-board-title")).to_have_text("What was read")
        keys.press("Home")
        keys.press("Enter")


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_boards_are_accessible_and_legible(boards: Lab, theme: str) -> None:
    """axe-core finds nothing on either board, in any state, and has looked at many elements."""
    boards.theme(theme)
    for size in ("laptop", "projector"):
        boards.size(size)
        board = wiring_board(boards)
        board.locator("[data-end='1a']").click()
        boards.screenshot("board-held")
        for selector, least in {".lk-board-wired": 30, ".lk-board-stepping": 10}.items():
            scan = boards.axe(selector)
            print(f"axe-core, {selector}, {theme}, {size}: {scan.scanned} elements")
            assert scan.violations == []
            assert scan.scanned > least
        board.locator("[data-end='1a']").click()
        boards.cell_output(3).evaluate("(element) => element.scrollIntoView({ block: 'start' })")
        boards.screenshot("derivation")


def test_a_dead_kernel_is_said(boards: Lab) -> None:
    """Without an answer the board says that the last change is not shown."""
    board = wiring_board(boards)
    boards.kill_kernel()
    board.get_by_role("button", name="turn winding 1 round").click()
    expect(board.get_by_role("alert").filter(has_text="The kernel does not answer")).to_be_visible()
    expect(board.locator(".lk-board-name")).to_have_text("Series-opposing")
    boards.screenshot("board-dead")
