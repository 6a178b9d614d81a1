"""Which sweep of a bench is what: singles, pairs and modes, and every curve that they allow together."""

import itertools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from labkit.arrays import Complexes, Floats
from labkit.choke import spectra
from labkit.choke.spectra import (
    LEAKAGES,
    PAIR,
    ROUTES,
    Curve,
    Resonance,
    Route,
    Swept,
    Together,
    TwoRoutes,
    resonance,
    together,
    two_routes,
)
from labkit.theory.network import identify
from labkit.theory.wiring import Connection, Terminal, Wiring
from labkit.words import choke as words
from labkit.words import labels

Dots = tuple[Terminal, ...]
Pair = tuple[int, int]
C = Connection
COUPLED = 0.1
"""How far a series sweep must lie from the sum of the singles, as a part of it, to tell the dots."""
_EITHER = (Terminal(1, "a"), Terminal(2, "a")), (Terminal(1, "a"), Terminal(2, "b"))


@dataclass(frozen=True, eq=False)
class Spectra:
    """Everything that the sweeps of a part say against frequency.

    Attributes
    ----------
    sweeps : of impedance, in the order they were stored
    windings : N
    dots : as marked on the part or told by readings, None if unknown
    """

    sweeps: tuple[Swept, ...]
    windings: int
    dots: Dots | None = None

    @cached_property
    def singles(self) -> dict[int, Swept]:
        """The sweep of each winding alone, by its number."""
        found: dict[int, Swept] = {}
        for sweep in self.sweeps:
            for n in range(1, self.windings + 1):
                alone = Wiring((Terminal(n, "a"), Terminal(n, "b"))).canonical(self.windings)
                if sweep.wiring.canonical(self.windings) == alone:
                    found.setdefault(n, sweep)
        return found

    @property
    def pairs(self) -> tuple[Pair, ...]:
        """Each two windings that were both swept alone."""
        return tuple(itertools.combinations(sorted(self.singles), 2))

    @cached_property
    def joint(self) -> dict[Pair, dict[Connection, Swept]]:
        """What was swept of each two windings together, by what it amounts to."""
        return {pair: self._joint(pair) for pair in self.pairs}

    def _joint(self, pair: Pair) -> dict[Connection, Swept]:
        of_these = [(sweep, wiring) for sweep in self.sweeps if (wiring := as_pair(sweep.wiring, pair))]
        dots = self.pair_dots(pair)
        found: dict[Connection, Swept] = {}
        for sweep, wiring in of_these:
            seen = {identify(wiring, each) for each in ([dots] if dots else _EITHER)}
            if len(seen) == 1:
                found.setdefault(seen.pop(), sweep)
        return found

    def pair_dots(self, pair: Pair) -> Dots | None:
        """The dots of two windings, renumbered 1 and 2: as marked, else as the sweeps tell them."""
        if self.dots:
            return tuple(Terminal(n, self.dots[w - 1].end) for n, w in enumerate(pair, start=1))
        return self.told_dots(pair)

    def told_dots(self, pair: Pair) -> Dots | None:
        """The dots of two windings by a series sweep: L1 + L2 + 2M against the other one, else L1 + L2."""
        singles = [self.singles[n] for n in pair if n in self.singles]
        for dots in _EITHER:
            for sweep in self.sweeps:
                wiring = as_pair(sweep.wiring, pair)
                if not wiring or identify(wiring, dots) is not C.SERIES_AIDING:
                    continue
                if (more := self._larger(sweep, self._other_series(pair, dots), singles)) is not None:
                    return dots if more else _EITHER[dots is _EITHER[0]]
        return None

    def _other_series(self, pair: Pair, dots: Dots) -> Swept | None:
        of_these = ((sweep, as_pair(sweep.wiring, pair)) for sweep in self.sweeps)
        return next((s for s, w in of_these if w and identify(w, dots) is C.SERIES_OPPOSING), None)

    def _larger(self, sweep: Swept, other: Swept | None, singles: list[Swept]) -> bool | None:
        """Whether a series sweep exceeds the other one, or both singles; None if that cannot be told."""
        against = [other] if other else singles if len(singles) == 2 else []
        common = together(sweep, *against)
        if not against or not len(common.frequency):
            return None
        seen, *rest = (float(Z.imag[0]) for Z in common.Z)
        return seen > sum(rest) if other or abs(seen - sum(rest)) > COUPLED * abs(sum(rest)) else None

    @cached_property
    def curves(self) -> tuple[Curve, ...]:
        """Every curve, in stable order: each winding, each sweep, each two windings by every route."""
        return (*self._of_windings(), *self._of_sweeps(), *self._of_pairs())

    def curve(self, name: str) -> Curve:
        """The curve of that name; KeyError if there is none."""
        return next(curve for curve in self.curves if curve.name == name)

    def _of_windings(self) -> Iterator[Curve]:
        for n, sweep in sorted(self.singles.items()):
            one = together(sweep)
            for name, unit, function in (
                ("self_inductance", "H", spectra.inductance),
                ("series_resistance", "Ω", lambda _, Z: Z.real),
                ("parallel_inductance", "H", spectra.parallel_inductance),
                ("parallel_resistance", "Ω", spectra.parallel_resistance),
                ("quality_factor", "", spectra.quality_factor),
            ):
                yield one.curve(f"{name}_{n}", unit, words.WHAT[name].format(n=n), function)

    def _of_sweeps(self) -> Iterator[Curve]:
        for sweep in self.sweeps:
            one, key = together(sweep), key_of(sweep.id)
            what = self.called(sweep)
            yield one.curve(
                f"impedance_magnitude_{key}",
                "Ω",
                words.WHAT["impedance_magnitude"].format(what=what),
                lambda _, Z: np.abs(Z),
            )
            yield one.curve(
                f"impedance_phase_{key}", "°", words.WHAT["impedance_phase"].format(what=what), spectra.phase
            )

    def _of_pairs(self) -> Iterator[Curve]:
        for (i, j), route, common in self._routes():
            facts = {"i": i, "j": j, "route": words.ROUTE[route.name]}
            for name, (unit, function) in PAIR.items():
                yield common.curve(
                    f"{name}_{i}_{j}_from_{route.name}",
                    unit,
                    words.WHAT[name].format(**facts),
                    lambda w, Z1, Z2, Z, function=function, route=route: function(
                        w, Z1, Z2, route.z(Z1, Z2, Z)
                    ),
                )
        for i, j in self.pairs:
            common = together(self.singles[i], self.singles[j])
            if len(common.frequency):
                for name, unit, function in (
                    ("imbalance", "H", _imbalance),
                    ("relative_imbalance", "", _relative_imbalance),
                ):
                    yield common.curve(f"{name}_{i}_{j}", unit, words.WHAT[name].format(i=i, j=j), function)

    def _routes(self) -> Iterator[tuple[Pair, Route, Together]]:
        for pair in self.pairs:
            for route in ROUTES:
                sweep = self.joint[pair].get(Connection(route.needs[0]))
                if sweep:
                    common = together(self.singles[pair[0]], self.singles[pair[1]], sweep)
                    if len(common.frequency):
                        yield pair, route, common

    @cached_property
    def resonances(self) -> tuple[Resonance, ...]:
        """Self-resonance and self-capacitance of every sweep."""
        return tuple(map(resonance, self.sweeps))

    @cached_property
    def leakages(self) -> tuple[TwoRoutes, ...]:
        """Each leakage of each two windings by series-opposing and by every short-circuit sweep."""
        return tuple(itertools.chain.from_iterable(map(self._leakages, self.pairs)))

    def _leakages(self, pair: Pair) -> Iterator[TwoRoutes]:
        opposing = self.joint[pair].get(C.SERIES_OPPOSING)
        i, j = pair
        for route in ROUTES:
            short = self.joint[pair].get(Connection(route.needs[0]))
            if opposing and short and route.name.startswith("short"):
                sweeps = (self.singles[i], self.singles[j], opposing, short)
                for name in LEAKAGES if len(together(*sweeps).frequency) else ():
                    one, other = (
                        words.WHAT[name].format(i=i, j=j, route=words.ROUTE[each])
                        for each in ("series_opposing", route.name)
                    )
                    yield two_routes(name, pair, (one, other), sweeps, route)

    def called(self, sweep: Swept) -> str:
        """A sweep in words."""
        for n, single in self.singles.items():
            if single is sweep:
                return words.SINGLE.format(n=n)
        dots = self.dots or (self.pair_dots((1, 2)) if self.windings == 2 else None)
        if self.windings == 2 and dots:
            return labels.CONNECTION[identify(sweep.wiring, dots)]
        return words.WIRED.format(id=sweep.id, wiring=sweep.wiring.notation)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What a careful reader should know about the curves."""
        said = (self._bands(), self._polarity(), self._repeats(), self._frequencies())
        return tuple(dict.fromkeys(itertools.chain(*said)))

    def _bands(self) -> Iterator[str]:
        stated = sorted({s.accuracy for s in self.sweeps if s.accuracy is not None})
        if stated:
            yield words.SPECTRA_BAND.format(stated=", ".join(f"{100 * each:g} %" for each in stated))
        without = [s.id for s in self.sweeps if s.accuracy is None]
        if without:
            yield words.NO_BAND.format(ids=", ".join(without))

    def _polarity(self) -> Iterator[str]:
        if not self.dots:
            for i, j in self.pairs:
                told = self.pair_dots((i, j))
                yield (words.DOTS_BY_SWEEPS if told else words.DOTS_OPEN).format(i=i, j=j)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What does not fit: dots as marked against the two series sweeps of a pair."""
        return tuple(self._contradicted())

    def _contradicted(self) -> Iterator[str]:
        for i, j in self.pairs if self.dots else ():
            told, marked = self.told_dots((i, j)), self.pair_dots((i, j))
            if told and marked and (told[0].end == told[1].end) != (marked[0].end == marked[1].end):
                yield words.DOTS_CONTRADICT.format(
                    i=i, j=j, marked=_ends(marked, i, j), told=_ends(told, i, j)
                )

    def _repeats(self) -> Iterator[str]:
        groups: dict[Wiring, list[str]] = {}
        for sweep in self.sweeps:
            groups.setdefault(sweep.wiring.canonical(self.windings), []).append(sweep.id)
        for ids in groups.values():
            if len(ids) > 1:
                yield words.REPEATED.format(ids=", ".join(ids), kept=ids[0])

    def _frequencies(self) -> Iterator[str]:
        for pair in self.pairs:
            singles = tuple(self.singles[n] for n in pair)
            for sweeps in (singles, *((*singles, s) for s in self.joint[pair].values() if s not in singles)):
                common = together(*sweeps)
                ids, kept = ", ".join(common.ids), len(common.frequency)
                if not kept:
                    yield words.NO_COMMON.format(ids=ids)
                elif common.left_out:
                    yield words.OTHER_FREQUENCIES.format(ids=ids, kept=kept, left=common.left_out)


