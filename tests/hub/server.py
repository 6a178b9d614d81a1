"""A hub of its own on free ports: what it needs is installed apart, and nothing of it outlives the test."""

import fcntl
import os
import shutil
import socket
import stat
import struct
import subprocess
import sys
import sysconfig
import tempfile
import time
import venv
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

import requests

from labkit.resources import shipped

ROOT = Path(__file__).resolve().parents[2]
HERE = ROOT / ".artefacts" / "hub"
SHIPPED = shipped("data", "hub", "jupyterhub_config.py")
PACKAGES = ("jupyterhub==6.1.1", "jupyterhub-idle-culler==2.0.0")
PROXY = "configurable-http-proxy@5.3.0"
FIRST_ID = 42_000  # of accounts and the lecturers' group, in a namespace of their own
HOST = "127.0.0.1"
START_WITHIN = 240.0  # s
SIOCSIFFLAGS, IFF_UP = 0x8914, 1  # linux/sockios.h, linux/if.h

OVERRIDES = """
c = get_config()
load_subconfig({shipped!r})
c.JupyterHub.bind_url = "http://127.0.0.1:{port}"
c.JupyterHub.hub_bind_url = "http://127.0.0.1:{hub}"
c.ConfigurableHTTPProxy.api_url = "http://127.0.0.1:{proxy}"
c.JupyterHub.authenticator_class = "dummy"
c.Authenticator.allow_all = True
c.DummyAuthenticator.password = "invented"
c.JupyterHub.cleanup_servers = True
c.JupyterHub.log_level = "WARN"
c.JupyterHub.concurrent_spawn_limit = 0
c.Spawner.start_timeout = c.Spawner.http_timeout = 300
"""
WITHOUT_ACCOUNTS = """
c.JupyterHub.spawner_class = "simple"
c.SimpleLocalProcessSpawner.home_dir_template = {homes!r} + "/{{username}}"
c.Spawner.args = [*c.Spawner.args, "--allow-root"]
"""


@dataclass(frozen=True)
class Hub:
    """A running hub: its address, its process, its users' homes, and whether each user has an account."""

    address: str
    process: subprocess.Popen[bytes]
    homes: Path
    accounts: bool


def install() -> None:
    """JupyterHub in an environment that also sees this one's packages, and the proxy beside it, once."""
    done = HERE / "installed"
    if done.exists() and done.read_text() == f"{PACKAGES} {PROXY} {sys.prefix}":
        return
    shutil.rmtree(HERE, ignore_errors=True)
    venv.create(HERE, with_pip=True)
    (packages,) = HERE.glob("lib/python*/site-packages")
    here = sysconfig.get_path("purelib")
    (packages / "labkit-tests.pth").write_text(f"import site; site.addsitedir({here!r})\n")
    (HERE / "bin" / "labkit").write_text(f'#!/bin/sh\nexec "{HERE}/bin/python" -m labkit.cli "$@"\n')
    (HERE / "bin" / "labkit").chmod(0o755)
    subprocess.run([HERE / "bin" / "python", "-m", "pip", "install", "-q", *PACKAGES], check=True)
    subprocess.run(["npm", "install", "--silent", "--prefix", HERE / "proxy", PROXY], check=True)
    for part in ("etc", "share"):  # extensions and JupyterLab itself are announced there
        (HERE / part).mkdir(exist_ok=True)
        (HERE / part / "jupyter").symlink_to(Path(sys.prefix, part, "jupyter"))
    done.write_text(f"{PACKAGES} {PROXY} {sys.prefix}")


def in_namespace(module: str, arguments: Sequence[str]) -> int | None:
    """Run a module again where mounts, ports and processes are its own and end with it; None if not given.

    Only there can accounts be made that this machine never knows of. Its network is a loopback and no more.
    """
    apart = ["unshare", "--mount", "--net", "--pid", "--fork", "--kill-child", "--mount-proc"]
    if os.geteuid() != 0 or subprocess.run([*apart, "true"], check=False, capture_output=True).returncode:
        return None
    return subprocess.run(
        [*apart, sys.executable, "-m", module, "--apart", *arguments], cwd=ROOT, check=False
    ).returncode


