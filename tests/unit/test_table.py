"""Tables of impedances as instruments export them. All values here are invented."""

import re

import numpy as np
import pytest

from labkit.errors import SweepError
from labkit.sweeps.sweep import Decimal
from labkit.sweeps.table_file import read_table

OMEGA = 2 * np.pi * 1e3


def read(content: str, decimal: Decimal | None = None) -> list[complex]:
    """Impedances that a table gives."""
    return read_table(content.encode(), "part.csv", decimal=decimal).Z.tolist()  # type: ignore[no-any-return]


def refused(content: str, decimal: Decimal | None = None) -> SweepError:
    """The error with which a table is refused."""
    with pytest.raises(SweepError) as caught:
        read(content, decimal)
    return caught.value


# What is read


@pytest.mark.parametrize(
    "content",
    [
        "f/kHz;R/Ω;X/Ω\n1;1.5;2.5\n",
        "f/kHz;R/Ω;X/Ω\n1;1,5;2,5\n",
        "f/kHz\tR/Ω\tX/Ω\n1\t1,5\t2,5\n",
        "f/kHz,R/Ω,X/Ω\n1,1.5,2.5\n",
        'f/kHz,R/Ω,X/Ω\n1,"1,5","2,5"\n',
        "Frequency (Hz);Re(Z) [kOhm];Im(Z) [mΩ]\n1000;0.0015;2500\n",
        "freq_Hz,Rs_ohm,Xs_Ohm\n1e3,1.5E0,+2.5\n",
        "f in kHz; R in Ω; X in Ω\n 1 ; 1.5 ; 2.5 \n",
        "Frequency;Resistance;Reactance\nkHz;Ω;Ω\n1;1.5;2.5\n",
        "# f/kHz;R/Ω;X/Ω\n1;1.5;2.5\n",
        "\ufeffInstrument;none\nDate;2031-05-06\n\nf/kHz;R/Ω;X/Ω\n! note\n1;1.5;2.5\n# end\n",
        "f/kHz;R/Ω;X/Ω;\n1;1.5;2.5;\n",
        "status;X/Ω;f/kHz;R/Ω\nok;2.5;1;1.5\n",
        "f/kHz;R/\u2126;X/\u2126\r\n1;1.5;2.5\r\n",
        "f/kHz;R/Ω;X/Ω\n1;1.5;2.5",
        "F/KHz;R/Ω;X/Ω\n1;1.5;2.5",
    ],
)
def test_the_same_point_in_many_dresses(content: str) -> None:
    """Separators, decimal marks, units, order, comments, preambles and line ends do not change a point."""
    sweep = read_table(content.encode(), "part.csv")
    assert sweep.frequency.tolist() == [1000.0]
    assert sweep.Z.tolist() == [1.5 + 2.5j]


PAIRS = [
    ("R/Ω;X/Ω", "3;-4", 3 - 4j),
    ("|Z|/Ω;phase/°", "5;-53.13010235", 3 - 4j),
    ("|Z| / mΩ; θ / rad", "5000;-0.9272952180", 3 - 4j),
    ("Ls/mH;Rs/Ω", "10;6", 6 + 1j * OMEGA * 10e-3),
    ("Ls/mH;Q", "10;10", OMEGA * 1e-3 + 1j * OMEGA * 10e-3),
    ("Ls/mH;D", "10;0.1", OMEGA * 1e-3 + 1j * OMEGA * 10e-3),
    ("Lp/mH;Rp/kΩ", "10;5", 1 / (1 / 5e3 + 1 / (1j * OMEGA * 10e-3))),
    ("Lp/mH;Q", "10;10", 1 / (1 / (10 * OMEGA * 10e-3) + 1 / (1j * OMEGA * 10e-3))),
    ("Lp/mH;D", "10;0.1", 1 / (1 / (10 * OMEGA * 10e-3) + 1 / (1j * OMEGA * 10e-3))),
    ("Lp/mH;G/mS", "10;0.2", 1 / (2e-4 + 1 / (1j * OMEGA * 10e-3))),
    ("Cs/nF;Rs/Ω", "100;6", 6 + 1 / (1j * OMEGA * 100e-9)),
    ("Cs/nF;D", "100;0.1", (0.1 - 1j) / (OMEGA * 100e-9)),
    ("Cp/nF;Rp/kΩ", "100;5", 1 / (1 / 5e3 + 1j * OMEGA * 100e-9)),
    ("Cp/nF;D", "100;0.1", 1 / (OMEGA * 100e-9 * (0.1 + 1j))),
    ("Cp/nF;G/mS", "100;0.2", 1 / (2e-4 + 1j * OMEGA * 100e-9)),
    ("G/mS;B/mS", "3;4", 1 / (3e-3 + 4e-3j)),
]


