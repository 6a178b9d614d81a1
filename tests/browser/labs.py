"""A person at JupyterLab in a real browser: open a notebook, run cells, look, kill the kernel, reload.

JupyterLab is started by `labkit.faces.start`, as for everybody; the browser is Debian's Chromium and
reaches nothing but this machine. Cells are counted from 1 among the code cells, as the prompts of a fresh run
are.
"""

import json
import re
import shutil
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

import nbformat
import psutil
from playwright.sync_api import Browser, Locator, Page, Response, sync_playwright

from labkit.faces.start import Served
from tests.pages import drawings

ARTEFACTS = Path(__file__).resolve().parents[2] / ".artefacts" / "browser"
SIZES = {"laptop": (1280, 720), "projector": (1920, 1080)}
THEMES = {"light": "JupyterLab Light", "dark": "JupyterLab Dark"}
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
)
PATIENCE = 180_000  # ms; the machine may be busy with other tests
ERRORS = "application/vnd.jupyter.error", "application/vnd.jupyter.stderr"

READY = """() => {
  const text = (selector) => document.querySelector(selector)?.textContent ?? "";
  const spinning = [...document.querySelectorAll(".jp-Spinner")].some((e) => e.checkVisibility());
  const total = Number((text("#jp-main-statusbar").match(/Cell \\d+\\/(\\d+)/) ?? [])[1] ?? -1);
  return !spinning && !document.querySelector("#jupyterlab-splash")
    && document.querySelectorAll(".jp-Notebook .jp-Cell").length === total
    && text(".jp-KernelName") && !/No Kernel/.test(text(".jp-KernelName"))
    && /\\| Idle/.test(text("#jp-main-statusbar"));
}"""
# Prompts that were there before a run look like those of a finished one; so those that changed are noted.
WATCH = """() => {
  window.lkWatch?.disconnect();
  window.lkChanged = new Set();
  window.lkWatch = new MutationObserver((all) => {
    for (const one of all) {
      const at = one.target.nodeType === 1 ? one.target : one.target.parentElement;
      const cell = at?.closest(".jp-InputPrompt") && at.closest(".jp-CodeCell");
      if (cell) window.lkChanged.add(cell);
    }
  });
  const options = { subtree: true, childList: true, characterData: true };
  window.lkWatch.observe(document.querySelector(".jp-Notebook"), options);
}"""
DONE = """(only) => {
  const cells = [...document.querySelectorAll(".jp-Notebook .jp-CodeCell")];
  const prompt = (cell) => cell.querySelector(".jp-InputPrompt").textContent;
  const wanted = only === null ? cells : [cells[only - 1]];
  const idle = /\\| Idle/.test(document.querySelector("#jp-main-statusbar").textContent);
  if (!idle || cells.some((cell) => prompt(cell).includes("*"))) return false;
  const failed = '[data-mime-type="application/vnd.jupyter.error"]';
  if (wanted.some((cell) => window.lkChanged.has(cell) && cell.querySelector(failed))) return true;
  return wanted.every((cell) => window.lkChanged.has(cell) && /\\[\\d+\\]/.test(prompt(cell)));
}"""

# Scrolls on by almost a screen; true at the last cell, below which there is only empty paper.
NEXT_SCREEN = """(panel) => {
  const last = [...panel.querySelectorAll(".jp-Cell")].at(-1).getBoundingClientRect();
  const end = last.bottom <= panel.getBoundingClientRect().bottom;
  if (!end) panel.scrollBy(0, panel.clientHeight - 40);
  return end;
}"""


class Scan(NamedTuple):
    """What axe-core says: one line a violation, and how many elements it looked at."""

    violations: list[str]
    scanned: int


@contextmanager
def chromium() -> Iterator[Browser]:
    """Debian's Chromium, driven by Playwright, cut off from every other machine."""
    program = shutil.which("chromium")
    assert program, "chromium is missing: apt-get install chromium, or python -m tests --install"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=list(FLAGS))
        yield browser
        browser.close()


def _is_saving(answer: Response) -> bool:
    """Whether this is the server's answer to the notebook being saved; settings are put there too."""
    return answer.request.method == "PUT" and "/api/contents/" in answer.url


