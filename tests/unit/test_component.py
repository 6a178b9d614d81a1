"""Sources of error and inputs. All figures here are invented."""

import math
from typing import Any

import pytest

from labkit.errors import EntryError
from labkit.uncertainty.components import Component, Input, certain, sources_of, uncertain


def test_equal_names_and_facts_are_one_source() -> None:
    """Two components written down alike are the same source, whatever their labels say."""
    first = Component("gain", "rectangular", 0.003, label="gain of the mH range")
    assert first == Component("gain", "rectangular", 0.003, label="another wording")
    assert len({first, Component("gain", "rectangular", 0.003)}) == 1
    assert first != Component("gain", "rectangular", 0.004)


@pytest.mark.parametrize(
    ("distribution", "options", "expected"),
    [
        ("normal", {}, 2.0),
        ("rectangular", {}, 2.0 / math.sqrt(3)),
        ("triangular", {}, 2.0 / math.sqrt(6)),
        ("arcsine", {}, 2.0 / math.sqrt(2)),
        ("student", {"degrees_of_freedom": 4}, 2.0),
        ("curvilinear_trapezoid", {"shape": 0.0}, 2.0 / math.sqrt(3)),
        ("curvilinear_trapezoid", {"shape": 0.5}, 2.0 * math.sqrt(1 / 3 + 0.25 / 9)),
    ],
)
def test_standard_uncertainty(distribution: str, options: dict[str, float], expected: float) -> None:
    """The standard uncertainty of scale 2 is 2 for a deviation and 2/√3, /√6, /√2 for half-widths."""
    source = Component("x", distribution, 2.0, **options)
    assert source.standard_uncertainty == pytest.approx(expected, rel=1e-15)


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"distribution": "gaussian"}, "gaussian is not known; use one of normal, rectangular"),
        ({"scale": -1.0}, "the scale -1.0 is not a size"),
        ({"scale": math.nan}, "the scale nan is not a size"),
        ({"scale": math.inf}, "the scale inf is not a size"),
        ({"degrees_of_freedom": 0.5}, "0.5 degrees of freedom make no sense"),
        ({"degrees_of_freedom": math.nan}, "nan degrees of freedom make no sense"),
        ({"distribution": "student"}, "a student distribution needs a finite number"),
        ({"shape": 0.1}, "shape 0.1 cannot be used with the distribution normal"),
        ({"distribution": "curvilinear_trapezoid", "shape": 1.5}, "a fraction from 0 to 1"),
        ({"ensemble": "five sets"}, "a source estimated from simultaneous readings is student"),
        ({"name": "  "}, "name of this source is empty"),
    ],
)
def test_a_source_that_makes_no_sense_is_refused(facts: dict[str, Any], said: str) -> None:
    """Each wrong fact of a source is refused with what was given and what is accepted."""
    facts = {"name": "x", "distribution": "normal", **facts}
    with pytest.raises(EntryError, match=said):
        Component(**facts)


def test_an_input_adds_up_a_source_named_twice() -> None:
    """Coefficients 1 and 2 of one source are 3 of it: its standard uncertainty is 3, not √5."""
    source = Component("e", "normal")
    x = Input("x", 7.0, ((source, 1.0), (source, 2.0)))
    assert x.coefficients == {source: 3.0}
    assert x.standard_uncertainty == pytest.approx(3.0)


def test_independent_sources_add_in_quadrature() -> None:
    """Sources of 3 and 4 give 5."""
    x = Input("x", 0.0, ((Component("a", "normal", 3.0), 1.0), (Component("b", "normal", 4.0), -1.0)))
    assert x.standard_uncertainty == pytest.approx(5.0)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_an_input_that_is_not_finite_is_refused(value: float) -> None:
    """A value or coefficient that is no finite number is refused by name, and the error keeps it."""
    with pytest.raises(EntryError, match=r"L1: .* is not a finite number") as refused:
        Input("L1", value)
    assert refused.value.given == str(value)
    with pytest.raises(EntryError, match="L1"):
        Input("L1", 1.0, ((Component("e", "normal"), value),))


def test_an_input_without_a_name_is_refused() -> None:
    """A budget row must be traceable, so an empty name is refused."""
    with pytest.raises(EntryError, match="name of this input is empty"):
        Input("", 1.0)


def test_one_name_for_two_sources_is_refused() -> None:
    """Two different sources with one name cannot meet: the sharing of errors would be wrong silently."""
    a = uncertain("gain", 1.0, "rectangular", 0.003)
    b = uncertain("gain", 1.0, "rectangular", 0.010)
    with pytest.raises(EntryError, match="both called gain"):
        sources_of([a, b])


def test_sources_come_once_and_in_order() -> None:
    """The list of sources names each one once, in order of first appearance."""
    gain, first, second = (Component(name, "normal") for name in ("gain", "first", "second"))
    inputs = [Input("a", 1.0, ((gain, 1.0), (first, 1.0))), Input("b", 1.0, ((gain, 1.0), (second, 1.0)))]
    assert sources_of(inputs) == (gain, first, second)


def test_a_certain_input_has_no_source() -> None:
    """A count or a definition enters without a source of error."""
    assert certain("turns", 40).terms == ()
    assert certain("turns", 40).standard_uncertainty == 0.0
