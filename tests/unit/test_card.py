"""Meter cards: what is read, what is refused, and what a reading gets from one. All cards are invented."""

import math
from pathlib import Path

import pytest

from labkit import quantity
from labkit.errors import CardError
from labkit.record.card import Card, card_text, parse_card, read_card
from labkit.resources import shipped
from labkit.uncertainty.components import Input
from labkit.uncertainty.propagate import first_order

CARDS = sorted(shipped("data", "cards").glob("*.toml"))
FINE, COARSE = (read_card(shipped("data", "cards", f"{n}.toml")) for n in ("bench-fine", "hand-held-coarse"))

LINE = """
[[ranges]]
quantity = "inductance"
name = "20 mH"
up_to = "19.99 mH"
digit = "10 µH"
percent = 0.5
digits = 3
frequencies = ["1 kHz"]
"""
HEAD = 'schema = 1\nid = "a-card"\ntitle = "A card"\ninvented = true\nsource = "invented for this test"\n'
TEXT = HEAD + LINE
TEN_KHZ = quantity.parse("10 kHz", "frequency")


def u(card: Card, shown: str, **more: object) -> float:
    """Standard uncertainty of one reading, in H."""
    value = quantity.parse(shown)
    return Input("x", value.value, card.terms(value, "x", meter="m", **more)).standard_uncertainty


@pytest.mark.parametrize("path", CARDS, ids=lambda p: p.stem)
def test_a_shipped_card_is_marked_invented(path: Path) -> None:
    """Each shipped card can be read, bears its file's name and says that it is invented."""
    card = read_card(path)
    assert card.id == path.stem
    assert card.invented
    assert "invented" in card.title
    assert "invented" in card.source


@pytest.mark.parametrize(
    ("card", "shown", "limit"),
    [
        (FINE, "10.000 mH", 0.003 * 10e-3 + 5e-6),
        (FINE, "25.00 µH", 0.003 * 25e-6 + 5 * 10e-9),
        (COARSE, "10.00 mH", 0.01 * 10e-3 + 3 * 10e-6),
        (COARSE, "25.0 µH", 0.01 * 25e-6 + 3 * 100e-9),
    ],
)
def test_limits_of_the_shipped_cards(card: Card, shown: str, limit: float) -> None:
    """Fine: ±(0.3 % + 5 digits) of 1 µH or 10 nH; coarse: ±(1 % + 3 digits) of 10 µH or 100 nH."""
    assert card.limit(quantity.parse(shown), TEN_KHZ) == pytest.approx(limit, rel=1e-12)


def test_accuracy_becomes_three_rectangular_errors() -> None:
    """Gain 50 µH, digits 30 µH and half a step of 5 µH, each over √3, add up as squares (computed here)."""
    expected = math.sqrt((50e-6**2 + 30e-6**2 + 5e-6**2) / 3)
    assert u(parse_card(TEXT), "10.00 mH") == pytest.approx(expected, rel=1e-12)


def test_a_negative_reading_has_the_accuracy_of_its_size() -> None:
    """Limits go by the size of the value, never by its sign."""
    assert u(FINE, "-10.000 mH") == u(FINE, "10.000 mH") > 0


def test_low_q_makes_the_accuracy_worse() -> None:
    """Above D = 0.1 the stated accuracy is multiplied by √(1 + D²); the display step is not."""
    assert FINE.derating(0.1) == FINE.derating(None) == 1
    assert FINE.derating(2.0) == pytest.approx(math.sqrt(5))
    plain, derated = (
        dict(FINE.terms(quantity.parse("10.000 mH"), "x", meter="m", dissipation_factor=D))
        for D in (None, 2.0)
    )
    ratios = {source.label: derated[source] / plain[source] for source in plain}
    assert ratios == pytest.approx({"gain": 5**0.5, "digits": 5**0.5, "display step": 1.0})


def test_a_card_without_a_low_q_rule_derates_nothing() -> None:
    """What the card does not say is not made up."""
    assert parse_card(TEXT).derating(9.0) == 1


