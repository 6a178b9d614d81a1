"""The truth behind a choke: windings on one lossy core, with capacitance across them and between them.

The windings' own impedances are

    Z = diag(R) + jω [diag(leakage) + core/(1 + jf/f_r) n n'],

n the turns relative to winding 1, f_r the relaxation frequency; what clips, ties and capacitances make of
them is solved by `labkit.theory.nodes`. Slopes with all parameters come from one solution (Tellegen's
theorem: for a unit current at the clips of a reciprocal network, dZ = i' dZ_windings i - v' dY v).

Symbols: N windings · f frequency (Hz) · R in Ω · leakage, core in H · C, between in F.
Where capacitances lie across windings only, equal to `labkit.theory.network` (proven in tests).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from labkit.arrays import Complexes, Floats
from labkit.errors import PassivityError, ShapeError, WiringError
from labkit.theory.nodes import Nodal, singular
from labkit.theory.pair import Pair
from labkit.theory.wiring import Terminal, Wiring, terminals

# Sentences about a choke, the truth behind it and what is asked of it.

COUNT = (
    "{given} values of {what} were given for {windings} windings; give one for each winding, "
    "and one 'between' for each pair of neighbours."
)
SIGN = "{what} = {given:.6g} was given, but {what} must be finite and {bound}; check the unit."
ABOVE, NOT_BELOW, NOT_ZERO = "above zero", "zero or more", "other than zero"
FIRST_TURNS = (
    "turns = {given:.6g} was given for winding 1, but turns count relative to winding 1; divide all by it."
)
TWO_WINDINGS = "The choke has {windings} windings and a pair has two; use its inductance matrix instead."
PORTS = (
    "'{given}' is no list of ports of a choke with {windings} windings; "
    "name each terminal once, from 1a to {windings}b."
)
REFERENCES = (
    "{given} reference impedances were given for {ports} ports; give one above zero for all, or one a port."
)
NO_ADMITTANCE = (
    "At {frequency:.6g} Hz the windings have neither resistance nor leakage that would limit their currents, "
    "so there is no nodal admittance; give each winding a resistance."
)


@dataclass(frozen=True, eq=False, init=False)
class Choke:
    """N windings on one core, as a network that every wiring and port sees alike.

    Parameters
    ----------
    R : (N,) winding resistances, in Ω, zero or more
    leakage : (N,) inductance of each winding's own flux in air, in H, zero or more
    core : inductance of winding 1 through the core at low frequency, in H, above zero
    turns : (N,) relative to winding 1, the first one 1; negative for a dot on end b; None for equal turns
    relaxation : frequency in Hz at which the core's permeability has turned by 45°; None for a lossless core
    C : (N,) capacitance across each winding, in F; None for none
    between : (N-1,) capacitance from each winding to the next, in F, half from end a to end a and half from
        end b to end b; None for none

    Raises
    ------
    ShapeError, PassivityError

    Notes
    -----
    One relaxation is exactly the inductance `core` in parallel with the resistance 2π `relaxation` `core`.

    Examples
    --------
    >>> choke = Choke(R=(0.1, 0.1), leakage=(10e-6, 10e-6), core=10e-3)
    >>> choke.impedance("1a 1b | 1a=2a 1b=2b", 1e3).imag.round(3)
    array([62.863])
    """

    R: Floats
    leakage: Floats
    core: float
    turns: Floats
    relaxation: float | None
    C: Floats
    between: Floats

    def __init__(
        self,
        R: npt.ArrayLike,
        leakage: npt.ArrayLike,
        core: float,
        turns: npt.ArrayLike | None = None,
        relaxation: float | None = None,
        C: npt.ArrayLike | None = None,
        between: npt.ArrayLike | None = None,
    ) -> None:
        windings = np.size(R)
        _require("core", core, above=True)
        if relaxation is not None:
            _require("relaxation", relaxation, above=True)
        given = {
            "R": _kept("R", R, windings, windings),
            "leakage": _kept("leakage", leakage, windings, windings),
            "core": float(core),
            "turns": _turns(np.ones(windings) if turns is None else turns, windings),
            "relaxation": None if relaxation is None else float(relaxation),
            "C": _kept("C", np.zeros(windings) if C is None else C, windings, windings),
            "between": _kept(
                "between", np.zeros(windings - 1) if between is None else between, windings - 1, windings
            ),
        }
        for name, value in given.items():
            object.__setattr__(self, name, value)

    @property
    def windings(self) -> int:
        """How many windings."""
        return len(self.R)

    def permeability(self, frequency: npt.ArrayLike) -> Complexes:
        """1/(1 + jf/f_r): the core's complex permeability relative to that at low frequency, shape (F,)."""
        f = _frequencies(frequency)
        return np.asarray(1 / (1 + 1j * f / (np.inf if self.relaxation is None else self.relaxation)))

    def inductance_matrix(self, frequency: npt.ArrayLike) -> Complexes:
        """diag(leakage) + core/(1 + jf/f_r) n n', shape (F, N, N), in H; the imaginary part is core loss."""
        shared = self.core * np.outer(self.turns, self.turns)
        return np.diag(self.leakage) + self.permeability(frequency)[:, None, None] * shared

    def pair(self) -> Pair:
        """The two windings at low frequency; B keeps its digits however small it is."""
        if self.windings != 2:
            raise ShapeError(TWO_WINDINGS.format(windings=self.windings))
        own1, own2 = map(float, self.leakage)
        turns = abs(float(self.turns[1]))
        return Pair(own1 + self.core, own2 + self.core * turns**2, own1 + own2 + self.core * (1 - turns) ** 2)

    def impedance(self, wiring: str | Wiring, frequency: npt.ArrayLike) -> Complexes:
        """Impedance between the clips of a wiring, shape (F,), in Ω.

        `inf` where neither a winding nor a capacitance joins the clips, and in an exact lossless resonance;
        0 if one node holds both clips.
        """
        f = _frequencies(frequency)
        return self._nodal(wiring).at_the_clips(f, self._branches(f))[0]

    def slopes(self, wiring: str | Wiring, frequency: npt.ArrayLike) -> dict[str, Complexes]:
        """Derivatives of `impedance` with each parameter: by name, shape (F, N), (F, N-1) or (F, 1).

        In Ω per unit of the parameter (`R` Ω, `leakage` and `core` H, `turns` 1, `relaxation` Hz, `C` and
        `between` F). From one solution: dZ = i' dZ_windings i - v' dY v for a unit current at the clips.
        """
        return self.with_slopes(wiring, frequency)[1]

    def with_slopes(
        self, wiring: str | Wiring, frequency: npt.ArrayLike
    ) -> tuple[Complexes, dict[str, Complexes]]:
        """`impedance` and `slopes` for the price of one."""
        f = _frequencies(frequency)
        network = self._nodal(wiring)
        Z, v, i = network.at_the_clips(f, self._branches(f))
        jw = (2j * np.pi * f)[:, None]
        mu = self.permeability(f)[:, None]
        linked = i @ self.turns[:, None]
        core = jw * mu * linked**2
        relaxation = self.relaxation or np.inf
        turning = 1j * f[:, None] * mu * self.core / relaxation / relaxation
        return Z, {
            "R": i**2,
            "leakage": jw * i**2,
            "core": core,
            "turns": 2 * jw * mu * self.core * linked * i,
            "relaxation": np.asarray(core * turning, dtype=np.complex128),
            "C": -jw * (v @ network.across) ** 2,
            "between": -jw * ((v @ network.between_a) ** 2 + (v @ network.between_b) ** 2) / 2,
        }

    def admittance(self, frequency: npt.ArrayLike) -> Complexes:
        """Nodal admittance of the terminals 1a 1b 2a 2b …, shape (F, 2N, 2N), in S.

        Raises
        ------
        PassivityError
            where windings without resistance and leakage carry any current; the sentence gives the frequency.
        """
        f = _frequencies(frequency)
        Z = self._branches(f)
        for index in np.flatnonzero(singular(Z))[:1]:
            raise PassivityError(NO_ADMITTANCE.format(frequency=f[index]))
        network = self._nodal(None)
        inverse = np.linalg.solve(Z, np.broadcast_to(np.eye(self.windings), Z.shape))
        return np.asarray(network.across @ inverse @ network.across.T + network.capacitive(f))

    def scattering(
        self,
        frequency: npt.ArrayLike,
        ports: Sequence[str] = ("1a", "2a", "1b", "2b"),
        reference: float | Sequence[float] = 50.0,
    ) -> Complexes:
        """Scattering parameters of ports between terminals and a common ground, shape (F, P, P).

        Parameters
        ----------
        frequency : (F,), in Hz
        ports : terminal of each port, in order; terminals that are no port stay open
        reference : in Ω, one for all ports or one a port, real

        Notes
        -----
        S = 2 √G V √G - 1, V the port voltages for unit currents with each port loaded by its reference,
        which exists for every passive network.
        """
        f = _frequencies(frequency)
        chosen = self._ports(ports)
        g = 1 / np.broadcast_to(_references(reference, len(chosen)), (len(chosen),))
        V = self._nodal(None).loaded(f, self._branches(f), chosen, g)
        return 2 * np.sqrt(g)[:, None] * V * np.sqrt(g) - np.eye(len(chosen))

    def _branches(self, f: Floats) -> Complexes:
        return np.diag(self.R) + (2j * np.pi * f)[:, None, None] * self.inductance_matrix(f)

    def _nodal(self, wiring: str | Wiring | None) -> Nodal:
        hooked = None if wiring is None else Wiring.parse(wiring)
        return Nodal(self.windings, hooked, self.C, self.between)

    def _ports(self, ports: Sequence[str]) -> list[int]:
        places = {terminal: place for place, terminal in enumerate(terminals(self.windings))}
        chosen = [Terminal.parse(port) for port in ports]
        if not chosen or len(set(chosen)) < len(chosen) or not set(chosen) <= set(places):
            raise WiringError(PORTS.format(given=" ".join(ports), windings=self.windings))
        return [places[terminal] for terminal in chosen]


