"""Decisions with a guard band: what is said where, and what is refused."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit.errors import EntryError
from labkit.uncertainty.components import certain, uncertain
from labkit.uncertainty.decisions import Conformity, conformance_probability, conformity
from labkit.uncertainty.propagate import first_order


def judged(value: float, u: float = 5.0, limit: float = 35.0, guard_factor: float = 1.0) -> Conformity:
    """A normal estimate against limits on either side of zero."""
    return conformity(
        first_order(lambda x: x, [uncertain("x", value, "normal", u)]), -limit, limit, guard_factor
    )


@pytest.mark.parametrize(
    ("value", "decision"),
    [
        *((0, "pass"), (24.9, "pass"), (-24.9, "pass")),
        *((25.1, "cannot tell"), (-35, "cannot tell"), (44.9, "cannot tell"), (-44.9, "cannot tell")),
        *((45.1, "fail"), (-45.1, "fail")),
    ],
)
def test_decision_changes_at_the_limit_less_and_plus_the_guard_band(value: float, decision: str) -> None:
    """With limits ±35 and U = 10 the edges are ±25 and ±45."""
    assert judged(value).decision == decision


def test_without_guard_band_the_limit_itself_decides() -> None:
    """Factor 0: inside passes, outside fails, nothing between."""
    assert [judged(x, guard_factor=0.0).decision for x in (34.9, 35.0, 35.1)] == ["pass", "pass", "fail"]


def test_guard_bands_wider_than_the_limits_leave_no_room() -> None:
    """If U exceeds the limit nothing can pass, but something may still fail."""
    assert judged(0.0, u=20.0).acceptance is None
    assert judged(0.0, u=20.0).decision == "cannot tell"
    assert judged(80.0, u=20.0).decision == "fail"


def test_an_exact_value_is_inside_or_outside() -> None:
    """Without uncertainty there is no guard band, and the probability is 0 or 1."""
    exact = [conformity(first_order(lambda x: x, [certain("x", v)]), -1.0, 1.0) for v in (1.0, 1.1)]
    assert [(c.decision, c.probability, c.guard_band) for c in exact] == [
        ("pass", 1.0, 0.0),
        ("fail", 0.0, 0.0),
    ]


@given(
    st.floats(-100, 100),
    st.floats(0.01, 50),
    st.floats(0.01, 100),
    st.floats(0.1, 3),
    st.sampled_from([3.0, 10.0, math.inf]),
)
def test_pass_and_fail_keep_their_promise(
    value: float, u: float, limit: float, guard_factor: float, freedom: float
) -> None:
    """What passes lies beyond either limit no more than the guard band allows; what fails, inside."""
    law = {"degrees_of_freedom": freedom} if math.isfinite(freedom) else {}
    x = uncertain("x", value, "student" if law else "normal", u, **law)
    found = conformity(first_order(lambda x: x, [x]), -limit, limit, guard_factor)
    edge = 1 - conformance_probability(0.0, u, upper=found.guard_band, degrees_of_freedom=freedom)
    if found.decision == "pass":
        assert 1 - found.probability <= 2 * edge + 1e-12
    if found.decision == "fail":
        assert found.probability <= edge + 1e-12


def test_limits_and_factors_that_make_no_sense_are_refused() -> None:
    """One sentence each says what was given and what is accepted."""
    with pytest.raises(EntryError, match="give the lower one first"):
        judged(0.0, limit=-1.0)
    for factor in (-0.1, math.inf, math.nan):
        with pytest.raises(EntryError, match="a factor of zero or larger"):
            judged(0.0, guard_factor=factor)


@pytest.mark.parametrize(
    ("mean", "outside"),
    [(10.0, 0.01242), (10.5, 0.10574), (12.0, 0.99379)],
)
def test_two_limits_from_common_practice(mean: float, outside: float) -> None:
    """Deviation 0.4, limits 9 and 11: common practice, no source; agrees with the normal distribution."""
    assert 1 - conformance_probability(mean, 0.4, 9.0, 11.0) == pytest.approx(outside, abs=5e-6)
