"""Boards without a browser: what a message does, what is shown, and what is refused."""

import json
import re
import subprocess
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import labkit
from labkit.errors import EntryError, LabkitError, WiringError
from labkit.faces import schematic
from labkit.faces.wiring_name import what_is
from labkit.record.bench import Bench
from labkit.theory.wiring import Wiring, all_wirings
from labkit.widgets import boards, live
from labkit.widgets.boards import Board, WiringBoard, derivation_board, pages, wiring_board
from labkit.words import theory as derivation_words
from labkit.words import widgets as words
from tests.benches import EXAMPLE, typed_bench

FINE = EXAMPLE["bench-fine"]
START = "1a 2a | 1b=2b"
SIDE_BY_SIDE = "1a 1b | 1a=2a 1b=2b"


@cache
def read_bench() -> Bench:
    """A bench with readings, analysed once for all tests that only look at it."""
    return typed_bench(FINE)


def board() -> WiringBoard:
    """A wiring board on a bench with readings."""
    return WiringBoard(read_bench(), START)


@pytest.mark.parametrize(
    ("message", "wiring", "said"),
    [
        ({"do": "tie", "ends": ["1a", "2a"]}, "1a 2a | 1a=2a 1b=2b", "Tied 1a to 2a. The leads alone."),
        ({"do": "tie", "ends": ["1b", "2b"]}, "1a 2a", "2b is off the tie with 1b. An open circuit."),
        ({"do": "clip", "clip": 1, "on": "2b"}, "1a 2b | 1b=2b", "Second clip is on 2b. Winding 1 alone."),
        ({"do": "clip", "clip": 0, "on": "1b"}, "1b 2a | 1b=2b", "First clip is on 1b. Winding 2 alone."),
        ({"do": "turn", "winding": 2}, "1a 2b | 1b=2a", "Winding 2 is turned round. Series-aiding."),
        ({"do": "dot", "winding": 1}, START, "Dots at 1b and 2a. Series-aiding."),
        ({"do": "write", "text": SIDE_BY_SIDE}, SIDE_BY_SIDE, "Built as written. Parallel-aiding."),
        (
            {"do": "forget dots"},
            START,
            "Dots not known. Series-opposing or series-aiding: the dots decide.",
        ),
    ],
)
def test_every_verb_changes_the_wiring_and_says_what_is_built(
    message: dict[str, Any], wiring: str, said: str
) -> None:
    """The state shows the new wiring, its name, its drawing, and what was done in words."""
    model = board()
    assert model.handle(message) is None
    state = model.state()
    assert (state["wiring"], state["said"]) == (wiring, said)
    assert said.endswith(state["name"] + ".")
    assert f'data-wiring="{wiring}"' in state["drawing"]
    assert model.wiring == Wiring.parse(wiring)


@pytest.mark.parametrize("wiring", list(all_wirings()), ids=str)
def test_what_is_shown_is_what_the_plain_call_says(wiring: Wiring) -> None:
    """Name, remarks, drawing and figures are those of `what_is`, for every wiring of a pair."""
    bench = read_bench()
    state, plain = WiringBoard(bench, wiring).state(), what_is(wiring, bench)
    assert state["drawing"] == plain.picture.svg
    assert state["remarks"] == list(plain.remarks)
    assert state["name"].lower() == plain.name.lower()
    assert state["hand"]["rows"] == [list(row) for row in plain.figures.rows]
    assert state["hand"]["notes"] == list(plain.figures.notes)


@pytest.mark.parametrize(
    ("message", "error"),
    [
        ({"do": "write", "text": "1a 2c"}, WiringError),
        ({"do": "write", "text": "1a 3b"}, WiringError),
        ({"do": "write", "text": ""}, WiringError),
        ({"do": "tie", "ends": ["1a", "1a"]}, WiringError),
        ({"do": "tie", "ends": ["1a", "3a"]}, WiringError),
        ({"do": "tie", "ends": ["1a"]}, EntryError),
        ({"do": "clip", "clip": 0, "on": "1a"}, EntryError),
        ({"do": "clip", "clip": 2, "on": "1a"}, EntryError),
        ({"do": "turn", "winding": 3}, EntryError),
        ({"do": "dot", "winding": 0}, EntryError),
        ({"do": "undo"}, EntryError),
        ({"do": "solder"}, EntryError),
        ({}, EntryError),
    ],
)
def test_what_cannot_be_done_is_refused_and_changes_nothing(
    message: dict[str, Any], error: type[LabkitError]
) -> None:
    """One sentence; state and wiring stay what they were, and there is nothing to undo."""
    model = board()
    before = model.state()
    with pytest.raises(error):
        model.handle(message)
    assert model.state() == before
    assert model.wiring == Wiring.parse(START)


