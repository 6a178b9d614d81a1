"""JupyterLab started straight at the notebook of a bench folder, apart from a person's own Jupyter settings.

Every folder that Jupyter reads or writes is set to one of labkit's own. What is worth keeping between two
lessons (theme, font cache, and which notebooks this person ran and may therefore show in full) lies in the
person's data folder under `labkit`; the rest is temporary and goes away with the server. Nothing asks for a
network.
"""

import http.client
import json
import os
import secrets
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from labkit.errors import EntryError, LabkitError, RecordConflict, RecordMissing, printable
from labkit.record.bench import new_bench
from labkit.record.card import read_card
from labkit.resources import NOTEBOOKS, shipped
from labkit.words import report as words

# A new bench folder from the shipped notebooks.
#
# A shipped notebook is stored executed on the demo record. For a bench of one's own, every cell that holds
# demo entries, or speaks of them, carries its blank form in its metadata (`labkit.blank`); all outputs are
# dropped.


def start_folder(folder: Path, part: str, card: Path | None = None, notebook: str = NOTEBOOKS[0]) -> Path:
    """Make a bench folder for a part with its record and notebook; the path of the notebook comes back.

    Parameters
    ----------
    folder : made if it is not there
    part : name of the part under test
    card : TOML file of the meter's card, entered as `meter-a`; None if there is none yet
    notebook : one of `NOTEBOOKS`

    Raises
    ------
    RecordConflict
        if the folder holds a record or a notebook already; nothing is written.
    CardError
        if the card cannot be taken; nothing is written.
    """
    file = f"{notebook}.ipynb"
    taken = [name for name in (file, "record.jsonl") if (folder / name).exists()]
    if taken:
        raise RecordConflict(
            f"{folder} holds {taken[0]} already, and nothing was written; choose a new "
            "folder, or open the bench that is there."
        )
    text = _blank_text(file)
    if card is not None:
        read_card(card)
    bench = new_bench(folder, part)
    if card is not None:
        bench.meter("meter-a", card)
    (folder / file).write_text(text, encoding="utf-8")
    return folder / file


def _blank_text(name: str) -> str:
    import nbformat

    notebook = nbformat.read(shipped("notebooks", name), as_version=4)  # type: ignore[no-untyped-call]
    notebook.metadata.pop("widgets", None)
    for cell in notebook.cells:
        cell.source = cell.metadata.pop("labkit", {}).get("blank", cell.source)
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
    return str(nbformat.writes(notebook)) + "\n"  # type: ignore[no-untyped-call]


