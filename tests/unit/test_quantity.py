"""Shown text to digits and back. All readings here are invented."""

import math
import re
import subprocess
import sys
from decimal import Decimal, localcontext
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from labkit.errors import AmbiguousEntry, EntryError
from labkit.quantity import KINDS, Quantity, accepted_units, display, display_parts, kinds, parse, shown

# Written down here a second time, so that a slip in the table of the package cannot pass unseen.
SPELLINGS = {
    "inductance": "pH nH uH \u00b5H \u03bcH mH H kH",
    "resistance": "uΩ µΩ mΩ mohm Ω \u2126 ohm Ohm kΩ KΩ kohm Kohm MΩ Mohm GΩ",
    "frequency": "Hz hz HZ kHz khz KHz KHZ MHz Mhz MHZ GHz Ghz",
    "capacitance": "pF nF uF µF mF F",
    "voltage": "nV uV µV mV V kV",
    "current": "pA nA uA µA mA A",
    "temperature": "°C degC \u2103 \u00baC",
    "quality_factor": "",
    "dissipation_factor": "",
    "percentage": "%",
    "number": "",
}
POWER = {"p": -12, "n": -9, "u": -6, "\u00b5": -6, "\u03bc": -6, "m": -3, "k": 3, "K": 3, "M": 6, "G": 9}
DIGITS = "0123456789"


def power_of(unit: str) -> int:
    """Power of ten of a spelled unit, found apart from the package's own table."""
    bare = {
        "H",
        "Ω",
        "\u2126",
        "ohm",
        "Ohm",
        "Hz",
        "hz",
        "HZ",
        "F",
        "V",
        "A",
        "°C",
        "degC",
        "\u2103",
        "\u00baC",
        "%",
        "",
    }
    return 0 if unit in bare else POWER[unit[0]]


@st.composite
def plain_entries(draw: st.DrawFn) -> tuple[str, str, str, str]:
    """(kind, sign, number, unit) of an entry that has to be taken, and its parts."""
    kind = draw(st.sampled_from(sorted(KINDS)))
    whole = draw(st.text(DIGITS, max_size=9))
    decimals = draw(st.text(DIGITS, max_size=9))
    mark = draw(st.sampled_from(".,")) if decimals else ""
    number = whole + mark + decimals
    assume(whole or decimals)
    assume(not re.fullmatch("[1-9][0-9]{0,2},[0-9]{3}", number))
    sign = draw(st.sampled_from(["", "+", "-", "\u2212"]))
    if kind == "frequency":
        assume(sign in ("", "+") and number.strip("0.,"))
    return kind, sign, number, draw(st.sampled_from(SPELLINGS[kind].split() or [""]))


def as_tuple(quantity: Quantity) -> tuple[object, ...]:
    """All that has to survive printing and reading back; Decimals are equal whatever their last digit is."""
    return quantity.kind, quantity.digits, quantity.unit, quantity.exact.as_tuple(), quantity.last_digit


# What is taken


def test_digits_keep_their_weight() -> None:
    """6.20 µH and 6.2 µH have one value and different last digits."""
    long, short = parse("6.20 µH"), parse("6.2 µH")
    assert (long.digits, long.unit, str(long)) == ("6.20", "µH", "6.20 µH")
    assert long.value == short.value == 6.2e-6
    assert (long.last_digit, short.last_digit) == (1e-8, 1e-7)
    assert long != short


def test_typed_text_is_kept_beside_the_canonical() -> None:
    """The typed text stays as it was, and readings typed in two ways are equal."""
    typed = parse(" 6,20\u202f\u03bcH")
    assert typed.text == " 6,20\u202f\u03bcH"
    assert typed == parse("6.20uH")
    assert str(typed) == "6.20 \u00b5H"


@given(plain_entries(), st.text(" \u00a0\u202f\u2009\u2007", max_size=3), st.text(" \u00a0", max_size=2))
@example(("inductance", "-", ".5", "mH"), "", "")
@example(("frequency", "", "010", "KHz"), "", "")
def test_everything_plain_is_taken_exactly(entry: tuple[str, str, str, str], gap: str, outer: str) -> None:
    """Sign, digits, mark, gap and unit in any accepted form give the exact value and last-digit weight."""
    kind, sign, number, unit = entry
    quantity = parse(outer + sign + number + gap + unit + outer, kind)
    size = Fraction(number.replace(",", ".")) * Fraction(10) ** power_of(unit)
    assert Fraction(quantity.exact) == (-size if sign in ("-", "\u2212") else size)
    decimals = len(re.split("[.,]", number)[1]) if re.search("[.,]", number) else 0
    assert math.isclose(quantity.last_digit, 10.0 ** (power_of(unit) - decimals), rel_tol=1e-12)
    assert quantity.value == float(quantity.exact)


