"""What each section of a report says, worked out from a bench; the template only lays it out.

Tables and numbers are those of the results themselves (`labkit.analysis.results`), so a report can say
nothing else than the notebook does.
"""

import platform
from dataclasses import dataclass
from importlib.metadata import version
from itertools import groupby

from labkit import __version__, quantity
from labkit.analysis.analysis import Analysis
from labkit.analysis.compare import SEED, Comparison
from labkit.analysis.finding import Finding
from labkit.analysis.findings import find
from labkit.analysis.predict import Ruled
from labkit.analysis.results import budget, compare, predict, routes_table
from labkit.bench.bench import Bench
from labkit.bench.card import Card
from labkit.faces.entries import Answer, Entry, Fact, answer
from labkit.faces.schematic import draw
from labkit.resources import shipped
from labkit.show import Part, Picture, Table
from labkit.theory.derivation import Derivation, derive
from labkit.theory.network import identify
from labkit.theory.wiring import Connection, Wiring
from labkit.words import findings as finding_words
from labkit.words import labels
from labkit.words import report as words

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
            words.NAME,
            (Answer(bench.part_name) if bench.part_name else Answer(words.NOT_RECORDED, gap=True),),
        )
    ]
    for name in names:
        answers = [answer(fields, name)]
        if name == "dots" and analysis.shared.dots_decided and analysis.shared.dots:
            answers.append(Answer(words.DOTS_DECIDED.format(dots=" ".join(map(str, analysis.shared.dots)))))
        facts.append(Fact(words.FIELDS[name], tuple(answers)))
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
            words.CARD_ACCURACY.format(percent=line.percent, digits=line.digits),
            ", ".join(line.frequencies),
        )
        for line in card.ranges
    )
    return Table(words.CARD_HEADER, rows, words.CARD_CAPTION.format(meter=meter))


def connection_of(analysis: Analysis, wiring: Wiring) -> str:
    """What a wiring amounts to, in words; empty for other than two windings."""
    if analysis.bench.windings != 2:
        return ""
    if analysis.shared.dots:
        return labels.CONNECTION[identify(wiring, analysis.shared.dots)]
    same = {o.connection for o in analysis.shared.observations if o.wiring.canonical() == wiring.canonical()}
    known = same.pop() if len(same) == 1 else None
    return labels.CONNECTION[known] if known else words.DEPENDS_ON_DOTS


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
    return words.TRUST.format(
        draws=counted(drawn.draws),
        seed=drawn.seed,
        value=quantity.display(value, drawn.standard_uncertainty),
        low=low,
        high=high,
        verdict=words.TRUSTED if ruled.trusted else words.NOT_TRUSTED,
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
    return Table(words.SOURCES_HEADER, rows, words.SOURCES_CAPTION.format(what=what))


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
        return words.NO_DERIVATION
    return words.MANY_WINDINGS.format(windings=windings, most=DERIVED_WINDINGS)


def provenance(bench: Bench, analysis: Analysis) -> tuple[Fact, ...]:
    """What is needed to make the same report again."""
    events = bench.events
    last = events[-1] if events else None
    record = words.RECORD_LINES.format(events=len(events), utc=last.utc) if last else words.RECORD_EMPTY
    made_with = f"labkit {__version__}, Python {platform.python_version()}, numpy {version('numpy')}"
    facts = {words.RECORD: record}
    if bench.opened:
        facts[words.BEGUN] = words.BEGUN_WITH.format(utc=bench.opened.utc, labkit=bench.opened.labkit)
        facts |= {words.SCENARIO: bench.opened.scenario} if bench.opened.scenario else {}
        facts |= {words.SEED: str(bench.opened.seed)} if bench.opened.seed is not None else {}
    facts |= {
        words.DIGEST: bench.record.digest or words.NOT_RECORDED,
        words.MONTE_CARLO: _monte_carlo(analysis),
    }
    return tuple(Fact(name, (Answer(text),)) for name, text in (facts | {words.VERSIONS: made_with}).items())


def _monte_carlo(analysis: Analysis) -> str:
    drawn = [p.coupled.monte_carlo for p in analysis.predictions if p.coupled and p.coupled.monte_carlo]
    drawn += [d.monte_carlo for c in analysis.comparisons for d in (c.shared, c.independent) if d.monte_carlo]
    draws = sorted({each.draws for each in drawn})
    if not draws:
        return words.MONTE_CARLO_NONE
    return words.MONTE_CARLO_DRAWS.format(draws=" / ".join(map(counted, draws)), seed=SEED)
