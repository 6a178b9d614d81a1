"""Do fits find the truth? `python -m tests.study.recovery` writes data/study/recovery.md in a minute or two.

Coverage: one known part swept 200 times with fresh noise, and how often the 95 % interval of each parameter
holds its true value. Convergence: 300 random parts of a stated population, each fitted once from starts that
are read off its own sweep, and how often the reduced chi-squared is below 1.3. Noise is normal, independent,
and stated as it is; every seed is the number of its sweep.
"""

import math
import random
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from scipy.stats import beta
from tqdm import tqdm

from labkit.arrays import Floats
from labkit.choke.choke_fit import COMMON_MODE, DIFFERENTIAL_MODE, SINGLE, ChokeFit, fit_choke
from labkit.choke.choose_model import fit_model
from labkit.choke.modelfit import ACCEPTED, ModelFit
from labkit.sweeps.sweep import Impedance
from labkit.theory.choke import Choke
from labkit.theory.models import CORE, CORE_DAMPED, SELF_CAPACITANCE, Model
from tests.chokes import equal_choke, noisy, unequal_choke
from tests.study.table import rows, share

TABLE = Path(__file__).resolve().parents[2] / "data" / "study" / "recovery.md"
SWEEPS, PARTS, POINTS, U = 200, 300, 401, 0.003
FREQUENCY = np.geomspace(1e3, 100e6, POINTS)

# Invented parts, in the models' order. In the last one the sweep may be explained with less flux in air too.
ONE_PORTS: tuple[tuple[str, Model, tuple[float, ...]], ...] = (
    ("self-capacitance", SELF_CAPACITANCE, (5.0, 100e-6, 7e-12)),
    ("core", CORE, (2.0, 100e-6, 10e-3, 600e3, 10e-12)),
    ("core, damped", CORE_DAMPED, (2.0, 1e-3, 10e-3, 600e3, 10e-12, 1e3)),
    ("core, damped, two minima", CORE_DAMPED, (2.0, 500e-6, 10e-3, 600e3, 10e-12, 1e3)),
)
EQUAL = Choke([0.5, 0.5], [80e-6, 80e-6], 10e-3, None, 800e3, [8e-12, 8e-12], [20e-12])
UNEQUAL = Choke([2.0, 2.2], [80e-6, 90e-6], 10e-3, [1, 0.98], 800e3, [8e-12, 9e-12], [20e-12])
Fit = ModelFit | ChokeFit


def swept(choke: Choke, wirings: Sequence[str], rng: np.random.Generator) -> list[Impedance]:
    return [noisy(FREQUENCY, choke.impedance(wiring, FREQUENCY), U, rng) for wiring in wirings]


def joint(choke: Choke, rng: np.random.Generator, singles: bool) -> ChokeFit:
    """Common and differential mode, and each winding alone if wanted, fitted together."""
    cm, dm, *rest = swept(choke, (COMMON_MODE, DIFFERENTIAL_MODE, *(SINGLE if singles else ())), rng)
    return fit_choke(cm, dm, (rest[0], rest[1]) if singles else None, uncertainty=U)


def one_port(model: Model, p: Sequence[float], rng: np.random.Generator) -> ModelFit:
    return fit_model(model, noisy(FREQUENCY, model.impedance(p, FREQUENCY), U, rng), U)


def values(choke: Choke, symbols: Sequence[str]) -> list[float]:
    """True values of a joint fit's parameters; a symbol without a number is that of both windings."""
    found = []
    for symbol in symbols:
        name, number = symbol.rstrip("12"), symbol[-1]
        found.append(float(np.atleast_1d(getattr(choke, name))[int(number == "2")]))
    return found


def held(fit: Fit, true: Sequence[float]) -> Floats:
    """For each parameter whether the 95 % interval of independent errors holds the true value."""
    off = np.abs(np.log(fit.parameters / np.asarray(true)))
    return np.asarray(off <= 1.96 * np.sqrt(np.diag(fit.log_covariance)), dtype=np.float64)


def coverage(sweeps: int) -> Iterator[tuple[str, str, int, int]]:
    """Part, parameter, intervals that hold the truth, sweeps whose fit tells the parameter."""
    for name, model, p in ONE_PORTS:
        fits: list[Fit] = [one_port(model, p, np.random.default_rng(s)) for s in progress(sweeps, name)]
        yield from counted(name, model.symbols, fits, p)
        yield name, "self-resonance", resonances(model, fits, p), sweeps
    for name, choke, singles in (("choke, windings equal", EQUAL, False), ("choke, unequal", UNEQUAL, True)):
        fits = [joint(choke, np.random.default_rng(s), singles) for s in progress(sweeps, name)]
        symbols = fits[0].symbols if isinstance(fits[0], ChokeFit) else ()
        yield from counted(name, symbols, fits, values(choke, symbols))


def counted(
    part: str, symbols: Sequence[str], fits: Sequence[Fit], true: Sequence[float]
) -> Iterator[tuple[str, str, int, int]]:
    hits = np.array([held(fit, true) for fit in fits])
    for column, symbol in enumerate(symbols):
        told = [symbol not in fit.unidentified for fit in fits]
        yield part, symbol, int(hits[told, column].sum()), sum(told)


def resonances(model: Model, fits: Sequence[Fit], p: Sequence[float]) -> int:
    """How many intervals hold the true self-resonance, a quantity derived from all parameters."""
    true, hits = model.self_resonance(p), 0
    for fit in fits:
        assert isinstance(fit, ModelFit)
        value, u = fit.derived(model.self_resonance, shared=False)
        hits += abs(value - true) <= 1.96 * u
    return hits