def _frequencies(frequency: npt.ArrayLike) -> Floats:
    return np.atleast_1d(np.asarray(frequency, dtype=np.float64))


def _references(reference: float | Sequence[float], ports: int) -> Floats:
    given = np.atleast_1d(np.asarray(reference, dtype=np.float64))
    if given.shape not in {(1,), (ports,)} or not np.all((given > 0) & np.isfinite(given)):
        raise ShapeError(REFERENCES.format(given=given.size, ports=ports))
    return given


def _turns(values: npt.ArrayLike, windings: int) -> Floats:
    turns = _of_shape("turns", values, windings, windings)
    for value in turns[~np.isfinite(turns) | (turns == 0)][:1]:
        raise PassivityError(SIGN.format(what="turns", given=value, bound=NOT_ZERO))
    if turns[0] != 1:
        raise PassivityError(FIRST_TURNS.format(given=turns[0]))
    return turns


def _kept(name: str, values: npt.ArrayLike, count: int, windings: int) -> Floats:
    array = _of_shape(name, values, count, windings)
    for value in array:
        _require(name, value, above=False)
    return array


def _of_shape(name: str, values: npt.ArrayLike, count: int, windings: int) -> Floats:
    array = np.array(values, dtype=np.float64)
    if array.shape != (count,) or not windings:
        raise ShapeError(COUNT.format(given=array.size, what=name, windings=windings))
    array.setflags(write=False)
    return array


def _require(name: str, value: float, above: bool) -> None:
    if not np.isfinite(value) or value < 0 or (above and value == 0):
        bound = ABOVE if above else NOT_BELOW
        raise PassivityError(SIGN.format(what=name, given=value, bound=bound))
