"""Practice benches: the same for the same seed, with the solution kept apart until a guess is committed."""

import gc
from pathlib import Path

import pytest

from labkit.errors import EntryError, MissingReading
from labkit.record import demo as words
from labkit.record.demo import FIRST, PRACTICE_PLANTED, practice_bench


def planted_as(name: str) -> int:
    """The first seed with this mistake."""
    return next(seed for seed in range(200) if practice_bench(seed)._truth.planted == name)


def test_the_same_seed_is_the_same_bench(tmp_path: Path) -> None:
    """Two benches of one seed show the same readings, another seed shows others."""
    first, again, other = (
        [str(r.shown) for r in practice_bench(seed, tmp_path / str(i)).bench.readings]
        for i, seed in enumerate((4, 4, 5))
    )
    assert first == again != other


def test_the_record_says_nothing_of_the_mistake(tmp_path: Path) -> None:
    """Neither a word of the solution nor the fault's wiring stands in the record."""
    practice_bench(planted_as("open clamp"), tmp_path)
    text = (tmp_path / "record.jsonl").read_text(encoding="utf-8")
    assert words.PLANTED["open clamp"] not in text
    assert '"1a 1b | 1a=2a"' not in text


def test_every_mistake_is_planted_by_some_seed() -> None:
    """All entries of `PLANTED` occur, the sound bench included."""
    assert {practice_bench(seed)._truth.planted for seed in range(40)} == set(PRACTICE_PLANTED)


def test_the_solution_waits_for_a_guess() -> None:
    """Before a guess the solution is refused; afterwards it stands beside the guess."""
    practice = practice_bench(planted_as("reversed"))
    with pytest.raises(MissingReading, match="Commit a guess first"):
        practice.solution()
    practice.guess("In line, winding 2 was the wrong way round.")
    answer = str(practice.solution())
    assert words.PLANTED["reversed"] in answer
    assert "In line, winding 2 was the wrong way round." in answer


def test_further_readings_carry_the_mistake() -> None:
    """An open clamp stays open when a winding is turned round: the reading is that of one winding."""
    practice = practice_bench(planted_as("open clamp"))
    practice.read("1a 1b | 1a=2b 1b=2a")
    shown = {r.id: r.shown.value for r in practice.bench.readings}
    assert shown["more-1"] == pytest.approx(shown["winding-1"], rel=0.01)


def test_the_bench_is_marked_invented() -> None:
    """Practice data can never pass for a measurement."""
    practice = practice_bench(0)
    assert practice.bench.invented
    assert "invented" in str(practice).lower()
    assert len(practice.bench.readings) == len(FIRST)


def test_a_temporary_folder_goes_with_its_bench() -> None:
    """It is there as long as the bench can be used, without the practice around it too, and no longer."""
    bench = practice_bench(0).bench
    folder = bench.record.folder
    bench.write("guess", "Nothing.")
    assert folder.exists()
    del bench
    gc.collect()
    assert not folder.exists()


@pytest.mark.parametrize("seed", [-1, 1.5, "1"])
def test_a_seed_that_is_none_is_refused(seed: object) -> None:
    """One sentence says what a seed is."""
    with pytest.raises(EntryError, match="whole number from 0 on"):
        practice_bench(seed)  # type: ignore[arg-type]
