"""From the accuracy page to a card: lines, fields, reading back, storing. Every meter here is invented."""

import itertools
import os
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit.errors import CardError, EntryError
from labkit.quantity import parse
from labkit.record import card_entry as card_writing
from labkit.record.card import Card, Range, parse_card, read_card
from labkit.record.card_entry import (
    CardDraft,
    allowed,
    card_toml,
    store_text,
    table_lines,
    ten_times,
    write_card,
)
from labkit.resources import shipped

TABLE = """
200 µH  199.99 µH  0.3 %  5 digits  1 kHz, 10 kHz
2 mH    1.9999 mH  0.3 %  5 digits  1 kHz, 10 kHz
20 mH   19.999 mH  0.3 %  5 digits  1 kHz, 10 kHz
200 mH  199.99 mH  0.3 %  5 digits  1 kHz, 10 kHz
"""
FINE: dict[str, Any] = {
    "id": "bench-fine",
    "title": "Bench LCR meter, fine (invented)",
    "source": "invented for labkit; no instrument stands behind it",
    "invented": True,
    "calibrated": "2031-01-15",
    "low_q": 0.1,
    "leads": ("60 nH", "40 nH"),
    "ranges": TABLE,
}


def draft(**other: Any) -> CardDraft:
    """The draft of the fine card, with some fields given otherwise."""
    return write_card(**(FINE | other))


def only(text: str) -> Range:
    """The range that one line states."""
    (line,) = table_lines(text)
    assert line.range is not None, line.refusal
    return line.range


def sizes(card: Card) -> list[tuple[Any, ...]]:
    """What a card's ranges amount to, in SI units."""
    return [
        (r.quantity, r.name, r.full_scale, r.count, r.percent, r.digits, r.frequencies_Hz)
        for r in card.ranges
    ]


# Lines


@pytest.mark.parametrize(
    "text",
    [
        "2 mH  1.9999 mH  0.3 %  5 digits  1 kHz, 10 kHz",
        "2 mH 1.9999 mH 0.3 % 5 digits 1 kHz 10 kHz",
        "2 mH\t1.9999 mH\t0.3%\t5 counts\t1kHz/10kHz",
        "2 mH | 1,9999 mH | ±(0,3 % + 5 digits) | at 1 kHz & 10 kHz",
        "  2 mH;1.9999mH; 0.3 % of reading + 5 digits; 1 kHz; 10 kHz  ",
        "2 mH  1.9999 mH  0.1 µH  0.3 %  5 digits  1 kHz, 10 kHz",
    ],
)
def test_a_line_may_be_typed_or_pasted_in_many_ways(text: str) -> None:
    """Gaps of any kind, a comma as decimal mark, brackets, and the trade's words come to the same range."""
    found = only(text)
    assert (found.quantity, found.name, found.up_to) == ("inductance", "2 mH", "1.9999 mH")
    assert found.count == pytest.approx(1e-7, rel=1e-12)
    assert (found.percent, found.digits, found.frequencies) == (0.3, 5.0, ("1 kHz", "10 kHz"))


@pytest.mark.parametrize(
    ("text", "quantity", "name"),
    [
        ("20 Ω  19.999 Ω  1 %  3 digits  100 Hz", "resistance", "20 Ω"),
        ("range 3  19.999 kohm  1 %  3 digits  100 Hz", "resistance", "range 3"),
        ("low 2 nF  1.999 nF  1 %  3 digits  1 kHz", "capacitance", "low 2 nF"),
        ("low 2 nF  1.999 nF  1 pF  1 %  3 digits  1 kHz", "capacitance", "low 2 nF"),
    ],
)
def test_the_unit_says_which_quantity_it_is(text: str, quantity: str, name: str) -> None:
    """Nobody types the quantity, and a range may be called by any words."""
    assert (only(text).quantity, only(text).name) == (quantity, name)


