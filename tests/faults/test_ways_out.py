"""Every way out: no terminal obeys what was typed or handed in, and no spreadsheet works it out."""

import csv
import io
import re
import unicodedata
from collections.abc import Callable
from pathlib import Path

import pytest

import labkit
from labkit import cli
from labkit.choke.export import Numbers
from labkit.errors import CardError, EntryError, LabkitError
from labkit.handin import pack as precheck
from labkit.handin.check import closed
from labkit.handin.review import table
from labkit.resources import shipped
from labkit.show import Table, spreadsheet_cell
from tests.benches import WIRINGS, empty_bench
from tests.bundles import packed

OBEYED = "\x1b]0;owned\x07\x1b[2J\u202e\u2066\u2028\x9b31m\r"
TURNED = "\u202e\u2066"  # stands on one line, where the record takes no control characters
TOML = "".join(f"\\u{ord(character):04x}" for character in OBEYED)
NAME = f"n{OBEYED}"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A bench whose every free text, card and file name is hostile; name of the folder included."""
    folder = tmp_path / f"bench {NAME}"
    bench = empty_bench(folder, title=f"part {TURNED}")
    card = shipped("data", "cards", "bench-fine.toml").read_text(encoding="utf-8")
    hostile = card.replace('title = "', f'title = "{TOML}').replace('source = "', f'source = "{TOML}')
    (tmp_path / "card.toml").write_text(hostile, encoding="utf-8")
    bench.meter("meter-a", tmp_path / "card.toml")
    bench.note_conditions(note=f"note {TURNED}", correction=f"leads {TURNED}")
    bench.use(frequency="10 kHz", mode="series", meter="meter-a")
    for id, shown in {"one": "10.00 mH", "two": "9.96 mH", "line": "39.90 mH"}.items():
        bench.read(WIRINGS[id], shown, id=id)
    bench.correct("two", "9.97 mH", reason=f"because {TURNED}", by="p1")
    bench.write("explanation", f"words {TURNED}", by="p1")
    (folder / f"file {NAME}.txt").write_bytes(b"x")
    (folder / "lesson.ipynb").write_text("{}", encoding="utf-8")
    return folder


def summary(folder: Path) -> list[str]:
    return ["summary", str(folder)]


def report(folder: Path) -> list[str]:
    return ["report", str(folder), "--out", str(folder / f"{NAME}.html")]


def pack(folder: Path) -> list[str]:
    return ["pack", str(folder)]


def check(folder: Path) -> list[str]:
    bundle = folder.parent / f"bundle {NAME}.zip"
    bundle.write_bytes(packed(folder))
    return ["check", str(bundle)]


def check_of_no_bundle(folder: Path) -> list[str]:
    bundle = folder.parent / f"bundle {NAME}.zip"
    bundle.write_bytes(b"no zip")
    return ["check", str(bundle)]


def review(folder: Path) -> list[str]:
    check(folder)
    return ["review", str(folder.parent), "--jobs", "1"]


def error(folder: Path) -> list[str]:
    return ["summary", str(folder / NAME)]


def new(folder: Path) -> list[str]:
    return ["new", str(folder.parent / f"new {NAME}"), "--part", "sample-8"]


WAYS = (summary, report, pack, check, check_of_no_bundle, review, error, new)


def obeyed(text: str) -> set[str]:
    """The characters of a text, lines and spaces aside, that no person can see."""
    return {c for c in text if not c.isprintable() and c != "\n" and unicodedata.category(c) != "Zs"}


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.__name__)
def test_a_terminal_is_told_nothing(
    way: Callable[[Path], list[str]],
    folder: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Whatever a command prints, on both streams, is text to be seen; something hostile was among it."""
    monkeypatch.setattr(precheck, "run_notebook", lambda *_: f"Error: {OBEYED}")
    cli.main(way(folder))
    out, err = capsys.readouterr()
    printed = out + err.rpartition("\r")[2]  # a progress bar goes back to the start of its own line
    assert obeyed(printed) == set()
    assert "\N{REPLACEMENT CHARACTER}" in printed


def test_a_refusal_of_the_command_line_repeats_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    """A file name too many, as a shell's star makes it, is shown with marks."""
    with pytest.raises(SystemExit):
        cli.main(["check", "a.zip", NAME])
    printed = capsys.readouterr().err
    assert "n\N{REPLACEMENT CHARACTER}]0;owned" in printed
    assert obeyed(printed) == set()


@pytest.mark.parametrize("kind", [LabkitError, EntryError, CardError])
def test_an_error_can_be_printed(kind: type[LabkitError]) -> None:
    """In a traceback too; what was given stays as it was."""
    assert obeyed(str(kind(f"There is no {OBEYED}."))) == set()
    assert EntryError("no", OBEYED).given == OBEYED


def test_a_result_can_be_printed(folder: Path) -> None:
    """In Python as on the command line, and in the text that a notebook keeps beside its HTML."""
    bench = labkit.open_bench(folder)
    for result in (bench, labkit.predict(bench), labkit.compare(bench), labkit.explain(bench)):
        assert obeyed(str(result)) == set()


def test_no_cell_of_a_printed_table_becomes_a_row() -> None:
    """Text with lines in it stays in its row."""
    plain = Table(("a", "b"), (("x\nforged  row", "y\u2028z"),), "c\nd").plain()
    assert len(plain.splitlines()) == 4


SIGNS = ("=", "+", "-", "@", "＝", "＋", "－", "＠", "﹦", "﹢", "﹣", "﹫")
BEFORE = ("", "x;", "x,", "x;  ", 'x;"', "x\n", "x\t;", "\t", "\r", " ", '"', "x\u2028")


@pytest.mark.parametrize("sign", SIGNS)
@pytest.mark.parametrize("before", BEFORE)
def test_no_cell_is_a_formula(before: str, sign: str) -> None:
    """Read with commas, semicolons or tabs between, quoted or not, no piece begins with a sign."""
    hostile = f"{before}{sign}cmd|' /C calc'!A0"
    text = table([closed(hostile, hostile)]).decode("utf-8-sig")
    for separator in ",;\t":
        for row in csv.reader(io.StringIO(text), delimiter=separator):
            assert not [cell for cell in row if cell.strip(' "').startswith(SIGNS)], row
        pieces = re.split(rf'["\n{separator}]+', text)
        assert not [piece for piece in pieces if piece.strip().startswith(SIGNS)]


@pytest.mark.parametrize("sign", SIGNS)
def test_the_citation_of_a_file_of_numbers_is_one_cell(sign: str) -> None:
    """A title with commas, semicolons and lines in it makes no further cell, and no formula."""
    numbers = Numbers((), (), None, f'a, b;{sign}cmd, "{sign}c"\n{sign}d', {})
    for text in (numbers.csv, numbers.spectra_csv):
        first, *_ = csv.reader(io.StringIO(text))
        assert len(first) == 1
        assert first[0].startswith("# a, b;")
        pieces = [piece.strip(' "') for piece in re.split("[,;\n]", text)]
        assert not [piece for piece in pieces if piece.startswith(SIGNS)]


@pytest.mark.parametrize("text", ["k = 0.998", "2 - 1", "M is −5 mH; k is 0.9", "winding 1 + winding 2", ""])
def test_a_sentence_stays_as_it_is(text: str) -> None:
    """Signs inside a piece begin no formula."""
    assert spreadsheet_cell(text) == text
