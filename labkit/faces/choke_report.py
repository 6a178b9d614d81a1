"""A characterisation as a result that shows itself, and as a report in one file."""

import base64
import gzip
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from labkit.analysis.analysis import analyse
from labkit.analysis.finding import Finding
from labkit.choke import choke_fit as fitted
from labkit.choke import findings as tables
from labkit.choke.characterisation import Characterisation, characterisation_of
from labkit.choke.choke_fit import ChokeFit
from labkit.choke.export import Numbers
from labkit.choke.findings import say
from labkit.choke.matrix import InductanceMatrix
from labkit.choke.mode_curves import Source
from labkit.choke.resistance import RESOLVED, at_marks
from labkit.choke.spectra import LEAKAGES, resonance
from labkit.choke.spectra import Curve as Spectrum
from labkit.choke.swept import key_of
from labkit.errors import EntryError
from labkit.faces import plot as style
from labkit.faces import report as sections
from labkit.faces.curves import Curve, Line, Scale, chart
from labkit.faces.entries import conditions, entries
from labkit.faces.report import Report, fill, written
from labkit.faces.schematic import draw
from labkit.record.bench import Bench
from labkit.show import Part, Picture, Shown, Table, Text
from labkit.theory.modes import Mode
from labkit.words import analysis as finding_words
from labkit.words import choke as words
from labkit.words import pictures as figure_words
from labkit.words import record as caution_words
from labkit.words import report as report_words

# Charts of a characterisation: modes, leakage by two routes, coupling, insertion loss, mixed modes.

EDGE = 3.0  # of E_n, beyond which only its sign is worth drawing


def pictures(found: Characterisation) -> Iterator[tuple[str, Picture]]:
    """Every chart that the sweeps allow, each under a short name."""
    for name, drawn_by in CHARTS.items():
        picture = drawn_by(found)
        if picture is not None:
            yield name, picture


def _curve(label: str, spectrum: Spectrum) -> Curve | None:
    """A curve with its band; None if nothing is left of it."""
    if not len(spectrum.frequency):
        return None
    band = spectrum.band
    low, high = (None, None) if band is None else band
    return Curve(label, spectrum.frequency, spectrum.value, low, high)


def _chart(
    found: Characterisation,
    size: str,
    title: str,
    scale: Scale,
    given: Sequence[Curve | None],
    lines: list[Line] | None = None,
    notes: tuple[str, ...] = (),
) -> Picture | None:
    curves = [curve for curve in given if curve is not None]
    if not curves:
        return None
    said = words.BAND
    return chart(
        title,
        scale,
        curves,
        lines=lines or (),
        notes=notes,
        band=said,
        invented=found.bench.invented,
        size=size,
    )


def _sources(found: Characterisation) -> list[Source]:
    """The sources to be believed first, and four-port files beside them."""
    every = found.modes.sources
    best = [found.modes.best(*wanted) for wanted in found.modes.wanted] if every else []
    return [s for s in every if s in best or s.kind == "four_port"]


def _label(found: Characterisation, source: Source) -> str:
    mode = words.SHORT_MODE[source.mode.value]
    lines = f" {source.lines[0]}–{source.lines[1]}" if source.lines and found.windings > 2 else ""
    return f"{mode}{lines}, {words.KIND[source.kind]}"


def _resonances(found: Characterisation) -> list[Line]:
    lines = []
    for wanted in found.modes.wanted[:2] if found.dots else ():
        source = found.modes.best(*wanted)
        if source and source.kind == "measured":
            at = resonance(source.common.sweeps[0]).frequency
            if at:
                mode = words.SHORT_MODE[source.mode.value]
                lines.append(Line(at, words.SELF_RESONANCE.format(mode=mode)))
    return lines


def sweeps(found: Characterisation, size: str = "page") -> Picture | None:
    """|Z| of every sweep of impedance, as swept."""
    curves = [
        _curve(found.spectra.called(sweep), found.spectra.curve(f"impedance_magnitude_{key_of(sweep.id)}"))
        for sweep in found.spectra.sweeps
    ]
    return _chart(found, size, words.SWEEPS, Scale(words.MAGNITUDE, "Ω"), curves)


def modes(found: Characterisation, size: str = "page") -> Picture | None:
    """|Z| in both modes."""
    curves = [_curve(_label(found, s), next(iter(s.curves()))) for s in _sources(found)]
    scale = Scale(words.MAGNITUDE, "Ω")
    return _chart(found, size, words.MODES, scale, curves, _resonances(found))


def phases(found: Characterisation, size: str = "page") -> Picture | None:
    """Phase in both modes, of the sources to be believed first."""
    best = [s for s in _sources(found) if s.kind != "four_port"] or _sources(found)
    curves = [_curve(_label(found, s), list(s.curves())[1]) for s in best]
    return _chart(found, size, words.PHASES, Scale(words.PHASE, "°", "linear"), curves, _resonances(found))


