"""What a characterisation says in plain words: findings, each with its figures and what it rests on."""

import re
from collections.abc import Callable, Iterator

import numpy as np

from labkit.analysis.finding import Figure, Finding
from labkit.arrays import Floats
from labkit.choke.characterisation import Characterisation
from labkit.choke.export import SPOTS, Number, common_and_differential, loss_name, spot_key
from labkit.choke.matrix import Matrix, contradiction, passivity
from labkit.choke.mode_curves import FourPort, Modes, Source
from labkit.choke.resistance import RESOLVED, Resistance, at_marks
from labkit.choke.spectra import Curve, Resonance, TwoRoutes, resonance
from labkit.quantity import display
from labkit.record.sweep_files import CONDITIONS, StoredSweep
from labkit.show import Part, Table, Text
from labkit.sweeps.sweep import hertz
from labkit.theory.insertion import CISPR_17, nominal_network, series_loss
from labkit.theory.modes import Mode
from labkit.words import choke as words

# Whether a mode's impedance in series tells the insertion loss of the whole circuit, and up to where.
#
# A mode's impedance is seen with far ends tied. Capacitance between the windings then lies across the loop;
# in a line it lies from line to line on either side, where it moves the loss near self-resonance and above.

APART = 1.0
"""Difference of the two losses in dB from which the series impedance is no longer to be quoted."""


def series_or_circuit(found: Characterisation) -> Iterator[Finding]:
    """For each mode with a four-port file where the two losses part; without one, that they will."""
    sources = found.modes.sources
    whole = [source for source in sources if source.kind == "four_port"]
    for source in whole:
        four = next(four for four in found.four_ports if four.id == source.common.ids[0])
        yield _compared(found.modes, source, four)
    differential = [source for source in sources if source.mode is Mode.DIFFERENTIAL]
    if differential and not whole:
        ids = dict.fromkeys(id for source in differential for id in source.common.ids)
        yield Finding("series loss alone", words.SERIES_ALONE, {}, tuple(ids))


def _compared(modes: Modes, source: Source, four: FourPort) -> Finding:
    ends = CISPR_17[0]
    f, alone = source.common.frequency, np.asarray(series_loss(source.impedance, ends.source, ends.load))
    circuit = modes.circuit_loss(four, source.mode, ends, source.lines)
    off = np.abs(alone - circuit)
    parts = np.flatnonzero(off > APART)
    facts = {"mode": _mode(source), "id": four.id, "ends": ends.name}
    if not len(parts):
        largest = display(float(off.max()), unit="dB", significant_digits=2)
        sentence = words.SERIES_HOLDS.format(largest=largest, **facts)
        return Finding("series loss holds", sentence, {}, (four.id,))
    worst, first = int(np.argmax(off)), int(parts[0])
    sentence = words.SERIES_PARTS.format(
        limit=f"{APART:g} dB",
        start=hertz(float(f"{f[first]:.3g}")),
        where=hertz(float(f"{f[worst]:.3g}")),
        alone=display(float(alone[worst]), unit="dB", significant_digits=3),
        circuit=display(float(circuit[worst]), unit="dB", significant_digits=3),
        **facts,
    )
    return Finding(
        "series loss parts", sentence, {"from": Figure(float(f[first]), "Hz")}, (four.id,), "caution"
    )


def _mode(source: Source) -> str:
    """The mode, and its lines if there are more than two."""
    if source.lines in (None, (1, 2)):
        return source.mode.value
    return words.OF_LINES.format(mode=source.mode.value, i=source.lines[0], j=source.lines[1])


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
        return words.BELOW_SWEEP.format(low=hertz(float(f[0])))
    return words.NO_RESONANCE.format(high=hertz(float(f[-1])))


