"""Every public call on benches of every kind, by hypothesis: no call raises on what a bench can give.

Any subset of wirings in any order, up to four windings, ties exact to the digit, equal windings, zeros,
slips, no meter, no card, dots unknown or wrong, k from 0 to 1. `LABKIT_MUTATIONS=500` is the long mode: so
many benches, drawn anew each time. Monte Carlo takes few draws, as no claim here rests on its digits.
"""

import os
import re
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import labkit
from labkit.analysis import compare, predict
from labkit.analysis import joint_fit as fit
from labkit.errors import LabkitError, MissingReading
from labkit.record.bench import Bench
from labkit.record.card import read_card
from labkit.theory.network import input_inductance
from labkit.theory.wiring import Connection
from labkit.uncertainty.montecarlo import monte_carlo
from tests.benches import ALL_WIRINGS, empty_bench

FEW = 3
CASES = int(os.environ.get("LABKIT_MUTATIONS", FEW))

LIKE = (
    "1.000",
    "4.000",
    "9.960",
    "10.000",
    "2.771",
    "2.745",
)  # mH; exact squares, equals, a pair that cancels
FACTORS = ("1", "1000", "0.001", "2", "0.1", "-1", "0")
TIES = {"2(L1 + L2)": (2, 2), "L1 + L2": (1, 1), "L1": (1, 0), "L2": (0, 1)}


@dataclass(frozen=True)
class Case:
    """What is on the bench: readings as (wiring, shown), in order, and how they were taken."""

    windings: int
    dots: str | None
    card: str | None
    meter: bool
    frequency: tuple[str | None, ...]
    mode: str | None
    second: str | None
    own: bool
    readings: tuple[tuple[str, str], ...]


def _wirings(windings: int) -> tuple[str, ...]:
    """What people build, of two windings everything that reads something, an open circuit and the leads."""
    if windings == 2:
        return (*ALL_WIRINGS.values(), "1a 2a", "1a 1b | 1a=1b")
    singles = [f"{n}a {n}b" for n in range(1, windings + 1)]
    two = [(i, j) for i in range(1, windings) for j in range(i + 1, windings + 1)]
    forms = (
        "{i}a {j}a | {i}b={j}b",
        "{i}a {j}b | {i}b={j}a",
        "{i}a {i}b | {i}a={j}a {i}b={j}b",
        "{i}a {i}b | {j}a={j}b",
    )
    return (*singles, *(form.format(i=i, j=j) for form in forms for i, j in two))


def _shown(value: Decimal, digit: Decimal) -> str:
    """A value in mH as a display shows it, in steps of a digit."""
    return f"{value.quantize(digit):f} mH"


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """A bench of any kind; most readings are those of one part, some anything at all."""
    windings = draw(st.sampled_from((2, 2, 2, 2, 1, 3, 4)))
    L = [Decimal(draw(st.sampled_from(LIKE))) for _ in range(windings)]
    k = draw(st.sampled_from((0.0, 0.3, 0.9, 0.999, 0.99999, 1.0)))
    s = [draw(st.sampled_from((1, 1, -1))) for _ in L]
    H = [
        [float(L[i]) if i == j else s[i] * s[j] * k * float(L[i] * L[j]) ** 0.5 for j in range(windings)]
        for i in range(windings)
    ]
    digit = Decimal(draw(st.sampled_from(("0.0001", "0.001", "0.01"))))
    chosen = draw(st.permutations(_wirings(windings)))[: draw(st.integers(0, 8))]
    readings = []
    for wiring in chosen:
        true = input_inductance(H, wiring)
        value = Decimal(min(true, 9e6))
        if windings == 2 and "|" in wiring and draw(st.integers(0, 5)) == 0:
            a, b = TIES[draw(st.sampled_from(sorted(TIES)))]
            value = a * L[0] + b * L[1]
        if draw(st.integers(0, 9)) == 0:
            value *= Decimal(draw(st.sampled_from(FACTORS)))
        readings.append((wiring, _shown(value, digit)))
    marked = " ".join(f"{n}{'a' if sign * s[0] > 0 else 'b'}" for n, sign in enumerate(s, start=1))
    wrong = " ".join(f"{n}{'a' if n != 2 or s[0] * s[1] < 0 else 'b'}" for n in range(1, windings + 1))
    meter = draw(st.booleans()) or draw(st.booleans())
    return Case(
        windings,
        draw(st.sampled_from((marked, None, wrong))),
        draw(st.sampled_from(("bench-fine", "bench-fine", "hand-held-coarse", None))) if meter else None,
        meter,
        draw(st.sampled_from((("10 kHz",), ("10 kHz",), (None,), ("10 kHz", "1 kHz"), ("10 kHz", None)))),
        draw(st.sampled_from(("series", "series", "parallel", None))),
        draw(st.sampled_from((None, None, "D 0.2", "Q 3.1", "12.0 Ω"))),
        draw(st.booleans()),
        tuple(readings),
    )


