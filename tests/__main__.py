"""All checks, for people and for CI: `python -m tests`, with `--install` and `--only STEP ...`.

Every step runs even if an earlier one failed; the last lines say which did. A test that only waited to its
limit may have met a busy machine: it is run once more by itself, and what it then says counts.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tests.conftest import LATE

ROOT = Path(__file__).resolve().parent.parent
PROGRAMS = {"ngspice": "ngspice", "chromium": "chromium fonts-dejavu"}  # program: Debian packages
ARTEFACTS = ROOT / ".artefacts"
BUSY: list[str] = []  # tests that waited to their limit and held when run again, for the last lines

Step = Callable[[], bool]


def run(*command: str, **more: object) -> bool:
    """Run a command at the top of the project and say whether it succeeded."""
    return subprocess.run(command, cwd=ROOT, check=False, **more).returncode == 0  # type: ignore[call-overload]


def tool(name: str, *arguments: str) -> bool:
    """Run a Python tool of this environment."""
    return run(sys.executable, "-m", name, *arguments)


def programs() -> bool:
    """Programs that tests hold results against are there; a missing one fails, it is never skipped."""
    missing = [program for program in PROGRAMS if shutil.which(program) is None]
    for program in missing:
        print(f"{program} is missing: apt-get install {PROGRAMS[program]}, or python -m tests --install")
    return not missing


def install() -> None:
    """Install missing programs from Debian's packages."""
    missing = [packages for program, packages in PROGRAMS.items() if shutil.which(program) is None]
    packages = " ".join(missing).split()
    if packages:
        sudo = [] if os.geteuid() == 0 else ["sudo"]
        run(*sudo, "apt-get", "update", "-q")
        command = ["apt-get", "install", "-y", "-q", "--no-install-recommends", *packages]
        run(*sudo, "env", "DEBIAN_FRONTEND=noninteractive", *command)


def lint() -> bool:
    """Format and lint."""
    return tool("ruff", "format", "--check", ".") & tool("ruff", "check", ".")


def types() -> bool:
    """Strict types of the package."""
    return tool("mypy")


def hold(what: str, *arguments: str, apart: tuple[str, ...] = ()) -> bool:
    """Run tests; if all that failed had waited to its limit, run that once more, and not with `apart`."""
    command = [sys.executable, "-m", "pytest", "-q", "--no-skips", *arguments]
    status = subprocess.run([*command, *apart], cwd=ROOT, check=False).returncode
    if status != LATE:
        return status == 0
    print(
        "\nNothing was wrong, but waits came to their limit; these tests once more, by themselves:",
        flush=True,
    )
    if not run(*command, "--last-failed", "--last-failed-no-failures", "none"):
        return False
    BUSY.append(what)
    return True


def unit() -> bool:
    """Tests and doctests, warnings as errors; a skipped test is a failed one."""
    return hold("unit", "--ignore=tests/browser", apart=("-n", "2"))


def browser() -> bool:
    """Stories in a real browser, offline; screenshots go to .artefacts/browser."""
    shutil.rmtree(ARTEFACTS / "browser", ignore_errors=True)
    return hold("browser", "--durations=10", "tests/browser")


def notebooks() -> bool:
    """Shipped notebooks give their stored outputs again, but for last digits."""
    rules = ROOT / "tests" / "notebooks" / "sanitize.cfg"
    nbval = ("--nbval", f"--nbval-sanitize-with={rules}", "-p", "tests.notebooks.tolerant")
    apart = ("-n", "2", "--dist", "loadfile")  # the cells of a notebook stay together
    return tool("pytest", "-q", "-o", "addopts=", *nbval, *apart, "notebooks")


def wheel() -> bool:
    """The built wheel, installed elsewhere, does the main job and finds its notebooks and data."""
    with tempfile.TemporaryDirectory() as folder:
        if not tool("build", "--wheel", "--no-isolation", "--outdir", folder):
            return False
        (built,) = Path(folder).glob("*.whl")
        target = Path(folder) / "site"
        pip = (sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--target", str(target), str(built))
        if not run(*pip):
            return False
        command = [sys.executable, "-P", "-m", "labkit.cli", "demo", "--report", f"{folder}/report.html"]
        done = subprocess.run(
            command,
            cwd=folder,
            check=False,
            env={**os.environ, "PYTHONPATH": str(target)},
            capture_output=True,
            text=True,
        )
        ok = done.returncode == 0 and (Path(folder) / "report.html").exists()
        print(done.stderr or f"wheel {built.name}: main job {'done' if ok else 'FAILED'}")
        return ok


def newer() -> bool:
    """The same bundles under a newer Python give the same verdicts and numbers."""
    return tool("tests.newer")


def machines() -> bool:
    """The numerically sensitive tests with fewer instructions, as older processors would run them."""
    return tool("tests.machines")


STEPS: dict[str, Step] = {
    "programs": programs,
    "lint": lint,
    "types": types,
    "unit": unit,
    "browser": browser,
    "notebooks": notebooks,
    "wheel": wheel,
    "newer": newer,
    "machines": machines,
}


def main() -> int:
    """Run the steps and sum up."""
    options = argparse.ArgumentParser(prog="python -m tests", description=__doc__)
    options.add_argument(
        "--install", action="store_true", help="install missing programs from Debian's packages"
    )
    options.add_argument(
        "--only", nargs="+", choices=STEPS, metavar="STEP", help=f"some of: {', '.join(STEPS)}"
    )
    chosen = options.parse_args()
    if chosen.install:
        install()
    failed, started = [], time.monotonic()
    for name in chosen.only or STEPS:
        print(f"\n== {name}: {(STEPS[name].__doc__ or '').splitlines()[0]}", flush=True)
        if not STEPS[name]():
            failed.append(name)
    minutes = (time.monotonic() - started) / 60
    print(f"\n{'FAILED: ' + ', '.join(failed) if failed else 'all checks passed'} ({minutes:.1f} min)")
    if BUSY:
        print(
            f"The machine was too busy for a while: {', '.join(BUSY)}; what waited too long held by itself."
        )
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
