"""Common mode and differential mode: which terminals are tied, and the impedance that is seen then.

Common mode drives all windings side by side, dotted ends on one node and far ends on the other; differential
mode drives the loop out through one winding and back through another. In the wiring notation, with dots on
1a and 2a:

    1a 1b | 1a=2a 1b=2b   common mode         1a 2a | 1b=2b   differential mode

A `Part` is whatever stands between the dotted ends (where the lines come in) and the far ends: inductances,
measured winding impedances, a `Choke`, or scattering parameters of ports at its terminals.

Symbols: L inductance matrix (H) · Z impedances of the windings (Ω) · S scattering parameters.
Source: the definitions of the two modes; equality with `labkit.theory.network` and `Choke` proven in tests.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import chain
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from labkit.arrays import Complexes, Floats
from labkit.errors import EntryError, ShapeError, WiringError
from labkit.theory.network import Matrix, input_inductance
from labkit.theory.nodes import Element, Windings, between, port_impedances, to_ground
from labkit.theory.number import Number
from labkit.theory.wiring import Terminal, Wiring, parse_dots, terminals
from labkit.words import choke as words

# Scattering parameters of ports against ground: other references, admittances, mixed modes, checks.
#
# Two lines that run together, voltages v1, v2 against ground, currents i1, i2 into them:
#
#     differential  v_d = v1 - v2        i_d = (i1 - i2)/2      reference 2 Z0   (100 Ω for 50 Ω ports)
#     common        v_c = (v1 + v2)/2    i_c = i1 + i2          reference Z0/2   (25 Ω)
#
# Between ports of one reference Z0 the waves of the modes are (a1 ± a2)/√2, so that S_mixed = M S M' with
# an orthogonal M. Symbols: S scattering parameters · Y admittances (S) · F frequencies · P ports. Source:
# D. E. Bockelman, W. R. Eisenstadt, IEEE Trans. Microwave Theory Tech. 43 (1995) 1530; A. Ferrero, M.
# Pirola, ibid. 54 (2006) 458 (pages from memory); K. Kurokawa, ibid. 13 (1965) 194 for the waves. Proven
# equal to scikit-rf's `se2gmm` and `renormalize` in tests.


@dataclass(frozen=True, eq=False)
class MixedMode:
    """Scattering parameters in mixed modes of two lines with two sides, ports in the order d1 d2 c1 c2.

    Attributes
    ----------
    S : (F, 4, 4)
    reference : (4,), in Ω: 2 Z0 twice, then Z0/2 twice
    """

    S: Complexes
    reference: Floats

    @property
    def differential(self) -> Complexes:
        """S_dd (F, 2, 2): differential mode in, differential mode out."""
        return self.S[:, :2, :2]

    @property
    def common(self) -> Complexes:
        """S_cc (F, 2, 2): common mode in, common mode out."""
        return self.S[:, 2:, 2:]

    @property
    def to_differential(self) -> Complexes:
        """S_dc (F, 2, 2): common mode in, differential mode out."""
        return self.S[:, :2, 2:]

    @property
    def to_common(self) -> Complexes:
        """S_cd (F, 2, 2): differential mode in, common mode out."""
        return self.S[:, 2:, :2]


def mixed_mode(S: npt.ArrayLike, reference: npt.ArrayLike, order: Sequence[int]) -> MixedMode:
    """Mixed-mode parameters of a four-port.

    Parameters
    ----------
    S : (F, 4, 4)
    reference : of each port, or one for all, real, in Ω
    order : places of the ports: first and second line on side 1, first and second line on side 2. For ports
        that sit at 1a 1b 2a 2b and lines that come in at 1a and 2a: (0, 2, 1, 3).

    Raises
    ------
    WiringError
        if `order` does not name every port once
    ShapeError
        if the references differ; see `renormalised`

    Examples
    --------
    >>> through = [[[0, 0, 1, 0], [0, 0, 0, 1], [1, 0, 0, 0], [0, 1, 0, 0]]]
    >>> mixed_mode(through, 50.0, (0, 1, 2, 3)).differential.real
    array([[[0., 1.], [1., 0.]]])
    """
    values = np.asarray(S, dtype=np.complex128)
    if values.shape[1:] != (4, 4) or sorted(order) != [0, 1, 2, 3]:
        raise WiringError(
            f"Order {tuple(order)} of {values.shape[-1]} ports has no mixed modes; give the "
            "places of all four ports, first and second line on one side, then on the "
            "other, such as (0, 1, 2, 3)."
        )
    Z0 = _references(reference, 4)
    if np.any(Z0 != Z0[0]):
        raise ShapeError(words.ONE_REFERENCE.format(given=", ".join(f"{z:g}" for z in Z0)))
    M = np.array([[1, -1, 0, 0], [0, 0, 1, -1], [1, 1, 0, 0], [0, 0, 1, 1]]) / np.sqrt(2)
    M = M @ np.eye(4)[list(order)]
    return MixedMode(M @ values @ M.T, np.array([2.0, 2.0, 0.5, 0.5]) * Z0[0])


def admittance_of(S: npt.ArrayLike, reference: npt.ArrayLike) -> Complexes:
    """Admittances (F, P, P) in S of ports with real references: √G (1 + S)^-1 (1 - S) √G, G = 1/reference."""
    values = np.asarray(S, dtype=np.complex128)
    root = 1 / np.sqrt(_references(reference, values.shape[-1]))
    one = np.eye(values.shape[-1])
    return np.asarray(root[:, None] * np.linalg.solve(one + values, one - values) * root)


def scattering_of(Y: npt.ArrayLike, reference: npt.ArrayLike) -> Complexes:
    """Scattering parameters (F, P, P) of ports with admittances in S and real references in Ω."""
    values = np.asarray(Y, dtype=np.complex128)
    root = np.sqrt(_references(reference, values.shape[-1]))
    y, one = root[:, None] * values * root, np.eye(values.shape[-1])
    return np.asarray(np.linalg.solve(one + y, one - y), dtype=np.complex128)


def renormalised(S: npt.ArrayLike, reference: npt.ArrayLike, new: npt.ArrayLike) -> Complexes:
    """The same network against other real references (Ω): A^-1 (S - Γ)(1 - Γ S)^-1 A.

    Γ = (new - old)/(new + old), A = √(1 - Γ²), both diagonal. Needs neither Y nor Z.

    >>> renormalised([[[0.0]]], 50.0, 25.0).real.round(4)
    array([[[0.3333]]])
    """
    values = np.asarray(S, dtype=np.complex128)
    old, wanted = (_references(z, values.shape[-1]) for z in (reference, new))
    if np.array_equal(old, wanted):
        return values
    gamma = (wanted - old) / (wanted + old)
    A = np.sqrt(1 - gamma**2)
    turned = np.linalg.solve(np.eye(len(A)) - np.swapaxes(gamma[:, None] * values, 1, 2), np.eye(len(A)))
    core = (values - np.diag(gamma)) @ np.swapaxes(turned, 1, 2)
    return np.asarray(core * A / A[:, None])


@dataclass(frozen=True)
class Worst:
    """The worst that a check found: how much, where, and between which ports (from 0; None if not of two).

    `amount` is 0 or less where the check holds everywhere.
    """

    amount: float
    frequency: float
    ports: tuple[int, int] | None = None


def passivity(frequency: npt.ArrayLike, S: npt.ArrayLike) -> Worst:
    """By how much power out exceeds power in at worst, as a part of the power in: σ_max(S)² - 1.

    A passive network has no singular value of S above 1 (real references).

    >>> round(passivity([1e6], [[[0.0, 1.1], [0.0, 0.0]]]).amount, 9)
    0.21
    """
    f, values = np.asarray(frequency, dtype=np.float64), np.asarray(S, dtype=np.complex128)
    power = np.linalg.eigvalsh(np.conj(np.swapaxes(values, 1, 2)) @ values)[:, -1] - 1
    at = int(np.argmax(power))
    return Worst(float(power[at]), float(f[at]))


def reciprocity(frequency: npt.ArrayLike, S: npt.ArrayLike) -> Worst:
    """The largest |S_ij - S_ji|, where, and between which ports; R, L, C and coupling alone have 0."""
    f, values = np.asarray(frequency, dtype=np.float64), np.asarray(S, dtype=np.complex128)
    apart = values - np.swapaxes(values, 1, 2)
    squared = apart.real**2 + apart.imag**2
    at, i, j = np.unravel_index(int(np.argmax(squared)), squared.shape)
    return Worst(float(abs(apart[at, i, j])), float(f[at]), (int(min(i, j)), int(max(i, j))))


def _references(reference: npt.ArrayLike, ports: int) -> Floats:
    given = np.asarray(reference, dtype=np.float64)
    if given.shape not in {(), (1,), (ports,)} or not np.all((given > 0) & np.isfinite(given)):
        raise ShapeError(
            f"{given.size} reference impedances do not fit {ports} ports; give one for all "
            "or one each, in Ω above zero."
        )
    return np.broadcast_to(given, (ports,)).astype(np.float64)


if TYPE_CHECKING:
    from labkit.theory.choke import Choke
    from labkit.theory.pair import Pair

Dots = tuple[Terminal, ...]


class Mode(StrEnum):
    """How the lines are driven: all alike against ground, or one against another."""

    COMMON = "common mode"
    DIFFERENTIAL = "differential mode"


def far_ends(dots: Dots) -> Dots:
    """The end of each winding without the dot."""
    return tuple(Terminal(dot.winding, "b" if dot.end == "a" else "a") for dot in dots)


def tying(mode: Mode | str, dots: Dots, lines: tuple[int, int] = (1, 2)) -> Wiring:
    """Where clips and ties go to drive a mode.

    Parameters
    ----------
    mode : Mode or its name
    dots : the dotted end of each winding, as from `parse_dots`
    lines : the two windings of the differential-mode loop; others stay open

    Raises
    ------
    EntryError

    >>> print(tying("common mode", parse_dots("1a 2a")), "·", tying("differential mode", parse_dots("1a 2b")))
    1a 1b | 1a=2a 1b=2b · 1a 2b | 1b=2a
    """
    if len(dots) < 2:
        raise WiringError("One winding has no modes; common and differential mode need two lines or more.")
    far = far_ends(dots)
    if mode_called(mode) is Mode.COMMON:
        return Wiring((dots[0], far[0]), (dots, far))
    out, back = _lines(lines, len(dots))
    return Wiring((dots[out], dots[back]), ((far[out], far[back]),))


def mode_called(name: Mode | str) -> Mode:
    """The mode of that name; EntryError for another."""
    try:
        return Mode(name)
    except ValueError:
        raise EntryError(
            words.MODES_NO_MODE.format(given=name, accepted=" or ".join(Mode)), str(name)
        ) from None


def _lines(lines: tuple[int, int], windings: int) -> tuple[int, int]:
    out, back = lines
    if out == back or not {out, back} <= set(range(1, windings + 1)):
        raise WiringError(words.LINES.format(given=lines, windings=windings))
    return out - 1, back - 1


def mode_inductance(L: Matrix, mode: Mode | str, dots: Dots, lines: tuple[int, int] = (1, 2)) -> Number:
    """Inductance of N lossless windings in a mode, in H, for every kind of number.

    Parameters
    ----------
    L : N rows of N entries in H, currents counted from end a to end b, as for `input_inductance`
    mode, dots, lines : as for `tying`

    Returns
    -------
    P+ = (L1 L2 - M²)/(L1 + L2 - 2M) of a pair in common mode, L1 + L2 - 2M in differential mode

    Notes
    -----
    Three equal windings: (L + 2M)/3 and, line to line, 2(L - M).

    >>> mode_inductance([[10.0, 9.9], [9.9, 10.0]], "common mode", parse_dots("1a 2a"))
    9.95
    """
    return input_inductance(L, tying(mode, dots, lines))


@dataclass(frozen=True, eq=False)
class Part:
    """What stands between the dotted ends of N windings and their far ends.

    Attributes
    ----------
    dots : the dotted end of each winding; the lines come in there
    equations : from frequencies (F,) in Hz to elements between nodes called like the terminals
    frequency : the only frequencies (Hz) at which the part is known, shape (F,); None if at all
    """

    dots: Dots
    equations: Callable[[Floats], tuple[Element, ...]]
    frequency: Floats | None = None

    @property
    def windings(self) -> int:
        """How many windings."""
        return len(self.dots)

    def elements(self, frequency: npt.ArrayLike) -> tuple[Element, ...]:
        """The part's equations at frequencies above zero (Hz); EntryError where it is not known."""
        f = np.atleast_1d(np.asarray(frequency, dtype=np.float64))
        if not f.size or not np.all((f > 0) & np.isfinite(f)):
            raise EntryError(words.FREQUENCY, str(frequency))
        return self.equations(f)

    def impedance(self, wiring: str | Wiring, frequency: npt.ArrayLike) -> Complexes:
        """Impedance between the clips of a wiring whose clips are joined by something, shape (F,), in Ω.

        A ground that the part leads to is a node that nothing else is tied to.
        """
        wiring = Wiring.parse(wiring)
        nodes = wiring.nodes(self.windings)
        names = {str(terminal): str(min(node)) for node in nodes for terminal in node}
        first, second = (names[str(clip)] for clip in wiring.clips)
        elements = [element.renamed(names) for element in self.elements(frequency)]
        return port_impedances(elements, [(first, second)])[:, 0, 0]

    def mode_impedance(
        self, mode: Mode | str, frequency: npt.ArrayLike, lines: tuple[int, int] = (1, 2)
    ) -> Complexes:
        """Impedance in a mode, shape (F,), in Ω; arguments as for `tying`."""
        return self.impedance(tying(mode, self.dots, lines), frequency)


