"""Formulas as presentation MathML and as plain text."""

from xml.etree import ElementTree

import pytest
from sympy import Matrix, MatrixSymbol, Rational, Symbol, oo, sqrt, symbols

from labkit.theory.derivation import Equation, Filled, Rows, Step
from labkit.theory.formula_text import MatrixRate, Rate, in_rows, to_mathml, to_text

L1, L2, M, B, d, k, m = symbols("L1 L2 M B d k m")
L, s = MatrixSymbol("L", 3, 3), MatrixSymbol("s", 3, 1)
Q = MatrixSymbol("Q", 3, 2)
di, di2 = Rate("i"), Rate("i2")


@pytest.mark.parametrize(
    ("expression", "text"),
    [
        ((L1 * L2 - M**2) / (L1 + L2 - 2 * M), "(L1·L2 − M²)/(L1 + L2 − 2M)"),
        (m - B / 4 - d**2 / (4 * B), "m − B/4 − d²/(4B)"),
        (-B / 4 + m, "m − B/4"),
        (L1 * (1 - k**2), "L1·(1 − k²)"),
        (M * sqrt(L1 * L2), "M·√(L1·L2)"),
        (L1**12, "L1¹²"),
        (-M, "−M"),
        (oo, "∞"),
        (Rational(0), "0"),
        (L1 * di + M * di2, "L1 di/dt + M di2/dt"),
        (-M * di2, "−M di2/dt"),
        ((L1 - M) * di2 / (L1 + L2), "(L1 − M)/(L1 + L2) di2/dt"),
        ((L1 - M) * di, "(L1 − M) di/dt"),
        (Symbol("M1_12") + Symbol("L_eq"), "L_eq + M1_12"),
        (Matrix([[L1, -M], [-M, L2]]), "[L1, −M; −M, L2]"),
        (s.T * L * s, "𝐬ᵀ 𝐋 𝐬"),
        ((s.T * L.I * s).I, "1/(𝐬ᵀ 𝐋⁻¹ 𝐬)"),
        (-(L * MatrixRate("x", 3, 1)), "−𝐋 d𝐱/dt"),
        (-L * s * di, "−𝐋 𝐬 di/dt"),
        ((Q.T * L * Q).I * Q.T, "(𝐐ᵀ 𝐋 𝐐)⁻¹ 𝐐ᵀ"),
    ],
)
def test_plain_text_reads_as_on_a_blackboard(expression: object, text: str) -> None:
    """Positive terms first, true minus signs, exponents raised, rates beside their factor, matrices bold."""
    assert to_text(expression) == text


@pytest.mark.parametrize(
    ("expression", "markup"),
    [
        (L1, "<msub><mi>L</mi><mn>1</mn></msub>"),
        (Symbol("M12"), "<msub><mi>M</mi><mn>12</mn></msub>"),
        (Symbol("M1_12"), "<msub><mi>M</mi><mn>1,12</mn></msub>"),
        (Symbol("L_eq"), "<msub><mi>L</mi><mi>eq</mi></msub>"),
        (
            di2,
            '<mfrac><mrow><mi mathvariant="normal">d</mi><msub><mi>i</mi><mn>2</mn></msub></mrow>'
            '<mrow><mi mathvariant="normal">d</mi><mi>t</mi></mrow></mfrac>',
        ),
        (L.I, "<msup><mi>𝐋</mi><mrow><mo>−</mo><mn>1</mn></mrow></msup>"),
        (s.T, '<msup><mi>𝐬</mi><mi mathvariant="normal">T</mi></msup>'),
    ],
)
def test_markup_of_the_smallest_things(expression: object, markup: str) -> None:
    """Subscripts are upright numbers, a rate is a fraction over dt, matrices are bold letters."""
    assert to_mathml(expression) == markup


@pytest.mark.parametrize(
    "expression", [(L1 * L2 - M**2) / (L1 - 2 * M), -L1 * di, -(L * s), Matrix([[-M]]), oo]
)
def test_markup_is_well_formed_and_has_only_true_minus_signs(expression: object) -> None:
    """No named entity, which XML would not know, and no hyphen."""
    read = ElementTree.fromstring(f"<math>{to_mathml(expression)}</math>")
    assert "-" not in "".join(read.itertext())


def test_a_rate_stays_out_of_the_fraction() -> None:
    """The share of a current is a fraction times di/dt, not a fraction with di/dt on top."""
    read = ElementTree.fromstring(to_mathml((L1 - M) / (L1 + L2) * di))
    fractions = list(read.iter("mfrac"))
    assert len(fractions) == 2
    assert not any(inner is not outer for outer in fractions for inner in outer.iter("mfrac"))


def test_figures_stand_in_brackets_where_they_are_multiplied() -> None:
    """In products and powers, not in sums; in both forms of the formula."""
    figures = {"L1": "10.00 mH", "M": "5 µH"}
    assert to_text(L1 + M**2 * L1, figures) == "(10.00 mH)·(5 µH)² + 10.00 mH"
    read = ElementTree.fromstring(to_mathml(L1 - 2 * M, figures))
    assert "".join(read.itertext()) == "10.00 mH−2\u2062(5 µH)"


def test_text_from_outside_is_escaped() -> None:
    """Figures, remarks and outcomes cannot become markup."""
    nasty = "<b>&"
    equation = Equation((Filled(L1 * M, {"L1": nasty}), nasty), remark=nasty)
    read = ElementTree.fromstring(equation.mathml)
    assert "".join(read.itertext()).count(nasty) == 3
    assert not list(read.iter("b"))


def test_long_sums_go_in_rows_with_their_signs() -> None:
    """No term is lost, and a row after the first starts with its sign."""
    terms = symbols("a1:8")
    total = sum(terms[:4]) - sum(terms[4:])
    assert sum(in_rows(total, 3)) == total
    rows = Equation((M, Rows(total, 3))).text.splitlines()
    assert [row.strip() for row in rows] == ["M = a1 + a2 + a3", "+ a4 − a5 − a6", "− a7"]
    table = ElementTree.fromstring(Equation((M, Rows(total, 3))).mathml).find("mtable")
    assert table is not None
    assert ["".join(row.itertext()) for row in table] == ["a1+a2+a3", "+a4−a5−a6", "−a7"]


def test_a_step_shows_title_sentence_and_equations() -> None:
    """In both faces, in this order."""
    step = Step("Title", "Sentence.", (Equation((L1, M), "at 1a"),))
    assert str(step) == "Title\n=====\n\nSentence.\n\n    at 1a:  L1 = M"
    assert step._repr_html_().index("Sentence.") < step._repr_html_().index(r"\text{at 1a:}")
