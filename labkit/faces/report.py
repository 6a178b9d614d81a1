"""What each section of a report says, worked out from a bench; the template only lays it out.

Tables and numbers are those of the results themselves (`labkit.analysis.results`), so a report can say
nothing else than the notebook does.
"""

import math
import platform
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from itertools import groupby
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from labkit import __version__, quantity
from labkit.analysis.analysis import Analysis, analyse
from labkit.analysis.compare import SEED, Comparison
from labkit.analysis.finding import Finding
from labkit.analysis.findings import find
from labkit.analysis.predict import Ruled
from labkit.analysis.results import budget, compare, predict, routes_table
from labkit.errors import EntryError
from labkit.faces import plot as style
from labkit.faces.comparison_chart import comparison
from labkit.faces.entries import Answer, Entry, Fact, answer, conditions, entries
from labkit.faces.plot import NOT_XML
from labkit.faces.schematic import draw
from labkit.record.bench import Bench
from labkit.record.card import Card
from labkit.resources import shipped, write_whole
from labkit.show import Heading, Part, Picture, Shown, Table, Text, symbols
from labkit.theory.derivation import Derivation, derive
from labkit.theory.network import identify
from labkit.theory.wiring import Connection, Wiring
from labkit.words import analysis as finding_words
from labkit.words import labels
from labkit.words import record as words
from labkit.words import report as report_words

# The cautions, as a result that shows itself at the top of every notebook.


class Cautions(Shown):
    """What to mind before anything is clamped to anything."""

    def parts(self) -> tuple[Part, ...]:
        return (
            Heading(words.CAUTIONS_TITLE),
            *(Text(f"{n}. {each}", "caution") for n, each in enumerate(words.CAUTIONS, 1)),
        )


def cautions() -> Cautions:
    """The cautions that `bench.accept_cautions` acknowledges."""
    return Cautions()


DERIVED_WINDINGS = 8  # a derivation takes time and space that grow fast with the windings


@dataclass(frozen=True)
class Row:
    """A row of a table, with the readings it is about and those that it rests on."""

    cells: tuple[str, ...]
    ids: tuple[str, ...] = ()


@dataclass(frozen=True)
class Group:
    """Rows about one reading."""

    id: str
    label: str
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class Budget:
    """The budget of one prediction by input and by source, and whether first order is to be trusted."""

    tables: tuple[Table, ...]
    trust: str


def is_demo(bench: Bench) -> bool:
    """Whether the record is one of those that labkit ships with."""
    return bench.record.folder.parent == shipped("data").resolve()


def findings(analysis: Analysis) -> tuple[tuple[str, tuple[Finding, ...]], ...]:
    """Findings under three headings: what carries the result, what asks for a step, what else there is."""
    found = find(analysis)
    headings = finding_words.HEADINGS.items()
    groups = ((heading, tuple(f for f in found if f.tone == tone)) for tone, heading in headings)
    return tuple((heading, group) for heading, group in groups if group)


def part_facts(analysis: Analysis) -> tuple[Fact, ...]:
    """What is known of the part."""
    bench = analysis.bench
    fields = bench.part.model_dump(exclude_unset=True) if bench.part else {}
    names = ("title", "description", "windings", "family", "dots", "turns", "core")
    facts = [
        Fact(
            report_words.NAME,
            (Answer(bench.part_name) if bench.part_name else Answer(report_words.NOT_RECORDED, gap=True),),
        )
    ]
    for name in names:
        answers = [answer(fields, name)]
        if name == "dots" and analysis.shared.dots_decided and analysis.shared.dots:
            answers.append(
                Answer(report_words.DOTS_DECIDED.format(dots=" ".join(map(str, analysis.shared.dots))))
            )
        facts.append(Fact(report_words.FIELDS[name], tuple(answers)))
    return tuple(facts)


def card_tables(bench: Bench) -> tuple[Table, ...]:
    """What the cards of the meters say about accuracy."""
    return tuple(_card_table(meter, card) for meter, card in bench.cards.items() if card)


def _card_table(meter: str, card: Card) -> Table:
    rows = tuple(
        (
            line.quantity,
            line.name,
            line.up_to,
            line.digit,
            report_words.CARD_ACCURACY.format(percent=line.percent, digits=line.digits),
            ", ".join(line.frequencies),
        )
        for line in card.ranges
    )
    return Table(report_words.CARD_HEADER, rows, report_words.CARD_CAPTION.format(meter=meter))


def connection_of(analysis: Analysis, wiring: Wiring) -> str:
    """What a wiring amounts to, in words; empty for other than two windings."""
    if analysis.bench.windings != 2:
        return ""
    if analysis.shared.dots:
        return labels.CONNECTION[identify(wiring, analysis.shared.dots)]
    same = {o.connection for o in analysis.shared.observations if o.wiring.canonical() == wiring.canonical()}
    known = same.pop() if len(same) == 1 else None
    return labels.CONNECTION[known] if known else report_words.DEPENDS_ON_DOTS


def schematic(analysis: Analysis, wiring: Wiring) -> Picture:
    """What was clamped to what."""
    return draw(wiring, dots=analysis.shared.dots, windings=analysis.bench.windings)