def part_of_inductances(L: npt.ArrayLike, dots: Dots | str = "1a 2a", R: npt.ArrayLike | None = None) -> Part:
    """Windings with an inductance matrix (N, N) in H and resistances (N,) in Ω; none for lossless ones."""
    matrix = np.asarray(L, dtype=np.float64)
    marked = _dots(dots, len(matrix))
    resistance = np.zeros(len(matrix)) if R is None else np.asarray(R, dtype=np.float64)
    _require_square(matrix, len(resistance))

    def equations(f: Floats) -> tuple[Element, ...]:
        jw = (2j * np.pi * f)[:, None, None]
        return (_windings(np.diag(resistance) + jw * matrix),)

    return Part(marked, equations)


def part_of_pair(pair: "Pair", dots: Dots | str = "1a 2a", R: npt.ArrayLike | None = None) -> Part:
    """A pair known by three inductances, without capacitance; lossless unless resistances (2,) are given."""
    marked = _dots(dots, 2)
    alike = marked[0].end == marked[1].end
    return part_of_inductances(pair.matrix(dots_alike=alike), marked, R)


def part_of_impedances(frequency: npt.ArrayLike, Z: npt.ArrayLike, dots: Dots | str = "1a 2a") -> Part:
    """Windings with measured impedances Z (F, N, N) in Ω, known at F frequencies (Hz) and nowhere else."""
    known, matrix = np.asarray(frequency, dtype=np.float64), np.asarray(Z, dtype=np.complex128)
    _require_square(matrix[0], matrix.shape[-1])
    marked = _dots(dots, matrix.shape[-1])
    return Part(marked, lambda f: (_windings(matrix[_places(known, f)]),), known)


