"""The page of a review in a real browser: hostile texts lie there inert, links and keys do what they say."""

import json
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote, urlparse

import pytest
from playwright.sync_api import Browser, Page

from labkit.handin.review import review
from labkit.record.virtual_bench import BuiltInstead, PrefixSlip
from labkit.words import handin as words
from tests.benches import WIRINGS
from tests.browser.labs import SIZES, axe, screenshot
from tests.bundles import Files, bundle, changed, with_manifest

HOSTILE = '"><script>document.title="run";alert(1)</script><img src=x onerror=alert(2)>{{ 7*7 }}'
NAMES = {
    'x"><img src=x onerror=alert(3)>.zip': "named like markup",
    "javascript:alert(4).zip": "named like an address",
    "=1+1 & more.zip": "named like a formula",
}


def _poisoned(files: Files) -> None:
    """Script in every text of the record, the manifest and the notebook; the record stays readable."""
    lines = [json.loads(line) for line in files["record.jsonl"].splitlines()]
    for event in lines:
        free = {"opened": ("part", "labkit", "scenario"), "part": ("title", "description", "core")}
        free |= {"own_words": ("topic", "text"), "reading": ("id",), "conditions": ("note", "place")}
        event.update(dict.fromkeys(free.get(event["event"], ()), HOSTILE))
        event["by"] = HOSTILE
    files["record.jsonl"] = b"\n".join(json.dumps(event).encode() for event in lines) + b"\n"
    manifest = json.loads(files["manifest.json"])
    manifest["labkit"] = manifest["part"] = HOSTILE
    manifest["claims"]["coupling"] = {HOSTILE: HOSTILE}
    files["manifest.json"] = json.dumps(manifest).encode()
    output = {"data": {"text/html": HOSTILE, "text/plain": HOSTILE, "application/javascript": "alert(5)"}}
    cell = {"cell_type": "code", "source": HOSTILE, "outputs": [output], "metadata": {}}
    files["pair.ipynb"] = json.dumps({"cells": [cell], "metadata": {"widgets": {HOSTILE: HOSTILE}}}).encode()


@pytest.fixture(scope="module")
def reviewed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of bundles, sound, odd and hostile, with its review."""
    folder = tmp_path_factory.mktemp("handed-in")
    sound = bundle(folder / "b", 1)
    for seed in range(2, 12):
        (folder / f"group-{seed:02}.zip").write_bytes(bundle(folder / "b", seed))
    for name, fault in {
        "slip": PrefixSlip(WIRINGS["line-reversed"], 3),
        "shorted": BuiltInstead(WIRINGS["side"], "1a 1b | 2a=2b"),
    }.items():
        (folder / f"group-{name}.zip").write_bytes(bundle(folder / "b", 12, faults=(fault,)))
    (folder / "group-torn.zip").write_bytes(sound[:2000])
    (folder / "group-uncarded.zip").write_bytes(bundle(folder / "b", 13, card=None, own=False))
    (folder / "poisoned.zip").write_bytes(changed(sound, _poisoned))
    for name in NAMES:
        (folder / name).write_bytes(
            with_manifest(sound, lambda m: m["claims"]["coupling"].update(route=HOSTILE))
        )
    review(folder, jobs=1, progress=False)
    return folder


class Watched:
    """A page that notes whatever it asks for, says or runs."""

    def __init__(self, page: Page, file: Path) -> None:
        self.page, self.asked, self.said = page, [], []  # type: ignore[var-annotated]
        page.on("request", lambda request: self.asked.append(request.url))
        page.on("dialog", lambda dialog: (self.said.append(dialog.message), dialog.dismiss()))
        page.on("console", lambda message: self.said.append(message.text))
        page.on("pageerror", lambda error: self.said.append(str(error)))
        page.goto(file.as_uri())
        page.wait_for_load_state("networkidle")


@pytest.fixture(params=SIZES)
def watched(browser: Browser, reviewed: Path, request: pytest.FixtureRequest) -> Iterator[Watched]:
    """The page at laptop or projector size."""
    width, height = SIZES[request.param]
    context = browser.new_context(viewport={"width": width, "height": height})
    watched = Watched(context.new_page(), reviewed / "review.html")
    screenshot(watched.page, "review")
    watched.page.locator("section").nth(11).scroll_into_view_if_needed()
    screenshot(watched.page, "review-feedback")
    watched.page.evaluate("scrollTo(0, 0)")
    yield watched
    context.close()


def test_hostile_texts_lie_there_inert(watched: Watched, reviewed: Path) -> None:
    """Nothing runs, nothing is asked for but the page, and the texts stand there to be read as texts."""
    page = watched.page
    assert watched.said == []
    assert watched.asked == [(reviewed / "review.html").as_uri()]
    assert page.title() == words.TITLE
    assert page.locator("script, img, iframe, object, embed, svg, form, [onerror], [style]").count() == 0
    body = page.locator("body").inner_text()
    assert "<img src=x onerror=alert(3)>" in body
    assert "<script>document.title=" in body
    assert "{{ 7*7 }}" in body
    assert page.locator("tr", has_text="group-shorted").get_by_text(f"yes, {words.REMARKED}").count() == 1


def test_links_lead_where_they_say(watched: Watched, reviewed: Path) -> None:
    """A name leads to its section and back, and every file link to the very bundle beside the page."""
    page = watched.page
    for name in page.locator("tbody th a").all():
        name.click()
        section = page.locator(":target")
        assert section.locator("h2").inner_text() == name.inner_text()
        page.go_back()
    links = [link.evaluate("a => a.href") for link in page.get_by_text(words.OPEN_FILE).all()]
    files = [Path(unquote(urlparse(link).path)) for link in links]
    assert sorted(files) == sorted(reviewed.glob("*.zip"))
    assert all(link.startswith("file:///") for link in links)
    page.get_by_text(words.BACK).last.click()
    assert page.evaluate("scrollY") == 0


def test_keys_suffice(watched: Watched) -> None:
    """Tab goes to the table and through its names, what has the focus can be seen, and Enter follows it."""
    page = watched.page
    page.keyboard.press("Tab")
    focused = page.locator(":focus")
    assert focused.get_attribute("role") == "region"
    assert focused.get_attribute("aria-label") == words.TABLE_CAPTION
    page.keyboard.press("Tab")
    assert focused.inner_text() == page.locator("tbody th a").first.inner_text()
    assert focused.evaluate("e => getComputedStyle(e).outlineStyle") != "none"
    page.keyboard.press("Enter")
    assert page.evaluate("location.hash") == "#bundle-1"
    page.keyboard.press("Tab")
    assert focused.inner_text() == words.OPEN_FILE


def test_it_reads_well(watched: Watched) -> None:
    """The page never scrolls sideways as a whole, and axe-core finds nothing to object to."""
    page = watched.page
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    assert page.locator(".scroll").evaluate("e => e.scrollWidth <= e.clientWidth")
    found = axe(page)
    assert found.violations == []
    assert found.scanned > 10
