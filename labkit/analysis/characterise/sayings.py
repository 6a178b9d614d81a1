"""What a characterisation says in plain words: findings, each with its figures and what it rests on."""

from collections.abc import Callable, Iterator

import numpy as np

from labkit.analysis.characterise.characterisation import Characterisation
from labkit.analysis.characterise.leakage import TwoRoutes
from labkit.analysis.characterise.matrix import Matrix
from labkit.analysis.characterise.matrix_results import contradiction, passivity
from labkit.analysis.characterise.modes import Source
from labkit.analysis.characterise.numbers import Number
from labkit.analysis.characterise.scalars import common_and_differential
from labkit.analysis.characterise.series_loss import series_or_circuit
from labkit.analysis.characterise.spectra import Resonance, resonance
from labkit.analysis.finding import Figure, Finding
from labkit.quantity import display
from labkit.sweeps.sweep import hertz
from labkit.theory.modes import Mode
from labkit.words import characterise as words
from labkit.words import matrix as matrix_words
from labkit.words import spectra as spectra_words

TENTH = 0.1
"""Neglected terms above this part of a standard uncertainty are told (JCGM 100:2008, 5.1.2, note)."""
Sayer = Callable[[Characterisation], Iterator[Finding]]


def say(found: Characterisation) -> tuple[Finding, ...]:
    """Everything that may be said, in reading order."""
    return tuple(finding for sayer in SAYERS for finding in sayer(found))


def shown(number: Number) -> str:
    """A number rounded to its uncertainty, with its unit."""
    return display(number.value, number.u, number.unit)


def _figure(number: Number) -> Figure:
    return Figure(number.value, number.unit, number.u)


def nothing_swept(found: Characterisation) -> Iterator[Finding]:
    """What is missing altogether, and sweeps that could not be used."""
    if not found.bench.sweeps:
        yield Finding("no sweeps", words.NO_SWEEPS, {}, (), "caution")
    for problem in found.problems:
        yield Finding("sweep left out", problem, {}, (), "caution")


def common_mode(found: Characterisation) -> Iterator[Finding]:
    """What the choke is in common mode."""
    source, _ = common_and_differential(found.modes)
    if source is None:
        yield from _no_mode(found, Mode.COMMON)
        return
    L = found.number("common_mode_inductance_low_frequency")
    peak = found.number("common_mode_largest_impedance_magnitude")
    facts = {"L": shown(L), "low": _at(L), "peak": shown(peak), "where": _at(peak)}
    sentence = words.FOUND_COMMON.format(
        wiring=found.modes.wiring(Mode.COMMON, None), resonance=_and_resonance(source), **facts
    )
    yield Finding("common mode", sentence, {"L": _figure(L), "peak": _figure(peak)}, L.ids, "strong")


def differential_mode(found: Characterisation) -> Iterator[Finding]:
    """What the choke is in differential mode, for each two lines."""
    for mode, lines in found.modes.wanted[1:] if found.dots else ():
        source = found.modes.best(mode, lines)
        if source is None or lines is None:
            yield from _no_mode(found, mode, lines)
            continue
        prefix = source.prefix
        L, R = (found.number(f"{prefix}_{name}_low_frequency") for name in ("inductance", "resistance"))
        corner = next(
            (n for n in found.scalars if n.name == f"winding_resistance_corner_{lines[0]}_{lines[1]}"), None
        )
        sentence = words.FOUND_DIFFERENTIAL.format(
            wiring=found.modes.wiring(mode, lines),
            L=shown(L),
            low=_at(L),
            R=shown(R),
            corner=shown(corner) if corner else words.CORNER_UNKNOWN,
            resonance=_and_resonance(source),
        )
        yield Finding("differential mode", sentence, {"L": _figure(L), "R": _figure(R)}, L.ids, "strong")


def _no_mode(found: Characterisation, mode: Mode, lines: tuple[int, int] | None = None) -> Iterator[Finding]:
    if not found.bench.sweeps or found.windings < 2:
        return
    if not found.dots:
        yield Finding("no dots", words.NO_MODE_DOTS, {}, (), "caution")
        return
    wiring = found.modes.wiring(mode, lines)
    yield Finding("no mode", words.NO_MODE.format(mode=mode.value, wiring=wiring), {}, (), "caution")


def _and_resonance(source: Source) -> str:
    """The self-resonance of a mode that was swept as tied, as the end of a sentence; empty without one."""
    if source.kind != "measured":
        return ""
    at = resonance(source.common.sweeps[0])
    return words.AND_RESONANCE.format(f=resonance_text(at)) if at.frequency else ""


def resonance_text(found: Resonance) -> str:
    """A self-resonance with its uncertainty, or what can be said instead."""
    f = found.sweep.impedance.frequency
    if found.frequency is not None:
        return display(found.frequency, found.u, "Hz")
    if found.starts_capacitive:
        return spectra_words.BELOW_SWEEP.format(low=hertz(float(f[0])))
    return spectra_words.NO_RESONANCE.format(high=hertz(float(f[-1])))