class Lab:
    """One page of JupyterLab; `page` is Playwright's, for whatever is not here."""

    def __init__(self, served: Served, root: Path, page: Page) -> None:
        self.served, self.root, self.page = served, root, page
        self.notebook = root
        self.complaints: list[str] = []
        page.set_default_timeout(PATIENCE)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    # opening

    def open_notebook(self, folder: Path, name: str = "coupled_pair.ipynb") -> None:
        """Open a notebook of a folder below the served one, and wait until its kernel is idle."""
        self.notebook = folder / name
        self.page.goto(self.served.address(self.notebook.relative_to(self.root).as_posix()))
        self.wait_ready()

    def tab(self) -> "Lab":
        """Another tab of the same browser."""
        return Lab(self.served, self.root, self.page.context.new_page())

    def reload(self) -> None:
        """Reload the page, what is unsaved being thrown away, and wait until it is ready again."""
        self.page.once("dialog", lambda dialog: dialog.accept())
        self.page.reload()
        self.wait_ready()

    def wait_ready(self) -> None:
        """Wait until every cell is there and the kernel is idle."""
        self.page.wait_for_function(READY)

    # running

    def run_all(self) -> None:
        """Run All Cells, and wait until they are done."""
        self.page.evaluate(WATCH)
        self.menu("Run", "Run All Cells")
        self.wait_done()

    def restart_and_run_all(self) -> None:
        """Restart the kernel, run all cells, and wait until they are done."""
        self.page.evaluate(WATCH)
        self.menu("Run", "Restart Kernel and Run All Cells")
        self.accept()
        self.wait_done()

    def run_cell(self, number: int) -> Locator:
        """Run one code cell and wait until it is done; its output comes back."""
        self.cell(number).locator(".jp-InputArea-editor").click()
        self.page.evaluate(WATCH)
        self.page.keyboard.press("Control+Enter")
        self.wait_done(number)
        return self.cell_output(number)

    def write_cell(self, number: int, source: str) -> None:
        """Put other text into a code cell."""
        self.cell(number).locator(".cm-content").click()
        self.page.keyboard.press("Control+a")
        self.page.keyboard.insert_text(source)

    def save(self) -> None:
        """Save the notebook, and wait until it is on the disk."""
        before = self.notebook.stat().st_mtime_ns
        with self.page.expect_response(_is_saving):
            self.menu("File", "Save Notebook")
        assert self.notebook.stat().st_mtime_ns > before

    def wait_done(self, number: int | None = None) -> None:
        """Wait until the cells that were set running are done; a cell that failed ends the wait too."""
        self.page.wait_for_function(DONE, arg=number)

    def kill_kernel(self) -> None:
        """Kill the kernel's process outright, as a crash does; the server starts another after seconds."""
        path = self.notebook.relative_to(self.root).as_posix()
        sessions = [session for session in self._ask("/api/sessions") if session["path"] == path]
        marks = [f"kernel-{session['kernel']['id']}.json" for session in sessions]
        assert marks, "no kernel runs for this notebook"
        for process in psutil.Process(self.served.process.pid).children(recursive=True):
            if any(mark in " ".join(process.cmdline()) for mark in marks):
                process.kill()

    # looking

    def cell(self, number: int) -> Locator:
        """A code cell, scrolled into view."""
        cell = self.page.locator(".jp-Notebook .jp-CodeCell").nth(number - 1)
        cell.evaluate("(element) => element.scrollIntoView({ block: 'center' })")
        return cell

    def cell_output(self, number: int) -> Locator:
        """The output of a code cell, scrolled into view."""
        return self.cell(number).locator(".jp-Cell-outputArea")

    def drawings(self, number: int) -> str:
        """The SVG of all pictures in the output of a code cell, each of which shows."""
        images = self.cell_output(number).locator("img")
        images.first.wait_for()
        assert all(images.evaluate_all("all => all.map((image) => image.complete && image.naturalWidth)"))
        return "".join(drawings(self.cell_output(number).inner_html()))

    def number(self, part: str) -> int:
        """Number of the first code cell whose source, as the file has it, contains this text."""
        cells = [c for c in nbformat.read(self.notebook, as_version=4).cells if c.cell_type == "code"]
        return next(n for n, cell in enumerate(cells, start=1) if part in cell.source)

    def failures(self) -> list[str]:
        """Text of every error and warning that stands in an output, and errors of scripts in the page."""
        outputs = ", ".join(f'.jp-Notebook [data-mime-type="{kind}"]' for kind in ERRORS)
        return [*self.page.locator(outputs).all_text_contents(), *self.complaints]

    def axe(self, selector: str) -> Scan:
        """Check the elements under a selector with axe-core; JupyterLab itself is not looked at."""
        return axe(self.page, selector)

    def screenshot(self, name: str) -> Path:
        """Store what is on the screen; size and theme are added to the name."""
        return screenshot(self.page, name)

    def screenshots(self, name: str) -> list[Path]:
        """Store the whole notebook, one picture a screenful."""
        panel = self.page.locator(".jp-WindowedPanel-outer")
        panel.evaluate("(element) => element.scrollTo(0, 0)")
        stored = []
        while True:
            self.page.evaluate("() => new Promise((done) => requestAnimationFrame(() => setTimeout(done)))")
            stored.append(self.screenshot(f"{name}-{len(stored) + 1:02d}"))
            if panel.evaluate(NEXT_SCREEN):
                return stored

    # the room around it

    def size(self, name: str) -> None:
        """Make the window as large as a laptop's screen or a projector's."""
        width, height = SIZES[name]
        self.page.set_viewport_size({"width": width, "height": height})

    def theme(self, name: str) -> None:
        """Switch to the light or the dark theme."""
        self.menu("Settings", "Theme", THEMES[name])
        self.page.locator(f'body[data-jp-theme-name="{THEMES[name]}"]').wait_for(state="attached")
        self.page.locator("#jupyterlab-splash").wait_for(state="detached")

    def menu(self, *names: str) -> None:
        """Choose from the menu bar; entries may carry a shortcut or dots after their name."""
        bar, *entries = names
        self.page.locator("#jp-MainMenu .lm-MenuBar-item", has_text=re.compile(f"^{bar}$")).click()
        for entry in entries:
            label = self.page.locator(".lm-Menu-itemLabel", has_text=re.compile(f"^{re.escape(entry)}…?$"))
            label.last.click()

    def accept(self) -> None:
        """Say yes to the dialog of JupyterLab that is open or about to open."""
        self.page.locator(".jp-Dialog .jp-mod-accept").click()

    def reset(self) -> None:
        """Leave the server as a new test wants it: no kernels, standard theme."""
        for session in self._ask("/api/sessions"):
            self._ask(f"/api/sessions/{session['id']}", "DELETE")
        self._ask("/lab/api/settings/@jupyterlab/apputils-extension:themes", "PUT", {"raw": "{}"})

    def _ask(self, path: str, method: str = "GET", content: object = None) -> Any:
        headers = {"Authorization": f"token {self.served.token}", "Content-Type": "application/json"}
        data = None if content is None else json.dumps(content).encode()
        address = f"http://127.0.0.1:{self.served.port}{path}"
        request = urllib.request.Request(address, data, headers, method=method)
        with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(request) as answer:
            return json.loads(answer.read() or "null")


def axe(page: Page, selector: str = "body") -> Scan:
    """Check what is under a selector of any page with axe-core, and count the elements that it looked at."""
    try:
        from axe_playwright_python.sync_playwright import Axe
    except ImportError as error:
        raise AssertionError("axe-core is missing: pip install -e '.[test]'") from error
    kinds = ["violations", "passes", "incomplete"]
    found = Axe().run(page, selector, {"resultTypes": kinds}).response
    scanned = {str(node["target"]) for kind in kinds for rule in found[kind] for node in rule["nodes"]}
    lines = [
        f"{rule['id']}: {rule['help']}: {node['html'][:200]}"
        for rule in found["violations"]
        for node in rule["nodes"]
    ]
    return Scan(lines, len(scanned))


def screenshot(page: Page, name: str) -> Path:
    """Store what a page shows under `.artefacts/browser`; size and theme are added to the name."""
    size = page.viewport_size or {"width": 0, "height": 0}
    dark = "-dark" if page.locator('body[data-jp-theme-light="false"]').count() else ""
    file = ARTEFACTS / f"{name}-{size['width']}x{size['height']}{dark}.png"
    file.parent.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=file)
    return file