@pytest.mark.parametrize(("heading", "row", "Z"), PAIRS, ids=[heading for heading, _, _ in PAIRS])
def test_pairs_of_columns(heading: str, row: str, Z: complex) -> None:
    """Each pair of columns gives the impedance that its equivalent circuit has."""
    assert read(f"f/kHz;{heading}\n1;{row}\n")[0] == pytest.approx(Z, rel=1e-9)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_encodings(encoding: str) -> None:
    """UTF-8 with and without a mark and UTF-16 with one are read."""
    data = "f/Hz;R/Ω;X/Ω\n1;2;3\n".encode(encoding)
    assert read_table(data, "part.csv").Z.tolist() == [2 + 3j]


def test_an_older_encoding() -> None:
    """What is not UTF-8 is read as Windows-1252, in which a degree sign is one byte."""
    data = "f/Hz;|Z|/Ohm;phase/°\n1;2;90\n".encode("cp1252")
    assert read_table(data, "part.csv").Z[0] == pytest.approx(2j, abs=1e-15)


def test_columns_that_say_the_same_twice() -> None:
    """|Z| and phase beside R and X are taken if they agree; what is rounded agrees."""
    assert read("f/Hz;|Z|/Ω;phase/°;R/Ω;X/Ω\n1;5.0;53.1;3.00;4.00\n") == [3 + 4j]


def test_a_quality_factor_of_two_digits_is_held_against_nothing() -> None:
    """Q is displayed too coarsely to contradict R and X, so it is not compared with them."""
    assert read("f/kHz;R/Ω;X/Ω;Ls/mH;Q\n1;60.00;62.83;10.00;1\n") == [60 + 62.83j]


# What is asked


@pytest.mark.parametrize("cell", ["1,000", "12,500", "999,999"])
def test_a_comma_before_three_digits_is_asked(cell: str) -> None:
    """If every comma may stand between thousands, the person is asked, and can answer."""
    content = f"f/Hz;R/Ω;X/Ω\n100;{cell};3\n"
    error = refused(content)
    assert error.line == 2
    assert "may be the decimal mark or separate thousands" in str(error)
    assert read(content, ",") == [float(cell.replace(",", ".")) + 3j]
    assert "is not a number" in str(refused(content, "."))


def test_one_plain_comma_answers_for_all() -> None:
    """A comma that cannot stand between thousands tells what the others are."""
    assert read("f/Hz;R/Ω;X/Ω\n100;1,000;0,5\n") == [1 + 0.5j]


def test_a_comma_that_may_separate_columns_is_asked() -> None:
    """More values than headings between commas are never dealt out by guess."""
    error = refused("f/Hz,R/Ω,X/Ω\n100,1,5,2,5\n")
    assert error.line == 2
    assert "5 values stand under 3 headings" in str(error)
    assert "may be the decimal mark or may separate columns" in str(error)


@pytest.mark.parametrize(("heading", "names"), [("L/mH", "Ls, Lp"), ("C/nF", "Cs, Cp")])
def test_a_bare_equivalent_is_asked(heading: str, names: str) -> None:
    """An L or C may be of the series or of the parallel equivalent."""
    error = refused(f"f/Hz;{heading};R/Ω\n1;2;3\n")
    assert f"'{heading}' may be a series or a parallel equivalent; name it {names}" in str(error)


# What is refused

