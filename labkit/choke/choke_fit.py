"""One choke for several sweeps: common mode, differential mode, and single windings if they are at hand.

Each sweep is the impedance at the clips of one wiring of the same two windings; all are fitted together by
the forward model of `labkit.theory.choke`, whose slopes are exact. Without sweeps of the single windings the
two are taken as equal, which common and differential mode alone can hardly contradict; the remarks say so.

Parameters, fitted as logarithms: R, leakage and C of each winding, turns of winding 2, core, relaxation, and
the capacitance between the windings.

Symbols: P parameters · F frequencies of all sweeps together · u relative standard uncertainty of Z.
"""

import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from labkit import __version__
from labkit.arrays import Complexes, Floats
from labkit.choke.choose_model import (
    Choice,
    choose,
    fit_model,
    lumped,
    relative_uncertainty,
    scatter,
    thinned,
)
from labkit.choke.export import Number
from labkit.choke.mode_curves import Modes
from labkit.choke.modelfit import (
    Evaluate,
    LogFit,
    ModelFit,
    Solution,
    bands_above,
    bands_in_words,
    climb,
    covariance_of,
    shifts,
)
from labkit.choke.spectra import Swept
from labkit.choke.swept import Spectra, key_of
from labkit.errors import EntryError, MissingReading
from labkit.quantity import display
from labkit.show import Table
from labkit.sweeps.sweep import Impedance
from labkit.theory.choke import Choke
from labkit.theory.models import CORE, SELF_CAPACITANCE
from labkit.theory.modes import Mode, capacitances
from labkit.theory.wiring import terminals
from labkit.words import fitting as words

COMMON_MODE, DIFFERENTIAL_MODE = "1a 1b | 1a=2a 1b=2b", "1a 2a | 1b=2b"
SINGLE = ("1a 1b", "2a 2b")
"""Wirings of a choke whose dots are on equally named ends."""

_SYMBOLS = ("R", "leakage", "core", "turns", "relaxation", "C", "between")
_UNITS = {"R": "Ω", "leakage": "H", "core": "H", "turns": "", "relaxation": "Hz", "C": "F", "between": "F"}
_ENOUGH = 1.3
Place = tuple[str, tuple[int, ...]]
"""A parameter: its name, and the windings (or pairs of them) that share it."""

EQUAL: tuple[Place, ...] = (
    ("R", (0, 1)),
    ("leakage", (0, 1)),
    ("core", (0,)),
    ("relaxation", (0,)),
    ("C", (0, 1)),
    ("between", (0,)),
)
UNEQUAL: tuple[Place, ...] = (
    ("R", (0,)),
    ("R", (1,)),
    ("leakage", (0,)),
    ("leakage", (1,)),
    ("core", (0,)),
    ("turns", (1,)),
    ("relaxation", (0,)),
    ("C", (0,)),
    ("C", (1,)),
    ("between", (0,)),
)


