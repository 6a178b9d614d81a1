"""Whatever people type into a record, the report shows it as text and stays in one piece."""

import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from labkit.errors import RecordError
from labkit.faces.report import report
from labkit.record.bench import Bench
from tests.benches import empty_bench
from tests.pages import parse

HOSTILE = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onmouseover='alert(1)",
    "{{ 7 * 7 }}{% for x in range(9) %}x{% endfor %}{# #}",
    "</style></td></tr></table><h1>gone</h1>",
    "<!-- --> ]]> <![CDATA[ &lt; &amp; &#0; &nbsp;",
    "$x^{2$ \\frac{ %s {0} {name} %(a)s",
    "\u202etxet desrever\u202c \u200f\u200e\ufeff\u2028",
    "W" * 180,
    "é̀ 中文 😀 \U0001f468\u200d\U0001f52c \ud7ff\ue000",
    "javascript:alert(1) http://example.invalid/x.js",
    "E_n = 3 mH ± 2",
]


def troubled(folder: Path, text: str) -> Bench:
    """A bench with the same text in every field that takes one."""
    bench = empty_bench(folder, text, title=text, description=text, core=text)
    bench.meter(text)
    bench.note_conditions(temperature=text, place=text, note=text)
    bench.use(meter=text)
    bench.commit("1a 2a | 1b=2b", "20 mH", "own")
    bench.read("1a 1b", "10.0 mH", "one")
    bench.read("2a 2b", "10.0 mH", "two")
    bench.correct("two", "10.1 mH", text)
    bench.read("1a 2a | 1b=2b", "25 µH", "both")
    bench.withdraw("one", text)
    bench.write(text, text)
    return bench


@pytest.fixture(scope="module")
def harmless(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The same report with an innocent text."""
    return report(troubled(tmp_path_factory.mktemp("plain"), "innocent")).html


def as_shown(text: str) -> str:
    """What a page can hold of a text: its line ends are one kind, and noncharacters are replaced."""
    return re.sub("[\ufffe\uffff]", "\ufffd", text.replace("\r\n", "\n").replace("\r", "\n"))


def set_apart(html: str) -> list[str]:
    """The texts that the page keeps apart from its own words."""
    return ["".join(element.itertext()) for element in parse(html).iter("bdi")]


def skeleton(html: str) -> list[tuple[Any, ...]]:
    """Every element with the names of its attributes, in order."""
    return [(element.tag, *element.attrib) for element in parse(html).iter()]


@pytest.mark.parametrize("text", HOSTILE)
def test_no_text_becomes_markup(tmp_path: Path, text: str, harmless: str) -> None:
    """With hostile text in every field the page has the very elements and attributes that it has without."""
    html = report(troubled(tmp_path, text)).html
    added = [element for element in skeleton(html) if element[0] not in ("i", "sub")]
    assert added == [element for element in skeleton(harmless) if element[0] not in ("i", "sub")]


@pytest.mark.parametrize("text", HOSTILE)
def test_nothing_typed_is_lost_or_changed(tmp_path: Path, text: str, harmless: str) -> None:
    """Each field's text stands in the page letter by letter: name, title, conditions, reasons, own words."""
    there = set_apart(harmless).count("innocent")
    assert there >= 12
    assert set_apart(report(troubled(tmp_path, text)).html).count(text) == there


@settings(max_examples=60)
@example(text="line\r\nend\rand \uffff \ufffe \U0001fffe")
@given(text=st.text(min_size=1, max_size=150))
def test_any_text_that_a_record_takes(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    """For arbitrary characters the record refuses the text, or the page is well-formed and shows it."""
    bench = empty_bench(tmp_path_factory.mktemp("any"))
    try:
        bench.write("thoughts", text)
    except RecordError:
        return
    shown = set_apart(report(bench).html)
    assert not text.strip() or shown.count(as_shown(text)) >= 1


def test_templates_in_text_are_not_run(tmp_path: Path) -> None:
    """Text that looks like the page's own template is shown as typed, not worked out."""
    html = report(troubled(tmp_path, "{{ 7 * 7 }}")).html
    assert "{{ 7 * 7 }}" in html
    assert not re.search(r"\b49\b", html)


def test_long_words_cannot_widen_the_page(tmp_path: Path) -> None:
    """The rules of the page break words of any length in tables, and let a table scroll in itself."""
    html = report(troubled(tmp_path, "W" * 180)).html
    assert "tbody th, .facts td, .readings td, td a { overflow-wrap: anywhere; }" in html
    assert re.search(r"\.scroll \{[^}]*overflow-x: auto", html)
