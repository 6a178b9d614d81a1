"""What a meter in series mode reads of a pair with resistance: where losses move the inductance itself.

A single winding and the two in line show their inductance whatever their resistance. Side by side, and with
one winding shorted, the current divides by impedance and resistances move the reading:

    P+ = A/4 - q(d, δ; B, β)/4      P- = B/4 - q(d, δ; A, α)/4      Lsc1 = L1 - q(M, μ; L2, ρ2)

    q(x, ξ; y, η) = Re (x - jξ)² / (y - jη) = ((x² - ξ²) y + 2 x ξ η) / (y² + η²).

Symbols: ρ1 = R1/ω, ρ2 = R2/ω, μ = R12/ω in H, R1 and R2 the series resistances of the windings, R12 the
resistance that they share (loss of the common core; 0 for copper alone), δ = ρ1 - ρ2, β = ρ1 + ρ2 - 2μ in
line with one reversed, α = ρ1 + ρ2 + 2μ in line. Plain real arithmetic, so slopes by complex step stay exact.

Source: the network's impedance with those resistances, `labkit.theory.network.input_impedance`; proven equal
to it in tests.
"""

from dataclasses import dataclass

from labkit.theory.number import Number
from labkit.theory.pair import STABLE_FORMS
from labkit.theory.wiring import Connection


@dataclass(frozen=True)
class Losses:
    """Resistances of a pair at one frequency over ω, in H: of each winding, and what both share."""

    rho_1: float
    rho_2: float
    mu: float = 0.0

    @property
    def opposing(self) -> float:
        """Of both in line, one reversed."""
        return self.rho_1 + self.rho_2 - 2 * self.mu

    @property
    def aiding(self) -> float:
        """Of both in line."""
        return self.rho_1 + self.rho_2 + 2 * self.mu


def series_inductances(
    L1: Number, L2: Number, B: Number, losses: Losses | None = None
) -> dict[Connection, Number]:
    """Series-equivalent inductance of every connection, in H; the lossless closed forms without losses.

    Parameters
    ----------
    L1, L2, B : self-inductances and series-opposing inductance, in H

    Examples
    --------
    One per cent of mismatch shows less of itself side by side while resistance rules the loop:

    >>> from labkit.theory.wiring import Connection
    >>> P = Connection.PARALLEL_AIDING
    >>> for losses in (None, Losses(40e-6, 40e-6)):
    ...     print(f"{series_inductances(10.1e-3, 9.9e-3, 20e-6, losses)[P] * 1e3:.3f} mH")
    9.495 mH
    9.966 mH
    """
    ideal = {connection: form(L1, L2, B) for connection, form in STABLE_FORMS.items()}
    if losses is None:
        return ideal
    A, d, M = 2 * (L1 + L2) - B, L1 - L2, (L1 + L2 - B) / 2
    delta, mu = losses.rho_1 - losses.rho_2, losses.mu
    return ideal | {
        Connection.PARALLEL_AIDING: A / 4 - _quotient(d, delta, B, losses.opposing) / 4,
        Connection.PARALLEL_OPPOSING: B / 4 - _quotient(d, delta, A, losses.aiding) / 4,
        Connection.SHORT_CIRCUIT_1: L1 - _quotient(M, mu, L2, losses.rho_2),
        Connection.SHORT_CIRCUIT_2: L2 - _quotient(M, mu, L1, losses.rho_1),
    }


def _quotient(x: Number, xi: float, y: Number, eta: float) -> Number:
    """Re (x - j xi)² / (y - j eta)."""
    return ((x * x - xi * xi) * y + 2 * x * xi * eta) / (y * y + eta * eta)