def part_of_choke(choke: "Choke") -> Part:
    """A choke with all that it has; the dots follow from the sign of its turns."""
    assert choke.turns is not None
    marked = tuple(Terminal(w, "a" if n > 0 else "b") for w, n in enumerate(choke.turns, 1))

    def equations(f: Floats) -> tuple[Element, ...]:
        jw = 2j * np.pi * f
        Z = np.diag(choke.R) + jw[:, None, None] * choke.inductance_matrix(f)
        return (_windings(Z), *(between(a, b, jw * C, f) for a, b, C in capacitances(choke)))

    return Part(marked, equations)


def capacitances(choke: "Choke") -> tuple[tuple[str, str, float], ...]:
    """Every capacitance of a choke in F, with the terminals that it joins."""
    assert choke.C is not None
    assert choke.between is not None
    across = [(f"{w}a", f"{w}b", float(C)) for w, C in enumerate(choke.C, 1)]
    halves = ((w, float(C) / 2) for w, C in enumerate(choke.between, 1))
    neighbours = chain.from_iterable(((f"{w}{e}", f"{w + 1}{e}", C) for e in "ab") for w, C in halves)
    return tuple(one for one in (*across, *neighbours) if one[2])


def part_of_scattering(
    frequency: npt.ArrayLike,
    S: npt.ArrayLike,
    reference: npt.ArrayLike,
    ports: str | Sequence[str] = "1a 2a 1b 2b",
    dots: Dots | str = "1a 2a",
) -> Part:
    """Scattering parameters (F, 2N, 2N) of ports between each terminal and ground, known at F frequencies.

    Parameters
    ----------
    frequency : (F,), in Hz
    S : (F, 2N, 2N)
    reference : of each port, real, in Ω
    ports : the terminal of each port, in the order of S; every terminal once
    dots : dotted end of each winding

    Raises
    ------
    WiringError
    """
    known = np.asarray(frequency, dtype=np.float64)
    names = port_terminals(ports, np.shape(S)[-1])
    marked = _dots(dots, len(names) // 2)
    whole = to_ground(names, admittance_of(S, reference))

    def equations(f: Floats) -> tuple[Element, ...]:
        if np.array_equal(f, known):
            return (whole,)
        return (replace(whole, Y=whole.Y[_places(known, f)]),)

    return Part(marked, equations, known)


def port_terminals(ports: str | Sequence[str], count: int) -> tuple[str, ...]:
    """The terminals of the ports in order; WiringError unless every terminal is named once.

    >>> port_terminals("1a 1b 2a 2b", 4)
    ('1a', '1b', '2a', '2b')
    """
    given = ports.split() if isinstance(ports, str) else list(ports)
    named = [str(Terminal.parse(port)) for port in given]
    if count % 2 or sorted(named) != sorted(map(str, terminals(count // 2))):
        raise WiringError(words.PORTS.format(given=" ".join(given), count=count), " ".join(given))
    return tuple(named)


def _windings(Z: Complexes) -> Windings:
    return Windings(tuple((f"{w}a", f"{w}b") for w in range(1, Z.shape[-1] + 1)), Z)


def _dots(dots: Dots | str, windings: int) -> Dots:
    return parse_dots(dots if isinstance(dots, str) else " ".join(map(str, dots)), windings)


def _places(known: Floats, wanted: Floats) -> npt.NDArray[np.intp]:
    """Where the wanted frequencies stand among the known ones; nothing is interpolated."""
    found = np.searchsorted(known, wanted).clip(0, len(known) - 1)
    for f in wanted[known[found] != wanted][:1]:
        raise EntryError(
            f"This part is known only at its measured frequencies from {known[0]:g} Hz to "
            f"{known[-1]:g} Hz, and {f:g} Hz is not one of them; ask at those, nothing is "
            "interpolated.",
            str(f),
        )
    return found


def _require_square(matrix: npt.NDArray[np.generic], entries: int) -> None:
    if matrix.ndim != 2 or matrix.shape != (entries, entries):
        raise ShapeError(
            f"A matrix of shape {matrix.shape} does not describe {entries} windings; it "
            "needs a row and a column for each."
        )
