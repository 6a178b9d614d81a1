"""A test that waited to its limit is told apart from one that is wrong (`tests/conftest.py`)."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.__main__ import ROOT
from tests.conftest import LATE

TESTS = """
import subprocess

def test_holds(): pass
def test_late(): raise TimeoutError("the kernel did not answer")
def test_late_too(): raise subprocess.TimeoutExpired("ngspice", 600)
def test_wrong(): assert 1 == 2
"""


@pytest.mark.parametrize(
    ("which", "apart", "status"),
    [("late or holds", (), LATE), ("late or wrong", (), 1), ("late or holds", ("-n", "1"), LATE)],
    ids=["late", "wrong", "late in another process"],
)
def test_a_run_ends_as_late_only_if_nothing_was_wrong(
    tmp_path: Path, which: str, apart: tuple[str, ...], status: int
) -> None:
    """One wrong result makes the whole run wrong; what held does not count."""
    (tmp_path / "test_it.py").write_text(TESTS)
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-p",
        "tests.conftest",
        "-k",
        which,
        *apart,
        "test_it.py",
    ]
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTEST_ADDOPTS": ""}
    done = subprocess.run(command, cwd=tmp_path, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == status, done.stdout
