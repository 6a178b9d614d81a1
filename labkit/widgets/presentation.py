"""The pages of the presenting view: what each shows, and what on it is covered until somebody asks for it.

A page is plain JSON. What is covered stands in `hidden`, in the order in which it is revealed.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from labkit.analysis.analysis import Analysis, analyse, in_doubt
from labkit.analysis.compare import Comparison, reading_verdict
from labkit.analysis.findings import find
from labkit.analysis.predict import Prediction, Ruled
from labkit.analysis.routes import ALIKE, SINGLES
from labkit.errors import EntryError, LabkitError
from labkit.faces import comparison_chart as chart
from labkit.faces.comparison_chart import Row as ChartRow
from labkit.faces.comparison_chart import rows as chart_rows
from labkit.faces.plot import size_called
from labkit.faces.ring import flux
from labkit.faces.schematic import draw
from labkit.faces.wiring_name import capital
from labkit.record.bench import Bench
from labkit.theory.network import identify
from labkit.theory.wiring import Connection, Wiring
from labkit.widgets.boards import pages as derivation_pages
from labkit.widgets.form_rows import Step, default_plan, plan_of, rows
from labkit.widgets.live import Live, in_place
from labkit.words import analysis as compare_words
from labkit.words import labels
from labkit.words import pictures as figure_words
from labkit.words import widgets as words

Page = dict[str, Any]
SHOWN_OWN = 3  # own predictions of a wiring that are written out
LANES = 8  # of the comparison on one page: more would be too small for the last row
BOTH_WAYS = (Connection.SERIES_AIDING, Connection.SERIES_OPPOSING)


# ---- connections


def connection_pages(bench: Bench, plan: Iterable[Step]) -> Iterator[Page]:
    """One page a planned wiring, then one for each reading in the record that belongs to none."""
    analysis = analyse(bench)
    for row in rows(bench, plan):
        wiring = Wiring.parse(row["notation"])
        known = not row["closed"]
        picture = draw(wiring, analysis.shared.dots, bench.windings, size="projector") if known else None
        connection = _connection(wiring, analysis) if known else None
        standing = [entry for entry in row["entries"] if not entry["withdrawn"]]
        yield {
            "key": f"read-{row['id']}",
            "kind": "connection",
            "short": _short(row["label"], connection),
            "done": bool(standing),
            "title": row["label"],
            "name": labels.CONNECTION[connection] if connection and connection not in SINGLES else "",
            "picture": picture.svg if picture else "",
            "alt": picture.alt if picture else row["closed"],
            "missing": [] if standing else _missing(row),
            "hidden": list(_hidden(analysis, row, connection, standing)),
        }


def _connection(wiring: Wiring, analysis: Analysis) -> Connection | None:
    dots = analysis.shared.dots
    single = {Wiring.parse(f"{n}a {n}b").canonical(2): each for n, each in enumerate(SINGLES, start=1)}
    if analysis.bench.windings != 2:
        return None
    return identify(wiring, dots) if dots else single.get(wiring.canonical(2))


def _short(label: str, connection: Connection | None) -> str:
    if connection in SINGLES:
        return words.PRESENT_SINGLE.format(number=SINGLES.index(connection) + 1)
    return words.SHORT.get(connection or "", label)


def _missing(row: Page) -> list[str]:
    withdrawn = [words.PRESENT_WITHDRAWN.format(**e) for e in row["entries"]]
    how = words.MISSING_HOW.format(spoken=capital(row["spoken"]))
    return [row["closed"]] if row["closed"] else [*withdrawn, words.MISSING.format(id=row["id"]), how]


def _hidden(
    analysis: Analysis, row: Page, connection: Connection | None, standing: list[Page]
) -> Iterator[Page]:
    """The covered things of a page, in the order in which they are revealed."""
    single, wiring = connection in SINGLES, Wiring.parse(row["notation"])
    compared = {
        c.statement.rule: c
        for c in analysis.comparisons
        if {entry["id"] for entry in standing} & {*c.observation.ids}
    }
    if not single:
        yield {"name": "own", "label": words.OWN, **_own(row["predicted"])}
        yield {"name": "rules", "label": words.RULES, **_rules(analysis, connection, compared, wiring)}
    if standing:
        yield {"name": "reading", "label": words.READING, **_reading(analysis.bench, standing)}
        text = words.IS_INPUT if single else _verdict(analysis, connection, compared)
        facts = [*reading_verdict(compared)[1:], *[words.DOUBT] * in_doubt(analysis)]
        shown = {"facts": facts} if reading_verdict(compared) else {}
        yield {"name": "verdict", "label": words.VERDICT, "text": text, **shown}


def _own(predicted: list[Page]) -> Page:
    """What people committed; that nobody did needs no cover."""
    if not predicted:
        return {"text": words.NO_OWN, "open": True}
    told = ", ".join(_by(each) for each in predicted[:SHOWN_OWN])
    more = len(predicted) - SHOWN_OWN
    return {"text": words.MORE.format(shown=told, count=more) if more > 0 else told}


def _by(predicted: Page) -> str:
    notes = ", ".join(predicted["notes"])
    return words.BY.format(shown=predicted["shown"], notes=notes) if notes else str(predicted["shown"])


def _reading(bench: Bench, standing: list[Page]) -> Page:
    """The latest reading of a wiring, what it was read with, and its repeats."""
    *others, last = standing
    times = {event.id: event.utc for event in bench.events}
    entered = words.ENTERED.format(utc=times[last["id"]].replace("T", " ")[:16] + " UTC")
    before = ", ".join(each["shown"] for each in others)
    repeats = [words.REPEATS.format(number=len(standing), others=before)] if others else []
    return {"text": last["shown"], "facts": [last["facts"], entered, *repeats, *last["marks"]]}


def _rules(
    analysis: Analysis, connection: Connection | None, compared: dict[str, Comparison], wiring: Wiring
) -> dict[str, Any]:
    """What the two rules say of a wiring; of one that was read, without the help of its own reading."""
    if analysis.bench.windings != 2:
        return {"text": words.PRESENT_MANY, "open": True}
    either = connection or identify(wiring, ALIKE)  # without coupling both polarities read the same
    known = next((p for p in analysis.predictions if p.connection is either), None)
    uncoupled = _said(compared.get("uncoupled"), known.uncoupled if known else None)
    coupled = _said(compared.get("coupled"), _other_than_itself(known))
    sides = {
        "uncoupled": _side(words.UNCOUPLED, uncoupled, words.NO_SINGLES),
        "coupled": _side(words.COUPLED, coupled, words.NO_ROUTE if connection else words.NEEDS_DOTS),
    }
    said = [f"{side['label']}: {side['text'] or side['gap']}" for side in sides.values()]
    return {"sides": sides, "text": "; ".join(said)}


def _side(label: str, text: str, gap: str) -> Page:
    """One rule's figure, or what it needs."""
    return {"label": label, "text": text, "gap": "" if text else gap}