@dataclass(frozen=True, eq=False)
class ChokeFit(LogFit):
    """The choke that fits all sweeps best.

    Attributes
    ----------
    choke : with the fitted values
    symbols : (P,) names of the parameters, such as "leakage1"; without a number if both windings share it
    parameters : (P,) in SI units
    sweeps : by wiring
    stated : whether an accuracy was stated for every sweep
    log_covariance, log_shared : (P, P) as for `ModelFit`
    residuals : by wiring, complex, (Z - Z_model)/|Z| over u
    degrees_of_freedom : real numbers minus parameters
    converged : whether the climb ended in a minimum
    equal : whether both windings were taken as equal
    """

    choke: Choke
    symbols: tuple[str, ...]
    parameters: Floats
    sweeps: Mapping[str, Impedance]
    stated: bool
    noise: float | None
    log_covariance: Floats
    log_shared: Floats
    residuals: Mapping[str, Complexes]
    degrees_of_freedom: int
    converged: bool
    equal: bool

    def names(self) -> tuple[str, ...]:
        """The parameters' symbols."""
        return self.symbols

    @property
    def squares(self) -> float:
        """Sum of |residual|² over all sweeps."""
        return sum(float(np.vdot(r, r).real) for r in self.residuals.values())

    @cached_property
    def misfits(self) -> Mapping[str, tuple[tuple[float, float], ...]]:
        """By wiring, the bands (Hz, Hz) in which the choke fails; empty without a stated accuracy."""
        found = {
            wiring: bands_above(self.sweeps[wiring].frequency, np.abs(r) ** 2)
            for wiring, r in self.residuals.items()
        }
        return {wiring: bands for wiring, bands in found.items() if bands} if self.stated else {}

    @cached_property
    def remarks(self) -> tuple[str, ...]:
        """What must be said beside the parameters, in sentences."""
        said = [words.TAKEN_EQUAL] if self.equal else []
        if self.noise is not None:
            said.append(words.ESTIMATED.format(percent=100 * self.noise))
        if not self.converged:
            said.append(words.NOT_CONVERGED)
        if self.describes is False:
            bands = "; ".join(f"{wiring} {bands_in_words(b)}" for wiring, b in self.misfits.items())
            said.append(words.CHOKE_NOT_DESCRIBED.format(reduced=self.reduced_chi_squared, bands=bands))
        advice = ((symbol, words.ADVICE[symbol.rstrip("12")]) for symbol in self.unidentified)
        return (*said, *(words.NOT_TOLD.format(symbol=symbol, advice=each) for symbol, each in advice))


def fit_choke(
    cm: Impedance,
    dm: Impedance,
    singles: tuple[Impedance, Impedance] | None = None,
    uncertainty: npt.ArrayLike | None = None,
) -> ChokeFit:
    """The choke of two windings that fits its sweeps in common and in differential mode.

    Parameters
    ----------
    cm : both windings side by side, dots together
    dm : out through one winding and back through the other: clips on the dotted ends, the others tied
    singles : each winding alone with the other one open; with these the windings may differ
    uncertainty : relative standard uncertainty of Z, one for all sweeps; None if no accuracy is stated

    Raises
    ------
    EntryError, MissingReading
        as for `fit_model`.

    Notes
    -----
    Ends are named so that the dots are on ends a: wirings `COMMON_MODE`, `DIFFERENTIAL_MODE` and `SINGLE`.
    """
    sweeps = {COMMON_MODE: cm, DIFFERENTIAL_MODE: dm}
    if singles is not None:
        sweeps |= dict(zip(SINGLE, singles, strict=True))
    return _fitted(sweeps, _starts(cm, dm, singles, uncertainty), uncertainty, equal=singles is None)


def fit_sweeps(
    sweeps: Mapping[str, Impedance],
    start: Choke,
    uncertainty: npt.ArrayLike | None = None,
    *,
    equal: bool = False,
) -> ChokeFit:
    """The choke of two windings that fits sweeps of any wirings, from a choke to start from.

    Parameters
    ----------
    sweeps : impedance by wiring, in the notation of `labkit.theory.wiring`
    start : two windings; every value that is to be fitted above zero
    uncertainty : relative standard uncertainty of Z, one number; None if no accuracy is stated
    equal : take both windings as equal
    """
    return _fitted(sweeps, [start], uncertainty, equal=equal)


def _fitted(
    sweeps: Mapping[str, Impedance], starts: Iterable[Choke], uncertainty: npt.ArrayLike | None, equal: bool
) -> ChokeFit:
    """From the first start that leads to a good fit of few frequencies, else from the best one."""
    places, stated = EQUAL if equal else UNEQUAL, uncertainty is not None
    numbers = 2 * sum(map(len, sweeps.values()))
    if numbers < 2 * len(places):
        raise MissingReading(
            f"The sweeps have {numbers // 2} frequencies together; at least {len(places)} "
            "are needed for the choke's parameters."
        )
    u = float(relative_uncertainty(uncertainty, 1)[0])
    few = {wiring: thinned(sweep) for wiring, sweep in sweeps.items()}
    enough = _ENOUGH * (1.0 if stated else max(map(scatter, sweeps.values())) ** 2)
    best: Solution | None = None
    for start in starts:
        near = climb(_evaluate(few, places, u, _by_logarithms), np.log(_values(start, places)), tolerance=0.1)
        found = climb(_evaluate(few, places, u, _relative), near.x, tolerance=0.1)
        if best is None or found.squares < best.squares:
            best = found
        if best.squares < enough * best.degrees_of_freedom:
            break
    assert best is not None
    found = climb(_evaluate(sweeps, places, u, _relative), best.x, rounds=100)
    if found.squares > enough * found.degrees_of_freedom:  # a resonance between the few frequencies, perhaps
        near = climb(_evaluate(sweeps, places, u, _by_logarithms), best.x, rounds=100)
        again = climb(_evaluate(sweeps, places, u, _relative), near.x, rounds=100)
        found = min(found, again, key=lambda each: each.squares)
    return _as_fit(sweeps, places, found, u, stated, equal)


