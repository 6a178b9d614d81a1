"""Programs that are killed while they write a record. All readings here are invented."""

import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from labkit.record.record_file import FILE, LOCK, Record
from tests.records import PART, hashes, lines

PATIENCE_S = 300  # for a program that dies at once on an idle machine

# Enters events for ever and prints the id of each one after `append` has returned.
WRITER = """
import sys
from labkit.record.record_file import Record
record = Record.open(sys.argv[1])
for n in range(len(record.events), 10**9):
    id = record.append("own_words", f"word-{n}", topic="clamps", text=f"{n} " * 400).id
    print(id, flush=True)
"""

# Kills itself at the named moment of one entry; print() would come only after `append` has returned.
DYING = """
import os, resource, signal, sys
from labkit.record import record_file
from labkit.record.record_file import Record
from labkit.errors import RecordError
folder, moment = sys.argv[1:]
record = Record.open(folder)
die = lambda *ignored: os.kill(os.getpid(), signal.SIGKILL)
real = os.fsync
if moment == "half a line":
    size = os.path.getsize(os.path.join(folder, "record.jsonl"))
    resource.setrlimit(resource.RLIMIT_FSIZE, (size + 100, size + 100))
if moment == "before the disk confirms":
    os.fsync = die
if moment == "after the disk confirms":
    os.fsync = lambda descriptor: (real(descriptor), die())
if moment == "before the torn end is cut off":
    record_file.sync_folder = die
try:
    record.append("own_words", "last", topic="clamps", text="x" * 500)
except RecordError:
    die()
print("acknowledged", flush=True)
"""


def program(text: str, *arguments: str) -> "subprocess.Popen[str]":
    """Start a program of its own."""
    return subprocess.Popen([sys.executable, "-c", text, *arguments], stdout=subprocess.PIPE, text=True)


def acknowledged_until_killed(folder: Path, chance: random.Random) -> list[str]:
    """Let a writer enter events, kill it at a random moment, and return the ids that it had printed."""
    writer = program(WRITER, str(folder))
    assert writer.stdout is not None
    first = writer.stdout.readline()
    time.sleep(chance.uniform(0.005, 0.08))
    writer.send_signal(signal.SIGKILL)
    rest = writer.stdout.read()
    writer.stdout.close()
    assert writer.wait() == -signal.SIGKILL
    return (first + rest).split("\n")[:-1]


def test_every_acknowledged_event_survives_being_killed(tmp_path: Path) -> None:
    """After kills at random moments of hundreds of writes every acknowledged event is in a sound chain."""
    Record.create(tmp_path, PART)
    chance = random.Random(20310506)
    acknowledged: list[str] = []
    kills = 0
    while kills < 20 or len(acknowledged) < 200:
        acknowledged += acknowledged_until_killed(tmp_path, chance)
        kills += 1
    record = Record.open(tmp_path)
    ids = [event.id for event in record.events[1:]]
    assert set(acknowledged) <= set(ids)
    assert [id for id in ids if id in set(acknowledged)] == acknowledged
    assert len(ids) <= len(acknowledged) + kills
    assert all(problem.startswith(("'torn-line-", "record.jsonl, line")) for problem in record.problems)
    record.append("own_words", "after", topic="clamps", text="goes on")
    assert all(problem.startswith("'torn-line-") for problem in record.problems)
    assert [event.prev for event in record.events[1:]] == hashes(tmp_path)[:-1]


@pytest.mark.parametrize(
    ("moment", "there", "aside"),
    [
        ("half a line", False, 100),
        ("before the disk confirms", True, 0),
        ("after the disk confirms", True, 0),
    ],
)
def test_a_death_at_any_moment_of_an_entry_loses_nothing(
    tmp_path: Path, moment: str, there: bool, aside: int
) -> None:
    """An entry that was not acknowledged is whole or not there; entering it again stores it once."""
    record = Record.create(tmp_path, PART)
    record.append("own_words", "first", topic="clamps", text="first")
    before = lines(tmp_path)
    dying = program(DYING, str(tmp_path), moment)
    assert dying.communicate(timeout=PATIENCE_S)[0] == ""
    assert dying.returncode == -signal.SIGKILL
    assert lines(tmp_path)[:2] == before
    ids = [event.id for event in Record.open(tmp_path).events]
    assert ids == ["opened", "first"] + ["last"] * there
    again = Record.open(tmp_path)
    again.append("own_words", "last", topic="clamps", text="x" * 500)
    assert [event.id for event in Record.open(tmp_path).events] == ["opened", "first", "last"]
    assert [path.stat().st_size for path in tmp_path.glob("torn-*")] == [aside] * bool(aside)


def test_a_death_while_a_torn_end_is_moved_keeps_its_bytes(tmp_path: Path) -> None:
    """Killed between the copy and the cut, a record has the torn bytes twice rather than not at all."""
    Record.create(tmp_path, PART)
    with (tmp_path / FILE).open("ab") as file:
        file.write(b'{"schema":1,"se')
    dying = program(DYING, str(tmp_path), "before the torn end is cut off")
    assert dying.wait(PATIENCE_S) == -signal.SIGKILL
    assert dying.stdout is not None
    dying.stdout.close()
    assert (tmp_path / FILE).read_bytes().endswith(b'\n{"schema":1,"se')
    assert (tmp_path / "torn-line-2.bytes").read_bytes() == b'{"schema":1,"se'
    Record.open(tmp_path).append("own_words", "after", topic="clamps", text="goes on")
    assert {path.read_bytes() for path in tmp_path.glob("torn-*")} == {b'{"schema":1,"se'}
    assert [event.id for event in Record.open(tmp_path).events] == ["opened", "after"]


def test_a_killed_program_leaves_no_lock_behind(tmp_path: Path) -> None:
    """The lock of a program that was killed while holding it does not keep anybody out."""
    Record.create(tmp_path, PART)
    dying = program(DYING, str(tmp_path), "before the disk confirms")
    dying.communicate(timeout=PATIENCE_S)
    assert (tmp_path / LOCK).exists()
    Record.open(tmp_path).append("own_words", "after", topic="clamps", text="goes on")
    assert [event.id for event in Record.open(tmp_path).events][-1] == "after"
