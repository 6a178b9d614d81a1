"""How results show themselves: one list of parts, two faces, and nothing typed gets through as markup."""

from html.parser import HTMLParser
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st
from IPython.lib.pretty import pretty

from labkit.show import WIDTH, Formula, Heading, Part, Picture, Shown, Table, Text, in_notebook, to_tex
from tests.pages import drawings

NASTY = "<script>alert('x')</script> & \"q\" <b onclick=1>"
typed = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=40)


class Result(Shown):
    """A result made of given parts."""

    def __init__(self, *parts: Part) -> None:
        self._parts = parts

    def parts(self) -> tuple[Part, ...]:
        return self._parts


class Reader(HTMLParser):
    """What a browser would make of the markup: its tags, and its text."""

    def __init__(self, markup: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: dict[str, str | None] = {}
        self.text = ""
        self.feed(markup)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes.update(attrs)

    def handle_data(self, data: str) -> None:
        self.text += data


@pytest.mark.parametrize(
    ("part", "tags"),
    [
        (Heading(NASTY), ["h4"]),
        (Text(NASTY), ["p"]),
        (
            Table((NASTY,), ((NASTY,),), NASTY),
            ["table", "caption", "thead", "tr", "th", "tbody", "tr", "td"],
        ),
    ],
)
def test_markup_in_text_stays_text(part: Part, tags: list[str]) -> None:
    """Only our own tags are tags; what was typed is read back letter by letter."""
    read = Reader(part.html())
    assert read.tags == tags
    assert NASTY in read.text


@pytest.mark.parametrize(
    ("part", "attribute"),
    [(Formula("<mi>x</mi>", NASTY), "alttext"), (Picture("<svg></svg>", NASTY), "aria-label")],
)
def test_quotes_in_an_alternative_text_do_not_end_it(part: Part, attribute: str) -> None:
    """The alternative text comes back whole as one attribute."""
    read = Reader(part.html())
    assert read.attributes[attribute] == NASTY
    assert "script" not in read.tags


@given(typed)
def test_any_text_survives_every_part(text: str) -> None:
    """Whatever is typed is what is read, in headings, paragraphs and cells."""
    for part in (Heading(text), Text(text), Table((text or "h",), ((text or "–",),))):
        read = Reader(part.html())
        assert "script" not in read.tags
        assert text in read.text


def test_the_notebook_gets_one_block_and_the_terminal_the_same_parts() -> None:
    """HTML and plain text lay out the same parts in the same order."""
    result = Result(Heading("Title"), Text("Words."), Formula("<mi>M</mi>", "M"))
    html, plain = result._repr_html_(), str(result)
    assert html.startswith('<div class="lk ')
    assert html.partition(">")[2].startswith("<h3>Title</h3>")
    assert html.index("Words.") < html.index("$")
    assert plain == "Title\n=====\n\nWords.\n\n    M"


def test_a_notebook_gets_only_what_it_shows_untrusted() -> None:
    """No tag and no attribute that JupyterLab takes out; the drawing comes back whole from its image."""
    svg = '<svg xmlns="http://www.w3.org/2000/svg"><text>25 µH</text></svg>'
    table = Table(("a",), (("b",), ("c" * 30,)), "d")
    parts = (Text("t"), table, Formula("<mi>x</mi>", "x"), Picture(svg, NASTY))
    html = Result(*parts)._repr_html_()
    read = Reader(html)
    kept = {"div", "p", "table", "caption", "thead", "tbody", "tr", "th", "td", "img"}
    assert set(read.tags) == kept
    assert set(read.attributes) == {"class", "style", "title", "scope", "src", "alt"}
    assert drawings(html) == [svg]
    assert read.attributes["alt"] == NASTY


def test_a_tone_is_seen_without_a_style_sheet() -> None:
    """Each tone has a look of its own; a notebook that is not trusted has no style sheet."""
    tones = ("plain", "note", "strong", "caution")
    looks = {Reader(Result(Text("x", tone))._repr_html_()).attributes["style"] for tone in tones}
    assert len(looks) == len(tones)


def test_only_a_formula_is_typeset() -> None:
    """The block tells MathJax to leave what people typed alone, and one formula in it to be set."""
    html = Result(Text("$5 core, $6 wire"), Formula("<mi>x</mi>", "x"))._repr_html_()
    page = ElementTree.fromstring(html)
    assert {"mathjax_ignore", "tex2jax_ignore"} <= set(page.get("class", "").split())
    (formula,) = (e for e in page.iter() if "mathjax_process" in e.get("class", ""))
    assert formula.text == r"$\displaystyle x$"


@pytest.mark.parametrize(
    ("mathml", "tex"),
    [
        ("<mfrac><mn>1</mn><msqrt><mi>M</mi></msqrt></mfrac>", r"\frac{1}{\sqrt{M}}"),
        ("<msub><mi>L</mi><mi>eq</mi></msub>", r"{L}_{\mathrm{eq}}"),
        ("<msup><mi>𝐋</mi><mi mathvariant='normal'>T</mi></msup>", r"{\mathbf{L}}^{\mathrm{T}}"),
        ("<mo>(</mo><mo>−</mo><mi>k</mi><mo>)</mo>", r"\left(-k\right)"),
        (
            "<mtable><mtr><mtd><mi>a</mi></mtd><mtd style='text-align: left'><mi>b</mi></mtd></mtr></mtable>",
            r"\begin{matrix}\displaystyle a & \displaystyle b\hfill\end{matrix}",
        ),
        ("<mtext>5 % of $_{a}^2 \\x</mtext>", r"\text{5 \% of \$\_\{a\}$\hat{\ }$2 $\backslash$x}"),
    ],
)
def test_formulas_become_tex(mathml: str, tex: str) -> None:
    """What a person typed keeps every letter; the rest keeps its structure."""
    assert to_tex(mathml) == tex


def test_the_terminal_of_a_notebook_prints_the_plain_text() -> None:
    """IPython's plain face is str()."""
    result = Result(Text("Words."))
    assert pretty(result) == str(result) == "Words."  # type: ignore[no-untyped-call]


def test_html_is_well_formed() -> None:
    """Parsed as XML, so that it can stand in any page."""
    parts = (
        Heading(NASTY),
        Text(NASTY, "caution"),
        Table(("a", "b"), (("1", NASTY),), NASTY),
        Formula("<mi>x</mi>", NASTY),
        Picture('<svg xmlns="http://www.w3.org/2000/svg"/>', NASTY),
    )
    ElementTree.fromstring(Result(*parts)._repr_html_())


def test_an_empty_cell_is_a_visible_gap() -> None:
    """In both faces."""
    table = Table(("what", "value"), (("L1", ""),))
    assert "–" in table.html()
    assert table.plain().splitlines()[-1].split() == ["L1", "–"]


def test_a_wide_table_scrolls_in_its_own_box() -> None:
    """In a notebook each table has a box of its own that scrolls, so that nothing of it is cut off."""
    html = in_notebook(Text("t"), Table(("a",), (("b",),)))
    assert '<div style="overflow-x:auto"><table' in html
    assert html.count("overflow-x") == 1


def test_columns_of_a_plain_table_line_up() -> None:
    """Every column starts where its heading does, under a rule."""
    lines = Table(("name", "x"), (("long name", "1"), ("n", "22"))).plain().splitlines()
    assert lines == ["name       x", "---------  --", "long name  1", "n          22"]


def test_a_caption_stands_above_its_table() -> None:
    """In both faces."""
    table = Table(("a",), (("1",),), "Readings")
    assert table.plain().splitlines()[0] == "Readings"
    assert "<caption>Readings</caption>" in table.html()


def test_no_plain_line_is_wider_than_the_page() -> None:
    """Long paragraphs, long alternatives and wide tables are folded, and no word is lost."""
    long = " ".join(f"word{n}" for n in range(60))
    wide = Table(tuple("abcdef"), (tuple("x" * 30 for _ in range(6)),))
    for part in (Text(long), Picture("<svg/>", long), Table(("a", "b"), (("x", long),)), wide):
        assert max(map(len, part.plain().splitlines())) <= WIDTH
    for part in (Text(long), Table(("a", "b"), (("x", long),))):
        assert part.plain().split()[-1] == "word59"


def test_tone_names_a_style_and_changes_no_word() -> None:
    """A caution is marked in HTML and reads the same."""
    assert Text("Mind.", "caution").html() == '<p class="lk-caution">Mind.</p>'
    assert Text("Mind.", "caution").plain() == "Mind."
