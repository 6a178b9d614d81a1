"""The study's table: every figure beside its goal, with 95 % binomial intervals (Clopper and Pearson)."""

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from scipy.stats import beta

Results = Mapping[tuple[str, tuple[Any, ...]], Any]
BIN = 400


def interval(hits: int, of: int) -> tuple[float, float]:
    """95 % interval of a share."""
    low = float(beta.ppf(0.025, hits, of - hits + 1)) if hits else 0.0
    high = float(beta.ppf(0.975, hits + 1, of - hits)) if hits < of else 1.0
    return low, high


def share(hits: int, of: int) -> str:
    """Per cent with its interval and the counts behind it."""
    if not of:
        return "–"
    low, high = interval(hits, of)
    return f"{100 * hits / of:.1f} % ({100 * low:.1f} to {100 * high:.1f}; {hits} of {of})"


def rows(*lines: tuple[str, ...]) -> str:
    """A table; the first line is its head."""
    head, *body = lines
    rule = ["---"] * len(head)
    return "\n".join("| " + " | ".join(line) + " |" for line in (head, rule, *body))


def written(results: Results, minutes: float, left: Sequence[str] = ()) -> str:
    """The whole text; `left` names the kind of each block that has not run."""
    of = {kind: {k[1]: v for k, v in results.items() if k[0] == kind} for kind in KINDS}
    parts = [text(of[kind]) for kind, text in KINDS.items() if of[kind]]
    head = [HEAD.format(minutes=minutes)]
    if left:
        counts = ", ".join(f"{count} of {kind}" for kind, count in Counter(left).items())
        head.append(UNFINISHED.format(counts=counts))
    return "\n\n".join([*head, *parts]) + "\n"


UNFINISHED = """**This study is not finished.** Blocks that have not run: {counts}. What is below
the wanted counts is so for that reason; `python -m tests.study` completes it."""


HEAD = """# How often the explanations are right

**Simulated; parts, meters and readings are invented.** Written by `python -m tests.study`; do not edit. The
last run took {minutes:.0f} minutes for what was not finished before. Intervals are 95 % binomial (Clopper and
Pearson).

*Separable* is what the oracle says (`tests/study/oracle.py`: quadrature over the pair, same causes and
priors; it weighs no slip, one, two on top of the six likeliest, and what the ranking itself leaves open):
nothing else comes within 1 : 1000. *Named* is what the ranking states as the one explanation.
Explanations that agree in what every reading is of count as one. Parts: 0.3 to 15 mH, windings alike to
unlike, k from 0.6 to 0.9998."""


def _confusion(results: Mapping[tuple[Any, ...], dict[str, int]]) -> str:
    def total(spice: bool, **where: str) -> Counter[str]:
        found: Counter[str] = Counter()
        for (cause, set_, card, _, _, from_spice), counts in results.items():
            here = {"cause": cause, "set_": set_, "card": card}
            if from_spice == spice and where.items() <= here.items():
                found.update(counts)
        return found

    def goals(spice: bool) -> str:
        c, sound = total(spice), total(spice, cause="sound")
        apart, close = c["separable"], c["benches"] - c["separable"]
        return rows(
            ("what", "result", "goal"),
            ("separable causes named right", share(c["named_right"], apart), "99 %"),
            ("separable, declared inseparable", share(c["wrongly_inseparable"], apart), "at most 2 %"),
            ("inseparable, declared separable", share(c["wrongly_separable"], close), "at most 1 %"),
            ("sound benches accused", share(sound["accused"], sound["benches"]), "at most 1 %"),
            ("something untrue named", share(c["misled"], c["benches"]), "none set"),
            ("truth among what is not told apart", share(c["in_set"], c["benches"]), "none set"),
        )

    def by(name: str, spice: bool) -> str:
        index = {"cause": 0, "set_": 1, "card": 2}[name]
        values = list(dict.fromkeys(key[index] for key in results))
        lines = []
        for value in values:
            c = total(spice, **{name: value})
            apart, close = c["separable"], c["benches"] - c["separable"]
            lines.append(
                (
                    str(value),
                    str(c["benches"]),
                    share(c["named_right"], apart),
                    share(c["wrongly_inseparable"], apart),
                    share(c["wrongly_separable"], close),
                    share(c["misled"], c["benches"]),
                )
            )
        head = (
            "",
            "benches",
            "separable: named right",
            "separable: not named",
            "inseparable: named",
            "untrue named",
        )
        return rows(head, *lines)

    return "\n\n".join(
        [
            "## Confusion among causes\n\nBenches that the model is meant for:",
            goals(False),
            by("cause", False),
            by("card", False),
            by("set_", False),
            "### Benches from ngspice\n\nWith winding resistance (0.05 to 1 Ω) and self-capacitance "
            "(5 to 50 pF) at 10 kHz, which the ranking leaves out; so does the oracle that judges:",
            goals(True),
            by("cause", True),
        ]
    )


def _calibration(results: Mapping[tuple[Any, ...], list[list[Any]]]) -> str:
    pairs = sorted((float(p), bool(true)) for block in results.values() for p, true in block)
    p, true = np.array([x for x, _ in pairs]), np.array([t for _, t in pairs])
    edges = [0.0, 0.001, 0.01, 0.03, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.97, 0.99, 1.01]
    bins: list[list[int]] = []
    for low, high in pairwise(edges):
        members = np.flatnonzero((p >= low) & (p < high)).tolist()
        if bins and len(bins[-1]) < BIN:
            bins[-1] += members
        else:
            bins.append(members)
    if len(bins) > 1 and len(bins[-1]) < BIN:
        last = bins.pop()
        bins[-1] += last
    lines = []
    for members in bins:
        if members:
            mean, hits = float(p[members].mean()), int(true[members].sum())
            off = 100 * (hits / len(members) - mean)
            span = f"{p[members].min():.4f} to {p[members].max():.4f}"
            lines.append((span, f"{100 * mean:.1f} %", share(hits, len(members)), f"{off:+.1f}"))
    return "\n\n".join(
        [
            "## Calibration\n\nBenches drawn from the stated priors (those that the meter can show). Goal: "
            f"within 5 points in bins of at least {BIN}.",
            rows(("probability stated", "mean", "true", "points off"), *lines),
        ]
    )


def _coverage(results: Mapping[tuple[Any, ...], dict[str, int]]) -> str:
    from tests.study.coverage import JUDGED

    cells: dict[tuple[Any, ...], Counter[str]] = {}
    for (k, card, gain, _, _), counts in results.items():
        cells.setdefault((card, gain, k), Counter()).update(counts)
    lines, outside = [], 0
    for (card, gain, k), c in sorted(cells.items()):
        shares = []
        for name in JUDGED:
            low, high = interval(c[name], c["benches"])
            good = high >= 0.93 and low <= 0.97
            outside += not good
            shares.append(f"{100 * c[name] / c['benches']:.1f} %{'' if good else ' **outside**'}")
        lines.append((card, gain, str(k), str(c["benches"]), *shares))
    return "\n\n".join(
        [
            "## Coverage of 95 % intervals\n\nReadings: both windings, series-opposing, parallel-aiding. "
            f"Goal: 93 to 97 % within binomial error; outside: {outside} of {len(lines) * len(JUDGED)}.",
            rows(("card", "gain", "k", "benches", *(n.replace("_", " ") for n in JUDGED)), *lines),
        ]
    )


KINDS = {"confusion": _confusion, "calibration": _calibration, "coverage": _coverage}