def damped(rng: random.Random) -> list[float]:
    """A common-mode branch of the population with a resistance of 1 to 50 % of sqrt(L/C) beside C."""
    choke = equal_choke(rng)
    R, air, C = float(choke.R[0]) / 2, float(choke.leakage[0]) / 2, 2 * float(choke.C[0])
    level = math.sqrt((air + choke.core) / C)
    return [R, air, choke.core, choke.relaxation or math.inf, C, level * 10 ** rng.uniform(-2, -0.3)]


def convergence(parts: int) -> Iterator[tuple[str, int, int, float]]:
    """Fit, parts with a reduced chi-squared below 1.3, parts, the largest reduced chi-squared."""
    jobs = {
        "common mode by CORE": lambda r, n: fit_model(CORE, swept(equal_choke(r), [COMMON_MODE], n)[0], U),
        "differential mode by SELF_CAPACITANCE": lambda r, n: fit_model(
            SELF_CAPACITANCE, swept(equal_choke(r), [DIFFERENTIAL_MODE], n)[0], U
        ),
        "common mode with damping by CORE_DAMPED": lambda r, n: one_port(CORE_DAMPED, damped(r), n),
        "both modes, windings equal": lambda r, n: joint(equal_choke(r), n, singles=False),
        "both modes and both windings, unequal": lambda r, n: joint(unequal_choke(r), n, singles=True),
    }
    for name, job in jobs.items():
        reduced = [
            float(job(random.Random(s), np.random.default_rng(s)).reduced_chi_squared or math.inf)
            for s in progress(parts, name)
        ]
        yield name, sum(x < ACCEPTED for x in reduced), parts, max(reduced)


def progress(count: int, what: str) -> Iterator[int]:
    return iter(tqdm(range(count), desc=what, mininterval=1))


def within(hits: int, of: int) -> str:
    """Whether 95 % lies within the 99.9 % interval: so many rows would raise false alarms with 95 %."""
    if not of:
        return "–"
    low = float(beta.ppf(0.0005, hits, of - hits + 1)) if hits else 0.0
    high = float(beta.ppf(0.9995, hits + 1, of - hits)) if hits < of else 1.0
    return "yes" if low <= 0.95 <= high else "**no**"


def text(
    sweeps: int,
    parts: int,
    minutes: float,
    covered: Sequence[tuple[str, str, int, int]],
    settled: Sequence[tuple[str, int, int, float]],
) -> str:
    """The page."""
    lines = [(part, symbol, share(hits, of), within(hits, of)) for part, symbol, hits, of in covered]
    ends = [
        (name, share(hits, of), "yes" if hits >= 0.99 * of else "**no**", f"{worst:.3g}")
        for name, hits, of, worst in settled
    ]
    total = Counter()
    for _, _, hits, of in covered:
        total.update(hits=hits, of=of)
    return PAGE.format(
        sweeps=sweeps,
        parts=parts,
        minutes=minutes,
        points=POINTS,
        percent=100 * U,
        all=share(total["hits"], total["of"]),
        coverage=rows(("part", "parameter", "intervals that hold the truth", "95 % plausible"), *lines),
        convergence=rows(("fit", "reduced chi-squared below 1.3", "at least 99 %", "largest"), *ends),
    )


PAGE = """# Do fits find the truth?

Made by `python -m tests.study.recovery` in {minutes:.1f} minutes; all parts are invented, every seed is the
number of its sweep. Each sweep has {points} frequencies from 1 kHz to 100 MHz, spread evenly over the
logarithm; real and imaginary part err independently and normally by {percent:.1f} % of |Z|, and that is what
the fit is told. Intervals of shares are 95 % binomial ones (Clopper and Pearson).

## Coverage of 95 % intervals, {sweeps} sweeps of one part

Intervals are value × exp(±1.96 u) from the covariance for independent errors. Sweeps whose fit calls the
parameter not identified are not counted in its row. All together, rows of one part sharing their sweeps:
{all}.

{coverage}

Where two minima cannot be told apart, intervals reach to both and hold the truth more often than they
say; the few sweeps whose noise leaves one minimum only may leave the wrong one.

## Convergence, {parts} random parts

Population: core 0.1 to 100 mH, leakage 0.1 to 10 % of it, 3 mΩ to 3 Ω, relaxation 0.1 to 10 MHz, 1 to 100 pF
across each winding and between them, all even in the logarithm; "unequal": each value of winding 2 within
±10 % of winding 1's; "damping": 1 to 50 % of sqrt(L/C). Starts are read off the sweeps; none of the truth is
given.

{convergence}

What this does not show: a real choke is none of these models. There the comparison of models says where each
one fails, and a stated accuracy is mostly one error that all frequencies share, for which `shared_covariance`
stands.
"""


def main() -> None:
    """Run everything; a number below 1 shrinks it to a trial that is printed."""
    scale, began = float(sys.argv[1]) if len(sys.argv) > 1 else 1.0, time.monotonic()
    sweeps, parts = (max(2, round(count * scale)) for count in (SWEEPS, PARTS))
    covered, settled = list(coverage(sweeps)), list(convergence(parts))
    page = text(sweeps, parts, (time.monotonic() - began) / 60, covered, settled)
    if scale == 1.0:
        TABLE.parent.mkdir(parents=True, exist_ok=True)
        TABLE.write_text(page, encoding="utf-8")
    else:
        print(page)


if __name__ == "__main__":
    main()