@given(plain_entries())
def test_everything_accepted_prints_back(entry: tuple[str, str, str, str]) -> None:
    """The printed text of any accepted entry reads back to the same value, digits and weight."""
    kind, *parts = entry
    quantity = parse("".join(parts), kind)
    assert as_tuple(parse(str(quantity), kind)) == as_tuple(quantity)
    assert str(parse(str(quantity), kind)) == str(quantity)


@given(st.integers(min_value=0, max_value=30), st.sampled_from(sorted(KINDS)), st.data())
def test_longest_digit_strings_print_back(places: int, kind: str, data: st.DataObject) -> None:
    """Thirty digits are taken without rounding and print back, wherever the mark stands."""
    number = "9" * places + ("." + "9" * (30 - places) if places < 30 else "")
    quantity = parse(number + data.draw(st.sampled_from(SPELLINGS[kind].split() or [""])), kind)
    assert quantity.exact.as_tuple().digits == (9,) * 30
    assert as_tuple(parse(str(quantity), kind)) == as_tuple(quantity)


def test_the_callers_decimal_settings_do_not_matter() -> None:
    """A program that works with three digits elsewhere still gets every digit of a reading and a result."""
    with localcontext(prec=3):
        assert parse("9.95775 mH").exact == Decimal("0.00995775")
        assert display(9.95775e-3, 17.7e-9) == "9.957750 ± 0.000035 mH"


@pytest.mark.parametrize("minus", ["-", "\u2212"])
def test_negative_inductance_is_taken_and_flagged(minus: str) -> None:
    """A meter above self-resonance shows a negative inductance: it is kept and flagged, either minus."""
    quantity = parse(f"{minus}12.5 µH")
    assert quantity.negative
    assert (quantity.digits, quantity.value, str(quantity)) == ("-12.5", -12.5e-6, "\u221212.5 µH")
    assert not parse("12.5 µH").negative


def test_zero_is_a_reading() -> None:
    """Zero keeps the weight of its last digit and is not negative, whatever sign the display shows."""
    assert parse("-0.00 µH").last_digit == 1e-8
    assert not parse("-0.00 µH").negative
    assert str(parse("-0.00 µH")) == "\u22120.00 µH"


def test_the_documented_table_is_the_one_in_use() -> None:
    """The table in the docstring lists each kind with the unit and prefixes that are taken, and no other."""
    assert kinds.__doc__ is not None
    rows = re.findall(r"^    (\w+) {2,}(\S+) {2,}([pnµmkMG -]*?)(?: {2,}.*)?$", kinds.__doc__, re.MULTILINE)
    table = {
        row[0]: tuple(p.replace("-", "") + row[1] for p in row[2].split()) for row in rows if row[0] != "kind"
    }
    table |= dict.fromkeys(re.findall(r"^    (\w+) +none$", kinds.__doc__, re.MULTILINE), ())
    assert table == {kind: accepted_units(kind) for kind in KINDS}


def test_the_example_of_each_kind_is_taken() -> None:
    """The example that a refusal offers is itself taken as it stands."""
    assert [str(parse(kind.example, name)) for name, kind in KINDS.items()] == [
        k.example for k in KINDS.values()
    ]


# What is asked


