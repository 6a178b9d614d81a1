"""A characterisation as a result that shows itself, and as a report in one file."""

import base64
import gzip
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from labkit.analysis.analysis import analyse
from labkit.analysis.characterise import fitted, tables
from labkit.analysis.characterise.characterisation import Characterisation, characterisation_of
from labkit.analysis.characterise.choke_fit import ChokeFit
from labkit.analysis.characterise.matrix_results import InductanceMatrix
from labkit.analysis.characterise.numbers import Numbers
from labkit.analysis.characterise.sayings import say
from labkit.analysis.finding import Finding
from labkit.bench.bench import Bench
from labkit.errors import EntryError
from labkit.faces import plot, sections
from labkit.faces.entries import conditions, entries
from labkit.faces.report import Report, fill, written
from labkit.faces.schematic import draw
from labkit.faces.spectra_charts import CHARTS
from labkit.show import Part, Picture, Shown, Table, Text
from labkit.words import cautions as caution_words
from labkit.words import characterise as characterise_words
from labkit.words import characterised as words
from labkit.words import figures as figure_words
from labkit.words import findings as finding_words
from labkit.words import report as report_words

TEMPLATE = "characterisation.html.jinja"
LARGE = 1_000_000
"""Bytes above which a file is packed inside the page."""
KINDS = {".json": "application/json", ".csv": "text/csv"}
OURS = ("# ", "{", "* ")
"""How the files of numbers and the netlist begin."""


class Parts(Shown):
    """Tables and sentences on one subject."""

    def __init__(self, parts: Iterable[Part | None]) -> None:
        self.kept = tuple(part for part in parts if part is not None)

    def parts(self) -> tuple[Part, ...]:
        return self.kept


