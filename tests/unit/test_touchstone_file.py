"""Touchstone files beside the specification's examples: what is read, what is refused. Invented values."""

import numpy as np
import pytest

from labkit.errors import SweepError
from labkit.sweeps.sweep import Scattering
from labkit.sweeps.table_file import Line
from labkit.sweeps.touchstone_file import Options, read_options, read_touchstone

ROW = "0.1 0 0.2 0 0.3 0 0.4 0"
TWO = f"# MHz S RI R 50\n1 {ROW}\n2 {ROW}\n"
NEW = (
    "[Version] 2.0\n# MHz S RI\n[Number of Ports] 2\n[Two-Port Data Order] 12_21\n[Number of Frequencies] 1\n"
    "[Reference] 50 75\n[Network Data]\n1 0.1 0 0.2 0 0.3 0 0.4 0\n[End]\n"
)


def read(content: str, name: str = "part.s2p") -> Scattering:
    """What a file gives."""
    return read_touchstone(content.encode(), name)


def refused(content: str, name: str = "part.s2p") -> SweepError:
    """The error with which a file is refused."""
    with pytest.raises(SweepError) as caught:
        read(content, name)
    return caught.value


# The option line


@pytest.mark.parametrize(
    ("line", "options"),
    [
        ("#", Options("ghz", "s", "ma", (50.0,))),
        ("# kHz", Options("khz", "s", "ma", (50.0,))),
        ("# HZ Z RI R 1", Options("hz", "z", "ri", (1.0,))),
        ("#MHz DB S R 75", Options("mhz", "s", "db", (75.0,))),
        ("# R 75 MHz Y", Options("mhz", "y", "ma", (75.0,))),
        ("# GHz S MA R 50 75 0.01 0.01", Options("ghz", "s", "ma", (50.0, 75.0, 0.01, 0.01))),
    ],
)
def test_options(line: str, options: Options) -> None:
    """What is left out has its default, and the order and capitals do not matter."""
    assert read_options(Line(1, line), "part.s1p") == options


@pytest.mark.parametrize("line", ["# THz", "# MHz S S", "# MHz X", "# MHz S MA 50", "# 50", "# MHz R 50 ohm"])
def test_what_is_no_option_line(line: str) -> None:
    """A word that is none of the options, or stands there twice, is refused with the line."""
    error = refused(f"{line}\n1 2 3\n", "part.s1p")
    assert error.line == 1
    assert line in str(error) or "is no reference" in str(error)


@pytest.mark.parametrize("reference", ["", "0", "-50", "x", "1e999", "nan", "50+1j"])
def test_what_is_no_reference(reference: str) -> None:
    """A reference has to be a real number above zero."""
    assert "part.s1p, line 1" in str(refused(f"# MHz S MA R {reference}\n1 2 3\n", "part.s1p"))


def test_only_the_first_option_line_counts() -> None:
    """A second option line changes nothing."""
    assert read("# MHz S RI R 50\n# GHz\n1 0.1 0\n", "part.s1p").frequency.tolist() == [1e6]


# Order, wrapping, names


def test_the_order_of_a_two_port() -> None:
    """The second pair of a version-1 two-port is S21; version 2 says which it is."""
    assert read(TWO).S[0].tolist() == [[0.1, 0.3], [0.2, 0.4]]
    assert read(NEW, "part.ts").S[0].tolist() == [[0.1, 0.2], [0.3, 0.4]]
    assert read(NEW.replace("12_21", "21_12"), "part.ts").S[0].tolist() == [[0.1, 0.3], [0.2, 0.4]]


def test_a_three_port_in_rows() -> None:
    """Rows of three pairs, wrapped as they like, make a matrix from port j to port i."""
    rows = [" ".join(f"0.{i}{j} 0" for j in (1, 2, 3)) for i in (1, 2, 3)]
    expected = [[float(f"0.{i}{j}") for j in (1, 2, 3)] for i in (1, 2, 3)]
    for rest in ("\n".join(rows), " ".join(rows)):
        assert read(f"# MHz S RI R 50\n1 {rest}\n", "part.s3p").S[0].tolist() == expected


