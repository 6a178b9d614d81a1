"""The characterisation of a choke in a real browser: offline, readable at both sizes, files saved whole."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

import labkit
from labkit.record.demo import demo_bench
from tests.browser.labs import SIZES, axe, screenshot

DEMOS = ("choke_characterisation", "three_windings")
OVERFLOWING = """() => [...document.querySelectorAll('.scroll')]
    .filter(e => e.scrollWidth > e.clientWidth + 1).map(e => e.getAttribute('aria-label'))"""


class Watched:
    """A page that notes whatever it asks for or says."""

    def __init__(self, page: Page, file: Path) -> None:
        self.page, self.asked, self.said = page, [], []  # type: ignore[var-annotated]
        page.on("request", lambda request: self.asked.append(request.url))
        page.on("console", lambda message: self.said.append(message.text))
        page.on("pageerror", lambda error: self.said.append(str(error)))
        page.goto(file.as_uri())
        page.wait_for_load_state("networkidle")


@pytest.fixture(scope="module", params=DEMOS)
def file(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A report of a shipped record."""
    place = tmp_path_factory.mktemp("page") / f"{request.param}.html"
    labkit.characterisation_report(demo_bench(request.param), place)
    return place


@pytest.fixture(params=SIZES)
def watched(browser: Browser, file: Path, request: pytest.FixtureRequest) -> Iterator[Watched]:
    """The page at laptop or projector size."""
    width, height = SIZES[request.param]
    context = browser.new_context(viewport={"width": width, "height": height}, accept_downloads=True)
    yield Watched(context.new_page(), file)
    context.close()


def test_the_page_asks_for_nothing_and_reads_well(watched: Watched, file: Path) -> None:
    """One request, no complaint; nothing wider than the window, no table cut off, axe finds nothing."""
    page = watched.page
    assert watched.asked == [file.as_uri()]
    assert watched.said == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.evaluate(OVERFLOWING) == []
    found = axe(page)
    assert found.violations == []
    assert found.scanned > 200
    for section in ("findings", "modes", "leakage", "matrix", "numbers"):
        page.locator(f"#{section}").scroll_into_view_if_needed()
        screenshot(page, f"{file.stem}-{section}")


def test_its_files_are_saved_whole(watched: Watched, file: Path, tmp_path: Path) -> None:
    """Each link saves the very bytes that `save` writes, under a name that tells the part."""
    bench = demo_bench(file.stem)
    wanted = labkit.characterise(bench).files()
    for name, content in wanted.items():
        with watched.page.expect_download() as waiting:
            watched.page.get_by_role("link", name=f"{bench.part_name}-{name}").click()
        saved = tmp_path / name
        waiting.value.save_as(saved)
        assert waiting.value.suggested_filename == f"{bench.part_name}-{name}"
        assert saved.read_text(encoding="utf-8") == content


def test_it_prints_on_paper(watched: Watched, file: Path, tmp_path: Path) -> None:
    """A4, the mark of invented data on top, fewer than 30 pages, no downloads to click on paper."""
    data = watched.page.pdf(path=tmp_path / "page.pdf", prefer_css_page_size=True)
    assert 2 < data.count(b"/Type /Page\n") < 30
    watched.page.emulate_media(media="print")
    assert not watched.page.locator(".downloads").is_visible()