@pytest.mark.parametrize(
    ("kind", "units", "candidates"),
    [
        ("inductance", "mh MH Mh", ("mH", "MH")),
        ("inductance", "uh Uh UH µh \u03bch", ("µH",)),
        ("inductance", "nh NH Nh", ("nH",)),
        ("inductance", "h", ("H",)),
        ("inductance", "kh KH Kh", ("kH",)),
        ("frequency", "mhz mHz mHZ", ("mHz", "MHz")),
        ("frequency", "ghz gHz", ("GHz",)),
        ("resistance", "MOHM mOHM", ("mΩ", "MΩ")),
        ("resistance", "OHM", ("Ω",)),
        ("capacitance", "MF mf", ("mF", "MF")),
        ("capacitance", "uf UF", ("µF",)),
        ("voltage", "MV mv", ("mV", "MV")),
        ("current", "MA ma", ("mA", "MA")),
        ("temperature", "degc DEGC °c", ("°C",)),
    ],
)
def test_other_capitals_are_asked(kind: str, units: str, candidates: tuple[str, ...]) -> None:
    """Letters in other capitals are asked about, with the units they could mean, and never guessed."""
    for unit in units.split():
        with pytest.raises(AmbiguousEntry) as caught:
            parse(f"5.20 {unit}", kind)
        assert caught.value.candidates == candidates
        assert caught.value.given == f"5.20 {unit}"
        assert all(candidate in str(caught.value) for candidate in candidates)


@pytest.mark.parametrize(("kind", "way"), [("inductance", "megahenry"), ("frequency", "Hz")])
def test_the_unlikely_meaning_has_a_way_in(kind: str, way: str) -> None:
    """Where the unlikely one of two meanings is not taken as written, the question names a unit that is."""
    with pytest.raises(AmbiguousEntry, match=f"give it in {way} if"):
        parse(f"5 {'MH' if kind == 'inductance' else 'mHz'}", kind)
    assert str(parse(f"5 {way}", kind)) == f"5 {way}"


def test_megahenry_keeps_the_digits_of_the_display() -> None:
    """Written out, a megahenry is taken with the weight that its last digit has on the display."""
    assert (parse("27.2 megahenry").exact, parse("27.2 megahenry").last_digit) == (Decimal("27.2e6"), 1e5)


@pytest.mark.parametrize("unit", ["khz", "KHz", "kHZ", "KHZ", "Khz"])
def test_kilohertz_is_unmistakable(unit: str) -> None:
    """Kilohertz is taken in every mixture of capitals that spells it in full."""
    assert str(parse(f"10 {unit}", "frequency")) == "10 kHz"


@given(st.from_regex("[1-9][0-9]{0,2},[0-9]{3}", fullmatch=True), st.sampled_from(sorted(KINDS)), st.data())
def test_a_comma_before_three_digits_is_asked(number: str, kind: str, data: st.DataObject) -> None:
    """`2,700` is asked in every kind, and each answer is taken and a thousand times apart."""
    unit = data.draw(st.sampled_from(accepted_units(kind) or ("",)))
    with pytest.raises(AmbiguousEntry) as caught:
        parse(f"{number} {unit}", kind)
    decimal, thousands = (parse(candidate, kind) for candidate in caught.value.candidates)
    assert thousands.exact == 1000 * decimal.exact
    assert thousands.digits == number.replace(",", "")


def test_the_question_about_a_comma_shows_both_answers() -> None:
    """The question names both meanings with the unit, the sign included."""
    with pytest.raises(AmbiguousEntry, match=r"\u22122\.700 mH or \u22122700 mH") as caught:
        parse("-2,700 mH")
    assert caught.value.candidates == ("\u22122.700 mH", "\u22122700 mH")


@pytest.mark.parametrize("number", ["0,700", "00,700", "2,70", "2,7000", "1234,567", ",700", "2.700"])
def test_marks_that_cannot_mean_thousands_are_decimal(number: str) -> None:
    """A comma that cannot stand between thousands, and any point, is the decimal mark."""
    assert parse(f"{number} mH").exact == Decimal(number.replace(",", ".")) / 1000


# What is refused