def read_before_prediction(analysis: Analysis) -> frozenset[str]:
    """Ids of joint readings that were taken before anybody had predicted them."""
    return frozenset(id for f in find(analysis) if f.kind == "read before prediction" for id in f.ids)


def own_predictions(bench: Bench) -> tuple[Row, ...]:
    """What people committed, with the line and time of each."""
    return tuple(
        Row((p.id, p.wiring.notation, p.text, p.by or "", p.utc, str(p.line)), (p.id,))
        for p in bench.predictions
    )


def predicted(bench: Bench) -> tuple[Part, ...]:
    """Predictions by rule."""
    return predict(bench).parts()


def compared(bench: Bench, analysis: Analysis) -> tuple[Group, ...]:
    """Every reading against every statement, grouped by reading."""
    table = next((p for p in compare(bench).parts() if isinstance(p, Table)), None)
    if table is None or not analysis.comparisons:
        return ()
    pairs = zip(analysis.comparisons, table.rows, strict=True)
    grouped = groupby(pairs, key=lambda pair: (pair[0].observation.id, pair[1][0]))
    return tuple(
        Group(id, label, tuple(Row(cells[1:], _resting(c)) for c, cells in rows))
        for (id, label), rows in grouped
    )


def _resting(c: Comparison) -> tuple[str, ...]:
    return tuple(id for side in c.statement.inputs for id in side.ids)


def closures(analysis: Analysis) -> tuple[Row, ...]:
    """The closures that the readings allow."""
    return tuple(
        Row((c.title, c.text, c.E_n_text, c.verdict_text), tuple(id for o in c.observations for id in o.ids))
        for c in analysis.closures
    )


def routes(analysis: Analysis) -> tuple[Row, ...]:
    """M, k and the leakages by every route."""
    pairs = zip(routes_table(analysis.couplings).rows, analysis.couplings.values(), strict=True)
    return tuple(Row(cells, () if isinstance(by, str) else by.ids) for cells, by in pairs)


def budgets(bench: Bench, analysis: Analysis) -> tuple[Budget, ...]:
    """Of the coupled predictions whose connection was read; of parallel-aiding if there is none."""
    ruled = {
        p.connection: p.coupled
        for p in analysis.predictions
        if p.coupled and p.coupled.stated and not p.is_input
    }
    read = {o.connection for o in analysis.shared.observations}
    wanted = [c for c in ruled if c in read] or [c for c in ruled if c is Connection.PARALLEL_AIDING]
    return tuple(_budget(bench, c, ruled[c]) for c in wanted)


def _budget(bench: Bench, connection: Connection, ruled: Ruled) -> Budget:
    tables = [part for part in budget(bench, connection).parts() if isinstance(part, Table)]
    return Budget((*tables, _sources(labels.CONNECTION[connection], ruled)), _trust(ruled))


def _trust(ruled: Ruled) -> str:
    """What Monte Carlo says beside first order; empty if nothing was drawn."""
    drawn = ruled.monte_carlo
    if drawn is None:
        return ""
    low, high = map(quantity.display, drawn.shortest)
    value = ruled.estimate.value if drawn.mean is None else drawn.mean
    return report_words.TRUST.format(
        draws=counted(drawn.draws),
        seed=drawn.seed,
        value=quantity.display(value, drawn.standard_uncertainty),
        low=low,
        high=high,
        verdict=report_words.TRUSTED if ruled.trusted else report_words.NOT_TRUSTED,
    )


def counted(number: int) -> str:
    """A whole number with its digits in groups of three.

    >>> counted(1_000_000) == "1\N{NARROW NO-BREAK SPACE}000\N{NARROW NO-BREAK SPACE}000"
    True
    """
    return f"{number:,}".replace(",", "\N{NARROW NO-BREAK SPACE}")


def _sources(what: str, ruled: Ruled) -> Table:
    """Each named source of error with its signed contribution, largest first."""
    parts = sorted(ruled.estimate.contributions.items(), key=lambda item: -abs(item[1]))
    rows = tuple(
        (source.name, source.distribution, quantity.display(part, significant_digits=2))
        for source, part in parts
    )
    return Table(report_words.SOURCES_HEADER, rows, report_words.SOURCES_CAPTION.format(what=what))


def derivations(analysis: Analysis, found: tuple[Entry, ...]) -> tuple[Derivation, ...]:
    """Of each wiring that was read, as it was built; once for wirings that are the same."""
    windings = analysis.bench.windings
    if windings > DERIVED_WINDINGS:
        return ()
    built = {entry.wiring.canonical(windings): entry.wiring for entry in reversed(found)}
    wirings = sorted(built.values(), key=[entry.wiring for entry in found].index)
    return tuple(derive(wiring, dots=analysis.shared.dots, windings=windings) for wiring in wirings)


def no_derivation(analysis: Analysis) -> str:
    """Why none is written out."""
    windings = analysis.bench.windings
    if windings <= DERIVED_WINDINGS:
        return report_words.NO_DERIVATION
    return report_words.MANY_WINDINGS.format(windings=windings, most=DERIVED_WINDINGS)