def ratio_uncertainty(gain: str, first: str, second: str, meters: tuple[str, str] = ("m", "m")) -> float:
    """Relative standard uncertainty of a ratio of two readings with gain errors alone."""
    inputs = []
    for shown, meter in zip((first, second), meters, strict=True):
        value = quantity.parse(shown)
        terms = FINE.terms(value, shown, meter=meter, gain=gain)  # type: ignore[arg-type]
        inputs.append(Input(shown, value.value, tuple(t for t in terms if t[0].label == "gain")))
    ratio = first_order(lambda a, b: a / b, inputs)
    return ratio.standard_uncertainty / ratio.value


def test_a_shared_gain_cancels_in_ratios_of_one_range() -> None:
    """Two readings on one range of one meter keep no gain error in their ratio."""
    assert ratio_uncertainty("shared", "10.000 mH", "9.960 mH") == pytest.approx(0, abs=1e-15)


@pytest.mark.parametrize(
    ("gain", "second", "meters"),
    [
        ("independent", "9.960 mH", ("m", "m")),
        ("shared", "25.00 µH", ("m", "m")),
        ("shared", "9.960 mH", ("m", "n")),
    ],
    ids=["independent", "two ranges", "two meters"],
)
def test_gains_stay_apart(gain: str, second: str, meters: tuple[str, str]) -> None:
    """Independent gains, two ranges or two meters keep √2 · 0.3 %/√3 in the ratio."""
    assert ratio_uncertainty(gain, "10.000 mH", second, meters) == pytest.approx(0.003 * math.sqrt(2 / 3))


def test_repeats_share_the_digits_and_readings_do_not() -> None:
    """The digit part is one error for all repeats under one key, and another for another key."""
    once, again, other = (FINE.terms(quantity.parse("10.000 mH"), key, meter="m") for key in ("a", "a", "b"))
    assert once == again
    assert {t[0] for t in once} & {t[0] for t in other} == {once[0][0]}  # the gain alone


def test_an_unknown_gain_rule_is_refused() -> None:
    """There are two assumptions about the gain, and a third is refused by name."""
    with pytest.raises(CardError, match="gain was given as 'perhaps'"):
        FINE.terms(quantity.parse("10.000 mH"), "x", meter="m", gain="perhaps")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("shown", "name"),
    [
        ("10.000 mH", "20 mH"),
        ("19.999 mH", "20 mH"),
        ("20.00 mH", "200 mH"),
        ("25.00 µH", "200 µH"),
        ("25.0 µH", "200 µH"),
        ("25 µH", "200 µH"),
        ("0.025 mH", "20 mH"),
        ("0.0250 mH", "2 mH"),
        ("9960 µH", "20 mH"),
        ("0.00 µH", "200 µH"),
    ],
)
def test_the_range_is_the_one_that_shows_the_reading(shown: str, name: str) -> None:
    """Unit first, then the last digit, then the smallest that reaches the value."""
    assert FINE.range_for(quantity.parse(shown), TEN_KHZ).name == name


def test_a_reading_beyond_the_card_is_refused_with_what_is_covered() -> None:
    """No accuracy is made up beyond the largest range, at another frequency or for another quantity."""
    with pytest.raises(
        CardError, match=r"no accuracy for 5\.000 H at 10 kHz; it covers 200 µH at 1 kHz / 10 kHz"
    ):
        FINE.range_for(quantity.parse("5.000 H"), TEN_KHZ)
    with pytest.raises(CardError, match="at 100 kHz"):
        FINE.range_for(quantity.parse("10.000 mH"), quantity.parse("100 kHz", "frequency"))
    with pytest.raises(CardError, match="covers nothing of this quantity"):
        FINE.range_for(quantity.parse("3.00 Ω", "resistance"), TEN_KHZ)


TWO_LINES = TEXT + LINE.replace("0.5", "2.0").replace('"1 kHz"', '"10 kHz"')