REFUSED = [
    ("", "Nothing was entered"),
    ("  \u00a0 ", "Nothing was entered"),
    ("5", "no unit"),
    ("5.2", "no unit"),
    ("mH", "no digits"),
    (".", "no digits"),
    (",", "no digits"),
    ("-", "no digits"),
    ("-----", "no digits"),
    ("hello", "no digits"),
    ("5 m", "after the prefix"),
    ("5u", "after the prefix"),
    ("5 m H", "inside the unit"),
    ("5 mHz", "not a unit of inductance"),
    ("5 mF", "not a unit of inductance"),
    ("5 Ω", "not a unit of inductance"),
    ("5 GH", "not a unit of inductance"),
    ("5 dH", "not a unit of inductance"),
    ("5 mH.", "not a unit of inductance"),
    ("5m2H", "not a unit of inductance"),
    ("5. mH", "stops at the decimal mark"),
    ("5, mH", "stops at the decimal mark"),
    ("1.2.3 mH", "more than one decimal mark"),
    ("1,2.3 mH", "more than one decimal mark"),
    ("1.234,5 mH", "more than one decimal mark"),
    ("1,234,567 mH", "more than one decimal mark"),
    ("5..2 mH", "more than one decimal mark"),
    ("1 2 mH", "between its digits"),
    ("1\u202f200 mH", "between its digits"),
    ("1'200 mH", "between its digits"),
    ("1’200 mH", "between its digits"),
    ("1_200 mH", "between its digits"),
    ("1. 2 mH", "between its digits"),
    ("--1 mH", "not understood"),
    ("+-1 mH", "not understood"),
    ("- 5 mH", "not understood"),
    ("about 5 mH", "not understood"),
    ("5 mH ± 0.1 mH", "not understood"),
    ("5 or 6 mH", "not understood"),
    ("over 5 mH", "not understood"),
    ("1e-3 H", "power of ten"),
    ("1E3 mH", "power of ten"),
    ("1.5 × 10^-3 H", "power of ten"),
    ("nan", "not a number"),
    ("NaN mH", "not a number"),
    ("OL", "over range"),
    ("ol mH", "over range"),
    ("O.L", "over range"),
    ("0L", "over range"),
    ("0.L mH", "over range"),
    ("-OL", "over range"),
    ("OVERLOAD", "over range"),
    ("inf", "over range"),
    ("-Infinity H", "over range"),
    ("∞ mH", "over range"),
    ("١٢ mH", "other than 0 to 9"),
    ("１２ mH", "other than 0 to 9"),
    ("५ mH", "other than 0 to 9"),
    ("5² mH", "other than 0 to 9"),
    ("½ mH", "other than 0 to 9"),
    ("5\tmH", "invisible"),
    ("5 mH\n", "invisible"),
    ("5\nmH", "invisible"),
    ("5\x00mH", "invisible"),
    ("5\u200bmH", "invisible"),
    ("\ufeff5 mH", "invisible"),
    ("5 \u202emH", "invisible"),
    ("5 \ud800mH", "invisible"),
    ("9" * 31 + "mH", "longer than any display"),
    ("5" + " " * 42 + "mH", "longer than any display"),
    ("9" * 1_000_000, "longer than any display"),
]


def assert_one_sentence(error: EntryError) -> None:
    """One line, printable, filled in, one full stop at its end and none between two sentences."""
    sentence = str(error)
    assert sentence.isprintable()
    assert sentence.endswith(".")
    own_words = re.sub("“.*”", "", sentence)
    assert not re.search(r"[.!?] [A-Z]|[{}]", own_words)
    assert len(sentence) < 500


@pytest.mark.parametrize(("text", "reason"), REFUSED, ids=lambda value: ascii(value)[:24])
def test_refused_with_its_own_sentence(text: str, reason: str) -> None:
    """Each kind of bad entry is refused, not asked, for its own reason, and the entry is kept."""
    with pytest.raises(EntryError, match=reason) as caught:
        parse(text)
    assert not isinstance(caught.value, AmbiguousEntry)
    assert caught.value.given == text
    assert_one_sentence(caught.value)


@pytest.mark.parametrize("text", ["-10 kHz", "\u22121 Hz", "0 Hz", "0.00 kHz"])
def test_frequency_is_above_zero(text: str) -> None:
    """A frequency of zero or below is refused, as no alternating current has it."""
    with pytest.raises(EntryError, match="above zero"):
        parse(text, "frequency")


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"frequency"}))
def test_other_kinds_may_be_negative(kind: str) -> None:
    """Every other kind may be negative, as meters show it for noise about zero or past a resonance."""
    assert parse(f"-1.0 {(accepted_units(kind) or ('',))[0]}", kind).negative


@pytest.mark.parametrize("text", ["3.1 H", "3.1 %", "3.1k", "3.1 Q"])
def test_factors_have_no_unit(text: str) -> None:
    """Whatever follows the number of a quality factor is refused."""
    with pytest.raises(EntryError, match="quality factor has no unit"):
        parse(text, "quality_factor")