def test_a_frequency_on_a_line_of_its_own() -> None:
    """In version 2 a point may be wrapped after its frequency."""
    assert read(NEW.replace("\n1 0.1", "\n1\n0.1"), "part.ts").S[0, 0, 0] == 0.1


def test_comments_and_information_are_passed_over() -> None:
    """Comments at line ends, blocks of information and exported port impedances are no data."""
    extra = "! Gamma 0 1 0 1\n! Port Impedance50 0 50 0\n"
    noisy = TWO.replace("\n2 ", f" ! note\n\n{extra}2 ") + extra
    assert read(noisy).S.tolist() == read(TWO).S.tolist()
    told = NEW.replace("[Network", "[Begin Information]\n1 2 3\n[Maker] x\n[End Information]\n[Network")
    assert read(told, "part.ts").S.tolist() == read(NEW, "part.ts").S.tolist()


@pytest.mark.parametrize("name", ["PART.S2P", "a b.s2p", "part.y2p", "folder/part.s2p"])
def test_the_name_says_how_many_ports(name: str) -> None:
    """Capitals, spaces, folders and the letters of other parameters do not matter."""
    assert read(TWO, name).ports == 2


def test_per_port_references_of_version_1() -> None:
    """One reference for each port may stand in the option line."""
    assert read(TWO.replace("R 50", "R 50 75")).reference.tolist() == [50.0, 75.0]


def test_decibels() -> None:
    """DB is 20 log10 of the magnitude, with the angle in degrees."""
    assert read("# MHz S DB R 50\n1 -20 90\n", "part.s1p").S[0, 0, 0] == pytest.approx(0.1j, abs=1e-16)


# What is refused by line

SHORT = NEW.replace("[Network", "[Matrix Format] Lower\n[Network")
REFUSED = [
    (TWO, "part.s4p", 3, "9 numbers do not fit here, as a point of 4 ports has 33"),
    (TWO, "part.s1p", 2, "9 numbers do not fit here, as a point of 1 ports has 3"),
    (TWO, "part.s3p", 3, "9 numbers do not fit here, as a point of 3 ports has 19"),
    ("# MHz S RI R 50\n1 0 0\n2 0 0\n3 0 0\n", "part.s2p", 2, "3 numbers do not fit here"),
    (f"# MHz S RI R 50\n1 {ROW}\n{ROW}\n{ROW}\n{ROW}\n", "part.s2p", 3, "8 numbers do not fit here"),
    (f"# MHz S RI R 50\n1 {ROW}\n{ROW}\n{ROW}\n", "part.s4p", 2, "has 25 of 33 numbers, so the file was cut"),
    ("1 2 3\n# MHz\n", "part.s1p", 1, "'1 2 3' comes before any option line"),
    ("f;R;X\n1;2;3\n", "part.s1p", 1, "'f;R;X' comes before any option line"),
    (TWO, "part.txt", 2, "nothing says how many ports the file has"),
    (TWO, "part.s0p", 2, "0 ports are said, but 1 to 16 are taken"),
    (TWO, "part.s99p", 2, "99 ports are said"),
    ("# MHz S RI R 50\n", "part.s1p", 1, "the file ends without a single point"),
    ("# MHz S RI R 50\n1 0,5 0\n", "part.s1p", 2, "'0,5' is not a number with a decimal point"),
    ("# MHz S RI R 50\n1 0.5 1e\n", "part.s1p", 2, "'1e' is not a number"),
    ("# MHz S RI R 50\n1 0.5 nan\n", "part.s1p", 2, "'nan' is not a number"),
    ("# MHz S RI R 50\n2 0 0\n1 0 0\n", "part.s1p", 3, "the frequency 1 MHz follows on 2 MHz"),
    (TWO.replace("\n2 ", "\n0.5 "), "part.s2p", 3, "the frequency 500 kHz follows on 1 MHz"),
    (TWO.replace("\n2 ", "\n1 "), "part.s2p", 3, "the frequency 1 MHz stands there once more"),
    (TWO.replace("\n1 ", "\n0 "), "part.s2p", 2, "the frequency is 0 Hz"),
    (TWO.replace("\n1 ", "\n-1 "), "part.s2p", 2, "the frequency is -1 MHz"),
    (f"{TWO}3 1 2 3 4\n", "part.s2p", 4, "5 numbers do not fit here"),
    (NEW, "part.s4p", 3, "the file says 2 ports, but its name says 4"),
    (NEW.replace("[Two-Port Data Order] 12_21\n", ""), "a.ts", 8, "has to say its [Two-Port Data Order]"),
    (NEW.replace("cies] 1", "cies] 3"), "a.ts", 9, "the file ends after 1 points, but says that it has 3"),
    (NEW.replace("50 75", "50 75 100"), "a.ts", 9, "3 references were given for 2 ports"),
    (NEW.replace("[Reference]", "[Refrence]"), "a.ts", 6, "'[refrence] 50 75' is not taken here"),
    (NEW.replace("Data Order] 12_21", "Data Order] 11_22"), "a.ts", 4, "is not taken here"),
    (NEW.replace("[Version] 2.0", "[Version] 3.0"), "a.ts", 1, "'[version] 3.0' is not taken here"),
    (NEW.replace("[Network", "[Mixed-Mode Order] D1,2 C1,2\n[Network"), "a.ts", 7, "mixed-mode parameters"),
    (SHORT, "a.ts", 9, "9 numbers do not fit here, as a point of 2 ports has 7"),
    (NEW.replace("[End]", "[Matrix Format] Lower\n[End]"), "a.ts", 9, "'[matrix format] Lower' is not taken"),
    ("# MHz H RI R 50\n1 0 0\n", "part.h1p", 2, "H parameters belong to two ports, but the file has 1"),
    (TWO.replace(" S ", " Z ").replace("R 50", "R 50 75"), "part.s2p", 2, "differs between ports"),
    ("# MHz Z RI R 50\n1 -1 0\n", "part.s1p", 2, "Z parameters cannot be turned into S parameters"),
]


