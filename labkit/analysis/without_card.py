"""Findings where no card states an accuracy: what break-even draws, and what it leaves open."""

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from labkit import quantity
from labkit.analysis.analysis import Analysis, in_doubt, without_card
from labkit.analysis.break_even import (
    NONE,
    NOT_POSITIVE,
    POSITIVE,
    coupling_within,
    displayed,
    error_text,
    least_error,
    pair_within,
)
from labkit.analysis.compare import SERIES, TOGETHER
from labkit.analysis.finding import Figure, Finding
from labkit.analysis.observations import observe
from labkit.analysis.routes import ALIKE, SINGLES, Coupling
from labkit.words import analysis as words


def coupling_without_card(analysis: Analysis, by: Coupling) -> Iterator[Finding]:
    """M and k as far as any meter within the bound fixes them, or the number that keeps them open."""
    pair, bound = analysis.within_bound, error_text(analysis.shared.bound)
    if pair is None:
        return
    k, M, ids = (
        coupling_within(pair),
        pair["M"],
        tuple(id for o in analysis.shared.pool().values() for id in o.ids),
    )
    size = M if M.low >= 0 else -M
    figures = coupling_figures(by) | {"largest_meter_error": Figure(analysis.shared.bound, "")}
    if M.low < 0 < M.high:
        least = max(least_error(analysis.shared.displays, sign) for sign in (NOT_POSITIVE, POSITIVE))
        facts = {
            "k": upwards(k.high),
            "bound": bound,
            "error": error_text(least),
            "M": by.text(by.mutual_inductance),
        }
        sentence = (words.COUPLING_OPEN if least else words.COUPLING_SMALL).format(**facts)
        yield Finding("coupling open without a card", sentence, figures, ids)
        return
    gap = 1 - k.low
    facts = {
        "M": quantity.display(abs(by.mutual_inductance.value), significant_digits=2),
        "low": quantity.display(rounded(size.low, math.floor), significant_digits=2),
        "high": quantity.display(rounded(size.high, math.ceil), significant_digits=2),
        "k": quantity.display(1 - rounded(gap, math.ceil), unit="", significant_digits=_nines(gap)),
        "gap": quantity.display(rounded(gap, math.ceil), unit="", significant_digits=2),
        "bound": bound,
    }
    sentence = words.COUPLING_BOUNDED.format(**facts)
    if gap < 0.1:
        sentence += " " + words.GAP_BOUNDED.format(**facts)
    doubt = in_doubt(analysis)
    sentence += f" {words.COUPLING_IN_DOUBT}" * doubt
    yield Finding("coupling", sentence, figures, ids, "caution" if doubt else "strong")


def coupling_without_dots(analysis: Analysis) -> Iterator[Finding]:
    """Whether flux is shared at all, where neither dots nor a card is known and it stays open."""
    bound, observations = analysis.shared.bound, tuple(o for _, each in analysis.placements for o in each)
    if analysis.shared.dots or not without_card(analysis) or any(no_coupling(analysis)):
        return
    if not any(o.connection in TOGETHER for o in observations):
        return
    each = [tuple(map(displayed, here)) for _, here in analysis.placements]
    pairs = [pair for displays in each if (pair := pair_within(displays, bound))]
    error = min(least_error(displays, NONE) for displays in each)
    if not pairs or error > bound:
        return
    k = max(coupling_within(pair).high for pair in pairs)
    facts = {"k": upwards(k), "bound": error_text(bound), "error": error_text(error)}
    sentence = (words.COUPLING_OPEN if error else words.COUPLING_SMALL).format(**facts)
    ids = tuple(dict.fromkeys(id for o in observations for id in o.ids))
    yield Finding("coupling open without a card", sentence, {}, ids, "caution")


def rounded(value: float, towards: Callable[[float], int]) -> float:
    """A number to two digits, down or up.

    >>> rounded(0.38232, math.floor), rounded(0.0014038, math.ceil)
    (0.38, 0.0015)
    """
    if not 0 < abs(value) < math.inf:
        return value
    place = 1 - math.floor(math.log10(abs(value)))
    return float(towards(value * 10.0**place) / 10.0**place)


def upwards(value: float) -> str:
    """A number without unit to two digits, rounded up."""
    return quantity.display(rounded(value, math.ceil), unit="", significant_digits=2)


def _nines(gap: float) -> int:
    """Digits of k that 1 - k to two digits supports."""
    return max(2, 1 - math.floor(math.log10(gap))) if gap > 0 else 2


def no_coupling(analysis: Analysis) -> Iterator[Finding]:
    """Series readings that are the same both ways, which neither dots nor a card are needed to judge."""
    if analysis.bench.windings != 2:
        return
    assumed = replace(
        analysis.shared, observations=observe(analysis.bench, dots=analysis.shared.dots or ALIKE)
    )
    pool = assumed.pool()
    if not all(c in pool for c in (*SINGLES, *SERIES)):
        return
    one, other = (displayed(pool[c]) for c in SERIES)
    used = tuple(pool[c] for c in (*SINGLES, *SERIES))
    difference, steps = abs(one.value - other.value), one.step + other.step
    if difference > steps or all(o.no_uncertainty is None and analysis.shared.dots for o in used):
        return
    root = 4 * math.sqrt(pool[SINGLES[0]].value * pool[SINGLES[1]].value)
    pair = pair_within(map(displayed, used), assumed.bound)
    if pair is None:
        return
    k = {"same": (difference + steps) / root, "any": coupling_within(pair).high}
    facts = {"one": pool[SERIES[0]].text, "other": pool[SERIES[1]].text, "bound": error_text(assumed.bound)}
    sentence = words.NO_COUPLING.format(**facts, k=upwards(k["same"]), most=upwards(k["any"]))
    figures = {"largest_coupling_coefficient": Figure(k["same"], "")}
    yield Finding("no coupling", sentence, figures, tuple(id for o in used for id in o.ids), "strong")


def coupling_figures(by: Coupling) -> dict[str, Figure]:
    estimates = {
        "mutual_inductance": (by.mutual_inductance, "H"),
        "coupling_coefficient": (by.coefficient, ""),
    }
    return {
        name: Figure(e.value, unit, e.standard_uncertainty if by.stated else None)
        for name, (e, unit) in estimates.items()
    }