def raise_loopback() -> None:
    """Switch a new network's loopback on."""
    with socket.socket() as any_socket:
        fcntl.ioctl(any_socket, SIOCSIFFLAGS, struct.pack("16sh", b"lo", IFF_UP))


def make_accounts(homes: Path, users: Sequence[str]) -> None:
    """Accounts with homes that the group of lecturers may read; in a private mount namespace only."""
    _open_ways(ROOT, Path(sys.base_prefix))
    passwd, group = (Path("/etc", name).read_text() for name in ("passwd", "group"))
    group += f"lecturers:x:{FIRST_ID}:\n"
    for number, user in enumerate(users, start=FIRST_ID + 1):
        passwd += f"{user}:x:{number}:{number}::{homes / user}:/bin/bash\n"
        group += f"{user}:x:{number}:\n"
    for name, content in (("passwd", passwd), ("group", group)):
        (homes / f".{name}").write_text(content)
        (homes / f".{name}").chmod(0o644)
        mount("--bind", str(homes / f".{name}"), f"/etc/{name}")
    for number, user in enumerate(users, start=FIRST_ID + 1):
        os.chown(homes / user, number, FIRST_ID)
        (homes / user).chmod(0o2750)


def _open_ways(*needed: Path) -> None:
    """Let every account reach these folders: closed ones above them are covered by open ones, here only."""
    closed = {above for path in needed for above in path.parents if not above.stat().st_mode & stat.S_IXOTH}
    below = {path: Path(tempfile.mkdtemp()) for path in needed if closed & {*path.parents}}
    for path, aside in below.items():
        mount("--bind", str(path), str(aside))
    for above in sorted(closed, key=lambda path: len(path.parts)):
        if above.exists():
            mount("-t", "tmpfs", "-o", "mode=755", "none", str(above))
    for path, aside in below.items():
        path.mkdir(parents=True, exist_ok=True)
        mount("--bind", str(aside), str(path))


def mount(*arguments: str) -> None:
    """Mount something in this namespace."""
    subprocess.run(["mount", *arguments], check=True)


@contextmanager
def running(users: Sequence[str], *, accounts: bool) -> Iterator[Hub]:
    """A hub that takes requests, with the shipped configuration but for ports, log-in and time limits."""
    with tempfile.TemporaryDirectory(prefix="lk-", dir="/tmp") as folder:  # sockets want short paths
        homes = Path(folder)
        homes.chmod(0o755)
        for user in users:
            (homes / user).mkdir()
        if accounts:
            make_accounts(homes, users)
        port, hub, proxy = _ports(3)
        text = OVERRIDES.format(shipped=str(SHIPPED), port=port, hub=hub, proxy=proxy)
        text += "" if accounts else WITHOUT_ACCOUNTS.format(homes=folder)
        inside = homes / ".hub"
        inside.mkdir(mode=0o700)
        (inside / "config.py").write_text(text)
        with (inside / "log").open("wb") as log:
            process = subprocess.Popen(
                [HERE / "bin" / "jupyterhub", "-f", inside / "config.py"],
                cwd=inside,
                env={"PATH": os.environ["PATH"], "HOME": str(inside), "LANG": "C.UTF-8"},
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
            )
            try:
                _await(f"http://{HOST}:{port}/hub/api", process, inside / "log")
                yield Hub(f"http://{HOST}:{port}", process, homes, accounts)
            except BaseException:
                print((inside / "log").read_text(errors="replace")[-4000:], file=sys.stderr)
                raise
            finally:
                process.terminate()
                try:
                    process.wait(90)  # the service for idle servers takes half a minute to end
                except subprocess.TimeoutExpired:
                    process.kill()


def _await(address: str, process: subprocess.Popen[bytes], log: Path) -> None:
    deadline = time.monotonic() + START_WITHIN
    while process.poll() is None and time.monotonic() < deadline:
        with suppress(requests.RequestException):
            if requests.get(address, timeout=5).ok:
                return
        time.sleep(0.2)
    raise RuntimeError("the hub did not start")


def _ports(count: int) -> list[int]:
    """Free ports; all are held until the last is known, so that no two are the same."""
    probes = [socket.socket() for _ in range(count)]
    for probe in probes:
        probe.bind((HOST, 0))
    found = [int(probe.getsockname()[1]) for probe in probes]
    for probe in probes:
        probe.close()
    return found