def coupling(found: Characterisation) -> Iterator[Finding]:
    """k and how much of 1 - k is resolved, at the lowest frequency."""
    for n in found.scalars:
        if not (n.name.startswith("coupling_coefficient_") and n.name.endswith("_low_frequency")):
            continue
        gap = Number("gap", "", 1 - abs(n.value), n.u, "")
        pair, route = n.name.removesuffix("_low_frequency").split("_from_")
        *_, i, j = pair.split("_")
        facts = {"i": i, "j": j, "route": spectra_words.ROUTE[route]}
        sentence = words.FOUND_COUPLING.format(k=shown(n), low=_at(n), gap=shown(gap), **facts)
        bias = _neglected(found, n)
        if n.u and bias > TENTH * n.u:
            size = display(bias, unit="", significant_digits=2)
            sentence = f"{sentence} {words.NEGLECTED.format(bias=size)}"
        yield Finding("coupling", sentence, {"k": _figure(n), "gap": _figure(gap)}, n.ids)


def _neglected(found: Characterisation, k: Number) -> float:
    """What the square of the error of L1 - L2 takes from 1 - k on average: u²(d)/(8 m²).

    With limits a1, a2 of the two singles it is (a1² + a2²)/24.
    """
    limits = {sweep.id: sweep.accuracy or 0.0 for sweep in found.spectra.sweeps}
    return sum(limits[id] ** 2 for id in k.ids[:2]) / 24


def leakage(found: Characterisation) -> Iterator[Finding]:
    """Whether two routes to the leakage agree; where they do not, by how much and what would do it."""
    every = found.spectra.leakages
    if not every and found.spectra.pairs:
        yield Finding("one route", words.NO_TWO_ROUTES, {}, (), "caution")
    for key in dict.fromkeys((each.windings, each.shorted) for each in every):
        group = [each for each in every if (each.windings, each.shorted) == key]
        if all(each.agree for each in group):
            yield _all_agree(group)
            continue
        yield from (_not_agreed(each) for each in group if not each.agree)


def _all_agree(group: list[TwoRoutes]) -> Finding:
    (B,) = (each for each in group if each.name == "leakage_differential_mode")
    first = B.first
    worst = max(_worst(each)[0] for each in group)
    value, u = float(first.value[0]), None if first.u is None else float(first.u[0])
    i, j = B.windings
    sentence = words.LEAKAGES_AGREE.format(
        i=i,
        j=j,
        near=i if B.shorted else j,
        far=j if B.shorted else i,
        limit=limit_text(B),
        worst=f"{worst:.2f}",
        B=display(value, u),
        low=hertz(float(first.frequency[0])),
        up_to=hertz(round_hertz(B.agreed_up_to or 0.0)),
    )
    figures = {"leakage_differential_mode": Figure(value, "H", u)}
    return Finding("two routes agree", sentence, figures, B.common.ids, "strong")


def _not_agreed(each: TwoRoutes) -> Finding:
    i, j = each.windings
    facts = {"what": spectra_words.LEAKAGE[each.name], "i": i, "j": j, "limit": limit_text(each)}
    ids = each.common.ids
    off = np.abs(each.first.value - each.second.value)[each.counts]
    if each.agree is None:
        largest = float(np.max(off / np.abs(each.first.value[each.counts]), initial=0.0))
        sentence = spectra_words.ROUTES_UNSTATED.format(percent=f"{100 * largest:.2g}", **facts)
        return Finding("two routes unstated", sentence, {}, ids)
    worst, where = _worst(each)
    r = each.shorting_resistance
    why = spectra_words.WHY_SHORT.format(R=display(r, unit="Ω", significant_digits=2)) if r else ""
    sentence = spectra_words.DISAGREE.format(
        bad=int(np.sum(np.abs(each.E_n[each.counts]) > 1)) if each.E_n is not None else 0,
        count=int(each.counts.sum()),
        worst=f"{worst:.2g}",
        where=hertz(round_hertz(where)),
        why=why or spectra_words.WHY_OTHER,
        **facts,
    )
    figures = {"shorting_resistance": Figure(r, "Ω")} if r else {}
    return Finding("two routes disagree", sentence, figures, ids, "caution")


def _worst(each: TwoRoutes) -> tuple[float, float]:
    """Largest |E_n| up to the limit, and where."""
    if each.E_n is None or not each.counts.any():
        return 0.0, 0.0
    E_n = np.abs(each.E_n[each.counts])
    place = int(np.argmax(E_n))
    return float(E_n[place]), float(each.first.frequency[each.counts][place])


def limit_text(each: TwoRoutes) -> str:
    """Up to where the verdict is about, rounded as a frequency that was computed."""
    return hertz(round_hertz(min(each.limit, float(each.first.frequency[-1]))))


