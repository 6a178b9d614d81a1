"""The characterisation report: one page, offline, the same numbers in page, CSV and JSON."""

import base64
import csv
import gzip
import json
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

import labkit
from labkit.choke.choke_fit import model_table
from labkit.choke.findings import say, shown
from labkit.cli import main
from labkit.errors import EntryError
from labkit.faces.choke_report import CHARTS, CONTENTS, Download, characterisation_report, characterise
from labkit.record.bench import Bench
from labkit.record.demo import demo_bench
from labkit.words.fitting import HEADER, NOT_QUOTED, OPEN_WINDING, VERDICT, YET_DESCRIBED
from tests.benches import coupled_bench, empty_bench
from tests.pages import SVG, by_id, parse, section, text
from tests.unit.test_characterisation import swept_bench


@pytest.fixture(scope="module")
def bench() -> Bench:
    """The shipped choke."""
    return demo_bench("choke_characterisation")


@pytest.fixture(scope="module")
def html(bench: Bench) -> str:
    """Its report."""
    return characterisation_report(bench).html


@pytest.fixture(scope="module")
def page(html: str) -> ElementTree.Element:
    """The same, read back as strict XML."""
    return parse(html)


def downloads(page: ElementTree.Element) -> dict[str, str]:
    """The files inside the page, by the end of their names."""
    found = {}
    for link in page.iter("a"):
        if name := link.get("download"):
            kind, data = str(link.get("href")).split(";base64,")
            assert kind.startswith("data:")
            found[name.removeprefix("choke-4-")] = base64.b64decode(data).decode()
    return found


def test_the_page_needs_nothing_else(html: str) -> None:
    """No script, no network: every address is inside the page, but for XML namespaces."""
    assert "<script" not in html
    outside = re.findall(r'(?:src|href)="(?!#|data:)([^"]*)"', html)
    assert outside == []
    assert not re.findall(r"url\((?!#)", html)
    assert set(re.findall(r'https?://[^\s"<]+', html)) <= {
        "http://www.w3.org/1998/Math/MathML",
        "http://www.w3.org/2000/svg",
        "http://www.w3.org/1999/xlink",
    }


def test_the_sections_stand_in_reading_order(page: ElementTree.Element) -> None:
    """Findings first; the contents link to every section, and every link inside the page leads somewhere."""
    assert [s.get("id") for s in page.iter("section")] == [id for id, _ in CONTENTS]
    ids = {element.get("id") for element in page.iter()}
    targets = {str(a.get("href"))[1:] for a in page.iter("a") if str(a.get("href")).startswith("#")}
    assert targets <= ids


def test_every_finding_stands_in_the_page(bench: Bench, page: ElementTree.Element) -> None:
    """Each sentence, with links to the sweeps and readings that it rests on."""
    said = text(section(page, "findings")).replace("En|", "E_n|")
    for finding in say(characterise(bench).found):
        assert re.sub(r"\s+", " ", finding.sentence) in said


def test_page_csv_and_json_hold_the_same_numbers(bench: Bench, page: ElementTree.Element) -> None:
    """Each key figure stands in the page as its CSV line says, and the JSON inside has the same value."""
    files = downloads(page)
    rows = {row["name"]: row for row in csv.DictReader(files["numbers.csv"].splitlines()[1:])}
    content = json.loads(files["numbers.json"])["scalars"]
    assert list(rows) == list(content)
    said = text(section(page, "numbers")) + text(section(page, "modes")) + text(section(page, "windings"))
    named = {n.column: n for n in characterise(bench).found.scalars}
    for name, row in rows.items():
        assert float(row["value"]) == content[name]["value"]
        assert float(row["value"]) == pytest.approx(named[name].value, rel=1e-8)
        if "insertion_loss" not in name:  # four of seven losses stand in the table of spots
            assert shown(named[name]) in said, name


def test_the_files_in_the_page_are_those_that_save_writes(
    bench: Bench, page: ElementTree.Element, tmp_path: Path
) -> None:
    """Two CSV, one JSON and a netlist, byte for byte; a foreign file of the same name is left alone."""
    result = characterise(bench)
    result.save(tmp_path)
    files = downloads(page)
    assert {path.name for path in tmp_path.iterdir()} == set(files)
    for name, content in files.items():
        assert (tmp_path / name).read_text(encoding="utf-8") == content
    result.save(tmp_path)
    (tmp_path / "numbers.csv").write_text("my own notes", encoding="utf-8")
    with pytest.raises(EntryError, match="no file of a characterisation"):
        result.save(tmp_path)
    assert (tmp_path / "numbers.csv").read_text(encoding="utf-8") == "my own notes"


def test_gaps_are_visible_in_the_table_of_conditions(page: ElementTree.Element) -> None:
    """The four-port's temperature is marked where it should stand."""
    row = by_id(page, "noted-sweep.four-port")
    assert "NOT NOTED" in text(row)
    assert "NOT NOTED" not in text(by_id(page, "noted-sweep.winding-1"))


def test_invented_data_are_marked_on_the_page_and_in_every_chart(page: ElementTree.Element) -> None:
    """A chart cut out of the page still says so."""
    charts = [d for d in page.iter("div") if d.get("class") == "chart"]
    assert len(charts) == len(CHARTS) - 1  # the mismatch of this choke is too small to be drawn
    assert all("invented data" in text(chart) for chart in charts)
    assert all(list(chart.iter(f"{SVG}svg")) for chart in charts)


def test_the_same_record_gives_the_same_page(bench: Bench, html: str) -> None:
    """Byte for byte, from nothing."""
    assert characterisation_report(demo_bench("choke_characterisation")).html == html


