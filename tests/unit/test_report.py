"""The report holds what the record and its analysis say, all of it, in one page that needs nothing else."""

import itertools
import os
import re
import subprocess
import sys
from datetime import datetime
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from IPython.lib.pretty import pretty

import labkit
from labkit import quantity
from labkit.analysis.analysis import analyse
from labkit.analysis.compare import SEED
from labkit.analysis.findings import find
from labkit.errors import EntryError
from labkit.faces.report import CONTENTS, report
from labkit.record.bench import Bench, open_bench
from labkit.words import labels
from labkit.words import record as caution_words
from labkit.words import report as words
from tests.benches import PAIR, coupled_bench, empty_bench, three_winding_bench
from tests.pages import MATH, SVG, by_id, facts, parse, section, text

Page = ElementTree.Element


@pytest.fixture(scope="module")
def lesson(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    """A pair read in six wirings, with gaps, a correction and a withdrawal; nothing may be added to it."""
    bench = coupled_bench(tmp_path_factory.mktemp("lesson"))
    bench.note_conditions(temperature="23.1 °C", humidity=None)
    bench.use(meter="meter-a", mode="series", frequency="not known")
    bench.read("1a 1b | 2a=2b", "24.9 mH", "shorted", second="Q 3.1")
    bench.correct("shorted", "24.9 µH", "prefix slip", by="p2")
    bench.read("1a 1b", "12.3 mH", "other-part")
    bench.withdraw("other-part", "another part was picked up")
    bench.write("why", "Both sit on one flux.\nSo they add.", by="p1")
    return bench


@pytest.fixture(scope="module")
def page(lesson: Bench) -> Page:
    """The lesson's report."""
    return parse(report(lesson).html)


def test_the_sections_stand_in_reading_order(page: Page) -> None:
    """Findings first, cautions and provenance last; the contents link to every section."""
    assert [s.get("id") for s in page.iter("section")] == [id for id, _ in CONTENTS]
    (nav,) = page.iter("nav")
    assert [a.get("href") for a in nav.iter("a")] == [f"#{id}" for id, _ in CONTENTS]


def test_every_finding_stands_there_with_links_to_its_readings(lesson: Bench, page: Page) -> None:
    """Each sentence is there, and each id that it rests on is a link to the row of that entry."""
    items = {text(next(li.iter("p"))): li for li in section(page, "findings").iter("li")}
    found = find(analyse(lesson))
    assert len(items) == len(found) > 10
    for finding in found:
        item = items[finding.sentence.replace("E_n", "En")]
        links = [a.get("href", "") for a in item.iter("a")]
        assert [by_id(page, link[1:]).tag for link in links] == ["tr"] * len(finding.ids)
        assert [text(a) for a in item.iter("a")] == list(finding.ids)


def test_every_link_leads_somewhere_and_no_id_stands_twice(page: Page) -> None:
    """All links stay in the page and meet an id that is there once."""
    ids = [e.get("id") for e in page.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    assert {a.get("href", "")[1:] for a in page.iter("a")} <= set(ids)
    assert all(a.get("href", "").startswith("#") for a in page.iter("a"))


def test_comparisons_are_those_of_the_analysis(lesson: Bench, page: Page) -> None:
    """Every reading against every statement: value, discrepancy, E_n and verdict as the analysis has them."""
    rows = [row for row in section(page, "comparison").iter("tr") if row.find("td") is not None]
    comparisons = analyse(lesson).comparisons
    assert len(rows) == len(comparisons) > 15
    for row, c in zip(rows, comparisons, strict=True):
        cells = [text(cell) for cell in row.iter("td")]
        assert cells[:4] == [c.statement.title, c.predicted_text, c.discrepancy_text, c.E_n_text]
        assert cells[4].startswith(c.verdict.text)


def test_predictions_are_those_of_the_analysis(lesson: Bench, page: Page) -> None:
    """Uncoupled and coupled prediction of each connection stand in its row, each with its uncertainty."""
    table = list(section(page, "predictions").iter("table"))[1]
    rows = {text(cells[0]): [text(c) for c in cells[1:]] for cells in map(list, table.iter("tr"))}
    for p in analyse(lesson).predictions:
        row = rows[labels.CONNECTION[p.connection]]
        ruled = [r for r in (p.uncoupled, None if p.is_input else p.coupled) if r]
        assert ruled or p.is_input
        for r in ruled:
            assert quantity.display(r.estimate.value, r.estimate.standard_uncertainty) in row


def test_routes_and_closures_are_those_of_the_analysis(lesson: Bench, page: Page) -> None:
    """M and k by every route with its status, and every closure with its verdict."""
    analysis = analyse(lesson)
    said = text(section(page, "coupling"))
    for route, by in analysis.couplings.items():
        assert f"{route.title}: {'no solution' if isinstance(by, str) else by.brief}" in said
        assert isinstance(by, str) or by.text(by.mutual_inductance) in said
    closures = text(section(page, "closures"))
    assert analysis.closures
    assert all(c.title in closures and c.text in closures for c in analysis.closures)


def test_the_budget_adds_up(lesson: Bench, page: Page) -> None:
    """Each source of error stands with its contribution; their squares add up to that of u."""
    tables = [t for t in section(page, "budget").iter("table") if "parallel-aiding" in text(t[0])]
    rows = [[text(c) for c in row] for row in tables[1].iter("tr")][1:]
    parts = [quantity.parse(row[2]).value for row in rows]
    coupled = next(p.coupled for p in analyse(lesson).predictions if p.connection == "parallel_aiding")
    assert coupled is not None
    assert len(parts) == len(coupled.estimate.contributions) > 5
    assert sum(x * x for x in parts) ** 0.5 == pytest.approx(coupled.estimate.standard_uncertainty, rel=0.03)


def test_each_wiring_that_was_read_is_drawn_and_derived(lesson: Bench, page: Page) -> None:
    """Every reading's row has the schematic of its wiring; every wiring has a derivation with formulas."""
    readings = section(page, "readings")
    drawn = [svg.get("data-wiring") for svg in readings.iter(f"{SVG}svg")]
    entered = [e.wiring for e in lesson.events if e.event == "reading"]
    assert drawn == entered
    derivation = section(page, "derivation")
    assert len(list(derivation.iter("article"))) == len(set(entered))
    assert all(list(article.iter(f"{MATH}math")) for article in derivation.iter("article"))


def test_formulas_are_mathml_with_a_true_minus(page: Page) -> None:
    """Formulas are MathML; minus is U+2212 and never a hyphen; each has an alternative in text."""
    formulas = list(section(page, "derivation").iter(f"{MATH}math"))
    operators = [operator.text for formula in formulas for operator in formula.iter(f"{MATH}mo")]
    assert "\N{MINUS SIGN}" in operators
    assert "-" not in operators
    assert all(formula.get("alttext") for formula in formulas)


def test_gaps_are_visible(page: Page) -> None:
    """What nobody asked is told from what was asked and is not known, and both from what was recorded."""
    tables = [
        facts(table) for table in section(page, "conditions").iter("table") if table.get("class") == "facts"
    ]
    part, conditions = tables[0], tables[1]
    assert part["core"] == words.NOT_RECORDED
    assert conditions["humidity"] == "asked, not known (line 15)"
    assert conditions["test level"] == words.NOT_RECORDED
    assert conditions["temperature"].startswith("23.1 °C (line")
    assert conditions["test frequency"].startswith(
        "10 kHz: one, two, line, line-reversed, side, side-reversed"
    )
    assert conditions["test frequency"].endswith("asked, not known: shorted")


def test_a_correction_shows_both_values_and_the_reason(page: Page) -> None:
    """The reading's row holds the first value, the corrected one, the reason and both lines."""
    row = by_id(page, "reading-shorted")
    assert [text(e) for e in row.iter("del")] == ["24.9 mH"]
    assert [text(e) for e in row.iter("ins")] == ["24.9 µH"]
    assert "prefix slip" in text(row)
    assert "lines 16, 17" in text(row)


def test_a_withdrawn_reading_stays_in_view(page: Page) -> None:
    """A reading that does not count is still listed, marked so, with the reason."""
    said = text(by_id(page, "reading-other-part"))
    assert words.WITHDRAWN in said
    assert "another part was picked up" in said
    assert "12.3 mH" in said


def test_displays_stand_as_typed(tmp_path: Path) -> None:
    """What was typed is shown unaltered, and beside it how it was understood."""
    bench = empty_bench(tmp_path)
    bench.read("1a 1b", "10,00 mH", "comma")
    row = by_id(parse(report(bench).html), "reading-comma")
    assert "10,00 mH" in text(row)
    assert "read as 10.00 mH" in text(row)


def test_own_predictions_and_own_words_are_there(lesson: Bench, page: Page) -> None:
    """Each own prediction with its id, value and line; own words with line breaks and pseudonym."""
    for p in lesson.predictions:
        row = text(by_id(page, f"prediction-{p.id}"))
        assert str(p.shown) in row
        assert row.endswith(str(p.line))
    assert "Both sit on one flux.\nSo they add." in "".join(section(page, "own-words").itertext())
    assert "why: p1, line" in text(section(page, "own-words"))


def test_cautions_stand_in_every_report(page: Page) -> None:
    """All cautions are there, word for word."""
    assert [text(li) for li in section(page, "cautions").iter("li")] == list(caution_words.CAUTIONS)


def test_provenance_lets_the_report_be_made_again(lesson: Bench, page: Page) -> None:
    """Hash of the record, seed and draws, and the versions that made it."""
    said = facts(next(section(page, "provenance").iter("table")))
    assert said[words.DIGEST] == lesson.record.digest
    assert said[words.MONTE_CARLO] == f"1 000 000 draws, seed {SEED}"
    assert f"labkit {labkit.__version__}, Python {sys.version.split()[0]}, numpy " in said[words.VERSIONS]


def test_invented_data_are_marked(tmp_path: Path) -> None:
    """An invented record says so at the top and on every printed page; another one nowhere."""
    pages = [report(empty_bench(tmp_path / str(i), invented=i)).html for i in (True, False)]
    marked = [page.count(words.INVENTED) for page in pages]
    assert marked[0] >= 3
    assert marked[1] == 0
    assert words.INVENTED in text(next(parse(pages[0]).iter("header")))


def test_the_demo_says_that_it_is_the_demo(lesson: Bench) -> None:
    """A report made from the shipped demo record says that; another one does not."""
    assert words.DEMO in report(labkit.demo_bench()).html
    assert words.DEMO not in report(lesson).html


def test_damage_to_the_record_stands_at_the_top(tmp_path: Path) -> None:
    """A torn last line and a changed line are named above everything else."""
    coupled_bench(tmp_path, ["one", "two"])
    file = tmp_path / "record.jsonl"
    file.write_bytes(file.read_bytes().replace(b"9.990 mH", b"9.991 mH") + b'{"schema":1,"seq":')
    bench = open_bench(tmp_path)
    assert len(bench.record.problems) >= 2
    top = text(next(parse(report(bench).html).iter("header")))
    assert all(problem in top for problem in bench.record.problems)


def test_the_page_needs_nothing_else(lesson: Bench) -> None:
    """No script, no form of address that a browser would fetch, no style from elsewhere."""
    html = report(lesson).html
    assert not re.search(
        r"<script|<iframe|<object|<embed|<link|<img|<base|javascript:|@import", html, re.IGNORECASE
    )
    root = parse(html)
    fetching = {"src", "srcset", "data", "poster", "action", "background", "formaction", "ping", "manifest"}
    assert not [e.tag for e in root.iter() if fetching & set(e.attrib)]
    assert not [e.tag for e in root.iter() for name in e.attrib if name.lower().startswith("on")]
    assert set(re.findall(r"url\(([^)]*)\)", html)) == set(re.findall(r"url\((#[^)]*)\)", html))
    addresses = set(re.findall(r'https?://[^"\s<]*', html))
    assert addresses <= {
        "http://www.w3.org/1998/Math/MathML",
        "http://www.w3.org/2000/svg",
        "http://www.w3.org/1999/xlink",
    }


def test_the_page_is_accessible(page: Page) -> None:
    """Language, one first heading, no level skipped, captions and scopes, names for pictures."""
    assert page.get("lang") == "en"
    levels = [int(e.tag[1]) for e in page.iter() if re.fullmatch("h[1-6]", str(e.tag))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))
    for table in page.iter("table"):
        assert text(table[0])
        assert table[0].tag == "caption"
        assert all(th.get("scope") for th in table.iter("th"))
    pictures = [e for e in page.iter("figure") if list(e.iter(f"{SVG}svg"))]
    assert pictures
    assert all(e.get("role") == "img" and e.get("aria-label") for e in pictures)


def test_nothing_stands_where_a_browser_would_move_it(page: Page) -> None:
    """No block inside a paragraph or heading: a browser would close the paragraph and move the block out."""
    blocks = {
        "p",
        "div",
        "table",
        "ul",
        "ol",
        "figure",
        "section",
        "h1",
        "h2",
        "h3",
        "h4",
        "blockquote",
        "dl",
    }
    for outer in page.iter():
        if outer.tag in {"p", "h1", "h2", "h3", "h4", "caption"}:
            assert not [e.tag for e in outer.iter() if e is not outer and e.tag in blocks]


def test_the_same_record_gives_the_same_bytes(lesson: Bench, tmp_path: Path) -> None:
    """Made twice, and in another process with another order of sets, the report is the same."""
    once = report(lesson).html
    assert report(Bench(lesson.record)).html == once
    places = str(lesson.record.folder), str(tmp_path / "r.html")
    code = "import labkit; labkit.report(labkit.open_bench({!r}), {!r})".format(*places)
    subprocess.run([sys.executable, "-c", code], check=True, env={**os.environ, "PYTHONHASHSEED": "7"})
    assert (tmp_path / "r.html").read_text(encoding="utf-8") == once


def test_the_only_times_are_those_of_the_record(lesson: Bench) -> None:
    """No time of day is in the page that is not the time of an event."""
    moments = {event.utc.replace("T", " ")[:19] for event in lesson.events}
    found = re.findall(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d", report(lesson).html)
    assert {moment.replace("T", " ") for moment in found} <= moments
    assert str(datetime.now().year) not in {moment[:4] for moment in found}


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (empty_bench, words.NO_READINGS),
        (lambda folder: coupled_bench(folder, ["one", "side"], dots=None, card=None), words.DEPENDS_ON_DOTS),
        (lambda folder: coupled_bench(folder, card=None), words.NO_CARD),
        (lambda folder: coupled_bench(folder, dots=None), "the readings decide for 1a 2a"),
        (three_winding_bench, "1a 1b | 1a=2a=3a 1b=2b=3b"),
        (lambda folder: coupled_bench(folder, card="hand-held-coarse", lead_inductance=2e-7), "Hand-held"),
        (lambda folder: coupled_bench(folder, pair=PAIR, own=False), words.NO_OWN),
    ],
)
def test_every_state_of_a_record_has_a_report(tmp_path: Path, make: Any, said: str) -> None:
    """Empty, dots unknown, without a card, dots decided by readings, three windings: each says what is so."""
    bench = make(tmp_path)
    root = parse(report(bench).html)
    assert said in "".join(root.itertext())
    for finding in find(analyse(bench)):
        for id in finding.ids:
            assert [e.get("id") for e in root.iter() if e.get("id") in (f"reading-{id}", f"prediction-{id}")]