def coupling(found: Characterisation) -> Iterator[Finding]:
    """k and how much of 1 - k is resolved, at the lowest frequency."""
    for n in found.scalars:
        if not (n.name.startswith("coupling_coefficient_") and n.name.endswith("_low_frequency")):
            continue
        gap = Number("gap", "", 1 - abs(n.value), n.u, "")
        pair, route = n.name.removesuffix("_low_frequency").split("_from_")
        *_, i, j = pair.split("_")
        facts = {"i": i, "j": j, "route": words.ROUTE[route]}
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
    facts = {"what": words.SPECTRA_LEAKAGE[each.name], "i": i, "j": j, "limit": limit_text(each)}
    ids = each.common.ids
    off = np.abs(each.first.value - each.second.value)[each.counts]
    if each.agree is None:
        largest = float(np.max(off / np.abs(each.first.value[each.counts]), initial=0.0))
        sentence = words.ROUTES_UNSTATED.format(percent=f"{100 * largest:.2g}", **facts)
        return Finding("two routes unstated", sentence, {}, ids)
    worst, where = _worst(each)
    r = each.shorting_resistance
    why = words.WHY_SHORT.format(R=display(r, unit="Ω", significant_digits=2)) if r else ""
    sentence = words.DISAGREE.format(
        bad=int(np.sum(np.abs(each.E_n[each.counts]) > 1)) if each.E_n is not None else 0,
        count=int(each.counts.sum()),
        worst=f"{worst:.2g}",
        where=hertz(round_hertz(where)),
        why=why or words.WHY_OTHER,
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
    at = str(m.frequency) if m.frequency else words.NO_FREQUENCY
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
        yield Finding("note on curves", words.DOTS_BY_SWEEPS.format(i=1, j=2), {}, ())
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


# Tables of a characterisation.

ELSEWHERE = re.compile(r"self_(resonance|capacitance)_|.*_next_to_")
"""Names of numbers that stand in a table of their own."""


def swept(found: Characterisation) -> Table:
    """Every sweep of the record: wiring, set-up, frequencies, accuracy."""
    return Table(words.SWEEPS_HEADER, tuple(map(_swept, found.bench.sweeps)), words.SWEEPS_TITLE)


def _swept(stored: StoredSweep) -> tuple[str, ...]:
    hooked = stored.wiring.notation if stored.wiring else " ".join(stored.ports or ())
    model = stored.event.fixture_model
    taken = words.CORRECTION.format(model=model) if model else words.NO_CORRECTION
    f = stored.measured().frequency
    ends = (hertz(round_hertz(float(end))) for end in (f[0], f[-1]))
    accuracy = stored.accuracy or words.NOT_NOTED
    return (stored.id, hooked, stored.setup, taken, str(len(f)), *ends, accuracy, str(stored.line))


def conditions(found: Characterisation) -> Table:
    """What was noted of each sweep, every gap in view."""
    rows = tuple(_conditions(stored) for stored in found.bench.sweeps)
    return Table(words.CONDITIONS_HEADER, rows, words.CONDITIONS_TITLE)


def _conditions(stored: StoredSweep) -> tuple[str, ...]:
    noted = (stored.conditions[name] or words.NOT_NOTED for name in CONDITIONS)
    return (stored.id, *noted, stored.file, stored.sha256[:12])


def key_figures(found: Characterisation) -> Table:
    """Every number but those that have a table of their own."""
    rows = tuple(
        (
            n.what,
            shown(n),
            hertz(round_hertz(n.frequency)) if n.frequency else "",
            ", ".join(n.ids),
        )
        for n in found.scalars
        if not ELSEWHERE.match(n.name)
    )
    return Table(words.KEY_HEADER, rows, words.KEY_TITLE)


def spots(found: Characterisation) -> Table | None:
    """|Z| in both modes and insertion loss at the swept frequencies next to a few others; None without."""
    known = {n.name: n for n in found.scalars}
    rows, near = [], []
    for spot in SPOTS:
        names = [
            *(f"{mode}_impedance_magnitude_next_to_{spot_key(spot)}" for mode in _MODES),
            *(
                loss_name(prefix, termination, spot)
                for mode, prefix in zip(Mode, _MODES, strict=True)
                for termination in (CISPR_17[0], nominal_network(mode))
            ),
        ]
        present = [known[name] for name in names if name in known]
        if present:
            cells = [shown(known[name]) if name in known else "" for name in names]
            near.append(hertz(spot))
            rows.append((hertz(round_hertz(present[0].frequency or 0.0)), *cells))
    title = words.SPOT_TITLE.format(spots=", ".join(near))
    return Table(words.SPOT_HEADER, tuple(rows), title) if rows else None


_MODES = ("common_mode", "differential_mode_1_2")


def two_routes(found: Characterisation) -> tuple[Part, ...]:
    """Each leakage by both routes, with what the words mean; nothing without two routes."""
    rows = tuple(map(_two_routes, found.spectra.leakages))
    table = Table(words.LEAKAGE_HEADER, rows, words.LEAKAGE_TITLE)
    return (table, Text(words.LEAKAGE_NOTE, "note")) if rows else ()


def _two_routes(each: TwoRoutes) -> tuple[str, ...]:
    i, j = each.windings
    near, far = (i, j) if each.shorted else (j, i)
    counts = each.counts
    worst = agree = ""
    if each.E_n is not None and counts.any():
        worst = f"{np.abs(each.E_n[counts]).max():.2f}"
        good = int(np.sum(np.abs(each.E_n[counts]) <= 1))
        agree = words.OF.format(good=good, count=int(counts.sum()), limit=limit_text(each))
    up_to = hertz(round_hertz(each.agreed_up_to)) if each.agreed_up_to else ""
    pair = words.SHORTED.format(near=near, far=far)
    what = words.SPECTRA_LEAKAGE[each.name]
    return pair, what, lowest(each.first), lowest(each.second), worst, agree, up_to


def lowest(curve: Curve) -> str:
    """A curve's value at its lowest frequency."""
    return at(curve, 0)


def at(curve: Curve, place: int) -> str:
    """A curve's value at one of its frequencies, rounded to its uncertainty."""
    u = None if curve.u is None else float(curve.u[place])
    return display(float(curve.value[place]), u, curve.unit)


def resonances(found: Characterisation) -> tuple[Part, ...]:
    """Self-resonance and effective self-capacitance of every sweep; nothing without sweeps."""
    rows = tuple((found.spectra.called(each.sweep), *_resonance(each)) for each in found.spectra.resonances)
    table = Table(words.RESONANCE_HEADER, rows, words.RESONANCE_TITLE)
    return (table, Text(words.RESONANCE_NOTE, "note")) if rows else ()


def _resonance(each: Resonance) -> tuple[str, ...]:
    if each.bracket is None:
        return resonance_text(each), "", "", ""
    low, high = (hertz(round_hertz(end)) for end in each.bracket)
    C = "" if each.capacitance is None else display(each.capacitance, each.u_capacitance, "F")
    return (
        resonance_text(each),
        words.RESONANCE.format(low=low, high=high),
        C,
        display(each.inductance, each.u_inductance),
    )


def resistance(found: Characterisation) -> tuple[Part, ...]:
    """Where winding resistance rules: corner, verdicts, weights near the corner; or what is missing."""
    parts = tuple(part for each in found.resistance for part in _ruled(each))
    return parts or (Text(words.NEEDS),)


def _ruled(each: Resistance) -> Iterator[Part]:
    i, j = each.windings
    f, z = each.measured.frequency, each.common.Z[2]
    R = float(z[0].real)
    B = R / (2 * np.pi * each.corner)
    facts = {"R": display(R, unit="Ω"), "B": display(B), "corner": hertz(round_hertz(each.corner))}
    yield Text(words.RESISTANCE_MEETS_LEAKAGE.format(i=i, j=j, **facts), "strong")
    term = np.asarray(each.lossy.value - each.lossless.value)[0]
    percent = f"{100 * term / each.measured.value[0]:.2g}"
    yield Text(words.SIZE.format(term=display(float(term), significant_digits=2), percent=percent))
    near = f <= 30 * each.corner
    lossless, lossy = each.E_n_lossless, each.E_n_lossy
    if lossless is None or lossy is None:
        yield Text(words.RESISTANCE_UNSTATED)
    else:
        yield Text(_fits(lossy[near]))
        yield Text(_refuted(each, np.abs(lossless[near])))
    rows = tuple(_at_mark(each, mark, place) for mark, place in at_marks(each))
    u = each.weight.u
    if rows and (u is None or min(u[place] for _, place in at_marks(each)) < RESOLVED):
        yield Table(words.HEADER, rows, words.RESISTANCE_TITLE)


def _fits(E_n: Floats) -> str:
    inside = np.abs(E_n)
    facts = {"good": int(np.sum(inside <= 1)), "count": len(inside), "worst": f"{inside.max():.2g}"}
    return words.RESISTANCE_HOLDS.format(**facts)


def _refuted(each: Resistance, inside: Floats) -> str:
    bad = int(np.sum(inside > 1))
    if not bad:
        return words.NOT_REFUTED
    where = hertz(round_hertz(float(each.measured.frequency[int(np.argmax(inside))])))
    facts = {"bad": bad, "count": len(inside), "worst": f"{inside.max():.2g}", "where": where}
    if each.lossless_from is None:
        return words.REFUTED_ALL.format(**facts)
    return words.REFUTED.format(start=hertz(round_hertz(each.lossless_from)), **facts)


def _at_mark(each: Resistance, mark: float, place: int) -> tuple[str, ...]:
    curves = (each.measured, each.lossless, each.lossy, each.weight)
    f = hertz(round_hertz(float(each.measured.frequency[place])))
    return (f"{mark:g}", f, *(at(curve, place) for curve in curves), f"{each.expected[place]:.3f}")
