"""Charts of a characterisation: modes, leakage by two routes, coupling, insertion loss, mixed modes."""

from collections.abc import Iterator, Sequence

import numpy as np

from labkit.analysis.characterise.characterisation import Characterisation
from labkit.analysis.characterise.leakage import LEAKAGES
from labkit.analysis.characterise.modes import Source
from labkit.analysis.characterise.resistance import RESOLVED, at_marks
from labkit.analysis.characterise.spectra import Curve as Spectrum
from labkit.analysis.characterise.spectra import resonance
from labkit.analysis.characterise.swept import key_of
from labkit.faces import style
from labkit.faces.curve import Curve, Line, Scale
from labkit.faces.curves import chart
from labkit.show import Picture
from labkit.theory.modes import Mode
from labkit.words import characterised as words
from labkit.words import resistance as resistance_words

EDGE = 3.0  # of E_n, beyond which only its sign is worth drawing


def pictures(found: Characterisation) -> Iterator[tuple[str, Picture]]:
    """Every chart that the sweeps allow, each under a short name."""
    for name, draw in CHARTS.items():
        picture = draw(found)
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
        swept = _curve(resistance_words.SWEPT, _up_to(each.weight, top))
        if swept is None:
            continue
        theory = Curve(resistance_words.THEORY, swept.frequency, each.expected[: len(swept.frequency)])
        lines = [
            Line(part * each.corner, label)
            for part, label in ((0.1, _TENTH), (1.0, _ONE), (10.0, _TEN))
            if swept.frequency[0] <= part * each.corner <= swept.frequency[-1]
        ]
        return _chart(
            found,
            size,
            resistance_words.TITLE,
            Scale(resistance_words.AXIS, "", "linear"),
            [swept, theory],
            lines,
            (resistance_words.NOTE.format(i=each.windings[0], j=each.windings[1]),),
        )
    return None


_TENTH, _ONE, _TEN = resistance_words.LINE_TENTH, resistance_words.LINE, resistance_words.LINE_TEN


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