def test_without_a_card_no_uncertainty_is_invented(tmp_path: Path) -> None:
    """Where no card is, no ± stands anywhere outside the cautions and derivations."""
    root = parse(report(coupled_bench(tmp_path, card=None)).html)
    for id in ("findings", "picture", "predictions", "comparison", "closures", "coupling", "budget"):
        assert "±" not in text(section(root, id)), id


def test_it_is_written_to_the_file(lesson: Bench, tmp_path: Path) -> None:
    """The file holds the page in UTF-8, and what comes back says where, shortly."""
    result = report(lesson, tmp_path / "report.html")
    assert (tmp_path / "report.html").read_bytes() == result.html.encode()
    assert os.listdir(tmp_path) == ["report.html"]
    for shown in (str(pretty(result)), result._repr_html_()):
        assert "report.html" in shown
        assert "kB" in shown
        assert len(shown) < 3_000 < len(result.html)


def test_without_a_file_it_says_that_none_was_written(lesson: Bench) -> None:
    """A report that is only in memory says so."""
    assert "not written to a file" in str(report(lesson))


def test_an_earlier_report_is_replaced(lesson: Bench, tmp_path: Path) -> None:
    """The same name again gives the new report."""
    report(empty_bench(tmp_path / "b"), tmp_path / "report.html")
    result = report(lesson, str(tmp_path / "report.html"))
    assert (tmp_path / "report.html").read_text(encoding="utf-8") == result.html


