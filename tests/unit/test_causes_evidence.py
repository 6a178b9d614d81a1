"""The ranking's probabilities against a dense quadrature of other origin, and changes that mean nothing.

Readings are invented. The quadrature, `tests.study.oracle`, shares the causes and priors, not the method.
"""

import math

import numpy as np
import pytest

from labkit.analysis.analysis import Analysis
from labkit.analysis.causes.evidence import Problem, option, weigh
from labkit.analysis.causes.hypotheses import Alternative, Spread
from labkit.analysis.causes.likelihood import Column, Option, Prior, prior_of
from labkit.analysis.causes.ranking import Ranking, rank
from labkit.theory.wiring import Connection, parse_dots
from tests.benches import typed_bench
from tests.study.cases import Weighed
from tests.study.cases import weigh as weigh_densely
from tests.study.oracle import Case, Density, Term, log_evidence

CHOKE = {"one": "6.83 mH", "two": "6.81 mH", "line-reversed": "31.2 µH", "side": "6.80 mH"}
UNLIKE = {"one": "9.970 mH", "two": "6.990 mH", "line": "33.09 mH", "line-reversed": "0.7683 mH"}
BENCHES = {
    "choke": ("hand-held-coarse", CHOKE),
    "choke, fine": ("bench-fine", CHOKE),
    "open clamp": ("bench-fine", UNLIKE | {"side": "9.950 mH"}),
    "wrong polarity": ("hand-held-coarse", {"one": "9.97 mH", "two": "6.99 mH", "line-reversed": "33.1 mH"}),
    "wrong dot": (
        "bench-fine",
        {"one": "9.970 mH", "two": "6.990 mH", "line": "0.7683 mH", "side": "124.9 µH"},
    ),
    "contradiction": ("bench-fine", UNLIKE | {"side": "61.20 µH"}),
}


def ranked(card: str, readings: dict[str, str]) -> tuple[Ranking, Weighed]:
    """What the ranking and the quadrature make of a bench."""
    analysis = Analysis(typed_bench(readings, card=card))
    assert analysis.ranking is not None
    assert analysis.shared.dots is not None
    dense = weigh_densely(analysis.bench, analysis.ranking.observations, analysis.shared.dots)
    return analysis.ranking, dense


@pytest.mark.parametrize("bench", BENCHES)
def test_leading_probabilities_are_those_of_the_quadrature(bench: str) -> None:
    """What has a twentieth of the probability or more agrees within 0.005, and the first is the same."""
    ranking, dense = ranked(*BENCHES[bench])
    ours = {e.of: e.probability for e in ranking.explanations}
    assert ranking.first.of == dense.names[0]
    for name, p in zip(dense.names, dense.probability, strict=True):
        if p > 0.05:
            assert ours[name] == pytest.approx(p, abs=0.005)


@pytest.mark.parametrize("bench", ["choke", "choke, fine", "open clamp"])
def test_unseparated_are_those_of_the_quadrature(bench: str) -> None:
    """Odds within 1 : 1000 of the first agree within a fifth, and none of them is missed."""
    ranking, dense = ranked(*BENCHES[bench])
    ours = {e.of: e.probability for e in ranking.explanations}
    for name in dense.unseparated:
        assert ours[name] == pytest.approx(dense.of(name), rel=0.2)
    known = [e for e in ranking.unseparated if dense.of(e.of)]  # the quadrature leaves out three slips
    assert all(dense.of(e.of) * 2000 > dense.probability[0] for e in known)
    assert len(known) >= len(dense.unseparated)


def problem(options: list[list[Option]], prior: Prior) -> Problem:
    """Readings with their options, and no stories."""
    admits = tuple(np.ones((1, len(each)), dtype=bool) for each in options)
    return Problem(
        tuple(map(Column.of, options)),
        np.zeros(1),
        admits,
        (0,) * len(options),
        lambda session, _: np.zeros(len(session)),
        0.0,
        prior,
    )


