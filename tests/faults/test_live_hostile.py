"""Messages that no script of ours sends: each face answers, in one sentence, and loses nothing.

All readings here are invented.
"""

import json
import random
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

import labkit
from labkit.record.bench import Bench, new_bench, open_bench
from labkit.resources import shipped
from labkit.widgets.live import Live
from tests.records import ticking

FACES: dict[str, Callable[[Bench], Live]] = {
    "form": labkit.form,
    "card form": labkit.card_form,
    "wiring board": labkit.wiring_board,
    "derivation board": lambda bench: labkit.derivation_board("1a 2a | 1b=2b", bench),
    "presenting view": labkit.present,
}
VERBS = {
    "kind": [
        *("look", "again", "sheet", "doubt", "store", "accept", "describe", "meter", "use", "correct"),
        *("withdraw", "type", "next"),
    ],
    "do": [
        "derive",
        "look",
        "write",
        "undo",
        "tie",
        "clip",
        "turn",
        "dot",
        "forget dots",
        "prepare",
        "again",
    ],
}
FIELDS = [
    *("text", "as", "name", "id", "row", "what", "shown", "second", "repeat", "frequency", "mode", "meter"),
    *("leads", "fields", "revision", "ends", "clip", "on", "winding"),
]
INNER = [
    *("by", "who", "windings", "dots", "title", "family", "undotted", "name", "card", "path", "reason"),
    *("shown", "second", "frequency", "mode", "meter", "leads", "ranges", "typical", "id", "source"),
]
ODD: list[Any] = [
    *(None, True, 0, 1, -1, 2**70, 1e308, 0.5, "", " ", "1a", "1a 1b", "winding-1", "10.00 mH", "p1", "\x00"),
    *("reading", "prediction", "inductance", "second", "correct", "withdraw", "../../x", "/", "a" * 20_000),
    *("\ud800", "١٢ mH", "1e999 H", "²", [], {}, [[]], ["1a", "2a"], {"a": 1}, [None], "64", "9" * 5000),
]


def messages(count: int, seed: int) -> Iterator[Any]:
    """Verbs that exist with fields that do not fit, and things that are no message at all."""
    chance = random.Random(seed)
    yield from (None, [], "look", 3, {}, {"kind": []}, {"do": {}}, {"kind": {"a": 1}}, {"number": {}})
    for _ in range(count):
        verb = chance.choice(["kind", "do"])
        message: dict[str, Any] = {verb: chance.choice([*VERBS[verb], *VERBS[verb], *ODD])}
        for name in chance.sample(FIELDS, chance.randrange(6)):
            message[name] = chance.choice(ODD)
        if chance.random() < 0.6:
            inner = chance.sample(INNER, chance.randrange(len(INNER)))
            message["fields"] = {name: chance.choice(ODD) for name in inner}
        yield message


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """A bench with one reading."""
    bench = new_bench(tmp_path / "bench", "sample-7", clock=ticking(), invented=True)
    bench.accept_cautions("p1")
    bench.describe(windings=2, family="same core", dots="1a 2a")
    bench.meter("meter-a", shipped("data", "cards", "bench-fine.toml"))
    bench.use(frequency="10 kHz", mode="series", meter="meter-a", leads="zeroed", by="p2")
    bench.read("1a 1b", "10.00 mH", "winding-1")
    return bench


@pytest.mark.parametrize("name", FACES)
def test_every_hostile_message_is_answered(bench: Bench, name: str, tmp_path: Path) -> None:
    """One answer each with the page's own number, at most one sentence of refusal, nothing stored is lost."""
    face, sent = FACES[name](bench), []
    face.send = sent.append  # type: ignore[method-assign,assignment]
    stored = open_bench(bench.record.folder).events
    for number, message in enumerate(messages(600, 11)):
        sent.clear()
        face.answer(message | {"number": number} if isinstance(message, dict) else message)
        answers = [reply for reply in sent if "answer" in reply]
        assert len(answers) == 1, message
        assert answers[0]["answer"] == (number if isinstance(message, dict) else None)
        refused = answers[0].get("refused", "")
        assert isinstance(refused, str)
        assert "\n" not in refused
        assert not refused or refused.endswith((".", "?")), refused
        json.dumps([sent, face.state], ensure_ascii=False, allow_nan=False).encode()
    again = open_bench(bench.record.folder)
    assert again.record.problems == ()
    assert again.events[: len(stored)] == stored