def _other_than_itself(known: Prediction | None) -> Ruled | None:
    return known.coupled if known and not known.is_input else None


def _said(compared: Comparison | None, ruled: Ruled | None) -> str:
    if compared:
        return compared.predicted_text
    return ruled.text if ruled else ""


def _verdict(analysis: Analysis, connection: Connection | None, compared: dict[str, Comparison]) -> str:
    """What the reading says about the two rules, in one short sentence."""
    if analysis.bench.windings != 2:
        return words.PRESENT_MANY
    if plain := reading_verdict(compared):
        return plain[0]
    if connection is None and not compared:
        return words.PRESENT_DOTS_UNKNOWN
    uncoupled, coupled = map(compared.get, ("uncoupled", "coupled"))
    kinds = [c.verdict.kind if c else "" for c in (uncoupled, coupled)]
    rivals = [rule for rule, c in compared.items() if rule.startswith("only") and c.may_pass]
    if rivals and not kinds[1]:
        kinds[1] = "alone"
    elif rivals and kinds[1] == "consistent":
        kinds[1] = "cannot tell"
    named = words.OR.join(compare_words.STATEMENT[rule] for rule in rivals)
    if sentence := words.VERDICTS.get((kinds[0], kinds[1])):
        said = sentence.format(rivals=named)
        if connection is None and uncoupled and uncoupled.refuted:  # no coupled rule stands beside it
            said = f"{said} {words.SIZE.format(size=uncoupled.size, uncoupled=uncoupled.predicted_text)}"
        return said
    told = [c.verdict_text if c else words.NOT_COMPARED for c in (uncoupled, coupled)]
    return words.VERDICT_ELSE.format(uncoupled=told[0], coupled=told[1])


# ---- pictures


def picture_pages(bench: Bench) -> Iterator[Page]:
    """The comparison, as many pages as it needs at a size for the last row."""
    found = chart_rows(analyse(bench))
    frame = chart.frame_of(found, size_called("projector"))
    mark = figure_words.INVENTED if bench.invented else ""
    parts = _parts(found)
    for number, part in enumerate(parts, start=1):
        svg = chart.draw(part, frame, chart.notes_of(part), mark)
        title = words.COMPARED.format(number=number, total=len(parts))
        yield _picture(f"compare-{number}", title, svg, chart.alt_of(part, frame, mark))