@dataclass(frozen=True, eq=False)
class Characterised(Shown):
    """What a bench's readings and sweeps say about a choke; `found` holds the numbers."""

    found: Characterisation

    @property
    def findings(self) -> tuple[Finding, ...]:
        """In plain words, with what each rests on."""
        return say(self.found)

    @property
    def numbers(self) -> Numbers:
        """All numbers, ready to be written and cited."""
        return self.found.numbers

    @property
    def conditions(self) -> Shown:
        """What was swept and under which conditions, every gap in view."""
        return Parts((tables.swept(self.found), tables.conditions(self.found)))

    @property
    def matrix(self) -> Shown:
        """The inductance matrix from readings, or the sentence that says what is missing."""
        found = self.found.matrix
        if found is None:
            return Parts((Text(words.NO_MATRIX.format(reason=self.found.no_matrix), "caution"),))
        return InductanceMatrix(found)

    @property
    def leakage(self) -> Shown:
        """Every leakage by two routes."""
        return Parts((*tables.two_routes(self.found), self._drawn("disagreement")))

    @property
    def resonances(self) -> Shown:
        """Self-resonance and self-capacitance of every sweep."""
        return Parts(tables.resonances(self.found))

    @property
    def modes(self) -> Shown:
        """Common and differential mode: how they are tied, and what is seen then."""
        tyings = (part for caption, drawing in self.tyings() for part in (drawing, Text(caption, "note")))
        return Parts((*tyings, self._drawn("modes"), tables.spots(self.found)))

    @property
    def losses(self) -> Shown:
        """Insertion loss of the choke alone."""
        return Parts((self._drawn("common_loss"), self._drawn("differential_loss")))

    @property
    def resistance(self) -> Shown:
        """Where winding resistance rules instead of leakage, or what is missing to see it."""
        return Parts((*tables.resistance(self.found), self._drawn("resistance")))

    @property
    def models(self) -> Shown:
        """Models compared on every sweep, and one choke for all."""
        parts: list[Part] = []
        for each in self.choices:
            parts += [fitted.model_table(each), *(Text(s, "note") for s in self._said(each))]
        if self.choke:
            parts.append(fitted.choke_table(self.choke))
            parts += [Text(s, "note") for s in (fitted.choke_sentence(self.choke), *self.choke.remarks)]
        return Parts(parts or (Text(words.NO_MODELS),))

    def _said(self, each: fitted.SweepChoice) -> tuple[str, ...]:
        return fitted.model_sentences(each, self.found.spectra, self.choke)

    @property
    def netlist(self) -> str:
        """The fitted choke as a SPICE subcircuit; empty if none can be fitted."""
        return fitted.choke_netlist(self.choke, self.numbers.cite) if self.choke else ""

    @property
    def choices(self) -> tuple[fitted.SweepChoice, ...]:
        """The comparison of models on every sweep."""
        return self.found.choices

    @property
    def choke(self) -> ChokeFit | None:
        """One choke fitted to all sweeps, None if they do not allow one."""
        return self.found.choke

    def picture(self, name: str, size: str = "page") -> Picture:
        """One of the charts of `CHARTS`: sweeps, modes, phases, windings, leakage, routes, disagreement, …

        `size` is `page`, or `projector` for letters that can be read from the last row. While the sweeps that
        it needs are missing it is the sentence that says so.

        Raises
        ------
        EntryError
            for another name or size; the sentence gives those that there are.
        """
        measures = plot.size_called(size)
        if name not in CHARTS:
            raise EntryError(words.NO_CHART.format(given=name, known=", ".join(CHARTS)), name)
        drawn = CHARTS[name](self.found, size)
        if drawn is None:
            why = words.NOTHING_TO_DRAW.format(given=name)
            mark = figure_words.INVENTED if self.found.bench.invented else ""
            return Picture(plot.blank(why, mark, measures), why)
        return drawn

    def _drawn(self, name: str) -> Picture | None:
        return CHARTS[name](self.found)

    def tyings(self) -> Iterator[tuple[str, Picture]]:
        """Clips and ties of each mode, drawn, with a caption."""
        for mode, lines in self.found.modes.wanted if self.found.dots else ():
            wiring = self.found.modes.wiring(mode, lines)
            spoken = wiring.spoken.removeprefix("clips on ")
            facts = {"mode": mode.value, "wiring": wiring.notation, "spoken": spoken}
            drawing = draw(wiring, dots=self.found.dots, windings=self.found.windings)
            yield words.TYING.format(**facts), drawing

    def files(self) -> dict[str, str]:
        """The files of numbers by name: two CSV, one JSON, and the netlist if there is one."""
        n = self.numbers
        found = {"numbers.csv": n.csv, "spectra.csv": n.spectra_csv, "numbers.json": n.json}
        return found | ({"choke.cir": self.netlist} if self.netlist else {})

    def save(self, folder: str | Path) -> Shown:
        """Write the files of numbers into a folder; earlier ones are replaced, any other file is left alone.

        Raises
        ------
        EntryError
            if the folder is not there or holds another file of that name; nothing is written.
        """
        place = Path(folder)
        for name in self.files():
            _require_ours(place / name)
        for name, content in self.files().items():
            (place / name).write_text(content, encoding="utf-8", newline="\n")
        return Parts(Text(words.KEPT.format(file=place / name)) for name in self.files())

    def parts(self) -> tuple[Part, ...]:
        """The findings, and what the choke does at a few frequencies."""
        said: list[Part] = []
        for _, group in grouped(self.findings):
            said += [Text(finding.sentence, finding.tone) for finding in group]
        spots = tables.spots(self.found)
        return (*said, *((spots,) if spots else ()))


def _require_ours(path: Path) -> None:
    if not path.parent.is_dir():
        raise EntryError(report_words.NO_FOLDER.format(file=path, folder=path.parent), str(path))
    if path.exists() and not path.read_text(encoding="utf-8", errors="replace").startswith(OURS):
        raise EntryError(words.FOREIGN.format(file=path), str(path))


def grouped(found: Iterable[Finding]) -> tuple[tuple[str, tuple[Finding, ...]], ...]:
    """Findings under the headings of every report: what carries the result, what to check, the rest."""
    kept = tuple(found)
    groups = (
        (heading, tuple(f for f in kept if f.tone == tone))
        for tone, heading in finding_words.HEADINGS.items()
    )
    return tuple((heading, group) for heading, group in groups if group)


def characterise(bench: Bench) -> Characterised:
    """What a bench's readings and sweeps say about a choke, from matrix to insertion loss, with every band.

    Parameters
    ----------
    bench : Bench

    Returns
    -------
    Characterised: shows its findings; its parts are `matrix`, `leakage`, `modes`, `losses`, `resonances`,
    `models`, `conditions`, `picture(name)`, `numbers`, `netlist`, `save(folder)`.
    """
    return Characterised(characterisation_of(bench))