def windings(found: Characterisation, size: str = "page") -> Picture | None:
    """Series inductance of each winding and of common mode."""
    known = [
        (words.WINDING.format(n=n), found.spectra.curve(f"self_inductance_{n}"))
        for n in sorted(found.spectra.singles)
    ]
    common = found.modes.best(Mode.COMMON) if found.dots else None
    if common:
        known.append((_label(found, common), list(common.curves())[2]))
    curves = [_curve(label, _while_above(spectrum)) for label, spectrum in known]
    return _chart(found, size, words.WINDINGS, Scale(words.INDUCTANCE, "H"), curves)


def equivalents(found: Characterisation, size: str = "page") -> Picture | None:
    """Series and parallel equivalent inductance of the first winding, below its first resonance."""
    known = {curve.name: curve for curve in found.spectra.curves}
    curves = [
        _curve(label, _up_to(known[name], _top(found) / 3))
        for name, label in (("self_inductance_1", words.SERIES), ("parallel_inductance_1", words.PARALLEL))
        if name in known
    ]
    notes = (words.EQUIVALENTS_NOTE,)
    return _chart(found, size, words.EQUIVALENTS, Scale(words.EQUIVALENT, "H"), curves, notes=notes)


def resistance(found: Characterisation, size: str = "page") -> Picture | None:
    """How much of the mismatch term shows, as swept and as theory says; only where the sweep resolves it."""
    for each in found.resistance:
        marks = [place for _, place in at_marks(each)]
        u = each.weight.u
        if u is not None and not (marks and min(u[marks]) < RESOLVED):
            continue
        top = min(100 * each.corner, _top(found) / 3)
        swept = _curve(words.SWEPT, _up_to(each.weight, top))
        if swept is None:
            continue
        theory = Curve(words.THEORY, swept.frequency, each.expected[: len(swept.frequency)])
        lines = [
            Line(part * each.corner, label)
            for part, label in ((0.1, _TENTH), (1.0, _ONE), (10.0, _TEN))
            if swept.frequency[0] <= part * each.corner <= swept.frequency[-1]
        ]
        return _chart(
            found,
            size,
            words.RESISTANCE_TITLE,
            Scale(words.AXIS, "", "linear"),
            [swept, theory],
            lines,
            (words.NOTE.format(i=each.windings[0], j=each.windings[1]),),
        )
    return None


_TENTH, _ONE, _TEN = words.LINE_TENTH, words.LINE, words.LINE_TEN


def leakage(found: Characterisation, size: str = "page") -> Picture | None:
    """The three leakages of each two windings, by the route that resolves them best."""
    curves = []
    for i, j in found.spectra.pairs:
        for name in LEAKAGES[:3]:
            known = [c for c in found.spectra.curves if c.name == f"{name}_{i}_{j}_from_series_opposing"]
            what = words.SHORT_LEAKAGE[name]
            label = words.PAIR.format(i=i, j=j, what=what) if found.windings > 2 else what
            curves += [_curve(label, _up_to(curve, _top(found))) for curve in known]
    kept = curves if found.windings == 2 else [c for c in curves if c and "B =" in c.label]
    return _chart(found, size, words.LEAKAGE, Scale(words.INDUCTANCE, "H"), kept)


def _top(found: Characterisation) -> float:
    """The lowest self-resonance of any sweep, in Hz; infinite without one."""
    return min((r.frequency for r in found.spectra.resonances if r.frequency), default=float("inf"))


def routes(found: Characterisation, size: str = "page") -> Picture | None:
    """B of the first two windings by every route that there is, up to where a route stops telling it."""
    curves: list[Curve | None] = []
    lines: list[Line] = []
    for each in found.spectra.leakages:
        if each.name == "leakage_differential_mode":
            both = (each.first, each.second) if not curves else (each.second,)
            curves += [
                _curve(words.SHORT_ROUTE[c.name.split("_from_")[1]], _up_to(c, _top(found))) for c in both
            ]
            lines = [Line(each.limit, words.LIMIT)] if np.isfinite(each.limit) else []
    return _chart(found, size, words.ROUTES, Scale(words.INDUCTANCE, "H", "linear"), curves, lines)


def _while_above(spectrum: Spectrum) -> Spectrum:
    """A curve up to where it is first zero, negative or not there: below its first resonance."""
    ends = spectrum.frequency[~(spectrum.value > 0)]
    return _up_to(spectrum, float(ends[0]) * (1 - 1e-9) if len(ends) else np.inf)


def _up_to(spectrum: Spectrum, limit: float) -> Spectrum:
    keep = spectrum.frequency <= limit
    u = None if spectrum.u is None else spectrum.u[keep]
    f, value = spectrum.frequency[keep], spectrum.value[keep]
    return Spectrum(spectrum.name, spectrum.unit, spectrum.what, f, value, u, spectrum.ids)


