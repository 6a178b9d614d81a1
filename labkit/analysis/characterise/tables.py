"""Tables of a characterisation."""

import re
from collections.abc import Iterator

import numpy as np

from labkit.analysis.characterise.characterisation import Characterisation
from labkit.analysis.characterise.leakage import TwoRoutes
from labkit.analysis.characterise.resistance import RESOLVED, Resistance, at_marks
from labkit.analysis.characterise.sayings import limit_text, resonance_text, round_hertz, shown
from labkit.analysis.characterise.scalars import SPOTS, loss_name, spot_key
from labkit.analysis.characterise.spectra import Curve, Floats, Resonance
from labkit.bench.stored_sweep import CONDITIONS, StoredSweep
from labkit.quantity import display
from labkit.show import Part, Table, Text
from labkit.sweeps.sweep import hertz
from labkit.theory.insertion import CISPR_17, nominal_network
from labkit.theory.modes import Mode
from labkit.words import characterise as words
from labkit.words import resistance as resistance_words
from labkit.words import spectra as spectra_words

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
    what = spectra_words.LEAKAGE[each.name]
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
    table = Table(spectra_words.RESONANCE_HEADER, rows, spectra_words.RESONANCE_TITLE)
    return (table, Text(spectra_words.RESONANCE_NOTE, "note")) if rows else ()


def _resonance(each: Resonance) -> tuple[str, ...]:
    if each.bracket is None:
        return resonance_text(each), "", "", ""
    low, high = (hertz(round_hertz(end)) for end in each.bracket)
    C = "" if each.capacitance is None else display(each.capacitance, each.u_capacitance, "F")
    return (
        resonance_text(each),
        spectra_words.RESONANCE.format(low=low, high=high),
        C,
        display(each.inductance, each.u_inductance),
    )


def resistance(found: Characterisation) -> tuple[Part, ...]:
    """Where winding resistance rules: corner, verdicts, weights near the corner; or what is missing."""
    parts = tuple(part for each in found.resistance for part in _ruled(each))
    return parts or (Text(resistance_words.NEEDS),)


def _ruled(each: Resistance) -> Iterator[Part]:
    i, j = each.windings
    f, z = each.measured.frequency, each.common.Z[2]
    R = float(z[0].real)
    B = R / (2 * np.pi * each.corner)
    facts = {"R": display(R, unit="Ω"), "B": display(B), "corner": hertz(round_hertz(each.corner))}
    yield Text(resistance_words.CORNER.format(i=i, j=j, **facts), "strong")
    term = np.asarray(each.lossy.value - each.lossless.value)[0]
    percent = f"{100 * term / each.measured.value[0]:.2g}"
    yield Text(resistance_words.SIZE.format(term=display(float(term), significant_digits=2), percent=percent))
    near = f <= 30 * each.corner
    lossless, lossy = each.E_n_lossless, each.E_n_lossy
    if lossless is None or lossy is None:
        yield Text(resistance_words.UNSTATED)
    else:
        yield Text(_fits(lossy[near]))
        yield Text(_refuted(each, np.abs(lossless[near])))
    rows = tuple(_at_mark(each, mark, place) for mark, place in at_marks(each))
    u = each.weight.u
    if rows and (u is None or min(u[place] for _, place in at_marks(each)) < RESOLVED):
        yield Table(resistance_words.HEADER, rows, resistance_words.TITLE)


def _fits(E_n: Floats) -> str:
    inside = np.abs(E_n)
    facts = {"good": int(np.sum(inside <= 1)), "count": len(inside), "worst": f"{inside.max():.2g}"}
    return resistance_words.HOLDS.format(**facts)


def _refuted(each: Resistance, inside: Floats) -> str:
    bad = int(np.sum(inside > 1))
    if not bad:
        return resistance_words.NOT_REFUTED
    where = hertz(round_hertz(float(each.measured.frequency[int(np.argmax(inside))])))
    facts = {"bad": bad, "count": len(inside), "worst": f"{inside.max():.2g}", "where": where}
    if each.lossless_from is None:
        return resistance_words.REFUTED_ALL.format(**facts)
    return resistance_words.REFUTED.format(start=hertz(round_hertz(each.lossless_from)), **facts)


def _at_mark(each: Resistance, mark: float, place: int) -> tuple[str, ...]:
    curves = (each.measured, each.lossless, each.lossy, each.weight)
    f = hertz(round_hertz(float(each.measured.frequency[place])))
    return (f"{mark:g}", f, *(at(curve, place) for curve in curves), f"{each.expected[place]:.3f}")