REFUSED = [
    ("1;2;3\n2;3;4\n", 1, "no line of headings names a frequency; line 1 reads '1;2;3'"),
    ("f/Hz;R/Ω\n1;2\n", 1, "the columns f/Hz, R/Ω do not give an impedance"),
    ("f;R/Ω;X/Ω\n1;2;3\n", 1, "'f' states no unit"),
    ("f/Hz;R;X/Ω\n1;2;3\n", 1, "'R' states no unit"),
    ("f/Hz;|Z|/Ω;phase\n1;2;3\n", 1, "'phase' states no unit"),
    ("f/Hz;R/mH;X/Ω\n1;2;3\n", 1, "'mH' in 'R/mH' is not a unit of it; taken are µΩ, mΩ, Ω"),
    ("f/mHz;R/Ω;X/Ω\n1;2;3\n", 1, "'mHz' in 'f/mHz' is not a unit of it; taken are Hz, kHz"),
    ("f/Hz;Ls/mh;Rs/Ω\n1;2;3\n", 1, "'mh' in 'Ls/mh' is not a unit of it"),
    ("f/Hz;|Z|/Ω;phase/m\n1;2;3\n", 1, "'m' in 'phase/m' is not a unit of it; taken are °"),
    ("f/Hz;Ls/mH;Q/%\n1;2;3\n", 1, "'%' in 'Q/%' is not a unit of it; taken are none"),
    ("f/Hz;f/kHz;R/Ω;X/Ω\n1;1;1;1\n", 1, "'f/Hz' and 'f/kHz' both name the same quantity"),
    ("f/Hz;R/Ω;X/Ω\n", 1, "no numbers follow the headings"),
    ("f/Hz;R/Ω;X/Ω\n1;2;3;4;5\n", 2, "5 values stand under 3 headings"),
    ("f/Hz;R/Ω;X/Ω\n1\n", 2, "1 values stand under 3 headings"),
    ("f/Hz;R/Ω;X/Ω\n1;;3\n", 2, "nothing stands under 'R/Ω'"),
    ("f/Hz;R/Ω;X/Ω\n1;2\n", 2, "nothing stands under 'X/Ω'"),
    ("f/Hz;R/Ω;X/Ω\n1;2;3\n2;abc;3\n", 3, "'abc' under 'R/Ω' is not a number"),
    ("f/Hz;R/Ω;X/Ω\n1;nan;3\n", 2, "'nan' under 'R/Ω' is not a number"),
    ("f/Hz;R/Ω;X/Ω\n1;1_0;3\n", 2, "'1_0' under 'R/Ω' is not a number"),
    ("f/Hz;R/Ω;X/Ω\n1;٣;3\n", 2, "under 'R/Ω' is not a number"),
    ("f/Hz;R/Ω;X/Ω\n1 kHz;2;3\n", 2, "'1 kHz' carries a unit of its own"),
    ("f/Hz;R/Ω;X/Ω\n1;2,5;3\n2;2.5;3\n", 3, "'2,5' holds a comma and '2.5' a point"),
    ("f/Hz;R/Ω;X/Ω\n1;2,500;3\n2;2.5;3\n", 3, "'2,500' holds a comma and '2.5' a point"),
    ("f/Hz;R/Ω;X/Ω\n1;2;3\nf/Hz;R/Ω;X/Ω\n1;2;3\n", 3, "'f/Hz' under 'f/Hz' is not a number"),
    ('f/Hz;R/Ω;X/Ω\n1;"2;3\n', 2, "a quotation mark has no partner"),
    ("f/Hz;R/Ω;X/Ω\n# comment\n2;1;1\n\n1;1;1\n", 5, "the frequency 1 Hz follows on 2 Hz"),
    ("f/Hz;R/Ω;X/Ω\n2;1;1\n2;1;1\n", 3, "the frequency 2 Hz stands there once more"),
    ("f/Hz;R/Ω;X/Ω\n-2;1;1\n", 2, "the frequency is -2 Hz"),
    ("f/Hz;R/Ω;X/Ω\n1;1e999;1\n", 2, "the values at 1 Hz give no finite impedance"),
    ("f/Hz;Ls/mH;Q\n1;1;0\n", 2, "the values at 1 Hz give no finite impedance"),
    (
        "f/Hz;|Z|/Ω;phase/°;R/Ω;X/Ω\n1;5;53.1;3;4\n2;5;53.1;3;4.2\n",
        3,
        "at 2 Hz the columns R + X and magnitude",
    ),
]


@pytest.mark.parametrize(("content", "line", "sentence"), REFUSED, ids=range(len(REFUSED)))
def test_a_refusal_names_the_line(content: str, line: int, sentence: str) -> None:
    """What cannot be taken is refused in one sentence with the file, the line and what was found there."""
    error = refused(content)
    assert error.line in (line, None)
    assert sentence in str(error)
    assert str(error).startswith("part.csv")
    assert re.search(rf"line {line}\b", str(error))
