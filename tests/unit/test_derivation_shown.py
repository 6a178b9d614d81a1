"""What a reader of a derivation sees: lines, markup, the same in every run."""

import os
import subprocess
import sys
from xml.etree import ElementTree

import pytest

from labkit.show import Formula, to_tex
from labkit.theory.derivation import derive
from labkit.theory.formula_text import MINUS, TIMES
from labkit.theory.wiring import Wiring, all_wirings
from labkit.words import theory as words
from tests.pages import MATH

WIRINGS = list(all_wirings())
SIDE_BY_SIDE = "1a 1b | 1a=2a 1b=2b"
SHORTED = "1a 1b | 2a=2b"


@pytest.mark.parametrize("dots", [None, "1a 2b"])
@pytest.mark.parametrize("wiring", WIRINGS)
def test_every_derivation_shows_itself_in_well_formed_markup(wiring: Wiring, dots: str | None) -> None:
    """Parses as XML (so no named entities), true minus signs only, nothing left of sympy's own notation."""
    derived = derive(wiring, dots=dots)
    shown = [part for part in derived.parts() if isinstance(part, Formula)]
    signs = {
        element.text for part in shown for element in ElementTree.fromstring(part.html()).iter(f"{MATH}mo")
    }
    assert signs <= {"=", "+", "−", "\u2062", "(", ")"}
    formulas = [equation.text for step in derived.all_steps for equation in step.equations]
    assert [part.text for part in shown] == formulas
    assert not set("".join(to_tex(part.mathml) for part in shown)) & {MINUS, TIMES}
    assert not set("".join(formulas)) & set("*-")
    assert "nan" not in str(derived)
    assert "zoo" not in str(derived)


def test_steps_stand_alone() -> None:
    """A face can reveal them one at a time; together they are the whole."""
    derived = derive(SIDE_BY_SIDE, dots="1a 2a")
    assert [step.title for step in derived.steps] == [
        words.CONNECTED_TITLE,
        words.CURRENTS_TITLE,
        words.WINDINGS_TITLE,
        words.VOLTAGES_TITLE,
        words.LOOP_TITLE,
        words.SHARES_TITLE,
        words.CLIPS_TITLE,
        words.RESULT_TITLE,
    ]
    for number, step in enumerate(derived.all_steps, start=1):
        assert step.sentence.split()[0] in str(step)
        assert f"{number} {step.title}" in derived._repr_html_()


@pytest.mark.parametrize(
    ("wiring", "lines"),
    [
        (
            SIDE_BY_SIDE,
            [
                "at 1a=2a:  i = i1 + i2",
                "i1 = i − i2",
                "v1 = L1 di1/dt + M di2/dt",
                "v2 = M di1/dt + L2 di2/dt",
                "v = v1",
                "v1 = v2",
                "L1 di1/dt + M di2/dt = M di1/dt + L2 di2/dt",
                "(M − L1) di/dt + (L1 + L2 − 2M) di2/dt = 0",
                "di1/dt = (L2 − M)/(L1 + L2 − 2M) di/dt",
                "di2/dt = (L1 − M)/(L1 + L2 − 2M) di/dt",
                "v = L1 di1/dt + M di2/dt = (L1·(L2 − M)/(L1 + L2 − 2M) + M·(L1 − M)/(L1 + L2 − 2M)) di/dt",
                "v = L_eq di/dt",
                "L_eq = (L1·L2 − M²)/(L1 + L2 − 2M)",
            ],
        ),
        (
            "2b 1b | 1a=2a",
            [
                "at 1a=2a:  i1 + i2 = 0",
                "at 2b:  i + i2 = 0",
                "i1 = i",
                "i2 = −i",
                "v1 = L1 di1/dt + M di2/dt",
                "v2 = M di1/dt + L2 di2/dt",
                "v = v1 − v2",
                "v = L1 di1/dt + M di2/dt − M di1/dt − L2 di2/dt = (L1 + L2 − 2M) di/dt",
                "v = L_eq di/dt",
                "L_eq = L1 + L2 − 2M",
            ],
        ),
        (
            SHORTED,
            [
                "at 1a:  i = i1",
                "v1 = L1 di1/dt + M di2/dt",
                "v2 = M di1/dt + L2 di2/dt",
                "v = v1",
                "v2 = 0",
                "M di1/dt + L2 di2/dt = 0",
                "M di/dt + L2 di2/dt = 0",
                "di1/dt = di/dt",
                "di2/dt = −M/L2 di/dt",
                "v = L1 di1/dt + M di2/dt = (L1 − M²/L2) di/dt",
                "v = L_eq di/dt",
                "L_eq = (L1·L2 − M²)/L2",
            ],
        ),
    ],
)
def test_a_class_reads_these_lines(wiring: str, lines: list[str]) -> None:
    """Each law once, no line twice, the unknown with a positive coefficient, in the order of a blackboard."""
    derived = derive(wiring, dots="1a 2a")
    assert [equation.text for step in derived.steps for equation in step.equations] == lines


def test_the_same_text_in_every_run() -> None:
    """Two processes with different hash seeds print the same derivations, byte for byte."""
    program = (
        "from labkit.theory.derivation import derive\n"
        f"for dots in (None, '1a 2b'): print(derive('{SIDE_BY_SIDE}', dots=dots)._repr_html_())\n"
        "print(derive('1a 1b | 1a=2a=3a 1b=2b=3b', 3), derive('1a 2b | 1b=2a 3a=3b', 3))\n"
    )
    texts = {
        subprocess.run(
            [sys.executable, "-c", program],
            env=os.environ | {"PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(texts) == 1
    assert len(texts.pop()) > 10_000