REFUSED = {
    "199.99 µH  0.3 %  5 digits  1 kHz": "only one size, 199.99 µH",
    "199.99 µH  10 nH  0.3 %  5 digits  1 kHz": "only one size, 199.99 µH",
    "200 µH  0.3 %  5 digits  1 kHz": "only one size",
    "range 3  0.3 %  5 digits  1 kHz": "no largest display",
    "200 µH  199.99 µH  5 digits  1 kHz": "no percentage",
    "200 µH  199.99 µH  0.3 %  1 kHz": "no number of digits",
    "200 µH  199.99 µH  0.3 %  5  1 kHz": "no number of digits",
    "200 µH  199.99 µH  0.3 %  5 digits": "no test frequency",
    "200 µH  199.99 µH  0.3 %  5 digits  1, 10 kHz": "“1, 10 kHz”",
    "200 µH  199.99 µH  0.3 %  5 digits  1 kHz to 10 kHz": "“1 kHz to”",
    "200 µH  199.99 mh  0.3 %  5 digits  1 kHz": "could mean mH or MH",
    "2 mH  1,999 mH  0.3 %  5 digits  1 kHz": "could mean 1.999 mH or 1999 mH",
    "200 µH  199.99 µH  100 nH  0.3 %  5 digits  1 kHz": "one count is given as 100 nH",
    "2 V  1.999 V  0.3 %  5 digits  1 kHz": "1.999 V is no inductance",
    "200 µH  199.99 µH  100 %  5 digits  1 kHz": "a percentage of 100 or more",
    "200 µH  199.99 µH  0.3 5 %  5 digits  1 kHz": "no largest display",
    "200 µH  199.99 µH  0.3 %  + 0.01 %  5 digits  1 kHz": "no number of digits",
    "all at 0.3 %": "no number of digits",
}


@pytest.mark.parametrize(("text", "reason"), REFUSED.items())
def test_what_a_line_lacks_is_named(text: str, reason: str) -> None:
    """A line that does not state all that a card needs is refused by its number, with what is missing."""
    (line,) = table_lines(text)
    assert line.range is None
    assert line.text == text
    assert line.refusal is not None
    assert line.refusal.startswith("Line 1: ")
    assert reason in line.refusal
    assert line.refusal.count("\n") == 0


def test_blank_lines_keep_their_number() -> None:
    """The number in a refusal is that of the line in the box, blank ones counted."""
    lines = table_lines("\n\n20 mH  19.999 mH  0.3 %  5 digits  1 kHz\n\nx")
    assert [line.number for line in lines] == [3, 5]
    assert lines[1].refusal is not None
    assert lines[1].refusal.startswith("Line 5: ")


@given(st.text(alphabet="0123456789.,%µHmkz ±+()digtscoun;|\tΩF", max_size=60))
def test_no_line_breaks_the_reading(text: str) -> None:
    """Whatever stands in a line, the answer is a range or one sentence."""
    for line in table_lines(text):
        assert (line.range is None) != (line.refusal is None)


def test_next_range_is_ten_times_larger() -> None:
    """From the first line of the table, the other three follow digit for digit."""
    first, *others = (line.range for line in table_lines(TABLE))
    for wanted in others:
        assert first is not None
        first = only(ten_times(first))
        assert first == wanted


# The whole card


def test_a_written_card_is_the_one_in_the_shipped_file() -> None:
    """Four typed lines and five fields give the card that stands in data/cards."""
    written, filed = draft().card, read_card(shipped("data", "cards", "bench-fine.toml"))
    for one, other in zip(sizes(written), sizes(filed), strict=True):
        assert one == pytest.approx(other, rel=1e-12) if isinstance(one, float) else one[:2] == other[:2]
        assert one[2:6] == pytest.approx(other[2:6], rel=1e-12)
        assert one[6] == other[6]
    apart = ("ranges",)
    assert written.model_dump(exclude=set(apart)) == filed.model_dump(exclude=set(apart))


def test_what_is_not_stated_stays_out() -> None:
    """Nothing that was not given stands in the file, and the draft says what is left out."""
    card = write_card("m", title="t", source="s", ranges="2 mH  1.9999 mH  0.3 %  5 digits  1 kHz")
    assert re.findall(r"^\[?\[?(\w+)", card.text, re.MULTILINE) == [
        *("schema", "id", "title", "invented", "source"),
        *("ranges", "quantity", "name", "up_to", "digit", "percent", "digits", "frequencies"),
    ]
    for field in ("calibration", "due", "low Q", "lead residual"):
        assert field in " ".join(str(card).split())
    assert "left out" not in str(draft(calibration_due="2032-01-15"))


@pytest.mark.parametrize(
    ("field", "given", "reason"),
    [
        ("id", "", "the name of the card (its id) is missing"),
        ("id", "Fine 1", "'Fine 1' cannot be the name"),
        ("id", "-fine", "'-fine' cannot be the name"),
        ("title", " ", "the meter's title is missing"),
        ("title", "t" * 121, "more than 120 characters"),
        ("source", "", "the source of the figures is missing"),
        ("ranges", "\n", "the accuracy table is missing"),
        ("ranges", "x", "Line 1: no percentage"),
        ("ranges", TABLE + TABLE.splitlines()[1], "Range 200 µH is stated twice at 1 kHz"),
        ("ranges", TABLE + "2 mH 3.000 mH 1 % 5 digits 100 Hz", "reaches 1.9999 mH in one line and 3.000 mH"),
        ("calibrated", "15.1.2031", "'15.1.2031'; write it as year-month-day"),
        ("calibration_due", "2031-02-30", "when calibration is due was given as '2031-02-30'"),
        ("low_q", "0", "given as '0'"),
        ("low_q", "often", "given as 'often'"),
        ("leads", ("60", "40 nH"), "“60” has no unit"),
        ("leads", ("60 nH", "-40 nH"), "below zero"),
    ],
)
def test_a_field_that_cannot_be_taken_is_named(field: str, given: Any, reason: str) -> None:
    """One sentence says which field it is, what was given and what is accepted."""
    with pytest.raises(CardError) as caught:
        draft(**{field: given})
    assert reason in str(caught.value)
    assert "\n" not in str(caught.value)