def test_three_windings_make_a_page_of_their_own() -> None:
    """Nothing in it supposes two windings."""
    page = parse(characterisation_report(demo_bench("three_windings")).html)
    said = text(page)
    assert "1 and 3" in said or "1, 3" in said
    assert "1a=2a=3a" in said


def test_a_bench_without_sweeps_makes_a_page_that_says_so(tmp_path: Path) -> None:
    """Sections stand with a sentence each, and nothing fails."""
    for bench in (empty_bench(tmp_path / "empty"), coupled_bench(tmp_path / "read")):
        said = text(parse(characterisation_report(bench).html))
        assert "There is no sweep in this record yet" in said


def test_an_entry_that_looks_like_markup_stays_text(tmp_path: Path) -> None:
    """Names of sweeps, files and conditions are escaped."""
    bench = swept_bench(tmp_path, {"one": "1a 1b"})
    nasty = '<img src="http://x.invalid/y" onerror="z">'
    (tmp_path / "again.csv").write_bytes((tmp_path / "one.csv").read_bytes())
    bench.sweep("1a 1b", tmp_path / "again.csv", "again", fixture=nasty)
    page = parse(characterisation_report(bench).html)
    assert not list(page.iter("img"))
    assert nasty in text(page)


def test_the_command_line_writes_both_reports(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With readings and sweeps a report and a characterisation, with sweeps alone only the latter."""
    bench = swept_bench(tmp_path)
    folder = bench.record.folder
    assert main(["report", str(folder)]) == 0
    assert "Characteri" in (folder / "report.html").read_text(encoding="utf-8")
    bench.read("1a 1b", "4.71 mH", "one-read")
    assert main(["report", str(folder)]) == 0
    assert (folder / "report-characterisation.html").exists()
    assert "Characterisation written to" in capsys.readouterr().out


def test_an_unknown_chart_is_refused_with_the_names_of_all(bench: Bench, tmp_path: Path) -> None:
    """One sentence; and a chart without its sweeps says so."""
    with pytest.raises(EntryError, match="there are sweeps, modes, phases"):
        characterise(bench).picture("smith")
    with pytest.raises(EntryError, match="poster"):
        characterise(bench).picture("modes", size="poster")
    assert 'width="1624"' in characterise(bench).picture("modes", size="projector").svg
    assert "nothing to draw" in labkit.characterise(empty_bench(tmp_path)).picture("modes").alt


def test_parts_of_the_result_show_themselves(bench: Bench) -> None:
    """Each part is plain text in a terminal and HTML in a notebook."""
    result = characterise(bench)
    for part in (result, result.matrix, result.leakage, result.modes, result.losses, result.resonances):
        assert len(str(part)) > 100
        assert "<" in part._repr_html_()
    assert "4.693" in str(result.models)
    assert ".subckt choke" in result.netlist


def test_what_does_not_describe_a_sweep_has_no_parameters(bench: Bench) -> None:
    """Tables of models give parameters only where the model describes the sweep, else say why not."""
    tables = [model_table(each) for each in characterise(bench).choices]
    rows = [dict(zip(HEADER, row, strict=True)) for table in tables for row in table.rows]
    without = [row for row in rows if "not" in row["verdict"].lower().split()]
    assert without
    assert len(without) < len(rows)
    for row in rows:
        assert (row["parameters"] == NOT_QUOTED) == (row in without)


def test_numbers_and_tables_quote_the_same_parameters(bench: Bench) -> None:
    """A parameter of a model is among the numbers if its table gives it with an uncertainty, never else."""
    result = characterise(bench)
    numbers = [n for n in result.found.scalars if n.name.startswith("model_")]
    believed = [each for each in result.choices if each.choice.believed]
    rows = [dict(zip(HEADER, row, strict=True)) for each in believed for row in model_table(each).rows]
    quoted = [row["parameters"].count("±") for row in rows if row["verdict"] == VERDICT[True]]
    assert len(numbers) == sum(quoted) > 0
    assert all(n.u is not None and n.u < n.value / 2 for n in numbers)


def test_why_no_model_describes_a_winding_alone_is_said(page: ElementTree.Element) -> None:
    """Once for each of the two windings, and that one choke for all does; not below any other sweep."""
    said = [text(p) for p in section(page, "models").iter("p")]
    assert sum(OPEN_WINDING in each for each in said) == 2
    assert sum(YET_DESCRIBED in each for each in said) == 2


def test_what_the_stated_accuracy_of_a_four_port_explains_is_no_trouble(bench: Bench) -> None:
    """Its noise makes power out exceed power in by less than the 0.05 % allow: the check holds."""
    said = " ".join(str(labkit.modes(bench, of="sweep.four-port")).split())
    assert "a passive part gives no power" not in said
    assert "magnetised core" not in said


def test_the_usual_report_points_to_the_sweeps(bench: Bench) -> None:
    """It says how many there are and which call lays them out; a record without any says nothing."""
    assert "This record holds 7 sweeps as well" in labkit.report(bench).html
    assert "sweeps as well" not in labkit.report(demo_bench("coupled_pair")).html


def test_a_large_file_is_packed_inside_the_page() -> None:
    """Above a megabyte it is gzip and named so, and unpacks to the same text; below it stands as it is."""
    content = "frequency_Hz,value_Ohm\n" + "1000.0,29.6\n" * 100_000
    large, small = (Download.of("p", "spectra.csv", each) for each in (content, content[:1000]))
    assert large.file == "p-spectra.csv.gz"
    packed = base64.b64decode(large.href.split(";base64,")[1])
    assert gzip.decompress(packed).decode() == content
    assert len(packed) < len(content) / 10
    assert small.file == "p-spectra.csv"
    assert Download.of("p", "spectra.csv", content) == large