def round_hertz(frequency: float) -> float:
    """Three significant digits.

    >>> round_hertz(45471.84)
    45500.0
    """
    return float(f"{frequency:.3g}")


def mode_closure(found: Characterisation) -> Iterator[Finding]:
    """Common mode as swept against common mode as computed."""
    closure = found.modes.closure
    if closure is None:
        return
    measured, computed, f, E_n = closure
    every = [resonance(s).frequency for s in (*measured.common.sweeps, *computed.common.sweeps)]
    limit = min((at / 10 for at in every if at), default=float(f[-1]))
    below = f <= limit
    if E_n is None or not below.any():
        return
    inside = np.abs(E_n[below])
    agrees = bool(np.mean(inside <= 1) >= 0.95)
    sentence = words.CLOSURE.format(
        ids=", ".join(computed.common.ids),
        verdict=words.AGREES if agrees else words.DISAGREES,
        good=int(np.sum(inside <= 1)),
        count=len(inside),
        limit=hertz(round_hertz(limit)),
        worst=f"{inside.max():.2g}",
    )
    ids = (*measured.common.ids, *computed.common.ids)
    yield Finding("common-mode closure", sentence, {}, ids, "plain" if agrees else "caution")


def four_ports(found: Characterisation) -> Iterator[Finding]:
    """Passivity and reciprocity of the four-port files."""
    for four in found.four_ports:
        gain, off = four.passivity, four.reciprocity
        at = hertz(round_hertz(gain.frequency))
        amount = display(gain.amount, unit="", significant_digits=2)
        said = words.PASSIVE if four.passive else words.NOT_PASSIVE
        sentence = said.format(id=four.id, amount=amount, frequency=at)
        figures = {"passivity_excess": Figure(gain.amount, "")}
        yield Finding("passivity", sentence, figures, (four.id,), "plain" if four.passive else "caution")
        amount = display(off.amount, unit="", significant_digits=2)
        at = hertz(round_hertz(off.frequency))
        sentence = words.RECIPROCAL.format(id=four.id, amount=amount, frequency=at)
        yield Finding("reciprocity", sentence, {"reciprocity_error": Figure(off.amount, "")}, (four.id,))


def readings(found: Characterisation) -> Iterator[Finding]:
    """Passivity of the matrix, from readings or else from sweeps, and its common-mode inductance."""
    m = found.matrix
    if m is None:
        return
    if m.contradictory:
        ids = tuple(id for o in m.observations for id in o.ids)
        yield Finding("matrix contradicted", contradiction(m), {}, ids, "caution")
        return
    yield from _matrix_common_mode(found, m)
    if m.positive_semidefinite is not True:
        ids = tuple(id for o in m.observations for id in o.ids)
        yield Finding("matrix not passive", passivity(m), {}, ids, "caution")


def _matrix_common_mode(found: Characterisation, m: Matrix) -> Iterator[Finding]:
    if m.common_mode is None:
        return
    number = found.number(f"common_mode_inductance_from_{m.basis}")
    at = str(m.frequency) if m.frequency else matrix_words.NO_FREQUENCY
    facts = {"basis": m.basis, "frequency": at, "what": words.COMMON_MODE_NAME, "value": shown(number)}
    sentence = words.FROM_READINGS.format(**facts)
    yield Finding("common mode from readings", sentence, {"L": _figure(number)}, number.ids)


def gaps(found: Characterisation) -> Iterator[Finding]:
    """What nobody noted of the sweeps: one finding for each set of gaps."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for stored in found.bench.sweeps:
        names = (*stored.gaps, *["accuracy"] * (stored.accuracy is None))
        if names:
            groups.setdefault(names, []).append(stored.id)
    for names, ids in groups.items():
        what = ", ".join(words.GAP_NAMES[name] for name in names)
        yield Finding(
            "conditions not noted",
            words.GAPS.format(ids=", ".join(ids), what=what),
            {},
            tuple(ids),
            "caution",
        )


def notes(found: Characterisation) -> Iterator[Finding]:
    """What does not fit among the sweeps, and what a careful reader should know about the curves."""
    for sentence in found.spectra.cautions:
        yield Finding("dots contradicted", sentence, {}, (), "caution")
    if found.told_by_sweeps:
        yield Finding("note on curves", spectra_words.DOTS_BY_SWEEPS.format(i=1, j=2), {}, ())
    for sentence in found.spectra.sentences if found.spectra.sweeps else ():
        yield Finding("note on curves", sentence, {}, ())


def _at(number: Number) -> str:
    return hertz(round_hertz(number.frequency or 0.0))


SAYERS: tuple[Sayer, ...] = (
    nothing_swept,
    common_mode,
    differential_mode,
    leakage,
    coupling,
    readings,
    mode_closure,
    four_ports,
    series_or_circuit,
    gaps,
    notes,
)