def test_a_wiring_that_cannot_be_drawn_is_not_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the drawing gives up the board keeps what it shows, and undo does not lead there."""
    model = board()
    before = model.state()

    def crowded(*_: object) -> None:
        raise EntryError("too crowded")

    monkeypatch.setattr(schematic, "draw", crowded)
    with pytest.raises(EntryError, match="too crowded"):
        model.handle({"do": "tie", "ends": ["1a", "2b"]})
    monkeypatch.undo()
    assert model.state() == before
    model.handle({"do": "look"})
    assert model.state() == before


def test_undo_goes_back_one_change_at_a_time() -> None:
    """Wiring and dots return step by step to the beginning, where undo is refused."""
    model = board()
    model.tie("1a", "2b")
    model.move_dot(2)
    model.write("1a 1b")
    seen = []
    for _ in range(3):
        model.undo()
        seen.append((model.wiring.notation, " ".join(map(str, model.dots or ()))))
    assert seen == [("1a 2a | 1a=1b=2b", "1a 2b"), ("1a 2a | 1a=1b=2b", "1a 2a"), (START, "1a 2a")]
    assert model.state()["hand"]["undo"] is False
    with pytest.raises(EntryError, match="nothing to undo"):
        model.undo()


def test_unknown_dots_are_marked_at_the_ends_a_first() -> None:
    """The first press marks both; the next ones move one dot."""
    model = WiringBoard(None, START)
    assert model.dots is None
    assert model.state()["hand"]["windings"][0]["dot_text"] == words.DOT_UNKNOWN
    model.move_dot(2)
    assert model.state()["name"] == "Series-opposing"
    model.move_dot(2)
    assert model.state()["name"] == "Series-aiding"


def test_every_end_says_what_is_on_it() -> None:
    """For screen readers and on the key: clips and ties; both clips on one end are both named."""
    model = WiringBoard(None, "1a 1a | 1a=2b=3a", windings=3)
    ends = {end["name"]: end for w in model.state()["hand"]["windings"] for end in w["ends"]}
    assert list(ends) == ["1a", "1b", "2a", "2b", "3a", "3b"]
    assert ends["1a"]["label"] == "terminal 1a, first clip on it, second clip on it, tied to 2b and 3a"
    assert ends["1a"]["clips"] == list(words.CLIP_SHORT)
    assert ends["1a"]["tied"] == "= 2b = 3a"
    assert ends["1b"]["label"] == "terminal 1b"


def test_a_state_is_plain_json() -> None:
    """It goes to the browser as it is, and everything that the script writes is in it."""
    script = Path(boards.__file__).with_name("board.js").read_text(encoding="utf-8")
    named = set(re.findall(r"\bt\.([a-z_]+)", script))
    assert len(named) > 20
    for model in (board(), Board(None, SIDE_BY_SIDE), WiringBoard(None, "1a 3b", windings=3)):
        state = model.state()
        assert json.loads(json.dumps(state)) == state
        assert named <= set(state["texts"])


def test_a_reading_that_comes_later_is_seen_at_the_next_look() -> None:
    """The board asks the bench anew; its key changes, so that the derivation is asked for again."""
    bench = typed_bench({"one": FINE["one"], "two": FINE["two"]})
    model = WiringBoard(bench, START)
    before = model.state()
    assert before["hand"]["rows"][0][2] == ""
    bench.read(START, FINE["line-reversed"], "line-reversed", frequency="10 kHz", meter="meter-a")
    model.handle({"do": "look"})
    after = model.state()
    assert after["hand"]["rows"][0][2] == "25.00 ± 0.10 µH"
    assert after["key"] != before["key"]
    assert after["said"] == ""


def test_the_derivation_comes_in_one_piece_with_its_figures() -> None:
    """Every step of `work_out` in order, the number of the first with figures, and the result on its own."""
    bench = read_bench()
    model = WiringBoard(bench, SIDE_BY_SIDE)
    answer = model.handle({"do": "derive"})
    assert answer is not None
    plain = labkit.work_out(SIDE_BY_SIDE, bench)
    told = answer["derivation"]
    assert [step["title"] for step in told["steps"]] == [step.title for step in plain.all_steps]
    assert told["figures"] == len(plain.derivation.all_steps)
    assert told["formula"]["text"] == "L_eq = (L1·L2 − M²)/(L1 + L2 − 2M)"
    assert told["steps"][-1]["formulas"][-1].startswith("<math")
    assert answer["key"] == model.state()["key"]
    assert json.loads(json.dumps(answer)) == answer


@pytest.mark.parametrize(
    ("wiring", "windings", "formula"),
    [
        ("1a 2a", 2, "L_eq = ∞"),
        ("1a 1a", 2, "L_eq = 0"),
        ("1a 3b | 1b=2a 2b=3a", 3, "L_eq = L1 + L2 + L3 + 2M12 + 2M13 + 2M23"),
    ],
)
def test_every_wiring_has_a_formula(wiring: str, windings: int, formula: str) -> None:
    """Open circuit, leads, and three windings too; without a bench there is no step with figures."""
    told = pages(Wiring.parse(wiring), None, windings)
    assert told["formula"]["text"] == formula
    assert told["figures"] is None


def test_a_result_too_long_for_a_line_is_broken_into_lines() -> None:
    """Three windings side by side: in matrix form first, and written out as N/D with their rows."""
    told = pages(Wiring.parse("1a 1b | 1a=2a=3a 1b=2b=3b"), None, 3)
    assert told["formula"]["text"] == "L_eq = 1/(𝐬ᵀ 𝐋⁻¹ 𝐬)"
    written = next(step for step in told["steps"] if step["title"] == derivation_words.WRITTEN_TITLE)
    texts = [re.search('alttext="([^"]*)"', formula)[1] for formula in written["formulas"]]  # type: ignore[index]
    assert texts[0] == "L_eq = N/D"
    assert texts[1].startswith("N = L1·L2·L3")
    assert texts[2].startswith("D = ")


def test_a_change_is_answered_without_sympy() -> None:
    """Drawing, name and figures need no symbolic algebra, whose import takes longer than all the rest."""
    code = (
        "import sys, labkit; from labkit.widgets.boards import WiringBoard; "
        "board = WiringBoard(labkit.demo_bench()); board.tie('1a', '2b'); board.state(); "
        "print('sympy' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


@pytest.mark.parametrize("make", [wiring_board, derivation_board])
def test_a_widget_shows_its_model_and_answers(make: Callable[..., boards.Boarded]) -> None:
    """A message changes the synchronised state; a refusal is one sentence in the answer."""
    widget = make(wiring=START)
    sent: list[dict[str, Any]] = []
    widget.send = sent.append  # type: ignore[method-assign]
    widget.answer({"do": "write", "text": "1a 1b", "number": 7})
    widget.answer({"do": "write", "text": "1a 1c", "number": 8})
    assert widget.state["wiring"] == "1a 1b"
    assert sent[0] == {"answer": 7}
    assert sent[1]["answer"] == 8
    assert sent[1]["refused"].startswith("'1c' is not a terminal")


@pytest.mark.parametrize(
    ("make", "call"),
    [
        (lambda bench: wiring_board(bench, START), "what_is"),
        (lambda bench: derivation_board(START, bench), "work_out"),
    ],
)
def test_where_there_is_no_browser_one_sentence_names_the_plain_call(
    make: Callable[..., boards.Boarded], call: str
) -> None:
    """The call in the sentence runs as it stands."""
    bench = read_bench()
    for given in (None, bench):
        sentence = repr(make(given))
        assert sentence == str(make(given))
        code = sentence.split("here use ")[1].removesuffix(".")
        assert code.startswith(f"labkit.{call}(")
        assert ("bench" in code) is (given is not None)
        assert str(eval(code, {"labkit": labkit, "bench": bench}))


def test_the_same_cell_run_again_closes_the_board_it_made_before(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only the latest of a cell stays open; a board of another cell is left alone."""
    cell = "cell-1"
    monkeypatch.setattr(live, "running_cell", lambda: cell)
    first = wiring_board()
    cell = "cell-2"
    other = wiring_board()
    cell = "cell-1"
    again = wiring_board()
    assert [widget.comm is None for widget in (first, other, again)] == [True, False, False]


def test_windings_follow_the_bench() -> None:
    """A number that contradicts the bench is refused; without a bench it may be any that can be drawn."""
    with pytest.raises(EntryError, match=r"2 windings, but windings=3"):
        WiringBoard(read_bench(), START, windings=3)
    assert len(WiringBoard(None, START, windings=3).state()["hand"]["windings"]) == 3
    with pytest.raises(EntryError, match=r"1 to 99"):
        WiringBoard(None, START, windings=0)
