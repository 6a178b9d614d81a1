"""What the public calls return: predictions, comparison, explanation, as results that show themselves."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import repeat

from labkit import quantity
from labkit.analysis.analysis import Analysis, analyse
from labkit.analysis.break_even import error_text
from labkit.analysis.compare import Closure, Comparison
from labkit.analysis.finding import Finding
from labkit.analysis.findings import find, missing, no_value, polarity
from labkit.analysis.predict import Prediction, Ruled
from labkit.analysis.routes import ALIKE, Coupling, Route
from labkit.analysis.suspicions import amount_told, coupling_told, next_reading_of, sizes
from labkit.analysis.suspicions import amounts as amounts_found
from labkit.analysis.without_card import no_coupling
from labkit.errors import EntryError, MissingReading
from labkit.record.bench import Bench
from labkit.show import Heading, Part, Shown, Table, Text
from labkit.theory.network import identify
from labkit.theory.wiring import Connection, Wiring
from labkit.uncertainty.montecarlo import MonteCarlo
from labkit.uncertainty.propagate import Estimate
from labkit.words import analysis as amount_words
from labkit.words import labels


@dataclass(frozen=True)
class Predictions(Shown):
    """What each connection should read; `rows` holds the numbers."""

    rows: tuple[Prediction, ...]
    believed: Coupling | None
    notes: tuple[str, ...] = ()

    def __getitem__(self, connection: Connection | str) -> Prediction:
        wanted = _connection(connection)
        for row in self.rows:
            if row.connection is wanted:
                return row
        raise MissingReading(
            " ".join(self.notes) or amount_words.NO_ROW.format(what=labels.CONNECTION[wanted])
        )

    def parts(self) -> tuple[Part, ...]:
        table = Table(
            amount_words.PREDICT_HEADER, tuple(map(_prediction_row, self.rows)), amount_words.PREDICT_TITLE
        )
        notes = [Text(note, tone="note") for note in self.notes]
        if self.believed:
            ids = ", ".join(self.believed.ids)
            notes.append(
                Text(amount_words.ROUTE.format(route=self.believed.route.title, ids=ids), tone="note")
            )
            if self.believed.gap.value < 0 or self.believed.resolved is False:
                notes += [Text(why, "caution") for why in _why({self.believed.route: self.believed})]
        return (table, *notes) if self.rows else tuple(notes)


def _prediction_row(p: Prediction) -> tuple[str, ...]:
    own = ", ".join(each.text for each in p.own)
    coupled = amount_words.INPUT if p.is_input else _ruled_text(p.coupled)
    interval = ""
    if p.coupled and p.coupled.monte_carlo and not p.is_input:
        interval = _interval(p.coupled.monte_carlo)
    wiring = p.wiring.notation
    return p.title, wiring, own, _ruled_text(p.uncoupled), coupled, interval


def _interval(drawn: MonteCarlo) -> str:
    """The shortest interval, its ends to the digits that count."""
    (low, _, low_unit), (high, _, high_unit) = (
        quantity.display_parts(end, drawn.standard_uncertainty) for end in drawn.shortest
    )
    return (
        f"{low} to {high} {high_unit}" if low_unit == high_unit else f"{low} {low_unit} to {high} {high_unit}"
    )


def _ruled_text(ruled: Ruled | None) -> str:
    return ruled.text if ruled else ""


def predict(bench: Bench, wiring: str | Wiring | None = None) -> Predictions:
    """What a wiring should read, or every connection if no wiring is given.

    Parameters
    ----------
    bench : Bench
    wiring : notation such as "1a 2a | 1b=2b"

    Raises
    ------
    MissingReading
        if a wiring is asked for and neither rule can say anything about it yet.
    """
    analysis = analyse(bench)
    rows, notes = analysis.predictions, _notes(analysis)
    if wiring is not None:
        built = _built(Wiring.parse(wiring), analysis)
        here = identify(Wiring.parse(wiring), ALIKE) if analysis.bench.windings == 2 else None
        rows = tuple(row for row in rows if row.connection is (built or here))
        if not rows and built:
            raise MissingReading(amount_words.NO_ROW.format(what=labels.CONNECTION[built]))
        if not any(row.coupled or row.uncoupled for row in rows):
            raise MissingReading(" ".join((amount_words.NO_RULE.format(wiring=wiring), *notes)))
    return Predictions(rows, analysis.believed, notes)


def _built(wiring: Wiring, analysis: Analysis) -> Connection | None:
    """What a wiring amounts to; None if the dots or more than two windings leave it open."""
    wiring.nodes(analysis.bench.windings)
    dots = analysis.shared.dots
    return identify(wiring, dots) if dots and analysis.bench.windings == 2 else None


def _connection(name: Connection | str) -> Connection:
    try:
        return Connection(name)
    except ValueError:
        accepted = ", ".join(Connection)
        raise EntryError(
            f"'{name}' is not a connection; the connections are {accepted}.", str(name)
        ) from None


def _notes(analysis: Analysis) -> tuple[str, ...]:
    if analysis.bench.windings != 2:
        return (amount_words.NO_WINDINGS.format(windings=analysis.bench.windings),)
    if analysis.shared.dots is None:
        needless = [f.sentence for f in no_coupling(analysis)]
        return (*(f.sentence for f in missing(analysis)), *(needless or [amount_words.DOTS_UNDECIDED]))
    notes = [f.sentence for finder in (missing, no_value) for f in finder(analysis)]
    if analysis.shared.dots_decided:
        notes.append(amount_words.DOTS.format(dots=" ".join(map(str, analysis.shared.dots))))
    reasons = {o.no_uncertainty for o in analysis.shared.observations if o.no_uncertainty}
    if reasons:
        notes.append(amount_words.UNSTATED.format(reasons="; ".join(sorted(reasons))))
    return tuple(notes)


@dataclass(frozen=True)
class Compared(Shown):
    """Every reading against every statement, the closures, and M and k by every route."""

    comparisons: tuple[Comparison, ...]
    closures: tuple[Closure, ...]
    couplings: dict[Route, Coupling | str]
    missing: tuple[str, ...] = ()

    def parts(self) -> tuple[Part, ...]:
        parts: list[Part] = [Text(sentence, tone="caution") for sentence in self.missing]
        if self.comparisons:
            rows = tuple(map(_comparison_row, self.comparisons))
            parts += [
                Table(amount_words.HEADER, rows, amount_words.TITLE),
                *[Text(amount_words.NOTE, "note")] * any(c.stated for c in self.comparisons),
                *map(Text, self._without_card(), repeat("note")),
            ]
        if self.closures:
            rows = tuple((c.title, c.text, c.E_n_text, c.verdict_text) for c in self.closures)
            parts.append(Table(amount_words.CLOSURES_HEADER, rows, amount_words.CLOSURES_TITLE))
        if self.couplings:
            parts.append(routes_table(self.couplings))
            if any(isinstance(c, Coupling) and c.stated for c in self.couplings.values()):
                parts.append(Text(amount_words.ROUTES_NOTE, "note"))
            parts += [*map(Text, _why(self.couplings), repeat("note"))]
        return tuple(parts)

    def _without_card(self) -> Iterator[str]:
        """By what error statements are refuted where no uncertainty is stated."""
        bounds = [c.bound for c in self.comparisons if not c.stated]
        if bounds:
            yield amount_words.NO_CARD.format(bound=error_text(bounds[0]))


def routes_table(couplings: dict[Route, Coupling | str]) -> Table:
    """M, k and leakages by every route."""
    rows = tuple(_route_row(route, c) for route, c in couplings.items())
    return Table(amount_words.ROUTES_HEADER, rows, amount_words.ROUTES_TITLE)


def _why(couplings: dict[Route, Coupling | str]) -> Iterator[str]:
    """What is to be said about each route that does not resolve k."""
    for route, c in couplings.items():
        if isinstance(c, str) or not (c.resolved or c.status == c.brief):
            status = c if isinstance(c, str) else c.status
            title = route.title[0].upper() + route.title[1:]
            yield amount_words.WHY.format(route=title, status=status)


def _comparison_row(c: Comparison) -> tuple[str, ...]:
    reading = f"{c.connection_title}: {c.observation.text}"
    verdict = c.verdict_text
    if c.stated and (c.shared.monte_carlo or c.independent.monte_carlo):
        verdict += f" ({amount_words.MONTE_CARLO})"
    return reading, c.statement.title, c.predicted_text, c.discrepancy_text, c.E_n_text, verdict


def _route_row(route: Route, c: Coupling | str) -> tuple[str, ...]:
    if isinstance(c, str):
        return (route.title, "", "", "", "", "", "", amount_words.BRIEF["no solution"])
    leakages = (c.leakage_per_winding, c.leakage_differential_mode, c.leakage_short_circuit)
    factors = (c.text(c.coefficient, ""), c.text(c.gap, ""))
    return (route.title, c.text(c.mutual_inductance), *factors, *map(c.text, leakages), c.brief)


def compare(bench: Bench) -> Compared:
    """Every reading against every statement, with uncertainty and a verdict that claims no more."""
    analysis = analyse(bench)
    open_questions = (
        *missing(analysis),
        *no_value(analysis),
        *(f for f in polarity(analysis) if f.kind == "polarity open"),
    )
    sentences = tuple(finding.sentence for finding in open_questions)
    return Compared(analysis.comparisons, analysis.closures, analysis.couplings, sentences)


@dataclass(frozen=True)
class Explanation(Shown):
    """The findings of a record, each with the readings that it rests on."""

    findings: tuple[Finding, ...]

    def parts(self) -> tuple[Part, ...]:
        parts: list[Part] = []
        for tone, heading in amount_words.HEADINGS.items():
            here = [Text(f.sentence, f.tone) for f in self.findings if f.tone == tone]
            parts += [Heading(heading), *here] if here else []
        return tuple(parts)


def explain(bench: Bench) -> Explanation:
    """What the readings say, what they do not, and which reading would."""
    return Explanation(find(analyse(bench)))


def next_reading(bench: Bench, question: str = "cause") -> Shown:
    """The further reading that would say most.

    Parameters
    ----------
    bench : Bench
    question : "cause" (what happened?), or a quantity to narrow: "coupling_coefficient", "mutual_inductance",
        "parallel_aiding" and the other names of `labkit.analysis.joint_fit.QUANTITIES`; anything else is
        refused with the list of them
    """
    advice = next_reading_of(analyse(bench), question)
    return Said(advice) if isinstance(advice, str) else advice


def amounts(bench: Bench) -> Shown:
    """How large each influence with a size would have to be: coupling, leads, capacitance, level, drift …

    Says so if something does not fit, because then the sizes would mean nothing.
    """
    analysis = analyse(bench)
    told = [amount_told(amount, size) for amount, size in sizes(analysis)]
    told += [f.sentence for f in amounts_found(analysis) if f.kind == "amount instead"]
    if coupling := coupling_told(analysis):
        told.insert(0, coupling)
    return Said(*told, amount_words.GAP) if told else Said(amount_words.NOT_YET)


class Said(Shown):
    """Sentences that stand alone."""

    def __init__(self, *sentences: str) -> None:
        self.sentences = sentences

    def parts(self) -> tuple[Part, ...]:
        return tuple(map(Text, self.sentences))


def budget(bench: Bench, connection: Connection | str) -> Shown:
    """The uncertainty budget of a coupled prediction, one row an input.

    While the readings allow none, or one of them has no uncertainty, it is a sentence that says so.
    """
    analysis, wanted = analyse(bench), _connection(connection)
    ruled = next((p.coupled for p in analysis.predictions if p.connection is wanted), None)
    what = labels.CONNECTION[wanted]
    if ruled and ruled.stated:
        return Budget(what, ruled.estimate)
    return Budget(what, None, (amount_words.NO_BUDGET.format(what=what), *_notes(analysis)))


@dataclass(frozen=True)
class Budget(Shown):
    """An uncertainty budget: inputs, sensitivities, contributions, and what shared errors change.

    `estimate` is None while there is none; `notes` then say why.
    """

    what: str
    estimate: Estimate | None
    notes: tuple[str, ...] = ()

    def parts(self) -> tuple[Part, ...]:
        if self.estimate is None:
            return tuple(Text(note, tone="caution") for note in self.notes)
        rows = [
            (
                row.name,
                quantity.display(row.value),
                quantity.display(row.standard_uncertainty, significant_digits=2),
                f"{row.sensitivity:.3g}".replace("-", "−"),
                quantity.display(row.contribution, significant_digits=2),
            )
            for row in self.estimate.budget
        ]
        shared = self.estimate.covariance_part
        root = abs(shared) ** 0.5 * (1 if shared >= 0 else -1)
        u = self.estimate.standard_uncertainty
        if abs(root) > 1e-3 * u:
            sign = quantity.display(root, significant_digits=2)
            rows.append((amount_words.BUDGET_SHARED, "", "", "", sign))
        total = quantity.display(u, significant_digits=2)
        rows.append((amount_words.BUDGET_TOTAL, quantity.display(self.estimate.value, u), "", "", total))
        return (
            Table(amount_words.BUDGET_HEADER, tuple(rows), amount_words.BUDGET_TITLE.format(what=self.what)),
        )


# The record on a terminal: the bench, the comparison, the findings, as plain text.


def summary(bench: Bench) -> str:
    """Readings, predictions, comparison and findings of a bench, findings last so that they stay in view."""
    return "\n\n\n".join(map(str, (bench, predict(bench), compare(bench), explain(bench))))
