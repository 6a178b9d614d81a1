"""Hostile sweep files: whatever the bytes, one sentence or a result, and nothing stored that was refused."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from labkit.errors import LabkitError, SweepError
from labkit.sweeps import table_file as text
from labkit.sweeps.sweep import Impedance, Scattering
from labkit.sweeps.table_file import read_table
from labkit.sweeps.touchstone_file import read_touchstone
from tests.benches import empty_bench

NAMES = ["part.csv", "part.s1p", "part.s2p", "part.s4p", "part.ts", "part.z1p", "part", ""]

GOOD_TABLE = "f/kHz;Ls/mH;Rs/Ω\n1;10,5;6,0\n10;10,4;6,2\n"
GOOD_TWO = "# MHz S RI R 50\n1 0.1 0 0.9 0 0.9 0 0.1 0\n2 0.1 0 0.8 0 0.8 0 0.1 0\n"
GOOD_NEW = (
    "[Version] 2.0\n# MHz Z MA\n[Number of Ports] 1\n[Number of Frequencies] 2\n[Reference] 20\n"
    "[Network Data]\n100 74.25 -4\n200 60 -22\n[End]\n"
)


def outcome(data: bytes, name: str) -> Impedance | Scattering | str:
    """What a file gives, or the sentence with which it is refused."""
    try:
        return read_table(data, name) if name.endswith("csv") else read_touchstone(data, name)
    except LabkitError as error:
        return str(error)


def check(data: bytes, name: str) -> None:
    """One printable sentence, or finite values at ascending frequencies."""
    found = outcome(data, name)
    if isinstance(found, str):
        assert found.isprintable()
        assert len(found) < 500
        assert found.endswith(".")
    else:
        values = found.Z if isinstance(found, Impedance) else found.S
        assert np.all(np.isfinite(values))
        assert np.all(np.diff(found.frequency) > 0)
        assert found.frequency[0] > 0


@given(st.binary(max_size=200), st.sampled_from(NAMES))
def test_any_bytes(data: bytes, name: str) -> None:
    """Bytes of any kind are read or refused plainly."""
    check(data, name)


LINES = (
    "# MHz S MA R 50|#|# Hz Z RI|# 1 H G|[Version] 2.0|[Number of Ports] 2|[Reference] 50|[Reference]|[End]|"
    "[Network Data]|[Matrix Format] Lower|[Noise Data]|! c|[Two-Port Data Order] 12_21|[Begin Information]|"
    "[Number of Frequencies] 1|f/Hz;R/Ω;X/Ω|f/kHz,Z/Ω,phase/°|f/Hz;Lp/mH;Q|f;f;f|1,2,3|2;0;0|1 2 3|"
    "0 0 0|1 1 1 1 1 1 1 1 1|-1 2 3|1e999 1e999 1e999|2 1e308 1e308|1,5;2,5;3|1.5;2;3|nan;1;1|1 kHz;2;3|١;2;3"
)
ENDED = [f"{line}\n" for line in LINES.split("|")]
PIECES = st.sampled_from([*ENDED, '"', ",", "\t", ";", "\n", "\x00", "é", "1"])


@settings(max_examples=400)
@given(st.lists(PIECES, max_size=14).map("".join), st.sampled_from(NAMES))
@example("[Version] 2.0\n# Hz S RI\n[Number of Ports] 4\n[Reference] 50\n", "part.ts")
@example("[Version] 2.0\n# Hz S RI\n[Number of Ports] 1\n[Network Data]\n1\n2 3\n4 5 6\n", "part.ts")
def test_pieces_of_true_files(content: str, name: str) -> None:
    """Lines of true files in any order are read or refused plainly, and reading ends."""
    check(content.encode(), name)


@given(
    st.sampled_from([(GOOD_TABLE, "part.csv"), (GOOD_TWO, "part.s2p"), (GOOD_NEW, "part.ts")]),
    st.integers(0, 200),
    st.characters() | st.sampled_from([" ", "\n", "-", "9", ".", ",", ";", "[", "#", "!", '"', ""]),
)
def test_one_character_wrong(good: tuple[str, str], place: int, character: str) -> None:
    """A true file with one character replaced is read or refused plainly."""
    content, name = good
    place %= len(content)
    check((content[:place] + character + content[place + 1 :]).encode("utf-8", "surrogatepass"), name)


NOT_DATA = [
    (b"PK\x03\x04" + b"\x00" * 30, "a packed archive or a spreadsheet"),
    (b"%PDF-1.7\n", "a PDF document"),
    (b"\x89PNG\r\n\x1a\n", "a picture"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1", "an office document"),
    (b"<!DOCTYPE html><html></html>", "a web page"),
    (b"\xef\xbb\xbf <html>", "a web page"),
    (b"# MHz\x00 S MA R 50\n", "a binary file"),
    (b"\xff\xfe\x00\xd8", "a binary file"),
    (b"\x81\x8d\x8f", "a binary file"),
]


@pytest.mark.parametrize(("data", "what"), NOT_DATA, ids=[what for _, what in NOT_DATA])
@pytest.mark.parametrize("name", ["part.csv", "part.s2p"])
def test_a_file_that_is_not_what_it_says(data: bytes, what: str, name: str) -> None:
    """Archives, documents, pictures, pages and binary data are named as what they are."""
    sentence = str(outcome(data, name))
    assert sentence.startswith(f"{name} is {what}")
    assert sentence.endswith("and not a text file of numbers; export the sweep as CSV or Touchstone.")


@pytest.mark.parametrize("data", [b"", b"\n\n", b"\xef\xbb\xbf", b"   \r\n"])
@pytest.mark.parametrize("name", ["part.csv", "part.s2p"])
def test_an_empty_file(data: bytes, name: str) -> None:
    """A file without anything in it is told from one that is wrong."""
    assert outcome(data, name) == f"{name} is empty; export the sweep again."


@pytest.mark.parametrize("name", ["part.csv", "part.s2p"])
def test_a_file_beyond_any_sweep(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file above the limit is refused by its size, before anything of it is read."""
    monkeypatch.setattr(text, "MOST_BYTES", 2 * 1024 * 1024)
    assert "is larger than 2 MB" in str(outcome(b"\x00" * (2 * 1024 * 1024 + 1), name))