def characterisation_report(bench: Bench, file: str | Path | None = None) -> Report:
    """The characterisation of a choke as one HTML file that needs nothing else, all numbers inside.

    Parameters
    ----------
    bench : Bench
    file : where to; its folder must be there. An earlier report is replaced, any other file is left alone.

    Raises
    ------
    EntryError
        with one sentence, if the file cannot be written; an earlier report is then still whole.
    """
    return written(lambda: fill(TEMPLATE, _content(bench)), file)


@dataclass(frozen=True)
class Download:
    """A file inside the page."""

    file: str
    href: str
    what: str

    @classmethod
    def of(cls, part: str, name: str, content: str) -> "Download":
        """A file of numbers as a link that holds it; a large one is packed, the same bytes each time."""
        kind, data, packed = KINDS.get(Path(name).suffix, "text/plain"), content.encode(), ""
        if len(data) > LARGE:
            kind, data, packed = "application/gzip", gzip.compress(data, mtime=0), ".gz"
        held = base64.b64encode(data).decode()
        return cls(f"{part}-{name}{packed}", f"data:{kind};charset=utf-8;base64,{held}", words.FILES[name])


def _content(bench: Bench) -> Mapping[str, Any]:
    """Everything that the template lays out, by the names it uses."""
    result, analysis = characterise(bench), analyse(bench)
    found = result.found
    drawn = ((name, chart(found)) for name, chart in CHARTS.items())
    return {
        "own": words,
        "NOT_NOTED": characterise_words.NOT_NOTED,
        "name": bench.part_name or report_words.NO_NAME,
        "title": (bench.part.title if bench.part else None) or bench.part_name or report_words.NO_NAME,
        "invented": bench.invented,
        "demo": sections.is_demo(bench),
        "problems": bench.record.problems,
        "contents": CONTENTS,
        "findings": grouped(result.findings),
        "pictures": {name: picture for name, picture in drawn if picture},
        "tyings": tuple(result.tyings()),
        "spots": tables.spots(found),
        "two_routes": tables.two_routes(found),
        "matrix": result.matrix.parts() if found.matrix else (),
        "no_matrix": words.NO_MATRIX.format(reason=found.no_matrix),
        "resonances": tables.resonances(found),
        "resistance": tables.resistance(found),
        "models": [(fitted.model_table(each), result._said(each)) for each in result.choices],
        "choke": _choke(result),
        "part_facts": sections.part_facts(analysis),
        "conditions": conditions(bench, entries(bench)),
        "swept": tables.swept(found),
        "noted": tables.conditions(found),
        "read": _read(bench),
        "cards": sections.card_tables(bench),
        "key_figures": tables.key_figures(found),
        "downloads": [Download.of(bench.part_name, *item) for item in result.files().items()],
        "cite": result.numbers.cite,
        "provenance": sections.provenance(bench, analysis),
        "anchor": _anchors(bench),
    }


def _choke(result: Characterised) -> Mapping[str, Any] | None:
    if result.choke is None:
        return None
    sentences = (fitted.choke_sentence(result.choke), *result.choke.remarks)
    return {"table": fitted.choke_table(result.choke), "sentences": sentences}


def _read(bench: Bench) -> Table:
    rows = tuple(
        (r.id, r.wiring.notation, str(r.shown), str(r.frequency or ""), r.meter or "", _lines(r.lines))
        for r in bench.readings
    )
    return Table(words.READ_HEADER, rows, words.READ_TITLE)


def _lines(lines: Iterable[int]) -> str:
    return ", ".join(map(str, lines))


def _anchors(bench: Bench) -> Any:
    swept = {stored.id for stored in bench.sweeps}
    return lambda id: f"sweep-{id}" if id in swept else f"reading-{id}"


CONTENTS = (
    ("findings", report_words.FINDINGS),
    ("modes", words.SECTION_MODES),
    ("loss", words.SECTION_LOSS),
    ("leakage", words.SECTION_LEAKAGE),
    ("matrix", words.SECTION_MATRIX),
    ("windings", words.SECTION_WINDINGS),
    ("resistance", words.SECTION_RESISTANCE),
    ("models", words.SECTION_MODELS),
    ("conditions", report_words.CONDITIONS),
    ("numbers", words.SECTION_NUMBERS),
    ("cite", words.SECTION_CITE),
    ("cautions", caution_words.TITLE),
)
"""Anchor and heading of each section, in reading order."""