def disagreement(found: Characterisation, size: str = "page") -> Picture | None:
    """E_n of B and of the loop's resistance against frequency."""
    curves, lines = [], []
    for each in found.spectra.leakages:
        if each.E_n is not None and each.name in ("leakage_differential_mode", "loop_resistance"):
            route = words.SHORT_ROUTE[each.second.name.split("_from_")[1]]
            label = f"{words.SHORT_LEAKAGE[each.name].split(' =')[0]}, {route}"
            curves.append(Curve(label, each.first.frequency, np.clip(each.E_n, -EDGE, EDGE)))
            lines = [Line(each.limit, words.LIMIT)] if np.isfinite(each.limit) else []
    if curves:
        ends = np.array([curves[0].frequency[0], curves[0].frequency[-1]])
        look = style.Stroke(style.MUTED, 1.6, (4.0, 4.0))
        curves += [Curve(label, ends, np.full(2, at), look=look) for at, label in ((1.0, "+1"), (-1.0, "−1"))]
    notes = (words.DISAGREEMENT_NOTE.format(limit=EDGE),)
    return _chart(found, size, words.DISAGREEMENT, Scale(words.E_N, "", "linear"), curves, lines, notes)


def coupling(found: Characterisation, size: str = "page") -> Picture | None:
    """1 - k by every route; what exceeds 1 has no place and is counted."""
    curves = []
    for spectrum in found.spectra.curves:
        if spectrum.name.startswith("coupling_coefficient_"):
            pair, route = spectrum.name.removeprefix("coupling_coefficient_").split("_from_")
            if route == "series_aiding":
                continue
            label = words.SHORT_ROUTE[route]
            if found.windings > 2:
                label = words.PAIR.format(i=pair[0], j=pair[-1], what=label)
            kept = _up_to(spectrum, _top(found))
            low, high = (None, None) if kept.band is None else (1 - kept.band[1], 1 - kept.band[0])
            if len(kept.frequency):
                curves.append(Curve(label, kept.frequency, 1 - kept.value, low, high))
    return _chart(found, size, words.COUPLING, Scale(words.GAP, ""), curves[:6])


def _losses(mode: Mode, found: Characterisation, size: str) -> Picture | None:
    source = found.modes.best(mode, None if mode is Mode.COMMON else (1, 2)) if found.dots else None
    if source is None:
        return None
    known = list(source.losses())
    wanted = [pair for pair in known if pair[0].source <= pair[0].load]  # type: ignore[operator]
    curves = [_curve(termination.name, spectrum) for termination, spectrum in wanted]
    for spectrum in found.modes.curves:
        if spectrum.name.startswith(f"{source.prefix}_insertion_loss_50_50_four_port"):
            curves.append(_curve(f"50 Ω / 50 Ω, {words.KIND['four_port']}", spectrum))
    lines = [Line(150e3, "150 kHz")]
    title = words.LOSSES.format(mode=mode.value)
    return _chart(found, size, title, Scale(words.LOSS, "dB", "linear"), curves, lines, (words.LOSS_NOTE,))


def common_loss(found: Characterisation, size: str = "page") -> Picture | None:
    """Insertion loss in common mode."""
    return _losses(Mode.COMMON, found, size)


def differential_loss(found: Characterisation, size: str = "page") -> Picture | None:
    """Insertion loss in differential mode."""
    return _losses(Mode.DIFFERENTIAL, found, size)


def mixed(found: Characterisation, size: str = "page") -> Picture | None:
    """Mixed-mode parameters of the first four-port."""
    curves = [
        _curve(spectrum.name.removeprefix("mixed_mode_").split("_")[0], spectrum)
        for spectrum in found.modes.curves
        if spectrum.name.startswith("mixed_mode_") and spectrum.ids == (found.four_ports[0].id,)
    ]
    title = words.MIXED.format(id=found.four_ports[0].id) if curves else ""
    return _chart(found, size, title, Scale(words.LEVEL, "dB", "linear"), curves)


CHARTS = {
    "sweeps": sweeps,
    "modes": modes,
    "phases": phases,
    "windings": windings,
    "equivalents": equivalents,
    "resistance": resistance,
    "leakage": leakage,
    "routes": routes,
    "disagreement": disagreement,
    "coupling": coupling,
    "common_loss": common_loss,
    "differential_loss": differential_loss,
    "mixed": mixed,
}
"""Every chart, in the order of the report."""

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
        measures = style.size_called(size)
        if name not in CHARTS:
            raise EntryError(words.NO_CHART.format(given=name, known=", ".join(CHARTS)), name)
        drawn = CHARTS[name](self.found, size)
        if drawn is None:
            why = words.NOTHING_TO_DRAW.format(given=name)
            mark = figure_words.INVENTED if self.found.bench.invented else ""
            return Picture(style.blank(why, mark, measures), why)
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
    if path.exists() and not path.read_text(encoding="utf-8", errors="replace").lstrip('"').startswith(OURS):
        raise EntryError(
            f"{path} is there already and is no file of a characterisation; give another "
            "folder or move it away.",
            str(path),
        )


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
        "NOT_NOTED": words.NOT_NOTED,
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
    ("cautions", caution_words.CAUTIONS_TITLE),
)
"""Anchor and heading of each section, in reading order."""