def test_a_line_beyond_any_sweep() -> None:
    """A line that never ends is refused with its number."""
    sentence = str(outcome(b"f;R\n" + b"1" * 20_000, "part.csv"))
    assert "part.csv, line 2 is longer than any line" in sentence


def test_names_cannot_speak_to_the_terminal() -> None:
    """A file's name enters a sentence short and without control characters or folders."""
    sentence = str(outcome(b"", "../../etc/\x1b[31m" + "a" * 200 + ".csv"))
    assert sentence.isprintable()
    assert "etc" not in sentence
    assert len(sentence) < 120


REFUSED = {
    "unsorted.csv": "f/Hz;R/Ω;X/Ω\n2;1;1\n1;1;1\n",
    "twice.csv": "f/Hz;R/Ω;X/Ω\n2;1;1\n2;1;1\n",
    "negative.csv": "f/Hz;R/Ω;X/Ω\n-2;1;1\n",
    "zero.csv": "f/Hz;R/Ω;X/Ω\n0;1;1\n",
    "missing.csv": "f/Hz;R/Ω\n1;1\n",
    "units.csv": "f/Hz;R/Ω;X/Ω\n1 kHz;1;1\n",
    "active.csv": "f/Hz;R/Ω;X/Ω\n1;1;1\n2;-1;1\n",
    "page.csv": "<html>",
    "unsorted.s1p": "# Hz S RI R 50\n2 0 0\n1 0 0\n",
    "active.s1p": "# Hz S RI R 50\n1 0.5 0\n2 1.1 0\n",
    "four.s1p": GOOD_TWO,
}


@pytest.mark.parametrize("name", REFUSED)
def test_nothing_is_stored_of_what_is_refused(tmp_path: Path, name: str) -> None:
    """After a refusal the record and its folder are as they were, and line or frequency is named."""
    bench = empty_bench(tmp_path / "bench")
    file = tmp_path / name
    file.write_text(REFUSED[name], encoding="utf-8")
    before = {path: path.read_bytes() for path in (tmp_path / "bench").rglob("*") if path.is_file()}
    with pytest.raises(SweepError) as caught:
        bench.sweep("1a 1b", file, setup="reflection" if name.endswith("s1p") else "impedance")
    if name != "page.csv":
        assert caught.value.line or caught.value.frequency
        assert "line" in str(caught.value) or "Hz" in str(caught.value)
    after = {path: path.read_bytes() for path in (tmp_path / "bench").rglob("*") if path.is_file()}
    assert after == before
    assert bench.sweeps == ()