def _starts(
    cm: Impedance,
    dm: Impedance,
    singles: tuple[Impedance, Impedance] | None,
    uncertainty: npt.ArrayLike | None,
) -> Iterator[Choke]:
    """From models of both modes; turns, and another core, from the single windings.

    The resonance in differential mode may be sharp, so its capacitance is kept and shared out. What the core
    adds to that loop for unequal turns is not known, so the leakage is tried as all of it, or as parts.
    """
    R_loop, L_loop, C_loop = fit_model(SELF_CAPACITANCE, dm, uncertainty).parameters
    slopes = [lumped(single)[1] for single in singles or (cm, cm)]
    turns = math.sqrt(slopes[1] / slopes[0])
    for sweep, windings in ((cm, 2), *(((singles[0], 1),) if singles else ())):
        R, air, core, f_r, C = fit_model(CORE, sweep, uncertainty).parameters
        between = max(2 * C_loop - C / windings, 0.02 * C_loop)
        C_each = 2 * C_loop - between
        R_each = R_loop / 2 if 1e-3 < R_loop / (2 * windings * R) < 1e3 else windings * R
        known = max(L_loop - core * (1 - turns) ** 2, 0.2 * L_loop)
        for loop in (known, L_loop, 0.3 * L_loop, 0.05 * L_loop):
            for whole in (core, air + core):
                values = [R_each] * 2, [loop / 2] * 2, whole, [1, turns], f_r, [C_each] * 2, [between]
                yield Choke(*values)


def _values(choke: Choke, places: tuple[Place, ...]) -> Floats:
    return np.array([np.atleast_1d(getattr(choke, name))[windings[0]] for name, windings in places])


def _choke(p: Floats, places: tuple[Place, ...]) -> Choke:
    """The choke with these parameters; what is no parameter is 1 for turns."""
    values = {name: np.ones(1 if name in {"core", "relaxation", "between"} else 2) for name in _SYMBOLS}
    for value, (name, windings) in zip(p, places, strict=True):
        values[name][list(windings)] = value
    core, relaxation = float(values["core"][0]), float(values["relaxation"][0])
    lists = (values[name] for name in ("C", "between"))
    return Choke(values["R"], values["leakage"], core, values["turns"], relaxation, *lists)


Residual = Callable[[Complexes, Complexes], tuple[Complexes, Complexes]]
"""From Z and Z_model to the residual, and to what slopes of Z_model are multiplied by, both for u = 1."""


def _relative(Z: Complexes, model: Complexes) -> tuple[Complexes, Complexes]:
    weight = 1 / np.abs(Z)
    return (Z - model) * weight, weight.astype(np.complex128)


def _by_logarithms(Z: Complexes, model: Complexes) -> tuple[Complexes, Complexes]:
    """ln(Z/Z_model), which a sharp resonance in the wrong place cannot make as large as a relative error."""
    return np.log(Z / model), 1 / model


def _evaluate(
    sweeps: Mapping[str, Impedance], places: tuple[Place, ...], u: float, residual: Residual
) -> Evaluate:
    def evaluate(x: Floats) -> tuple[Complexes, Complexes]:
        p = np.exp(x)
        choke = _choke(p, places)
        residuals, slopes = [], []
        for wiring, sweep in sweeps.items():
            Z, of_choke = choke.with_slopes(wiring, sweep.frequency)
            off, weight = residual(sweep.Z, Z)
            residuals.append(off / u)
            columns = [of_choke[name][:, list(windings)].sum(axis=1) for name, windings in places]
            slopes.append(np.stack(columns, axis=1) * (weight / u)[:, None] * p)
        return np.concatenate(residuals), np.asfortranarray(np.concatenate(slopes))

    return evaluate


