"""`labkit open`, started as a person starts it, in an account of its own."""

import json
import os
import re
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psutil
import pytest
from playwright.sync_api import Page

from labkit.faces.start import serving, start_folder
from tests.browser.labs import PATIENCE, Lab

STOPPED = PATIENCE / 1000  # s


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """An account in which nothing was ever done."""
    home = tmp_path / "home"
    (home / "tmp").mkdir(parents=True)
    return home


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    """A bench just begun, in a folder whose name is not easy."""
    folder = tmp_path / "Über 100 % k#1"
    start_folder(folder, "sample-7")
    return folder


def account(home: Path, **more: str) -> dict[str, str]:
    """Environment of a person at a machine without a window."""
    dropped = ("JUPYTER", "XDG_", "DISPLAY", "WAYLAND_DISPLAY", "BROWSER", "PYTHONUNBUFFERED")
    env = {name: value for name, value in os.environ.items() if not name.startswith(dropped)}
    return env | {"HOME": str(home), "TMPDIR": str(home / "tmp")} | more


@contextmanager
def opened(home: Path, *arguments: str, **more: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """A running `labkit open` and what it has said so far; the process is never left behind."""
    command = [sys.executable, "-m", "labkit.cli", "open", *arguments]
    with subprocess.Popen(
        command, env=account(home, **more), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    ) as process:
        assert process.stdout
        said = ""
        try:
            while "Ctrl+C" not in said:
                line = process.stdout.readline()
                assert line, said
                said += line
            yield process, said
        finally:
            process.terminate()


def address_in(said: str) -> str:
    """The address that was printed."""
    found = re.search(r"http://127\.0\.0\.1:\d+\S*", said)
    assert found, said
    return found.group()


def files(folder: Path) -> set[str]:
    """Every file below a folder."""
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


def test_it_opens_at_the_notebook_and_stops_cleanly(page: Page, home: Path, bench: Path) -> None:
    """The printed address shows the notebook, ready to run, with nothing in front of it and nothing asked of
    the network; Ctrl+C ends server and kernel; of the account only labkit's own folder was touched.
    """
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    with opened(home, str(bench)) as (process, said):
        page.goto(address_in(said))
        page.wait_for_function("() => document.title.startsWith('coupled_pair')")
        page.locator(".jp-Notebook .jp-CodeCell").first.wait_for()
        page.wait_for_function("/\\| Idle/.test(document.querySelector('#jp-main-statusbar')?.textContent)")
        assert page.url.endswith("/doc/tree/coupled_pair.ipynb")
        assert page.locator(".jp-Notebook h1").inner_text().startswith("A coupled pair")
        assert page.locator(".jp-Dialog, .Toastify__toast").count() == 0
        children = psutil.Process(process.pid).children(recursive=True)
        assert len(children) >= 2  # the server and a kernel
        process.send_signal(signal.SIGINT)
        rest, _ = process.communicate(timeout=STOPPED)
    assert process.returncode == 0
    assert rest.strip() == "JupyterLab has stopped."
    assert not [child for child in children if child.is_running()]
    assert [url for url in asked if not url.startswith("http://127.0.0.1:")] == []
    assert len(asked) > 10
    assert {name for name in files(home) if not name.startswith(".local/share/labkit/jupyter/")} == set()


def test_a_person_s_own_settings_are_neither_read_nor_changed(home: Path, bench: Path) -> None:
    """A Jupyter set up so that neither it nor a kernel could start is not noticed, and found again byte for
    byte.
    """
    traps = {
        ".jupyter/jupyter_server_config.py": "raise SystemExit('read')\n",
        ".jupyter/jupyter_lab_config.py": "raise SystemExit('read')\n",
        ".ipython/profile_default/startup/00.py": "raise SystemExit('read')\n",
        ".local/share/jupyter/kernels/python3/kernel.json": '{"argv": ["/bin/false"], "display_name": ""}',
    }
    for name, text in traps.items():
        (home / name).parent.mkdir(parents=True, exist_ok=True)
        (home / name).write_text(text)
    own = {
        "JUPYTER_CONFIG_DIR": str(home / ".jupyter"),
        "JUPYTER_TOKEN": "own",
        "JUPYTER_PREFER_ENV_PATH": "0",
    }
    with opened(home, str(bench), **own) as (process, said):
        assert "token=own" not in said
        kernels = address_in(said).replace("/doc/tree/coupled_pair.ipynb", "/api/kernelspecs")
        with urllib.request.urlopen(kernels) as answer:
            python3 = json.load(answer)["kernelspecs"]["python3"]
        assert python3["spec"]["argv"][0] == sys.executable
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=STOPPED)
    assert {name: (home / name).read_text() for name in traps} == traps
    assert files(home) == set(traps)


def test_a_closed_terminal_ends_it_too(home: Path, bench: Path) -> None:
    """When the terminal goes away, server and temporary folder go as well."""
    with opened(home, str(bench)) as (process, _):
        children = psutil.Process(process.pid).children(recursive=True)
        process.send_signal(signal.SIGHUP)
        process.communicate(timeout=STOPPED)
    assert children
    assert not [child for child in children if child.is_running()]
    assert list((home / "tmp").iterdir()) == []


def test_a_browser_is_sent_to_the_notebook(home: Path, bench: Path) -> None:
    """Where there is a browser it is given a page that leads to the notebook, and the address is printed all
    the same.
    """
    seen = home / "seen"
    script = home / "browser"
    script.write_text(
        f'#!/bin/sh\npage="${{1#file://}}"\ncat "$page" > "{seen}.part" && mv "{seen}.part" "{seen}"\n'
    )
    script.chmod(0o755)
    with opened(home, str(bench), BROWSER=str(script)) as (_, said):
        assert "No browser was opened" not in said
        until = time.monotonic() + STOPPED
        while not seen.exists():
            if time.monotonic() > until:
                raise TimeoutError(seen)
            time.sleep(0.05)
        assert "/doc/tree/coupled_pair.ipynb?token=" in seen.read_text()
        assert address_in(said).split("?")[0] in seen.read_text()


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [(["nowhere"], "There is no folder nowhere"), ([".", "--notebook", "x.ipynb"], "no record.jsonl")],
    ids=["folder", "record"],
)
def test_what_cannot_be_opened_gets_one_sentence(home: Path, arguments: list[str], sentence: str) -> None:
    """Nothing is started, one line says why, and the exit code is 2."""
    command = [sys.executable, "-m", "labkit.cli", "open", *arguments]
    done = subprocess.run(command, cwd=home, env=account(home), capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert sentence in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert files(home) == set()


def test_a_notebook_of_ones_own_is_trusted_the_next_morning(page: Page, bench: Path, tmp_path: Path) -> None:
    """What this person ran shows whole when it is opened again, a bare drawing of their own too: that the
    notebook may be trusted is kept from one start to the next.
    """
    svg = "<svg role=img width=9 height=9><path d='M0 0L9 9'/></svg>"
    own = f'from IPython.display import HTML\nHTML("{svg}")'
    for morning in range(2):
        with serving(bench, kept=tmp_path / "kept") as served:
            lab = Lab(served, bench, page)
            lab.open_notebook(bench)
            if morning == 0:
                lab.write_cell(1, own)
                lab.run_cell(1)
                lab.save()
            assert lab.cell_output(1).locator("svg[role=img]").is_visible()
            page.goto("about:blank")