NAMES = st.text(min_size=1, max_size=40)
SIZE = st.builds(
    lambda n, unit: (f"{n / 1000:.3f} {unit}", unit), st.integers(1, 999_999), st.sampled_from(["µ", "m"])
)


@st.composite
def cards(draw: st.DrawFn) -> Card:
    """Any card that the schema takes."""
    symbol = {"inductance": "H", "resistance": "Ω", "capacitance": "F"}
    ranges = []
    for _ in range(draw(st.integers(1, 4))):
        kind = draw(st.sampled_from(sorted(symbol)))
        size, prefix = draw(SIZE)
        fields = {"quantity": kind, "name": draw(NAMES), "up_to": size + symbol[kind]}
        fields |= {
            "digit": f"0.001 {prefix}{symbol[kind]}",
            "percent": draw(st.floats(0, 99, allow_subnormal=False)),
            "digits": draw(st.floats(0, 9999, allow_subnormal=False)),
            "frequencies": draw(st.sampled_from([("1 kHz",), ("100 Hz", "10 kHz")])),
        }
        ranges.append(fields)
    optional = {
        "calibrated": draw(st.none() | st.dates()),
        "calibration_due": draw(st.none() | st.dates()),
        "low_q": draw(st.none() | st.just({"above_dissipation_factor": draw(st.floats(1e-6, 10))})),
        "lead_residual": draw(st.none() | st.just({"inductance": "60 nH", "limit": "40 nH"})),
    }
    texts = {
        "title": draw(st.text(min_size=1, max_size=120)),
        "source": draw(st.text(min_size=1, max_size=400)),
    }
    return Card.model_validate(
        {"schema": 1, "id": "a-1", "invented": draw(st.booleans()), "ranges": ranges} | texts | optional
    )


@given(cards())
def test_every_card_reads_back_equal(card: Card) -> None:
    """TOML and back changes nothing, whatever characters stand in the texts."""
    assert parse_card(card_toml(card)) == card


# Reading back


def test_limits_are_read_back_in_words_and_numbers() -> None:
    """Hand-worked: 0.3 % of 10 mH and 5 counts are 0.035 mH; u = √(30²/3 + 5²/3 + 0.5²/3) µH = 17.56 µH."""
    found = draft().allows("10.00 mH", "1 kHz")
    assert found.sentences[0] == (
        "10.00 mH at 1 kHz, range 20 mH: the card allows ±(0.3 % of 10.00 mH + 5 × 0.001 mH) = ±0.035 mH, "
        "a standard uncertainty of 0.018 mH."
    )
    assert found.limit == Decimal("0.000035")
    assert found.standard_uncertainty == pytest.approx(17.5618e-6, rel=1e-5)
    assert "low Q" in found.sentences[1]


@pytest.mark.parametrize(
    ("shown", "frequency", "on", "limit"),
    [
        ("0.1 mH", None, "200 µH", "±0.00035 mH"),
        ("100 µH", "10 kHz", "200 µH", "±0.35 µH"),
        ("199.99 µH", "1 kHz", "200 µH", "±0.64997 µH"),
        ("200 µH", "1 kHz", "2 mH", "±1.1 µH"),
        ("-50 µH", "1 kHz", "200 µH", "±0.2 µH"),
        ("0 µH", "1 kHz", "200 µH", "±0.05 µH"),
        ("100.00005 µH", "1 kHz", "200 µH", "±0.35000015 µH"),
    ],
)
def test_a_value_is_read_back_on_the_smallest_range(
    shown: str, frequency: str | None, on: str, limit: str
) -> None:
    """A typical value is no display: its digits say nothing about the range, and the limit is exact."""
    found = draft().allows(shown, frequency)
    assert found.on.name == on
    assert f" = {limit}," in found.sentences[0]