def _as_fit(
    sweeps: Mapping[str, Impedance],
    places: tuple[Place, ...],
    found: Solution,
    u: float,
    stated: bool,
    equal: bool,
) -> ChokeFit:
    noise = 1.0 if stated else math.sqrt(found.squares / found.degrees_of_freedom)
    covariance = covariance_of(found.slopes)
    along = np.concatenate([sweep.Z / np.abs(sweep.Z) for sweep in sweeps.values()])
    common = shifts(found.slopes, covariance, np.stack([along, 1j * along]))
    ends = np.cumsum([len(sweep) for sweep in sweeps.values()])[:-1]
    p = np.exp(found.x)
    return ChokeFit(
        _choke(p, places),
        tuple(_symbol(place, equal) for place in places),
        p,
        dict(sweeps),
        stated,
        None if stated else noise * u,
        covariance * noise**2,
        common.T @ common * noise**2,
        dict(zip(sweeps, np.split(found.residuals / noise, ends), strict=True)),
        found.degrees_of_freedom,
        found.converged,
        equal,
    )


def _symbol(place: Place, equal: bool) -> str:
    name, windings = place
    return name if equal or name in {"core", "relaxation", "between"} else f"{name}{windings[0] + 1}"


# A choke as a subcircuit in plain SPICE syntax: R, L, C and linear controlled sources, nothing else.
#
# Each winding is its resistance, its leakage inductance and a voltage source n·v_core; an ammeter (a source
# of 0 V) lets a current source feed n times the winding's current into the core, which is an inductance
# and, for one relaxation at f_r, the resistance 2π f_r L beside it. No coupled inductors: k close to 1
# costs no digits, and every simulator knows these elements.
#
# Source: `labkit.theory.choke`; ngspice and the model give the same impedances in tests.


def netlist(choke: Choke, name: str = "choke", made: str = "") -> str:
    """The subcircuit as text, to be kept in a file and included by a simulator.

    Parameters
    ----------
    choke : Choke
        Such as a fitted one.
    name : of the subcircuit: a letter, then letters, digits, underscores.
    made : how the values were found, in words; every line of it becomes a comment.

    Returns
    -------
    str
        Terminals in the order 1a 1b 2a 2b …; values with all their digits.

    Raises
    ------
    EntryError

    Examples
    --------
    >>> text = netlist(Choke(R=(0.1, 0.1), leakage=(12e-6, 12e-6), core=10e-3), made="invented")
    >>> print(text.splitlines()[4])
    .subckt choke 1a 1b 2a 2b
    """
    if not re.fullmatch(r"[A-Za-z][A-Za-z0-9_]*", name):
        raise EntryError(
            f"'{name}' cannot be the name of a subcircuit; begin with a letter and go on "
            "with letters, digits and underscores, such as 'choke'.",
            name,
        )
    head = (
        words.HEAD.format(name=name, windings=choke.windings),
        words.UNITS.format(version=__version__),
        words.HOLDS,
        *made.splitlines(),
    )
    ends = " ".join(map(str, terminals(choke.windings)))
    body = (*_windings(choke), *_core(choke), *_capacitances(choke))
    comments = (f"* {line}" for line in head)
    return "\n".join([*comments, f".subckt {name} {ends}", *body, f".ends {name}", ""])


def _windings(choke: Choke) -> Iterator[str]:
    assert choke.turns is not None
    for w, (R, L, n) in enumerate(zip(choke.R, choke.leakage, choke.turns, strict=True), 1):
        yield f"* {words.WINDING.format(number=w)}"
        here = f"{w}a"
        for letter, value in (("R", R), ("L", L)):
            if value:  # an element of nothing is a wire, which simulators dislike as an element
                yield f"{letter}{w} {here} {w}{letter.lower()} {float(value)!r}"
                here = f"{w}{letter.lower()}"
        yield f"E{w} {here} {w}v core 0 {float(n)!r}"
        yield f"V{w} {w}v {w}b 0"
        yield f"F{w} 0 core V{w} {float(n)!r}"