@pytest.mark.parametrize("given_value", [5.0, None, b"5 mH", ["5 mH"]])
def test_a_reading_that_is_not_text_is_refused(given_value: object) -> None:
    """A bare number has lost its last digit and unit, so only text is taken."""
    with pytest.raises(EntryError, match="quotation marks") as caught:
        parse(given_value)  # type: ignore[arg-type]
    assert_one_sentence(caught.value)


def test_unknown_kind_names_the_known_ones() -> None:
    """An unknown kind is refused with the list of those that are known."""
    with pytest.raises(EntryError, match="inductance, resistance") as caught:
        parse("5 mH", "mass")
    assert_one_sentence(caught.value)


def taken_or_refused(text: str, kind: str) -> Quantity | EntryError:
    """What becomes of a text."""
    try:
        return parse(text, kind)
    except EntryError as error:
        return error


HOSTILE = DIGITS + "..,,+-\u2212 '_\u00a0eExpnuµ\u03bcmkKMGHhzΩFVAC°dgoLlaif×^\t\n\u0661\uff15\u200b{}%"


@given(
    st.one_of(st.text(max_size=60), st.text(HOSTILE, max_size=12)),
    st.sampled_from(sorted(KINDS)),
)
def test_any_text_is_taken_or_answered_in_one_sentence(text: str, kind: str) -> None:
    """No text does anything but print back to itself or be refused or asked about in one sentence."""
    outcome = taken_or_refused(text, kind)
    if isinstance(outcome, EntryError):
        assert outcome.given == text
        assert_one_sentence(outcome)
    else:
        assert outcome.text == text
        assert as_tuple(parse(str(outcome), kind)) == as_tuple(outcome)


# What is shown


@pytest.mark.parametrize(
    ("arguments", "text"),
    [
        ((9.95775e-3, 17.7e-6), "9.958 ± 0.035 mH"),
        ((25.0e-6, 0.09e-6), "25.00 ± 0.18 µH"),
        ((9.95775e-3, 17.7e-6, "H", 1), "9.958 ± 0.018 mH"),
        ((10e-3, 4.98e-6), "10.000 ± 0.010 mH"),  # U = 9.96 µH carries to two digits of 10
        ((999.996e-6, 0.175e-6), "1.00000 ± 0.00035 mH"),  # the value carries into the next prefix
        ((999.96e-6,), "1.000 mH"),
        ((5e-6, 60e-6), "0.00 ± 0.12 mH"),  # uncertainty above the value
        ((-1e-9, 1e-4), "0.00 ± 0.20 mH"),  # no negative zero
        ((-6.239974e-6,), "\u22126.240 µH"),
        ((-6.239974e-6, 5e-9), "\u22126.240 ± 0.010 µH"),
        ((0.0,), "0 H"),
        ((0.0, 1.75e-6), "0.0 ± 3.5 µH"),
        ((10e-3, 0.0), "10.00 ± 0 mH"),
        ((math.inf,), "∞ H"),
        ((-math.inf, None, "Ω"), "\u2212∞ Ω"),
        ((10e-3, math.inf), "10.00 ± ∞ mH"),
        ((0.9987495, 6e-5, ""), "0.99875 ± 0.00012"),
        ((1234.0, 60.0, ""), "1230 ± 120"),
        ((123456.0, None, ""), "123456"),
        ((2.0e5, None, "Hz", 2, 2), "0.20 MHz"),
        ((23.46, 0.6, "°C"), "23.5 ± 1.2 °C"),
        ((3.3, 0.2, "rad/s"), "3.30 ± 0.40 rad/s"),
        ((2e9,), "2000000 kH"),
        ((2e12,), "2.000 × 10¹² H"),
        ((999999999999.5, None, "F", 2, 1), "1 × 10¹² F"),  # rounding carries it past the last prefix
        ((999999999999.5, None, "F", 2, 13), "999999999999.5 F"),
        ((1.2345e-15, 2e-18), "(1.2345 ± 0.0040) × 10⁻¹⁵ H"),
        ((9.95775e-3, None, "H", 2, 6), "9.95775 mH"),
    ],
)
def test_shown_text(arguments: tuple[Any, ...], text: str) -> None:
    """The text of a result is the one a person would write by the rule of two digits of U."""
    assert display(*arguments) == text


