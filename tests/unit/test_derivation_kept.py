"""The kept steps of the usual wirings are what sympy gives, and need no sympy to be shown."""

import json
import subprocess
import sys

import pytest

from labkit.theory.derivation import KEPT, Derivation, derive
from tests.make_data import derivations


@pytest.mark.parametrize("derivation", list(derivations.derivations()), ids=lambda d: d.key)
def test_kept_steps_are_those_that_sympy_gives(derivation: Derivation) -> None:
    kept = json.loads(KEPT.read_text("utf-8"))[derivation.key]
    assert kept == derivations.steps(derivation), "run python -m tests.make_data.derivations"


def test_nothing_else_is_kept() -> None:
    assert list(json.loads(KEPT.read_text("utf-8"))) == [d.key for d in derivations.derivations()]


def test_kept_steps_are_shown_as_worked_out_ones_are() -> None:
    derivation = derive("1a 1b | 1a=2a 1b=2b", dots="1a 2a")
    worked_out = (*derivation.steps, *derivation.limits)
    assert derivation.all_steps is not worked_out
    for kept, step in zip(derivation.all_steps, worked_out, strict=True):
        assert kept.parts() == step.parts()


def test_another_wiring_than_the_usual_is_worked_out() -> None:
    derivation = derive("2a 1a | 2b=1b", dots="1a 2a")
    assert derivation.key not in json.loads(KEPT.read_text("utf-8"))
    assert derivation.all_steps == (*derivation.steps, *derivation.limits)


def test_neither_derivation_nor_report_of_usual_wirings_loads_sympy() -> None:
    code = (
        "import sys, labkit; bench = labkit.demo_bench(); labkit.report(bench)\n"
        "str(labkit.derive('1a 1b | 1a=2a 1b=2b', dots='1a 2a'))\n"
        "labkit.wiring_board(bench, '1a 2b | 1b=2a')\n"
        "print('sympy' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"