def _core(choke: Choke) -> Iterator[str]:
    yield f"* {words.CORE}"
    yield f"Lcore core 0 {float(choke.core)!r}"
    if choke.relaxation is not None:
        yield f"* {words.CORE_LOSS.format(relaxation=choke.relaxation)}"
        yield f"Rcore core 0 {2 * math.pi * choke.relaxation * choke.core!r}"


def _capacitances(choke: Choke) -> Iterator[str]:
    found = capacitances(choke)
    if found:
        yield f"* {words.CAPACITANCE}"
    for first, second, C in found:
        yield f"C{first}{second} {first} {second} {C!r}"


# Models fitted to the sweeps of a choke: which one to believe of each, and one choke for all of them.

LEAST, MOST = 1e-18, 1e15
"""A fitted parameter in SI units outside of these has run away: the sweep does not tell it."""


@dataclass(frozen=True, eq=False)
class SweepChoice:
    """The comparison of models on one sweep."""

    sweep: Swept
    what: str
    choice: Choice


def choices(spectra: Spectra) -> Iterator[SweepChoice]:
    """The models compared on every sweep that is long enough for one."""
    for sweep in spectra.sweeps:
        try:
            choice = choose(sweep.impedance, _standard(sweep.accuracy))
        except MissingReading:
            continue
        yield SweepChoice(sweep, spectra.called(sweep), choice)


def _standard(limit: float | None) -> float | None:
    """Standard uncertainty of an error within a limit, rectangular."""
    return None if limit is None else limit / math.sqrt(3)


def choke_of(spectra: Spectra, modes: Modes) -> ChokeFit | None:
    """One choke for the sweeps in common and differential mode, and single windings if both were swept.

    None if a mode was not swept as tied, or there are not two windings with dots on equally named ends.
    """
    if spectra.windings != 2 or not spectra.dots or len({dot.end for dot in spectra.dots}) > 1:
        return None
    best = modes.best(Mode.COMMON), modes.best(Mode.DIFFERENTIAL, (1, 2))
    if any(source is None or source.kind != "measured" for source in best):
        return None
    cm, dm = (source.common.sweeps[0] for source in best if source)
    singles = tuple(spectra.singles[n] for n in (1, 2) if n in spectra.singles)
    limits = [sweep.accuracy for sweep in (cm, dm, *singles)]
    stated = [limit for limit in limits if limit is not None]
    u = _standard(max(stated)) if len(stated) == len(limits) else None
    alone = (singles[0].impedance, singles[1].impedance) if len(singles) == 2 else None
    try:
        return fit_choke(cm.impedance, dm.impedance, alone, u)
    except MissingReading:
        return None


def model_table(compared: SweepChoice) -> Table:
    """Every model fitted to a sweep: parameters, how well it fits, and what is said of it."""
    least = min(each.AICc for each in compared.choice.compared)
    rows = tuple(
        (
            each.fit.model.title,
            "; ".join(_parameters(each.fit)),
            "" if each.fit.reduced_chi_squared is None else _plain(each.fit.reduced_chi_squared),
            _plain(each.AICc - least) if math.isfinite(each.AICc) else "",
            _verdict(compared.choice, each.fit),
        )
        for each in compared.choice.compared
    )
    return Table(words.HEADER, rows, words.TITLE.format(what=compared.what, id=compared.sweep.id))


def _plain(x: float) -> str:
    """Three digits, or a whole number in groups of three.

    >>> _plain(0.07281), _plain(30104561.0) == "30\N{NARROW NO-BREAK SPACE}104\N{NARROW NO-BREAK SPACE}561"
    ('0.0728', True)
    """
    return f"{x:.3g}" if abs(x) < 100 else f"{x:,.0f}".replace(",", "\N{NARROW NO-BREAK SPACE}")


