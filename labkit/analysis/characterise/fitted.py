"""Models fitted to the sweeps of a choke: which one to believe of each, and one choke for all of them."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from labkit.analysis.characterise.choke_fit import ChokeFit, fit_choke
from labkit.analysis.characterise.choosing import Choice, choose
from labkit.analysis.characterise.modelfit import ModelFit
from labkit.analysis.characterise.modes import Modes
from labkit.analysis.characterise.netlist import netlist
from labkit.analysis.characterise.numbers import Number
from labkit.analysis.characterise.spectra import Swept
from labkit.analysis.characterise.swept import Spectra, key_of
from labkit.errors import MissingReading
from labkit.quantity import display
from labkit.show import Table
from labkit.sweeps.sweep import Floats
from labkit.theory.modes import Mode
from labkit.words import fitted as words

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
    return words.NOT_TOLD.format(symbol=symbol, value=display(size, unit=unit, significant_digits=2))


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