def provenance(bench: Bench, analysis: Analysis) -> tuple[Fact, ...]:
    """What is needed to make the same report again."""
    events = bench.events
    last = events[-1] if events else None
    record = (
        report_words.RECORD_LINES.format(events=len(events), utc=last.utc)
        if last
        else report_words.RECORD_EMPTY
    )
    made_with = f"labkit {__version__}, Python {platform.python_version()}, numpy {version('numpy')}"
    facts = {report_words.RECORD: record}
    if bench.opened:
        facts[report_words.BEGUN] = report_words.BEGUN_WITH.format(
            utc=bench.opened.utc, labkit=bench.opened.labkit
        )
        facts |= {report_words.SCENARIO: bench.opened.scenario} if bench.opened.scenario else {}
        facts |= {report_words.SEED: str(bench.opened.seed)} if bench.opened.seed is not None else {}
    facts |= {
        report_words.DIGEST: bench.record.digest or report_words.NOT_RECORDED,
        report_words.MONTE_CARLO: _monte_carlo(analysis),
    }
    return tuple(
        Fact(name, (Answer(text),)) for name, text in (facts | {report_words.VERSIONS: made_with}).items()
    )


def _monte_carlo(analysis: Analysis) -> str:
    drawn = [p.coupled.monte_carlo for p in analysis.predictions if p.coupled and p.coupled.monte_carlo]
    drawn += [d.monte_carlo for c in analysis.comparisons for d in (c.shared, c.independent) if d.monte_carlo]
    draws = sorted({each.draws for each in drawn})
    if not draws:
        return report_words.MONTE_CARLO_NONE
    return report_words.MONTE_CARLO_DRAWS.format(draws=" / ".join(map(counted, draws)), seed=SEED)


# The report: one HTML file that needs nothing else, neither network nor script, and reads the same in
# print.
#
# The same record gives the same bytes; the only time in it is that of the record's events.

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
            return (Text(report_words.NOT_WRITTEN.format(size=size)),)
        return (Text(report_words.WRITTEN.format(file=self.file, size=size)),)


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
        words=report_words,
        caution_words=words,
        compare_words=finding_words,
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
        "name": bench.part_name or report_words.NO_NAME,
        "invented": bench.invented,
        "demo": is_demo(bench),
        "problems": bench.record.problems,
        "contents": CONTENTS,
        "findings": findings(analysis),
        "sweeps": len(bench.sweeps),
        "picture": comparison(bench) if picture else Text(""),
        "part_facts": part_facts(analysis),
        "conditions": conditions(bench, found),
        "cards": card_tables(bench),
        "entries": found,
        "late": read_before_prediction(analysis),
        "own": own_predictions(bench),
        "predicted": predicted(bench),
        "compared": compared(bench, analysis),
        "closures": closures(analysis),
        "routes": routes(analysis),
        "budgets": budgets(bench, analysis),
        "derivations": derivations(analysis, found),
        "no_derivation": no_derivation(analysis),
        "own_words": bench.own_words,
        "provenance": provenance(bench, analysis),
        "anchor": _anchors(bench),
        "schematic": lambda wiring: schematic(analysis, wiring),
        "connection": lambda wiring: connection_of(analysis, wiring),
    }


CONTENTS = (
    ("findings", report_words.FINDINGS),
    ("picture", report_words.PICTURE),
    ("conditions", report_words.CONDITIONS),
    ("readings", report_words.READINGS),
    ("predictions", report_words.PREDICTIONS),
    ("comparison", report_words.COMPARISON),
    ("closures", report_words.CLOSURES),
    ("coupling", report_words.COUPLING),
    ("budget", report_words.BUDGET),
    ("derivation", report_words.DERIVATION),
    ("own-words", report_words.OWN_WORDS),
    ("cautions", words.CAUTIONS_TITLE),
    ("provenance", report_words.PROVENANCE),
)
"""Anchor and heading of each section, in reading order."""


def _anchors(bench: Bench) -> Callable[[str], str]:
    """Where an id stands in the page; ids hold letters, digits, dots, lines and underscores only."""
    own = {prediction.id for prediction in bench.predictions}
    return lambda id: f"prediction-{id}" if id in own else f"reading-{id}"


def _require_place(path: Path) -> None:
    """Refuse a place that is not there, and a file that is no report: a record must never be written over."""
    if not path.parent.is_dir():
        raise EntryError(report_words.NO_FOLDER.format(file=path, folder=path.parent), str(path))
    if path.exists() and not _is_report(path):
        raise EntryError(
            f"'{path}' is there already and is no report by labkit, so it was left as it is; "
            "give another file name, or move that file away.",
            str(path),
        )


def _is_report(path: Path) -> bool:
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return report_words.GENERATOR in file.read(report_words.HEAD)


def _write(path: Path, html: str) -> None:
    try:
        write_whole(path.resolve(), html.encode())
    except OSError as error:
        raise EntryError(
            f"The report cannot be written to '{path}' ({error.strerror}); give another place.", str(path)
        ) from error