def test_reading_back_agrees_with_the_card_that_reads() -> None:
    """For values as the display shows them the limit is the one that readings are given later."""
    card = draft().card
    for shown in ("6.838 mH", "68.03 mH", "31.16 µH", "1.2345 mH"):
        value = parse(shown)
        assert float(allowed(card, shown).limit) == pytest.approx(card.limit(value), rel=1e-12)


@pytest.mark.parametrize(
    ("shown", "frequency", "reason"),
    [
        ("10.00", "1 kHz", "no unit"),
        ("10.00 mH", "1", "no unit"),
        ("10.00 mH", "100 kHz", "states no accuracy for 10.00 mH at 100 kHz"),
        ("500 mH", "1 kHz", "states no accuracy for 500 mH"),
        ("10 Ω", "1 kHz", "not a unit of inductance"),
    ],
)
def test_a_value_that_the_card_does_not_cover_is_refused(shown: str, frequency: str, reason: str) -> None:
    """Nothing is read back for a value outside the table, and it does not count as read back."""
    card = draft()
    with pytest.raises((CardError, EntryError), match=re.escape(reason)):
        card.allows(shown, frequency)
    assert card.read_back == []


def test_a_line_for_each_frequency_asks_for_it() -> None:
    """If the accuracy depends on the frequency, a value without one is not read back."""
    two = "2 mH  1.9999 mH  0.3 %  5 digits  1 kHz\n2 mH  1.9999 mH  1 %  5 digits  10 kHz"
    card = draft(ranges=two)
    with pytest.raises(CardError, match="record the test frequency"):
        card.allows("1.000 mH")
    assert " = ±0.0105 mH," in card.allows("1.000 mH", "10 kHz").sentences[0]


# Storing


def test_a_card_is_stored_only_read_back_and_confirmed(tmp_path: Path) -> None:
    """Without either nothing is written; with both the file reads back to the card."""
    card = draft()
    with pytest.raises(CardError, match="nobody has read it back"):
        card.store(tmp_path, confirmed=True)
    card.allows("10.00 mH", "1 kHz")
    with pytest.raises(CardError, match=re.escape("= ±0.035 mH")):
        card.store(tmp_path)
    assert list(tmp_path.iterdir()) == []
    assert "bench-fine.toml" in str(card.store(tmp_path, confirmed=True))
    assert [path.name for path in tmp_path.iterdir()] == ["bench-fine.toml"]
    assert read_card(tmp_path / "bench-fine.toml") == card.card
    assert "nothing was written" in str(card.store(tmp_path, confirmed=True))


def test_a_file_is_never_overwritten(tmp_path: Path) -> None:
    """Another content under the name is kept, byte for byte, and the sentence says so."""
    path = tmp_path / "mine.toml"
    path.write_bytes(b"mine")
    card = draft()
    card.allows("10.00 mH", "1 kHz")
    with pytest.raises(CardError, match="NOT overwritten"):
        card.store(path, confirmed=True)
    assert path.read_bytes() == b"mine"
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    """The refusal names the file and what to do."""
    with pytest.raises(CardError, match=r"NOT stored in .*choose a folder that is there"):
        store_text(tmp_path / "none" / "x.toml", "x")


@pytest.mark.parametrize("last_step", range(1, 4))
def test_a_crash_leaves_the_whole_file_or_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, last_step: int
) -> None:
    """Whichever step of the writing is the last, no reader ever sees half a card under its name."""
    steps = itertools.count(1)

    def dying(step: Any) -> Any:
        def run(*arguments: Any, **named: Any) -> Any:
            if next(steps) >= last_step:
                raise KeyboardInterrupt
            return step(*arguments, **named)

        return run

    monkeypatch.setattr(card_writing.os, "fsync", dying(os.fsync))
    monkeypatch.setattr(Path, "hardlink_to", dying(Path.hardlink_to))
    text = draft().text
    try:
        store_text(tmp_path / "x.toml", text)
    except KeyboardInterrupt:
        assert not (tmp_path / "x.toml").exists()
    else:
        assert (tmp_path / "x.toml").read_text("utf-8") == text
    assert not [path for path in tmp_path.iterdir() if path.name != "x.toml"]


def test_a_disk_without_second_names_gets_the_file_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where no second name can be given the file is written under its own, and still not over another."""

    def refuse(self: Path, target: Path) -> None:
        raise PermissionError(1, "no links here")

    monkeypatch.setattr(Path, "hardlink_to", refuse)
    assert store_text(tmp_path / "x.toml", "a")
    assert [path.name for path in tmp_path.iterdir()] == ["x.toml"]
    with pytest.raises(CardError, match="NOT overwritten"):
        store_text(tmp_path / "x.toml", "b")
    assert (tmp_path / "x.toml").read_text("utf-8") == "a"