def _parts(found: tuple[ChartRow, ...]) -> list[tuple[ChartRow, ...]]:
    """Rows that fit on one page together; no rows are one page, which says so."""
    parts: list[tuple[ChartRow, ...]] = [()]
    for row in found:
        fits = sum(len(each.lanes) for each in (*parts[-1], row)) <= LANES
        parts = [*parts[:-1], (*parts[-1], row)] if fits or not parts[-1] else [*parts, (row,)]
    return parts


def flux_pages(bench: Bench, plan: Iterable[Step]) -> Iterator[Page]:
    """The flux in the core with both windings in line, one way round and the other."""
    analysis = analyse(bench)
    if bench.windings != 2:
        return
    if analysis.shared.dots is None:
        yield sentence_page("flux", words.FLUX, words.PRESENT_DOTS_UNKNOWN)
        return
    for step in plan:
        connection = identify(step.wiring, analysis.shared.dots)
        if connection in BOTH_WAYS:
            drawn = flux(step.wiring, analysis.shared.dots, "projector")
            title = words.FLUX_TITLE.format(what=labels.CONNECTION[connection])
            yield _picture(f"flux-{step.id}", title, drawn.svg, drawn.alt)


def _picture(key: str, title: str, svg: str, alt: str) -> Page:
    return {"key": key, "kind": "picture", "title": title, "picture": svg, "alt": alt, "hidden": []}


# ---- words


def derivation(bench: Bench, wiring: Wiring) -> Iterator[Page]:
    """A page for each step of the derivation, with the figures of the bench in the last ones."""
    steps = derivation_pages(wiring, analyse(bench).shared.dots, bench.windings, bench)["steps"]
    for number, step in enumerate(steps, start=1):
        yield {
            "key": f"derive-{number}",
            "kind": "step",
            "title": step["title"],
            "above": words.DERIVING.format(wiring=wiring.notation),
            "sentence": step["sentence"],
            "formulas": step["formulas"],
            "hidden": [],
        }


def finding_pages(bench: Bench) -> Iterator[Page]:
    """One page a finding."""
    found = find(analyse(bench))
    for number, finding in enumerate(found, start=1):
        title = words.FINDING.format(number=number, total=len(found))
        page = sentence_page(f"finding-{number}", title, finding.sentence)
        ids = ", ".join(finding.ids)
        yield page | {"tone": finding.tone, "note": words.RESTS_ON.format(ids=ids) if ids else ""}
    if not found:
        yield sentence_page("finding-0", words.FINDINGS, words.NO_FINDINGS)


def sentence_page(key: str, title: str, sentence: str) -> Page:
    """A page that says one sentence."""
    return {"key": key, "kind": "sentence", "title": title, "sentence": sentence, "hidden": []}


# The presenting view without a browser: a bench as a row of stations, each with its pages.
#
# The whole sequence goes to the browser in one piece, the stored record for an emergency too, so that
# paging, revealing and changing to the stored record wait for nothing and work with a dead kernel.

State = dict[str, Any]


class Presentation:
    """The model of the presenting view.

    Parameters
    ----------
    bench : what is presented; a record that is open read-only is always marked as stored
    fallback : a stored record to change to if measuring fails
    plan : rows of (id, wiring, label) as for the entry form; if None, each winding alone, and two also
        in line and side by side, both ways
    derive : the wiring whose derivation is shown

    Raises
    ------
    EntryError, WiringError
        if plan or wiring cannot be read, or the fallback is no bench.
    """

    sentence = words.PRESENT_WITHOUT

    def __init__(
        self,
        bench: Bench,
        fallback: Bench | None = None,
        plan: Iterable[Any] | None = None,
        derive: str | Wiring = "1a 2a | 1b=2b",
    ) -> None:
        if fallback is not None and not isinstance(fallback, Bench):
            raise EntryError(
                f"The fallback is {type(fallback).__name__}, which is no bench; give a stored "
                "one, such as fallback=labkit.demo_bench().",
                str(fallback),
            )
        own = None if plan is None else plan_of(plan)
        wiring = Wiring.parse(derive)
        self._shown = Presented(bench, own, wiring, stored=bench.record.read_only)
        self._fallback = Presented(fallback, own, wiring, stored=True) if fallback else None
        self._prepared = False

    def state(self) -> State:
        """Everything that the script draws; `records` holds the bench and, once prepared, the fallback."""
        records = [self._shown.state(self._prepared)]
        if self._fallback and self._prepared:
            records.append(self._fallback.state(self._prepared))
        return {"texts": words.PRESENT_FACE, "records": records, "has_fallback": self._fallback is not None}

    def handle(self, message: State) -> State | None:
        """`prepare` works out what takes long; `again` sees what was entered since."""
        match message:
            case {"do": "prepare"}:
                self._prepared = True
            case {"do": "again"}:
                grew = self._shown.refresh()
                return {"said": words.GREW} if grew else None
        return None


