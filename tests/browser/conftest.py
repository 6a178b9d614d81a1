"""Fixtures of the browser stories: one server and one browser for all, a page and a bench folder a test."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from labkit.faces.start import Served, serving, start_folder
from labkit.resources import shipped
from tests.browser.labs import ARTEFACTS, PATIENCE, SIZES, Lab, chromium

expect.set_options(timeout=PATIENCE)  # five seconds are soon over on a busy machine
FAILED = pytest.StashKey[bool]()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Iterator[None]:
    """Remember whether the test failed, so that its last screen can be kept."""
    report = yield
    item.stash[FAILED] = item.stash.get(FAILED, False) or report.failed  # type: ignore[attr-defined]
    return report  # type: ignore[return-value]


@pytest.fixture(scope="session")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that the server shows; each test has a folder of its own below it."""
    return tmp_path_factory.mktemp("benches")


@pytest.fixture(scope="session")
def served(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """JupyterLab, started as for everybody, with settings of its own."""
    with serving(root, kept=tmp_path_factory.mktemp("kept")) as served:
        yield served


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium without a network."""
    with chromium() as browser:
        yield browser


def _context(browser: Browser) -> BrowserContext:
    width, height = SIZES["laptop"]
    return browser.new_context(viewport={"width": width, "height": height})


@pytest.fixture(scope="session")
def profile(browser: Browser) -> Iterator[BrowserContext]:
    """The browser of a person at the one server, which fetches and compiles JupyterLab only once."""
    context = _context(browser)
    yield context
    context.close()


@pytest.fixture
def page(browser: Browser, request: pytest.FixtureRequest) -> Iterator[Page]:
    """A page of its own for the test, laptop size; the last screen of a failed test is kept."""
    context = _context(browser)
    page = context.new_page()
    yield page
    _keep_failed(page, request)
    context.close()


@pytest.fixture
def lab(served: Served, root: Path, profile: BrowserContext, request: pytest.FixtureRequest) -> Iterator[Lab]:
    """A page of JupyterLab, laptop size; open a notebook in it first."""
    lab = Lab(served, root, profile.new_page())
    yield lab
    _keep_failed(lab.page, request)
    for page in profile.pages:
        page.close()
    lab.reset()


def _keep_failed(page: Page, request: pytest.FixtureRequest) -> None:
    if request.node.stash.get(FAILED, False):
        page.screenshot(path=ARTEFACTS / f"failed-{request.node.name}.png")


@pytest.fixture
def folder(root: Path, request: pytest.FixtureRequest) -> Path:
    """An empty folder below the served one."""
    folder = root / request.node.name.replace("[", "-").strip("]")
    folder.mkdir()
    return folder


@pytest.fixture
def student_folder(folder: Path) -> Path:
    """A bench just begun: the blank notebook and a record that knows only the part's name."""
    start_folder(folder, "sample-7")
    return folder


@pytest.fixture
def demo_folder(folder: Path) -> Path:
    """The shipped notebook, which works on the invented demo record."""
    shutil.copy(shipped("notebooks", "coupled_pair.ipynb"), folder)
    return folder