def test_a_file_that_is_no_report_is_left_alone(tmp_path: Path) -> None:
    """Above all the record itself: it is refused with one sentence and not a byte of it changes."""
    bench = empty_bench(tmp_path)
    before = (tmp_path / "record.jsonl").read_bytes()
    for foreign in (tmp_path / "record.jsonl", tmp_path):
        with pytest.raises(EntryError, match="left as it is"):
            report(bench, foreign)
    assert (tmp_path / "record.jsonl").read_bytes() == before


def test_a_folder_that_is_not_there_is_not_made(lesson: Bench, tmp_path: Path) -> None:
    """A missing folder is refused with one sentence that names it."""
    with pytest.raises(EntryError, match=r"there is no folder '.*nowhere'"):
        report(lesson, tmp_path / "nowhere" / "report.html")
    assert not (tmp_path / "nowhere").exists()


def test_an_earlier_report_survives_a_failed_write(
    lesson: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """If the disk refuses, the earlier report is whole, nothing lies beside it, and a sentence says why."""
    file = tmp_path / "report.html"
    before = report(empty_bench(tmp_path.parent / "b"), file).html

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(EntryError, match="No space left on device"):
        report(lesson, file)
    assert file.read_text(encoding="utf-8") == before
    assert os.listdir(tmp_path) == ["report.html"]