AB = (Connection.SERIES_AIDING, Connection.SERIES_OPPOSING)


def test_straight_forms_are_integrated_exactly() -> None:
    """A and B alone are the coordinates: evidence is a normal density that can be written down."""
    prior = prior_of("separate")
    one_plain = Prior(prior.mean, prior.precision)
    covariance = np.linalg.inv(prior.precision)[:2, :2] + 0.01**2 * np.eye(2)
    y = np.array([math.log(20e-3), math.log(10e-3)])
    off = y - prior.mean[:2]
    exact = -off @ np.linalg.solve(covariance, off) / 2
    exact -= np.linalg.slogdet(covariance)[1] / 2 + math.log(2 * math.pi)
    spread = Spread("r", 0.0, 0.01)
    options = [
        [option(math.exp(value), Alternative("as intended", connection), spread, {}, True)]
        for value, connection in zip(y.tolist(), AB, strict=True)
    ]
    (ours,) = weigh(problem(options, one_plain)).log_evidence
    case = Case(tuple(Term(v, c, 0.0, 0.01) for v, c in zip(y.tolist(), AB, strict=True)), 0.0)
    density = Density(along=160, across=120)
    (dense,) = log_evidence([case], prior.mean, np.linalg.inv(prior.precision), density)
    assert ours == pytest.approx(exact, abs=1e-6)
    assert dense == pytest.approx(exact, abs=2e-3)


def _probabilities(readings: dict[str, str], card: str = "bench-fine") -> dict[object, float]:
    analysis = Analysis(typed_bench(readings, card=card))
    assert analysis.ranking is not None
    order = sorted(range(len(readings)), key=lambda i: analysis.ranking.observations[i].id)  # type: ignore[union-attr]
    return {tuple(e.of[i] for i in order): e.probability for e in analysis.ranking.explanations}


def test_order_of_readings_does_not_matter() -> None:
    """The same readings in another order give the same probabilities.

    What lasts from one reading to the next, a clamp or a link, is left out: there the order does matter.
    """
    readings = UNLIKE | {"side": "9.950 mH"}
    first, again = _probabilities(readings), _probabilities(dict(reversed(readings.items())))
    assert len(first) > 2
    for key, p in first.items():
        if p > 0.005:
            assert again[key] == pytest.approx(p, rel=0.01)


CARD = """schema = 1
id = "one-range"
title = "One range (invented)"
invented = true
source = "invented"
[[ranges]]
quantity = "inductance"
name = "only one"
up_to = "99.999 {unit}"
digit = "{digit}"
percent = 0.3
digits = 5
frequencies = ["10 kHz"]
"""


def _with_prior_centred(centre: float, readings: dict[str, str], card: str) -> dict[object, float]:
    analysis = Analysis(typed_bench(readings, card=card))
    prior = prior_of("same core")
    moved = Prior(prior.mean + np.array([centre, centre, 0.0]), prior.precision, prior.against_dots)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("labkit.analysis.causes.ranking.prior_of", lambda _: moved)
        ranking = rank(analysis.bench, list(analysis.shared.pool().values()), parse_dots("1a 2a"))
    wired = [e for e in ranking.explanations if all(c not in ("", "leads") and not x for c, x, _ in e.of)]
    return {e.of: e.probability / ranking.first.probability for e in wired}


def test_size_of_the_part_does_not_matter() -> None:
    """All a thousand times smaller, card and centre of the prior too: the same odds among all wirings."""
    big = {"one": "9.970 mH", "two": "6.990 mH", "line-reversed": "0.768 mH", "side": "6.985 mH"}
    small = {id: text.replace("mH", "µH") for id, text in big.items()}
    one = _with_prior_centred(0.0, big, CARD.format(unit="mH", digit="1 µH"))
    other = _with_prior_centred(math.log(1e-3), small, CARD.format(unit="µH", digit="1 nH"))
    assert len(one) > 1
    assert one.keys() == other.keys()
    for key, p in one.items():
        assert other[key] == pytest.approx(p, rel=1e-3)
