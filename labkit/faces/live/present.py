"""The presenting view without a browser: a bench as a row of stations, each with its pages.

The whole sequence goes to the browser in one piece, the stored record for an emergency too, so that paging,
revealing and changing to the stored record wait for nothing and work with a dead kernel.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from labkit.bench.bench import Bench
from labkit.errors import EntryError, LabkitError
from labkit.faces.live import present_pages as pages
from labkit.faces.live.plan import Step, default_plan, plan_of
from labkit.theory.wiring import Wiring
from labkit.words import present as words

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

    sentence = words.WITHOUT

    def __init__(
        self,
        bench: Bench,
        fallback: Bench | None = None,
        plan: Iterable[Any] | None = None,
        derive: str | Wiring = "1a 2a | 1b=2b",
    ) -> None:
        if fallback is not None and not isinstance(fallback, Bench):
            raise EntryError(words.FALLBACK.format(given=type(fallback).__name__), str(fallback))
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
        return {"texts": words.FACE, "records": records, "has_fallback": self._fallback is not None}

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
            "banner": words.STORED if self._stored else "",
            "mark": words.INVENTED if bench.invented else "",
        }

    def _body(self, whole: bool) -> State:
        stations = list(self._stations(whole))
        numbered = [(n, page) for n, station in enumerate(stations) for page in station.pop("pages")]
        return {"stations": stations, "pages": [page | {"station": n} for n, page in numbered]}

    def _stations(self, whole: bool) -> Iterator[State]:
        bench, plan = self.bench, self.plan
        for page in _guarded("read", words.READINGS, lambda: pages.connection_pages(bench, plan)):
            told = {"label": page.get("short", words.READINGS), "done": page.get("done", False)}
            yield {"key": page["key"], "pages": [page]} | told
        sections: dict[str, tuple[str, Callable[[], Iterable[State]]]] = {
            "compare": (words.COMPARISON, lambda: pages.picture_pages(bench)),
            "flux": (words.FLUX, lambda: pages.flux_pages(bench, plan)),
            "derive": (
                words.DERIVATION,
                lambda: pages.derivation(bench, self._derive) if whole else _working(),
            ),
            "findings": (words.FINDINGS, lambda: pages.finding_pages(bench)),
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
        return [pages.sentence_page(f"{key}-closed", label, str(error))]


def _working() -> list[State]:
    return [pages.sentence_page("derive-1", words.DERIVATION, words.WORKING)]