def _verdict(choice: Choice, fit: ModelFit) -> str:
    if fit is choice.preferred:
        return words.VERDICT[choice.believed]
    return words.OTHER[fit.describes]


def model_sentences(compared: SweepChoice, spectra: Spectra, choke: ChokeFit | None) -> tuple[str, ...]:
    """What is said below the table of a sweep; of a winding alone that no model describes also why."""
    alone = any(compared.sweep is single for single in spectra.singles.values())
    if compared.choice.believed is not False or not alone or spectra.windings < 2:
        return compared.choice.sentences
    described = choke is not None and choke.describes and len(spectra.singles) == 2
    more = (words.OPEN_WINDING, *[words.YET_DESCRIBED] * bool(described))
    return (*compared.choice.sentences, *more)


def _parameters(fit: ModelFit) -> Iterator[str]:
    if fit.describes is False:
        yield words.NOT_QUOTED
        return
    for parameter, value, u in zip(fit.model.parameters, fit.parameters, _spread(fit), strict=True):
        symbol, size = parameter.symbol, float(value)
        if _told(fit, symbol, size, float(u)):
            yield f"{symbol} {display(size, float(u), parameter.unit)}"
        else:
            yield _hint(size, symbol, parameter.unit)


def _told(fit: ModelFit | ChokeFit, symbol: str, size: float, u: float) -> bool:
    """Whether a parameter may be quoted: the sweep identifies it, and its interval keeps away from zero."""
    return symbol not in fit.unidentified and u < size / 2


def _hint(size: float, symbol: str, unit: str) -> str:
    """A parameter that may not be quoted: about how large it came out, or that it ran away."""
    if not LEAST < size < MOST:
        return words.NO_LIMIT.format(symbol=symbol)
    return words.FITTED_NOT_TOLD.format(symbol=symbol, value=display(size, unit=unit, significant_digits=2))


def _spread(fit: ModelFit | ChokeFit) -> Floats:
    """Standard uncertainties of the parameters, the stated accuracy as one error common to all included."""
    total = fit.log_covariance + fit.log_shared if fit.stated else fit.log_covariance
    with np.errstate(over="ignore"):
        return np.asarray(np.sqrt(np.diag(total)) * fit.parameters)


def believed(found: tuple[SweepChoice, ...]) -> Iterator[Number]:
    """The parameters of each model that is believed, as far as they may be quoted."""
    for each in found:
        fit = each.choice.preferred
        if each.choice.believed:
            rows = zip(fit.model.parameters, fit.parameters, _spread(fit), strict=True)
            for parameter, value, u in rows:
                if _told(fit, parameter.symbol, float(value), float(u)):
                    facts = {"model": fit.model.title, "what": parameter.what, "symbol": parameter.symbol}
                    yield Number(
                        f"model_{fit.model.name}_{parameter.symbol}_{key_of(each.sweep.id)}",
                        parameter.unit,
                        float(value),
                        float(u),
                        words.PARAMETER.format(sweep=each.what, **facts),
                        (each.sweep.id,),
                    )


def choke_table(fit: ChokeFit) -> Table:
    """The parameters of one choke for all sweeps."""
    rows = []
    for symbol, value, u in zip(fit.symbols, fit.parameters, _spread(fit), strict=True):
        unit, size = words.UNIT[symbol.rstrip("0123456789")], float(value)
        told = _told(fit, symbol, size, float(u))
        rows.append((symbol, display(size, float(u), unit) if told else _hint(size, symbol, unit)))
    reduced = "" if fit.reduced_chi_squared is None else f"{fit.reduced_chi_squared:.3g}"
    return Table(words.CHOKE_HEADER, (*rows, (words.REDUCED, reduced)), words.CHOKE_TITLE)


def choke_sentence(fit: ChokeFit) -> str:
    """Whether the one choke is to be believed."""
    return words.CHOKE[fit.describes]


def choke_netlist(fit: ChokeFit, cite: str) -> str:
    """The fitted choke as a subcircuit, its comments saying how far it is to be believed."""
    return netlist(fit.choke, made="\n".join((cite, choke_sentence(fit), *fit.remarks)))