def built(case: Case, folder: Path) -> Bench:
    """The bench; an entry that it refuses is its own matter."""
    bench = empty_bench(folder, windings=case.windings, dots=case.dots)
    if case.meter:
        path = labkit.shipped("data", "cards", f"{case.card}.toml") if case.card else None
        bench.meter("meter-a", path)
        bench.use(meter="meter-a")
    bench.use(**({"mode": case.mode} if case.mode else {}))
    for number, (wiring, shown) in enumerate(case.readings):
        frequency = case.frequency[number % len(case.frequency)]
        for enter in (
            lambda w=wiring, n=number: bench.commit(w, "20 mH", f"own-{n}") if case.own else None,
            lambda w=wiring, s=shown, n=number, f=frequency: bench.read(
                w, s, f"reading-{n}", frequency=f, second=case.second
            ),
        ):
            try:
                enter()
            except LabkitError:
                continue
    return bench


CARDS = [
    read_card(labkit.shipped("data", "cards", f"{name}.toml")) for name in ("bench-fine", "hand-held-coarse")
]
SOME = "1a 1b | 1a=2a 1b=2b"
CALLS: dict[str, Callable[[Bench], Any]] = {
    "amounts": labkit.amounts,
    "budget": lambda bench: [labkit.budget(bench, c) for c in Connection],
    "budget_bars": lambda bench: labkit.budget_bars(bench, "parallel_aiding"),
    "card_form": labkit.card_form,
    "characterisation_report": labkit.characterisation_report,
    "characterise": labkit.characterise,
    "compare": labkit.compare,
    "comparison": labkit.comparison,
    "coupling_scale": labkit.coupling_scale,
    "derivation_board": lambda bench: labkit.derivation_board(SOME, bench),
    "distribution": lambda bench: labkit.distribution(bench, "parallel_aiding"),
    "explain": labkit.explain,
    "form": labkit.form,
    "guard_band": labkit.guard_band,
    "inductance_matrix": labkit.inductance_matrix,
    "insertion_loss": labkit.insertion_loss,
    "meter_check": labkit.meter_check,
    "modes": labkit.modes,
    "next_reading": lambda bench: [labkit.next_reading(bench, q) for q in ("cause", "coupling_coefficient")],
    "predict": labkit.predict,
    "present": labkit.present,
    "report": labkit.report,
    "what_is": lambda bench: labkit.what_is(SOME, bench),
    "wiring_board": labkit.wiring_board,
    "work_out": lambda bench: labkit.work_out(SOME, bench),
}
NOT_OF_A_BENCH = {
    "Pair", "cautions", "class_dots", "class_results", "class_scores", "demo_bench", "derive", "draw", "flux",
    "input_impedance", "input_inductance", "new_bench", "open_bench", "plan", "practice_bench", "read_card",
    "shipped", "write_card",
}  # fmt: skip
ASKS = {"inductance_matrix", "insertion_loss", "modes", "next_reading"}
"""They are asked for one thing; MissingReading says which readings it needs."""
ONE_WINDING = {"derivation_board", "what_is", "wiring_board", "work_out"}
"""They are asked about a wiring of two windings, which a part with one refuses."""


def test_every_public_call_is_here() -> None:
    """A new public name takes a bench and is called below, or is listed as taking none."""
    assert CALLS.keys() | NOT_OF_A_BENCH == set(labkit.__all__)
    assert not CALLS.keys() & NOT_OF_A_BENCH


@pytest.fixture
def few_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """A thousand draws where a million are usual."""
    for module in (compare, predict, fit):
        monkeypatch.setattr(
            module, "monte_carlo", lambda *a, **more: monte_carlo(*a, **(more | {"draws": 1000}))
        )


def texts(result: Any) -> Iterator[str]:
    """What a result shows, as text and as a page without its pictures' data."""
    for each in result if isinstance(result, list) else [result]:
        html = getattr(each, "html", None) or getattr(each, "_repr_html_", str)()
        yield str(each)
        yield re.sub(r"data:[\w/+;=,.-]+|<(script|style)\b.*?</\1>", "", str(html), flags=re.DOTALL)


NO_NUMBER = re.compile(r"(?<![\w#-])(nan|inf|None)(?![\w-])")


@settings(
    max_examples=CASES,
    derandomize=CASES == FEW,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(case=cases())
def test_no_call_raises_on_what_a_bench_gives(few_draws: None, case: Case) -> None:
    """Only what asks for one thing may say that readings are missing; no text shows a non-number."""
    with tempfile.TemporaryDirectory() as folder:
        bench = built(case, Path(folder) / "bench")
        for name, call in CALLS.items():
            try:
                result = call(bench)
            except MissingReading:
                assert name in ASKS, name
                continue
            except LabkitError:
                assert name in ONE_WINDING, name
                assert case.windings == 1, name
                continue
            for text in texts(result):
                assert not (odd := NO_NUMBER.search(text)), (
                    name,
                    text[max(0, odd.start() - 200) : odd.end() + 50],
                )