class Presented:
    """One record as stations and pages, made anew only when it has changed."""

    def __init__(self, bench: Bench, plan: tuple[Step, ...] | None, derive: Wiring, *, stored: bool) -> None:
        self.bench, self._plan, self._derive, self._stored = bench, plan, derive, stored
        self._seen: tuple[object, ...] = ()
        self._made: State = {}

    def refresh(self) -> bool:
        """Read what was added to the record; whether there was anything."""
        before = len(self.bench.events)
        self.bench.record.refresh()
        return len(self.bench.events) != before

    def state(self, whole: bool) -> State:
        """Banner, stations, pages; without `whole` the derivation is announced only."""
        seen = (self.bench.record.digest, len(self.bench.events), whole)
        if seen != self._seen:
            self._seen, self._made = seen, self._head() | self._body(whole)
        return self._made

    def _head(self) -> State:
        bench = self.bench
        title = (bench.part.title if bench.part else None) or bench.part_name
        return {
            "name": title,
            "banner": words.PRESENT_STORED if self._stored else "",
            "mark": words.INVENTED if bench.invented else "",
        }

    def _body(self, whole: bool) -> State:
        stations = list(self._stations(whole))
        numbered = [(n, page) for n, station in enumerate(stations) for page in station.pop("pages")]
        return {"stations": stations, "pages": [page | {"station": n} for n, page in numbered]}

    def _stations(self, whole: bool) -> Iterator[State]:
        bench, plan = self.bench, self.plan
        for page in _guarded("read", words.READINGS, lambda: connection_pages(bench, plan)):
            told = {"label": page.get("short", words.READINGS), "done": page.get("done", False)}
            yield {"key": page["key"], "pages": [page]} | told
        sections: dict[str, tuple[str, Callable[[], Iterable[State]]]] = {
            "compare": (words.COMPARISON, lambda: picture_pages(bench)),
            "flux": (words.FLUX, lambda: flux_pages(bench, plan)),
            "derive": (
                words.PRESENT_DERIVATION,
                lambda: derivation(bench, self._derive) if whole else _working(),
            ),
            "findings": (words.FINDINGS, lambda: finding_pages(bench)),
        }
        for key, (label, made) in sections.items():
            if found := _guarded(key, label, made):
                yield {"key": key, "label": label, "pages": found}

    @property
    def plan(self) -> tuple[Step, ...]:
        """The steps; without a plan of one's own they follow the number of windings."""
        return default_plan(self.bench.windings) if self._plan is None else self._plan


def _guarded(key: str, label: str, made: Callable[[], Iterable[State]]) -> list[State]:
    """The pages of a section; if the record holds what none can be made of, one page that says so."""
    try:
        return list(made())
    except LabkitError as error:
        return [sentence_page(f"{key}-closed", label, str(error))]


def _working() -> list[State]:
    return [sentence_page("derive-1", words.PRESENT_DERIVATION, words.WORKING)]


# The presenting view in JupyterLab.


class Presenting(Live):
    """The presenting view as a widget; where no widget can be shown it is one sentence."""

    model: Presentation

    def __init__(self, model: Presentation) -> None:
        super().__init__(model, "present.js", "present.css")

    def __repr__(self) -> str:
        return self.model.sentence


def present(
    bench: Bench,
    fallback: Bench | None = None,
    plan: Iterable[Any] | None = None,
    derive: str | Wiring = "1a 2a | 1b=2b",
) -> Presenting:
    """The bench in front of a class: pages by keyboard, predictions and readings covered until asked for.

    Readings that are entered in another cell or tab appear by themselves. Nothing that is done here goes into
    the record. The same cell run again closes the view that it made before.

    Parameters
    ----------
    bench : what is presented; a record that is open read-only is marked as stored on every page
    fallback : a stored record for the case that measuring fails, such as `demo_bench()`; one key
        changes to it, and every page then says that it was not measured now
    plan : rows of (id, wiring, label) as for `form`; the usual connections if None
    derive : the wiring whose derivation is shown

    Raises
    ------
    EntryError, WiringError
        if plan or wiring cannot be read, or the fallback is no bench.
    """
    return in_place(Presenting(Presentation(bench, fallback, plan, derive)), str(bench.record.folder))