def test_a_frequency_that_matters_must_be_recorded() -> None:
    """Where accuracy depends on the frequency, a reading without one is asked for it."""
    card, reading = parse_card(TWO_LINES), quantity.parse("10.00 mH")
    with pytest.raises(CardError, match="depending on the frequency, and the reading has none"):
        card.range_for(reading)
    assert [
        card.range_for(reading, quantity.parse(f, "frequency")).percent for f in ("1 kHz", "10.0 kHz")
    ] == [0.5, 2]


def test_a_frequency_that_does_not_matter_may_be_missing() -> None:
    """Lines of equal accuracy are one line for a reading whose frequency nobody noted."""
    card = parse_card(TEXT + LINE.replace('"1 kHz"', '"10 kHz"'))
    assert card.range_for(quantity.parse("10.00 mH")).percent == 0.5


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("schema = 1", "schema = 2"), "has schema 2, but this labkit knows schema 1"),
        (("schema = 1", "schema = "), "is not readable as TOML"),
        (("percent = 0.5", "percent = -0.5"), r"ranges\.1\.percent is -0\.5"),
        (("percent = 0.5", "percent = nan"), r"ranges\.1\.percent is nan"),
        (("percent = 0.5", ""), r"ranges\.1\.percent"),
        (("percent = 0.5", 'percent = "half"'), "half"),
        (("digits = 3", "digits = 1e9"), r"ranges\.1\.digits"),
        (("invented = true", ""), "invented"),
        (('title = "A card"', 'titel = "A card"'), "title"),
        (('id = "a-card"', 'id = "A card!"'), "id is 'A card!'"),
        (('"19.99 mH"', '"19.99 mF"'), "mF"),
        (
            ('"19.99 mH"', '"20 mH"'),
            "says for range 20 mH that it reaches up to 20 mH and that one digit is 10 µH",
        ),
        (('"10 µH"', '"1 µH"'), "one digit is 1 µH"),
        (('"10 µH"', '"10 µ"'), "10 µ"),
        (('["1 kHz"]', "[]"), "frequencies"),
        (('["1 kHz"]', '["1 kX"]'), "1 kX"),
        (('["1 kHz"]', '["0 Hz"]'), "0 Hz"),
        (('quantity = "inductance"', 'quantity = "length"'), "length"),
        ((LINE, ""), "ranges"),
        ((LINE, LINE + '\nguaranteed = "yes"'), "guaranteed"),
    ],
    ids=lambda x: x[1] if isinstance(x, tuple) else None,
)
def test_a_card_that_cannot_be_taken_is_refused_in_one_sentence(change: tuple[str, str], said: str) -> None:
    """What is wrong is named, in one line, with the card's name."""
    with pytest.raises(CardError, match=said) as refusal:
        parse_card(TEXT.replace(*change), "meter-b")
    assert "\n" not in str(refusal.value)
    assert "The meter card meter-b" in str(refusal.value)


def test_windows_line_ends_are_read() -> None:
    """A card that went through another editor is the same card."""
    assert parse_card(TEXT.replace("\n", "\r\n")) == parse_card(TEXT)


def test_a_path_is_read_and_a_text_is_taken(tmp_path: Path) -> None:
    """One line that ends in .toml is a path; anything else given as text is the card itself."""
    path = tmp_path / "x.toml"
    path.write_text(TEXT, encoding="utf-8")
    assert card_text(path) == card_text(str(path)) == card_text(TEXT) == TEXT


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    """Bytes that are not UTF-8 are refused with the file's name and no traceback of a decoder."""
    (tmp_path / "x.toml").write_bytes(b"\xff\xfe title")
    with pytest.raises(CardError, match=r"The meter card x\.toml is not readable"):
        read_card(tmp_path / "x.toml")
    with pytest.raises(FileNotFoundError, match=r"y\.toml cannot be read"):
        read_card(tmp_path / "y.toml")
