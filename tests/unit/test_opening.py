"""Opening a bench folder, short of a start: which notebook, which arguments, which environment."""

import os
import socket
import sys
from pathlib import Path

import pytest

from labkit.errors import EntryError, LabkitError, RecordMissing
from labkit.faces import start as opening
from labkit.faces.start import command, in_hub, notebook_in, open_folder, serving

SECRET = "5ec2e7"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A bench folder with a record and no notebook."""
    folder = tmp_path / "a bench"
    folder.mkdir()
    (folder / "record.jsonl").write_text("{}\n")
    return folder


def put(folder: Path, *names: str) -> None:
    """Put empty notebooks into a folder."""
    for name in names:
        (folder / name).write_text("{}")


def start(
    folder: Path, notebook: str = "coupled_pair.ipynb", **more: bool
) -> tuple[list[str], dict[str, str]]:
    """Arguments and environment for a folder."""
    return command(
        folder, notebook, port=9000, token=SECRET, kept=Path("/kept"), passing=Path("/passing"), **more
    )


def test_the_only_notebook_is_opened(folder: Path) -> None:
    """A folder with one notebook needs no name."""
    put(folder, "chokes.ipynb")
    assert notebook_in(folder) == "chokes.ipynb"


def test_the_usual_notebook_comes_first(folder: Path) -> None:
    """Among several, coupled_pair.ipynb is meant unless another is named."""
    put(folder, "a.ipynb", "coupled_pair.ipynb", "z.ipynb")
    assert notebook_in(folder) == "coupled_pair.ipynb"
    assert notebook_in(folder, "z.ipynb") == "z.ipynb"


def test_several_unusual_notebooks_are_a_question(folder: Path) -> None:
    """It is not guessed which of several is meant; the sentence names them and the option."""
    put(folder, "a.ipynb", "b.ipynb")
    with pytest.raises(EntryError, match=r"a\.ipynb, b\.ipynb.*--notebook"):
        notebook_in(folder)


@pytest.mark.parametrize("name", ["c.ipynb", "../record.jsonl", "a bench/a.ipynb", ""])
def test_a_name_that_is_not_there_is_refused(folder: Path, name: str) -> None:
    """Only a notebook in the folder itself can be named; the sentence says what there is."""
    put(folder, "a.ipynb")
    with pytest.raises(EntryError, match=r"it holds: a\.ipynb\.$") as refused:
        notebook_in(folder, name)
    assert refused.value.given == name


def test_no_notebook_is_said(folder: Path) -> None:
    """A bench without a notebook gets a sentence, named or not."""
    with pytest.raises(EntryError, match="holds no notebook; copy one into it"):
        notebook_in(folder)
    with pytest.raises(EntryError, match="it holds: no notebook at all"):
        notebook_in(folder, "a.ipynb")


def test_no_record_is_said(folder: Path) -> None:
    """A folder without a record is no bench folder, whatever its notebooks; the sentence says what to do."""
    put(folder, "coupled_pair.ipynb")
    (folder / "record.jsonl").unlink()
    with pytest.raises(RecordMissing, match=r"no record\.jsonl.*labkit new"):
        notebook_in(folder)


def test_no_folder_is_said(folder: Path) -> None:
    """Neither a folder that is not there nor a file is taken for a bench."""
    for wrong in (folder / "nowhere", folder / "record.jsonl"):
        with pytest.raises(RecordMissing, match="There is no folder"):
            notebook_in(wrong)


def test_the_notebook_is_the_first_page(folder: Path) -> None:
    """The server shows this folder only and starts at the notebook, with this Python."""
    argv, _ = start(folder, "Über 100 %.ipynb")
    assert argv[:3] == [sys.executable, "-m", "jupyterlab"]
    assert f"--ServerApp.root_dir={folder}" in argv
    assert "--LabApp.default_url=/doc/tree/%C3%9Cber%20100%20%25.ipynb" in argv


def test_only_this_machine_is_served(folder: Path) -> None:
    """It listens on the loopback address alone."""
    argv, _ = start(folder)
    assert [argument for argument in argv if "ip=" in argument] == ["--ServerApp.ip=127.0.0.1"]


def test_the_token_is_not_among_the_arguments(folder: Path) -> None:
    """Other people on the machine can read arguments, so the token goes through the environment."""
    argv, env = start(folder)
    assert SECRET not in " ".join(argv)
    assert env["JUPYTER_TOKEN"] == SECRET


def test_no_setting_of_jupyter_is_inherited(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever Jupyter variables the person has set, the server gets labkit's own folders; the rest stays."""
    for name in (
        "JUPYTER_CONFIG_DIR",
        "JUPYTER_NO_CONFIG",
        "JUPYTERLAB_DIR",
        "JPY_PARENT_PID",
        "MPLCONFIGDIR",
    ):
        monkeypatch.setenv(name, "the person's")
    stays = ("EDITOR", "MPLBACKEND")
    for name in stays:
        monkeypatch.setenv(name, "the person's")
    _, env = start(folder)
    given = {env[n] for n in env if n.startswith(("JUPYTER", "JPY", "IPY", "MPL")) and n not in stays}
    assert all(value.startswith(("/kept/", "/passing/")) for value in given - {SECRET})
    assert len(given) == 9
    assert {env[name] for name in stays} == {"the person's"}


