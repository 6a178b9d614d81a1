"""The command line: each command does its job or says in one sentence why not. Invented readings."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

import labkit
from labkit.cli import main, parser
from labkit.resources import shipped
from tests.benches import coupled_bench
from tests.bundles import bundle
from tests.records import checked

CARD = shipped("data", "cards", "bench-fine.toml")


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Every command runs in an empty folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_demo_does_the_main_job(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`demo` explains the invented record and writes its report; nothing else is left behind."""
    assert main(["demo"]) == 0
    said = capsys.readouterr()
    assert "invented data" in said.out
    assert "uncoupled rule is refuted" in " ".join(said.out.split())
    assert "Report written to demo-report.html" in said.out
    assert said.err == ""
    assert [path.name for path in here.iterdir()] == ["demo-report.html"]
    assert "<html" in (here / "demo-report.html").read_text(encoding="utf-8")


def test_demo_writes_where_it_is_told(here: Path) -> None:
    """`--report` names the file."""
    assert main(["demo", "--report", "other.html"]) == 0
    assert [path.name for path in here.iterdir()] == ["other.html"]


def test_new_then_summary_then_report(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A new folder can be summed up and reported at once; what is missing is said."""
    assert main(["new", "mine", "--part", "sample-7", "--card", str(CARD)]) == 0
    assert "Bench for sample-7 in mine" in capsys.readouterr().out
    assert {"record.jsonl", "coupled_pair.ipynb"} <= {path.name for path in Path("mine").iterdir()}
    assert main(["summary", "mine"]) == 0
    said = capsys.readouterr().out
    assert said.startswith("sample-7")
    assert "Still missing for the comparison" in said
    assert "invented" not in said.lower()
    assert main(["report", "mine"]) == 0
    assert "Report written to" in capsys.readouterr().out
    assert (here / "mine" / "report.html").exists()


def test_new_in_a_hub_says_where_to_go(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """In a hub's terminal a new bench names its address there, and no command that starts a server."""
    monkeypatch.setenv("JUPYTERHUB_SERVICE_PREFIX", "/user/p1/")
    monkeypatch.setenv("JUPYTER_SERVER_ROOT", str(here))
    assert main(["new", "mine", "--part", "sample-7"]) == 0
    said = capsys.readouterr().out
    assert "/user/p1/doc/tree/mine/coupled_pair.ipynb" in said
    assert "labkit open" not in said


@pytest.mark.skipif(not hasattr(os, "nice"), reason="other systems have no such number")
def test_packing_lets_others_go_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """`pack` lowers its priority before it computes anything, so that nobody's form waits for it."""
    asked: list[int] = []
    monkeypatch.setattr(os, "nice", asked.append)
    assert main(["pack", "nowhere"]) == 2
    assert asked == [10]


def test_summary_of_a_bench(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`summary` prints readings, predictions, comparison and findings, findings last, and writes nothing."""
    coupled_bench(here / "b")
    before = sorted(path.name for path in (here / "b").iterdir())
    assert main(["summary", "b"]) == 0
    said = capsys.readouterr().out
    places = [
        said.index(each)
        for each in ("line-reversed", "What each connection", "Every reading against", "two inductors that")
    ]
    assert places == sorted(places)
    assert sorted(path.name for path in (here / "b").iterdir()) == before


def test_report_writes_where_it_is_told(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`--out` names the file, and the record stays as it is."""
    coupled_bench(here / "b")
    record = (here / "b" / "record.jsonl").read_bytes()
    assert main(["report", "b", "--out", "r.html"]) == 0
    assert capsys.readouterr().out == "Report written to r.html\n"
    assert (here / "r.html").stat().st_size > 10_000
    assert (here / "b" / "record.jsonl").read_bytes() == record


REFUSED = {
    "no record": (["summary", "nowhere"], "no record.jsonl in"),
    "no record to report": (["report", "nowhere"], "no record.jsonl in"),
    "a file for a folder": (["summary", "file"], "file"),
    "folder in use": (["new", "taken", "--part", "x"], "holds record.jsonl already, and nothing was written"),
    "a file for a new folder": (["new", "file", "--part", "x"], "file"),
    "no card": (["new", "fresh", "--part", "x", "--card", "none.toml"], "none.toml"),
    "a bad card": (["new", "fresh", "--part", "x", "--card", "file"], "The meter card file"),
    "a bad part": (["new", "fresh", "--part", ""], "part was given as ''"),
    "nowhere to write": (["demo", "--report", "no/such/folder.html"], "folder.html"),
    "a torn record": (["summary", "torn"], "read"),
}


@pytest.mark.parametrize(("command", "said"), REFUSED.values(), ids=REFUSED)
def test_a_refusal_is_one_sentence(
    here: Path, capsys: pytest.CaptureFixture[str], command: list[str], said: str
) -> None:
    """What cannot be done ends with status 2 and one line on the error stream; nothing new lies about."""
    (here / "file").write_text("no card", encoding="utf-8")
    (here / "taken").mkdir()
    (here / "taken" / "record.jsonl").write_text("", encoding="utf-8")
    (here / "torn").mkdir()
    (here / "torn" / "record.jsonl").write_bytes(checked({"schema": 99, "seq": 1}) + b"\n")
    assert main(command) == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1
    assert "Traceback" not in error
    assert sorted(path.name for path in here.iterdir()) == ["file", "taken", "torn"]


def test_a_missing_record_is_never_the_demo(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing of the demo is shown where a record is missing."""
    assert main(["summary", "."]) == 2
    assert capsys.readouterr().out == ""


@pytest.mark.parametrize("arguments", [[], ["dance"], ["new", "x"], ["demo", "--loud"]], ids=" ".join)
def test_what_is_no_command_shows_how(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Wrong words end with status 2 and the usage."""
    with pytest.raises(SystemExit) as exit:
        main(arguments)
    assert exit.value.code == 2
    assert "usage: labkit" in capsys.readouterr().err


def test_every_command_says_what_it_does() -> None:
    """`--help` lists each command with a sentence, and each option too."""
    text = parser().format_help()
    for command in ("demo", "new", "summary", "report"):
        assert f"    {command} " in text
    for action in parser()._subparsers._group_actions[0].choices.values():  # type: ignore[union-attr]
        assert all(option.help for option in action._actions)


def test_the_installed_command_runs(here: Path) -> None:
    """In a process of its own the module runs, and a refusal reaches the shell as status 2."""
    environment = os.environ | {"PYTHONPATH": str(Path(labkit.__file__).parents[1])}
    command = [sys.executable, "-m", "labkit.cli", "summary", "nowhere"]
    done = subprocess.run(command, capture_output=True, text=True, env=environment, cwd=here, check=False)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("There is no record.jsonl")


@pytest.mark.parametrize(
    ("more", "cut", "code"),
    [({}, None, 0), ({"own": False}, None, 1), ({}, 2000, 2)],
    ids=["sound", "remarks", "torn"],
)
def test_the_exit_code_of_check(
    here: Path, capsys: pytest.CaptureFixture[str], more: dict[str, bool], cut: int | None, code: int
) -> None:
    """`check` exits with 0 if there is nothing to remark, 1 if there is, 2 if the bundle cannot be opened."""
    (here / "g.zip").write_bytes(bundle(here / "b", 3, **more)[:cut])
    assert main(["check", "g.zip"]) == code
    assert ("cannot tell" in capsys.readouterr().out) == (code == 2)
    assert main(["check", "nowhere.zip"]) == 2
    assert "nowhere.zip cannot be read" in capsys.readouterr().err
    with pytest.raises(SystemExit):
        main(["check", "--help"])
    assert "0 if there is nothing to remark, 1 if there is" in " ".join(capsys.readouterr().out.split())