HOST = "127.0.0.1"
USUAL = "coupled_pair.ipynb"
NO_NEWS = {"disabledExtensions": {"@jupyterlab/apputils-extension:announcements": True}}
NO_HELPERS = {"ServerApp": {"jpserver_extensions": {"jupyter_lsp": False}}}  # it would run other programs
THIS_PYTHON = {
    "argv": [sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"],
    "display_name": "Python 3 (ipykernel)",
    "language": "python",
    "metadata": {"debugger": True},
}
FILES = {
    "config/labconfig/page_config.json": NO_NEWS,
    "config/jupyter_server_config.d/labkit.json": NO_HELPERS,
    "share/kernels/python3/kernel.json": THIS_PYTHON,  # whatever else is called python3 has no labkit
}
KEPT = {"JUPYTER_DATA_DIR": "data", "JUPYTERLAB_SETTINGS_DIR": "settings", "MPLCONFIGDIR": "matplotlib"}
PASSING = {
    "JUPYTER_CONFIG_DIR": "config",
    "JUPYTER_CONFIG_PATH": "config",
    "JUPYTER_PATH": "share",
    "JUPYTER_RUNTIME_DIR": "runtime",
    "JUPYTERLAB_WORKSPACES_DIR": "workspaces",
    "IPYTHONDIR": "ipython",
}
LOG = "server.log"
START_WITHIN = 90.0  # s; two seconds are usual, a first start from a cold disk takes many more
STOP_WITHIN = 15.0  # s


@dataclass(frozen=True)
class Served:
    """A running JupyterLab: its process, port and token, and where its log is."""

    process: subprocess.Popen[bytes]
    port: int
    token: str
    log: Path

    def address(self, path: str = "") -> str:
        """Address of a notebook, given by its path below the served folder; it carries the token."""
        return f"http://{HOST}:{self.port}/doc/tree/{quote(path)}?token={self.token}"

    def answers(self) -> bool:
        """Whether it takes requests yet."""
        with suppress(OSError, http.client.HTTPException):
            return self._ask("GET", "/api") == http.client.OK
        return False

    def last_words(self) -> str:
        """Last line of its log that says anything."""
        lines = self.log.read_text(encoding="utf-8", errors="replace").split("\n")
        return next((line.strip() for line in reversed(lines) if line.strip()), words.SILENT)

    def stop(self) -> None:
        """Stop it with all its kernels; by force if it does not listen."""
        try:
            self._ask("POST", "/api/shutdown")
        except (OSError, http.client.HTTPException):
            self.process.terminate()
        try:
            self.process.wait(STOP_WITHIN)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()

    def _ask(self, method: str, path: str) -> int:
        connection = http.client.HTTPConnection(HOST, self.port, timeout=5)
        try:
            connection.request(method, path, headers={"Authorization": f"token {self.token}"})
            return connection.getresponse().status
        finally:
            connection.close()


def notebook_in(folder: Path, name: str | None = None) -> str:
    """Name of the notebook to open: the one asked for, the usual one, or the only one there.

    Raises
    ------
    RecordMissing
        if there is no such folder, or no record in it.
    EntryError
        if the notebook is not there, or it is not clear which one is meant.
    """
    if not folder.is_dir():
        raise RecordMissing(
            f"There is no folder {folder}; give the bench folder itself, or start one with: "
            f"labkit new {folder} --part NAME"
        )
    if not (folder / "record.jsonl").is_file():
        raise RecordMissing(
            f"{folder} holds no record.jsonl, so it is no bench folder; give another folder, "
            "or start a bench with: labkit new FOLDER --part NAME"
        )
    found = sorted(path.name for path in folder.glob("*.ipynb"))
    names = ", ".join(found)
    if name is not None and name not in found:
        said = names or words.NOTHING
        raise EntryError(f"{folder} holds no notebook {name}; it holds: {said}.", given=name)
    if not found:
        raise EntryError(
            f"{folder} holds no notebook; copy one into it (a file that ends in .ipynb), "
            "then open the folder again.",
            given=str(folder),
        )
    chosen = name or (USUAL if USUAL in found else found[0])
    if name is None and chosen != USUAL and len(found) > 1:
        raise EntryError(
            f"{folder} holds several notebooks ({names}); say which one with --notebook.", given=str(folder)
        )
    return chosen


def command(
    folder: Path, notebook: str, *, port: int, token: str, kept: Path, passing: Path, browser: bool = False
) -> tuple[list[str], dict[str, str]]:
    """Arguments and environment that start JupyterLab on a folder, at a notebook in it.

    Parameters
    ----------
    folder : the only folder that the server shows
    notebook : path below it
    port, token : where it listens, and what lets a browser in; the token goes through the environment, since
        other people on the machine can read arguments
    kept, passing : labkit's own folders, see the top of this file
    browser : whether the server opens one
    """
    settings = {
        "ServerApp.ip": HOST,
        "ServerApp.port": port,
        "ServerApp.port_retries": 0,
        "ServerApp.root_dir": folder.resolve(),
        "ServerApp.open_browser": browser,
        "ServerApp.answer_yes": True,
        "ServerApp.allow_root": True,
        "LabApp.default_url": f"/doc/tree/{quote(notebook)}",
        "LabApp.check_for_updates_class": "jupyterlab.NeverCheckForUpdate",
        "LabApp.extension_manager": "readonly",
    }
    argv = [sys.executable, "-m", "jupyterlab", *(f"--{name}={value}" for name, value in settings.items())]
    env = {name: value for name, value in os.environ.items() if not name.startswith(("JUPYTER", "JPY_"))}
    env |= {name: str(kept / part) for name, part in KEPT.items()}
    env |= {name: str(passing / part) for name, part in PASSING.items()}
    return argv, env | {"JUPYTER_TOKEN": token}


@contextmanager
def serving(
    folder: Path,
    notebook: str = "",
    *,
    port: int | None = None,
    kept: Path | None = None,
    browser: bool = False,
) -> Iterator[Served]:
    """A JupyterLab that takes requests; it is stopped, and its temporary folder removed, at the end.

    Parameters
    ----------
    folder, notebook, browser : as for `command`
    port : None takes a free one
    kept : where settings stay; None is the person's data folder, under `labkit`

    Raises
    ------
    EntryError
        if the port cannot be used.
    LabkitError
        if JupyterLab does not start; the message has the last line of its log.
    """
    port, token = _usable(port), secrets.token_hex(24)
    with tempfile.TemporaryDirectory(prefix="labkit-", ignore_cleanup_errors=True) as name:
        passing = Path(name)
        kept = _writable(kept or _own_folder(), passing)
        _furnish(passing)
        argv, env = command(
            folder, notebook, port=port, token=token, kept=kept, passing=passing, browser=browser
        )
        with (passing / LOG).open("wb") as log:
            process = subprocess.Popen(
                argv, env=env, cwd=passing, stdin=subprocess.DEVNULL, stdout=log, stderr=log
            )
            served = Served(process, port, token, passing / LOG)
            try:
                _await(served)
                yield served
            finally:
                served.stop()


def open_folder(
    folder: Path,
    notebook: str | None = None,
    port: int | None = None,
    browser: bool = True,
) -> None:
    """Open a bench folder in JupyterLab, print its address, and stay until it is stopped.

    Inside a hub's server nothing is started: the address there is printed, and that is all.

    Parameters
    ----------
    folder : bench folder with its record and notebook
    notebook : its name; None takes `coupled_pair.ipynb` or the only one there
    port : None takes a free one
    browser : open one if there is one to open

    Raises
    ------
    LabkitError
        as `notebook_in` and `serving`, and if JupyterLab ends by itself.
    """
    name = notebook_in(folder, notebook)
    if where := in_hub(folder / name):
        _say(where)
        return
    browser = browser and _can_show()
    _let_signals_interrupt()
    with suppress(KeyboardInterrupt), serving(folder, name, port=port, browser=browser) as served:
        _say(words.OPENED.format(notebook=folder / name, address=served.address(name)))
        if not browser:
            _say(words.OPENING_NO_BROWSER)
        _say(words.STOP)
        if served.process.wait():
            raise LabkitError(f"JupyterLab ended by itself; its last words were: {served.last_words()}")
    _say(words.OPENING_STOPPED)


def in_hub(notebook: Path) -> str | None:
    """Inside a JupyterHub's server: where a student's browser finds a notebook; None anywhere else.

    The prefix of the server is taken as the hub gives it, since quoting it again would lead nowhere.
    """
    prefix = os.environ.get("JUPYTERHUB_SERVICE_PREFIX")
    if not prefix:
        return None
    root = os.environ.get("JUPYTER_SERVER_ROOT")  # a terminal has it, a notebook's process has not
    if not root:
        return words.HUB_NO_ROOT.format(notebook=notebook)
    for place, top in ((notebook.absolute(), Path(root)), (notebook.resolve(), Path(root).resolve())):
        below = Path(os.path.normpath(place))
        if below.is_relative_to(top) and not any(
            part.startswith(".") for part in below.relative_to(top).parts
        ):
            address = f"{prefix}doc/tree/{quote(below.relative_to(top).as_posix())}"
            return words.IN_HUB.format(notebook=notebook, address=address)
    return words.HUB_OUTSIDE.format(notebook=notebook, root=root)


def _say(sentence: str) -> None:
    print(printable(sentence), flush=True)  # at once, also into a pipe


def _furnish(passing: Path) -> None:
    for name, content in FILES.items():
        file = passing / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(json.dumps(content), encoding="utf-8")


def _await(served: Served) -> None:
    deadline = time.monotonic() + START_WITHIN
    while not served.answers():
        if served.process.poll() is not None or time.monotonic() > deadline:
            raise LabkitError(f"JupyterLab could not be started; its last words were: {served.last_words()}")
        time.sleep(0.05)


def _usable(port: int | None) -> int:
    with socket.socket() as probe:
        if os.name == "posix":  # as the server does: a port that was let go a moment ago is free
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port or 0))
        except (OSError, OverflowError) as error:
            raise EntryError(
                f"Port {port} cannot be used ({error}); give another --port, or none: then a "
                "free one is taken.",
                given=str(port),
            ) from error
        return int(probe.getsockname()[1])


def _own_folder() -> Path:
    from platformdirs import user_data_path

    return user_data_path("labkit", appauthor=False) / "jupyter"


def _writable(folder: Path, instead: Path) -> Path:
    """The folder, made if need be; another one where nothing can be written, as in a locked-down account."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return instead
    return folder if os.access(folder, os.W_OK) else instead


def _can_show() -> bool:
    """Whether a browser with a window can be opened; one inside the terminal would cover the address."""
    if sys.platform in ("win32", "darwin") or os.environ.get("BROWSER"):
        return True
    import webbrowser

    if not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        return False
    with suppress(webbrowser.Error):
        return bool(webbrowser.get())
    return False


def _let_signals_interrupt() -> None:
    """A closed terminal or a polite end ends JupyterLab too, exactly as Ctrl+C does."""
    for name in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.default_int_handler)