def _ends(dots: Dots, i: int, j: int) -> str:
    """Dotted ends of two windings with their own numbers."""
    return f"{i}{dots[0].end} {j}{dots[1].end}"


def _imbalance(w: Floats, Z1: Complexes, Z2: Complexes) -> Floats:
    return spectra.inductance(w, Z1 - Z2)


def _relative_imbalance(w: Floats, Z1: Complexes, Z2: Complexes) -> Floats:
    return 2 * spectra.inductance(w, Z1 - Z2) / spectra.inductance(w, Z1 + Z2)


def as_pair(wiring: Wiring, pair: Pair) -> Wiring | None:
    """The wiring with two windings renumbered 1 and 2; None if it touches any other, or only one of them."""
    number = {w: n for n, w in enumerate(pair, start=1)}
    ends = (*wiring.clips, *itertools.chain(*wiring.ties))
    if {end.winding for end in ends} != set(pair):
        return None

    def renumbered(group: Sequence[Terminal]) -> tuple[Terminal, ...]:
        return tuple(Terminal(number[end.winding], end.end) for end in group)

    first, second = renumbered(wiring.clips)
    return Wiring((first, second), tuple(map(renumbered, wiring.ties)))


def key_of(id: str) -> str:
    """An id as part of a name.

    >>> key_of("one-shorted.2")
    'one_shorted_2'
    """
    return re.sub(r"[^A-Za-z0-9]+", "_", id)