def test_a_browser_is_opened_only_if_asked_for(folder: Path) -> None:
    """The server is told either way, so that no default can change it."""
    assert "--ServerApp.open_browser=False" in start(folder)[0]
    assert "--ServerApp.open_browser=True" in start(folder, browser=True)[0]


def test_a_port_in_use_is_said(folder: Path) -> None:
    """A taken port is refused before anything starts, in one sentence with the way out."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        taken = other.getsockname()[1]
        with (
            pytest.raises(EntryError, match=f"Port {taken} cannot be used .*or none"),
            serving(folder, port=taken),
        ):
            pass


@pytest.mark.parametrize("port", [-1, 65536])
def test_an_impossible_port_is_said(folder: Path, port: int) -> None:
    """So is a number that is no port."""
    with pytest.raises(EntryError, match=f"Port {port} cannot be used"), serving(folder, port=port):
        pass


def test_a_server_that_does_not_start_says_why(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The sentence has the last line of the log, and the temporary folder is gone."""
    seen: list[Path] = []

    def broken(*_: object, passing: Path, **__: object) -> tuple[list[str], dict[str, str]]:
        seen.append(passing)
        return [sys.executable, "-c", "raise SystemExit('no room on the disk')"], dict(os.environ)

    monkeypatch.setattr(opening, "command", broken)
    with pytest.raises(LabkitError, match="no room on the disk"), serving(folder, kept=folder):
        pass
    assert seen
    assert not seen[0].exists()


def test_settings_go_elsewhere_where_nothing_can_be_written(folder: Path) -> None:
    """A locked-down account works too: settings are then temporary."""
    blocked = folder / "record.jsonl" / "labkit"
    assert opening._writable(blocked, folder) == folder
    assert opening._writable(folder / "kept", folder) == folder / "kept"


@pytest.mark.skipif(sys.platform != "linux", reason="other systems always have a window")
@pytest.mark.parametrize(
    ("variables", "expected"), [({}, False), ({"BROWSER": "/bin/true"}, True)], ids=["bare", "named"]
)
def test_without_a_window_no_browser_is_opened(
    monkeypatch: pytest.MonkeyPatch, variables: dict[str, str], expected: bool
) -> None:
    """On a machine without a window nothing is opened, unless the person names a browser."""
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "BROWSER"):
        monkeypatch.delenv(name, raising=False)
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    assert opening._can_show() is expected


@pytest.fixture
def hub(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder that a hub's server shows, with a bench in it, as a terminal there knows it."""
    monkeypatch.setenv("JUPYTERHUB_SERVICE_PREFIX", "/user/anna@uni.example/")
    monkeypatch.setenv("JUPYTER_SERVER_ROOT", str(folder.parent))
    put(folder, "coupled_pair.ipynb")
    return folder.parent


def test_a_hub_gets_an_address_and_no_server(
    hub: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Inside a hub nothing starts: the prefix as it is, then the path below the root as an address has it."""
    monkeypatch.setattr(opening, "serving", None)
    monkeypatch.chdir(hub)
    open_folder(Path("a bench"))
    said = capsys.readouterr().out
    assert "    /user/anna@uni.example/doc/tree/a%20bench/coupled_pair.ipynb\n" in said
    assert "Nothing new was started" in said


def test_a_linked_root_of_a_hub_is_seen_through(
    hub: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A home that is a link shows what lies in the folder behind it, and `..` in a path is worked out."""
    home = tmp_path_factory.mktemp("homes") / "anna"
    home.symlink_to(hub)
    monkeypatch.setenv("JUPYTER_SERVER_ROOT", str(home))
    said = in_hub(hub / "elsewhere" / ".." / "a bench" / "coupled_pair.ipynb")
    assert said is not None
    assert "/doc/tree/a%20bench/coupled_pair.ipynb\n" in said


@pytest.mark.parametrize("away", ["../coupled_pair.ipynb", ".hidden/coupled_pair.ipynb"])
def test_what_a_hub_does_not_show_is_said(hub: Path, away: str) -> None:
    """A notebook above the root, or in a hidden folder, has no address; the sentence says what to do."""
    said = in_hub(hub / away)
    assert said is not None
    assert f"only what lies below {hub}" in said
    assert "doc/tree" not in said


def test_a_hub_that_does_not_name_its_folder_gets_no_guess(
    hub: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a notebook's own process the root is not known, so no address is made up."""
    monkeypatch.delenv("JUPYTER_SERVER_ROOT")
    said = in_hub(hub / "a bench" / "coupled_pair.ipynb")
    assert said is not None
    assert "list of files" in said
    assert "doc/tree" not in said