def test_parts_for_a_table() -> None:
    """The parts for a table are those of the text, and a missing uncertainty stays None."""
    assert display_parts(9.95775e-3, 17.7e-6) == ("9.958", "0.035", "mH")
    assert display_parts(9.95775e-3) == ("9.958", None, "mH")


UNITS = {kind: known.symbol for kind, known in KINDS.items() if kind != "dissipation_factor"}
SIZES = st.builds(
    lambda digits, power, sign: sign * float(f"{digits}e{power}"),
    st.integers(min_value=10**15, max_value=10**16 - 1),
    st.integers(min_value=-27, max_value=-4),
    st.sampled_from([1, -1]),
)


@given(SIZES, st.sampled_from(sorted(UNITS)), st.integers(min_value=1, max_value=12))
@example(999.96e-6, "inductance", 4)
@example(9.5, "inductance", 1)
def test_shown_value_reads_back_within_half_a_digit(value: float, kind: str, digits: int) -> None:
    """From pico to a thousand giga a value is shown without a power of ten and reads back to half a digit."""
    assume(abs(value) < 9e11)  # above, one digit may carry it past the last prefix
    value = abs(value) if kind == "frequency" else value
    text = display(value, unit=UNITS[kind], significant_digits=digits)
    assert "×" not in text
    assert "e" not in text.lower()
    assume(len(text) <= shown.MAX_CHARACTERS)
    back = parse(text, kind)
    half = Fraction(1, 2) * Fraction(10) ** int(back.exact.as_tuple().exponent)
    assert abs(Fraction(back.exact) - Fraction(repr(value))) <= half
    if abs(value) < 1:
        assert len(back.digits.replace(".", "").lstrip("-0")) == digits


@given(SIZES, st.floats(min_value=1e-6, max_value=1e3), st.sampled_from([1.0, 2.0, 2.5]))
@example(9.96, 0.5, 1.0)
def test_uncertainty_has_two_digits_and_the_value_its_decimals(
    value: float, ratio: float, factor: float
) -> None:
    """U is shown with two significant digits, the value with as many decimals, both right to half a digit."""
    uncertainty = abs(value) * ratio
    assume(uncertainty * factor >= 1e-12 and abs(value) < 1e12 and uncertainty * factor < 9e4)
    shown_value, shown_U, unit = display_parts(value, uncertainty, "H", factor)
    assert shown_U is not None
    assert len(shown_U.replace(".", "").lstrip("0")) == 2
    decimals = [len(text.partition(".")[2]) for text in (shown_value, shown_U)]
    assert decimals[0] == decimals[1]
    step = Fraction(10) ** (power_of(unit) - decimals[0])
    scale = Fraction(10) ** power_of(unit)
    U = Fraction(repr(factor)) * Fraction(repr(uncertainty))
    assert abs(Fraction(shown_U) * scale - U) <= step / 2
    assert abs(Fraction(shown_value.replace("\u2212", "-")) * scale - Fraction(repr(value))) <= step / 2
    assert shown_value.strip("\u22120.") or not shown_value.startswith("\u2212")


@pytest.mark.parametrize(
    ("arguments", "reason"),
    [
        ((math.nan,), "not a number"),
        ((1e-3, math.nan), "uncertainty of nan"),
        ((1e-3, -1e-6), "uncertainty of -1e-06"),
        ((1e-3, 1e-6, "H", 0), "coverage factor of 0"),
        ((1e-3, 1e-6, "H", math.inf), "coverage factor of inf"),
        ((1e-3, 1e-6, "H", math.nan), "coverage factor of nan"),
        ((1e-3, None, "H", 2, 0), "0 significant digits"),
    ],
)
def test_what_cannot_be_shown_is_refused(arguments: tuple[Any, ...], reason: str) -> None:
    """Nan is never printed; an impossible uncertainty, coverage factor or digit count is refused."""
    with pytest.raises(EntryError, match=reason) as caught:
        display(*arguments)
    assert_one_sentence(caught.value)


# How it loads


def test_loading_is_light() -> None:
    """Reading a display needs none of the large libraries."""
    script = "import sys, labkit.quantity; print(*sys.modules)"
    loaded = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    ).stdout.split()
    assert "labkit.quantity.shown" in loaded
    assert not {"numpy", "sympy", "scipy", "pydantic", "matplotlib", "IPython", "uncertainties"} & set(loaded)