@pytest.mark.parametrize(("content", "name", "line", "sentence"), REFUSED, ids=range(len(REFUSED)))
def test_a_refusal_names_the_line(content: str, name: str, line: int, sentence: str) -> None:
    """What cannot be taken is refused in one sentence with the file, the line and what was found there."""
    error = refused(content, name)
    assert str(error).startswith(f"{name}, line {line}: ")
    assert sentence in str(error)
    assert error.line == line


def test_a_value_beyond_any_number() -> None:
    """A value that overflows is refused by its frequency, without a warning."""
    assert "S is not a finite number at 1 MHz" in str(refused("# MHz S DB R 50\n1 1e9 0\n", "part.s1p"))


def test_noise_is_only_taken_where_it_can_be() -> None:
    """Five numbers a line after the last point of a version-1 two-port are noise and no points."""
    assert len(read(f"{TWO}1 2 3 4 5\n2 2 3 4 5\n")) == 2
    assert "5 numbers do not fit" in str(refused("# MHz S RI R 50\n2 0 0\n1 2 3 4 5\n", "part.s1p"))


def test_every_parameter_of_a_lossless_part_has_its_s() -> None:
    """Z, Y, H and G of the same two-port, each in version 2, give one and the same S."""
    Z = np.array([[3j, 1j], [1j, 2j]])
    Y = np.linalg.inv(Z)
    D = Z[0, 0] * Z[1, 1] - Z[0, 1] * Z[1, 0]
    H = np.array([[D / Z[1, 1], Z[0, 1] / Z[1, 1]], [-Z[1, 0] / Z[1, 1], 1 / Z[1, 1]]])
    G = np.array([[1 / Z[0, 0], -Z[0, 1] / Z[0, 0]], [Z[1, 0] / Z[0, 0], D / Z[0, 0]]])
    found = []
    for kind, m in (("Z", Z), ("Y", Y), ("H", H), ("G", G)):
        row = " ".join(f"{v.real!r} {v.imag!r}" for v in m.ravel().tolist())
        found.append(read(NEW.replace(" S ", f" {kind} ").replace(ROW, row), "part.ts").S[0])
    for S in found:
        assert S == pytest.approx(found[0], abs=1e-12)
        assert S @ S.conj().T == pytest.approx(np.eye(2), abs=1e-12)
