"""The report: one HTML file that needs nothing else, neither network nor script, and reads the same in print.

The same record gives the same bytes; the only time in it is that of the record's events.
"""

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from labkit import __version__
from labkit.analysis.analysis import Analysis, analyse
from labkit.bench.bench import Bench
from labkit.errors import EntryError
from labkit.faces import sections, style
from labkit.faces.canvas import NOT_XML
from labkit.faces.entries import conditions, entries
from labkit.faces.figures import comparison
from labkit.resources import write_whole
from labkit.show import Part, Shown, Table, Text, symbols
from labkit.words import cautions as caution_words
from labkit.words import compare as compare_words
from labkit.words import report as words

TEMPLATE = "report.html.jinja"
NO_BREAK = "\N{NO-BREAK SPACE}"
UNBROKEN = r"(?<=[\d∞]) (?=[±%]|[pnµmkMG]?(?:[HΩVFAs]|Hz)\b)|(?<=±) | (?==)|(?<==) "
HALF_A_PAGE = 58  # characters of a formula written in one line


@dataclass(frozen=True)
class Report(Shown):
    """A report: `html` is the whole page, `file` where it was written, None if nowhere."""

    html: str
    file: Path | None = None

    def parts(self) -> tuple[Part, ...]:
        """A short note; the page itself is too long for a cell."""
        size = math.ceil(len(self.html.encode()) / 10_000) * 10
        if self.file is None:
            return (Text(words.NOT_WRITTEN.format(size=size)),)
        return (Text(words.WRITTEN.format(file=self.file, size=size)),)


def report(bench: Bench, file: str | Path | None = None) -> Report:
    """The report of a bench, written to a file if one is given.

    Parameters
    ----------
    bench : Bench
    file : where to; its folder must be there. An earlier report is replaced, any other file is left alone.

    Returns
    -------
    Report

    Raises
    ------
    EntryError
        with one sentence, if the file cannot be written; an earlier report is then still whole.
    """
    return written(lambda: render(bench), file)


def written(page: Callable[[], str], file: str | Path | None) -> Report:
    """A page, written to a file if one is given; whether it may be is looked at before it is made."""
    path = None if file is None else Path(file)
    if path is not None:
        _require_place(path)
    html = page()
    if path is not None:
        _write(path, html)
    return Report(html, path)


def render(bench: Bench, *, picture: bool = True) -> str:
    """The page as text, without its picture if only the text is wanted."""
    return fill(TEMPLATE, _content(bench, analyse(bench), picture=picture))


def fill(template: str, content: Mapping[str, Any]) -> str:
    """A page laid out by one of the templates beside this module."""
    html = _environment().get_template(template).render(content)
    return NOT_XML.sub("\N{REPLACEMENT CHARACTER}", html)  # what no page may hold, U+FFFF say, shows as such


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"prose": _prose, "moment": _moment}
    environment.tests["table_part"] = lambda part: isinstance(part, Table)
    environment.tests["text_part"] = lambda part: isinstance(part, Text)
    environment.tests["figure"] = lambda text: bool(re.match(r"[−±(]?[\d∞]", text))
    environment.tests["wide"] = lambda text: len(text) > HALF_A_PAGE
    environment.globals.update(
        version=__version__,
        style=style,
        words=words,
        caution_words=caution_words,
        compare_words=compare_words,
    )
    return environment


def _prose(text: str) -> Markup:
    """A sentence with its symbols set, and no line break between a number and what belongs to it."""
    return Markup(symbols(str(escape(re.sub(UNBROKEN, NO_BREAK, text)))))


def _moment(utc: str) -> str:
    return utc.replace("T", " ").replace("Z", " UTC")


def _content(bench: Bench, analysis: Analysis, *, picture: bool) -> dict[str, Any]:
    """Everything that the template lays out, by the names it uses."""
    found = entries(bench)
    return {
        "name": bench.part_name or words.NO_NAME,
        "invented": bench.invented,
        "demo": sections.is_demo(bench),
        "problems": bench.record.problems,
        "contents": CONTENTS,
        "findings": sections.findings(analysis),
        "sweeps": len(bench.sweeps),
        "picture": comparison(bench) if picture else Text(""),
        "part_facts": sections.part_facts(analysis),
        "conditions": conditions(bench, found),
        "cards": sections.card_tables(bench),
        "entries": found,
        "late": sections.read_before_prediction(analysis),
        "own": sections.own_predictions(bench),
        "predicted": sections.predicted(bench),
        "compared": sections.compared(bench, analysis),
        "closures": sections.closures(analysis),
        "routes": sections.routes(analysis),
        "budgets": sections.budgets(bench, analysis),
        "derivations": sections.derivations(analysis, found),
        "no_derivation": sections.no_derivation(analysis),
        "own_words": bench.own_words,
        "provenance": sections.provenance(bench, analysis),
        "anchor": _anchors(bench),
        "schematic": lambda wiring: sections.schematic(analysis, wiring),
        "connection": lambda wiring: sections.connection_of(analysis, wiring),
    }


CONTENTS = (
    ("findings", words.FINDINGS),
    ("picture", words.PICTURE),
    ("conditions", words.CONDITIONS),
    ("readings", words.READINGS),
    ("predictions", words.PREDICTIONS),
    ("comparison", words.COMPARISON),
    ("closures", words.CLOSURES),
    ("coupling", words.COUPLING),
    ("budget", words.BUDGET),
    ("derivation", words.DERIVATION),
    ("own-words", words.OWN_WORDS),
    ("cautions", caution_words.TITLE),
    ("provenance", words.PROVENANCE),
)
"""Anchor and heading of each section, in reading order."""


def _anchors(bench: Bench) -> Callable[[str], str]:
    """Where an id stands in the page; ids hold letters, digits, dots, lines and underscores only."""
    own = {prediction.id for prediction in bench.predictions}
    return lambda id: f"prediction-{id}" if id in own else f"reading-{id}"


def _require_place(path: Path) -> None:
    """Refuse a place that is not there, and a file that is no report: a record must never be written over."""
    if not path.parent.is_dir():
        raise EntryError(words.NO_FOLDER.format(file=path, folder=path.parent), str(path))
    if path.exists() and not _is_report(path):
        raise EntryError(words.FOREIGN.format(file=path), str(path))


def _is_report(path: Path) -> bool:
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return words.GENERATOR in file.read(words.HEAD)


def _write(path: Path, html: str) -> None:
    try:
        write_whole(path.resolve(), html.encode())
    except OSError as error:
        raise EntryError(words.CANNOT_WRITE.format(file=path, reason=error.strerror), str(path)) from error
